//! Amounts as suppliers write them, read as exact decimals.

use rust_decimal::Decimal;

/// The sign between whole and broken part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecimalSign {
    /// `1,234.50`
    Point,
    /// `1.234,50`
    Comma,
}

/// Why a text is no amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AmountError {
    /// There is no number, or something beside it that is no currency.
    #[error("is not an amount")]
    NotAnAmount,
    /// The separators stand where a number has none.
    #[error("has its separators in places where no number has them")]
    Grouped,
    /// The amount is below nothing.
    #[error("is below zero")]
    Negative,
    /// The number has more digits than are kept.
    #[error("has too many digits")]
    TooLong,
}

/// An amount, and the currency that stands beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amount<'t> {
    /// How much.
    pub value: Decimal,
    /// The sign or code of a currency, as it is written; empty where there is none.
    pub currency: &'t str,
}

/// Digits of a number that are kept.
const DIGITS: usize = 24;

/// Reads an amount with its currency: `€ 1.234,50`, `12.50 USD`, `12,-`.
///
/// # Errors
/// [`AmountError`] where the text is no amount.
pub fn amount(text: &str, sign: DecimalSign) -> Result<Amount<'_>, AmountError> {
    let text = text.trim();
    let is_digit = |c: char| c.is_ascii_digit();
    let start = text.find(is_digit).ok_or(AmountError::NotAnAmount)?;
    let end = text.rfind(is_digit).map_or(start, |at| at + 1);
    let (before, rest) = text.split_at(start);
    let (digits, after) = rest.split_at(end - start);
    let (before, digits) = leading_sign(before, digits, sign);
    let before = before.trim();
    // `12,-` and `12.--` have no cents.
    let after = after
        .trim_start_matches([',', '.'])
        .trim_start_matches(['-', '–', '—']);
    let after = after.trim();
    let is_negative = before.ends_with(['-', '−']) || before.starts_with(['-', '−']);
    let before = before.trim_matches(|c: char| matches!(c, '-' | '−' | '+') || c.is_whitespace());
    let currency = match (before, after) {
        (one, "") | ("", one) => one,
        _ => return Err(AmountError::NotAnAmount),
    };
    let value = number(&digits, sign)?;
    if is_negative && !value.is_zero() {
        return Err(AmountError::Negative);
    }
    Ok(Amount { value, currency })
}

/// `.5` is a half.
fn leading_sign<'b>(before: &'b str, digits: &str, sign: DecimalSign) -> (&'b str, String) {
    let point = mark(sign);
    match before.strip_suffix(point) {
        Some(rest) if rest.is_empty() || rest.ends_with(char::is_whitespace) => {
            (rest, format!("0{point}{digits}"))
        }
        _ => (before, digits.to_owned()),
    }
}

fn mark(sign: DecimalSign) -> char {
    match sign {
        DecimalSign::Point => '.',
        DecimalSign::Comma => ',',
    }
}

/// Reads digits with their separators.
///
/// # Errors
/// [`AmountError`] where a separator stands where no number has it.
pub fn number(digits: &str, sign: DecimalSign) -> Result<Decimal, AmountError> {
    let point = mark(sign);
    let (whole, broken) = digits.split_once(point).unwrap_or((digits, ""));
    if !broken.bytes().all(|b| b.is_ascii_digit()) {
        return Err(AmountError::Grouped);
    }
    let whole = ungrouped(whole)?;
    if whole.len() + broken.len() > DIGITS {
        return Err(AmountError::TooLong);
    }
    let text = match broken {
        "" => whole,
        broken => format!("{whole}.{broken}"),
    };
    Decimal::from_str_exact(&text).map_err(|_| AmountError::NotAnAmount)
}

/// The digits of a whole number without its groups of three.
fn ungrouped(whole: &str) -> Result<String, AmountError> {
    let is_mark = |c: char| !c.is_ascii_digit();
    let mut groups = whole.split(is_mark);
    let first = groups.next().unwrap_or_default();
    let mut marks = whole.chars().filter(|c| is_mark(*c));
    let Some(one) = marks.next() else {
        return Ok(whole.to_owned());
    };
    let is_known = matches!(one, '.' | ',' | '\'' | '’' | '_') || one.is_whitespace();
    let is_sound = is_known
        && marks.all(|other| other == one)
        && (1..=3).contains(&first.len())
        && groups.all(|group| group.len() == 3);
    match is_sound {
        true => Ok(whole.chars().filter(char::is_ascii_digit).collect()),
        false => Err(AmountError::Grouped),
    }
}

/// What a cell tells of the decimal sign of its file; none where either is possible.
pub fn sign_of(text: &str) -> Option<DecimalSign> {
    let last = text.rfind(['.', ','])?;
    let (before, after) = text.split_at(last);
    let is_point = after.starts_with('.');
    let digits = after
        .get(1..)?
        .chars()
        .take_while(char::is_ascii_digit)
        .count();
    let follows = digits > 0 && before.ends_with(|c: char| c.is_ascii_digit());
    if !follows {
        return None;
    }
    let both = before.contains(if is_point { ',' } else { '.' });
    let twice = before.contains(if is_point { '.' } else { ',' });
    if twice {
        // `1.234.567`: the sign that stands twice parts groups.
        return (!both).then_some(opposite(is_point));
    }
    (both || digits != 3 || is_nothing(before)).then_some(own(is_point))
}

/// True for a whole part of 0, which no group follows.
fn is_nothing(before: &str) -> bool {
    let digits = before.trim_start_matches(|c: char| !c.is_ascii_digit());
    digits == "0"
}

fn own(is_point: bool) -> DecimalSign {
    match is_point {
        true => DecimalSign::Point,
        false => DecimalSign::Comma,
    }
}

fn opposite(is_point: bool) -> DecimalSign {
    own(!is_point)
}

/// The currencies that a sign or code beside an amount may mean; none for what is no
/// currency.
pub fn currencies(sign: &str) -> Option<Vec<&str>> {
    const SIGNS: [(&str, &[&str]); 13] = [
        ("€", &["EUR"]),
        ("euro", &["EUR"]),
        ("£", &["GBP"]),
        (
            "$",
            &["USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN"],
        ),
        ("us$", &["USD"]),
        ("kr", &["NOK", "SEK", "DKK", "ISK"]),
        ("kr.", &["NOK", "SEK", "DKK", "ISK"]),
        ("fr.", &["CHF"]),
        ("sfr.", &["CHF"]),
        ("zł", &["PLN"]),
        ("kč", &["CZK"]),
        ("ft", &["HUF"]),
        ("¥", &["JPY", "CNY"]),
    ];
    let sign = sign.trim();
    if sign.len() == 3 && sign.bytes().all(|b| b.is_ascii_uppercase()) {
        return Some(vec![sign]);
    }
    let small = sign.to_lowercase();
    let found = SIGNS.iter().find(|(known, _)| *known == small);
    found.map(|(_, codes)| codes.to_vec())
}

#[cfg(test)]
mod tests {
    use super::DecimalSign::{Comma, Point};
    use super::*;

    fn read(text: &str, sign: DecimalSign) -> Result<String, AmountError> {
        amount(text, sign).map(|a| format!("{}{}", a.value, a.currency))
    }

    #[test]
    fn amounts_in_many_forms() {
        for (text, sign, is) in [
            ("1.234,50", Comma, "1234.50"),
            ("1,234.50", Point, "1234.50"),
            ("kr 1\u{a0}058,23", Comma, "1058.23kr"),
            ("€ 12,5", Comma, "12.5€"),
            ("12.50 USD", Point, "12.50USD"),
            ("12,-", Comma, "12"),
            ("12.– Fr.", Point, "12Fr."),
            ("1'234.5", Point, "1234.5"),
            (",5", Comma, "0.5"),
            ("€ .5", Point, "0.5€"),
            ("0", Comma, "0"),
            ("1.234", Comma, "1234"),
            ("1.234", Point, "1.234"),
            ("+5", Point, "5"),
        ] {
            assert_eq!(read(text, sign).as_deref(), Ok(is), "{text}");
        }
    }

    #[test]
    fn what_is_no_amount() {
        for (text, sign, error) in [
            ("", Comma, AmountError::NotAnAmount),
            ("auf Anfrage", Comma, AmountError::NotAnAmount),
            ("€ 5 EUR", Comma, AmountError::NotAnAmount),
            ("12.50", Comma, AmountError::Grouped),
            ("1.2345,0", Comma, AmountError::Grouped),
            ("1,2,3", Comma, AmountError::Grouped),
            ("1.234,567.8", Comma, AmountError::Grouped),
            ("-5", Point, AmountError::Negative),
            ("- 5 €", Point, AmountError::Negative),
            ("12345678901234567890123456", Point, AmountError::TooLong),
        ] {
            assert_eq!(read(text, sign), Err(error), "{text}");
        }
    }

    #[test]
    fn a_cell_tells_its_decimal_sign_or_does_not() {
        for text in ["12,50", "1.234,50", "0,123", "1.234.567", "€ 5,1", "1,2345"] {
            assert_eq!(sign_of(text), Some(Comma), "{text}");
        }
        for text in ["12.50", "1,234.50", "0.123", "1,234,567", "5.1 USD"] {
            assert_eq!(sign_of(text), Some(Point), "{text}");
        }
        for text in [
            "12",
            "1.234",
            "1,234",
            "",
            "1 234",
            "12,-",
            "a.b",
            "1.2.3,4,5",
        ] {
            assert_eq!(sign_of(text), None, "{text}");
        }
    }

    #[test]
    fn signs_name_currencies() {
        assert_eq!(currencies("€"), Some(vec!["EUR"]));
        assert_eq!(currencies("CHF"), Some(vec!["CHF"]));
        assert!(currencies("kr").unwrap().contains(&"NOK"));
        assert_eq!(currencies("Stk"), None);
    }
}
