//! Reads a catalog: a folder of CSV files, or a workbook.

mod attributes;
mod backshells;
mod bodies;
mod dies;
mod draft;
mod exit;
mod ferrules;
pub mod history;
mod lists;
mod offers;
mod part_table;
mod price_columns;
mod prices;
mod ratings;
mod seals;
mod suppliers;

pub(crate) use attributes::value;
pub use attributes::{Attributes, MAX_ATTRIBUTES};
pub use draft::Draft;
pub(crate) use exit::exits;
pub use lists::{PriceLists, price_lists};

use super::{Catalog, Die, DieId, Kind, Part, Spec, Values};
use crate::diag::{Diagnostic, Findings, Several, quote, table_beside};
use crate::source::{Files, Source};
use crate::table::{Codes, Col, Table};
use crate::tables::Tables;
use attributes::Extra;
use part_table::PartTable;
use std::path::Path;

/// The tables of a catalog, in the order in which they are read and recorded:
/// `bodies.csv` in a folder, the sheet `bodies` in a workbook.
pub const TABLES: [&str; 9] = [
    "attributes",
    "ratings",
    "bodies",
    "ferrules",
    "seals",
    "backshells",
    "prices",
    "suppliers",
    "dies",
];

/// The tables of parts.
const PART_TABLES: [&PartTable; 4] = [
    &bodies::TABLE,
    &ferrules::TABLE,
    &seals::TABLE,
    &backshells::TABLE,
];

/// The table that has the parts of a kind, and its columns in order, without attributes.
pub fn table_of(kind: Kind) -> (&'static str, Vec<&'static str>) {
    let of_kind = |table: &&&PartTable| table.kinds.contains(&kind);
    let table = PART_TABLES.iter().find(of_kind);
    table.map_or(("", Vec::new()), |table| {
        (
            table.name,
            table.columns.iter().map(|column| column.name).collect(),
        )
    })
}

/// The most rows of parts in all tables of a catalog. A larger catalog is refused.
pub const MAX_PARTS: usize = 200_000;

/// What to read in place of what a catalog has, and what an attribute can't be called.
#[derive(Debug, Clone, Copy, Default)]
pub struct Asked<'a> {
    /// The price list to use in place of the catalog's own.
    pub prices: Option<&'a Path>,
    /// Columns that tables outside the catalog have, which attributes add theirs to.
    pub taken: &'a [&'a str],
}

/// Reads all tables of a catalog, a folder or a workbook.
///
/// Pushes all that is wrong with any of them.
pub fn read(from: &Files, catalog: &Path, asked: Asked, findings: &mut Findings) -> Draft {
    let mut draft = Draft::new();
    let mut tables = Tables::open(from, catalog, findings);
    let errors = findings.errors();
    let source = tables.optional("attributes", findings);
    // In a record the price list stands right after the tables of parts.
    let rated = tables.optional("ratings", findings);
    let own = PART_TABLES.iter().flat_map(|t| t.columns).map(|c| c.name);
    let taken: Vec<&str> = own.chain(asked.taken.iter().copied()).collect();
    draft.attributes = attributes::read(source.as_ref(), &taken, findings);
    for part_table in PART_TABLES {
        let source = tables.required(part_table.name, findings);
        draft.parts(source.as_ref(), part_table, findings);
    }
    draft.catalog.parts.sort_by(|a, b| a.code.cmp(&b.code));
    if let Some(source) = rated {
        let parts = &mut draft.catalog.parts;
        ratings::read(&source, parts, &draft.part_codes, findings);
    }
    draft.catalog.attributes = draft.attributes.list.clone();
    draft.parts_sound = draft.part_codes.is_complete() && findings.errors() == errors;

    let price_list = price_list(asked.prices, &mut tables, findings);
    draft.prices_name = price_list.as_ref().map(|source| source.file.clone());
    draft.suppliers_name = tables.name("suppliers");
    let source = tables.required("suppliers", findings);
    draft.catalog.suppliers = suppliers::read(source.as_ref(), &mut draft.supplier_codes, findings);
    if let Some(source) = &price_list {
        draft.catalog.offers = prices::read(source, &draft, findings);
    }
    draft.dies(&mut tables, findings);
    draft.take(&tables);
    draft
}

/// The catalog's price list, or the file or workbook in its place.
fn price_list(
    instead: Option<&Path>,
    tables: &mut Tables,
    findings: &mut Findings,
) -> Option<Source> {
    match instead {
        Some(path) => lists::price_list(path, tables, findings),
        None => tables.required("prices", findings),
    }
}

impl Draft {
    fn parts(&mut self, source: Option<&Source>, part_table: &PartTable, findings: &mut Findings) {
        let PartTable {
            kinds,
            columns,
            code,
            note,
            read,
            ..
        } = *part_table;
        let extra = Extra::new(&self.attributes, kinds, columns.len());
        let own = columns.iter().copied();
        let all: Vec<Col> = own.chain(extra.columns.iter().map(|c| c.0)).collect();
        let mut table = source.and_then(|s| Table::open(s, &all, findings));
        if let Some(table) = &mut table {
            let what = format!("the catalog has more than {MAX_PARTS} parts");
            table.at_most(MAX_PARTS.saturating_sub(self.part_rows), what);
        }
        while let Some(mut row) = table.as_mut().and_then(|t| t.next(findings)) {
            self.part_rows += 1;
            let claimed = self.part_codes.claim(&mut row, code);
            if row.is_ragged() {
                continue;
            }
            let part = read(&mut row);
            let (values, note) = (extra.values(&mut row), row.owned(note));
            if let (Some(code), Some(part), true) = (claimed, part, row.is_sound()) {
                self.catalog.parts.push(Part {
                    code: code.to_owned(),
                    description: part.description,
                    values: asked_of(values, &self.attributes, part.spec.kind()),
                    spec: part.spec,
                    note,
                    row: row.place(),
                });
            }
        }
        self.part_codes.read_from(table.as_ref(), code);
    }

    fn dies(&mut self, tables: &mut Tables, findings: &mut Findings) {
        let name = tables.name("dies");
        self.has_dies = tables.has("dies");
        let source = tables.optional("dies", findings);
        if !self.has_dies {
            return;
        }
        let mut codes = Codes::new("die");
        self.catalog.dies = dies::read(source.as_ref(), &mut codes, findings);
        self.match_dies(&codes, &name, findings);
        self.die_codes = codes;
    }

    /// Ties each ferrule to its die.
    fn match_dies(&mut self, codes: &Codes, file: &str, findings: &mut Findings) {
        let Catalog { parts, dies, .. } = &mut self.catalog;
        let mut named = vec![false; dies.len()];
        for part in parts {
            let Spec::Ferrule(ferrule) = &mut part.spec else {
                continue;
            };
            let Some(name) = &ferrule.die_name else {
                continue;
            };
            match dies.binary_search_by(|die| die.name.as_str().cmp(name)) {
                Ok(i) => {
                    ferrule.die = u32::try_from(i).ok().map(DieId);
                    if let Some(seen) = named.get_mut(i) {
                        *seen = true;
                    }
                }
                Err(_) if codes.may_know(name) => {}
                Err(_) => {
                    let help = codes
                        .did_you_mean(name)
                        .unwrap_or_else(|| format!("give it a row in {file}"));
                    findings.push(
                        Diagnostic::error(&part.row.file, format!("unknown die {}", quote(name)))
                            .line(part.row.line)
                            .column(ferrules::DIE.name)
                            .help(help),
                    );
                }
            }
        }
        if self.parts_sound {
            unnamed_dies(dies, &named, findings);
        }
    }
}

/// The values without those of attributes that are not asked of the kind: a table may
/// have parts of two kinds.
fn asked_of(values: Values, attributes: &Attributes, kind: Kind) -> Values {
    let values = values.into_iter().zip(&attributes.list);
    values
        .map(|(value, attribute)| value.filter(|_| attribute.on.contains(&kind)))
        .collect()
}

fn unnamed_dies(dies: &[Die], named: &[bool], findings: &mut Findings) {
    let mut several = Several::new("dies that no ferrule names");
    for (die, _) in dies.iter().zip(named).filter(|(_, named)| !**named) {
        several.push(|| {
            let message = format!("no ferrule names die {}", quote(&die.name));
            Diagnostic::warning(&die.row.file, message)
                .line(die.row.line)
                .column(dies::DIE.name)
                .help(format!(
                    "name it in the column die of {}, or take the row out",
                    table_beside(&die.row.file, "ferrules")
                ))
        });
    }
    several.finish(findings);
}
