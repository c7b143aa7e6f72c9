//! Small words: counted nouns, lists, text that a terminal can show.

use crate::diag::joined;
use rust_decimal::{Decimal, RoundingStrategy};

/// `1 part`, `2 parts`: a number and a noun that takes an s.
///
/// ```
/// use couplet::report::wording::counted;
/// assert_eq!(counted(1, "part"), "1 part");
/// assert_eq!(counted(0, "part"), "0 parts");
/// ```
pub fn counted(count: u64, noun: &str) -> String {
    let ending = if count == 1 { "" } else { "s" };
    format!("{count} {noun}{ending}")
}

/// `a`, `a and b`, `a, b and c`; empty for nothing.
///
/// ```
/// use couplet::report::wording::list;
/// assert_eq!(list(&["a", "b", "c"]), "a, b and c");
/// ```
pub fn list<S: AsRef<str>>(items: &[S]) -> String {
    joined(items, "and")
}

/// The text in one line without control characters, so that nothing in the
/// user's files can steer the terminal.
pub fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// A gap in percent with two decimals, rounded up: it never looks smaller than it is.
pub fn gap(percent: Decimal) -> String {
    let mut shown = percent.round_dp_with_strategy(2, RoundingStrategy::ToPositiveInfinity);
    shown.rescale(2);
    format!("{shown} %")
}

/// Text wrapped to a width between words, with `first` before the first line and `other`
/// before each other line. A word that is wider stays whole, so that it can be copied.
pub fn wrapped(text: &str, width: usize, first: &str, other: &str) -> String {
    let options = between_words(width)
        .initial_indent(first)
        .subsequent_indent(other)
        .break_words(false);
    textwrap::fill(text, options)
}

/// Text wrapped to a width; a word that is wider is broken.
pub fn forced(text: &str, width: usize) -> String {
    textwrap::fill(text, between_words(width))
}

fn between_words(width: usize) -> textwrap::Options<'static> {
    textwrap::Options::new(width)
        .word_separator(textwrap::WordSeparator::AsciiSpace)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_of_no_one_and_two() {
        assert_eq!(list::<&str>(&[]), "");
        assert_eq!(list(&["a"]), "a");
        assert_eq!(list(&["a", "b"]), "a and b");
    }

    #[test]
    fn a_gap_is_never_shown_smaller_than_it_is() {
        assert_eq!(gap(Decimal::new(10001, 4)), "1.01 %");
        assert_eq!(gap(Decimal::new(1, 4)), "0.01 %");
        assert_eq!(gap(Decimal::ZERO), "0.00 %");
    }

    #[test]
    fn control_characters_do_not_reach_the_terminal() {
        assert_eq!(plain("a\u{1b}[31mb\nc"), "a [31mb c");
        assert_eq!(plain("70 mm²"), "70 mm²");
    }

    #[test]
    fn only_a_table_breaks_a_word() {
        assert_eq!(wrapped("a 0123456789 b", 6, "", ""), "a\n0123456789\nb");
        assert_eq!(forced("a 0123456789 b", 6), "a\n012345\n6789 b");
    }

    #[test]
    fn codes_and_paths_are_not_broken() {
        assert_eq!(
            wrapped("take P-70-RA now", 10, "", ""),
            "take\nP-70-RA\nnow"
        );
    }
}
