//! Decisions that no cheapest plan can take, found by trying each on the
//! relaxation: a decision is struck if forcing it costs more than the best plan
//! known.
//!
//! The program stays exact: what is struck is in no plan that costs at most the best one known,
//! so all cheapest plans remain.

use super::pooled::{self, Facts, Rooted};
use super::program::Built;
use crate::limit::Limit;
use crate::solve::{Relaxation, Relaxed, Safe, SolveError, VarId};

/// What is tried after the reduced costs.
#[derive(Debug, Clone, Copy)]
pub(super) enum Probes<'a> {
    /// At most so many decisions.
    Most(usize),
    /// These decisions, each against this cutoff; only taking them is tried.
    Of(&'a [VarId], f64),
}

/// Adds rows that the relaxation violates, made from `facts`, then tightens the
/// bounds of the program, given that a plan of cost `best` is known: by reduced
/// costs, then by trials. Gives a bound that no plan is below. At the limit the work
/// ends early, with what is tightened by then.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub(super) fn tighten(
    built: &mut Built,
    facts: Option<&Facts>,
    best: f64,
    trials: Probes,
    limit: &Limit,
) -> Result<f64, SolveError> {
    if limit.is_over() {
        return Ok(f64::NEG_INFINITY);
    }
    if built.program.vars.is_empty() {
        return Ok(best);
    }
    let cutoff = best + 1e-6 * best.abs().max(1.0);
    let mut relaxation = Relaxation::new(&built.program, limit)?;
    let root = match facts {
        Some(facts) => pooled::rounds(&mut built.program, &mut relaxation, facts, cutoff, limit)?,
        None => pooled::plain(&mut relaxation, cutoff)?,
    };
    let root = match root {
        Rooted::Root(root) => root,
        Rooted::Above => return Ok(best),
        Rooted::Infeasible | Rooted::Unknown => return Ok(f64::NEG_INFINITY),
    };
    by_reduced_cost(built, &mut relaxation, &root.safe, cutoff);
    let (base, values, reduced) = (root.bound, root.values, root.reduced);
    let probes = match trials {
        Probes::Most(probes) => probes,
        Probes::Of(vars, cutoff) => {
            for &var in vars.iter().take_while(|_| !limit.is_over()) {
                probe(built, &mut relaxation, var, 1.0, cutoff)?;
            }
            return Ok(base);
        }
    };
    let mut list: Vec<VarId> = decisions(built)
        .filter(|v| built.program.vars[v.0].lo < built.program.vars[v.0].up)
        .collect();
    // Decisions that were nearly struck by their reduced cost come first.
    list.sort_by(|a, b| reduced[b.0].abs().total_cmp(&reduced[a.0].abs()));
    list.truncate(probes);
    for var in list {
        if limit.is_over() {
            break;
        }
        let value = values[var.0];
        let struck = value < 0.999 && probe(built, &mut relaxation, var, 1.0, cutoff)?;
        if !struck && value > 0.001 {
            probe(built, &mut relaxation, var, 0.0, cutoff)?;
        }
    }
    Ok(base)
}

/// The decisions that matter: which part, which break, which supplier, which die.
pub(super) fn decisions(built: &Built) -> impl Iterator<Item = VarId> {
    let breaks = built.offers.iter().flatten().map(|b| b.taken);
    let suppliers = built.suppliers.iter();
    let suppliers = suppliers.flat_map(|s| std::iter::once(s.used).chain(s.free));
    breaks
        .chain(built.parts.iter().map(|p| p.used))
        .chain(suppliers)
        .chain(built.dies.iter().copied())
}

/// Forces a decision, and strikes it if forcing is sure to cost more than the
/// cutoff. Where nothing holds the rows, that is the solver's word alone, and
/// nothing is struck.
fn probe(
    built: &mut Built,
    relaxation: &mut Relaxation,
    var: VarId,
    value: f64,
    cutoff: f64,
) -> Result<bool, SolveError> {
    let (lo, up) = relaxation.bounds(var);
    relaxation.bound(var, value, value);
    let struck = matches!(relaxation.solve(cutoff)?, Relaxed::Above);
    let (lo, up) = match struck {
        true if value > 0.5 => (lo, lo),
        true => (up, up),
        false => (lo, up),
    };
    relaxation.bound(var, lo, up);
    let bounds = &mut built.program.vars[var.0];
    (bounds.lo, bounds.up) = (lo, up);
    Ok(struck)
}

/// A whole variable can leave the bound at which it is cheapest only so far as
/// its reduced cost lets it.
fn by_reduced_cost(built: &mut Built, relaxation: &mut Relaxation, safe: &Safe, cutoff: f64) {
    for (i, var) in built.program.vars.iter_mut().enumerate() {
        if !var.integer || var.lo >= var.up {
            continue;
        }
        let (lo, up) = safe.tightened(i, var, cutoff);
        if (lo, up) != (var.lo, var.up) && lo <= up {
            (var.lo, var.up) = (lo, up);
            relaxation.bound(VarId(i), lo, up);
        }
    }
}
