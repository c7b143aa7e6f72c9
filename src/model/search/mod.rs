//! A good plan early: take some ends' sets away, give them the cheapest anew,
//! keep what is better, at first also what is a little worse.
//!
//! The random numbers are seeded, so that the same input with the same number
//! of rounds gives the same plan.

mod course;
mod ground;
mod guide;
mod guided;
mod moves;
mod picks;
mod state;
mod tables;

pub use course::{Found, Search, is_below};
pub use ground::Ground;
pub use guide::{Hints, Share};
pub use state::Pick;
