//! What numbers a file may state. The limits are wider than any real part or project,
//! and so narrow that no sum or product of such numbers overflows a decimal.

use super::number::Span;
use crate::units::MAX_QTY;

const BILLION: i64 = MAX_QTY as i64;

/// A price, a cost, an amount of money.
pub const MONEY: Span = Span::from_zero("an amount of money", BILLION, "");
/// What a pack or a shipment may come to, in the currency of its supplier and in
/// the project's currency. The solver takes no factor of 10¹⁵.
pub const LUMP: i64 = 1_000 * BILLION;
/// Pieces; zero is allowed.
pub const PIECES: Span = Span::whole("a number of pieces", 0, BILLION);
/// Pieces, at least one.
pub const SOME_PIECES: Span = Span::whole("a number of pieces", 1, BILLION);
/// Current in ampere.
pub const CURRENT: Span = Span::above_zero("a current", 100_000, " A");
/// Voltage in volt.
pub const VOLTAGE: Span = Span::above_zero("a voltage", 100_000, " V");
/// Conductor area in mm².
pub const AREA: Span = Span::above_zero("an area", 10_000, " mm²");
/// Diameter in mm.
pub const DIAMETER: Span = Span::above_zero("a diameter", 1_000, " mm");
/// Percent.
pub const PERCENT: Span = Span::from_zero("a percentage", 1_000, " %");
/// Contacts of a body.
pub const POLES: Span = Span::whole("a number of contacts", 1, 100);
/// Back shells per body.
pub const SHELLS: Span = Span::whole("a number of pieces per body", 1, 100);
/// Days, ten years at most.
pub const DAYS: Span = Span::whole("a number of days", 0, 3_650);
/// Temperature in °C.
pub const TEMPERATURE: Span = Span {
    what: "a temperature",
    unit: " °C",
    min: -100,
    above_min: false,
    max: 1_000,
    decimals: 6,
};
/// One unit of a currency in another. Small units need more decimals than money.
pub const RATE: Span = Span {
    decimals: 10,
    ..Span::above_zero("a rate", 1_000_000, "")
};
/// How many machines are built alike.
pub const MACHINES: Span = Span::whole("a number of machines", 1, 1_000);
/// A limit on how many parts or suppliers a plan uses.
pub const AT_MOST: Span = Span::whole("a number", 1, 1_000_000);
/// Any number that a table can hold.
pub const ANY: Span = Span {
    what: "a number",
    unit: "",
    min: i64::MIN,
    above_min: false,
    max: i64::MAX,
    decimals: 18,
};
