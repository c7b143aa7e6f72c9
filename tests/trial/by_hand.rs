//! A random project and a random change. The change is made twice: in words to the files, and
//! by hand to the project before its files are written. Both have the same plan, and the words
//! change those cells alone.

use crate::files::{self, Style};
use crate::support::build::money;
use crate::support::{machines, random};
use couplet::catalog::{CRIMP, Kind};
use couplet::desk::{Asked, Desk};
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::plan::Plan;
use couplet::project::{Distinct, LimitRows, Per, Spares};
use couplet::trial::{Trial, quoted};
use couplet::units::{Celsius, Implied, Money, Percent};
use fastrand::Rng;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// How many projects are looked at.
const SEEDS: u64 = 240;

/// The kinds of change, each with how often it was made.
type Made = BTreeMap<&'static str, (u32, u32)>;

#[test]
fn a_trial_is_the_plan_of_a_folder_changed_by_hand() {
    let mut made = Made::new();
    let seeds = match std::env::var("COUPLET_TRIALS") {
        Ok(seeds) => seeds.parse().unwrap(),
        Err(_) => SEEDS,
    };
    let first = std::env::var("COUPLET_TRIALS_FROM").map_or(0, |seed| seed.parse().unwrap());
    for seed in first..first + seeds {
        one(seed, &mut made);
    }
    for (kind, (times, mattered)) in &made {
        println!("{kind}: {times} times, {mattered} plans differ");
    }
    if seeds >= SEEDS {
        assert_eq!(made.len(), KINDS.len(), "{made:?}");
        // A change of a small project often leaves its plan as it is.
        let silent = made.values().filter(|of| of.1 == 0).count();
        assert!(silent <= KINDS.len() / 2, "{made:?}");
    }
}

/// A project as it was read, but for where its settings stand and which files it is from.
fn data(input: &Input) -> String {
    let mut input = input.clone();
    input.files.clear();
    input.settings.rows = LimitRows::default();
    for machine in &mut input.machines {
        machine.settings.rows = LimitRows::default();
    }
    // A place that no circuit has any more can't be left out by hand.
    for machine in 0..input.machines.len().max(1) {
        let sharing = input.sharing(machine);
        let own = input
            .circuits
            .iter()
            .filter(|one| sharing.contains(&one.machine));
        let places: BTreeSet<String> = own
            .flat_map(|one| [one.from.location.clone(), one.to.location.clone()])
            .collect();
        let keying = &mut input.rules_mut(machine).keying;
        keying.ignore_at.retain(|place| places.contains(place));
    }
    // A cell of a sheet may show more digits than were written.
    for step in input
        .catalog
        .offers
        .iter_mut()
        .flat_map(|offer| &mut offer.breaks)
    {
        step.unit_price = Money(step.unit_price.0.normalize());
    }
    for supplier in &mut input.catalog.suppliers {
        supplier.shipping = Money(supplier.shipping.0.normalize());
    }
    // Lines shift with the remarks that a writer puts above a table.
    let text = format!("{input:?}").replace("/before/", "/after/");
    let mut parts = text.split("line: ");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |text, rest| {
        text + rest.trim_start_matches(|c: char| c.is_ascii_digit())
    })
}

fn one(seed: u64, made: &mut Made) {
    let mut rng = Rng::with_seed(seed ^ 0x7_1a1);
    let (mut input, _) = match seed % 2 {
        0 => random::project(seed),
        _ => random::with_facts(seed),
    };
    if seed % 4 == 3 {
        machines::deal_out(&mut rng, &mut input);
    }
    // Stock and orders on paper are for other tests; files of them would need dates.
    input.ordered.clear();
    let style = Style {
        separator: [',', ';', '\t'][rng.usize(..3)],
        mark: rng.bool(),
        ending: if rng.bool() { "\n" } else { "\r\n" },
        turned: rng.bool(),
        is_book: rng.u32(..5) == 0,
    };
    let folder = tempfile::tempdir().unwrap();
    let place = |name: &str| folder.path().join(name).join("p");
    let (before, after) = (place("before"), place("after"));
    let write = |path: &Path, input: &Input, mut rng: Rng| {
        fs::create_dir_all(path).unwrap();
        files::write(path, input, &style, &mut rng);
    };
    let ink = rng.clone();
    write(&before, &input, ink.clone());
    // Up to three changes, joined.
    let mut texts = Vec::new();
    let mut kinds = Vec::new();
    for _ in 0..[1, 1, 1, 2, 3][rng.usize(..5)] {
        if let Some((kind, text)) = change(&mut rng, &mut input) {
            texts.push(text);
            kinds.push(kind);
        }
    }
    if texts.is_empty() {
        return;
    }
    write(&after, &input, ink);
    let text = texts.join("; ");
    let trial = Trial::parse(&text).unwrap_or_else(|error| panic!("{seed}: {error}"));
    let base = Desk::open(&before, Asked::default());
    let by_hand = Desk::open(&after, Asked::default());
    let by_words = base.with(&trial);
    let wanted = by_hand.input();
    let (by_words, touched) = match (by_words, wanted) {
        (Ok(found), Some(_)) => found,
        // A project that is not sound by hand is not sound by words.
        (Err(failure), None) => return assert_eq!(failure.status(), 1, "{seed}: {text}"),
        (Err(failure), Some(_)) => panic!("{seed}: {text}: {failure}"),
        (Ok(_), None) => panic!(
            "{seed}: {text}: sound only in words: {:?}",
            by_hand.findings()
        ),
    };
    let inputs = [&by_words, &by_hand].map(|desk| data(desk.input().unwrap()));
    assert_eq!(inputs[0], inputs[1], "{seed}: {text}");
    let limit = Limit::default().with_threads(1);
    let plans = [&base, &by_words, &by_hand].map(|desk| desk.plan(None, &limit));
    let [was, words, hand] = &plans;
    match (words, hand) {
        (Ok(words), Ok(hand)) => assert_eq!(bare(words), bare(hand), "{seed}: {text}"),
        (Err(words), Err(hand)) => {
            assert_eq!(
                words.status(),
                hand.status(),
                "{seed}: {text}: {words}, {hand}"
            );
        }
        _ => panic!("{seed}: {text}: {words:?}, {hand:?}"),
    }
    let differs = match (was, words) {
        (Ok(was), Ok(words)) => bare(was) != bare(words),
        (was, words) => was.is_ok() != words.is_ok(),
    };
    for kind in &kinds {
        let of = made.entry(kind).or_default();
        of.0 += 1;
        // Of several changes it is not known which one mattered.
        of.1 += u32::from(differs && kinds.len() == 1);
    }
    // The command starts from the plan as it is, as a plan in a copy of the folder does.
    if let (Ok(was), Ok(_)) = (was, words) {
        let mut tried = base.trials(vec![trial.clone()], &limit).unwrap();
        let found = tried.tried.pop().unwrap().plan.unwrap();
        let hand = by_hand.plan(Some(was), &limit).unwrap();
        assert_eq!(bare(&found), bare(&hand), "{seed}: {text}");
    }
    // Keeping it writes those cells alone.
    let old = cells_below(folder.path().join("before").as_path());
    let mut base = base;
    assert_eq!(base.keep_trial(&trial).unwrap(), touched, "{seed}: {text}");
    let kept = Desk::open(&before, Asked::default());
    assert_eq!(
        kept.input().unwrap().files,
        by_words.input().unwrap().files,
        "{seed}"
    );
    let new = cells_below(folder.path().join("before").as_path());
    only_touched(&old, &new, &touched, &format!("{seed}: {text}"));
}

/// A plan without what tells how and from which files it was made.
fn bare(plan: &Plan) -> Plan {
    Plan {
        inputs: Vec::new(),
        doubts: 0,
        ..plan.clone()
    }
}

/// The cells of all CSV files by file, line and place; a settings file line by line.
type Cells = BTreeMap<PathBuf, Vec<Vec<String>>>;

fn cells_below(folder: &Path) -> Cells {
    let mut all = Cells::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(cells_below(&path));
            continue;
        }
        let Ok(text) = fs::read_to_string(&path) else {
            continue;
        };
        let rows = text.split_inclusive('\n').map(|line| {
            line.split_inclusive([',', ';', '\t'])
                .map(str::to_owned)
                .collect()
        });
        all.insert(path, rows.collect());
    }
    all
}

/// Files differ only where something was touched; a table keeps all its other lines.
fn only_touched(old: &Cells, new: &Cells, touched: &[couplet::trial::Touched], what: &str) {
    for (path, rows) in new {
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let of_file: Vec<_> = touched
            .iter()
            .filter(|one| one.file.contains(&name))
            .collect();
        let Some(before) = old.get(path) else {
            assert!(!of_file.is_empty(), "{what}: {name} is new");
            continue;
        };
        if of_file.is_empty() {
            assert_eq!(before, rows, "{what}: {name}");
            continue;
        }
        if !name.ends_with(".csv") {
            continue;
        }
        let lines: BTreeSet<u64> = of_file.iter().filter_map(|one| one.line).collect();
        let is_same_size = before.len() == rows.len();
        let has_new_column =
            is_same_size && before.first().map(Vec::len) != rows.first().map(Vec::len);
        if is_same_size && !has_new_column {
            for (at, (a, b)) in before.iter().zip(rows).enumerate() {
                let is_touched = lines.contains(&(at as u64 + 1));
                assert!(a == b || is_touched, "{what}: {name}, line {}", at + 1);
            }
        } else if !has_new_column {
            // Rows came or went: the others stand in their order.
            let gone = before.iter().filter(|row| !rows.contains(row)).count();
            assert!(gone <= of_file.len(), "{what}: {name}: {gone} lines gone");
        }
    }
}

/// What is changed.
const KINDS: [&str; 20] = [
    "gauge",
    "exit",
    "attach",
    "branch",
    "ip",
    "without circuit",
    "location",
    "supplier out",
    "part out",
    "shipping",
    "price",
    "prices by percent",
    "on hand",
    "count",
    "variants",
    "days",
    "ambient",
    "keying",
    "net keys",
    "spares",
];

/// Makes a random change to the project, and says it in words.
fn change(rng: &mut Rng, input: &mut Input) -> Option<(&'static str, String)> {
    let kind = KINDS[rng.usize(..KINDS.len())];
    Some((kind, made(kind, rng, input)?))
}

fn made(kind: &str, rng: &mut Rng, input: &mut Input) -> Option<String> {
    let place = rng.usize(..input.circuits.len().max(1));
    let circuit = input.circuits.get(place)?.clone();
    // What is said of one circuit is said of those that share its row.
    let sharing = input.sharing(circuit.machine);
    let own = circuit.own_name(&input.machines).to_owned();
    let machines = input.machines.clone();
    let is_it = |other: &couplet::project::Circuit| {
        sharing.contains(&other.machine) && other.own_name(&machines) == own
    };
    let name = quoted(&circuit.name);
    Some(match kind {
        "gauge" => {
            let gauge = ["16 mm2", "35 mm2", "70 mm2", "2/0 AWG"][rng.usize(..4)];
            for one in input.circuits.iter_mut().filter(|one| is_it(one)) {
                one.gauge = gauge.parse().unwrap();
            }
            format!("circuit {name} gauge {gauge}")
        }
        "exit" => {
            let (word, exit) = [
                ("straight", "straight"),
                ("any", ""),
                ("right-angle", "right-angle"),
            ][rng.usize(..3)];
            let exit = [
                couplet::catalog::Exit::Straight,
                couplet::catalog::Exit::RightAngle,
            ]
            .into_iter()
            .find(|of| of.to_string() == exit);
            let is_every = rng.bool();
            let mut is_any = false;
            for one in input
                .circuits
                .iter_mut()
                .filter(|one| is_every || is_it(one))
            {
                for end in [&mut one.from, &mut one.to] {
                    if end.attach.is_some() {
                        end.exit = exit;
                        is_any = true;
                    }
                }
            }
            if !is_any {
                return None;
            }
            match is_every {
                true => format!("every circuit exit {word}"),
                false => format!("circuit {name} exit {word}"),
            }
        }
        "attach" => {
            if circuit.from.is_built_in() {
                return None;
            }
            let attach = ["busbar", "stud", "none", CRIMP][rng.usize(..4)];
            for one in input.circuits.iter_mut().filter(|one| is_it(one)) {
                one.from.attach = Some(attach.to_owned()).filter(|word| word != "none");
            }
            format!("circuit {name} from attach {attach}")
        }
        "branch" => {
            let branch = ["", "port", "main 2"][rng.usize(..3)];
            for one in input.circuits.iter_mut().filter(|one| is_it(one)) {
                one.branch = branch.to_owned();
            }
            let word = if branch.is_empty() { "any" } else { branch };
            format!("circuit {name} branch {word}")
        }
        "ip" => {
            let ip = ["IP54", "IP67", "IP20"][rng.usize(..3)];
            for one in input.circuits.iter_mut().filter(|one| is_it(one)) {
                one.ip = Some(ip.parse().unwrap());
            }
            format!("circuit {name} ip {ip}")
        }
        "without circuit" => {
            input.circuits.retain(|one| !is_it(one));
            format!("without circuit {name}")
        }
        "location" => {
            let from = circuit.from.location.clone();
            let to = ["inverter", "new place"][rng.usize(..2)].to_owned();
            for one in &mut input.circuits {
                for end in [&mut one.from, &mut one.to] {
                    if end.location == from {
                        end.location.clone_from(&to);
                    }
                }
            }
            for machine in 0..input.machines.len().max(1) {
                let ignored = &mut input.rules_mut(machine).keying.ignore_at;
                if ignored.remove(&from) {
                    ignored.insert(to.clone());
                }
            }
            format!("location {} is {}", quoted(&from), quoted(&to))
        }
        "supplier out" => {
            let supplier = rng.usize(..input.catalog.suppliers.len());
            let name = input.catalog.suppliers[supplier].name.clone();
            let excluded = &mut input.settings.exclude_suppliers;
            match excluded.remove(&name) {
                true => format!("with supplier {name}"),
                false => {
                    excluded.insert(name.clone());
                    format!("without supplier {name}")
                }
            }
        }
        "part out" => {
            let part = rng.usize(..input.catalog.parts.len());
            let code = input.catalog.parts[part].code.clone();
            let machine = rng.usize(..input.machines.len().max(1));
            let excluded = match input.machines.is_empty() {
                true => &mut input.settings.exclude_parts,
                false => &mut input.rules_mut(machine).exclude_parts,
            };
            let word = match excluded.remove(&code) {
                true => "with",
                false => {
                    excluded.insert(code.clone());
                    "without"
                }
            };
            let own = input.rules(machine).exclude_parts.clone();
            for other in input.sharing(machine) {
                input.rules_mut(other).exclude_parts.clone_from(&own);
            }
            match input.machine_name(machine) {
                Some(of) => format!("machine {} {word} part {code}", quoted(of)),
                None => format!("{word} part {code}"),
            }
        }
        "shipping" => {
            let supplier = rng.usize(..input.catalog.suppliers.len());
            let of = &mut input.catalog.suppliers[supplier];
            let new = ["0", "12.5", "80"][rng.usize(..3)];
            of.shipping = money(new);
            format!("supplier {} shipping {new}", of.name)
        }
        "price" => {
            let offers = &mut input.catalog.offers;
            let at = rng.usize(..offers.len());
            let (part, supplier) = (offers[at].part, offers[at].supplier);
            let is_one = offers
                .iter()
                .filter(|o| (o.part, o.supplier) == (part, supplier))
                .count()
                == 1;
            if !is_one {
                return None;
            }
            let step = rng.usize(..offers[at].breaks.len());
            let new = ["0.5", "3.25", "40"][rng.usize(..3)];
            let step = &mut offers[at].breaks[step];
            step.unit_price = money(new);
            let from = step.min_qty;
            let supplier = &input.catalog.supplier(supplier).name;
            let part = &input.catalog.part(part).code;
            format!("price {part} from {supplier} at {from} {new}")
        }
        "prices by percent" => {
            let supplier = rng.usize(..input.catalog.suppliers.len());
            let percent = [-50, 10, 100][rng.usize(..3)];
            let mut is_any = false;
            for offer in &mut input.catalog.offers {
                if offer.supplier.0 as usize == supplier {
                    is_any = true;
                    for step in &mut offer.breaks {
                        let new =
                            step.unit_price.0 * Decimal::from(100 + percent) / Decimal::from(100);
                        let places = step.unit_price.0.scale().max(4);
                        step.unit_price = Money(new.round_dp(places).normalize());
                    }
                }
            }
            if !is_any {
                return None;
            }
            let name = &input.catalog.suppliers[supplier].name;
            format!("every price from {name} {percent:+} %")
        }
        "on hand" => {
            let (id, part) = input
                .catalog
                .iter()
                .nth(rng.usize(..input.catalog.parts.len()))?;
            let qty = rng.u64(1..5);
            let text = format!("on hand {} {qty}", part.code);
            input.on_hand.insert(id, qty);
            text
        }
        "count" => {
            let count = rng.u64(1..4);
            let machine = rng.usize(..input.machines.len().max(1));
            let of = input.machines.get_mut(machine)?;
            of.count = count;
            let text = format!("machine {} count {count}", quoted(&of.name));
            for one in &mut input.circuits {
                if one.machine == machine {
                    one.copies = count;
                }
            }
            text
        }
        "variants" => {
            let most = rng.u32(1..9);
            match rng.u32(..3) {
                0 => {
                    input.settings.max_variants = None;
                    "any number of variants".to_owned()
                }
                1 => {
                    input.settings.max_suppliers = Some(most % 3 + 1);
                    format!("at most {} suppliers", most % 3 + 1)
                }
                _ => {
                    input.settings.max_variants = Some(most);
                    format!("at most {most} variants")
                }
            }
        }
        "days" => {
            let days = [1, 8, 30][rng.usize(..3)];
            input.settings.max_lead_days = Some(days);
            format!("within {days} days")
        }
        "ambient" => {
            let ambient = [20, 60, 100][rng.usize(..3)];
            for machine in 0..input.machines.len().max(1) {
                input.rules_mut(machine).ambient = Some(Celsius(ambient.into()));
            }
            format!("ambient {ambient}")
        }
        "keying" => {
            let (word, distinct) =
                [("off", Distinct::Off), ("everywhere", Distinct::Everywhere)][rng.usize(..2)];
            let (protection, implied) = [
                ("strict", Implied::Strict),
                ("customary", Implied::Customary),
            ][rng.usize(..2)];
            for machine in 0..input.machines.len().max(1) {
                let rules = input.rules_mut(machine);
                rules.keying.distinct = distinct;
                rules.protection = implied;
            }
            format!("keying {word}; protection {protection}")
        }
        "net keys" => {
            let net = circuit.nets().swap_remove(0);
            let keys: &[&str] = [&["A"][..], &["B", "A"], &[]][rng.usize(..3)];
            for machine in 0..input.machines.len().max(1) {
                let has = |place: &usize| {
                    let mut own = input.circuits.iter().filter(|one| one.machine == *place);
                    own.any(|one| one.nets().contains(&net))
                };
                if !input.sharing(machine).iter().any(has) {
                    continue;
                }
                let own = &mut input.rules_mut(machine).keying.keys;
                match keys {
                    [] => drop(own.remove(&net)),
                    keys => {
                        let keys = keys.iter().map(|key| (*key).to_owned());
                        own.insert(net.clone(), keys.collect());
                    }
                }
            }
            let keys = if keys.is_empty() {
                "any".to_owned()
            } else {
                keys.join(" ")
            };
            format!("net {} keys {keys}", quoted(&net))
        }
        "spares" => {
            let kind = Kind::ALL[rng.usize(..Kind::ALL.len())];
            if rng.u32(..4) == 0 {
                input.settings.spares.remove(&kind);
                return Some(format!("spares {kind} none"));
            }
            let rule = input.settings.spares.entry(kind).or_insert(Spares {
                per: Per::Part,
                percent: Percent(Decimal::ZERO),
                minimum: 0,
            });
            rule.minimum = 3;
            rule.per = Per::Gauge;
            format!("spares {kind} at least 3 per gauge")
        }
        _ => unreachable!("{kind}"),
    })
}
