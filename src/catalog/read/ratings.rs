//! `ratings.csv`, which may be absent: currents of bodies by the area of the conductor.

use super::prices::Index;
use crate::catalog::{Part, PartId, Rating, Spec};
use crate::diag::{self, Diagnostic, Findings, Several, quote};
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::{Ampere, Mm2};
use std::collections::HashMap;

const PART: Col = Col::required(0, "part");
const MIN_MM2: Col = Col::required(1, "min_mm2");
const MAX_MM2: Col = Col::required(2, "max_mm2");
const RATED_A: Col = Col::required(3, "rated_a");
const NOTE: Col = Col::optional(4, "note");

const COLUMNS: &[Col] = &[PART, MIN_MM2, MAX_MM2, RATED_A, NOTE];

/// A rating, the part that it is of, and where it stands.
struct Rated {
    part: PartId,
    rating: Rating,
    row: diag::Row,
}

/// Gives each body its ratings. `codes` knows all part codes, `parts` are the sound ones.
///
/// Pushes an error where a part is unknown or no body; a warning where the areas of two
/// rows of a part have something in common.
pub fn read(source: &Source, parts: &mut [Part], codes: &Codes, findings: &mut Findings) {
    let Some(mut table) = Table::open(source, COLUMNS, findings) else {
        return;
    };
    let mut all: Vec<Rated> = Vec::new();
    {
        let ids: HashMap<&str, PartId> = (parts.iter().map(|p| p.code.as_str()))
            .zip((0..).map(PartId))
            .collect();
        let mut index = Index::new(ids, codes);
        while let Some(mut row) = table.next(findings) {
            if !row.is_ragged() {
                let rated = rated(&mut row, &mut index, parts);
                all.extend(rated.filter(|_| row.is_sound()));
            }
        }
    }
    overlaps(&all, findings);
    for one in all {
        if let Some(Spec::Body(body)) = parts.get_mut(one.part.0 as usize).map(|p| &mut p.spec) {
            body.ratings.push(one.rating);
        }
    }
}

fn rated(row: &mut Row, index: &mut Index<PartId>, parts: &[Part]) -> Option<Rated> {
    let cure = "correct the code, or add the body to bodies.csv";
    let part = index.find(row, PART, cure);
    let min_mm2 = row.number(MIN_MM2, &limits::AREA).map(Mm2);
    let max_mm2 = row.number(MAX_MM2, &limits::AREA).map(Mm2);
    let rated_a = row.number(RATED_A, &limits::CURRENT).map(Ampere);
    row.owned(NOTE);
    row.in_order((MIN_MM2, min_mm2), (MAX_MM2, max_mm2));
    let of = part.and_then(|id| parts.get(id.0 as usize));
    if let Some(of) = of.filter(|of| of.body().is_none()) {
        let message = format!("{} is a {}, no body", quote(&of.code), of.kind());
        row.error(PART, message, "ratings are those of plugs and receptacles");
    }
    Some(Rated {
        part: part?,
        rating: Rating {
            min_mm2: min_mm2?,
            max_mm2: max_mm2?,
            rated_a: rated_a?,
        },
        row: row.place(),
    })
}

/// Rows of a part whose areas meet: the lowest counts there, which may not be meant.
fn overlaps(all: &[Rated], findings: &mut Findings) {
    let mut sorted: Vec<&Rated> = all.iter().collect();
    sorted.sort_by_key(|r| (r.part, r.rating.min_mm2, r.row.line));
    let mut several = Several::new("ratings that overlap");
    // The one so far that reaches the furthest.
    let mut furthest: Option<&Rated> = None;
    for one in sorted {
        let before = furthest.filter(|f| f.part == one.part);
        if let Some(before) = before.filter(|b| b.rating.max_mm2 >= one.rating.min_mm2) {
            several.push(|| {
                let message = format!(
                    "its areas overlap with those of {}: the lower current counts there",
                    before.row
                );
                Diagnostic::warning(&one.row.file, message)
                    .line(one.row.line)
                    .column(MIN_MM2.name)
                    .help("give each area to one row")
            });
        }
        if before.is_none_or(|b| one.rating.max_mm2 > b.rating.max_mm2) {
            furthest = Some(one);
        }
    }
    several.finish(findings);
}
