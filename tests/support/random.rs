//! Small random projects by seed.
//!
//! Each is small enough for the reference to enumerate, and each feature of the
//! files turns up often. In every second project the parts that differ only in
//! key have one price list, so that many plans cost the same.

use super::brute::{self, Best};
use super::build::{self, List, Shop};
use super::{dec, facts, money};
use couplet::catalog::{
    BackShell, Body, CRIMP, DieId, Exit, Ferrule, Fitting, Half, Kind, Seal, Spec, Supplier,
};
use couplet::input::Input;
use couplet::project::{Cable, Circuit, DieOrdered, Distinct, Per, Spares, Terminal};
use couplet::units::{
    Ampere, Celsius, Currency, Gauge, Mm, Mm2, Money, Percent, Protection, Qty, Volt,
};
use fastrand::Rng;
use rust_decimal::Decimal;

/// How many projects the tests look at: seeds below this.
pub const SEEDS: u64 = 300;

/// How many projects with what users add the tests look at.
pub const FACTS: u64 = 420;

/// The most assignments that a project may have.
const MOST: u128 = 20_000;

/// The same where money is as the world has it, and the most steps that
/// enumeration may take there.
const MOST_WORLDLY: u128 = 2_000;
pub const STEPS: u64 = 150_000;

/// The project of a seed and its best plan: the first of its draws that is
/// small enough and, for five seeds in six, can be built. From
/// [`WORLDLY`] on money is as the world has it (see [`money`]).
pub fn project(seed: u64) -> (Input, Option<Best>) {
    let mut rng = Rng::with_seed(seed);
    let worldly = is_worldly(seed);
    let (most, steps) = match worldly {
        true => (MOST_WORLDLY, STEPS),
        false => (MOST, u64::MAX),
    };
    loop {
        let mut input = draw(&mut rng, None);
        let ends = brute::ends(&input).len();
        if !(1..=6).contains(&ends) || brute::size(&input) > most {
            continue;
        }
        if worldly {
            money::exchange(&mut rng, &mut input);
            money::near_thresholds(&mut rng, &mut input, steps);
        }
        let Some(best) = brute::best_within(&input, steps) else {
            continue;
        };
        if best.is_some() || seed.is_multiple_of(6) {
            return (input, best);
        }
    }
}

/// The project of a seed with what users add to it (see [`facts`]), and its best plan.
/// Of twelve seeds ten can be built, one perhaps, and one can't though every end has a set
/// and, but for the keying rule, it could.
pub fn with_facts(seed: u64) -> (Input, Option<Best>) {
    let mut rng = Rng::with_seed(seed ^ 0x0fac_7500);
    loop {
        let input = any_with_facts(&mut rng, None);
        let ends = brute::ends(&input);
        let size = brute::size(&input);
        if !(1..=6).contains(&ends.len()) || size > MOST_WORLDLY {
            continue;
        }
        if size == 0 && !seed.is_multiple_of(12) {
            continue;
        }
        let Some(best) = brute::best_within(&input, STEPS) else {
            continue;
        };
        let is_wanted = match seed % 12 {
            0 => true,
            6 => best.is_none() && is_conflict_of_keys(&input),
            _ => best.is_some(),
        };
        if is_wanted {
            return (input, best);
        }
    }
}

/// True where a project that can't be built could be without the keying rule.
fn is_conflict_of_keys(input: &Input) -> bool {
    let mut free = input.clone();
    free.settings.keying.distinct = Distinct::Off;
    matches!(brute::best_within(&free, STEPS), Some(Some(_)))
}

/// A project of so many circuits, or of a few, with what users add to it, whether or
/// not it can be built.
pub fn any_with_facts(rng: &mut Rng, circuits: Option<usize>) -> Input {
    let mut input = draw(rng, circuits);
    facts::add(rng, &mut input);
    input
}

/// From this seed on money is as the world has it.
pub const WORLDLY: u64 = 100_000;

/// True where the project of a seed has money as the world has it.
pub fn is_worldly(seed: u64) -> bool {
    seed >= WORLDLY
}

const LOCATIONS: [&str; 3] = ["pack", "inverter", "charger"];
const NETS: [&str; 4] = ["HV+", "HV-", "PE", "IL"];
const SUPPLIERS: [&str; 3] = ["Alder", "Birch", "Cedar"];

/// Gauge and outer diameter of its cable.
const CABLES: [(&str, &str); 4] = [
    ("16 mm2", "9.5"),
    ("35 mm2", "12.4"),
    ("70 mm2", "16.2"),
    ("2/0 AWG", "15.9"),
];

struct Draw<'a> {
    rng: &'a mut Rng,
    shop: Shop,
    /// True where parts that differ only in key are priced alike.
    tied: bool,
}

/// A project of so many circuits, whether or not it can be built, and too large
/// to enumerate.
pub fn any(rng: &mut Rng, circuits: usize) -> Input {
    draw(rng, Some(circuits))
}

fn draw(rng: &mut Rng, circuits: Option<usize>) -> Input {
    let tied = rng.bool();
    let mut draw = Draw {
        rng,
        shop: Shop::new(),
        tied,
    };
    draw.suppliers();
    draw.circuits(circuits);
    draw.interfaces();
    draw.fittings();
    draw.settings();
    draw.on_hand();
    // Another sequence, so that all else is as without it.
    let mut other = Rng::with_seed(draw.rng.get_seed());
    let mut input = draw.shop.finish();
    dies_ordered(&mut other, &mut input);
    input
}

/// One die in four that is not owned is ordered, at another price than now.
fn dies_ordered(rng: &mut Rng, input: &mut Input) {
    for (place, die) in input.catalog.dies.iter().enumerate() {
        if !die.owned && rng.u32(..4) == 0 {
            input.dies_ordered.push(DieOrdered {
                die: DieId(place as u32),
                cost: Money(Decimal::new(rng.i64(0..4000), 2)),
                ordered_on: "2026-01-02".parse().expect("a day"),
                note: String::new(),
                row: build::row("dies_ordered.csv", input.dies_ordered.len()),
            });
        }
    }
}

impl Draw<'_> {
    /// True in so many of a hundred cases.
    fn chance(&mut self, percent: u32) -> bool {
        self.rng.u32(..100) < percent
    }

    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.rng.usize(..from.len())]
    }

    fn maybe<T: Copy>(&mut self, percent: u32, from: &[T]) -> Option<T> {
        self.chance(percent).then(|| self.pick(from))
    }

    /// Money between two whole amounts, with two or three decimals.
    fn money(&mut self, from: i64, to: i64) -> Money {
        let decimals = if self.chance(20) { 3 } else { 2 };
        let scale = 10i64.pow(decimals);
        Money(Decimal::new(
            self.rng.i64(from * scale..to * scale),
            decimals,
        ))
    }

    fn suppliers(&mut self) {
        let count = self.rng.usize(1..=3);
        for (place, name) in SUPPLIERS.into_iter().take(count).enumerate() {
            let currency = self.pick(&["EUR", "EUR", "USD", "GBP"]);
            let supplier = Supplier {
                name: name.to_owned(),
                currency: Currency(currency.to_owned()),
                shipping: self
                    .maybe(85, &["4.90", "7.5", "12", "19.95"])
                    .map_or(Money::ZERO, build::money),
                free_over: self
                    .maybe(45, &["40", "75.50", "120", "200"])
                    .map(build::money),
                min_order: self.maybe(35, &["15", "30", "60.5"]).map(build::money),
                duty_percent: Percent(dec(self.maybe(30, &["3", "10", "2.5"]).unwrap_or("0"))),
                note: String::new(),
                row: build::row("suppliers.csv", place),
            };
            self.shop.suppliers.insert(name.to_owned(), supplier);
        }
        let rates = [("USD", "0.92"), ("GBP", "1.17")];
        let rates = rates.map(|(code, rate)| (Currency(code.to_owned()), dec(rate)));
        self.shop.settings.rates = rates.into();
    }

    fn circuits(&mut self, count: Option<usize>) {
        let count = count.unwrap_or_else(|| self.pick(&[1, 2, 2, 3, 3, 4]));
        for place in 0..count {
            let circuit = self.circuit(place);
            self.shop.circuits.push(circuit);
        }
    }

    fn circuit(&mut self, place: usize) -> Circuit {
        let (gauge, od) = self.pick(&CABLES);
        let mut nets = NETS.map(str::to_owned).to_vec();
        self.rng.shuffle(&mut nets);
        nets.truncate(self.pick(&[1, 1, 2, 2, 3]));
        let multi = self.chance(25);
        Circuit {
            machine: 0,
            copies: 1,
            name: format!("C{place}"),
            conductors: nets,
            cable: if multi { Cable::Multi } else { Cable::Single },
            from: self.terminal(90),
            to: self.terminal(40),
            current: Ampere(dec(self.pick(&["20", "90", "180"]))),
            voltage: Volt(dec(self.pick(&["350", "350", "700"]))),
            gauge: gauge.parse::<Gauge>().expect("a gauge"),
            cable_od: Mm(dec(od)),
            ip: self.maybe(30, &["IP67", "IP65", "IP6K9K"]).map(ip),
            colour: self.maybe(15, &["orange"]).map(str::to_owned),
            branch: String::new(),
            note: String::new(),
            row: build::row("circuits.csv", place),
        }
    }

    fn terminal(&mut self, percent: u32) -> Terminal {
        let location = self.pick(&LOCATIONS);
        let attach = self.pick(&["busbar", "busbar", "busbar", "stud", CRIMP]);
        let mut terminal = build::terminal(location, self.chance(percent).then_some(attach));
        terminal.exit = self.maybe(20, &[Exit::Straight, Exit::RightAngle]);
        terminal
    }

    fn interfaces(&mut self) {
        for face in 0..self.rng.usize(2..=4) {
            let keys = self.rng.usize(1..=3);
            let poles = self.pick(&[1, 1, 1, 2, 3]);
            let mut model = build::plug(&format!("F{face}"), "");
            model.poles = poles;
            model.rated_a = Ampere(dec(self.pick(&["100", "200", "200", "300"])));
            model.rated_v = Volt(dec(self.pick(&["450", "800", "1000"])));
            model.ip = self
                .maybe(85, &["IP67", "IP67/IP65", "IP65/IP67/IP6K9K"])
                .map(ip);
            model.colour = self.maybe(85, &["orange"]).map(str::to_owned);
            if self.chance(30) {
                model.rated_c = Some(Celsius(dec("25")));
                model.max_c = Some(Celsius(dec(self.pick(&["70", "125", "140"]))));
            }
            self.bodies(face, keys, &model);
        }
    }

    /// The bodies of one mating face.
    fn bodies(&mut self, face: usize, keys: usize, model: &Body) {
        let mut plugs = vec![self.crimped(model, Exit::Straight)];
        if self.chance(35) {
            plugs.push(self.crimped(model, Exit::RightAngle));
        }
        for (n, plug) in plugs.iter().enumerate() {
            self.keyed(&format!("P{face}{n}"), keys, plug);
        }
        for attach in ["busbar", "stud", CRIMP] {
            if !self.chance(70) {
                continue;
            }
            let mut receptacle = if attach == CRIMP {
                self.crimped(model, Exit::Straight)
            } else {
                model.clone()
            };
            receptacle.half = Half::Receptacle;
            receptacle.attach = attach.to_owned();
            receptacle.exit = receptacle.exit.filter(|_| attach == CRIMP);
            self.keyed(&format!("R{face}{}", &attach[..1]), keys, &receptacle);
        }
    }

    /// A body with a barrel and a rear that other faces share.
    fn crimped(&mut self, model: &Body, exit: Exit) -> Body {
        let mut body = model.clone();
        body.exit = Some(exit);
        body.barrel = self.maybe(80, &["B0", "B1"]).map(str::to_owned);
        body.rear = self.maybe(75, &["A0", "A1"]).map(str::to_owned);
        if self.chance(25) {
            body.includes.push(Fitting::Ferrule);
            body.min_mm2 = Some(Mm2(dec(self.pick(&["10", "25"]))));
            body.max_mm2 = Some(Mm2(dec(self.pick(&["50", "70", "95"]))));
        }
        if self.chance(20) {
            body.includes.push(Fitting::Seal);
            body.min_od = Some(Mm(dec("8")));
            body.max_od = Some(Mm(dec(self.pick(&["12.4", "16.2", "18"]))));
        }
        if self.chance(15) {
            body.includes.push(Fitting::BackShell);
        }
        body
    }

    /// One body for each key, priced alike where the project ties prices.
    fn keyed(&mut self, code: &str, keys: usize, model: &Body) {
        let mut offers = self.offers(8, 45);
        for key in ["A", "B", "C"].into_iter().take(keys) {
            let mut body = model.clone();
            body.key = key.to_owned();
            let code = format!("{code}{key}");
            if !self.tied {
                offers = self.offers(8, 45);
            }
            self.stock(&code, &offers);
            self.shop.body(&code, body);
        }
    }

    fn fittings(&mut self) {
        for (name, cost) in [("D0", "35"), ("D1", "12.50")] {
            let owned = self.chance(35);
            self.shop.die(name, cost, owned);
        }
        for code in ["0", "1"] {
            for n in 0..self.rng.usize(1..=2) {
                let spec = self.ferrule(&format!("B{code}"), n);
                self.fitting(&format!("F{code}{n}"), spec, (1, 6));
            }
            for n in 0..self.pick(&[1, 1, 2]) {
                let spec = self.seal(&format!("A{code}"));
                self.fitting(&format!("S{code}{n}"), spec, (1, 4));
            }
            for n in 0..self.pick(&[1, 1, 1, 2]) {
                let spec = self.back_shell(&format!("A{code}"));
                self.fitting(&format!("T{code}{n}"), spec, (2, 9));
            }
        }
    }

    fn fitting(&mut self, code: &str, spec: Spec, price: (i64, i64)) {
        let offers = self.offers(price.0, price.1);
        self.stock(code, &offers);
        self.shop.part(code, spec);
    }

    fn ferrule(&mut self, barrel: &str, n: usize) -> Spec {
        let (min, max) = self.pick(&[("10", "95"), ("10", "95"), ("10", "35"), ("35", "70")]);
        // the first without a die more often, so that a die competes with a dearer ferrule
        let die = self.maybe(if n == 0 { 40 } else { 60 }, &["D0", "D1"]);
        Spec::Ferrule(Ferrule {
            min_mm2: Mm2(dec(min)),
            max_mm2: Mm2(dec(max)),
            ..build::ferrule(barrel, die)
        })
    }

    fn seal(&mut self, rear: &str) -> Spec {
        let (min, max) = self.pick(&[("8", "17"), ("8", "17"), ("8", "12.4"), ("12.4", "16.2")]);
        Spec::Seal(Seal {
            min_od: Mm(dec(min)),
            max_od: Mm(dec(max)),
            ip: self.maybe(30, &["IP67", "IP65/IP67/IP6K9K"]).map(ip),
            ..build::seal(rear)
        })
    }

    fn back_shell(&mut self, rear: &str) -> Spec {
        let pieces = self.rng.u32(1..=2);
        Spec::BackShell(BackShell {
            exit: self.maybe(20, &[Exit::Straight, Exit::RightAngle]),
            max_od: Mm(dec(self.pick(&["12.4", "16.2", "20", "20"]))),
            colour: self.maybe(30, &["orange", "black"]).map(str::to_owned),
            ..build::back_shell(rear, pieces)
        })
    }

    /// The offers of one part, each supplier's or none.
    fn offers(&mut self, from: i64, to: i64) -> Vec<Option<List>> {
        let base = self.money(from, to);
        let count = self.shop.suppliers.len();
        (0..count)
            .map(|_| self.chance(75).then(|| self.offer(base)))
            .collect()
    }

    fn stock(&mut self, code: &str, offers: &[Option<List>]) {
        for (supplier, offer) in SUPPLIERS.iter().zip(offers) {
            if let Some(offer) = offer {
                self.shop.offer(code, supplier, offer.clone());
            }
        }
    }

    /// Up to three breaks near a base price.
    fn offer(&mut self, base: Money) -> List {
        let near = Decimal::from(self.pick(&[95, 100, 100, 105, 120]));
        let mut price = (base.percent(near).0).round_dp(3);
        let mut least: Qty = self.pick(&[1, 1, 1, 1, 2, 3, 5]);
        let mut breaks = Vec::new();
        for _ in 0..self.pick(&[1, 1, 2, 3]) {
            breaks.push((least, Money(price)));
            least += self.rng.u64(1..=6);
            let off = Decimal::from(self.pick(&[60, 80, 90, 95]));
            price = (price * off / Decimal::ONE_HUNDRED).round_dp(3);
        }
        List {
            breaks,
            pack: self.pick(&[1, 1, 1, 1, 2, 5, 10]),
            stock: self.maybe(35, &[1, 2, 3, 4, 6, 12]),
            lead_days: self.maybe(60, &[3, 14, 60]),
        }
    }

    fn settings(&mut self) {
        for kind in Kind::ALL {
            if self.chance(30) {
                let rule = Spares {
                    per: if self.rng.bool() {
                        Per::Gauge
                    } else {
                        Per::Part
                    },
                    percent: Percent(dec(self.pick(&["0", "5", "10", "50"]))),
                    minimum: self.pick(&[0, 1, 1, 2]),
                };
                self.shop.settings.spares.insert(kind, rule);
            }
        }
        let line_cost = self.maybe(45, &["0.50", "3", "12.25"]);
        let max_variants = self.maybe(15, &[4, 6, 8, 11]);
        let max_suppliers = self.maybe(30, &[1, 2]);
        let max_lead_days = self.maybe(25, &[14, 30]);
        let ambient = self.maybe(30, &["40", "60", "75"]);
        let settings = &mut self.shop.settings;
        settings.line_cost = line_cost.map_or(Money::ZERO, build::money);
        settings.max_variants = max_variants;
        settings.max_suppliers = max_suppliers;
        settings.max_lead_days = max_lead_days;
        settings.ambient = ambient.map(|c| Celsius(dec(c)));
        self.keying();
        self.exclusions();
    }

    fn keying(&mut self) {
        if self.chance(15) {
            self.shop.settings.keying.distinct = Distinct::Off;
        } else if let Some(location) = self.maybe(20, &LOCATIONS) {
            let ignored = &mut self.shop.settings.keying.ignore_at;
            ignored.insert(location.to_owned());
        }
    }

    fn exclusions(&mut self) {
        if self.chance(20) {
            let codes: Vec<String> = self.shop.parts.keys().cloned().collect();
            let code = codes[self.rng.usize(..codes.len())].clone();
            self.shop.settings.exclude_parts.insert(code);
        }
        if self.shop.suppliers.len() > 1 && self.chance(15) {
            let name = self.pick(&SUPPLIERS[..self.shop.suppliers.len()]);
            let excluded = &mut self.shop.settings.exclude_suppliers;
            excluded.insert(name.to_owned());
        }
    }

    fn on_hand(&mut self) {
        if !self.chance(40) {
            return;
        }
        let codes: Vec<String> = self.shop.parts.keys().cloned().collect();
        for code in codes {
            if self.chance(20) {
                let pieces = self.rng.u64(1..=4);
                self.shop.on_hand.insert(code, pieces);
            }
        }
    }
}

fn ip(text: &str) -> Protection {
    text.parse().expect("an IP code")
}
