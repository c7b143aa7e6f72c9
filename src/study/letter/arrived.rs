//! A delivery note as deliveries of what was ordered.

use super::{Letter, Line, Open, Stranger, by_ordered, fill};
use crate::catalog::PartId;
use crate::diag::{Diagnostic, Findings};
use crate::input::Input;
use crate::project::delivery::Delivery;
use crate::units::Qty;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;

/// What a delivery note says came.
#[derive(Debug, Clone, Default)]
pub struct Arrived {
    /// What came of what was ordered.
    pub deliveries: Vec<Delivery>,
    /// Lines that are nothing that was ordered.
    pub strangers: Vec<Stranger>,
    /// The recipe that the note was read by; none for our own order.
    pub recipe: Option<Arc<str>>,
    /// Lines that the recipe says are never ours.
    pub never_ours: usize,
}

/// Takes a delivery note as deliveries. Orders that were made after `on` are left alone.
///
/// # Errors
/// An error for each line of what was ordered that is not understood, or has more than is
/// outstanding.
pub fn arrived(input: &Input, letter: &Letter, on: Date) -> Result<Arrived, Findings> {
    let all = by_ordered(input);
    let open = all.iter().filter(|one| one.ordered_on <= on);
    let open: Vec<Open> = open.cloned().collect();
    let mut left: Vec<Qty> = open.iter().map(|one| one.qty).collect();
    let mut arrived = Arrived {
        recipe: letter.recipe.clone(),
        ..Arrived::default()
    };
    let mut findings = Findings::default();
    for line in in_turn(letter, input) {
        if line.is_never_ours() {
            arrived.never_ours += 1;
            continue;
        }
        let places = line.places(&open, input);
        if places.is_empty() {
            let why = match line.places(&all, input).is_empty() {
                true => line.why(&open, input),
                false => format!("{} was ordered after {on}", line.codes(input)),
            };
            arrived.strangers.push(line.stranger(why));
            continue;
        }
        let Some(pieces) = line.pieces.filter(|_| line.wrong.is_empty()) else {
            line.wrong
                .iter()
                .for_each(|wrong| findings.push(wrong.clone()));
            continue;
        };
        let before: Qty = places.iter().filter_map(|at| left.get(*at)).sum();
        let (taken, beyond) = fill(&places, &mut left, pieces);
        if beyond > 0 {
            findings.push(too_many(letter, line, input, pieces, before));
        }
        let mut parts: BTreeMap<PartId, Qty> = BTreeMap::new();
        for (place, pieces) in taken {
            let part = open.get(place).map(|one| one.part);
            part.into_iter()
                .for_each(|part| *parts.entry(part).or_default() += pieces);
        }
        let each = parts.into_iter().map(|(part, qty)| Delivery {
            part,
            supplier: Some(input.catalog.supplier(line.supplier).name.clone()),
            sku: line.sku(part, input).map(str::to_owned),
            qty,
        });
        arrived.deliveries.extend(each);
    }
    arrived.strangers.sort_by_key(|stranger| stranger.row);
    match findings.has_errors() {
        false => Ok(arrived),
        true => {
            findings.sort_by_place(std::slice::from_ref(&letter.file));
            Err(findings)
        }
    }
}

/// The lines in the order in which they are booked: what names a sku goes first, so that
/// another can't take its row.
fn in_turn<'l>(letter: &'l Letter, input: &Input) -> Vec<&'l Line> {
    let mut lines: Vec<&Line> = letter.lines.iter().collect();
    let is_any = |line: &Line| {
        line.parts()
            .iter()
            .any(|part| line.sku(*part, input).is_none())
    };
    lines.sort_by_cached_key(|line| is_any(line));
    lines
}

fn too_many(letter: &Letter, line: &Line, input: &Input, came: Qty, open: Qty) -> Diagnostic {
    let part = line.codes(input);
    let open = match open {
        0 => "nothing is outstanding".to_owned(),
        1 => "only 1 is outstanding".to_owned(),
        open => format!("only {open} are outstanding"),
    };
    let message = format!("{came} of part {part} came, but {open}");
    let help = "if the note was booked before, there is nothing to do; else correct the quantity, \
                and enter what came beyond the order into on_hand.csv";
    Diagnostic::error(&letter.file, message)
        .line(line.row)
        .help(help)
}
