//! One open project: what was read, its record and whether that still holds, what
//! is ordered. It plans, asks and books; a front end adds words and looks.

pub mod ask;
pub mod booking;
mod open;
pub mod paper;
pub mod record;
pub mod reprice;
pub mod take;
mod trust;
pub mod why;

pub use open::{Asked, Desk, Held, List};
