//! `couplet report`.

use super::args::Report as Args;
use super::error::CliError;
use super::output::Terminal;
use super::paper::{Paper, put};
use couplet::report::page::{self, Report};

/// Writes the plan with its project as one page.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let paper = Paper::read(&args.of, terminal)?;
    let page = page::report(&Report {
        plan: &paper.plan,
        input: &paper.input,
        cables: &paper.cables()?,
        changed: &paper.changed,
        frontier: None,
    });
    put(Some(&args.out), &page.map_err(CliError::output)?, terminal)
}
