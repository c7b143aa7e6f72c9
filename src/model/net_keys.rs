//! Which keys each net has, as rows beside the program.
//!
//! Symbols: class c with N_c ends of net n(c) in cell k(c); identity i of
//! interface f(i). The program counts the identities of a cell only as a
//! whole; here they are shared out among its classes: w[c,i] ends of c have
//! identity i, so that Σ_i w[c,i] = N_c and Σ over the classes of a cell
//! w[c,i] = Σ plugs of the cell with identity i. The sharing is exact: the ends of a cell can
//! use the same parts on the same gauge, so whichever of them has a set, the
//! total, the variants and the surplus are the same; a cell has as many sets
//! with identity i as plugs with identity i; and the keying rule is stated
//! for the classes themselves. So every plan gives such numbers, and such
//! numbers give a plan.

use super::cells::nets_by_location;
use super::problem::Problem;
use super::program::Built;
use super::rows::Terms;
use super::solution::Set;
use crate::fit::Fit;
use crate::input::Input;
use crate::solve::{Program, VarId};
use std::collections::BTreeMap;

/// The keys of nets as variables and rows: beside a program by [`NetKeys::add`],
/// or a program by themselves in [`least_thinkable`].
pub(super) struct NetKeys {
    /// For each class, how many of its ends have which identity.
    shares: Vec<BTreeMap<usize, VarId>>,
    /// Keys that nets have beyond one of each interface.
    pub extra: Terms,
}

/// The program of the keys alone, whatever the sets cost: no plan has fewer extra
/// keys than its least objective.
pub(super) fn least_thinkable(input: &Input, fit: &Fit) -> Program {
    let mut program = Program::default();
    let keys = NetKeys::alone(&mut program, input, fit);
    for (var, cost) in keys.extra {
        program.vars[var.0].cost = cost;
    }
    program
}

impl NetKeys {
    /// Adds the keys to a program with the variables of `built`.
    pub fn add(
        program: &mut Program,
        input: &Input,
        fit: &Fit,
        problem: &Problem,
        built: &Built,
    ) -> NetKeys {
        let keys = NetKeys::alone(program, input, fit);
        let cell_of: BTreeMap<usize, usize> = (problem.cells.iter().enumerate())
            .flat_map(|(k, cell)| cell.ends.iter().map(move |&end| (end, k)))
            .collect();
        let mut rows: BTreeMap<(usize, usize), Terms> = BTreeMap::new();
        for (class, shares) in fit.classes.iter().zip(&keys.shares) {
            let cell = class.ends.first().and_then(|end| cell_of.get(end));
            for (&identity, &w) in shares {
                let row = cell.map(|&k| rows.entry((k, identity)).or_default());
                row.into_iter().for_each(|row| row.push((w, 1.0)));
            }
        }
        for (k, (cell, vars)) in problem.cells.iter().zip(&built.cells).enumerate() {
            for (plug, &x) in cell.plugs.iter().zip(&vars.plugs) {
                let row = rows.entry((k, plug.identity)).or_default();
                row.push((x, -1.0));
            }
        }
        for row in rows.into_values() {
            program.equal(row, 0.0);
        }
        keys
    }

    fn alone(program: &mut Program, input: &Input, fit: &Fit) -> NetKeys {
        let shares = add_shares(program, fit);
        let extra = add_extra(program, fit, &shares);
        let keys = NetKeys { shares, extra };
        keys.add_keying(program, input, fit);
        keys
    }

    /// At a keyed location an identity goes to one net: Σ nets z ≤ 1, where a
    /// net with one end has z = w, and else w ≤ N_c z.
    fn add_keying(&self, program: &mut Program, input: &Input, fit: &Fit) {
        for nets in nets_by_location(input, &fit.classes) {
            let mut rows: BTreeMap<usize, Terms> = BTreeMap::new();
            for classes in nets {
                let mut has: BTreeMap<usize, VarId> = BTreeMap::new();
                let is_one = classes.len() == 1 && fit.classes[classes[0]].ends.len() == 1;
                for c in classes {
                    for (&identity, &w) in &self.shares[c] {
                        if is_one {
                            has.insert(identity, w);
                            continue;
                        }
                        let z = *(has.entry(identity)).or_insert_with(|| program.binary(0.0));
                        let ends = fit.classes[c].ends.len() as f64;
                        program.at_most(vec![(w, 1.0), (z, -ends)], 0.0);
                    }
                }
                for (identity, z) in has {
                    rows.entry(identity).or_default().push((z, 1.0));
                }
            }
            for row in rows.into_values().filter(|row| row.len() > 1) {
                program.at_most(row, 1.0);
            }
        }
    }

    /// The sets of a solution dealt out anew within each cell, so that each
    /// class has the identities that the values say.
    pub fn dealt(&self, fit: &Fit, problem: &Problem, dealt: &[Set], values: &[f64]) -> Vec<Set> {
        let mut result = dealt.to_vec();
        let mut class_of = vec![0; fit.ends.len()];
        for (c, class) in fit.classes.iter().enumerate() {
            class.ends.iter().for_each(|&end| class_of[end] = c);
        }
        for cell in &problem.cells {
            let mut left: BTreeMap<usize, Vec<&Set>> = BTreeMap::new();
            for set in cell.ends.iter().rev().map(|&end| &dealt[end]) {
                let identity = cell.plugs.iter().find(|body| body.id == set.plug);
                let identity = identity.map_or(0, |body| body.identity);
                left.entry(identity).or_default().push(set);
            }
            let mut owed: BTreeMap<(usize, usize), usize> = BTreeMap::new();
            for &end in &cell.ends {
                let c = class_of[end];
                for (&identity, w) in &self.shares[c] {
                    let count = values.get(w.0).map_or(0.0, |v| v.round());
                    owed.entry((c, identity)).or_insert(count as usize);
                }
            }
            for &end in &cell.ends {
                let next =
                    (owed.iter_mut()).find(|((c, _), count)| *c == class_of[end] && **count > 0);
                let Some(((_, identity), count)) = next else {
                    return dealt.to_vec();
                };
                *count -= 1;
                let Some(set) = left.get_mut(identity).and_then(Vec::pop) else {
                    return dealt.to_vec();
                };
                result[end] = set.clone();
            }
        }
        result
    }
}

/// w[c,i] with Σ_i w[c,i] = N_c.
fn add_shares(program: &mut Program, fit: &Fit) -> Vec<BTreeMap<usize, VarId>> {
    let of_class = |class: &crate::fit::Class| {
        let ends = class.ends.len() as f64;
        let mut shares: BTreeMap<usize, VarId> = BTreeMap::new();
        for plug in &class.plugs {
            (shares.entry(plug.identity)).or_insert_with(|| program.integer(0.0, ends, 0.0));
        }
        program.equal(shares.values().map(|&w| (w, 1.0)).collect(), ends);
        shares
    };
    fit.classes.iter().map(of_class).collect()
}

/// e[n,f] ≥ Σ over the identities of f u[n,i] − 1, where u[n,i] = 1 if net n has
/// identity i anywhere: w[c,i] ≤ N_c u[n(c),i]. The least e counts exactly.
fn add_extra(program: &mut Program, fit: &Fit, shares: &[BTreeMap<usize, VarId>]) -> Terms {
    let mut uses: BTreeMap<(usize, &str, &str), BTreeMap<usize, Terms>> = BTreeMap::new();
    for (class, shares) in fit.classes.iter().zip(shares) {
        for (&identity, &w) in shares {
            let interface = fit.identities[identity].interface.as_str();
            let of_net = uses
                .entry((class.machine, &class.net, interface))
                .or_default();
            let ends = class.ends.len() as f64;
            of_net.entry(identity).or_default().push((w, ends));
        }
    }
    let mut extra = Terms::new();
    for keys in uses.into_values().filter(|keys| keys.len() > 1) {
        let e = program.continuous(0.0, (keys.len() - 1) as f64, 0.0);
        let mut row = vec![(e, -1.0)];
        for shares in keys.into_values() {
            let u = program.binary(0.0);
            row.push((u, 1.0));
            for (w, ends) in shares {
                program.at_most(vec![(w, 1.0), (u, -ends)], 0.0);
            }
        }
        program.at_most(row, 1.0);
        extra.push((e, 1.0));
    }
    extra
}
