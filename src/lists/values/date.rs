//! Days: `2026-04-01`, `01.04.2026`, `1 April 2026`, `April 2026`.

use super::words::{Token, tokens};
use jiff::civil::Date;

/// Which comes first where a day is written in numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// `31/12/2026`
    DayMonth,
    /// `12/31/2026`
    MonthDay,
}

impl DateOrder {
    /// The words that recipes use.
    pub const WORDS: [(&'static str, DateOrder); 2] = [
        ("day-month", DateOrder::DayMonth),
        ("month-day", DateOrder::MonthDay),
    ];
}

/// Why a text is no day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateError {
    /// Day and month could be either.
    Ambiguous,
    /// No day.
    NoDate,
}

/// Beginnings of the names of the months, in the seven languages.
const MONTHS: [&[&str]; 12] = [
    &["jan", "jän", "gen", "ene"],
    &["feb", "fév", "fev"],
    &["mar", "mär", "mrz", "maart", "mrt"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mei", "mag"],
    &["jun", "juin", "giu"],
    &["jul", "juil", "lug"],
    &["aug", "aoû", "aou", "ago"],
    &["sep", "set"],
    &["oct", "okt", "ott"],
    &["nov"],
    &["dec", "dez", "déc", "dic", "des"],
];

/// Reads the day in a text, with words around it or not; of a month alone the first day.
///
/// # Errors
/// [`DateError`] where there is no day, or day and month can't be told apart.
pub fn date(text: &str, order: Option<DateOrder>) -> Result<Date, DateError> {
    let mut numbers: Vec<(u32, usize)> = Vec::new();
    let mut month = None;
    let mut has_dots = false;
    for token in tokens(text) {
        match token {
            Token::Number(digits) => {
                has_dots |= digits.contains('.');
                numbers.extend(digits.split(['.', ',']).filter_map(figure));
            }
            Token::Word(word) if month.is_none() => month = month_of(&word),
            Token::Sign('.') => has_dots = true,
            _ => {}
        }
    }
    let (day, month, year) = match (numbers.as_slice(), month) {
        ([(day, _), (year, 4)], Some(month)) => (*day, month, *year),
        ([(year, 4), (day, _)], Some(month)) => (*day, month, *year),
        ([(year, 4)], Some(month)) => (1, month, *year),
        ([(year, 4), (month, _), (day, _), ..], None) => (*day, *month, *year),
        ([first, second, (year, digits), ..], None) if matches!(digits, 2 | 4) => {
            let year = if *digits == 2 { 2000 + year } else { *year };
            let order = if has_dots {
                Some(DateOrder::DayMonth)
            } else {
                order
            };
            let (day, month) = day_and_month(first.0, second.0, order)?;
            (day, month, year)
        }
        _ => return Err(DateError::NoDate),
    };
    civil(year, month, day).ok_or(DateError::NoDate)
}

fn figure(digits: &str) -> Option<(u32, usize)> {
    let value = digits.parse().ok()?;
    Some((value, digits.len()))
}

fn month_of(word: &str) -> Option<u32> {
    let begins = |names: &[&str]| names.iter().any(|name| word.starts_with(name));
    let place = MONTHS.iter().position(|names| begins(names))?;
    u32::try_from(place + 1).ok()
}

fn day_and_month(a: u32, b: u32, order: Option<DateOrder>) -> Result<(u32, u32), DateError> {
    match order {
        Some(DateOrder::DayMonth) => Ok((a, b)),
        Some(DateOrder::MonthDay) => Ok((b, a)),
        None if a > 12 || a == b => Ok((a, b)),
        None if b > 12 => Ok((b, a)),
        None => Err(DateError::Ambiguous),
    }
}

fn civil(year: u32, month: u32, day: u32) -> Option<Date> {
    let year = i16::try_from(year).ok()?;
    let (month, day) = (i8::try_from(month).ok()?, i8::try_from(day).ok()?);
    Date::new(year, month, day).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, DateError> {
        date(text, None).map(|d| d.to_string())
    }

    #[test]
    fn days_in_many_forms() {
        for (text, is) in [
            ("2026-04-01", "2026-04-01"),
            ("2026-04-01 12:00:00", "2026-04-01"),
            ("01.04.2026", "2026-04-01"),
            ("1.4.26", "2026-04-01"),
            ("Stand: 01.04.2026", "2026-04-01"),
            ("31/12/2026", "2026-12-31"),
            ("12/31/2026", "2026-12-31"),
            ("1 April 2026", "2026-04-01"),
            ("1. avril 2026", "2026-04-01"),
            ("April 1, 2026", "2026-04-01"),
            ("März 2026", "2026-03-01"),
            ("1er août 2026", "2026-08-01"),
        ] {
            assert_eq!(read(text).as_deref(), Ok(is), "{text}");
        }
        let month_first = date("4/1/2026", Some(DateOrder::MonthDay));
        assert_eq!(month_first.unwrap().to_string(), "2026-04-01");
    }

    #[test]
    fn what_is_no_day() {
        assert_eq!(read("4/1/2026"), Err(DateError::Ambiguous));
        for text in ["", "2026", "31.02.2026", "spring", "12", "1.4", "1 2 3 4 5"] {
            assert_eq!(read(text), Err(DateError::NoDate), "{text}");
        }
    }
}
