//! Why an end has no compatible set: which rules refuse what, what would have
//! to be given up, and which parts come nearest.

use super::attribute;
use super::checks;
use super::clash::Clash;
use super::code::{Code, Unused};
use super::definition::At;
use super::end::{End, Need};
use super::missing::missing;
use super::net_keys;
use super::no_set::{EndName, Group, Kept, Near, NetList, NoSet, NoSetAt, Refusal};
use super::place::{Place, places};
use super::rules::Rule;
use super::shelf::Shelf;
use super::supply::{Lack, lack_at};
use super::survey::{Pairs, Rules, Survey, Surveyed, Ways};
use crate::catalog::{Half, Part, PartId};
use crate::input::Input;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// All rules that refuse a part at an end, in the order of the rules; empty if
/// some set at this end uses it. `end` must be one of [`super::ends()`] of the same input.
pub fn refusals(input: &Input, end: &End, part: PartId) -> Vec<Refusal> {
    let Some(found) = input.catalog.parts.get(part.0 as usize) else {
        return Vec::new();
    };
    let lacks = lacks(input, end.machine);
    let shelf = Shelf::new(input, |_| true);
    let survey = Survey::new(input, &shelf, &lacks, end);
    let clashes = match survey.bodies.iter().find(|b| b.id == part) {
        Some(body) => body_clashes(&survey, &Pairs::new(&survey), body),
        None => fitting_clashes(&survey, part, found, end, input),
    };
    (clashes.iter())
        .map(|clash| refusal(input, found, clash))
        .collect()
}

/// A clash with its facts in the words of its rule.
fn refusal(input: &Input, part: &Part, clash: &Clash<'_>) -> Refusal {
    let circuit = &input.circuits[clash.end.circuit];
    // Who excludes a part says so elsewhere than the catalog.
    let excluded = input.excluded_at(clash.end.machine, &part.code);
    let row = excluded.filter(|_| clash.rule == Rule::Supply);
    Refusal {
        rule: clash.rule.clone(),
        kind: part.kind(),
        part: part.code.clone(),
        has: clash.has(),
        wants: clash.wants(),
        reason: clash.reason(),
        circuit: circuit.name.clone(),
        part_row: row.unwrap_or(&part.row).clone(),
        end_row: circuit.row.clone(),
    }
}

fn body_clashes<'a>(survey: &Survey<'a>, pairs: &Pairs<'a>, body: &Surveyed<'a>) -> Vec<Clash<'a>> {
    let mut clashes = survey.clashes(body);
    if !pairs.mates(body) && !end_has_its_own(survey, body) {
        add_partner(&mut clashes, survey.partner(pairs, body));
    }
    clashes
}

/// Adds that a body has no mate, at the place of the rule, unless the rule is told already.
fn add_partner<'a>(clashes: &mut Vec<Clash<'a>>, partner: Clash<'a>) {
    if clashes.iter().all(|clash| clash.rule != partner.rule) {
        clashes.push(partner);
        clashes.sort_by(|a, b| a.rule.cmp(&b.rule));
    }
}

/// True for a receptacle where the device has its own: it has no mate to look for.
fn end_has_its_own(survey: &Survey<'_>, body: &Surveyed<'_>) -> bool {
    survey.end.is_built_in() && body.body.half == Half::Receptacle
}

/// What refuses a fitting on the body that comes nearest to taking the fitting.
fn fitting_clashes<'a>(
    survey: &Survey<'a>,
    id: PartId,
    part: &'a Part,
    end: &'a End,
    input: &'a Input,
) -> Vec<Clash<'a>> {
    let pairs = Pairs::new(survey);
    let takes = |b: &Surveyed<'a>| pairs.with(b, &b.ways).free();
    let nearest = survey
        .bodies
        .iter()
        .filter(|b| b.told == Rules::NONE && takes(b))
        .flat_map(|b| places(b.body))
        .filter(|place| is_for(part, place))
        .map(|place| survey.fitting(id, part, &place))
        .min_by_key(Vec::len);
    if let Some(clashes) = nearest {
        return clashes;
    }
    let Some(code) = Code::of(part) else {
        return Vec::new();
    };
    let at = At::new(input, end, None);
    let mut clashes = checks::fitting(part, &at);
    clashes.push(Clash {
        rule: code.fitting.into(),
        end,
        fact: Box::new(Unused(code)),
    });
    clashes.extend(survey.lack(id));
    clashes.sort_by(|a, b| a.rule.cmp(&b.rule));
    clashes
}

/// True if the part is of the place's kind and code.
fn is_for(part: &Part, place: &Place<'_>) -> bool {
    Code::of(part).is_some_and(|c| c.fitting == place.fitting && c.code == place.code)
}

/// For each part why the part cannot be had for a machine.
fn lacks(input: &Input, machine: usize) -> Vec<Option<Lack>> {
    input
        .catalog
        .iter()
        .map(|(id, _)| lack_at(input, machine, id))
        .collect()
}

/// Explains the ends (by place) that have no set.
pub(crate) fn no_set(input: &Input, ends: &[End], without: &[usize]) -> NoSet {
    let shelf = Shelf::new(input, |_| true);
    let mut place = BTreeMap::new();
    let mut groups: Vec<(&End, Vec<EndName>)> = Vec::new();
    for end in without.iter().map(|&e| &ends[e]) {
        let at = *place
            .entry((end.machine, Need::new(input, end)))
            .or_insert(groups.len());
        if at == groups.len() {
            groups.push((end, Vec::new()));
        }
        groups[at].1.push(end_name(input, end));
    }
    let mut of_machine: BTreeMap<usize, Vec<Option<Lack>>> = BTreeMap::new();
    for (end, _) in &groups {
        let lacks = || lacks(input, end.machine);
        of_machine.entry(end.machine).or_insert_with(lacks);
    }
    let at = |(end, names): (&End, Vec<EndName>)| {
        let survey = Survey::new(input, &shelf, &of_machine[&end.machine], end);
        explain(input, &survey, end, names)
    };
    NoSet {
        ends: groups.into_iter().map(at).collect(),
    }
}

fn end_name(input: &Input, end: &End) -> EndName {
    let circuit = &input.circuits[end.circuit];
    EndName {
        circuit: circuit.name.clone(),
        net: end.net.clone(),
        side: end.side,
        location: end.location.clone(),
        row: circuit.row.clone(),
    }
}

fn explain<'a>(input: &'a Input, survey: &Survey<'a>, end: &'a End, ends: Vec<EndName>) -> NoSetAt {
    let pairs = Pairs::new(survey);
    let halves: &[Half] = match end.is_built_in() {
        true => &[Half::Plug],
        false => &[Half::Plug, Half::Receptacle],
    };
    let mut all = Ways::default();
    for body in survey
        .bodies
        .iter()
        .filter(|b| halves.contains(&b.body.half))
    {
        all.extend(&pairs.with(body, &body.ways));
    }
    let fewest = all.fewest().into_iter();
    let without: Vec<Vec<Rule>> = fewest.map(|r| r.list(&input.catalog)).collect();
    NoSetAt {
        ends,
        end: end.clone(),
        wants: net_keys::wanted(&input.rules(end.machine).keying, end)
            .into_iter()
            .chain(attribute::wanted(&input.catalog, end))
            .collect(),
        missing: missing(input, survey),
        kept: halves
            .iter()
            .map(|half| kept(&survey.bodies, *half))
            .collect(),
        groups: groups(survey, &pairs, halves),
        without,
        nearest: nearest(input, survey, &pairs, halves),
        net_keys: net_list(input, end),
    }
}

fn net_list(input: &Input, end: &End) -> Option<NetList> {
    let settings = input.rules(end.machine);
    let keys = settings.keying.keys.get(&end.net)?;
    Some(NetList {
        keys: keys.iter().cloned().collect(),
        row: settings.rows.net_keys.get(&end.net).cloned(),
    })
}

fn kept(bodies: &[Surveyed<'_>], half: Half) -> Kept {
    let of_half = || bodies.iter().filter(|b| b.body.half == half);
    Kept {
        half,
        of: of_half().count(),
        fit: of_half().filter(|b| b.ways.free()).count(),
    }
}

/// Bodies that are refused alike, while they are gathered.
struct Gathering {
    group: Group,
    /// How near the nearest of the bodies comes.
    nearest: Option<Decimal>,
}

/// Refused bodies by half, rule and reason; plugs first.
fn groups<'a>(survey: &Survey<'a>, pairs: &Pairs<'a>, halves: &[Half]) -> Vec<Group> {
    let mut groups: BTreeMap<(bool, Rule, String), Gathering> = BTreeMap::new();
    for body in survey
        .bodies
        .iter()
        .filter(|b| halves.contains(&b.body.half))
    {
        let Some(clash) = body_clashes(survey, pairs, body).into_iter().next() else {
            continue;
        };
        let (half, what) = (body.body.half, clash.group());
        let key = (half == Half::Receptacle, clash.rule.clone(), what.clone());
        let Gathering { group, nearest } = groups.entry(key).or_insert_with(|| Gathering {
            group: Group {
                half,
                rule: clash.rule.clone(),
                what,
                parts: Vec::new(),
                best: None,
                row: body.part.row.clone(),
            },
            nearest: None,
        });
        group.parts.push(body.id);
        if let Some(extreme) = clash.extreme()
            && nearest.is_none_or(|nearest| extreme.value > nearest)
        {
            group.row = body.part.row.clone();
            group.best = Some(extreme.text(&body.part.code));
            *nearest = Some(extreme.value);
        }
    }
    groups.into_values().map(|found| found.group).collect()
}

/// The bodies that need the least given up, at most two of each half.
fn nearest<'a>(
    input: &'a Input,
    survey: &Survey<'a>,
    pairs: &Pairs<'a>,
    halves: &[Half],
) -> Vec<Near> {
    let bodies = || {
        survey
            .bodies
            .iter()
            .filter(|b| halves.contains(&b.body.half))
    };
    let cost = |b: &Surveyed<'a>| pairs.with(b, &b.told.into()).fewest().first().copied();
    let costs: Vec<Option<Rules>> = bodies().map(cost).collect();
    let Some(least) = costs.iter().flatten().map(|r| r.len()).min() else {
        return Vec::new();
    };
    let mut near: Vec<(&Surveyed<'a>, Vec<Clash<'a>>)> = Vec::new();
    for (body, cost) in bodies().zip(costs) {
        let Some(cost) = cost.filter(|cost| cost.len() == least) else {
            continue;
        };
        let mut clashes = survey.clashes(body);
        if !pairs.mates(body) {
            let partner = survey.partner(pairs, body);
            if cost.has(&partner.rule) {
                add_partner(&mut clashes, partner);
            }
        }
        if !clashes.is_empty() {
            near.push((body, clashes));
        }
    }
    let value = |clashes: &[Clash<'a>]| clashes.first()?.extreme().map(|e| e.value);
    near.sort_by(|(_, a), (_, b)| {
        let by_value = value(b).cmp(&value(a));
        // How the cable and the device are made is the last that a user can change.
        let rank = |clashes: &[Clash<'a>]| {
            let rule = clashes.first().map(|c| c.rule.clone());
            (matches!(rule, Some(Rule::Attach | Rule::Poles)), rule)
        };
        rank(a).cmp(&rank(b)).then(by_value)
    });
    let of_half = |half| {
        near.iter()
            .filter(move |(b, _)| b.body.half == half)
            .take(2)
    };
    of_half(Half::Plug)
        .chain(of_half(Half::Receptacle))
        .map(|(body, clashes)| Near {
            part: body.id,
            refusals: clashes
                .iter()
                .map(|clash| refusal(input, body.part, clash))
                .collect(),
        })
        .collect()
}
