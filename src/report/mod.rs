//! What is shown: tables, CSV, JSON and messages, all from value to text.
//! Nothing here prints.

pub mod check;
pub mod diagnostics;
pub mod ends;
pub mod limits;
pub mod order;
pub mod parts;
pub mod plan;
pub mod surplus;
pub mod table;
pub mod wording;
pub mod workbook;

#[cfg(test)]
mod sample;
