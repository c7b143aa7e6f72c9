//! Numbers as people write them, kept as exact decimals.

use rust_decimal::Decimal;

/// Which numbers are allowed.
#[derive(Debug, Clone, Copy)]
pub struct Span {
    /// What the number is, with an article: `a current`.
    pub what: &'static str,
    /// The unit with a space before it, such as ` A`; or nothing.
    pub unit: &'static str,
    /// Smallest value.
    pub min: i64,
    /// True if the smallest value itself is not allowed.
    pub above_min: bool,
    /// Largest value.
    pub max: i64,
    /// Digits after the decimal sign, at most; 0 for whole numbers.
    pub decimals: u32,
}

/// Why a text is no number that is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NumberError {
    /// The text has no digits, or something among its digits.
    #[error("is not a number")]
    NotANumber,
    /// The text has an exponent, such as `1e5`.
    #[error("is not a number")]
    Exponent,
    /// The text has a thousands separator: `1 234`, `1'234`, `1.234,50`.
    #[error("is not a number")]
    Thousands,
    /// The text has a comma where commas separate the columns.
    #[error("is not a number")]
    Comma,
    /// Digits stand after the decimal sign where a whole number is asked for.
    #[error("is not a whole number")]
    NotWhole,
    /// More digits stand after the decimal sign than are kept.
    #[error("has more than {0} decimals")]
    Decimals(u32),
    /// The number is below the least value.
    #[error("is below {0}")]
    Below(i64),
    /// The number is not above this value, which itself is not allowed.
    #[error("is not above {0}")]
    NotAbove(i64),
    /// The number is above the largest value.
    #[error("is above {0}")]
    Above(i64),
}

impl NumberError {
    /// What to change. `comma` as in [`parse`].
    pub fn help(self, limits: &Span, comma: bool) -> String {
        match self {
            NumberError::NotANumber => {
                let example = match (limits.decimals, comma) {
                    (0, _) => "12",
                    (_, true) => "12,5",
                    (_, false) => "12.5",
                };
                format!("give {} in digits, such as {example}", limits.what)
            }
            NumberError::Exponent => "write all its digits, without an exponent".to_owned(),
            NumberError::Thousands => "leave out the thousands separator".to_owned(),
            NumberError::Comma => "write a decimal point and no thousands separator; a decimal \
                                   comma goes with semicolons or tabs between the columns"
                .to_owned(),
            NumberError::Decimals(n) => format!("round it to {n} decimals"),
            _ => limits.cure(),
        }
    }
}

impl Span {
    /// From 0 up, with at most six decimals.
    pub const fn from_zero(what: &'static str, max: i64, unit: &'static str) -> Self {
        Self {
            what,
            unit,
            min: 0,
            above_min: false,
            max,
            decimals: 6,
        }
    }

    /// Above 0, with at most six decimals.
    pub const fn above_zero(what: &'static str, max: i64, unit: &'static str) -> Self {
        Self {
            above_min: true,
            ..Self::from_zero(what, max, unit)
        }
    }

    /// Whole numbers.
    pub const fn whole(what: &'static str, min: i64, max: i64) -> Self {
        Self {
            what,
            unit: "",
            min,
            above_min: false,
            max,
            decimals: 0,
        }
    }

    fn cure(&self) -> String {
        let Span { what, min, max, .. } = self;
        let from = if self.above_min { "above" } else { "from" };
        let whole = if self.decimals == 0 {
            ", a whole number"
        } else {
            ""
        };
        format!("give {what} {from} {min} up to {max}{}{whole}", self.unit)
    }
}

/// Reads a decimal number within limits. With `comma`, a decimal comma counts as a
/// decimal point.
///
/// # Errors
/// [`NumberError`] where the text is no number, or no number within the limits.
pub fn parse(text: &str, limits: &Span, comma: bool) -> Result<Decimal, NumberError> {
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (mut mantissa, mut scale) = scan(digits, comma)?;
    while scale > limits.decimals && mantissa % 10 == 0 {
        mantissa /= 10;
        scale -= 1;
    }
    if scale > limits.decimals {
        return Err(match limits.decimals {
            0 => NumberError::NotWhole,
            n => NumberError::Decimals(n),
        });
    }
    let too_far = if negative {
        NumberError::Below(limits.min)
    } else {
        NumberError::Above(limits.max)
    };
    let mantissa = i64::try_from(mantissa).map_err(|_| too_far)?;
    let value = Decimal::new(if negative { -mantissa } else { mantissa }, scale);
    within(value, limits)
}

fn within(value: Decimal, limits: &Span) -> Result<Decimal, NumberError> {
    let min = Decimal::from(limits.min);
    if limits.above_min && value <= min {
        return Err(NumberError::NotAbove(limits.min));
    }
    if value < min {
        return Err(NumberError::Below(limits.min));
    }
    if value > Decimal::from(limits.max) {
        return Err(NumberError::Above(limits.max));
    }
    Ok(value)
}

/// All digits as one number, and how many stand after the decimal sign. A
/// number too large for its type stays at its largest value.
fn scan(text: &str, comma: bool) -> Result<(u128, u32), NumberError> {
    let mut mantissa: u128 = 0;
    let mut scale: Option<u32> = None;
    for byte in text.bytes() {
        if !byte.is_ascii_digit() {
            let decimal_sign = byte == b'.' || (byte == b',' && comma);
            if !decimal_sign || scale.is_some() {
                return Err(refusal(text, comma));
            }
            scale = Some(0);
            continue;
        }
        mantissa = mantissa
            .saturating_mul(10)
            .saturating_add(u128::from(byte - b'0'));
        scale = scale.map(|s| s.saturating_add(1));
    }
    // `.5` is a half. After `5.` digits may be missing, so `5.` is no number.
    if !text.ends_with(|c: char| c.is_ascii_digit()) {
        return Err(NumberError::NotANumber);
    }
    Ok((mantissa, scale.unwrap_or(0)))
}

/// Tells apart why a text is no number, for the sake of the cure.
fn refusal(text: &str, comma: bool) -> NumberError {
    let group = |c: char| matches!(c, '\'' | '’' | '_' | ' ' | '\u{a0}' | '\u{202f}');
    let sign = |c: char| matches!(c, '.' | ',');
    let digits = |c: char| c.is_ascii_digit();
    if text
        .strip_prefix(',')
        .is_some_and(|rest| rest.chars().all(digits))
        && text.len() > 1
    {
        return NumberError::Comma;
    }
    let inner = text.starts_with(digits) && text.ends_with(digits);
    if inner && text.chars().all(|c| digits(c) || group(c) || sign(c)) {
        let commas = text.contains(',') && !comma;
        return if commas {
            NumberError::Comma
        } else {
            NumberError::Thousands
        };
    }
    let exponent = text.split_once(['e', 'E']).is_some_and(|(a, b)| {
        let b = b.trim_start_matches(['+', '-']);
        a.starts_with(digits) && !b.is_empty() && b.chars().all(digits)
    });
    if exponent {
        NumberError::Exponent
    } else {
        NumberError::NotANumber
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PRICE: Span = Span::from_zero("a price", 1_000_000_000, "");
    const AMPERE: Span = Span::above_zero("a current", 100_000, " A");
    const COUNT: Span = Span::whole("a number of pieces", 1, 1_000_000_000);

    fn price(text: &str) -> Result<String, NumberError> {
        parse(text, &PRICE, false).map(|d| d.to_string())
    }

    #[test]
    fn plain_numbers_are_exact() {
        assert_eq!(price("12.345"), Ok("12.345".into()));
        assert_eq!(price("0"), Ok("0".into()));
        assert_eq!(price("0.000001"), Ok("0.000001".into()));
        assert_eq!(price("0.0000001"), Err(NumberError::Decimals(6)));
        assert_eq!(price("0.0000010"), Ok("0.000001".into()));
    }

    #[test]
    fn both_sides_of_each_limit() {
        assert_eq!(price("1000000000"), Ok("1000000000".into()));
        let above = Err(NumberError::Above(1_000_000_000));
        assert_eq!(price("1000000000.000001"), above);
        assert_eq!(price(&"9".repeat(500)), above);
        assert_eq!(price("-0.01"), Err(NumberError::Below(0)));
        assert_eq!(
            price(&format!("-{}", "9".repeat(30))),
            Err(NumberError::Below(0))
        );
        let ampere = |t| parse(t, &AMPERE, false).is_ok();
        assert!(ampere("0.1") && ampere("100000"));
        assert_eq!(parse("0", &AMPERE, false), Err(NumberError::NotAbove(0)));
        assert!(!ampere("100000.1"));
        assert!(parse("1", &COUNT, false).is_ok());
        assert_eq!(parse("0", &COUNT, false), Err(NumberError::Below(1)));
        assert_eq!(parse("1.5", &COUNT, false), Err(NumberError::NotWhole));
        assert!(parse("2.0", &COUNT, false).is_ok());
    }

    #[test]
    fn other_notations_are_told_apart() {
        for text in [
            "", "-", "abc", "NaN", "inf", "--1", "+1", ".", "-.", "5.", ".5.", ".5.5", ",", "1 x",
            "e5", "1e",
        ] {
            assert_eq!(price(text), Err(NumberError::NotANumber), "{text}");
        }
        for text in ["1e5", "1E+5", "1.5e-3"] {
            assert_eq!(price(text), Err(NumberError::Exponent), "{text}");
        }
        for text in ["1 234", "1'234.50", "1_000", "1.234.567"] {
            assert_eq!(price(text), Err(NumberError::Thousands), "{text}");
        }
        for text in ["1,5", ",5", "1,234.50"] {
            assert_eq!(price(text), Err(NumberError::Comma), "{text}");
        }
    }

    #[test]
    fn nothing_before_the_decimal_sign_is_zero() {
        assert_eq!(price(".5"), Ok("0.5".into()));
        assert_eq!(price(".000001"), Ok("0.000001".into()));
        assert_eq!(price("-.5"), Err(NumberError::Below(0)));
        assert_eq!(parse(".5", &COUNT, false), Err(NumberError::NotWhole));
        let comma = |t| parse(t, &PRICE, true).map(|d| d.to_string());
        assert_eq!(
            (comma(",5"), comma(".5")),
            (Ok("0.5".into()), Ok("0.5".into()))
        );
        for text in [",", ".", "5,", "5.", ",,5", ",5,"] {
            assert_eq!(comma(text), Err(NumberError::NotANumber), "{text}");
        }
    }

    #[test]
    fn decimal_comma_where_it_is_understood() {
        let comma = |t| parse(t, &PRICE, true).map(|d| d.to_string());
        assert_eq!(comma("1,5"), Ok("1.5".into()));
        assert_eq!(comma("1.5"), Ok("1.5".into()));
        assert_eq!(comma("1.234,50"), Err(NumberError::Thousands));
    }

    #[test]
    fn cures_name_the_limits() {
        let help = |e: NumberError, l| e.help(l, false);
        assert_eq!(
            help(NumberError::Below(1), &COUNT),
            "give a number of pieces from 1 up to 1000000000, a whole number"
        );
        assert_eq!(
            help(NumberError::NotAbove(0), &AMPERE),
            "give a current above 0 up to 100000 A"
        );
        assert_eq!(
            NumberError::NotANumber.help(&PRICE, true),
            "give a price in digits, such as 12,5"
        );
    }
}
