//! What follows from a plan and its input, beside the plan itself.

pub mod booking;
pub mod changes;
pub mod prices;
pub mod reprice;
pub mod shifts;
