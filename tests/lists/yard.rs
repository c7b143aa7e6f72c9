//! A project in memory with orders that are placed: that of `couplet new`, whose data is
//! invented, with prices of its own.

use crate::shop::{SUPPLIER, told};
use couplet::desk::letter::{Draft, Outcome};
use couplet::desk::{Asked, Desk};
use couplet::lists::recipe::{Purpose, file_name};
use couplet::plan::{Order, OrderLine};
use couplet::source::Files;
use couplet::study::booking;
use couplet::study::failure::Failure;
use couplet::study::letter::Letter;
use couplet::units::{Currency, Money};
use fastrand::Rng;
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::path::Path;

const FILES: [(&str, &str); 11] = [
    (
        "project.toml",
        include_str!("../../src/cli/new/project.toml"),
    ),
    (
        "circuits.csv",
        include_str!("../../src/cli/new/circuits.csv"),
    ),
    (
        "catalog/bodies.csv",
        include_str!("../../src/cli/new/catalog/bodies.csv"),
    ),
    (
        "catalog/ferrules.csv",
        include_str!("../../src/cli/new/catalog/ferrules.csv"),
    ),
    (
        "catalog/seals.csv",
        include_str!("../../src/cli/new/catalog/seals.csv"),
    ),
    (
        "catalog/backshells.csv",
        include_str!("../../src/cli/new/catalog/backshells.csv"),
    ),
    (
        "catalog/prices.csv",
        include_str!("../../src/cli/new/catalog/prices.csv"),
    ),
    (
        "catalog/suppliers.csv",
        include_str!("../../src/cli/new/catalog/suppliers.csv"),
    ),
    (
        "catalog/dies.csv",
        include_str!("../../src/cli/new/catalog/dies.csv"),
    ),
    (
        "catalog/ratings.csv",
        include_str!("../../src/cli/new/catalog/ratings.csv"),
    ),
    (
        "catalog/attributes.csv",
        include_str!("../../src/cli/new/catalog/attributes.csv"),
    ),
];

pub const HEADER: &str =
    "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted\n";

/// The project folder `y`.
pub struct Yard {
    pub desk: Desk,
}

impl Yard {
    /// With these prices.
    pub fn new(prices: &str) -> Self {
        let mut files = Files::in_memory();
        for (name, text) in FILES {
            files.lay(&Path::new("y").join(name), text);
        }
        files.lay(Path::new("y/catalog/prices.csv"), prices);
        let asked = Asked {
            files,
            ..Asked::default()
        };
        Self {
            desk: Desk::open(Path::new("y"), asked),
        }
    }

    /// With these rows of `prices.csv` and of `ordered.csv`.
    pub fn with(prices: &str, ordered: &str) -> Self {
        let mut yard = Self::new(&format!("{HEADER}{prices}"));
        let names = "part,supplier,qty,unit_price,ordered_on,received,sku\n";
        yard.desk.lay("ordered.csv", &format!("{names}{ordered}"));
        yard
    }

    pub fn lay(&mut self, name: &str, bytes: &[u8]) {
        let mut files = self.desk.files().clone();
        files.lay(Path::new(name), bytes);
        self.desk = Desk::open(
            Path::new("y"),
            Asked {
                files,
                ..Asked::default()
            },
        );
    }

    /// Lays the supplier's recipe.
    pub fn recipe(&mut self, purpose: Purpose, text: &str) {
        let path = Path::new("y/catalog").join(file_name(SUPPLIER, purpose));
        self.lay(path.to_str().unwrap(), text.as_bytes());
    }

    pub fn ordered(&self) -> String {
        self.desk.text("ordered.csv").unwrap()
    }

    /// Places an order of these offers.
    pub fn place(&mut self, lines: &[&Sold], on: Date) {
        let orders = [order(lines)];
        let input = self.desk.sound().unwrap_or_else(|e| panic!("{}", told(&e)));
        let old = self.desk.text("ordered.csv");
        let text = booking::place(old.as_deref(), &orders, &input.catalog, on).unwrap();
        self.desk.lay("ordered.csv", &text);
    }

    pub fn letter(&self, file: &str, purpose: Purpose) -> Result<Letter, Failure> {
        match self.desk.letter(Path::new(file), Some(SUPPLIER), purpose)? {
            Outcome::Read(letter) => Ok(*letter),
            Outcome::Proposed(draft) => panic!("no recipe: {}", draft.text),
        }
    }

    pub fn proposed(&self, file: &str, purpose: Purpose) -> Draft {
        let read = self.desk.letter(Path::new(file), Some(SUPPLIER), purpose);
        match read.unwrap_or_else(|error| panic!("{}", told(&error))) {
            Outcome::Proposed(draft) => *draft,
            Outcome::Read(_) => panic!("there is a recipe"),
        }
    }

    /// Books a note by the desk.
    pub fn receive(&mut self, note: &Letter, on: Date) {
        let arrived = self.desk.arrived(note, on);
        let arrived = arrived.unwrap_or_else(|error| panic!("{}", told(&error)));
        let received = self.desk.to_receive(&arrived.deliveries, on).unwrap();
        self.desk.receive(&received).unwrap();
    }
}

/// An offer of the supplier of which so much is ordered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sold {
    pub part: String,
    pub sku: String,
    pub pack: u64,
    pub lead_days: Option<u32>,
    pub price: Decimal,
    pub qty: u64,
}

fn order(lines: &[&Sold]) -> Order {
    let line = |sold: &&Sold| OrderLine {
        part: sold.part.clone(),
        sku: sold.sku.clone(),
        qty: sold.qty,
        packs: sold.qty / sold.pack,
        unit_price: Money(sold.price),
        line_total: Money(sold.price).times(sold.qty),
    };
    let lines: Vec<OrderLine> = lines.iter().map(line).collect();
    let goods: Money = lines.iter().map(|line| line.line_total).sum();
    Order {
        supplier: SUPPLIER.into(),
        currency: Currency("EUR".into()),
        lines,
        goods,
        duty: Money::ZERO,
        shipping: Money::ZERO,
        total: goods,
    }
}

/// Random offers of the supplier for all parts of the catalog: some parts under two skus.
pub fn offers(rng: &mut Rng, has_packs: bool) -> Vec<Sold> {
    let yard = Yard::new(HEADER);
    let input = yard.desk.sound().unwrap();
    let mut offers = Vec::new();
    for (n, part) in input.catalog.parts.iter().enumerate() {
        for twin in 0..rng.usize(1..=2) {
            let pack = if has_packs {
                *rng.choice(&[1, 5, 10, 25]).unwrap()
            } else {
                1
            };
            let most = if rng.u32(..5) == 0 { 900 } else { 30 };
            offers.push(Sold {
                part: part.code.clone(),
                sku: format!("{n:03}-{}/{twin}", n * 7),
                pack,
                lead_days: (rng.u32(..4) > 0).then(|| 7 * rng.u32(1..9)),
                price: Decimal::new(rng.i64(20..90_000), 2).normalize(),
                qty: pack * rng.u64(1..most),
            });
        }
    }
    offers
}

/// The price list of these offers; another supplier sells the same.
pub fn prices(offers: &[Sold]) -> String {
    let mut text = HEADER.to_owned();
    for one in offers {
        let lead = one
            .lead_days
            .map(|days| days.to_string())
            .unwrap_or_default();
        let Sold {
            part,
            sku,
            pack,
            price,
            ..
        } = one;
        text.push_str(&format!(
            "{part},{SUPPLIER},{sku},EUR,1,{price},{pack},,{lead},\n"
        ));
        text.push_str(&format!("{part},Example South,{sku},USD,1,9,1,,3,\n"));
    }
    text
}
