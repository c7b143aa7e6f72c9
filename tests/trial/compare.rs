//! Plans side by side: what is told against what the test itself works out from the records,
//! and the commands as a user runs them.

use crate::support::random;
use assert_cmd::Command;
use couplet::fit::fit;
use couplet::limit::Limit;
use couplet::plan::{EndRecord, PartRecord, Plan};
use couplet::study::answer::cheapest;
use couplet::study::changes::Kind;
use couplet::study::compare::{Stands, compare, difference};
use couplet::units::{Currency, Money};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::Output;

/// The plan of a random project, and the same with fewer suppliers, dearer parts or fewer
/// circuits.
fn two(seed: u64) -> Option<(couplet::input::Input, Plan, Plan)> {
    let (input, best) = random::project(seed);
    best?;
    let mut other = input.clone();
    match seed % 3 {
        0 => {
            let name = other.catalog.suppliers[0].name.clone();
            other.settings.exclude_suppliers.insert(name);
        }
        1 => {
            for offer in other.catalog.offers.iter_mut().step_by(2) {
                for step in &mut offer.breaks {
                    step.unit_price = Money(step.unit_price.0 * Decimal::TWO);
                }
            }
        }
        _ => drop(other.circuits.pop()),
    }
    let limit = Limit::default().with_threads(1);
    let plan = |input: &couplet::input::Input| {
        let fit = fit(input).ok()?;
        cheapest(input, &fit, &limit, None)
            .ok()
            .map(|answer| answer.plan)
    };
    let both = (plan(&input)?, plan(&other)?);
    Some((input, both.0, both.1))
}

#[test]
fn what_differs_is_what_the_records_say() {
    let mut differed = BTreeSet::new();
    for seed in 0..120 {
        let Some((input, before, after)) = two(seed) else {
            continue;
        };
        let rate = |currency: &Currency| input.settings.rate(currency);
        let found = difference(&before, &after, rate);

        // The terms' differences come to that of the total.
        let more = |name: &str| {
            let term = found.terms.iter().find(|term| term.term == name).unwrap();
            (term.after - term.before).0
        };
        let terms = ["goods", "duty", "shipping", "dies", "handling"];
        assert_eq!(
            terms.iter().map(|name| more(name)).sum::<Decimal>(),
            more("total"),
            "{seed}"
        );
        assert_eq!(more("total"), after.cost.total.0 - before.cost.total.0);
        assert_eq!(more("goods"), found.goods.unwrap().0, "{seed}");
        let parts: Decimal = found
            .parts
            .iter()
            .map(|part| part.difference.unwrap().0)
            .sum();
        assert_eq!(parts, more("goods"), "{seed}");

        // Parts, one by one.
        let own = |plan: &Plan| -> BTreeMap<String, [u64; 6]> {
            let counts = |part: &PartRecord| {
                let (on_hand, ordered) = (part.on_hand_used, part.ordered_used);
                [
                    part.fitted,
                    part.spare,
                    on_hand,
                    ordered,
                    part.bought,
                    part.surplus,
                ]
            };
            let parts = plan.parts.iter();
            parts
                .map(|part| (part.part.clone(), counts(part)))
                .collect()
        };
        let (old, new) = (own(&before), own(&after));
        let told: BTreeSet<&String> = found.parts.iter().map(|part| &part.part).collect();
        for code in old.keys().chain(new.keys()) {
            let (was, is) = (old.get(code), new.get(code));
            assert!(was == is || told.contains(code), "{seed}: {code}");
            assert_eq!(
                found.parts_out.contains(code),
                is.is_none(),
                "{seed}: {code}"
            );
            assert_eq!(
                found.parts_in.contains(code),
                was.is_none(),
                "{seed}: {code}"
            );
        }
        for part in &found.parts {
            let side =
                |of: &BTreeMap<String, [u64; 6]>| of.get(&part.part).copied().unwrap_or_default();
            let [was, is] = [side(&old), side(&new)];
            let told = part.pieces().map(|(_, both)| both);
            assert_eq!(told.map(|both| both[0]), was, "{seed}: {}", part.part);
            assert_eq!(told.map(|both| both[1]), is, "{seed}: {}", part.part);
        }

        // Ends: exactly those that are not equal in both.
        let name = |end: &EndRecord| {
            (
                end.machine.clone(),
                end.circuit.clone(),
                end.net.clone(),
                end.end.clone(),
            )
        };
        let own = |plan: &Plan| -> BTreeMap<_, EndRecord> {
            plan.ends
                .iter()
                .map(|end| (name(end), end.clone()))
                .collect()
        };
        let (old, new) = (own(&before), own(&after));
        let wanted: BTreeSet<_> = old
            .keys()
            .chain(new.keys())
            .filter(|name| old.get(*name) != new.get(*name))
            .cloned()
            .collect();
        let told: BTreeSet<_> = found
            .ends
            .iter()
            .map(|end| {
                (
                    end.machine.clone(),
                    end.circuit.clone(),
                    end.net.clone(),
                    end.end.clone(),
                )
            })
            .collect();
        assert_eq!(told, wanted, "{seed}");
        for end in &found.ends {
            assert_eq!(end.stands == Stands::Both, !end.what.is_empty(), "{seed}");
        }
        for (what, is) in [
            ("parts", !found.parts.is_empty()),
            (
                "ends",
                found.ends.iter().any(|end| end.stands == Stands::Both),
            ),
            (
                "ends gone",
                found.ends.iter().any(|end| end.stands == Stands::Before),
            ),
            (
                "lines",
                found.lines.iter().any(|line| line.kind != Kind::Unchanged),
            ),
            ("suppliers", !found.suppliers_out.is_empty()),
            ("nothing", found.is_nothing()),
        ] {
            differed.extend(is.then_some(what));
        }
        assert_eq!(found.is_nothing(), bare(&before) == bare(&after), "{seed}");
        assert!(difference(&before, &before, rate).is_nothing(), "{seed}");
    }
    assert_eq!(differed.len(), 6, "{differed:?}");
}

/// What of a plan counts.
fn bare(plan: &Plan) -> Plan {
    let (status, gap_percent, total_bound) =
        (couplet::plan::Status::Optimal, Decimal::ZERO, Money::ZERO);
    Plan {
        inputs: Vec::new(),
        proof: None,
        doubts: 0,
        as_of: None,
        status,
        gap_percent,
        total_bound,
        ..plan.clone()
    }
}

#[test]
fn plans_of_two_currencies_are_refused() {
    let (_, plan, _) = (0..20).find_map(two).unwrap();
    let other = Plan {
        currency: Currency("NOK".to_owned()),
        ..plan.clone()
    };
    let plans = vec![("a".to_owned(), plan), ("b".to_owned(), other)];
    let error = compare(plans, |_| None).unwrap_err();
    assert_eq!(
        error.to_string(),
        "the plan of a is in EUR, that of b in NOK"
    );
}

fn run(folder: &Path, line: &str) -> Output {
    let words = line.split(' ');
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.current_dir(folder).args(words).output().unwrap()
}

fn said(output: &Output) -> String {
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn edit(path: &Path, old: &str, new: &str) {
    let text = fs::read_to_string(path).unwrap();
    assert_eq!(text.matches(old).count(), 1, "{old}");
    fs::write(path, text.replace(old, new)).unwrap();
}

#[test]
fn the_plan_before_is_kept_and_compared() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    assert!(run(folder, "new boat").status.success());
    let boat = folder.join("boat");
    let none = run(folder, "compare boat --before");
    assert_eq!(none.status.code(), Some(2));
    assert!(
        said(&none).contains("there is no plan before"),
        "{}",
        said(&none)
    );

    assert!(run(folder, "plan boat").status.success());
    let first = fs::read(boat.join("plan.json")).unwrap();
    assert!(!boat.join("plan.before.json").exists());
    edit(
        &boat.join("circuits.csv"),
        "straight,right-angle,IP67",
        ",,IP67",
    );
    let again = run(folder, "plan boat");
    assert!(again.status.success());
    let told = said(&again);
    assert!(
        told.contains("since the plan before: total 523.10 to 513.49 EUR (-9.61), 3 parts leave"),
        "{told}"
    );
    assert!(
        told.contains("couplet compare --before shows all that differs"),
        "{told}"
    );
    assert_eq!(fs::read(boat.join("plan.before.json")).unwrap(), first);

    let shown = run(folder, "compare boat --before");
    assert!(shown.status.success(), "{}", said(&shown));
    let text = String::from_utf8(shown.stdout).unwrap();
    for line in ["C10-RA, P10-A-RA and P10-B-RA", "Ends that differ", "-9.61"] {
        assert!(text.contains(line), "{line}: {text}");
    }

    // A plan that differs in nothing leaves the plan before where it is.
    edit(&boat.join("project.toml"), "limit = 1200", "limit = 1300");
    let same = run(folder, "plan boat");
    assert!(
        said(&same).contains("nothing differs from the plan before"),
        "{}",
        said(&same)
    );
    assert_eq!(fs::read(boat.join("plan.before.json")).unwrap(), first);

    // A plan with other prices, and one of fewer suppliers, keep the plan before too.
    let second = fs::read(boat.join("plan.json")).unwrap();
    let prices = fs::read_to_string(boat.join("catalog/prices.csv")).unwrap();
    fs::write(folder.join("dear.csv"), prices.replace(",4.20,", ",5.20,")).unwrap();
    assert!(
        run(folder, "reprice boat --prices dear.csv --keep nothing")
            .status
            .success()
    );
    let third = fs::read(boat.join("plan.json")).unwrap();
    assert_eq!(fs::read(boat.join("plan.before.json")).unwrap(), second);
    let one = run(
        folder,
        "consolidate boat --by suppliers --to 1 --prices dear.csv",
    );
    assert!(one.status.success(), "{}", said(&one));
    assert_eq!(fs::read(boat.join("plan.before.json")).unwrap(), third);
}

/// What is said of the plan before is true of the files that are there.
#[test]
fn what_changed_is_said_of_plans_that_were_kept() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    assert!(run(folder, "new boat").status.success());
    let spring = "plan boat --out spring.json";
    assert!(run(folder, spring).status.success());
    let boat = folder.join("boat");
    edit(
        &boat.join("circuits.csv"),
        "straight,right-angle,IP67",
        ",,IP67",
    );
    let told = said(&run(folder, spring));
    let command = "compare spring.before.json spring.json";
    assert!(
        told.contains(&format!("couplet {command} shows all")),
        "{told}"
    );
    let shown = run(folder, command);
    assert!(shown.status.success(), "{}", said(&shown));
    let shown = String::from_utf8(shown.stdout).unwrap();
    assert!(shown.contains("-9.61"), "{shown}");
    assert!(!boat.join("plan.before.json").exists());

    // Nothing of a plan that goes to standard output alone.
    let told = said(&run(folder, "plan boat --out -"));
    assert!(!told.contains("plan before"), "{told}");

    // In another currency, figures are not held against one another.
    assert!(run(folder, "plan boat").status.success());
    let first = fs::read(boat.join("plan.json")).unwrap();
    edit(
        &boat.join("project.toml"),
        "currency = \"EUR\"",
        "currency = \"NOK\"",
    );
    edit(
        &boat.join("project.toml"),
        "[rates]\n",
        "[rates]\nEUR = 11.5\n",
    );
    let again = run(folder, "plan boat");
    let told = said(&again);
    assert!(again.status.success(), "{told}");
    assert!(
        told.contains("the plan before is in EUR, this plan in NOK: they are not compared"),
        "{told}"
    );
    assert!(!told.contains("since the plan before"), "{told}");
    assert_eq!(fs::read(boat.join("plan.before.json")).unwrap(), first);
    let refused = run(folder, "compare boat --before");
    assert_eq!(refused.status.code(), Some(2));
    assert!(
        said(&refused).contains("the plan of before is in EUR, that of now in NOK"),
        "{}",
        said(&refused)
    );
}

/// A file that is no record is not kept, and stands in the way of nothing.
#[test]
fn what_is_no_record_is_not_kept() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    assert!(run(folder, "new boat").status.success());
    let boat = folder.join("boat");
    fs::write(boat.join("plan.json"), "{}").unwrap();
    let planned = run(folder, "plan boat");
    assert!(planned.status.success(), "{}", said(&planned));
    assert!(
        !said(&planned).contains("plan before"),
        "{}",
        said(&planned)
    );
    assert!(!boat.join("plan.before.json").exists());
    // A plan before that was changed by hand is not shown.
    let record = fs::read_to_string(boat.join("plan.json")).unwrap();
    let spoilt = record.replace("\"total\": \"523", "\"total\": \"423");
    assert_ne!(spoilt, record);
    fs::write(boat.join("plan.before.json"), spoilt).unwrap();
    let refused = run(folder, "compare boat --before");
    assert_eq!(refused.status.code(), Some(1), "{}", said(&refused));
    assert!(refused.stdout.is_empty());
}

#[test]
fn what_can_not_be_compared_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    assert!(run(folder, "new boat").status.success());
    let none = run(folder, "compare boat boat");
    assert_eq!(none.status.code(), Some(2));
    assert!(
        said(&none).contains("boat has no plan yet"),
        "{}",
        said(&none)
    );
    assert!(run(folder, "plan boat").status.success());
    let same = run(folder, "compare boat boat/plan.json");
    assert!(same.status.success());
    let text = String::from_utf8(same.stdout).unwrap();
    assert!(
        text.ends_with("the two plans are the same: no figure, part, order line or end differs\n"),
        "{text}"
    );
    let alone = run(folder, "compare boat");
    assert!(
        said(&alone).contains("there is nothing to compare with"),
        "{}",
        said(&alone)
    );

    // A record that was changed by hand is not shown.
    let record = fs::read_to_string(folder.join("boat/plan.json")).unwrap();
    fs::write(
        folder.join("boat/other.json"),
        record.replace("\"total\": \"523", "\"total\": \"423"),
    )
    .unwrap();
    let spoilt = run(folder, "compare boat boat/other.json");
    assert_eq!(spoilt.status.code(), Some(1), "{spoilt:?}");
    assert!(spoilt.stdout.is_empty());
    // So is one far from its project.
    fs::rename(folder.join("boat/other.json"), folder.join("other.json")).unwrap();
    assert_eq!(
        run(folder, "compare boat other.json").status.code(),
        Some(1)
    );
    fs::write(folder.join("good.json"), &record).unwrap();
    let good = run(folder, "compare boat good.json boat --format json");
    let json: serde_json::Value = serde_json::from_slice(&good.stdout).unwrap();
    assert_eq!(json["plans"].as_array().unwrap().len(), 3);
    assert_eq!(json["differences"][0]["parts"].as_array().unwrap().len(), 0);
}
