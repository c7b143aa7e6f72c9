//! `ferrules.csv`.

use super::part_table::{PartRow, PartTable};
use crate::catalog::{Ferrule, Kind, Spec};
use crate::table::{Col, Row, limits};
use crate::units::Mm2;

const PART: Col = Col::required(0, "part");
const DESCRIPTION: Col = Col::optional(1, "description");
const BARREL: Col = Col::required(2, "barrel");
const MIN_MM2: Col = Col::required(3, "min_mm2");
const MAX_MM2: Col = Col::required(4, "max_mm2");
pub const DIE: Col = Col::optional(5, "die");
const NOTE: Col = Col::optional(6, "note");

const COLUMNS: &[Col] = &[PART, DESCRIPTION, BARREL, MIN_MM2, MAX_MM2, DIE, NOTE];

/// The table of this file.
pub const TABLE: PartTable = PartTable {
    name: "ferrules",
    kinds: &[Kind::Ferrule],
    columns: COLUMNS,
    code: PART,
    note: NOTE,
    read: part,
};

/// Description and ferrule of a row. The ferrule is tied to its die later.
fn part(row: &mut Row) -> Option<PartRow> {
    let (description, barrel) = (row.owned(DESCRIPTION), row.text(BARREL));
    let min_mm2 = row.number(MIN_MM2, &limits::AREA).map(Mm2);
    let max_mm2 = row.number(MAX_MM2, &limits::AREA).map(Mm2);
    let die_name = row.text(DIE).map(str::to_owned);
    row.in_order((MIN_MM2, min_mm2), (MAX_MM2, max_mm2));
    let ferrule = Ferrule {
        barrel: barrel?.to_owned(),
        min_mm2: min_mm2?,
        max_mm2: max_mm2?,
        die: None,
        die_name,
    };
    Some(PartRow {
        description,
        spec: Spec::Ferrule(ferrule),
    })
}
