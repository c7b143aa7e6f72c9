//! Variables, rows and objective of the pooled program.

use super::bundle::{Bundle, Cover, Level};
use super::kinds::{Grain, Kinds};
use super::pool::Pooled;
use crate::fit::Fit;
use crate::input::Input;
use crate::model::problem::{Part, Problem};
use crate::model::rows::{
    SpareUnit, Terms, add_spare, hold_limits, hold_thresholds, sum, supplier_vars,
};
use crate::model::terms;
use crate::project::Per;
use crate::solve::VarId;
use crate::units::{Gauge, Qty};
use std::collections::{BTreeMap, BTreeSet};

/// What makes two bodies one type: half, mating face, and where they can be
/// used with which slots.
type Type = Vec<usize>;

/// By bundle: ends that get one of its bodies, and the groups in which these mate.
type OfBundles = BTreeMap<usize, (VarId, BTreeSet<usize>)>;

/// A slot of a kind, before its options.
struct OpenSlot {
    kind: usize,
    /// Ends of the kind.
    count: Qty,
    /// The bodies that have the slot, each with factor −1.
    row: Terms,
}

impl Pooled {
    /// The pooled program.
    pub fn new(problem: &Problem, input: &Input, fit: &Fit, grain: Grain) -> Pooled {
        let mut it = Pooled {
            kinds: Kinds::new(problem, input, fit, grain),
            ..Pooled::default()
        };
        it.suppliers = (problem.suppliers.iter())
            .map(|s| supplier_vars(&mut it.program, s))
            .collect();
        it.dies = problem
            .dies
            .iter()
            .map(|d| it.program.binary(terms::die(d)))
            .collect();
        let faces = Faces::new(problem, fit);
        let types = it.types(problem, &faces);
        let of_part = it.add_bundles(problem, &types);
        for k in 0..it.kinds.list.len() {
            it.add_kind(problem, &faces, &of_part, k);
        }
        it.add_covers(&faces, &types);
        it.add_sites(problem);
        for b in 0..it.bundles.len() {
            it.add_purchase(problem, b);
        }
        it.add_suppliers(problem);
        it.add_limits(problem);
        it
    }

    /// The type of each part; empty for fittings.
    fn types(&self, problem: &Problem, faces: &Faces) -> Vec<Type> {
        let mut types: Vec<Type> = vec![Type::new(); problem.parts.len()];
        for (k, kind) in self.kinds.list.iter().enumerate() {
            let cell = &problem.cells[kind.cell];
            for (half, bodies) in [(0, &cell.receptacles), (1, &cell.plugs)] {
                for body in bodies {
                    let list = &mut types[body.part];
                    if list.is_empty() {
                        list.extend([half, faces.of[body.identity]]);
                    }
                    list.extend([k, body.slots.len()]);
                    list.extend(&body.slots);
                }
            }
        }
        types
    }

    /// Gathers parts into bundles; gives the bundle of each part.
    fn add_bundles(&mut self, problem: &Problem, types: &[Type]) -> Vec<usize> {
        let mut place: BTreeMap<(&Type, Vec<u64>), usize> = BTreeMap::new();
        let mut of_part = Vec::new();
        for (p, part) in problem.parts.iter().enumerate() {
            let is_body = !types[p].is_empty();
            let alone = !is_body || part.on_hand > 0;
            let offers = if alone {
                vec![u64::MAX, p as u64]
            } else {
                offered(problem, part)
            };
            let b = *place.entry((&types[p], offers)).or_insert_with(|| {
                self.bundles.push(Bundle {
                    parts: Vec::new(),
                    is_body,
                    used: VarId(0),
                    uses: Vec::new(),
                    spare: Terms::new(),
                    levels: Vec::new(),
                });
                self.bundles.len() - 1
            });
            self.bundles[b].parts.push(p);
            of_part.push(b);
        }
        for bundle in &mut self.bundles {
            let most = bundle.parts.len() as f64;
            bundle.used = self.program.integer(0.0, most, terms::variant(problem));
        }
        of_part
    }

    /// Ends of kind k: Σ plugs = N_k; for each mating face Σ plugs = Σ
    /// receptacles, and a bundle's bodies mate with bodies of their groups; for
    /// each slot Σ options = Σ bodies that have it; ferrules only with their die.
    fn add_kind(&mut self, problem: &Problem, faces: &Faces, of_part: &[usize], k: usize) {
        let (count, cell) = (
            self.kinds.list[k].count,
            &problem.cells[self.kinds.list[k].cell],
        );
        let mut slots: Vec<Terms> = vec![Terms::new(); cell.slots.len()];
        // By face, then by bundle: variable and groups.
        let mut halves: [BTreeMap<usize, OfBundles>; 2] = Default::default();
        for (half, bodies) in [&cell.receptacles, &cell.plugs].into_iter().enumerate() {
            for body in bodies {
                let b = of_part[body.part];
                let here = halves[half].entry(faces.of[body.identity]).or_default();
                let (_, mates) = here.entry(b).or_insert_with(|| {
                    let most = self.kinds.capacity(&[k], self.bundles[b].parts.len());
                    let x = self.program.integer(0.0, most as f64, 0.0);
                    self.bundles[b].uses.push((k, x, cell.copies));
                    for &s in &body.slots {
                        slots[s].push((x, -1.0));
                    }
                    (x, BTreeSet::new())
                });
                mates.insert(body.mate);
            }
        }
        let [receptacles, plugs] = halves;
        let all = plugs.values().flatten().map(|(_, (x, _))| *x);
        self.program.equal(sum(all, 1.0), count as f64);
        let none = BTreeMap::new();
        let both: BTreeSet<usize> = receptacles.keys().chain(plugs.keys()).copied().collect();
        // Where the devices have their receptacles, each plug has its mate.
        let both = both.into_iter().filter(|_| !cell.is_built_in());
        for face in both {
            let (r, p) = (
                receptacles.get(&face).unwrap_or(&none),
                plugs.get(&face).unwrap_or(&none),
            );
            let mut row = sum(p.values().map(|v| v.0), 1.0);
            row.extend(sum(r.values().map(|v| v.0), -1.0));
            self.program.equal(row, 0.0);
            for (mine, others) in [(p, r), (r, p)] {
                for (x, groups) in mine.values() {
                    let mates = others.values().filter(|(_, o)| !o.is_disjoint(groups));
                    let mut row = sum(mates.map(|m| m.0), -1.0);
                    if row.len() < others.len() {
                        row.push((*x, 1.0));
                        self.program.at_most(row, 0.0);
                    }
                }
            }
        }
        for (slot, row) in cell.slots.iter().zip(slots) {
            self.add_slot(
                problem,
                of_part,
                &slot.options,
                OpenSlot {
                    kind: k,
                    count,
                    row,
                },
            );
        }
    }

    fn add_slot(
        &mut self,
        problem: &Problem,
        of_part: &[usize],
        options: &[(crate::catalog::PartId, usize, Qty)],
        open: OpenSlot,
    ) {
        let OpenSlot {
            kind,
            count,
            mut row,
        } = open;
        let most = if row.is_empty() { 0.0 } else { count as f64 };
        let mut by_die: BTreeMap<usize, Terms> = BTreeMap::new();
        for &(_, part, qty) in options {
            let x = self.program.integer(0.0, most, 0.0);
            row.push((x, 1.0));
            self.bundles[of_part[part]].uses.push((kind, x, qty));
            if let Some(die) = problem.parts[part].die {
                by_die.entry(die).or_default().push((x, 1.0));
            }
        }
        self.program.equal(row, 0.0);
        for (die, mut row) in by_die {
            row.push((self.dies[die], -most));
            self.program.at_most(row, 0.0);
        }
    }

    /// What is used is covered: by the bodies of a bundle, of a type, of a mating
    /// face; fittings by themselves. Only what is used counts as used.
    fn add_covers(&mut self, faces: &Faces, types: &[Type]) {
        let mut of_type: BTreeMap<&Type, Vec<usize>> = BTreeMap::new();
        let mut of_face: BTreeMap<usize, [Vec<usize>; 2]> = BTreeMap::new();
        for b in 0..self.bundles.len() {
            let bundle = self.bundles[b].clone();
            let mut row: Terms = bundle.uses.iter().map(|u| (u.1, 1.0)).collect();
            row.push((bundle.used, -1.0));
            self.program.at_least(row, 0.0);
            let kind = &types[bundle.parts[0]];
            if let [half, face, ..] = kind[..] {
                of_type.entry(kind).or_default().push(b);
                of_face.entry(face).or_default()[half].push(b);
                self.cover(&[b], vec![(bundle.used, 1.0)], bundle.parts.len());
            } else {
                for &(k, x, _) in &bundle.uses {
                    let count = self.kinds.list[k].count as f64;
                    self.program
                        .at_most(vec![(x, 1.0), (bundle.used, -count)], 0.0);
                }
            }
        }
        for list in of_type.into_values().filter(|list| list.len() > 1) {
            let by = sum(list.iter().map(|&b| self.bundles[b].used), 1.0);
            let most = list.iter().map(|&b| self.bundles[b].parts.len()).sum();
            self.cover(&list, by, most);
        }
        for (face, halves) in of_face {
            let most = faces.identities[face];
            let identities = self.program.integer(0.0, most as f64, 0.0);
            for (half, list) in halves.into_iter().enumerate() {
                let mut row = sum(list.iter().map(|&b| self.bundles[b].used), 1.0);
                row.push((identities, -1.0));
                // A built-in receptacle has an identity, and is no body.
                if half == 1 || !faces.built_in.contains(&face) {
                    self.program.at_least(row, 0.0);
                }
                self.cover(&list, vec![(identities, 1.0)], most);
            }
        }
    }

    /// Remembers a cover, with rows for each of its kinds and for all together.
    fn cover(&mut self, bundles: &[usize], by: Terms, most: usize) {
        let mut uses: BTreeMap<usize, Terms> = BTreeMap::new();
        for &b in bundles {
            for &(k, x, _) in &self.bundles[b].uses {
                uses.entry(k).or_default().push((x, 1.0));
            }
        }
        let cover = Cover { uses, by, most };
        let all: Vec<usize> = cover.uses.keys().copied().collect();
        for &k in &all {
            self.add_cover_rows(&cover, &[k]);
        }
        if all.len() > 1 {
            self.add_cover_rows(&cover, &all);
        }
        self.covers.push(cover);
    }

    fn add_cover_rows(&mut self, cover: &Cover, which: &[usize]) {
        let total = self.kinds.count(which);
        for m in 0..cover.most {
            if self.kinds.capacity(which, m) >= total {
                break;
            }
            self.program.rows.push(cover.row(&self.kinds, which, m));
        }
    }

    /// Where the ends of each net at a site are kinds of their own: Σ loose x /
    /// L_s + Σ nets x / N_c ≤ n identities, with one cell of each net. This row is
    /// sharper than the capacity where nets have unlike numbers of ends.
    fn add_sites(&mut self, problem: &Problem) {
        let mut cells = vec![0; self.kinds.list.len()];
        for &k in &self.kinds.of_cell {
            cells[k] += 1;
        }
        let covers = std::mem::take(&mut self.covers);
        for site in problem.sites.iter().filter(|s| !s.nets.is_empty()) {
            let deepest = site.nets.iter().map(Vec::len).max().unwrap_or(0);
            for level in 0..deepest {
                let nets = site.nets.iter().map(|net| net[level.min(net.len() - 1)]);
                let members: Vec<usize> = site.loose.iter().copied().chain(nets).collect();
                let own = members.iter().all(|&c| cells[self.kinds.of_cell[c]] == 1);
                for cover in covers.iter().filter(|_| own) {
                    let mut row = Terms::new();
                    for &c in &members {
                        let share = match site.loose.contains(&c) {
                            true => 1.0 / site.locations as f64,
                            false => 1.0 / problem.cells[c].count() as f64,
                        };
                        let uses = cover.uses.get(&self.kinds.of_cell[c]);
                        row.extend(uses.into_iter().flatten().map(|&(x, q)| (x, q * share)));
                    }
                    if row.len() > 1 {
                        row.extend(cover.by.iter().map(|&(n, q)| (n, -q)));
                        self.program.at_most(row, 0.0);
                    }
                }
            }
        }
        self.covers = covers;
    }

    /// Orders of a bundle: lo · taken ≤ packs ≤ up · taken at each break; each
    /// part at one break of an offer at the most; bought and on hand cover what
    /// is fitted and spare; a used part with none on hand is bought somewhere.
    fn add_purchase(&mut self, problem: &Problem, b: usize) {
        let spare = self.spares(problem, b);
        let bundle = self.bundles[b].clone();
        let part = &problem.parts[bundle.parts[0]];
        let several = bundle.parts.len() as f64;
        let mut need: Terms = (bundle.uses.iter())
            .map(|&(_, x, q)| (x, -(q as f64)))
            .collect();
        need.extend(spare.iter().map(|&(x, q)| (x, -q)));
        let mut any = vec![(bundle.used, -1.0)];
        // By supplier: the orders there, and how many offers they can be of.
        let mut by_supplier: BTreeMap<usize, (Terms, f64)> = BTreeMap::new();
        let mut levels = Vec::new();
        for &o in &part.offers {
            let offer = &problem.offers[o];
            let mut here = Terms::new();
            for (t, step) in offer.breaks.iter().enumerate() {
                let taken = self.program.integer(0.0, several, 0.0);
                let up = step.up as f64;
                let packs = self.program.integer(0.0, up * several, terms::pack(step));
                self.program.at_most(vec![(packs, 1.0), (taken, -up)], 0.0);
                let lo = step.lo as f64;
                self.program.at_least(vec![(packs, 1.0), (taken, -lo)], 0.0);
                here.push((taken, 1.0));
                need.push((packs, offer.pack as f64));
                levels.push(Level {
                    offer: (o, t),
                    taken,
                    packs,
                    pack: offer.pack,
                });
            }
            any.extend(&here);
            let (orders, offers) = by_supplier.entry(offer.supplier).or_default();
            orders.extend(&here);
            *offers += 1.0;
            here.push((bundle.used, -1.0));
            self.program.at_most(here, 0.0);
        }
        self.program.at_least(need, -(part.on_hand as f64));
        let alone = by_supplier.len() == 1 && part.on_hand == 0;
        for (supplier, (mut row, offers)) in by_supplier {
            let supplier = self.suppliers[supplier].used;
            row.push((supplier, -several * offers));
            self.program.at_most(row, 0.0);
            if alone {
                (self.program).at_least(vec![(supplier, several), (bundle.used, -1.0)], 0.0);
            }
        }
        if part.on_hand == 0 {
            self.program.at_least(any, 0.0);
        }
        self.bundles[b].levels = levels;
        self.bundles[b].spare = spare;
    }

    /// Spare pieces of a bundle: spare ≥ percent · fitted, and ≥ least spare ·
    /// parts used, for each unit that the rule counts.
    fn spares(&mut self, problem: &Problem, b: usize) -> Terms {
        let bundle = self.bundles[b].clone();
        let part = &problem.parts[bundle.parts[0]];
        let Some(rule) = part.spares else {
            return Terms::new();
        };
        let fitted = |uses: &[(usize, VarId, Qty)]| -> Terms {
            uses.iter().map(|&(_, x, q)| (x, q as f64)).collect()
        };
        let mut units: Vec<SpareUnit> = Vec::new();
        if rule.per == Per::Part {
            units.push(SpareUnit {
                used: bundle.used,
                fitted: fitted(&bundle.uses),
                most: part.most_total,
            });
        } else {
            let mut by_gauge: BTreeMap<Gauge, Vec<(usize, VarId, Qty)>> = BTreeMap::new();
            for &(k, x, q) in &bundle.uses {
                let gauge = self.kinds.list[k].gauge;
                by_gauge.entry(gauge).or_default().push((k, x, q));
            }
            let several = by_gauge.len() > 1;
            for (gauge, uses) in by_gauge {
                let used = if several {
                    self.used_on(&bundle, &uses)
                } else {
                    bundle.used
                };
                units.push(SpareUnit {
                    used,
                    fitted: fitted(&uses),
                    most: part.most_fitted.get(&gauge).copied().unwrap_or(0),
                });
            }
        }
        (units.into_iter())
            .filter_map(|unit| add_spare(&mut self.program, part, bundle.parts.len(), unit))
            .collect()
    }

    /// How many parts of a bundle are used on one gauge.
    fn used_on(&mut self, bundle: &Bundle, uses: &[(usize, VarId, Qty)]) -> VarId {
        let several = bundle.parts.len();
        let used = self.program.integer(0.0, several as f64, 0.0);
        (self.program).at_most(vec![(used, 1.0), (bundle.used, -1.0)], 0.0);
        for &(k, x, _) in uses {
            let most = match bundle.is_body {
                true => self.kinds.list[k].by_one,
                false => self.kinds.list[k].count,
            };
            (self.program).at_most(vec![(x, 1.0), (used, -(most as f64))], 0.0);
        }
        used
    }

    /// Free shipping and the least order, in the supplier's units of money.
    fn add_suppliers(&mut self, problem: &Problem) {
        let mut goods: Vec<Terms> = vec![Terms::new(); problem.suppliers.len()];
        for level in self.bundles.iter().flat_map(|b| &b.levels) {
            let (o, t) = level.offer;
            let offer = &problem.offers[o];
            goods[offer.supplier].push((level.packs, offer.breaks[t].pack_goods));
        }
        for ((supplier, &vars), goods) in problem.suppliers.iter().zip(&self.suppliers).zip(goods) {
            hold_thresholds(&mut self.program, supplier, goods, vars);
        }
    }

    fn add_limits(&mut self, problem: &Problem) {
        let used = self.bundles.iter().map(|b| b.used).collect();
        let suppliers = self.suppliers.iter().map(|s| s.used).collect();
        hold_limits(
            &mut self.program,
            problem,
            [used, suppliers, self.dies.clone()],
        );
    }
}

/// How a part is offered, as numbers that are equal where it is offered alike.
fn offered(problem: &Problem, part: &Part) -> Vec<u64> {
    let mut list = Vec::new();
    for &o in &part.offers {
        let offer = &problem.offers[o];
        list.extend([offer.supplier as u64, offer.pack, offer.breaks.len() as u64]);
        for step in &offer.breaks {
            list.extend([step.lo, step.up, step.pack_cost.to_bits()]);
        }
    }
    list
}

/// Mating faces by number.
struct Faces {
    /// For each identity.
    of: Vec<usize>,
    /// For each face, how many identities.
    identities: Vec<usize>,
    /// Those that some device has built in.
    built_in: BTreeSet<usize>,
}

impl Faces {
    fn new(problem: &Problem, fit: &Fit) -> Faces {
        let mut names: Vec<&str> = fit
            .identities
            .iter()
            .map(|i| i.interface.as_str())
            .collect();
        names.sort_unstable();
        names.dedup();
        let of: Vec<usize> = (fit.identities.iter())
            .map(|i| names.binary_search(&i.interface.as_str()).unwrap_or(0))
            .collect();
        let mut seen: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); names.len()];
        for plug in problem.cells.iter().flat_map(|cell| &cell.plugs) {
            seen[of[plug.identity]].insert(plug.identity);
        }
        let built_in = problem.cells.iter().filter(|cell| cell.is_built_in());
        let built_in = built_in.flat_map(|cell| &cell.plugs);
        Faces {
            built_in: built_in.map(|plug| of[plug.identity]).collect(),
            of,
            identities: seen.iter().map(BTreeSet::len).collect(),
        }
    }
}
