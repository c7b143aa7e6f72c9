//! The integer program: from what fits and what it costs to the cheapest plan.
//! The module knows no file format.

mod cells;
mod claims;
mod decode;
mod gather;
mod hunt;
mod market;
mod net_keys;
mod order;
mod pooled;
mod probe;
mod problem;
mod program;
mod question;
mod rows;
mod run;
mod search;
mod solution;
mod start;
mod terms;
mod tie;
mod worth;

use crate::fit::Fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::solve::SolveError;
pub use claims::{Claim, Scope, Verdict, refute};
use problem::Problem;
use program::Built;
pub use question::{Outcome, Question};
pub use solution::{Fitted, Given, Set, Solution};
pub use worth::{Worth, worth};

/// Finds the cheapest compatible plan.
///
/// A local search gives a plan early; the pooled program gives a bound and
/// prices that guide the search; then the whole program proves the optimum
/// where it is small, and pooled program and search go on side by side where
/// it is not. Ties are settled last.
///
/// From two threads on, search and solver work side by side where the whole program
/// is too large.
///
/// # Errors
/// [`SolveError`] if the solver itself breaks off.
pub fn solve(
    input: &Input,
    fit: &Fit,
    question: &Question,
    limit: &Limit,
) -> Result<Outcome, SolveError> {
    run::Run::new(input, fit, question, limit).go()
}

/// The integer program whose least objective is the least total, as a value
/// for another solver.
pub fn program(input: &Input, fit: &Fit) -> crate::solve::Program {
    Built::new(&Problem::new(input, fit)).program
}

/// A smaller program whose least objective no plan's total is below, with the
/// rows that its relaxation violates. Ends are told apart by cell where `by_cell`,
/// else only by kind.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn pooled_program(
    input: &Input,
    fit: &Fit,
    by_cell: bool,
) -> Result<crate::solve::Program, SolveError> {
    let problem = Problem::new(input, fit);
    let grain = match by_cell {
        true => pooled::Grain::Cell,
        false => pooled::Grain::Kind,
    };
    let mut pooled = pooled::Pooled::new(&problem, input, fit, grain);
    let limit = Limit::default();
    pooled.root(&problem, &limit, &limit)?;
    Ok(pooled.program)
}
