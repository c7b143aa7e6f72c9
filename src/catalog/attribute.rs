//! Properties of parts that the user added to the catalog.

use super::Kind;
use crate::diag::Row;
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use std::fmt;
use std::sync::Arc;

/// A row of `attributes.csv`: a property, and the way in which a circuit can want it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attribute {
    /// The name of its column, unique.
    pub name: Arc<str>,
    /// Kinds of part that it is asked of; at least one.
    pub on: BTreeSet<Kind>,
    /// When a part has what is wanted.
    pub holds: Holds,
    /// What a part without a value does.
    pub if_empty: IfEmpty,
    /// Free text.
    pub description: String,
    /// The user's remark.
    pub note: String,
    /// Where it stands.
    pub row: Row,
}

/// When a part has what is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Holds {
    /// The part's word is the wanted one.
    Equal,
    /// The part's words include all wanted ones.
    Has,
    /// The part's number is the wanted one or a greater one.
    AtLeast,
    /// The part's number is the wanted one or a smaller one.
    AtMost,
    /// The words of a plug and its receptacle are equal, and each is the wanted one
    /// if one is wanted.
    Same,
}

/// What a part without a value does where one is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum IfEmpty {
    /// The part does not fit.
    Refuses,
    /// The part fits.
    Meets,
}

/// What a part has of an attribute, or what an end wants.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Value {
    /// Of [`Holds::Equal`] and [`Holds::Same`].
    Word(String),
    /// Of [`Holds::Has`]; at least one.
    Words(BTreeSet<String>),
    /// Of [`Holds::AtLeast`] and [`Holds::AtMost`].
    Number(Decimal),
}

/// A value for each attribute of the catalog, in its order; none where none is given.
pub type Values = Vec<Option<Value>>;

impl Holds {
    /// All ways, in the order in which they are explained.
    pub const ALL: [Holds; 5] = [
        Holds::Equal,
        Holds::Has,
        Holds::AtLeast,
        Holds::AtMost,
        Holds::Same,
    ];

    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Holds::Equal => "equal",
            Holds::Has => "has",
            Holds::AtLeast => "at-least",
            Holds::AtMost => "at-most",
            Holds::Same => "same",
        }
    }
}

impl IfEmpty {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            IfEmpty::Refuses => "refuses",
            IfEmpty::Meets => "meets",
        }
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Word(word) => f.pad(word),
            Value::Words(words) => {
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                f.pad(&words.join(" "))
            }
            Value::Number(number) => f.pad(&number.normalize().to_string()),
        }
    }
}
