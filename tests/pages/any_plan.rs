//! A plan for any project without a search: what fits first, bought in plenty.
//! Neither cheap nor keyed, but a document can be made of it.

use crate::support::build::row;
use couplet::catalog::PartId;
use couplet::fit::{Choice, Class, Fit, fit};
use couplet::input::{Input, LoadOptions, load};
use couplet::model::{Fitted, Set, Solution};
use couplet::plan::{Bound, Plan, record};
use couplet::project::{Machine, circuit_name};
use std::collections::BTreeMap;

/// The generated project of a seed, with so many circuits, and a plan for it.
pub fn generated(seed: u64, circuits: usize) -> (Input, Plan) {
    let folder = tempfile::tempdir().expect("a folder");
    crate::generate::write_project(folder.path(), seed, circuits).expect("written");
    let input = load(folder.path(), &LoadOptions::default())
        .input
        .expect("a project");
    let plan = any_plan(&input);
    (input, plan)
}

/// The circuits of a project dealt out to two machines, the first of which is built three
/// times.
pub fn of_two_machines(mut input: Input) -> Input {
    let names = [("one", 3), ("other", 1)];
    let machine = |(name, count): (&str, u64)| Machine {
        name: name.to_owned(),
        project: format!("../{name}"),
        count,
        settings: input.settings.clone(),
        row: row("purchase.toml", 0),
    };
    input.machines = names.map(machine).to_vec();
    let half = input.circuits.len() / 2;
    for (place, circuit) in input.circuits.iter_mut().enumerate() {
        circuit.machine = usize::from(place >= half);
        let machine = &input.machines[circuit.machine];
        circuit.copies = machine.count;
        circuit.name = circuit_name(&machine.name, &circuit.name);
    }
    input
}

/// The plan, said to be within a gap since nothing is proven.
pub fn any_plan(input: &Input) -> Plan {
    let fit = fit(input).unwrap_or_else(|e| panic!("{e}"));
    let sets: Vec<Set> = (0..fit.ends.len()).map(|end| set(&fit, end)).collect();
    let mut used: BTreeMap<PartId, u64> = BTreeMap::new();
    for set in &sets {
        for (part, qty) in set.pieces() {
            *used.entry(part).or_default() += qty;
        }
    }
    let purchases = used.into_iter().map(|(part, qty)| {
        let (id, offer) = input.catalog.offers_of(part).next().expect("an offer");
        let least = offer.breaks.first().map_or(1, |b| b.min_qty);
        (id, (2 * qty + 60).max(least).div_ceil(offer.pack))
    });
    let mut purchases: Vec<_> = purchases.collect();
    purchases.sort();
    let bound = Bound {
        lower: 0.0,
        witnesses: 0,
        wanted_gap: None,
    };
    record(input, &fit, &Solution { sets, purchases }, bound).expect("a plan")
}

fn set(fit: &Fit, end: usize) -> Set {
    let class = fit
        .classes
        .iter()
        .find(|c| c.ends.contains(&end))
        .expect("a class");
    let pairs = class.receptacles.iter().flat_map(|receptacle| {
        let plugs = class.plugs.iter();
        plugs.map(move |plug| (receptacle, plug))
    });
    let mut pairs: Vec<_> = pairs.filter(|(r, p)| r.identity == p.identity).collect();
    // By net, so that not all nets have one key.
    let at = fit.ends[end].net.bytes().map(usize::from).sum::<usize>() % pairs.len();
    let (receptacle, plug) = pairs.swap_remove(at);
    let mut fittings = fitted(class, receptacle);
    fittings.extend(fitted(class, plug));
    Set {
        receptacle: Some(receptacle.body),
        plug: plug.body,
        fittings,
    }
}

fn fitted(class: &Class, choice: &Choice) -> Vec<Fitted> {
    let slots = choice.slots.iter().map(|&slot| &class.slots[slot]);
    slots
        .map(|slot| Fitted {
            half: slot.half,
            fitting: slot.fitting,
            part: slot.options[0].0,
            qty: slot.options[0].1,
        })
        .collect()
}
