//! `prices.csv`: one row per price break.

use super::draft::Draft;
use super::offers::{self, PriceRow};
use super::price_columns::{
    COLUMNS, CURRENCY, LEAD_DAYS, MIN_QTY, NOTE, PACK, PART, QUOTED, SKU, STOCK, SUPPLIER,
    UNIT_PRICE,
};
use crate::catalog::{Break, Offer, PartId, Supplier, SupplierId};
use crate::diag::{Findings, quote, table_beside};
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::Money;
use std::collections::{HashMap, HashSet};

/// All offers, by part, supplier, sku. `min_qty` and `pack` are 1 where not
/// given; a price of nothing is allowed.
pub fn read(source: &Source, draft: &Draft, findings: &mut Findings) -> Vec<Offer> {
    let names = Names {
        parts: Index::new(draft.part_ids(), &draft.part_codes),
        suppliers: Index::new(draft.supplier_ids(), &draft.supplier_codes),
        all: &draft.catalog.suppliers,
        add_supplier: format!(
            "give it a row in {}",
            table_beside(&draft.suppliers_name, "suppliers")
        ),
    };
    offers_of(source, names, findings)
}

/// The offers of the rows whose part and supplier have these names.
pub fn offers_of(source: &Source, mut names: Names, findings: &mut Findings) -> Vec<Offer> {
    let Some(mut table) = Table::open(source, COLUMNS, findings) else {
        return Vec::new();
    };
    let mut rows = Vec::new();
    while let Some(mut row) = table.next(findings) {
        if !row.is_ragged() {
            let price = price_row(&mut row, &mut names);
            rows.extend(price.filter(|_| row.is_sound()));
        }
    }
    offers::group(rows, &source.file, findings)
}

/// What a row may name.
pub struct Names<'d> {
    pub parts: Index<'d, PartId>,
    pub suppliers: Index<'d, SupplierId>,
    /// All suppliers, by id.
    pub all: &'d [Supplier],
    /// The cure for an unknown supplier.
    pub add_supplier: String,
}

/// Codes with their ids, and the unknown codes that were reported already.
pub struct Index<'d, Id> {
    ids: HashMap<&'d str, Id>,
    codes: &'d Codes,
    reported: HashSet<Box<str>>,
}

impl<'d, Id: Copy> Index<'d, Id> {
    /// These codes with their ids; `codes` tells which other codes may be known.
    pub fn new(ids: HashMap<&'d str, Id>, codes: &'d Codes) -> Self {
        Self {
            ids,
            codes,
            reported: HashSet::new(),
        }
    }

    /// The id of a code; an unknown one is reported once.
    pub fn find(&mut self, row: &mut Row, col: Col, cure: &str) -> Option<Id> {
        let code = row.text(col)?;
        if let Some(id) = self.ids.get(code) {
            return Some(*id);
        }
        row.spoil();
        if !self.codes.may_know(code) && self.reported.insert(code.into()) {
            let near = self.codes.did_you_mean(code);
            let message = format!("unknown {} {}", col.name, quote(code));
            row.error(col, message, near.unwrap_or_else(|| cure.to_owned()));
        }
        None
    }
}

fn price_row(row: &mut Row, names: &mut Names) -> Option<PriceRow> {
    let part = names.parts.find(
        row,
        PART,
        "correct the code, or add the part to the catalog",
    );
    let supplier = names.suppliers.find(row, SUPPLIER, &names.add_supplier);
    let sku = row.owned(SKU);
    same_currency(row, supplier.and_then(|s| names.all.get(s.0 as usize)));
    let min_qty = row.count(MIN_QTY, &limits::SOME_PIECES);
    let unit_price = row.number(UNIT_PRICE, &limits::MONEY).map(Money);
    let pack = row.count(PACK, &limits::SOME_PIECES);
    let stock = row.count(STOCK, &limits::PIECES);
    let lead_days = row.small(LEAD_DAYS, &limits::DAYS);
    let (quoted, note) = (row.date(QUOTED), row.owned(NOTE));
    Some(PriceRow {
        part: part?,
        supplier: supplier?,
        sku,
        pack: pack.unwrap_or(1),
        stock,
        lead_days,
        step: Break {
            min_qty: min_qty.unwrap_or(1),
            unit_price: unit_price?,
            quoted,
            note,
            row: row.place(),
        },
    })
}

fn same_currency(row: &mut Row, supplier: Option<&Supplier>) {
    if row.peek(CURRENCY).is_empty() {
        return;
    }
    let Some(supplier) = supplier else {
        row.currency(CURRENCY);
        return;
    };
    // Most rows give the supplier's own currency, so no value has to be made of the text.
    if row.peek(CURRENCY) == supplier.currency.0 {
        return;
    }
    if let Some(currency) = row.currency(CURRENCY) {
        let message = format!(
            "the price is in {currency}, but {} bills in {}",
            quote(&supplier.name),
            supplier.currency
        );
        let help = format!(
            "write the price in {}, or correct {}",
            supplier.currency, supplier.row
        );
        row.error(CURRENCY, message, help);
    }
}
