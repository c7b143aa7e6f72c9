//! Suppliers' lists as they come: read by a recipe, matched with our parts, held against
//! the price list that the user keeps.

pub mod change;
pub mod matching;
mod new_rows;
pub mod own;
pub mod propose;
pub mod read;
pub mod recipe;
pub mod rows;
pub mod values;

pub use new_rows::new_rows;
