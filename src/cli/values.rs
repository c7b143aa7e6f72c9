//! What the value of an option has to be, and what to write in place of another value.

use couplet::report::parts::Condition;
use couplet::table::one_spelling;
use couplet::units::{Ampere, Gauge};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::convert::Infallible;
use std::time::Duration;

/// Why a value is none, and what to write.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{why}")]
pub struct Wrong {
    why: String,
    /// What to write.
    pub cure: String,
}

impl Wrong {
    fn new(why: impl Into<String>, cure: impl Into<String>) -> Self {
        Self {
            why: why.into(),
            cure: cure.into(),
        }
    }
}

/// A name in its one spelling, so that it is found as the files have it.
pub fn name(text: &str) -> Result<String, Infallible> {
    Ok(one_spelling(text).into_owned())
}

/// A condition with its words in their one spelling, so that they are found as the files
/// have them.
pub fn condition(text: &str) -> Result<Condition, Wrong> {
    let parsed = one_spelling(text).parse();
    parsed.map_err(|cure: couplet::report::parts::NoCondition| {
        Wrong::new("no condition", cure.to_string())
    })
}

/// How many threads.
pub fn threads(text: &str) -> Result<u32, Wrong> {
    let number = whole(text, 1, 1024)?;
    u32::try_from(number).map_err(|_| Wrong::new("too many", "write a smaller number"))
}

/// How many pieces came.
pub fn pieces(text: &str) -> Result<u64, Wrong> {
    whole(text, 1, 1_000_000_000)
}

/// Which copy of a machine, the first being 1.
pub fn copy(text: &str) -> Result<u64, Wrong> {
    let number = whole(text, 0, u64::MAX);
    number.map_err(|wrong| Wrong::new(wrong.why, "write the number of a copy, such as 1"))
}

/// The most that something may have.
pub fn most(text: &str) -> Result<u32, Wrong> {
    let number = whole(text, 0, u64::from(u32::MAX))?;
    u32::try_from(number).map_err(|_| Wrong::new("too many", "write a smaller number"))
}

fn whole(text: &str, least: u64, most: u64) -> Result<u64, Wrong> {
    let wrong =
        |why: String| Wrong::new(why, format!("write a whole number from {least} to {most}"));
    let digits = text.strip_prefix('-').unwrap_or(text);
    if digits.is_empty() || !digits.bytes().all(|b| b.is_ascii_digit()) {
        return Err(wrong("no whole number".to_owned()));
    }
    if digits != text {
        return Err(wrong("below zero".to_owned()));
    }
    match text.parse() {
        Ok(number) if number < least => Err(wrong(format!("the least is {least}"))),
        Ok(number) if number <= most => Ok(number),
        _ => Err(wrong(format!("the most is {most}"))),
    }
}

/// A time that a search may take.
/// When a search ends by itself; none for only when it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Until(pub Option<Duration>);

/// A number of seconds, or `none`.
pub fn until(text: &str) -> Result<Until, Wrong> {
    match text {
        "none" => Ok(Until(None)),
        text => seconds(text).map(|time| Until(Some(time))),
    }
}

pub fn seconds(text: &str) -> Result<Duration, Wrong> {
    let wrong = |why| Wrong::new(why, "write a number of seconds above zero, such as 30");
    let seconds: f64 = text.parse().map_err(|_| wrong("no number of seconds"))?;
    Duration::try_from_secs_f64(seconds)
        .ok()
        .filter(|limit| !limit.is_zero())
        .ok_or_else(|| wrong("no time above zero"))
}

/// A share of the whole.
pub fn percent(text: &str) -> Result<f64, Wrong> {
    let wrong = |why| Wrong::new(why, "write a number from 0 to 100, such as 0.5");
    let percent: f64 = text.parse().map_err(|_| wrong("no number"))?;
    (0.0..=100.0)
        .contains(&percent)
        .then_some(percent)
        .ok_or_else(|| wrong("not between 0 and 100"))
}

/// By how much prices rise.
pub fn rise(text: &str) -> Result<Decimal, Wrong> {
    let wrong = |why| Wrong::new(why, "write a number from 0 to 1000, such as 7.5");
    let percent =
        Decimal::from_str_exact(text.trim()).map_err(|_| wrong("no number of percent"))?;
    (Decimal::ZERO..=Decimal::ONE_THOUSAND)
        .contains(&percent)
        .then_some(percent)
        .ok_or_else(|| wrong("not between 0 and 1000"))
}

/// A day of the calendar.
pub fn date(text: &str) -> Result<Date, Wrong> {
    let wrong = |why| Wrong::new(why, "write year, month and day, such as 2025-03-31");
    let place = |(at, byte): (usize, u8)| match at {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    };
    match text.len() == 10 && text.bytes().enumerate().all(place) {
        true => text.parse().map_err(|_| wrong("there is no such day")),
        false => Err(wrong("no date")),
    }
}

/// A gauge with its unit.
pub fn gauge(text: &str) -> Result<Gauge, Wrong> {
    text.parse().map_err(|error: couplet::units::GaugeError| {
        Wrong::new(error.to_string(), "write it as \"70 mm2\" or \"2/0 AWG\"")
    })
}

/// A current in ampere.
pub fn current(text: &str) -> Result<Ampere, Wrong> {
    let wrong = |why| Wrong::new(why, "write a number of ampere, such as 63");
    let ampere = Decimal::from_str_exact(text.trim()).map_err(|_| wrong("no number of ampere"))?;
    (ampere >= Decimal::ZERO)
        .then_some(Ampere(ampere))
        .ok_or_else(|| wrong("below zero"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_on_both_sides_of_their_edges() {
        assert!(seconds("0.001").is_ok() && seconds(".5").is_ok());
        for bad in ["0", "-1", "NaN", "inf", "1e30", "x", ""] {
            assert!(seconds(bad).is_err(), "{bad}");
        }
        assert!(percent("0").is_ok() && percent("100").is_ok() && percent(".5").is_ok());
        for bad in ["-0.1", "100.1", "NaN", "x"] {
            assert!(percent(bad).is_err(), "{bad}");
        }
        for good in ["0", "1000", "7.5", ".5"] {
            assert!(rise(good).is_ok(), "{good}");
        }
        for bad in ["-0.1", "1000.1", "5 %", ""] {
            assert!(rise(bad).is_err(), "{bad}");
        }
        assert!(current("0").is_ok() && current("12.5").is_ok() && current(".5").is_ok());
        assert!(current("-1").is_err() && current("12 A").is_err());
        assert!(gauge("70 mm2").is_ok() && gauge(".5 mm2").is_ok());
        let error = gauge("70").unwrap_err().to_string();
        assert!(error.contains("could be mm² or AWG"), "{error}");
    }

    #[test]
    fn a_day_is_written_in_full_and_stands_in_the_calendar() {
        assert!(date("2024-02-29").is_ok());
        for (bad, why) in [
            ("2025-02-29", "there is no such day"),
            ("2026-13-01", "there is no such day"),
            ("20250301", "no date"),
            ("2025-3-1", "no date"),
            ("2025-03--1", "no date"),
            ("", "no date"),
        ] {
            assert_eq!(date(bad).unwrap_err().to_string(), why, "{bad}");
        }
    }

    #[test]
    fn a_whole_number_says_what_it_has_to_be() {
        assert_eq!(
            (pieces("1"), pieces("1000000000")),
            (Ok(1), Ok(1_000_000_000))
        );
        for (bad, why) in [
            ("0", "the least is 1"),
            ("1000000001", "the most is 1000000000"),
            ("99999999999999999999999", "the most is 1000000000"),
            ("-1", "below zero"),
            ("1.5", "no whole number"),
            ("-", "no whole number"),
            ("+1", "no whole number"),
            ("x", "no whole number"),
            ("", "no whole number"),
        ] {
            let wrong = pieces(bad).unwrap_err();
            assert_eq!(wrong.to_string(), why, "{bad}");
            assert_eq!(wrong.cure, "write a whole number from 1 to 1000000000");
        }
        assert!(threads("1024").is_ok() && threads("1025").is_err() && threads("0").is_err());
        assert!(most("0").is_ok() && most("4294967296").is_err());
        // How many copies there are is for the purchase to say.
        assert!(copy("0").is_ok() && copy("1001").is_ok());
        let wrong = copy("x").unwrap_err();
        assert_eq!(wrong.cure, "write the number of a copy, such as 1");
    }
}
