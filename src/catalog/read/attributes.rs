//! `attributes.csv`, which may be absent: properties of parts that the user adds.

use crate::catalog::{Attribute, Holds, IfEmpty, Kind, Value, Values};
use crate::diag::{Findings, quote};
use crate::source::Source;
use crate::table::{Codes, Col, Row, Span, Table};
use std::collections::BTreeSet;

pub const ATTRIBUTE: Col = Col::required(0, "attribute");
const ON: Col = Col::required(1, "on");
const HOLDS: Col = Col::required(2, "holds");
const IF_EMPTY: Col = Col::optional(3, "if_empty");
const DESCRIPTION: Col = Col::optional(4, "description");
const NOTE: Col = Col::optional(5, "note");

const COLUMNS: &[Col] = &[ATTRIBUTE, ON, HOLDS, IF_EMPTY, DESCRIPTION, NOTE];

/// Catalogs with more attributes are refused: an explanation keeps each in a bit.
pub const MAX_ATTRIBUTES: usize = 100;

/// What an attribute with an order may count.
const NUMBER: Span = Span {
    what: "a number",
    unit: "",
    min: -1_000_000_000,
    above_min: false,
    max: 1_000_000_000,
    decimals: 6,
};

/// What could be read of the attributes.
#[derive(Debug, Default)]
pub struct Attributes {
    /// All sound rows, in order.
    pub list: Vec<Attribute>,
    /// The names of bad rows: their columns are no unknown ones.
    pub spoilt: Vec<String>,
}

/// Reads the attributes; `taken` names the columns that tables have already.
///
/// Pushes all that is wrong with them.
pub fn read(source: Option<&Source>, taken: &[&str], findings: &mut Findings) -> Attributes {
    let mut table = source.and_then(|s| Table::open(s, COLUMNS, findings));
    if let Some(table) = &mut table {
        let what = format!("the catalog has more than {MAX_ATTRIBUTES} attributes");
        table.at_most(MAX_ATTRIBUTES, what);
    }
    let mut names = Codes::new("attribute");
    let mut all = Attributes::default();
    while let Some(mut row) = table.as_mut().and_then(|t| t.next(findings)) {
        let name = names.claim(&mut row, ATTRIBUTE);
        if row.is_ragged() {
            continue;
        }
        let found = attribute(&mut row, name, taken);
        match found.filter(|_| row.is_sound()) {
            Some(attribute) => all.list.push(attribute),
            None => all.spoilt.push(row.peek(ATTRIBUTE).to_owned()),
        }
    }
    columns_apart(&mut all, findings);
    all
}

fn attribute(row: &mut Row, name: Option<&str>, taken: &[&str]) -> Option<Attribute> {
    let kinds = Kind::ALL.map(|kind| (kind.word(), kind));
    let holds = Holds::ALL.map(|holds| (holds.word(), holds));
    let ways = [IfEmpty::Refuses, IfEmpty::Meets].map(|way| (way.word(), way));
    if let Some(name) = name {
        column_name(row, name, taken);
    }
    let on: BTreeSet<Kind> = row.words(ON, &kinds).into_iter().collect();
    let holds = row.word(HOLDS, &holds);
    let if_empty = row.word(IF_EMPTY, &ways).unwrap_or(IfEmpty::Refuses);
    let is_half = |kind: &Kind| matches!(kind, Kind::Plug | Kind::Receptacle);
    if holds == Some(Holds::Same) && !on.is_empty() && !(on.len() == 2 && on.iter().all(is_half)) {
        let message = "same compares the two halves of a pair";
        row.error(
            ON,
            message,
            "write plug receptacle, or another word in holds",
        );
    }
    let (description, note) = (row.owned(DESCRIPTION), row.owned(NOTE));
    Some(Attribute {
        name: name?.into(),
        on,
        holds: holds?,
        if_empty,
        description,
        note,
        row: row.place(),
    })
}

/// An attribute's name is that of a column of its own.
fn column_name(row: &mut Row, name: &str, taken: &[&str]) {
    let is_letter = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
    if !name.chars().all(is_letter) {
        let message = format!("{} is no name for a column", quote(name));
        let help = "write small letters, digits and _, such as temp_class";
        row.error(ATTRIBUTE, message, help);
        return;
    }
    let columns = [
        name.to_owned(),
        format!("from_{name}"),
        format!("to_{name}"),
    ];
    if let Some(column) = columns.iter().find(|c| taken.contains(&c.as_str())) {
        let message = format!("there is a column {column} already");
        row.error(ATTRIBUTE, message, "give the attribute another name");
    }
}

/// No attribute is named like the column of another one for one end of a circuit.
fn columns_apart(all: &mut Attributes, findings: &mut Findings) {
    let names: BTreeSet<String> = all.list.iter().map(|a| a.name.to_string()).collect();
    let is_apart = |attribute: &Attribute| {
        let base = ["from_", "to_"]
            .iter()
            .find_map(|p| attribute.name.strip_prefix(p));
        let Some(base) = base.filter(|base| names.contains(*base)) else {
            return true;
        };
        let message = format!(
            "{} is the column of attribute {} for one end of a circuit",
            quote(&attribute.name),
            quote(base)
        );
        findings.push(
            crate::diag::Diagnostic::error(&attribute.row.file, message)
                .line(attribute.row.line)
                .column(ATTRIBUTE.name)
                .help("give one of the two another name"),
        );
        false
    };
    all.list.retain(is_apart);
}

/// The field as a value of an attribute; none where it is empty or wrong.
pub fn value(row: &mut Row, col: Col, holds: Holds) -> Option<Value> {
    match holds {
        Holds::Equal | Holds::Same => row.text(col).map(|word| Value::Word(word.to_owned())),
        Holds::Has => {
            let words = row.text(col)?.split_whitespace();
            Some(Value::Words(words.map(str::to_owned).collect()))
        }
        Holds::AtLeast | Holds::AtMost => row.number(col, &NUMBER).map(Value::Number),
    }
}

/// The columns of a table of parts for the attributes that are asked of these kinds,
/// after so many columns of our own.
pub(super) struct Extra<'a> {
    /// The columns, each with its attribute; none for a name of a bad row.
    pub columns: Vec<(Col<'a>, Option<usize>)>,
    list: &'a [Attribute],
}

impl<'a> Extra<'a> {
    /// Attributes that are asked of any of these kinds.
    pub fn new(all: &'a Attributes, kinds: &[Kind], after: usize) -> Extra<'a> {
        let asked = all.list.iter().enumerate();
        let asked = asked.filter(|(_, a)| kinds.iter().any(|kind| a.on.contains(kind)));
        let sound = asked.map(|(place, a)| (&*a.name, Some(place)));
        let spoilt = all.spoilt.iter().map(|name| (name.as_str(), None));
        let columns = sound.chain(spoilt).zip(after..);
        let columns = columns.map(|((name, a), place)| (Col::optional(place, name), a));
        Extra {
            columns: columns.collect(),
            list: &all.list,
        }
    }

    /// The values of a row.
    pub fn values(&self, row: &mut Row) -> Values {
        let mut values = vec![None; self.list.len()];
        for (col, place) in &self.columns {
            let Some(place) = *place else { continue };
            if let (Some(slot), Some(attribute)) = (values.get_mut(place), self.list.get(place)) {
                *slot = value(row, *col, attribute.holds);
            }
        }
        values
    }
}
