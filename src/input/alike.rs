//! Names that are not equal and look as if they were: a reader takes one for the other.

use super::checks::{Project, Read};
use crate::catalog::{Catalog, Spec};
use crate::diag::{Diagnostic, Findings, Row, Several, quote};
use crate::table::looks;
use std::collections::BTreeMap;

/// What names one kind of thing, with the place of each name.
struct Names<'a> {
    /// What the names are of: `location`.
    noun: &'static str,
    /// Names that are only compared where this is equal: the interface of a key.
    of: &'a str,
    /// By what a reader sees of a name, then by the name: its first row and column.
    seen: BTreeMap<String, BTreeMap<&'a str, (&'a Row, &'static str)>>,
}

/// All names of a project and its catalog.
#[derive(Default)]
struct All<'a> {
    kinds: Vec<Names<'a>>,
    places: BTreeMap<(&'static str, &'a str), usize>,
}

impl<'a> All<'a> {
    fn add(&mut self, noun: &'static str, name: &'a str, row: &'a Row, column: &'static str) {
        self.add_of(noun, "", name, row, column);
    }

    fn add_of(
        &mut self,
        noun: &'static str,
        of: &'a str,
        name: &'a str,
        row: &'a Row,
        column: &'static str,
    ) {
        if name.is_empty() {
            return;
        }
        let place = *self.places.entry((noun, of)).or_insert_with(|| {
            let seen = BTreeMap::new();
            self.kinds.push(Names { noun, of, seen });
            self.kinds.len() - 1
        });
        if let Some(names) = self.kinds.get_mut(place) {
            let alike = names.seen.entry(looks(name)).or_default();
            alike.entry(name).or_insert((row, column));
        }
    }
}

/// Warns of names in use that differ only in case, or only in spaces, hyphens and
/// underscores. The names of a machine are its own, and are held against no other machine's.
pub fn run(all: &Read, findings: &mut Findings) {
    let mut lists: Vec<All> = all.projects.iter().map(of_project).collect();
    let mut of_all = All::default();
    for machine in &all.settings.machines {
        of_all.add("machine", &machine.name, &machine.row, "machine.name");
    }
    if let Some(draft) = all.catalog {
        // A project alone has one list with the catalog.
        let names = match lists.as_mut_slice() {
            [only] if all.settings.machines.is_empty() => only,
            _ => &mut of_all,
        };
        of_catalog(&draft.catalog, names);
    }
    lists.push(of_all);
    tell(&lists, findings);
}

fn of_project<'a>(project: &Project<'a>) -> All<'a> {
    let mut names = All::default();
    for circuit in &project.circuits.circuits {
        names.add("circuit", &circuit.name, &circuit.row, "circuit");
        for net in &circuit.conductors {
            names.add("net", net, &circuit.row, "conductors");
        }
        names.add("branch", &circuit.branch, &circuit.row, "branch");
        names.add("location", &circuit.from.location, &circuit.row, "from");
        names.add("location", &circuit.to.location, &circuit.row, "to");
    }
    names
}

/// Warns of the names of a catalog alone.
pub fn in_catalog(catalog: &Catalog, findings: &mut Findings) {
    let mut names = All::default();
    of_catalog(catalog, &mut names);
    tell(&[names], findings);
}

fn of_catalog<'a>(catalog: &'a Catalog, names: &mut All<'a>) {
    for supplier in &catalog.suppliers {
        names.add("supplier", &supplier.name, &supplier.row, "supplier");
    }
    for die in &catalog.dies {
        names.add("die", &die.name, &die.row, "die");
    }
    for part in &catalog.parts {
        let row = &part.row;
        names.add("part", &part.code, row, "part");
        match &part.spec {
            Spec::Body(body) => {
                names.add("interface", &body.interface, row, "interface");
                names.add_of("key", &body.interface, &body.key, row, "key");
                let (barrel, rear) = (body.barrel.as_deref(), body.rear.as_deref());
                names.add("barrel", barrel.unwrap_or_default(), row, "barrel");
                names.add("rear", rear.unwrap_or_default(), row, "rear");
            }
            Spec::Ferrule(ferrule) => names.add("barrel", &ferrule.barrel, row, "barrel"),
            Spec::Seal(seal) => names.add("rear", &seal.rear, row, "rear"),
            Spec::BackShell(shell) => names.add("rear", &shell.rear, row, "rear"),
        }
    }
}

fn tell(lists: &[All], findings: &mut Findings) {
    let mut several = Several::new("names that look alike");
    for names in lists.iter().flat_map(|all| &all.kinds) {
        for alike in names.seen.values().filter(|alike| alike.len() > 1) {
            let mut places: Vec<_> = alike.iter().collect();
            places.sort_by_key(|(name, (row, _))| (&row.file, row.line, **name));
            let Some(((first, (first_row, _)), others)) = places.split_first() else {
                continue;
            };
            for (name, (row, column)) in others {
                several.push(|| {
                    let noun = match names.of {
                        "" => names.noun.to_owned(),
                        of => format!("{} of interface {}", names.noun, quote(of)),
                    };
                    let message = format!(
                        "{noun} {} is not {noun} {} in {first_row}, though they look alike",
                        quote(name),
                        quote(first)
                    );
                    Diagnostic::warning(&row.file, message)
                        .line(row.line)
                        .column(*column)
                        .help(
                            "write both alike if they are one, or give one of the two another name",
                        )
                });
            }
        }
    }
    several.finish(findings);
}
