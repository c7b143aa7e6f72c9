//! The course of one solve from its first plan to the way that ends it.

use super::frame::Run;
use super::known::Known;
use super::proof::MANY_COUNTS;
use crate::limit::Limit;
use crate::model::hunt::{GRACE, Hunt};
use crate::model::pooled::{Grain, Pooled, Rooted};
use crate::model::problem::Problem;
use crate::model::program::Built;
use crate::model::question::Outcome;
use crate::model::search::Ground;
use crate::model::solution::{Given, Set};
use crate::solve::{SolveError, Solved, prove};
use std::sync::Arc;

/// With fewer nodes to choose for, the whole program is solved at once.
const FEW_NODES: usize = 40;

/// With fewer nodes nothing is tried beside the whole program.
const SOME_NODES: usize = 60;

/// From so many nodes on the search waits for the pooled program, and is guided
/// by more than its root.
const MANY_NODES: usize = 150;

/// What the search does before the solver: a third of the time at the most, and
/// less where there is little to do.
struct Early {
    steps: usize,
    limit: Limit,
}

/// What the root of the pooled program says.
enum Root {
    /// There is no plan.
    Infeasible,
    /// The pooled program, solved to its root.
    Solved(Box<Pooled>),
    /// The root says nothing, or was not asked.
    Unknown,
}

impl Run<'_> {
    /// The whole course.
    pub fn go(&self) -> Result<Outcome, SolveError> {
        let ground = Ground::new(&self.problem, self.fit);
        let nodes = ground.nodes.len();
        let task = self.exact_task();
        let mut hunt = Hunt::new(self.input, self.fit, &self.problem, &ground, task);
        let mut report = |news| self.tell(news);
        let mut known = Known::new(&mut report);
        known.building = self.begun.elapsed();
        known.bound = self.question.bound.unwrap_or(known.bound);
        let early = Early {
            steps: (nodes * 500).clamp(500, 20_000),
            limit: self.part(1.0 / 3.0),
        };
        self.first_plans(&mut hunt, &mut known, nodes, &early)?;
        let root = match nodes >= FEW_NODES && !self.limit.is_over() {
            true => self.root(&mut hunt, &mut known, nodes, &early)?,
            false => Root::Unknown,
        };
        let pooled = match root {
            Root::Infeasible => return Ok(Outcome::Infeasible),
            Root::Solved(pooled) => Some(pooled),
            Root::Unknown => None,
        };
        match &pooled {
            Some(pooled) if self.counts() > MANY_COUNTS => {
                self.widely(pooled, &mut hunt, &mut known)?;
            }
            Some(pooled) if nodes >= SOME_NODES && self.may_vary() => {
                return self.closely(pooled, hunt, known);
            }
            _ => {}
        }
        self.last(hunt, known, pooled.as_deref(), self.is_double())
    }

    /// Makes the first plans: those that are given, the search's first, and those of
    /// some rounds.
    fn first_plans(
        &self,
        hunt: &mut Hunt,
        known: &mut Known,
        nodes: usize,
        early: &Early,
    ) -> Result<(), SolveError> {
        self.adopt_given(hunt, known, early)?;
        hunt.make_plan()?;
        known.tell(hunt.total(), f64::NEG_INFINITY);
        // Where there is much to choose, the prices of the pooled program are worth more.
        let unguided = match nodes {
            ..FEW_NODES => 4,
            FEW_NODES..MANY_NODES => 1,
            _ => 0,
        };
        hunt.rounds(unguided, early.steps, &early.limit)?;
        known.tell(hunt.total(), f64::NEG_INFINITY);
        Ok(())
    }

    /// Solves the pooled program to its root, and guides the search by it.
    fn root(
        &self,
        hunt: &mut Hunt,
        known: &mut Known,
        nodes: usize,
        early: &Early,
    ) -> Result<Root, SolveError> {
        let input = self.input;
        let pooled = known.build(|| Pooled::new(&self.problem, input, self.fit, Grain::Kind));
        let problem = Arc::clone(&self.problem);
        // A root that takes long is worth waiting for: there is no bound without it.
        let (limit, end) = (self.part(0.6), self.limit.clone());
        let dives = nodes >= MANY_NODES;
        let guided = self.apart(move || guided(pooled, &problem, dives, (&limit, &end)))?;
        let Some(Guided {
            pooled,
            root,
            guide,
        }) = guided.transpose()?
        else {
            return Ok(Root::Unknown);
        };
        match root {
            Rooted::Infeasible => {
                // That is the word of one relaxation; a proof takes two runs.
                let (program, task) = (&pooled.program, self.task());
                let proved = prove(program, &task, self.is_double(), None, &mut |_| {})?;
                let is_proven = proved.solved == Solved::Infeasible && proved.witnesses > 1;
                Ok(if is_proven {
                    Root::Infeasible
                } else {
                    Root::Unknown
                })
            }
            Rooted::Above | Rooted::Unknown => Ok(Root::Unknown),
            Rooted::Root(root) => {
                known.tell(hunt.total(), root.bound);
                hunt.guide(pooled.guide(&self.problem, &guide));
                hunt.rounds(5, early.steps, &early.limit)?;
                known.tell(hunt.total(), root.bound);
                Ok(Root::Solved(Box::new(pooled)))
            }
        }
    }

    /// Starts from the plans that are given, as far as they are plans here.
    fn adopt_given(
        &self,
        hunt: &mut Hunt,
        known: &mut Known,
        early: &Early,
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
                let built = known.build(|| Built::new(&self.problem));
                let task = self.exact_task();
                let task = task.within(&task.limit.with_grace(GRACE));
                if let Some(start) = self.as_start_within(&built, &sets, &task)? {
                    hunt.offer(self.read(&built, start.values).solution);
                }
            }
            if starts.peek().is_some() {
                hunt.rounds(1, early.steps, &early.limit)?;
            }
        }
        Ok(())
    }
}

/// A pooled program at its root.
struct Guided {
    pooled: Pooled,
    root: Rooted,
    /// What to guide a search by: the values at the root, or where a dive ends.
    guide: Vec<f64>,
}

/// Solves a pooled program to its root, and dives from there where `dives`; no solve is
/// begun after `limit`, and none goes on after `end`.
fn guided(
    mut pooled: Pooled,
    problem: &Problem,
    dives: bool,
    (limit, end): (&Limit, &Limit),
) -> Result<Guided, SolveError> {
    let root = pooled.root(problem, limit, end)?;
    let guide = match &root {
        Rooted::Root(at) if dives => pooled.dive(at.values.clone(), limit)?,
        Rooted::Root(at) => at.values.clone(),
        Rooted::Above | Rooted::Infeasible | Rooted::Unknown => Vec::new(),
    };
    Ok(Guided {
        pooled,
        root,
        guide,
    })
}
