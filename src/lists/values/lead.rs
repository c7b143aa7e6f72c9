//! Lead times: `14`, `2-3 weeks`, `10 working days`, `from stock`.

use super::number::DecimalSign;
use super::quantity::whole;
use super::words::{
    self, ABOUT, DAYS, FROM_STOCK, MONTHS, TO, Token, WEEKS, WORKING, WORKING_DAYS, small, tokens,
};

/// What a lead time counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeadUnit {
    /// Days of the calendar.
    Days,
    /// Days on which people work, five in seven.
    WorkingDays,
    /// Weeks of seven days.
    Weeks,
    /// Months of thirty days.
    Months,
}

impl LeadUnit {
    /// The words that recipes use.
    pub const WORDS: [(&'static str, LeadUnit); 4] = [
        ("days", LeadUnit::Days),
        ("working-days", LeadUnit::WorkingDays),
        ("weeks", LeadUnit::Weeks),
        ("months", LeadUnit::Months),
    ];

    /// The word that recipes use.
    pub fn word(self) -> &'static str {
        let found = Self::WORDS.iter().find(|(_, unit)| *unit == self);
        found.map_or("days", |(word, _)| word)
    }

    /// So many of the unit in days of the calendar, rounded up.
    fn in_days(self, count: u64) -> Option<u32> {
        let days = match self {
            LeadUnit::Days => Some(count),
            LeadUnit::WorkingDays => count.checked_mul(7).map(|n| n.div_ceil(5)),
            LeadUnit::Weeks => count.checked_mul(7),
            LeadUnit::Months => count.checked_mul(30),
        };
        let most = MOST_DAYS;
        days.filter(|n| *n <= most)
            .and_then(|n| u32::try_from(n).ok())
    }
}

/// The longest lead time that a price list holds, as in `table::limits::DAYS`.
const MOST_DAYS: u64 = 3_650;

/// How a recipe reads lead times.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LeadRule {
    /// The unit of a number alone.
    pub unit: Option<LeadUnit>,
    /// Days of what comes from stock.
    pub from_stock: u32,
    /// The user's words in small letters, each with its days.
    pub words: Vec<(String, u32)>,
}

/// Why a lead time is not understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeadError {
    /// A number without a unit, and none in the recipe.
    NoUnit,
    /// Words that are not known.
    Unknown,
    /// A week of the year, such as `KW 25`.
    CalendarWeek,
    /// Longer than a price list holds.
    TooLong,
}

/// Reads a lead time in days; none where the cell is empty.
///
/// # Errors
/// [`LeadError`] where the cell is not understood.
pub fn days(text: &str, sign: DecimalSign, rule: &LeadRule) -> Result<Option<u32>, LeadError> {
    let plain = small(text);
    if matches!(plain.as_str(), "" | "-" | "–" | "—") {
        return Ok(None);
    }
    if let Some((_, days)) = rule.words.iter().find(|(word, _)| *word == plain) {
        return Ok(Some(*days));
    }
    if words::is(FROM_STOCK, plain.trim_end_matches(['.', '!'])) {
        return Ok(Some(rule.from_stock));
    }
    if is_calendar_week(text) {
        return Err(LeadError::CalendarWeek);
    }
    let mut numbers = Vec::new();
    let mut unit = None;
    let mut is_working = false;
    for token in tokens(text) {
        match token {
            Token::Number(digits) => {
                numbers.push(whole(&digits, sign).ok_or(LeadError::Unknown)?);
            }
            Token::Word(word) if unit.is_none() && unit_of(&word).is_some() => {
                unit = unit_of(&word)
            }
            Token::Word(word) if words::is(WORKING, &word) => is_working = true,
            Token::Word(word) if words::is(ABOUT, &word) || words::is(TO, &word) => {}
            Token::Sign('-' | '–' | '—' | '.' | '~' | '≈' | '(' | ')' | '<' | '≤' | '/') => {
            }
            _ => return Err(LeadError::Unknown),
        }
    }
    if is_working && unit != Some(LeadUnit::WorkingDays) {
        unit = (unit == Some(LeadUnit::Days)).then_some(LeadUnit::WorkingDays);
        unit.ok_or(LeadError::Unknown)?;
    }
    // Of a range the longer time is sure.
    let longest = match numbers.as_slice() {
        [one] => *one,
        [first, last] if first <= last => *last,
        _ => return Err(LeadError::Unknown),
    };
    let unit = unit.or(rule.unit).ok_or(LeadError::NoUnit)?;
    unit.in_days(longest).map(Some).ok_or(LeadError::TooLong)
}

/// True for `KW 25`, `25. KW`, `KW25/2026`, `CW 25`.
fn is_calendar_week(text: &str) -> bool {
    let plain = small(text);
    let words = plain.split(|c: char| !c.is_alphabetic());
    let mut words = words.filter(|word| !word.is_empty());
    let is_week = |word: &str| matches!(word, "kw" | "cw" | "kalenderwoche");
    let has_number = plain.contains(|c: char| c.is_ascii_digit());
    has_number && words.next().is_some_and(is_week) && words.next().is_none()
}

/// The unit that a word names.
pub fn unit_of(word: &str) -> Option<LeadUnit> {
    let all = [
        (WORKING_DAYS, LeadUnit::WorkingDays),
        (DAYS, LeadUnit::Days),
        (WEEKS, LeadUnit::Weeks),
        (MONTHS, LeadUnit::Months),
    ];
    let found = all.iter().find(|(list, _)| words::is(*list, word));
    found.map(|(_, unit)| *unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, unit: Option<LeadUnit>) -> Result<Option<u32>, LeadError> {
        let rule = LeadRule {
            unit,
            from_stock: 2,
            words: vec![("auf anfrage".into(), 60)],
        };
        days(text, DecimalSign::Comma, &rule)
    }

    #[test]
    fn lead_times_in_many_forms() {
        for (text, is) in [
            ("3 Wochen", 21),
            ("2-3 weeks", 21),
            ("2 bis 3 Wo.", 21),
            ("ca. 14 Tage", 14),
            ("5 working days", 7),
            ("5 AT", 7),
            ("6 Werktage", 9),
            ("10 jours ouvrés", 14),
            ("2 months", 60),
            ("ab Lager", 2),
            ("From stock", 2),
            ("på lager", 2),
            ("Auf  Anfrage", 60),
            ("4 uker", 28),
        ] {
            assert_eq!(read(text, None), Ok(Some(is)), "{text}");
        }
        assert_eq!(read("3", Some(LeadUnit::Weeks)), Ok(Some(21)));
        assert_eq!(read("3 Tage", Some(LeadUnit::Weeks)), Ok(Some(3)));
        assert_eq!(read(" - ", None), Ok(None));
    }

    #[test]
    fn what_is_no_lead_time() {
        assert_eq!(read("14", None), Err(LeadError::NoUnit));
        for text in [
            "KW 25",
            "KW25",
            "25. KW",
            "KW 25/2026",
            "CW 25",
            "Kalenderwoche 3",
        ] {
            assert_eq!(read(text, None), Err(LeadError::CalendarWeek), "{text}");
        }
        for text in [
            "KW",
            "KW 25 or 26 soon",
            "soon",
            "3 1 2 days",
            "5-3 days",
            "2 working weeks",
            "1,5 weeks",
        ] {
            assert_eq!(read(text, None), Err(LeadError::Unknown), "{text}");
        }
        assert_eq!(read("3650 days", None), Ok(Some(3650)));
        assert_eq!(read("3651 days", None), Err(LeadError::TooLong));
    }
}
