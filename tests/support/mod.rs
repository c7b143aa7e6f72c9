//! What several test files share: projects built in code, random projects, and
//! a reference that finds the cheapest plan by enumeration.
//!
//! The reference is written from the rules alone and calls nothing of the
//! program but its plain types, so that it can't share a mistake with it.
#![allow(dead_code)] // each test file uses a part of it

pub mod answer;
pub mod brute;
pub mod build;
pub mod codes;
pub mod facts;
pub mod features;
pub mod machines;
pub mod money;
pub mod mps;
pub mod plain;
pub mod price;
pub mod random;

use rust_decimal::Decimal;

/// A decimal from its text.
pub fn dec(text: &str) -> Decimal {
    Decimal::from_str_exact(text).unwrap_or_else(|e| panic!("{text}: {e}"))
}
