//! The catalog by what a rule asks for first, so that an end is not tried
//! against every part.

use super::class::Identity;
use super::code::Code;
use super::mate;
use super::place::Place;
use crate::catalog::{Body, Fitting, Half, Part, PartId};
use crate::input::Input;
use std::collections::{BTreeMap, BTreeSet};

/// A body with the place of its identity among all identities of the catalog.
type Shelved<'a> = (PartId, &'a Body, usize);

/// Parts that can be had, by the codes that rules compare for equality.
pub(crate) struct Shelf<'a> {
    /// Bodies by half, attach and poles.
    bodies: BTreeMap<(Half, &'a str, u32), Vec<Shelved<'a>>>,
    /// Fittings by kind and barrel or rear.
    fittings: BTreeMap<(Fitting, &'a str), Vec<(PartId, &'a Part)>>,
    /// Fittings by kind.
    kinds: BTreeMap<Fitting, Vec<(PartId, &'a Part)>>,
    /// All identities of the catalog, sorted.
    pub identities: Vec<Identity>,
}

impl<'a> Shelf<'a> {
    /// The parts of the catalog for which `keep` holds.
    pub fn new(input: &'a Input, keep: impl Fn(PartId) -> bool) -> Self {
        let identities: BTreeSet<Identity> = input
            .catalog
            .parts
            .iter()
            .filter_map(Part::body)
            .map(mate::identity)
            .collect();
        let mut shelf = Shelf {
            bodies: BTreeMap::new(),
            fittings: BTreeMap::new(),
            kinds: BTreeMap::new(),
            identities: identities.into_iter().collect(),
        };
        for (id, part) in input.catalog.iter().filter(|(id, _)| keep(*id)) {
            shelf.put(id, part);
        }
        shelf
    }

    /// Bodies of this half, attach and poles, by id.
    pub fn bodies(&self, half: Half, attach: &'a str, poles: u32) -> &[Shelved<'a>] {
        self.bodies
            .get(&(half, attach, poles))
            .map_or(&[], Vec::as_slice)
    }

    /// Fittings of the place's kind and code, by id.
    pub fn fittings(&self, place: &Place<'a>) -> &[(PartId, &'a Part)] {
        self.fittings
            .get(&(place.fitting, place.code))
            .map_or(&[], Vec::as_slice)
    }

    /// All fittings of a kind, by id.
    pub fn of_kind(&self, fitting: Fitting) -> &[(PartId, &'a Part)] {
        self.kinds.get(&fitting).map_or(&[], Vec::as_slice)
    }

    fn put(&mut self, id: PartId, part: &'a Part) {
        if let Some(body) = part.body() {
            self.put_body(id, body);
        }
        if let Some(Code { fitting, code }) = Code::of(part) {
            self.kinds.entry(fitting).or_default().push((id, part));
            let of_code = self.fittings.entry((fitting, code)).or_default();
            of_code.push((id, part));
        }
    }

    fn put_body(&mut self, id: PartId, body: &'a Body) {
        let place = self
            .identities
            .partition_point(|i| (&i.interface, &i.key) < (&body.interface, &body.key));
        self.bodies
            .entry((body.half, body.attach.as_str(), body.poles))
            .or_default()
            .push((id, body, place));
    }
}
