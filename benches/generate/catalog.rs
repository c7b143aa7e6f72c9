//! Parts and their prices.

use super::{CABLES, Cable, Draw, currency};
use std::fmt::Write as _;

/// Rated current of a class, enough at 40 °C ambient for its cables.
const RATED: [u32; 3] = [125, 250, 400];

/// What bodies of one mating face and place share.
struct Model {
    name: String,
    half: &'static str,
    face: String,
    class: usize,
    poles: u32,
    attach: &'static str,
    exit: &'static str,
    /// Barrel and rear code, for a crimped body.
    codes: Option<(String, String)>,
    /// Price of a piece in euro cents.
    cents: u64,
}

impl Draw {
    /// Faces by class in turn; the first two of a class can do everything.
    pub(super) fn faces(&mut self) {
        for n in 0..self.scale.faces {
            let (class, place) = (n % 3, n / 3);
            let full = place < 2;
            let keys = self.rng.usize(if full { 3..=4 } else { 2..=4 });
            self.face(n, (class, 1), keys, full);
        }
        // one face for two-core cables
        self.face(self.scale.faces, (0, 2), 3, true);
    }

    fn face(&mut self, n: usize, (class, poles): (usize, u32), keys: usize, full: bool) {
        let code = format!("{}{}", ["S", "M", "L"][class], self.rng.u32(1..=2));
        let codes = (format!("B{code}"), format!("A{code}"));
        let worth = (class as u64 + 2) * self.rng.u64(700..1_300) * u64::from(poles);
        let mut models = vec![("plug", "crimp", "straight"), ("receptacle", "busbar", "")];
        for (model, percent) in [
            (("plug", "crimp", "right-angle"), 50),
            (("receptacle", "stud", ""), 60),
            (("receptacle", "crimp", "straight"), 30),
        ] {
            if full || self.chance(percent) {
                models.push(model);
            }
        }
        let ip = if full { "IP67/IP6K9K" } else { "IP67" };
        for (half, attach, exit) in models {
            let crimped = (attach == "crimp").then(|| codes.clone());
            let model = Model {
                name: format!(
                    "{}{n:02}{}{}",
                    initial(half),
                    initial(attach),
                    initial(exit)
                ),
                half,
                face: format!("Face {n:02}"),
                class,
                poles,
                attach,
                exit,
                codes: crimped,
                cents: worth * self.rng.u64(80..120) / 100,
            };
            self.keyed(&model, keys, ip);
        }
    }

    /// A body per key; nine in ten are priced like the first.
    fn keyed(&mut self, model: &Model, keys: usize, ip: &str) {
        let offers = self.offers(model.cents, false);
        for key in ["A", "B", "C", "D"].into_iter().take(keys) {
            let part = format!("{}{key}", model.name);
            let (barrel, rear) = model.codes.clone().unwrap_or_default();
            let Model {
                half,
                face,
                poles,
                attach,
                exit,
                ..
            } = model;
            let rated = RATED[model.class];
            let _ = writeln!(
                self.files.bodies,
                "{part},,{half},{face},{key},{poles},{rated},1000,25,125,\
                 {attach},{exit},{barrel},{rear},{ip},orange,,,,,"
            );
            let other = (key != "A" && self.chance(10)).then(|| {
                let cents = model.cents * self.rng.u64(85..130) / 100;
                self.offers(cents, false)
            });
            self.price(&part, other.as_ref().unwrap_or(&offers));
        }
    }

    pub(super) fn fittings(&mut self) {
        for (class, cables) in CABLES.iter().enumerate() {
            for variant in 1..=2 {
                let code = format!("{}{variant}", ["S", "M", "L"][class]);
                for (n, cable) in cables.iter().enumerate() {
                    self.ferrules(&code, n, cable);
                }
                self.seals(&code, cables);
                self.back_shells(&code);
            }
        }
    }

    /// Two ferrules that take a cable, with and without a die, and the die.
    fn ferrules(&mut self, code: &str, n: usize, cable: &Cable) {
        let die = format!("D{code}{n}");
        let cost = self.rng.u32(40..180);
        let owned = if self.chance(50) { "yes" } else { "no" };
        let _ = writeln!(self.files.dies, "{die},,{cost},{owned}");
        for (part, dear, die) in [
            (format!("F{code}{n}"), 100, die.as_str()),
            (format!("F{code}{n}X"), 170, ""),
        ] {
            let (min, max) = (cable.mm2 * 0.93, cable.mm2 * 1.07);
            let _ = writeln!(
                self.files.ferrules,
                "{part},,B{code},{min:.1},{max:.1},{die}"
            );
            let cents = (60.0 + 4.0 * cable.mm2) as u64 * dear / 100;
            self.fitting(&part, cents);
        }
    }

    fn seals(&mut self, code: &str, cables: &[Cable]) {
        for (n, cable) in cables.iter().enumerate() {
            // a narrow one, and one that takes the next size too
            for (part, below, above) in [
                (format!("S{code}{n}"), 0.5, 0.5),
                (format!("S{code}{n}W"), 0.5, 2.5),
            ] {
                let (min, max) = (cable.od - below, cable.od + above);
                let ip = if self.chance(20) { "IP67/IP6K9K" } else { "" };
                let _ = writeln!(self.files.seals, "{part},,A{code},{min:.1},{max:.1},{ip}");
                let cents = self.rng.u64(90..260);
                self.fitting(&part, cents);
            }
        }
    }

    fn back_shells(&mut self, code: &str) {
        for (part, exit, pieces) in [
            (format!("T{code}"), "", 2),
            (format!("T{code}S"), "straight", 1),
            (format!("T{code}R"), "right-angle", 1),
        ] {
            let rows = &mut self.files.back_shells;
            let _ = writeln!(rows, "{part},,A{code},{exit},25,orange,{pieces}");
            let cents = self.rng.u64(350..800) / pieces;
            self.fitting(&part, cents);
        }
    }

    fn fitting(&mut self, part: &str, cents: u64) {
        let offers = self.offers(cents, true);
        self.price(part, &offers);
    }

    /// Rows of the price list without the part: one to three suppliers.
    fn offers(&mut self, cents: u64, small: bool) -> Vec<(usize, String)> {
        let mut sellers: Vec<usize> = (0..self.scale.suppliers).collect();
        self.rng.shuffle(&mut sellers);
        sellers.truncate(self.pick(&[1, 2, 2, 3]));
        let mut rows = Vec::new();
        for (n, seller) in sellers.into_iter().enumerate() {
            // the first is sure to have it
            let stock = if n > 0 && self.chance(20) {
                self.rng.u32(5..60).to_string()
            } else {
                String::new()
            };
            let days = if n == 0 {
                self.pick(&[3, 10, 20])
            } else {
                self.pick(&[3, 10, 20, 60])
            };
            let pack: u64 = self.pick(if small {
                &[1, 5, 10, 10, 25]
            } else {
                &[1, 1, 1, 1, 2, 5]
            });
            let mut price = cents * self.rng.u64(92..112);
            let mut from = pack;
            for _ in 0..self.pick(&[1, 2, 2, 3]) {
                let (whole, part) = (price / 10_000, price % 10_000 / 100);
                let currency = currency(seller);
                let rest = format!(
                    "{currency},{from},{whole}.{part:02},{pack},{stock},{days},2026-03-{:02}",
                    1 + seller
                );
                rows.push((seller, rest));
                from += pack * self.rng.u64(5..25);
                price = price * self.rng.u64(82..97) / 100;
            }
        }
        rows
    }

    fn price(&mut self, part: &str, offers: &[(usize, String)]) {
        for (seller, rest) in offers {
            let row = &mut self.files.prices;
            let _ = writeln!(row, "{part},House {seller:02},H{seller:02}-{part},{rest}");
        }
        self.parts.push(part.to_owned());
    }
}

fn initial(word: &str) -> String {
    word.chars().take(1).collect::<String>().to_uppercase()
}
