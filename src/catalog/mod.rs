//! What can be bought: parts, offers, suppliers, crimp dies.

mod attribute;
mod past;
pub mod read;

pub use attribute::{Attribute, Holds, IfEmpty, Value, Values};
pub use past::PastPrice;

use crate::diag::Row;
use crate::units::{Ampere, Celsius, Currency, Mm, Mm2, Money, Percent, Protection, Qty, Volt};
use jiff::civil::Date;
use std::fmt;

/// A part by its place in [`Catalog::parts`]. The parts are sorted by code, so the
/// smaller id has the smaller code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PartId(pub u32);

/// A supplier by its place in [`Catalog::suppliers`], sorted by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SupplierId(pub u32);

/// An offer by its place in [`Catalog::offers`], sorted by part, supplier, sku.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OfferId(pub u32);

/// A crimp die by its place in [`Catalog::dies`], sorted by code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DieId(pub u32);

/// One half of a mated pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Half {
    /// On the device, or the other half of an in-line joint.
    Receptacle,
    /// On the cable.
    Plug,
}

/// What a crimped body needs to take a cable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Fitting {
    /// Crimped onto the conductor, one per pole.
    Ferrule,
    /// Around the cable.
    Seal,
    /// Behind the body, one or more pieces.
    BackShell,
}

/// The five kinds of part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A body on the cable.
    Plug,
    /// A body on the device.
    Receptacle,
    /// See [`Fitting::Ferrule`].
    Ferrule,
    /// See [`Fitting::Seal`].
    Seal,
    /// See [`Fitting::BackShell`].
    BackShell,
}

impl Kind {
    /// All kinds, in the order in which they are shown.
    pub const ALL: [Kind; 5] = [
        Kind::Plug,
        Kind::Receptacle,
        Kind::Ferrule,
        Kind::Seal,
        Kind::BackShell,
    ];

    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Kind::Plug => "plug",
            Kind::Receptacle => "receptacle",
            Kind::Ferrule => "ferrule",
            Kind::Seal => "seal",
            Kind::BackShell => "back-shell",
        }
    }

    /// Reads the word that files use.
    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|k| k.word() == word)
    }
}

impl Half {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        Kind::from(self).word()
    }
}

impl Fitting {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        Kind::from(self).word()
    }
}

impl From<Half> for Kind {
    fn from(half: Half) -> Kind {
        match half {
            Half::Plug => Kind::Plug,
            Half::Receptacle => Kind::Receptacle,
        }
    }
}

impl From<Fitting> for Kind {
    fn from(fitting: Fitting) -> Kind {
        match fitting {
            Fitting::Ferrule => Kind::Ferrule,
            Fitting::Seal => Kind::Seal,
            Fitting::BackShell => Kind::BackShell,
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl fmt::Display for Half {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl fmt::Display for Fitting {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// How the cable leaves a body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Exit {
    /// In line with the body.
    Straight,
    /// At a right angle to the body.
    RightAngle,
}

impl Exit {
    /// The word that files use.
    pub fn word(self) -> &'static str {
        match self {
            Exit::Straight => "straight",
            Exit::RightAngle => "right-angle",
        }
    }
}

impl fmt::Display for Exit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// The word in `attach` of a body that is crimped onto a cable.
pub const CRIMP: &str = "crimp";

/// The word in an end's attach for a device that has its receptacle already.
pub const BUILT_IN: &str = "built-in";

/// A part of the catalog.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The user's code, unique over all files.
    pub code: String,
    /// Free text.
    pub description: String,
    /// What the part is.
    pub spec: Spec,
    /// What it has of each attribute of [`Catalog::attributes`].
    pub values: Values,
    /// The user's remark.
    pub note: String,
    /// Where the part stands.
    pub row: Row,
}

/// What a part is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Spec {
    /// A plug or a receptacle.
    Body(Box<Body>),
    /// A ferrule.
    Ferrule(Ferrule),
    /// A seal.
    Seal(Seal),
    /// A back shell.
    BackShell(BackShell),
}

/// A plug or a receptacle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Body {
    /// Which half.
    pub half: Half,
    /// Mating face.
    pub interface: String,
    /// Keying position; empty for an interface without keying.
    pub key: String,
    /// Contacts.
    pub poles: u32,
    /// Continuous current per contact.
    pub rated_a: Ampere,
    /// Rated voltage.
    pub rated_v: Volt,
    /// Ambient temperature at which `rated_a` holds; given with `max_c` or not at all.
    pub rated_c: Option<Celsius>,
    /// Highest temperature of the body.
    pub max_c: Option<Celsius>,
    /// What this half fixes to: [`CRIMP`], or the user's word for a device side.
    pub attach: String,
    /// How the cable leaves; none on a device side.
    pub exit: Option<Exit>,
    /// Crimp barrel code: one ferrule per pole is needed.
    pub barrel: Option<String>,
    /// Rear fitting code: a seal and a set of back shells are needed.
    pub rear: Option<String>,
    /// Protection when mated.
    pub ip: Option<Protection>,
    /// Colour; none where the row gives none.
    pub colour: Option<String>,
    /// Fittings that come in the box.
    pub includes: Vec<Fitting>,
    /// Smallest conductor area that the fitting in the box takes.
    pub min_mm2: Option<Mm2>,
    /// Largest conductor area that the fitting in the box takes.
    pub max_mm2: Option<Mm2>,
    /// Smallest cable diameter that the fitting in the box takes.
    pub min_od: Option<Mm>,
    /// Largest cable diameter that the fitting in the box takes.
    pub max_od: Option<Mm>,
    /// Other currents on conductors of some areas, in the order of the rows.
    pub ratings: Vec<Rating>,
}

/// A row of `ratings.csv`: the current of each contact on conductors of some areas.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rating {
    /// Smallest conductor area.
    pub min_mm2: Mm2,
    /// Largest conductor area.
    pub max_mm2: Mm2,
    /// Continuous current per contact there.
    pub rated_a: Ampere,
}

impl Body {
    /// The row of `ratings.csv` that counts on conductors of this area: of several,
    /// that of the lowest current; none where the body's own current counts.
    pub fn rating(&self, area: Mm2) -> Option<&Rating> {
        let here = |r: &&Rating| r.min_mm2 <= area && area <= r.max_mm2;
        self.ratings.iter().filter(here).min_by_key(|r| r.rated_a)
    }

    /// Continuous current per contact on conductors of this area, before derating.
    pub fn rated_on(&self, area: Mm2) -> Ampere {
        self.rating(area).map_or(self.rated_a, |r| r.rated_a)
    }

    /// True if the body is crimped onto a cable, and so takes fittings.
    pub fn is_crimped(&self) -> bool {
        self.attach == CRIMP
    }

    /// The code, barrel or rear, that ties this body to the fittings of a kind that
    /// must be chosen and bought. None where no such fitting is needed, or where it is
    /// in the box.
    pub fn needs(&self, fitting: Fitting) -> Option<&str> {
        if self.includes.contains(&fitting) {
            return None;
        }
        match fitting {
            Fitting::Ferrule => self.barrel.as_deref(),
            Fitting::Seal | Fitting::BackShell => self.rear.as_deref(),
        }
    }
}

/// A ferrule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ferrule {
    /// Crimp barrel code.
    pub barrel: String,
    /// Smallest conductor area.
    pub min_mm2: Mm2,
    /// Largest conductor area.
    pub max_mm2: Mm2,
    /// The crimp die that the ferrule takes, if the row names a die that `dies.csv` lists.
    pub die: Option<DieId>,
    /// The die as the row names it.
    pub die_name: Option<String>,
}

/// A seal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seal {
    /// Rear fitting code.
    pub rear: String,
    /// Smallest cable diameter.
    pub min_od: Mm,
    /// Largest cable diameter.
    pub max_od: Mm,
    /// Protection, where it limits that of the pair.
    pub ip: Option<Protection>,
}

/// A back shell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackShell {
    /// Rear fitting code.
    pub rear: String,
    /// The exit of the bodies that the back shell fits; none fits any exit.
    pub exit: Option<Exit>,
    /// Largest cable diameter.
    pub max_od: Mm,
    /// Colour; none goes with any colour.
    pub colour: Option<String>,
    /// Pieces per body.
    pub pieces: u32,
}

impl Spec {
    /// Which of the five kinds.
    pub fn kind(&self) -> Kind {
        match self {
            Spec::Body(body) => body.half.into(),
            Spec::Ferrule(_) => Kind::Ferrule,
            Spec::Seal(_) => Kind::Seal,
            Spec::BackShell(_) => Kind::BackShell,
        }
    }
}

impl Part {
    /// Which of the five kinds.
    pub fn kind(&self) -> Kind {
        self.spec.kind()
    }

    /// The body, if the part is one.
    pub fn body(&self) -> Option<&Body> {
        match &self.spec {
            Spec::Body(body) => Some(body),
            _ => None,
        }
    }
}

/// One supplier's price list entry for a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The part.
    pub part: PartId,
    /// Who sells the part.
    pub supplier: SupplierId,
    /// The supplier's code for what is sold; may be empty. The same part in another
    /// pack can be another offer of the same supplier.
    pub sku: String,
    /// Pieces in a pack; orders are whole packs.
    pub pack: Qty,
    /// Pieces that can be had; none = no limit.
    pub stock: Option<Qty>,
    /// Days until delivery, where known.
    pub lead_days: Option<u32>,
    /// Price breaks, by rising least quantity; at least one. The price of the
    /// break that the ordered quantity reaches holds for the whole quantity.
    pub breaks: Vec<Break>,
}

/// One price break of an offer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Break {
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece in the supplier's currency.
    pub unit_price: Money,
    /// Day of the quote.
    pub quoted: Option<Date>,
    /// The user's remark.
    pub note: String,
    /// Where the break stands.
    pub row: Row,
}

impl Offer {
    /// The break that an order of `qty` pieces reaches; none below the least quantity.
    pub fn break_at(&self, qty: Qty) -> Option<&Break> {
        self.breaks.iter().rev().find(|b| b.min_qty <= qty)
    }
}

/// A supplier. All amounts of money are in the supplier's own currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supplier {
    /// Name, unique.
    pub name: String,
    /// The currency that the supplier bills in.
    pub currency: Currency,
    /// Cost of shipping, paid once where anything is bought.
    pub shipping: Money,
    /// Goods of at least this much ship free.
    pub free_over: Option<Money>,
    /// Goods must come to at least this much, or nothing is bought.
    pub min_order: Option<Money>,
    /// Duty on the goods.
    pub duty_percent: Percent,
    /// The user's remark.
    pub note: String,
    /// Where the supplier stands.
    pub row: Row,
}

/// A crimp die. Its cost is in the project's currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Die {
    /// Code, unique.
    pub name: String,
    /// Free text.
    pub description: String,
    /// Paid once if a chosen ferrule names the die and the die is not owned.
    pub cost: Money,
    /// True if the die is there already.
    pub owned: bool,
    /// The user's remark.
    pub note: String,
    /// Where the die stands.
    pub row: Row,
}

/// Everything that can be bought.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Catalog {
    /// The parts, sorted by code.
    pub parts: Vec<Part>,
    /// Sorted by part, supplier, sku; each of them once.
    pub offers: Vec<Offer>,
    /// The suppliers, sorted by name.
    pub suppliers: Vec<Supplier>,
    /// The crimp dies, sorted by code.
    pub dies: Vec<Die>,
    /// In the order of their rows.
    pub attributes: Vec<Attribute>,
}

impl Catalog {
    /// The part with this id.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0 as usize]
    }

    /// The supplier with this id.
    pub fn supplier(&self, id: SupplierId) -> &Supplier {
        &self.suppliers[id.0 as usize]
    }

    /// The offer with this id.
    pub fn offer(&self, id: OfferId) -> &Offer {
        &self.offers[id.0 as usize]
    }

    /// The die with this id.
    pub fn die(&self, id: DieId) -> &Die {
        &self.dies[id.0 as usize]
    }

    /// All parts with their ids, by code.
    pub fn iter(&self) -> impl Iterator<Item = (PartId, &Part)> {
        self.parts
            .iter()
            .enumerate()
            .map(|(i, part)| (PartId(i as u32), part))
    }

    /// The part with this code.
    pub fn find(&self, code: &str) -> Option<PartId> {
        self.parts
            .binary_search_by(|part| part.code.as_str().cmp(code))
            .ok()
            .map(|i| PartId(i as u32))
    }

    /// The supplier with this name.
    pub fn find_supplier(&self, name: &str) -> Option<SupplierId> {
        self.suppliers
            .binary_search_by(|s| s.name.as_str().cmp(name))
            .ok()
            .map(|i| SupplierId(i as u32))
    }

    /// The die with this name.
    pub fn find_die(&self, name: &str) -> Option<DieId> {
        self.dies
            .binary_search_by(|die| die.name.as_str().cmp(name))
            .ok()
            .map(|i| DieId(i as u32))
    }

    /// The die that a part takes, if the part is a ferrule that names one.
    pub fn die_of(&self, code: &str) -> Option<DieId> {
        match &self.part(self.find(code)?).spec {
            Spec::Ferrule(ferrule) => ferrule.die,
            _ => None,
        }
    }

    /// The attributes that are asked of parts of a kind, each with its place in
    /// [`Values`].
    pub fn attributes_on(&self, kind: Kind) -> impl Iterator<Item = (usize, &Attribute)> {
        let all = self.attributes.iter().enumerate();
        all.filter(move |(_, attribute)| attribute.on.contains(&kind))
    }

    /// True if a supplier has several offers of a part, so that a name of one of them
    /// needs its sku.
    pub fn has_several(&self, part: PartId, supplier: SupplierId) -> bool {
        let offers = self.offers_of(part);
        offers
            .filter(|(_, o)| o.supplier == supplier)
            .nth(1)
            .is_some()
    }

    /// The offers of one part, by supplier, then sku.
    pub fn offers_of(&self, part: PartId) -> impl Iterator<Item = (OfferId, &Offer)> {
        let start = self.offers.partition_point(|o| o.part < part);
        self.offers[start..]
            .iter()
            .take_while(move |o| o.part == part)
            .enumerate()
            .map(move |(i, offer)| (OfferId((start + i) as u32), offer))
    }
}
