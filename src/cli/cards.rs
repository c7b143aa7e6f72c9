//! `couplet cards`.

use super::args::Cards as Args;
use super::output::Terminal;
use super::paper::{self, put};
use couplet::report::page;
use couplet::study::failure::Failure;

/// Writes a build card for each end.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let paper = paper::read(&desk, terminal)?;
    let page = page::cards(&paper.cables()?, paper.plan, paper.input, paper.changed);
    put(Some(&args.out), &page.map_err(Failure::output)?, terminal)
}
