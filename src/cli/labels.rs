//! `couplet labels`.

use super::args::{LabelFormat, Labels as Args};
use super::output::Terminal;
use super::paper;
use couplet::report::labels::{labels, rows};
use couplet::report::page;
use couplet::study::failure::Failure;

/// Shows or writes two labels for each cable.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let target = paper::target(args.out.as_deref(), &desk)?;
    let paper = paper::read(&desk, terminal)?;
    let cables = paper.cables()?;
    let copies = paper::copies(&paper, &args.copies)?;
    let labels = labels(&cables, &copies);
    let text = match args.format {
        LabelFormat::Csv => rows(&labels, &cables).csv().map_err(Failure::output)?,
        LabelFormat::Html => {
            paper::on_a_page(labels.len(), "label")?;
            page::labels(labels, paper.plan, paper.changed).map_err(Failure::output)?
        }
    };
    target.put(&text, terminal)
}
