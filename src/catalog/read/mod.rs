//! Reads a catalog: a folder of CSV files, or a workbook.

mod backshells;
mod bodies;
mod dies;
mod draft;
mod exit;
mod ferrules;
mod lists;
mod offers;
mod part_table;
mod price_columns;
mod prices;
mod seals;
mod suppliers;

pub use draft::Draft;
pub(crate) use exit::exits;
pub use lists::{PriceLists, price_lists};

use super::{Catalog, Die, DieId, Part, Spec};
use crate::diag::{Diagnostic, Findings, Several, quote, table_beside};
use crate::source::{Files, Source};
use crate::table::{Codes, Table};
use crate::tables::Tables;
use part_table::PartTable;
use std::path::Path;

/// The tables of a catalog, in the order in which they are read and recorded:
/// `bodies.csv` in a folder, the sheet `bodies` in a workbook.
pub const TABLES: [&str; 7] = [
    "bodies",
    "ferrules",
    "seals",
    "backshells",
    "prices",
    "suppliers",
    "dies",
];

/// The most rows of parts in all tables of a catalog. A larger catalog is refused.
pub const MAX_PARTS: usize = 200_000;

/// Reads all tables of a catalog, which is a folder or a workbook. `prices` is the price
/// list to use in place of the catalog's own.
///
/// Pushes all that is wrong with any of these tables.
pub fn read(from: &Files, catalog: &Path, prices: Option<&Path>, findings: &mut Findings) -> Draft {
    let mut draft = Draft::new();
    let mut tables = Tables::open(from, catalog, findings);
    let errors = findings.errors();
    for part_table in [
        &bodies::TABLE,
        &ferrules::TABLE,
        &seals::TABLE,
        &backshells::TABLE,
    ] {
        let source = tables.required(part_table.name, findings);
        draft.parts(source.as_ref(), part_table, findings);
    }
    draft.catalog.parts.sort_by(|a, b| a.code.cmp(&b.code));
    draft.parts_sound = draft.part_codes.is_complete() && findings.errors() == errors;

    let price_list = price_list(prices, &mut tables, findings);
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
            columns,
            code,
            read,
            ..
        } = *part_table;
        let mut table = source.and_then(|s| Table::open(s, columns, findings));
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
            if let (Some(code), Some(part), true) = (claimed, part, row.is_sound()) {
                self.catalog.parts.push(Part {
                    code: code.to_owned(),
                    description: part.description,
                    spec: part.spec,
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
