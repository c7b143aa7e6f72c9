//! `seals.csv`.

use super::part_table::{PartRow, PartTable};
use crate::catalog::{Kind, Seal, Spec};
use crate::table::{Col, Row, limits};
use crate::units::Mm;

const PART: Col = Col::required(0, "part");
const DESCRIPTION: Col = Col::optional(1, "description");
const REAR: Col = Col::required(2, "rear");
const MIN_OD: Col = Col::required(3, "min_od_mm");
const MAX_OD: Col = Col::required(4, "max_od_mm");
const IP: Col = Col::optional(5, "ip");
const NOTE: Col = Col::optional(6, "note");

const COLUMNS: &[Col] = &[PART, DESCRIPTION, REAR, MIN_OD, MAX_OD, IP, NOTE];

/// The table of this file.
pub const TABLE: PartTable = PartTable {
    name: "seals",
    kinds: &[Kind::Seal],
    columns: COLUMNS,
    code: PART,
    note: NOTE,
    read: part,
};

/// Description and seal of a row.
fn part(row: &mut Row) -> Option<PartRow> {
    let (description, rear) = (row.owned(DESCRIPTION), row.text(REAR));
    let min_od = row.number(MIN_OD, &limits::DIAMETER).map(Mm);
    let max_od = row.number(MAX_OD, &limits::DIAMETER).map(Mm);
    let ip = row.protection(IP);
    row.in_order((MIN_OD, min_od), (MAX_OD, max_od));
    let seal = Seal {
        rear: rear?.to_owned(),
        min_od: min_od?,
        max_od: max_od?,
        ip,
    };
    Some(PartRow {
        description,
        spec: Spec::Seal(seal),
    })
}
