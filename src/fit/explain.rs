//! Why an end has no compatible set: requirement, what there is, conclusion,
//! nearest miss. The wording is in `words`.

use super::classes::need;
use super::missing::{Missing, missing};
use super::rule::{Clash, Fact, Rule};
use super::shelf::Shelf;
use super::supply::{Lack, lack};
use super::survey::{Pairs, Rules, Survey, Surveyed, Ways};
use super::words;
use super::{End, Side, back_shell, ferrule, place::Place, place::places, protection, seal};
use crate::catalog::{Half, Kind, Part, PartId, Spec};
use crate::diag::Row;
use crate::input::Input;
use crate::units::{Mm, Mm2};
use std::collections::BTreeMap;
use std::fmt;

/// Some ends have no compatible set.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct NoSet {
    /// Ends that read the same stand together; in the order of their first ends.
    pub ends: Vec<NoSetAt>,
}

impl NoSet {
    /// The explanation as lines of plain text, indented by two spaces a level:
    /// one block for each cause.
    pub fn lines(&self) -> Vec<String> {
        words::lines(&self.ends)
    }
}

impl fmt::Display for NoSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.lines().join("\n"))
    }
}

/// Ends that need the same and have no set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSetAt {
    /// The ends, in order.
    pub ends: Vec<EndName>,
    /// What they need, in words.
    pub needs: String,
    /// Conductor area and cable diameter of all of them.
    pub size: (Mm2, Mm),
    /// Parts with which they would have a set, could those be had: one of each
    /// list is needed, any one of a list is enough. Empty where that is no way.
    pub missing: Vec<Vec<Missing>>,
    /// For plugs and receptacles, how many there are and how many fit by themselves.
    pub kept: Vec<Kept>,
    /// Which rule refuses what. Each body is counted once, at the first rule
    /// that refuses it.
    pub groups: Vec<Group>,
    /// The fewest rules without which a set would exist; where several entries
    /// stand, any of them is enough. Empty if the catalog lacks a half altogether.
    pub without: Vec<Vec<Rule>>,
    /// Bodies that come nearest, at most two of each half.
    pub nearest: Vec<Near>,
    /// What follows, in words.
    pub conclusion: String,
    /// The same without the circuit: where it is equal, the cause is one.
    pub cause: Option<String>,
}

/// An end by the user's names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndName {
    /// Circuit.
    pub circuit: String,
    /// Net or nets.
    pub net: String,
    /// Which end.
    pub side: Side,
    /// Location.
    pub location: String,
    /// Row of the circuit.
    pub row: Row,
}

/// How many bodies of a half fit by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Plug or receptacle.
    pub half: Half,
    /// In the catalog.
    pub of: usize,
    /// Refused by no rule, with all fittings; their other half is not looked at.
    pub fit: usize,
}

/// Bodies that a rule refuses for the same reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Plug or receptacle.
    pub half: Half,
    /// The rule.
    pub rule: Rule,
    /// The reason in words.
    pub what: String,
    /// By id; at least one.
    pub parts: Vec<PartId>,
    /// The one that comes nearest by this rule, in words.
    pub best: Option<String>,
    /// Its row, or that of the first.
    pub row: Row,
}

/// A body that comes near.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Near {
    /// The body.
    pub part: PartId,
    /// All that stands against it.
    pub refusals: Vec<Refusal>,
}

/// One rule refuses one part at one end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The rule.
    pub rule: Rule,
    /// Kind of the part.
    pub kind: Kind,
    /// Code of the part.
    pub part: String,
    /// The part's fact: `is rated 350 A`.
    pub has: String,
    /// The end's: `circuit pump needs 400 A`.
    pub needs: String,
    /// Both at once, short: `350 A is below 400 A`.
    pub reason: String,
    /// Where the part stands.
    pub part_row: Row,
    /// Where the circuit stands.
    pub end_row: Row,
}

impl Refusal {
    /// Requirement and fact in one sentence, with their rows.
    pub fn sentence(&self) -> String {
        words::sentence(self)
    }
}

/// All rules that refuse a part at an end, in the order of the rules; empty if
/// some set at this end uses it. `end` must be one of [`super::ends`] of the same input.
pub fn refusals(input: &Input, end: &End, part: PartId) -> Vec<Refusal> {
    let Some(found) = input.catalog.parts.get(part.0 as usize) else {
        return Vec::new();
    };
    let lacks = lacks(input);
    let shelf = Shelf::new(input, |_| true);
    let survey = Survey::new(input, &shelf, &lacks, end);
    let clashes = match survey.bodies.iter().find(|b| b.id == part) {
        Some(body) => body_clashes(&survey, &Pairs::new(&survey.bodies), body),
        None => fitting_clashes(&survey, part, found, end, input),
    };
    let refusal = |clash: &Clash<'_>| words::refusal(input, found, clash);
    clashes.iter().map(refusal).collect()
}

fn body_clashes<'a>(survey: &Survey<'a>, pairs: &Pairs<'a>, body: &Surveyed<'a>) -> Vec<Clash<'a>> {
    let mut clashes = survey.clashes(body);
    if !pairs.mates(body.body) {
        clashes.push(survey.partner(body));
    }
    clashes
}

/// Against a fitting: what refuses it on the body that comes nearest to taking it.
fn fitting_clashes<'a>(
    survey: &Survey<'a>,
    id: PartId,
    part: &'a Part,
    end: &'a End,
    input: &'a Input,
) -> Vec<Clash<'a>> {
    let pairs = Pairs::new(&survey.bodies);
    let takes = |b: &Surveyed<'a>| pairs.with(b.body, &b.ways).free();
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
    let (rule, code) = match &part.spec {
        Spec::Ferrule(f) => (Rule::Ferrule, f.barrel.as_str()),
        Spec::Seal(s) => (Rule::Seal, s.rear.as_str()),
        Spec::BackShell(b) => (Rule::BackShell, b.rear.as_str()),
        Spec::Body(_) => return Vec::new(),
    };
    let mut clashes: Vec<Clash<'a>> = match &part.spec {
        Spec::Ferrule(f) => ferrule::area(f, end).into_iter().collect(),
        Spec::Seal(s) => seal::diameter(s, end)
            .into_iter()
            .chain(protection::check_seal(s, end, &input.settings))
            .collect(),
        Spec::BackShell(b) => back_shell::diameter(b, end)
            .into_iter()
            .chain(super::colour::check_shell(b, end))
            .collect(),
        Spec::Body(_) => Vec::new(),
    };
    clashes.push(Clash::new(rule, end, Fact::Unused(code)));
    clashes.extend(survey.lack(id));
    clashes.sort_by_key(|clash| clash.rule);
    clashes
}

/// True if the part is of the place's kind and code.
fn is_for(part: &Part, place: &Place<'_>) -> bool {
    let code = match &part.spec {
        Spec::Ferrule(ferrule) => &ferrule.barrel,
        Spec::Seal(seal) => &seal.rear,
        Spec::BackShell(shell) => &shell.rear,
        Spec::Body(_) => return false,
    };
    part.kind() == Kind::from(place.fitting) && code == place.code
}

fn lacks(input: &Input) -> Vec<Option<Lack>> {
    input
        .catalog
        .iter()
        .map(|(id, _)| lack(input, id))
        .collect()
}

/// Explains the ends (by place) that have no set.
pub(crate) fn no_set(input: &Input, ends: &[End], without: &[usize]) -> NoSet {
    let lacks = lacks(input);
    let shelf = Shelf::new(input, |_| true);
    let mut place = BTreeMap::new();
    let mut groups: Vec<(&End, Vec<EndName>)> = Vec::new();
    for end in without.iter().map(|&e| &ends[e]) {
        let at = *place.entry(need(end)).or_insert(groups.len());
        if at == groups.len() {
            groups.push((end, Vec::new()));
        }
        groups[at].1.push(end_name(input, end));
    }
    let at = |(end, names)| {
        let survey = Survey::new(input, &shelf, &lacks, end);
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
    let pairs = Pairs::new(&survey.bodies);
    let mut all = Ways::default();
    for body in &survey.bodies {
        all.extend(&pairs.with(body.body, &body.ways));
    }
    let without: Vec<Vec<Rule>> = all.fewest().iter().map(|r| r.iter().collect()).collect();
    let kept = vec![
        kept(&survey.bodies, Half::Plug),
        kept(&survey.bodies, Half::Receptacle),
    ];
    let nearest = nearest(input, survey, &pairs);
    let conclusion = words::conclusion(input, end, &kept, &without, &nearest);
    NoSetAt {
        ends,
        needs: words::needs(end),
        size: (end.area, end.cable_od),
        missing: missing(input, survey),
        groups: groups(survey, &pairs),
        cause: words::cause(input, end, &kept, &without, (&conclusion, &nearest)),
        conclusion,
        kept,
        without,
        nearest,
    }
}

fn kept(bodies: &[Surveyed<'_>], half: Half) -> Kept {
    let of_half = || bodies.iter().filter(|b| b.body.half == half);
    Kept {
        half,
        of: of_half().count(),
        fit: of_half().filter(|b| b.ways.free()).count(),
    }
}

/// Refused bodies by half, rule and reason; plugs first.
fn groups<'a>(survey: &Survey<'a>, pairs: &Pairs<'a>) -> Vec<Group> {
    let mut groups: BTreeMap<(bool, Rule, String), (Group, Option<words::Extreme>)> =
        BTreeMap::new();
    for body in &survey.bodies {
        let Some(clash) = body_clashes(survey, pairs, body).into_iter().next() else {
            continue;
        };
        let what = words::group(&clash);
        let extreme = words::extreme(&body.part.code, &clash);
        let half = body.body.half;
        let (group, best) = groups
            .entry((half == Half::Receptacle, clash.rule, what.clone()))
            .or_insert_with(|| {
                let row = body.part.row.clone();
                let (rule, parts, best) = (clash.rule, Vec::new(), None);
                (
                    Group {
                        half,
                        rule,
                        what,
                        parts,
                        best,
                        row,
                    },
                    None,
                )
            });
        group.parts.push(body.id);
        if let Some(extreme) = extreme
            && best.as_ref().is_none_or(|b| extreme.value > b.value)
        {
            group.row = body.part.row.clone();
            group.best = Some(extreme.text.clone());
            *best = Some(extreme);
        }
    }
    groups.into_values().map(|(group, _)| group).collect()
}

/// The bodies that need the least given up, at most two of each half.
fn nearest<'a>(input: &'a Input, survey: &Survey<'a>, pairs: &Pairs<'a>) -> Vec<Near> {
    let cost = |b: &Surveyed<'a>| pairs.with(b.body, &b.told.into()).fewest().first().copied();
    let costs: Vec<Option<Rules>> = survey.bodies.iter().map(cost).collect();
    let Some(least) = costs.iter().flatten().map(|r| r.len()).min() else {
        return Vec::new();
    };
    let mut near: Vec<(&Surveyed<'a>, Vec<Clash<'a>>)> = Vec::new();
    for (body, cost) in survey.bodies.iter().zip(costs) {
        let Some(cost) = cost.filter(|cost| cost.len() == least) else {
            continue;
        };
        let mut clashes = survey.clashes(body);
        if cost.has(Rule::Mate) {
            clashes.push(survey.partner(body));
        }
        if !clashes.is_empty() {
            near.push((body, clashes));
        }
    }
    let value = |clashes: &[Clash<'a>]| clashes.first().and_then(|c| words::extreme("", c));
    near.sort_by(|(_, a), (_, b)| {
        let by_value = value(b).map(|e| e.value).cmp(&value(a).map(|e| e.value));
        // What the cable and the device are made like can be eased last.
        let rank = |clashes: &[Clash<'a>]| {
            let rule = clashes.first().map(|c| c.rule);
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
                .map(|clash| words::refusal(input, body.part, clash))
                .collect(),
        })
        .collect()
}
