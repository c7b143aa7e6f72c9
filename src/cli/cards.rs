//! `couplet cards`.

use super::args::Cards as Args;
use super::error::CliError;
use super::output::Terminal;
use super::paper::{self, put};
use couplet::report::page;

/// Writes a build card for each end.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let desk = paper::desk(&args.of);
    let paper = paper::read(&desk, terminal)?;
    let catalog = &paper.input.catalog;
    let page = page::cards(&paper.cables()?, paper.plan, catalog, paper.changed);
    put(Some(&args.out), &page.map_err(CliError::output)?, terminal)
}
