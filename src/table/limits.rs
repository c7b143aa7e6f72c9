//! What numbers a file may state. Wider than any real part or project, narrow
//! enough that no sum or product of them overflows a decimal.

use super::number::Limits;
use crate::units::MAX_QTY;

const BILLION: i64 = MAX_QTY as i64;

/// A price, a cost, an amount of money.
pub const MONEY: Limits = Limits::from_zero("an amount of money", BILLION, "");
/// What a pack or a shipment may come to, in the currency of its supplier and in
/// the project's: the solver takes no factor of 10¹⁵.
pub const LUMP: i64 = 1_000 * BILLION;
/// Pieces, none allowed.
pub const PIECES: Limits = Limits::whole("a number of pieces", 0, BILLION);
/// Pieces, at least one.
pub const SOME_PIECES: Limits = Limits::whole("a number of pieces", 1, BILLION);
/// Current.
pub const CURRENT: Limits = Limits::above_zero("a current", 100_000, " A");
/// Voltage.
pub const VOLTAGE: Limits = Limits::above_zero("a voltage", 100_000, " V");
/// Conductor area.
pub const AREA: Limits = Limits::above_zero("an area", 10_000, " mm²");
/// Diameter.
pub const DIAMETER: Limits = Limits::above_zero("a diameter", 1_000, " mm");
/// Percent.
pub const PERCENT: Limits = Limits::from_zero("a percentage", 1_000, " %");
/// Contacts of a body.
pub const POLES: Limits = Limits::whole("a number of contacts", 1, 100);
/// Back shells per body.
pub const SHELLS: Limits = Limits::whole("a number of pieces per body", 1, 100);
/// Days, ten years at most.
pub const DAYS: Limits = Limits::whole("a number of days", 0, 3_650);
/// Temperature.
pub const TEMPERATURE: Limits = Limits {
    what: "a temperature",
    unit: " °C",
    min: -100,
    above_min: false,
    max: 1_000,
    decimals: 6,
};
/// One unit of a currency in another. Small units need more decimals than money.
pub const RATE: Limits = Limits {
    decimals: 10,
    ..Limits::above_zero("a rate", 1_000_000, "")
};
/// A limit on how many parts or suppliers a plan uses.
pub const AT_MOST: Limits = Limits::whole("a number", 1, 1_000_000);
/// Any number that a table can hold.
pub const ANY: Limits = Limits {
    what: "a number",
    unit: "",
    min: i64::MIN,
    above_min: false,
    max: i64::MAX,
    decimals: 18,
};
