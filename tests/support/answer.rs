//! A plan of the reference in the program's own types.

use super::brute::{Best, Set};
use couplet::catalog::{Fitting, Half, Kind, PartId};
use couplet::input::Input;
use couplet::model::{self, Fitted, Solution};

/// The sets and purchases of a plan, as the program would have found them.
pub fn solution(input: &Input, best: &Best) -> Solution {
    let mut purchases: Vec<_> = best
        .lines
        .iter()
        .map(|&(id, qty)| (id, qty / input.catalog.offer(id).pack))
        .collect();
    purchases.sort();
    Solution {
        sets: best.sets.iter().map(|set| one(input, set)).collect(),
        purchases,
    }
}

/// Receptacle, if any, and plug stand first, then the receptacle's fittings.
fn one(input: &Input, set: &Set) -> model::Set {
    let below = set.receptacle.map_or(0, |part| fittings_on(input, part));
    let bodies = set.receptacle.iter().count() + 1;
    let fitted = set
        .uses
        .iter()
        .skip(bodies)
        .enumerate()
        .map(|(n, used)| Fitted {
            half: if n < below {
                Half::Receptacle
            } else {
                Half::Plug
            },
            fitting: match input.catalog.part(used.part).kind() {
                Kind::Ferrule => Fitting::Ferrule,
                Kind::Seal => Fitting::Seal,
                Kind::BackShell => Fitting::BackShell,
                Kind::Plug | Kind::Receptacle => panic!("a body among the fittings"),
            },
            part: used.part,
            qty: used.qty,
        });
    model::Set {
        receptacle: set.receptacle,
        plug: set.plug,
        fittings: fitted.collect(),
    }
}

/// How many kinds of fitting a body needs.
fn fittings_on(input: &Input, body: PartId) -> usize {
    let body = input.catalog.part(body).body().expect("a body");
    let kinds = [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell];
    let needed = |&kind: &Fitting| body.is_crimped() && body.needs(kind).is_some();
    kinds.into_iter().filter(needed).count()
}
