//! Labels for both ends of every cable.

use super::table::{Column, Table};
use crate::catalog::BUILT_IN;
use crate::fit::Side;
use crate::study::cables::{Cable, CableEnd};
use crate::study::copies::{Built, Copies};

/// What stands on one label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label<'a> {
    /// The machine that the cable is of, and which copy of it; none in a project.
    pub copy: Option<&'a Built>,
    /// Its cable.
    pub cable: &'a Cable<'a>,
    /// The end that the label goes on.
    pub here: CableEnd<'a>,
    /// The other end.
    pub there: CableEnd<'a>,
}

impl Label<'_> {
    /// `1 HV+ from`: short, and on no other label of this copy of the machine.
    pub fn code(&self) -> String {
        code(self.cable, self.here.side)
    }

    /// `ferry 3 of 5: 1 HV+ from`: on no other label.
    pub fn whole_code(&self) -> String {
        of_copy(self.copy, &self.code())
    }

    /// The circuit, in a purchase behind the machine: `ferry 3 of 5: port drive`.
    pub fn circuit(&self) -> String {
        of_copy(self.copy, self.cable.name)
    }

    /// `S14 A`: interface and key of the pair here; empty without a connector.
    pub fn mating(&self) -> String {
        self.here.pair.map(mating).unwrap_or_default()
    }
}

/// What is of a copy of a machine: `ferry 3 of 5: port drive`; in a project as it is.
pub fn of_copy(copy: Option<&Built>, what: &str) -> String {
    match copy {
        Some(copy) => format!("{copy}: {what}"),
        None => what.to_owned(),
    }
}

/// The number of the circuit in `circuits.csv`, the net, and which end.
pub fn code(cable: &Cable, side: Side) -> String {
    format!("{} {} {}", cable.number, cable.net, side.word())
}

/// Interface and key of a pair.
pub fn mating(pair: &crate::plan::EndRecord) -> String {
    format!("{} {}", pair.interface, pair.key).trim().to_owned()
}

/// The cables of each of these machines, by machine and copy.
pub(super) fn of_copies<'a>(
    cables: &'a [Cable<'a>],
    copies: &'a Copies,
) -> impl Iterator<Item = (Option<&'a Built>, &'a Cable<'a>)> {
    copies.all.iter().flat_map(|copy| {
        let machine = copy.as_ref().map_or("", |built| built.machine.as_str());
        let own = cables.iter().filter(move |cable| cable.machine == machine);
        own.map(move |cable| (copy.as_ref(), cable))
    })
}

/// Two labels for each cable of each of these machines: its `from` end, then its `to` end.
pub fn labels<'a>(cables: &'a [Cable<'a>], copies: &'a Copies) -> Vec<Label<'a>> {
    let both = of_copies(cables, copies).flat_map(|(copy, cable)| {
        let [from, to] = cable.ends;
        [(from, to), (to, from)].map(|(here, there)| Label {
            copy,
            cable,
            here,
            there,
        })
    });
    both.collect()
}

/// `label, circuit, net, end, location, other_end, gauge, interface, key, plug,
/// receptacle`; the last four are empty where there is no connector. Where any circuit of
/// `all` cables has a branch or a note, columns for them follow, so that the columns do not
/// depend on the machines that the labels are for. In a purchase `machine` and `copy` stand
/// behind `label`.
pub fn rows(labels: &[Label], all: &[Cable]) -> Table {
    let has_copies = all.iter().any(|cable| !cable.machine.is_empty());
    let mut columns = vec![Column::text("label")];
    columns.extend(has_copies.then(|| Column::text("machine")));
    columns.extend(has_copies.then(|| Column::number("copy")));
    columns.extend([
        Column::text("circuit"),
        Column::text("net"),
        Column::text("end"),
        Column::text("location"),
        Column::text("other_end"),
        Column::text("gauge"),
        Column::text("interface"),
        Column::text("key"),
        Column::text("plug"),
        Column::text("receptacle"),
    ]);
    let circuits = || all.iter().map(|cable| cable.circuit);
    let has_branch = circuits().any(|circuit| !circuit.branch.is_empty());
    let has_note = circuits().any(|circuit| !circuit.note.is_empty());
    columns.extend(has_branch.then(|| Column::text("branch")));
    columns.extend(has_note.then(|| Column::text("note")));
    let mut table = Table::new(&columns);
    for label in labels {
        let mut row = vec![label.whole_code()];
        let copy = label
            .copy
            .map(|copy| [copy.machine.clone(), copy.number.to_string()]);
        row.extend(copy.into_iter().flatten());
        row.extend([
            label.cable.name.to_owned(),
            label.cable.net.clone(),
            label.here.side.word().to_owned(),
            label.here.location.to_owned(),
            label.there.location.to_owned(),
            label.cable.circuit.gauge.to_string(),
        ]);
        let none = String::new;
        row.extend(match label.here.pair {
            None => [none(), none(), none(), none()],
            Some(pair) => [
                pair.interface.clone(),
                pair.key.clone(),
                pair.plug.clone(),
                pair.receptacle
                    .clone()
                    .unwrap_or_else(|| BUILT_IN.to_owned()),
            ],
        });
        let circuit = label.cable.circuit;
        row.extend(has_branch.then(|| circuit.branch.clone()));
        row.extend(has_note.then(|| circuit.note.clone()));
        table.row(row);
    }
    table
}
