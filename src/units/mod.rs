//! Quantities with their units: money, gauges, measures, protection codes.
//!
//! Everything that is compared or added up is decimal, so that 12.4 mm is
//! 12.4 mm; binary floating point is left to the solver.

mod gauge;
mod measure;
mod money;
mod protection;

pub use gauge::{Gauge, GaugeError};
pub use measure::{Ampere, Celsius, Mm, Mm2, Percent, Volt};
pub use money::{Currency, Money, apportion};
pub use protection::{Implied, Protection, ProtectionError};

/// A number of pieces.
pub type Qty = u64;

/// The largest number of pieces that any file may state.
pub const MAX_QTY: Qty = 1_000_000_000;
