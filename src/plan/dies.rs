//! The crimp dies of a plan.

use super::form::Plan;
use crate::catalog::{Catalog, DieId};
use crate::input::Input;
use std::collections::BTreeSet;

/// Dies that the plan's ferrules name, by name.
pub fn dies_used(catalog: &Catalog, plan: &Plan) -> Vec<DieId> {
    let named = plan.parts.iter().filter_map(|p| catalog.die_of(&p.part));
    let dies: BTreeSet<DieId> = named.collect();
    dies.into_iter().collect()
}

/// Dies that the plan's ferrules name and that are to be bought: neither owned
/// nor ordered.
pub fn dies_to_buy(input: &Input, plan: &Plan) -> Vec<DieId> {
    let mut dies = dies_used(&input.catalog, plan);
    dies.retain(|die| !input.owns(*die));
    dies
}
