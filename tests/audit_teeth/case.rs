//! A random project with its plan, and places in it.

use crate::support::answer::solution;
use crate::support::random;
use couplet::audit::{EndName, Finding};
use couplet::catalog::{Body, Fitting, Half, Offer, PartId, Spec};
use couplet::fit::fit;
use couplet::input::{Input, InputFile};
use couplet::plan::{Bound, Plan, record};
use couplet::project::{Circuit, Ordered, Terminal};
use couplet::units::Money;
use fastrand::Rng;
use rust_decimal::Decimal;

/// True of a finding that is meant.
pub type Meant = Box<dyn Fn(&Finding) -> bool>;

/// What an audit must find, and what may be found besides as a consequence.
pub struct Expect {
    pub must: Vec<Meant>,
    pub may: Meant,
}

/// Nothing but this may be found.
pub fn only(must: impl Fn(&Finding) -> bool + 'static) -> Option<Expect> {
    with(must, |_| false)
}

/// This must be found; the other may.
pub fn with(
    must: impl Fn(&Finding) -> bool + 'static,
    may: impl Fn(&Finding) -> bool + 'static,
) -> Option<Expect> {
    Some(Expect {
        must: vec![Box::new(must)],
        may: Box::new(may),
    })
}

/// A project with a right plan, about to be made wrong.
#[derive(Clone)]
pub struct Case {
    pub input: Input,
    pub plan: Plan,
    pub rng: Rng,
}

const PROVEN: Bound = Bound {
    lower: 0.0,
    witnesses: 2,
    wanted_gap: None,
};

impl Case {
    /// The cheapest plan of a random project, by enumeration; in every second
    /// one some parts are ordered already. None where there is no plan.
    pub fn new(seed: u64) -> Option<Case> {
        let (mut input, best) = random::project(seed);
        let best = best?;
        let mut rng = Rng::with_seed(seed);
        input.files = vec![InputFile {
            file: "circuits.csv".to_owned(),
            sha256: "00".repeat(32),
        }];
        let mut solution = solution(&input, &best);
        if rng.bool() {
            // What is ordered need not be bought again.
            for (id, packs) in std::mem::take(&mut solution.purchases) {
                if rng.u32(..3) > 0 {
                    solution.purchases.push((id, packs));
                    continue;
                }
                let offer = input.catalog.offer(id).clone();
                let price = Money(Decimal::new(rng.i64(1..5_000), 2));
                input
                    .ordered
                    .push(ordered(&offer, offer.pack * packs, price));
            }
        }
        let fit = fit(&input).ok()?;
        let plan = record(&input, &fit, &solution, PROVEN).ok()?;
        let case = Case { input, plan, rng };
        // Without the lines that are ordered now, goods may be below a least order.
        case.audit().is_empty().then_some(case)
    }

    pub fn audit(&self) -> Vec<Finding> {
        couplet::audit::audit(&self.input, &self.plan)
    }

    /// The place of some end.
    pub fn end(&mut self) -> usize {
        self.rng.usize(..self.plan.ends.len())
    }

    pub fn half(&mut self) -> Half {
        if self.rng.bool() {
            Half::Plug
        } else {
            Half::Receptacle
        }
    }

    pub fn name(&self, end: usize) -> EndName {
        let end = &self.plan.ends[end];
        EndName {
            circuit: end.circuit.clone(),
            net: end.net.clone(),
            side: end.end.clone(),
        }
    }

    pub fn circuit(&mut self, end: usize) -> &mut Circuit {
        let name = &self.plan.ends[end].circuit;
        let mut all = self.input.circuits.iter_mut();
        all.find(|c| c.name == *name).unwrap()
    }

    pub fn terminal(&mut self, end: usize) -> &mut Terminal {
        let is_from = self.plan.ends[end].end == "from";
        let circuit = self.circuit(end);
        if is_from {
            &mut circuit.from
        } else {
            &mut circuit.to
        }
    }

    pub fn code(&self, end: usize, half: Half) -> String {
        let end = &self.plan.ends[end];
        match half {
            Half::Plug => end.plug.clone(),
            Half::Receptacle => end.receptacle.clone().unwrap(),
        }
    }

    pub fn id(&self, code: &str) -> PartId {
        self.input.catalog.find(code).unwrap()
    }

    pub fn spec(&mut self, code: &str) -> &mut Spec {
        let place = self.id(code).0 as usize;
        &mut self.input.catalog.parts[place].spec
    }

    pub fn body(&mut self, code: &str) -> &mut Body {
        match self.spec(code) {
            Spec::Body(body) => body,
            _ => panic!("{code} is no body"),
        }
    }

    /// Some end with a fitting of this kind: the end, the place of the fitting.
    pub fn fitting(&mut self, kind: Fitting) -> Option<(usize, usize)> {
        let all: Vec<(usize, usize)> = (self.plan.ends.iter().enumerate())
            .flat_map(|(end, record)| {
                let fittings = record.fittings.iter().enumerate();
                let found = fittings.filter(|(_, f)| f.kind == kind.word());
                found.map(move |(place, _)| (end, place))
            })
            .collect();
        self.one_of(all)
    }

    /// Some line of some order.
    pub fn line(&mut self) -> Option<(usize, usize)> {
        let orders = self.plan.orders.iter().enumerate();
        let all = orders.flat_map(|(o, order)| (0..order.lines.len()).map(move |l| (o, l)));
        let all = all.collect();
        self.one_of(all)
    }

    /// The offer that a line buys from.
    pub fn offer(&mut self, (order, line): (usize, usize)) -> &mut Offer {
        let order = &self.plan.orders[order];
        let part = self.input.catalog.find(&order.lines[line].part);
        let supplier = self.input.catalog.find_supplier(&order.supplier);
        let mut offers = self.input.catalog.offers.iter_mut();
        offers
            .find(|o| Some(o.part) == part && Some(o.supplier) == supplier)
            .unwrap()
    }

    pub fn one_of<T>(&mut self, mut all: Vec<T>) -> Option<T> {
        (!all.is_empty()).then(|| all.swap_remove(self.rng.usize(..all.len())))
    }
}

fn ordered(offer: &Offer, qty: u64, unit_price: Money) -> Ordered {
    Ordered {
        sku: String::new(),
        note: String::new(),
        part: offer.part,
        supplier: offer.supplier,
        qty,
        unit_price,
        ordered_on: "2026-01-02".parse().unwrap(),
        received: 0,
        charges: Money(Decimal::new(125, 2)),
        row: offer.breaks[0].row.clone(),
    }
}
