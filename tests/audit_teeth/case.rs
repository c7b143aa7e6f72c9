//! A random project with its plan, and places in it.

use crate::dress::{dress, price};
use crate::support::answer::solution;
use crate::support::random;
use couplet::audit::{EndName, Finding, LineName};
use couplet::catalog::{Body, Fitting, Half, Offer, OfferId, PartId, Spec, Value};
use couplet::fit::fit;
use couplet::input::{Input, InputFile};
use couplet::model::Solution;
use couplet::plan::{Bound, Plan, record};
use couplet::project::{Circuit, Ordered, Terminal};
use couplet::units::{Money, Qty};
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
    /// The cheapest plan of a random project, by enumeration, with more features put
    /// under it; in every second one some parts are ordered already. None where there is
    /// no plan.
    pub fn new(seed: u64) -> Option<Case> {
        let (mut input, best) = random::project(seed);
        let best = best?;
        let mut rng = Rng::with_seed(seed);
        input.files = vec![InputFile {
            file: "circuits.csv".to_owned(),
            sha256: "00".repeat(32),
        }];
        let mut solution = solution(&input, &best);
        dress(&mut rng, &mut input, &mut solution);
        if rng.bool() {
            order(&mut rng, &mut input, &mut solution);
        }
        let fit = fit(&input).unwrap_or_else(|none| panic!("seed {seed}: {none:?}"));
        let plan = record(&input, &fit, &solution, PROVEN).unwrap();
        let case = Case { input, plan, rng };
        // Without the lines that are gone now, goods may be below a least order.
        let found = case.audit();
        let is_below = |f: &Finding| matches!(f, Finding::BelowMinOrder(_));
        assert!(found.iter().all(is_below), "seed {seed}: {found:#?}");
        found.is_empty().then_some(case)
    }

    pub fn audit(&self) -> Vec<Finding> {
        couplet::audit::audit(&self.input, &self.plan)
    }

    /// The place of some end.
    pub fn end(&mut self) -> usize {
        self.rng.usize(..self.plan.ends.len())
    }

    /// Some half that is bought at this end.
    pub fn half(&mut self, end: usize) -> Half {
        match self.plan.ends[end].receptacle {
            Some(_) if self.rng.bool() => Half::Receptacle,
            _ => Half::Plug,
        }
    }

    /// Some end where the device has its receptacle, or where the device has none.
    pub fn end_with(&mut self, is_built_in: bool) -> Option<usize> {
        let ends = self.plan.ends.iter().enumerate();
        let all = ends.filter(|(_, end)| end.receptacle.is_none() == is_built_in);
        let all = all.map(|(place, _)| place).collect();
        self.one_of(all)
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

    /// The part codes of everything at an end.
    pub fn codes(&self, end: usize) -> Vec<String> {
        let end = &self.plan.ends[end];
        let bodies = end.receptacle.iter().chain([&end.plug]);
        let fittings = end.fittings.iter().map(|f| &f.part);
        bodies.chain(fittings).cloned().collect()
    }

    pub fn id(&self, code: &str) -> PartId {
        self.input.catalog.find(code).unwrap()
    }

    pub fn spec(&mut self, code: &str) -> &mut Spec {
        let place = self.id(code).0 as usize;
        &mut self.input.catalog.parts[place].spec
    }

    /// What the part has of the attribute at this place.
    pub fn value(&mut self, code: &str, place: usize) -> &mut Option<Value> {
        let id = self.id(code).0 as usize;
        &mut self.input.catalog.parts[id].values[place]
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

    /// The name of a line.
    pub fn line_name(&self, (order, line): (usize, usize)) -> LineName {
        let order = &self.plan.orders[order];
        LineName {
            supplier: order.supplier.clone(),
            part: order.lines[line].part.clone(),
            sku: order.lines[line].sku.clone(),
        }
    }

    /// The offer that a line buys from.
    pub fn offer(&mut self, at: (usize, usize)) -> &mut Offer {
        let name = self.line_name(at);
        let part = self.input.catalog.find(&name.part);
        let supplier = self.input.catalog.find_supplier(&name.supplier);
        let mut offers = self.input.catalog.offers.iter_mut();
        offers
            .find(|o| Some(o.part) == part && Some(o.supplier) == supplier && o.sku == name.sku)
            .unwrap()
    }

    pub fn one_of<T>(&mut self, mut all: Vec<T>) -> Option<T> {
        (!all.is_empty()).then(|| all.swap_remove(self.rng.usize(..all.len())))
    }
}

/// Has some of what would be bought ordered already, in one row or in two, with or
/// without the sku.
fn order(rng: &mut Rng, input: &mut Input, solution: &mut Solution) {
    let purchases: Vec<(OfferId, Qty)> = std::mem::take(&mut solution.purchases);
    for (id, packs) in purchases {
        if rng.u32(..3) > 0 {
            solution.purchases.push((id, packs));
            continue;
        }
        let offer = input.catalog.offer(id).clone();
        let pieces = offer.pack * packs;
        let first = rng.u64(1..=pieces);
        for qty in [first, pieces - first] {
            let row = ordered(rng, &offer, qty);
            input.ordered.extend((qty > 0).then_some(row));
        }
    }
    rng.shuffle(&mut input.ordered);
}

fn ordered(rng: &mut Rng, offer: &Offer, qty: Qty) -> Ordered {
    let sku = Some(offer.sku.clone()).filter(|_| rng.bool());
    Ordered {
        sku: sku.unwrap_or_default(),
        note: String::new(),
        part: offer.part,
        supplier: offer.supplier,
        qty,
        unit_price: price(rng),
        ordered_on: "2026-01-02".parse().unwrap(),
        received: 0,
        charges: Money(Decimal::new(125, 2)),
        row: offer.breaks[0].row.clone(),
    }
}
