//! The local search with what it found as plans: sets, and the cheapest
//! purchase for them.

use super::decode;
use super::problem::{Problem, float};
use super::program::Built;
use super::search::{Found, Ground, Hints, Pick, Search, is_below};
use super::solution::{Fitted, Set, Solution};
use super::start::{self, PURCHASE_NODES};
use super::worth::worth;
use crate::catalog::{Half, OfferId, SupplierId};
use crate::fit::Fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::solve::{SolveError, Task, run};
use crate::units::{Money, Qty};
use std::collections::BTreeMap;
use std::time::Duration;

/// A search and the best plan so far.
#[derive(Clone)]
pub(super) struct Hunt<'a> {
    input: &'a Input,
    fit: &'a Fit,
    problem: &'a Problem,
    ground: &'a Ground<'a>,
    search: Search<'a>,
    /// Total of the search's best that was last made a plan.
    seen: f64,
    best: Option<(Solution, f64)>,
    /// What the solves of the hunt are held to.
    task: Task,
}

/// How long a given plan is bought for after the end: it may be the only plan,
/// and nobody minds so short a wait.
pub(super) const GRACE: Duration = Duration::from_secs(1);

impl<'a> Hunt<'a> {
    /// A search at its first assignment.
    pub fn new(
        input: &'a Input,
        fit: &'a Fit,
        problem: &'a Problem,
        ground: &'a Ground<'a>,
        task: Task,
    ) -> Self {
        Hunt {
            input,
            fit,
            problem,
            ground,
            search: Search::new(ground, 1),
            seen: f64::INFINITY,
            best: None,
            task,
        }
    }

    /// Gives the hunt another limit from now on.
    pub fn ends(&mut self, limit: &Limit) {
        self.task = self.task.within(limit);
    }

    /// Total of the best plan.
    pub fn total(&self) -> Option<f64> {
        self.best.as_ref().map(|b| b.1)
    }

    /// The best plan.
    pub fn best(&self) -> Option<&Solution> {
        self.best.as_ref().map(|b| &b.0)
    }

    /// Keeps a plan from elsewhere, if it is better; the search goes on as it was.
    pub fn offer(&mut self, solution: Solution) {
        let total = float(worth(self.input, self.fit, &solution).total.0);
        if self.total().is_none_or(|best| total < best) {
            self.best = Some((solution, total));
        }
    }

    /// The best plan.
    pub fn take(self) -> Option<Solution> {
        self.best.map(|b| b.0)
    }

    /// Goes on from the sets of another plan, as near to that plan as the search
    /// can. Where the plan has no set for an end, `given` has none.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn adopt(&mut self, given: &[Option<Set>]) -> Result<(), SolveError> {
        let picks = self.picks(given);
        self.search.adopt(picks);
        self.plan(&self.task.within(&self.task.limit.with_grace(GRACE)))
    }

    /// Keeps a plan of another way and goes on from it, if it is better. Gives the
    /// plan's total.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn follow(&mut self, solution: Solution) -> Result<f64, SolveError> {
        let total = float(worth(self.input, self.fit, &solution).total.0);
        if self.total().is_none_or(|best| total < best) {
            let picks = self.picks(&solution.given());
            self.best = Some((solution, total));
            self.search.adopt(picks);
            self.make_plan()?;
        }
        Ok(total)
    }

    /// True where `given` holds the sets of the best plan.
    pub fn is_best(&self, given: &[Option<Set>]) -> bool {
        let best = self.best.iter().flat_map(|(best, _)| &best.sets);
        best.map(Some).eq(given.iter().map(Option::as_ref))
    }

    /// Goes on for so many rounds of so many steps, each round from the best; then
    /// makes a plan of the best.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn rounds(&mut self, rounds: usize, steps: usize, limit: &Limit) -> Result<(), SolveError> {
        for _ in 0..rounds {
            if limit.is_over() {
                break;
            }
            self.search.round(steps, limit);
            self.search.back_to_best();
        }
        self.make_plan()
    }

    /// Makes the search's best a plan, if that best is new.
    ///
    /// # Errors
    /// [`SolveError`] if the solver breaks off.
    pub fn make_plan(&mut self) -> Result<(), SolveError> {
        self.plan(&self.task.clone())
    }

    /// Starts anew from what a relaxation tells.
    pub fn guide(&mut self, hints: Hints) {
        self.search.guide(hints);
    }

    /// Makes the search's best a plan within `task`, if that best is new.
    fn plan(&mut self, task: &Task) -> Result<(), SolveError> {
        let is_new = |found: &&Found| is_below(found.total, self.seen);
        let Some(found) = self.search.best().filter(is_new) else {
            return Ok(());
        };
        self.seen = found.total;
        let purchases = match purchase(self.problem, &found.need, task)? {
            Some(purchases) => Some(purchases),
            None => self.part_by_part(found),
        };
        let Some(purchases) = purchases else {
            return Ok(());
        };
        let solution = Solution {
            sets: self.sets_of(found),
            purchases,
        };
        self.offer(solution);
        Ok(())
    }

    /// What the search itself buys of each part; none where the goods of a
    /// supplier are short of its least order.
    fn part_by_part(&self, found: &Found) -> Option<Vec<(OfferId, Qty)>> {
        let mut goods: BTreeMap<SupplierId, Money> = BTreeMap::new();
        let mut purchases: Vec<(OfferId, Qty)> = Vec::new();
        for lot in &found.lots {
            let id = self.problem.offers[lot.offer as usize].id;
            let offer = self.input.catalog.offer(id);
            let qty = lot.packs * offer.pack;
            *goods.entry(offer.supplier).or_default() += offer.break_at(qty)?.unit_price.times(qty);
            purchases.push((id, lot.packs));
        }
        let is_short = |(id, goods): (&SupplierId, &Money)| {
            let least = self.input.catalog.supplier(*id).min_order;
            least.is_some_and(|least| *goods < least)
        };
        purchases.sort_unstable();
        (!goods.iter().any(is_short)).then_some(purchases)
    }

    fn sets_of(&self, found: &Found) -> Vec<Set> {
        let mut placed: Vec<Option<Set>> = vec![None; self.fit.ends.len()];
        for (node, pick) in self.ground.nodes.iter().zip(&found.picks) {
            let cell = &self.problem.cells[node.cell];
            let slots = &self.fit.classes[cell.class].slots;
            let receptacle = pick.receptacle.map(|place| &cell.receptacles[place]);
            let on_receptacle = receptacle.map_or(0, |body| body.slots.len());
            let mut fittings: Vec<Fitted> = (pick.fittings.iter().enumerate())
                .map(|(i, &(slot, option))| {
                    let (part, qty) = slots[slot].options[option];
                    Fitted {
                        // The receptacle's fittings stand first.
                        half: match i < on_receptacle {
                            true => Half::Receptacle,
                            false => Half::Plug,
                        },
                        fitting: slots[slot].fitting,
                        part,
                        qty,
                    }
                })
                .collect();
            fittings.sort_by_key(|f| (f.half, f.fitting));
            let set = Set {
                receptacle: receptacle.map(|body| body.id),
                plug: cell.plugs[pick.plug].id,
                fittings,
            };
            let (first, count) = (node.ends.0, node.ends.1 as usize);
            for &end in &cell.ends[first..first + count] {
                placed[end] = Some(set.clone());
            }
        }
        placed.into_iter().flatten().collect()
    }

    /// Sets as picks: the set of a node's first end stands for all its ends. A
    /// node has none where that end has no set, or a set that it can't have here.
    fn picks(&self, given: &[Option<Set>]) -> Vec<Option<Pick>> {
        (self.ground.nodes.iter())
            .map(|node| {
                let cell = &self.problem.cells[node.cell];
                let set = given.get(*cell.ends.get(node.ends.0)?)?.as_ref()?;
                start::pick_of(self.fit, cell, set)
            })
            .collect()
    }
}

/// The cheapest purchase for so many pieces of each part; none if no purchase
/// is possible, or no purchase is found before the end.
fn purchase(
    problem: &Problem,
    need: &[Qty],
    task: &Task,
) -> Result<Option<Vec<(OfferId, Qty)>>, SolveError> {
    let built = Built::purchase(problem, need);
    let task = Task {
        nodes: Some(PURCHASE_NODES),
        ..task.clone()
    };
    let values = run(&built.program, &task, &mut |_| {})?.into_values();
    Ok(values.map(|values| decode::purchases(problem, &built, &values)))
}
