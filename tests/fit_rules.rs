//! Each rule of fit on both sides of its edge: the end has exactly one set,
//! and the smallest step over the edge leaves it none but for that rule.

mod fit_common;

use couplet::catalog::{Exit, Fitting, Half, Spec};
use couplet::fit::{End, Identity, Rule, current, ends, keying, mate, supply};
use couplet::project::{Cable, Distinct, Keying};
use couplet::units::{Ampere, Celsius, Implied, Mm, Mm2, Volt};
use fit_common::{Bench, dec, ip};

/// The bench after `change` has a set.
fn holds(change: impl FnOnce(&mut Bench)) {
    let mut bench = Bench::new();
    change(&mut bench);
    bench.fits();
}

/// The bench after `change` has none, and only this rule is to blame.
fn breaks(rule: Rule, change: impl FnOnce(&mut Bench)) {
    let mut bench = Bench::new();
    change(&mut bench);
    assert_eq!(bench.only_rule(), rule, "{}", bench.lines());
}

fn ambient(bench: &mut Bench, ambient: &str, code: &str) {
    bench.settings.ambient = Some(Celsius(dec(ambient)));
    let body = bench.body_mut(code);
    body.rated_a = Ampere(dec("400"));
    body.rated_c = Some(Celsius(dec("85")));
    body.max_c = Some(Celsius(dec("125")));
}

#[test]
fn mate_asks_for_equal_interface_and_key() {
    holds(|_| {});
    breaks(Rule::Mate, |b| b.body_mut("P").key = "B".into());
    breaks(Rule::Mate, |b| b.body_mut("R").interface = "J".into());
    holds(|b| {
        b.body_mut("P").key = String::new();
        b.body_mut("R").key = String::new();
    });
    let mut bench = Bench::new();
    let plug = bench.body_mut("P").clone();
    let receptacle = bench.body_mut("R").clone();
    assert!(mate::mates(&plug, &receptacle));
    assert!(!mate::mates(&plug, &plug), "two plugs do not mate");
}

#[test]
fn poles_are_equal() {
    for code in ["P", "R"] {
        breaks(Rule::Poles, |b| b.body_mut(code).poles = 2);
        breaks(Rule::Poles, |b| b.body_mut(code).poles = 0);
    }
    let three = |b: &mut Bench| {
        b.pump().conductors = vec!["U".into(), "V".into(), "W".into()];
        b.pump().cable = Cable::Multi;
        b.body_mut("P").poles = 3;
        b.body_mut("R").poles = 3;
    };
    holds(three);
    breaks(Rule::Poles, |b| {
        three(b);
        b.body_mut("R").poles = 2;
    });
}

#[test]
fn current_is_at_least_the_circuits() {
    for code in ["P", "R"] {
        holds(|b| b.body_mut(code).rated_a = Ampere(dec("300")));
        breaks(Rule::Current, |b| {
            b.body_mut(code).rated_a = Ampere(dec("299.999"))
        });
    }
}

#[test]
fn current_is_derated_by_the_root_of_the_rise_left() {
    // 400 A at 85 °C, limit 125 °C: three quarters at 102.5 °C, where 9/16 of the rise is left.
    for code in ["P", "R"] {
        holds(|b| ambient(b, "102.5", code));
        breaks(Rule::Current, |b| ambient(b, "102.501", code));
        breaks(Rule::Current, |b| {
            ambient(b, "102.5", code);
            b.pump().current = Ampere(dec("300.0001"));
            let other = if code == "P" { "R" } else { "P" };
            b.body_mut(other).rated_a = Ampere(dec("400"));
        });
    }
}

#[test]
fn current_is_never_above_the_rating_and_never_at_the_limit() {
    breaks(Rule::Current, |b| {
        ambient(b, "20", "P");
        b.body_mut("P").rated_a = Ampere(dec("299"));
    });
    holds(|b| {
        ambient(b, "85", "P");
        b.body_mut("P").rated_a = Ampere(dec("300"));
    });
    holds(|b| {
        ambient(b, "124.999", "P");
        b.pump().current = Ampere(dec("1"));
    });
    breaks(Rule::Current, |b| {
        ambient(b, "125", "P");
        b.pump().current = Ampere(dec("0"));
    });
    // No ambient temperature: no derating.
    holds(|b| {
        ambient(b, "125", "P");
        b.settings.ambient = None;
    });
}

#[test]
fn voltage_is_at_least_the_circuits() {
    for code in ["P", "R"] {
        holds(|b| b.body_mut(code).rated_v = Volt(dec("400")));
        breaks(Rule::Voltage, |b| {
            b.body_mut(code).rated_v = Volt(dec("399.9"))
        });
    }
}

#[test]
fn attach_is_the_ends_for_a_receptacle_and_crimp_for_a_plug() {
    breaks(Rule::Attach, |b| b.body_mut("R").attach = "stud".into());
    breaks(Rule::Attach, |b| b.pump().from.attach = Some("stud".into()));
    breaks(Rule::Attach, |b| b.body_mut("P").attach = "busbar".into());
    holds(|b| {
        b.body_mut("R").attach = "stud".into();
        b.pump().from.attach = Some("stud".into());
    });
}

#[test]
fn exit_is_asked_of_the_plug_alone() {
    holds(|b| b.pump().from.exit = Some(Exit::Straight));
    breaks(Rule::Exit, |b| b.pump().from.exit = Some(Exit::RightAngle));
    breaks(Rule::Exit, |b| {
        b.pump().from.exit = Some(Exit::Straight);
        b.body_mut("P").exit = None;
    });
    holds(|b| {
        b.pump().from.exit = Some(Exit::Straight);
        b.body_mut("R").exit = Some(Exit::RightAngle);
    });
}

#[test]
fn exit_of_a_back_shell_is_its_bodys_or_none() {
    holds(|b| b.shell_mut("B").exit = Some(Exit::Straight));
    breaks(Rule::Exit, |b| {
        b.shell_mut("B").exit = Some(Exit::RightAngle);
    });
}

#[test]
fn ferrule_takes_the_area_and_the_barrel() {
    holds(|b| b.pump().gauge = "50 mm2".parse().unwrap());
    holds(|b| b.pump().gauge = "2/0 AWG".parse().unwrap());
    breaks(Rule::Ferrule, |b| {
        b.pump().gauge = "49.99 mm2".parse().unwrap()
    });
    breaks(Rule::Ferrule, |b| {
        b.pump().gauge = "70.01 mm2".parse().unwrap()
    });
    breaks(Rule::Ferrule, |b| {
        b.body_mut("P").barrel = Some("B2".into())
    });
    // The real area counts, not the customary name: 2/0 AWG has 67.43 mm².
    breaks(Rule::Ferrule, |b| {
        b.remove("F");
        b.ferrule("F", "B1", "70", "70");
        b.pump().gauge = "2/0 AWG".parse().unwrap();
    });
}

#[test]
fn ferrule_in_the_box_is_bound_by_the_bodys_own_limits() {
    let boxed = |b: &mut Bench| {
        b.remove("F");
        b.body_mut("P").includes = vec![Fitting::Ferrule];
        b.body_mut("P").min_mm2 = Some(Mm2(dec("70")));
        b.body_mut("P").max_mm2 = Some(Mm2(dec("70")));
    };
    holds(boxed);
    for gauge in ["69.9 mm2", "70.1 mm2"] {
        breaks(Rule::Ferrule, |b| {
            boxed(b);
            b.pump().gauge = gauge.parse().unwrap();
        });
    }
}

#[test]
fn seal_takes_the_diameter_and_the_rear() {
    for od in ["18", "20"] {
        holds(|b| b.pump().cable_od = Mm(dec(od)));
    }
    for od in ["17.99", "20.01"] {
        breaks(Rule::Seal, |b| b.pump().cable_od = Mm(dec(od)));
    }
    let mut bench = Bench::new();
    bench.body_mut("P").rear = Some("R2".into());
    let without = bench.no_set().ends[0].without.clone();
    assert_eq!(without, [[Rule::Seal, Rule::BackShell]]);
}

#[test]
fn seal_in_the_box_is_bound_by_the_bodys_own_limits() {
    let boxed = |b: &mut Bench| {
        b.remove("S");
        b.body_mut("P").includes = vec![Fitting::Seal];
        b.body_mut("P").min_od = Some(Mm(dec("19")));
        b.body_mut("P").max_od = Some(Mm(dec("19.5")));
    };
    holds(boxed);
    for (od, fits) in [("18.9", false), ("19.5", true), ("19.6", false)] {
        let change = |b: &mut Bench| {
            boxed(b);
            b.pump().cable_od = Mm(dec(od));
        };
        match fits {
            true => holds(change),
            false => breaks(Rule::Seal, change),
        }
    }
}

#[test]
fn back_shell_in_the_box_is_bound_by_the_bodys_own_limits() {
    let boxed = |b: &mut Bench| {
        b.remove("B");
        b.body_mut("P").includes = vec![Fitting::BackShell];
    };
    holds(|b| {
        boxed(b);
        b.body_mut("P").max_od = Some(Mm(dec("19")));
    });
    breaks(Rule::BackShell, |b| {
        boxed(b);
        b.body_mut("P").max_od = Some(Mm(dec("18.9")));
    });
}

#[test]
fn back_shell_lets_the_cable_through() {
    holds(|b| b.shell_mut("B").max_od = Mm(dec("19")));
    breaks(Rule::BackShell, |b| {
        b.shell_mut("B").max_od = Mm(dec("18.99"))
    });
    breaks(Rule::BackShell, |b| b.shell_mut("B").rear = "R2".into());
}

#[test]
fn protection_is_given_by_both_bodies() {
    let both = |b: &mut Bench, plug: &str, receptacle: &str| {
        b.pump().ip = ip("IP67");
        b.body_mut("P").ip = ip(plug);
        b.body_mut("R").ip = ip(receptacle);
    };
    holds(|b| both(b, "IP67", "IP68"));
    breaks(Rule::Protection, |b| both(b, "IP66", "IP67"));
    breaks(Rule::Protection, |b| both(b, "IP67", "IP66"));
    breaks(Rule::Protection, |b| {
        both(b, "IP67", "IP67");
        b.body_mut("R").ip = None;
    });
    holds(|b| {
        both(b, "IP65/IP67", "IP67");
        b.pump().ip = ip("IP67");
    });
}

#[test]
fn protection_is_given_by_a_seal_that_states_a_code() {
    let seal = |b: &mut Bench, code: Option<&str>| {
        b.pump().ip = ip("IP67");
        b.body_mut("P").ip = ip("IP67");
        b.body_mut("R").ip = ip("IP67");
        b.remove("S");
        b.seal("S", "R1", "18", "20").ip = code.and_then(ip);
    };
    holds(|b| seal(b, None));
    holds(|b| seal(b, Some("IP68")));
    breaks(Rule::Protection, |b| seal(b, Some("IP66")));
}

#[test]
fn protection_is_read_as_the_project_says() {
    let splash = |b: &mut Bench| {
        b.pump().ip = ip("IP64");
        b.body_mut("P").ip = ip("IP67");
        b.body_mut("R").ip = ip("IP67");
    };
    breaks(Rule::Protection, splash);
    holds(|b| {
        splash(b);
        b.settings.protection = Implied::Customary;
    });
}

#[test]
fn colour_is_the_one_wanted() {
    let orange = |b: &mut Bench| {
        b.pump().colour = Some("orange".into());
        b.body_mut("P").colour = Some("orange".into());
        b.body_mut("R").colour = Some("orange".into());
    };
    holds(orange);
    for code in ["P", "R"] {
        for colour in [Some("black".to_owned()), None] {
            breaks(Rule::Colour, |b| {
                orange(b);
                b.body_mut(code).colour = colour;
            });
        }
    }
    holds(|b| b.body_mut("P").colour = Some("black".into()));
    holds(|b| {
        orange(b);
        b.shell_mut("B").colour = Some("orange".into());
    });
    breaks(Rule::Colour, |b| {
        orange(b);
        b.shell_mut("B").colour = Some("black".into());
    });
}

#[test]
fn a_pinned_end_takes_its_key_alone() {
    let mut bench = Bench::new();
    bench.pump().from.key = Some("A".into());
    assert_eq!(bench.fits().classes[0].plugs.len(), 1);
    bench.pump().to.key = Some("B".into());
    bench.fits(); // nothing is wanted at that end
    bench.pump().from.key = Some("B".into());
    assert_eq!(bench.only_rule(), Rule::Pin);
    assert_eq!(bench.refused_by("R"), [Rule::Pin, Rule::Mate]);
    let lines = bench.lines();
    assert!(
        lines.contains("1 plug: pin: not key B (catalog/bodies.csv:"),
        "{lines}"
    );
    assert!(
        lines.contains("so: circuit pump is pinned to key B there, no plug or receptacle"),
        "{lines}"
    );
    bench.body_mut("P").key.clear();
    let lines = bench.lines();
    assert!(lines.contains("pin: no keying, key B is wanted"), "{lines}");
}

#[test]
fn keying_binds_different_nets_at_one_location() {
    let mut bench = Bench::new();
    bench.pump().conductors = vec!["HV+".into(), "HV-".into()];
    bench.pump().to = fit_common::terminal("motor", Some("busbar"));
    let ends = ends(&bench.circuits);
    let id = |key: &str| Identity {
        interface: "I".into(),
        key: key.into(),
    };
    let mut rule = bench.settings.keying.clone();
    let (plus, plus_far, minus) = (&ends[0], &ends[1], &ends[2]);
    let refuses = |rule: &Keying, one: (&End, &str), other: (&End, &str)| {
        keying::refuses(rule, (one.0, &id(one.1)), (other.0, &id(other.1)))
    };
    assert!(refuses(&rule, (plus, "A"), (minus, "A")));
    assert!(!refuses(&rule, (plus, "A"), (minus, "B")));
    assert!(!refuses(&rule, (plus, "A"), (plus, "A")), "same net");
    assert!(!refuses(&rule, (plus_far, "A"), (minus, "A")), "elsewhere");
    rule.ignore_at.insert("battery".into());
    assert!(!refuses(&rule, (plus, "A"), (minus, "A")));
    rule.ignore_at.clear();
    rule.distinct = Distinct::Off;
    assert!(!refuses(&rule, (plus, "A"), (minus, "A")));
    rule.distinct = Distinct::Everywhere;
    assert!(refuses(&rule, (plus, "A"), (minus, "A")));
    assert!(refuses(&rule, (plus_far, "A"), (minus, "A")), "elsewhere");
    assert!(!refuses(&rule, (plus_far, "A"), (minus, "B")));
    assert!(!refuses(&rule, (plus_far, "A"), (plus, "A")), "same net");
    rule.ignore_at.insert("motor".into());
    assert!(!refuses(&rule, (plus_far, "A"), (minus, "A")));
    assert!(refuses(&rule, (plus, "A"), (minus, "A")));
    assert_eq!(
        keying::reason(plus_far, minus, &id("A")),
        "net HV+ at motor and net HV- at battery would both have interface I, key A"
    );
    assert_eq!(
        keying::reason(plus, minus, &id("A")),
        "nets HV+ and HV- at battery would both have interface I, key A"
    );
    // The rule is no part of what fits: both ends keep the one key there is.
    assert_eq!(bench.fits().classes.len(), 4);
}

#[test]
fn limits_of_the_box_are_those_of_what_is_in_it() {
    let diameter = |includes: &[Fitting]| {
        let includes = includes.to_vec();
        move |b: &mut Bench| {
            b.seal("S2", "R1", "18", "30");
            b.shell("B2", "R1", "30");
            b.pump().cable_od = Mm(dec("21"));
            let body = b.body_mut("P");
            body.includes = includes;
            (body.min_od, body.max_od) = (Some(Mm(dec("18"))), Some(Mm(dec("20"))));
        }
    };
    let (seal, shell) = (Fitting::Seal, Fitting::BackShell);
    breaks(Rule::Seal, diameter(&[seal]));
    breaks(Rule::BackShell, diameter(&[shell]));
    breaks(Rule::Seal, diameter(&[seal, shell]));
    breaks(Rule::Seal, diameter(&[]));
}

/// On 70 mm², at so many degrees.
fn at_ambient(celsius: &str) -> current::Conductor {
    current::Conductor {
        area: Mm2(dec("70")),
        ambient: Some(Celsius(dec(celsius))),
    }
}

#[test]
fn what_is_left_of_a_rating_is_shown_rounded_down() {
    let mut bench = Bench::new();
    let at = |bench: &Bench, ambient: &str| {
        let Spec::Body(body) = &bench.parts[0].spec else {
            panic!("no body");
        };
        current::derated(body, at_ambient(ambient)).to_string()
    };
    let body = bench.body_mut("P");
    body.rated_a = Ampere(dec("350.05"));
    assert_eq!(at(&bench, "100"), "350.05 A");
    let body = bench.body_mut("P");
    body.rated_c = Some(Celsius(dec("85")));
    body.max_c = Some(Celsius(dec("140")));
    // Up to `rated_c` it is the rating as it stands; then × sqrt((140 - t) / 55).
    assert_eq!(at(&bench, "84.9"), "350.05 A");
    assert_eq!(at(&bench, "85"), "350.05 A");
    assert_eq!(at(&bench, "85.01"), "350 A");
    assert_eq!(at(&bench, "105"), "279.2 A");
    assert_eq!(at(&bench, "139.9999"), "0.4 A");
    assert_eq!(at(&bench, "140"), "0 A");
    assert_eq!(at(&bench, "141"), "0 A");
}

#[test]
fn a_body_at_its_limit_carries_nothing() {
    let mut bench = Bench::new();
    let body = bench.body_mut("P");
    body.max_c = Some(Celsius(dec("140")));
    let carries = |current: &str, ambient: &str| {
        current::carries(body, Ampere(dec(current)), at_ambient(ambient))
    };
    assert!(carries("350", "139.9"));
    assert!(carries("0", "139.9"));
    assert!(!carries("0", "140"));
    assert!(!carries("0.1", "140"));
}

#[test]
fn supply_wants_an_offer_or_a_piece_on_hand() {
    let none = |b: &mut Bench| b.offers.retain(|o| o.0 != "P");
    breaks(Rule::Supply, none);
    holds(|b| {
        none(b);
        b.on_hand.push(("P".into(), 1));
    });
    breaks(Rule::Supply, |b| {
        none(b);
        b.on_hand.push(("P".into(), 0));
    });
}

#[test]
fn supply_leaves_out_what_the_project_excludes() {
    breaks(Rule::Supply, |b| {
        b.settings.exclude_parts.insert("P".into());
        b.on_hand.push(("P".into(), 5));
    });
    breaks(Rule::Supply, |b| {
        b.settings.exclude_suppliers.insert("Nord".into());
        b.on_hand = ["B", "F", "S", "R"].map(|c| (c.into(), 9)).to_vec();
    });
    holds(|b| {
        b.settings.exclude_suppliers.insert("Nord".into());
        b.suppliers.push("Sud".into());
        for code in ["B", "F", "P", "R", "S"] {
            b.offer(code, "Sud");
        }
    });
}

#[test]
fn supply_keeps_the_lead_time() {
    let days = |b: &mut Bench, days: Option<u32>| {
        b.settings.max_lead_days = Some(30);
        b.offer_mut("P").lead_days = days;
    };
    holds(|b| days(b, Some(30)));
    holds(|b| days(b, None));
    breaks(Rule::Supply, |b| days(b, Some(31)));
}

#[test]
fn supply_reaches_the_least_quantity_in_whole_packs() {
    let order = |b: &mut Bench, (least, pack, stock): (u64, u64, u64)| {
        let offer = b.offer_mut("P");
        offer.breaks[0].min_qty = least;
        offer.pack = pack;
        offer.stock = Some(stock);
    };
    holds(|b| order(b, (10, 1, 10)));
    breaks(Rule::Supply, |b| order(b, (10, 1, 9)));
    holds(|b| order(b, (10, 4, 12)));
    breaks(Rule::Supply, |b| order(b, (10, 4, 11)));
    breaks(Rule::Supply, |b| order(b, (1, 5, 4)));
    breaks(Rule::Supply, |b| order(b, (1, 1, 0)));
}

#[test]
fn supply_tells_what_stands_against_the_nearest_offer() {
    let mut bench = Bench::new();
    bench.suppliers.extend(["Sud".into(), "West".into()]);
    bench.settings.max_lead_days = Some(30);
    bench.settings.exclude_suppliers.insert("West".into());
    bench.offer_mut("P").lead_days = Some(60);
    bench.offer("P", "Sud").lead_days = Some(45);
    bench.offer("P", "West");
    let input = bench.input();
    let part = input.catalog.find("P").unwrap();
    let slow = supply::Lack::Slow {
        days: 45,
        limit: 30,
    };
    assert_eq!(supply::lack(&input, part), Some(slow));
    assert_eq!(supply::usable_offers(&input, part).count(), 0);
    bench.settings.max_lead_days = Some(45);
    let input = bench.input();
    assert_eq!(supply::lack(&input, part), None);
    assert_eq!(supply::usable_offers(&input, part).count(), 1);
}

#[test]
fn each_rule_names_itself_in_a_refusal() {
    let mut bench = Bench::new();
    let body = bench.body("Z", Half::Receptacle);
    body.attach = "stud".into();
    body.poles = 2;
    body.rated_v = Volt(dec("60"));
    body.rated_a = Ampere(dec("10"));
    body.key = "Z".into();
    bench.pump().ip = ip("IP67");
    bench.pump().colour = Some("orange".into());
    bench.settings.exclude_parts.insert("Z".into());
    use Rule::*;
    let all = [
        Attach, Poles, Voltage, Current, Colour, Protection, Supply, Mate,
    ];
    assert_eq!(bench.refused_by("Z"), all);
    let mut bench = Bench::new();
    assert_eq!(bench.refused_by("P"), []);
    assert_eq!(bench.refused_by("F"), []);
    bench.ferrule("F2", "B1", "80", "95");
    bench.ferrule("F3", "B9", "50", "70");
    assert_eq!(bench.refused_by("F2"), [Ferrule]);
    assert_eq!(bench.refused_by("F3"), [Ferrule]);
}
