//! Why no plan holds all limits together, as a minimal conflict: limits that
//! cannot all hold, of which none can be left out.
//!
//! It is found by a deletion filter over named groups (J. W. Chinneck, "Feasibility
//! and Infeasibility in Optimization", 2008, chapter 6): leave a group out; if
//! there is still no plan, the group is no part of the conflict. Arithmetic is asked
//! before the search. The order is fixed, and what the user sets comes last, so
//! that the conflict names what the user sets.

mod arithmetic;
mod ease;
mod found;
mod group;
mod more_keys;
mod trial;

pub use arithmetic::{Shortage, shortages};
pub use ease::changed;
pub use found::{Change, Conflict, Easing, Member, Took};
pub use group::{Group, groups, relaxed};
pub use trial::Maker;

use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::study::failure::Failure;
use std::collections::BTreeSet;
use std::time::Instant;
use trial::{Trial, Trials};

/// Part of the time that finding the conflict may use; the rest is for what would help.
const FILTER_SHARE: f64 = 0.6;

/// Finds what of a project that has no plan cannot hold together. `maker` says
/// what fits an edited project: [`crate::fit::fit`], or that with a part forced. The
/// progress told is how many groups, then how many limits of the conflict, are done.
///
/// # Errors
/// [`Failure`] if the solver breaks off or an audit fails.
pub fn find(input: &Input, maker: Maker<'_>, limit: &Limit) -> Result<Option<Conflict>, Failure> {
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
    let easings = ease::ease_all(input, &alone, &kept, &trials)?;
    let members = kept.into_iter().zip(easings);
    Ok(Some(Conflict {
        members: members
            .map(|(group, easing)| Member { group, easing })
            .collect(),
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

/// The groups that stay when every group that can be left out is left out, and
/// whether each test was settled.
fn filter(
    input: &Input,
    all: &BTreeSet<Group>,
    trials: &Trials<'_>,
) -> Result<(BTreeSet<Group>, bool), Failure> {
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
    /// Lifts those of the groups that are no part of the conflict: all at once
    /// where that leaves no plan, else half by half. Lifting only ever adds
    /// plans, so the outcome is that of lifting one by one.
    fn lift(&mut self, groups: &[Group]) -> Result<(), Failure> {
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
