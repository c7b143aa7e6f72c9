//! What follows from a project and its plan: why it is as it is, and what
//! other prices or orders change.

pub mod booking;
pub mod changes;
pub mod conflict;
pub mod keys;
pub mod prices;
pub mod recall;
pub mod reprice;
pub mod shifts;
pub mod why;
