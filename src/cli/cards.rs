//! `couplet cards`.

use super::args::Cards as Args;
use super::output::Terminal;
use super::paper::{self, put};
use couplet::report::cards::number;
use couplet::report::page;
use couplet::study::failure::Failure;

/// Writes a build card for each end.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let paper = paper::read(&desk, terminal)?;
    let (cables, copies) = (paper.cables()?, paper::copies(&paper, &args.copies)?);
    paper::on_a_page(number(&cables, &copies), "card")?;
    let of = (paper.plan, paper.input);
    let page = page::cards(&cables, &copies, of, paper.changed);
    put(Some(&args.out), &page.map_err(Failure::output)?, terminal)
}
