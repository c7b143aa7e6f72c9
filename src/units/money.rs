//! Money as exact decimals.

use rust_decimal::Decimal;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::borrow::Cow;
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Sub};
use std::str::FromStr;

/// A currency by its code, such as `EUR` (three capital letters, ISO 4217).
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct Currency(pub String);

impl Currency {
    /// Reads a code; `None` unless it is three capital letters.
    pub fn parse(text: &str) -> Option<Self> {
        (text.len() == 3 && text.bytes().all(|b| b.is_ascii_uppercase()))
            .then(|| Self(text.to_owned()))
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// An amount of money in a currency that the place where it stands tells.
///
/// An amount is exact: nothing is rounded on the way. A record writes an amount as a
/// string with all its decimals, at least two. [`Money::cents`] rounds for display.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Money(pub Decimal);

impl Money {
    /// No money.
    pub const ZERO: Money = Money(Decimal::ZERO);

    /// Rounded to two decimals, half away from zero (common practice on
    /// invoices, no published source).
    pub fn cents(self) -> Money {
        let mut value = self
            .0
            .round_dp_with_strategy(2, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
        value.rescale(2);
        Money(value)
    }

    /// This amount times a number of pieces.
    pub fn times(self, qty: u64) -> Money {
        Money(self.0 * Decimal::from(qty))
    }

    /// `percent` hundredths of this amount.
    pub fn percent(self, percent: Decimal) -> Money {
        Money(self.0 * percent / Decimal::ONE_HUNDRED)
    }

    /// True for more than nothing.
    pub fn is_positive(self) -> bool {
        self.0 > Decimal::ZERO
    }
}

/// All decimals, at least two: `1234.50`, `0.015`.
impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut value = self.0.normalize();
        if value.scale() < 2 {
            value.rescale(2);
        }
        f.pad(&value.to_string())
    }
}

impl FromStr for Money {
    type Err = rust_decimal::Error;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Decimal::from_str_exact(text).map(Money)
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl JsonSchema for Money {
    fn schema_name() -> Cow<'static, str> {
        "Money".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "pattern": r"^-?[0-9]+\.[0-9]{2,}$",
            "description": "An amount of money, with all its decimals, at least two.",
        })
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

impl Add for Money {
    type Output = Money;
    fn add(self, other: Money) -> Money {
        Money(self.0 + other.0)
    }
}

impl AddAssign for Money {
    fn add_assign(&mut self, other: Money) {
        self.0 += other.0;
    }
}

impl Sub for Money {
    type Output = Money;
    fn sub(self, other: Money) -> Money {
        Money(self.0 - other.0)
    }
}

impl Mul<Decimal> for Money {
    type Output = Money;
    fn mul(self, factor: Decimal) -> Money {
        Money(self.0 * factor)
    }
}

impl Sum for Money {
    fn sum<I: Iterator<Item = Money>>(iter: I) -> Money {
        iter.fold(Money::ZERO, Add::add)
    }
}

/// Rounds amounts to the cent so that they add up to their rounded sum, by
/// largest remainder. Each amount is rounded down, and the cents that are missing go
/// to the amounts that lost most. Among equals, the first gets the cent.
///
/// ```
/// use couplet::units::{Money, apportion};
/// let terms: Vec<Money> = ["0.335", "0.335", "0.33"].map(|t| t.parse().unwrap()).into();
/// let shown = apportion(&terms);
/// assert_eq!(shown[0].to_string(), "0.34");
/// assert_eq!(shown[1].to_string(), "0.33");
/// assert_eq!(shown.into_iter().sum::<Money>().to_string(), "1.00");
/// ```
pub fn apportion(terms: &[Money]) -> Vec<Money> {
    let cent = Decimal::new(1, 2);
    let sum: Money = terms.iter().copied().sum();
    let mut floors: Vec<Decimal> = terms
        .iter()
        .map(|m| {
            m.0.round_dp_with_strategy(2, rust_decimal::RoundingStrategy::ToNegativeInfinity)
        })
        .collect();
    let floored: Decimal = floors.iter().sum();
    let mut missing = sum.cents().0 - floored;
    let mut order: Vec<usize> = (0..terms.len()).collect();
    order.sort_by_key(|&i| std::cmp::Reverse(terms[i].0 - floors[i]));
    for i in order {
        if missing < cent {
            break;
        }
        floors[i] += cent;
        missing -= cent;
    }
    floors.into_iter().map(|d| Money(d).cents()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn money(text: &str) -> Money {
        text.parse().unwrap()
    }

    #[test]
    fn shows_all_decimals_and_at_least_two() {
        for (text, shown) in [
            ("0", "0.00"),
            ("-0", "0.00"),
            ("-0.000", "0.00"),
            ("7", "7.00"),
            ("1234.5", "1234.50"),
            ("0.015", "0.015"),
            ("0.0150", "0.015"),
            ("-3.1", "-3.10"),
            ("100", "100.00"),
        ] {
            assert_eq!(money(text).to_string(), shown, "{text}");
        }
    }

    #[test]
    fn rounds_half_a_cent_away_from_zero() {
        for (text, shown) in [
            ("0.004999", "0.00"),
            ("0.005", "0.01"),
            ("0.015", "0.02"),
            ("0.025", "0.03"),
            ("-0.005", "-0.01"),
            ("-0.004", "0.00"),
            ("2", "2.00"),
        ] {
            assert_eq!(money(text).cents().to_string(), shown, "{text}");
        }
    }

    #[test]
    fn counts_and_shares() {
        assert_eq!(money("0.015").times(1_000_000_000), money("15000000"));
        assert_eq!(money("200").percent(Decimal::new(125, 1)), money("25"));
        assert!(money("0.001").is_positive());
        assert!(!Money::ZERO.is_positive());
        assert!(!money("-1").is_positive());
    }

    #[test]
    fn sums_differences_and_shares() {
        let mut sum = money("1.5");
        sum += money("0.25");
        assert_eq!(sum, money("1.75"));
        assert_eq!(money("1.5") + money("0.25"), money("1.75"));
        assert_eq!(money("1.5") - money("0.25"), money("1.25"));
        assert_eq!(money("1.5") * Decimal::new(4, 0), money("6"));
    }

    #[test]
    fn a_record_holds_a_string() {
        let json = serde_json::to_string(&money("1234.5")).unwrap();
        assert_eq!(json, "\"1234.50\"");
        let back: Money = serde_json::from_str(&json).unwrap();
        assert_eq!(back, money("1234.5"));
        assert!(serde_json::from_str::<Money>("1234.5").is_err());
        assert!(serde_json::from_str::<Money>("\"12x\"").is_err());
    }

    #[test]
    fn a_currency_is_three_capitals() {
        assert_eq!(Currency::parse("EUR"), Some(Currency("EUR".into())));
        for text in ["", "EU", "EURO", "eur", "E1R", "€"] {
            assert_eq!(Currency::parse(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn apportioned_terms_add_up(
            tenths in prop::collection::vec(-2_000_000i64..2_000_000, 0..12),
        ) {
            let terms: Vec<Money> = tenths.iter().map(|t| Money(Decimal::new(*t, 4))).collect();
            let shown = apportion(&terms);
            let sum: Money = terms.iter().copied().sum();
            prop_assert_eq!(shown.len(), terms.len());
            prop_assert_eq!(shown.iter().copied().sum::<Money>(), sum.cents());
            for (shown, term) in shown.iter().zip(&terms) {
                prop_assert!((*shown - *term).0.abs() < Decimal::new(1, 2));
                prop_assert_eq!(shown.cents(), *shown);
            }
        }
    }
}
