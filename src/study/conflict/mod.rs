//! Why no plan holds all limits together, as a minimal conflict: limits that
//! cannot all hold, of which none can be left out.
//!
//! Found by a deletion filter over named groups (J. W. Chinneck, "Feasibility
//! and Infeasibility in Optimization", 2008, chapter 6): leave a group out; if
//! there is still no plan, it is no part of the conflict. What arithmetic can
//! say of it is said before the search is asked. The order is fixed, and what
//! the user sets comes last, so that it is what is named.

mod arithmetic;
mod ease;
mod group;
mod more_keys;
mod trial;

pub use arithmetic::{Shortage, shortages};
pub use ease::{Change, Easing, changed};
pub use group::{Group, groups, relaxed};
pub use trial::Maker;

use crate::fit::Fit;
use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::study::answer::StudyError;
use std::collections::BTreeSet;
use std::time::{Duration, Instant};
use trial::{Trial, Trials};

/// Limits that cannot all hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// In their fixed order.
    pub members: Vec<Member>,
    /// What arithmetic says of them alone.
    pub shortages: Vec<Shortage>,
    /// The project with all other limits lifted, and what fits it: the facts
    /// that the shortages are about.
    pub alone: Input,
    /// See `alone`.
    pub fit: Fit,
    /// True if it is proven that without any one of them a plan exists.
    pub is_minimal: bool,
    /// What the search took.
    pub took: Took,
}

/// One of the limits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// The limit.
    pub group: Group,
    /// The smallest change to it that helps.
    pub easing: Easing,
}

/// What a search took; no part of what it found.
#[derive(Debug, Clone, Copy, Default)]
pub struct Took {
    /// Projects that were tried.
    pub trials: usize,
    /// Time.
    pub elapsed: Duration,
    /// True if it was told to stop, so that its end is not that of its time.
    pub is_stopped: bool,
}

/// Two searches with the same finding are equal, however long they took.
impl PartialEq for Took {
    fn eq(&self, _: &Took) -> bool {
        true
    }
}

impl Eq for Took {}

/// Part of the time that finding the conflict may use; the rest is for what would help.
const FILTER_SHARE: f64 = 0.6;

/// Finds what of a project that has no plan cannot hold together. `maker` says
/// what fits an edited project: [`crate::fit::fit`], or that with a part forced. How
/// far it is it tells as so many groups, then limits of the conflict, that are done.
///
/// # Errors
/// [`StudyError`] if the solver breaks off or an audit fails.
pub fn find(
    input: &Input,
    maker: Maker<'_>,
    limit: &Limit,
) -> Result<Option<Conflict>, StudyError> {
    let begun = Instant::now();
    let limit = limit.counted_anew();
    let mut trials = Trials {
        maker,
        limit: limit.share(FILTER_SHARE).doing(Doing::Narrowing),
    };
    let all = groups(input);
    let (kept, is_minimal) = filter(input, &all, &trials)?;
    trials.limit = limit.doing(Doing::Easing);
    let lifted: BTreeSet<Group> = all.difference(&kept).cloned().collect();
    let alone = relaxed(input, &lifted);
    let Some(fit) = maker(&alone) else {
        return Ok(None);
    };
    let mut members = Vec::new();
    for (place, group) in kept.iter().enumerate() {
        limit.is_at(place, kept.len());
        let easing = ease::ease(input, &alone, group, &trials)?;
        members.push(Member {
            group: group.clone(),
            easing,
        });
    }
    Ok(Some(Conflict {
        members,
        shortages: shortages(&alone, &fit),
        alone,
        fit,
        is_minimal,
        took: Took {
            trials: limit.solves(),
            elapsed: begun.elapsed(),
            is_stopped: limit.stop.is_asked(),
        },
    }))
}

/// The groups that are left when every group that can be left out is, and
/// whether each test was settled.
fn filter(
    input: &Input,
    all: &BTreeSet<Group>,
    trials: &Trials<'_>,
) -> Result<(BTreeSet<Group>, bool), StudyError> {
    let mut state = Filter {
        input,
        lifted: BTreeSet::new(),
        is_settled: true,
        done: 0,
        of: all.len(),
        trials,
    };
    let list: Vec<Group> = all.iter().cloned().collect();
    for family in list.chunk_by(|a, b| a.family() == b.family()) {
        state.lift(family)?;
    }
    let kept = all.difference(&state.lifted).cloned().collect();
    Ok((kept, state.is_settled))
}

struct Filter<'f, 't> {
    input: &'f Input,
    lifted: BTreeSet<Group>,
    is_settled: bool,
    /// Groups that are lifted or kept.
    done: usize,
    /// All groups.
    of: usize,
    trials: &'f Trials<'t>,
}

impl Filter<'_, '_> {
    /// Lifts those of the groups that are no part of the conflict. All at once
    /// where that leaves no plan; else half by half. Lifting only ever adds
    /// plans, so this lifts just what one by one would.
    fn lift(&mut self, groups: &[Group]) -> Result<(), StudyError> {
        let mut lifted = self.lifted.clone();
        lifted.extend(groups.iter().cloned());
        self.trials.limit.is_at(self.done, self.of);
        match self.trials.run(&relaxed(self.input, &lifted))? {
            Trial::Infeasible => {
                self.lifted = lifted;
                self.done += groups.len();
            }
            trial if groups.len() == 1 => {
                self.done += 1;
                self.is_settled &= !matches!(trial, Trial::Unknown);
            }
            _ => {
                let (first, second) = groups.split_at(groups.len() / 2);
                self.lift(first)?;
                self.lift(second)?;
            }
        }
        Ok(())
    }
}
