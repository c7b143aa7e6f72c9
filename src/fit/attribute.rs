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

    /// `at least 105`.
    fn measure(&self) -> String {
        match self.attribute.holds {
            Holds::AtLeast => format!("at least {}", self.wanted),
            Holds::AtMost => format!("at most {}", self.wanted),
            Holds::Equal | Holds::Has | Holds::Same => self.wanted.to_string(),
        }
    }
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
    let differ = |(place, attribute): &&Agreement| {
        let value = |part: &'_ Part| part.values.get(*place).cloned().flatten();
        !agree(attribute, value(one).as_ref(), value(other).as_ref())
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

/// The words of a body that a pair must agree in; none where it states none.
type Words<'a> = Vec<Option<&'a Value>>;

/// The ways in which a body can stand in a pair: its words, where each empty one that
/// meets can also be any word of `others`. Two halves can be put together just where
/// they have a way in common. So the ways of both halves are as good as keys.
pub(super) fn ways<'a>(
    catalog: &'a Catalog,
    agreements: &[Agreement<'a>],
    body: PartId,
    others: &[PartId],
) -> Vec<Words<'a>> {
    let value = |id: PartId, place: usize| -> Option<&'a Value> {
        catalog.part(id).values.get(place)?.as_ref()
    };
    let mut ways: Vec<Words<'a>> = vec![Vec::new()];
    for (place, attribute) in agreements {
        let own = value(body, *place);
        let mut words = vec![own];
        if own.is_none() && attribute.if_empty == IfEmpty::Meets {
            words.extend(others.iter().map(|&id| value(id, *place)));
            words.sort();
            words.dedup();
        }
        let longer = |way: &Words<'a>| {
            let way = way.clone();
            words
                .iter()
                .map(move |&word| [&way[..], &[word]].concat())
                .collect::<Vec<_>>()
        };
        ways = ways.iter().flat_map(longer).collect();
    }
    ways
}
