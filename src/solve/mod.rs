//! The only place that knows the solver.
//!
//! A [`Program`] is a value: variables, rows and an objective to be made
//! least. [`run`] hands it to HiGHS and never merges two of the four answers;
//! an answer that can't be true goes no further. [`prove`] has two runs behind
//! what it calls proven.

mod answer;
#[allow(unsafe_code)]
mod callback;
mod check;
mod doubts;
mod engine;
mod gifts;
mod highs;
mod line;
mod mps;
mod program;
mod prove;
mod relaxation;
mod safe;

pub use answer::{Pulse, SolveError, Solved};
pub use check::{holds, near, run};
pub use doubts::{Doubt, Doubts, Fault};
pub use engine::{Engine, Shared, Solver, Task};
pub use gifts::Gifts;
pub use highs::Highs;
pub use mps::mps;
pub use program::{Program, Row, Var, VarId};
pub use prove::{Proved, confirm, none_below, prove};
pub use relaxation::{Relaxation, Relaxed};
pub use safe::Safe;
