//! What answers a program: HiGHS, or in tests something that does not always
//! tell the truth.

use super::{Limits, Program, Pulse, SolveError, Solved, highs};
use std::fmt::Debug;
use std::sync::{Arc, Mutex};

/// Answers a program. Nothing is taken on its word alone: see [`super::run`]
/// and [`super::prove`].
pub trait Engine: Debug + Send + Sync {
    /// Solves the program; `report` hears of progress now and then.
    ///
    /// # Errors
    /// [`SolveError`] if it refuses the program or breaks off.
    fn solve(
        &self,
        program: &Program,
        limits: &Limits,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError>;
}

/// The solver that the program is built with.
#[derive(Debug, Clone, Copy)]
pub struct Highs;

/// The solver that the program is built with, for several solves.
pub fn built_in() -> Shared {
    Arc::new(Highs)
}

impl Engine for Highs {
    fn solve(
        &self,
        program: &Program,
        limits: &Limits,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        highs::run(program, limits, report)
    }
}

/// An engine that several solves share.
pub type Shared = Arc<dyn Engine>;

/// Answers that were found wrong, from all solves that share it.
#[derive(Debug, Clone, Default)]
pub struct Doubts(Arc<Mutex<Vec<Doubt>>>);

/// An answer that was found wrong.
#[derive(Debug, Clone)]
pub struct Doubt {
    /// What was answered.
    pub program: Program,
    /// Why the answer is wrong.
    pub why: Fault,
}

/// Why an answer is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The solver broke off.
    #[error("the solver broke off")]
    Broken,
    /// The values are not those of a solution.
    #[error("the values given do not hold all rows")]
    Rows,
    /// The objective is not what the values come to.
    #[error("the objective given is not that of the values")]
    Objective,
    /// The bound is above a solution that is known.
    #[error("the bound given is above a known solution")]
    Bound,
    /// There is said to be no solution, and one is known.
    #[error("no solution is said to exist, and one is known")]
    Infeasible,
    /// Called the best, and a better one is known.
    #[error("a solution was called the best, and a better one is known")]
    NotBest,
}

/// So many programs are kept; a solver that errs more often is told of by the count.
const KEPT: usize = 5;

impl Doubts {
    /// Notes an answer that was found wrong.
    pub fn add(&self, program: &Program, why: Fault) {
        if let Ok(mut list) = self.0.lock() {
            let program = match list.len() < KEPT {
                true => program.clone(),
                false => Program::default(),
            };
            list.push(Doubt { program, why });
        }
    }

    /// How many there were.
    pub fn count(&self) -> usize {
        self.0.lock().map_or(0, |list| list.len())
    }

    /// All of them; the first few with their programs.
    pub fn list(&self) -> Vec<Doubt> {
        self.0
            .lock()
            .map_or_else(|_| Vec::new(), |list| list.clone())
    }
}
