//! What is legal but looks wrong.

use super::alike;
use super::checks::Read;
use crate::catalog::read::Draft;
use crate::catalog::{Catalog, Fitting, Half, Kind, Part, Spec};
use crate::diag::{Diagnostic, Findings, Row, Several, quote, table_beside};
use crate::project::Circuit;
use crate::project::circuits::COLOUR;
use jiff::ToSpan;
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::HashSet;

/// Up to this many volts DC, a circuit is of class A of ISO 6469-3:2021, above of
/// class B. UN R100 calls more than this many volts DC high voltage.
const CLASS_B_ABOVE: i64 = 60;

/// The colour of high-voltage cables: UN R100, 5.1.1.5; ISO 6469-3:2021, 5.2.2.
const ORANGE: &str = "orange";

/// All warnings on a project and its catalog.
pub fn run(all: &Read, as_of: Option<Date>, findings: &mut Findings) {
    colours(all, findings);
    alike::run(all, findings);
    if let Some(draft) = all.catalog {
        lead_times(all, &draft.catalog, findings);
        let circuits: Vec<&Circuit> = all.circuits().collect();
        let is_whole = all.projects.iter().all(|of| of.circuits.is_whole);
        in_catalog(draft, is_whole.then_some(&circuits), as_of, findings);
        if !findings.has_errors() {
            unpriced(draft, all, findings);
        }
    }
}

/// The warnings that need no project.
pub fn of_catalog(draft: &Draft, as_of: Option<Date>, findings: &mut Findings) {
    alike::in_catalog(&draft.catalog, findings);
    in_catalog(draft, Some(&[]), as_of, findings);
}

/// `circuits` may have receptacles built in, which the catalog does not have; none where a
/// circuit was left out.
fn in_catalog(
    draft: &Draft,
    circuits: Option<&[&Circuit]>,
    as_of: Option<Date>,
    findings: &mut Findings,
) {
    old_quotes(&draft.catalog, as_of, findings);
    dies_without_costs(draft, findings);
    // Where a row was left out, a part that seems useless may be what the row needs.
    if let Some(circuits) = circuits.filter(|_| draft.parts_sound) {
        useless_parts(&draft.catalog, circuits, findings);
    }
    if !findings.has_errors() {
        idle_suppliers(&draft.catalog, findings);
    }
}

fn at(row: &Row, message: String) -> Diagnostic {
    Diagnostic::warning(&row.file, message).line(row.line)
}

fn colours(all: &Read, findings: &mut Findings) {
    let mut several = Several::new("circuits above 60 V DC that do not ask for orange");
    for circuit in all.circuits() {
        let orange = circuit.colour.as_deref() == Some(ORANGE);
        if orange || circuit.voltage.0 <= Decimal::from(CLASS_B_ABOVE) {
            continue;
        }
        several.push(|| {
            let message = format!(
                "circuit {} carries {} but does not ask for orange",
                quote(&circuit.name),
                circuit.voltage
            );
            at(&circuit.row, message)
                .column(COLOUR.name)
                .help("write orange as its colour")
                .note(
                    "above 60 V DC is class B of ISO 6469-3:2021; UN R100 5.1.1.5 asks for an \
                     orange covering on cables outside enclosures",
                )
        });
    }
    several.finish(findings);
}

fn lead_times(all: &Read, catalog: &Catalog, findings: &mut Findings) {
    let Some(line) = all.settings.max_lead_line else {
        return;
    };
    let unknown = catalog.offers.iter().filter(|o| o.lead_days.is_none());
    let count = unknown.count();
    if count > 0 {
        let message = format!(
            "lead_days is missing in {count} of {} offers",
            catalog.offers.len()
        );
        findings.push(
            Diagnostic::warning(&all.settings_file, message)
                .line(line)
                .column("max_lead_days")
                .help("ask the suppliers, and fill in lead_days in the price list"),
        );
    }
}

fn old_quotes(catalog: &Catalog, as_of: Option<Date>, findings: &mut Findings) {
    let Some(as_of) = as_of else { return };
    let Ok(oldest) = as_of.checked_sub(1.year()) else {
        return;
    };
    let mut several = Several::new("quotes older than a year");
    let mut old: Vec<(&Row, Date)> = catalog
        .offers
        .iter()
        .flat_map(|offer| &offer.breaks)
        .filter_map(|b| Some((&b.row, b.quoted.filter(|q| *q < oldest)?)))
        .collect();
    old.sort_by_key(|(row, _)| row.line);
    for (row, quoted) in old {
        several.push(|| {
            let message = format!("the quote of {quoted} is more than a year old at {as_of}");
            at(row, message)
                .column("quoted")
                .help("ask for a new price")
        });
    }
    several.finish(findings);
}

fn dies_without_costs(draft: &Draft, findings: &mut Findings) {
    if draft.has_dies {
        return;
    }
    let named =
        draft.catalog.parts.iter().find(
            |part| matches!(&part.spec, Spec::Ferrule(ferrule) if ferrule.die_name.is_some()),
        );
    if let Some(part) = named {
        let dies = table_beside(&part.row.file, "dies");
        let there = dies.trim_start_matches("the ");
        let message = format!("ferrules name dies, but there is no {there}: dies cost nothing");
        findings.push(
            at(&part.row, message)
                .column("die")
                .help(format!("write {dies} with die,description,cost,owned")),
        );
    }
}

/// What the bodies of a catalog can be put together with.
struct Uses<'c> {
    halves: HashSet<(Half, &'c str, &'c str)>,
    slots: HashSet<(Fitting, &'c str)>,
}

impl<'c> Uses<'c> {
    fn of(catalog: &'c Catalog, circuits: &[&'c Circuit]) -> Self {
        let mut uses = Uses {
            halves: HashSet::new(),
            slots: HashSet::new(),
        };
        for body in catalog.parts.iter().filter_map(Part::body) {
            uses.halves.insert((body.half, &body.interface, &body.key));
            for fitting in [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell] {
                uses.slots
                    .extend(body.needs(fitting).map(|code| (fitting, code)));
            }
        }
        let ends = circuits
            .iter()
            .flat_map(|circuit| [&circuit.from, &circuit.to]);
        for end in ends.filter(|end| end.is_built_in()) {
            let face = end.interface.as_deref().unwrap_or_default();
            let key = end.key.as_deref().unwrap_or_default();
            uses.halves.insert((Half::Receptacle, face, key));
        }
        uses
    }

    /// The column and the reason why nothing can use a part.
    fn refuse(&self, part: &Part) -> Option<(&'static str, String)> {
        let slot = |fitting, column, code: &str| {
            let unused = !self.slots.contains(&(fitting, code));
            unused.then(|| {
                (
                    column,
                    format!("no body needs a {fitting} for {column} {}", quote(code)),
                )
            })
        };
        match &part.spec {
            Spec::Ferrule(ferrule) => slot(Fitting::Ferrule, "barrel", &ferrule.barrel),
            Spec::Seal(seal) => slot(Fitting::Seal, "rear", &seal.rear),
            Spec::BackShell(shell) => slot(Fitting::BackShell, "rear", &shell.rear),
            Spec::Body(body) => {
                let other = match body.half {
                    Half::Plug => Half::Receptacle,
                    Half::Receptacle => Half::Plug,
                };
                let mated = self.halves.contains(&(other, &body.interface, &body.key));
                let identity = match body.key.as_str() {
                    "" => format!("interface {}", quote(&body.interface)),
                    key => format!("interface {}, key {}", quote(&body.interface), quote(key)),
                };
                (!mated).then(|| ("interface", format!("there is no {other} with {identity}")))
            }
        }
    }
}

fn useless_parts(catalog: &Catalog, circuits: &[&Circuit], findings: &mut Findings) {
    let uses = Uses::of(catalog, circuits);
    for kind in Kind::ALL {
        let mut several = Several::new(match kind {
            Kind::Plug => "plugs that nothing can use",
            Kind::Receptacle => "receptacles that nothing can use",
            Kind::Ferrule => "ferrules that nothing can use",
            Kind::Seal => "seals that nothing can use",
            Kind::BackShell => "back shells that nothing can use",
        });
        for part in catalog.parts.iter().filter(|p| p.kind() == kind) {
            if let Some((column, why)) = uses.refuse(part) {
                several.push(|| {
                    let message = format!("nothing can use {}: {why}", quote(&part.code));
                    at(&part.row, message)
                        .column(column)
                        .help("compare the codes, or take the part out")
                });
            }
        }
        several.finish(findings);
    }
}

fn idle_suppliers(catalog: &Catalog, findings: &mut Findings) {
    let selling: HashSet<_> = catalog.offers.iter().map(|o| o.supplier).collect();
    let mut several = Several::new("suppliers that no price names");
    for supplier in &catalog.suppliers {
        let id = catalog.find_supplier(&supplier.name);
        if id.is_none_or(|id| !selling.contains(&id)) {
            several.push(|| {
                let message = format!("no price names supplier {}", quote(&supplier.name));
                at(&supplier.row, message)
                    .column("supplier")
                    .help("add its prices, or take the row out")
            });
        }
    }
    several.finish(findings);
}

/// One warning for all such parts: a catalog may well list what can't be bought now.
fn unpriced(draft: &Draft, all: &Read, findings: &mut Findings) {
    let catalog = &draft.catalog;
    let count = catalog
        .iter()
        .filter(|(id, _)| catalog.offers_of(*id).next().is_none())
        .filter(|(id, _)| !all.on_hand.contains_key(id))
        .filter(|(id, _)| all.ordered.iter().all(|row| row.part != *id))
        .count();
    if let (Some(file), true) = (&draft.prices_name, count > 0) {
        let message = format!(
            "there is neither a price nor stock on hand for {count} of {} parts",
            catalog.parts.len()
        );
        findings.push(
            Diagnostic::warning(file, message)
                .help("do nothing, unless a circuit should use such a part"),
        );
    }
}
