//! The row of headings, found by the words that a recipe names.

use super::list::{List, Page};
use crate::diag::{Diagnostic, Findings, did_you_mean, joined, quote};
use crate::source::SheetRow;
use crate::table::one_spelling;
use std::sync::Arc;

/// A column as a recipe names it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// The words of the heading, as the recipe has them.
    pub text: String,
    /// The key of the recipe that names the column.
    pub key: String,
    /// The line of the recipe.
    pub line: u64,
}

/// A heading as it is compared: in small letters, each run of white space as one space.
pub fn plain(text: &str) -> String {
    one_spelling(&text.replace(char::is_control, " ")).to_lowercase()
}

/// Where the headings stand.
#[derive(Debug, Clone)]
pub struct Found {
    /// The page.
    pub page: usize,
    /// The place of the header row among the rows of the page.
    pub row: usize,
    /// The column of each heading that was asked for, in order.
    pub places: Vec<usize>,
}

/// The header row is looked for in so many rows of a page.
const LOOKED_AT: usize = 2_000;

/// Finds the first row that has all headings: on the sheet that is named, else on the
/// only sheet that has such a row.
///
/// Pushes an error for each heading that is not there.
pub fn find(
    list: &List,
    sheet: Option<(&str, u64)>,
    wanted: &[Heading],
    recipe: &Arc<str>,
    findings: &mut Findings,
) -> Option<Found> {
    let pages = pages(list, sheet, recipe, findings)?;
    let mut found = Vec::new();
    let mut near: Option<(usize, usize, usize)> = None;
    for &at in &pages {
        let page = list.pages.get(at)?;
        let head = page.rows.iter().take(LOOKED_AT).enumerate();
        let mut first = None;
        for (row, cells) in head {
            let hits = hits(cells, wanted);
            if hits == wanted.len() {
                first = Some(row);
                break;
            }
            if hits > near.map_or(0, |(hits, ..)| hits) {
                near = Some((hits, at, row));
            }
        }
        found.extend(first.map(|row| (at, row)));
    }
    match found.as_slice() {
        [(page, row)] => places(list, *page, *row, wanted, recipe, findings),
        [] => {
            missing(list, near, wanted, recipe, findings);
            None
        }
        [(first, _), (second, _), ..] => {
            let name = |at: &usize| {
                list.pages
                    .get(*at)
                    .map(|p| quote(&p.sheet))
                    .unwrap_or_default()
            };
            let message = format!(
                "the sheets {} and {} both have the headings of the recipe",
                name(first),
                name(second)
            );
            let help = format!("name one of them with sheet under [file] of {recipe}");
            findings.push(Diagnostic::error(&list.file, message).help(help));
            None
        }
    }
}

/// The pages that are looked at.
fn pages(
    list: &List,
    sheet: Option<(&str, u64)>,
    recipe: &Arc<str>,
    findings: &mut Findings,
) -> Option<Vec<usize>> {
    let Some((name, line)) = sheet.filter(|_| list.encoding.is_none()) else {
        return Some((0..list.pages.len()).collect());
    };
    let wanted = plain(name);
    let found = list
        .pages
        .iter()
        .position(|page| plain(&page.sheet) == wanted);
    if found.is_none() {
        let names = || list.pages.iter().map(|page| page.sheet.as_str());
        let all: Vec<String> = names().map(quote).collect();
        let help = did_you_mean(name, names())
            .unwrap_or_else(|| format!("name one of its sheets: {}", joined(&all, "or")));
        let message = format!("{} has no sheet {}", list.file, quote(name));
        findings.push(
            Diagnostic::error(recipe, message)
                .line(line)
                .column("file.sheet")
                .help(help),
        );
    }
    found.map(|at| vec![at])
}

/// How many of the headings a row has.
fn hits(row: &SheetRow, wanted: &[Heading]) -> usize {
    let cells: Vec<String> = row.cells.iter().map(plain).collect();
    let has = |heading: &&Heading| !matches!(place(&cells, &heading.text), Place::None);
    wanted.iter().filter(has).count()
}

/// Where a heading stands in a row.
enum Place {
    None,
    One(usize),
    /// So often.
    Several(usize),
}

/// `Price [2]` is the second column with the heading `Price`.
fn place(cells: &[String], text: &str) -> Place {
    let all = |words: &str| -> Vec<usize> {
        let same = cells.iter().enumerate().filter(|(_, cell)| *cell == words);
        same.map(|(at, _)| at).collect()
    };
    let words = plain(text);
    match all(&words).as_slice() {
        [one] => return Place::One(*one),
        [] => {}
        several => return Place::Several(several.len()),
    }
    let numbered = words
        .strip_suffix(']')
        .and_then(|rest| rest.rsplit_once('['));
    let Some((name, number)) = numbered else {
        return Place::None;
    };
    let number: Option<usize> = number.trim().parse().ok();
    let at = number.and_then(|n| n.checked_sub(1));
    match at.and_then(|at| all(name.trim()).get(at).copied()) {
        Some(one) => Place::One(one),
        None => Place::None,
    }
}

/// The column of each heading in the header row.
fn places(
    list: &List,
    page: usize,
    row: usize,
    wanted: &[Heading],
    recipe: &Arc<str>,
    findings: &mut Findings,
) -> Option<Found> {
    let at = list.pages.get(page)?;
    let header = at.rows.get(row)?;
    let cells: Vec<String> = header.cells.iter().map(plain).collect();
    let mut places = Vec::new();
    for heading in wanted {
        match place(&cells, &heading.text) {
            Place::One(one) => places.push(one),
            Place::None => {}
            Place::Several(count) => {
                let message = format!(
                    "row {} of {} has {count} columns headed {}",
                    header.number,
                    at.file,
                    quote(&heading.text)
                );
                let help = format!(
                    "say which: {} is the first, {} the second",
                    quote(&format!("{} [1]", heading.text)),
                    quote(&format!("{} [2]", heading.text))
                );
                let error = Diagnostic::error(recipe, message).line(heading.line);
                findings.push(error.column(&heading.key).help(help));
            }
        }
    }
    (places.len() == wanted.len()).then_some(Found { page, row, places })
}

/// Says which headings are gone, beside the row that has most of them.
fn missing(
    list: &List,
    near: Option<(usize, usize, usize)>,
    wanted: &[Heading],
    recipe: &Arc<str>,
    findings: &mut Findings,
) {
    let near = near.filter(|(hits, ..)| hits * 2 >= wanted.len());
    let row = near.and_then(|(_, page, row)| {
        let page = list.pages.get(page)?;
        Some((page, page.rows.get(row)?))
    });
    let Some((page, header)) = row else {
        let names: Vec<String> = wanted.iter().map(|heading| quote(&heading.text)).collect();
        let message = format!(
            "no row has the headings of {recipe}: {}",
            joined(&names, "and")
        );
        let help = "name the file that the supplier sent, or correct the recipe";
        findings.push(Diagnostic::error(&list.file, message).help(help));
        return;
    };
    findings.extend(gone(page, header, wanted, recipe));
}

/// Which of some headings was meant: one that is near, else the only one with the words.
fn meant(text: &str, free: &[&str]) -> Option<String> {
    let words = plain(text);
    let mut with = free.iter().filter(|cell| plain(cell).contains(&words));
    let only = with.next().filter(|_| with.next().is_none());
    let near = did_you_mean(text, free.iter().copied());
    near.or_else(|| only.map(|cell| format!("did you mean {}?", quote(cell))))
}

/// An error for each heading that a row lacks.
fn gone(page: &Page, header: &SheetRow, wanted: &[Heading], recipe: &Arc<str>) -> Findings {
    let cells: Vec<String> = header.cells.iter().map(plain).collect();
    let mut findings = Findings::default();
    for heading in wanted {
        if !matches!(place(&cells, &heading.text), Place::None) {
            continue;
        }
        // A column that another key names is not the one that has gone.
        let is_free = |cell: &&str| {
            let plain = plain(cell);
            !plain.is_empty() && wanted.iter().all(|other| self::plain(&other.text) != plain)
        };
        let free: Vec<&str> = header.cells.iter().map(str::trim).filter(is_free).collect();
        let key = format!("{} of {recipe}", heading.key);
        let help = match meant(&heading.text, &free) {
            Some(near) => format!("{near} then correct {key}"),
            None if free.is_empty() => format!("correct {key}, or take the key out"),
            None => {
                let names: Vec<String> = free.iter().map(|cell| quote(cell)).collect();
                format!(
                    "correct {key}; the other headings are {}",
                    joined(&names, "and")
                )
            }
        };
        let message = format!("no column is headed {} any more", quote(&heading.text));
        findings.push(
            Diagnostic::error(&page.file, message)
                .line(header.number)
                .help(help),
        );
    }
    findings
}
