//! Changes of circuits: cells of their rows, rows that go, locations with another name.

use super::cells::Stand;
use super::change::ChangeError;
use super::settings;
use super::words::{Word, joined};
use super::work::{Cells, How, Touched, Work};
use crate::diag::quote;
use crate::project::{Circuit, Terminal, circuits};
use std::collections::{BTreeMap, BTreeSet};

/// Columns that hold a number.
const NUMBERS: &[&str] = &["current_a", "voltage_v", "gauge", "cable_od_mm"];

/// Other words for columns.
const OTHER_WORDS: [(&str, &str); 5] = [
    ("current", "current_a"),
    ("voltage", "voltage_v"),
    ("diameter", "cable_od_mm"),
    ("cable_od", "cable_od_mm"),
    ("name", "circuit"),
];

/// Columns of both ends by one word.
const OF_BOTH_ENDS: [&str; 4] = ["exit", "attach", "interface", "key"];

/// Which cells are meant.
enum Field {
    /// One column.
    Column(String),
    /// That of each end with a connector.
    BothEnds(&'static str),
}

/// Columns and value of the words after the name.
struct Asked {
    field: Field,
    value: String,
}

/// Cells of one circuit.
pub(super) fn one(work: &mut Work, words: &[Word]) -> Result<(), ChangeError> {
    let named = (1..words.len()).rev().find_map(|at| {
        let name = joined(&words[..at]);
        let circuit = work.input.circuits.iter().find(|of| of.name == name)?;
        Some((circuit.clone(), &words[at..]))
    });
    let Some((circuit, rest)) = named else {
        return Err(unknown_circuit(work, words));
    };
    let asked = asked(work, rest)?;
    let cells = cells(&circuit, &asked);
    if cells.is_empty() {
        return Err(nowhere(work, &asked));
    }
    write(work, vec![(circuit.machine, cells)])
}

/// That cell of all circuits.
pub(super) fn every(work: &mut Work, words: &[Word]) -> Result<(), ChangeError> {
    let asked = asked(work, words)?;
    let all: Vec<(usize, Cells)> = (work.input.circuits.iter())
        .map(|circuit| (circuit.machine, cells(circuit, &asked)))
        .filter(|(_, cells)| !cells.is_empty())
        .collect();
    if all.is_empty() {
        return Err(nowhere(work, &asked));
    }
    write(work, all)
}

/// A circuit is left out.
pub(super) fn without(work: &mut Work, name: &str) -> Result<(), ChangeError> {
    let found = work.input.circuits.iter().find(|of| of.name == name);
    let Some(circuit) = found else {
        let names = work.input.circuits.iter().map(|of| of.name.as_str());
        return Err(work.unknown("circuit", name, names));
    };
    let (machine, line) = (circuit.machine, circuit.row.line);
    let own = circuit.own_name(&work.input.machines).to_owned();
    let stand = stand(work, machine)?;
    let file = stand.shown(work.files, work.folder);
    work.table(&stand, NUMBERS, &[], |table| table.remove(line))?;
    work.touched.push(Touched {
        file,
        line: Some(line),
        cell: "circuit".to_owned(),
        before: own,
        after: String::new(),
        how: How::Removed,
    });
    Ok(())
}

/// A location has another name, or is put together with another.
pub(super) fn location(work: &mut Work, from: &str, to: &str) -> Result<(), ChangeError> {
    let mut all = Vec::new();
    for circuit in &work.input.circuits {
        let ends = [("from", &circuit.from), ("to", &circuit.to)];
        let here = ends.into_iter().filter(|(_, end)| end.location == from);
        let cells: Cells = here
            .map(|(column, _)| (circuit.row.line, column.to_owned(), to.to_owned()))
            .collect();
        if !cells.is_empty() {
            all.push((circuit.machine, cells));
        }
    }
    if all.is_empty() {
        let both = |of: &'_ Circuit| [of.from.location.clone(), of.to.location.clone()];
        let mut known: Vec<String> = work.input.circuits.iter().flat_map(both).collect();
        known.sort();
        known.dedup();
        return Err(work.unknown("location", from, known.iter().map(String::as_str)));
    }
    write(work, all)?;
    for machine in work.machines() {
        let path = work.settings_of(machine);
        let is_left_out = work.input.rules(machine).keying.ignore_at.contains(from);
        if is_left_out {
            work.settings(&path, |doc| {
                let key = &["keying", "ignore_at"];
                Ok(settings::renamed(doc, key, from, to).into_iter().collect())
            })?;
        }
    }
    Ok(())
}

fn unknown_circuit(work: &Work, words: &[Word]) -> ChangeError {
    // The name ends where a column begins.
    let at = (1..words.len()).find(|at| field(work, &words[*at..]).is_some());
    let name = joined(&words[..at.unwrap_or(1).min(words.len())]);
    if name.is_empty() || words.len() < 2 {
        return work.error(
            "the change is not whole",
            "write it as: circuit NAME COLUMN VALUE",
        );
    }
    let names = work.input.circuits.iter().map(|of| of.name.as_str());
    work.unknown("circuit", &name, names)
}

/// Column and value; the value is empty for `any`.
fn asked(work: &Work, words: &[Word]) -> Result<Asked, ChangeError> {
    let Some((field, value)) = field(work, words) else {
        let Some(word) = words.first() else {
            return Err(work.error("the change is not whole", "name a column of circuits.csv"));
        };
        let columns = columns(work);
        let all = columns.iter().map(String::as_str).chain(OF_BOTH_ENDS);
        let mut error = work.unknown("column", &word.text, all);
        if !error.help.starts_with("did you mean") {
            error.help = format!(
                "the columns are {}, and {}",
                columns.join(", "),
                OF_BOTH_ENDS.join(", ")
            );
        }
        return Err(error);
    };
    let value = match value {
        [] => {
            return Err(work.error(
                "the change has no value",
                "write the value after the column",
            ));
        }
        [any] if any.is("any") => String::new(),
        value => joined(value),
    };
    Ok(Asked { field, value })
}

/// The column that the words begin with, and the words after it.
fn field<'w>(work: &Work, words: &'w [Word]) -> Option<(Field, &'w [Word])> {
    let columns = columns(work);
    // `from exit` is `from_exit`; of two columns the longer name counts.
    (1..=words.len().min(3)).rev().find_map(|n| {
        let (name, rest) = words.split_at(n);
        if name.iter().any(|word| word.is_quoted) {
            return None;
        }
        let name = joined(name).to_lowercase().replace(' ', "_");
        let both = OF_BOTH_ENDS.iter().find(|both| **both == name);
        if let Some(both) = both {
            return Some((Field::BothEnds(both), rest));
        }
        let other = OTHER_WORDS.iter().find(|(word, _)| *word == name);
        let name = other.map_or(name.as_str(), |(_, column)| column);
        let column = columns.iter().find(|column| *column == name)?;
        Some((Field::Column(column.clone()), rest))
    })
}

/// The columns that circuits.csv can have.
fn columns(work: &Work) -> Vec<String> {
    let own = circuits::column_names().into_iter().map(str::to_owned);
    let attributes = work.input.catalog.attributes.iter();
    let attributes = attributes.flat_map(|attribute| {
        let name = attribute.name.to_string();
        [name.clone(), format!("from_{name}"), format!("to_{name}")]
    });
    own.chain(attributes).collect()
}

/// The cells of a circuit that are meant.
fn cells(circuit: &Circuit, asked: &Asked) -> Cells {
    let cell = |column: String| (circuit.row.line, column, asked.value.clone());
    match &asked.field {
        Field::Column(column) => vec![cell(column.clone())],
        Field::BothEnds(column) => [("from", &circuit.from), ("to", &circuit.to)]
            .into_iter()
            .filter(|(_, end)| can_want(end, column))
            .map(|(side, _)| cell(format!("{side}_{column}")))
            .collect(),
    }
}

/// True if the end has a connector of which this can be wanted. A built-in receptacle is as
/// the device has it.
fn can_want(end: &Terminal, column: &str) -> bool {
    end.attach.is_some() && (column == "exit" || !end.is_built_in())
}

fn nowhere(work: &Work, asked: &Asked) -> ChangeError {
    let column = match &asked.field {
        Field::Column(column) => column,
        Field::BothEnds(column) => *column,
    };
    work.error(
        format!(
            "no end there has a connector whose {} can be chosen",
            quote(column)
        ),
        format!("name the end: from_{column} or to_{column}"),
    )
}

fn stand(work: &Work, machine: usize) -> Result<Stand, ChangeError> {
    let folder = work.folder_of(machine);
    let stand = Stand::beside(work.files, &folder, "project", "circuits");
    work.stand(stand, "circuits")
}

/// Writes the cells, each table once.
fn write(work: &mut Work, all: Vec<(usize, Cells)>) -> Result<(), ChangeError> {
    // Two machines of one project have the same rows.
    let mut by_project: BTreeMap<usize, BTreeSet<_>> = BTreeMap::new();
    for (machine, cells) in all {
        let first = work.input.first_sharing(machine);
        by_project.entry(first).or_default().extend(cells);
    }
    for (machine, cells) in by_project {
        let stand = stand(work, machine)?;
        let cells: Cells = cells.into_iter().collect();
        work.cells(&stand, NUMBERS, &cells)?;
    }
    Ok(())
}
