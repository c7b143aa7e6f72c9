//! Realistic projects in the files that a user keeps, by seed and size.
//!
//! All names and prices are invented. The same seed and size give the same
//! bytes. Most projects can be built: each size of cable has two mating faces
//! with three keys or more for every way to attach, and each part has an offer
//! without stock limit that comes in time.

mod catalog;
mod circuits;

use fastrand::Rng;
use std::fmt::Write as _;
use std::path::Path;
use std::{fs, io};

/// Writes `project.toml`, `circuits.csv`, `on_hand.csv` and `catalog/` into a folder.
///
/// # Errors
///
/// Where a file can't be written.
pub fn write_project(dir: &Path, seed: u64, circuits: usize) -> io::Result<()> {
    let mut draw = Draw {
        rng: Rng::with_seed(seed.wrapping_mul(0x9E37_79B9).wrapping_add(circuits as u64)),
        scale: Scale::of(circuits),
        files: Files::default(),
        parts: Vec::new(),
    };
    draw.suppliers();
    draw.faces();
    draw.fittings();
    draw.circuits(circuits);
    draw.on_hand();
    let files = draw.files;
    let catalog = dir.join("catalog");
    fs::create_dir_all(&catalog)?;
    fs::write(dir.join("project.toml"), settings(seed, circuits))?;
    fs::write(
        dir.join("circuits.csv"),
        CIRCUITS.to_owned() + &files.circuits,
    )?;
    fs::write(
        dir.join("on_hand.csv"),
        "part,qty\n".to_owned() + &files.on_hand,
    )?;
    for (name, header, rows) in [
        ("bodies.csv", BODIES, &files.bodies),
        (
            "ferrules.csv",
            "part,description,barrel,min_mm2,max_mm2,die\n",
            &files.ferrules,
        ),
        (
            "seals.csv",
            "part,description,rear,min_od_mm,max_od_mm,ip\n",
            &files.seals,
        ),
        (
            "backshells.csv",
            "part,description,rear,exit,max_od_mm,colour,pieces\n",
            &files.back_shells,
        ),
        ("prices.csv", PRICES, &files.prices),
        ("suppliers.csv", SUPPLIERS, &files.suppliers),
        ("dies.csv", "die,description,cost,owned\n", &files.dies),
    ] {
        fs::write(catalog.join(name), header.to_owned() + rows)?;
    }
    Ok(())
}

const CIRCUITS: &str = "circuit,conductors,cable,from,to,current_a,voltage_v,gauge,cable_od_mm,\
                        from_attach,to_attach,from_exit,to_exit,ip,colour\n";
const BODIES: &str = "part,description,half,interface,key,poles,rated_a,rated_v,rated_c,max_c,\
                      attach,exit,barrel,rear,ip,colour,includes,min_mm2,max_mm2,min_od_mm,max_od_mm\n";
const PRICES: &str = "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted\n";
const SUPPLIERS: &str = "supplier,currency,shipping,free_over,min_order,duty_percent\n";

/// How much there is to choose from.
struct Scale {
    faces: usize,
    suppliers: usize,
    /// What shipping is waived from grows with the project.
    free_from: u64,
}

impl Scale {
    fn of(circuits: usize) -> Scale {
        let (faces, suppliers, free_from) = match circuits {
            0..=30 => (8, 4, 250),
            31..=100 => (12, 5, 500),
            101..=400 => (20, 7, 1_000),
            401..=1_500 => (26, 10, 2_500),
            _ => (30, 12, 4_000),
        };
        Scale {
            faces,
            suppliers,
            free_from,
        }
    }
}

/// Rows without headers.
#[derive(Default)]
struct Files {
    bodies: String,
    ferrules: String,
    seals: String,
    back_shells: String,
    prices: String,
    suppliers: String,
    dies: String,
    circuits: String,
    on_hand: String,
}

/// A size of cable: gauge, area for ferrules, outer diameter, current.
struct Cable {
    gauge: &'static str,
    mm2: f64,
    od: f64,
    amps: u32,
}

const fn cable(gauge: &'static str, mm2: f64, od: f64, amps: u32) -> Cable {
    Cable {
        gauge,
        mm2,
        od,
        amps,
    }
}

/// By class: small, middle, large.
const CABLES: [&[Cable]; 3] = [
    &[
        cable("10 mm2", 10.0, 8.0, 50),
        cable("16 mm2", 16.0, 9.5, 75),
        cable("6 AWG", 13.3, 8.9, 65),
        cable("25 mm2", 25.0, 11.2, 100),
    ],
    &[
        cable("25 mm2", 25.0, 11.2, 120),
        cable("35 mm2", 35.0, 12.4, 150),
        cable("50 mm2", 50.0, 14.3, 190),
    ],
    &[
        cable("50 mm2", 50.0, 14.3, 200),
        cable("70 mm2", 70.0, 16.2, 250),
        cable("2/0 AWG", 67.4, 16.0, 250),
        cable("95 mm2", 95.0, 18.6, 300),
    ],
];

struct Draw {
    rng: Rng,
    scale: Scale,
    files: Files,
    parts: Vec<String>,
}

impl Draw {
    fn chance(&mut self, percent: u32) -> bool {
        self.rng.u32(..100) < percent
    }

    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.rng.usize(..from.len())]
    }

    fn suppliers(&mut self) {
        for n in 0..self.scale.suppliers {
            let currency = currency(n);
            let shipping = self.rng.u32(6..40);
            let over = self.scale.free_from * self.rng.u64(6..15) / 10;
            let free = if self.chance(70) {
                over.to_string()
            } else {
                String::new()
            };
            let least = self.rng.u32(4..15) * 10;
            let least = if self.chance(50) {
                least.to_string()
            } else {
                String::new()
            };
            let duty = if currency == "EUR" { "0" } else { "3.5" };
            let row = &mut self.files.suppliers;
            let _ = writeln!(
                row,
                "House {n:02},{currency},{shipping}.90,{free},{least},{duty}"
            );
        }
    }

    fn on_hand(&mut self) {
        let parts = std::mem::take(&mut self.parts);
        for part in &parts {
            if self.chance(3) {
                let qty = self.rng.u32(1..12);
                let _ = writeln!(self.files.on_hand, "{part},{qty}");
            }
        }
    }
}

fn currency(supplier: usize) -> &'static str {
    ["EUR", "EUR", "USD", "EUR", "GBP"][supplier % 5]
}

fn settings(seed: u64, circuits: usize) -> String {
    format!(
        r#"# Invented, for measuring.
name = "Benchmark {circuits}, seed {seed}"
currency = "EUR"
catalog = "catalog"
ambient_c = 40
max_lead_days = 30
tax_percent = 20

[rates]
USD = 0.92
GBP = 1.17

[keying]
distinct = "by-location"

[[spares]]
kind = "ferrule"
per = "gauge"
percent = 10
minimum = 1

[[spares]]
kind = "seal"
per = "gauge"
percent = 10
minimum = 1

[[spares]]
kind = "plug"
per = "part"
percent = 5
"#
    )
}
