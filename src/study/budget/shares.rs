//! The total by machine, circuit, kind, supplier and gauge, to the cent.

use crate::catalog::Kind;
use crate::input::Input;
use crate::plan::{EndRecord, PartRecord, Plan};
use crate::units::{Money, Qty, apportion};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;

/// What an amount is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Term {
    /// Goods that are fitted.
    Fitted,
    /// Goods that are spare.
    Spare,
    /// Goods beyond fitted and spare.
    Surplus,
    /// Duty.
    Duty,
    /// Shipping.
    Shipping,
    /// Crimp dies.
    Dies,
    /// Handling of variants.
    Handling,
}

impl Term {
    /// All, in the order in which they are shown.
    pub const ALL: [Term; 7] = [
        Term::Fitted,
        Term::Spare,
        Term::Surplus,
        Term::Duty,
        Term::Shipping,
        Term::Dies,
        Term::Handling,
    ];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Term::Fitted => "fitted",
            Term::Spare => "spare",
            Term::Surplus => "surplus",
            Term::Duty => "duty",
            Term::Shipping => "shipping",
            Term::Dies => "dies",
            Term::Handling => "handling",
        }
    }

    /// By what the term is shared among circuits and gauges.
    pub fn key(self) -> &'static str {
        match self {
            Term::Fitted => {
                "in full: pieces fitted there at the average price that the part is bought at; \
                 stock on hand serves what is fitted first, and makes all pieces of the part \
                 alike cheaper"
            }
            Term::Spare | Term::Surplus => "by the pieces of that part that are fitted there",
            Term::Duty => "as the goods that the duty is paid on",
            Term::Shipping => "by the value of what is bought from that supplier for there",
            Term::Dies => "by the pieces fitted there that are crimped with that die",
            Term::Handling => "each variant by the pieces of it that are fitted there",
        }
    }
}

/// Amounts by [`Term`], in its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Terms(pub [Money; 7]);

impl Terms {
    /// The amount of one term.
    pub fn of(&self, term: Term) -> Money {
        self.0[term as usize]
    }

    /// Sum of all.
    pub fn total(&self) -> Money {
        self.0.iter().copied().sum()
    }
}

/// A way to divide the total.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Key {
    /// Machines of a purchase, in their order.
    Machine,
    /// Circuits, in their order.
    Circuit,
    /// Kinds of part.
    Kind,
    /// Suppliers; dies and handling stand apart.
    Supplier,
    /// Gauges, in the order of their first ends.
    Gauge,
}

impl Key {
    /// All, in the order in which they are shown.
    pub const ALL: [Key; 5] = [
        Key::Machine,
        Key::Circuit,
        Key::Kind,
        Key::Supplier,
        Key::Gauge,
    ];

    /// Its name.
    pub fn word(self) -> &'static str {
        match self {
            Key::Machine => "machine",
            Key::Circuit => "circuit",
            Key::Kind => "kind",
            Key::Supplier => "supplier",
            Key::Gauge => "gauge",
        }
    }
}

/// One machine, circuit, kind, supplier or gauge with its share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Its name; empty for what no supplier bills.
    pub name: String,
    /// Its share, to the cent.
    pub terms: Terms,
}

/// The share of one of several machines that are alike.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfMachine {
    /// How many are built.
    pub count: Qty,
    /// The share of the first, to the cent. Where the cents do not divide, the first ones
    /// have one more of a term than the last ones.
    pub first: Terms,
    /// The share of the last.
    pub last: Terms,
}

/// The total divided in several ways; each adds up to the total, term by term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Breakdown {
    /// To the cent; their sum is the total to the cent.
    pub terms: Terms,
    /// For each key its groups. There are machines in a purchase only.
    pub groups: BTreeMap<Key, Vec<Group>>,
    /// For each group of [`Key::Machine`], what one of them comes to.
    pub machines: Vec<OfMachine>,
}

/// Divides the total of a plan.
pub fn breakdown(input: &Input, plan: &Plan) -> Breakdown {
    let cells = cells(input, plan);
    let mut exact = [Money::ZERO; 7];
    for cell in &cells {
        exact[cell.term as usize] += Money(cell.amount);
    }
    // Quotients are cut off after 28 digits: what that loses must not show.
    let exact = exact.map(|amount| Money(amount.0.round_dp(15)));
    let terms: Vec<Money> = apportion(&exact);
    let mut shown = Terms::default();
    for (place, term) in shown.0.iter_mut().zip(terms) {
        *place = term;
    }
    let rest = plan.cost.total.cents() - shown.total();
    if let Some(largest) = shown.0.iter_mut().max() {
        *largest += rest;
    }
    let has_machines = !input.machines.is_empty();
    let keys = (Key::ALL.into_iter()).filter(|key| has_machines || *key != Key::Machine);
    let groups: BTreeMap<Key, Vec<Group>> =
        keys.map(|key| (key, groups(&cells, key, &shown))).collect();
    let machines = groups.get(&Key::Machine).into_iter().flatten();
    Breakdown {
        terms: shown,
        machines: machines.map(|group| of_machine(input, group)).collect(),
        groups,
    }
}

/// What one of a machine comes to.
fn of_machine(input: &Input, group: &Group) -> OfMachine {
    let machine = input.machines.iter().find(|of| of.name == group.name);
    let count = machine.map_or(1, |machine| machine.count);
    let (mut first, mut last) = (Terms::default(), Terms::default());
    for (place, amount) in group.terms.0.into_iter().enumerate() {
        let cents = amount.cents().0 * Decimal::ONE_HUNDRED;
        let each = (cents / Decimal::from(count)).floor();
        let is_uneven = each * Decimal::from(count) < cents;
        let money = |cents: Decimal| Money(cents / Decimal::ONE_HUNDRED).cents();
        last.0[place] = money(each);
        first.0[place] = money(each + Decimal::from(u8::from(is_uneven)));
    }
    OfMachine { count, first, last }
}

/// Splits an amount into whole cents by weights, by largest remainder (ties:
/// the first); the shares add up to the amount. Where all weights are nothing,
/// they count as equal.
///
/// ```
/// use couplet::study::budget::share;
/// use couplet::units::Money;
/// let weights = ["1", "1", "1"].map(|w| w.parse().unwrap());
/// let shares = share("1.00".parse().unwrap(), &weights);
/// assert_eq!(shares.iter().map(Money::to_string).collect::<Vec<_>>(), ["0.34", "0.33", "0.33"]);
/// ```
pub fn share(amount: Money, weights: &[Decimal]) -> Vec<Money> {
    let cents = (amount.cents().0 * Decimal::ONE_HUNDRED).normalize();
    let sum: Decimal = weights.iter().sum();
    let even = [Decimal::ONE].repeat(weights.len());
    let (weights, sum) = match sum.is_zero() {
        true => (even.as_slice(), Decimal::from(weights.len())),
        false => (weights, sum),
    };
    let quotas: Vec<Decimal> = weights.iter().map(|w| cents * (w / sum)).collect();
    let mut whole: Vec<Decimal> = quotas.iter().map(Decimal::floor).collect();
    let missing = cents - whole.iter().sum::<Decimal>();
    let mut order: Vec<usize> = (0..quotas.len()).collect();
    order.sort_by_key(|&i| std::cmp::Reverse(quotas[i] - whole[i]));
    let missing = missing.to_usize().unwrap_or(0);
    for i in order.into_iter().take(missing) {
        whole[i] += Decimal::ONE;
    }
    let money = |cents: Decimal| Money(cents / Decimal::ONE_HUNDRED).cents();
    whole.into_iter().map(money).collect()
}

/// A piece of the total that belongs to one term and one group of each key.
struct Cell {
    term: Term,
    amount: Decimal,
    /// Bought pieces that belong here, where the term is goods; may be a fraction.
    pieces: Decimal,
    /// Place and name of the group for each key, by place in [`Key::ALL`].
    names: [(usize, String); 5],
}

fn groups(cells: &[Cell], key: Key, terms: &Terms) -> Vec<Group> {
    let mut exact: BTreeMap<(usize, String), [Decimal; 7]> = BTreeMap::new();
    for cell in cells {
        let of = exact.entry(cell.names[key as usize].clone()).or_default();
        of[cell.term as usize] += cell.amount;
    }
    let mut groups: Vec<Group> = (exact.keys())
        .map(|(_, name)| Group {
            name: name.clone(),
            terms: Terms::default(),
        })
        .collect();
    if groups.is_empty() {
        return groups;
    }
    for term in Term::ALL {
        let weights: Vec<Decimal> = exact.values().map(|of| of[term as usize]).collect();
        let shares = share(terms.of(term), &weights);
        for (group, share) in groups.iter_mut().zip(shares) {
            group.terms.0[term as usize] = share;
        }
    }
    groups
}

/// Where a part is fitted: machine, circuit and gauge by place and name, and pieces.
type Uses = BTreeMap<[(usize, String); 3], Qty>;

fn cells(input: &Input, plan: &Plan) -> Vec<Cell> {
    let uses = uses(input, plan);
    let none = Uses::new();
    let ground = Ground { input, plan };
    let mut cells = Vec::new();
    for part in &plan.parts {
        ground.add_part(part, uses.get(&part.part).unwrap_or(&none), &mut cells);
    }
    ground.add_shipping(&mut cells);
    ground.add_dies(&uses, &mut cells);
    cells
}

/// For each part where its pieces go.
fn uses(input: &Input, plan: &Plan) -> BTreeMap<String, Uses> {
    let circuits: BTreeMap<&str, usize> = (input.circuits.iter().enumerate())
        .map(|(place, circuit)| (circuit.name.as_str(), place))
        .collect();
    let mut gauges: Vec<&str> = Vec::new();
    let mut uses: BTreeMap<String, Uses> = BTreeMap::new();
    for end in &plan.ends {
        let known = gauges.iter().position(|g| *g == end.gauge);
        let gauge = known.unwrap_or_else(|| {
            gauges.push(&end.gauge);
            gauges.len() - 1
        });
        let name = end.circuit_name().into_owned();
        let circuit = circuits.get(name.as_str()).copied().unwrap_or(0);
        let copies = plan.copies(end);
        let machine = input
            .circuits
            .get(circuit)
            .map_or(0, |circuit| circuit.machine);
        let place = [
            (machine, end.machine.clone()),
            (circuit, name),
            (gauge, end.gauge.clone()),
        ];
        for (part, qty) in pieces(end) {
            let uses = uses.entry(part.to_owned()).or_default();
            *uses.entry(place.clone()).or_default() += qty * copies;
        }
    }
    uses
}

fn pieces(end: &EndRecord) -> impl Iterator<Item = (&str, Qty)> {
    let bodies = end.bodies().map(|(_, code)| (code, 1));
    let fittings = end.fittings.iter().map(|f| (f.part.as_str(), f.qty));
    bodies.chain(fittings)
}

struct Ground<'a> {
    input: &'a Input,
    plan: &'a Plan,
}

/// The place after all suppliers, for what no supplier bills.
const NO_SUPPLIER: usize = usize::MAX;

impl Ground<'_> {
    fn rate(&self, currency: &crate::units::Currency) -> Decimal {
        self.input.settings.rate(currency).unwrap_or(Decimal::ONE)
    }

    /// Goods, duty and handling of a part.
    fn add_part(&self, part: &PartRecord, uses: &Uses, cells: &mut Vec<Cell>) {
        let kind = kind(part);
        let spare = part.spare.min(part.bought.saturating_sub(part.surplus));
        let fitted = part.bought - part.surplus.min(part.bought) - spare;
        let parts = [
            (Term::Fitted, fitted),
            (Term::Spare, spare),
            (Term::Surplus, part.surplus.min(part.bought)),
        ];
        for (place, order) in self.plan.orders.iter().enumerate() {
            let rate = self.rate(&order.currency);
            let lines = order.lines.iter().filter(|line| line.part == part.part);
            let amounts: Vec<Decimal> = lines.map(|line| line.line_total.0 * rate).collect();
            if amounts.is_empty() {
                continue;
            }
            let goods: Decimal = amounts.iter().sum();
            let duty = self.duty(&order.supplier);
            let supplier = (place, order.supplier.clone());
            for (term, qty) in parts.into_iter().filter(|&(_, qty)| qty > 0) {
                let amount = goods * Decimal::from(qty) / Decimal::from(part.bought);
                let goods = Lump {
                    term,
                    amount,
                    pieces: qty,
                    kind: &kind,
                    supplier: &supplier,
                };
                spread(&goods, uses, cells);
                let duty = Lump {
                    term: Term::Duty,
                    amount: amount * duty,
                    pieces: 0,
                    ..goods
                };
                spread(&duty, uses, cells);
            }
        }
        let handling = self.input.settings.line_cost.0;
        let nobody = (NO_SUPPLIER, String::new());
        let lump = Lump {
            term: Term::Handling,
            amount: handling,
            pieces: 0,
            kind: &kind,
            supplier: &nobody,
        };
        spread(&lump, uses, cells);
    }

    fn duty(&self, supplier: &str) -> Decimal {
        let catalog = &self.input.catalog;
        let percent = catalog
            .find_supplier(supplier)
            .map(|id| catalog.supplier(id).duty_percent.0);
        percent.unwrap_or_default() / Decimal::ONE_HUNDRED
    }

    /// Shares shipping of each order by the goods bought there, or by their pieces
    /// where these goods cost nothing.
    fn add_shipping(&self, cells: &mut Vec<Cell>) {
        let goods: Vec<Cell> = std::mem::take(cells);
        for (place, order) in self.plan.orders.iter().enumerate() {
            let shipping = order.shipping.0 * self.rate(&order.currency);
            let here = || {
                let is_goods = |c: &&Cell| c.term < Term::Duty;
                goods
                    .iter()
                    .filter(move |c| is_goods(c) && c.names[Key::Supplier as usize].0 == place)
            };
            let sum: Decimal = here().map(|c| c.amount).sum();
            let pieces: Decimal = here().map(|c| c.pieces).sum();
            cells.extend(here().map(|c| Cell {
                term: Term::Shipping,
                amount: match sum.is_zero() {
                    true => shipping * (c.pieces / pieces),
                    false => shipping * (c.amount / sum),
                },
                pieces: c.pieces,
                names: c.names.clone(),
            }));
        }
        cells.extend(goods);
    }

    /// Shares each die that is bought by the pieces crimped with it.
    fn add_dies(&self, uses: &BTreeMap<String, Uses>, cells: &mut Vec<Cell>) {
        let catalog = &self.input.catalog;
        let mut of_die: BTreeMap<_, Uses> = BTreeMap::new();
        for part in &self.plan.parts {
            let Some(die) = catalog.die_of(&part.part) else {
                continue;
            };
            for (place, qty) in uses.get(&part.part).into_iter().flatten() {
                *of_die
                    .entry(die)
                    .or_default()
                    .entry(place.clone())
                    .or_default() += qty;
            }
        }
        let kind = (Kind::Ferrule as usize, Kind::Ferrule.word().to_owned());
        let nobody = (NO_SUPPLIER, String::new());
        for (id, uses) in of_die {
            if !self.input.owns(id) {
                let lump = Lump {
                    term: Term::Dies,
                    amount: catalog.die(id).cost.0,
                    pieces: 0,
                    kind: &kind,
                    supplier: &nobody,
                };
                spread(&lump, &uses, cells);
            }
        }
    }
}

fn kind(part: &PartRecord) -> (usize, String) {
    let place = Kind::ALL.iter().position(|k| k.word() == part.kind);
    (place.unwrap_or(Kind::ALL.len()), part.kind.clone())
}

/// An amount that is still to be shared.
#[derive(Clone, Copy)]
struct Lump<'l> {
    term: Term,
    amount: Decimal,
    /// Pieces that it buys.
    pieces: Qty,
    kind: &'l (usize, String),
    supplier: &'l (usize, String),
}

/// Shares an amount, and the pieces that it buys, by the pieces that are fitted
/// in each place. Goods that cost nothing are kept: shipping may be paid on them.
fn spread(lump: &Lump, uses: &Uses, cells: &mut Vec<Cell>) {
    let Lump { term, amount, .. } = *lump;
    let all: Qty = uses.values().sum();
    if amount.is_zero() && term >= Term::Duty {
        return;
    }
    for ([machine, circuit, gauge], &qty) in uses {
        let part_of = |whole: Decimal| whole * Decimal::from(qty) / Decimal::from(all.max(1));
        cells.push(Cell {
            term,
            amount: part_of(amount),
            pieces: part_of(lump.pieces.into()),
            names: [
                machine.clone(),
                circuit.clone(),
                lump.kind.clone(),
                lump.supplier.clone(),
                gauge.clone(),
            ],
        });
    }
}
