//! What a list makes of the price list: what changes, and the rows that are written for it.

mod compare;
mod edits;
mod form;
mod offers;
mod told;

pub use compare::compare;
pub use edits::{Edit, NUMBERS, apply};
pub use form::{
    BreakChange, Changes, GoneOffer, NewOffer, NotUnderstood, PriceChange, Rounded, Taken,
    TermChange, Unmatched,
};
pub use offers::{Offered, offered};
pub use told::{Reading, matches, of_ours, told};
