//! What the documents have in common: the plan, its project, and where a document goes.

use super::args::{OfCopies, OfPlan};
use super::files::Target;
use super::output::Terminal;
use super::record;
use couplet::desk::Desk;
use couplet::desk::paper::Paper;
use couplet::study::copies::Copies;
use couplet::study::failure::Failure;
use std::path::Path;

/// The project with the plan that is named.
pub fn desk(of: &OfPlan) -> Desk {
    record::on_record(&of.project, of.plan.as_deref())
}

/// The plan, with a warning where files have changed since it was made.
pub fn read<'d>(desk: &'d Desk, terminal: &Terminal) -> Result<Paper<'d>, Failure> {
    record::open(desk, "order or build", terminal)?;
    desk.paper()
}

/// The machines that a document is for.
pub fn copies(paper: &Paper, of: &OfCopies) -> Result<Copies, Failure> {
    paper.copies(of.machine.as_deref(), of.copy)
}

/// More bags, cards or labels than this are too many for a browser.
const MOST_ON_PAGE: usize = 20_000;

/// Refuses a page that no browser would show.
pub fn on_a_page(number: usize, noun: &str) -> Result<(), Failure> {
    if number <= MOST_ON_PAGE {
        return Ok(());
    }
    Err(Failure::usage(
        format!("a page of {number} {noun}s is too long: {MOST_ON_PAGE} are the most"),
        "name one machine with --machine, or one copy of it with --copy as well",
    ))
}

/// Where a document goes: into a file, or to standard output where no file is named or the
/// name is `-`.
pub fn target(out: Option<&Path>, desk: &Desk) -> Result<Target, Failure> {
    Target::or_output(out, &desk.own())
}
