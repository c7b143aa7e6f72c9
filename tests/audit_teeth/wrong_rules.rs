//! Wrong plans by attributes, ratings, keys of nets, branches, interfaces and built-in
//! receptacles.

use crate::case::{Case, Expect, with};
use crate::dress::{add_attribute, attribute_row};
use crate::wrong::{Make, broken, follows, nothing};
use couplet::audit::{Finding, NetName, Rule};
use couplet::catalog::{BUILT_IN, Fitting, Half, Holds, IfEmpty, Kind, Rating, Value};
use couplet::plan::EndRecord;
use couplet::project::Distinct;
use couplet::units::{Ampere, Mm2};
use rust_decimal::Decimal;

/// By what is wrong.
pub const ALL: &[(&str, Make)] = &[
    ("attribute: equal", |c| unfit(c, Holds::Equal)),
    ("attribute: has", |c| unfit(c, Holds::Has)),
    ("attribute: at-least", |c| unfit(c, Holds::AtLeast)),
    ("attribute: at-most", |c| unfit(c, Holds::AtMost)),
    ("attribute: same as wanted", |c| unfit(c, Holds::Same)),
    ("attribute: equal, more wanted", |c| wants(c, Holds::Equal)),
    ("attribute: has, more wanted", |c| wants(c, Holds::Has)),
    ("attribute: at-least, more wanted", |c| {
        wants(c, Holds::AtLeast)
    }),
    ("attribute: at-most, less wanted", |c| {
        wants(c, Holds::AtMost)
    }),
    ("attribute: no value", no_value),
    ("attribute: of a plug", |c| asked(c, Kind::Plug)),
    ("attribute: of a receptacle", |c| asked(c, Kind::Receptacle)),
    ("attribute: of a ferrule", |c| asked(c, Kind::Ferrule)),
    ("attribute: of a seal", |c| asked(c, Kind::Seal)),
    ("attribute: of a back shell", |c| asked(c, Kind::BackShell)),
    ("same: two words", |c| same(c, [Some("tin"), Some("gold")])),
    ("same: a plug without a word", |c| {
        same(c, [None, Some("gold")])
    }),
    ("same: a receptacle without a word", |c| {
        same(c, [Some("tin"), None])
    }),
    ("rating: too low on this gauge", low_rating),
    ("rating: the lowest of several", lowest_rating),
    ("rating: its areas end before", |c| beside(c, false)),
    ("rating: its areas begin after", |c| beside(c, true)),
    ("net keys", net_keys),
    ("net keys: keying is off", |c| {
        c.input.settings.keying.distinct = Distinct::Off;
        net_keys(c)
    }),
    ("net keys: a location that is left out", net_keys_ignored),
    ("branch", |c| {
        branch(c, (Distinct::ByLocation, |a, b| a == b), "odd")
    }),
    ("branch: none", |c| {
        branch(c, (Distinct::ByLocation, |a, b| a == b), "")
    }),
    ("branch: everywhere", |c| {
        branch(c, (Distinct::Everywhere, |_, _| true), "odd")
    }),
    ("interface: another is wanted", interface),
    ("no receptacle", no_receptacle),
    ("built-in: with a receptacle", needless_receptacle),
    ("built-in: where one is bought", built_in_since),
    ("built-in: another interface", |c| {
        device(c, |end| {
            end.interface = Some("nowhere".to_owned());
        })
    }),
    ("built-in: another key", |c| {
        device(c, |end| end.key = Some("nowhere".to_owned()))
    }),
    ("built-in: no key", |c| {
        let end = c.end_with(true)?;
        match c.plan.ends[end].key.is_empty() {
            true => None,
            false => device(c, |end| end.key = None),
        }
    }),
    ("built-in: a plug of another key", other_plug),
    ("built-in: a fitting on the receptacle", needless_fitting),
];

/// The least step of a number.
const STEP: Decimal = Decimal::from_parts(1, 0, 0, false, 6);

/// What stands at an end, by its attributes.
struct Asked {
    end: usize,
    code: String,
    /// The attribute's place.
    place: usize,
    has: Value,
    wanted: Value,
}

/// Some value that is asked for and there, of an attribute that holds so.
fn some_asked(case: &mut Case, ways: &[Holds]) -> Option<Asked> {
    let mut all = Vec::new();
    let attributes = case.input.catalog.attributes.clone();
    for end in 0..case.plan.ends.len() {
        let wants = case.terminal(end).wants.clone();
        for code in case.codes(end) {
            let kind = case.input.catalog.part(case.id(&code)).kind();
            for (place, attribute) in attributes.iter().enumerate() {
                let has = case.value(&code, place).clone();
                let is_asked = attribute.on.contains(&kind) && ways.contains(&attribute.holds);
                let Some((has, wanted)) = has.zip(wants[place].clone()) else {
                    continue;
                };
                let code = code.clone();
                all.extend(is_asked.then_some(Asked {
                    end,
                    code,
                    place,
                    has,
                    wanted,
                }));
            }
        }
    }
    case.one_of(all)
}

fn rule(case: &Case, place: usize) -> Rule {
    Rule::Attribute(case.input.catalog.attributes[place].name.to_string())
}

/// A value that is just not what is wanted.
fn not_quite(holds: Holds, wanted: &Value) -> Value {
    match wanted {
        Value::Word(word) => Value::Word(format!("{word}x")),
        Value::Words(words) => {
            let mut fewer = words.clone();
            fewer.pop_last();
            fewer.insert("odd".to_owned());
            Value::Words(fewer)
        }
        Value::Number(number) if holds == Holds::AtLeast => Value::Number(number - STEP),
        Value::Number(number) => Value::Number(number + STEP),
    }
}

/// A part has not quite what is wanted.
fn unfit(case: &mut Case, holds: Holds) -> Option<Expect> {
    let at = some_asked(case, &[holds])?;
    *case.value(&at.code, at.place) = Some(not_quite(holds, &at.wanted));
    let rule = rule(case, at.place);
    broken(case, at.end, rule, nothing)
}

/// An end wants more than a part has.
fn wants(case: &mut Case, holds: Holds) -> Option<Expect> {
    let at = some_asked(case, &[holds])?;
    let wanted = match at.has {
        Value::Word(word) => Value::Word(format!("{word}x")),
        Value::Words(mut words) => {
            words.insert("odd".to_owned());
            Value::Words(words)
        }
        Value::Number(number) if holds == Holds::AtLeast => Value::Number(number + STEP),
        Value::Number(number) => Value::Number(number - STEP),
    };
    case.terminal(at.end).wants[at.place] = Some(wanted);
    let rule = rule(case, at.place);
    broken(case, at.end, rule, nothing)
}

fn no_value(case: &mut Case) -> Option<Expect> {
    let at = some_asked(case, &Holds::ALL)?;
    *case.value(&at.code, at.place) = None;
    case.input.catalog.attributes[at.place].if_empty = IfEmpty::Refuses;
    let rule = rule(case, at.place);
    broken(case, at.end, rule, nothing)
}

/// Parts of one kind are asked for what none of them has.
fn asked(case: &mut Case, kind: Kind) -> Option<Expect> {
    let all = (0..case.plan.ends.len()).filter(|&end| {
        let codes = case.codes(end).into_iter();
        let mut kinds = codes.map(|code| case.input.catalog.part(case.id(&code)).kind());
        kinds.any(|other| other == kind)
    });
    let all = all.collect();
    let end = case.one_of(all)?;
    let row = attribute_row("odd", [kind].into(), Holds::Has, IfEmpty::Refuses);
    let place = add_attribute(&mut case.input, row);
    let wanted = Value::Words(["odd".to_owned()].into());
    case.terminal(end).wants[place] = Some(wanted);
    broken(case, end, rule(case, place), nothing)
}

/// The plug and the receptacle of an end have these words of an attribute that nobody
/// wants.
fn same(case: &mut Case, words: [Option<&str>; 2]) -> Option<Expect> {
    let end = case.end_with(false)?;
    let halves = [Kind::Plug, Kind::Receptacle].into();
    let row = attribute_row("odd", halves, Holds::Same, IfEmpty::Refuses);
    let place = add_attribute(&mut case.input, row);
    for (half, word) in [Half::Plug, Half::Receptacle].into_iter().zip(words) {
        let code = case.code(end, half);
        *case.value(&code, place) = word.map(|word| Value::Word(word.to_owned()));
    }
    broken(case, end, rule(case, place), nothing)
}

fn rating(min: Decimal, max: Decimal, rated_a: Decimal) -> Rating {
    Rating {
        min_mm2: Mm2(min),
        max_mm2: Mm2(max),
        rated_a: Ampere(rated_a),
    }
}

/// Some body, the area that it is on, and the current that it must carry.
fn some_body(case: &mut Case) -> (usize, String, Decimal, Decimal) {
    let end = case.end();
    let half = case.half(end);
    let code = case.code(end, half);
    let circuit = case.circuit(end);
    let (area, needed) = (circuit.gauge.area().0, circuit.current.0);
    (end, code, area, needed)
}

fn low_rating(case: &mut Case) -> Option<Expect> {
    let (end, code, area, needed) = some_body(case);
    let body = case.body(&code);
    body.rated_a.0 = needed * Decimal::TEN;
    body.ratings = vec![rating(area, area, needed - STEP)];
    broken(case, end, Rule::Current, nothing)
}

fn lowest_rating(case: &mut Case) -> Option<Expect> {
    let (end, code, area, needed) = some_body(case);
    let (below, above) = (area - Decimal::ONE, area + Decimal::ONE);
    let mut rows = vec![
        rating(below, area, needed * Decimal::TEN),
        rating(area, above, needed - STEP),
        rating(below, above, needed * Decimal::TEN),
    ];
    case.rng.shuffle(&mut rows);
    case.body(&code).ratings = rows;
    broken(case, end, Rule::Current, nothing)
}

/// The only row is for areas next to that of the conductor.
fn beside(case: &mut Case, is_above: bool) -> Option<Expect> {
    let (end, code, area, needed) = some_body(case);
    let (min, max) = match is_above {
        true => (area + STEP, area + Decimal::ONE),
        false => (area - Decimal::ONE, area - STEP),
    };
    let body = case.body(&code);
    body.rated_a.0 = needed - STEP;
    body.ratings = vec![rating(min, max, needed * Decimal::TEN)];
    broken(case, end, Rule::Current, nothing)
}

fn net_keys(case: &mut Case) -> Option<Expect> {
    let keyed = case.plan.ends.iter().enumerate();
    let keyed = keyed.filter(|(_, end)| !end.key.is_empty());
    let keyed = keyed.map(|(place, _)| place).collect();
    let end = case.one_of(keyed)?;
    let record = &case.plan.ends[end];
    let keys = [format!("{}x", record.key), "odd".to_owned()].into();
    let all = &mut case.input.settings.keying.keys;
    all.insert(record.net.clone(), keys);
    broken(case, end, Rule::NetKeys, nothing)
}

fn net_keys_ignored(case: &mut Case) -> Option<Expect> {
    let locations = case.plan.ends.iter().map(|end| end.location.clone());
    case.input.settings.keying.ignore_at = locations.collect();
    net_keys(case)
}

/// How far the keying rule reaches, and whether two locations are in reach.
type Reach = (Distinct, fn(&str, &str) -> bool);

/// One of two circuits that share a net and a key goes to another branch.
fn branch(case: &mut Case, reach: Reach, name: &str) -> Option<Expect> {
    case.input.settings.keying.distinct = reach.0;
    case.input.settings.keying.ignore_at.clear();
    if !case.audit().is_empty() {
        return None;
    }
    let shared = |end: &EndRecord| (end.net.clone(), end.interface.clone(), end.key.clone());
    let mut pairs = Vec::new();
    for (n, a) in case.plan.ends.iter().enumerate() {
        let alike = |b: &&EndRecord| {
            b.circuit != a.circuit && shared(a) == shared(b) && reach.1(&a.location, &b.location)
        };
        pairs.extend(case.plan.ends.iter().any(|b| alike(&b)).then_some(n));
    }
    let end = case.one_of(pairs)?;
    let (net, interface, key) = shared(&case.plan.ends[end]);
    let was = std::mem::replace(&mut case.circuit(end).branch, name.to_owned());
    if was == name {
        return None;
    }
    let both = [was, name.to_owned()].map(|branch| NetName {
        net: net.clone(),
        branch,
    });
    with(
        move |f| {
            matches!(f, Finding::KeyingClash { interface: i, key: k, nets, .. }
                if *i == interface && *k == key && both.iter().all(|b| nets.contains(b)))
        },
        |f| matches!(f, Finding::KeyingClash { .. }),
    )
}

fn interface(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(false)?;
    case.terminal(end).interface = Some("nowhere".to_owned());
    broken(case, end, Rule::Interface, nothing)
}

fn no_receptacle(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(false)?;
    let name = case.name(end);
    case.plan.ends[end].receptacle = None;
    with(
        move |f| *f == Finding::MissingReceptacle(name.clone()),
        follows,
    )
}

/// The receptacle of another end, or one that the catalog has.
fn needless_receptacle(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(true)?;
    let name = case.name(end);
    let parts = case.input.catalog.parts.iter();
    let all = parts.filter(|part| part.kind() == Kind::Receptacle);
    let all = all.map(|part| part.code.clone()).collect();
    case.plan.ends[end].receptacle = Some(case.one_of(all)?);
    with(
        move |f| *f == Finding::UnneededReceptacle(name.clone()),
        follows,
    )
}

fn built_in_since(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(false)?;
    let name = case.name(end);
    let EndRecord { interface, key, .. } = case.plan.ends[end].clone();
    let terminal = case.terminal(end);
    terminal.attach = Some(BUILT_IN.to_owned());
    (terminal.interface, terminal.key) = (Some(interface), Some(key));
    with(
        move |f| *f == Finding::UnneededReceptacle(name.clone()),
        // So it is with every conductor of that side of the circuit.
        |f| {
            matches!(
                f,
                Finding::UnneededReceptacle(_)
                    | Finding::UnneededFitting(_, Half::Receptacle, _)
                    | Finding::Broken(_, Rule::Mate, _)
            )
        },
    )
}

/// The device has not what the plug mates with.
fn device(case: &mut Case, change: fn(&mut couplet::project::Terminal)) -> Option<Expect> {
    let end = case.end_with(true)?;
    change(case.terminal(end));
    broken(case, end, Rule::Mate, nothing)
}

/// A plug of the same interface with another key, in the record as in the catalog.
fn other_plug(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(true)?;
    let (record, id) = (&case.plan.ends[end], case.id(&case.plan.ends[end].plug));
    let model = case.input.catalog.part(id).body()?.clone();
    let others = case.input.catalog.parts.iter().filter(|part| {
        let body = part.body();
        body.is_some_and(|b| {
            (b.half, &b.interface, &b.barrel, &b.rear, &b.includes)
                == (
                    Half::Plug,
                    &record.interface,
                    &model.barrel,
                    &model.rear,
                    &model.includes,
                )
                && b.key != record.key
                && b.exit == model.exit
        })
    });
    let others = others.map(|part| part.code.clone()).collect();
    let code: String = case.one_of(others)?;
    let key = case.body(&code).key.clone();
    let record = &mut case.plan.ends[end];
    (record.plug, record.key) = (code, key);
    // Of the other rules, the plug may break any.
    broken(case, end, Rule::Mate, |f| {
        follows(f)
            || matches!(f, Finding::Broken(..) | Finding::KeyingClash { .. })
            || matches!(f, Finding::ExcludedPart(_))
    })
}

fn needless_fitting(case: &mut Case) -> Option<Expect> {
    let end = case.end_with(true)?;
    let name = case.name(end);
    let count = case.plan.ends[end].fittings.len();
    let place = case.one_of((0..count).collect())?;
    let mut fitting = case.plan.ends[end].fittings[place].clone();
    fitting.half = Half::Receptacle.word().to_owned();
    let kinds = [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell];
    let kind = kinds.into_iter().find(|k| k.word() == fitting.kind)?;
    case.plan.ends[end].fittings.insert(0, fitting);
    with(
        move |f| *f == Finding::UnneededFitting(name.clone(), Half::Receptacle, kind),
        follows,
    )
}
