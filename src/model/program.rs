//! Variables, rows and objective of the integer program.
//!
//! Symbols: cell c with N_c ends, each in so many copies; part p; identity i; site s with L_s
//! locations; offer o with breaks t; supplier k. Counts are pieces or ends,
//! costs are in the project's currency.

use super::cells::{Body, Site};
use super::pooled::{Bundle, Level};
use super::problem::Problem;
use super::rows::{
    SpareUnit, SupplierVars, Terms, add_spare, hold_limits, hold_thresholds, sum, supplier_vars,
};
use super::terms;
use crate::project::Per;
use crate::solve::{Program, VarId};
use crate::units::{Gauge, Qty};
use std::collections::{BTreeMap, BTreeSet};

/// The program and the meaning of its variables.
#[derive(Debug, Clone, Default)]
pub struct Built {
    /// What the solver gets.
    pub program: Program,
    /// For each cell.
    pub cells: Vec<CellVars>,
    /// For each part.
    pub parts: Vec<PartVars>,
    /// For each offer, for each of its breaks.
    pub offers: Vec<Vec<BreakVars>>,
    /// For each supplier.
    pub suppliers: Vec<SupplierVars>,
    /// For each die, 1 if it is bought.
    pub dies: Vec<VarId>,
}

/// How many ends of a cell use which part, each in 0..=N_c.
#[derive(Debug, Clone)]
pub struct CellVars {
    /// For each receptacle.
    pub receptacles: Vec<VarId>,
    /// For each plug.
    pub plugs: Vec<VarId>,
    /// For each slot, for each option.
    pub slots: Vec<Vec<VarId>>,
}

impl CellVars {
    /// All these variables.
    pub fn counts(&self) -> impl Iterator<Item = VarId> {
        let bodies = self.receptacles.iter().chain(&self.plugs);
        bodies.chain(self.slots.iter().flatten()).copied()
    }
}

/// A part as a whole.
#[derive(Debug, Clone)]
pub struct PartVars {
    /// 1 if it is fitted at all.
    pub used: VarId,
    /// Fitted pieces by gauge.
    pub fitted: BTreeMap<Gauge, Terms>,
    /// Fitted pieces plus spare.
    pub need: Terms,
    /// Pieces beyond the need. With stock on hand, the surplus is a variable that
    /// is only bounded from below, so it is exact only where it is made least.
    pub surplus: Terms,
}

/// An order at one price break.
#[derive(Debug, Clone, Copy)]
pub struct BreakVars {
    /// 1 if this break's price is paid.
    pub taken: VarId,
    /// Packs.
    pub packs: VarId,
}

impl Built {
    /// The whole program.
    pub fn new(problem: &Problem) -> Built {
        let mut built = Built::open(problem);
        built.close(problem, &[]);
        built
    }

    /// The program without thresholds and limits.
    pub fn open(problem: &Problem) -> Built {
        let mut built = Built::default();
        built.add_cells(problem);
        built.add_parts(problem);
        built.add_keying(problem);
        built.add_use_of_bodies(problem);
        built.add_use_of_fittings(problem);
        built.add_dies(problem);
        built.add_spares(problem);
        built.add_suppliers(problem);
        built.add_offers(problem);
        built.add_purchase(problem);
        built.add_surplus(problem);
        built
    }

    /// Adds thresholds and limits. `more` counts as goods of each supplier too, in
    /// the supplier's units of money.
    pub fn close(&mut self, problem: &Problem, more: &[Terms]) {
        self.add_thresholds(problem, more);
        self.add_limits(problem);
    }

    /// The program of the purchase alone, for so many pieces of each part:
    /// parts that are needed are used, the others are not.
    pub fn purchase(problem: &Problem, need: &[Qty]) -> Built {
        let mut built = Built::default();
        for &pieces in need {
            let mut fixed = |value: f64| {
                let var = built.program.continuous(value, value, 0.0);
                (var, 1.0)
            };
            let used = fixed(if pieces > 0 { 1.0 } else { 0.0 }).0;
            let need = vec![fixed(pieces as f64)];
            built.parts.push(PartVars {
                used,
                fitted: BTreeMap::new(),
                need,
                surplus: Terms::new(),
            });
        }
        built.add_suppliers(problem);
        built.add_offers(problem);
        built.add_purchase(problem);
        built.close(problem, &[]);
        built
    }

    /// Each part as a bundle of its own, for the rows that the program's
    /// relaxation violates; kinds are cells.
    pub fn bundles(&self, problem: &Problem) -> Vec<Bundle> {
        let mut bundles: Vec<Bundle> = Vec::with_capacity(problem.parts.len());
        for (p, (part, vars)) in problem.parts.iter().zip(&self.parts).enumerate() {
            let fitted: BTreeSet<VarId> = vars.fitted.values().flatten().map(|t| t.0).collect();
            let spare = vars.need.iter().filter(|t| !fitted.contains(&t.0));
            let levels = part.offers.iter().flat_map(|&o| {
                let pack = problem.offers[o].pack;
                let breaks = self.offers[o].iter().enumerate();
                breaks.map(move |(t, v)| Level {
                    offer: (o, t),
                    taken: v.taken,
                    packs: v.packs,
                    pack,
                })
            });
            bundles.push(Bundle {
                parts: vec![p],
                is_body: false,
                used: vars.used,
                uses: Vec::new(),
                spare: spare.copied().collect(),
                levels: levels.collect(),
            });
        }
        for (c, (cell, vars)) in problem.cells.iter().zip(&self.cells).enumerate() {
            let bodies = vars.receptacles.iter().chain(&vars.plugs);
            for (body, &x) in cell.bodies().zip(bodies) {
                bundles[body.part].is_body = true;
                bundles[body.part].uses.push((c, x, cell.copies));
            }
            for (slot, xs) in cell.slots.iter().zip(&vars.slots) {
                for (&(_, part, qty), &x) in slot.options.iter().zip(xs) {
                    bundles[part].uses.push((c, x, qty));
                }
            }
        }
        bundles
    }

    /// Each end has a plug and a receptacle that mate, and what they need:
    /// Σ plugs = N_c; for each group that mates Σ plugs = Σ receptacles, but where the
    /// devices have their receptacles; for each slot Σ options = Σ bodies that have it.
    fn add_cells(&mut self, problem: &Problem) {
        for cell in &problem.cells {
            let n = cell.count() as f64;
            let program = &mut self.program;
            let mut counts = |len: usize| -> Vec<VarId> {
                (0..len).map(|_| program.integer(0.0, n, 0.0)).collect()
            };
            let vars = CellVars {
                receptacles: counts(cell.receptacles.len()),
                plugs: counts(cell.plugs.len()),
                slots: cell.slots.iter().map(|s| counts(s.options.len())).collect(),
            };
            program.equal(sum(vars.plugs.iter().copied(), 1.0), n);
            let mut mate: BTreeMap<usize, Terms> = BTreeMap::new();
            for (body, &x) in cell.plugs.iter().zip(&vars.plugs) {
                mate.entry(body.mate).or_default().push((x, 1.0));
            }
            for (body, &x) in cell.receptacles.iter().zip(&vars.receptacles) {
                mate.entry(body.mate).or_default().push((x, -1.0));
            }
            for row in mate.into_values().filter(|_| !cell.is_built_in()) {
                program.equal(row, 0.0);
            }
            for (s, options) in vars.slots.iter().enumerate() {
                let bodies = cell
                    .bodies()
                    .zip(vars.receptacles.iter().chain(&vars.plugs));
                let having = bodies
                    .filter(|(b, _)| b.slots.contains(&s))
                    .map(|(_, &x)| x);
                let mut row = sum(options.iter().copied(), 1.0);
                row.extend(sum(having, -1.0));
                program.equal(row, 0.0);
            }
            self.cells.push(vars);
        }
    }

    /// used[p] and the fitted pieces of each part; used[p] ≤ Σ uses, so that
    /// nothing is bought that is not fitted.
    fn add_parts(&mut self, problem: &Problem) {
        let mut fitted: Vec<BTreeMap<Gauge, Terms>> = vec![BTreeMap::new(); problem.parts.len()];
        for (cell, vars) in problem.cells.iter().zip(&self.cells) {
            let mut add = |part: usize, x: VarId, qty: Qty| {
                let terms = fitted[part].entry(cell.gauge).or_default();
                terms.push((x, qty as f64));
            };
            let bodies = vars.receptacles.iter().chain(&vars.plugs);
            for (body, &x) in cell.bodies().zip(bodies) {
                add(body.part, x, cell.copies);
            }
            for (slot, xs) in cell.slots.iter().zip(&vars.slots) {
                for (&(_, part, qty), &x) in slot.options.iter().zip(xs) {
                    add(part, x, qty);
                }
            }
        }
        for fitted in fitted {
            let used = self.program.binary(0.0);
            let all: Terms = fitted.values().flatten().copied().collect();
            let mut row = all.clone();
            row.push((used, -1.0));
            self.program.at_least(row, 0.0);
            self.parts.push(PartVars {
                used,
                fitted,
                need: all,
                surplus: Terms::new(),
            });
        }
    }

    /// At a keyed site an identity serves one net at each location: for each
    /// identity Σ loose ends + Σ nets z ≤ L_s, where z = 1 if a net with
    /// several ends has the identity.
    fn add_keying(&mut self, problem: &Problem) {
        for site in &problem.sites {
            let mut rows: BTreeMap<usize, Terms> = BTreeMap::new();
            for &c in &site.loose {
                for (body, &x) in problem.cells[c].plugs.iter().zip(&self.cells[c].plugs) {
                    rows.entry(body.identity).or_default().push((x, 1.0));
                }
            }
            for net in &site.nets {
                let mut has: BTreeMap<usize, VarId> = BTreeMap::new();
                for &c in net {
                    let mut uses: BTreeMap<usize, Terms> = BTreeMap::new();
                    for (body, &x) in problem.cells[c].plugs.iter().zip(&self.cells[c].plugs) {
                        uses.entry(body.identity).or_default().push((x, 1.0));
                    }
                    for (identity, mut row) in uses {
                        let z = *(has.entry(identity)).or_insert_with(|| self.program.binary(0.0));
                        row.push((z, -(problem.cells[c].count() as f64)));
                        self.program.at_most(row, 0.0);
                    }
                }
                for (identity, z) in has {
                    rows.entry(identity).or_default().push((z, 1.0));
                }
            }
            let ends: usize = site
                .loose
                .iter()
                .map(|&c| problem.cells[c].ends.len())
                .sum();
            for row in rows.into_values() {
                if row.len() > 1 || ends as Qty > site.locations {
                    self.program.at_most(row, site.locations as f64);
                }
            }
        }
    }

    /// A body that is used anywhere counts as used. At a keyed site all nets together
    /// use it at most L_s times, since they exclude one another on its identity:
    /// Σ loose x + Σ nets x / N_c ≤ L_s · used; elsewhere Σ x ≤ N_c · used.
    fn add_use_of_bodies(&mut self, problem: &Problem) {
        let mut sited = vec![false; problem.cells.len()];
        for site in &problem.sites {
            for &c in site.loose.iter().chain(site.nets.iter().flatten()) {
                sited[c] = true;
            }
            for half in [plugs, receptacles] {
                self.add_cliques(problem, site, half);
            }
        }
        for c in (0..problem.cells.len()).filter(|&c| !sited[c]) {
            let n = problem.cells[c].count() as f64;
            for half in [plugs, receptacles] {
                let mut rows: BTreeMap<usize, Terms> = BTreeMap::new();
                for (body, x) in half(problem, self, c) {
                    rows.entry(body.part).or_default().push((x, 1.0));
                }
                for (part, row) in rows {
                    self.add_clique(part, row, n);
                }
            }
        }
    }

    fn add_cliques(&mut self, problem: &Problem, site: &Site, half: HalfOf) {
        let deepest = site.nets.iter().map(Vec::len).max().unwrap_or(0).max(1);
        for level in 0..deepest {
            let mut rows: BTreeMap<usize, Terms> = BTreeMap::new();
            let nets = site.nets.iter().map(|net| net[level.min(net.len() - 1)]);
            for c in site.loose.iter().copied().chain(nets) {
                let weight = match site.loose.contains(&c) {
                    true => 1.0,
                    false => 1.0 / problem.cells[c].count() as f64,
                };
                for (body, x) in half(problem, self, c) {
                    rows.entry(body.part).or_default().push((x, weight));
                }
            }
            for (part, row) in rows {
                self.add_clique(part, row, site.locations as f64);
            }
        }
    }

    /// Σ uses ≤ most · used.
    fn add_clique(&mut self, part: usize, uses: Terms, most: f64) {
        let mut row = uses;
        row.push((self.parts[part].used, -most));
        self.program.at_most(row, 0.0);
    }

    /// x ≤ N_c · used for ferrules, seals and back shells.
    fn add_use_of_fittings(&mut self, problem: &Problem) {
        for (c, cell) in problem.cells.iter().enumerate() {
            for (s, slot) in cell.slots.iter().enumerate() {
                for (k, &(_, part, _)) in slot.options.iter().enumerate() {
                    let x = self.cells[c].slots[s][k];
                    self.add_clique(part, vec![(x, 1.0)], cell.count() as f64);
                }
            }
        }
    }

    /// The ferrules in one slot that share a die: Σ x ≤ N_c · die.
    fn add_dies(&mut self, problem: &Problem) {
        for die in &problem.dies {
            let var = self.program.binary(terms::die(die));
            self.dies.push(var);
        }
        for (cell, vars) in problem.cells.iter().zip(&self.cells) {
            for (slot, xs) in cell.slots.iter().zip(&vars.slots) {
                let mut rows: BTreeMap<usize, Terms> = BTreeMap::new();
                for (&(_, part, _), &x) in slot.options.iter().zip(xs) {
                    if let Some(die) = problem.parts[part].die {
                        rows.entry(die).or_default().push((x, 1.0));
                    }
                }
                for (die, mut row) in rows {
                    row.push((self.dies[die], -(cell.count() as f64)));
                    self.program.at_most(row, 0.0);
                }
            }
        }
    }

    /// Spare of each unit that a rule counts (a part, or a part and a gauge):
    /// spare ≥ percent · fitted, and spare ≥ least spare · (unit used).
    fn add_spares(&mut self, problem: &Problem) {
        for (p, part) in problem.parts.iter().enumerate() {
            let Some(rule) = part.spares else { continue };
            let fitted = self.parts[p].fitted.clone();
            let units: Vec<(Option<Gauge>, Terms, Qty)> = match rule.per {
                Per::Part => {
                    let all = fitted.into_values().flatten().collect();
                    vec![(None, all, part.most_total)]
                }
                Per::Gauge => (fitted.into_iter())
                    .map(|(gauge, pieces)| (Some(gauge), pieces, part.most_fitted[&gauge]))
                    .collect(),
            };
            let several = units.len() > 1;
            for (gauge, fitted, most) in units {
                let used = match (gauge, several) {
                    (Some(gauge), true) => self.used_on(problem, p, gauge),
                    _ => self.parts[p].used,
                };
                let unit = SpareUnit { used, fitted, most };
                let spare = add_spare(&mut self.program, part, 1, unit);
                self.parts[p].need.extend(spare);
            }
        }
    }

    /// A variable that is 1 where part `p` is fitted on `gauge`; at keyed sites the
    /// variable is bound like that of the part itself.
    fn used_on(&mut self, problem: &Problem, p: usize, gauge: Gauge) -> VarId {
        let used = self.program.binary(0.0);
        let whole = self.parts[p].used;
        self.program.at_most(vec![(used, 1.0), (whole, -1.0)], 0.0);
        for (cell, vars) in problem.cells.iter().zip(&self.cells) {
            if cell.gauge != gauge {
                continue;
            }
            let n = cell.count() as f64;
            let bodies = cell
                .bodies()
                .zip(vars.receptacles.iter().chain(&vars.plugs));
            let fittings = (cell.slots.iter().zip(&vars.slots))
                .flat_map(|(slot, xs)| slot.options.iter().zip(xs))
                .filter(|(option, _)| option.1 == p)
                .map(|(_, &x)| vec![(x, 1.0)]);
            let own = bodies.filter(|(b, _)| b.part == p);
            let own = sum(own.map(|(_, &x)| x), 1.0);
            let own = Some(own).filter(|own| !own.is_empty());
            for mut row in own.into_iter().chain(fittings) {
                row.push((used, -n));
                self.program.at_most(row, 0.0);
            }
        }
        used
    }

    /// Shipping is paid where anything is bought, unless it is free.
    fn add_suppliers(&mut self, problem: &Problem) {
        self.suppliers = (problem.suppliers.iter())
            .map(|supplier| supplier_vars(&mut self.program, supplier))
            .collect();
    }

    /// An order at break t: lo_t · taken ≤ packs ≤ up_t · taken. An offer has
    /// one break at the most, only if its supplier is used and its part is used.
    fn add_offers(&mut self, problem: &Problem) {
        for offer in &problem.offers {
            let mut vars = Vec::new();
            for step in &offer.breaks {
                let taken = self.program.binary(0.0);
                let packs = self.program.integer(0.0, step.up as f64, terms::pack(step));
                let program = &mut self.program;
                program.at_most(vec![(packs, 1.0), (taken, -(step.up as f64))], 0.0);
                program.at_least(vec![(packs, 1.0), (taken, -(step.lo as f64))], 0.0);
                vars.push(BreakVars { taken, packs });
            }
            let taken = sum(vars.iter().map(|v| v.taken), 1.0);
            for owner in [
                self.suppliers[offer.supplier].used,
                self.parts[offer.part].used,
            ] {
                let mut row = taken.clone();
                row.push((owner, -1.0));
                self.program.at_most(row, 0.0);
            }
            self.offers.push(vars);
        }
    }

    /// What is bought and on hand covers the need. A used part with none on hand
    /// is bought somewhere; if one supplier alone offers the part, that supplier is used.
    fn add_purchase(&mut self, problem: &Problem) {
        for (p, part) in problem.parts.iter().enumerate() {
            let mut row: Terms = self.parts[p].need.iter().map(|&(x, q)| (x, -q)).collect();
            for &o in &part.offers {
                let pack = problem.offers[o].pack as f64;
                row.extend(self.offers[o].iter().map(|v| (v.packs, pack)));
            }
            self.program.at_least(row, -(part.on_hand as f64));
            if part.on_hand > 0 {
                continue;
            }
            let used = self.parts[p].used;
            let taken = part.offers.iter().flat_map(|&o| &self.offers[o]);
            let mut row = sum(taken.map(|v| v.taken), 1.0);
            row.push((used, -1.0));
            self.program.at_least(row, 0.0);
            let mut sellers = part.offers.iter().map(|&o| problem.offers[o].supplier);
            if let Some(first) = sellers.next()
                && sellers.all(|other| other == first)
            {
                let supplier = self.suppliers[first].used;
                self.program
                    .at_least(vec![(supplier, 1.0), (used, -1.0)], 0.0);
            }
        }
    }

    /// Surplus = bought + min(on hand, need) − need. With stock on hand, with b
    /// for "the need is at least what is on hand": surplus ≥ bought + on hand −
    /// need − M (1 − b), and surplus ≥ bought − M b.
    fn add_surplus(&mut self, problem: &Problem) {
        for (p, part) in problem.parts.iter().enumerate() {
            let mut bought = Terms::new();
            for &o in &part.offers {
                let pack = problem.offers[o].pack as f64;
                bought.extend(self.offers[o].iter().map(|v| (v.packs, pack)));
            }
            let negative =
                |terms: &Terms| -> Terms { terms.iter().map(|&(x, q)| (x, -q)).collect() };
            let over: Terms = [bought.clone(), negative(&self.parts[p].need)].concat();
            if part.on_hand == 0 {
                self.parts[p].surplus = over;
                continue;
            }
            let up = |terms: &Terms| -> f64 {
                terms
                    .iter()
                    .map(|&(x, q)| q * self.program.vars[x.0].up)
                    .sum()
            };
            let most = up(&bought);
            if most == 0.0 {
                continue;
            }
            let on_hand = part.on_hand as f64;
            let surplus = self.program.continuous(0.0, most + on_hand, 0.0);
            let covered = self.program.binary(0.0);
            let big = most + on_hand;
            let mut row = negative(&over);
            row.extend([(surplus, 1.0), (covered, -big)]);
            self.program.at_least(row, on_hand - big);
            let mut row = negative(&bought);
            row.extend([(surplus, 1.0), (covered, most)]);
            self.program.at_least(row, 0.0);
            self.parts[p].surplus = vec![(surplus, 1.0)];
        }
    }

    /// goods ≥ free_over · free, and goods ≥ min_order · used, in the
    /// supplier's units of money.
    fn add_thresholds(&mut self, problem: &Problem, more: &[Terms]) {
        for (k, supplier) in problem.suppliers.iter().enumerate() {
            let mut goods = more.get(k).cloned().unwrap_or_default();
            for &o in &supplier.offers {
                for (step, vars) in problem.offers[o].breaks.iter().zip(&self.offers[o]) {
                    goods.push((vars.packs, step.pack_goods));
                }
            }
            hold_thresholds(&mut self.program, supplier, goods, self.suppliers[k]);
        }
    }

    /// Line cost, and the largest number of variants, suppliers and dies.
    fn add_limits(&mut self, problem: &Problem) {
        for part in &self.parts {
            self.program.vars[part.used.0].cost += terms::variant(problem);
        }
        let used = self.parts.iter().map(|p| p.used).collect();
        let suppliers = self.suppliers.iter().map(|s| s.used).collect();
        hold_limits(
            &mut self.program,
            problem,
            [used, suppliers, self.dies.clone()],
        );
    }
}

type HalfOf = for<'a> fn(&'a Problem, &Built, usize) -> Vec<(&'a Body, VarId)>;

fn plugs<'a>(problem: &'a Problem, built: &Built, c: usize) -> Vec<(&'a Body, VarId)> {
    let vars = built.cells[c].plugs.iter().copied();
    problem.cells[c].plugs.iter().zip(vars).collect()
}

fn receptacles<'a>(problem: &'a Problem, built: &Built, c: usize) -> Vec<(&'a Body, VarId)> {
    let vars = built.cells[c].receptacles.iter().copied();
    problem.cells[c].receptacles.iter().zip(vars).collect()
}
