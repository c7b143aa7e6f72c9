//! The independent audit: a record checked against the input alone.
//!
//! Ends are listed, rules applied, pieces counted and money added up once more
//! here, in exact decimals, by code that shares nothing with what made the
//! plan. Nothing in a record is trusted: any text and any number may stand in it.

mod alone;
mod attributes;
mod basis;
mod cost;
mod count;
mod ends;
mod finding;
mod fittings;
mod head;
mod keying;
mod ordered;
mod orders;
mod rules;

pub use alone::audit_alone;
pub use basis::{Basis, audit_since};
pub use finding::{EndName, Fact, Finding, LineName, NetName, Rule};

use crate::input::Input;
use crate::plan::Plan;
use std::collections::BTreeSet;

/// Everything that is wrong with a plan, each thing once; empty if it passes.
pub fn audit(input: &Input, plan: &Plan) -> Vec<Finding> {
    let mut found = Vec::new();
    head::check(input, plan, &mut found);
    let wanted = ends::wanted(input);
    let served = ends::served(&wanted, plan, &mut found);
    for end in &served {
        rules::check(input, end, &mut found);
        attributes::check(input, end, &mut found);
        fittings::check(input, end, &mut found);
    }
    keying::check(input, &served, &mut found);
    let fitted = count::fitted(input, &served);
    count::check(input, plan, &fitted, &mut found);
    ordered::check(input, plan, &fitted, &mut found);
    let orders = orders::check(input, plan, &fitted, &mut found);
    cost::check(input, plan, &fitted, orders, &mut found);
    let mut told = BTreeSet::new();
    found.retain(|finding| told.insert(finding.clone()));
    found
}
