//! Answers that were found wrong.

use super::program::Program;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Answers that were found wrong, from all solves that share this list.
#[derive(Debug, Clone, Default)]
pub struct Doubts(Arc<Mutex<Vec<Doubt>>>);

/// An answer that was found wrong.
#[derive(Debug, Clone)]
pub struct Doubt {
    /// The program that was answered; empty beyond the first few doubts.
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
    /// There is said to be no solution, but a solution is known.
    #[error("no solution is said to exist, but a solution is known")]
    Infeasible,
    /// A solution was called the best, and a better one is known.
    #[error("a solution was called the best, and a better one is known")]
    NotBest,
}

/// So many programs are kept; a solver that errs more often is told of by the count.
const KEPT: usize = 5;

impl Doubts {
    /// Notes an answer that was found wrong.
    pub fn add(&self, program: &Program, why: Fault) {
        let mut list = self.locked();
        let program = match list.len() < KEPT {
            true => program.clone(),
            false => Program::default(),
        };
        list.push(Doubt { program, why });
    }

    /// How many answers were found wrong.
    pub fn count(&self) -> usize {
        self.locked().len()
    }

    /// All doubts; the first few with their programs.
    pub fn list(&self) -> Vec<Doubt> {
        self.locked().clone()
    }

    /// What a thread that broke off has noted holds all the same.
    fn locked(&self) -> MutexGuard<'_, Vec<Doubt>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
