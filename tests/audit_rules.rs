//! The audit's rules of fit: each on both sides of its edge. The plan stays as
//! it is; the catalog, the circuits or the settings change under it.

#[path = "common/plan_world.rs"]
mod plan_world;

use couplet::audit::{Finding, Rule, audit};
use couplet::catalog::{Exit, Fitting, Half, Kind};
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

/// Both nets of the battery with key A throughout.
fn same_key(world: &mut World) -> couplet::plan::Plan {
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
        location: Some(location.to_owned()),
        interface: "M8".to_owned(),
        key: "A".to_owned(),
        nets: vec!["HV+".to_owned(), "HV-".to_owned()],
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
        location: None,
        interface: "M8".to_owned(),
        key: "A".to_owned(),
        nets: vec!["HV+".to_owned(), "HV-".to_owned()],
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
