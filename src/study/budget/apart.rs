//! What the machines of a purchase would cost if each was bought by itself.

use crate::catalog::{Catalog, DieId};
use crate::fit::{Unfit, fit};
use crate::input::Input;
use crate::limit::Limit;
use crate::plan::{Cost, Plan, dies_to_buy};
use crate::project::Machine;
use crate::study::answer::{self, Answer, Reply, side_by_side};
use crate::study::failure::Failure;
use crate::units::{Money, Qty};
use std::collections::BTreeSet;

/// One machine bought by itself.
#[derive(Debug, Clone)]
pub struct Alone {
    /// Name of the machine.
    pub machine: String,
    /// How many the purchase builds.
    pub count: Qty,
    /// Crimp dies that the plan buys. Once bought, they are there for the next machine.
    pub dies: Vec<DieId>,
    /// The cheapest plan for one of them. None where nothing was found in time, or where
    /// one by itself can't be bought within the limits of the purchase.
    pub plan: Option<Plan>,
    /// True where it is proven that one by itself can't be bought.
    pub is_impossible: bool,
}

/// What becomes of what is on hand and ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stock {
    /// There is nothing.
    None,
    /// The stock counts for no machine.
    LeftOut,
    /// All together can't be bought without it, or no such plan was found in time. So it
    /// counts for all together, and not for the machines one by one.
    Together,
}

/// The machines bought one by one, and all together.
#[derive(Debug, Clone)]
pub struct Apart {
    /// The machines, in order.
    pub machines: Vec<Alone>,
    /// All together. As for each machine, nothing is on hand or ordered: a piece on hand
    /// could serve several of the machines.
    pub together: Plan,
    /// What all machines cost bought one by one, each die once and without tax; none where
    /// one of them has no plan.
    pub one_by_one: Option<Cost>,
    /// What becomes of what is on hand and ordered.
    pub stock: Stock,
}

impl Alone {
    /// What all of them cost bought one by one, with their dies bought once and without
    /// tax; none where there is no plan.
    pub fn cost(&self) -> Option<Cost> {
        let one = &self.plan.as_ref()?.cost;
        Some(summed(Cost {
            goods: one.goods.times(self.count),
            duty: one.duty.times(self.count),
            shipping: one.shipping.times(self.count),
            dies: one.dies,
            lines: one.lines.times(self.count),
            ..NOTHING
        }))
    }
}

const NOTHING: Cost = Cost {
    goods: Money::ZERO,
    duty: Money::ZERO,
    shipping: Money::ZERO,
    dies: Money::ZERO,
    lines: Money::ZERO,
    total: Money::ZERO,
    tax: Money::ZERO,
    total_with_tax: Money::ZERO,
};

/// The terms with their total.
fn summed(terms: Cost) -> Cost {
    let total = terms.terms().iter().map(|(_, amount)| *amount).sum();
    Cost { total, ..terms }
}

impl Apart {
    /// What all together cost less than one by one, below zero where they cost more; none
    /// where that is not known.
    pub fn saved(&self) -> Option<Money> {
        let one_by_one = self.one_by_one.as_ref()?;
        Some(one_by_one.total - self.together.cost.total)
    }

    /// The crimp dies of the machines less those of all one by one: what several machines
    /// need counts once there.
    pub fn dies_counted_once(&self) -> Money {
        let each: Money = (self.machines.iter().filter_map(Alone::cost))
            .map(|cost| cost.dies)
            .sum();
        let once = self.one_by_one.as_ref();
        once.map_or(Money::ZERO, |once| each - once.dies)
    }
}

/// What all machines cost bought one by one, each die once; none where one of them has no
/// plan.
fn one_by_one(machines: &[Alone], catalog: &Catalog) -> Option<Cost> {
    let costs: Vec<Cost> = machines.iter().map(Alone::cost).collect::<Option<_>>()?;
    let of = |amount: fn(&Cost) -> Money| costs.iter().map(amount).sum::<Money>();
    let dies: BTreeSet<DieId> = machines.iter().flat_map(|of| of.dies.clone()).collect();
    let dies = dies.into_iter().map(|die| catalog.die(die).cost).sum();
    Some(summed(Cost {
        goods: of(|cost| cost.goods),
        duty: of(|cost| cost.duty),
        shipping: of(|cost| cost.shipping),
        dies,
        lines: of(|cost| cost.lines),
        ..NOTHING
    }))
}

/// Plans one of each machine by itself, by the rules of the purchase, and all together.
/// `now` is the plan of the purchase.
///
/// # Errors
/// [`Failure`] if the solver breaks off or an answer is wrong.
pub fn apart(input: &Input, now: &Answer, limit: &Limit) -> Result<Apart, Failure> {
    let has_stock = has_stock(input);
    let mut jobs: Vec<Input> = (0..input.machines.len()).map(|m| alone(input, m)).collect();
    jobs.extend(has_stock.then(|| bare(input)));
    let replies = side_by_side(&jobs, limit.threads, |own| match fit(own) {
        Ok(fit) => answer::solve(own, &fit, limit, &[], false),
        Err(Unfit::NoSet(_)) => Ok(Reply::Infeasible),
        Err(unfit) => Err(unfit.into()),
    });
    let mut replies = replies.into_iter();
    let machines = input.machines.iter().zip(&jobs).zip(replies.by_ref());
    let machines = machines.map(|((machine, own), reply)| {
        let reply = reply?;
        let is_impossible = matches!(reply, Reply::Infeasible);
        let plan = reply.found().map(|answer| answer.plan);
        let dies = plan.as_ref().map(|plan| dies_to_buy(own, plan));
        Ok(Alone {
            machine: machine.name.clone(),
            count: machine.count,
            dies: dies.unwrap_or_default(),
            plan,
            is_impossible,
        })
    });
    let machines: Vec<Alone> = machines.collect::<Result<_, Failure>>()?;
    let bare = replies.next().transpose()?.and_then(Reply::found);
    let (together, stock) = match (has_stock, bare) {
        (false, _) => (now.plan.clone(), Stock::None),
        (true, Some(bare)) => (bare.plan, Stock::LeftOut),
        (true, None) => (now.plan.clone(), Stock::Together),
    };
    Ok(Apart {
        one_by_one: one_by_one(&machines, &input.catalog),
        machines,
        together,
        stock,
    })
}

fn has_stock(input: &Input) -> bool {
    !(input.on_hand.is_empty() && input.ordered.is_empty() && input.dies_ordered.is_empty())
}

/// The purchase with nothing on hand or ordered.
fn bare(input: &Input) -> Input {
    let mut bare = input.clone();
    bare.on_hand.clear();
    bare.ordered.clear();
    bare.dies_ordered.clear();
    bare
}

/// One of a machine by itself.
fn alone(input: &Input, machine: usize) -> Input {
    let mut alone = bare(input);
    alone.circuits.retain(|circuit| circuit.machine == machine);
    for circuit in &mut alone.circuits {
        (circuit.machine, circuit.copies) = (0, 1);
    }
    alone.machines = vec![Machine {
        count: 1,
        ..input.machines[machine].clone()
    }];
    alone
}
