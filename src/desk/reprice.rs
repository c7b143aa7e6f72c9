//! A record at other prices: what the prices change, and what is kept of the plan.

use super::open::Desk;
use super::record::Made;
use crate::catalog::Catalog;
use crate::fit::Fit;
use crate::limit::Limit;
use crate::model::Solution;
use crate::plan::Plan;
use crate::study::answer::Reply;
use crate::study::changes::{self, changes};
use crate::study::failure::Failure;
use crate::study::offers::Several;
use crate::study::open::open_orders;
use crate::study::recall::{Lost, Recalled, Trust};
use crate::study::reprice::{self, Keep, Options, Repriced};
use crate::study::shifts::{Shift, shifts};
use crate::units::Currency;

/// A record beside the project with other prices.
#[derive(Debug)]
pub struct Repricing<'d> {
    desk: &'d Desk,
    old: &'d Plan,
    made: Made,
}

/// What other prices change.
#[derive(Debug)]
pub struct Outcome {
    /// The figures.
    pub repriced: Repriced,
    /// The plan that is kept.
    pub plan: Plan,
    /// Why there is no plan made anew, where what is kept of the old plan stands in
    /// its place.
    pub ended: Option<Failure>,
}

impl Desk {
    /// The record, held against the project as it was when the plan was made, beside
    /// the project as it is now.
    ///
    /// # Errors
    /// [`Failure`] if the record or a project can't be read, or the record does not hold.
    pub fn repricing(&self) -> Result<Repricing<'_>, Failure> {
        let (old, _) = self.record_and_now()?;
        let made = self.as_made()?;
        Ok(Repricing {
            desk: self,
            old,
            made,
        })
    }
}

impl Repricing<'_> {
    /// How far the record was checked.
    pub fn made(&self) -> &Made {
        &self.made
    }

    /// What became of the lines that are still to be bought. `new` is the new plan, if
    /// there is one.
    ///
    /// # Errors
    /// [`Failure::Input`] if the project has errors.
    pub fn shifts(&self, new: Option<&Plan>) -> Result<Vec<Shift>, Failure> {
        let input = self.desk.sound()?;
        let open = open_orders(input, self.old);
        Ok(shifts(input, self.catalog_then(), self.old, &open, new))
    }

    fn catalog_then(&self) -> Option<&Catalog> {
        self.made.was.as_ref().map(|was| &was.catalog)
    }

    /// Plans anew and carries the old plan over as far as that can be done. Keeps what
    /// `keep` says of the old plan, else what pays.
    ///
    /// # Errors
    /// Any [`Failure`]; [`Failure::NotKept`] where what `keep` says can't be kept.
    pub fn outcome(&self, keep: Option<Keep>, limit: &Limit) -> Result<Outcome, Failure> {
        let input = self.desk.sound()?;
        let open = open_orders(input, self.old);
        let several = Several::known(&input.catalog, self.catalog_then(), self.old);
        let (options, ended) = self.options(&several, limit)?;
        let totals = options.totals(self.old);
        let keep = keep.unwrap_or_else(|| totals.best(input.settings.worth_changing));
        let plan = options.plan(keep).map_err(|lost| not_kept(keep, &lost))?;
        let rate = |currency: &Currency| input.settings.rate(currency);
        let changes = changes((&open, self.old), (&plan.orders, plan));
        let changes = changes::at_rates(changes, rate);
        let repriced = Repriced {
            currency: self.old.currency.clone(),
            recorded: self.old.status,
            totals,
            effects: totals.effects(),
            keep,
            lines_lost: options.lines.as_ref().err().map(Lost::to_string),
            parts_lost: options.parts.as_ref().err().map(Lost::to_string),
            difference: changes::difference(&changes),
            changes,
            shifts: self.shifts(Some(plan))?,
            several,
        };
        Ok(Outcome {
            repriced,
            plan: plan.clone(),
            ended,
        })
    }

    /// The plan anew, and the old one kept as far as it can be; why there is none
    /// anew, where what is kept stands in its place.
    fn options(
        &self,
        several: &Several,
        limit: &Limit,
    ) -> Result<(Options, Option<Failure>), Failure> {
        let (input, fit) = (self.desk.sound()?, self.desk.fit()?);
        let recalled = Recalled::new(input, fit, Some(self.old));
        let anew = match recalled.trusted(Trust::Best) {
            // Nothing has changed since, so the record is the plan.
            Some(answer) => Ok(answer.plan.clone()),
            None => self.desk.planned(&recalled, limit),
        };
        let (anew, ended) = match anew {
            Ok(plan) => (Some(plan), None),
            Err(ended @ (Failure::OutOfTime | Failure::Stopped)) => (None, Some(ended)),
            Err(failure) => return Err(failure),
        };
        let buy = |own: &Fit| self.buy(own, limit);
        let options = reprice::options(input, fit, self.old, several, anew, buy)?;
        match (options, ended) {
            (Some(options), ended) => Ok((options, ended)),
            (None, ended) => Err(ended.unwrap_or(Failure::OutOfTime)),
        }
    }

    /// The cheapest purchases where every end has its set.
    fn buy(&self, own: &Fit, limit: &Limit) -> Result<Result<Solution, Lost>, Failure> {
        let lost = |why: &str| Ok(Err(Lost::NoPlan(why.to_owned())));
        // This search takes a moment, and does not make the plan of the project.
        let unheard = limit.told_to(|_| {});
        match self.desk.searched(own, &Recalled::default(), &unheard)? {
            Reply::Found(answer) => Ok(Ok(answer.solution)),
            Reply::Infeasible => {
                lost("the parts can all be had, but not within all limits together")
            }
            Reply::Unknown if limit.stop.is_asked() => {
                lost("stopped by Ctrl-C before the purchases were known")
            }
            Reply::Unknown => lost("the time ran out before the purchases were known"),
        }
    }
}

fn not_kept(keep: Keep, lost: &Lost) -> Failure {
    Failure::NotKept {
        message: format!("{} cannot be kept: {lost}", keep.what()),
        help: match keep {
            Keep::Lines => "keep less: --keep parts, or --keep nothing".to_owned(),
            _ => "keep less: --keep nothing".to_owned(),
        },
    }
}
