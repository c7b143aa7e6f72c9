//! Whether an edited project has a plan: by arithmetic, else by the search; a
//! plan that is found is recorded and audited.

use super::arithmetic::shortages;
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::model::Question;
use crate::plan::Plan;
use crate::study::answer::{self, Reply};
use crate::study::failure::Failure;
use crate::study::recall::Recalled;

/// What fits an edited project; none where some end has no set.
pub type Maker<'a> = &'a dyn Fn(&Input) -> Option<Fit>;

/// Whether there is a plan.
pub(super) enum Trial {
    /// There is a plan: this audited one.
    Feasible(Box<Plan>),
    /// It is proven that there is no plan.
    Infeasible,
    /// The time ran out.
    Unknown,
}

/// Trials with one way to fit.
pub(super) struct Trials<'t> {
    pub(super) maker: Maker<'t>,
    /// No trial begins after this limit. It says what trials are for, and who hears of them.
    pub(super) limit: Limit,
}

impl Trials<'_> {
    pub(super) fn fit(&self, input: &Input) -> Option<Fit> {
        (self.maker)(input)
    }

    /// Tries a project. Any plan will do: the search stops at the first.
    pub(super) fn run(&self, input: &Input) -> Result<Trial, Failure> {
        self.limit.one_solved();
        if self.limit.is_over() {
            return Ok(Trial::Unknown);
        }
        let Some(fit) = (self.maker)(input) else {
            return Ok(Trial::Infeasible);
        };
        if !shortages(input, &fit).is_empty() {
            return Ok(Trial::Infeasible);
        }
        let question = Question {
            ties: false,
            ..Question::default()
        };
        let limit = self.limit.with_gap(100.0);
        let recalled = Recalled::default();
        Ok(
            match answer::planned(input, &fit, &question, &recalled, &limit)? {
                Reply::Infeasible => Trial::Infeasible,
                Reply::Unknown => Trial::Unknown,
                Reply::Found(answer) => Trial::Feasible(Box::new(answer.plan)),
            },
        )
    }
}
