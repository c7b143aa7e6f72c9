//! One plan of a study: solved, recorded and audited; and several side by side.

use super::recall::{Recalled, Trust};
use crate::audit;
use crate::fit::{Fit, NoSet};
use crate::input::Input;
use crate::model::{self, Claim, Outcome, Progress, Scope, Solution, SolveOptions, Verdict};
use crate::plan::{self, Bound, Plan, PlanError, Status};
use crate::solve::SolveError;
use crate::units::Money;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// Why a study ends without a result.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// The solver itself broke off.
    #[error(transparent)]
    Solver(#[from] SolveError),
    /// Some ends have no compatible set.
    #[error(transparent)]
    NoSet(#[from] NoSet),
    /// Every end has a set, but no plan holds all limits.
    #[error("no plan holds all limits together")]
    Limits,
    /// Before the first plan was found.
    #[error("the time ran out before any plan was found")]
    OutOfTime,
    /// An answer that makes no record.
    #[error(transparent)]
    Record(#[from] PlanError),
    /// What the audit finds wrong with an answer.
    #[error("the program found its own answer wrong")]
    Defect(Vec<String>),
}

/// How far a study has come.
#[derive(Debug, Clone, Copy)]
pub struct Step<'s> {
    /// Plans solved.
    pub solves: usize,
    /// Of the searches that the study is made of, how many are done, and how
    /// many there are; none where that is not known.
    pub done: Option<(usize, usize)>,
    /// What the search that began last is about; empty where that is not told.
    pub about: &'s str,
    /// Of a plan that is being solved.
    pub now: Option<Progress>,
    /// True while the plan is solved from which the study starts: the cheapest
    /// of the project as it is.
    pub is_first: bool,
}

/// What a study may use, and where it tells how far it is.
pub struct Effort<'a> {
    /// No solve goes on after this.
    pub until: Option<Instant>,
    /// How many plans are solved side by side, at least one.
    pub cores: usize,
    /// Set from elsewhere to stop with what there is.
    pub stop: Arc<AtomicBool>,
    /// Called from several threads.
    pub tell: &'a (dyn Fn(Step) + Sync),
    solves: AtomicUsize,
    done: AtomicUsize,
    of: AtomicUsize,
    about: Mutex<String>,
}

impl<'a> Effort<'a> {
    /// With no limit, on so many cores.
    pub fn new(cores: usize, tell: &'a (dyn Fn(Step) + Sync)) -> Self {
        Self {
            until: None,
            cores: cores.max(1),
            stop: Arc::new(AtomicBool::new(false)),
            tell,
            solves: AtomicUsize::new(0),
            done: AtomicUsize::new(0),
            of: AtomicUsize::new(0),
            about: Mutex::new(String::new()),
        }
    }

    /// Tells from now on what a search that begins is about.
    pub fn begins(&self, about: &str) {
        if let Ok(mut held) = self.about.lock() {
            about.clone_into(&mut held);
        }
        self.step(None);
    }

    /// Tells from now on how many of so many searches are done.
    pub fn expect(&self, searches: usize) {
        self.of.store(searches, Ordering::Relaxed);
    }

    /// One of the searches is done.
    pub fn one_done(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
        self.step(None);
    }

    fn step(&self, now: Option<Progress>) {
        self.tell_of(now, false);
    }

    fn tell_of(&self, now: Option<Progress>, is_first: bool) {
        let of = self.of.load(Ordering::Relaxed);
        let about = self
            .about
            .lock()
            .map_or_else(|_| String::new(), |a| a.clone());
        (self.tell)(Step {
            about: &about,
            solves: self.solves(),
            done: (of > 0).then(|| (self.done.load(Ordering::Relaxed), of)),
            now,
            is_first,
        });
    }

    /// Plans solved so far.
    pub fn solves(&self) -> usize {
        self.solves.load(Ordering::Relaxed)
    }

    /// True once nothing more is to be solved.
    pub fn is_over(&self) -> bool {
        let late = self.until.is_some_and(|until| Instant::now() >= until);
        late || self.stop.load(Ordering::Relaxed)
    }

    /// What is left of the time; none without a limit.
    pub fn left(&self) -> Option<Duration> {
        let left = |until: Instant| until.saturating_duration_since(Instant::now());
        self.until.map(left)
    }

    fn options(&self, starts: &[&Solution], ties: bool) -> SolveOptions {
        SolveOptions {
            time_limit: self.left(),
            starts: starts.iter().map(|start| start.given()).collect(),
            ties,
            stop: Some(Arc::clone(&self.stop)),
            ..SolveOptions::default()
        }
    }
}

/// A plan with what it was read from.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Sets and purchases.
    pub solution: Solution,
    /// The record, audited.
    pub plan: Plan,
    /// What the solver says of the total.
    pub bound: Bound,
}

impl Answer {
    /// Its total.
    pub fn total(&self) -> Money {
        self.plan.cost.total
    }

    /// True if nothing is cheaper.
    pub fn is_proven(&self) -> bool {
        self.plan.status == Status::Optimal
    }
}

/// What a solve comes to.
#[derive(Debug, Clone)]
pub enum Reply {
    /// A plan.
    Found(Box<Answer>),
    /// Proven: there is none.
    Infeasible,
    /// Stopped before any was found.
    Unknown,
}

impl Reply {
    /// The plan, if there is one.
    pub fn found(self) -> Option<Answer> {
        match self {
            Reply::Found(answer) => Some(*answer),
            Reply::Infeasible | Reply::Unknown => None,
        }
    }
}

/// The cheapest plan of a project, as a study starts from it: the one on record,
/// if that is of the project as it is now and the best that was found; else a
/// new one, searched for from what is still there of the record.
///
/// # Errors
/// Any [`StudyError`].
pub fn cheapest(
    input: &Input,
    fit: &Fit,
    effort: &Effort,
    record: Option<&Plan>,
) -> Result<Answer, StudyError> {
    on_record(input, fit, effort, (record, Trust::Best))
}

/// The same with another measure for which records stand. Where the time is
/// over before a better one is found, any of the project as it is now does.
///
/// # Errors
/// Any [`StudyError`].
pub fn on_record(
    input: &Input,
    fit: &Fit,
    effort: &Effort,
    (record, trust): (Option<&Plan>, Trust),
) -> Result<Answer, StudyError> {
    let recalled = Recalled::new(input, fit, record);
    if let Some(answer) = recalled.trusted(trust) {
        return Ok(answer.clone());
    }
    let options = SolveOptions {
        // Nothing else goes on meanwhile.
        threads: u32::try_from(effort.cores).unwrap_or(1),
        ..effort.options(&[], true)
    };
    effort.tell_of(None, true);
    match solve_by(input, fit, (effort, true), (&options, &recalled))? {
        Reply::Found(answer) => Ok(*answer),
        Reply::Infeasible => Err(StudyError::Limits),
        Reply::Unknown => recalled.answer.ok_or(StudyError::OutOfTime),
    }
}

/// Solves, records and audits; `ties` where it matters which of several
/// cheapest plans it is.
///
/// # Errors
/// [`StudyError`] if the solver breaks off or its answer is wrong.
pub fn solve(
    input: &Input,
    fit: &Fit,
    effort: &Effort,
    start: Option<&Solution>,
    ties: bool,
) -> Result<Reply, StudyError> {
    let options = effort.options(start.as_slice(), ties);
    solve_by(
        input,
        fit,
        (effort, false),
        (&options, &Recalled::default()),
    )
}

/// The same from several plans, and for so long at the most.
///
/// # Errors
/// As [`solve`].
pub fn solve_within(
    input: &Input,
    fit: &Fit,
    effort: &Effort,
    (starts, ties): (&[&Solution], bool),
    longest: Option<Duration>,
) -> Result<Reply, StudyError> {
    let mut options = effort.options(starts, ties);
    options.time_limit = options.time_limit.into_iter().chain(longest).min();
    solve_by(
        input,
        fit,
        (effort, false),
        (&options, &Recalled::default()),
    )
}

fn solve_by(
    input: &Input,
    fit: &Fit,
    (effort, is_first): (&Effort, bool),
    from: (&SolveOptions, &Recalled),
) -> Result<Reply, StudyError> {
    if effort.is_over() {
        return Ok(Reply::Unknown);
    }
    let mut tell = |now| effort.tell_of(Some(now), is_first);
    let reply = planned(input, fit, from, &mut tell)?;
    effort.solves.fetch_add(1, Ordering::Relaxed);
    effort.step(None);
    Ok(reply)
}

/// The way of every plan: searched for from what is there of a record, recorded
/// and audited; the record itself where that is better.
///
/// # Errors
/// [`StudyError`] if the solver breaks off or its answer is wrong.
pub fn planned(
    input: &Input,
    fit: &Fit,
    (options, recalled): (&SolveOptions, &Recalled),
    report: &mut dyn FnMut(Progress),
) -> Result<Reply, StudyError> {
    let mut options = options.clone();
    if !recalled.start.is_empty() {
        options.starts.push(recalled.start.clone());
    }
    options.bound = options.bound.or(recalled.bound());
    match model::solve(input, fit, &options, report)? {
        Outcome::Found {
            solution,
            bound,
            witnesses,
        } => {
            let bound = Bound {
                lower: bound,
                witnesses,
                wanted_gap: options.gap_percent.and_then(Decimal::from_f64),
            };
            let (solution, bound) = recalled.or_found(input, fit, (solution, bound));
            let mut answer = answer(input, fit, solution, bound)?;
            answer.plan.doubts = options.doubts.count();
            Ok(Reply::Found(Box::new(answer)))
        }
        Outcome::Infeasible => Ok(Reply::Infeasible),
        Outcome::Unknown => Ok(Reply::Unknown),
    }
}

/// Puts claims to the proof; counts as a plan solved.
///
/// # Errors
/// [`StudyError::Solver`].
pub fn refute(
    input: &Input,
    fit: &Fit,
    effort: &Effort,
    (claims, scope): (&[Claim], Scope),
) -> Result<Verdict, StudyError> {
    if effort.is_over() {
        return Ok(Verdict::Unknown);
    }
    let verdict = model::refute(input, fit, (claims, scope), &effort.options(&[], false))?;
    if scope == Scope::All {
        effort.solves.fetch_add(1, Ordering::Relaxed);
    }
    effort.step(None);
    Ok(verdict)
}

/// Records and audits a solution.
///
/// # Errors
/// [`StudyError::Record`] and [`StudyError::Defect`].
pub fn answer(
    input: &Input,
    fit: &Fit,
    solution: Solution,
    bound: Bound,
) -> Result<Answer, StudyError> {
    let plan = audited(input, plan::record(input, fit, &solution, bound)?)?;
    Ok(Answer {
        solution,
        plan,
        bound,
    })
}

/// A plan that fails its audit goes no further.
///
/// # Errors
/// [`StudyError::Defect`].
pub fn audited(input: &Input, plan: Plan) -> Result<Plan, StudyError> {
    let wrong = audit::audit(input, &plan);
    match wrong.is_empty() {
        true => Ok(plan),
        false => Err(StudyError::Defect(
            wrong.iter().map(ToString::to_string).collect(),
        )),
    }
}

/// Does `job` for each item, so many at a time; results in the order of the
/// items, whichever is done first.
pub fn side_by_side<T: Sync, R: Send>(
    items: &[T],
    cores: usize,
    job: impl Fn(&T) -> R + Sync,
) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let work = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            let Some(item) = items.get(at) else { break };
            done.push((at, job(item)));
        }
        done
    };
    let mut results: Vec<(usize, R)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..cores.clamp(1, items.len().max(1)))
            .map(|_| scope.spawn(work))
            .collect();
        let join = |worker: thread::ScopedJoinHandle<'_, Vec<(usize, R)>>| match worker.join() {
            Ok(done) => done,
            Err(panic) => std::panic::resume_unwind(panic),
        };
        workers.into_iter().flat_map(join).collect()
    });
    results.sort_by_key(|&(at, _)| at);
    results.into_iter().map(|(_, result)| result).collect()
}

/// The part codes of `from` that `to` does not fit, and those that come in.
pub fn exchanged(from: &Plan, to: &Plan) -> (Vec<String>, Vec<String>) {
    let codes =
        |plan: &Plan| -> Vec<String> { plan.parts.iter().map(|p| p.part.clone()).collect() };
    differ(&codes(from), &codes(to))
}

/// What stands in `from` alone, and in `to` alone, in their order.
pub fn differ(from: &[String], to: &[String]) -> (Vec<String>, Vec<String>) {
    let only = |a: &[String], b: &[String]| -> Vec<String> {
        a.iter().filter(|x| !b.contains(x)).cloned().collect()
    };
    (only(from, to), only(to, from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_stand_in_the_order_of_the_items() {
        for cores in [0, 1, 2, 7] {
            let items: Vec<u64> = (0..20).collect();
            let slow_first = |&n: &u64| {
                thread::sleep(std::time::Duration::from_millis(20 - n));
                n * n
            };
            let squares: Vec<u64> = items.iter().map(|n| n * n).collect();
            assert_eq!(side_by_side(&items, cores, slow_first), squares);
        }
        assert!(side_by_side(&[] as &[u8], 2, |n| *n).is_empty());
    }

    #[test]
    fn what_differs_is_told_both_ways() {
        let list = |text: &str| -> Vec<String> { text.split(' ').map(str::to_owned).collect() };
        let (out, into) = differ(&list("a b c"), &list("b d"));
        assert_eq!((out, into), (list("a c"), list("d")));
    }
}
