//! The plain program: what the rules and costs say, written down as they stand.
//!
//! One variable per end and body, one per end and fitting, a binary per price
//! break with a big number over the whole need. It calls nothing of
//! `couplet::model`, so that the two can't share a mistake, and it is the
//! measure of how much the strong program gains.

use couplet::catalog::{
    Attribute, DieId, Holds, IfEmpty, Offer, OfferId, PartId, Spec, SupplierId,
};
use couplet::fit::{Choice, Class, Fit};
use couplet::input::Input;
use couplet::project::{Distinct, Per, Spares};
use couplet::solve::{Program, VarId};
use couplet::units::{Gauge, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::{BTreeMap, BTreeSet};

type Terms = Vec<(VarId, f64)>;

/// A net and a branch: what may share an identity.
type Line<'a> = (&'a str, &'a str);

/// The program whose least objective is the least total, in the project's currency.
pub fn program(input: &Input, fit: &Fit) -> Program {
    let mut plain = Plain::new(input, fit);
    plain.add_ends();
    plain.add_keying();
    plain.add_used();
    plain.add_spares();
    plain.add_suppliers();
    plain.add_offers();
    plain.add_needs();
    plain.add_dies();
    plain.add_limits();
    plain.program
}

struct Plain<'a> {
    input: &'a Input,
    fit: &'a Fit,
    program: Program,
    /// Pieces fitted of each part and gauge, as a sum.
    fitted: BTreeMap<PartId, BTreeMap<Gauge, Terms>>,
    /// Where the keying rule holds: for each place and identity, the plugs by net and
    /// branch.
    keyed: BTreeMap<(usize, &'a str, usize), BTreeMap<Line<'a>, Vec<VarId>>>,
    /// 1 where a part is fitted at all.
    used: BTreeMap<PartId, VarId>,
    /// Spare pieces of each part, as a sum, and the most that they come to.
    spare: BTreeMap<PartId, (Terms, f64)>,
    /// Pieces bought of each part, as a sum.
    bought: BTreeMap<PartId, Terms>,
    /// 1 where anything is bought there.
    suppliers: BTreeMap<SupplierId, VarId>,
    /// Goods of each supplier in its own currency, as a sum.
    goods: BTreeMap<SupplierId, Terms>,
    dies: Vec<VarId>,
}

impl<'a> Plain<'a> {
    fn new(input: &'a Input, fit: &'a Fit) -> Self {
        Plain {
            input,
            fit,
            program: Program::default(),
            fitted: BTreeMap::new(),
            keyed: BTreeMap::new(),
            used: BTreeMap::new(),
            spare: BTreeMap::new(),
            bought: BTreeMap::new(),
            suppliers: BTreeMap::new(),
            goods: BTreeMap::new(),
            dies: Vec::new(),
        }
    }

    fn add_ends(&mut self) {
        for class in &self.fit.classes {
            for _ in &class.ends {
                self.add_end(class);
            }
        }
    }

    /// One receptacle (where the device has none built in), one plug, of one identity,
    /// and equal in what both halves must share; one fitting in each place of
    /// the bodies that are taken.
    fn add_end(&mut self, class: &'a Class) {
        let receptacles = self.add_half(class, &class.receptacles);
        let plugs = self.add_half(class, &class.plugs);
        let mut mates: BTreeMap<usize, Terms> = BTreeMap::new();
        let mut filled: Vec<Terms> = vec![Vec::new(); class.slots.len()];
        for (factor, half) in [(1.0, &receptacles), (-1.0, &plugs)] {
            for &(choice, var) in half {
                mates
                    .entry(choice.identity)
                    .or_default()
                    .push((var, factor));
                for &slot in &choice.slots {
                    filled[slot].push((var, -1.0));
                }
            }
        }
        if !class.receptacles.is_empty() {
            for terms in mates.into_values() {
                self.program.equal(terms, 0.0);
            }
        }
        for &(below, receptacle) in &receptacles {
            for &(above, plug) in &plugs {
                if !self.are_same(below.body, above.body) {
                    let both = vec![(receptacle, 1.0), (plug, 1.0)];
                    self.program.at_most(both, 1.0);
                }
            }
        }
        for (slot, mut terms) in class.slots.iter().zip(filled) {
            for &(part, qty) in &slot.options {
                let var = self.program.binary(0.0);
                terms.push((var, 1.0));
                let pieces = qty * self.copies(class);
                self.fit_part(part, class.gauge, (var, pieces as f64));
            }
            self.program.equal(terms, 0.0);
        }
        if let Some(place) = self.keying_place(class) {
            for (choice, var) in plugs {
                let lines =
                    (self.keyed.entry((class.machine, place, choice.identity))).or_default();
                let line = (class.net.as_str(), class.branch.as_str());
                lines.entry(line).or_default().push(var);
            }
        }
    }

    /// True if the two halves have the same word of each attribute that a pair must
    /// agree in, or one of them none where that meets.
    fn are_same(&self, receptacle: PartId, plug: PartId) -> bool {
        let catalog = &self.input.catalog;
        let [one, other] = [receptacle, plug].map(|id| &catalog.part(id).values);
        let agree = |(place, attribute): (usize, &Attribute)| {
            let is_open = one[place].is_none() || other[place].is_none();
            attribute.holds != Holds::Same
                || one[place] == other[place]
                || (is_open && attribute.if_empty == IfEmpty::Meets)
        };
        catalog.attributes.iter().enumerate().all(agree)
    }

    /// A variable for each body, however often it stands among the choices.
    fn add_half(&mut self, class: &Class, choices: &'a [Choice]) -> Vec<(&'a Choice, VarId)> {
        let mut half: Vec<(&'a Choice, VarId)> = Vec::new();
        if choices.is_empty() {
            return half;
        }
        for choice in choices {
            if half.iter().any(|(seen, _)| seen.body == choice.body) {
                continue;
            }
            let var = self.program.binary(0.0);
            let pieces = self.copies(class) as f64;
            self.fit_part(choice.body, class.gauge, (var, pieces));
            half.push((choice, var));
        }
        let terms = half.iter().map(|&(_, var)| (var, 1.0)).collect();
        self.program.equal(terms, 1.0);
        half
    }

    /// How many of its machine are built.
    fn copies(&self, class: &Class) -> Qty {
        let machine = self.input.machines.get(class.machine);
        machine.map_or(1, |machine| machine.count)
    }

    fn fit_part(&mut self, part: PartId, gauge: Gauge, term: (VarId, f64)) {
        let gauges = self.fitted.entry(part).or_default();
        gauges.entry(gauge).or_default().push(term);
    }

    /// Within one place different nets, or branches of one, never share an identity.
    fn keying_place(&self, class: &'a Class) -> Option<&'a str> {
        let location = class.location.as_str();
        let machine = self.input.machines.get(class.machine);
        let own = machine.map_or(&self.input.settings, |machine| &machine.settings);
        let keying = &own.keying;
        if keying.ignore_at.contains(location) {
            return None;
        }
        match keying.distinct {
            Distinct::Off => None,
            Distinct::ByLocation => Some(location),
            Distinct::Everywhere => Some(""),
        }
    }

    fn add_keying(&mut self) {
        for nets in std::mem::take(&mut self.keyed).into_values() {
            if nets.len() < 2 {
                continue;
            }
            let mut owners = Vec::new();
            for plugs in nets.into_values() {
                let owner = self.program.binary(0.0);
                owners.push((owner, 1.0));
                let terms = plugs.into_iter().map(|var| (var, 1.0)).collect();
                self.only_where(terms, owner);
            }
            self.program.at_most(owners, 1.0);
        }
    }

    /// Σ terms ≤ the most that they can come to × switch.
    fn only_where(&mut self, mut terms: Terms, switch: VarId) {
        let most = most(&terms);
        terms.push((switch, -most));
        self.program.at_most(terms, 0.0);
    }

    fn add_used(&mut self) {
        for (part, gauges) in self.fitted.clone() {
            let line = number(self.input.settings.line_cost.0);
            let used = self.program.binary(line);
            let terms: Terms = gauges.into_values().flatten().collect();
            self.only_where(terms.clone(), used);
            let mut back = terms;
            back.push((used, -1.0));
            self.program.at_least(back, 0.0);
            self.used.insert(part, used);
        }
    }

    fn add_spares(&mut self) {
        for (part, gauges) in self.fitted.clone() {
            let kind = self.input.catalog.part(part).kind();
            let Some(rule) = self.input.settings.spares.get(&kind).copied() else {
                continue;
            };
            let groups: Vec<Terms> = match rule.per {
                Per::Gauge => gauges.into_values().collect(),
                Per::Part => vec![gauges.into_values().flatten().collect()],
            };
            let mut sum = (Vec::new(), 0.0);
            for group in groups {
                let (var, most) = self.add_spare(rule, group);
                sum.0.push((var, 1.0));
                sum.1 += most;
            }
            self.spare.insert(part, sum);
        }
    }

    /// spare ≥ percent × fitted / 100; spare ≥ minimum where any is fitted.
    fn add_spare(&mut self, rule: Spares, group: Terms) -> (VarId, f64) {
        let percent = rule.percent.0.normalize();
        let hundred = 100.0 * 10f64.powi(percent.scale() as i32);
        let share = percent.mantissa() as f64;
        let most = (share * most(&group) / hundred).ceil() + 1.0;
        let most = most.max(rule.minimum as f64);
        let spare = self.program.integer(0.0, most, 0.0);
        if share > 0.0 {
            let mut terms: Terms = group.iter().map(|&(v, qty)| (v, -share * qty)).collect();
            terms.push((spare, hundred));
            self.program.at_least(terms, 0.0);
        }
        if rule.minimum > 0 {
            let any = self.program.binary(0.0);
            self.only_where(group, any);
            let terms = vec![(spare, 1.0), (any, -(rule.minimum as f64))];
            self.program.at_least(terms, 0.0);
        }
        (spare, most)
    }

    fn add_suppliers(&mut self) {
        let catalog = &self.input.catalog;
        let sellers: BTreeSet<SupplierId> = (self.fit.offers.iter())
            .map(|&id| catalog.offer(id).supplier)
            .collect();
        for id in sellers {
            let shipping = catalog.supplier(id).shipping.0 * self.rate(id);
            let var = self.program.binary(number(shipping));
            self.suppliers.insert(id, var);
        }
    }

    /// One unit of the supplier's currency in the project's.
    fn rate(&self, id: SupplierId) -> Decimal {
        let currency = &self.input.catalog.supplier(id).currency;
        self.input.settings.rate(currency).unwrap_or(Decimal::ONE)
    }

    fn add_offers(&mut self) {
        for &id in &self.fit.offers {
            let offer = self.input.catalog.offer(id);
            let (Some(&used), Some(&supplier)) = (
                self.used.get(&offer.part),
                self.suppliers.get(&offer.supplier),
            ) else {
                continue;
            };
            let breaks = 0..offer.breaks.len();
            let switches: Vec<VarId> = breaks.filter_map(|t| self.add_break(id, t)).collect();
            for &switch in &switches {
                for of in [used, supplier] {
                    self.program.at_most(vec![(switch, 1.0), (of, -1.0)], 0.0);
                }
            }
            let one = switches.into_iter().map(|var| (var, 1.0)).collect();
            self.program.at_most(one, 1.0);
        }
    }

    /// Whole packs between the break's least quantity and the next one's; none
    /// where no number of packs lies there.
    fn add_break(&mut self, id: OfferId, at: usize) -> Option<VarId> {
        let offer = self.input.catalog.offer(id);
        let (least, pack) = (offer.breaks[at].min_qty.max(1), offer.pack.max(1));
        let top = self.top(offer, at);
        if least.div_ceil(pack) > top / pack {
            return None;
        }
        let price = offer.breaks[at].unit_price.times(pack).0;
        let duty = Decimal::ONE_HUNDRED + self.supplier_duty(offer.supplier);
        let cost = price * duty / Decimal::ONE_HUNDRED * self.rate(offer.supplier);
        let packs = (self.program).integer(0.0, (top / pack) as f64, number(cost));
        let switch = self.program.binary(0.0);
        let pieces = (packs, pack as f64);
        (self.program).at_most(vec![pieces, (switch, -(top as f64))], 0.0);
        (self.program).at_least(vec![pieces, (switch, -(least as f64))], 0.0);
        self.bought.entry(offer.part).or_default().push(pieces);
        let goods = self.goods.entry(offer.supplier).or_default();
        goods.push((packs, number(price)));
        Some(switch)
    }

    fn supplier_duty(&self, id: SupplierId) -> Decimal {
        self.input.catalog.supplier(id).duty_percent.0
    }

    /// The most pieces that an order at this break is worth: beyond the whole
    /// need only what brings the goods to a minimum order or free shipping.
    fn top(&self, offer: &Offer, at: usize) -> Qty {
        let need = self.most_needed(offer.part).max(offer.breaks[at].min_qty);
        let supplier = self.input.catalog.supplier(offer.supplier);
        let wanted = supplier.min_order.max(supplier.free_over);
        let price = offer.breaks[at].unit_price.0;
        let more = match wanted {
            Some(money) if price > Decimal::ZERO => (money.0 / price).ceil(),
            _ => Decimal::ZERO,
        };
        let whole = need + offer.pack + more.to_u64().unwrap_or(0);
        let next = offer.breaks.get(at + 1).map(|b| b.min_qty - 1);
        [offer.stock, next]
            .into_iter()
            .flatten()
            .fold(whole, Qty::min)
    }

    fn most_needed(&self, part: PartId) -> Qty {
        let fitted = self.fitted[&part].values().map(|terms| most(terms));
        let spare = self.spare.get(&part).map_or(0.0, |(_, most)| *most);
        (fitted.sum::<f64>() + spare) as Qty
    }

    /// bought + available ≥ fitted + spare; shipping and least orders.
    fn add_needs(&mut self) {
        for (part, gauges) in std::mem::take(&mut self.fitted) {
            let mut terms = self.bought.remove(&part).unwrap_or_default();
            let needed = gauges.into_values().flatten();
            terms.extend(needed.map(|(var, qty)| (var, -qty)));
            let spare = self.spare.remove(&part).unwrap_or_default().0;
            terms.extend(spare.into_iter().map(|(var, one)| (var, -one)));
            let available = self.input.available(part) as f64;
            self.program.at_least(terms, -available);
        }
        for (id, bought) in self.suppliers.clone() {
            self.add_order(id, bought);
        }
    }

    fn add_order(&mut self, id: SupplierId, bought: VarId) {
        let supplier = self.input.catalog.supplier(id);
        let goods = self.goods.remove(&id).unwrap_or_default();
        if let Some(least) = supplier.min_order {
            let mut terms = goods.clone();
            terms.push((bought, -number(least.0)));
            self.program.at_least(terms, 0.0);
        }
        if let Some(over) = supplier.free_over {
            let saved = number(-supplier.shipping.0 * self.rate(id));
            let free = self.program.binary(saved);
            let mut terms = goods;
            terms.push((free, -number(over.0)));
            self.program.at_least(terms, 0.0);
            (self.program).at_most(vec![(free, 1.0), (bought, -1.0)], 0.0);
        }
    }

    /// A die that is neither owned nor ordered is paid for once.
    fn add_dies(&mut self) {
        let mut dies: BTreeMap<DieId, VarId> = BTreeMap::new();
        for (&part, &used) in &self.used {
            let Spec::Ferrule(ferrule) = &self.input.catalog.part(part).spec else {
                continue;
            };
            let Some(id) = ferrule.die else { continue };
            let die = self.input.catalog.die(id);
            let is_ordered = self.input.dies_ordered.iter().any(|row| row.die == id);
            if die.owned || is_ordered {
                continue;
            }
            let cost = number(die.cost.0);
            let var = *(dies.entry(id)).or_insert_with(|| self.program.binary(cost));
            self.program.at_most(vec![(used, 1.0), (var, -1.0)], 0.0);
        }
        self.dies = dies.into_values().collect();
    }

    fn add_limits(&mut self) {
        let settings = &self.input.settings;
        let used: Vec<VarId> = self.used.values().copied().collect();
        let sellers: Vec<VarId> = self.suppliers.values().copied().collect();
        for (limit, vars) in [
            (settings.max_variants, used),
            (settings.max_suppliers, sellers),
            (settings.max_dies, self.dies.clone()),
        ] {
            if let Some(limit) = limit {
                let terms = vars.into_iter().map(|var| (var, 1.0)).collect();
                self.program.at_most(terms, f64::from(limit));
            }
        }
    }
}

/// The most that a sum of binaries can come to.
fn most(terms: &[(VarId, f64)]) -> f64 {
    terms.iter().map(|(_, factor)| factor).sum()
}

/// The binary number nearest to a decimal, through its digits.
fn number(value: Decimal) -> f64 {
    value.to_string().parse().unwrap_or(f64::NAN)
}
