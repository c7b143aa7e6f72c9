//! What `plan.json` says.

use crate::input::InputFile;
use crate::project::{Settings, circuit_name};
use crate::units::{Currency, Money, Qty};
use jiff::civil::Date;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// The schema that this version writes.
pub const SCHEMA: &str = "couplet.plan/2";

/// Schemas of earlier versions, which are read too: what they lack has its default.
pub const EARLIER: [&str; 1] = ["couplet.plan/1"];

/// How far the plan is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Status {
    /// No compatible set is cheaper.
    Optimal,
    /// The gap is within what was asked for.
    WithinGap,
    /// The time ran out; `gap_percent` tells how much is left.
    TimeLimit,
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// The version of this form, [`SCHEMA`].
    #[schemars(
        description = "The version of this form.",
        extend("const" = SCHEMA)
    )]
    pub schema: String,
    /// Name of the project.
    pub project: String,
    /// The project's currency.
    pub currency: Currency,
    /// Day of the newest quote in use, or the day that the user named; null where
    /// no price has a date.
    #[schemars(with = "Option<String>", extend("format" = "date"))]
    pub as_of: Option<Date>,
    /// The price list that was named in place of the project's own, relative to
    /// the project folder; absent where it was the project's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prices: Option<String>,
    /// How far the plan is proven.
    pub status: Status,
    /// No plan can cost less than this.
    pub total_bound: Money,
    /// (total − bound) / total, in percent, rounded up to four decimals.
    #[serde(with = "rust_decimal::serde::float")]
    #[schemars(with = "f64")]
    pub gap_percent: Decimal,
    /// Where nothing is cheaper, how many runs of the solver say so, by different
    /// ways; absent in a record of an earlier version, which had one run.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<u8>,
    /// Answers of the solver that were found wrong and thrown away.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub doubts: usize,
    /// What is still to be spent, in the project's currency.
    pub cost: Cost,
    /// What everything in `ordered.csv` and `dies_ordered.csv` cost, in the
    /// project's currency; a record without this sum has spent nothing.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub spent: Money,
    /// The machines of a purchase, in order; absent in the plan of a project.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub machines: Vec<MachineRecord>,
    /// Sets of all ends, in the order of the circuits. Machines that are built several
    /// times are all alike, and each end of them stands once.
    pub ends: Vec<EndRecord>,
    /// Everything fitted, by part code.
    pub parts: Vec<PartRecord>,
    /// Orders, by supplier name.
    pub orders: Vec<Order>,
    /// What is ordered already, by part code and supplier.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ordered: Vec<OrderedRecord>,
    /// Files that the plan was made from.
    pub inputs: Vec<InputFile>,
}

/// The terms of the total, in the project's currency, exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cost {
    /// Goods of all suppliers.
    pub goods: Money,
    /// Duty on the goods.
    pub duty: Money,
    /// Shipping.
    pub shipping: Money,
    /// Crimp dies that are neither owned nor ordered.
    pub dies: Money,
    /// Handling: line cost × variants.
    pub lines: Money,
    /// Sum of the terms above.
    pub total: Money,
    /// Tax on the total.
    pub tax: Money,
    /// Sum of total and tax.
    pub total_with_tax: Money,
}

/// One machine of a purchase.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MachineRecord {
    /// Name of the machine.
    pub machine: String,
    /// The folder of its project as `purchase.toml` names it.
    pub project: String,
    /// How many are built.
    pub count: Qty,
}

/// What serves one end.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct EndRecord {
    /// Machine by name; absent in the plan of a project.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub machine: String,
    /// Circuit by name.
    pub circuit: String,
    /// Net, or all nets of a multi-core cable joined by a space.
    pub net: String,
    /// `from` or `to`.
    pub end: String,
    /// Location.
    pub location: String,
    /// Gauge as it is named.
    pub gauge: String,
    /// Part code of the plug.
    pub plug: String,
    /// Part code of the receptacle; null where the device has its own.
    pub receptacle: Option<String>,
    /// Keying position of both halves.
    pub key: String,
    /// Mating face of both halves.
    pub interface: String,
    /// The receptacle's fittings, then the plug's; on each half ferrule, seal, back shell.
    pub fittings: Vec<FittingRecord>,
}

impl EndRecord {
    /// The name of its circuit, in a purchase behind the name of its machine and a slash:
    /// the name that [`crate::project::Circuit`] has.
    pub fn circuit_name(&self) -> Cow<'_, str> {
        match self.machine.as_str() {
            "" => Cow::Borrowed(&self.circuit),
            machine => Cow::Owned(circuit_name(machine, &self.circuit)),
        }
    }

    /// The half and the part code of each body: the receptacle if there is one to be
    /// had, then the plug.
    pub fn bodies(&self) -> impl Iterator<Item = (&'static str, &str)> {
        let receptacle = self.receptacle.as_deref().map(|code| ("receptacle", code));
        receptacle.into_iter().chain([("plug", self.plug.as_str())])
    }
}

/// A fitting on one body.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct FittingRecord {
    /// `plug` or `receptacle`.
    pub half: String,
    /// `ferrule`, `seal` or `back-shell`.
    pub kind: String,
    /// Part code.
    pub part: String,
    /// Pieces.
    pub qty: Qty,
}

/// One part that the plan fits.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PartRecord {
    /// Part code.
    pub part: String,
    /// One of the five kinds.
    pub kind: String,
    /// Pieces fitted over all ends.
    pub fitted: Qty,
    /// Spare pieces by the spares rules.
    pub spare: Qty,
    /// Pieces used of what is on hand.
    pub on_hand_used: Qty,
    /// Pieces used of what is ordered already, once nothing is left on hand.
    #[serde(default, skip_serializing_if = "is_none")]
    pub ordered_used: Qty,
    /// Pieces bought from all suppliers.
    pub bought: Qty,
    /// bought + on_hand_used + ordered_used − fitted − spare.
    pub surplus: Qty,
}

/// What is ordered already of one part from one supplier, under one sku.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderedRecord {
    /// Part code.
    pub part: String,
    /// Supplier by name.
    pub supplier: String,
    /// The supplier's code where the order gives it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub sku: String,
    /// Pieces, received or not.
    pub qty: Qty,
    /// Pieces that the plan does not use.
    pub unused: Qty,
    /// What the unused pieces cost, in the project's currency, without charges.
    pub worth: Money,
}

/// What is ordered from one supplier, in its currency.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// Supplier by name.
    pub supplier: String,
    /// Its currency.
    pub currency: Currency,
    /// Lines, by part code.
    pub lines: Vec<OrderLine>,
    /// Sum of the lines.
    pub goods: Money,
    /// Duty on the goods.
    pub duty: Money,
    /// Shipping, zero where it is free.
    pub shipping: Money,
    /// Sum of goods, duty and shipping.
    pub total: Money,
}

/// One line of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderLine {
    /// Part code.
    pub part: String,
    /// The supplier's code; may be empty.
    pub sku: String,
    /// Pieces.
    pub qty: Qty,
    /// Packs: qty / pack.
    pub packs: Qty,
    /// Price of a piece at this quantity.
    pub unit_price: Money,
    /// qty × unit_price.
    pub line_total: Money,
}

impl Order {
    /// Its total in the project's currency; none without a rate, or where the
    /// total is beyond exact decimals.
    pub fn total_at_home(&self, settings: &Settings) -> Option<Money> {
        let rate = settings.rate(&self.currency)?;
        self.total.0.checked_mul(rate).map(Money)
    }
}

impl Plan {
    /// How often the machine of an end is built; once in the plan of a project.
    pub fn copies(&self, end: &EndRecord) -> Qty {
        let mut machines = self.machines.iter();
        let own = machines.find(|of| of.machine == end.machine);
        own.map_or(1, |of| of.count)
    }

    /// Runs of the solver that prove that nothing is cheaper; 0 where nothing
    /// is proven.
    pub fn witnesses(&self) -> u8 {
        match self.status {
            Status::Optimal => self.proof.unwrap_or(1),
            Status::WithinGap | Status::TimeLimit => 0,
        }
    }

    /// What everything comes to: spent and still to be spent.
    pub fn altogether(&self) -> Money {
        self.spent + self.cost.total
    }
}

fn is_nothing(money: &Money) -> bool {
    *money == Money::ZERO
}

fn is_zero(count: &usize) -> bool {
    *count == 0
}

fn is_none(qty: &Qty) -> bool {
    *qty == 0
}

impl Cost {
    /// The terms of the total with their names, all that there are, in the order
    /// in which tables show them.
    pub fn terms(&self) -> [(&'static str, Money); 5] {
        [
            ("goods", self.goods),
            ("duty", self.duty),
            ("shipping", self.shipping),
            ("dies", self.dies),
            ("handling", self.lines),
        ]
    }
}
