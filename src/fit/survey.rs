//! All parts at one end with all rules that refuse each part. The survey tells
//! which rules stand between the end and a set.
//!
//! What would have to be given up is kept as sets of rules. Only the least of these
//! are of interest: if a set exists without `exit`, a set exists without `exit` and
//! `colour` as well.

use super::attribute::{self, Apart};
use super::checks;
use super::clash::Clash;
use super::definition::At;
use super::end::End;
use super::fact::Found;
use super::mate::NoMate;
use super::place::{Place, places};
use super::rules::Rule;
use super::shelf::Shelf;
use super::supply::Lack;
use super::unfilled::{NearFitting, Unfilled};
use crate::catalog::read::MAX_ATTRIBUTES;
use crate::catalog::{Attribute, Body, Catalog, Half, Part, PartId};
use crate::input::Input;
use std::collections::BTreeMap;

/// A set of rules of one catalog.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct Rules(u128);

// Each rule is a bit, and so is each attribute.
const _: () = assert!(Rule::EARLY.len() + Rule::LATE.len() + MAX_ATTRIBUTES <= u128::BITS as usize);

impl Rules {
    pub const NONE: Rules = Rules(0);

    pub fn of(rule: &Rule) -> Rules {
        let at = |list: &[Rule]| list.iter().position(|r| r == rule);
        let place = match (rule, at(Rule::EARLY)) {
            (_, Some(place)) => place,
            (Rule::Attribute(of), _) => Rule::EARLY.len() + of.place,
            _ => Rule::EARLY.len() + MAX_ATTRIBUTES + at(Rule::LATE).unwrap_or(0),
        };
        Rules(1 << place)
    }

    pub fn and(self, other: Rules) -> Rules {
        Rules(self.0 | other.0)
    }

    pub fn has(self, rule: &Rule) -> bool {
        self.0 & Rules::of(rule).0 != 0
    }

    pub fn len(self) -> u32 {
        self.0.count_ones()
    }

    /// The rules by themselves, in their order.
    pub fn list(self, catalog: &Catalog) -> Vec<Rule> {
        let attributes = catalog.attributes.iter().enumerate();
        let attributes = attributes.map(|(place, a)| attribute::rule(place, a));
        let all = Rule::EARLY.iter().cloned().chain(attributes);
        all.chain(Rule::LATE.iter().cloned())
            .filter(|rule| self.has(rule))
            .collect()
    }

    fn within(self, other: Rules) -> bool {
        self.0 & !other.0 == 0
    }
}

impl FromIterator<Rule> for Rules {
    fn from_iter<I: IntoIterator<Item = Rule>>(rules: I) -> Rules {
        rules
            .into_iter()
            .fold(Rules::NONE, |all, rule| all.and(Rules::of(&rule)))
    }
}

/// The least sets of rules of which giving up one set is enough; empty where nothing helps.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Ways(Vec<Rules>);

impl Ways {
    pub fn add(&mut self, rules: Rules) {
        if self.0.iter().any(|have| have.within(rules)) {
            return;
        }
        self.0.retain(|have| !rules.within(*have));
        self.0.push(rules);
    }

    pub fn extend(&mut self, other: &Ways) {
        other.0.iter().for_each(|rules| self.add(*rules));
    }

    /// The ways in which both conditions can be met.
    pub fn both(&self, other: &Ways) -> Ways {
        let mut ways = Ways::default();
        for one in &self.0 {
            other.0.iter().for_each(|two| ways.add(one.and(*two)));
        }
        ways
    }

    /// True if nothing has to be given up.
    pub fn free(&self) -> bool {
        self.0.first() == Some(&Rules::NONE)
    }

    /// The ways with the fewest rules, in the order of the rules.
    pub fn fewest(&self) -> Vec<Rules> {
        let least = self.0.iter().map(|r| r.len()).min();
        let mut fewest: Vec<Rules> = self.0.clone();
        fewest.retain(|rules| Some(rules.len()) == least);
        fewest.sort();
        fewest
    }
}

impl From<Rules> for Ways {
    fn from(rules: Rules) -> Ways {
        Ways(vec![rules])
    }
}

/// One body at the end.
pub(crate) struct Surveyed<'a> {
    pub id: PartId,
    pub part: &'a Part,
    pub body: &'a Body,
    /// What would have to be given up to use the body, with its fittings.
    pub ways: Ways,
    /// What is told of the body: the rules that refuse it or leave a place unfilled.
    pub told: Rules,
}

/// What a body lacks for want of supply alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Gap<'a> {
    /// The body itself.
    Body(PartId),
    /// A place on the body.
    Place(Place<'a>),
}

/// What would have to be given up to fill a place.
struct Filling {
    ways: Ways,
    told: Rules,
    /// The parts that would fill the place if they could be had. Empty where the place
    /// is filled, none where no such part would fill it.
    lacking: Option<Vec<PartId>>,
}

/// All bodies at one end.
pub(crate) struct Survey<'a> {
    input: &'a Input,
    pub end: &'a End,
    lacks: &'a [Option<Lack>],
    shelf: &'a Shelf<'a>,
    fillings: BTreeMap<Place<'a>, Filling>,
    /// The bodies, by id.
    pub bodies: Vec<Surveyed<'a>>,
}

impl<'a> Survey<'a> {
    /// Looks at every body of the catalog. `shelf` holds all parts. `lacks` says for
    /// each part why it cannot be had.
    pub fn new(
        input: &'a Input,
        shelf: &'a Shelf<'a>,
        lacks: &'a [Option<Lack>],
        end: &'a End,
    ) -> Self {
        let mut survey = Survey {
            input,
            end,
            lacks,
            shelf,
            fillings: BTreeMap::new(),
            bodies: Vec::new(),
        };
        for (id, part) in input.catalog.iter() {
            if let Some(body) = part.body() {
                let surveyed = survey.look_at(id, part, body);
                survey.bodies.push(surveyed);
            }
        }
        survey
    }

    /// Everything that stands against a body: its own clashes, its supply, and
    /// places that nothing fills. The list is sorted by rule, own clashes first.
    pub fn clashes(&self, body: &Surveyed<'a>) -> Vec<Clash<'a>> {
        let at = At::new(self.input, self.end, None);
        let mut clashes: Vec<_> = checks::body(body.part, body.body, at).collect();
        clashes.extend(self.lack(body.id));
        clashes.extend(places(body.body).filter_map(|place| self.unfilled(place)));
        clashes.sort_by(|a, b| a.rule.cmp(&b.rule));
        clashes
    }

    /// Everything that stands against a fitting in a place, its supply included.
    pub fn fitting(&self, id: PartId, part: &'a Part, place: &Place<'a>) -> Vec<Clash<'a>> {
        let at = At::new(self.input, self.end, Some(*place));
        let mut clashes = checks::fitting(part, &at);
        clashes.extend(self.lack(id));
        clashes.sort_by(|a, b| a.rule.cmp(&b.rule));
        clashes
    }

    /// The clash of a part that cannot be had.
    pub fn lack(&self, id: PartId) -> Option<Clash<'a>> {
        let lack = self.lack_of(id)?;
        Some(Clash {
            rule: Rule::Supply,
            end: self.end,
            fact: Box::new(lack),
        })
    }

    /// Why a part cannot be had; none if it can.
    pub fn lack_of(&self, id: PartId) -> Option<Lack> {
        *self.lacks.get(id.0 as usize)?
    }

    /// The clash of a body that has no mate which fits: for want of its identity, or
    /// because the two do not agree in an attribute.
    pub fn partner(&self, pairs: &Pairs<'a>, body: &Surveyed<'a>) -> Clash<'a> {
        let (rule, fact): (Rule, Found<'a>) = match pairs.apart(body) {
            Some((place, attribute)) => (
                attribute::rule(place, attribute),
                Box::new(Apart {
                    attribute,
                    half: other(body.body.half),
                    has: body.part.values.get(place).and_then(Option::as_ref),
                }),
            ),
            None => (Rule::Mate, Box::new(NoMate(body.body))),
        };
        Clash {
            rule,
            end: self.end,
            fact,
        }
    }

    fn look_at(&mut self, id: PartId, part: &'a Part, body: &'a Body) -> Surveyed<'a> {
        let at = At::new(self.input, self.end, None);
        let own: Rules = checks::body(part, body, at)
            .chain(self.lack(id))
            .map(|clash| clash.rule)
            .collect();
        let mut surveyed = Surveyed {
            id,
            part,
            body,
            ways: own.into(),
            told: own,
        };
        for place in places(body) {
            if !self.fillings.contains_key(&place) {
                self.fillings.insert(place, self.filling(&place));
            }
            if let Some(filling) = self.fillings.get(&place) {
                surveyed.ways = surveyed.ways.both(&filling.ways);
                surveyed.told = surveyed.told.and(filling.told);
            }
        }
        surveyed
    }

    /// What fills a place. Without the fitting's own rule, any part of its kind may fill the
    /// place if the other rules allow that part. In a catalog without that kind, nothing else
    /// can be given up.
    fn filling(&self, place: &Place<'a>) -> Filling {
        let rule = Rule::from(place.fitting);
        let mut told = Ways::default();
        let mut lacking = Vec::new();
        for &(id, part) in self.shelf.fittings(place) {
            let rules = self.rules_of_fitting(id, part, place);
            if rules == Rules::of(&Rule::Supply) {
                lacking.push(id);
            }
            told.add(rules);
        }
        let lacking = match told.free() {
            true => Some(Vec::new()),
            false => (!lacking.is_empty()).then_some(lacking),
        };
        let mut ways = told.clone();
        let mut none = true;
        for &(id, part) in self.shelf.of_kind(place.fitting) {
            ways.add(self.rules_of_fitting(id, part, place));
            none = false;
        }
        if none {
            ways.add(Rules::of(&rule));
        }
        // A fitting of the right size tells more than that none is there.
        let told = told.fewest().into_iter().min_by_key(|r| r.has(&rule));
        Filling {
            ways,
            told: told.unwrap_or(Rules::of(&rule)),
            lacking,
        }
    }

    /// What supply alone keeps from a body; none where another rule stands
    /// against the body.
    pub fn gaps(&self, body: &Surveyed<'a>) -> Option<Vec<Gap<'a>>> {
        let at = At::new(self.input, self.end, None);
        let mut own = checks::body(body.part, body.body, at);
        if own.next().is_some() {
            return None;
        }
        let mut gaps = Vec::new();
        gaps.extend(self.lack(body.id).map(|_| Gap::Body(body.id)));
        for place in places(body.body) {
            let lacking = self.fillings.get(&place)?.lacking.as_ref()?;
            gaps.extend((!lacking.is_empty()).then_some(Gap::Place(place)));
        }
        Some(gaps)
    }

    /// The parts that would close a gap, by id; any one of them is enough.
    pub fn closing(&self, gap: &Gap<'a>) -> Vec<PartId> {
        match gap {
            Gap::Body(id) => vec![*id],
            Gap::Place(place) => {
                let filling = self.fillings.get(place);
                filling.and_then(|f| f.lacking.clone()).unwrap_or_default()
            }
        }
    }

    fn rules_of_fitting(&self, id: PartId, part: &'a Part, place: &Place<'a>) -> Rules {
        let clashes = self.fitting(id, part, place).into_iter();
        clashes.map(|clash| clash.rule).collect()
    }

    fn unfilled(&self, place: Place<'a>) -> Option<Clash<'a>> {
        let told = self.fillings.get(&place)?.told;
        let rule = told.list(&self.input.catalog).into_iter().next()?;
        let parts = self.shelf.fittings(&place);
        let near = parts.iter().find_map(|&(id, part)| {
            let clashes = self.fitting(id, part, &place);
            let rules: Rules = clashes.iter().map(|c| c.rule.clone()).collect();
            let first = clashes.into_iter().next()?;
            (rules == told && first.rule != Rule::from(place.fitting))
                .then(|| NearFitting { part, clash: first })
        });
        let parts = parts.iter().map(|(_, part)| *part).collect();
        Some(Clash {
            rule,
            end: self.end,
            fact: Box::new(Unfilled { place, parts, near }),
        })
    }
}

/// Bodies of one half, perhaps of one identity, that are equal in all that a pair must
/// agree in.
struct Alike<'a> {
    /// One of them.
    one: &'a Part,
    ways: Ways,
}

/// What is left to give up once the halves are put together.
pub(crate) struct Pairs<'a> {
    of_identity: BTreeMap<(&'a str, &'a str, Half), Vec<Alike<'a>>>,
    of_half: BTreeMap<Half, Vec<Alike<'a>>>,
    /// What a pair must agree in.
    agreements: Vec<(usize, &'a Attribute)>,
    /// The device has its receptacle already, so that each plug has its mate.
    is_built_in: bool,
}

impl<'a> Pairs<'a> {
    pub fn new(survey: &Survey<'a>) -> Self {
        let mut pairs = Pairs {
            of_identity: BTreeMap::new(),
            of_half: BTreeMap::new(),
            agreements: attribute::agreements(&survey.input.catalog),
            is_built_in: survey.end.is_built_in(),
        };
        for b in &survey.bodies {
            let key = (b.body.interface.as_str(), b.body.key.as_str(), b.body.half);
            let of_identity = pairs.of_identity.entry(key).or_default();
            let of_half = pairs.of_half.entry(b.body.half).or_default();
            for groups in [of_identity, of_half] {
                add_alike(groups, &pairs.agreements, b);
            }
        }
        pairs
    }

    /// True if a body of the other half that fits by itself mates with this one.
    pub fn mates(&self, body: &Surveyed<'a>) -> bool {
        let mut of = self.of_mates(body.body);
        let agrees = |alike: &&Alike| self.disagreement(body, alike).is_none();
        self.is_built_in || of.any(|alike| alike.ways.free() && agrees(&alike))
    }

    fn of_mates(&self, body: &'a Body) -> impl Iterator<Item = &Alike<'a>> {
        let key = (body.interface.as_str(), body.key.as_str(), other(body.half));
        self.of_identity.get(&key).into_iter().flatten()
    }

    fn disagreement(&self, body: &Surveyed<'a>, alike: &Alike) -> Option<(usize, &'a Attribute)> {
        attribute::disagreement(&self.agreements, body.part, alike.one)
    }

    /// The least that must be given up to use this body in a pair.
    pub fn with(&self, body: &Surveyed<'a>, ways: &Ways) -> Ways {
        if self.is_built_in {
            return ways.clone();
        }
        let mut all = Ways::default();
        let of_half = self.of_half.get(&other(body.body.half));
        let of_half = of_half.into_iter().flatten();
        let unmated = of_half.map(|alike| (alike, Rules::of(&Rule::Mate)));
        let mated = self.of_mates(body.body).map(|alike| (alike, Rules::NONE));
        for (alike, given_up) in mated.chain(unmated) {
            let apart = attribute::disagreements(&self.agreements, body.part, alike.one);
            let apart: Rules = apart.map(|(place, a)| attribute::rule(place, a)).collect();
            all.extend(&ways.both(&alike.ways).both(&apart.and(given_up).into()));
        }
        all
    }

    /// The attribute that keeps a body from the mates of its identity that fit; none
    /// where there is no such mate.
    pub fn apart(&self, body: &Surveyed<'a>) -> Option<(usize, &'a Attribute)> {
        let mut free = self.of_mates(body.body).filter(|alike| alike.ways.free());
        free.find_map(|alike| self.disagreement(body, alike))
    }
}

/// Puts a body to those that are equal to it in what a pair must agree in.
fn add_alike<'a>(
    groups: &mut Vec<Alike<'a>>,
    agreements: &[(usize, &'a Attribute)],
    body: &Surveyed<'a>,
) {
    let is_alike = |group: &&mut Alike| {
        let mut places = agreements.iter().map(|(place, _)| *place);
        places.all(|place| group.one.values.get(place) == body.part.values.get(place))
    };
    match groups.iter_mut().find(is_alike) {
        Some(group) => group.ways.extend(&body.ways),
        None => groups.push(Alike {
            one: body.part,
            ways: body.ways.clone(),
        }),
    }
}

fn other(half: Half) -> Half {
    match half {
        Half::Plug => Half::Receptacle,
        Half::Receptacle => Half::Plug,
    }
}
