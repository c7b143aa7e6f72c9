//! The wording of refusals and of why an end has no set; nothing else in this
//! module words a message.

mod blocks;
mod facts;
mod lines;

pub(super) use blocks::lines;
pub(super) use facts::{Extreme, extreme, group, keying, place, refusal, sentence};
pub(super) use lines::{cause, conclusion, needs};
