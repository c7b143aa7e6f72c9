//! `dies_ordered.csv`, which may be absent: crimp dies that have been ordered.

use super::DieOrdered;
use crate::catalog::Catalog;
use crate::diag::{Findings, quote};
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::Money;

const DIE: Col = Col::required(0, "die");
const COST: Col = Col::required(1, "cost");
const ORDERED_ON: Col = Col::required(2, "ordered_on");
const NOTE: Col = Col::optional(3, "note");

/// The columns that a row which is written has.
pub const COLUMNS: [&str; 3] = [DIE.name, COST.name, ORDERED_ON.name];

/// Reads the dies that are ordered, in the order of the rows. Each die stands there
/// once. `known` has all dies of the catalog, including those of bad rows.
///
/// Pushes an error where a die is unknown or stands twice.
pub fn read(
    source: &Source,
    catalog: &Catalog,
    known: &Codes,
    findings: &mut Findings,
) -> Vec<DieOrdered> {
    let Some(mut table) = Table::open(source, &[DIE, COST, ORDERED_ON, NOTE], findings) else {
        return Vec::new();
    };
    let mut codes = Codes::new("die");
    let mut dies = Vec::new();
    while let Some(mut row) = table.next(findings) {
        let name = codes.claim(&mut row, DIE);
        if !row.is_ragged() {
            let die = die(&mut row, name, catalog, known);
            dies.extend(die.filter(|_| row.is_sound()));
        }
    }
    dies
}

fn die(row: &mut Row, name: Option<&str>, catalog: &Catalog, known: &Codes) -> Option<DieOrdered> {
    let cost = row.number(COST, &limits::MONEY).map(Money);
    let (ordered_on, note) = (row.date(ORDERED_ON), row.owned(NOTE));
    let name = name?;
    if !known.may_know(name) {
        let help = known.did_you_mean(name).unwrap_or_else(|| {
            "correct the name, or give the die a row among the dies of the catalog".to_owned()
        });
        row.error(DIE, format!("unknown die {}", quote(name)), help);
    }
    Some(DieOrdered {
        die: catalog.find_die(name)?,
        cost: cost?,
        ordered_on: ordered_on?,
        note,
        row: row.place(),
    })
}

/// Reads a text that is about to become `dies_ordered.csv`; none if anything is
/// wrong with it.
pub fn reread(text: &str, catalog: &Catalog) -> Option<Vec<DieOrdered>> {
    let mut findings = Findings::default();
    let file = "dies_ordered.csv".into();
    let source = Source::from_bytes(&file, text.as_bytes().to_vec(), &mut findings)?;
    let dies = read(&source, catalog, &Codes::open("die"), &mut findings);
    findings.is_empty().then_some(dies)
}
