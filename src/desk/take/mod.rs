//! A supplier's list taken into the price list: read by its recipe, held against the price
//! list, written. Where there is no recipe, one is proposed.

mod noted;
mod place;
mod reading;
mod shelf;

pub use noted::Noted;
pub(in crate::desk) use place::Place;
pub use shelf::{Asked, Draft, Outcome, ReadList, Shelf};
