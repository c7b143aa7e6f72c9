//! From the relaxation towards whole numbers, as a guide for a search: it proves
//! nothing.
//!
//! The relaxation spreads what it needs over many parts and price breaks, each
//! used a little. Step by step what is used least is shut, and what is nearly
//! used in full is used in full, each time with all that follows from it.

use super::pool::Pooled;
use crate::limit::Limit;
use crate::solve::{Relaxation, Relaxed, SolveError, VarId};

/// One step, for all numbers of parts, breaks taken and dies at once.
#[derive(Debug, Clone, Copy)]
enum Step {
    /// A fraction below this is dropped.
    Drop(f64),
    /// A fraction from this on is filled up.
    Fill(f64),
}

/// Later steps rest on fewer fractions, so they may be bolder.
const STEPS: [Step; 4] = [
    Step::Drop(0.1),
    Step::Drop(0.3),
    Step::Fill(0.6),
    Step::Fill(0.5),
];

impl Pooled {
    /// Values of the relaxation after the steps, without steps that no solution is
    /// left after; `values` are those at its root.
    ///
    /// # Errors
    /// [`SolveError`] if the solver refuses the program.
    pub fn dive(&self, mut values: Vec<f64>, limit: &Limit) -> Result<Vec<f64>, SolveError> {
        let whole = self.whole();
        let mut relaxation = Relaxation::new(&self.program, limit)?;
        for step in STEPS {
            if limit.is_over() {
                break;
            }
            let mut undo = Vec::new();
            for &var in &whole {
                let (lo, up) = relaxation.bounds(var);
                let (least, most) = step.bounds(values[var.0], (lo, up));
                if (least, most) != (lo, up) {
                    undo.push((var, lo, up));
                    relaxation.bound(var, least, most);
                }
            }
            match relaxation.solve(f64::INFINITY)? {
                Relaxed::Value(_) => {
                    let Some((now, _)) = relaxation.values() else {
                        break;
                    };
                    values = now;
                }
                Relaxed::Infeasible => {
                    for (var, lo, up) in undo {
                        relaxation.bound(var, lo, up);
                    }
                }
                Relaxed::Above | Relaxed::Unknown => break,
            }
        }
        Ok(values)
    }

    /// How many parts of each bundle are used, how many are bought at each break,
    /// which dies are bought.
    fn whole(&self) -> Vec<VarId> {
        let of_bundles = self.bundles.iter().flat_map(|bundle| {
            let levels = bundle.levels.iter().map(|level| level.taken);
            std::iter::once(bundle.used).chain(levels)
        });
        of_bundles.chain(self.dies.iter().copied()).collect()
    }
}

impl Step {
    /// What a variable of this value may be from now on.
    fn bounds(self, value: f64, (lo, up): (f64, f64)) -> (f64, f64) {
        let whole = value.floor();
        let fraction = value - whole;
        match self {
            Step::Drop(least) if fraction < least && (lo..up).contains(&whole) => (lo, whole),
            Step::Fill(most) if fraction >= most && whole + 1.0 <= up => (whole + 1.0, up),
            Step::Drop(_) | Step::Fill(_) => (lo, up),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn small_fractions_are_dropped_and_large_ones_filled() {
        let drop = Step::Drop(0.3);
        assert_eq!(drop.bounds(0.29, (0.0, 1.0)), (0.0, 0.0));
        assert_eq!(drop.bounds(0.3, (0.0, 1.0)), (0.0, 1.0));
        assert_eq!(drop.bounds(2.1, (0.0, 4.0)), (0.0, 2.0));
        // What must be used stays.
        assert_eq!(drop.bounds(0.1, (1.0, 4.0)), (1.0, 4.0));
        let fill = Step::Fill(0.6);
        assert_eq!(fill.bounds(0.6, (0.0, 1.0)), (1.0, 1.0));
        assert_eq!(fill.bounds(0.59, (0.0, 1.0)), (0.0, 1.0));
        assert_eq!(fill.bounds(2.7, (0.0, 3.0)), (3.0, 3.0));
        assert_eq!(fill.bounds(3.0, (0.0, 3.0)), (0.0, 3.0));
    }
}
