//! What is asked of an open project: what fits, the cheapest plan, why there is
//! none, and the studies.

use super::open::Desk;
use super::paper::Paper;
use crate::catalog::PartId;
use crate::fit::{self, Fit};
use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::model::Question;
use crate::plan::{Plan, Status};
use crate::solve::mps;
use crate::study::answer::{self, Reply};
use crate::study::breakeven::{Breakeven, breakeven};
use crate::study::budget::{
    Against, Apart, Breakdown, Rise, Rising, Savings, against, apart, breakdown, rise, savings,
};
use crate::study::conflict;
use crate::study::failure::{Blocked, Failure};
use crate::study::frontier::{By, Frontier, frontier};
use crate::study::recall::{Recalled, Trust};
use std::path::PathBuf;
use std::time::Duration;

/// How long to look for what stands in the way, where the limit has no length.
pub const EXPLAIN: Duration = Duration::from_secs(60);

/// How exact a record has to be to stand in place of a new plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Exact {
    /// Proven by two witnesses.
    Proven,
    /// Proven to be within so many percent of the cheapest.
    Within(f64),
}

/// What a plan comes to, and what can be saved.
#[derive(Debug, Clone)]
pub struct Budget {
    /// The plan.
    pub plan: Plan,
    /// The total held against what may be spent, where the project says what may be spent.
    pub against: Option<Against>,
    /// The total by circuit, kind, supplier and gauge.
    pub breakdown: Breakdown,
    /// What giving something up saves, where the total is over the limit.
    pub savings: Option<Savings>,
    /// What rising prices would cost, where that is asked.
    pub rising: Option<Rising>,
    /// What the machines would cost bought one by one, where that is asked.
    pub apart: Option<Apart>,
}

/// What is asked of a budget beside the plan and its shares.
#[derive(Debug, Clone, Copy, Default)]
pub struct AskedOfBudget {
    /// Which prices rise.
    pub rise: Option<Rise>,
    /// What the machines of a purchase would cost bought one by one.
    pub apart: bool,
}

impl Desk {
    /// Everything that fits.
    ///
    /// # Errors
    /// [`Failure::Input`] if the project has errors, [`Failure::NoSet`] if an end has no set.
    pub fn fit(&self) -> Result<&Fit, Failure> {
        let input = self.sound()?;
        let fit = self.fit.get_or_init(|| fit::fit(input).map(Into::into));
        fit.as_deref().map_err(|none| none.clone().into())
    }

    /// The cheapest plan, searched for from what is still there of a record.
    ///
    /// # Errors
    /// Any [`Failure`]; [`Failure::Limits`] says what stands in the way.
    pub fn plan(&self, before: Option<&Plan>, limit: &Limit) -> Result<Plan, Failure> {
        let recalled = Recalled::new(self.sound()?, self.fit()?, before);
        self.planned(&recalled, limit)
    }

    /// The cheapest plan, searched for from what was recalled of a record.
    pub(super) fn planned(&self, recalled: &Recalled, limit: &Limit) -> Result<Plan, Failure> {
        match self.searched(self.fit()?, recalled, limit)? {
            Reply::Found(answer) => Ok(answer.plan),
            Reply::Infeasible => Err(self.explained(limit)),
            Reply::Unknown if limit.stop.is_asked() => Err(Failure::Stopped),
            Reply::Unknown => Err(Failure::OutOfTime),
        }
    }

    /// A search for the cheapest plan of what fits.
    pub(super) fn searched(
        &self,
        fit: &Fit,
        recalled: &Recalled,
        limit: &Limit,
    ) -> Result<Reply, Failure> {
        let question = Question {
            solver: self.solver.clone(),
            ..Question::default()
        };
        let limit = limit.again().doing(Doing::Planning);
        limit.tell(|_| {});
        answer::planned(self.sound()?, fit, &question, recalled, &limit)
    }

    /// What of a project without a plan cannot hold together.
    pub fn explained(&self, limit: &Limit) -> Failure {
        let input = match self.sound() {
            Ok(input) => input,
            Err(failure) => return failure,
        };
        let maker = |input: &Input| fit::fit(input).ok();
        match conflict::find(input, &maker, &to_explain(limit)) {
            Ok(Some(conflict)) => Failure::Limits(Some(Box::new(Blocked {
                input: input.clone(),
                conflict,
            }))),
            Ok(None) => Failure::Limits(None),
            Err(failure) => failure,
        }
    }

    /// The record, where it answers the same question: made from the same files as of
    /// the same day, at least as exact as is asked for, and right by its audit. The
    /// time and the threads that the record took do not matter.
    pub fn standing(&self, asked: Exact) -> Option<&Plan> {
        let plan = &self.on_record().ok()?.plan;
        let is_exact = match (plan.status, asked) {
            // What one run has proven is put to another, unless a gap would do.
            (Status::Optimal, Exact::Within(_)) => true,
            (Status::Optimal, Exact::Proven) => plan.witnesses() > 1,
            (Status::WithinGap, Exact::Within(percent)) => {
                let asked = rust_decimal::prelude::FromPrimitive::from_f64(percent);
                asked.is_some_and(|asked| plan.gap_percent <= asked)
            }
            _ => false,
        };
        let is_right = || {
            crate::audit::audit(self.input()?, plan)
                .is_empty()
                .then_some(())
        };
        is_exact.then(is_right).flatten()?;
        Some(plan)
    }

    /// What fewer variants, suppliers or crimp dies cost.
    ///
    /// # Errors
    /// Any [`Failure`].
    pub fn frontier(&self, by: By, limit: &Limit) -> Result<Frontier, Failure> {
        self.study(limit, |input, record, limit| {
            frontier(input, by, limit, record)
        })
    }

    /// The plan of a frontier for at most `most`, and how many the plan uses. Where
    /// the cheapest plan uses no more than `most`, that is the plan.
    ///
    /// # Errors
    /// [`Failure::TooFew`] where there is no such plan; [`Failure::OutOfTime`] where
    /// no such plan was found in time.
    pub fn with_at_most(&self, of: &Frontier, most: u32) -> Result<(Plan, u32), Failure> {
        if most < of.least {
            let noun = of.by.word();
            let most = match most {
                1 => format!("1 {noun}"),
                most => format!("{most} {noun}s"),
            };
            return Err(Failure::TooFew(format!(
                "no compatible set with at most {most}: the least is {}",
                of.least,
            )));
        }
        // The points go from the largest down: the first that is allowed is the plan.
        let point = of.points.iter().find(|p| p.at_most <= most);
        let point = point.ok_or(Failure::OutOfTime)?;
        let plan = answer::audited(self.sound()?, of.kept(point)?)?;
        Ok((plan, point.uses))
    }

    /// How far the price of each part, or of one part, can move before another plan is
    /// cheapest.
    ///
    /// # Errors
    /// Any [`Failure`].
    pub fn breakeven(&self, part: Option<PartId>, limit: &Limit) -> Result<Breakeven, Failure> {
        self.study(limit, |input, record, limit| {
            breakeven(input, part, limit, record)
        })
    }

    /// What the plan comes to, and what can be saved.
    ///
    /// # Errors
    /// Any [`Failure`].
    pub fn budget(&self, asked: AskedOfBudget, limit: &Limit) -> Result<Budget, Failure> {
        let fit = self.fit()?;
        if asked.apart && self.sound()?.machines.is_empty() {
            return Err(Failure::usage(
                "a project is one machine, so there is nothing to buy apart",
                "name a folder with purchase.toml",
            ));
        }
        self.study(limit, |input, record, limit| {
            let now = answer::on_record(input, fit, limit, record, Trust::Any)?;
            let against = against(&input.settings, &now.plan);
            let is_over = against.is_some_and(|against| against.is_over());
            let savings = is_over.then(|| savings(input, &now, limit)).transpose()?;
            let rising = asked.rise.map(|wanted| rise(input, &now, wanted, limit));
            let apart = asked.apart.then(|| apart(input, &now, limit)).transpose()?;
            Ok(Budget {
                against,
                breakdown: breakdown(input, &now.plan),
                savings,
                rising: rising.transpose()?,
                apart,
                plan: now.plan,
            })
        })
    }

    /// A study of the project as it is now, from the record that there is.
    fn study<R>(
        &self,
        limit: &Limit,
        study: impl FnOnce(&Input, Option<&Plan>, &Limit) -> Result<R, Failure>,
    ) -> Result<R, Failure> {
        let input = self.sound()?;
        let record = self.kept()?.plan();
        match study(input, record, &limit.doing(Doing::Studying)) {
            Err(Failure::Limits(None)) => Err(self.explained(limit)),
            found => found,
        }
    }

    /// How many answers of the solver were found wrong and thrown away.
    pub fn doubts(&self) -> usize {
        self.solver.doubts.count()
    }

    /// Writes the programs that the solver answered wrongly beside the project, for
    /// a report; gives the files that could be written.
    pub fn keep_doubts(&mut self) -> Vec<PathBuf> {
        let mut kept = Vec::new();
        for (place, doubt) in self.solver.doubts.list().iter().enumerate() {
            if doubt.program.vars.is_empty() {
                continue;
            }
            let path = self.path(&format!(".couplet/wrong-answer-{}.mps", place + 1));
            let text = format!("* {}\n{}", doubt.why, mps(&doubt.program));
            if self.asked.files.write_below(&path, text).is_ok() {
                kept.push(path);
            }
        }
        kept
    }
}

impl Paper<'_> {
    /// What fewer variants than those of the plan would cost; none where nothing
    /// was found in time, or files have changed since the plan was made.
    ///
    /// # Errors
    /// Any [`Failure`] but [`Failure::OutOfTime`].
    pub fn frontier(&self, limit: &Limit) -> Result<Option<Frontier>, Failure> {
        if !self.is_same || self.plan.ends.is_empty() {
            return Ok(None);
        }
        let limit = limit.doing(Doing::Studying);
        match frontier(self.input, By::Variants, &limit, Some(self.plan)) {
            Ok(found) => Ok(Some(found)),
            Err(Failure::OutOfTime) => Ok(None),
            Err(failure) => Err(failure),
        }
    }
}

/// The limit for a search for what stands in the way: as long as the limit given.
pub(super) fn to_explain(limit: &Limit) -> Limit {
    match limit.length() {
        Some(_) => limit.again(),
        None => limit.again().within(EXPLAIN),
    }
}
