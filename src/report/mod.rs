//! What is shown: tables, CSV, JSON and messages, all from value to text.
//! Nothing here prints.

pub mod asked;
pub mod booking;
pub mod cards;
pub mod check;
pub mod compare;
pub mod conflict;
pub mod diagnostics;
pub mod difference;
pub mod drawing;
pub mod ends;
pub mod history;
pub mod keys;
pub mod kit;
pub mod labels;
pub mod letter;
pub mod order;
pub mod ordered;
pub mod outstanding;
pub mod page;
pub mod parts;
pub mod plan;
pub mod prices;
pub mod reprice;
pub mod surplus;
pub mod table;
pub mod take;
pub mod trial;
pub mod why;
pub mod wording;
pub mod workbook;

pub mod breakeven;
pub mod budget;
pub mod frontier;

pub mod picture;

#[cfg(test)]
mod sample;
