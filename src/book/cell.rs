//! What a cell holds, as the text that a CSV file would have.

use crate::source::Mark;
use calamine::{Data, ExcelDateTime};
use rust_decimal::{Decimal, RoundingStrategy};

/// The text of a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Text {
    pub text: String,
    pub mark: Option<Mark>,
}

/// How a number is shown, as far as that changes what the cell says.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Shown {
    /// True if the number is shown as a percentage.
    pub percent: bool,
    /// The decimals that are shown, where the format fixes them.
    pub decimals: Option<u32>,
}

/// How many decimals of a number are kept.
const DECIMALS: u32 = 6;
/// How many digits of a number a spreadsheet keeps.
const DIGITS: i32 = 15;

/// The text of a cell; none where the cell is empty.
pub fn text(data: &Data, shown: Shown) -> Option<Text> {
    let plain = |text: String| Text { text, mark: None };
    Some(match data {
        Data::Empty => return None,
        Data::String(text) | Data::DurationIso(text) => plain(text.clone()),
        Data::DateTimeIso(text) => plain(text.strip_suffix("T00:00:00").unwrap_or(text).to_owned()),
        Data::Int(number) => self::number(*number as f64, shown),
        Data::Float(number) => self::number(*number, shown),
        Data::Bool(value) => plain(if *value { "TRUE" } else { "FALSE" }.to_owned()),
        Data::DateTime(moment) => date(moment, shown),
        Data::Error(error) => Text {
            text: error.to_string(),
            mark: Some(Mark::Failed),
        },
    })
}

fn date(moment: &ExcelDateTime, shown: Shown) -> Text {
    if moment.is_duration() {
        return number(moment.as_f64(), shown);
    }
    let (year, month, day, hour, minute, second, milli) = moment.to_ymd_hms_milli();
    let mut text = format!("{year:04}-{month:02}-{day:02}");
    if (hour, minute, second, milli) != (0, 0, 0, 0) {
        text.push_str(&format!(" {hour:02}:{minute:02}:{second:02}"));
    }
    Text { text, mark: None }
}

/// A number as the shortest decimal that is the same number, with at most six
/// decimals. What arithmetic in binary adds behind those decimals is left out.
fn number(value: f64, shown: Shown) -> Text {
    let value = if shown.percent { value * 100.0 } else { value };
    let exact = decimal(value);
    let mark = match exact {
        Some(_) if value.abs() < 10f64.powi(DIGITS) => Mark::Number,
        _ => Mark::TooLong,
    };
    let mut text = match exact {
        Some(exact) => digits(exact, shown.decimals),
        None => value.to_string(),
    };
    if shown.percent {
        text.push('%');
    }
    Text {
        text,
        mark: Some(mark),
    }
}

/// The text that is read from a cell with this number and number format.
pub fn reads_as(value: f64, format: &str) -> String {
    number(value, shown(format)).text
}

/// Rounds to fifteen digits, then to six decimals. A number that would become
/// nothing keeps its fifteen digits.
fn decimal(value: f64) -> Option<Decimal> {
    let fifteen = format!("{value:.*e}", (DIGITS - 1) as usize);
    let exact = Decimal::from_scientific(&fifteen).ok()?.normalize();
    let kept = exact.round_dp_with_strategy(DECIMALS, RoundingStrategy::MidpointAwayFromZero);
    Some(if kept.is_zero() {
        exact
    } else {
        kept.normalize()
    })
}

/// A number with the decimals that its format shows, where no digit is lost.
fn digits(exact: Decimal, decimals: Option<u32>) -> String {
    let mut shown = exact;
    if let Some(decimals) = decimals.filter(|d| *d > exact.scale() && *d <= DECIMALS) {
        shown.rescale(decimals);
    }
    shown.to_string()
}

/// What a number format says of a number: `0.00` shows two decimals, `0.0%` a
/// percentage.
pub fn shown(format: &str) -> Shown {
    let outside: String = without_quoted(format);
    let fixed = match format.split_once('.') {
        None => (format == "0").then_some(0),
        Some((whole, decimals)) => {
            let plain = whole == "0" && !decimals.is_empty() && decimals.bytes().all(|b| b == b'0');
            plain.then(|| u32::try_from(decimals.len()).ok()).flatten()
        }
    };
    Shown {
        percent: outside.contains('%'),
        decimals: fixed,
    }
}

/// A format without what it only shows: `"text"` and `\x`.
fn without_quoted(format: &str) -> String {
    let (mut outside, mut quoted, mut escaped) = (String::new(), false, false);
    for c in format.chars() {
        match c {
            _ if escaped => escaped = false,
            '\\' if !quoted => escaped = true,
            '"' => quoted = !quoted,
            c if !quoted => outside.push(c),
            _ => {}
        }
    }
    outside
}

#[cfg(test)]
mod tests {
    use super::*;
    use calamine::{CellErrorType, ExcelDateTimeType};

    fn shows(value: f64) -> String {
        number(value, Shown::default()).text
    }

    #[test]
    fn numbers_are_what_they_look_like() {
        assert_eq!(shows(0.1 + 0.2), "0.3");
        assert_eq!(shows(30.125), "30.125");
        assert_eq!(shows(16.0), "16");
        assert_eq!(shows(-0.5), "-0.5");
        assert_eq!(shows(0.0), "0");
        assert_eq!(shows(-0.0), "0");
        assert_eq!(shows(1.0 / 3.0), "0.333333");
        assert_eq!(shows(0.000001), "0.000001");
        assert_eq!(shows(123456789.123456), "123456789.123456");
        // Too small to be kept, so it stays and is refused where it is read.
        assert_eq!(shows(0.0000001), "0.0000001");
    }

    #[test]
    fn long_numbers_may_have_lost_digits() {
        let mark = |value| number(value, Shown::default()).mark;
        assert_eq!(mark(999_999_999_999_999.0), Some(Mark::Number));
        assert_eq!(shows(999_999_999_999_999.0), "999999999999999");
        assert_eq!(mark(1_000_000_000_000_000.0), Some(Mark::TooLong));
        assert_eq!(mark(1e300), Some(Mark::TooLong));
        assert_eq!(mark(f64::NAN), Some(Mark::TooLong));
        assert_eq!(mark(f64::INFINITY), Some(Mark::TooLong));
    }

    #[test]
    fn formats_add_decimals_and_percent() {
        let as_shown = |value, format| number(value, shown(format)).text;
        assert_eq!(as_shown(16.0, "0.00"), "16.00");
        assert_eq!(as_shown(16.125, "0.00"), "16.125");
        assert_eq!(as_shown(16.0, "#,##0.00"), "16");
        assert_eq!(as_shown(16.0, "0"), "16");
        assert_eq!(as_shown(16.0, "0.0000000"), "16");
        assert_eq!(as_shown(0.035, "0.0%"), "3.5%");
        assert_eq!(as_shown(3.0, "0\" %\""), "3");
        assert_eq!(as_shown(3.0, "0\\%"), "3");
    }

    #[test]
    fn dates_are_days() {
        let at = |value| ExcelDateTime::new(value, ExcelDateTimeType::DateTime, false);
        let said = |value| {
            text(&Data::DateTime(at(value)), Shown::default())
                .unwrap()
                .text
        };
        // ECMA-376 part 1, 18.17.4.1: the day after 1900-02-29 is number 61.
        assert_eq!(said(61.0), "1900-03-01");
        assert_eq!(said(46112.0), "2026-03-31");
        assert_eq!(said(46112.5), "2026-03-31 12:00:00");
        let iso = |day: &str| {
            text(&Data::DateTimeIso(day.into()), Shown::default())
                .unwrap()
                .text
        };
        assert_eq!(iso("2026-03-31"), "2026-03-31");
        assert_eq!(iso("2026-03-31T00:00:00"), "2026-03-31");
    }

    #[test]
    fn errors_are_marked() {
        let cell = text(&Data::Error(CellErrorType::NA), Shown::default()).unwrap();
        assert_eq!(
            (cell.text.as_str(), cell.mark),
            ("#N/A", Some(Mark::Failed))
        );
        assert_eq!(text(&Data::Empty, Shown::default()), None);
    }
}
