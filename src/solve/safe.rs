//! Bounds of linear relaxations that hold whatever the solver did.
//!
//! For any row duals y the objective of every point that holds rows and bounds
//! is at least Σ_r (y_r > 0 ? y_r lo_r : y_r up_r) + Σ_j min(d_j lo_j, d_j up_j)
//! with d = c − Aᵀy: Neumaier and Shcherbina, "Safe bounds in linear and
//! mixed-integer linear programming", Mathematical Programming 99, 2004. All
//! variables are bounded, so the bound is finite. Every sum here is rounded
//! towards the safe side, so the result is a bound in exact numbers too. Only how
//! near the bound comes to the optimum depends on the duals.

use super::program::{Row, Var};

/// A bound with what each variable's reduced cost is known to be.
#[derive(Debug, Clone, PartialEq)]
pub struct Safe {
    /// No point that holds rows and bounds has an objective below this.
    pub bound: f64,
    /// For each variable, the least and the largest that its reduced cost is.
    reduced: Vec<(f64, f64)>,
}

impl Safe {
    /// The bound that these duals give, one for each row. Duals that are no
    /// numbers, or stand for a side that a row does not have, count as zero.
    pub fn new(vars: &[Var], rows: &[Row], duals: &[f64]) -> Safe {
        let mut reduced: Vec<(f64, f64)> = vars.iter().map(|v| (v.cost, v.cost)).collect();
        let mut bound = 0.0;
        for (row, &dual) in rows.iter().zip(duals) {
            let side = if dual > 0.0 { row.lo } else { row.up };
            if dual == 0.0 || !dual.is_finite() || !side.is_finite() {
                continue;
            }
            bound = down(bound + down(dual * side));
            for &(var, factor) in &row.terms {
                let part = dual * factor;
                let (least, most) = &mut reduced[var.0];
                *least = down(*least - up(part));
                *most = up(*most - down(part));
            }
        }
        for (var, &reduced) in vars.iter().zip(&reduced) {
            bound = down(bound + least(reduced, (var.lo, var.up)));
        }
        let bound = if bound.is_nan() {
            f64::NEG_INFINITY
        } else {
            bound
        };
        Safe { bound, reduced }
    }

    /// How far a whole variable can go from the bound at which it is cheapest,
    /// while the objective stays at most `cutoff`: its bounds then.
    pub fn tightened(&self, place: usize, var: &Var, cutoff: f64) -> (f64, f64) {
        let (least, most) = self.reduced[place];
        let room = up(cutoff - self.bound);
        // Slightly more than the quotient: rounding must not take a value away.
        let steps = |cost: f64| (up(room / cost) + 1e-9).floor().max(0.0);
        match () {
            () if !room.is_finite() => (var.lo, var.up),
            () if least > 0.0 => (var.lo, var.up.min(var.lo + steps(least))),
            () if most < 0.0 => (var.lo.max(var.up - steps(-most)), var.up),
            () => (var.lo, var.up),
        }
    }
}

/// The least of a product of a cost and a value that lie in these ranges.
fn least((least, most): (f64, f64), (lo, up): (f64, f64)) -> f64 {
    let corners = [least * lo, least * up, most * lo, most * up];
    down(corners.into_iter().fold(f64::INFINITY, f64::min))
}

/// Below the exact result of one operation that was rounded to nearest.
fn down(x: f64) -> f64 {
    x.next_down()
}

/// Above the exact result of such an operation.
fn up(x: f64) -> f64 {
    x.next_up()
}
