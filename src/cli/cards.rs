//! `couplet cards`.

use super::args::Cards as Args;
use super::output::Terminal;
use super::paper;
use couplet::report::cards::number;
use couplet::report::page;
use couplet::study::failure::Failure;

/// Writes a build card for each end.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let target = paper::target(Some(&args.out), &desk)?;
    let paper = paper::read(&desk, terminal)?;
    let (cables, copies) = (paper.cables()?, paper::copies(&paper, &args.copies)?);
    paper::on_a_page(number(&cables, &copies), "card")?;
    let of = (paper.plan, paper.input);
    let page = page::cards(&cables, &copies, of, paper.changed);
    target.put(&page.map_err(Failure::output)?, terminal)
}
