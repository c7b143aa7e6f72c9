//! The only place that knows the solver.
//!
//! A [`Program`] is a value: variables, rows and an objective to be made
//! least. [`run`] hands it to HiGHS and never merges two of the four answers;
//! an answer that can't be true goes no further. [`prove`] has two runs behind
//! what it calls proven.

mod check;
mod engine;
mod highs;
mod log;
mod mps;
mod prove;
mod relaxation;
mod safe;

use crate::limit::Limit;
pub use check::{holds, near, run};
pub use engine::{Doubt, Doubts, Engine, Fault, Highs, Shared, Solver};
pub use highs::SolveError;
pub use mps::mps;
pub use prove::{Proved, confirm, none_below, prove};
pub use relaxation::{Relaxation, Relaxed};
pub use safe::Safe;

/// A variable by its place in [`Program::vars`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VarId(pub usize);

/// A variable. Bounds are finite, so that "unbounded or infeasible" can only
/// mean infeasible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Var {
    /// Least value.
    pub lo: f64,
    /// Largest value.
    pub up: f64,
    /// Whole numbers only.
    pub integer: bool,
    /// Coefficient in the objective.
    pub cost: f64,
}

/// A linear row, `lo ≤ Σ coefficient × variable ≤ up`; either side may be infinite.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Coefficients; a variable may stand here more than once, they add up.
    pub terms: Vec<(VarId, f64)>,
    /// Least value.
    pub lo: f64,
    /// Largest value.
    pub up: f64,
}

/// A mixed integer program: the objective is made least.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Program {
    /// Variables.
    pub vars: Vec<Var>,
    /// Rows.
    pub rows: Vec<Row>,
}

impl Program {
    /// Adds a continuous variable.
    pub fn continuous(&mut self, lo: f64, up: f64, cost: f64) -> VarId {
        self.var(Var {
            lo,
            up,
            integer: false,
            cost,
        })
    }

    /// Adds a whole-number variable.
    pub fn integer(&mut self, lo: f64, up: f64, cost: f64) -> VarId {
        self.var(Var {
            lo,
            up,
            integer: true,
            cost,
        })
    }

    /// Adds a variable that is 0 or 1.
    pub fn binary(&mut self, cost: f64) -> VarId {
        self.integer(0.0, 1.0, cost)
    }

    fn var(&mut self, var: Var) -> VarId {
        self.vars.push(var);
        VarId(self.vars.len() - 1)
    }

    /// Adds `Σ terms ≤ up`.
    pub fn at_most(&mut self, terms: Vec<(VarId, f64)>, up: f64) {
        self.rows.push(Row {
            terms,
            lo: f64::NEG_INFINITY,
            up,
        });
    }

    /// Adds `Σ terms ≥ lo`.
    pub fn at_least(&mut self, terms: Vec<(VarId, f64)>, lo: f64) {
        self.rows.push(Row {
            terms,
            lo,
            up: f64::INFINITY,
        });
    }

    /// Adds `Σ terms = value`.
    pub fn equal(&mut self, terms: Vec<(VarId, f64)>, value: f64) {
        self.rows.push(Row {
            terms,
            lo: value,
            up: value,
        });
    }

    /// The objective at these values.
    pub fn objective(&self, values: &[f64]) -> f64 {
        self.vars.iter().zip(values).map(|(v, x)| v.cost * x).sum()
    }
}

/// What is asked of the solver beside the program.
#[derive(Debug, Clone)]
pub struct Task {
    /// When it ends, and how near is near enough.
    pub limit: Limit,
    /// Nodes of the search tree; a limit that does not depend on the machine.
    pub nodes: Option<i32>,
    /// Stop once best − bound is at most this.
    pub absolute_gap: f64,
    /// A start: values of all variables, feasible or nearly.
    pub start: Option<Vec<f64>>,
    /// Let the solver make the program smaller first.
    pub presolve: bool,
    /// No better solution than is known is expected: no effort beside the search tree.
    pub proof: bool,
    /// Stop once a solution is at most this.
    pub target: Option<f64>,
    /// Only solutions below this count; where there is none, the answer is
    /// [`Solved::Infeasible`].
    pub cutoff: Option<f64>,
    /// Who answers.
    pub solver: Solver,
}

impl Task {
    /// Within a limit, on one thread, so that the same program has the same answer.
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
            solver: solver.clone(),
        }
    }

    /// The same without what a solver may err over: presolve and start.
    pub fn plain(&self) -> Task {
        Task {
            start: None,
            presolve: false,
            ..self.clone()
        }
    }

    /// The same to the very end: no gap is near enough.
    pub fn exact(&self) -> Task {
        Task {
            limit: self.limit.exact(),
            ..self.clone()
        }
    }

    /// The same with another limit.
    pub fn within(&self, limit: &Limit) -> Task {
        Task {
            limit: limit.with_threads(1),
            ..self.clone()
        }
    }

    /// Seconds that are left; many where there is no end.
    fn seconds(&self) -> f64 {
        self.limit.left().map_or(1e9, |left| left.as_secs_f64())
    }

    /// (best − bound) / best at which it may stop.
    fn relative_gap(&self) -> f64 {
        self.limit.gap_percent.unwrap_or(0.0) / 100.0
    }
}

impl Default for Task {
    fn default() -> Self {
        Task::new(&Limit::default(), &Solver::default())
    }
}

/// What the solver says.
#[derive(Debug, Clone, PartialEq)]
pub enum Solved {
    /// Proven best.
    Optimal {
        /// Value of each variable; whole ones are whole.
        values: Vec<f64>,
        /// Objective at them.
        objective: f64,
    },
    /// A solution, and a bound that no solution is below.
    Feasible {
        /// Value of each variable; whole ones are whole.
        values: Vec<f64>,
        /// Objective at them.
        objective: f64,
        /// Lower bound.
        bound: f64,
    },
    /// Proven that there is none; with a cutoff, none below it.
    Infeasible,
    /// A limit came first; the bound holds if there is any solution.
    Unknown {
        /// Lower bound.
        bound: f64,
    },
}

impl Solved {
    /// What no objective is below; minus infinity where nothing is known.
    pub fn bound(&self) -> f64 {
        match self {
            Solved::Optimal { objective, .. } => *objective,
            Solved::Feasible { bound, .. } | Solved::Unknown { bound } => *bound,
            Solved::Infeasible => f64::NEG_INFINITY,
        }
    }

    /// Value of each variable, proven best or not; none where there is none, or
    /// none is known.
    pub fn into_values(self) -> Option<Vec<f64>> {
        match self {
            Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => Some(values),
            Solved::Infeasible | Solved::Unknown { .. } => None,
        }
    }
}

/// What is known while the solver runs.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Pulse {
    /// Best objective so far.
    pub best: Option<f64>,
    /// Lower bound so far.
    pub bound: Option<f64>,
    /// Nodes of the search tree so far.
    pub nodes: u64,
}
