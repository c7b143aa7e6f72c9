//! From an assignment to values of all variables: what to buy for it.

use super::cells::{Body, Cell};
use super::program::{Built, CellVars};
use super::sets::Sets;
use super::{Fitted, Solution};
use crate::catalog::Half;
use crate::fit::Fit;
use crate::solve::{Limits, SolveError, Solved, VarId, run};
use crate::units::Qty;

/// How many ends use what, for each variable that counts ends.
pub(super) type Counts = Vec<Qty>;

/// The counts of a solution, perhaps of an earlier program; none where it uses
/// a part that an end can't have here.
pub(super) fn of_solution(
    fit: &Fit,
    sets: &Sets,
    built: &Built,
    solution: &Solution,
) -> Option<Counts> {
    let mut counts: Counts = vec![0; built.program.vars.len()];
    for (cell, vars) in sets.cells.iter().zip(&built.cells) {
        for &end in &cell.ends {
            let set = solution.sets.get(end)?;
            let r = cell
                .receptacles
                .iter()
                .position(|b| b.id == set.receptacle)?;
            let p = cell.plugs.iter().position(|b| b.id == set.plug)?;
            counts[vars.receptacles[r].0] += 1;
            counts[vars.plugs[p].0] += 1;
            for (half, body) in [
                (Half::Receptacle, &cell.receptacles[r]),
                (Half::Plug, &cell.plugs[p]),
            ] {
                let fitted: Vec<&Fitted> = set.fittings.iter().filter(|f| f.half == half).collect();
                for x in options(fit, cell, vars, body, &fitted)? {
                    counts[x.0] += 1;
                }
            }
        }
    }
    Some(counts)
}

/// The variables of what is fitted on a body.
fn options(
    fit: &Fit,
    cell: &Cell,
    vars: &CellVars,
    body: &Body,
    fitted: &[&Fitted],
) -> Option<Vec<VarId>> {
    let class = &fit.classes[cell.class];
    (body.slots.iter())
        .map(|&s| {
            let on = fitted
                .iter()
                .find(|f| f.fitting == class.slots[s].fitting)?;
            let k = cell.slots[s].options.iter().position(|o| o.0 == on.part)?;
            Some(vars.slots[s][k])
        })
        .collect()
}

/// Fixes the counts and buys for them as cheaply as possible; none if nothing
/// can be bought for them in time.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub(super) fn complete(
    built: &Built,
    counts: &Counts,
    seconds: f64,
) -> Result<Option<Vec<f64>>, SolveError> {
    let mut program = built.program.clone();
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
