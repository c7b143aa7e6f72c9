//! The cables of a project with what a plan puts on their ends.

use crate::catalog::Half;
use crate::diag::joined;
use crate::fit::current::{Conductor, derated};
use crate::fit::{self, Side};
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::project::{self, Circuit};
use crate::units::{Ampere, Celsius, Mm2};
use std::collections::{BTreeMap, BTreeSet};

/// A plan that is for other circuits than the project has now.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the plan is for other ends than there are now: {0}")]
pub struct Mismatch(pub String);

/// One cable: a conductor of its own, or a multi-core cable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cable<'a> {
    /// Machine by name; empty in a project.
    pub machine: &'a str,
    /// Place of its circuit in the `circuits.csv` of its machine, from 1.
    pub number: usize,
    /// Its circuit.
    pub circuit: &'a Circuit,
    /// The name that `circuits.csv` gives the circuit.
    pub name: &'a str,
    /// Net; for a multi-core cable all its nets joined by a space.
    pub net: String,
    /// The `from` end, then the `to` end.
    pub ends: [CableEnd<'a>; 2],
}

/// Where a cable arrives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CableEnd<'a> {
    /// Which end.
    pub side: Side,
    /// Location.
    pub location: &'a str,
    /// What the plan puts on the end; none where no connector is wanted.
    pub pair: Option<&'a EndRecord>,
}

/// What a body at an end carries.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rated {
    /// Which half.
    pub half: Half,
    /// Part code.
    pub part: String,
    /// Continuous current of each contact on the end's conductor, before derating.
    pub rated: Ampere,
    /// The areas of the row of `ratings.csv` that says so; none where it is the body's own.
    pub areas: Option<(Mm2, Mm2)>,
    /// The ambient temperature and the current that is left there, where it is less.
    pub left: Option<(Celsius, Ampere)>,
}

/// What the bodies that a plan puts on the end of a cable carry there; nothing of a body
/// that the catalog has lost.
pub fn rated(input: &Input, circuit: &Circuit, pair: &EndRecord) -> Vec<Rated> {
    let on = Conductor {
        area: circuit.gauge.area(),
        ambient: input.rules(circuit.machine).ambient,
    };
    let of = |code: &str| {
        let body = input.catalog.part(input.catalog.find(code)?).body()?;
        let (rated, left) = (body.rated_on(on.area), derated(body, on));
        Some(Rated {
            half: body.half,
            part: code.to_owned(),
            rated,
            areas: body.rating(on.area).map(|row| (row.min_mm2, row.max_mm2)),
            left: on.ambient.filter(|_| left < rated).map(|t| (t, left)),
        })
    };
    pair.bodies().filter_map(|(_, code)| of(code)).collect()
}

/// Every cable, in the order of the circuits and of their conductors. Those of a machine
/// that is built several times stand once.
///
/// # Errors
/// [`Mismatch`] where the plan has an end that the circuits do not have, or the
/// other way round.
pub fn cables<'a>(input: &'a Input, plan: &'a Plan) -> Result<Vec<Cable<'a>>, Mismatch> {
    check(input, plan)?;
    let mut pairs = plan.ends.iter();
    let mut cables = Vec::new();
    let mut numbers: BTreeMap<usize, usize> = BTreeMap::new();
    for circuit in &input.circuits {
        let number = numbers.entry(circuit.machine).or_default();
        *number += 1;
        for net in circuit.nets() {
            let mut end = |side, terminal: &'a project::Terminal| CableEnd {
                side,
                location: &terminal.location,
                pair: terminal.attach.as_ref().and_then(|_| pairs.next()),
            };
            let ends = [end(Side::From, &circuit.from), end(Side::To, &circuit.to)];
            cables.push(Cable {
                machine: input.machine_name(circuit.machine).unwrap_or_default(),
                number: *number,
                circuit,
                name: circuit.own_name(&input.machines),
                net,
                ends,
            });
        }
    }
    Ok(cables)
}

/// Checks that each end of the plan is the end at the same place among the circuits' ends.
fn check(input: &Input, plan: &Plan) -> Result<(), Mismatch> {
    let wanted = fit::ends(&input.circuits);
    for (end, record) in wanted.iter().zip(&plan.ends) {
        let circuit = input.circuits.get(end.circuit).map(|c| c.name.as_str());
        let is_same = circuit == Some(&*record.circuit_name())
            && end.net == record.net
            && end.side.word() == record.end
            && end.location == record.location
            && end.gauge.to_string() == record.gauge;
        if !is_same {
            return Err(Mismatch(format!(
                "{} has no circuit {}, net {}, {} {}",
                file_of(input, end.circuit),
                record.circuit_name(),
                record.net,
                record.end,
                record.location
            )));
        }
    }
    if wanted.len() == plan.ends.len() {
        return Ok(());
    }
    Err(Mismatch(format!(
        "{} ends in the plan, {} in {}",
        plan.ends.len(),
        wanted.len(),
        files_of(input)
    )))
}

/// The file that a circuit stands in.
fn file_of(input: &Input, circuit: usize) -> String {
    let circuit = input.circuits.get(circuit);
    circuit.map_or_else(|| "circuits.csv".to_owned(), |of| of.row.file.to_string())
}

/// The files of all circuits.
fn files_of(input: &Input) -> String {
    let files: BTreeSet<&str> = input.circuits.iter().map(|of| &*of.row.file).collect();
    match files.is_empty() {
        true => "circuits.csv".to_owned(),
        false => joined(&files.into_iter().collect::<Vec<_>>(), "and"),
    }
}
