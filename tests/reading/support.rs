//! A small project that is in order, to be spoilt by each test.

use couplet::diag::{Diagnostic, Level};
use couplet::input::{LoadOptions, Loaded, load};
use std::path::{Path, PathBuf};

pub const FILES: [(&str, &str); 10] = [
    (
        "project.toml",
        "name = \"Cart\"
currency = \"EUR\"
catalog = \"../catalog\"
ambient_c = 40
max_lead_days = 30
protection = \"strict\"
tax_percent = 20
line_cost = 1.5
max_variants = 40
max_suppliers = 4
exclude_parts = [\"S-9\"]
exclude_suppliers = []

[rates]
USD = 0.92

[keying]
distinct = \"by-location\"
ignore_at = [\"bench\"]

[[spares]]
kind = \"ferrule\"
per = \"gauge\"
percent = 10
minimum = 1

[[spares]]
kind = \"seal\"
per = \"part\"

[budget]
limit = 2500
contingency_percent = 10
",
    ),
    (
        "circuits.csv",
        "circuit,conductors,cable,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach,from_exit,to_exit,ip,colour
main,HV+ HV-,single,pack,inverter,200,350,70 mm2,16.5,busbar,none,straight,,IP67,orange
motor,U V W,multi,inverter,bench,180,350,2/0 AWG,16,none,busbar,,right-angle,,orange
",
    ),
    ("on_hand.csv", "part,qty\nF-70,3\nS-9,0\n"),
    (
        "../catalog/bodies.csv",
        "part,description,half,interface,key,poles,rated_a,rated_v,rated_c,max_c,attach,exit,barrel,rear,ip,colour,includes,min_mm2,max_mm2,min_od_mm,max_od_mm
P-1,invented plug,plug,M10,A,1,350,1000,25,125,crimp,straight,B10,R10,IP67,orange,,,,,
P-2,invented boxed plug,plug,M10,A,,350,1000,,,crimp,right-angle,B10,R10,IP67,orange,ferrule seal back-shell,25,70,10,18
R-1,invented receptacle,receptacle,M10,A,1,350,1000,,,busbar,,,,IP67/IP6K9K,orange,,,,,
",
    ),
    (
        "../catalog/ferrules.csv",
        "part,description,barrel,min_mm2,max_mm2,die\nF-70,invented ferrule,B10,50,70,D-1\n",
    ),
    (
        "../catalog/seals.csv",
        "part,description,rear,min_od_mm,max_od_mm,ip\nS-1,,R10,14,17,IP67\nS-9,,R10,10,14,\n",
    ),
    (
        "../catalog/backshells.csv",
        "part,description,rear,exit,max_od_mm,colour,pieces\nK-1,,R10,straight,18,orange,2\n",
    ),
    (
        "../catalog/prices.csv",
        "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted
P-1,Nord,N1,EUR,1,30.125,1,100,7,2026-03-31
P-1,Nord,N1,EUR,10,25,1,100,7,2026-03-31
P-2,Nord,,,1,55,,,7,
R-1,West,,USD,1,25,1,0,7,2026-03-01
F-70,Nord,,,10,1.2,10,,7,
S-1,Nord,,,,0,,,7,
S-9,West,,,1,2,,,7,
K-1,Nord,,,1,4,,,7,
",
    ),
    (
        "../catalog/suppliers.csv",
        "supplier,currency,shipping,free_over,min_order,duty_percent\nNord,EUR,9.5,200,25,\nWest,USD,20,,,3.5\n",
    ),
    (
        "../catalog/dies.csv",
        "die,description,cost,owned\nD-1,invented die,120,no\n",
    ),
];

pub struct Project {
    root: tempfile::TempDir,
}

impl Project {
    pub fn new() -> Self {
        let root = tempfile::tempdir().unwrap();
        let project = Self { root };
        std::fs::create_dir_all(project.folder()).unwrap();
        std::fs::create_dir_all(project.root.path().join("catalog")).unwrap();
        for (file, text) in FILES {
            project.write(file, text);
        }
        project
    }

    pub fn folder(&self) -> PathBuf {
        self.root.path().join("cart")
    }

    pub fn root(&self) -> &Path {
        self.root.path()
    }

    pub fn write(&self, file: &str, bytes: impl AsRef<[u8]>) -> &Self {
        std::fs::write(self.folder().join(file), bytes).unwrap();
        self
    }

    pub fn remove(&self, file: &str) -> &Self {
        std::fs::remove_file(self.folder().join(file)).unwrap();
        self
    }

    /// Replaces a text that must stand in the file.
    pub fn edit(&self, file: &str, old: &str, new: &str) -> &Self {
        let path = self.folder().join(file);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(text.contains(old), "{old:?} is not in {file}");
        self.write(file, text.replacen(old, new, 1))
    }

    pub fn load(&self) -> Loaded {
        self.load_with(&LoadOptions::default())
    }

    pub fn load_with(&self, options: &LoadOptions) -> Loaded {
        let loaded = load(&self.folder(), options);
        assert_eq!(loaded.input.is_some(), !loaded.findings.has_errors());
        loaded
    }

    /// All findings in words.
    pub fn found(&self) -> Vec<String> {
        self.worded(&self.load())
    }

    pub fn worded(&self, loaded: &Loaded) -> Vec<String> {
        loaded.findings.iter().map(|d| self.words(d)).collect()
    }

    pub fn words(&self, finding: &Diagnostic) -> String {
        let level = match finding.level {
            Level::Error => "error",
            Level::Warning => "warning",
        };
        let mut text = format!("{level} at {}: {}", finding.place(), finding.message);
        if let Some(help) = &finding.help {
            text.push_str(&format!(" | {help}"));
        }
        for note in &finding.notes {
            text.push_str(&format!(" | note: {note}"));
        }
        let root = format!("{}/", self.root.path().display());
        text.replace(&root, "")
    }
}

/// One edit of the sound project, and all that is found then.
pub fn spoilt(file: &str, old: &str, new: &str) -> Vec<String> {
    Project::new().edit(file, old, new).found()
}

/// Asserts that each edit, alone, gives exactly one finding.
#[track_caller]
pub fn each_finds(file: &str, cases: &[(&str, &str, &str)]) {
    let mut wrong = Vec::new();
    for (old, new, expected) in cases {
        let found = spoilt(file, old, new);
        if found != [*expected] {
            wrong.push(format!(
                "{old:?} -> {new:?}\n  wanted {expected}\n  found  {}",
                found.join("\n         ")
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
