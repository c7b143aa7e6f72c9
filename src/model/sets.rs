//! Sets and data of the integer program: cells of like ends, the parts that
//! they can use, and what those cost. Money here is binary floating point, in
//! the project's currency unless said otherwise; only the solver sees it.

use super::cells::{Cell, Site, cells};
use crate::catalog::{DieId, OfferId, PartId, Spec};
use crate::fit::Fit;
use crate::input::Input;
use crate::project::{Per, Spares};
use crate::units::{Gauge, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;

/// Everything that the program is built from.
#[derive(Debug, Clone)]
pub struct Sets {
    /// Groups of ends that the program need not tell apart.
    pub cells: Vec<Cell>,
    /// Groups of locations where different nets must not share an identity.
    pub sites: Vec<Site>,
    /// Parts that some cell can use, by id.
    pub parts: Vec<Part>,
    /// Usable offers of those parts, by id.
    pub offers: Vec<Offer>,
    /// Suppliers with such an offer, by id.
    pub suppliers: Vec<Supplier>,
    /// Dies that are not owned and that some part names, by id.
    pub dies: Vec<Die>,
    /// Cost of each variant.
    pub line_cost: f64,
    /// Largest number of variants.
    pub max_variants: Option<u32>,
    /// Largest number of suppliers with an order.
    pub max_suppliers: Option<u32>,
    /// Largest number of dies bought.
    pub max_dies: Option<u32>,
}

/// A part that some cell can use.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its id in the catalog.
    pub id: PartId,
    /// Pieces on hand or ordered, as far as they can be needed.
    pub on_hand: Qty,
    /// Its offers, by place in [`Sets::offers`].
    pub offers: Vec<usize>,
    /// By place in [`Sets::dies`].
    pub die: Option<usize>,
    /// Spares rule of its kind.
    pub spares: Option<Spares>,
    /// The most pieces that can be fitted, for each gauge that it can be fitted on.
    pub most_fitted: BTreeMap<Gauge, Qty>,
    /// The most pieces that can be fitted over all gauges.
    pub most_total: Qty,
    /// What a piece of surplus counts: the lowest price it is offered at.
    pub surplus_value: f64,
}

/// A usable offer.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its id in the catalog.
    pub id: OfferId,
    /// By place in [`Sets::parts`].
    pub part: usize,
    /// By place in [`Sets::suppliers`].
    pub supplier: usize,
    /// Pieces in a pack.
    pub pack: Qty,
    /// Price breaks that can pay, by rising quantity.
    pub breaks: Vec<Break>,
}

/// A price break: a range of quantities at one price.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// Least packs.
    pub lo: Qty,
    /// Most packs that can make sense.
    pub up: Qty,
    /// Cost of a pack with duty, in the project's currency.
    pub pack_cost: f64,
    /// Price of a pack in the supplier's units of money.
    pub pack_goods: f64,
}

/// A supplier.
#[derive(Debug, Clone)]
pub struct Supplier {
    /// Shipping in the project's currency.
    pub shipping: f64,
    /// How many units of money make one of its currency: more than one where
    /// prices have so many decimals that the solver would not see what is
    /// missing to a threshold.
    pub units: f64,
    /// Goods in its units from which shipping is free.
    pub free_over: Option<f64>,
    /// Least goods in its units.
    pub min_order: f64,
    /// The project's currency for one of its units, with duty.
    pub goods_rate: f64,
    /// Its offers, by place in [`Sets::offers`].
    pub offers: Vec<usize>,
}

impl Supplier {
    /// Shipping of an order with these goods (in its units), in the
    /// project's currency; goods short of the least order or of free shipping
    /// count as if filled up with surplus, where that is cheaper.
    pub fn delivery(&self, goods: f64) -> f64 {
        let short = (self.min_order - goods).max(0.0);
        let goods = goods + short;
        let shipping = match self.free_over {
            Some(over) => (self.shipping).min((over - goods).max(0.0) * self.goods_rate),
            None => self.shipping,
        };
        short * self.goods_rate + shipping
    }
}

/// A die that would have to be bought.
#[derive(Debug, Clone, Copy)]
pub struct Die {
    /// Its cost.
    pub cost: f64,
}

impl Part {
    /// The most pieces of spare that can be needed.
    pub fn most_spare(&self) -> Qty {
        match self.spares.map(|rule| rule.per) {
            None => 0,
            Some(Per::Gauge) => self.most_fitted.values().map(|&n| self.spare_for(n)).sum(),
            Some(Per::Part) => self.spare_for(self.most_total),
        }
    }

    /// The most pieces that can be needed.
    pub fn most_needed(&self) -> Qty {
        self.most_total + self.most_spare()
    }

    /// Spare for `fitted` pieces counted together by the rule:
    /// max(minimum, ⌈percent · fitted / 100⌉), in whole numbers.
    pub fn spare_for(&self, fitted: Qty) -> Qty {
        let Some(rule) = self.spares.filter(|_| fitted > 0) else {
            return 0;
        };
        let percent = rule.percent.0.mantissa().unsigned_abs();
        let hundred = 100 * 10u128.pow(rule.percent.0.scale());
        let share = (percent * u128::from(fitted)).div_ceil(hundred);
        rule.minimum.max(share as Qty)
    }

    /// The least spare that any use brings.
    pub fn least_spare(&self) -> Qty {
        self.spare_for(1)
    }
}

impl Sets {
    /// The sets of a project.
    pub fn new(input: &Input, fit: &Fit) -> Sets {
        Sets::at_prices(input, fit, &[])
    }

    /// The same with room for what can pay where all prices of a part are times
    /// one of its factors.
    pub fn at_prices(input: &Input, fit: &Fit, factors: &[(PartId, Decimal)]) -> Sets {
        let (mut cells, sites) = cells(&input.settings, fit);
        let mut ids: Vec<PartId> = cells.iter().flat_map(Cell::parts_used).collect();
        ids.sort_unstable();
        ids.dedup();
        let place: BTreeMap<PartId, usize> =
            ids.iter().enumerate().map(|(i, &id)| (id, i)).collect();
        for cell in &mut cells {
            cell.number(&place);
        }
        let mut parts: Vec<Part> = ids.iter().map(|&id| part(input, id)).collect();
        let dies = dies(input, &mut parts);
        add_most_fitted(&mut parts, &cells, &sites);
        for part in &mut parts {
            part.on_hand = part.on_hand.min(part.most_needed());
        }
        let mut sets = Sets {
            cells,
            sites,
            parts,
            offers: Vec::new(),
            suppliers: Vec::new(),
            dies,
            line_cost: float(input.settings.line_cost.0),
            max_variants: input.settings.max_variants,
            max_suppliers: input.settings.max_suppliers,
            max_dies: input.settings.max_dies,
        };
        super::market::add_offers(&mut sets, (input, fit), factors);
        sets
    }
}

fn part(input: &Input, id: PartId) -> Part {
    Part {
        id,
        on_hand: input.available(id),
        offers: Vec::new(),
        die: None,
        spares: (input.settings.spares)
            .get(&input.catalog.part(id).kind())
            .copied(),
        most_fitted: BTreeMap::new(),
        most_total: 0,
        surplus_value: 0.0,
    }
}

/// How many pieces of each part can be fitted at the most. A body at a keyed
/// site serves one net at each location, since its identity does.
fn add_most_fitted(parts: &mut [Part], cells: &[Cell], sites: &[Site]) {
    let uses: Vec<BTreeMap<usize, Qty>> = cells.iter().map(Cell::most_uses).collect();
    let is_body = |cell: &Cell, p: usize| cell.bodies().any(|b| b.part == p);
    let mut at_sites: BTreeMap<usize, Qty> = BTreeMap::new();
    let mut sited = vec![false; cells.len()];
    for site in sites {
        let mut most: BTreeMap<usize, Qty> = BTreeMap::new();
        let mut group = |members: &[usize], cap: Qty| {
            let mut sum: BTreeMap<usize, Qty> = BTreeMap::new();
            for &c in members {
                sited[c] = true;
                for (&p, &qty) in uses[c].iter().filter(|(p, _)| is_body(&cells[c], **p)) {
                    *sum.entry(p).or_default() += qty;
                }
            }
            for (p, qty) in sum {
                let entry = most.entry(p).or_default();
                *entry = qty.min(cap).max(*entry);
            }
        };
        group(&site.loose, site.locations);
        for net in &site.nets {
            group(net, Qty::MAX);
        }
        for (p, qty) in most {
            *at_sites.entry(p).or_default() += qty;
        }
    }
    for (c, cell) in cells.iter().enumerate() {
        for (&p, &qty) in &uses[c] {
            *parts[p].most_fitted.entry(cell.gauge).or_default() += qty;
            if !(sited[c] && is_body(cell, p)) {
                parts[p].most_total += qty;
            }
        }
    }
    for (p, qty) in at_sites {
        parts[p].most_total += qty;
    }
}

/// Dies that are neither owned nor ordered, numbered; each part learns its own.
fn dies(input: &Input, parts: &mut [Part]) -> Vec<Die> {
    let named = |part: &Part| match &input.catalog.part(part.id).spec {
        Spec::Ferrule(ferrule) => ferrule.die.filter(|&d| !input.owns(d)),
        _ => None,
    };
    let mut ids: Vec<DieId> = parts.iter().filter_map(named).collect();
    ids.sort_unstable();
    ids.dedup();
    for part in parts {
        part.die = named(part).and_then(|d| ids.binary_search(&d).ok());
    }
    ids.into_iter()
        .map(|id| Die {
            cost: float(input.catalog.die(id).cost.0),
        })
        .collect()
}

/// The nearest binary number.
pub(super) fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(0.0)
}
