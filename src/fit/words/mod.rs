//! The wording of refusals and of why an end has no set; nothing else in this
//! module words a message.

mod facts;
mod lines;

pub(super) use facts::{Extreme, extreme, group, keying, refusal, sentence};
pub(super) use lines::{conclusion, lines, needs};
