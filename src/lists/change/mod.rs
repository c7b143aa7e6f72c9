//! What a list makes of the price list: what changes, and the rows that are written for it.

mod compare;
mod doubts;
mod edits;
mod form;
mod offers;
mod pairs;
mod told;

pub use compare::compare;
pub use doubts::{jumps, older};
pub use edits::{Edit, NUMBERS, apply};
pub use form::{
    BreakChange, Changes, GoneOffer, Kept, NewOffer, NotUnderstood, PriceChange, Rounded, Taken,
    TermChange, Unmatched,
};
pub use offers::{Offered, offered};
pub use pairs::Origin;
pub use told::{Reading, matches, of_ours, proposed_parts, told};
