//! Errors that repeat down a column become one.

use super::words::{line_list, listed_and_more};
use super::{Diagnostic, Findings, Level, line_word};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// In so many rows, errors of one kind are told one by one. In more rows they become one error.
pub const REPEATED: usize = 3;

/// What errors of one kind have in common: file, column, message and cure
/// without what is quoted and without numbers.
type Kind = (Arc<str>, Option<String>, String, Option<String>);

impl Findings {
    /// Joins errors of one kind that stand in more than [`REPEATED`] rows of one
    /// column. The first error stays, with the number of rows and a note of
    /// their lines.
    pub fn merge_repeated(&mut self) {
        let mut kinds: BTreeMap<Kind, Vec<usize>> = BTreeMap::new();
        for (place, one) in self.list.iter().enumerate() {
            if let Some(kind) = kind(one) {
                kinds.entry(kind).or_default().push(place);
            }
        }
        let mut gone = BTreeSet::new();
        for places in kinds.into_values() {
            let Some(merged) = merged(&self.list, &places) else {
                continue;
            };
            let Some((first, rest)) = places.split_first() else {
                continue;
            };
            if let Some(one) = self.list.get_mut(*first) {
                *one = merged;
            }
            gone.extend(rest.iter().copied());
        }
        let mut place = 0..;
        self.list
            .retain(|_| place.next().is_none_or(|place| !gone.contains(&place)));
    }
}

/// None for what is no error in a row of a table.
fn kind(one: &Diagnostic) -> Option<Kind> {
    let is_row = one.level == Level::Error && one.line.is_some() && !one.file.ends_with(".toml");
    is_row.then(|| {
        let help = one.help.as_deref().map(plain);
        (
            one.file.clone(),
            one.column.clone(),
            plain(&one.message),
            help,
        )
    })
}

/// The first error with the number of rows; none where the rows are too few.
fn merged(list: &[Diagnostic], places: &[usize]) -> Option<Diagnostic> {
    let all = || places.iter().filter_map(|place| list.get(*place));
    let lines: BTreeSet<u64> = all().filter_map(|one| one.line).collect();
    if lines.len() <= REPEATED {
        return None;
    }
    let first = all().next()?;
    let word = line_word(&first.file);
    let lines: Vec<u64> = lines.into_iter().collect();
    let mut merged = first.clone();
    merged.message = format!("{} rows: {}", lines.len(), first.message);
    let mut seen = BTreeSet::new();
    let mut values: Vec<&str> = all().filter_map(|one| quoted(&one.message)).collect();
    values.retain(|value| seen.insert(*value));
    if values.len() > 1 {
        merged = merged.note(format!("what stands there: {}", listed_and_more(&values)));
    }
    Some(merged.note(format!("in {word}s {}", line_list(&lines))))
}

/// The first text in quotes, with its quotes.
fn quoted(message: &str) -> Option<&str> {
    let from = message.find('"')?;
    let rest = message.get(from + 1..)?;
    let to = rest.find('"')?;
    message.get(from..from + to + 2)
}

/// A message without what is quoted in it and without its numbers.
fn plain(message: &str) -> String {
    let mut plain = String::new();
    let (mut is_quoted, mut was_number) = (false, false);
    for c in message.chars() {
        if c == '"' {
            is_quoted = !is_quoted;
        }
        if is_quoted {
            continue;
        }
        let is_number = c.is_ascii_digit() || (was_number && matches!(c, '.' | ','));
        if !is_number {
            plain.push(c);
        } else if !was_number {
            plain.push('#');
        }
        was_number = is_number;
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file() -> Arc<str> {
        "prices.csv".into()
    }

    fn date(line: u64, text: &str) -> Diagnostic {
        Diagnostic::error(&file(), format!("\"{text}\" is not a date"))
            .line(line)
            .column("quoted")
            .help("write YYYY-MM-DD")
    }

    fn merged(list: impl IntoIterator<Item = Diagnostic>) -> Vec<Diagnostic> {
        let mut findings = Findings::default();
        list.into_iter().for_each(|one| findings.push(one));
        findings.merge_repeated();
        findings.iter().cloned().collect()
    }

    #[test]
    fn three_rows_are_told_each_and_four_once() {
        let rows = |n: u64| (0..n).map(|i| date(i + 2, "07.09.2026"));
        assert_eq!(merged(rows(3)).len(), 3);
        let one = merged(rows(4));
        assert_eq!(one.len(), 1);
        assert_eq!(one[0].message, "4 rows: \"07.09.2026\" is not a date");
        assert_eq!(
            (one[0].line, one[0].help.as_deref()),
            (Some(2), Some("write YYYY-MM-DD"))
        );
        assert_eq!(one[0].notes, ["in lines 2 to 5"]);
    }

    #[test]
    fn what_stands_there_is_told_where_it_differs() {
        let texts = ["1.2.26", "2.2.26", "1.2.26", "3.2.26"];
        let one = merged((4..).zip(texts).map(|(line, text)| date(2 * line, text)));
        assert_eq!(
            one[0].notes,
            [
                "what stands there: \"1.2.26\", \"2.2.26\" and \"3.2.26\"",
                "in lines 8, 10, 12 and 14"
            ]
        );
    }

    #[test]
    fn only_the_same_kind_in_the_same_column_is_one() {
        let mut list: Vec<Diagnostic> = (2..6).map(|line| date(line, "x")).collect();
        list.insert(2, date(3, "y").column("ordered_on"));
        list.push(
            Diagnostic::error(&file(), "\"x\" is not a number")
                .line(9)
                .column("quoted"),
        );
        let told = merged(list.clone());
        let places: Vec<_> = told
            .iter()
            .map(|d| (d.line, d.column.clone().unwrap()))
            .collect();
        let at = |line, column: &str| (Some(line), column.to_owned());
        assert_eq!(
            places,
            [at(2, "quoted"), at(3, "ordered_on"), at(9, "quoted")]
        );
        // Numbers and cures of a kind do not tell them apart.
        let above = |line: u64| {
            Diagnostic::error(&file(), format!("min_mm2 {line}.5 is above max_mm2 {line}"))
                .line(line)
                .help(format!("did you mean \"{line}\"?"))
        };
        assert_eq!(merged((1..5).map(above)).len(), 1);
    }

    #[test]
    fn rows_count_and_not_errors_and_only_errors_of_tables() {
        let one_row = |_| date(1, "x");
        assert_eq!(merged((0..9).map(one_row)).len(), 9);
        let toml: Arc<str> = "project.toml".into();
        let key = |line| {
            Diagnostic::error(&toml, "unknown part")
                .line(line)
                .column("exclude_parts")
        };
        assert_eq!(merged((1..9).map(key)).len(), 8);
        let warning = |line| {
            Diagnostic::warning(&file(), "odd")
                .line(line)
                .column("quoted")
        };
        assert_eq!(merged((1..9).map(warning)).len(), 8);
        let nowhere = |_| Diagnostic::error(&file(), "the column is missing").column("part");
        assert_eq!(merged((0..9).map(nowhere)).len(), 9);
    }
}
