//! `circuits.csv`.

use super::{Cable, Circuit, Terminal};
use crate::catalog::read::{Attributes, exits, value};
use crate::catalog::{BUILT_IN, Values};
use crate::diag::{Findings, quote};
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::{Ampere, Mm, Volt};
use std::collections::BTreeSet;

const CIRCUIT: Col = Col::required(0, "circuit");
const CONDUCTORS: Col = Col::required(1, "conductors");
const CABLE: Col = Col::optional(2, "cable");
const FROM: Col = Col::required(3, "from");
const TO: Col = Col::required(4, "to");
const CURRENT_A: Col = Col::required(5, "current_a");
const VOLTAGE_V: Col = Col::required(6, "voltage_v");
const GAUGE: Col = Col::required(7, "gauge");
const CABLE_OD_MM: Col = Col::required(8, "cable_od_mm");
const FROM_ATTACH: Col = Col::required(9, "from_attach");
const TO_ATTACH: Col = Col::required(10, "to_attach");
const FROM_EXIT: Col = Col::optional(11, "from_exit");
const TO_EXIT: Col = Col::optional(12, "to_exit");
const IP: Col = Col::optional(13, "ip");
/// `colour`.
pub const COLOUR: Col = Col::optional(14, "colour");
const FROM_KEY: Col = Col::optional(15, "from_key");
const TO_KEY: Col = Col::optional(16, "to_key");
const FROM_INTERFACE: Col = Col::optional(17, "from_interface");
const TO_INTERFACE: Col = Col::optional(18, "to_interface");
/// `branch`.
pub const BRANCH: Col = Col::optional(19, "branch");
const NOTE: Col = Col::optional(20, "note");

const COLUMNS: &[Col] = &[
    CIRCUIT,
    CONDUCTORS,
    CABLE,
    FROM,
    TO,
    CURRENT_A,
    VOLTAGE_V,
    GAUGE,
    CABLE_OD_MM,
    FROM_ATTACH,
    TO_ATTACH,
    FROM_EXIT,
    TO_EXIT,
    IP,
    COLOUR,
    FROM_KEY,
    TO_KEY,
    FROM_INTERFACE,
    TO_INTERFACE,
    BRANCH,
    NOTE,
];

/// The names of the columns: no attribute can have one of them.
pub fn column_names() -> Vec<&'static str> {
    COLUMNS.iter().map(|col| col.name).collect()
}

/// The word for an end without a connector.
pub const NONE: &str = "none";

/// The most conductors of a circuit: a body can have as many contacts.
const MAX_CONDUCTORS: usize = 100;

const CABLES: [(&str, Cable); 2] = [("single", Cable::Single), ("multi", Cable::Multi)];

/// What could be read of the circuits.
#[derive(Debug, Default)]
pub struct Draft {
    /// All sound rows, in order.
    pub circuits: Vec<Circuit>,
    /// All locations, those of bad rows included.
    pub locations: BTreeSet<String>,
    /// True if no location can be missing.
    pub complete: bool,
    /// True if no row was left out: what no circuit here has, none has.
    pub is_whole: bool,
}

/// Reads the circuits; pushes all that is wrong with them. A file with a
/// header row alone is fine: there is nothing to plan then.
///
/// `attributes` are those of the catalog: each may have columns of its own here.
pub fn read(source: Option<&Source>, attributes: &Attributes, findings: &mut Findings) -> Draft {
    let wants = Wants::new(attributes);
    let Some(mut table) = source.and_then(|s| Table::open(s, &wants.columns(), findings)) else {
        return Draft::default();
    };
    let mut names = Codes::new("circuit");
    let mut draft = Draft {
        complete: true,
        is_whole: true,
        ..Draft::default()
    };
    while let Some(mut row) = table.next(findings) {
        let name = names.claim(&mut row, CIRCUIT);
        if row.is_ragged() {
            draft.complete = false;
            draft.is_whole = false;
            continue;
        }
        for end in [FROM, TO] {
            draft.locations.insert(row.peek(end).to_owned());
        }
        let circuit = circuit(&mut row, name, &wants);
        draft.is_whole &= row.is_sound();
        draft.circuits.extend(circuit.filter(|_| row.is_sound()));
    }
    draft.complete &= table.is_complete() && table.has(FROM) && table.has(TO);
    draft.is_whole &= table.is_complete();
    draft
}

fn circuit(row: &mut Row, name: Option<&str>, wants: &Wants) -> Option<Circuit> {
    let conductors = conductors(row);
    let cable = row.word(CABLE, &CABLES).unwrap_or(Cable::Single);
    let from = terminal(
        row,
        FROM,
        [FROM_ATTACH, FROM_EXIT, FROM_INTERFACE, FROM_KEY],
    );
    let to = terminal(row, TO, [TO_ATTACH, TO_EXIT, TO_INTERFACE, TO_KEY]);
    let [wants_from, wants_to] = wants.of(row);
    let current = row.number(CURRENT_A, &limits::CURRENT).map(Ampere);
    let voltage = row.number(VOLTAGE_V, &limits::VOLTAGE).map(Volt);
    let gauge = row.gauge(GAUGE);
    let cable_od = required(row, CABLE_OD_MM, "measure the cable's outer diameter")
        .and_then(|_| row.number(CABLE_OD_MM, &limits::DIAMETER))
        .map(Mm);
    let (ip, colour) = (row.protection(IP), row.text(COLOUR));
    let (branch, note) = (row.owned(BRANCH), row.owned(NOTE));
    Some(Circuit {
        machine: 0,
        copies: 1,
        name: name?.to_owned(),
        conductors,
        cable,
        from: Terminal {
            wants: wants_from,
            ..from?
        },
        to: Terminal {
            wants: wants_to,
            ..to?
        },
        current: current?,
        voltage: voltage?,
        gauge: gauge?,
        cable_od: cable_od?,
        ip,
        colour: colour.map(str::to_owned),
        branch,
        note,
        row: row.place(),
    })
}

/// The field, with a cure of its own where it is empty.
fn required<'t>(row: &mut Row<'t>, col: Col, cure: &str) -> Option<&'t str> {
    if row.has(col) && row.peek(col).is_empty() {
        row.error(col, "the field is empty", cure);
        return None;
    }
    row.text(col)
}

fn conductors(row: &mut Row) -> Vec<String> {
    let text = row.text(CONDUCTORS).unwrap_or("");
    let mut nets: Vec<String> = Vec::new();
    for net in text.split_whitespace() {
        if nets.len() == MAX_CONDUCTORS {
            let message = format!("the circuit has more than {MAX_CONDUCTORS} conductors");
            row.error(CONDUCTORS, message, "split the circuit");
            break;
        }
        if nets.iter().any(|n| n == net) {
            let message = format!("conductor {} is named twice", quote(net));
            row.error(
                CONDUCTORS,
                message,
                "give each conductor a net name of its own",
            );
        }
        nets.push(net.to_owned());
    }
    nets
}

/// One side of a circuit; what it wants of attributes is read apart.
fn terminal(row: &mut Row, place: Col, columns: [Col; 4]) -> Option<Terminal> {
    let [attach, exit, interface, key] = columns;
    let (location, face) = (row.text(place), row.text(interface));
    let cure = "write what the receptacle attaches to, or none if there is no connector there";
    let attach = required(row, attach, cure);
    let exit = row.word(exit, exits());
    let key = row.text(key);
    if attach == Some(BUILT_IN) && row.peek(interface).is_empty() {
        let message = "a built-in receptacle needs its interface";
        row.error(
            interface,
            message,
            "write the mating face that the device has",
        );
    }
    Some(Terminal {
        location: location?.to_owned(),
        attach: Some(attach?).filter(|a| *a != NONE).map(str::to_owned),
        exit,
        interface: face.map(str::to_owned),
        key: key.map(str::to_owned),
        wants: Values::new(),
    })
}

/// The columns of the attributes, in one list for all their names.
struct Wants<'a> {
    attributes: &'a Attributes,
    /// For each attribute, its columns for both ends, for `from`, for `to`; then those
    /// of bad rows.
    names: Vec<[String; 3]>,
}

impl<'a> Wants<'a> {
    fn new(attributes: &'a Attributes) -> Self {
        let sound = attributes.list.iter().map(|a| a.name.to_string());
        let names = sound.chain(attributes.spoilt.iter().cloned());
        Wants {
            attributes,
            names: names
                .map(|name| [name.clone(), format!("from_{name}"), format!("to_{name}")])
                .collect(),
        }
    }

    /// All columns of the table.
    fn columns(&self) -> Vec<Col<'_>> {
        let own = COLUMNS.iter().copied();
        own.chain((0..self.names.len()).flat_map(|a| self.of_one(a)))
            .collect()
    }

    /// The columns of one attribute.
    fn of_one(&self, place: usize) -> [Col<'_>; 3] {
        let first = COLUMNS.len() + 3 * place;
        let names = &self.names[place];
        [0, 1, 2].map(|i| Col::optional(first + i, &names[i]))
    }

    /// What a row wants at `from` and at `to`: the column for one end counts where it
    /// is not empty.
    fn of(&self, row: &mut Row) -> [Values; 2] {
        let mut wants = [Values::new(), Values::new()];
        for (place, attribute) in self.attributes.list.iter().enumerate() {
            let [both, from, to] = self.of_one(place);
            let common = value(row, both, attribute.holds);
            for (wants, col) in wants.iter_mut().zip([from, to]) {
                let own = value(row, col, attribute.holds);
                wants.push(own.or_else(|| common.clone()));
            }
        }
        wants
    }
}
