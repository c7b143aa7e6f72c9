//! Reads a catalog folder.

mod backshells;
mod bodies;
mod dies;
mod ferrules;
mod lists;
mod offers;
mod prices;
mod seals;
mod suppliers;

pub use lists::{PriceLists, price_lists};

use super::{Catalog, Die, DieId, Exit, Part, PartId, Spec, Supplier, SupplierId};
use crate::diag::{Diagnostic, Findings, Several, quote};
use crate::source::{self, Source};
use crate::table::{Codes, Col, Row, Table};
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The files of a catalog, in the order in which they are read and recorded.
pub const FILES: [&str; 7] = [
    "bodies.csv",
    "ferrules.csv",
    "seals.csv",
    "backshells.csv",
    "prices.csv",
    "suppliers.csv",
    "dies.csv",
];

const EXITS: [(&str, Exit); 2] = [
    ("straight", Exit::Straight),
    ("right-angle", Exit::RightAngle),
];

/// The word that reads as an exit.
pub(crate) fn exits() -> &'static [(&'static str, Exit)] {
    &EXITS
}

/// What could be read of a catalog.
#[derive(Debug)]
pub struct Draft {
    /// All sound rows; sorted as a catalog is.
    pub catalog: Catalog,
    /// All part codes, those of bad rows included.
    pub part_codes: Codes,
    /// All suppliers, those of bad rows included.
    pub supplier_codes: Codes,
    /// Each file that was read: its path and its hash.
    pub files: Vec<(PathBuf, String)>,
    /// The names of all files looked for, in order.
    pub names: Vec<Arc<str>>,
    /// True if there is a `dies.csv`.
    pub has_dies: bool,
    /// True if no part was left out for an error.
    pub parts_sound: bool,
}

/// Reads all files of a catalog folder; `prices` is the price list to use in
/// place of the folder's own.
///
/// Pushes all that is wrong with any of them.
pub fn read(folder: &Path, prices: Option<&Path>, findings: &mut Findings) -> Draft {
    let paths = FILES.map(|name| match (name, prices) {
        ("prices.csv", Some(path)) => path.to_owned(),
        _ => folder.join(name),
    });
    let [bodies, ferrules, seals, backshells, prices, suppliers, dies] = &paths;
    let mut draft = Draft::new(&paths);
    let errors = findings.errors();
    draft.parts(
        bodies,
        bodies::COLUMNS,
        bodies::PART,
        bodies::part,
        findings,
    );
    draft.parts(
        ferrules,
        ferrules::COLUMNS,
        ferrules::PART,
        ferrules::part,
        findings,
    );
    draft.parts(seals, seals::COLUMNS, seals::PART, seals::part, findings);
    draft.parts(
        backshells,
        backshells::COLUMNS,
        backshells::PART,
        backshells::part,
        findings,
    );
    draft.catalog.parts.sort_by(|a, b| a.code.cmp(&b.code));
    draft.parts_sound = draft.part_codes.is_complete() && findings.errors() == errors;

    let price_list = source::read(prices, findings);
    draft.suppliers(suppliers, findings);
    if let Some(source) = &price_list {
        draft.record(prices, source);
        draft.catalog.offers = prices::read(source, &draft, findings);
    }
    // The record lists the files in their fixed order, whatever was read first.
    draft
        .files
        .sort_by_key(|(path, _)| paths.iter().position(|p| p == path));
    draft.dies(dies, findings);
    draft
}

impl Draft {
    fn new(paths: &[PathBuf]) -> Self {
        Self {
            catalog: Catalog::default(),
            part_codes: Codes::new("part"),
            supplier_codes: Codes::new("supplier"),
            files: Vec::new(),
            names: paths.iter().map(|p| source::shown(p)).collect(),
            has_dies: false,
            parts_sound: true,
        }
    }

    fn record(&mut self, path: &Path, source: &Source) {
        self.files.push((path.to_owned(), source.sha256.clone()));
    }

    fn parts(
        &mut self,
        path: &Path,
        columns: &[Col],
        code: Col,
        read: fn(&mut Row) -> Option<(String, Spec)>,
        findings: &mut Findings,
    ) {
        let source = source::read(path, findings);
        if let Some(source) = &source {
            self.record(path, source);
        }
        let mut table = source
            .as_ref()
            .and_then(|s| Table::open(s, columns, findings));
        while let Some(mut row) = table.as_mut().and_then(|t| t.next(findings)) {
            let claimed = self.part_codes.claim(&mut row, code);
            if row.is_ragged() {
                continue;
            }
            let part = read(&mut row);
            if let (Some(code), Some((description, spec)), true) = (claimed, part, row.is_sound()) {
                self.catalog.parts.push(Part {
                    code: code.to_owned(),
                    description,
                    spec,
                    row: row.place(),
                });
            }
        }
        self.part_codes.read_from(table.as_ref(), code);
    }

    fn suppliers(&mut self, path: &Path, findings: &mut Findings) {
        let source = source::read(path, findings);
        if let Some(source) = &source {
            self.record(path, source);
        }
        let codes = &mut self.supplier_codes;
        self.catalog.suppliers = suppliers::read(source.as_ref(), codes, findings);
    }

    fn dies(&mut self, path: &Path, findings: &mut Findings) {
        self.has_dies = path.symlink_metadata().is_ok();
        if !self.has_dies {
            return;
        }
        let source = source::read(path, findings);
        if let Some(source) = &source {
            self.record(path, source);
        }
        let mut codes = Codes::new("die");
        self.catalog.dies = dies::read(source.as_ref(), &mut codes, findings);
        self.match_dies(&codes, path, findings);
    }

    /// Ties each ferrule to its die.
    fn match_dies(&mut self, codes: &Codes, path: &Path, findings: &mut Findings) {
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
                    let file = source::shown(path);
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

    /// Place of each part by its code.
    fn part_ids(&self) -> HashMap<&str, PartId> {
        let codes = self.catalog.parts.iter().map(|p| p.code.as_str());
        codes.zip((0..).map(PartId)).collect()
    }

    /// Place of each supplier by its name.
    fn supplier_ids(&self) -> HashMap<&str, SupplierId> {
        let names = self
            .catalog
            .suppliers
            .iter()
            .map(|s: &Supplier| s.name.as_str());
        names.zip((0..).map(SupplierId)).collect()
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
                .help("name it in the column die of ferrules.csv, or take the row out")
        });
    }
    several.finish(findings);
}
