//! Each rule of fit on both sides of its edge: the end has exactly one set,
//! and the smallest step over the edge leaves it none but for that rule.

mod fit_common;

use couplet::catalog::{Exit, Fitting, Half, Holds, IfEmpty, Kind, Rating, Spec};
use couplet::fit::{AttributeRule, End, Identity, Rule, Side, current, ends, keying, mate, supply};
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

/// A rule with the name of an attribute; its place is that of the catalog.
fn attribute(place: usize, name: &str) -> Rule {
    Rule::Attribute(AttributeRule {
        place,
        name: name.into(),
    })
}

/// Four of the five ways on each kind of part: what holds just so, and what is over the
/// edge by the least.
#[test]
fn an_attribute_holds_as_its_row_says_on_each_kind_of_part() {
    let parts = [
        ("P", Kind::Plug),
        ("R", Kind::Receptacle),
        ("F", Kind::Ferrule),
        ("S", Kind::Seal),
        ("B", Kind::BackShell),
    ];
    for (code, kind) in parts {
        for (way, wanted, just, over) in [
            (Holds::Equal, "yes", "yes", "Yes"),
            (Holds::Has, "ce ul", "ce gl ul", "ce gl"),
            (Holds::AtLeast, "105", "105", "104.999999"),
            (Holds::AtMost, "40.5", "40.50", "40.500001"),
        ] {
            let asked = |b: &mut Bench, has: &str| {
                b.attribute("class", &[kind], way, IfEmpty::Refuses);
                b.has(code, "class", has);
                b.wants("class", wanted);
            };
            holds(|b| asked(b, just));
            breaks(attribute(0, "class"), |b| asked(b, over));
            // What nobody wants, and what is asked of another kind, is no matter.
            holds(|b| {
                asked(b, over);
                b.pump().from.wants.clear();
            });
            holds(|b| {
                asked(b, over);
                let other = if kind == Kind::Seal {
                    Kind::Plug
                } else {
                    Kind::Seal
                };
                b.attributes[0].on = [other].into();
                let other = if kind == Kind::Seal { "P" } else { "S" };
                b.has(other, "class", just);
            });
        }
    }
}

#[test]
fn a_part_without_a_value_does_what_the_attribute_says() {
    for way in [Holds::Equal, Holds::Has, Holds::AtLeast, Holds::AtMost] {
        let wanted = |if_empty: IfEmpty| {
            move |b: &mut Bench| {
                b.attribute("class", &[Kind::Ferrule], way, if_empty);
                b.wants("class", "1");
            }
        };
        holds(wanted(IfEmpty::Meets));
        breaks(attribute(0, "class"), wanted(IfEmpty::Refuses));
    }
}

#[test]
fn an_attribute_is_wanted_at_one_end_alone() {
    let mut bench = Bench::new();
    bench.attribute("lock", &[Kind::Plug], Holds::Equal, IfEmpty::Refuses);
    bench.pump().to.attach = Some("busbar".into());
    bench.wants("lock", "yes");
    let no_set = bench.no_set();
    assert_eq!(no_set.ends.len(), 1);
    assert_eq!(no_set.ends[0].ends[0].side, Side::From);
    bench.has("P", "lock", "yes");
    assert_eq!(bench.fits().classes.len(), 2);
}

/// `same` between halves: what each has, and whether they go together under `refuses`
/// and under `meets`.
#[test]
fn both_halves_have_the_same_word() {
    let kinds = [Kind::Plug, Kind::Receptacle];
    for (plug, receptacle, refuses, meets) in [
        ("tin", "tin", true, true),
        ("tin", "Tin", false, false),
        ("tin", "", false, true),
        ("", "tin", false, true),
        ("", "", true, true),
    ] {
        for (if_empty, together) in [(IfEmpty::Refuses, refuses), (IfEmpty::Meets, meets)] {
            let change = |b: &mut Bench| {
                b.attribute("plating", &kinds, Holds::Same, if_empty);
                for (code, has) in [("P", plug), ("R", receptacle)] {
                    if !has.is_empty() {
                        b.has(code, "plating", has);
                    }
                }
            };
            match together {
                true => holds(change),
                false => breaks(attribute(0, "plating"), change),
            }
        }
    }
}

/// What is wanted of `same` both halves must have.
#[test]
fn a_word_that_is_wanted_of_a_pair_is_wanted_of_both() {
    let kinds = [Kind::Plug, Kind::Receptacle];
    let pair = |if_empty: IfEmpty, plug: &'static str, receptacle: &'static str| {
        move |b: &mut Bench| {
            b.attribute("plating", &kinds, Holds::Same, if_empty);
            for (code, has) in [("P", plug), ("R", receptacle)] {
                if !has.is_empty() {
                    b.has(code, "plating", has);
                }
            }
            b.wants("plating", "tin");
        }
    };
    let plating = || attribute(0, "plating");
    holds(pair(IfEmpty::Refuses, "tin", "tin"));
    breaks(plating(), pair(IfEmpty::Refuses, "", ""));
    holds(pair(IfEmpty::Meets, "", ""));
    holds(pair(IfEmpty::Meets, "tin", ""));
    breaks(plating(), pair(IfEmpty::Meets, "", "silver"));
    breaks(plating(), pair(IfEmpty::Refuses, "silver", "silver"));
}

/// Two plugs and two receptacles that agree in part, and one plug without a word that
/// goes with both: each pair that agrees can be had, and no other.
#[test]
fn an_empty_half_goes_with_halves_that_do_not_go_together() {
    let mut bench = Bench::new();
    bench.body("P2", Half::Plug);
    bench.body("P3", Half::Plug);
    bench.body("R2", Half::Receptacle);
    let kinds = [Kind::Plug, Kind::Receptacle];
    bench.attribute("plating", &kinds, Holds::Same, IfEmpty::Meets);
    for (code, has) in [
        ("P", "tin"),
        ("P2", "silver"),
        ("R", "tin"),
        ("R2", "silver"),
    ] {
        bench.has(code, "plating", has);
    }
    let (input, fit) = (bench.input(), bench.fits());
    let class = &fit.classes[0];
    let name = |id: couplet::catalog::PartId| input.catalog.part(id).code.clone();
    let mut pairs: Vec<String> = (class.receptacles.iter())
        .flat_map(|r| {
            let mates = class.plugs.iter().filter(|p| p.mate == r.mate);
            mates.map(|p| format!("{} {}", name(r.body), name(p.body)))
        })
        .collect();
    pairs.sort();
    assert_eq!(pairs, ["R P", "R P3", "R2 P2", "R2 P3"]);
}

/// A hundred attributes that a pair must agree in, of which no part has any.
#[test]
fn many_attributes_make_no_more_ways_than_bodies() {
    let mut bench = Bench::new();
    let kinds = [Kind::Plug, Kind::Receptacle];
    for n in 0..100 {
        bench.attribute(&format!("same{n}"), &kinds, Holds::Same, IfEmpty::Meets);
        let half = if n % 2 == 0 {
            Half::Plug
        } else {
            Half::Receptacle
        };
        bench.body(&format!("X{n}"), half);
    }
    for n in 0..100 {
        bench.has(&format!("X{n}"), &format!("same{n}"), "tin");
        bench.has(
            &format!("X{n}"),
            &format!("same{}", (n + 7) % 100),
            "silver",
        );
    }
    let fit = bench.fits();
    let class = &fit.classes[0];
    assert!(class.receptacles.len() + class.plugs.len() <= 51 * 51);
    bench.remove("R");
    bench.settings.exclude_parts.insert("P".into());
    (0..100)
        .step_by(2)
        .for_each(|n| bench.remove(&format!("X{n}")));
    assert_eq!(bench.only_rule(), Rule::Supply);
}

#[test]
fn nothing_is_asked_of_what_comes_in_the_box() {
    let boxed = |includes: &[Fitting]| {
        let includes = includes.to_vec();
        move |b: &mut Bench| {
            let on = [Kind::Ferrule, Kind::Seal, Kind::BackShell];
            b.attribute("lead_free", &on, Holds::Equal, IfEmpty::Refuses);
            b.wants("lead_free", "yes");
            b.body_mut("P").includes = includes;
        }
    };
    use Fitting::*;
    holds(boxed(&[Ferrule, Seal, BackShell]));
    breaks(attribute(0, "lead_free"), boxed(&[Ferrule, Seal]));
    breaks(attribute(0, "lead_free"), boxed(&[Seal, BackShell]));
}

fn rating(min: &str, max: &str, rated: &str) -> Rating {
    Rating {
        min_mm2: Mm2(dec(min)),
        max_mm2: Mm2(dec(max)),
        rated_a: Ampere(dec(rated)),
    }
}

/// 300 A on 70 mm²: a row counts from its least area to its greatest, in place of the
/// body's own current.
#[test]
fn a_rating_counts_on_the_areas_of_its_row() {
    for code in ["P", "R"] {
        for (min, max, is_on) in [
            ("70", "95", true),
            ("10", "70", true),
            ("70", "70", true),
            ("70.000001", "95", false),
            ("10", "69.999999", false),
        ] {
            let rated = |own: &'static str, here: &'static str| {
                move |b: &mut Bench| {
                    let body = b.body_mut(code);
                    body.rated_a = Ampere(dec(own));
                    body.ratings = vec![rating(min, max, here)];
                }
            };
            // The row is lower than the body's own current, or higher.
            match is_on {
                true => {
                    breaks(Rule::Current, rated("350", "299.999"));
                    holds(rated("299", "300"));
                }
                false => {
                    holds(rated("350", "10"));
                    breaks(Rule::Current, rated("299.999", "400"));
                }
            }
        }
    }
}

#[test]
fn of_several_ratings_the_lowest_counts_and_is_derated() {
    let rated = |rows: &[(&'static str, &'static str, &'static str)]| {
        let rows: Vec<_> = rows.iter().map(|r| rating(r.0, r.1, r.2)).collect();
        move |b: &mut Bench| b.body_mut("P").ratings = rows
    };
    holds(rated(&[("50", "95", "400"), ("35", "70", "300")]));
    breaks(
        Rule::Current,
        rated(&[("35", "70", "299.999"), ("50", "95", "400")]),
    );
    breaks(
        Rule::Current,
        rated(&[("50", "95", "400"), ("35", "70", "299.999")]),
    );
    // 400 A on this area, of which three quarters are left at 102.5 °C.
    let warm = |ambient_c: &'static str| {
        move |b: &mut Bench| {
            ambient(b, ambient_c, "P");
            b.body_mut("P").rated_a = Ampere(dec("10"));
            b.body_mut("P").ratings = vec![rating("70", "70", "400")];
        }
    };
    holds(warm("102.5"));
    breaks(Rule::Current, warm("102.501"));
}

#[test]
fn an_interface_that_is_wanted_is_that_of_both_halves() {
    let wanted = |face: &'static str, halves: &'static str| {
        move |b: &mut Bench| {
            b.pump().from.interface = Some(face.into());
            for code in ["P", "R"] {
                b.body_mut(code).interface = halves.into();
            }
        }
    };
    holds(wanted("I", "I"));
    breaks(Rule::Interface, wanted("I", "J"));
    let mut bench = Bench::new();
    wanted("I", "J")(&mut bench);
    assert_eq!(bench.refused_by("P"), [Rule::Interface, Rule::Mate]);
    assert_eq!(bench.refused_by("R"), [Rule::Interface, Rule::Mate]);
}

#[test]
fn a_net_keeps_to_its_keys() {
    let keys = |net: &'static str, keys: &'static str, has: &'static str| {
        move |b: &mut Bench| {
            let keys = keys.split(' ').map(str::to_owned).collect();
            b.settings.keying.keys.insert(net.into(), keys);
            for code in ["P", "R"] {
                b.body_mut(code).key = has.into();
            }
        }
    };
    holds(keys("HV+", "A", "A"));
    holds(keys("HV+", "1 A", "A"));
    // The interface has none of the keys, or no keys at all.
    breaks(Rule::NetKeys, keys("HV+", "1 a", "A"));
    holds(keys("HV+", "1 a", ""));
    // Those of another net are no matter.
    holds(keys("HV-", "1", "A"));
    // Also where the keying rule is off, and where it leaves the location out.
    for is_off in [true, false] {
        breaks(Rule::NetKeys, |b| {
            keys("HV+", "1", "A")(b);
            match is_off {
                true => b.settings.keying.distinct = Distinct::Off,
                false => {
                    b.settings.keying.ignore_at.insert("battery".into());
                }
            }
        });
    }
    // A pin to a key that is none of the net's leaves nothing by two rules.
    let mut bench = Bench::new();
    keys("HV+", "1", "A")(&mut bench);
    bench.pump().from.key = Some("A".into());
    assert_eq!(bench.only_rule(), Rule::NetKeys);
    bench.pump().from.key = Some("1".into());
    assert_eq!(
        bench.refused_by("P"),
        [Rule::Pin, Rule::NetKeys, Rule::Mate]
    );
}

/// A multi-core end has the keys of its whole net alone.
#[test]
fn a_multi_core_end_has_the_keys_of_its_whole_net() {
    let multi = |net: &'static str| {
        move |b: &mut Bench| {
            b.pump().conductors = vec!["HV+".into(), "HV-".into()];
            b.pump().cable = Cable::Multi;
            for code in ["P", "R"] {
                b.body_mut(code).poles = 2;
            }
            let keys = ["1".to_owned()].into();
            b.settings.keying.keys.insert(net.into(), keys);
        }
    };
    holds(multi("HV+"));
    holds(multi("HV- HV+"));
    breaks(Rule::NetKeys, multi("HV+ HV-"));
}

fn built_in(b: &mut Bench, face: &str, key: Option<&str>) {
    let from = &mut b.pump().from;
    from.attach = Some("built-in".into());
    from.interface = Some(face.into());
    from.key = key.map(str::to_owned);
}

/// A plug alone is chosen, and of the receptacle nothing is checked but that they mate.
#[test]
fn a_built_in_receptacle_takes_a_plug_that_mates() {
    for (key, is_whole) in [("A", true), ("", false)] {
        let with = |face: &'static str, key_there: Option<&'static str>| {
            move |b: &mut Bench| {
                b.remove("R");
                b.body_mut("P").key = key.into();
                built_in(b, face, key_there);
            }
        };
        let own = Some(key).filter(|_| is_whole);
        holds(with("I", own));
        breaks(Rule::Interface, with("J", own));
        breaks(Rule::Pin, with("I", Some("B")));
    }
    let mut bench = Bench::new();
    built_in(&mut bench, "I", Some("A"));
    bench.body_mut("R").rated_a = Ampere(dec("1"));
    let kinds = [Kind::Plug, Kind::Receptacle];
    bench.attribute("plating", &kinds, Holds::Same, IfEmpty::Refuses);
    bench.has("P", "plating", "tin");
    let fit = bench.fits();
    assert!(fit.classes[0].is_built_in());
    assert_eq!(fit.classes[0].plugs.len(), 1);
    assert_eq!(bench.refused_by("P"), []);
    assert_eq!(bench.refused_by("R"), [Rule::Attach, Rule::Current]);
    // What is wanted is wanted of the plug.
    bench.wants("plating", "silver");
    assert_eq!(bench.only_rule(), attribute(0, "plating"));
    // The plug must still hold its own rules.
    breaks(Rule::Current, |b| {
        built_in(b, "I", Some("A"));
        b.body_mut("P").rated_a = Ampere(dec("299"));
    });
    breaks(Rule::NetKeys, |b| {
        built_in(b, "I", Some("A"));
        let keys = ["1".to_owned()].into();
        b.settings.keying.keys.insert("HV+".into(), keys);
    });
}

#[test]
fn branches_of_one_net_are_kept_apart() {
    let mut bench = Bench::new();
    bench.circuit("fan");
    bench.circuits[0].branch = "drive".into();
    let keying = |distinct| Keying {
        distinct,
        ignore_at: Default::default(),
        keys: Default::default(),
    };
    let rule = keying(Distinct::ByLocation);
    let id = Identity {
        interface: "I".into(),
        key: "A".into(),
    };
    let refuses = |bench: &Bench, rule: &Keying| {
        let ends = ends(&bench.circuits);
        keying::refuses(rule, (&ends[0], &id), (&ends[1], &id))
    };
    // A branch on one of the two circuits is enough.
    assert!(refuses(&bench, &rule));
    let all = ends(&bench.circuits);
    assert_eq!(
        keying::reason(&all[0], &all[1], &id),
        "net HV+ of branch drive and of no branch at battery would both have interface I, key A"
    );
    assert_eq!(bench.fits().classes.len(), 2);
    assert!(!refuses(&bench, &keying(Distinct::Off)));
    bench.circuits[1].branch = "heat".into();
    assert!(refuses(&bench, &rule));
    // Equal branches, and two empty ones, are one.
    bench.circuits[1].branch = "drive".into();
    assert!(!refuses(&bench, &rule));
    assert_eq!(bench.fits().classes.len(), 1);
    for circuit in &mut bench.circuits {
        circuit.branch.clear();
    }
    assert!(!refuses(&bench, &rule));
    // Elsewhere they matter where keys are distinct everywhere.
    bench.circuits[0].branch = "drive".into();
    bench.circuits[1].from.location = "hub".into();
    assert!(!refuses(&bench, &rule));
    assert!(refuses(&bench, &keying(Distinct::Everywhere)));
    // Two nets of one branch are two nets.
    bench.circuits[1].from.location = "battery".into();
    bench.circuits[1].branch = "drive".into();
    bench.circuits[1].conductors = vec!["HV-".into()];
    assert!(refuses(&bench, &rule));
}
