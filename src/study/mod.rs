//! What follows from a plan and its input, beside the plan itself.

pub mod booking;
