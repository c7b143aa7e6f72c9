//! What a workbook should read as after its edits.

use super::place;
use super::values::same;
use crate::book::sheet::Sheet;
use crate::source::SheetRow;
use std::collections::{BTreeMap, BTreeSet};

/// Rows by number.
type Rows = BTreeMap<u64, Vec<String>>;

/// The sheets before, and the edits of one of them.
pub struct Intended<'e> {
    pub before: &'e [Sheet],
    /// Place of the edited sheet among these sheets.
    pub place: usize,
    /// New values by row from 1 and column from 0.
    pub cells: Vec<(u64, usize, &'e String)>,
    pub removed: &'e BTreeSet<u64>,
    /// For each column, whether it holds numbers.
    pub numbers: Vec<bool>,
}

impl Intended<'_> {
    /// True if the sheets read as intended: the edited sheet with its edits, all others as before.
    pub fn is_read(&self, now: &[Sheet]) -> bool {
        let pairs = self.before.iter().zip(now).enumerate();
        let mut others = pairs.filter(|(place, _)| *place != self.place);
        now.len() == self.before.len()
            && others.all(|(_, (before, now))| before == now)
            && now
                .get(self.place)
                .is_some_and(|sheet| self.is_sheet(sheet))
    }

    fn is_sheet(&self, sheet: &Sheet) -> bool {
        let (read, wanted) = (rows(&sheet.rows), self.rows());
        let mut pairs = read.iter().zip(&wanted);
        read.len() == wanted.len()
            && pairs.all(|((n, read), (m, wanted))| n == m && self.is_row(read, wanted))
    }

    /// The rows with their edits.
    fn rows(&self) -> Rows {
        let mut all = self
            .before
            .get(self.place)
            .map_or_else(Rows::new, |s| rows(&s.rows));
        for &(row, column, value) in &self.cells {
            let cells = all.entry(row).or_default();
            cells.resize(cells.len().max(column + 1), String::new());
            cells[column].clone_from(value);
        }
        let is_left = |row: &u64| !self.removed.contains(row);
        all.into_iter()
            .filter(|(row, cells)| is_left(row) && cells.iter().any(|cell| !cell.is_empty()))
            .map(|(row, cells)| (place::after(row, self.removed), cells))
            .collect()
    }

    fn is_row(&self, read: &[String], wanted: &[String]) -> bool {
        (0..read.len().max(wanted.len())).all(|place| {
            let is_number = self.numbers.get(place).copied().unwrap_or(false);
            let of = |row: &[String]| row.get(place).cloned().unwrap_or_default();
            let (read, wanted) = (of(read), of(wanted));
            read == wanted || same(is_number, read.trim(), &wanted)
        })
    }
}

fn rows(rows: &[SheetRow]) -> Rows {
    let cells = |row: &SheetRow| row.cells.iter().map(str::to_owned).collect();
    rows.iter().map(|row| (row.number, cells(row))).collect()
}
