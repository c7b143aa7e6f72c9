//! Places of cells as a sheet writes them: `B7`, `A1:C9`, `2:5`, `A:C`.

use std::collections::BTreeSet;
use std::fmt;

/// The letters of a column; column 0 is `A`.
pub fn letters(column: usize) -> String {
    let mut letters = Vec::new();
    let mut left = column + 1;
    while left > 0 {
        left -= 1;
        letters.push(char::from(b'A' + (left % 26) as u8));
        left /= 26;
    }
    letters.iter().rev().collect()
}

/// The place of a cell; rows count from 1, columns from 0.
pub fn cell(row: u64, column: usize) -> String {
    format!("{}{row}", letters(column))
}

/// A corner of an area; whole rows have no column, whole columns no row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Corner {
    /// The column, from 0.
    pub column: Option<usize>,
    /// The row, from 1.
    pub row: Option<u64>,
}

impl Corner {
    /// Reads letters, digits or both; `$` before either is allowed.
    pub fn parse(text: &str) -> Option<Corner> {
        let text = text.strip_prefix('$').unwrap_or(text);
        let at = text.find(|c: char| !c.is_ascii_alphabetic());
        let (letters, rest) = text.split_at(at.unwrap_or(text.len()));
        let digits = rest.strip_prefix('$').unwrap_or(rest);
        // More letters or digits are no place in any sheet.
        let is_place = letters.len() <= 3 && digits.len() <= 7 && !text.is_empty();
        if !is_place || !digits.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        let value = |sum: usize, letter: u8| sum * 26 + usize::from(letter - b'A') + 1;
        let column = letters.to_ascii_uppercase().bytes().fold(0, value);
        let row: u64 = if digits.is_empty() {
            0
        } else {
            digits.parse().ok()?
        };
        let is_row_zero = row == 0 && !digits.is_empty();
        (!is_row_zero).then_some(Corner {
            column: column.checked_sub(1),
            row: (row > 0).then_some(row),
        })
    }
}

impl fmt::Display for Corner {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.column.map(letters).unwrap_or_default())?;
        self.row.map_or(Ok(()), |row| write!(f, "{row}"))
    }
}

/// Cells from corner to corner; one corner alone is one cell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    /// Upper left.
    pub from: Corner,
    /// Lower right.
    pub to: Option<Corner>,
}

impl Area {
    /// Reads `B7` or `A1:C9`. A corner alone must have both a column and a row.
    pub fn parse(text: &str) -> Option<Area> {
        let (from, to) = match text.split_once(':') {
            Some((from, to)) => (from, Some(Corner::parse(to)?)),
            None => (text, None),
        };
        let from = Corner::parse(from)?;
        let is_whole = from.column.is_some() && from.row.is_some();
        (to.is_some() || is_whole).then_some(Area { from, to })
    }

    fn last(&self) -> Corner {
        self.to.unwrap_or(self.from)
    }

    /// The last row; none where whole columns are meant.
    pub fn last_row(&self) -> Option<u64> {
        self.last().row
    }

    /// True if the cell is in the area; rows count from 1, columns from 0.
    pub fn holds(&self, row: u64, column: usize) -> bool {
        let (from, to) = (self.from, self.last());
        from.row.is_none_or(|first| first <= row)
            && to.row.is_none_or(|last| row <= last)
            && from.column.is_none_or(|first| first <= column)
            && to.column.is_none_or(|last| column <= last)
    }

    /// True if the cell is the upper left corner of the area.
    pub fn begins_at(&self, row: u64, column: usize) -> bool {
        (self.from.row, self.from.column) == (Some(row), Some(column))
    }

    /// The same area, made larger to hold the cell.
    pub fn with(&self, row: u64, column: usize) -> Area {
        let (mut from, mut to) = (self.from, self.last());
        from.row = from.row.map(|first| first.min(row));
        from.column = from.column.map(|first| first.min(column));
        to.row = to.row.map(|last| last.max(row));
        to.column = to.column.map(|last| last.max(column));
        Area { from, to: Some(to) }
    }

    /// Where the area lies once rows are taken out; none where nothing is left of the area.
    pub fn without(&self, rows: &BTreeSet<u64>) -> Option<Area> {
        let (mut from, mut to) = (self.from, self.last());
        from.row = from.row.map(|row| after(row, rows));
        to.row = to.row.map(|row| row - rows.range(..=row).count() as u64);
        let is_empty = from.row.zip(to.row).is_some_and(|(from, to)| to < from);
        (!is_empty).then_some(Area {
            from,
            to: self.to.map(|_| to),
        })
    }
}

impl fmt::Display for Area {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.from)?;
        self.to.map_or(Ok(()), |to| write!(f, ":{to}"))
    }
}

/// The number of a row once rows above it are taken out.
pub fn after(row: u64, removed: &BTreeSet<u64>) -> u64 {
    row - removed.range(..row).count() as u64
}

/// True if a formula may name a row: a cell, or whole rows. Texts in quotes and
/// names of functions are no places.
pub fn names_rows(formula: &str) -> bool {
    let outside: String = formula.split('"').step_by(2).collect::<Vec<_>>().join("\"");
    let is_word = |c: char| c.is_alphanumeric() || matches!(c, '$' | '_' | '.');
    let mut rest = outside.as_str();
    while let Some(start) = rest.find(is_word) {
        let from = rest.get(start..).unwrap_or("");
        let end = from.find(|c| !is_word(c)).unwrap_or(from.len());
        let (word, after) = from.split_at(end);
        let corner = Corner::parse(word).filter(|_| !after.starts_with('('));
        let in_range =
            after.starts_with(':') || rest.get(..start).is_some_and(|b| b.ends_with(':'));
        if corner.is_some_and(|c| c.row.is_some() && (c.column.is_some() || in_range)) {
            return true;
        }
        rest = after;
    }
    false
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_read_and_written_alike() {
        for text in ["A1", "Z9", "AA10", "XFD1048576", "A1:C9", "A:C", "2:5"] {
            assert_eq!(Area::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(cell(7, 27), "AB7");
        assert_eq!(Area::parse("$A$1:$C$9").unwrap().to_string(), "A1:C9");
        for text in ["", "A", "7", "A0", "ABCD1", "A1:", ":B2", "A1B", "1A"] {
            assert_eq!(Area::parse(text), None, "{text}");
        }
    }

    #[test]
    fn an_area_shrinks_and_moves_with_rows_that_go() {
        let left = |area: &str, rows: &[u64]| {
            let rows = rows.iter().copied().collect();
            let left = Area::parse(area).unwrap().without(&rows);
            left.map(|area| area.to_string())
        };
        assert_eq!(left("B2:C9", &[1]).as_deref(), Some("B1:C8"));
        assert_eq!(left("B2:C9", &[2, 9]).as_deref(), Some("B2:C7"));
        assert_eq!(left("B2:C9", &[5, 10]).as_deref(), Some("B2:C8"));
        assert_eq!(left("B2", &[2]), None);
        assert_eq!(left("A:C", &[2]).as_deref(), Some("A:C"));
    }

    #[test]
    fn formulas_that_name_rows() {
        for formula in [
            "A1+1",
            "$B$2>3",
            "SUM(C2:C9)",
            "other!A7",
            "2:5",
            "'a b'!$A$3",
        ] {
            assert!(names_rows(formula), "{formula}");
        }
        for formula in [
            "LOG10(2)", "\"A1\"", "1+2", "SUM(A:A)", "TRUE", "\"a,b\"", "x_A1",
        ] {
            assert!(!names_rows(formula), "{formula}");
        }
    }
}
