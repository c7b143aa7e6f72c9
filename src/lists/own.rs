//! Our own order file, as `couplet order --format csv` writes it, when it comes back: perhaps
//! from a spreadsheet, with other quantities. The header row tells it from a supplier's file.

use super::read::{List, Page};
use crate::catalog::{Catalog, PartId, SupplierId};
use crate::diag::{Findings, quote};
use crate::project::delivery::{part_named, supplier_named};
use crate::source::{SheetRow, Source};
use crate::table::{Col, Row, Table, limits, unguarded};
use crate::units::{Money, Qty};

const SUPPLIER: Col = Col::required(0, "supplier");
const CURRENCY: Col = Col::optional(1, "currency");
// The header row has to have it; a supplier may have no code.
const SKU: Col = Col::optional(2, "sku");
const PART: Col = Col::required(3, "part");
const KIND: Col = Col::optional(4, "kind");
const DESCRIPTION: Col = Col::optional(5, "description");
const QTY: Col = Col::required(6, "qty");
const PACKS: Col = Col::optional(7, "packs");
const UNIT_PRICE: Col = Col::required(8, "unit_price");
const LINE_TOTAL: Col = Col::optional(9, "line_total");
const NOTE: Col = Col::optional(10, "note");

const COLUMNS: &[Col] = &[
    SUPPLIER,
    CURRENCY,
    SKU,
    PART,
    KIND,
    DESCRIPTION,
    QTY,
    PACKS,
    UNIT_PRICE,
    LINE_TOTAL,
    NOTE,
];

/// The columns by which the file is known.
const TELLING: [Col; 5] = [SUPPLIER, SKU, PART, QTY, UNIT_PRICE];

/// A line of our own order file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnLine {
    /// The row of the file.
    pub row: u64,
    /// Whom the order goes to.
    pub supplier: SupplierId,
    /// What is ordered.
    pub part: PartId,
    /// The supplier's code for it; may be empty.
    pub sku: String,
    /// What it is.
    pub description: String,
    /// Pieces; the number of packs does not count.
    pub qty: Qty,
    /// Price of a piece.
    pub price: Money,
}

/// The page that is our own order; none in a supplier's file.
pub fn page(list: &List) -> Option<&Page> {
    list.pages.iter().find(|page| {
        let mut rows = page.rows.iter().filter(|row| !row.is_comment());
        rows.next().is_some_and(is_header)
    })
}

fn is_header(row: &SheetRow) -> bool {
    let has = |col: &Col| row.cells.iter().any(|cell| cell.trim() == col.name);
    TELLING.iter().all(has)
}

/// The lines of our own order.
///
/// Pushes an error for each row that is not understood.
pub fn lines(page: &Page, catalog: &Catalog, findings: &mut Findings) -> Vec<OwnLine> {
    let rows = page.rows.iter().map(bare).collect();
    let source = Source::from_sheet(page.file.clone(), String::new(), rows);
    let Some(mut table) = Table::open(&source, COLUMNS, findings) else {
        return Vec::new();
    };
    let mut lines = Vec::new();
    while let Some(mut row) = table.next(findings) {
        if !row.is_ragged() {
            let line = line(&mut row, catalog);
            lines.extend(line.filter(|_| row.is_sound()));
        }
    }
    lines
}

/// A row without the apostrophes that keep a spreadsheet from running its cells.
fn bare(row: &SheetRow) -> SheetRow {
    SheetRow {
        cells: row.cells.iter().map(unguarded).collect(),
        ..row.clone()
    }
}

fn line(row: &mut Row, catalog: &Catalog) -> Option<OwnLine> {
    let (code, name) = (row.text(PART), row.text(SUPPLIER));
    let qty = row.count(QTY, &limits::PIECES);
    let price = row.number(UNIT_PRICE, &limits::MONEY).map(Money);
    let (sku, description) = (row.owned(SKU), row.owned(DESCRIPTION));
    let currency = row.text(CURRENCY);
    let part = code.and_then(|code| part_named(row, PART, code, catalog));
    let supplier = name.and_then(|name| supplier_named(row, SUPPLIER, name, catalog));
    let bills = supplier.map(|supplier| &catalog.supplier(supplier).currency);
    if let (Some(written), Some(bills)) = (currency, bills)
        && written != bills.0
    {
        let message = format!("the prices are in {}, not in {bills}", quote(written));
        let help = "correct the currency, or the row of the supplier in suppliers.csv";
        row.error(CURRENCY, message, help);
    }
    Some(OwnLine {
        row: row.place().line,
        supplier: supplier?,
        part: part?,
        sku,
        description,
        qty: qty?,
        price: price?,
    })
}
