//! The course of one solve: a plan, a bound, guidance, proof, ties.

mod close;
mod known;
mod wide;

use super::hunt::{GRACE, Hunt};
use super::pooled::{Facts, Grain, Kinds, Pooled, Rooted};
use super::probe::Trials;
use super::program::Built;
use super::search::Ground;
use super::sets::{Sets, float};
use super::tie::{Incumbent, Ties};
use super::{Given, Outcome, Question, Set, Solution, decode, order, probe, start, worth};
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::{Limit, Stop, apart};
use crate::solve::{Fault, Proved, SolveError, Solved, Task, confirm, near, none_below, prove};
use known::{Known, News};
use std::cell::Cell;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// With fewer nodes to choose for, the whole program is solved at once.
const FEW_NODES: usize = 40;

/// With fewer nodes nothing is tried beside the whole program.
const SOME_NODES: usize = 60;

/// From so many nodes on the search waits for the pooled program, and is guided
/// by more than its root.
const MANY_NODES: usize = 150;

/// Up to so many counts of ends the whole program is solved; beyond, only
/// after pooled program and search have come to their end.
const MANY_COUNTS: usize = 7_000;

/// One call of [`super::solve`].
#[derive(Clone)]
pub(super) struct Run<'a> {
    input: &'a Input,
    fit: &'a Fit,
    question: &'a Question,
    limit: Limit,
    /// How long it may take from its beginning.
    length: Option<Duration>,
    sets: Arc<Sets>,
    begun: Instant,
    /// Set once plan and bound of another way are as near as is asked for.
    met: Stop,
}

impl<'a> Run<'a> {
    /// Gathers what the program is made from.
    pub fn new(input: &'a Input, fit: &'a Fit, question: &'a Question, limit: &Limit) -> Run<'a> {
        let begun = Instant::now();
        Run {
            input,
            fit,
            question,
            limit: limit.clone(),
            length: limit.left(),
            sets: Arc::new(Sets::new(input, fit)),
            begun,
            met: limit.stop.below(),
        }
    }

    /// The whole course.
    pub fn go(&self) -> Result<Outcome, SolveError> {
        let mut report = |news| self.tell(news);
        let ground = Ground::new(&self.sets, self.fit);
        let mut hunt = Hunt::new(
            (self.input, self.fit),
            &self.sets,
            &ground,
            self.exact_task(),
        );
        let mut known = Known::new(&mut report);
        known.building = self.begun.elapsed();
        let steps = (ground.nodes.len() * 500).clamp(500, 20_000);
        let few = ground.nodes.len() < FEW_NODES;
        // A third of the time at the most, and less where there is little to do.
        let early = self.part(1.0 / 3.0);
        known.bound = self.question.bound.unwrap_or(known.bound);
        self.begin((&mut hunt, &mut known), (steps, &early))?;
        hunt.make_plan()?;
        known.tell(hunt.total(), f64::NEG_INFINITY);
        // Where there is much to choose, the prices of the pooled program are worth more.
        let unguided = match ground.nodes.len() {
            ..FEW_NODES => 4,
            FEW_NODES..MANY_NODES => 1,
            _ => 0,
        };
        hunt.rounds(unguided, steps, &early)?;
        known.tell(hunt.total(), f64::NEG_INFINITY);
        let mut pooled = None;
        if !few && !self.limit.is_over() {
            let settings = &self.input.settings;
            let it = known.build(|| Pooled::new(&self.sets, settings, self.fit, Grain::Kind));
            let sets = Arc::clone(&self.sets);
            let limit = self.part(0.6);
            let dives = ground.nodes.len() >= MANY_NODES;
            let rooted = self.apart(move || guided(it, (&sets, dives), &limit))?;
            match rooted.transpose()? {
                Some((it, Rooted::Infeasible, _)) => {
                    // The relaxation says so; what is proven takes two runs.
                    let proved = prove(
                        &it.program,
                        &self.task(),
                        (self.is_double(), None),
                        &mut |_| {},
                    )?;
                    if proved.solved == Solved::Infeasible && proved.witnesses > 1 {
                        return Ok(Outcome::Infeasible);
                    }
                }
                Some((_, Rooted::Above | Rooted::Unknown, _)) | None => {}
                Some((it, Rooted::Root(root), guide)) => {
                    known.tell(hunt.total(), root.bound);
                    hunt.guide(it.guide(&self.sets, &guide));
                    hunt.rounds(5, steps, &early)?;
                    known.tell(hunt.total(), root.bound);
                    pooled = Some(it);
                }
            }
        }
        let counts: usize = self.sets.cells.iter().map(|c| c.parts_used().count()).sum();
        match &pooled {
            Some(pooled) if counts > MANY_COUNTS => {
                self.widely(pooled, &mut hunt, &mut known)?;
            }
            Some(pooled) if ground.nodes.len() >= SOME_NODES && self.may_vary() => {
                return self.closely(pooled, hunt, known);
            }
            _ => {}
        }
        self.last((hunt, known), pooled.as_ref(), self.is_double())
    }

    /// From the plans that are given, as far as they are plans here.
    fn begin(
        &self,
        (hunt, known): (&mut Hunt, &mut Known),
        (steps, limit): (usize, &Limit),
    ) -> Result<(), SolveError> {
        let is_any = |given: &&Given| given.iter().any(Option::is_some);
        let mut starts = self.question.starts.iter().filter(is_any).peekable();
        while let Some(given) = starts.next() {
            hunt.adopt(given)?;
            // The search can't hold every plan; the whole program can.
            if let Some(sets) = given.iter().cloned().collect::<Option<Vec<Set>>>()
                && sets.len() == self.fit.ends.len()
                && !hunt.is_best(given)
            {
                let built = known.build(|| Built::new(&self.sets));
                let task = self.exact_task();
                let task = task.within(&task.limit.with_grace(GRACE));
                if let Some(start) = self.as_start_within(&built, &sets, &task)? {
                    hunt.offer(self.read(&built, start.values).solution);
                }
            }
            if starts.peek().is_some() {
                hunt.rounds(1, steps, limit)?;
            }
        }
        Ok(())
    }

    /// The whole program, if there is time left and need of it.
    ///
    /// The second witness runs at the same time where `beside`.
    fn last(
        &self,
        (hunt, mut known): (Hunt, Known),
        pooled: Option<&Pooled>,
        beside: bool,
    ) -> Result<Outcome, SolveError> {
        if self.limit.is_over() || self.is_near(hunt.total(), known.bound) {
            return self.better(Outcome::Unknown, hunt, (known.bound, pooled));
        }
        let built = known.build(|| Built::new(&self.sets));
        let start = match hunt.best() {
            Some(plan) => self.as_start(&built, &plan.sets)?,
            None => None,
        };
        match self.exactly(&built, start, (&mut known, beside))? {
            // There is a plan: the end came before it was a start.
            Outcome::Unknown | Outcome::Infeasible if hunt.best().is_some() => {
                self.better(Outcome::Unknown, hunt, (known.bound, pooled))
            }
            // Another way may have come to plan and bound meanwhile.
            open @ Outcome::Found { witnesses: 0, .. } => {
                self.better(open, hunt, (known.bound, pooled))
            }
            outcome => Ok(outcome),
        }
    }

    /// The cheaper of an outcome and a hunt's best plan; the higher of two bounds.
    /// Where plan and bound meet, nothing is cheaper by one run, and another is
    /// asked.
    fn better(
        &self,
        outcome: Outcome,
        hunt: Hunt,
        (reached, pooled): (f64, Option<&Pooled>),
    ) -> Result<Outcome, SolveError> {
        let total = |s: &Solution| float(worth(self.input, self.fit, s).total.0);
        let (known, bound) = match outcome {
            Outcome::Found {
                witnesses: 0,
                solution,
                bound,
            } => (Some(solution), bound),
            Outcome::Unknown => (None, 0.0),
            Outcome::Found { .. } | Outcome::Infeasible => return Ok(outcome),
        };
        let bound = bound.max(reached);
        let plans = known.into_iter().chain(hunt.take());
        let best = plans.min_by(|a, b| total(a).total_cmp(&total(b)));
        let Some(best) = best else {
            return Ok(Outcome::Unknown);
        };
        let least = total(&best);
        if bound < least - 1e-6 {
            return Ok(Outcome::Found {
                witnesses: 0,
                solution: self.in_order(best)?,
                bound,
            });
        }
        let second = self.second_opinion(&best, pooled)?;
        let (best, tied) = match self.limit.is_over() {
            true => (best, 2),
            false => self.first_of_equals(best)?,
        };
        Ok(match second {
            Some(witnesses) => Outcome::Found {
                witnesses: tied.min(1 + witnesses),
                solution: self.in_order(best)?,
                bound,
            },
            // Something is cheaper, so the bound was wrong.
            None => Outcome::Found {
                witnesses: 0,
                solution: self.in_order(best)?,
                bound: f64::NEG_INFINITY,
            },
        })
    }

    /// Whether nothing is cheaper by another way: 1 if that says so, 0 if it was
    /// not finished; none where something is cheaper. The pooled program is asked
    /// first, where there is one: it is the smaller one.
    fn second_opinion(
        &self,
        plan: &Solution,
        pooled: Option<&Pooled>,
    ) -> Result<Option<u8>, SolveError> {
        let least = float(worth(self.input, self.fit, plan).total.0);
        if let Some(pooled) = pooled
            && !self.limit.is_over()
        {
            if none_below(&pooled.program, least - 1e-6, &self.exact_task())? == Solved::Infeasible
            {
                return Ok(Some(1));
            }
        }
        let counts: usize = self.sets.cells.iter().map(|c| c.parts_used().count()).sum();
        if self.limit.is_over() || counts > MANY_COUNTS {
            return Ok(Some(0));
        }
        let built = Built::new(&self.sets);
        let start = self.as_start(&built, &plan.sets)?;
        let task = Task {
            start: start.map(|start| start.values),
            ..self.exact_task()
        };
        Ok(match confirm(&built.program, &task)?.solved {
            Solved::Optimal { objective, .. } if objective < least - 1e-5 => None,
            Solved::Optimal { .. } | Solved::Infeasible => Some(1),
            Solved::Feasible { objective, .. } if objective < least - 1e-5 => None,
            Solved::Feasible { .. } | Solved::Unknown { .. } => Some(0),
        })
    }

    /// True where two witnesses can be heard at the same time.
    fn is_double(&self) -> bool {
        self.limit.threads > 1
    }

    /// Settles ties of a plan of the proven total; and the fewest runs behind the
    /// end of a stage.
    fn first_of_equals(&self, plan: Solution) -> Result<(Solution, u8), SolveError> {
        if !self.question.ties {
            return Ok((plan, 2));
        }
        let built = Built::new(&self.sets);
        let Some(start) = self.as_start(&built, &plan.sets)? else {
            return Ok((plan, 2));
        };
        let incumbent = self.read(&built, start.values);
        let (settled, witnesses) = self.settled(&built, incumbent)?;
        Ok((settled.solution, witnesses))
    }

    fn settled(&self, built: &Built, incumbent: Incumbent) -> Result<(Incumbent, u8), SolveError> {
        let ties = Ties {
            input: self.input,
            fit: self.fit,
            sets: &self.sets,
            built,
            read: &|values| self.read(built, values),
            task: &self.task(),
            witnesses: Cell::new(2),
        };
        let settled = ties.first(incumbent)?;
        Ok((settled, ties.witnesses.get()))
    }

    /// The whole program to its end, then ties.
    fn exactly(
        &self,
        built: &Built,
        start: Option<Start>,
        (known, beside): (&mut Known, bool),
    ) -> Result<Outcome, SolveError> {
        let total = start.as_ref().map(|s| s.objective);
        let mut tight = built.clone();
        if let Some(total) = total.filter(|_| !self.limit.is_over())
            && let Some((better, bound)) = self.tight(built, total)?
        {
            tight = better;
            known.tell(Some(total), bound);
        }
        let task = Task {
            start: start.as_ref().map(|s| s.values.clone()),
            ..self.task()
        };
        let root = known.bound;
        let proved = match self.limit.is_over() {
            true => Proved::nothing(known.bound),
            false => prove(
                &tight.program,
                &task,
                (beside, Some(&self.met)),
                &mut |pulse| {
                    let best = pulse.best.into_iter().chain(total).reduce(f64::min);
                    known.pulse(best, &pulse);
                    self.meet(total, known.bound);
                },
            )?,
        };
        let mut bound = known.bound;
        let mut witnesses = proved.witnesses;
        let found = match proved.solved {
            Solved::Optimal { values, objective } => {
                bound = objective;
                Some(Start { values, objective })
            }
            Solved::Feasible {
                values,
                objective,
                bound: reached,
            } => {
                bound = match reached.is_finite() {
                    true => bound.max(reached),
                    // The runs contradicted one another: what they said is worth nothing.
                    false => {
                        known.bound = root;
                        root
                    }
                };
                Some(Start { values, objective })
            }
            Solved::Infeasible if start.is_none() && witnesses > 1 => {
                return Ok(Outcome::Infeasible);
            }
            Solved::Infeasible => {
                witnesses = 0;
                None
            }
            Solved::Unknown { bound: reached } => {
                bound = bound.max(reached);
                None
            }
        };
        let Some(best) = cheaper(found, start) else {
            return Ok(Outcome::Unknown);
        };
        let objective = best.objective;
        let mut incumbent = self.read(built, best.values);
        let exact = float(incumbent.worth.total.0);
        if witnesses > 0 && (objective - exact).abs() > near(exact) {
            // What was proven is of another plan than the one that was read off.
            self.question
                .solver
                .doubts
                .add(&tight.program, Fault::Objective);
            (witnesses, bound, known.bound) = (0, root, root);
        }
        if witnesses > 0 && self.question.ties {
            let (settled, tied) = self.settled(built, incumbent)?;
            incumbent = settled;
            witnesses = witnesses.min(tied);
        }
        Ok(Outcome::Found {
            solution: self.in_order(incumbent.solution)?,
            bound: bound.max(0.0),
            witnesses,
        })
    }

    /// The program without what no plan of this total can have, and a bound.
    fn tight(&self, built: &Built, total: f64) -> Result<Option<(Built, f64)>, SolveError> {
        let kinds = Kinds::new(&self.sets, &self.input.settings, self.fit, Grain::Cell);
        let (sets, limit) = (Arc::clone(&self.sets), self.limit.clone());
        let mut built = built.clone();
        let tight = self.apart(move || {
            let bundles = built.bundles(&sets);
            let facts = Facts {
                sets: &sets,
                kinds: &kinds,
                covers: &[],
                bundles: &bundles,
            };
            let trials = (total, Trials::Most(0));
            let bound = probe::tighten(&mut built, Some(&facts), trials, &limit)?;
            Ok((built, bound))
        })?;
        tight.transpose()
    }

    /// Work that can't be interrupted, on a thread of its own: no answer where a stop
    /// comes first.
    fn apart<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<Option<T>, SolveError> {
        match apart::begin(&self.limit, work) {
            Ok(apart) => Ok(apart.unless_stopped(&self.limit)),
            Err(_) if self.limit.is_over() => Ok(None),
            Err(crowded) => Err(crowded.into()),
        }
    }

    /// A plan with these sets as values of all variables.
    fn as_start(&self, built: &Built, given: &[Set]) -> Result<Option<Start>, SolveError> {
        self.as_start_within(built, given, &self.exact_task())
    }

    fn as_start_within(
        &self,
        built: &Built,
        given: &[Set],
        task: &Task,
    ) -> Result<Option<Start>, SolveError> {
        let Some(counts) = start::of_sets(self.fit, &self.sets, built, given) else {
            return Ok(None);
        };
        let values = start::complete(built, &counts, task)?;
        Ok(values.map(|values| Start {
            objective: built.program.objective(&values),
            values,
        }))
    }

    fn in_order(&self, solution: Solution) -> Result<Solution, SolveError> {
        match self.question.ties {
            true => order::in_order(self.input, self.fit, solution, &self.task()),
            false => Ok(solution),
        }
    }

    fn read(&self, built: &Built, values: Vec<f64>) -> Incumbent {
        let solution = decode::solution(self.fit, &self.sets, built, &values);
        Incumbent {
            worth: worth(self.input, self.fit, &solution),
            values,
            solution,
        }
    }

    /// True where what is found beside the whole program changes no proven plan.
    fn may_vary(&self) -> bool {
        self.limit.until.is_some() || self.limit.threads > 1
    }

    /// The limit with a part of the time that there was at first.
    fn part(&self, share: f64) -> Limit {
        match self.length {
            Some(length) => self.limit.up_to(self.begun + length.mul_f64(share)),
            None => self.limit.clone(),
        }
    }

    /// Tells what is known of this solve.
    fn tell(&self, news: News) {
        self.limit.tell(|progress| {
            progress.best = news.best;
            progress.bound = news.bound;
            progress.nodes = news.nodes;
            progress.building = news.building;
            progress.doubts = self.question.solver.doubts.count();
        });
    }

    /// True once the best plan is as near to the bound as it is asked to be.
    fn is_near(&self, best: Option<f64>, bound: f64) -> bool {
        let wanted = self.limit.gap_percent.unwrap_or(0.0) / 100.0;
        best.is_some_and(|best| best - bound <= (wanted * best).max(1e-6))
    }

    /// Ends the proof once a plan in hand and the bound are near enough: what the
    /// solver alone has is lost with it. Not where the whole is wanted, for then
    /// ties are to be settled as with one thread.
    fn meet(&self, best: Option<f64>, bound: f64) {
        let may_end = self.limit.until.is_some() || self.limit.gap_percent.is_some();
        if may_end && self.is_near(best, bound) {
            self.met.ask();
        }
    }

    /// What a solve is held to.
    fn task(&self) -> Task {
        Task::new(&self.limit, &self.question.solver)
    }

    /// The same, with nothing near enough but the least.
    fn exact_task(&self) -> Task {
        self.task().exact()
    }
}

/// A pooled program with its root, and what to guide a search by: the root
/// itself, or where it dives to.
fn guided(
    mut pooled: Pooled,
    (sets, dives): (&Sets, bool),
    limit: &Limit,
) -> Result<(Pooled, Rooted, Vec<f64>), SolveError> {
    let rooted = pooled.root(sets, limit)?;
    let guide = match &rooted {
        Rooted::Root(root) if dives => pooled.dive(root.values.clone(), limit)?,
        Rooted::Root(root) => root.values.clone(),
        Rooted::Above | Rooted::Infeasible | Rooted::Unknown => Vec::new(),
    };
    Ok((pooled, rooted, guide))
}

/// A plan as values of all variables.
struct Start {
    values: Vec<f64>,
    objective: f64,
}

/// The cheaper of two, the first where they are equal.
fn cheaper(one: Option<Start>, other: Option<Start>) -> Option<Start> {
    let both = [one, other].into_iter().flatten();
    both.min_by(|a, b| a.objective.total_cmp(&b.objective))
}
