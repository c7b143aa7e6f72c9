//! What became of the recorded lines on a new price list, and what took their
//! place.

use super::changes::places;
use super::offers::{Several, offer, offer_now};
use crate::catalog::{Catalog, Offer};
use crate::fit::supply::{Lack, least_order, offer_lack};
use crate::input::Input;
use crate::plan::{EndRecord, Order, OrderLine, Plan};
use crate::units::Qty;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeSet;

/// What became of a line, a part or a supplier.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// The supplier offers nothing at all any more.
    SupplierGone,
    /// Nobody offers the part any more.
    PartGone,
    /// This supplier offers the part no more, or not under the sku of the line.
    NotOffered,
    /// The supplier's only offer of the part has another sku.
    Renamed {
        /// The sku before.
        before: String,
        /// The sku now.
        sku: String,
    },
    /// The project excludes the part or the supplier.
    Excluded,
    /// The supplier has fewer pieces in stock than the line needs.
    Stock {
        /// Pieces that are left.
        stock: Qty,
        /// Pieces of the line.
        wanted: Qty,
    },
    /// Delivery takes longer than the project allows.
    TooSlow {
        /// Days until delivery.
        days: u32,
        /// The most that the project allows.
        limit: u32,
    },
    /// Delivery takes longer than it did, but not too long.
    Slower {
        /// Days before.
        before: u32,
        /// Days now.
        days: u32,
    },
    /// The line is no whole number of packs any more.
    Pack {
        /// Pieces in a pack now.
        pack: Qty,
    },
    /// The line is below the least that can be ordered.
    Least {
        /// The least that can be ordered now.
        least: Qty,
    },
}

/// What became of a line, a part or a supplier, and what the new plan has instead.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Shift {
    /// The part; none where the shift is about a supplier as a whole.
    pub part: Option<String>,
    /// The supplier; none where nobody sells the part.
    pub supplier: Option<String>,
    /// The supplier's code, where the supplier has or had several offers of the part.
    pub sku: Option<String>,
    /// What became of it.
    pub what: What,
    /// Suppliers that the part is bought from now.
    pub bought_from: Vec<String>,
    /// The offers that the part is bought from now.
    pub bought_as: Vec<Source>,
    /// Parts that are fitted at its places now, where it is not.
    pub parts_instead: Vec<String>,
    /// True if what is on hand or ordered serves now.
    pub from_shelf: bool,
}

/// An offer that a part is bought from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
pub struct Source {
    /// The supplier.
    pub supplier: String,
    /// The supplier's code, where the supplier has or had several offers of the part.
    pub sku: Option<String>,
}

/// All shifts of the lines that were to be bought, in the order of suppliers
/// and parts. `old` is the catalog with the old prices, if it is still there;
/// where there is no new plan, nothing has taken a place.
pub fn shifts(
    input: &Input,
    old: Option<&Catalog>,
    plan: &Plan,
    open: &[Order],
    new: Option<&Plan>,
) -> Vec<Shift> {
    let several = Several::known(&input.catalog, old, plan);
    let mut shifts = BTreeSet::new();
    for order in open {
        let supplier = order.supplier.as_str();
        if is_gone(&input.catalog, supplier) {
            shifts.insert(Shift::bare(What::SupplierGone).of(supplier));
        }
        for line in &order.lines {
            let excluded = excludes(input, plan, &line.part);
            for what in what(input, old, &several, (supplier, excluded), line) {
                let mut shift = Shift::bare(what);
                shift.part = Some(line.part.clone());
                if shift.what != What::PartGone {
                    shift = shift.of(supplier);
                    shift.sku = several.sku(&line.part, supplier, &line.sku);
                }
                if let Some(new) = new {
                    shift.find_instead(&line.part, plan, new, &several);
                }
                shifts.insert(shift);
            }
        }
    }
    shifts.into_iter().collect()
}

fn is_gone(catalog: &Catalog, supplier: &str) -> bool {
    let id = catalog.find_supplier(supplier);
    id.is_none_or(|id| catalog.offers.iter().all(|offer| offer.supplier != id))
}

/// What became of the offer of a line; a new sku and perhaps something else.
fn what(
    input: &Input,
    old: Option<&Catalog>,
    several: &Several,
    (supplier, is_excluded): (&str, bool),
    line: &OrderLine,
) -> Vec<What> {
    let catalog = &input.catalog;
    let offers = catalog.find(&line.part).map(|id| catalog.offers_of(id));
    if offers.is_none_or(|mut offers| offers.next().is_none()) {
        return vec![What::PartGone];
    }
    let Some((_, now)) = offer_now(catalog, several, supplier, &line.part, &line.sku) else {
        return vec![What::NotOffered];
    };
    let renamed = (now.sku != line.sku).then(|| What::Renamed {
        before: line.sku.clone(),
        sku: now.sku.clone(),
    });
    let then = old.and_then(|old| offer(old, supplier, &line.part, &line.sku));
    let terms = match is_excluded {
        true => Some(What::Excluded),
        false => terms(input, then.map(|(_, then)| then), now, line),
    };
    renamed.into_iter().chain(terms).collect()
}

/// True if the part is excluded, or each machine that has it in the plan excludes it now.
fn excludes(input: &Input, plan: &Plan, part: &str) -> bool {
    if input.settings.exclude_parts.contains(part) {
        return true;
    }
    let is_on = |end: &&EndRecord| {
        let mut bodies = end.bodies().map(|(_, code)| code);
        bodies.any(|code| code == part) || end.fittings.iter().any(|f| f.part == part)
    };
    let users: BTreeSet<&str> = (plan.ends.iter().filter(is_on))
        .map(|end| end.machine.as_str())
        .collect();
    let excludes = |name: &str| {
        let mut machines = input.machines.iter();
        let own = machines.find(|of| of.name == name);
        own.is_some_and(|of| of.settings.exclude_parts.contains(part))
    };
    !users.is_empty() && users.into_iter().all(excludes)
}

/// What keeps the line from being bought from the offer as it was, if anything.
fn terms(input: &Input, then: Option<&Offer>, offer: &Offer, line: &OrderLine) -> Option<What> {
    match offer_lack(input, offer) {
        Some(Lack::Supplier | Lack::Excluded) => return Some(What::Excluded),
        Some(Lack::Slow { days, limit }) => return Some(What::TooSlow { days, limit }),
        _ => {}
    }
    let qty = line.qty;
    if let Some(stock) = offer.stock.filter(|stock| *stock < qty) {
        return Some(What::Stock { stock, wanted: qty });
    }
    if let Some(least) = least_order(offer).filter(|least| *least > qty) {
        return Some(What::Least { least });
    }
    if !qty.is_multiple_of(offer.pack.max(1)) {
        return Some(What::Pack { pack: offer.pack });
    }
    let before = then?.lead_days?;
    let days = offer.lead_days.filter(|days| *days > before)?;
    Some(What::Slower { before, days })
}

impl Shift {
    fn bare(what: What) -> Shift {
        Shift {
            part: None,
            supplier: None,
            sku: None,
            what,
            bought_from: Vec::new(),
            bought_as: Vec::new(),
            parts_instead: Vec::new(),
            from_shelf: false,
        }
    }

    fn of(self, supplier: &str) -> Shift {
        Shift {
            supplier: Some(supplier.to_owned()),
            ..self
        }
    }

    /// What serves where the part did.
    fn find_instead(&mut self, part: &str, plan: &Plan, new: &Plan, several: &Several) {
        for order in &new.orders {
            let supplier = &order.supplier;
            let lines = order.lines.iter().filter(|line| line.part == part);
            let sources = lines.map(|line| Source {
                supplier: supplier.clone(),
                sku: several.sku(part, supplier, &line.sku),
            });
            let before = self.bought_as.len();
            self.bought_as.extend(sources);
            if self.bought_as.len() > before {
                self.bought_from.push(supplier.clone());
            }
        }
        let old_places = places(plan).remove(part).unwrap_or_default();
        let now = places(new);
        if now.contains_key(part) {
            self.from_shelf = self.bought_from.is_empty();
            return;
        }
        let takers = now.iter().filter(|(_, at)| !at.is_disjoint(&old_places));
        self.parts_instead = takers.map(|(part, _)| (*part).to_owned()).collect();
    }
}
