//! `dies.csv`: crimp dies, which may be absent.

use crate::catalog::Die;
use crate::diag::Findings;
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::Money;

pub const DIE: Col = Col::required(0, "die");
const DESCRIPTION: Col = Col::optional(1, "description");
const COST: Col = Col::required(2, "cost");
const OWNED: Col = Col::required(3, "owned");
const NOTE: Col = Col::optional(4, "note");

const COLUMNS: &[Col] = &[DIE, DESCRIPTION, COST, OWNED, NOTE];

const YES_NO: [(&str, bool); 2] = [("yes", true), ("no", false)];

/// All sound rows, by code.
pub fn read(source: Option<&Source>, codes: &mut Codes, findings: &mut Findings) -> Vec<Die> {
    let mut table = source.and_then(|s| Table::open(s, COLUMNS, findings));
    let mut dies = Vec::new();
    while let Some(mut row) = table.as_mut().and_then(|t| t.next(findings)) {
        let name = codes.claim(&mut row, DIE);
        if !row.is_ragged() {
            let die = die(&mut row, name);
            dies.extend(die.filter(|_| row.is_sound()));
        }
    }
    codes.read_from(table.as_ref(), DIE);
    dies.sort_by(|a, b| a.name.cmp(&b.name));
    dies
}

fn die(row: &mut Row, name: Option<&str>) -> Option<Die> {
    let description = row.owned(DESCRIPTION);
    let cost = row.number(COST, &limits::MONEY).map(Money);
    let owned = row.word(OWNED, &YES_NO);
    Some(Die {
        name: name?.to_owned(),
        description,
        cost: cost?,
        owned: owned?,
        note: row.owned(NOTE),
        row: row.place(),
    })
}
