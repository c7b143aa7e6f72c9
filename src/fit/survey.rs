//! All parts at one end with all rules that refuse each part. The survey tells
//! which rules stand between the end and a set.
//!
//! What would have to be given up is kept as sets of rules. Only the least of these
//! are of interest: if a set exists without `exit`, a set exists without `exit` and
//! `colour` as well.

use super::checks;
use super::clash::Clash;
use super::definition::At;
use super::end::End;
use super::mate::NoMate;
use super::place::{Place, places};
use super::rules::Rule;
use super::shelf::Shelf;
use super::supply::Lack;
use super::unfilled::{NearFitting, Unfilled};
use crate::catalog::{Body, Half, Part, PartId};
use crate::input::Input;
use std::collections::BTreeMap;

/// A set of rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct Rules(u16);

// Each rule is a bit.
const _: () = assert!(Rule::ALL.len() <= u16::BITS as usize);

impl Rules {
    pub const NONE: Rules = Rules(0);

    pub fn of(rule: Rule) -> Rules {
        Rules(1 << rule as u16)
    }

    pub fn and(self, other: Rules) -> Rules {
        Rules(self.0 | other.0)
    }

    pub fn has(self, rule: Rule) -> bool {
        self.0 & Rules::of(rule).0 != 0
    }

    pub fn len(self) -> u32 {
        self.0.count_ones()
    }

    pub fn iter(self) -> impl Iterator<Item = Rule> {
        Rule::ALL.into_iter().filter(move |rule| self.has(*rule))
    }

    fn within(self, other: Rules) -> bool {
        self.0 & !other.0 == 0
    }
}

impl FromIterator<Rule> for Rules {
    fn from_iter<I: IntoIterator<Item = Rule>>(rules: I) -> Rules {
        rules
            .into_iter()
            .fold(Rules::NONE, |all, rule| all.and(Rules::of(rule)))
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
    end: &'a End,
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
        let mut clashes: Vec<_> = checks::body(body.body, self.end, &self.input.settings).collect();
        clashes.extend(self.lack(body.id));
        clashes.extend(places(body.body).filter_map(|place| self.unfilled(place)));
        clashes.sort_by_key(|clash| clash.rule);
        clashes
    }

    /// Everything that stands against a fitting in a place, its supply included.
    pub fn fitting(&self, id: PartId, part: &'a Part, place: &Place<'a>) -> Vec<Clash<'a>> {
        let at = At {
            end: self.end,
            settings: &self.input.settings,
            place: Some(*place),
        };
        let mut clashes = checks::fitting(part, &at);
        clashes.extend(self.lack(id));
        clashes.sort_by_key(|clash| clash.rule);
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

    /// The clash of a body that has no mate which fits.
    pub fn partner(&self, body: &Surveyed<'a>) -> Clash<'a> {
        Clash {
            rule: Rule::Mate,
            end: self.end,
            fact: Box::new(NoMate(body.body)),
        }
    }

    fn look_at(&mut self, id: PartId, part: &'a Part, body: &'a Body) -> Surveyed<'a> {
        let own: Rules = checks::body(body, self.end, &self.input.settings)
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
            if rules == Rules::of(Rule::Supply) {
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
            ways.add(Rules::of(rule));
        }
        // A fitting of the right size tells more than the lack of any fitting.
        let told = told.fewest().into_iter().min_by_key(|r| r.has(rule));
        Filling {
            ways,
            told: told.unwrap_or(Rules::of(rule)),
            lacking,
        }
    }

    /// What supply alone keeps from a body; none where another rule stands
    /// against the body.
    pub fn gaps(&self, body: &Surveyed<'a>) -> Option<Vec<Gap<'a>>> {
        let mut own = checks::body(body.body, self.end, &self.input.settings);
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
        self.fitting(id, part, place)
            .iter()
            .map(|c| c.rule)
            .collect()
    }

    fn unfilled(&self, place: Place<'a>) -> Option<Clash<'a>> {
        let told = self.fillings.get(&place)?.told;
        let rule = told.iter().next()?;
        let parts = self.shelf.fittings(&place);
        let near = parts.iter().find_map(|&(id, part)| {
            let clashes = self.fitting(id, part, &place);
            let rules: Rules = clashes.iter().map(|c| c.rule).collect();
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

/// What is left to give up once the halves are put together.
pub(crate) struct Pairs<'a> {
    of_identity: BTreeMap<(&'a str, &'a str, Half), Ways>,
    of_half: BTreeMap<Half, Ways>,
}

impl<'a> Pairs<'a> {
    pub fn new(bodies: &[Surveyed<'a>]) -> Self {
        let mut pairs = Pairs {
            of_identity: BTreeMap::new(),
            of_half: BTreeMap::new(),
        };
        for b in bodies {
            let key = (b.body.interface.as_str(), b.body.key.as_str(), b.body.half);
            pairs.of_identity.entry(key).or_default().extend(&b.ways);
            pairs
                .of_half
                .entry(b.body.half)
                .or_default()
                .extend(&b.ways);
        }
        pairs
    }

    /// True if a body of the other half that fits by itself mates with this body.
    pub fn mates(&self, body: &'a Body) -> bool {
        self.of_mates(body).is_some_and(Ways::free)
    }

    fn of_mates(&self, body: &'a Body) -> Option<&Ways> {
        let key = (body.interface.as_str(), body.key.as_str(), other(body.half));
        self.of_identity.get(&key)
    }

    /// The least that must be given up to use this body in a pair.
    pub fn with(&self, body: &'a Body, ways: &Ways) -> Ways {
        let mut all = Ways::default();
        if let Some(mates) = self.of_mates(body) {
            all.extend(&ways.both(mates));
        }
        if let Some(others) = self.of_half.get(&other(body.half)) {
            let unmated = ways.both(others).both(&Rules::of(Rule::Mate).into());
            all.extend(&unmated);
        }
        all
    }
}

fn other(half: Half) -> Half {
    match half {
        Half::Plug => Half::Receptacle,
        Half::Receptacle => Half::Plug,
    }
}
