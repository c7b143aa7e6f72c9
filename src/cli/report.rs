//! `couplet report`.

use super::args::{Report as Args, Work};
use super::output::Terminal;
use super::paper;
use super::study;
use couplet::desk::Desk;
use couplet::desk::paper::Paper;
use couplet::report::page::{self, Frontier, Report};
use couplet::study::failure::Failure;
use std::time::Duration;

/// How long the search for plans with fewer variants may take unless the user says
/// otherwise: nobody waits minutes for a page.
const PATIENCE: Duration = Duration::from_secs(30);

/// Writes the plan with its project as one page.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let target = paper::target(Some(&args.out), &desk)?;
    let paper = paper::read(&desk, terminal)?;
    let keys = paper.keys()?;
    let frontier = frontier(args, &desk, &paper, terminal)?;
    let page = page::report(&Report {
        plan: paper.plan,
        input: paper.input,
        cables: &paper.cables()?,
        changed: paper.changed,
        keys: &keys,
        frontier: frontier.as_ref(),
    });
    target.put(&page.map_err(Failure::output)?, terminal)
}

/// What fewer variants would cost; none where that is not wanted, or where files
/// have changed since the plan was made.
fn frontier(
    args: &Args,
    desk: &Desk,
    paper: &Paper<'_>,
    terminal: &Terminal,
) -> Result<Option<Frontier>, Failure> {
    if args.no_frontier {
        return Ok(None);
    }
    let work = Work {
        time_limit: args.time_limit.or(Some(PATIENCE)),
        threads: args.threads,
        told: args.told,
    };
    let found = study::run(desk, &work, terminal, |limit| paper.frontier(limit))?;
    Ok(found.as_ref().map(Frontier::from))
}
