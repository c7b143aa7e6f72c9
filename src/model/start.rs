//! From an assignment that the search found to values of all variables.

use super::program::Built;
use super::search::{Found, Ground};
use crate::solve::{Limits, SolveError, Solved, run};
use crate::units::Qty;

/// Fixes the counts of all cells to what the search found and buys for them
/// as cheaply as possible; none if nothing can be bought for them in time.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub(super) fn complete(
    ground: &Ground,
    built: &Built,
    found: &Found,
    seconds: f64,
) -> Result<Option<Vec<f64>>, SolveError> {
    let mut program = built.program.clone();
    let mut counts: Vec<Qty> = vec![0; program.vars.len()];
    for (node, pick) in ground.nodes.iter().zip(&found.picks) {
        let vars = &built.cells[node.cell];
        let weight = node.ends.1;
        counts[vars.receptacles[pick.receptacle].0] += weight;
        counts[vars.plugs[pick.plug].0] += weight;
        for &(slot, option) in &pick.fittings {
            counts[vars.slots[slot][option].0] += weight;
        }
    }
    for vars in &built.cells {
        let slots = vars.slots.iter().flatten();
        for x in vars.receptacles.iter().chain(&vars.plugs).chain(slots) {
            let value = counts[x.0] as f64;
            program.vars[x.0].lo = value;
            program.vars[x.0].up = value;
        }
    }
    let limits = Limits {
        seconds,
        ..Limits::default()
    };
    Ok(match run(&program, &limits, &mut |_| {})? {
        Solved::Optimal { values, .. } | Solved::Feasible { values, .. } => Some(values),
        Solved::Infeasible | Solved::Unknown { .. } => None,
    })
}
