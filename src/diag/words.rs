//! Wording that messages share.

use super::{Diagnostic, Findings, Level};

/// How many characters of a cell a message quotes at most.
const QUOTED: usize = 60;

/// Words of more bytes are not compared: the cost grows with the square of the length.
const COMPARED: usize = 64;

/// The text in quotes: shortened, and with control characters made visible, so
/// that no file can send escape codes to a terminal.
pub fn quote(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars().take(QUOTED) {
        if c.is_control() {
            quoted.extend(c.escape_default());
        } else {
            quoted.push(c);
        }
    }
    if text.chars().nth(QUOTED).is_some() {
        quoted.push('…');
    }
    quoted.push('"');
    quoted
}

/// The candidate that is nearest to `word`, if any is near: a third of its
/// letters may differ, or the case of any.
pub fn suggest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    if word.len() > COMPARED {
        return None;
    }
    let lower = word.to_lowercase();
    let reach = (word.chars().count() / 3).max(1);
    candidates
        .into_iter()
        .filter(|c| c.len() <= COMPARED && c.len().abs_diff(word.len()) <= 2 * reach)
        .map(|c| (strsim::osa_distance(&lower, &c.to_lowercase()), c))
        .filter(|(distance, _)| *distance <= reach)
        .min()
        .map(|(_, c)| c)
}

/// `did you mean "plug"?`, if a candidate is near.
pub fn did_you_mean<'c>(
    word: &str,
    candidates: impl IntoIterator<Item = &'c str>,
) -> Option<String> {
    suggest(word, candidates).map(|near| format!("did you mean {}?", quote(near)))
}

/// `plug or receptacle`, `plug, ferrule or seal`.
pub fn listed(words: &[&str]) -> String {
    joined(words, "or")
}

/// Words with commas between, and `last` before the last: `a`, `a and b`,
/// `a, b and c`; empty for nothing.
///
/// ```
/// use couplet::diag::joined;
/// assert_eq!(joined(&["a", "b", "c"], "and"), "a, b and c");
/// ```
pub fn joined<S: AsRef<str>>(words: &[S], last: &str) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match words.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [most @ .., end] => format!("{} {last} {end}", most.join(", ")),
    }
}

/// So many of a list are named, the others as a number.
const NAMED: usize = 8;

/// `"a", "b" and "c"`; after eight of them `and 4 more`.
pub(super) fn listed_and_more(words: &[&str]) -> String {
    let mut named: Vec<String> = words.iter().take(NAMED).map(|w| (*w).to_owned()).collect();
    let more = words.len().saturating_sub(NAMED);
    named.extend((more > 0).then(|| format!("{more} more")));
    joined(&named, "and")
}

/// Rising line numbers: `4`, `4 and 5`, `2 to 395`, `4, 7 to 9 and 12`, and after
/// eight of them `… and 40 more`.
pub fn line_list(lines: &[u64]) -> String {
    let runs: Vec<&[u64]> = lines
        .chunk_by(|a, b| a.checked_add(1) == Some(*b))
        .collect();
    // Two in a row are no run that is worth a word.
    let parts: Vec<&[u64]> = (runs.into_iter())
        .flat_map(|run| run.chunks(if run.len() > 2 { run.len() } else { 1 }))
        .collect();
    let more: usize = parts.iter().skip(NAMED).map(|part| part.len()).sum();
    let mut named: Vec<String> = (parts.iter().take(NAMED))
        .map(|part| match part {
            [first, .., last] => format!("{first} to {last}"),
            one => one.first().map(u64::to_string).unwrap_or_default(),
        })
        .collect();
    named.extend((more > 0).then(|| format!("{more} more")));
    joined(&named, "and")
}

/// Warnings of one kind: the first five in full, the rest as a number.
#[derive(Debug)]
pub struct Several {
    what: &'static str,
    shown: Vec<Diagnostic>,
    more: usize,
}

impl Several {
    /// How many are shown in full.
    pub const SHOWN: usize = 5;

    /// `what` goes on from "and 3 more": `parts that nothing can use`.
    pub fn new(what: &'static str) -> Self {
        Self {
            what,
            shown: Vec::new(),
            more: 0,
        }
    }

    /// Adds a warning; the warning is worded only if it will be shown.
    pub fn push(&mut self, diagnostic: impl FnOnce() -> Diagnostic) {
        if self.shown.len() < Self::SHOWN {
            self.shown.push(diagnostic());
        } else {
            self.more += 1;
        }
    }

    /// Hands the warnings over.
    pub fn finish(self, findings: &mut Findings) {
        let rest = (self.more > 0)
            .then(|| self.shown.last())
            .flatten()
            .map(|last| {
                let message = format!("and {} more {}", self.more, self.what);
                Diagnostic::new(Level::Warning, &last.file, message)
            });
        for diagnostic in self.shown.into_iter().chain(rest) {
            findings.push(diagnostic);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    #[test]
    fn quotes_are_short_and_harmless() {
        assert_eq!(quote("a\u{1b}[1mb"), "\"a\\u{1b}[1mb\"");
        assert_eq!(quote(&"x".repeat(60)).chars().count(), 62);
        assert!(quote(&"x".repeat(61)).ends_with("x…\""));
    }

    #[test]
    fn only_near_words_are_suggested() {
        let words = ["plug", "receptacle"];
        assert_eq!(suggest("plgu", words), Some("plug"));
        assert_eq!(suggest("Plug", words), Some("plug"));
        assert_eq!(suggest("pulgs", words), None);
        assert_eq!(suggest("receptical", words), Some("receptacle"));
        assert_eq!(suggest("busbar", words), None);
        assert_eq!(suggest("", words), None);
    }

    #[test]
    fn lines_are_told_in_runs() {
        let of = |lines: &[u64]| line_list(lines);
        assert_eq!((of(&[]), of(&[4])), (String::new(), "4".into()));
        assert_eq!(
            (of(&[4, 5]), of(&[4, 5, 6])),
            ("4 and 5".into(), "4 to 6".into())
        );
        assert_eq!(of(&[4, 7, 8, 9, 12]), "4, 7 to 9 and 12");
        let odd: Vec<u64> = (0..8).map(|n| 2 * n + 1).collect();
        assert_eq!(of(&odd), "1, 3, 5, 7, 9, 11, 13 and 15");
        let odd: Vec<u64> = (0..9).map(|n| 2 * n + 1).chain([20, 21, 22]).collect();
        assert_eq!(of(&odd), "1, 3, 5, 7, 9, 11, 13, 15 and 4 more");
    }

    #[test]
    fn the_sixth_is_a_number() {
        let file: Arc<str> = "a.csv".into();
        let count = |n: usize| {
            let mut several = Several::new("things");
            (0..n).for_each(|i| several.push(|| Diagnostic::warning(&file, format!("thing {i}"))));
            let mut findings = Findings::default();
            several.finish(&mut findings);
            let last = findings.iter().last().map(|d| d.message.clone());
            (findings.warnings(), last)
        };
        assert_eq!(count(0), (0, None));
        assert_eq!(count(5), (5, Some("thing 4".into())));
        assert_eq!(count(7), (6, Some("and 2 more things".into())));
    }
}
