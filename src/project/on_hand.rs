//! `on_hand.csv`, which may be absent.

use super::OnHand;
use crate::catalog::Catalog;
use crate::diag::{Findings, quote};
use crate::source::Source;
use crate::table::{Codes, Col, Table, limits};

const PART: Col = Col::required(0, "part");
const QTY: Col = Col::required(1, "qty");
const NOTE: Col = Col::optional(2, "note");

const COLUMNS: &[Col] = &[PART, QTY, NOTE];

/// Reads the stock; `parts` are all known part codes.
///
/// Pushes an error where a part is unknown or stands twice.
pub fn read(source: &Source, catalog: &Catalog, parts: &Codes, findings: &mut Findings) -> OnHand {
    let Some(mut table) = Table::open(source, COLUMNS, findings) else {
        return OnHand::new();
    };
    let mut seen = Codes::new("part");
    let mut on_hand = OnHand::new();
    while let Some(mut row) = table.next(findings) {
        let code = seen.claim(&mut row, PART);
        if row.is_ragged() {
            continue;
        }
        let qty = row.count(QTY, &limits::PIECES);
        row.owned(NOTE);
        if let Some(code) = code.filter(|code| !parts.may_know(code)) {
            let help = parts
                .did_you_mean(code)
                .unwrap_or_else(|| "correct the code, or add the part to the catalog".to_owned());
            row.error(PART, format!("unknown part {}", quote(code)), help);
        }
        let id = code.and_then(|code| catalog.find(code));
        if let (Some(id), Some(qty), true) = (id, qty, row.is_sound()) {
            on_hand.insert(id, qty);
        }
    }
    // The map lists only parts of which there are pieces.
    on_hand.retain(|_, qty| *qty > 0);
    on_hand
}
