//! What fits, against trying every part on every end with the rules written again.

mod fit_common;

use couplet::catalog::{
    Attribute, Exit, Fitting, Half, Holds, IfEmpty, Kind, Part, PartId, Rating, Spec, Value,
};
use couplet::fit::{AttributeRule, Class, End, Fit, NoSetAt, Rule, ends, refusals};
use couplet::input::Input;
use couplet::units::{Ampere, Celsius, Gauge, Mm, Mm2, Volt};
use fit_common::{Bench, dec, ip};
use std::collections::BTreeSet;

/// The rules of fit written again, plainly, with some left out.
struct Naive<'a> {
    input: &'a Input,
    end: &'a End,
    without: BTreeSet<Rule>,
    /// Parts that can be had whatever speaks against it.
    revived: BTreeSet<PartId>,
}

impl Naive<'_> {
    fn rule(&self, rule: Rule, holds: bool) -> bool {
        holds || self.without.contains(&rule)
    }

    fn supplied(&self, id: PartId) -> bool {
        let (catalog, settings) = (&self.input.catalog, &self.input.settings);
        let offered = catalog.offers.iter().any(|o| {
            let least = (1..=1000)
                .find(|n| n * o.pack >= o.breaks[0].min_qty)
                .unwrap()
                * o.pack;
            o.part == id
                && !settings
                    .exclude_suppliers
                    .contains(&catalog.supplier(o.supplier).name)
                && o.lead_days.unwrap_or(0) <= settings.max_lead_days.unwrap_or(u32::MAX)
                && least <= o.stock.unwrap_or(u64::MAX)
        });
        let here = self.input.on_hand.get(&id).copied().unwrap_or(0) > 0;
        let excluded = settings.exclude_parts.contains(&catalog.part(id).code);
        let revived = self.revived.contains(&id);
        revived || self.rule(Rule::Supply, !excluded && (offered || here))
    }

    fn body(&self, id: PartId, half: Half) -> bool {
        let Some(b) = self.input.catalog.part(id).body() else {
            return false;
        };
        let e = self.end;
        let plug = half == Half::Plug;
        let share = match (self.input.settings.ambient, b.rated_c, b.max_c) {
            (Some(a), Some(r), Some(m)) => ((m.0 - a.0) / (m.0 - r.0)).min(dec("1")),
            _ => dec("1"),
        };
        let here = |row: &&Rating| row.min_mm2 <= e.area && row.max_mm2 >= e.area;
        let rows = b.ratings.iter().filter(here).map(|row| row.rated_a.0);
        let rated = rows.min().unwrap_or(b.rated_a.0);
        let strong = share > dec("0") && rated * rated * share >= e.current.0 * e.current.0;
        let wanted = self.input.settings.protection;
        let ip =
            e.ip.as_ref()
                .is_none_or(|w| b.ip.as_ref().is_some_and(|h| h.gives(w, wanted)));
        let attach = if plug { "crimp" } else { e.attach.as_str() };
        b.half == half
            && self.rule(Rule::Attach, b.attach == attach)
            && self.rule(Rule::Poles, b.poles == e.poles)
            && self.rule(Rule::Voltage, b.rated_v >= e.voltage)
            && self.rule(Rule::Current, strong)
            && self.rule(Rule::Exit, !plug || e.exit.is_none() || e.exit == b.exit)
            && self.rule(Rule::Colour, e.colour.is_none() || e.colour == b.colour)
            && self.rule(Rule::Protection, ip)
            && self.rule(
                Rule::Pin,
                match (&e.key, e.is_built_in()) {
                    (Some(key), _) => *key == b.key,
                    (None, built_in) => !built_in || b.key.is_empty(),
                },
            )
            && self.rule(
                Rule::Interface,
                e.interface.as_ref().is_none_or(|face| *face == b.interface),
            )
            && self.rule(Rule::NetKeys, self.net_has(&b.key))
            && self.has_wanted(self.input.catalog.part(id))
            && self.supplied(id)
            && places(b).iter().all(|place| self.fillable(place))
    }

    fn net_has(&self, key: &str) -> bool {
        let of_net = self.input.settings.keying.keys.get(&self.end.net);
        of_net.is_none_or(|keys| key.is_empty() || keys.contains(key))
    }

    fn attributes(&self) -> impl Iterator<Item = (Rule, usize, &Attribute)> {
        let attributes = self.input.catalog.attributes.iter().enumerate();
        attributes.map(|(place, a)| (attribute_rule(place, a), place, a))
    }

    fn has_wanted(&self, part: &Part) -> bool {
        let mut asked = self
            .attributes()
            .filter(|(.., a)| a.on.contains(&part.kind()));
        asked.all(|(rule, place, a)| {
            let holds = match (&self.end.wants[place], &part.values[place]) {
                (None, _) => true,
                (Some(_), None) => a.if_empty == IfEmpty::Meets,
                (Some(wanted), Some(has)) => match (a.holds, wanted, has) {
                    (Holds::Equal | Holds::Same, wanted, has) => wanted == has,
                    (Holds::Has, Value::Words(wanted), Value::Words(has)) => {
                        wanted.difference(has).next().is_none()
                    }
                    (Holds::AtLeast, Value::Number(wanted), Value::Number(has)) => has >= wanted,
                    (Holds::AtMost, Value::Number(wanted), Value::Number(has)) => has <= wanted,
                    other => panic!("{other:?}"),
                },
            };
            self.rule(rule, holds)
        })
    }

    /// True if the halves agree in all that a pair must agree in.
    fn agree(&self, one: PartId, other: PartId) -> bool {
        let mut same = self.attributes().filter(|(.., a)| a.holds == Holds::Same);
        same.all(|(rule, place, a)| {
            let [one, other] = [one, other].map(|id| &self.input.catalog.part(id).values[place]);
            let one_is_empty = one.is_none() != other.is_none();
            let holds = one == other || (one_is_empty && a.if_empty == IfEmpty::Meets);
            self.rule(rule, holds)
        })
    }

    /// Without a fitting's rule any part of its kind will do; if the catalog
    /// has none of the kind, none is asked for.
    fn fillable(&self, place: &(Fitting, String, Option<Exit>)) -> bool {
        let kind = place.0.into();
        let none = !self.input.catalog.parts.iter().any(|p| p.kind() == kind);
        !self.fittings(place).is_empty() || (none && self.without.contains(&place.0.into()))
    }

    fn fittings(&self, place: &(Fitting, String, Option<Exit>)) -> Vec<PartId> {
        let parts = self.input.catalog.iter();
        parts
            .filter(|(id, p)| self.supplied(*id) && self.fills(p, place))
            .map(|p| p.0)
            .collect()
    }

    fn fills(&self, part: &Part, place: &(Fitting, String, Option<Exit>)) -> bool {
        let e = self.end;
        let implied = self.input.settings.protection;
        let holds = match (&part.spec, place.0) {
            (Spec::Ferrule(f), Fitting::Ferrule) => self.rule(
                Rule::Ferrule,
                f.barrel == place.1 && f.min_mm2 <= e.area && e.area <= f.max_mm2,
            ),
            (Spec::Seal(s), Fitting::Seal) => {
                let ip =
                    e.ip.as_ref()
                        .zip(s.ip.as_ref())
                        .is_none_or(|(w, h)| h.gives(w, implied));
                self.rule(
                    Rule::Seal,
                    s.rear == place.1 && s.min_od <= e.cable_od && e.cable_od <= s.max_od,
                ) && self.rule(Rule::Protection, ip)
            }
            (Spec::BackShell(b), Fitting::BackShell) => {
                let colour = e.colour.is_none() || b.colour.is_none() || b.colour == e.colour;
                self.rule(Rule::BackShell, b.rear == place.1 && e.cable_od <= b.max_od)
                    && self.rule(Rule::Exit, b.exit.is_none() || b.exit == place.2)
                    && self.rule(Rule::Colour, colour)
            }
            _ => false,
        };
        holds && self.has_wanted(part)
    }

    /// All pairs that serve the end; where its receptacle is built in, plugs alone.
    fn pairs(&self) -> Vec<(Option<PartId>, PartId)> {
        let all = |half| {
            self.input
                .catalog
                .iter()
                .map(|p| p.0)
                .filter(move |id| self.body(*id, half))
        };
        let identity = |id| {
            let body = self.input.catalog.part(id).body().unwrap();
            (&body.interface, &body.key)
        };
        if self.end.attach == "built-in" {
            return all(Half::Plug).map(|p| (None, p)).collect();
        }
        all(Half::Receptacle)
            .flat_map(|r| all(Half::Plug).map(move |p| (r, p)))
            .filter(|(r, p)| self.rule(Rule::Mate, identity(*r) == identity(*p)))
            .filter(|(r, p)| self.agree(*r, *p))
            .map(|(r, p)| (Some(r), p))
            .collect()
    }
}

fn attribute_rule(place: usize, attribute: &Attribute) -> Rule {
    Rule::Attribute(AttributeRule {
        place,
        name: attribute.name.clone(),
    })
}

/// All rules of a catalog, in their order.
fn all_rules(input: &Input) -> Vec<Rule> {
    let attributes = input.catalog.attributes.iter().enumerate();
    let attributes = attributes.map(|(place, a)| attribute_rule(place, a));
    let early = Rule::EARLY.iter().cloned();
    let late = Rule::LATE.iter().cloned();
    early.chain(attributes).chain(late).collect()
}

fn places(body: &couplet::catalog::Body) -> Vec<(Fitting, String, Option<Exit>)> {
    if body.attach != "crimp" {
        return Vec::new();
    }
    let of = |f, code: &Option<String>| Some((f, code.clone()?, body.exit));
    [
        of(Fitting::Ferrule, &body.barrel),
        of(Fitting::Seal, &body.rear),
        of(Fitting::BackShell, &body.rear),
    ]
    .into_iter()
    .flatten()
    .filter(|place| !body.includes.contains(&place.0))
    .collect()
}

/// A random bench whose values are few, so that rules hold and fail often.
fn random(rng: &mut fastrand::Rng) -> Bench {
    let mut b = Bench::new();
    // Half of the benches keep a set that serves every end, if nothing is wanted of it.
    let easy = rng.bool();
    ["P", "R", "F", "S", "B"]
        .iter()
        .for_each(|code| b.remove(code));
    if easy {
        b.body("P", Half::Plug);
        b.body("R", Half::Receptacle);
        b.ferrule("F", "B1", "25", "70");
        b.seal("S", "R1", "14", "20");
        b.shell("B", "R1", "22");
    }
    b.circuits.clear();
    b.suppliers.push("Sud".into());
    for n in 0..rng.usize(1..4) {
        let c = b.circuit(&format!("c{n}"));
        c.current = Ampere(pick(rng, &["100", "200", "300"]));
        c.voltage = Volt(pick(rng, &["400", "800"]));
        c.cable_od = Mm(pick(rng, &["15", "19"]));
        c.gauge = *choose(
            rng,
            &["35 mm2", "70 mm2"].map(|g| g.parse::<Gauge>().unwrap()),
        );
        c.ip = choose(rng, &[None, ip("IP65"), ip("IP67")]).clone();
        c.colour = choose(rng, &[None, None, Some("orange".into())]).clone();
        c.from.attach = Some((*choose(rng, &["busbar", "crimp"])).into());
        c.from.exit = *choose(rng, &[None, Some(Exit::Straight), Some(Exit::RightAngle)]);
        if easy {
            (c.ip, c.colour, c.from.exit) = (None, None, None);
            c.from.attach = Some("busbar".into());
        }
        c.to = c.from.clone();
    }
    b.settings.ambient = *choose(rng, &[None, Some(Celsius(dec("60")))]);
    b.settings.max_lead_days = Some(30);
    if !easy && rng.u8(0..4) == 0 {
        b.settings.exclude_suppliers.insert("Nord".into());
    }
    for n in 0..rng.usize(2..12) {
        let code = format!("X{n:02}");
        random_body(rng, &mut b, &code);
        random_supply(rng, &mut b, &code);
    }
    for n in 0..rng.usize(2..9) {
        let code = format!("Y{n:02}");
        random_fitting(rng, &mut b, &code);
        random_supply(rng, &mut b, &code);
    }
    b
}

fn random_body(rng: &mut fastrand::Rng, b: &mut Bench, code: &str) {
    let half = *choose(rng, &[Half::Plug, Half::Receptacle]);
    let body = b.body(code, half);
    body.key = (*choose(rng, &["A", "B"])).into();
    body.rated_a = Ampere(pick(rng, &["200", "300", "400"]));
    body.rated_v = Volt(pick(rng, &["600", "1000"]));
    let temperatures = *choose(
        rng,
        &[
            None,
            Some(("40", "80")),
            Some(("70", "125")),
            Some(("20", "60")),
        ],
    );
    body.rated_c = temperatures.map(|t| Celsius(dec(t.0)));
    body.max_c = temperatures.map(|t| Celsius(dec(t.1)));
    body.ip = choose(rng, &[None, ip("IP67"), ip("IP67"), ip("IP65/IP67")]).clone();
    body.colour = choose(rng, &[None, Some("orange".into()), Some("orange".into())]).clone();
    if half == Half::Receptacle {
        body.attach = (*choose(rng, &["busbar", "busbar", "crimp"])).into();
    }
    body.exit = *choose(rng, &[None, Some(Exit::Straight), Some(Exit::RightAngle)]);
    body.barrel = choose(rng, &[None, Some("B1".into()), Some("B2".into())]).clone();
    body.rear = choose(rng, &[None, Some("R1".into()), Some("R2".into())]).clone();
    use Fitting::*;
    body.includes = choose(rng, &[vec![], vec![], vec![Seal], vec![Ferrule, BackShell]]).clone();
}

fn random_fitting(rng: &mut fastrand::Rng, b: &mut Bench, code: &str) {
    let rear = *choose(rng, &["R1", "R2"]);
    let barrel = *choose(rng, &["B1", "B2"]);
    match rng.u8(0..3) {
        0 => b.ferrule(code, barrel, "25", &pick(rng, &["50", "70"]).to_string()),
        1 => {
            let seal = b.seal(code, rear, &pick(rng, &["14", "17"]).to_string(), "20");
            seal.ip = choose(rng, &[None, ip("IP67"), ip("IP65")]).clone();
        }
        _ => {
            let shell = b.shell(code, rear, &pick(rng, &["16", "22"]).to_string());
            shell.exit = *choose(rng, &[None, Some(Exit::Straight), Some(Exit::RightAngle)]);
            shell.colour =
                choose(rng, &[None, Some("orange".into()), Some("black".into())]).clone();
        }
    }
}

fn random_supply(rng: &mut fastrand::Rng, b: &mut Bench, code: &str) {
    if rng.u8(0..6) == 0 {
        b.settings.exclude_parts.insert(code.into());
    }
    if rng.u8(0..4) == 0 {
        b.on_hand.push((code.into(), 3));
    }
    let offer = b.offer_mut(code);
    offer.lead_days = *choose(rng, &[None, Some(30), Some(31)]);
    offer.pack = *choose(rng, &[1, 4]);
    offer.breaks[0].min_qty = *choose(rng, &[1, 6]);
    offer.stock = *choose(rng, &[None, Some(4), Some(8)]);
    if rng.bool() {
        b.offer(code, "Sud");
    }
}

fn choose<'a, T>(rng: &mut fastrand::Rng, from: &'a [T]) -> &'a T {
    &from[rng.usize(0..from.len())]
}

fn pick(rng: &mut fastrand::Rng, from: &[&str]) -> rust_decimal::Decimal {
    dec(from[rng.usize(0..from.len())])
}

/// What users add, each by chance: attributes, ratings by gauge, interfaces, keys of
/// nets, built-in receptacles.
fn add_facts(rng: &mut fastrand::Rng, b: &mut Bench) {
    let kinds = [
        ("lock", Holds::Equal),
        ("marks", Holds::Has),
        ("degrees", Holds::AtLeast),
        ("force", Holds::AtMost),
        ("plating", Holds::Same),
        ("finish", Holds::Same),
    ];
    for (name, holds) in kinds {
        if rng.u8(0..4) > 0 {
            continue;
        }
        let mut on: Vec<Kind> = Kind::ALL.into_iter().filter(|_| rng.bool()).collect();
        if on.is_empty() || holds == Holds::Same {
            on = vec![Kind::Plug, Kind::Receptacle];
        }
        let if_empty = *choose(rng, &[IfEmpty::Refuses, IfEmpty::Meets]);
        b.attribute(name, &on, holds, if_empty);
    }
    let text = |rng: &mut fastrand::Rng, holds: Holds| match holds {
        Holds::Equal | Holds::Same => *choose(rng, &["x", "x", "y"]),
        Holds::Has => *choose(rng, &["x", "y", "x y", "x z", "x y z"]),
        Holds::AtLeast | Holds::AtMost => *choose(rng, &["-1", "10", "10.0", "12"]),
    };
    for attribute in b.attributes.clone() {
        for part in b.parts.clone() {
            if attribute.on.contains(&part.kind()) && rng.u8(0..6) > 0 {
                let text = text(rng, attribute.holds);
                b.has(&part.code, &attribute.name, text);
            }
        }
        if rng.u8(0..3) == 0 {
            let text = text(rng, attribute.holds);
            b.wants(&attribute.name, text);
        }
    }
    let wants = b.pump().from.wants.clone();
    for circuit in &mut b.circuits {
        for terminal in [&mut circuit.from, &mut circuit.to] {
            if rng.bool() {
                terminal.wants = wants.clone();
            }
            terminal.interface = choose(rng, &[None, None, None, Some("I".into())]).clone();
            terminal.key = choose(rng, &[None, None, None, None, Some("A".into())]).clone();
            if rng.u8(0..6) == 0 {
                terminal.attach = Some("built-in".into());
                terminal.interface = Some((*choose(rng, &["I", "I", "J"])).into());
            }
        }
    }
    for code in b.parts.iter().map(|p| p.code.clone()).collect::<Vec<_>>() {
        if let Spec::Body(body) = b.spec(&code) {
            body.interface = (*choose(rng, &["I", "I", "I", "I", "J"])).into();
            body.key = (*choose(rng, &["A", "A", "A", "B", ""])).into();
            for _ in 0..*choose(rng, &[0, 0, 0, 1, 2]) {
                let (min, max) = *choose(rng, &[("35", "70"), ("10", "35"), ("36", "69")]);
                body.ratings.push(Rating {
                    min_mm2: Mm2(dec(min)),
                    max_mm2: Mm2(dec(max)),
                    rated_a: Ampere(pick(rng, &["150", "300", "500"])),
                });
            }
        }
    }
    if rng.u8(0..4) == 0 {
        let keys = choose(rng, &["A", "A B", "B C", "C"]).split(' ');
        let keys = keys.map(str::to_owned).collect();
        b.settings.keying.keys.insert("HV+".into(), keys);
    }
}

#[test]
fn what_fits_is_what_trying_everything_finds() {
    let mut rng = fastrand::Rng::with_seed(7);
    try_everything((4000, 1000), || random(&mut rng));
}

#[test]
fn what_fits_with_what_users_add_is_what_trying_everything_finds() {
    let mut rng = fastrand::Rng::with_seed(8);
    try_everything((8000, 500), || {
        let mut bench = random(&mut rng);
        add_facts(&mut rng, &mut bench);
        bench
    });
}

#[track_caller]
fn try_everything((cases, least): (usize, usize), mut next: impl FnMut() -> Bench) {
    let (mut with, mut none) = (0, 0);
    // By lists of missing parts: nothing, one part alone, several at once.
    let mut lists = [0; 3];
    for case in 0..cases {
        let bench = next();
        let input = bench.input();
        let ends = ends(&input.circuits);
        match bench.fit() {
            Ok(fit) => {
                with += 1;
                check_fit(case, &input, &fit);
            }
            Err(no_set) => {
                none += 1;
                let mut named = 0;
                for at in &no_set.ends {
                    named += at.ends.len();
                    lists[check_no_set(case, &input, &ends, at).min(2)] += 1;
                }
                let missing = ends
                    .iter()
                    .filter(|e| naive(&input, e, &[]).pairs().is_empty());
                assert_eq!(named, missing.count(), "case {case}");
            }
        }
    }
    assert!(with > least && none > 1000, "{with} with, {none} without");
    assert!(lists.iter().all(|n| *n > 20), "{lists:?}");
}

fn naive<'a>(input: &'a Input, end: &'a End, without: &[Rule]) -> Naive<'a> {
    let without = without.iter().cloned().collect();
    Naive {
        input,
        end,
        without,
        revived: BTreeSet::new(),
    }
}

fn check_fit(case: usize, input: &Input, fit: &Fit) {
    let mut seen = vec![0; fit.ends.len()];
    for class in &fit.classes {
        for &e in &class.ends {
            seen[e] += 1;
            check_refusals(case, input, &fit.ends[e], Some(class));
            check_class(case, &naive(input, &fit.ends[e], &[]), fit, class);
        }
    }
    assert!(
        seen.iter().all(|n| *n == 1),
        "case {case}: each end in one class"
    );
    assert!(
        fit.identities.is_sorted() && fit.offers.is_sorted(),
        "case {case}"
    );
}

fn check_class(case: usize, naive: &Naive<'_>, fit: &Fit, class: &Class) {
    let pairs = naive.pairs();
    let receptacles: BTreeSet<PartId> = pairs.iter().filter_map(|p| p.0).collect();
    let plugs: BTreeSet<PartId> = pairs.iter().map(|p| p.1).collect();
    // A body may stand several times, for the groups in which it mates.
    let have = |choices: &[couplet::fit::Choice]| {
        assert!(choices.is_sorted_by(|a, b| (a.body, a.mate) < (b.body, b.mate)));
        let mut bodies: Vec<PartId> = choices.iter().map(|c| c.body).collect();
        bodies.dedup();
        bodies
    };
    assert_eq!(
        have(&class.receptacles),
        receptacles.into_iter().collect::<Vec<_>>(),
        "case {case}"
    );
    assert_eq!(
        have(&class.plugs),
        plugs.into_iter().collect::<Vec<_>>(),
        "case {case}"
    );
    let mated = class.receptacles.iter().flat_map(|r| {
        let mates = class.plugs.iter().filter(|p| p.mate == r.mate);
        mates.map(|p| (Some(r.body), p.body))
    });
    let mated: BTreeSet<_> = match class.is_built_in() {
        true => class.plugs.iter().map(|p| (None, p.body)).collect(),
        false => mated.collect(),
    };
    assert_eq!(mated, pairs.into_iter().collect(), "case {case}");
    for choice in class.receptacles.iter().chain(&class.plugs) {
        let body = naive.input.catalog.part(choice.body).body().unwrap();
        let identity = &fit.identities[choice.identity];
        assert_eq!(
            (&identity.interface, &identity.key),
            (&body.interface, &body.key)
        );
        let wanted: Vec<_> = places(body)
            .iter()
            .map(|p| (p.0, naive.fittings(p)))
            .collect();
        let slots = choice.slots.iter().map(|s| &class.slots[*s]);
        let have: Vec<_> = slots
            .map(|s| (s.fitting, s.options.iter().map(|o| o.0).collect::<Vec<_>>()))
            .collect();
        assert_eq!(have, wanted, "case {case}");
    }
    let order = |s: &couplet::fit::Slot| (s.half, s.fitting, s.code.clone(), s.exit);
    assert!(
        class.slots.is_sorted_by(|a, b| order(a) < order(b)),
        "case {case}"
    );
}

/// A part is refused by some rule just if no set at the end uses it.
fn check_refusals(case: usize, input: &Input, end: &End, class: Option<&Class>) {
    let bodies = class
        .iter()
        .flat_map(|c| c.receptacles.iter().chain(&c.plugs));
    let slots = class.iter().flat_map(|c| &c.slots);
    let used: BTreeSet<PartId> = bodies
        .map(|c| c.body)
        .chain(slots.flat_map(|s| s.options.iter().map(|o| o.0)))
        .collect();
    for (id, part) in input.catalog.iter() {
        let refusals = refusals(input, end, id);
        let told = refusals.iter().map(|r| r.sentence()).collect::<Vec<_>>();
        assert_eq!(
            refusals.is_empty(),
            used.contains(&id),
            "case {case}: {} {told:?}",
            part.code
        );
        assert!(
            refusals.is_sorted_by(|a, b| a.rule <= b.rule),
            "case {case}: {told:?}"
        );
    }
}

/// The parts named are missing, and no others: with one of each list there is a set.
fn check_missing(case: usize, input: &Input, end: &End, at: &NoSetAt) -> usize {
    let with = |parts: &[PartId]| {
        let mut naive = naive(input, end, &[]);
        naive.revived.extend(parts);
        !naive.pairs().is_empty()
    };
    let lists: Vec<Vec<PartId>> = (at.missing.iter())
        .map(|list| list.iter().map(|m| m.part).collect())
        .collect();
    let helps = !naive(input, end, &[Rule::Supply]).pairs().is_empty();
    assert_eq!(helps, !lists.is_empty(), "case {case}");
    let alone: Vec<PartId> = input
        .catalog
        .iter()
        .map(|p| p.0)
        .filter(|p| with(&[*p]))
        .collect();
    match lists.as_slice() {
        [] => {}
        [list] => assert_eq!(*list, alone, "case {case}"),
        lists => {
            assert!(alone.is_empty(), "case {case}");
            for place in 0..lists.iter().map(Vec::len).max().unwrap() {
                let of = |list: &Vec<PartId>| list[place.min(list.len() - 1)];
                let parts: Vec<PartId> = lists.iter().map(of).collect();
                assert!(with(&parts), "case {case}: {parts:?}");
            }
        }
    }
    lists.len()
}

/// The rules named are enough, no fewer are, and all that are as few are named.
/// How many lists of missing parts are named.
fn check_no_set(case: usize, input: &Input, ends: &[End], at: &NoSetAt) -> usize {
    let name = &at.ends[0];
    let end = ends.iter().find(|e| {
        input.circuits[e.circuit].name == name.circuit && e.side == name.side && e.net == name.net
    });
    let end = end.unwrap();
    check_refusals(case, input, end, None);
    let lists = check_missing(case, input, end, at);
    let enough = |rules: &[Rule]| !naive(input, end, rules).pairs().is_empty();
    for rules in &at.without {
        assert!(enough(rules), "case {case}: without {rules:?}");
        for left in 0..rules.len() {
            let mut fewer = rules.clone();
            fewer.remove(left);
            assert!(!enough(&fewer), "case {case}: {fewer:?} of {rules:?}");
        }
    }
    let all = all_rules(input);
    let single = all.iter().map(|rule| vec![rule.clone()]);
    let single: Vec<Vec<Rule>> = single.filter(|r| enough(r)).collect();
    if !single.is_empty() {
        assert_eq!(at.without, single, "case {case}");
    } else {
        assert!(
            at.without.iter().all(|rules| rules.len() > 1),
            "case {case}"
        );
    }
    let everything = enough(&all);
    assert_eq!(at.without.is_empty(), !everything, "case {case}");
    assert!(
        at.nearest.iter().all(|near| !near.refusals.is_empty()),
        "case {case}"
    );
    let counted: usize = at.groups.iter().map(|g| g.parts.len()).sum();
    let bodies = input
        .catalog
        .parts
        .iter()
        .filter_map(Part::body)
        .filter(|body| body.half == Half::Plug || end.attach != "built-in")
        .count();
    assert_eq!(
        counted, bodies,
        "case {case}: each body is refused by something"
    );
    lists
}
