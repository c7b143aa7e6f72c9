//! Rows that the relaxation of the pooled program violates, added in rounds.

use super::bundle::{Bundle, Cover};
use super::kinds::Kinds;
use crate::limit::Limit;
use crate::model::problem::Problem;
use crate::model::rows::Terms;
use crate::solve::{Program, Relaxation, Relaxed, Row, Safe, SolveError};
use crate::units::Qty;
use std::collections::BTreeMap;

/// How much a row must be violated, in pieces.
const VIOLATED: f64 = 1e-3;

/// The least gain in the bound that counts, as a share of the bound.
const LITTLE: f64 = 1e-5;

/// So many rounds in a row may gain less, then no more rows are added.
const STALLED: usize = 3;

/// The relaxation at its end.
#[derive(Debug, Clone)]
pub struct Root {
    /// No plan is below this.
    pub bound: f64,
    /// Values of all variables.
    pub values: Vec<f64>,
    /// Reduced costs of all variables.
    pub reduced: Vec<f64>,
    /// The bound, with what the bound says of each variable.
    pub safe: Safe,
}

/// What the relaxation comes to.
#[derive(Debug, Clone)]
pub enum Rooted {
    /// The relaxation at its end.
    Root(Root),
    /// Nothing at the cutoff or below, whatever the solver did.
    Above,
    /// Nothing holds the rows, by the solver's word alone.
    Infeasible,
    /// The solver can't say.
    Unknown,
}

/// Solves the relaxation as it is.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn plain(relaxation: &mut Relaxation, cutoff: f64) -> Result<Rooted, SolveError> {
    Ok(match relaxation.solve(cutoff)? {
        Relaxed::Value(bound) => match (relaxation.values(), relaxation.safe()) {
            (Some((values, reduced)), Some(safe)) => Rooted::Root(Root {
                bound,
                values,
                reduced,
                safe: safe.clone(),
            }),
            _ => Rooted::Unknown,
        },
        Relaxed::Above => Rooted::Above,
        Relaxed::Infeasible => Rooted::Infeasible,
        Relaxed::Unknown => Rooted::Unknown,
    })
}

/// Solves the relaxation, adding violated rows to it and to its program, until
/// no row is violated, or the rows gain nothing, or the time is over.
///
/// # Errors
/// [`SolveError`] if the solver breaks off.
pub fn rounds(
    program: &mut Program,
    relaxation: &mut Relaxation,
    facts: &Facts,
    cutoff: f64,
    limit: &Limit,
) -> Result<Rooted, SolveError> {
    let mut last: Option<Root> = None;
    let mut stalled = 0;
    loop {
        let root = match plain(relaxation, cutoff)? {
            Rooted::Root(root) => root,
            // The last bound holds all the same.
            Rooted::Unknown => return Ok(last.map_or(Rooted::Unknown, Rooted::Root)),
            ended @ (Rooted::Above | Rooted::Infeasible) => return Ok(ended),
        };
        let gain = last
            .as_ref()
            .map_or(f64::INFINITY, |l| root.bound - l.bound);
        stalled = if gain < root.bound.abs() * LITTLE {
            stalled + 1
        } else {
            0
        };
        let rows = facts.violated(&root.values);
        last = Some(root);
        if rows.is_empty() || stalled > STALLED || limit.is_over() {
            return Ok(last.map_or(Rooted::Unknown, Rooted::Root));
        }
        for row in rows {
            relaxation.add(&row)?;
            program.rows.push(row);
        }
    }
}

/// What rows are made from.
pub struct Facts<'a> {
    /// What the program is made from.
    pub problem: &'a Problem,
    /// Ends that are not told apart.
    pub kinds: &'a Kinds,
    /// What so many identities serve.
    pub covers: &'a [Cover],
    /// What is bought together.
    pub bundles: &'a [Bundle],
}

impl Facts<'_> {
    fn violated(&self, values: &[f64]) -> Vec<Row> {
        let covers = self.covers.iter();
        let covers = covers.filter_map(|c| cover_cut(self.kinds, c, values));
        let levels = self.bundles.iter();
        let levels = levels.filter_map(|b| level_cut(self.kinds, self.problem, b, values));
        covers.chain(levels).collect()
    }
}

impl Cover {
    /// Σ uses of the kinds ≤ C(m) + (C(m + 1) − C(m)) (n − m).
    pub fn row(&self, kinds: &Kinds, which: &[usize], m: usize) -> Row {
        let least = kinds.capacity(which, m) as f64;
        let step = kinds.capacity(which, m + 1) as f64 - least;
        let mut terms: Terms = which.iter().flat_map(|k| self.uses[k].clone()).collect();
        terms.extend(self.by.iter().map(|&(n, q)| (n, -q * step)));
        Row {
            terms,
            lo: f64::NEG_INFINITY,
            up: least - step * m as f64,
        }
    }
}

fn value(terms: &Terms, values: &[f64]) -> f64 {
    terms.iter().map(|&(x, q)| values[x.0] * q).sum()
}

/// Kinds by how much of what one identity can serve of them is used, the most
/// first: the sets of kinds that are tried are the beginnings of this list.
fn by_share(mut list: Vec<(usize, f64, f64)>) -> Vec<(usize, f64, f64)> {
    list.retain(|&(_, used, most)| used > 1e-7 && most > 0.0);
    list.sort_by(|a, b| (b.1 / b.2).total_cmp(&(a.1 / a.2)).then(a.0.cmp(&b.0)));
    list
}

fn cover_cut(kinds: &Kinds, cover: &Cover, values: &[f64]) -> Option<Row> {
    let n = value(&cover.by, values);
    let list = (cover.uses.iter())
        .map(|(&k, terms)| (k, value(terms, values), kinds.list[k].by_one as f64))
        .collect();
    let mut which = Vec::new();
    let (mut used, mut largest) = (0.0, 0.0f64);
    let mut best: Option<(f64, Vec<usize>, usize)> = None;
    for (k, here, most) in by_share(list) {
        which.push(k);
        used += here;
        largest = largest.max(most);
        // One identity serves at least `largest` of them.
        if which.len() < 2 || used <= largest * n.min(1.0) + VIOLATED {
            continue;
        }
        for m in [0, n.floor() as usize] {
            let least = kinds.capacity(&which, m) as f64;
            let step = kinds.capacity(&which, m + 1) as f64 - least;
            let over = used - least - step * (n - m as f64);
            if over > VIOLATED && best.as_ref().is_none_or(|b| over > b.0) {
                best = Some((over, which.clone(), m));
            }
        }
    }
    let (_, which, m) = best?;
    Some(cover.row(kinds, &which, m))
}

/// For kinds K of which one part serves at most C(K): Σ uses of K ≤ on hand +
/// Σ breaks min(pieces bought, C(K) · parts bought at it), since what a part is
/// bought of at a break serves no more than the part can. The smaller of the
/// two is taken for each break, so that the row is linear. Spares count as a
/// kind of their own.
fn level_cut(kinds: &Kinds, problem: &Problem, bundle: &Bundle, values: &[f64]) -> Option<Row> {
    if bundle.levels.len() < 2 && bundle.levels.iter().all(|l| l.pack == 1) {
        return None;
    }
    let part = &problem.parts[bundle.parts[0]];
    let mut by_kind: BTreeMap<usize, (Terms, f64)> = BTreeMap::new();
    for &(k, x, qty) in &bundle.uses {
        let most = match bundle.is_body {
            true => kinds.list[k].by_one,
            false => kinds.list[k].count,
        };
        let entry = by_kind.entry(k).or_default();
        entry.0.push((x, qty as f64));
        let room = (most * qty) as f64;
        entry.1 = match bundle.is_body {
            // A body may stand several times, for the groups in which it mates.
            true => room,
            false => entry.1 + room,
        };
    }
    let list = (by_kind.iter())
        .map(|(&k, (terms, most))| (k, value(terms, values), *most))
        .collect();
    let list = by_share(list);
    // What one body serves is counted in ends, each of which takes at most so many pieces.
    let copies = bundle
        .uses
        .iter()
        .map(|&(_, _, qty)| qty)
        .max()
        .unwrap_or(1);
    let spare = value(&bundle.spare, values);
    let most_spare = part.most_spare() as f64;
    let mut which = Vec::new();
    let (mut used, mut most, mut largest) = (0.0, 0.0, 0.0f64);
    // Violation, kinds, whether spares count, capacity.
    let mut best: Option<(f64, usize, bool, f64)> = None;
    let bought = |cap: f64| -> f64 {
        (bundle.levels.iter())
            .map(|l| (values[l.packs.0] * l.pack as f64).min(values[l.taken.0] * cap))
            .sum::<f64>()
            + part.on_hand as f64
    };
    for &(k, here, cap) in &list {
        which.push(k);
        used += here;
        most += cap;
        largest = largest.max(cap);
        for (extra, room) in [(0.0, 0.0), (spare, most_spare)] {
            if (extra > 0.0) != (room > 0.0) || used + extra <= bought(largest + room) + VIOLATED {
                continue;
            }
            let cap = match bundle.is_body {
                true => ((kinds.capacity(&which, 1) * copies) as f64).min(most),
                false => most,
            } + room;
            let over = used + extra - bought(cap);
            if over > VIOLATED && best.is_none_or(|b| over > b.0) {
                best = Some((over, which.len(), room > 0.0, cap));
            }
        }
    }
    let (_, len, with_spare, cap) = best?;
    let mut terms = Terms::new();
    for k in &which[..len] {
        terms.extend(&by_kind[k].0);
    }
    if with_spare {
        terms.extend(&bundle.spare);
    }
    for level in &bundle.levels {
        let pieces = level.pack as Qty as f64;
        if values[level.packs.0] * pieces <= values[level.taken.0] * cap {
            terms.push((level.packs, -pieces));
        } else {
            terms.push((level.taken, -cap));
        }
    }
    Some(Row {
        terms,
        lo: f64::NEG_INFINITY,
        up: part.on_hand as f64,
    })
}
