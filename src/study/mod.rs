//! What follows from a project and its plan: what is built from it, why it is
//! as it is, what other prices or orders change, and questions that take
//! several plans to answer.

pub mod answer;
pub mod booking;
pub mod breakeven;
pub mod budget;
pub mod cables;
pub mod changes;
pub mod compare;
pub mod conflict;
pub mod copies;
pub mod failure;
pub mod feed;
pub mod frontier;
pub mod history;
pub mod keys;
pub mod kit;
pub mod letter;
pub mod offers;
pub mod open;
pub mod outstanding;
pub mod prices;
pub mod recall;
mod reply;
pub mod reprice;
pub mod shifts;
pub mod why;
