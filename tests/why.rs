//! What an alternative adds to the total: against enumeration with the part
//! forced, and against two plans made apart.

mod support;

use couplet::catalog::{Attribute, BUILT_IN, Half, Holds, IfEmpty, Kind, PartId, Rating, Value};
use couplet::fit::{Fit, fit, force, halves};
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{self, Outcome, Question};
use couplet::plan::{self, Bound, Plan};
use couplet::report;
use couplet::study::why::{Forced, Forcing, Planned, Tie, forced, places, refusals};
use couplet::units::{Ampere, Mm2};
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use support::brute::{self, Best, Set};
use support::build::{self, Shop, circuit, ends, list, plug, receptacle, terminal};
use support::random;

const PROVEN: Bound = Bound {
    lower: 0.0,
    witnesses: 2,
    wanted_gap: None,
};

/// A plan from nothing, for what fits.
fn plan_of(input: &Input, fit: &Fit) -> Option<Plan> {
    match model::solve(input, fit, &Question::default(), &Limit::default())
        .expect("the solver runs")
    {
        Outcome::Found { solution, .. } => {
            Some(plan::record(input, fit, &solution, PROVEN).expect("a plan"))
        }
        Outcome::Infeasible => None,
        Outcome::Unknown => panic!("no limit was set"),
    }
}

fn with(end: usize, half: Half, part: PartId) -> Forcing {
    Forcing { end, half, part }
}

fn of<'a>(input: &'a Input, fit: &'a Fit, plan: &'a Plan) -> Planned<'a> {
    Planned { input, fit, plan }
}

/// True if a set of the reference has the part on the half: receptacle (but where it is
/// built in) and plug stand first, then the receptacle's fittings, then the plug's.
fn has(input: &Input, set: &Set, half: Half, part: PartId) -> bool {
    let bodies = usize::from(set.receptacle.is_some()) + 1;
    let receptacle = set.receptacle.map(|id| input.catalog.part(id));
    let receptacle = receptacle.map(|part| part.body().expect("a body"));
    let kinds = couplet::fit::FITTINGS;
    let below = receptacle.filter(|r| r.is_crimped()).map_or(0, |r| {
        let needed = kinds.into_iter().filter(|kind| r.needs(*kind).is_some());
        needed.count()
    });
    let (on_receptacle, on_plug) = set.uses[bodies..].split_at(below);
    let (body, fittings) = match half {
        Half::Receptacle => (set.receptacle, on_receptacle),
        Half::Plug => (Some(set.plug), on_plug),
    };
    body == Some(part) || fittings.iter().any(|used| used.part == part)
}

/// Random projects, some of which have attributes, ratings, built-in receptacles, keys
/// of nets and branches.
fn projects(step: usize) -> impl Iterator<Item = (u64, Input, Option<Best>)> {
    let plain = (0..random::SEEDS).step_by(step).map(|seed| {
        let (input, best) = random::project(seed);
        (seed, input, best)
    });
    let rich = (0..random::SEEDS).step_by(step).map(|seed| {
        let (input, best) = random::with_facts(seed);
        (seed, input, best)
    });
    plain.chain(rich)
}

#[test]
fn what_a_part_adds_equals_enumeration_with_the_part_forced() {
    let (mut costs, mut none, mut free, mut built_in) = (0, 0, 0, 0);
    for (seed, input, best) in projects(5) {
        let Some(best) = best else { continue };
        let fit = fit(&input).expect("every end has a set");
        let plan = plan_of(&input, &fit).expect("a plan");
        let planned = of(&input, &fit, &plan);
        let mut rng = fastrand::Rng::with_seed(seed);
        let end = rng.usize(..fit.ends.len());
        let all = places(&planned, end).expect("of this project");
        if fit.ends[end].is_built_in() {
            // No place on a receptacle that nobody buys.
            assert!(
                all.iter().all(|place| place.half == Half::Plug),
                "seed {seed}"
            );
            built_in += 1;
        }
        for place in all {
            for part in place.others.iter().copied().take(2) {
                let keep = |set: &Set| has(&input, set, place.half, part);
                let want = brute::best_where(&input, end, keep).map(|b| b.total - best.total);
                let found = forced(&planned, with(end, place.half, part), &Limit::default());
                match (found.expect("the solver runs"), want) {
                    (
                        Forced::Costs {
                            extra, proven, tie, ..
                        },
                        Some(want),
                    ) => {
                        assert!(proven);
                        assert_eq!(extra.0.normalize(), want.normalize(), "seed {seed}");
                        assert_eq!(tie.is_some(), want == Decimal::ZERO, "seed {seed}");
                        costs += 1;
                        free += usize::from(tie.is_some());
                    }
                    (Forced::NoPlan(_), None) => none += 1,
                    (found, want) => panic!("seed {seed}: {found:?}, not {want:?}"),
                }
            }
        }
    }
    let looked_at = (costs, none, free, built_in);
    assert!(costs > 80 && free > 0 && built_in > 3, "{looked_at:?}");
}

#[test]
fn what_a_part_adds_is_the_difference_of_two_plans() {
    let mut looked_at = 0;
    for seed in (1..random::SEEDS).step_by(7) {
        let (input, Some(_)) = random::project(seed) else {
            continue;
        };
        let fit = fit(&input).expect("every end has a set");
        let plan = plan_of(&input, &fit).expect("a plan");
        let planned = of(&input, &fit, &plan);
        let end = fit.ends.len() - 1;
        for place in places(&planned, end).expect("of this project") {
            let Some(&part) = place.others.last() else {
                continue;
            };
            let forced_fit = force(&fit, end, place.half, part).expect("an option");
            let apart = plan_of(&input, &forced_fit);
            let found = forced(&planned, with(end, place.half, part), &Limit::default());
            match (found.expect("the solver runs"), apart) {
                (Forced::Costs { cost, extra, .. }, Some(apart)) => {
                    assert_eq!(cost.total, apart.cost.total, "seed {seed}");
                    assert_eq!(extra.0, apart.cost.total.0 - plan.cost.total.0);
                    looked_at += 1;
                }
                (Forced::NoPlan(_), None) => {}
                (found, apart) => panic!("seed {seed}: {found:?}, {apart:?}"),
            }
        }
    }
    assert!(looked_at > 20, "{looked_at}");
}

#[test]
fn a_forced_end_has_just_the_sets_with_the_part() {
    for (seed, input, _) in projects(1) {
        let Ok(fit) = fit(&input) else { continue };
        for (place, end) in brute::ends(&input).iter().enumerate() {
            let sets = brute::sets(&input, end);
            let parts: BTreeSet<PartId> =
                sets.iter().flat_map(|s| &s.uses).map(|u| u.part).collect();
            for part in parts {
                for half in [Half::Receptacle, Half::Plug] {
                    // Supply is no matter of the reference's sets.
                    let with = sets.iter().filter(|set| has(&input, set, half, part));
                    let Some(forced) = force(&fit, place, half, part) else {
                        continue;
                    };
                    let class = forced
                        .classes
                        .iter()
                        .find(|c| c.ends == [place])
                        .expect("its own");
                    let pairs: BTreeSet<(Option<PartId>, PartId)> =
                        with.map(|set| (set.receptacle, set.plug)).collect();
                    for body in &class.receptacles {
                        for mate in class.plugs.iter().filter(|p| p.mate == body.mate) {
                            let pair = (Some(body.body), mate.body);
                            assert!(pairs.contains(&pair), "seed {seed}");
                        }
                    }
                    if class.is_built_in() {
                        let mut plugs = class.plugs.iter();
                        assert!(
                            plugs.all(|p| pairs.contains(&(None, p.body))),
                            "seed {seed}"
                        );
                    }
                    let starts: Vec<usize> = forced.classes.iter().map(|c| c.ends[0]).collect();
                    assert!(starts.is_sorted(), "seed {seed}");
                    let all: usize = forced.classes.iter().map(|c| c.ends.len()).sum();
                    assert_eq!(all, fit.ends.len());
                }
            }
        }
    }
}

/// Two plugs and two keys; P2 is dearer, QB and its mate cost the same as P.
fn shop() -> Input {
    let mut shop = ends(1);
    shop.on_hand.clear();
    shop.body("P2", plug("F", "A"));
    shop.body("QB", plug("F", "B"));
    shop.body("RB", receptacle("F", "B"));
    let mut weak = plug("F", "A");
    weak.rated_a = couplet::units::Ampere(support::dec("100"));
    weak.rated_v = couplet::units::Volt(support::dec("48"));
    shop.body("WEAK", weak);
    for (part, price) in [
        ("P", "5"),
        ("P2", "6.50"),
        ("QB", "5"),
        ("R", "3"),
        ("RB", "3"),
        ("WEAK", "1"),
    ] {
        shop.offer(part, "Nord", list(&[(1, price)]));
    }
    shop.circuits[0].to = terminal("nowhere", None);
    shop.finish()
}

#[test]
fn the_words_for_an_end() {
    let input = shop();
    let fit = fit(&input).expect("every end has a set");
    let plan = plan_of(&input, &fit).expect("a plan");
    let planned = of(&input, &fit, &plan);
    let tried = |most: usize| -> Vec<couplet::study::why::Tried> {
        let places = places(&planned, 0).expect("of this project");
        let tried = places.into_iter().map(|place| {
            let one = |part: &PartId| {
                forced(&planned, with(0, place.half, *part), &Limit::default())
                    .expect("the solver runs")
            };
            let forced = place.others.iter().take(most).map(one).collect();
            couplet::study::why::Tried { place, forced }
        });
        tried.collect()
    };
    let text = |tried: &[couplet::study::why::Tried]| {
        report::why::text(&input, &plan, &fit.ends[0], tried, 100)
    };
    assert_eq!(
        text(&tried(2)),
        "\
C0, HV+, from end at pack
place       chosen  alternative   adds  why
----------- ------- ------------ ------ --------------------------------------
receptacle  R       RB            0.00  as cheap, but comes later by part code
plug        P       QB            0.00  as cheap, but comes later by part code
plug        P       P2           +1.50  goods +1.50
"
    );
    let less = text(&tried(1));
    let untried = "--all also tries 1 part with higher unit prices for the plug";
    assert_eq!(less.lines().last(), Some(untried));
    let parts = |code: &str| input.catalog.find(code).expect("a part");
    assert_eq!(halves(&fit, 0, parts("P2")), [Half::Plug]);
    assert_eq!(halves(&fit, 0, parts("WEAK")), []);
    let refused = refusals(&planned, 0, parts("WEAK"));
    assert_eq!(
        report::why::refused(&input, &fit.ends[0], &refused),
        "\
C0, HV+, from end at pack: refused by voltage and current
  voltage: plug WEAK is rated 48 V, circuit C0 needs 350 V (bodies.csv:7, circuits.csv:2)
  current: plug WEAK is rated 100 A, circuit C0 needs 200 A (bodies.csv:7, circuits.csv:2)
"
    );
}

/// An attribute of plugs and receptacles.
fn attribute(name: &str, holds: Holds) -> Attribute {
    Attribute {
        name: name.into(),
        on: [Kind::Plug, Kind::Receptacle].into(),
        holds,
        if_empty: IfEmpty::Refuses,
        description: String::new(),
        note: String::new(),
        row: build::row("attributes.csv", 0),
    }
}

/// A refusal names the attribute, with the value of the part and that of the circuit.
#[test]
fn the_words_for_attributes_ratings_and_keys_of_nets() {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    shop.body("P", plug("F", "A"));
    shop.body("R", receptacle("F", "A"));
    let mut odd = plug("F", "B");
    odd.ratings.push(Rating {
        min_mm2: Mm2(support::dec("50")),
        max_mm2: Mm2(support::dec("70")),
        rated_a: Ampere(support::dec("150")),
    });
    shop.body("ODD", odd);
    for part in ["P", "R", "ODD"] {
        shop.offer(part, "Nord", list(&[(1, "5")]));
    }
    let word = |word: &str| Some(Value::Word(word.to_owned()));
    let words = |words: &[&str]| {
        let words = words.iter().map(|w| (*w).to_owned());
        Some(Value::Words(words.collect()))
    };
    let number = |number: &str| Some(Value::Number(support::dec(number)));
    shop.attributes = vec![
        attribute("interlock", Holds::Equal),
        attribute("approvals", Holds::Has),
        attribute("cycles", Holds::AtLeast),
        attribute("mass_g", Holds::AtMost),
        attribute("plating", Holds::Same),
    ];
    let all = vec![
        word("yes"),
        words(&["R10", "R100"]),
        number("500"),
        number("90"),
        word("silver"),
    ];
    shop.values.insert("P".to_owned(), all.clone());
    shop.values.insert("R".to_owned(), all.clone());
    let odd = vec![
        word("no"),
        words(&["R10"]),
        number("499.5"),
        None,
        word("tin"),
    ];
    shop.values.insert("ODD".to_owned(), odd);
    shop.circuits.push(circuit("C0", "HV+", "pack"));
    shop.circuits[0].from.wants = all;
    let keys = ["A".to_owned(), "C".to_owned()];
    shop.settings
        .keying
        .keys
        .insert("HV+".to_owned(), keys.into());
    let input = shop.finish();
    let fit = fit(&input).expect("every end has a set");
    let plan = plan_of(&input, &fit).expect("a plan");
    let odd = input.catalog.find("ODD").expect("a part");
    let refused = refusals(&of(&input, &fit, &plan), 0, odd);
    assert_eq!(
        report::why::refused(&input, &fit.ends[0], &refused),
        "\
C0, HV+, from end at pack: refused by current, net keys, interlock, approvals, cycles, mass_g, plating and mate
  current: plug ODD is rated 150 A on 50 to 70 mm², circuit C0 needs 200 A (bodies.csv:2, circuits.csv:2)
  net keys: plug ODD has key B, circuit C0 has net HV+, which keeps to key A or C (bodies.csv:2, circuits.csv:2)
  interlock: plug ODD has interlock no, circuit C0 needs interlock yes (bodies.csv:2, circuits.csv:2)
  approvals: plug ODD has approvals R10, circuit C0 needs approvals R10 R100 (bodies.csv:2, circuits.csv:2)
  cycles: plug ODD has cycles 499.5, circuit C0 needs cycles at least 500 (bodies.csv:2, circuits.csv:2)
  mass_g: plug ODD states no mass_g, circuit C0 needs mass_g at most 90 (bodies.csv:2, circuits.csv:2)
  plating: plug ODD has plating tin, circuit C0 needs plating silver (bodies.csv:2, circuits.csv:2)
  mate: plug ODD has no mate: no receptacle with interface F, key B fits here, circuit C0 needs both halves (bodies.csv:2, circuits.csv:2)
"
    );
    let good = input.catalog.find("P").expect("a part");
    assert_eq!(refusals(&of(&input, &fit, &plan), 0, good), []);
}

#[test]
fn the_words_where_the_device_has_its_receptacle() {
    let mut input = shop();
    let from = &mut input.circuits[0].from;
    from.attach = Some(BUILT_IN.to_owned());
    from.interface = Some("F".to_owned());
    from.key = Some("A".to_owned());
    let fit = fit(&input).expect("every end has a set");
    let plan = plan_of(&input, &fit).expect("a plan");
    let planned = of(&input, &fit, &plan);
    let all = places(&planned, 0).expect("of this project");
    assert_eq!(all.len(), 1);
    let tried = all.into_iter().map(|place| {
        let one = |part: &PartId| {
            forced(&planned, with(0, place.half, *part), &Limit::default())
                .expect("the solver runs")
        };
        let forced = place.others.iter().map(one).collect();
        couplet::study::why::Tried { place, forced }
    });
    let tried: Vec<_> = tried.collect();
    assert_eq!(
        report::why::text(&input, &plan, &fit.ends[0], &tried, 100),
        "\
C0, HV+, from end at pack: the device has its receptacle built in (F A)
place  chosen  alternative   adds  why
------ ------- ------------ ------ -----------
plug   P       P2           +1.50  goods +1.50
"
    );
    let refused = |code: &str| {
        let part = input.catalog.find(code).expect("a part");
        report::why::refused(&input, &fit.ends[0], &refusals(&planned, 0, part))
    };
    assert_eq!(
        refused("R"),
        "\
C0, HV+, from end at pack: refused by attach
  attach: receptacle R attaches by busbar, circuit C0 has its receptacle built in there (bodies.csv:5, circuits.csv:2)
"
    );
    assert_eq!(
        refused("QB"),
        "\
C0, HV+, from end at pack: refused by pin
  pin: plug QB has key B, circuit C0 has a built-in receptacle of key A there (bodies.csv:4, circuits.csv:2)
"
    );
}

#[test]
fn equally_cheap_is_told_by_what_comes_next() {
    // QB is as cheap as P, but would be one more variant beside the second end.
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for key in ["A", "B"] {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, "5")]));
        }
    }
    for name in ["C0", "C1"] {
        shop.circuits.push(circuit(name, "HV+", "pack"));
    }
    let input = shop.finish();
    let fit = fit(&input).expect("every end has a set");
    let plan = plan_of(&input, &fit).expect("a plan");
    let planned = of(&input, &fit, &plan);
    let other = input.catalog.find("PB").expect("a part");
    match forced(&planned, with(0, Half::Plug, other), &Limit::default()).expect("the solver runs")
    {
        // Both ends would have key B then.
        Forced::Costs {
            tie: Some(Tie::Codes),
            ..
        } => {}
        other => panic!("{other:?}"),
    }
}
