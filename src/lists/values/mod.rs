//! What cells of a supplier's list say: amounts, quantities, lead times, stocks, days.

pub mod date;
pub mod lead;
pub mod number;
pub mod quantity;
pub mod stock;
pub mod words;
