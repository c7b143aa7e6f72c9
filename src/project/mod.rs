//! What is to be built: the settings, the circuits, the stock on hand.

pub mod circuits;
pub mod delivery;
pub mod dies_ordered;
pub(crate) mod keys;
pub mod on_hand;
pub mod ordered;
pub mod settings;

use crate::catalog::{BUILT_IN, DieId, Exit, Kind, PartId, SupplierId, Values};
use crate::diag::Row;
use crate::units::{
    Ampere, Celsius, Currency, Gauge, Implied, Mm, Money, Percent, Protection, Qty, Volt,
};
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// The settings of `project.toml`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// Name of the project.
    pub name: String,
    /// The currency of all totals.
    pub currency: Currency,
    /// Catalog folder as written, relative to the project folder.
    pub catalog: String,
    /// Price list used in place of the catalog's, as written, relative to the project folder.
    pub prices: Option<String>,
    /// Ambient temperature; none = no derating.
    pub ambient: Option<Celsius>,
    /// The most days until delivery; slower offers are left out.
    pub max_lead_days: Option<u32>,
    /// How protection codes are read.
    pub protection: Implied,
    /// Tax on everything, on top of the total.
    pub tax_percent: Percent,
    /// Handling cost per variant.
    pub line_cost: Money,
    /// At most so many variants.
    pub max_variants: Option<u32>,
    /// At most so many suppliers with an order.
    pub max_suppliers: Option<u32>,
    /// At most so many crimp dies bought. No key of the file gives this limit: studies set it.
    pub max_dies: Option<u32>,
    /// Codes of parts that are not fitted.
    pub exclude_parts: BTreeSet<String>,
    /// Names of suppliers that are not bought from.
    pub exclude_suppliers: BTreeSet<String>,
    /// What one unit of each currency is in the project's currency.
    pub rates: BTreeMap<Currency, Decimal>,
    /// Keying rule.
    pub keying: Keying,
    /// Spares rules, at most one per kind.
    pub spares: BTreeMap<Kind, Spares>,
    /// Budget, where there is one.
    pub budget: Option<Budget>,
    /// Other parts are chosen at new prices only if the change saves at least this amount.
    pub worth_changing: Money,
    /// Where the limits stand.
    pub rows: LimitRows,
}

/// One thing that is built, so many times alike, as part of a purchase.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// Its name, unique; without a slash.
    pub name: String,
    /// The folder of its project, as it is written, relative to the purchase folder.
    pub project: String,
    /// How many are built, at least one.
    pub count: Qty,
    /// The settings of its project. Only what is asked of parts counts: `ambient`,
    /// `protection`, `keying`, `exclude_parts`.
    pub settings: Settings,
    /// Where it stands.
    pub row: Row,
}

/// Where the limits of `project.toml` stand; none where a limit is not given.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LimitRows {
    /// `max_lead_days`.
    pub max_lead_days: Option<Row>,
    /// `max_variants`.
    pub max_variants: Option<Row>,
    /// `max_suppliers`.
    pub max_suppliers: Option<Row>,
    /// `keying.distinct`.
    pub distinct: Option<Row>,
    /// Each list of `keying.keys`, by its net.
    pub net_keys: BTreeMap<String, Row>,
    /// Each of `exclude_parts`, by its code.
    pub exclude_parts: BTreeMap<String, Row>,
    /// Each of `exclude_suppliers`, by its name.
    pub exclude_suppliers: BTreeMap<String, Row>,
}

impl Settings {
    /// What one unit of `currency` is in the project's currency: 1 for that currency itself,
    /// none where no rate is given.
    pub fn rate(&self, currency: &Currency) -> Option<Decimal> {
        if *currency == self.currency {
            return Some(Decimal::ONE);
        }
        self.rates.get(currency).copied()
    }
}

/// Where different nets must not share an interface and key, and which keys a net has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Keying {
    /// Off, at each location, or over all of them.
    pub distinct: Distinct,
    /// Locations left out of the rule.
    pub ignore_at: BTreeSet<String>,
    /// The keys that a net may have on every interface, by the whole net of an end. A
    /// body without a key passes.
    pub keys: BTreeMap<String, BTreeSet<String>>,
}

impl Default for Keying {
    /// The rule as it is where a project says nothing of it.
    fn default() -> Keying {
        Keying {
            distinct: Distinct::ByLocation,
            ignore_at: BTreeSet::new(),
            keys: BTreeMap::new(),
        }
    }
}

impl Keying {
    /// True if an end of this net may have a body with this key.
    pub fn allows(&self, net: &str, key: &str) -> bool {
        key.is_empty() || self.keys.get(net).is_none_or(|keys| keys.contains(key))
    }
}

/// How far the keying rule reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Distinct {
    /// No rule.
    Off,
    /// The rule holds for two ends of different nets at one location.
    ByLocation,
    /// The rule holds for two ends of different nets anywhere.
    Everywhere,
}

/// Spares of one kind of part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spares {
    /// Counted for each gauge of a part, or for the part.
    pub per: Per,
    /// Spares in percent of what is fitted, rounded up to whole pieces.
    pub percent: Percent,
    /// At least so many spare pieces.
    pub minimum: Qty,
}

/// What a spares rule counts over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Per {
    /// Each gauge that the part is fitted on.
    Gauge,
    /// The part as a whole.
    Part,
}

/// What the whole may cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Budget {
    /// The most that the whole may cost, in the project's currency.
    pub limit: Money,
    /// The share of the limit that is kept back.
    pub contingency_percent: Percent,
}

/// Whether the conductors of a circuit run in one cable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cable {
    /// Each conductor is a cable with ends of its own.
    Single,
    /// One cable, one pair at each end.
    Multi,
}

/// One cable route from a location to a location.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Circuit {
    /// Name, unique; in a purchase the name of its machine, a slash, and the name that
    /// `circuits.csv` gives it.
    pub name: String,
    /// The machine that it belongs to, by place among the machines of a purchase; 0 in a
    /// project.
    pub machine: usize,
    /// How often that machine is built: 1 in a project.
    pub copies: Qty,
    /// Net names.
    pub conductors: Vec<String>,
    /// One cable or several.
    pub cable: Cable,
    /// Where it begins.
    pub from: Terminal,
    /// Where it ends.
    pub to: Terminal,
    /// Continuous current of each conductor.
    pub current: Ampere,
    /// Working voltage.
    pub voltage: Volt,
    /// Gauge of each conductor.
    pub gauge: Gauge,
    /// Outer diameter of the cable.
    pub cable_od: Mm,
    /// Protection wanted, if any.
    pub ip: Option<Protection>,
    /// Colour wanted, if any.
    pub colour: Option<String>,
    /// The fused branch that the circuit hangs on; may be empty.
    pub branch: String,
    /// The user's remark.
    pub note: String,
    /// Where the circuit stands.
    pub row: Row,
}

/// The name of a machine's circuit: `ferry/port drive`. A machine's name has no slash, so
/// no two circuits share a name.
pub fn circuit_name(machine: &str, circuit: &str) -> String {
    format!("{machine}/{circuit}")
}

impl Circuit {
    /// The name that `circuits.csv` gives it, without that of its machine.
    pub fn own_name(&self, machines: &[Machine]) -> &str {
        let machine = machines.get(self.machine);
        let own = machine.and_then(|machine| self.name.strip_prefix(&machine.name));
        own.and_then(|rest| rest.strip_prefix('/'))
            .unwrap_or(&self.name)
    }

    /// The whole net of each of its ends: each conductor, or all of a multi-core cable
    /// joined by a space.
    pub fn nets(&self) -> Vec<String> {
        match self.cable {
            Cable::Single => self.conductors.clone(),
            Cable::Multi => vec![self.conductors.join(" ")],
        }
    }
}

/// One end of a circuit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Terminal {
    /// Location.
    pub location: String,
    /// What the receptacle attaches to, or [`BUILT_IN`]; none = no connector here.
    pub attach: Option<String>,
    /// Exit wanted of the plug; none = either.
    pub exit: Option<Exit>,
    /// Mating face that both halves must have; none = any.
    pub interface: Option<String>,
    /// Keying position that both halves must have; none = any.
    pub key: Option<String>,
    /// What is wanted of each attribute of the catalog.
    pub wants: Values,
}

impl Terminal {
    /// True if the device has its receptacle already.
    pub fn is_built_in(&self) -> bool {
        self.attach.as_deref() == Some(BUILT_IN)
    }
}

/// Pieces on hand, for each part that has any.
pub type OnHand = BTreeMap<PartId, Qty>;

/// One row of `ordered.csv`: pieces that were ordered, and paid for.
///
/// They count as available whether they have come or not, and are not to be
/// counted in `on_hand.csv` as well.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ordered {
    /// Which part.
    pub part: PartId,
    /// From whom.
    pub supplier: SupplierId,
    /// The supplier's code for what was ordered; empty where the row gives none.
    pub sku: String,
    /// Pieces ordered, at least one.
    pub qty: Qty,
    /// Price of a piece in the supplier's currency.
    pub unit_price: Money,
    /// Day of the order.
    pub ordered_on: Date,
    /// Pieces that have come, at most `qty`.
    pub received: Qty,
    /// Shipping and duty that the row carries, in the supplier's currency.
    pub charges: Money,
    /// The user's remark.
    pub note: String,
    /// Where the row stands.
    pub row: Row,
}

/// One row of `dies_ordered.csv`: a crimp die that was ordered, and paid for. It
/// counts as owned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DieOrdered {
    /// Which die.
    pub die: DieId,
    /// What the die cost, in the project's currency.
    pub cost: Money,
    /// Day of the order.
    pub ordered_on: Date,
    /// The user's remark.
    pub note: String,
    /// Where the row stands.
    pub row: Row,
}
