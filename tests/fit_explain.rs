//! Why an end has no set, word for word.

mod fit_common;

use couplet::catalog::{BUILT_IN, Exit, Half, Holds, IfEmpty, Kind, Rating};
use couplet::fit::{Rule, ends, refusals};
use couplet::units::{Ampere, Celsius, Mm, Mm2};
use fit_common::{Bench, dec, ip, row, terminal};

/// Asserts the whole explanation.
fn says(bench: &Bench, lines: &[&str]) {
    assert_eq!(bench.no_set().lines(), lines);
}

/// Asserts that some line of the explanation is this.
fn line(bench: &Bench, line: &str) {
    let lines = bench.no_set().lines();
    assert!(
        lines.iter().any(|l| l.trim() == line),
        "{line}\n{}",
        lines.join("\n")
    );
}

#[test]
fn too_much_current() {
    let mut b = Bench::new();
    b.pump().current = Ampere(dec("400"));
    b.body_mut("R").rated_a = Ampere(dec("400"));
    b.body("P2", Half::Plug).rated_a = Ampere(dec("200"));
    b.body("P3", Half::Plug).attach = "busbar".into();
    says(
        &b,
        &[
            "there is no compatible set for 1 end",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  needs: conductor of 70 mm², cable of 19 mm, 400 A, 400 V, 1 pole, receptacle by busbar",
            "  plugs: 0 of 3 fit by themselves",
            "    1 plug: attach: not by crimp (catalog/bodies.csv:8)",
            "    2 plugs: current: rated below 400 A (highest: P at 350 A; catalog/bodies.csv:2)",
            "  receptacles: 1 of 1 fits by itself",
            "    1 receptacle: mate: no plug of the same interface and key fits here (catalog/bodies.csv:3)",
            "  so: circuit pump needs 400 A, no plug that fits otherwise gives that",
            "  a set exists without: current",
            "  nearest: plug P fails only current: 350 A is below 400 A (catalog/bodies.csv:2, circuits.csv:2)",
            "  nearest: plug P2 fails only current: 200 A is below 400 A (catalog/bodies.csv:7, circuits.csv:2)",
        ],
    );
}

#[test]
fn what_can_be_eased_is_nearer_than_another_cable() {
    let mut b = Bench::new();
    b.pump().current = Ampere(dec("400"));
    b.body_mut("R").rated_a = Ampere(dec("400"));
    let two = b.body("A2", Half::Plug);
    (two.poles, two.rated_a) = (2, Ampere(dec("400")));
    let near = &b.no_set().ends[0].nearest;
    let plugs: Vec<_> = near.iter().map(|n| &n.refusals[0]).collect();
    let told: Vec<_> = plugs
        .iter()
        .map(|r| (r.part.as_str(), r.rule.clone()))
        .collect();
    assert_eq!(told[..2], [("P", Rule::Current), ("A2", Rule::Poles)]);
}

#[test]
fn too_hot() {
    let mut b = Bench::new();
    b.settings.ambient = Some(Celsius(dec("105")));
    let body = b.body_mut("P");
    body.rated_c = Some(Celsius(dec("85")));
    body.max_c = Some(Celsius(dec("140")));
    // 350 × sqrt(35/55) = 279.2 A
    line(
        &b,
        "1 plug: current: below 300 A at 105 °C (highest: P at 279.2 A; catalog/bodies.csv:2)",
    );
    line(
        &b,
        "nearest: plug P fails only current: 279.2 A at 105 °C is below 300 A \
         (catalog/bodies.csv:2, circuits.csv:2)",
    );
    b.settings.ambient = Some(Celsius(dec("140")));
    line(
        &b,
        "nearest: plug P fails only current: its limit of 140 °C is not above 140 °C \
         (catalog/bodies.csv:2, circuits.csv:2)",
    );
}

#[test]
fn no_ferrule_goes_up_to_the_area() {
    let mut b = Bench::new();
    b.pump().gauge = "95 mm2".parse().unwrap();
    b.ferrule("F2", "B2", "95", "120");
    let of = "no ferrule of barrel B1 in catalog/ferrules.csv";
    line(
        &b,
        &format!("so: circuit pump needs 95 mm², {of} goes above 70 mm²"),
    );
    line(&b, "a set exists without: ferrule");
    b.pump().gauge = "35 mm2".parse().unwrap();
    line(
        &b,
        &format!("so: circuit pump needs 35 mm², {of} goes below 50 mm²"),
    );
    b.pump().gauge = "4/0 AWG".parse().unwrap();
    line(
        &b,
        &format!("so: circuit pump needs 107.2193 mm² (4/0 AWG), {of} goes above 70 mm²"),
    );
    b.ferrule("F3", "B1", "120", "120");
    line(
        &b,
        &format!("so: circuit pump needs 107.2193 mm² (4/0 AWG), {of} takes 107.2193 mm²"),
    );
    for code in ["F", "F3"] {
        b.remove(code);
    }
    line(
        &b,
        "so: circuit pump needs 107.2193 mm² (4/0 AWG), the catalog has no ferrule of barrel B1",
    );
}

#[test]
fn no_seal_and_no_back_shell_for_a_thick_cable() {
    let mut b = Bench::new();
    b.pump().cable_od = Mm(dec("30"));
    line(&b, "a set exists without: seal and back shell");
    line(
        &b,
        "so: no single rule stands in the way: more than one would have to be given up",
    );
    line(
        &b,
        "nearest: plug P fails seal and back shell: \
         no seal of rear R1 in catalog/seals.csv goes above 20 mm; \
         no back shell of rear R1 in catalog/backshells.csv goes above 22 mm \
         (catalog/bodies.csv:2, circuits.csv:2)",
    );
}

#[test]
fn protection_and_the_nearest_miss() {
    let mut b = Bench::new();
    b.pump().ip = ip("IP6K9K");
    b.body_mut("R").ip = ip("IP6K9K");
    b.body_mut("P").ip = ip("IP67");
    let ra = b.body("P-RA", Half::Plug);
    ra.exit = Some(Exit::RightAngle);
    ra.rated_a = Ampere(dec("200"));
    line(
        &b,
        "so: circuit pump needs IP6K9K, no plug that fits otherwise gives that",
    );
    line(
        &b,
        "nearest: plug P fails only protection: IP67 does not give IP6K9K \
         (catalog/bodies.csv:2, circuits.csv:2)",
    );
    let nearest = &b.no_set().ends[0].nearest;
    assert_eq!(nearest.len(), 1, "P-RA fails two rules and is not near");
    b.body_mut("P").ip = None;
    line(
        &b,
        "1 plug: protection: no protection stated, IP6K9K is wanted (catalog/bodies.csv:2)",
    );
}

#[test]
fn a_seal_of_the_right_size_that_lacks_protection_is_named() {
    let mut b = Bench::new();
    b.pump().ip = ip("IP67");
    b.body_mut("R").ip = ip("IP67");
    b.body_mut("P").ip = ip("IP67");
    b.remove("S");
    b.seal("S", "R1", "18", "20").ip = ip("IP54");
    line(
        &b,
        "nearest: plug P fails only protection: seal S of rear R1: IP54 does not give IP67, \
         catalog/seals.csv:6 (catalog/bodies.csv:2, circuits.csv:2)",
    );
}

#[test]
fn a_body_that_states_no_colour_is_told_from_one_of_another() {
    let mut b = Bench::new();
    b.pump().colour = Some("orange".into());
    b.body_mut("R").colour = Some("orange".into());
    line(
        &b,
        "1 plug: colour: no colour stated, orange is wanted (catalog/bodies.csv:2)",
    );
    b.body_mut("P").colour = Some("black".into());
    line(&b, "1 plug: colour: not orange (catalog/bodies.csv:2)");
}

#[test]
fn halves_that_fit_but_do_not_mate() {
    let mut b = Bench::new();
    b.body_mut("P").key = "B".into();
    line(&b, "plugs: 1 of 1 fits by itself");
    line(
        &b,
        "so: plugs and receptacles fit circuit pump, but no two of them mate",
    );
    line(
        &b,
        "nearest: plug P fails only mate: no receptacle with interface I, key B fits here \
         (catalog/bodies.csv:2, circuits.csv:2)",
    );
}

#[test]
fn all_left_out_by_supply() {
    let mut b = Bench::new();
    b.settings.max_lead_days = Some(30);
    b.offer_mut("P").lead_days = Some(60);
    says(
        &b,
        &[
            "plug P cannot be bought: circuit pump has no set without it",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  plug P: takes 60 days, max_lead_days is 30 (catalog/bodies.csv:2)",
            "  so: there is no compatible set for 1 end; with plug P there is one",
        ],
    );
    let told = |b: &Bench| b.no_set().ends[0].groups[0].what.clone();
    assert_eq!(told(&b), "slower than max_lead_days = 30");
    b.settings.exclude_suppliers.insert("Nord".into());
    assert_eq!(told(&b), "sold by excluded suppliers only");
    b.settings.exclude_parts.insert("P".into());
    assert_eq!(told(&b), "in exclude_parts");
    let mut b = Bench::new();
    b.offer_mut("F").stock = Some(0);
    says(
        &b,
        &[
            "ferrule F cannot be bought: circuit pump needs a ferrule for barrel B1, 70 mm²",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  ferrule F of barrel B1: has 0 in stock, the least order is 1 (catalog/ferrules.csv:4)",
            "  so: there is no compatible set for 1 end; with ferrule F there is one",
        ],
    );
    // Another ferrule that is for something else.
    b.ferrule("F2", "B2", "50", "70");
    line(&b, "a set exists also without: ferrule");
    b.settings.exclude_parts.insert("F".into());
    line(
        &b,
        "ferrule F is excluded: circuit pump needs a ferrule for barrel B1, 70 mm²",
    );
}

/// The bench with three circuits whose ends differ in all but the seal.
fn three() -> Bench {
    let mut b = Bench::new();
    b.pump().to = terminal("motor", Some("stud"));
    b.body("R2", Half::Receptacle).attach = "stud".into();
    let fan = b.circuit("fan");
    (fan.current, fan.cable_od) = (Ampere(dec("200")), Mm(dec("18.5")));
    b.circuit("light").voltage.0 = dec("48");
    b
}

#[test]
fn one_dead_part_is_one_block() {
    let mut b = three();
    b.offers.retain(|(part, ..)| part != "S");
    assert_eq!(b.no_set().ends.len(), 4);
    says(
        &b,
        &[
            "seal S cannot be bought: 3 circuits need a seal for rear R1, 18.5 to 19 mm",
            "  circuits pump at battery and motor, fan at battery, light at battery \
             (circuits.csv, lines 2 to 4)",
            "  seal S of rear R1: has no offer and none is on hand (catalog/seals.csv:5)",
            "  so: there is no compatible set for 4 ends; with seal S each end has one",
        ],
    );
}

#[test]
fn parts_of_which_any_would_do_are_told_together() {
    let mut b = three();
    b.seal("S2", "R1", "18.8", "19.5");
    b.seal("S3", "R1", "18.7", "19");
    b.offers.retain(|(part, ..)| !part.starts_with('S'));
    // S alone fits the fan, and is the one that helps all.
    line(
        &b,
        "seal S cannot be bought: 3 circuits need a seal for rear R1, 18.5 to 19 mm",
    );
    b.circuits.retain(|c| c.name != "fan");
    line(&b, "3 seals cannot be bought: 2 circuits need one of them");
    line(
        &b,
        "so: there is no compatible set for 3 ends; with any one of these parts each end has one",
    );
    line(
        &b,
        "seal S3 of rear R1: has no offer and none is on hand (catalog/seals.csv:9)",
    );
}

#[test]
fn parts_that_are_needed_together_are_told_together() {
    let mut b = three();
    b.offers.retain(|(part, ..)| part != "S" && part != "F");
    let lines = b.no_set().lines();
    assert_eq!(
        lines[0],
        "ferrule F and seal S cannot be bought: 3 circuits need both"
    );
    assert_eq!(
        lines[4],
        "  so: there is no compatible set for 4 ends; with these parts each end has one"
    );
    b.seal("S2", "R1", "18", "20");
    b.offers.retain(|(part, ..)| part != "S2");
    line(
        &b,
        "ferrule F and any of 2 seals cannot be bought: 3 circuits need both",
    );
}

#[test]
fn two_dead_parts_of_different_ends_are_two_blocks() {
    let mut b = three();
    b.offers.retain(|(part, ..)| part != "R2" && part != "B");
    b.pump().cable_od = Mm(dec("18"));
    b.shell("B2", "R1", "18");
    let lines = b.no_set().lines();
    let heads: Vec<&String> = lines.iter().filter(|l| !l.starts_with(' ')).collect();
    assert_eq!(
        heads,
        [
            "receptacle R2 cannot be bought: circuit pump has no set without it",
            "back shell B cannot be bought: 2 circuits need a back shell for rear R1, 18.5 to 19 mm",
        ]
    );
}

#[test]
fn ends_that_need_other_parts_together_are_blocks_of_their_own() {
    let mut b = three();
    b.pump().cable_od = Mm(dec("18"));
    b.shell("B2", "R1", "18");
    b.offers
        .retain(|(part, ..)| !["F", "B", "B2"].contains(&part.as_str()));
    let lines = b.no_set().lines();
    let heads: Vec<&String> = lines.iter().filter(|l| !l.starts_with(' ')).collect();
    assert_eq!(
        heads,
        [
            "any of 2 back shells and ferrule F cannot be bought: circuit pump needs both",
            "back shell B and ferrule F cannot be bought: 2 circuits need both",
        ]
    );
}

#[test]
fn a_setting_that_keeps_several_parts_away_is_the_cause() {
    let mut b = three();
    b.settings.max_lead_days = Some(3);
    for (part, days) in [("P", 5), ("S", 9), ("R", 4), ("R2", 3)] {
        b.offer_mut(part).lead_days = Some(days);
    }
    let lines = b.no_set().lines();
    assert_eq!(
        lines[0],
        "max_lead_days = 3 is too short: 3 circuits need parts that take longer"
    );
    assert_eq!(
        lines[2],
        "  plug P: takes 5 days, max_lead_days is 3 (catalog/bodies.csv:2)"
    );
    assert_eq!(
        lines[5..],
        ["  so: there is no compatible set for 4 ends; with max_lead_days = 9 each end has one"]
    );
    b.settings.max_lead_days = Some(9);
    b.fits();
    b.settings.max_lead_days = Some(8);
    line(
        &b,
        "seal S cannot be bought: 3 circuits need a seal for rear R1, 18.5 to 19 mm",
    );
    b.settings.exclude_suppliers.insert("Nord".into());
    line(
        &b,
        "exclude_suppliers leaves too little: 3 circuits need parts of excluded suppliers",
    );
    line(&b, "and 1 more");
}

#[test]
fn ends_that_lack_the_same_by_a_rule_are_one_block() {
    let mut b = three();
    for circuit in &mut b.circuits {
        circuit.current = Ampere(dec("400"));
    }
    let lines = b.no_set().lines();
    assert_eq!(lines[0], "there is no compatible set for 4 ends");
    let of = |word: &str| lines.iter().filter(|l| l.starts_with(word)).count();
    assert_eq!((of("  needs: "), of("  plugs: "), of("  so: ")), (4, 1, 3));
    assert!(lines.contains(&"  needs: 1 more".to_owned()), "{lines:?}");
    b.circuits[1].current = Ampere(dec("500"));
    let lines = b.no_set().lines();
    assert_eq!(lines.iter().filter(|l| !l.starts_with(' ')).count(), 2);
}

#[test]
fn a_half_that_the_catalog_lacks() {
    let mut b = Bench::new();
    b.remove("R");
    line(&b, "so: the catalog has no receptacle");
    let at = &b.no_set().ends[0];
    assert!(at.without.is_empty() && at.nearest.is_empty());
    b.parts.clear();
    b.offers.clear();
    line(&b, "so: the catalog has no plug");
}

#[test]
fn any_one_of_several_rules() {
    let mut b = Bench::new();
    b.pump().colour = Some("orange".into());
    b.pump().current = Ampere(dec("400"));
    for (code, colour, amperes) in [("P", "black", "400"), ("P2", "orange", "300")] {
        if code == "P2" {
            b.body(code, Half::Plug);
        }
        b.body_mut(code).colour = Some(colour.into());
        b.body_mut(code).rated_a = Ampere(dec(amperes));
    }
    b.body_mut("R").colour = Some("orange".into());
    b.body_mut("R").rated_a = Ampere(dec("400"));
    line(&b, "a set exists without: current, or without colour");
    line(
        &b,
        "so: one of several rules stands in the way; without any one of them a set exists",
    );
    assert_eq!(b.no_set().ends[0].nearest.len(), 2);
}

/// Keys of HV+, in line 12 of project.toml.
fn keys_of_net(b: &mut Bench, keys: &[&str]) {
    let keys = keys.iter().map(|key| (*key).to_owned()).collect();
    b.settings.keying.keys.insert("HV+".into(), keys);
    let row = row("project.toml", 12);
    b.settings.rows.net_keys.insert("HV+".into(), row);
}

#[test]
fn a_key_that_the_net_may_not_have() {
    let mut b = Bench::new();
    let key = b.body_mut("P").key.clone();
    keys_of_net(&mut b, &["1", "2"]);
    b.pump().from.key = Some(key.clone());
    line(
        &b,
        &format!(
            "so: net HV+ keeps to key 1 or 2 (project.toml:12), but circuit pump is pinned to key \
             {key} at battery (circuits.csv:2); add {key} to the keys of the net, or change from_key"
        ),
    );
    // No end is pinned, and no body has a key of the net.
    b.pump().from.key = None;
    line(
        &b,
        "so: net HV+ keeps to key 1 or 2 (project.toml:12), and no plug or receptacle that fits \
         circuit pump (circuits.csv:2) otherwise has such a key; add a key to the keys of the net",
    );
    let face = b.body_mut("P").interface.clone();
    let from = &mut b.pump().from;
    from.attach = Some(BUILT_IN.into());
    from.interface = Some(face);
    from.key = Some(key.clone());
    line(
        &b,
        &format!(
            "so: net HV+ keeps to key 1 or 2 (project.toml:12), but the receptacle that circuit \
             pump has built in at battery has key {key} (circuits.csv:2); add {key} to the keys \
             of the net, or correct from_key"
        ),
    );
    // The cure cures.
    keys_of_net(&mut b, &["1", "2", &key]);
    assert!(b.fit().is_ok());
    b.pump().from.attach = Some("busbar".into());
    assert!(b.fit().is_ok());
}

#[test]
fn a_built_in_receptacle_without_keying() {
    let mut b = Bench::new();
    let face = b.body_mut("P").interface.clone();
    let from = &mut b.pump().from;
    from.attach = Some(BUILT_IN.into());
    from.interface = Some(face);
    let key = b.body_mut("P").key.clone();
    assert_eq!(
        sentences(&b, "P"),
        [format!(
            "plug P has key {key}, circuit pump has a built-in receptacle without keying there \
             (catalog/bodies.csv:2, circuits.csv:2)"
        )]
    );
    b.body_mut("P").key.clear();
    assert!(b.fit().is_ok());
}

#[test]
fn the_best_of_those_refused_alike_is_named() {
    let mut b = Bench::new();
    b.pump().current = Ampere(dec("400"));
    b.body_mut("R").rated_a = Ampere(dec("400"));
    b.body("P2", Half::Plug).rated_a = Ampere(dec("380"));
    let group = "2 plugs: current: rated below 400 A";
    line(
        &b,
        &format!("{group} (highest: P2 at 380 A; catalog/bodies.csv:7)"),
    );
    // Of two alike the first.
    b.body_mut("P2").rated_a = Ampere(dec("350"));
    line(
        &b,
        &format!("{group} (highest: P at 350 A; catalog/bodies.csv:2)"),
    );
    b.body("P3", Half::Plug).rated_a = Ampere(dec("390"));
    let group = "3 plugs: current: rated below 400 A";
    line(
        &b,
        &format!("{group} (highest: P3 at 390 A; catalog/bodies.csv:8)"),
    );
}

#[test]
fn plugs_are_told_before_receptacles() {
    let mut b = Bench::new();
    b.pump().current = Ampere(dec("400"));
    let no_set = b.no_set();
    let groups: Vec<Half> = no_set.ends[0].groups.iter().map(|g| g.half).collect();
    assert_eq!(groups, [Half::Plug, Half::Receptacle]);
    let near = no_set.ends[0].nearest.iter().map(|n| &n.refusals[0].part);
    assert_eq!(near.collect::<Vec<_>>(), ["P", "R"]);
}

#[test]
fn of_several_suppliers_the_fastest_is_named() {
    for (first, second) in [(60, 45), (45, 60)] {
        let mut b = Bench::new();
        b.settings.max_lead_days = Some(30);
        b.suppliers.push("Sud".into());
        b.offer_mut("P").lead_days = Some(first);
        b.offer("P", "Sud").lead_days = Some(second);
        line(
            &b,
            "plug P: takes 45 days, max_lead_days is 30 (catalog/bodies.csv:2)",
        );
        let best = b.no_set().ends[0].groups[0].best.clone();
        assert_eq!(best.as_deref(), Some("fastest: P at 45 days"));
    }
}

#[test]
fn ends_that_need_the_same_are_told_together() {
    let mut b = Bench::new();
    b.pump().conductors = vec!["HV+".into(), "HV-".into()];
    b.pump().to = terminal("motor", Some("busbar"));
    b.circuit("fan");
    b.circuit("heater").current = Ampere(dec("10"));
    b.circuit("light").current = Ampere(dec("351"));
    b.body_mut("P").poles = 2;
    let no_set = b.no_set();
    let ends: Vec<usize> = no_set.ends.iter().map(|at| at.ends.len()).collect();
    assert_eq!(ends, [5, 1, 1]);
    assert_eq!(
        no_set.lines()[..2],
        [
            "there is no compatible set for 6 ends",
            "  circuits pump at battery and motor, fan at battery, heater at battery \
             (circuits.csv, lines 2 to 4)",
        ]
    );
    let mut alone = b.clone();
    alone.circuits.truncate(1);
    assert_eq!(
        alone.no_set().lines()[1],
        "  circuit pump (circuits.csv:2): HV+ at battery, HV+ at motor, HV- at battery, HV- at motor"
    );
    assert_eq!(no_set.ends[2].without, [[Rule::Poles, Rule::Current]]);
    assert_eq!(no_set.to_string(), b.no_set().to_string());
}

#[test]
fn ends_that_have_a_set_are_not_told() {
    let mut b = Bench::new();
    b.circuit("fan").current = Ampere(dec("351"));
    let no_set = b.no_set();
    assert_eq!(no_set.ends.len(), 1);
    assert_eq!(no_set.ends[0].ends[0].circuit, "fan");
}

/// The sentences of all refusals of a part at the first end.
fn sentences(bench: &Bench, code: &str) -> Vec<String> {
    let input = bench.input();
    let end = &ends(&input.circuits)[0];
    let part = input.catalog.find(code).unwrap();
    let all = refusals(&input, end, part);
    all.iter().map(|refusal| refusal.sentence()).collect()
}

#[test]
fn a_refusal_is_one_sentence_with_both_rows() {
    let mut b = Bench::new();
    b.pump().current = Ampere(dec("400"));
    b.body_mut("R").rated_a = Ampere(dec("400"));
    let rows = "(catalog/bodies.csv:2, circuits.csv:2)";
    assert_eq!(
        sentences(&b, "P"),
        [format!(
            "plug P is rated 350 A, circuit pump needs 400 A {rows}"
        )]
    );
    b.pump().current = Ampere(dec("300"));
    b.pump().gauge = "95 mm2".parse().unwrap();
    assert_eq!(
        sentences(&b, "P"),
        [format!(
            "plug P cannot be filled: no ferrule of barrel B1 in catalog/ferrules.csv goes above \
             70 mm², circuit pump needs 95 mm² {rows}"
        )]
    );
    assert_eq!(
        sentences(&b, "F"),
        [
            "ferrule F takes 50 mm² to 70 mm², circuit pump needs 95 mm² \
             (catalog/ferrules.csv:4, circuits.csv:2)",
            "ferrule F is for barrel B1, circuit pump has no body that fits and takes it \
             (catalog/ferrules.csv:4, circuits.csv:2)",
        ]
    );
}

#[test]
fn a_fitting_is_held_against_bodies_that_fit_otherwise() {
    let mut b = Bench::new();
    // The only plug that takes it carries too little: it does not count.
    b.ferrule("F2", "B2", "50", "70");
    let weak = b.body("P2", Half::Plug);
    (weak.barrel, weak.rated_a) = (Some("B2".into()), Ampere(dec("200")));
    assert_eq!(
        sentences(&b, "F2"),
        [
            "ferrule F2 is for barrel B2, circuit pump has no body that fits and takes it \
          (catalog/ferrules.csv:7, circuits.csv:2)"
        ]
    );
    b.body_mut("P2").rated_a = Ampere(dec("300"));
    assert_eq!(sentences(&b, "F2"), [""; 0]);
    // As does one that nothing mates with.
    b.body_mut("P2").key = "Z".into();
    assert_eq!(b.refused_by("F2"), [Rule::Ferrule]);
    b.body_mut("P2").key = "A".into();
    // Of another size and for another body: both are told.
    b.ferrule("F3", "B3", "95", "120");
    assert_eq!(b.refused_by("F3"), [Rule::Ferrule, Rule::Ferrule]);
    b.seal("S3", "R3", "25", "30");
    assert_eq!(b.refused_by("S3"), [Rule::Seal, Rule::Seal]);
    b.seal("S4", "R1", "25", "30");
    assert_eq!(b.refused_by("S4"), [Rule::Seal]);
}

#[test]
fn refusals_are_empty_for_just_the_parts_of_a_set() {
    let mut b = Bench::new();
    b.shell("B2", "R1", "18");
    b.body("P2", Half::Plug).key = "Z".into();
    b.seal("S2", "R9", "18", "20");
    for code in ["P", "R", "F", "S", "B"] {
        assert_eq!(sentences(&b, code), [""; 0]);
    }
    for (code, rule) in [
        ("B2", Rule::BackShell),
        ("P2", Rule::Mate),
        ("S2", Rule::Seal),
    ] {
        assert_eq!(b.refused_by(code), [rule], "{code}");
    }
    let end = &ends(&b.circuits)[0];
    assert_eq!(refusals(&b.input(), end, couplet::catalog::PartId(99)), []);
}

#[test]
fn an_attribute_is_a_rule_by_its_own_name() {
    let mut b = Bench::new();
    b.attribute(
        "temperature",
        &[Kind::Plug],
        Holds::AtLeast,
        IfEmpty::Refuses,
    );
    b.wants("temperature", "125");
    b.has("P", "temperature", "105");
    b.body("P2", Half::Plug);
    says(
        &b,
        &[
            "there is no compatible set for 1 end",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  needs: conductor of 70 mm², cable of 19 mm, 300 A, 400 V, 1 pole, receptacle by busbar, temperature at least 125",
            "  plugs: 0 of 2 fit by themselves",
            "    1 plug: temperature: no temperature stated (catalog/bodies.csv:7)",
            "    1 plug: temperature: not at least 125 (highest: P at 105; catalog/bodies.csv:2)",
            "  receptacles: 1 of 1 fits by itself",
            "    1 receptacle: mate: no plug of the same interface and key fits here (catalog/bodies.csv:3)",
            "  so: circuit pump needs temperature at least 125, no plug that fits otherwise gives that",
            "  a set exists without: temperature",
            "  nearest: plug P fails only temperature: temperature 105 is below 125 (catalog/bodies.csv:2, circuits.csv:2)",
            "  nearest: plug P2 fails only temperature: it states no temperature, at least 125 is wanted (catalog/bodies.csv:7, circuits.csv:2)",
        ],
    );
    let rows = "(catalog/bodies.csv:2, circuits.csv:2)";
    assert_eq!(
        sentences(&b, "P"),
        [format!(
            "plug P has temperature 105, circuit pump needs temperature at least 125 {rows}"
        )]
    );
}

#[test]
fn each_way_of_an_attribute_has_its_words() {
    for (holds, wanted, has, reason) in [
        (Holds::Equal, "yes", "no", "class no is not yes"),
        (
            Holds::Has,
            "ce ul",
            "gl ul",
            "class gl ul lacks some of ce ul",
        ),
        (Holds::AtLeast, "105", "85", "class 85 is below 105"),
        (Holds::AtMost, "40", "60.50", "class 60.5 is above 40"),
    ] {
        let mut b = Bench::new();
        b.attribute("class", &[Kind::Seal], holds, IfEmpty::Refuses);
        b.wants("class", wanted);
        b.has("S", "class", has);
        let no_set = b.no_set();
        let refusal = &no_set.ends[0].nearest[0].refusals[0];
        let told = format!("seal S of rear R1: {reason}, catalog/seals.csv:5");
        assert_eq!(refusal.reason, told);
        let wants = match holds {
            Holds::AtLeast => format!("at least {wanted}"),
            Holds::AtMost => format!("at most {wanted}"),
            _ => wanted.to_owned(),
        };
        assert_eq!(refusal.wants, format!("needs class {wants}"));
        assert_eq!(no_set.ends[0].wants, [format!("class {wants}")]);
        let refusals = refusals(
            &b.input(),
            &no_set.ends[0].end,
            b.input().catalog.find("S").unwrap(),
        );
        assert_eq!(refusals[0].reason, reason);
    }
}

#[test]
fn halves_that_are_not_the_same() {
    let mut b = Bench::new();
    b.attribute(
        "plating",
        &[Kind::Plug, Kind::Receptacle],
        Holds::Same,
        IfEmpty::Refuses,
    );
    b.has("P", "plating", "tin");
    says(
        &b,
        &[
            "there is no compatible set for 1 end",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  needs: conductor of 70 mm², cable of 19 mm, 300 A, 400 V, 1 pole, receptacle by busbar",
            "  plugs: 1 of 1 fits by itself",
            "    1 plug: plating: no receptacle that fits here has the same plating (catalog/bodies.csv:2)",
            "  receptacles: 1 of 1 fits by itself",
            "    1 receptacle: plating: no plug that fits here has the same plating (catalog/bodies.csv:3)",
            "  so: circuit pump needs the same plating on both halves, no plug or receptacle that fits otherwise gives that",
            "  a set exists without: plating",
            "  nearest: plug P fails only plating: no receptacle of its interface and key that fits here has plating tin (catalog/bodies.csv:2, circuits.csv:2)",
            "  nearest: receptacle R fails only plating: no plug of its interface and key that fits here has no plating (catalog/bodies.csv:3, circuits.csv:2)",
        ],
    );
}

#[test]
fn an_interface_that_is_wanted() {
    let mut b = Bench::new();
    b.pump().from.interface = Some("J".into());
    says(
        &b,
        &[
            "there is no compatible set for 1 end",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  needs: conductor of 70 mm², cable of 19 mm, 300 A, 400 V, 1 pole, receptacle by busbar, interface J",
            "  plugs: 0 of 1 fit by themselves",
            "    1 plug: interface: not interface J (catalog/bodies.csv:2)",
            "  receptacles: 0 of 1 fit by themselves",
            "    1 receptacle: interface: not interface J (catalog/bodies.csv:3)",
            "  so: circuit pump needs interface J there, no plug or receptacle that fits otherwise gives that",
            "  a set exists without: interface",
            "  nearest: plug P fails only interface: interface I is not J (catalog/bodies.csv:2, circuits.csv:2)",
            "  nearest: receptacle R fails only interface: interface I is not J (catalog/bodies.csv:3, circuits.csv:2)",
        ],
    );
}

#[test]
fn keys_of_a_net() {
    let mut b = Bench::new();
    let keys = ["1", "2"].map(str::to_owned);
    b.settings.keying.keys.insert("HV+".into(), keys.into());
    says(
        &b,
        &[
            "there is no compatible set for 1 end",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  needs: conductor of 70 mm², cable of 19 mm, 300 A, 400 V, 1 pole, receptacle by busbar, key 1 or 2 by its net",
            "  plugs: 0 of 1 fit by themselves",
            "    1 plug: net keys: not key 1 or 2 of net HV+ (catalog/bodies.csv:2)",
            "  receptacles: 0 of 1 fit by themselves",
            "    1 receptacle: net keys: not key 1 or 2 of net HV+ (catalog/bodies.csv:3)",
            "  so: net HV+ keeps to key 1 or 2, and no plug or receptacle that fits circuit pump (circuits.csv:2) otherwise has such a key; add a key to the keys of the net",
            "  a set exists without: net keys",
            "  nearest: plug P fails only net keys: key A is none of net HV+, which has key 1 or 2 (catalog/bodies.csv:2, circuits.csv:2)",
            "  nearest: receptacle R fails only net keys: key A is none of net HV+, which has key 1 or 2 (catalog/bodies.csv:3, circuits.csv:2)",
        ],
    );
}

#[test]
fn a_rating_says_on_which_conductors() {
    let mut b = Bench::new();
    b.body_mut("P").ratings = vec![Rating {
        min_mm2: Mm2(dec("50")),
        max_mm2: Mm2(dec("95")),
        rated_a: Ampere(dec("250")),
    }];
    line(
        &b,
        "1 plug: current: rated below 300 A (highest: P at 250 A; catalog/bodies.csv:2)",
    );
    line(
        &b,
        "nearest: plug P fails only current: 250 A on 50 to 95 mm² is below 300 A (catalog/bodies.csv:2, circuits.csv:2)",
    );
    let rows = "(catalog/bodies.csv:2, circuits.csv:2)";
    assert_eq!(
        sentences(&b, "P"),
        [format!(
            "plug P is rated 250 A on 50 to 95 mm², circuit pump needs 300 A {rows}"
        )]
    );
    b.settings.ambient = Some(Celsius(dec("102.5")));
    let body = b.body_mut("P");
    body.ratings[0].rated_a = Ampere(dec("300"));
    body.rated_c = Some(Celsius(dec("85")));
    body.max_c = Some(Celsius(dec("125")));
    assert_eq!(
        sentences(&b, "P"),
        [format!(
            "plug P carries 225 A at 102.5 °C (rated 300 A on 50 to 95 mm²), circuit pump needs 300 A {rows}"
        )]
    );
}

#[test]
fn a_built_in_receptacle_that_no_plug_mates_with() {
    let mut b = Bench::new();
    let from = &mut b.pump().from;
    from.attach = Some("built-in".into());
    from.interface = Some("J".into());
    from.key = Some("A".into());
    says(
        &b,
        &[
            "there is no compatible set for 1 end",
            "  circuit pump (circuits.csv:2): HV+ at battery",
            "  needs: conductor of 70 mm², cable of 19 mm, 300 A, 400 V, 1 pole, built-in receptacle of interface J, key A",
            "  plugs: 0 of 1 fit by themselves",
            "    1 plug: interface: not interface J (catalog/bodies.csv:2)",
            "  so: circuit pump has a built-in receptacle of interface J there, no plug that fits otherwise gives that",
            "  a set exists without: interface",
            "  nearest: plug P fails only interface: interface I is not J (catalog/bodies.csv:2, circuits.csv:2)",
        ],
    );
    b.pump().from.interface = Some("I".into());
    b.pump().from.key = Some("B".into());
    line(
        &b,
        "so: circuit pump has a built-in receptacle of key B there, no plug that fits otherwise gives that",
    );
    // What lacks is the plug alone.
    b.pump().from.key = Some("A".into());
    b.remove("R");
    b.settings.exclude_parts.insert("P".into());
    let missing = &b.no_set().ends[0].missing;
    let codes: Vec<&str> = missing.iter().flatten().map(|m| m.code.as_str()).collect();
    assert_eq!(codes, ["P"]);
}
