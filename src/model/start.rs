//! From an assignment to values of all variables: what to buy for it.

use super::cells::{Body, Cell};
use super::problem::Problem;
use super::program::{Built, CellVars};
use super::search::Pick;
use super::solution::Set;
use crate::catalog::Half;
use crate::fit::Fit;
use crate::solve::{Program, SolveError, Task, run};
use crate::units::Qty;

/// How many ends use what, for each variable that counts ends.
pub(super) type Counts = Vec<Qty>;

/// The counts of these sets, one for each end, perhaps of an earlier program;
/// none where a set has a part that its end can't have here.
pub(super) fn of_sets(
    fit: &Fit,
    problem: &Problem,
    built: &Built,
    given: &[Set],
) -> Option<Counts> {
    let mut counts: Counts = vec![0; built.program.vars.len()];
    for (cell, vars) in problem.cells.iter().zip(&built.cells) {
        for &end in &cell.ends {
            let pick = pick_of(fit, cell, given.get(end)?)?;
            if let Some(receptacle) = pick.receptacle {
                counts[vars.receptacles[receptacle].0] += 1;
            }
            counts[vars.plugs[pick.plug].0] += 1;
            for (slot, option) in pick.fittings {
                counts[vars.slots[slot][option].0] += 1;
            }
        }
    }
    Some(counts)
}

/// A set by places in the cell of its end; none where it uses a part that the
/// end can't have here.
pub(super) fn pick_of(fit: &Fit, cell: &Cell, set: &Set) -> Option<Pick> {
    let (receptacle, plug) = pair_of(cell, set)?;
    let class = &fit.classes[cell.class];
    let fitted = |half: Half, slot: usize| {
        let mut fittings = set.fittings.iter();
        let on = fittings.find(|f| f.half == half && f.fitting == class.slots[slot].fitting)?;
        let mut options = cell.slots[slot].options.iter();
        Some((slot, options.position(|o| o.0 == on.part)?))
    };
    let on_receptacle = receptacle.into_iter();
    let on_receptacle = on_receptacle.flat_map(|r| &cell.receptacles[r].slots);
    let on_plug = cell.plugs[plug].slots.iter();
    let fittings = on_receptacle
        .map(|&s| fitted(Half::Receptacle, s))
        .chain(on_plug.map(|&s| fitted(Half::Plug, s)));
    Some(Pick {
        receptacle,
        plug,
        fittings: fittings.collect::<Option<_>>()?,
    })
}

/// The places of the two bodies of a set, which mate; none where they do not, or
/// where the cell lacks one.
fn pair_of(cell: &Cell, set: &Set) -> Option<(Option<usize>, usize)> {
    let places = |bodies: &[Body], id| -> Vec<usize> {
        let is_it = |&i: &usize| bodies[i].id == id;
        (0..bodies.len()).filter(is_it).collect()
    };
    let plugs = places(&cell.plugs, set.plug);
    let Some(receptacle) = set.receptacle else {
        let plug = plugs.first().filter(|_| cell.is_built_in())?;
        return Some((None, *plug));
    };
    let receptacles = places(&cell.receptacles, receptacle);
    receptacles.iter().find_map(|&r| {
        let mates = |&&p: &&usize| cell.plugs[p].mate == cell.receptacles[r].mate;
        Some((Some(r), *plugs.iter().find(mates)?))
    })
}

/// Nodes of the search for what to buy. So this search ends without any limit on
/// time, and at the same node on every machine.
pub(super) const PURCHASE_NODES: i32 = 2_000;

/// Fixes the counts and buys for them as cheaply as possible; none if nothing
/// can be bought for the counts within the limits.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub(super) fn complete(
    built: &Built,
    counts: &Counts,
    task: &Task,
) -> Result<Option<Vec<f64>>, SolveError> {
    let task = Task {
        nodes: Some(PURCHASE_NODES),
        ..task.clone()
    };
    Ok(run(&fixed(built, counts), &task, &mut |_| {})?.into_values())
}

/// The program with these counts alone.
pub(super) fn fixed(built: &Built, counts: &Counts) -> Program {
    let mut program = built.program.clone();
    for x in built.cells.iter().flat_map(CellVars::counts) {
        let value = counts[x.0] as f64;
        program.vars[x.0].lo = value;
        program.vars[x.0].up = value;
    }
    program
}
