//! Degrees of protection: IEC 60529 codes and the K codes of ISO 20653.

use std::fmt;
use std::str::FromStr;

/// What a numeral is taken to give besides itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Implied {
    /// Only what the standards say.
    #[default]
    Strict,
    /// Also what is often assumed, such as IPX7 giving IPX4.
    Customary,
}

/// One or more codes joined by `/`, such as `IP67/IP6K9K`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Protection {
    text: String,
    codes: Vec<Code>,
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Code {
    first: &'static str,
    second: &'static str,
    letter: Option<&'static str>,
}

/// Why a text is no protection code.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" is no IP code")]
pub struct ProtectionError(pub String);

/// A code, what the code gives by the standard, and what is often assumed on top.
///
/// The sources are IEC 60529:1989 + A1 + A2, clauses 5, 6 and 7, and ISO 20653:2023 for the K codes.
/// The clause "up to and including 6 all lower numerals" is confirmed in public
/// texts; the implications of first numerals and of K codes are from memory.
type Row = (
    &'static str,
    &'static [&'static str],
    &'static [&'static str],
);

const FIRST: &[Row] = &[
    ("X", &[], &[]),
    ("0", &[], &[]),
    ("1", &["0"], &[]),
    ("2", &["0", "1"], &[]),
    ("3", &["0", "1", "2"], &[]),
    ("4", &["0", "1", "2", "3"], &[]),
    ("5", &["0", "1", "2", "3", "4"], &[]),
    ("6", &["0", "1", "2", "3", "4", "5"], &[]),
    ("5K", &["0", "1", "2", "3", "4"], &["5"]),
    ("6K", &["0", "1", "2", "3", "4", "5K"], &["5", "6"]),
];

const SECOND: &[Row] = &[
    ("X", &[], &[]),
    ("0", &[], &[]),
    ("1", &["0"], &[]),
    ("2", &["0", "1"], &[]),
    ("3", &["0", "1", "2"], &[]),
    ("4", &["0", "1", "2", "3"], &[]),
    ("5", &["0", "1", "2", "3", "4"], &[]),
    ("6", &["0", "1", "2", "3", "4", "5"], &[]),
    ("7", &["0"], &["1", "2", "3", "4"]),
    ("8", &["0", "7"], &["1", "2", "3", "4"]),
    ("9", &["0"], &[]),
    ("4K", &["0"], &["1", "2", "3", "4"]),
    ("6K", &["0"], &["1", "2", "3", "4", "4K", "5"]),
    ("9K", &["0"], &["9"]),
];

const LETTER: &[Row] = &[
    ("A", &[], &[]),
    ("B", &["A"], &[]),
    ("C", &["A", "B"], &[]),
    ("D", &["A", "B", "C"], &[]),
];

impl Protection {
    /// True if a part with these codes gives all that `wanted` asks for.
    ///
    /// Codes joined by `/` count together: the part gives what any of its codes gives.
    ///
    /// ```
    /// use couplet::units::{Implied, Protection};
    /// let part: Protection = "IP67".parse().unwrap();
    /// let jets: Protection = "IP65".parse().unwrap();
    /// assert!(!part.gives(&jets, Implied::Strict));
    /// ```
    pub fn gives(&self, wanted: &Protection, implied: Implied) -> bool {
        let have = &self.codes;
        wanted.codes.iter().all(|want| {
            (want.first == "X"
                || have
                    .iter()
                    .any(|c| covers(FIRST, c.first, want.first, implied)))
                && (want.second == "X"
                    || have
                        .iter()
                        .any(|c| covers(SECOND, c.second, want.second, implied)))
                && want.letter.is_none_or(|letter| {
                    let mut letters = have.iter().filter_map(|c| c.letter);
                    letters.any(|l| covers(LETTER, l, letter, implied))
                })
        })
    }
}

/// True if the code `have` gives the code `want`, or is it.
fn covers(table: &[Row], have: &str, want: &str, implied: Implied) -> bool {
    have == want
        || table.iter().filter(|row| row.0 == have).any(|row| {
            row.1.contains(&want) || (implied == Implied::Customary && row.2.contains(&want))
        })
}

impl fmt::Display for Protection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.text)
    }
}

impl FromStr for Protection {
    type Err = ProtectionError;

    fn from_str(text: &str) -> Result<Self, ProtectionError> {
        let codes = text
            .split('/')
            .map(|code| code.trim().to_uppercase())
            .collect::<Vec<_>>();
        Ok(Protection {
            text: codes.join("/"),
            codes: codes
                .iter()
                .map(|code| one_code(code).ok_or_else(|| ProtectionError(code.clone())))
                .collect::<Result<_, _>>()?,
        })
    }
}

fn one_code(code: &str) -> Option<Code> {
    let rest = code.strip_prefix("IP")?;
    let (first, rest) = longest(FIRST, rest)?;
    let (second, rest) = longest(SECOND, rest)?;
    let letter = match rest {
        "" => None,
        rest => {
            let (letter, rest) = longest(LETTER, rest)?;
            rest.is_empty().then_some(())?;
            Some(letter)
        }
    };
    Some(Code {
        first,
        second,
        letter,
    })
}

/// The longest code of the table that `text` begins with, and what follows it.
fn longest<'t>(table: &'static [Row], text: &'t str) -> Option<(&'static str, &'t str)> {
    table
        .iter()
        .filter_map(|row| Some((row.0, text.strip_prefix(row.0)?)))
        .max_by_key(|(code, _)| code.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, ProtectionError> {
        text.parse::<Protection>().map(|code| code.to_string())
    }

    #[test]
    fn reads_one_or_more_codes() {
        for (text, shown) in [
            ("IP67", "IP67"),
            ("ip6k9k", "IP6K9K"),
            (" IP67 / ip6K9K ", "IP67/IP6K9K"),
            ("IPX7", "IPX7"),
            ("IP5X", "IP5X"),
            ("IPXX", "IPXX"),
            ("IP2XC", "IP2XC"),
            ("IP69K", "IP69K"),
            ("IP66K", "IP66K"),
        ] {
            assert_eq!(read(text), Ok(shown.to_owned()), "{text}");
        }
    }

    #[test]
    fn refuses_what_is_no_code() {
        for text in [
            "", "IP", "IP6", "67", "IP77", "IP6A", "IP6K", "IP67E", "IP67AB", "IP67/", "/IP67",
            "IP 67", "IP6٥", "IP670",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
        let wrong = read("IP67/ip6z").unwrap_err();
        assert_eq!(wrong.to_string(), "\"IP6Z\" is no IP code");
    }

    /// `IP69K` is a 6 and a 9K, `IP6K9K` a 6K and a 9K.
    #[test]
    fn tells_k_codes_apart() {
        let code = |text: &str| text.parse::<Protection>().unwrap();
        assert!(code("IP69K").gives(&code("IP5X"), Implied::Strict));
        assert!(!code("IP6K9K").gives(&code("IP5X"), Implied::Strict));
        assert!(code("IP6K9K").gives(&code("IP5KX"), Implied::Strict));
        assert!(!code("IP69").gives(&code("IPX9K"), Implied::Customary));
    }
}
