//! `backshells.csv`.

use super::exits;
use crate::catalog::{BackShell, Spec};
use crate::table::{Col, Row, limits};
use crate::units::Mm;

pub const PART: Col = Col::required(0, "part");
const DESCRIPTION: Col = Col::optional(1, "description");
const REAR: Col = Col::required(2, "rear");
const EXIT: Col = Col::optional(3, "exit");
const MAX_OD: Col = Col::required(4, "max_od_mm");
const COLOUR: Col = Col::optional(5, "colour");
const PIECES: Col = Col::optional(6, "pieces");

pub const COLUMNS: &[Col] = &[PART, DESCRIPTION, REAR, EXIT, MAX_OD, COLOUR, PIECES];

/// Description and back shell of a row.
pub fn part(row: &mut Row) -> Option<(String, Spec)> {
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
    Some((description, Spec::BackShell(shell)))
}
