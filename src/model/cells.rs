//! Ends that the program need not tell apart, gathered into cells.
//!
//! Machines that are built several times stand once, with their copies: each end counts
//! so many pieces. Only ends of machines with equally many copies are gathered.
//!
//! The program stays exact: any whole numbers that hold the rows of a cell can
//! be dealt out to its ends. Where no keying rule applies, ends with the same gauge and
//! possible parts are one cell. At a keyed location, nets with one end each
//! and the same possible parts are one cell: an identity is used at most once
//! there, and any of the nets may have it. Locations with like cells are one
//! site. For L such locations, a table of (net, identity) counts with row sums L and
//! column sums at most L is the sum of L tables with row sums 1 and column sums
//! at most 1, because every bipartite multigraph of degree L has an edge
//! colouring with L colours (D. Kőnig, "Über Graphen und ihre Anwendung auf
//! Determinantentheorie und Mengenlehre", 1916).

use crate::catalog::PartId;
use crate::fit::{Choice, Class, Fit};
use crate::input::Input;
use crate::project::{Distinct, Keying};
use crate::units::{Gauge, Qty};
use std::collections::BTreeMap;

/// A group of ends that the program need not tell apart.
#[derive(Debug, Clone)]
pub struct Cell {
    /// Its ends, by place in `Fit::ends`, in the order of locations, then nets.
    pub ends: Vec<usize>,
    /// How often the machines of these ends are built. Each of its ends stands for so
    /// many, all with the same set.
    pub copies: Qty,
    /// Gauge of all the ends.
    pub gauge: Gauge,
    /// Receptacles by part; none where the devices have theirs already.
    pub receptacles: Vec<Body>,
    /// Plugs by part.
    pub plugs: Vec<Body>,
    /// Places on bodies that must be filled.
    pub slots: Vec<Slot>,
    /// A class with the choices of the cell, by place in `Fit::classes`.
    pub class: usize,
    /// A number, the same for all cells with the same gauge, choices and copies.
    pub kind: usize,
}

/// A body that can serve a cell.
#[derive(Debug, Clone)]
pub struct Body {
    /// Its id.
    pub id: PartId,
    /// Its place in `Problem::parts`.
    pub part: usize,
    /// Its identity, by place in `Fit::identities`.
    pub identity: usize,
    /// Two halves of a cell can be put together where this is equal, see [`Choice`].
    pub mate: usize,
    /// Its slots, by place in [`Cell::slots`].
    pub slots: Vec<usize>,
}

/// The parts for one place on a body.
#[derive(Debug, Clone)]
pub struct Slot {
    /// Part id, its place in `Problem::parts`, pieces on one body in all copies of its machine.
    pub options: Vec<(PartId, usize, Qty)>,
}

/// Locations with the same nets in all that counts, where different nets must
/// not share an identity.
#[derive(Debug, Clone)]
pub struct Site {
    /// How many locations.
    pub locations: Qty,
    /// Cells whose nets have one end each.
    pub loose: Vec<usize>,
    /// The cells of each net with several ends. Such nets are only where
    /// `locations` is 1.
    pub nets: Vec<Vec<usize>>,
}

impl Cell {
    /// How many ends, each counted once for all copies of its machine.
    pub fn count(&self) -> Qty {
        self.ends.len() as Qty
    }

    /// True if the devices have their receptacles already.
    pub fn is_built_in(&self) -> bool {
        self.receptacles.is_empty()
    }

    /// Receptacles, then plugs.
    pub fn bodies(&self) -> impl Iterator<Item = &Body> {
        self.receptacles.iter().chain(&self.plugs)
    }

    /// All parts that the cell can use; some parts come more than once.
    pub fn parts_used(&self) -> impl Iterator<Item = PartId> {
        let bodies = self.bodies().map(|b| b.id);
        let fittings = self
            .slots
            .iter()
            .flat_map(|s| s.options.iter().map(|o| o.0));
        bodies.chain(fittings)
    }

    /// Gives each part its place in `Problem::parts`.
    pub(super) fn number(&mut self, place: &BTreeMap<PartId, usize>) {
        let find = |id: &PartId| place.get(id).copied().unwrap_or(0);
        for body in self.receptacles.iter_mut().chain(&mut self.plugs) {
            body.part = find(&body.id);
        }
        for option in self.slots.iter_mut().flat_map(|s| &mut s.options) {
            option.1 = find(&option.0);
        }
    }

    /// The most pieces that the cell can fit of each part.
    pub(super) fn most_uses(&self) -> BTreeMap<usize, Qty> {
        let mut most = BTreeMap::new();
        for body in self.bodies() {
            most.insert(body.part, self.count() * self.copies);
        }
        for half in [&self.receptacles, &self.plugs] {
            // An end has one body of this half, and uses the slots of that body alone.
            let mut on_half: BTreeMap<usize, Qty> = BTreeMap::new();
            for body in half {
                let mut on_body: BTreeMap<usize, Qty> = BTreeMap::new();
                for &slot in &body.slots {
                    for &(_, part, qty) in &self.slots[slot].options {
                        *on_body.entry(part).or_default() += qty;
                    }
                }
                for (part, qty) in on_body {
                    let entry = on_half.entry(part).or_default();
                    *entry = qty.max(*entry);
                }
            }
            for (part, qty) in on_half {
                *most.entry(part).or_default() += qty * self.count();
            }
        }
        most
    }
}

/// The cells and sites of a project.
pub(super) fn cells(input: &Input, fit: &Fit) -> (Vec<Cell>, Vec<Site>) {
    let kinds = kinds(&fit.classes);
    let mut cells: Vec<Cell> = Vec::new();
    let mut sites: Vec<Site> = Vec::new();
    let mut free: BTreeMap<usize, usize> = BTreeMap::new();
    let mut alike: BTreeMap<Vec<(usize, usize)>, usize> = BTreeMap::new();
    for (location, nets) in by_location(input, &fit.classes) {
        let keyed = location.is_keyed(input) && nets.len() > 1;
        if !keyed {
            for &class in nets.values().flatten() {
                let cell = *(free.entry(kinds[class]))
                    .or_insert_with(|| new_cell(&mut cells, fit, class, kinds[class]));
                cells[cell].ends.extend(&fit.classes[class].ends);
            }
            continue;
        }
        let is_loose =
            |classes: &Vec<usize>| classes.len() == 1 && fit.classes[classes[0]].ends.len() == 1;
        let mut loose: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for classes in nets.values().filter(|c| is_loose(c)) {
            loose.entry(kinds[classes[0]]).or_default().push(classes[0]);
        }
        let bound: Vec<&Vec<usize>> = nets.values().filter(|c| !is_loose(c)).collect();
        let signature: Vec<(usize, usize)> =
            loose.iter().map(|(&kind, c)| (kind, c.len())).collect();
        let site = match alike.get(&signature).filter(|_| bound.is_empty()) {
            Some(&site) => site,
            None => {
                let site = Site {
                    locations: 0,
                    loose: (loose.values())
                        .map(|classes| new_cell(&mut cells, fit, classes[0], kinds[classes[0]]))
                        .collect(),
                    nets: (bound.iter())
                        .map(|c| {
                            c.iter()
                                .map(|&c| new_cell(&mut cells, fit, c, kinds[c]))
                                .collect()
                        })
                        .collect(),
                };
                sites.push(site);
                if bound.is_empty() {
                    alike.insert(signature, sites.len() - 1);
                }
                sites.len() - 1
            }
        };
        sites[site].locations += 1;
        for (&cell, classes) in sites[site].loose.iter().zip(loose.values()) {
            for &class in classes {
                cells[cell].ends.extend(&fit.classes[class].ends);
            }
        }
        for (net, classes) in sites[site].nets.iter().zip(bound) {
            for (&cell, &class) in net.iter().zip(classes) {
                cells[cell].ends.extend(&fit.classes[class].ends);
            }
        }
    }
    (cells, sites)
}

/// For each location where different nets must not share an identity, the
/// classes of each net and branch.
pub(super) fn nets_by_location(input: &Input, classes: &[Class]) -> Vec<Vec<Vec<usize>>> {
    (by_location(input, classes).into_iter())
        .filter(|(location, nets)| location.is_keyed(input) && nets.len() > 1)
        .map(|(_, nets)| nets.into_values().collect())
        .collect()
}

/// A location of a machine. Without a name: all of its locations that the keying rule
/// does not leave out.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Where<'f> {
    machine: usize,
    location: &'f str,
}

impl Where<'_> {
    fn is_keyed(self, input: &Input) -> bool {
        let keying = &input.rules(self.machine).keying;
        keying.distinct != Distinct::Off && !keying.ignore_at.contains(self.location)
    }
}

/// A net on a branch: what may share an identity.
type Line<'f> = (&'f str, &'f str);

/// The classes of each location by net and branch, locations in the order of their first ends.
/// Where the keying rule holds for the whole machine, all locations that it
/// does not leave out are one, without a name.
fn by_location<'f>(
    input: &Input,
    classes: &'f [Class],
) -> Vec<(Where<'f>, BTreeMap<Line<'f>, Vec<usize>>)> {
    let mut place: BTreeMap<Where<'f>, usize> = BTreeMap::new();
    let mut list: Vec<(Where<'f>, BTreeMap<Line, Vec<usize>>)> = Vec::new();
    for (c, class) in classes.iter().enumerate() {
        let keying: &Keying = &input.rules(class.machine).keying;
        let location = Where {
            machine: class.machine,
            location: match keying.distinct {
                Distinct::Everywhere if !keying.ignore_at.contains(&class.location) => "",
                _ => class.location.as_str(),
            },
        };
        let at = *place.entry(location).or_insert_with(|| {
            list.push((location, BTreeMap::new()));
            list.len() - 1
        });
        let line = (class.net.as_str(), class.branch.as_str());
        list[at].1.entry(line).or_default().push(c);
    }
    list
}

/// For each class the first class with the same gauge, choices and copies.
pub(super) fn kinds(classes: &[Class]) -> Vec<usize> {
    let mut seen: BTreeMap<(Gauge, Vec<u64>), usize> = BTreeMap::new();
    classes
        .iter()
        .enumerate()
        .map(|(c, class)| *seen.entry((class.gauge, choices(class))).or_insert(c))
        .collect()
}

/// The copies and the choices of a class as one list of numbers.
fn choices(class: &Class) -> Vec<u64> {
    let mut list = vec![class.copies];
    for half in [&class.receptacles, &class.plugs] {
        list.push(half.len() as u64);
        for choice in half {
            let body = u64::from(choice.body.0);
            list.extend([body, choice.mate as u64, choice.slots.len() as u64]);
            list.extend(choice.slots.iter().map(|&s| s as u64));
        }
    }
    for slot in &class.slots {
        list.push(slot.options.len() as u64);
        list.extend(slot.options.iter().flat_map(|&(p, q)| [u64::from(p.0), q]));
    }
    list
}

fn new_cell(cells: &mut Vec<Cell>, fit: &Fit, class: usize, kind: usize) -> usize {
    let source = &fit.classes[class];
    let bodies = |choices: &[Choice]| {
        (choices.iter())
            .map(|c| Body {
                id: c.body,
                part: 0,
                identity: c.identity,
                mate: c.mate,
                slots: c.slots.clone(),
            })
            .collect()
    };
    cells.push(Cell {
        ends: Vec::new(),
        copies: source.copies,
        gauge: source.gauge,
        receptacles: bodies(&source.receptacles),
        plugs: bodies(&source.plugs),
        slots: (source.slots.iter())
            .map(|slot| Slot {
                options: (slot.options.iter())
                    .map(|&(p, q)| (p, 0, q * source.copies))
                    .collect(),
            })
            .collect(),
        class,
        kind,
    });
    cells.len() - 1
}
