//! The rules of the user's own attributes: each is a rule with the attribute's name.
//!
//! A part has, of each attribute that is asked of its kind, what the end wants. That
//! the two halves of a pair agree in an attribute which holds as `same` is for whoever
//! puts pairs together: see [`agreements`].

use super::definition::At;
use super::end::End;
use super::fact::{Extreme, Fact, Found};
use super::rules::{AttributeRule, Rule};
use crate::catalog::{Attribute, Catalog, Half, Holds, IfEmpty, Kind, Part, PartId, Value};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// What each attribute has against a part, in the order of the attributes.
pub(super) fn clashes<'a>(
    catalog: &'a Catalog,
    part: &'a Part,
    at: At<'a>,
) -> impl Iterator<Item = (Rule, Found<'a>)> {
    let asked = catalog.attributes_on(part.kind());
    asked.filter_map(move |(place, attribute)| {
        let wanted = at.end.wants.get(place)?.as_ref()?;
        let has = part.values.get(place).and_then(Option::as_ref);
        let fact = Wanted {
            attribute,
            has,
            wanted,
        };
        (!fact.holds()).then(|| (rule(place, attribute), Box::new(fact) as Found<'a>))
    })
}

/// The rule of an attribute.
pub(super) fn rule(place: usize, attribute: &Attribute) -> Rule {
    Rule::Attribute(AttributeRule {
        place,
        name: attribute.name.clone(),
    })
}

/// What a part has of an attribute, and what the end wants.
#[derive(Debug)]
struct Wanted<'a> {
    attribute: &'a Attribute,
    has: Option<&'a Value>,
    wanted: &'a Value,
}

impl Wanted<'_> {
    fn holds(&self) -> bool {
        let Some(has) = self.has else {
            return self.attribute.if_empty == IfEmpty::Meets;
        };
        match (self.attribute.holds, has, self.wanted) {
            (Holds::Has, Value::Words(has), Value::Words(wanted)) => wanted.is_subset(has),
            (Holds::AtLeast, Value::Number(has), Value::Number(wanted)) => has >= wanted,
            (Holds::AtMost, Value::Number(has), Value::Number(wanted)) => has <= wanted,
            (_, has, wanted) => has == wanted,
        }
    }

    fn measure(&self) -> String {
        measure(self.attribute, self.wanted)
    }
}

/// `at least 105`.
fn measure(attribute: &Attribute, wanted: &Value) -> String {
    match attribute.holds {
        Holds::AtLeast => format!("at least {wanted}"),
        Holds::AtMost => format!("at most {wanted}"),
        Holds::Equal | Holds::Has | Holds::Same => wanted.to_string(),
    }
}

/// What the end wants of each attribute: `temp_class at least 105`.
pub(super) fn wanted<'a>(catalog: &'a Catalog, end: &'a End) -> impl Iterator<Item = String> + 'a {
    let wants = catalog.attributes.iter().zip(&end.wants);
    wants.filter_map(|(attribute, wanted)| {
        let measure = measure(attribute, wanted.as_ref()?);
        Some(format!("{} {measure}", attribute.name))
    })
}

impl Fact for Wanted<'_> {
    fn has(&self, _: &End) -> String {
        let name = &self.attribute.name;
        match self.has {
            Some(value) => format!("has {name} {value}"),
            None => format!("states no {name}"),
        }
    }

    fn wants(&self, _: &End) -> String {
        format!("needs {} {}", self.attribute.name, self.measure())
    }

    fn reason(&self, _: &End) -> String {
        let name = &self.attribute.name;
        let Some(has) = self.has else {
            return format!("it states no {name}, {} is wanted", self.measure());
        };
        match self.attribute.holds {
            Holds::Equal | Holds::Same => format!("{name} {has} is not {}", self.wanted),
            Holds::Has => format!("{name} {has} lacks some of {}", self.wanted),
            Holds::AtLeast => format!("{name} {has} is below {}", self.wanted),
            Holds::AtMost => format!("{name} {has} is above {}", self.wanted),
        }
    }

    fn group(&self, _: &End) -> String {
        match self.has {
            Some(_) => format!("not {}", self.measure()),
            None => format!("no {} stated", self.attribute.name),
        }
    }

    fn extreme(&self, _: &End) -> Option<Extreme> {
        let Some(Value::Number(has)) = self.has else {
            return None;
        };
        let (value, word): (Decimal, _) = match self.attribute.holds {
            Holds::AtLeast => (*has, "highest"),
            Holds::AtMost => (-*has, "lowest"),
            Holds::Equal | Holds::Has | Holds::Same => return None,
        };
        Some(Extreme {
            value,
            word,
            amount: has.normalize().to_string(),
        })
    }
}

/// An attribute that the halves of a pair must agree in, with its place.
type Agreement<'a> = (usize, &'a Attribute);

/// The attributes that the halves of a pair must agree in.
pub(super) fn agreements(catalog: &Catalog) -> Vec<Agreement<'_>> {
    let halves = catalog.attributes_on(Kind::Plug);
    halves.filter(|(_, a)| a.holds == Holds::Same).collect()
}

/// True if the two halves agree in this attribute: two words are equal, two empty ones
/// too, and an empty one goes with any where an empty one meets.
fn agree(attribute: &Attribute, one: Option<&Value>, other: Option<&Value>) -> bool {
    let is_open = one.is_none() || other.is_none();
    one == other || (is_open && attribute.if_empty == IfEmpty::Meets)
}

/// The attributes in which the two halves do not agree.
pub(super) fn disagreements<'a>(
    agreements: &[Agreement<'a>],
    one: &Part,
    other: &Part,
) -> impl Iterator<Item = Agreement<'a>> {
    let differ = move |(place, attribute): &&Agreement| {
        let [one, other] = [one, other].map(|part| part.values.get(*place)?.as_ref());
        !agree(attribute, one, other)
    };
    agreements.iter().filter(differ).copied()
}

/// The first attribute in which the two halves do not agree.
pub(super) fn disagreement<'a>(
    agreements: &[Agreement<'a>],
    one: &Part,
    other: &Part,
) -> Option<Agreement<'a>> {
    disagreements(agreements, one, other).next()
}

/// No body of the other half that fits agrees with this one in an attribute.
#[derive(Debug)]
pub(super) struct Apart<'a> {
    pub attribute: &'a Attribute,
    /// The other half.
    pub half: Half,
    /// What the body has.
    pub has: Option<&'a Value>,
}

impl Apart<'_> {
    fn same(&self) -> String {
        let name = &self.attribute.name;
        match self.has {
            Some(word) => format!("{name} {word}"),
            None => format!("no {name}"),
        }
    }
}

impl Fact for Apart<'_> {
    fn has(&self, end: &End) -> String {
        format!("has no mate: {}", self.reason(end))
    }

    fn wants(&self, _: &End) -> String {
        format!("needs the same {} on both halves", self.attribute.name)
    }

    fn reason(&self, _: &End) -> String {
        format!(
            "no {} of its interface and key that fits here has {}",
            self.half,
            self.same()
        )
    }

    fn group(&self, _: &End) -> String {
        format!(
            "no {} that fits here has the same {}",
            self.half, self.attribute.name
        )
    }
}

/// Bodies of one interface and key, where each receptacle agrees with each plug.
#[derive(Debug, Default)]
pub(super) struct Together {
    pub receptacles: Vec<PartId>,
    pub plugs: Vec<PartId>,
}

/// Two halves of one interface and key can be put together just where a group has both.
/// The bodies of one half stand in one group each; those of the other half can stand in
/// several.
pub(super) fn together(
    catalog: &Catalog,
    agreements: &[Agreement<'_>],
    receptacles: &[PartId],
    plugs: &[PartId],
) -> Vec<Together> {
    let of_receptacles = by_mates(catalog, agreements, receptacles, plugs);
    let of_plugs = by_mates(catalog, agreements, plugs, receptacles);
    let size = |groups: &[(Vec<PartId>, Vec<PartId>)]| -> usize {
        groups
            .iter()
            .map(|(own, mates)| own.len() + mates.len())
            .sum()
    };
    let is_shorter = size(&of_receptacles) <= size(&of_plugs);
    let groups = match is_shorter {
        true => of_receptacles,
        false => of_plugs,
    };
    let group = |(own, mates)| match is_shorter {
        true => Together {
            receptacles: own,
            plugs: mates,
        },
        false => Together {
            receptacles: mates,
            plugs: own,
        },
    };
    groups.into_iter().map(group).collect()
}

/// The bodies of one half that agree with the same bodies of the other half, with those;
/// without bodies that agree with none.
fn by_mates(
    catalog: &Catalog,
    agreements: &[Agreement<'_>],
    half: &[PartId],
    others: &[PartId],
) -> Vec<(Vec<PartId>, Vec<PartId>)> {
    let (own, others) = (
        by_words(catalog, agreements, half),
        by_words(catalog, agreements, others),
    );
    let mut groups: BTreeMap<Vec<PartId>, Vec<PartId>> = BTreeMap::new();
    for alike in own.values() {
        let agrees = |other: &&Vec<PartId>| {
            let [one, other] = [alike[0], other[0]].map(|id| catalog.part(id));
            disagreement(agreements, one, other).is_none()
        };
        let mut mates: Vec<PartId> = others.values().filter(agrees).flatten().copied().collect();
        mates.sort_unstable();
        if !mates.is_empty() {
            groups.entry(mates).or_default().extend(alike);
        }
    }
    let groups = groups.into_iter().map(|(mates, mut own)| {
        own.sort_unstable();
        (own, mates)
    });
    groups.collect()
}

/// The bodies by what they have of each attribute that a pair must agree in.
fn by_words<'a>(
    catalog: &'a Catalog,
    agreements: &[Agreement<'_>],
    bodies: &[PartId],
) -> BTreeMap<Vec<Option<&'a Value>>, Vec<PartId>> {
    let mut of_words: BTreeMap<_, Vec<PartId>> = BTreeMap::new();
    for &body in bodies {
        let values = &catalog.part(body).values;
        let words = agreements.iter();
        let words = words.map(|(place, _)| values.get(*place).and_then(Option::as_ref));
        of_words.entry(words.collect()).or_default().push(body);
    }
    of_words
}
