//! What-if: changes in words against the same change made to the project by hand.

#[expect(dead_code, reason = "the soak changes price lists too")]
#[path = "../soak/files.rs"]
mod files;
#[path = "../support/mod.rs"]
mod support;

mod by_hand;
mod commands;
mod compare;
mod kept;
mod shown;
