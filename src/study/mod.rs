//! What a plan means and why it is as it is: studies of a project and its plan.

pub mod conflict;
pub mod keys;
pub mod recall;
pub mod why;
