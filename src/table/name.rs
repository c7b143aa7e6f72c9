//! One spelling for each name.

use std::borrow::Cow;
use unicode_normalization::{UnicodeNormalization, is_nfc};

/// A text as names are compared: in Unicode NFC (Unicode Standard Annex #15), with
/// every run of white space of any kind as one space, and none at either end.
///
/// A run with a control character in it stays, so that a reader can refuse it.
pub fn one_spelling(text: &str) -> Cow<'_, str> {
    if is_plain(text) {
        return Cow::Borrowed(text);
    }
    let trimmed = text.trim();
    let mut out = String::with_capacity(trimmed.len());
    let mut rest = trimmed;
    while let Some(first) = rest.chars().next() {
        let is_white = first.is_whitespace();
        let end = rest.find(|c: char| c.is_whitespace() != is_white);
        let (run, after) = rest.split_at(end.unwrap_or(rest.len()));
        match is_white && !run.contains(char::is_control) {
            true => out.push(' '),
            false => out.extend(run.nfc()),
        }
        rest = after;
    }
    Cow::Owned(out)
}

/// True if nothing has to be made of the text.
fn is_plain(text: &str) -> bool {
    let bytes = text.as_bytes();
    let is_tight = !matches!(bytes, [b' ', ..] | [.., b' ']) && !text.contains("  ");
    is_tight && (text.is_ascii() || (is_nfc(text) && !text.chars().any(odd_space)))
}

fn odd_space(c: char) -> bool {
    c != ' ' && c.is_whitespace()
}

/// A name without what a reader overlooks: in small letters, without spaces, hyphens
/// and underscores. Names that are equal in this look alike.
pub fn looks(name: &str) -> String {
    let is_mark = |c: char| c.is_whitespace() || matches!(c, '-' | '_' | '\u{2010}' | '\u{2011}');
    let kept = name.chars().filter(|c| !is_mark(*c));
    kept.flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_name_has_one_spelling() {
        // U+0041 U+030A is U+00C5 in NFC: Unicode Standard Annex #15, figure 3.
        assert_eq!(one_spelling("A\u{30a}land"), "\u{c5}land");
        assert_eq!(one_spelling("main\u{a0} hub"), "main hub");
        assert_eq!(one_spelling(" main  hub "), "main hub");
        assert_eq!(one_spelling("main\u{2003}hub"), "main hub");
        assert_eq!(one_spelling("main\nhub"), "main\nhub");
        assert!(matches!(one_spelling("main hub"), Cow::Borrowed(_)));
        // Compatibility forms are other names: 50 mm² is not 50 mm2.
        assert_eq!(one_spelling("mm\u{b2}"), "mm\u{b2}");
    }

    #[test]
    fn case_and_marks_are_overlooked_and_nothing_else() {
        assert_eq!(looks("Main_Hub-1"), looks("main hub 1"));
        assert_ne!(looks("HV+"), looks("HV-"));
        assert_ne!(looks("hub 1"), looks("hub 2"));
    }
}
