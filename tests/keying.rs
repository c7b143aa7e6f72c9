//! Keying: plans with keys everywhere and pinned ends against enumeration, the
//! keying map, and the rule for the whole machine as a graph colouring.

mod support;

use couplet::audit::audit;
use couplet::catalog::BUILT_IN;
use couplet::fit::fit;
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{self, Outcome, Question};
use couplet::plan::{self, Bound, Plan};
use couplet::project::Distinct;
use couplet::report;
use couplet::study::keys::{AtLocation, KeyMap, Unknown, Why, key_maps, spread};
use couplet::units::Ampere;
use std::collections::{BTreeMap, BTreeSet};
use support::brute;
use support::build::{Shop, circuit, list, plug, receptacle, terminal};
use support::machines::purchase;
use support::random;

const PROVEN: Bound = Bound {
    lower: 0.0,
    witnesses: 2,
    wanted_gap: None,
};

/// The map of a project.
fn key_map(input: &Input, plan: &Plan) -> Result<KeyMap, Unknown> {
    let mut maps = key_maps(input, plan)?;
    assert_eq!(maps.len(), 1);
    Ok(maps.remove(0))
}

/// The cheapest plan, audited; none where it is proven that there is none.
fn planned(input: &Input, question: &Question, limit: &Limit) -> Option<Plan> {
    let plan = recorded(input, question, limit)?;
    assert_eq!(audit(input, &plan), []);
    Some(plan)
}

fn recorded(input: &Input, question: &Question, limit: &Limit) -> Option<Plan> {
    let fit = fit(input).ok()?;
    match model::solve(input, &fit, question, limit).expect("the solver runs") {
        Outcome::Infeasible => None,
        Outcome::Found { solution, .. } => {
            Some(plan::record(input, &fit, &solution, PROVEN).expect("a plan"))
        }
        Outcome::Unknown => panic!("no limit was set"),
    }
}

/// A random project with the rule for the whole machine, or with pinned ends.
fn keyed(seed: u64) -> Input {
    let (mut input, _) = random::project(seed);
    let mut rng = fastrand::Rng::with_seed(seed ^ 0xc0de);
    if rng.u8(..3) > 0 {
        input.settings.keying.distinct = Distinct::Everywhere;
    }
    for circuit in &mut input.circuits {
        for terminal in [&mut circuit.from, &mut circuit.to] {
            if rng.u8(..4) == 0 {
                terminal.key = Some(["A", "B"][rng.usize(..2)].to_owned());
            }
        }
    }
    input
}

#[test]
fn keys_everywhere_and_pins_equal_enumeration() {
    let (mut plans, mut none) = (0, 0);
    for seed in 0..300 {
        let input = keyed(seed);
        let best = brute::best(&input);
        let found = planned(&input, &Question::default(), &Limit::default());
        let figures = |plan: &Plan| {
            let total = plan.cost.total.0.normalize();
            (total, plan.parts.len(), extra_keys(plan))
        };
        let want = best.as_ref().map(|b| (b.total, b.variants, b.keys));
        assert_eq!(found.as_ref().map(figures), want, "seed {seed}");
        match best {
            Some(_) => plans += 1,
            None => none += 1,
        }
    }
    assert!(plans > 60 && none > 30, "{plans} plans, {none} without");
}

/// Keys of an interface that a net has beyond the first.
fn extra_keys(plan: &Plan) -> usize {
    spread(plan).iter().map(|s| s.keys.len() - 1).sum()
}

/// HV+ on a thick cable and HV- on a thin one, each at two locations, where the
/// sets of one gauge can't be dealt out to the other.
fn two_gauges(prices: [&str; 2]) -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for (key, price) in ["A", "B"].into_iter().zip(prices) {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, price)]));
        }
    }
    for (name, net, at) in [
        ("a", "HV+", "pack"),
        ("b", "HV-", "pack"),
        ("c", "HV+", "motor"),
        ("d", "HV-", "motor"),
        ("e", "HV-", "pump"),
    ] {
        let mut circuit = circuit(name, net, at);
        if net == "HV-" {
            circuit.gauge = "35 mm2".parse().expect("a gauge");
        }
        shop.circuits.push(circuit);
    }
    shop
}

#[test]
fn a_net_keeps_its_key_where_that_costs_nothing() {
    for prices in [["5", "5"], ["5", "4"], ["4", "5"]] {
        let plan = planned(
            &two_gauges(prices).finish(),
            &Question::default(),
            &Limit::default(),
        );
        assert_eq!(extra_keys(&plan.expect("a plan")), 0, "{prices:?}");
    }
    // HV+ has A at the pack, so HV- has B there, and A at the pump.
    let mut shop = two_gauges(["5", "5"]);
    shop.circuits[0].from.key = Some("A".to_owned());
    shop.circuits[4].from.key = Some("A".to_owned());
    let plan = planned(&shop.finish(), &Question::default(), &Limit::default()).expect("a plan");
    assert_eq!(extra_keys(&plan), 1);
}

/// Two nets of two circuits at `pack`, one of them at `motor` as well.
fn boat() -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for (key, price) in [("A", "5"), ("B", "6"), ("C", "7")] {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, price)]));
        }
    }
    shop.circuits.push(circuit("traction", "HV+ HV-", "pack"));
    shop.circuits.push(circuit("heater", "HV+", "pack"));
    shop.circuits.push(circuit("pump", "HV-", "motor"));
    shop.circuits[2].from.key = Some("B".to_owned());
    shop
}

#[test]
fn the_map_says_who_has_what_and_what_is_left() {
    let input = boat().finish();
    let plan = planned(&input, &Question::default(), &Limit::default()).expect("a plan");
    let map = key_map(&input, &plan).expect("of this catalog");
    assert_eq!(
        report::keys::text(&[map], 100),
        "\
keying by location: at one location, different nets never share interface and key

pack
net  interface  key  ends
---- ---------- ---- --------------------------
HV+  F          A    traction from, heater from
HV-  F          B    traction from
keys left: F: C
checked 3 pairs of ends: no plug goes into the other's receptacle, except of 1 pair:
  note: 1 pair of HV+, F A: the plugs of traction (70 mm2, 200 A) and heater (70 mm2, 200 A)
    interchange; a swap mixes up their fuses

motor
net  interface  key  ends
---- ---------- ---- ---------
HV-  F          B    pump from
keys left: none
checked 0 pairs of ends: no plug goes into the other's receptacle

Keys of each net
net  interface  count  keys
---- ---------- ------ ----
HV+  F              1  A
HV-  F              1  B

1 note: plugs of different circuits of one net interchange
the keying rule keeps circuits of different branches apart: give each fuse a name in the column
  branch of circuits.csv
"
    );
}

/// The map of a project's cheapest plan.
fn map_of(input: &Input) -> KeyMap {
    let plan = recorded(input, &Question::default(), &Limit::default()).expect("a plan");
    key_map(input, &plan).expect("of this catalog")
}

/// The lines of a map that say what interchanges, without their indent.
fn marked(map: &KeyMap) -> Vec<String> {
    let text = report::keys::text(std::slice::from_ref(map), 1000);
    let lines = text.lines().map(|line| line.trim().to_owned());
    let marks = ["warning: ", "note: ", "1 warning", "1 note", "2 notes"];
    lines
        .filter(|line| marks.iter().any(|mark| line.starts_with(mark)))
        .collect()
}

/// Circuits of HV+ at the hub, each with its gauge, current and branch.
fn hub(circuits: &[(&str, &str, &str, &str)]) -> Shop {
    let mut shop = boat();
    shop.circuits.clear();
    for (name, gauge, current, branch) in circuits {
        let mut circuit = circuit(name, "HV+", "hub");
        circuit.gauge = gauge.parse().expect("a gauge");
        circuit.current = Ampere(support::dec(current));
        circuit.branch = (*branch).to_owned();
        shop.circuits.push(circuit);
    }
    shop
}

#[test]
fn plugs_of_different_circuits_of_one_net_are_told_with_gauge_and_current() {
    let summary = "plugs of different circuits of one net interchange";
    let of = |circuits: &[(&str, &str, &str, &str)]| marked(&map_of(&hub(circuits).finish()));
    // The gauges differ.
    assert_eq!(
        of(&[("a", "70 mm2", "200", ""), ("b", "16 mm2", "40", "")]),
        [
            "warning: 1 pair of HV+, F A: the plugs of a (70 mm2, 200 A) and b (16 mm2, 40 A) \
             interchange; a swap mixes up their gauges and currents, so their fuses"
                .to_owned(),
            format!("1 warning: {summary}"),
        ]
    );
    // The same area in the other unit is another gauge; the currents are equal.
    assert_eq!(
        of(&[("a", "70 mm2", "150", ""), ("b", "2/0 AWG", "150", "")])[0],
        "warning: 1 pair of HV+, F A: the plugs of a (70 mm2, 150 A) and b (2/0 AWG, 150 A) \
         interchange; a swap mixes up their gauges, so their fuses"
    );
    // One gauge, different currents.
    assert_eq!(
        of(&[("a", "70 mm2", "200", ""), ("b", "70 mm2", "40", "")]),
        [
            "note: 1 pair of HV+, F A: the plugs of a (70 mm2, 200 A) and b (70 mm2, 40 A) \
             interchange; a swap mixes up their currents, so their fuses"
                .to_owned(),
            format!("1 note: {summary}"),
        ]
    );
    // Three circuits are told in one line.
    assert_eq!(
        of(&[
            ("a", "70 mm2", "40", ""),
            ("b", "70 mm2", "40", ""),
            ("c", "16 mm2", "40", "")
        ])[0],
        "warning: 3 pairs of HV+, F A: the plugs of a (70 mm2, 40 A), b (70 mm2, 40 A) and \
         c (16 mm2, 40 A) interchange; a swap mixes up their gauges, so their fuses"
    );
    // The same name of a branch is the same fuse.
    assert_eq!(
        of(&[
            ("a", "70 mm2", "200", "drive"),
            ("b", "16 mm2", "40", "drive")
        ])[0],
        "warning: 1 pair of HV+ of branch drive, F A: the plugs of a (70 mm2, 200 A) and \
         b (16 mm2, 40 A) interchange; a swap mixes up their gauges and currents; they are \
         behind one fuse"
    );
}

#[test]
fn circuits_of_different_branches_do_not_interchange() {
    for branch in ["", "aux"] {
        let shop = hub(&[
            ("a", "70 mm2", "200", "drive"),
            ("b", "16 mm2", "40", branch),
        ]);
        let map = map_of(&shop.finish());
        assert_eq!(marked(&map), Vec::<String>::new());
        assert_eq!(map.interchanges(), (0, 0));
        assert_eq!(map.locations[0].proof.exceptions, []);
    }
    // Without the rule they do, and the wrong plug goes in.
    let mut shop = hub(&[("a", "70 mm2", "200", "drive"), ("b", "70 mm2", "40", "")]);
    shop.settings.keying.distinct = Distinct::Off;
    assert_eq!(
        report::keys::text(&[map_of(&shop.finish())], 120),
        "\
keying is off: different nets, and different branches of a net, may share interface and key

hub
net  branch  interface  key  ends
---- ------- ---------- ---- ------
HV+          F          A    b from
HV+  drive   F          A    a from
keys left: F: B, C
checked 1 pair of ends: no plug goes into the other's receptacle, except of 1 pair:
  1 pair of HV+ of no branch and HV+ of branch drive, F A: the wrong plug goes in; keying is off

Keys of each net
net  interface  count  keys
---- ---------- ------ ----
HV+  F              1  A
"
    );
}

#[test]
fn two_ends_of_one_circuit_need_no_mark() {
    let mut shop = hub(&[("a", "70 mm2", "200", "")]);
    shop.circuits[0].to = terminal("hub", Some("busbar"));
    let map = map_of(&shop.finish());
    assert_eq!(marked(&map), Vec::<String>::new());
    let text = report::keys::text(&[map], 100);
    assert!(
        text.contains("  1 pair of HV+, F A: of one circuit\n"),
        "{text}"
    );
    assert!(text.ends_with("HV+  F              1  A\n"), "{text}");
}

#[test]
fn the_whole_machine_is_told_where_the_rule_holds_there() {
    let mut shop = hub(&[("a", "70 mm2", "200", ""), ("b", "16 mm2", "40", "")]);
    shop.circuits[1].from.location = "pump".to_owned();
    let apart = shop.finish();
    assert_eq!(marked(&map_of(&apart)), Vec::<String>::new());
    let mut everywhere = apart.clone();
    everywhere.settings.keying.distinct = Distinct::Everywhere;
    let map = map_of(&everywhere);
    assert_eq!(
        marked(&map)[0],
        "warning: 1 pair of HV+, F A: the plugs of a at hub (70 mm2, 200 A) and b at pump \
         (16 mm2, 40 A) interchange; a swap mixes up their gauges and currents, so their fuses"
    );
    assert_eq!(
        report::keys::table(std::slice::from_ref(&map))
            .csv()
            .expect("csv"),
        "\
location,interface,key,net,ends,interchange,swaps
hub,F,A,HV+,a from,,
hub,F,B,,,,
hub,F,C,,,,
pump,F,A,HV+,b from,,
pump,F,B,,,,
pump,F,C,,,,
,F,A,HV+,,warning,\"a at hub (70 mm2, 200 A) and b at pump (16 mm2, 40 A)\"
"
    );
    // A location that is left out is seen by no rule of the machine.
    let ignored = &mut everywhere.settings.keying.ignore_at;
    ignored.insert("pump".to_owned());
    assert_eq!(map_of(&everywhere).interchanges(), (0, 0));
}

#[test]
fn a_built_in_receptacle_takes_the_plugs_of_others() {
    let mut shop = hub(&[("a", "70 mm2", "200", ""), ("b", "16 mm2", "40", "")]);
    shop.circuits[0].from.attach = Some(BUILT_IN.to_owned());
    shop.circuits[0].from.interface = Some("F".to_owned());
    shop.circuits[0].from.key = Some("A".to_owned());
    assert_eq!(map_of(&shop.finish()).interchanges(), (1, 0));
    // With another key it takes none of them.
    let mut shop = hub(&[("a", "70 mm2", "200", ""), ("b", "16 mm2", "40", "")]);
    shop.circuits[0].from.attach = Some(BUILT_IN.to_owned());
    shop.circuits[0].from.interface = Some("F".to_owned());
    shop.circuits[0].from.key = Some("B".to_owned());
    shop.circuits[1].from.key = Some("A".to_owned());
    assert_eq!(map_of(&shop.finish()).interchanges(), (0, 0));
}

#[test]
fn the_keys_of_a_net_stand_beside_it() {
    let mut shop = boat();
    let keys = ["B", "C"].map(str::to_owned);
    shop.settings
        .keying
        .keys
        .insert("HV+".to_owned(), keys.into());
    let map = map_of(&shop.finish());
    let text = report::keys::text(std::slice::from_ref(&map), 120);
    let lines = "\
net  keeps to    interface  key  ends
---- ----------- ---------- ---- --------------------------
HV+  key B or C  F          B    traction from, heater from
HV-              F          A    traction from
";
    assert!(text.contains(lines), "{text}");
    let lines = "\
net  interface  count  keys  keeps to
---- ---------- ------ ----- ----------
HV+  F              1  B     key B or C
HV-  F              2  A, B
";
    assert!(text.contains(lines), "{text}");
    let csv = report::keys::table(std::slice::from_ref(&map))
        .csv()
        .expect("csv");
    let start = "\
location,interface,key,net,keeps_to,ends,interchange,swaps
pack,F,B,HV+,key B or C,\"traction from, heater from\",note,\"traction (70 mm2, 200 A) and heater (70 mm2, 200 A)\"
pack,F,A,HV-,,traction from,,
";
    assert!(csv.starts_with(start), "{csv}");
    let json = report::keys::json(std::slice::from_ref(&map)).expect("json");
    let json: serde_json::Value = serde_json::from_str(&json).expect("json");
    let used = &json["locations"][0]["used"];
    assert_eq!(used[0]["keeps_to"], serde_json::json!(["B", "C"]));
    assert_eq!(used[1]["keeps_to"], serde_json::Value::Null);
    assert_eq!(json["spread"][0]["keeps_to"], serde_json::json!(["B", "C"]));
}

#[test]
fn the_map_as_json_has_branches_and_what_interchanges() {
    let shop = hub(&[
        ("a", "70 mm2", "200", "drive"),
        ("b", "16 mm2", "40", ""),
        ("c", "16 mm2", "32.5", ""),
    ]);
    let json = report::keys::json(&[map_of(&shop.finish())]).expect("json");
    let json: serde_json::Value = serde_json::from_str(&json).expect("json");
    assert_eq!((&json["warnings"], &json["notes"]), (&0.into(), &1.into()));
    let at = &json["locations"][0];
    assert_eq!(at["used"][0]["branch"], "");
    assert_eq!(at["used"][1]["branch"], "drive");
    assert_eq!(
        at["exceptions"],
        serde_json::json!([{
            "nets": ["HV+"],
            "between": [{ "net": "HV+", "branch": "" }],
            "interface": "F",
            "key": "A",
            "pairs": 1,
            "why": "circuits",
            "level": "note",
            "circuits": [
                { "circuit": "b", "gauge": "16 mm2", "current_a": "40", "locations": ["hub"] },
                { "circuit": "c", "gauge": "16 mm2", "current_a": "32.5", "locations": ["hub"] },
            ],
        }])
    );
}

#[test]
fn the_proof_compares_every_pair() {
    let mut looked_at = BTreeMap::new();
    let plain = (0..40).map(|seed| (seed, keyed(seed)));
    let rich = (0..60).map(|seed| (seed, random::with_facts(seed).0));
    for (seed, mut input) in plain.chain(rich) {
        let keying = &mut input.settings.keying;
        match seed % 3 {
            0 => keying.distinct = Distinct::Off,
            1 => keying
                .ignore_at
                .extend(["pack".to_owned(), "inverter".to_owned()]),
            _ => {}
        }
        let Some(plan) = planned(&input, &Question::default(), &Limit::default()) else {
            continue;
        };
        let map = key_map(&input, &plan).expect("of this catalog");
        for at in &map.locations {
            let here = plan.ends.iter().filter(|e| e.location == at.location);
            let n = here.clone().count();
            assert_eq!(at.proof.pairs, n * (n - 1) / 2);
            // Equal interface and key are what lets a plug in; the record was audited.
            let same = here.clone().enumerate().flat_map(|(i, a)| {
                let rest = here.clone().skip(i + 1);
                rest.filter(move |b| (&a.interface, &a.key) == (&b.interface, &b.key))
            });
            let swapped: usize = at.proof.exceptions.iter().map(|e| e.pairs).sum();
            assert_eq!(swapped, same.count(), "seed {seed}");
            interchanged(&input, &plan, at);
            for exception in &at.proof.exceptions {
                assert_ne!(exception.why, Why::Broken, "seed {seed}");
                let is_one = matches!(exception.why, Why::OneCircuit | Why::Circuits);
                assert_eq!(is_one, exception.feeds.len() == 1);
                *looked_at.entry(exception.why).or_insert(0) += 1;
            }
            let used = at.used.iter().map(|u| u.identity.clone());
            let used: BTreeSet<_> = used.collect();
            let left = at.left.as_ref().expect("every end has a set");
            assert!(left.iter().all(|identity| !used.contains(identity)));
        }
        let everywhere = map.distinct == Distinct::Everywhere;
        assert_eq!(map.elsewhere.is_some(), everywhere);
        for exception in map.elsewhere.iter().flat_map(|proof| &proof.exceptions) {
            let is_one = matches!(exception.why, Why::OneCircuit | Why::Circuits);
            assert!(is_one, "seed {seed}");
        }
        let keys: usize = spread(&plan).iter().map(|s| s.keys.len()).sum();
        let distinct: BTreeSet<_> = plan
            .ends
            .iter()
            .map(|e| (&e.net, &e.interface, &e.key))
            .collect();
        assert_eq!(keys, distinct.len());
    }
    assert_eq!(looked_at.len(), 4, "{looked_at:?}");
}

/// Each machine has a map of its own: no end is held against an end of another machine, and
/// keys are counted once for each.
#[test]
fn maps_of_random_purchases_are_those_of_their_machines() {
    let (mut looked_at, mut like_named) = (0, 0);
    for seed in 0..80 {
        let (input, best) = purchase(seed);
        if best.is_none() {
            continue;
        }
        let plan = planned(&input, &Question::default(), &Limit::default()).expect("a plan");
        let maps = key_maps(&input, &plan).expect("of this catalog");
        assert_eq!(maps.len(), input.machines.len());
        let mut locations = BTreeSet::new();
        for (map, machine) in maps.iter().zip(&input.machines) {
            assert_eq!((&map.machine, map.count), (&machine.name, machine.count));
            assert_eq!(map.distinct, machine.settings.keying.distinct);
            let own = || plan.ends.iter().filter(|end| end.machine == machine.name);
            for at in &map.locations {
                let n = own().filter(|end| end.location == at.location).count();
                assert_eq!(at.proof.pairs, n * (n - 1) / 2, "seed {seed}");
                let ignored = &machine.settings.keying.ignore_at;
                assert_eq!(at.is_ignored, ignored.contains(&at.location));
                for exception in &at.proof.exceptions {
                    assert_ne!(exception.why, Why::Broken, "seed {seed}");
                }
                like_named += usize::from(!locations.insert(at.location.clone()));
            }
            let here: usize = map
                .locations
                .iter()
                .flat_map(|at| &at.used)
                .map(|u| u.ends.len())
                .sum();
            assert_eq!(here, own().count());
            let keys: usize = map.spread.iter().map(|of| of.keys.len()).sum();
            let distinct: BTreeSet<_> = own().map(|e| (&e.net, &e.interface, &e.key)).collect();
            assert_eq!(keys, distinct.len(), "seed {seed}");
            assert!(map.spread.iter().all(|of| of.machine == machine.name));
            looked_at += 1;
        }
        // All machines together have their keys, and what the pages say is for each.
        let csv = report::keys::table(&maps).csv().expect("csv");
        assert!(csv.starts_with("machine,location,"), "{csv}");
        let rules = report::keys::text(&maps, 100);
        assert_eq!(rules.matches(", built ").count(), maps.len(), "{rules}");
    }
    assert!(
        looked_at > 100 && like_named > 20,
        "{looked_at} {like_named}"
    );
}

/// The circuits that interchange at a location are those of one net, branch, interface
/// and key there.
fn interchanged(input: &Input, plan: &Plan, at: &AtLocation) {
    let of = |name: &str| input.circuits.iter().find(|c| c.name == name);
    let mut groups: BTreeMap<_, BTreeSet<&str>> = BTreeMap::new();
    for end in plan.ends.iter().filter(|e| e.location == at.location) {
        let branch = &of(&end.circuit).expect("a circuit").branch;
        let group = (&end.net, branch, &end.interface, &end.key);
        groups.entry(group).or_default().insert(&end.circuit);
    }
    let told = at.proof.exceptions.iter();
    let told = told.filter(|exception| exception.why == Why::Circuits);
    let told: BTreeMap<_, BTreeSet<&str>> = told
        .map(|e| {
            let (feed, identity) = (&e.feeds[0], &e.identity);
            let group = (&feed.net, &feed.branch, &identity.interface, &identity.key);
            let circuits: BTreeSet<&str> = e.circuits.iter().map(|c| &*c.circuit).collect();
            let gauges: BTreeSet<String> = (circuits.iter())
                .filter_map(|name| of(name).map(|c| c.gauge.to_string()))
                .collect();
            assert_eq!(e.is_warning(), gauges.len() > 1, "{e:?}");
            (group, circuits)
        })
        .collect();
    groups.retain(|_, circuits| circuits.len() > 1);
    assert_eq!(told, groups, "{}", at.location);
}

#[test]
fn a_wrong_plug_that_goes_in_is_found() {
    let input = boat().finish();
    let mut plan = planned(&input, &Question::default(), &Limit::default()).expect("a plan");
    for end in &mut plan.ends {
        (end.plug, end.receptacle) = ("PA".to_owned(), Some("RA".to_owned()));
    }
    let map = key_map(&input, &plan).expect("of this catalog");
    let broken = |map: &couplet::study::keys::KeyMap| -> usize {
        let all = map.locations.iter().flat_map(|at| &at.proof.exceptions);
        all.filter(|e| e.why == Why::Broken).map(|e| e.pairs).sum()
    };
    assert_eq!(broken(&map), 2);
    plan.ends[0].plug = "PB".to_owned();
    plan.ends[0].receptacle = Some("RB".to_owned());
    plan.ends[2].plug = "PB".to_owned();
    plan.ends[2].receptacle = Some("RB".to_owned());
    assert_eq!(broken(&key_map(&input, &plan).expect("of this catalog")), 0);
    plan.ends[0].plug = "RB".to_owned();
    let error = key_map(&input, &plan).expect_err("no plug");
    assert_eq!(
        error.to_string(),
        "the plan has the plug RB, which the catalog does not have"
    );
    plan.ends[0].plug = "PB".to_owned();
    plan.ends[0].circuit = "winch".to_owned();
    let error = key_map(&input, &plan).expect_err("no circuit");
    assert_eq!(
        error.to_string(),
        "the plan has the circuit winch, which circuits.csv does not have"
    );
}

/// Edges between vertices 0 to n − 1.
struct Graph {
    n: usize,
    edges: Vec<(usize, usize)>,
}

/// Mycielski's construction on a graph: a copy of each vertex, joined to what
/// the vertex is joined to, and one more vertex, joined to all copies
/// (J. Mycielski, "Sur le coloriage des graphes", Colloquium Mathematicum 3,
/// 1955). It has no triangle if the graph has none, and needs one colour more.
fn mycielskian(graph: &Graph) -> Graph {
    let n = graph.n;
    let copies = graph
        .edges
        .iter()
        .flat_map(|&(a, b)| [(a, n + b), (b, n + a)]);
    let last = (0..n).map(|v| (n + v, 2 * n));
    Graph {
        n: 2 * n + 1,
        edges: graph
            .edges
            .iter()
            .copied()
            .chain(copies)
            .chain(last)
            .collect(),
    }
}

/// The k-th graph of the construction, which needs k colours; the second is one edge.
fn mycielski(k: usize) -> Graph {
    let edge = Graph {
        n: 2,
        edges: vec![(0, 1)],
    };
    (2..k).fold(edge, |graph, _| mycielskian(&graph))
}

/// A machine that can be keyed everywhere just where the graph can be coloured.
///
/// Each vertex is a key, each colour a net, each edge a location where all nets
/// arrive. There fit the keys of its two vertices and, for more than two
/// colours, as many keys of its own, so that there are as many keys as nets:
/// each net has one of them, and no two the same. Everywhere in the machine a
/// key belongs to one net at most: its vertex has one colour, and the two
/// vertices of an edge never the same. The other way round, a colouring gives
/// each net its keys; those of a location's own go to the nets that are left.
fn machine(graph: &Graph, colours: usize) -> Input {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    let nets: Vec<String> = (0..colours).map(|c| format!("N{c}")).collect();
    for (place, &(a, b)) in graph.edges.iter().enumerate() {
        let own = (2..colours).map(|i| format!("e{place}-{i}"));
        let keys = [a, b].map(|v| format!("v{v}")).into_iter().chain(own);
        for key in keys {
            let code = format!("P-{key}");
            shop.body(&code, plug("F", &key));
            shop.offer(&code, "Nord", list(&[(1, "1")]));
            let code = format!("R-{place}-{key}");
            let mut body = receptacle("F", &key);
            body.attach = format!("frame {place}");
            shop.body(&code, body);
            shop.offer(&code, "Nord", list(&[(1, "1")]));
        }
        let location = format!("edge {place}");
        let mut cable = circuit(&format!("C{place}"), &nets.join(" "), &location);
        cable.from.attach = Some(format!("frame {place}"));
        shop.circuits.push(cable);
    }
    shop.settings.keying.distinct = Distinct::Everywhere;
    shop.finish()
}

/// The colour of each vertex in a plan of the machine.
fn colours(plan: &Plan) -> BTreeMap<String, String> {
    let ends = plan.ends.iter().filter(|end| end.key.starts_with('v'));
    ends.map(|end| (end.key.clone(), end.net.clone())).collect()
}

#[test]
fn the_construction_makes_the_known_graphs() {
    // The third is the cycle of 5, the fourth has 11 vertices and 20 edges, the
    // fifth 23 and 71 (3·2^(k−2) − 1 vertices; edges e ↦ 3e + n).
    let sizes = [2, 3, 4, 5].map(|k| (mycielski(k).n, mycielski(k).edges.len()));
    assert_eq!(sizes, [(2, 1), (5, 5), (11, 20), (23, 71)]);
    for k in 3..=5 {
        let graph = mycielski(k);
        let joined: BTreeSet<(usize, usize)> = graph
            .edges
            .iter()
            .flat_map(|&(a, b)| [(a, b), (b, a)])
            .collect();
        let triangle = graph.edges.iter().any(|&(a, b)| {
            (0..graph.n).any(|c| joined.contains(&(a, c)) && joined.contains(&(b, c)))
        });
        assert!(!triangle, "{k}");
    }
}

#[test]
fn keys_everywhere_need_as_many_nets_as_the_graph_needs_colours() {
    let any = Question {
        ties: false,
        ..Question::default()
    };
    let limit = Limit::default().with_gap(100.0);
    for k in 2..=4 {
        let graph = mycielski(k);
        let input = machine(&graph, k);
        let plan =
            planned(&input, &any, &limit).unwrap_or_else(|| panic!("{k} colours are enough"));
        let colour = colours(&plan);
        for (a, b) in graph.edges {
            assert_ne!(colour[&format!("v{a}")], colour[&format!("v{b}")]);
        }
    }
    for k in 3..=4 {
        let input = machine(&mycielski(k), k - 1);
        assert!(
            planned(&input, &any, &Limit::default()).is_none(),
            "{k}: one colour less"
        );
    }
}

#[test]
fn by_location_one_colour_less_is_enough_for_the_same_machine() {
    let mut input = machine(&mycielski(4), 3);
    input.settings.keying.distinct = Distinct::ByLocation;
    let any = Question {
        ties: false,
        ..Question::default()
    };
    assert!(planned(&input, &any, &Limit::default()).is_some());
}
