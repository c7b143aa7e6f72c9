//! What is asked, and of whom: of HiGHS, or in tests of something that does not
//! always tell the truth.

use super::answer::{Pulse, SolveError, Solved};
use super::doubts::Doubts;
use super::gifts::Gifts;
use super::program::Program;
use crate::limit::Limit;
use std::fmt::Debug;
use std::sync::Arc;

/// Answers a program. Nothing is taken on its word alone: see [`super::run`]
/// and [`super::prove`].
pub trait Engine: Debug + Send + Sync {
    /// Solves the program; `report` hears of progress now and then.
    ///
    /// # Errors
    /// [`SolveError`] if the engine refuses the program or breaks off.
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError>;
}

/// Who answers programs, and where answers are noted that were found wrong.
#[derive(Debug, Clone)]
pub struct Solver {
    /// The engine that answers.
    pub engine: Shared,
    /// Where answers are noted that were found wrong.
    pub doubts: Doubts,
}

/// An engine that several solves share.
pub type Shared = Arc<dyn Engine>;

/// What is asked of the solver beside the program.
#[derive(Debug, Clone)]
pub struct Task {
    /// When the solve ends, and how near is near enough.
    pub limit: Limit,
    /// Most nodes of the search tree: a limit that does not depend on the machine.
    pub nodes: Option<i32>,
    /// The solver stops once best − bound is at most this.
    pub absolute_gap: f64,
    /// A start: values of all variables, feasible or nearly.
    pub start: Option<Vec<f64>>,
    /// True if the solver may make the program smaller first.
    pub presolve: bool,
    /// True if no better solution than the known one is expected: then the solver
    /// makes no effort beside the search tree.
    pub proof: bool,
    /// The solver stops once a solution is at most this.
    pub target: Option<f64>,
    /// Only solutions below this count; where there is no such solution, the answer
    /// is [`Solved::Infeasible`].
    pub cutoff: Option<f64>,
    /// Where solutions from elsewhere come in while the solver runs.
    pub given: Gifts,
    /// Who answers.
    pub solver: Solver,
}

impl Task {
    /// A task within a limit, on one thread, so that the same program has the same answer.
    pub fn new(limit: &Limit, solver: &Solver) -> Task {
        Task {
            limit: limit.with_threads(1),
            nodes: None,
            absolute_gap: 1e-6,
            start: None,
            presolve: true,
            proof: false,
            target: None,
            cutoff: None,
            given: Gifts::default(),
            solver: solver.clone(),
        }
    }

    /// The same task without what a solver may err over: presolve, start and gifts.
    pub fn plain(&self) -> Task {
        Task {
            start: None,
            presolve: false,
            given: Gifts::default(),
            ..self.clone()
        }
    }

    /// The same task to the very end: no gap is near enough.
    pub fn exact(&self) -> Task {
        Task {
            limit: self.limit.exact(),
            ..self.clone()
        }
    }

    /// The same task with another limit.
    pub fn within(&self, limit: &Limit) -> Task {
        Task {
            limit: limit.with_threads(1),
            ..self.clone()
        }
    }

    /// Seconds that are left; many where there is no end.
    pub(super) fn seconds(&self) -> f64 {
        self.limit.left().map_or(1e9, |left| left.as_secs_f64())
    }

    /// (best − bound) / best at which the solver may stop.
    pub(super) fn relative_gap(&self) -> f64 {
        self.limit.gap_percent.unwrap_or(0.0) / 100.0
    }
}

impl Default for Task {
    fn default() -> Self {
        Task::new(&Limit::default(), &Solver::default())
    }
}
