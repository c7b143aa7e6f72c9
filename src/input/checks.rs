//! Checks that the files of a project go together.

use crate::catalog::{Catalog, Part, Supplier, read};
use crate::diag::{Diagnostic, Findings, Several, did_you_mean, quote, table_beside};
use crate::project::{Circuit, OnHand, Ordered, circuits, settings};
use crate::table::{Codes, limits};
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use std::sync::Arc;

/// All that was read.
pub struct Read<'r> {
    /// The settings file that is about money and buying.
    pub settings_file: Arc<str>,
    pub settings: &'r settings::Draft,
    /// The circuits, each with the settings that say what is asked of parts: the project,
    /// or the project of each machine, each project once.
    pub projects: Vec<Project<'r>>,
    pub on_hand: &'r OnHand,
    pub ordered: &'r [Ordered],
    pub catalog: Option<&'r read::Draft>,
}

/// Circuits with the settings that say what is asked of their parts.
pub struct Project<'r> {
    pub file: Arc<str>,
    pub settings: &'r settings::Draft,
    pub circuits: &'r circuits::Draft,
}

impl<'r> Read<'r> {
    /// The circuits of all projects.
    pub fn circuits(&self) -> impl Iterator<Item = &'r Circuit> {
        (self.projects.iter()).flat_map(|project| &project.circuits.circuits)
    }
}

/// Pushes an error where the settings name what is not there, or lack a rate.
pub fn run(all: &Read, findings: &mut Findings) {
    if let Some(catalog) = all.catalog {
        let (parts, suppliers) = (&catalog.part_codes, &catalog.supplier_codes);
        let own = all.projects.iter().map(|of| (&of.file, of.settings));
        let main = (&all.settings_file, all.settings);
        let mut lists: Vec<(&Arc<str>, &settings::Draft)> = own.collect();
        if lists.iter().all(|(file, _)| *file != main.0) {
            lists.push(main);
        }
        for (file, settings) in lists {
            let list = ("exclude_parts", settings.exclude_parts.as_slice());
            if *file == all.settings_file {
                known(file, list, parts, findings);
            } else {
                known_elsewhere(file, &settings.exclude_parts, parts, findings);
            }
        }
        let list = (
            "exclude_suppliers",
            all.settings.exclude_suppliers.as_slice(),
        );
        known(main.0, list, suppliers, findings);
        rates(all, catalog, findings);
        lumps(all, &catalog.catalog, findings);
        built_in_keys(all, catalog, findings);
    }
    for project in &all.projects {
        ignored_locations(project, findings);
        net_keys(project, findings);
    }
}

/// A machine's project may have a catalog of its own, whose parts the purchase does not have.
fn known_elsewhere(
    file: &Arc<str>,
    words: &[(String, u64)],
    codes: &Codes,
    findings: &mut Findings,
) {
    let mut several = Several::new("excluded parts that the purchase does not have");
    for (word, line) in words.iter().filter(|(word, _)| !codes.may_know(word)) {
        several.push(|| {
            let message = format!("the catalog of the purchase has no part {}", quote(word));
            Diagnostic::warning(file, message)
                .line(*line)
                .column("exclude_parts")
                .help("do nothing, if the project has it in a catalog of its own")
        });
    }
    several.finish(findings);
}

fn known(
    file: &Arc<str>,
    (key, words): (&str, &[(String, u64)]),
    codes: &Codes,
    findings: &mut Findings,
) {
    let noun = key.trim_start_matches("exclude_").trim_end_matches('s');
    for (word, line) in words.iter().filter(|(word, _)| !codes.may_know(word)) {
        let help = codes
            .did_you_mean(word)
            .unwrap_or_else(|| "correct it, or take it out of the list".to_owned());
        findings.push(
            Diagnostic::error(file, format!("unknown {noun} {}", quote(word)))
                .line(*line)
                .column(key)
                .help(help),
        );
    }
}

/// Each currency in which something is offered or was ordered needs a rate.
fn rates(all: &Read, read: &read::Draft, findings: &mut Findings) {
    let (Some(own), true) = (&all.settings.currency, all.settings.readable) else {
        return;
    };
    let catalog = &read.catalog;
    let offering = catalog.offers.iter().map(|o| o.supplier);
    let ordered = all.ordered.iter().map(|o| o.supplier);
    let selling: BTreeSet<_> = offering.chain(ordered).collect();
    let mut missing: Vec<&Supplier> = selling
        .into_iter()
        .map(|id| catalog.supplier(id))
        .filter(|s| s.currency != *own && !all.settings.rates.contains_key(&s.currency.0))
        .collect();
    missing.sort_by(|a, b| (&a.currency, &a.name).cmp(&(&b.currency, &b.name)));
    missing.dedup_by(|b, a| a.currency == b.currency);
    for supplier in missing {
        let currency = &supplier.currency;
        let message = format!("there is no rate for {currency}");
        findings.push(
            Diagnostic::error(&all.settings_file, message)
                .column(format!("rates.{currency}"))
                .help(format!(
                    "add what one {currency} is in {own}: {currency} = 1.23 under [rates]"
                ))
                .note(format!(
                    "{} bills in {currency} ({})",
                    quote(&supplier.name),
                    supplier.row
                )),
        );
    }
}

/// Pushes an error where a pack or a shipment comes to more than the solver can count with.
fn lumps(all: &Read, catalog: &Catalog, findings: &mut Findings) {
    let most = Decimal::from(limits::LUMP);
    let rate = |supplier: &Supplier| {
        let rate = all.settings.rates.get(&supplier.currency.0).copied();
        rate.flatten()
            .map_or(Decimal::ONE, |rate| rate.max(Decimal::ONE))
    };
    let mut several = Several::new("packs that cost too much");
    for offer in &catalog.offers {
        let rate = rate(catalog.supplier(offer.supplier));
        for step in &offer.breaks {
            let pack = step.unit_price.times(offer.pack).0;
            if pack > most / rate {
                several.push(|| {
                    let message = format!(
                        "a pack of {} at {} comes to more than {most}",
                        offer.pack, step.unit_price
                    );
                    Diagnostic::error(&step.row.file, message)
                        .line(step.row.line)
                        .column("unit_price")
                        .help("correct the price or the pack, or the rate of the currency")
                });
            }
        }
    }
    several.finish(findings);
    for supplier in &catalog.suppliers {
        if supplier.shipping.0 > most / rate(supplier) {
            let message = format!(
                "{} for shipping comes to more than {most}",
                supplier.shipping
            );
            findings.push(
                Diagnostic::error(&supplier.row.file, message)
                    .line(supplier.row.line)
                    .column("shipping")
                    .help("correct it, or the rate of the currency"),
            );
        }
    }
}

/// A built-in receptacle has a key where its interface has keys.
fn built_in_keys(all: &Read, read: &read::Draft, findings: &mut Findings) {
    let bodies = read.catalog.parts.iter().filter_map(Part::body);
    let keyed = bodies.filter(|body| !body.key.is_empty());
    let keyed: BTreeSet<&str> = keyed.map(|body| body.interface.as_str()).collect();
    for circuit in all.circuits() {
        let ends = [("from_key", &circuit.from), ("to_key", &circuit.to)];
        for (column, end) in ends.into_iter().filter(|(_, end)| end.is_built_in()) {
            let face = end.interface.as_deref().filter(|face| keyed.contains(face));
            let Some(face) = face.filter(|_| end.key.is_none()) else {
                continue;
            };
            let message = format!(
                "interface {} has keys, so its built-in receptacle has one",
                quote(face)
            );
            findings.push(
                Diagnostic::error(&circuit.row.file, message)
                    .line(circuit.row.line)
                    .column(column)
                    .help("write the key that the device has"),
            );
        }
    }
}

/// A list of keys is for a net that some circuit has.
fn net_keys(all: &Project, findings: &mut Findings) {
    if !all.circuits.is_whole {
        return;
    }
    let circuits = all.circuits.circuits.iter();
    let nets: BTreeSet<String> = circuits.flat_map(Circuit::nets).collect();
    let mut several = Several::new("nets that no circuit has");
    for (net, line) in (all.settings.net_keys.iter()).filter(|(net, _)| !nets.contains(net)) {
        several.push(|| {
            let help = did_you_mean(net, nets.iter().map(String::as_str)).unwrap_or_else(|| {
                "write the whole net of an end, such as \"HV+\" or \"HV+ HV-\"".to_owned()
            });
            Diagnostic::warning(&all.file, format!("no circuit has the net {}", quote(net)))
                .line(*line)
                .column(format!("keying.keys.{}", quote(net)))
                .help(help)
        });
    }
    several.finish(findings);
}

fn ignored_locations(all: &Project, findings: &mut Findings) {
    let locations = &all.circuits.locations;
    if !all.circuits.complete {
        return;
    }
    let first = all.circuits.circuits.first();
    let table = table_beside(first.map_or("", |c| &c.row.file), "circuits");
    let mut several = Several::new("locations that no circuit has");
    let ignored = all.settings.ignore_at.iter();
    for (word, line) in ignored.filter(|(word, _)| !locations.contains(word)) {
        several.push(|| {
            let help = did_you_mean(word, locations.iter().map(String::as_str))
                .unwrap_or_else(|| format!("write a location of {table}, or take it out"));
            let message = format!("no circuit has the location {}", quote(word));
            Diagnostic::warning(&all.file, message)
                .line(*line)
                .column("keying.ignore_at")
                .help(help)
        });
    }
    several.finish(findings);
}
