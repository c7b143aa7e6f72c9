//! A supplier's list taken into the price list: read by its recipe, held against the price
//! list, written. Where there is no recipe, one is proposed.

mod reading;
mod shelf;

pub use shelf::{Asked, Draft, Outcome, ReadList, Shelf};
