//! Quantities: `10`, `ab 10 Stk`, `10-49`, `50+`, `5 VPE`.

use super::number::{DecimalSign, number};
use super::words::{self, ABOUT, ABOVE, FROM, MORE, PACKS, PIECES, TO, Token, tokens};
use crate::units::{MAX_QTY, Qty};
use rust_decimal::prelude::ToPrimitive;

/// What a quantity counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unit {
    /// Pieces.
    #[default]
    Pieces,
    /// Packs.
    Packs,
}

impl Unit {
    /// The word that recipes use.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Pieces => "pieces",
            Unit::Packs => "packs",
        }
    }

    /// So many of the unit, in pieces; none beyond what a price list may hold.
    pub fn in_pieces(self, count: Qty, pack: Qty) -> Option<Qty> {
        let pieces = match self {
            Unit::Pieces => Some(count),
            Unit::Packs => count.checked_mul(pack),
        };
        pieces.filter(|n| *n <= MAX_QTY)
    }
}

/// A quantity, and what it counts where that is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quantity {
    /// How many; of a range the least.
    pub count: Qty,
    /// What is counted.
    pub unit: Option<Unit>,
}

/// The quantity in a text; none where there is none, or more than one is possible.
pub fn quantity(text: &str, sign: DecimalSign) -> Option<Quantity> {
    let tokens = tokens(text);
    let at = tokens.iter().position(|t| matches!(t, Token::Number(_)))?;
    let (before, rest) = (tokens.get(..at)?, tokens.get(at..)?);
    let (first, after) = rest.split_first()?;
    let Token::Number(digits) = first else {
        return None;
    };
    let (range, after) = without_range(after);
    let mut reading = Reading::default();
    let beside = before.iter().all(|token| reading.take(token, false))
        && after.iter().all(|token| reading.take(token, true));
    if !beside || (reading.is_above && range) {
        return None;
    }
    let mut count = whole(digits, sign)?;
    if before
        .iter()
        .any(|t| matches!(t, Token::Sign('<') | Token::Sign('≤')))
    {
        // Up to so many: from the first piece on.
        count = 1;
    } else if reading.is_above {
        count = count.checked_add(1)?;
    }
    Some(Quantity {
        count,
        unit: reading.unit,
    })
}

/// A quantity that is counted, with nothing beside it but what is counted: `10`, `5 VPE`.
/// None for a range, for `from 10` and the like.
pub fn counted(text: &str, sign: DecimalSign) -> Option<Quantity> {
    let (mut count, mut unit) = (None, None);
    for token in tokens(text) {
        let is_new = match token {
            Token::Number(digits) => count.replace(whole(&digits, sign)?).is_none(),
            Token::Word(word) if words::is(PIECES, &word) => unit.replace(Unit::Pieces).is_none(),
            Token::Word(word) if words::is(PACKS, &word) => unit.replace(Unit::Packs).is_none(),
            // A multiplication sign, as in `10 x`.
            Token::Word(word) => word == "x",
            Token::Sign(sign) => matches!(sign, '.' | '(' | ')' | '×'),
        };
        if !is_new {
            return None;
        }
    }
    count.map(|count| Quantity { count, unit })
}

/// A whole number within what price lists hold.
pub fn whole(digits: &str, sign: DecimalSign) -> Option<Qty> {
    let value = number(digits, sign).ok()?;
    let whole = value.is_integer().then(|| value.to_u64()).flatten();
    whole.filter(|n| *n <= MAX_QTY)
}

/// Takes the upper end of a range away; says whether there was one.
fn without_range(after: &[Token]) -> (bool, &[Token]) {
    let is_to = |token: &Token| match token {
        Token::Sign(sign) => matches!(sign, '-' | '–' | '—' | '.' | '…' | '/'),
        Token::Word(word) => words::is(TO, word),
        Token::Number(_) => false,
    };
    let marks = after.iter().take_while(|t| is_to(t)).count();
    match after.get(marks) {
        Some(Token::Number(_)) if marks > 0 => (true, after.get(marks + 1..).unwrap_or_default()),
        _ => (false, after),
    }
}

/// What stands beside the number.
#[derive(Default)]
struct Reading {
    unit: Option<Unit>,
    is_above: bool,
}

impl Reading {
    /// Takes a token; false for one that is not understood beside a quantity.
    fn take(&mut self, token: &Token, is_after: bool) -> bool {
        match token {
            Token::Word(word) if words::is(PIECES, word) => self.of(Unit::Pieces),
            Token::Word(word) if words::is(PACKS, word) => self.of(Unit::Packs),
            Token::Word(word) if words::is(ABOVE, word) => {
                self.is_above = true;
                true
            }
            Token::Word(word) if is_after && words::is(MORE, word) => true,
            Token::Word(word) => words::is(FROM, word) || words::is(ABOUT, word),
            Token::Sign('>') => {
                self.is_above = true;
                true
            }
            Token::Sign('=') => {
                self.is_above = false;
                true
            }
            Token::Sign(sign) => {
                matches!(
                    sign,
                    '+' | '.' | ':' | '≥' | '(' | ')' | '<' | '≤' | '-' | '–' | '×'
                )
            }
            Token::Number(_) => false,
        }
    }

    fn of(&mut self, unit: Unit) -> bool {
        let is_new = self.unit.is_none_or(|old| old == unit);
        self.unit = Some(unit);
        is_new
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use DecimalSign::{Comma, Point};

    #[test]
    fn quantities_in_many_forms() {
        for (text, count, unit) in [
            ("10", 10, None),
            ("ab 10 Stk", 10, Some(Unit::Pieces)),
            ("ab 10 Stk.", 10, Some(Unit::Pieces)),
            ("10-49", 10, None),
            ("10 – 49", 10, None),
            ("10 bis 49 Stück", 10, Some(Unit::Pieces)),
            ("1..9", 1, None),
            ("50+", 50, None),
            (">= 50", 50, None),
            ("≥50", 50, None),
            ("> 50", 51, None),
            ("über 50", 51, None),
            ("< 10", 1, None),
            ("à partir de 10", 10, None),
            ("dès 10 pièces", 10, Some(Unit::Pieces)),
            ("5 VPE", 5, Some(Unit::Packs)),
            ("5 packs", 5, Some(Unit::Packs)),
            ("10 and more", 10, None),
            ("1.000", 1000, None),
            ("min. 3", 3, None),
            ("10 and up", 10, None),
            ("over 50", 51, None),
            ("10,00", 10, None),
        ] {
            let is = quantity(text, Comma);
            assert_eq!(is, Some(Quantity { count, unit }), "{text}");
        }
        assert_eq!(quantity("1,000", Point).unwrap().count, 1000);
    }

    #[test]
    fn what_is_no_quantity() {
        for text in [
            "",
            "Stk",
            "10 20",
            "10 m",
            "ab 10 Stk VPE",
            "1,5",
            "12345678901",
            "> 5 - 9",
            "plus de 10",
            "2 dozen",
        ] {
            assert_eq!(quantity(text, Comma), None, "{text}");
        }
    }

    #[test]
    fn what_is_counted_is_no_range() {
        for (text, count, unit) in [
            ("10", 10, None),
            ("0", 0, None),
            ("10 Stk.", 10, Some(Unit::Pieces)),
            ("5 VPE", 5, Some(Unit::Packs)),
            ("10 x", 10, None),
            ("2 (packs)", 2, Some(Unit::Packs)),
            ("1.000", 1000, None),
            ("10,000", 10, None),
        ] {
            assert_eq!(
                counted(text, Comma),
                Some(Quantity { count, unit }),
                "{text}"
            );
        }
        for text in [
            "",
            "Stk",
            "10-49",
            "from 10",
            "10+",
            "> 10",
            "< 10",
            "-5",
            "1,5",
            "about 10",
            "10 20",
            "5 packs Stk",
            "12345678901",
        ] {
            assert_eq!(counted(text, Comma), None, "{text}");
        }
    }

    #[test]
    fn packs_are_pieces_by_the_size_of_the_pack() {
        assert_eq!(Unit::Packs.in_pieces(5, 20), Some(100));
        assert_eq!(Unit::Pieces.in_pieces(5, 20), Some(5));
        assert_eq!(Unit::Packs.in_pieces(MAX_QTY, 2), None);
    }
}
