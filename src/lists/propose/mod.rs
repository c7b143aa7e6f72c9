//! A recipe for a list that nobody described yet, proposed from its headings and values.

mod columns;
mod heading;
mod proposed;
mod scale;

mod synonyms;

pub use proposed::{Proposed, propose};
