//! One plan of a study: solved, recorded and audited; and several side by side.

use super::failure::Failure;
use super::recall::{Recalled, Trust};
pub use super::reply::{Answer, Reply};
use crate::audit;
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::model::{self, Claim, Outcome, Question, Scope, Solution, Verdict};
use crate::plan::{self, Bound, Plan};
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// The cheapest plan of a project, from which a study starts. This is the recorded
/// plan, if that plan is of the project as it is now and the best that was found.
/// Else it is a new plan, and the search starts from what is left of the record.
///
/// # Errors
/// Any [`Failure`].
pub fn cheapest(
    input: &Input,
    fit: &Fit,
    limit: &Limit,
    record: Option<&Plan>,
) -> Result<Answer, Failure> {
    on_record(input, fit, limit, record, Trust::Best)
}

/// The same as [`cheapest`], but `trust` says which records stand. Where the time is
/// over before a better plan is found, any record of the project as it is now will do.
///
/// # Errors
/// Any [`Failure`].
pub fn on_record(
    input: &Input,
    fit: &Fit,
    limit: &Limit,
    record: Option<&Plan>,
    trust: Trust,
) -> Result<Answer, Failure> {
    let recalled = Recalled::new(input, fit, record);
    if let Some(answer) = recalled.trusted(trust) {
        return Ok(answer.clone());
    }
    // Nothing else goes on meanwhile, so this search has all threads.
    let limit = limit.doing(Doing::Planning);
    limit.tell(|_| {});
    match counted(input, fit, &Question::default(), &recalled, &limit)? {
        Reply::Found(answer) => Ok(*answer),
        Reply::Infeasible => Err(Failure::Limits(None)),
        Reply::Unknown => recalled.answer.ok_or(Failure::OutOfTime),
    }
}

/// Solves, records and audits, from the plans that are given. `ties` is true where
/// it matters which of several cheapest plans is found. The solve uses one thread,
/// since other solves may go on beside it.
///
/// # Errors
/// [`Failure`] if the solver breaks off or its answer is wrong.
pub fn solve(
    input: &Input,
    fit: &Fit,
    limit: &Limit,
    starts: &[&Solution],
    ties: bool,
) -> Result<Reply, Failure> {
    let question = Question {
        starts: starts.iter().map(|start| start.given()).collect(),
        ties,
        ..Question::default()
    };
    let limit = limit.doing(Doing::Studying).with_threads(1);
    counted(input, fit, &question, &Recalled::default(), &limit)
}

/// Plans, and counts a plan solved. Nothing is begun where the limit is over.
fn counted(
    input: &Input,
    fit: &Fit,
    question: &Question,
    recalled: &Recalled,
    limit: &Limit,
) -> Result<Reply, Failure> {
    if limit.is_over() {
        return Ok(Reply::Unknown);
    }
    let reply = planned(input, fit, question, recalled, limit)?;
    limit.doing(Doing::Studying).one_solved();
    Ok(reply)
}

/// The way to every plan: the search starts from what is left of a record, and its
/// plan is recorded and audited. Where the record itself is better, that is the plan.
///
/// # Errors
/// [`Failure`] if the solver breaks off or its answer is wrong.
pub fn planned(
    input: &Input,
    fit: &Fit,
    question: &Question,
    recalled: &Recalled,
    limit: &Limit,
) -> Result<Reply, Failure> {
    let mut question = question.clone();
    if !recalled.start.is_empty() {
        question.starts.push(recalled.start.clone());
    }
    question.bound = question.bound.or(recalled.bound());
    match model::solve(input, fit, &question, limit)? {
        Outcome::Found {
            solution,
            bound,
            witnesses,
        } => {
            let bound = Bound {
                lower: bound,
                witnesses,
                wanted_gap: limit.gap_percent.and_then(Decimal::from_f64),
            };
            let (solution, bound) = recalled.or_found(input, fit, (solution, bound));
            let mut answer = answer(input, fit, solution, bound)?;
            answer.plan.doubts = question.solver.doubts.count();
            Ok(Reply::Found(Box::new(answer)))
        }
        Outcome::Infeasible => Ok(Reply::Infeasible),
        Outcome::Unknown => Ok(Reply::Unknown),
    }
}

/// Puts claims to the proof. A look at all plans counts as a plan solved.
///
/// # Errors
/// [`Failure::Solver`].
pub fn refute(
    input: &Input,
    fit: &Fit,
    limit: &Limit,
    claims: &[Claim],
    scope: Scope,
) -> Result<Verdict, Failure> {
    if limit.is_over() {
        return Ok(Verdict::Unknown);
    }
    let limit = limit.doing(Doing::Studying);
    let verdict = model::refute(input, fit, claims, scope, &limit)?;
    match scope {
        Scope::All => limit.one_solved(),
        Scope::Near => limit.tell(|_| {}),
    }
    Ok(verdict)
}

/// Records and audits a solution.
///
/// # Errors
/// [`Failure::Defect`] where the audit fails; [`Failure::Read`] where amounts are too large.
pub fn answer(
    input: &Input,
    fit: &Fit,
    solution: Solution,
    bound: Bound,
) -> Result<Answer, Failure> {
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
/// [`Failure::Defect`].
pub fn audited(input: &Input, plan: Plan) -> Result<Plan, Failure> {
    let wrong = audit::audit(input, &plan);
    match wrong.is_empty() {
        true => Ok(plan),
        false => Err(Failure::Defect(
            wrong.iter().map(ToString::to_string).collect(),
        )),
    }
}

/// Does `job` for each item, at most `cores` at a time. Results come in the order of
/// the items. A panic of one job is raised again once all jobs have ended.
pub fn side_by_side<T: Sync, R: Send>(
    items: &[T],
    cores: u32,
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
        let workers: Vec<_> = (0..(cores as usize).clamp(1, items.len().max(1)))
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

/// The codes of parts that only `from` fits, and of parts that only `to` fits.
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
    fn a_panic_of_one_is_told() {
        let one_breaks = |&n: &u8| assert!(n != 3, "no such item");
        let told = std::panic::catch_unwind(|| side_by_side(&[1, 2, 3, 4], 2, one_breaks));
        let panic = told.expect_err("the panic goes on");
        assert_eq!(panic.downcast_ref::<&str>(), Some(&"no such item"));
    }

    #[test]
    fn what_differs_is_told_both_ways() {
        let list = |text: &str| -> Vec<String> { text.split(' ').map(str::to_owned).collect() };
        let (out, into) = differ(&list("a b c"), &list("b d"));
        assert_eq!((out, into), (list("a c"), list("d")));
    }
}
