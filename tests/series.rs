//! Purchases of several machines: what they come to, and what is said of a wrong one.

mod support;

use couplet::audit::audit;
use couplet::diag::Findings;
use couplet::fit::fit;
use couplet::input::{Input, LoadOptions, load};
use couplet::limit::Limit;
use couplet::plan::{self, Plan};
use couplet::project::{Keying, Machine, circuit_name};
use couplet::study::answer::{self, Answer};
use couplet::study::budget::{Key, Term, apart, breakdown};
use couplet::units::{Money, Percent, Qty};
use rust_decimal::Decimal;
use std::fs;
use std::path::Path;
use support::brute;
use support::machines::purchase;
use support::random::{project, with_facts};

fn cheapest(input: &Input) -> Option<Answer> {
    let fit = fit(input).ok()?;
    answer::cheapest(input, &fit, &Limit::default(), None).ok()
}

/// The project as a purchase of one machine, built so many times.
fn series(input: &Input, count: Qty) -> Input {
    let mut series = input.clone();
    series.machines = vec![Machine {
        name: "boat".to_owned(),
        project: "../boat".to_owned(),
        count,
        settings: input.settings.clone(),
        row: support::build::row("purchase.toml", 5),
    }];
    for circuit in &mut series.circuits {
        circuit.name = circuit_name("boat", &circuit.name);
        circuit.copies = count;
    }
    series.settings.keying = Keying::default();
    series.settings.ambient = None;
    series
}

#[test]
fn one_machine_once_is_the_project_to_the_byte() {
    let mut planned = 0;
    let projects = (0..60).map(|seed| match seed % 2 {
        0 => project(seed).0,
        _ => with_facts(seed).0,
    });
    for (seed, input) in projects.enumerate() {
        let alone = cheapest(&input).map(|answer| answer.plan);
        let bought = cheapest(&series(&input, 1)).map(|answer| answer.plan);
        let plain = bought.map(|mut plan| {
            assert_eq!(plan.machines.len(), 1);
            plan.machines.clear();
            for end in &mut plan.ends {
                assert_eq!(end.machine, "boat");
                end.machine.clear();
            }
            plan
        });
        let text = |plan: &Plan| plan::text(plan).unwrap();
        assert_eq!(
            plain.as_ref().map(text),
            alone.as_ref().map(text),
            "seed {seed}"
        );
        planned += usize::from(alone.is_some());
    }
    assert!(planned > 45, "{planned}");
}

/// Where stock has no end and no price rises with the quantity, five together cost no more
/// than five apart; where nothing is gained by buying more at once, just as much.
#[test]
fn five_cost_no_more_than_five_times_one() {
    let (mut less, mut even) = (0, 0);
    for seed in 0..40 {
        let (mut input, _) = with_facts(seed);
        input.on_hand.clear();
        input.ordered.clear();
        for offer in &mut input.catalog.offers {
            offer.stock = None;
            let mut price = Money(Decimal::MAX);
            for step in &mut offer.breaks {
                price = step.unit_price.min(price);
                step.unit_price = price;
            }
        }
        let (Some(one), Some(five)) = (cheapest(&input), cheapest(&series(&input, 5))) else {
            continue;
        };
        let apart = one.total().times(5);
        assert!(five.total() <= apart, "seed {seed}");
        less += usize::from(five.total() < apart);

        let mut plain = input.clone();
        plain.settings.spares.clear();
        plain.settings.line_cost = Money::ZERO;
        for die in &mut plain.catalog.dies {
            die.owned = true;
        }
        for supplier in &mut plain.catalog.suppliers {
            supplier.shipping = Money::ZERO;
            supplier.free_over = None;
            supplier.min_order = None;
        }
        for offer in &mut plain.catalog.offers {
            offer.pack = 1;
            offer.breaks.truncate(1);
            offer.breaks[0].min_qty = 1;
        }
        let one = cheapest(&plain).expect("a plan").total();
        let five = cheapest(&series(&plain, 5)).expect("a plan").total();
        assert_eq!(five, one.times(5), "seed {seed}");
        even += 1;
    }
    assert!(less > 15 && even > 20, "{less} {even}");
}

/// The shares of the machines add up to the total, term by term and to the cent, and so do
/// the shares of a machine's copies.
#[test]
fn each_machine_has_its_share_to_the_cent() {
    let (mut several, mut uneven) = (0, 0);
    for seed in 0..60 {
        let (input, _) = purchase(seed);
        let Some(answer) = cheapest(&input) else {
            continue;
        };
        assert_eq!(audit(&input, &answer.plan), []);
        let parts = breakdown(&input, &answer.plan);
        let groups = &parts.groups[&Key::Machine];
        assert_eq!(groups.len(), parts.machines.len());
        for term in Term::ALL {
            let of_all: Money = groups.iter().map(|group| group.terms.of(term)).sum();
            assert_eq!(of_all, parts.terms.of(term), "seed {seed}, {term:?}");
            for (group, of) in groups.iter().zip(&parts.machines) {
                let (first, last) = (of.first.of(term), of.last.of(term));
                let cent = Money(Decimal::new(1, 2));
                let rest = (group.terms.of(term) - last.times(of.count)).cents();
                assert!(first == last || first == last + cent, "seed {seed}");
                // So many of them have a cent more.
                let more = (rest.0 * Decimal::ONE_HUNDRED).normalize();
                assert!(more < Decimal::from(of.count), "seed {seed}: {more}");
                assert_eq!(first > last, more > Decimal::ZERO, "seed {seed}");
                uneven += usize::from(first > last);
            }
        }
        several += usize::from(groups.len() > 1);
    }
    assert!(several > 20 && uneven > 20, "{several} {uneven}");
}

/// A machine bought by itself costs what enumeration says of a project of its own.
#[test]
fn machines_bought_apart_equal_enumeration() {
    let (mut found, mut impossible) = (0, 0);
    for seed in 0..60 {
        let (input, _) = purchase(seed);
        let Some(now) = cheapest(&input) else {
            continue;
        };
        let apart = apart(&input, &now, &Limit::default()).unwrap();
        for (place, alone) in apart.machines.iter().enumerate() {
            let best = brute::best(&own(&input, place));
            let total = alone.plan.as_ref().map(|plan| plan.cost.total.0);
            let want = best.as_ref().map(|best| best.total);
            assert_eq!(
                total.map(|t| t.normalize()),
                want,
                "seed {seed}, {}",
                alone.machine
            );
            assert_eq!(alone.is_impossible, want.is_none());
            found += usize::from(want.is_some());
            impossible += usize::from(want.is_none());
        }
    }
    assert!(found > 50, "{found}");
    assert!(impossible > 0, "{impossible}");
}

/// A machine of a purchase as a project, with nothing on hand or ordered.
fn own(input: &Input, machine: usize) -> Input {
    let mut own = input.clone();
    own.circuits.retain(|circuit| circuit.machine == machine);
    for circuit in &mut own.circuits {
        (circuit.machine, circuit.copies) = (0, 1);
    }
    let rules = &input.machines[machine].settings;
    own.settings.keying = rules.keying.clone();
    own.settings.ambient = rules.ambient;
    own.settings.protection = rules.protection;
    let more = rules.exclude_parts.iter().cloned();
    own.settings.exclude_parts.extend(more);
    own.machines.clear();
    own.on_hand.clear();
    own.ordered.clear();
    own.dies_ordered.clear();
    own
}

/// Dies are counted once however many machines need them.
#[test]
fn a_die_is_bought_once_for_all_machines_apart() {
    let mut shared = 0;
    for seed in 0..60 {
        let (mut input, _) = purchase(seed);
        for die in &mut input.catalog.dies {
            die.owned = false;
        }
        let Some(now) = cheapest(&input) else {
            continue;
        };
        let apart = apart(&input, &now, &Limit::default()).unwrap();
        let Some(cost) = apart.one_by_one else {
            continue;
        };
        let mut dies: Vec<_> = apart.machines.iter().flat_map(|of| &of.dies).collect();
        let all = dies.len();
        dies.sort();
        dies.dedup();
        shared += usize::from(dies.len() < all);
        let once: Money = dies.iter().map(|die| input.catalog.die(**die).cost).sum();
        assert_eq!(cost.dies, once, "seed {seed}");
        let others = apart.machines.iter().map(|of| {
            let plan = of.plan.as_ref().unwrap();
            (plan.cost.total - plan.cost.dies).times(of.count)
        });
        assert_eq!(cost.total, others.sum::<Money>() + once, "seed {seed}");
    }
    assert!(shared > 3, "{shared}");
}

const PURCHASE: &str = "\
name = \"Spring series\"
currency = \"EUR\"
catalog = \"../boat/catalog\"
tax_percent = 20
exclude_parts = []
rates = { USD = 0.92 }

[[machine]]
name = \"ferry\"
project = \"../boat\"
count = 3

[[machine]]
name = \"tender\"
project = \"../boat\"
";

/// The files of `couplet new` with a purchase beside them.
fn folder(change: impl Fn(&str) -> String) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let files = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/cli/new");
    copy(&files, &folder.path().join("boat"));
    fs::create_dir(folder.path().join("series")).unwrap();
    let text = change(PURCHASE);
    fs::write(folder.path().join("series/purchase.toml"), text).unwrap();
    folder
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &target),
            false => drop(fs::copy(entry.path(), target).unwrap()),
        }
    }
}

fn read(folder: &Path) -> (Option<Input>, Findings) {
    let loaded = load(folder, &LoadOptions::default());
    (loaded.input, loaded.findings)
}

/// The errors, without the folder that they are in.
fn told(folder: &tempfile::TempDir) -> String {
    let (_, findings) = read(&folder.path().join("series"));
    let root = format!("{}/", folder.path().display());
    let text = couplet::report::diagnostics::findings(&findings, 1000);
    let text = text.replace(&root, "");
    // Without the colours of a terminal.
    let mut plain = String::new();
    for part in text.split('\u{1b}') {
        let rest = part.split_once('m').filter(|_| part.starts_with('['));
        plain.push_str(rest.map_or(part, |(_, rest)| rest));
    }
    plain
}

#[test]
fn machines_are_read_with_their_projects() {
    let folder = folder(str::to_owned);
    let (input, findings) = read(&folder.path().join("series"));
    assert!(!findings.has_errors(), "{findings:?}");
    let input = input.unwrap();
    let machines: Vec<(&str, Qty)> = (input.machines.iter())
        .map(|of| (of.name.as_str(), of.count))
        .collect();
    assert_eq!(machines, [("ferry", 3), ("tender", 1)]);
    let own = load(&folder.path().join("boat"), &LoadOptions::default());
    let own = own.input.unwrap();
    assert_eq!(input.circuits.len(), 2 * own.circuits.len());
    for (place, circuit) in input.circuits.iter().enumerate() {
        let machine = place / own.circuits.len();
        let first = &own.circuits[place % own.circuits.len()];
        assert_eq!(circuit.machine, machine);
        assert_eq!(circuit.copies, input.machines[machine].count);
        let name = &input.machines[machine].name;
        assert_eq!(circuit.name, format!("{name}/{}", first.name));
        assert_eq!(circuit.own_name(&input.machines), first.name);
    }
    assert_eq!(input.settings.tax_percent, Percent(Decimal::from(20)));
    assert_eq!(input.rules(1).keying, own.settings.keying);
    let files: Vec<&str> = input.files.iter().map(|f| f.file.as_str()).collect();
    assert_eq!(
        files[..3],
        [
            "purchase.toml",
            "../boat/project.toml",
            "../boat/circuits.csv"
        ]
    );
    let once = files.iter().filter(|f| f.ends_with("circuits.csv")).count();
    assert_eq!(once, 1);
    // The file by itself names the purchase, as project.toml names a project.
    let named = read(&folder.path().join("series/purchase.toml"));
    assert_eq!(named.0, Some(input));
}

#[test]
fn what_is_wrong_with_a_purchase_is_said_with_its_place() {
    let cases: &[(&str, &str, &str)] = &[
        (
            "name = \"tender\"",
            "name = \"ferry\"",
            "series/purchase.toml:14, key machine.name: machine \"ferry\" stands in line 9 already",
        ),
        (
            "name = \"tender\"",
            "name = \"a/b\"",
            "series/purchase.toml:14, key machine.name: \"a/b\" has a slash in it",
        ),
        (
            "name = \"tender\"\n",
            "",
            "series/purchase.toml:13, key machine.name: the key is missing",
        ),
        (
            "count = 3",
            "count = 0",
            "series/purchase.toml:11, key machine.count: \"0\" is below",
        ),
        (
            "count = 3",
            "counts = 3",
            "series/purchase.toml:11: unknown key \"counts\"",
        ),
        (
            "tax_percent = 20",
            "ambient_c = 40",
            "series/purchase.toml:4, key ambient_c: each machine has its own",
        ),
        (
            "tax_percent = 20",
            "protection = \"strict\"",
            "series/purchase.toml:4, key protection: each machine has its own",
        ),
        (
            "tax_percent = 20",
            "keying = { distinct = \"off\" }",
            "series/purchase.toml:4, key keying: each machine has its own",
        ),
        (
            "exclude_parts = []",
            "exclude_parts = [\"nothing\"]",
            "series/purchase.toml:5, key exclude_parts: unknown part \"nothing\"",
        ),
        (
            "[[machine]]\nname = \"ferry\"\nproject = \"../boat\"",
            "[[machine]]\nname = \"ferry\"\nproject = \"../boot\"",
            "series/purchase.toml:9, key machine.project: there is no project in boot",
        ),
        (
            "project = \"../boat\"\ncount = 3",
            "project = \".\"\ncount = 3",
            "series/purchase.toml:9, key machine.project: series is a purchase",
        ),
    ];
    for (old, new, want) in cases {
        assert!(PURCHASE.contains(old), "{old}");
        let text = told(&folder(|text| text.replacen(old, new, 1)));
        assert!(text.contains(want), "{new}: wanted {want}\n{text}");
    }
    let without = told(&folder(|text| {
        text.split("[[machine]]").next().unwrap().to_owned()
    }));
    let want = "series/purchase.toml:1, key machine: the key is missing";
    assert!(without.contains(want), "{without}");
    // 1,000 machines alike are read, one more is not.
    let many = |count: &str| told(&folder(|text| text.replace("count = 3", count)));
    assert_eq!(many("count = 1000"), "");
    let above = many("count = 1001");
    assert!(above.contains("\"1001\" is above"), "{above}");
}

#[test]
fn a_folder_holds_a_project_or_a_purchase_and_not_both() {
    let folder = folder(str::to_owned);
    let both = folder.path().join("series/project.toml");
    fs::copy(folder.path().join("boat/project.toml"), both).unwrap();
    let text = told(&folder);
    assert!(
        text.contains("series/purchase.toml: series/project.toml is there as well"),
        "{text}"
    );
}

/// What the project of a machine says wrong is told at its own place, and once however
/// often the project stands in the purchase.
#[test]
fn a_machine_s_project_is_checked_once() {
    let folder = folder(str::to_owned);
    let circuits = folder.path().join("boat/circuits.csv");
    let text = fs::read_to_string(&circuits).unwrap();
    fs::write(&circuits, text.replacen("HV+ HV-", "HV+ HV+", 1)).unwrap();
    let settings = folder.path().join("boat/project.toml");
    let text = fs::read_to_string(&settings).unwrap();
    let text = text.replace("distinct = \"by-location\"", "distinct = \"nowhere\"");
    let text = text.replace("exclude_parts = []", "exclude_parts = [\"nothing\"]");
    fs::write(&settings, text).unwrap();
    let text = told(&folder);
    assert_eq!(
        text.matches("conductor \"HV+\" is named twice").count(),
        1,
        "{text}"
    );
    let unknown = "unknown word \"nowhere\"";
    assert_eq!(text.matches(unknown).count(), 1, "{text}");
    // The project may have a catalog of its own.
    let elsewhere = "warning: the catalog of the purchase has no part \"nothing\"";
    assert_eq!(text.matches(elsewhere).count(), 1, "{text}");
}

/// A currency of the purchase needs a rate of the purchase; a rate of a machine's project
/// does not count.
#[test]
fn rates_are_those_of_the_purchase() {
    let folder = folder(|text| text.replace("\"EUR\"", "\"CHF\""));
    let text = told(&folder);
    let want = "series/purchase.toml, key rates.EUR: there is no rate for EUR";
    assert!(text.contains(want), "{text}");
}

/// A plan for four boats is none for five: nothing is ordered or put on paper by it.
#[test]
fn a_plan_for_other_counts_is_refused() {
    let folder = folder(str::to_owned);
    let series = folder.path().join("series");
    let run = |args: &[&str]| {
        let mut couplet = assert_cmd::Command::cargo_bin("couplet").unwrap();
        couplet.args(args).arg(&series).output().unwrap()
    };
    assert_eq!(run(&["plan"]).status.code(), Some(0));
    fs::write(
        series.join("purchase.toml"),
        PURCHASE.replace("count = 3", "count = 4"),
    )
    .unwrap();
    let mut refused = 0;
    for args in [
        &["order", "--place"][..],
        &["order"],
        &["kit"],
        &["labels"],
        &["keys"],
        &["report", "--no-frontier", "--out", "-"],
        &["cards", "--out", "-"],
    ] {
        let output = run(args);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{args:?}: {said}");
        let want =
            "the plan is for 3 × ferry, 1 × tender, but 4 × ferry, 1 × tender is to be built";
        assert!(
            said.split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .contains(want),
            "{said}"
        );
        assert!(output.stdout.is_empty());
        refused += 1;
    }
    assert_eq!(refused, 7);
    assert!(!series.join("ordered.csv").exists());
    // Planned again, all is as it should be.
    assert_eq!(run(&["plan"]).status.code(), Some(0));
    assert_eq!(run(&["order"]).status.code(), Some(0));
}

/// What looks wrong and is legal: circuits that nobody reads, names that look alike.
#[test]
fn circuits_beside_a_purchase_and_names_that_look_alike_are_warned_of() {
    let folder = folder(|text| text.replace("\"tender\"", "\"Ferry\""));
    let circuits = folder.path().join("boat/circuits.csv");
    fs::copy(circuits, folder.path().join("series/circuits.csv")).unwrap();
    let text = told(&folder);
    let alike = "machine \"Ferry\" is not machine \"ferry\"";
    let unread = "series/circuits.csv: warning: a purchase has no circuits of its own";
    assert!(text.contains(alike) && text.contains(unread), "{text}");
    assert!(read(&folder.path().join("series")).0.is_some());
}

/// The project of a machine may be named by its file.
#[test]
fn a_machine_s_project_is_named_by_its_folder_or_its_file() {
    let by_file = folder(|text| text.replacen("\"../boat\"", "\"../boat/project.toml\"", 1));
    let input = read(&by_file.path().join("series")).0.unwrap();
    assert_eq!(input.machines.len(), 2);
    let circuits = input
        .files
        .iter()
        .filter(|f| f.file.ends_with("circuits.csv"));
    assert_eq!(circuits.count(), 1);
}
