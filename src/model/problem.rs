//! What the integer program is made from: cells of like ends, the parts that
//! they can use, and what those cost. Money here is binary floating point, in
//! the project's currency unless said otherwise; only the solver sees it.

use super::cells::{Cell, Site};
use crate::catalog::{OfferId, PartId};
use crate::project::{Per, Spares};
use crate::units::{Gauge, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;

/// Everything that the program is built from.
#[derive(Debug, Clone)]
pub struct Problem {
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
    /// Dies that are neither owned nor ordered and that some part names, by id.
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
    /// Its offers, by place in [`Problem::offers`].
    pub offers: Vec<usize>,
    /// Its die, by place in [`Problem::dies`].
    pub die: Option<usize>,
    /// Spares rule of its kind.
    pub spares: Option<Spares>,
    /// The most pieces that can be fitted, for each gauge that it can be fitted on.
    pub most_fitted: BTreeMap<Gauge, Qty>,
    /// The most pieces that can be fitted over all gauges.
    pub most_total: Qty,
    /// What a piece of surplus counts: the lowest price that the part is offered
    /// at, without duty.
    pub surplus_value: f64,
}

/// A usable offer.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its id in the catalog.
    pub id: OfferId,
    /// Its part, by place in [`Problem::parts`].
    pub part: usize,
    /// Its supplier, by place in [`Problem::suppliers`].
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
    /// How many units of money make 1 of its currency: more than 1 where
    /// prices have so many decimals that the solver would not see what is
    /// missing to a threshold.
    pub units: f64,
    /// Goods in its units from which shipping is free.
    pub free_over: Option<f64>,
    /// Least goods in its units.
    pub min_order: f64,
    /// What one of its units costs with duty, in the project's currency.
    pub goods_rate: f64,
    /// Its offers, by place in [`Problem::offers`].
    pub offers: Vec<usize>,
}

/// A die that would have to be bought.
#[derive(Debug, Clone, Copy)]
pub struct Die {
    /// What it costs.
    pub price: f64,
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

/// The nearest binary number.
pub(super) fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(0.0)
}
