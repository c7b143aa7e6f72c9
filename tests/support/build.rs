//! Projects built in code, with names in place of ids.

use super::dec;
use couplet::catalog::{
    Attribute, BackShell, Body, Break, CRIMP, Catalog, Die, DieId, Exit, Ferrule, Half, Holds,
    IfEmpty, Kind, Offer, Part, PartId, Seal, Spec, Supplier, SupplierId, Values,
};
use couplet::diag::Row;
use couplet::input::Input;
use couplet::project::{Cable, Circuit, Distinct, Keying, Settings, Terminal};
use couplet::units::{Ampere, Currency, Gauge, Implied, Mm, Mm2, Money, Percent, Qty, Volt};
use std::collections::{BTreeMap, BTreeSet};

/// A project under construction.
pub struct Shop {
    /// Parts by code; a ferrule's die is named by `die_name`.
    pub parts: BTreeMap<String, Spec>,
    /// The user's own attributes.
    pub attributes: Vec<Attribute>,
    /// What parts have of them, by part code.
    pub values: BTreeMap<String, Values>,
    /// By part and supplier.
    pub offers: BTreeMap<(String, String), List>,
    /// More of them, by part, supplier and sku.
    pub more_offers: BTreeMap<(String, String, String), List>,
    /// By name.
    pub suppliers: BTreeMap<String, Supplier>,
    /// By code.
    pub dies: BTreeMap<String, Die>,
    /// Settings.
    pub settings: Settings,
    /// Circuits in order.
    pub circuits: Vec<Circuit>,
    /// Pieces by part code.
    pub on_hand: BTreeMap<String, Qty>,
}

/// A supplier's price list entry.
#[derive(Debug, Clone)]
pub struct List {
    /// Least quantity and price of each break, rising.
    pub breaks: Vec<(Qty, Money)>,
    /// Pieces in a pack.
    pub pack: Qty,
    /// Pieces that can be had.
    pub stock: Option<Qty>,
    /// Days.
    pub lead_days: Option<u32>,
}

/// Breaks as `(least quantity, price)`, single pieces, no limit.
pub fn list(breaks: &[(Qty, &str)]) -> List {
    List {
        breaks: breaks.iter().map(|&(q, p)| (q, money(p))).collect(),
        pack: 1,
        stock: None,
        lead_days: None,
    }
}

impl List {
    /// The same in packs.
    pub fn pack(self, pack: Qty) -> List {
        List { pack, ..self }
    }

    /// The same with a stock.
    pub fn stock(self, stock: Qty) -> List {
        List {
            stock: Some(stock),
            ..self
        }
    }

    /// The same with a lead time.
    pub fn lead(self, days: u32) -> List {
        List {
            lead_days: Some(days),
            ..self
        }
    }
}

/// Money from its text.
pub fn money(text: &str) -> Money {
    Money(dec(text))
}

/// A row of a file that does not exist.
pub fn row(file: &str, place: usize) -> Row {
    Row {
        file: file.into(),
        line: place as u64 + 2,
    }
}

/// A plug that takes no fittings, for up to 400 A and 1000 V.
pub fn plug(interface: &str, key: &str) -> Body {
    Body {
        half: Half::Plug,
        interface: interface.to_owned(),
        key: key.to_owned(),
        poles: 1,
        rated_a: Ampere(dec("400")),
        rated_v: Volt(dec("1000")),
        rated_c: None,
        max_c: None,
        attach: CRIMP.to_owned(),
        exit: Some(Exit::Straight),
        barrel: None,
        rear: None,
        ip: None,
        colour: None,
        includes: Vec::new(),
        min_mm2: None,
        max_mm2: None,
        min_od: None,
        max_od: None,
        ratings: Vec::new(),
    }
}

/// A receptacle on a busbar to go with [`plug`].
pub fn receptacle(interface: &str, key: &str) -> Body {
    Body {
        half: Half::Receptacle,
        attach: "busbar".to_owned(),
        exit: None,
        ..plug(interface, key)
    }
}

/// A ferrule for 10 to 95 mm².
pub fn ferrule(barrel: &str, die: Option<&str>) -> Ferrule {
    Ferrule {
        barrel: barrel.to_owned(),
        min_mm2: Mm2(dec("10")),
        max_mm2: Mm2(dec("95")),
        die: None,
        die_name: die.map(str::to_owned),
    }
}

/// A seal for 5 to 25 mm.
pub fn seal(rear: &str) -> Seal {
    Seal {
        rear: rear.to_owned(),
        min_od: Mm(dec("5")),
        max_od: Mm(dec("25")),
        ip: None,
    }
}

/// A back shell up to 25 mm.
pub fn back_shell(rear: &str, pieces: u32) -> BackShell {
    BackShell {
        rear: rear.to_owned(),
        exit: None,
        max_od: Mm(dec("25")),
        colour: None,
        pieces,
    }
}

/// Single conductors of 70 mm² from a busbar at `from` to nothing.
pub fn circuit(name: &str, nets: &str, from: &str) -> Circuit {
    Circuit {
        machine: 0,
        copies: 1,
        name: name.to_owned(),
        conductors: nets.split(' ').map(str::to_owned).collect(),
        cable: Cable::Single,
        from: terminal(from, Some("busbar")),
        to: terminal("nowhere", None),
        current: Ampere(dec("200")),
        voltage: Volt(dec("350")),
        gauge: Gauge::Metric(Mm2(dec("70"))),
        cable_od: Mm(dec("16.2")),
        ip: None,
        colour: None,
        branch: String::new(),
        note: String::new(),
        row: row("circuits.csv", 0),
    }
}

/// A location, and what the receptacle attaches to there.
pub fn terminal(location: &str, attach: Option<&str>) -> Terminal {
    Terminal {
        location: location.to_owned(),
        attach: attach.map(str::to_owned),
        exit: None,
        interface: None,
        key: None,
        wants: Vec::new(),
    }
}

/// Settings with every limit off and keying by location.
pub fn settings() -> Settings {
    Settings {
        name: "test".to_owned(),
        currency: Currency("EUR".to_owned()),
        catalog: "catalog".to_owned(),
        prices: None,
        ambient: None,
        max_lead_days: None,
        protection: Implied::Strict,
        tax_percent: Percent(dec("20")),
        line_cost: Money::ZERO,
        max_variants: None,
        max_suppliers: None,
        max_dies: None,
        rows: Default::default(),
        exclude_parts: BTreeSet::new(),
        exclude_suppliers: BTreeSet::new(),
        rates: BTreeMap::new(),
        keying: Keying {
            distinct: Distinct::ByLocation,
            ignore_at: BTreeSet::new(),
            keys: BTreeMap::new(),
        },
        spares: BTreeMap::new(),
        budget: None,
        worth_changing: Money::ZERO,
    }
}

impl Shop {
    /// Nothing on the shelves yet.
    pub fn new() -> Shop {
        Shop {
            parts: BTreeMap::new(),
            attributes: Vec::new(),
            values: BTreeMap::new(),
            offers: BTreeMap::new(),
            more_offers: BTreeMap::new(),
            suppliers: BTreeMap::new(),
            dies: BTreeMap::new(),
            settings: settings(),
            circuits: Vec::new(),
            on_hand: BTreeMap::new(),
        }
    }

    /// Adds a body.
    pub fn body(&mut self, code: &str, body: Body) {
        self.parts
            .insert(code.to_owned(), Spec::Body(Box::new(body)));
    }

    /// Adds a fitting.
    pub fn part(&mut self, code: &str, spec: Spec) {
        self.parts.insert(code.to_owned(), spec);
    }

    /// Adds a supplier in EUR without duty.
    pub fn supplier(
        &mut self,
        name: &str,
        shipping: &str,
        free_over: Option<&str>,
        min_order: Option<&str>,
    ) {
        let supplier = Supplier {
            name: name.to_owned(),
            currency: Currency("EUR".to_owned()),
            shipping: money(shipping),
            free_over: free_over.map(money),
            min_order: min_order.map(money),
            duty_percent: Percent(dec("0")),
            note: String::new(),
            row: row("suppliers.csv", self.suppliers.len()),
        };
        self.suppliers.insert(name.to_owned(), supplier);
    }

    /// Adds an offer.
    pub fn offer(&mut self, part: &str, supplier: &str, list: List) {
        self.offers
            .insert((part.to_owned(), supplier.to_owned()), list);
    }

    /// Adds an offer beside others of the same part and supplier; those have a sku of the
    /// two names.
    pub fn offer_as(&mut self, part: &str, supplier: &str, sku: &str, list: List) {
        let key = [part, supplier, sku].map(str::to_owned).into();
        self.more_offers.insert(key, list);
    }

    /// Adds an attribute, which no part has yet.
    pub fn attribute(&mut self, name: &str, on: &[Kind], holds: Holds, if_empty: IfEmpty) {
        self.attributes.push(Attribute {
            name: name.into(),
            on: on.iter().copied().collect(),
            holds,
            if_empty,
            description: String::new(),
            note: String::new(),
            row: row("attributes.csv", self.attributes.len()),
        });
    }

    /// Adds a crimp die.
    pub fn die(&mut self, name: &str, cost: &str, owned: bool) {
        let die = Die {
            name: name.to_owned(),
            description: String::new(),
            cost: money(cost),
            owned,
            note: String::new(),
            row: row("dies.csv", self.dies.len()),
        };
        self.dies.insert(name.to_owned(), die);
    }

    /// The project, sorted as the catalog's docs say.
    pub fn finish(mut self) -> Input {
        let dies: Vec<Die> = self.dies.into_values().collect();
        let suppliers: Vec<Supplier> = self.suppliers.into_values().collect();
        let parts: Vec<Part> = self
            .parts
            .into_iter()
            .enumerate()
            .map(|(i, (code, spec))| {
                let values = self.values.remove(&code);
                let part = part(i, code, spec, &dies);
                Part {
                    values: values.unwrap_or_else(|| vec![None; self.attributes.len()]),
                    ..part
                }
            })
            .collect();
        let mut catalog = Catalog {
            parts,
            offers: Vec::new(),
            suppliers,
            dies,
            attributes: self.attributes,
        };
        // by code and name, hence by part and supplier
        for (i, ((code, supplier), list)) in self.offers.iter().enumerate() {
            let offer = offer(&catalog, i, (code, supplier), list);
            catalog.offers.push(offer);
        }
        for (i, ((code, supplier, sku), list)) in self.more_offers.iter().enumerate() {
            let place = self.offers.len() + i;
            let offer = offer(&catalog, place, (code, supplier), list);
            let sku = sku.clone();
            catalog.offers.push(Offer { sku, ..offer });
        }
        let name = |o: &Offer| (o.part, o.supplier, o.sku.clone());
        catalog.offers.sort_by_cached_key(name);
        let on_hand = self.on_hand.iter();
        let on_hand = on_hand
            .map(|(code, &q)| (id_of(&catalog, code), q))
            .collect();
        Input {
            catalog,
            settings: self.settings,
            machines: Vec::new(),
            circuits: self.circuits,
            on_hand,
            ordered: Vec::new(),
            dies_ordered: Vec::new(),
            as_of: None,
            prices: Default::default(),
            files: Vec::new(),
        }
    }
}

fn part(place: usize, code: String, mut spec: Spec, dies: &[Die]) -> Part {
    let file = match &mut spec {
        Spec::Body(_) => "bodies.csv",
        Spec::Ferrule(ferrule) => {
            let name = ferrule.die_name.as_deref();
            let place = name.and_then(|n| dies.iter().position(|d| d.name == n));
            ferrule.die = place.map(|i| DieId(i as u32));
            "ferrules.csv"
        }
        Spec::Seal(_) => "seals.csv",
        Spec::BackShell(_) => "backshells.csv",
    };
    Part {
        code,
        description: String::new(),
        spec,
        values: Vec::new(),
        note: String::new(),
        row: row(file, place),
    }
}

fn offer(catalog: &Catalog, place: usize, key: (&str, &str), list: &List) -> Offer {
    let (code, supplier) = key;
    let seller = catalog.suppliers.iter().position(|s| s.name == supplier);
    Offer {
        part: id_of(catalog, code),
        supplier: SupplierId(seller.expect("a supplier of the shop") as u32),
        sku: format!("{supplier}-{code}"),
        pack: list.pack,
        stock: list.stock,
        lead_days: list.lead_days,
        breaks: list
            .breaks
            .iter()
            .map(|&(min_qty, unit_price)| Break {
                min_qty,
                unit_price,
                quoted: None,
                note: String::new(),
                row: row("prices.csv", place),
            })
            .collect(),
    }
}

/// The id of a part that the catalog has.
pub fn id_of(catalog: &Catalog, code: &str) -> PartId {
    let place = catalog.parts.iter().position(|p| p.code == code);
    PartId(place.expect("a part of the shop") as u32)
}

/// So many ends of one net that take plug P and receptacle R; R is on hand, P
/// is sold by Nord.
pub fn ends(count: usize) -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    shop.body("P", plug("F", "A"));
    shop.body("R", receptacle("F", "A"));
    shop.on_hand.insert("R".to_owned(), 100);
    for n in 0..count {
        shop.circuits.push(circuit(&format!("C{n}"), "HV+", "pack"));
    }
    shop
}
