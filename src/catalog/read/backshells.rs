//! `backshells.csv`.

use super::exit::exits;
use super::part_table::{PartRow, PartTable};
use crate::catalog::{BackShell, Kind, Spec};
use crate::table::{Col, Row, limits};
use crate::units::Mm;

const PART: Col = Col::required(0, "part");
const DESCRIPTION: Col = Col::optional(1, "description");
const REAR: Col = Col::required(2, "rear");
const EXIT: Col = Col::optional(3, "exit");
const MAX_OD: Col = Col::required(4, "max_od_mm");
const COLOUR: Col = Col::optional(5, "colour");
const PIECES: Col = Col::optional(6, "pieces");
const NOTE: Col = Col::optional(7, "note");

const COLUMNS: &[Col] = &[PART, DESCRIPTION, REAR, EXIT, MAX_OD, COLOUR, PIECES, NOTE];

/// The table of this file.
pub const TABLE: PartTable = PartTable {
    name: "backshells",
    kinds: &[Kind::BackShell],
    columns: COLUMNS,
    code: PART,
    note: NOTE,
    read: part,
};

/// Description and back shell of a row.
fn part(row: &mut Row) -> Option<PartRow> {
    let (description, rear) = (row.owned(DESCRIPTION), row.text(REAR));
    let exit = row.word(EXIT, exits());
    let max_od = row.number(MAX_OD, &limits::DIAMETER).map(Mm);
    let colour = row.text(COLOUR).map(str::to_owned);
    let pieces = row.small(PIECES, &limits::SHELLS);
    let shell = BackShell {
        rear: rear?.to_owned(),
        exit,
        max_od: max_od?,
        colour,
        pieces: pieces.unwrap_or(1),
    };
    Some(PartRow {
        description,
        spec: Spec::BackShell(shell),
    })
}
