//! A smaller program whose least objective no plan is below, at any size.
//!
//! A relaxation in three ways; each maps a plan to a point of this program with
//! the same cost, so its bound is a true bound:
//! - Ends are told apart by kind (gauge and possible parts) or by cell, never
//!   by key. A plan's counts add up to this program's.
//! - Parts that differ only in key, and are offered alike, are one bundle: how
//!   many of them are used is one number, and so is how many of them are bought
//!   at a price break. A plan's numbers add up to them.
//! - What the locations impose comes back as capacities ([`Kinds::capacity`]):
//!   n identities serve at most C(K, n) ends of the kinds K, since at a location
//!   each serves one net. C is concave in n, so C(K, n) ≤ C(K, m) + (C(K, m + 1)
//!   − C(K, m)) (n − m) for every m is exact for whole n.

mod build;
mod bundle;
mod cuts;
mod dive;
mod kinds;
mod pool;

pub use bundle::{Bundle, Level};
pub use cuts::{Facts, Rooted, plain, rounds};
pub use kinds::{Grain, Kinds};
pub use pool::Pooled;
