//! `ordered.csv`, which may be absent: what has been ordered already.

use super::Ordered;
use crate::catalog::Catalog;
use crate::diag::{Findings, quote};
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::Money;

const PART: Col = Col::required(0, "part");
const SUPPLIER: Col = Col::required(1, "supplier");
const QTY: Col = Col::required(2, "qty");
const UNIT_PRICE: Col = Col::required(3, "unit_price");
const ORDERED_ON: Col = Col::required(4, "ordered_on");
const RECEIVED: Col = Col::optional(5, "received");
const CHARGES: Col = Col::optional(6, "charges");
const SKU: Col = Col::optional(7, "sku");
const NOTE: Col = Col::optional(8, "note");

const COLUMNS: &[Col] = &[
    PART, SUPPLIER, QTY, UNIT_PRICE, ORDERED_ON, RECEIVED, CHARGES, SKU, NOTE,
];

/// All part codes and all supplier names, those of bad rows included.
#[derive(Debug, Clone, Copy)]
pub struct Names<'k> {
    /// Part codes.
    pub parts: &'k Codes,
    /// Supplier names.
    pub suppliers: &'k Codes,
}

/// Reads what is ordered, in the order of the rows. The same part may stand there
/// several times. `received` and `charges` are nothing where they are not given.
///
/// Pushes an error where a part or a supplier is unknown, or more was received
/// than ordered.
pub fn read(
    source: &Source,
    catalog: &Catalog,
    known: Names,
    findings: &mut Findings,
) -> Vec<Ordered> {
    let Some(mut table) = Table::open(source, COLUMNS, findings) else {
        return Vec::new();
    };
    let mut ordered = Vec::new();
    while let Some(mut row) = table.next(findings) {
        if !row.is_ragged() {
            let one = one(&mut row, catalog, known);
            ordered.extend(one.filter(|_| row.is_sound()));
        }
    }
    ordered
}

fn one(row: &mut Row, catalog: &Catalog, known: Names) -> Option<Ordered> {
    let part = code(
        row,
        PART,
        known.parts,
        "correct the code, or add the part to the catalog",
    );
    let supplier = code(
        row,
        SUPPLIER,
        known.suppliers,
        "keep its row in suppliers.csv as long as an order to it stands here",
    );
    let (sku, note) = (row.owned(SKU), row.owned(NOTE));
    let qty = row.count(QTY, &limits::SOME_PIECES);
    let unit_price = row.number(UNIT_PRICE, &limits::MONEY).map(Money);
    let ordered_on = row.date(ORDERED_ON);
    let received = row.count(RECEIVED, &limits::PIECES).unwrap_or(0);
    let charges = row.number(CHARGES, &limits::MONEY).unwrap_or_default();
    if let Some(qty) = qty.filter(|qty| received > *qty) {
        let message = format!("{received} pieces are received of {qty} ordered");
        let help =
            "correct one of the numbers; what came beyond the order belongs into on_hand.csv";
        row.error(RECEIVED, message, help);
    }
    Some(Ordered {
        part: catalog.find(part?)?,
        supplier: catalog.find_supplier(supplier?)?,
        sku,
        qty: qty?,
        unit_price: unit_price?,
        ordered_on: ordered_on?,
        received,
        charges: Money(charges),
        note,
        row: row.place(),
    })
}

/// The field as a code that is known, or might be in a row that was missed.
fn code<'t>(row: &mut Row<'t>, col: Col, codes: &Codes, cure: &str) -> Option<&'t str> {
    let code = row.text(col)?;
    if codes.may_know(code) {
        return Some(code);
    }
    let help = codes.did_you_mean(code).unwrap_or_else(|| cure.to_owned());
    row.error(col, format!("unknown {} {}", col.name, quote(code)), help);
    None
}

/// Reads a text that is about to become `ordered.csv`; none if anything is
/// wrong with it.
pub fn reread(text: &str, catalog: &Catalog) -> Option<Vec<Ordered>> {
    let mut findings = Findings::default();
    let file = "ordered.csv".into();
    let source = Source::from_bytes(&file, text.as_bytes().to_vec(), &mut findings)?;
    let (parts, suppliers) = (Codes::open("part"), Codes::open("supplier"));
    let known = Names {
        parts: &parts,
        suppliers: &suppliers,
    };
    let rows = read(&source, catalog, known, &mut findings);
    findings.is_empty().then_some(rows)
}
