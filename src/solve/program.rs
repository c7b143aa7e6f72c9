//! A mixed integer program as a value.

/// A variable by its place in [`Program::vars`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct VarId(pub usize);

/// A variable. Bounds are finite, so that "unbounded or infeasible" can only
/// mean infeasible.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Var {
    /// Least value.
    pub lo: f64,
    /// Largest value.
    pub up: f64,
    /// True if only whole numbers are allowed.
    pub integer: bool,
    /// Coefficient in the objective.
    pub cost: f64,
}

/// A linear row, `lo ≤ Σ coefficient × variable ≤ up`; either side may be infinite.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Coefficients. A variable may stand here more than once: its coefficients add up.
    pub terms: Vec<(VarId, f64)>,
    /// Least value.
    pub lo: f64,
    /// Largest value.
    pub up: f64,
}

/// A mixed integer program: the objective is made least.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Program {
    /// Variables.
    pub vars: Vec<Var>,
    /// Rows.
    pub rows: Vec<Row>,
}

impl Program {
    /// Adds a continuous variable.
    pub fn continuous(&mut self, lo: f64, up: f64, cost: f64) -> VarId {
        self.var(Var {
            lo,
            up,
            integer: false,
            cost,
        })
    }

    /// Adds a whole-number variable.
    pub fn integer(&mut self, lo: f64, up: f64, cost: f64) -> VarId {
        self.var(Var {
            lo,
            up,
            integer: true,
            cost,
        })
    }

    /// Adds a variable that is 0 or 1.
    pub fn binary(&mut self, cost: f64) -> VarId {
        self.integer(0.0, 1.0, cost)
    }

    fn var(&mut self, var: Var) -> VarId {
        self.vars.push(var);
        VarId(self.vars.len() - 1)
    }

    /// Adds `Σ terms ≤ up`.
    pub fn at_most(&mut self, terms: Vec<(VarId, f64)>, up: f64) {
        self.rows.push(Row {
            terms,
            lo: f64::NEG_INFINITY,
            up,
        });
    }

    /// Adds `Σ terms ≥ lo`.
    pub fn at_least(&mut self, terms: Vec<(VarId, f64)>, lo: f64) {
        self.rows.push(Row {
            terms,
            lo,
            up: f64::INFINITY,
        });
    }

    /// Adds `Σ terms = value`.
    pub fn equal(&mut self, terms: Vec<(VarId, f64)>, value: f64) {
        self.rows.push(Row {
            terms,
            lo: value,
            up: value,
        });
    }

    /// The objective at these values.
    pub fn objective(&self, values: &[f64]) -> f64 {
        self.vars.iter().zip(values).map(|(v, x)| v.cost * x).sum()
    }
}
