//! What is asked of a property of parts: `plating=silver`, `cycles>=500`.

use crate::catalog::{Attribute, Catalog, Holds, Kind, Part, Value};
use crate::diag::{did_you_mean, joined, quote};
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use std::str::FromStr;

/// How a property is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// A word is the same, words include all of these, a number is equal; without a
    /// value: the part states none.
    Is,
    /// A number is this or greater.
    AtLeast,
    /// A number is this or smaller.
    AtMost,
}

impl Sign {
    fn text(self) -> &'static str {
        match self {
            Sign::Is => "=",
            Sign::AtLeast => ">=",
            Sign::AtMost => "<=",
        }
    }
}

/// A property that is asked for, as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Condition {
    /// Name of the attribute.
    pub name: String,
    /// How it is compared.
    pub sign: Sign,
    /// With what.
    pub value: String,
}

/// A text that is no condition.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("write NAME=VALUE, NAME>=NUMBER or NAME<=NUMBER")]
pub struct NoCondition;

impl FromStr for Condition {
    type Err = NoCondition;

    fn from_str(text: &str) -> Result<Self, NoCondition> {
        let (left, value) = text.split_once('=').ok_or(NoCondition)?;
        let (name, sign) = match (left.strip_suffix('>'), left.strip_suffix('<')) {
            (Some(name), _) => (name, Sign::AtLeast),
            (_, Some(name)) => (name, Sign::AtMost),
            _ => (left, Sign::Is),
        };
        let (name, value) = (name.trim().to_owned(), value.trim().to_owned());
        if name.is_empty() {
            return Err(NoCondition);
        }
        Ok(Condition { name, sign, value })
    }
}

/// A condition that no attribute of the catalog can meet.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{text}")]
pub struct Unasked {
    text: String,
    /// What would be right.
    pub help: String,
}

/// A property that is asked of parts of a catalog.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// Place of the attribute.
    place: usize,
    on: BTreeSet<Kind>,
    sign: Sign,
    /// None for parts that state none.
    value: Option<Value>,
}

impl Asked {
    /// What a condition asks of the parts of this catalog.
    ///
    /// # Errors
    /// [`Unasked`] if the catalog has no such attribute, or its values are not compared so.
    pub fn new(catalog: &Catalog, condition: &Condition) -> Result<Self, Unasked> {
        let Condition { name, sign, value } = condition;
        let mut all = catalog.attributes.iter();
        let Some(place) = all.position(|attribute| *attribute.name == **name) else {
            return Err(unknown(catalog, name));
        };
        let attribute = &catalog.attributes[place];
        Ok(Asked {
            place,
            on: attribute.on.clone(),
            sign: *sign,
            value: read(attribute, *sign, value)?,
        })
    }

    /// The place of the attribute.
    pub fn place(&self) -> usize {
        self.place
    }

    /// True if the part has the property. A part of a kind that the attribute is not
    /// asked of never has.
    pub fn holds(&self, part: &Part) -> bool {
        let has = part.values.get(self.place).and_then(Option::as_ref);
        let is_so = match (self.sign, has, &self.value) {
            (_, None, None) => true,
            (Sign::Is, Some(Value::Words(has)), Some(Value::Words(asked))) => asked.is_subset(has),
            (Sign::Is, Some(has), Some(asked)) => has == asked,
            (Sign::AtLeast, Some(Value::Number(has)), Some(Value::Number(asked))) => has >= asked,
            (Sign::AtMost, Some(Value::Number(has)), Some(Value::Number(asked))) => has <= asked,
            _ => false,
        };
        self.on.contains(&part.kind()) && is_so
    }
}

fn read(attribute: &Attribute, sign: Sign, text: &str) -> Result<Option<Value>, Unasked> {
    let name = &attribute.name;
    let is_number = matches!(attribute.holds, Holds::AtLeast | Holds::AtMost);
    if sign != Sign::Is && !is_number {
        return Err(Unasked {
            text: format!(
                "the values of {name} are words, which {} does not compare",
                sign.text()
            ),
            help: format!("write {name}=VALUE"),
        });
    }
    if text.is_empty() && sign == Sign::Is {
        return Ok(None);
    }
    Ok(Some(match attribute.holds {
        Holds::Equal | Holds::Same => Value::Word(text.to_owned()),
        Holds::Has => Value::Words(text.split(' ').map(str::to_owned).collect()),
        Holds::AtLeast | Holds::AtMost => Value::Number(number(name, sign, text)?),
    }))
}

fn number(name: &str, sign: Sign, text: &str) -> Result<Decimal, Unasked> {
    Decimal::from_str(text).map_err(|_| Unasked {
        text: format!("the values of {name} are numbers, {} is none", quote(text)),
        help: format!("write a number, such as {name}{}90", sign.text()),
    })
}

fn unknown(catalog: &Catalog, name: &str) -> Unasked {
    let names: Vec<&str> = catalog.attributes.iter().map(|a| &*a.name).collect();
    let help = || match names.as_slice() {
        [] => "the catalog has no attributes.csv".to_owned(),
        names => format!("the attributes are {}", joined(names, "and")),
    };
    Unasked {
        text: format!("unknown attribute {}", quote(name)),
        help: did_you_mean(name, names.iter().copied()).unwrap_or_else(help),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conditions_are_read() {
        for (text, name, sign, value) in [
            ("plating=silver", "plating", Sign::Is, "silver"),
            ("approvals=R10 R100", "approvals", Sign::Is, "R10 R100"),
            ("cycles>=500", "cycles", Sign::AtLeast, "500"),
            ("mass_g <= 90.5", "mass_g", Sign::AtMost, "90.5"),
            ("plating=", "plating", Sign::Is, ""),
            ("plating=a=b", "plating", Sign::Is, "a=b"),
        ] {
            let condition: Condition = text.parse().unwrap();
            let shown = (
                condition.name.as_str(),
                condition.sign,
                condition.value.as_str(),
            );
            assert_eq!(shown, (name, sign, value), "{text}");
        }
        for text in ["plating", "", "=silver", ">=5", "cycles>500"] {
            assert_eq!(text.parse::<Condition>(), Err(NoCondition), "{text}");
        }
    }
}
