//! Stocks: `12`, `Ja (12)`, `> 100`, `nein`.

use super::number::DecimalSign;
use super::quantity::{Unit, whole};
use super::words::{
    self, ABOUT, FROM, FROM_STOCK, NO, OF_STOCK, PACKS, PIECES, Token, YES, small, tokens,
};
use crate::units::Qty;

/// What a cell says of a stock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stock {
    /// How many is not said.
    Unknown,
    /// So many.
    Some(Qty, Option<Unit>),
}

/// Reads a stock; none where the cell is not understood. `known` are the user's words in
/// small letters, each with its pieces.
pub fn stock(text: &str, sign: DecimalSign, known: &[(String, Qty)]) -> Option<Stock> {
    let plain = small(text);
    if let Some((_, count)) = known.iter().find(|(word, _)| *word == plain) {
        return Some(Stock::Some(*count, None));
    }
    let bare = plain.trim_end_matches(['.', '!']);
    if matches!(bare, "" | "-" | "–" | "—") || words::is(YES, bare) {
        return Some(Stock::Unknown);
    }
    if words::is(NO, bare) {
        return Some(Stock::Some(0, Some(Unit::Pieces)));
    }
    if words::is(FROM_STOCK, bare) {
        return Some(Stock::Unknown);
    }
    counted(text, sign)
}

/// One number, with words that are known beside a stock.
fn counted(text: &str, sign: DecimalSign) -> Option<Stock> {
    let (mut count, mut unit) = (None, None);
    for token in tokens(text) {
        match token {
            Token::Number(_) if count.is_some() => return None,
            Token::Number(digits) => count = Some(whole(&digits, sign)?),
            Token::Word(word) if words::is(PACKS, &word) => unit = Some(Unit::Packs),
            Token::Word(word) if words::is(PIECES, &word) => unit = Some(Unit::Pieces),
            Token::Word(word) if is_beside(&word) => {}
            Token::Sign('(' | ')' | '+' | '>' | '≥' | '~' | '≈' | ':' | '.' | '=' | '/') => {}
            _ => return None,
        }
    }
    count.map(|count| Stock::Some(count, unit))
}

fn is_beside(word: &str) -> bool {
    [YES, ABOUT, FROM, OF_STOCK]
        .iter()
        .any(|list| words::is(*list, word))
        || matches!(word, "auf" | "am" | "på" | "op")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Option<Stock> {
        stock(text, DecimalSign::Comma, &[("knapp".into(), 5)])
    }

    #[test]
    fn stocks_in_many_forms() {
        let pieces = |n| Some(Stock::Some(n, None));
        for (text, is) in [
            ("12", pieces(12)),
            ("Ja (12)", pieces(12)),
            ("> 100", pieces(100)),
            ("100+", pieces(100)),
            ("1.200", pieces(1200)),
            ("auf Lager: 7", pieces(7)),
            ("Knapp", pieces(5)),
            ("12 Stk", Some(Stock::Some(12, Some(Unit::Pieces)))),
            ("3 VPE", Some(Stock::Some(3, Some(Unit::Packs)))),
            ("0", pieces(0)),
            ("nein", Some(Stock::Some(0, Some(Unit::Pieces)))),
            ("Ja", Some(Stock::Unknown)),
            ("auf Lager", Some(Stock::Unknown)),
            ("", Some(Stock::Unknown)),
        ] {
            assert_eq!(read(text), is, "{text}");
        }
    }

    #[test]
    fn what_is_no_stock() {
        for text in ["12 (4)", "soon", "nein (12)", "-5", "1,5", "12 kg"] {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
