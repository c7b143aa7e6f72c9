//! Gathers what the program is made from.

use super::cells::{Cell, Site, cells};
use super::market;
use super::problem::{Die, Part, Problem, float};
use crate::catalog::{DieId, PartId, Spec};
use crate::fit::Fit;
use crate::input::Input;
use crate::units::Qty;
use rust_decimal::Decimal;
use std::collections::BTreeMap;

impl Problem {
    /// What the program of a project is made from.
    pub fn new(input: &Input, fit: &Fit) -> Problem {
        Problem::at_prices(input, fit, &[])
    }

    /// The same, with the breaks and packs that can pay where all prices of a part
    /// are times one of its `factors`.
    pub fn at_prices(input: &Input, fit: &Fit, factors: &[(PartId, Decimal)]) -> Problem {
        let (mut cells, sites) = cells(input, fit);
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
        let mut problem = Problem {
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
        market::add_offers(&mut problem, input, fit, factors);
        problem
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
        let mut cells_here = site.loose.iter().chain(site.nets.iter().flatten());
        let copies = cells_here.next().map_or(1, |&c| cells[c].copies);
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
        group(&site.loose, site.locations * copies);
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
            price: float(input.catalog.die(id).cost.0),
        })
        .collect()
}
