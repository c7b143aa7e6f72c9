//! A random project in files: every column and option turns up.

use crate::files::{self, Style};
use crate::support::build::money;
use crate::support::{dec, machines, random};
use couplet::fit::fit;
use couplet::input::Input;
use couplet::project::{Budget, Circuit, Distinct};
use couplet::units::{Implied, Money, Percent};
use fastrand::Rng;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// How many circuits the project of a seed has: 1 to 12, one in eight more than 6.
pub fn circuits(seed: u64) -> usize {
    let place = (seed % 48) as usize;
    1 + if place < 12 { place } else { place % 6 }
}

/// Writes the project of a seed, one in three a purchase; gives the names of its circuits.
pub fn write(folder: &Path, seed: u64) -> Vec<String> {
    let mut rng = Rng::with_seed(seed);
    let mut input = drawn(&mut rng, seed);
    decorate(&mut input, &mut rng);
    if seed % 3 == 1 {
        machines::deal_out(&mut rng, &mut input);
    }
    let style = Style {
        separator: [',', ';', '\t'][rng.usize(..3)],
        mark: rng.bool(),
        ending: if rng.bool() { "\n" } else { "\r\n" },
        turned: rng.bool(),
        is_book: rng.u32(..5) == 0,
    };
    files::write(folder, &input, &style, &mut rng);
    input.circuits.iter().map(|c| c.name.clone()).collect()
}

/// The first draw of which every end has a set, for six seeds in seven.
fn drawn(rng: &mut Rng, seed: u64) -> Input {
    let circuits = circuits(seed);
    for _ in 0..2_000 {
        let mut input = random::any(rng, circuits);
        // With three places alone no two circuits could be kept apart.
        for circuit in &mut input.circuits {
            for end in [&mut circuit.from, &mut circuit.to] {
                let number = rng.usize(..=circuits * 2);
                end.location = format!("{} {number}", end.location);
            }
        }
        if seed % 7 != 5 {
            loosen(&mut input, rng);
        }
        if seed % 7 == 5 || fit(&input).is_ok() {
            return input;
        }
    }
    random::any(rng, 1)
}

/// Limits that are drawn for few ends stop most projects of many.
fn loosen(input: &mut Input, rng: &mut Rng) {
    let settings = &mut input.settings;
    settings.max_variants = settings.max_variants.map(|most| most * 4);
    if rng.u32(..8) > 0 {
        settings.max_suppliers = None;
    }
    // Most faces have too few keys for several nets, so most such places are left out.
    let circuits = &input.circuits;
    for end in circuits.iter().flat_map(|c| [&c.from, &c.to]) {
        let at = &end.location;
        let here = |c: &&Circuit| [&c.from, &c.to].iter().any(|e| e.location == *at);
        let nets: BTreeSet<&String> = circuits
            .iter()
            .filter(here)
            .flat_map(|c| &c.conductors)
            .collect();
        if nets.len() > 1 && rng.u32(..5) > 0 {
            settings.keying.ignore_at.insert(at.clone());
        }
    }
    for offer in &mut input.catalog.offers {
        offer.stock = offer.stock.map(|pieces| pieces * 20);
    }
}

/// Sets what the draw leaves alone.
fn decorate(input: &mut Input, rng: &mut Rng) {
    let chance = |rng: &mut Rng, percent: u32| rng.u32(..100) < percent;
    let settings = &mut input.settings;
    settings.name = format!("Soak \"{}\" ä", rng.u32(..100));
    settings.tax_percent = Percent(dec(["0", "20", "7.7"][rng.usize(..3)]));
    if chance(rng, 30) {
        settings.protection = Implied::Customary;
    }
    if chance(rng, 10) {
        settings.keying.distinct = Distinct::Everywhere;
        settings.keying.ignore_at.clear();
    }
    if chance(rng, 60) {
        settings.budget = Some(Budget {
            limit: money(["10", "250", "9000"][rng.usize(..3)]),
            contingency_percent: Percent(dec(["0", "10"][rng.usize(..2)])),
        });
    }
    settings.worth_changing = Money(dec(["0", "5", "1000000"][rng.usize(..3)]));
    for part in &mut input.catalog.parts {
        part.description = ["", "invented", "a, \"b\"; c", "größer ≤ 5"][rng.usize(..4)].to_owned();
    }
    for offer in &mut input.catalog.offers {
        if chance(rng, 30) {
            offer.sku.clear();
        }
        for step in &mut offer.breaks {
            if chance(rng, 50) {
                let day = format!("2026-{:02}-{:02}", rng.u32(1..=12), rng.u32(1..=28));
                step.quoted = day.parse().ok();
            }
        }
    }
    for circuit in &mut input.circuits {
        if rng.u32(..100) < 5 {
            circuit.from.key = Some(["A", "B"][rng.usize(..2)].to_owned());
        }
        if rng.u32(..100) < 3 {
            circuit.to.key = Some("A".to_owned());
        }
    }
}

/// Writes `new.csv`, where some prices are others, some breaks are gone, and
/// `p/old.csv`, the list as it is.
pub fn other_prices(folder: &Path, seed: u64) {
    let mut rng = Rng::with_seed(seed ^ 0x5eed);
    let old = files::prices(&folder.join("p"));
    fs::write(folder.join("p/old.csv"), &old).unwrap();
    let mut lines = old.lines();
    let header = lines.next().unwrap();
    let place = header.split(',').position(|c| c == "unit_price").unwrap();
    let mut new = format!("{header}\n");
    for line in lines {
        let mut fields: Vec<String> = line.split(',').map(str::to_owned).collect();
        match rng.u32(..10) {
            0 => continue,
            1..=4 => {
                let price = dec(&fields[place]) * dec(["0.5", "0.9", "1.1", "3"][rng.usize(..4)]);
                fields[place] = price.round_dp(3).normalize().to_string();
            }
            _ => {}
        }
        new.push_str(&fields.join(","));
        new.push('\n');
    }
    fs::write(folder.join("new.csv"), new).unwrap();
}
