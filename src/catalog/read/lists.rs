//! Two price lists without a catalog: for comparing one with the other.

use super::price_columns as columns;
use super::prices::{self, Index, Names};
use crate::book;
use crate::catalog::{Offer, PartId, Supplier, SupplierId};
use crate::diag::{Findings, Row};
use crate::source::{Files, Source};
use crate::table::{Codes, Table};
use crate::tables::Tables;
use crate::units::{Currency, Money, Percent};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Two price lists with one numbering of parts and suppliers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceLists {
    /// Part codes of both, sorted; a [`PartId`] is a place here.
    pub parts: Vec<String>,
    /// Suppliers of both by name, each with its currency where a row gives it;
    /// a [`SupplierId`] is a place here.
    pub suppliers: Vec<(String, Option<Currency>)>,
    /// Offers of the old list, by part, then supplier.
    pub old: Vec<Offer>,
    /// Offers of the new list, by part, then supplier.
    pub new: Vec<Offer>,
}

/// Reads both lists, each a CSV file or the sheet `prices` of a workbook; none where
/// a list has an error. Parts and suppliers are taken as they stand, since there is no
/// catalog to compare them with.
pub fn price_lists(old: &Path, new: &Path, findings: &mut Findings) -> Option<PriceLists> {
    let lists = [old, new].map(|path| {
        let mut tables = Tables::new(&Files::on_disk());
        price_list(path, &mut tables, findings)
    });
    let lists = lists_of(lists, findings);
    findings.merge_repeated();
    lists
}

/// The price list of this file, or of this workbook.
pub(super) fn price_list(
    path: &Path,
    tables: &mut Tables,
    findings: &mut Findings,
) -> Option<Source> {
    if !book::is_book(tables.from(), path) {
        return tables.file(path, findings);
    }
    let mut other = Tables::open(tables.from(), path, findings);
    let source = other.required("prices", findings);
    tables.take(&other);
    source
}

fn lists_of([old, new]: [Option<Source>; 2], findings: &mut Findings) -> Option<PriceLists> {
    let (old, new) = (old?, new?);
    let mut parts: BTreeSet<String> = BTreeSet::new();
    let mut suppliers: BTreeMap<String, (Option<Currency>, Row)> = BTreeMap::new();
    for source in [&old, &new] {
        names(source, &mut parts, &mut suppliers);
    }
    let parts: Vec<String> = parts.into_iter().collect();
    let sellers: Vec<Supplier> = suppliers.iter().map(seller).collect();
    let offers = [&old, &new].map(|source| {
        let codes = (Codes::open("part"), Codes::open("supplier"));
        let ids = parts.iter().map(String::as_str).zip((0..).map(PartId));
        let names = sellers.iter().map(|s| s.name.as_str());
        let names = Names {
            parts: Index::new(ids.collect(), &codes.0),
            suppliers: Index::new(names.zip((0..).map(SupplierId)).collect(), &codes.1),
            all: &sellers,
            // No supplier is unknown here, so no cure is needed.
            add_supplier: String::new(),
        };
        prices::offers_of(source, names, findings)
    });
    let [old, new] = offers;
    (!findings.has_errors()).then(|| PriceLists {
        parts,
        suppliers: suppliers
            .into_iter()
            .map(|(name, (c, _))| (name, c))
            .collect(),
        old,
        new,
    })
}

/// The parts and suppliers of a list; what is wrong with it is told when its
/// offers are read.
fn names(
    source: &Source,
    parts: &mut BTreeSet<String>,
    suppliers: &mut BTreeMap<String, (Option<Currency>, Row)>,
) {
    let mut unheard = Findings::default();
    let mut table = Table::open(source, columns::COLUMNS, &mut unheard);
    while let Some(row) = table.as_mut().and_then(|t| t.next(&mut unheard)) {
        parts.insert(row.peek(columns::PART).to_owned());
        let name = row.peek(columns::SUPPLIER).to_owned();
        let currency = Currency::parse(row.peek(columns::CURRENCY));
        let entry = suppliers.entry(name).or_insert((None, row.place()));
        entry.0 = entry.0.take().or(currency);
    }
}

/// A supplier of whom the list tells no more than name and currency.
fn seller((name, (currency, row)): (&String, &(Option<Currency>, Row))) -> Supplier {
    Supplier {
        name: name.clone(),
        currency: currency.clone().unwrap_or(Currency(String::new())),
        shipping: Money::ZERO,
        free_over: None,
        min_order: None,
        duty_percent: Percent(rust_decimal::Decimal::ZERO),
        note: String::new(),
        row: row.clone(),
    }
}
