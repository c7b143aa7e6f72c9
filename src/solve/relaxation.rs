//! The linear relaxation of a program, solved again and again with other
//! bounds, each time from where it stood.

use super::answer::SolveError;
use super::callback::{self, Ear};
use super::program::{Program, Row, Var, VarId};
use super::safe::Safe;
use crate::limit::Limit;
use ::highs::{Col, HighsModelStatus, Model, RowProblem, Sense, SolvedModel};

/// What the relaxation comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Relaxed {
    /// No point has an objective below this, whatever the solver did; near the
    /// least objective where the solver did well.
    Value(f64),
    /// No point has an objective of the cutoff or less, whatever the solver did.
    Above,
    /// Nothing holds the rows: this is the solver's word alone.
    Infeasible,
    /// Nothing is known.
    Unknown,
}

/// A linear program that keeps its basis between solves.
pub struct Relaxation {
    model: Option<Model>,
    solved: Option<SolvedModel>,
    cols: Vec<Col>,
    vars: Vec<Var>,
    rows: Vec<Row>,
    safe: Option<Safe>,
    end: End,
}

/// Ends a relaxation in its midst.
struct End(Limit);

impl Ear for End {
    fn is_enough(&self) -> bool {
        self.0.is_over()
    }
}

impl Relaxation {
    /// The relaxation of a program. Once the limit is over, each solve ends soon,
    /// and nothing is known of what it did not come to.
    ///
    /// # Errors
    /// [`SolveError`] if HiGHS refuses the program.
    pub fn new(program: &Program, limit: &Limit) -> Result<Relaxation, SolveError> {
        let mut problem = RowProblem::default();
        let cols: Vec<Col> = (program.vars.iter())
            .map(|v| problem.add_column(v.cost, v.lo..=v.up))
            .collect();
        for row in &program.rows {
            let terms = row.terms.iter().map(|&(v, c)| (cols[v.0], c));
            problem.add_row(row.lo..=row.up, merged(terms));
        }
        let mut model = (problem.try_optimise(Sense::Minimise))
            .map_err(|e| SolveError::new(format!("{e:?}")))?;
        model.make_quiet();
        for (option, value) in [
            ("presolve", "off"),
            ("solver", "simplex"),
            ("parallel", "off"),
        ] {
            (model.try_set_option(option, value))
                .map_err(|e| SolveError::new(format!("{option}: {e:?}")))?;
        }
        Ok(Relaxation {
            model: Some(model),
            solved: None,
            cols,
            vars: program.vars.clone(),
            rows: program.rows.clone(),
            safe: None,
            end: End(limit.clone()),
        })
    }

    /// Sets the bounds of a variable.
    pub fn bound(&mut self, var: VarId, lo: f64, up: f64) {
        let col = self.cols[var.0];
        if let Some(model) = self.model() {
            model.change_column_bounds(col, lo..=up);
        }
        (self.vars[var.0].lo, self.vars[var.0].up) = (lo, up);
    }

    /// Adds a row.
    ///
    /// # Errors
    /// [`SolveError`] if HiGHS refuses the row.
    pub fn add(&mut self, row: &Row) -> Result<(), SolveError> {
        let terms = merged(row.terms.iter().map(|&(v, c)| (self.cols[v.0], c)));
        if let Some(model) = self.model() {
            (model.try_add_row(row.lo..=row.up, terms))
                .map_err(|e| SolveError::new(format!("{e:?}")))?;
        }
        self.rows.push(row.clone());
        Ok(())
    }

    /// The bounds of a variable.
    pub fn bounds(&self, var: VarId) -> (f64, f64) {
        (self.vars[var.0].lo, self.vars[var.0].up)
    }

    /// Solves the relaxation, and stops once the objective is sure to be above `cutoff`.
    ///
    /// # Errors
    /// [`SolveError`] if HiGHS refuses the cutoff.
    pub fn solve(&mut self, cutoff: f64) -> Result<Relaxed, SolveError> {
        self.model();
        let Some(mut model) = self.model.take() else {
            return Ok(Relaxed::Unknown);
        };
        (model.try_set_option("objective_bound", cutoff))
            .map_err(|e| SolveError::new(format!("{e:?}")))?;
        let Ok(solved) = callback::solve(model, &self.end) else {
            return Ok(Relaxed::Unknown);
        };
        let solution = solved.get_solution();
        let safe = Safe::new(&self.vars, &self.rows, solution.dual_rows());
        let answer = match solved.status() {
            _ if safe.bound > cutoff => Relaxed::Above,
            HighsModelStatus::Optimal => Relaxed::Value(safe.bound),
            HighsModelStatus::Infeasible | HighsModelStatus::UnboundedOrInfeasible => {
                Relaxed::Infeasible
            }
            _ => Relaxed::Unknown,
        };
        self.safe = Some(safe);
        self.solved = Some(solved);
        Ok(answer)
    }

    /// The model, open for changes; none after the solver broke off.
    fn model(&mut self) -> Option<&mut Model> {
        if let Some(solved) = self.solved.take() {
            self.model = Some(Model::from(solved));
        }
        self.model.as_mut()
    }

    /// The bound that the duals of the last solve give.
    pub fn safe(&self) -> Option<&Safe> {
        self.safe.as_ref()
    }

    /// Values and reduced costs of the last solve.
    pub fn values(&self) -> Option<(Vec<f64>, Vec<f64>)> {
        let solution = self.solved.as_ref()?.get_solution();
        Some((
            solution.columns().to_vec(),
            solution.dual_columns().to_vec(),
        ))
    }
}

/// Terms with each column once.
fn merged(terms: impl Iterator<Item = (Col, f64)>) -> Vec<(Col, f64)> {
    let mut list: Vec<(Col, f64)> = terms.collect();
    list.sort_by_key(|t| t.0.index());
    list.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        if same {
            kept.1 += next.1;
        }
        same
    });
    list
}
