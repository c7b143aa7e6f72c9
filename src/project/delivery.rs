//! A delivery as a table file: what came of which part.

use crate::catalog::{Catalog, PartId, SupplierId};
use crate::diag::{Findings, did_you_mean, quote};
use crate::source::Source;
use crate::table::{Col, Row, Table, limits};
use crate::units::Qty;

const PART: Col = Col::required(0, "part");
const QTY: Col = Col::required(1, "qty");
const SUPPLIER: Col = Col::optional(2, "supplier");

const SKU: Col = Col::optional(3, "sku");

const COLUMNS: &[Col] = &[PART, QTY, SUPPLIER, SKU];

/// What came of one part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// Which part.
    pub part: PartId,
    /// The supplier; none stands for any order of the part.
    pub supplier: Option<String>,
    /// The supplier's code; none takes an order under any.
    pub sku: Option<String>,
    /// Pieces.
    pub qty: Qty,
}

/// Reads a delivery; the same part may stand there several times.
///
/// Pushes an error where a part or a supplier is unknown.
pub fn read(source: &Source, catalog: &Catalog, findings: &mut Findings) -> Vec<Delivery> {
    let Some(mut table) = Table::open(source, COLUMNS, findings) else {
        return Vec::new();
    };
    let mut deliveries = Vec::new();
    while let Some(mut row) = table.next(findings) {
        if !row.is_ragged() {
            let one = one(&mut row, catalog);
            deliveries.extend(one.filter(|_| row.is_sound()));
        }
    }
    deliveries
}

fn one(row: &mut Row, catalog: &Catalog) -> Option<Delivery> {
    let code = row.text(PART);
    let qty = row.count(QTY, &limits::SOME_PIECES);
    let supplier = row.text(SUPPLIER);
    let sku = row.text(SKU).map(str::to_owned);
    let part = code.and_then(|code| part_named(row, PART, code, catalog));
    if let Some(name) = supplier {
        supplier_named(row, SUPPLIER, name, catalog);
    }
    Some(Delivery {
        part: part?,
        supplier: supplier.map(str::to_owned),
        sku,
        qty: qty?,
    })
}

/// The part of a code; pushes an error if there is none.
pub(crate) fn part_named(
    row: &mut Row,
    col: Col<'static>,
    code: &str,
    catalog: &Catalog,
) -> Option<PartId> {
    let part = catalog.find(code);
    if part.is_none() {
        let codes = catalog.parts.iter().map(|part| part.code.as_str());
        let help = did_you_mean(code, codes)
            .unwrap_or_else(|| "correct the code, or add the part to the catalog".to_owned());
        row.error(col, format!("unknown part {}", quote(code)), help);
    }
    part
}

/// The supplier of a name; pushes an error if there is none.
pub(crate) fn supplier_named(
    row: &mut Row,
    col: Col<'static>,
    name: &str,
    catalog: &Catalog,
) -> Option<SupplierId> {
    let supplier = catalog.find_supplier(name);
    if supplier.is_none() {
        let names = catalog.suppliers.iter().map(|s| s.name.as_str());
        let help = did_you_mean(name, names)
            .unwrap_or_else(|| "give it a row in suppliers.csv".to_owned());
        row.error(col, format!("unknown supplier {}", quote(name)), help);
    }
    supplier
}
