//! What is shown: tables, CSV, JSON and messages, all from value to text.
//! Nothing here prints.

pub mod cards;
pub mod check;
pub mod diagnostics;
pub mod drawing;
pub mod ends;
pub mod kit;
pub mod labels;
pub mod limits;
pub mod order;
pub mod page;
pub mod parts;
pub mod plan;
pub mod surplus;
pub mod table;
pub mod wording;

#[cfg(test)]
mod sample;
