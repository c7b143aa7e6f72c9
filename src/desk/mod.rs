//! One open project: what was read, the record and whether the record still holds,
//! what is ordered. A desk plans, asks and books; a front end adds words and looks.

pub mod ask;
pub mod booking;
mod history;
pub mod letter;
mod open;
mod own;
pub mod paper;
pub mod record;
pub mod reprice;
pub mod take;
pub mod trial;
mod trust;
pub mod why;

pub use history::history;
pub use open::{Asked, Desk, Held, List};
pub use own::Own;
