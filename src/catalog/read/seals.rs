//! `seals.csv`.

use crate::catalog::{Seal, Spec};
use crate::table::{Col, Row, limits};
use crate::units::Mm;

pub const PART: Col = Col::required(0, "part");
const DESCRIPTION: Col = Col::optional(1, "description");
const REAR: Col = Col::required(2, "rear");
const MIN_OD: Col = Col::required(3, "min_od_mm");
const MAX_OD: Col = Col::required(4, "max_od_mm");
const IP: Col = Col::optional(5, "ip");

pub const COLUMNS: &[Col] = &[PART, DESCRIPTION, REAR, MIN_OD, MAX_OD, IP];

/// Description and seal of a row.
pub fn part(row: &mut Row) -> Option<(String, Spec)> {
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
    Some((description, Spec::Seal(seal)))
}
