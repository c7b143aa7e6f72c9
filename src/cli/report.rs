//! `couplet report`.

use super::args::{Report as Args, Work};
use super::error::CliError;
use super::output::Terminal;
use super::paper::{Paper, put};
use super::{keys, study};
use couplet::report::page::{self, Frontier, Report};
use couplet::study::frontier::{self, By};
use std::time::Duration;

/// How long the search for plans with fewer variants may take unless said
/// otherwise: nobody waits minutes for a page.
const PATIENCE: Duration = Duration::from_secs(30);

/// Writes the plan with its project as one page.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let out = (args.out.as_os_str() != "-").then_some(args.out.as_path());
    study::writable(out)?;
    let paper = Paper::read(&args.of, terminal)?;
    let keys = keys::map(&paper.input, &paper.plan)?;
    let frontier = frontier(args, &paper, terminal)?;
    let page = page::report(&Report {
        plan: &paper.plan,
        input: &paper.input,
        cables: &paper.cables()?,
        changed: &paper.changed,
        keys: &keys,
        frontier: frontier.as_ref(),
    });
    put(Some(&args.out), &page.map_err(CliError::output)?, terminal)
}

/// What fewer variants would cost; none where it is not wanted, or where it
/// would be of other files than the plan.
fn frontier(args: &Args, paper: &Paper, terminal: &Terminal) -> Result<Option<Frontier>, CliError> {
    if args.no_frontier || !paper.is_same || paper.plan.ends.is_empty() {
        return Ok(None);
    }
    let work = Work {
        time_limit: args.time_limit.or(Some(PATIENCE)),
        threads: args.threads,
        told: args.told,
    };
    let found = study::run(&paper.input, &work, terminal, |limit| {
        frontier::frontier(&paper.input, By::Variants, limit, Some(&paper.plan))
    });
    match found {
        // The page is worth having without it.
        Err(CliError::OutOfTime) => Ok(None),
        found => found.map(|found| Some(Frontier::from(&found))),
    }
}
