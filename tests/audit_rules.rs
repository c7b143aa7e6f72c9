//! The audit's rules of fit: each on both sides of its edge. The plan stays as
//! it is; the catalog, the circuits or the settings change under it.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::audit::{Finding, NetName, Rule, audit, audit_since};
use couplet::catalog::{Exit, Fitting, Half, Holds, IfEmpty, Kind, PartId, Rating, Value};
use couplet::plan::{FittingRecord, Plan};
use couplet::project::{Cable, Distinct};
use couplet::units::Implied;
use plan_world::*;

/// What the audit says once the world has changed under a valid plan.
fn after(change: impl FnOnce(&mut World)) -> Vec<Finding> {
    let mut world = World::new();
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    change(&mut world);
    audit(&world.input, &plan)
}

#[track_caller]
fn holds(change: impl FnOnce(&mut World)) {
    assert_eq!(after(change), []);
}

/// Only this rule is broken.
#[track_caller]
fn breaks(rule: Rule, change: impl FnOnce(&mut World)) {
    let found = after(change);
    assert!(!found.is_empty(), "{rule} is not told");
    for finding in found {
        assert!(
            matches!(&finding, Finding::Broken(_, r, _) if *r == rule),
            "{finding}"
        );
    }
}

fn circuits(world: &mut World, change: impl Fn(&mut couplet::project::Circuit)) {
    world.input.circuits.iter_mut().for_each(change);
}

#[test]
fn mate() {
    for interface in [true, false] {
        let found = after(|w| {
            let body = w.body(R_A);
            if interface {
                body.interface = "M10".to_owned();
            } else {
                body.key = "C".to_owned();
            }
        });
        let broken = |f: &Finding| matches!(f, Finding::Broken(_, Rule::Mate, _));
        assert!(found.iter().any(broken), "{found:?}");
    }
}

#[test]
fn poles() {
    breaks(Rule::Poles, |w| w.body(R_A).poles = 2);
    // The ferrules of a plug with two contacts would be two.
    let found = after(|w| w.body(P_A).poles = 2);
    assert!(
        found
            .iter()
            .any(|f| matches!(f, Finding::Broken(_, Rule::Poles, _)))
    );
    assert!(
        found
            .iter()
            .any(|f| matches!(f, Finding::FittingQty(_, Half::Plug, Fitting::Ferrule, _)))
    );
}

#[test]
fn current() {
    for id in [P_A, R_B] {
        holds(|w| w.body(id).rated_a = of("100"));
        breaks(Rule::Current, |w| w.body(id).rated_a = of("99.999999"));
    }
}

/// At 40 °C a body rated at −20 °C up to 60 °C keeps sqrt(20/80), exactly a half;
/// one rated at 20 °C up to 100 °C keeps sqrt(60/80) = 0.8660...
#[test]
fn derating() {
    let derated = |rated_a: &'static str, rated_c: &'static str, max_c: &'static str| {
        move |w: &mut World| {
            let body = w.body(P_A);
            body.rated_a = of(rated_a);
            body.rated_c = Some(of(rated_c));
            body.max_c = Some(of(max_c));
        }
    };
    // (60 − 40) / (60 + 20) = 1/4: half of 200 A is just enough for 100 A.
    holds(derated("200", "-20", "60"));
    breaks(Rule::Current, derated("199.999999", "-20", "60"));
    breaks(Rule::Current, derated("200", "-20.000001", "60"));
    // 100 / 0.866025403784438646... = 115.470053837925152...
    holds(derated("115.47005383792516", "20", "100"));
    breaks(Rule::Current, derated("115.47005383792515", "20", "100"));
    // At most 1: no gain where it is cooler than rated.
    holds(derated("100", "40", "100"));
    holds(derated("100", "70", "100"));
    breaks(Rule::Current, derated("99.9", "70", "100"));
    // At the limit nothing is left, however much is rated.
    breaks(Rule::Current, derated("1000000", "20", "40"));
    holds(derated("1000000", "20", "40.0001"));
    breaks(Rule::Current, derated("1000000", "20", "39"));
    breaks(Rule::Current, |w| {
        derated("100", "20", "40")(w);
        circuits(w, |c| c.current = of("0"));
    });
    // Without an ambient nothing is derated.
    holds(|w| {
        derated("100", "-20", "60")(w);
        w.input.settings.ambient = None;
    });
    // Only one of the two is known: no factor.
    holds(|w| w.body(P_A).rated_c = Some(of("-20")));
    holds(|w| w.body(P_A).max_c = Some(of("60")));
}

#[test]
fn voltage() {
    for id in [P_B, R_A] {
        holds(|w| w.body(id).rated_v = of("400"));
        breaks(Rule::Voltage, |w| w.body(id).rated_v = of("399.9"));
    }
}

#[test]
fn attach() {
    breaks(Rule::Attach, |w| w.body(P_A).attach = "busbar".to_owned());
    breaks(Rule::Attach, |w| w.body(R_A).attach = "stud".to_owned());
    breaks(Rule::Attach, |w| {
        w.input.circuits[1].to.attach = Some("stud".to_owned())
    });
    // An in-line joint.
    holds(|w| {
        w.body(R_A).attach = "crimp".to_owned();
        w.body(R_B).attach = "crimp".to_owned();
        circuits(w, |c| {
            c.from.attach = c.from.attach.as_ref().map(|_| "crimp".to_owned());
            c.to.attach = Some("crimp".to_owned());
        });
    });
}

#[test]
fn exit() {
    holds(|w| w.input.circuits[0].to.exit = Some(Exit::Straight));
    breaks(Rule::Exit, |w| {
        w.input.circuits[0].to.exit = Some(Exit::RightAngle)
    });
    holds(|w| w.shell().exit = Some(Exit::Straight));
    breaks(Rule::Exit, |w| w.shell().exit = Some(Exit::RightAngle));
    // Either exit will do where none is wanted.
    holds(|w| w.body(P_A).exit = Some(Exit::RightAngle));
}

#[test]
fn ferrule() {
    // 50 mm² and 1/0 AWG, 53.4751 mm².
    holds(|w| w.ferrule(F_50).min_mm2 = of("50"));
    breaks(Rule::Ferrule, |w| w.ferrule(F_50).min_mm2 = of("50.0001"));
    holds(|w| w.ferrule(F_50).max_mm2 = of("53.4751"));
    breaks(Rule::Ferrule, |w| w.ferrule(F_50).max_mm2 = of("53.475"));
    breaks(Rule::Ferrule, |w| w.ferrule(F_50).barrel = "B70".to_owned());
}

#[test]
fn seal() {
    holds(|w| w.seal().min_od = of("14"));
    breaks(Rule::Seal, |w| w.seal().min_od = of("14.01"));
    holds(|w| w.seal().max_od = of("14"));
    breaks(Rule::Seal, |w| w.seal().max_od = of("13.99"));
    breaks(Rule::Seal, |w| w.seal().rear = "R2".to_owned());
}

#[test]
fn back_shell() {
    holds(|w| w.shell().max_od = of("14"));
    breaks(Rule::BackShell, |w| w.shell().max_od = of("13.99"));
    breaks(Rule::BackShell, |w| w.shell().rear = "R2".to_owned());
}

#[test]
fn limits_of_a_body() {
    holds(|w| w.body(P_B).min_od = Some(of("14")));
    breaks(Rule::Seal, |w| w.body(P_B).min_od = Some(of("14.1")));
    holds(|w| w.body(P_B).max_od = Some(of("14")));
    breaks(Rule::Seal, |w| w.body(P_B).max_od = Some(of("13.9")));
    holds(|w| w.body(P_B).min_mm2 = Some(of("50")));
    breaks(Rule::Ferrule, |w| w.body(P_B).min_mm2 = Some(of("50.1")));
    holds(|w| w.body(P_B).max_mm2 = Some(of("50")));
    breaks(Rule::Ferrule, |w| w.body(P_B).max_mm2 = Some(of("49.9")));
}

#[test]
fn protection() {
    let wanted = |code: &'static str| {
        move |w: &mut World| circuits(w, |c| c.ip = Some(code.parse().unwrap()))
    };
    // IEC 60529: 7 does not give 5 or 6 of the second numeral.
    breaks(Rule::Protection, wanted("IP65"));
    holds(wanted("IP57"));
    breaks(Rule::Protection, wanted("IP64"));
    holds(|w| {
        wanted("IP64")(w);
        w.input.settings.protection = Implied::Customary;
    });
    for id in [P_A, R_B] {
        breaks(Rule::Protection, |w| w.body(id).ip = None);
        breaks(Rule::Protection, |w| {
            w.body(id).ip = Some("IP54".parse().unwrap())
        });
        holds(|w| w.body(id).ip = Some("IP54/IP67".parse().unwrap()));
    }
    breaks(Rule::Protection, |w| {
        w.seal().ip = Some("IP54".parse().unwrap())
    });
    holds(|w| w.seal().ip = None);
    holds(|w| {
        circuits(w, |c| c.ip = None);
        w.body(P_A).ip = None;
    });
}

#[test]
fn colour() {
    for id in [P_A, R_B] {
        breaks(Rule::Colour, |w| {
            w.body(id).colour = Some("black".to_owned())
        });
        breaks(Rule::Colour, |w| w.body(id).colour = None);
    }
    holds(|w| w.shell().colour = Some("orange".to_owned()));
    breaks(Rule::Colour, |w| {
        w.shell().colour = Some("black".to_owned())
    });
    holds(|w| {
        circuits(w, |c| c.colour = None);
        w.shell().colour = Some("black".to_owned());
    });
}

/// Nets with their branches.
fn nets(all: &[(&str, &str)]) -> Vec<NetName> {
    let name = |(net, branch): &(&str, &str)| NetName {
        net: (*net).to_owned(),
        branch: (*branch).to_owned(),
    };
    all.iter().map(name).collect()
}

/// Both nets of the battery with key A throughout.
fn same_key(world: &mut World) -> Plan {
    let set = world.solution.sets[0].clone();
    world.solution.sets = vec![set; 5];
    world.input.on_hand.remove(&R_B);
    world.buy(P_A_NORD, 5);
    world.buy(P_B_NORD, 0);
    world.buy(R_A_SOUTH, 5);
    world.buy(S_1_SOUTH, 2);
    world.plan()
}

#[test]
fn keying() {
    let mut world = World::new();
    let plan = same_key(&mut world);
    let clash = |location: &str| Finding::KeyingClash {
        machine: String::new(),
        location: Some(location.to_owned()),
        interface: "M8".to_owned(),
        key: "A".to_owned(),
        nets: nets(&[("HV+", ""), ("HV-", "")]),
    };
    assert_eq!(
        audit(&world.input, &plan),
        [clash("inverter"), clash("pack")]
    );

    world
        .input
        .settings
        .keying
        .ignore_at
        .insert("pack".to_owned());
    assert_eq!(audit(&world.input, &plan), [clash("inverter")]);

    world.input.settings.keying.distinct = Distinct::Off;
    assert_eq!(audit(&world.input, &plan), []);
}

#[test]
fn keying_everywhere_leaves_out_what_is_ignored() {
    let mut world = World::new();
    let plan = same_key(&mut world);
    let keying = |world: &mut World, ignored: &[&str]| {
        world.input.settings.keying.distinct = Distinct::Everywhere;
        let ignored = ignored.iter().map(|at| (*at).to_owned());
        world.input.settings.keying.ignore_at = ignored.collect();
        audit(&world.input, &plan)
    };
    let clash = Finding::KeyingClash {
        machine: String::new(),
        location: None,
        interface: "M8".to_owned(),
        key: "A".to_owned(),
        nets: nets(&[("HV+", ""), ("HV-", "")]),
    };
    assert_eq!(
        clash.to_string(),
        "nets HV+, HV- share interface M8, key \"A\""
    );
    let all = keying(&mut world, &[]);
    assert!(
        matches!(&all[..], [Finding::KeyingClash { location: None, nets, .. }] if nets.len() == 3),
        "{all:?}"
    );
    assert_eq!(keying(&mut world, &["heater"]), [clash]);
    assert_eq!(keying(&mut world, &["heater", "pack", "inverter"]), []);
}

/// HV+ of both circuits at the inverter, both with key A, on these branches.
fn on_branches(battery: &str, heater: &str) -> (World, Plan) {
    let mut world = World::new();
    world.input.circuits[0].branch = battery.to_owned();
    world.input.circuits[1].branch = heater.to_owned();
    world.input.circuits[1].conductors = vec!["HV+".to_owned()];
    world.input.circuits[1].to.location = "inverter".to_owned();
    world.fit.ends[4].net = "HV+".to_owned();
    world.fit.ends[4].location = "inverter".to_owned();
    let plan = world.plan();
    (world, plan)
}

#[test]
fn branches_of_one_net_are_kept_apart() {
    let clash = |battery, heater| {
        let (world, plan) = on_branches(battery, heater);
        audit(&world.input, &plan)
    };
    let of = |branches: &[(&str, &str)], location: Option<&str>| Finding::KeyingClash {
        machine: String::new(),
        location: location.map(str::to_owned),
        interface: "M8".to_owned(),
        key: "A".to_owned(),
        nets: nets(branches),
    };
    // Equal branches are one, and all circuits without a branch are of one.
    assert_eq!(clash("", ""), []);
    assert_eq!(clash("drive", "drive"), []);
    let (drive, aux, none) = (("HV+", "drive"), ("HV+", "aux"), ("HV+", ""));
    let at = Some("inverter");
    assert_eq!(clash("drive", "aux"), [of(&[aux, drive], at)]);
    assert_eq!(
        clash("drive", "Drive"),
        [of(&[("HV+", "Drive"), drive], at)]
    );
    assert_eq!(clash("drive", ""), [of(&[none, drive], at)]);
    assert_eq!(clash("", "aux"), [of(&[none, aux], at)]);

    let (mut world, plan) = on_branches("drive", "");
    world.input.settings.keying.ignore_at = ["inverter".to_owned()].into();
    assert_eq!(audit(&world.input, &plan), []);
    // Elsewhere and anywhere.
    world.input.settings.keying.ignore_at.clear();
    world.input.circuits[1].to.location = "heater".to_owned();
    world.fit.ends[4].location = "heater".to_owned();
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    world.input.settings.keying.distinct = Distinct::Everywhere;
    assert_eq!(audit(&world.input, &plan), [of(&[none, drive], None)]);
    world.input.settings.keying.distinct = Distinct::Off;
    assert_eq!(audit(&world.input, &plan), []);
}

#[test]
fn a_branch_does_not_join_two_nets() {
    let mut world = World::new();
    circuits(&mut world, |c| c.branch = "drive".to_owned());
    let plan = same_key(&mut world);
    let found = audit(&world.input, &plan);
    assert_eq!(found.len(), 2);
    assert_eq!(
        found[0].to_string(),
        "location inverter: nets HV+ of branch drive, HV- of branch drive share interface M8, key \"A\""
    );
    let (world, plan) = on_branches("drive", "");
    assert_eq!(
        audit(&world.input, &plan)[0].to_string(),
        "location inverter: nets HV+ of no branch, HV+ of branch drive share interface M8, key \"A\""
    );
}

#[test]
fn a_net_has_its_keys_wherever_it_is() {
    let keep = |net: &'static str, keys: &'static [&'static str]| {
        move |w: &mut World| {
            let keys = keys.iter().map(|key| (*key).to_owned()).collect();
            w.input.settings.keying.keys.insert(net.to_owned(), keys);
        }
    };
    // HV+ has key A throughout, HV- has key B.
    holds(keep("HV+", &["A"]));
    holds(keep("HV+", &["A", "B"]));
    holds(keep("HV-", &["B"]));
    holds(keep("PE", &["1"]));
    breaks(Rule::NetKeys, keep("HV+", &["B"]));
    // The interface has none of these keys.
    breaks(Rule::NetKeys, keep("HV+", &["1", "2"]));
    breaks(Rule::NetKeys, keep("HV-", &["a", "b"]));
    // With keying off, and at a location that is left out.
    breaks(Rule::NetKeys, |w| {
        keep("HV+", &["B"])(w);
        w.input.settings.keying.distinct = Distinct::Off;
    });
    breaks(Rule::NetKeys, |w| {
        keep("H+", &["B"])(w);
        w.input.settings.keying.ignore_at = ["heater".to_owned()].into();
    });
    // The names of nets and keys are compared letter by letter.
    holds(keep("hv+", &["B"]));
    breaks(Rule::NetKeys, keep("HV+", &["AA"]));
    // Both halves of both ends.
    let found = after(keep("HV+", &["B", "C"]));
    assert_eq!(found.len(), 4);
    assert_eq!(
        found[0].to_string(),
        "circuit battery, HV+, from end: net keys: receptacle R-A: has key \"A\", \
         but net HV+ keeps to B, C"
    );
}

#[test]
fn a_body_without_a_key_may_serve_any_net() {
    let mut world = World::new();
    for id in [P_A, R_A] {
        world.body(id).key.clear();
    }
    let keys = ["B".to_owned()].into();
    world
        .input
        .settings
        .keying
        .keys
        .insert("HV+".to_owned(), keys);
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    // One half with a key is enough.
    world.body(R_A).key = "A".to_owned();
    let found = audit(&world.input, &plan);
    let of_keys = |f: &&Finding| matches!(f, Finding::Broken(_, Rule::NetKeys, _));
    assert_eq!(found.iter().filter(of_keys).count(), 2);
}

#[test]
fn the_keys_of_a_multi_core_cable_are_those_of_its_whole_net() {
    let keep = |net: &str| {
        let mut world = World::new();
        world.input.circuits.remove(0);
        world.input.circuits[0].cable = Cable::Multi;
        world.input.circuits[0].conductors = vec!["U".to_owned(), "V".to_owned()];
        for id in [P_A, R_A] {
            world.body(id).poles = 2;
        }
        let mut end = world.fit.ends.pop().unwrap();
        (end.circuit, end.net) = (0, "U V".to_owned());
        world.fit.ends = vec![end];
        let mut set = world.solution.sets.pop().unwrap();
        set.fittings[0].qty = 2;
        world.solution.sets = vec![set];
        world.buy(P_B_NORD, 0);
        world.supplier(NORD).min_order = None;
        let keys = ["B".to_owned()].into();
        world
            .input
            .settings
            .keying
            .keys
            .insert(net.to_owned(), keys);
        audit(&world.input, &world.plan())
    };
    assert_eq!(keep("U"), []);
    assert_eq!(keep("V U"), []);
    let found = keep("U V");
    let is_it = |f: &Finding| matches!(f, Finding::Broken(_, Rule::NetKeys, _));
    assert!(found.len() == 2 && found.iter().all(is_it), "{found:?}");
}

#[test]
fn an_end_may_ask_for_an_interface() {
    holds(|w| w.input.circuits[0].from.interface = Some("M8".to_owned()));
    breaks(Rule::Interface, |w| {
        w.input.circuits[0].from.interface = Some("M10".to_owned());
    });
    breaks(Rule::Interface, |w| {
        w.input.circuits[1].to.interface = Some("m8".to_owned());
    });
    let found = after(|w| w.input.circuits[1].to.interface = Some("M80".to_owned()));
    assert_eq!(
        found.iter().map(Finding::to_string).collect::<Vec<_>>(),
        ["receptacle R-A", "plug P-A"].map(|of| format!(
            "circuit heater, H+, to end: interface: {of}: has interface M8, the end asks for M80"
        ))
    );
    // An end without a connector asks for nothing.
    holds(|w| w.input.circuits[1].from.interface = Some("M10".to_owned()));
}

fn rating(min: &str, max: &str, rated_a: &str) -> Rating {
    Rating {
        min_mm2: of(min),
        max_mm2: of(max),
        rated_a: of(rated_a),
    }
}

/// The battery is on 50 mm², the heater on 1/0 AWG, 53.4751 mm²; both need 100 A.
#[test]
fn ratings_by_gauge() {
    let rows = |id: PartId, rows: &'static [(&str, &str, &str)]| {
        move |w: &mut World| {
            let all = rows.iter().map(|(min, max, a)| rating(min, max, a));
            w.body(id).ratings = all.collect();
        }
    };
    for id in [P_A, P_B, R_A, R_B] {
        holds(rows(id, &[("50", "60", "100")]));
        breaks(Rule::Current, rows(id, &[("40", "60", "99.9")]));
        // Limits are included, on both sides.
        breaks(Rule::Current, rows(id, &[("50", "50", "99.9")]));
        breaks(Rule::Current, rows(id, &[("10", "50", "99.9")]));
        holds(rows(id, &[("10", "49.999999", "1")]));
        holds(rows(id, &[("53.4752", "95", "1")]));
    }
    // Between the two areas of these bodies: one end at 1/0 AWG, or all but that one.
    let found = after(rows(P_A, &[("50.000001", "53.4751", "99")]));
    assert!(
        matches!(&found[..], [Finding::Broken(end, Rule::Current, _)] if end.net == "H+"),
        "{found:?}"
    );
    let found = after(rows(P_A, &[("50", "53.475", "99")]));
    assert!(
        found
            .iter()
            .all(|f| matches!(f, Finding::Broken(end, ..) if end.net == "HV+"))
    );
    assert_eq!(found.len(), 2);
    // The lowest of several, in any order.
    breaks(
        Rule::Current,
        rows(P_A, &[("1", "99", "99"), ("1", "99", "300")]),
    );
    breaks(
        Rule::Current,
        rows(P_A, &[("1", "99", "300"), ("1", "99", "99")]),
    );
    holds(rows(P_A, &[("1", "99", "300"), ("1", "99", "100")]));
    // In place of the body's own, also where it is higher.
    holds(|w| {
        rows(P_A, &[("1", "99", "100")])(w);
        w.body(P_A).rated_a = of("10");
    });
    breaks(Rule::Current, |w| {
        rows(P_A, &[("1", "53", "100")])(w);
        w.body(P_A).rated_a = of("10");
    });
    assert_eq!(
        found[0].to_string(),
        "circuit battery, HV+, from end: current: plug P-A: is rated 99 A on 50 mm², \
         but 100 A is needed"
    );
}

/// At 40 °C a body rated at −20 °C up to 60 °C keeps a half.
#[test]
fn a_rating_by_gauge_is_derated() {
    let derated = |rated_a: &'static str| {
        move |w: &mut World| {
            let body = w.body(P_A);
            body.rated_a = of("1");
            body.ratings = vec![rating("50", "54", rated_a)];
            (body.rated_c, body.max_c) = (Some(of("-20")), Some(of("60")));
        }
    };
    holds(derated("200"));
    breaks(Rule::Current, derated("199.999999"));
    breaks(Rule::Current, |w| {
        derated("1000000")(w);
        w.body(P_A).max_c = Some(of("40"));
    });
}

/// A part of each kind, as the plan has it.
const PARTS: [(Kind, PartId); 5] = [
    (Kind::Plug, P_A),
    (Kind::Receptacle, R_A),
    (Kind::Ferrule, F_50),
    (Kind::Seal, S_1),
    (Kind::BackShell, BS_1),
];

fn word(text: &str) -> Option<Value> {
    Some(Value::Word(text.to_owned()))
}

fn words(text: &str) -> Option<Value> {
    let words = text.split(' ').map(str::to_owned);
    Some(Value::Words(words.collect()))
}

fn number(text: &str) -> Option<Value> {
    Some(Value::Number(text.parse().unwrap()))
}

/// Asks each kind of part for an attribute, one kind at a time: all parts have this
/// value, or all ends want that one. Tells whether the plan passes.
#[track_caller]
fn asks(holds: Holds, if_empty: IfEmpty, has: Option<Value>, wants: Option<Value>) -> bool {
    let passes = PARTS.map(|(kind, id)| {
        let found = after(|w| {
            let place = w.ask("grade", &[kind], holds, if_empty);
            for part in &mut w.input.catalog.parts {
                part.values[place] = has.clone();
            }
            for circuit in &mut w.input.circuits {
                circuit.from.wants[place] = wants.clone();
                circuit.to.wants[place] = wants.clone();
            }
        });
        let rule = Rule::Attribute("grade".to_owned());
        let code = World::new().part(id).code.clone();
        let is_named = |f: &Finding| matches!(f, Finding::Broken(_, r, why) if *r == rule && why.contains(&code));
        let is_rule = |f: &Finding| matches!(f, Finding::Broken(_, r, _) if *r == rule);
        assert!(found.iter().all(is_rule), "{found:?}");
        assert!(found.is_empty() || found.iter().any(is_named), "{found:?}");
        found.is_empty()
    });
    assert!(passes.iter().all(|p| *p == passes[0]), "{passes:?}");
    passes[0]
}

#[test]
fn attributes_hold_in_five_ways_on_each_kind_of_part() {
    use Holds::*;
    use IfEmpty::Refuses;
    assert!(asks(Equal, Refuses, word("tin"), word("tin")));
    assert!(!asks(Equal, Refuses, word("tin"), word("Tin")));
    assert!(!asks(Equal, Refuses, word("tin"), word("tin plate")));

    assert!(asks(Has, Refuses, words("ce rohs ul"), words("ul ce")));
    assert!(asks(Has, Refuses, words("ce"), words("ce")));
    assert!(!asks(Has, Refuses, words("ce"), words("ce ul")));
    assert!(!asks(Has, Refuses, words("ces"), words("ce")));

    assert!(asks(AtLeast, Refuses, number("105"), number("105.00")));
    assert!(asks(AtLeast, Refuses, number("105.000001"), number("105")));
    assert!(!asks(AtLeast, Refuses, number("104.999999"), number("105")));
    assert!(asks(AtLeast, Refuses, number("-40"), number("-55")));
    assert!(!asks(AtLeast, Refuses, number("9"), number("10")));

    assert!(asks(AtMost, Refuses, number("5"), number("5.0")));
    assert!(asks(AtMost, Refuses, number("4.999999"), number("5")));
    assert!(!asks(AtMost, Refuses, number("5.000001"), number("5")));
    assert!(!asks(AtMost, Refuses, number("10"), number("9")));

    // Nothing wanted asks nothing.
    for (way, has) in [
        (Equal, word("tin")),
        (Has, words("ce")),
        (AtLeast, number("1")),
        (AtMost, number("1")),
    ] {
        assert!(asks(way, Refuses, has, None));
        assert!(asks(way, Refuses, None, None));
    }
}

#[test]
fn a_part_without_a_value_is_refused_or_meets() {
    for (holds, wants) in [
        (Holds::Equal, word("tin")),
        (Holds::Has, words("ce")),
        (Holds::AtLeast, number("-1")),
        (Holds::AtMost, number("1000000")),
    ] {
        assert!(
            !asks(holds, IfEmpty::Refuses, None, wants.clone()),
            "{holds:?}"
        );
        assert!(asks(holds, IfEmpty::Meets, None, wants), "{holds:?}");
    }
    // What has a value is held to it all the same.
    assert!(!asks(
        Holds::Equal,
        IfEmpty::Meets,
        word("tin"),
        word("gold")
    ));
    assert!(!asks(
        Holds::AtLeast,
        IfEmpty::Meets,
        number("1"),
        number("2")
    ));
}

#[test]
fn an_attribute_is_asked_of_its_kinds_alone_and_by_the_end_that_wants_it() {
    let ask = |kinds: &'static [Kind], wants: fn(&mut World, usize)| {
        after(|w| {
            let place = w.ask("temp_class", kinds, Holds::AtLeast, IfEmpty::Refuses);
            w.part(P_A).values[place] = number("105");
            wants(w, place);
        })
    };
    let heater = |w: &mut World, place: usize| w.input.circuits[1].to.wants[place] = number("120");
    let found = ask(&[Kind::Plug], heater);
    assert_eq!(
        found.iter().map(Finding::to_string).collect::<Vec<_>>(),
        [
            "circuit heater, H+, to end: attribute temp_class: plug P-A: has 105, \
          but at least 120 is wanted"
        ]
    );
    let found = ask(&[Kind::BackShell, Kind::Seal], heater);
    assert_eq!(
        found.iter().map(Finding::to_string).collect::<Vec<_>>(),
        ["seal, S-1", "back-shell, BS-1"].map(|of| {
            let code = of.split_once(", ").unwrap().1;
            format!(
                "circuit heater, H+, to end: attribute temp_class: plug, {code}: has none, \
                 but at least 120 is wanted"
            )
        })
    );
    // An end without a connector asks for nothing.
    let none = |w: &mut World, place: usize| w.input.circuits[1].from.wants[place] = number("120");
    assert_eq!(ask(&[Kind::Plug], none), []);
}

/// The plug of HV- has its seal in the box.
#[test]
fn nothing_is_asked_of_what_comes_in_a_box() {
    let found = after(|w| {
        let place = w.ask("grade", &[Kind::Seal], Holds::Equal, IfEmpty::Refuses);
        circuits(w, |c| {
            c.from.wants[place] = word("a");
            c.to.wants[place] = word("a");
        });
    });
    let nets = found.iter().map(|finding| match finding {
        Finding::Broken(end, Rule::Attribute(_), _) => end.net.as_str(),
        other => panic!("{other}"),
    });
    assert_eq!(nets.collect::<Vec<_>>(), ["HV+", "HV+", "H+"]);
}

/// Two attributes keep each their place.
#[test]
fn each_attribute_has_its_own_value() {
    let found = after(|w| {
        let class = w.ask("class", &[Kind::Plug], Holds::AtLeast, IfEmpty::Refuses);
        let grade = w.ask("grade", &[Kind::Plug], Holds::AtMost, IfEmpty::Refuses);
        for id in [P_A, P_B] {
            w.part(id).values[class] = number("5");
            w.part(id).values[grade] = number("7");
        }
        circuits(w, |c| {
            c.to.wants[class] = number("5");
            c.to.wants[grade] = number("6");
        });
    });
    let rules = found.iter().map(|finding| match finding {
        Finding::Broken(_, rule, _) => rule.word(),
        other => panic!("{other}"),
    });
    assert_eq!(rules.collect::<Vec<_>>(), ["grade"; 3]);
    // What is wanted of the one is not wanted of the other.
    holds(|w| {
        let kinds = [Kind::Plug];
        let class = w.ask("class", &kinds, Holds::AtLeast, IfEmpty::Refuses);
        let grade = w.ask("grade", &kinds, Holds::AtLeast, IfEmpty::Refuses);
        for id in [P_A, P_B] {
            w.part(id).values[class] = number("5");
            w.part(id).values[grade] = number("3");
        }
        circuits(w, |c| {
            c.to.wants[class] = number("5");
            c.to.wants[grade] = number("3");
        });
    });
}

/// Whether a plug and a receptacle with these words go together at an end that wants
/// this one.
fn pairs(if_empty: IfEmpty, plug: &str, receptacle: &str, wants: &str) -> bool {
    let given = |text: &str| word(text).filter(|_| !text.is_empty());
    let found = after(|w| {
        let halves = [Kind::Plug, Kind::Receptacle];
        let place = w.ask("plating", &halves, Holds::Same, if_empty);
        for (id, value) in [
            (P_A, plug),
            (P_B, plug),
            (R_A, receptacle),
            (R_B, receptacle),
        ] {
            w.part(id).values[place] = given(value);
        }
        circuits(w, |c| {
            c.from.wants[place] = given(wants);
            c.to.wants[place] = given(wants);
        });
    });
    let rule = Rule::Attribute("plating".to_owned());
    let is_rule = |f: &Finding| matches!(f, Finding::Broken(_, r, _) if *r == rule);
    assert!(found.iter().all(is_rule), "{found:?}");
    found.is_empty()
}

#[test]
fn the_halves_of_a_pair_have_the_same_word() {
    use IfEmpty::{Meets, Refuses};
    for if_empty in [Refuses, Meets] {
        // Whether or not the end wants a word.
        assert!(pairs(if_empty, "tin", "tin", ""));
        assert!(!pairs(if_empty, "tin", "gold", ""));
        assert!(!pairs(if_empty, "tin", "gold", "tin"));
        assert!(pairs(if_empty, "tin", "tin", "tin"));
        assert!(!pairs(if_empty, "tin", "tin", "gold"));
        // Two empty ones are equal.
        assert!(pairs(if_empty, "", "", ""));
    }
    // One empty: with any, or with none.
    assert!(!pairs(Refuses, "tin", "", ""));
    assert!(!pairs(Refuses, "", "tin", ""));
    assert!(pairs(Meets, "tin", "", ""));
    assert!(pairs(Meets, "", "tin", ""));
    // What is wanted both must have.
    assert!(!pairs(Refuses, "", "", "tin"));
    assert!(pairs(Meets, "", "", "tin"));
    assert!(!pairs(Refuses, "tin", "", "tin"));
    assert!(pairs(Meets, "tin", "", "tin"));
    assert!(!pairs(Meets, "tin", "", "gold"));
    assert!(!pairs(Meets, "", "tin", "gold"));
}

#[test]
fn halves_that_differ_are_told_in_words() {
    let found = after(|w| {
        let halves = [Kind::Plug, Kind::Receptacle];
        let place = w.ask("plating", &halves, Holds::Same, IfEmpty::Refuses);
        w.part(P_B).values[place] = word("tin");
        w.part(R_B).values[place] = word("gold");
        w.part(P_A).values[place] = word("tin");
    });
    let told: Vec<String> = found.iter().map(Finding::to_string).collect();
    assert_eq!(
        told[0],
        "circuit battery, HV+, from end: attribute plating: the plug has tin, \
         the receptacle has none"
    );
    assert_eq!(
        told[2],
        "circuit battery, HV-, from end: attribute plating: the plug has tin, \
         the receptacle has gold"
    );
    assert_eq!(told.len(), 5);
}

/// The heater has its receptacle already, of interface M8 and key A.
fn built_in() -> (World, Plan) {
    let mut world = World::new();
    world.build_in(4);
    let plan = world.plan();
    assert_eq!(audit(&world.input, &plan), []);
    (world, plan)
}

fn after_built_in(change: impl FnOnce(&mut World, &mut Plan)) -> Vec<Finding> {
    let (mut world, mut plan) = built_in();
    change(&mut world, &mut plan);
    audit(&world.input, &plan)
}

#[test]
fn a_plug_mates_with_what_the_device_has() {
    let mates = |interface: &str, key: Option<&str>| {
        let found = after_built_in(|w, _| {
            let end = w.terminal(4);
            end.interface = Some(interface.to_owned());
            end.key = key.map(str::to_owned);
        });
        let is_it =
            |f: &Finding| matches!(f, Finding::Broken(end, Rule::Mate, _) if end.net == "H+");
        assert!(found.len() <= 1 && found.iter().all(is_it), "{found:?}");
        found.is_empty()
    };
    assert!(mates("M8", Some("A")));
    assert!(!mates("M8", Some("B")));
    assert!(!mates("M8", None));
    assert!(!mates("M10", Some("A")));
    // What is not known can't mate.
    let found = after_built_in(|w, _| w.terminal(4).interface = None);
    assert_eq!(
        found.iter().map(Finding::to_string).collect::<Vec<_>>(),
        [
            "circuit heater, H+, to end: mate: the plug has interface M8, key \"A\", \
          the built-in receptacle has interface , key \"A\""
        ]
    );
    // An interface without keys.
    let found = after_built_in(|w, plan| {
        w.terminal(4).key = None;
        w.body(P_A).key.clear();
        w.body(R_A).key.clear();
        *plan = w.plan();
    });
    assert_eq!(found, []);
}

#[test]
fn a_receptacle_stands_in_the_record_just_where_it_is_bought() {
    let counted = |f: &Finding| matches!(f, Finding::Part(_) | Finding::Short { .. });
    let found = after_built_in(|_, plan| plan.ends[4].receptacle = Some("R-A".to_owned()));
    let needless = &found[0];
    assert_eq!(
        needless.to_string(),
        "circuit heater, H+, to end: has a receptacle, but the device has its own"
    );
    assert!(found[1..].iter().all(counted), "{found:?}");
    let found = after_built_in(|_, plan| plan.ends[0].receptacle = None);
    assert_eq!(
        found[0].to_string(),
        "circuit battery, HV+, from end: has no receptacle"
    );
    assert!(found[1..].iter().all(counted), "{found:?}");
    // An empty code is none that the catalog has.
    let found = after_built_in(|_, plan| plan.ends[0].receptacle = Some(String::new()));
    assert!(found.contains(&Finding::UnknownPart(String::new())));
    // What is built in at one end is not at the others.
    let found = after_built_in(|w, _| w.terminal(4).attach = Some("busbar".to_owned()));
    assert!(
        matches!(&found[..], [Finding::MissingReceptacle(_)]),
        "{found:?}"
    );
}

#[test]
fn a_built_in_receptacle_takes_no_fittings() {
    let found = after_built_in(|_, plan| {
        let seal = FittingRecord {
            half: "receptacle".to_owned(),
            kind: "seal".to_owned(),
            part: "S-1".to_owned(),
            qty: 1,
        };
        plan.ends[4].fittings.insert(0, seal);
    });
    assert!(
        matches!(
            found[0],
            Finding::UnneededFitting(_, Half::Receptacle, Fitting::Seal)
        ),
        "{found:?}"
    );
    // The plug's are needed as everywhere.
    let found = after_built_in(|_, plan| {
        plan.ends[4].fittings.remove(0);
    });
    assert!(
        matches!(
            found[0],
            Finding::MissingFitting(_, Half::Plug, Fitting::Ferrule)
        ),
        "{found:?}"
    );
}

#[test]
fn nothing_is_asked_of_a_built_in_receptacle_but_of_its_plug() {
    let ask = |kinds: &'static [Kind], holds, has: Option<Value>| {
        after_built_in(|w, _| {
            let place = w.ask("plating", kinds, holds, IfEmpty::Refuses);
            for id in [P_A, R_A, P_B, R_B] {
                w.part(id).values[place] = has.clone();
            }
            w.terminal(4).wants[place] = word("tin");
        })
    };
    let halves = &[Kind::Plug, Kind::Receptacle];
    assert_eq!(ask(&[Kind::Receptacle], Holds::Equal, None), []);
    assert_eq!(ask(halves, Holds::Same, word("tin")), []);
    for (kinds, holds) in [(&halves[..1], Holds::Equal), (halves, Holds::Same)] {
        let found = ask(kinds, holds, word("gold"));
        assert!(
            matches!(&found[..], [Finding::Broken(end, Rule::Attribute(_), why)]
                if end.net == "H+" && why.starts_with("plug P-A: ")),
            "{found:?}"
        );
    }
    // The plug has a word, and the device's is not known.
    let found = after_built_in(|w, _| {
        let place = w.ask("plating", halves, Holds::Same, IfEmpty::Refuses);
        for id in [P_A, R_A] {
            w.part(id).values[place] = word("tin");
        }
    });
    assert_eq!(found, []);
    let only_at = |rule: Rule, change: fn(&mut World)| {
        let found = after_built_in(|w, _| change(w));
        let is_it = |f: &Finding| matches!(f, Finding::Broken(_, r, _) if *r == rule);
        assert!(!found.is_empty() && found.iter().all(is_it), "{found:?}");
    };
    only_at(Rule::Attach, |w| w.body(P_A).attach = "busbar".to_owned());
    only_at(Rule::Voltage, |w| w.body(P_A).rated_v = of("1"));
    only_at(Rule::Colour, |w| {
        w.input.circuits[1].colour = Some("red".to_owned())
    });
    only_at(Rule::NetKeys, |w| {
        let keys = ["B".to_owned()].into();
        w.input.settings.keying.keys.insert("H+".to_owned(), keys);
    });
}

/// Both nets of the battery have a device of key A at the pack.
#[test]
fn built_in_receptacles_are_under_the_keying_rule() {
    let mut world = World::new();
    world.build_in(0);
    let plan = world.plan();
    let found = audit(&world.input, &plan);
    assert!(
        matches!(&found[..], [Finding::Broken(end, Rule::Mate, _)] if end.net == "HV-"),
        "{found:?}"
    );
    world.solution.sets[2] = world.solution.sets[0].clone();
    world.buy(P_A_NORD, 4);
    world.buy(S_1_SOUTH, 2);
    let plan = world.plan();
    assert_eq!(
        audit(&world.input, &plan),
        [Finding::KeyingClash {
            machine: String::new(),
            location: Some("pack".to_owned()),
            interface: "M8".to_owned(),
            key: "A".to_owned(),
            nets: nets(&[("HV+", ""), ("HV-", "")]),
        }]
    );
}

/// What rests on a file that has changed is not told: attributes and ratings are of
/// what fits where.
#[test]
fn a_rule_rests_on_the_file_that_it_stands_in() {
    let mut world = World::new();
    let plan = world.plan();
    let place = world.ask("grade", &[Kind::Plug], Holds::Equal, IfEmpty::Refuses);
    world.input.circuits[1].to.wants[place] = word("a");
    world.body(P_B).ratings = vec![rating("50", "50", "1")];
    let told = |file: &str| {
        let (found, _) = audit_since(&world.input, &plan, &[file.to_owned()]);
        found.len()
    };
    for file in ["attributes.csv", "../catalog/ratings.csv", "circuits.csv"] {
        assert_eq!(told(file), 0, "{file}");
    }
    for file in ["on_hand.csv", "ordered.csv", "prices.csv", "dies.csv"] {
        assert_eq!(told(file), 3, "{file}");
    }
    let (mut world, plan) = built_in();
    world.terminal(4).attach = Some("busbar".to_owned());
    let since = |file: &str| audit_since(&world.input, &plan, &[file.to_owned()]).0;
    assert_eq!(since("circuits.csv"), []);
    assert!(matches!(
        &since("prices.csv")[..],
        [Finding::MissingReceptacle(_)]
    ));
}

#[test]
fn a_pinned_end_has_its_key() {
    breaks(Rule::Pin, |w| {
        w.input.circuits[0].from.key = Some("B".to_owned());
    });
    let pinned = after(|w| w.input.circuits[0].from.key = Some("A".to_owned()));
    let nets = pinned.iter().map(|finding| match finding {
        Finding::Broken(end, Rule::Pin, _) => end.net.as_str(),
        other => panic!("{other}"),
    });
    assert!(nets.clone().all(|net| net == "HV-") && nets.count() == 2);
}

#[test]
fn one_net_may_share_a_key_at_one_location_and_two_nets_at_two() {
    // HV+ of a second circuit, and H+ elsewhere, have key A as well.
    let mut world = World::new();
    world.input.circuits[1].conductors = vec!["HV+".to_owned()];
    world.input.circuits[1].to.location = "inverter".to_owned();
    world.fit.ends[4].net = "HV+".to_owned();
    world.fit.ends[4].location = "inverter".to_owned();
    assert_eq!(audit(&world.input, &world.plan()), []);
}

#[test]
fn a_multi_core_cable_has_one_end_with_all_its_nets() {
    let mut world = World::new();
    world.input.circuits.remove(0);
    let circuit = &mut world.input.circuits[0];
    circuit.cable = Cable::Multi;
    circuit.conductors = vec!["U".to_owned(), "V".to_owned()];
    world.body(P_A).poles = 2;
    world.body(R_A).poles = 2;
    let mut end = world.fit.ends.pop().unwrap();
    end.circuit = 0;
    end.net = "U V".to_owned();
    world.fit.ends = vec![end];
    let mut set = world.solution.sets.pop().unwrap();
    set.fittings[0].qty = 2;
    world.solution.sets = vec![set];
    world.buy(P_B_NORD, 0);
    world.supplier(NORD).min_order = None;
    assert_eq!(audit(&world.input, &world.plan()), []);
    // One ferrule short.
    world.solution.sets[0].fittings[0].qty = 1;
    let found = audit(&world.input, &world.plan());
    assert!(
        matches!(
            &found[..],
            [Finding::FittingQty(_, Half::Plug, Fitting::Ferrule, _)]
        ),
        "{found:?}"
    );
}

#[test]
fn what_comes_in_the_box_is_not_fitted_and_what_does_not_is() {
    let found = after(|w| w.body(P_A).includes.push(Fitting::BackShell));
    assert!(!found.is_empty());
    for finding in found {
        assert!(matches!(
            finding,
            Finding::UnneededFitting(_, Half::Plug, Fitting::BackShell)
        ));
    }
    let found = after(|w| w.body(P_B).includes.clear());
    assert!(matches!(
        found[0],
        Finding::MissingFitting(_, Half::Plug, Fitting::Seal)
    ));
    let found = after(|w| w.body(R_A).barrel = Some("B50".to_owned()));
    assert!(matches!(
        found[0],
        Finding::MissingFitting(_, Half::Receptacle, Fitting::Ferrule)
    ));
    let found = after(|w| w.body(P_A).barrel = None);
    assert!(matches!(
        found[0],
        Finding::UnneededFitting(_, Half::Plug, Fitting::Ferrule)
    ));
}

#[test]
fn exclusions() {
    let found = after(|w| {
        w.input.settings.exclude_parts.insert("S-1".to_owned());
    });
    assert_eq!(found, [Finding::ExcludedPart("S-1".to_owned())]);
    let found = after(|w| {
        w.input
            .settings
            .exclude_suppliers
            .insert("South".to_owned());
    });
    assert_eq!(found, [Finding::ExcludedSupplier("South".to_owned())]);
}

#[test]
fn a_part_in_the_place_of_another_kind() {
    let mut world = World::new();
    let mut plan = world.plan();
    plan.ends[0].plug = "R-A".to_owned();
    plan.ends[1].fittings[1].part = "F-50".to_owned();
    let found = audit(&world.input, &plan);
    for (part, want) in [("R-A", Kind::Plug), ("F-50", Kind::Seal)] {
        let part = part.to_owned();
        assert!(
            found.contains(&Finding::WrongKind { part, want }),
            "{found:?}"
        );
    }
    world.input.catalog.parts.remove(S_1.0 as usize);
    world.input.catalog.offers.pop();
    let found = audit(&world.input, &plan);
    assert!(found.contains(&Finding::UnknownPart("S-1".to_owned())));
}
