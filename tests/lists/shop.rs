//! A catalog in memory, with a price list of several suppliers.

use crate::known::{Row, row};
use couplet::desk::take::{Asked, Outcome, ReadList, Shelf};
use couplet::diag::Findings;
use couplet::input::load_catalog;
use couplet::source::Files;
use couplet::study::failure::Failure;
use std::path::Path;

pub const SUPPLIER: &str = "Example North";
pub const RECIPE: &str = "c/lists/Example-North.toml";
pub const PRICES: &str = "c/prices.csv";

/// A catalog folder `c` in memory.
pub struct Shop {
    pub files: Files,
}

impl Shop {
    /// So many seals, `P-0` and so on, and three suppliers.
    pub fn new(parts: usize, currency: &str, prices: &str) -> Self {
        let mut files = Files::in_memory();
        let mut lay = |name: &str, text: &str| files.lay(&Path::new("c").join(name), text);
        lay(
            "bodies.csv",
            "part,description,half,interface,poles,rated_a,rated_v,attach\n",
        );
        lay("ferrules.csv", "part,barrel,min_mm2,max_mm2\n");
        lay("backshells.csv", "part,rear,max_od_mm\n");
        let mut seals = "part,description,rear,min_od_mm,max_od_mm\n".to_owned();
        for n in 0..parts {
            seals.push_str(&format!("P-{n},seal number {n},R,5,9\n"));
        }
        lay("seals.csv", &seals);
        lay(
            "suppliers.csv",
            &format!(
                "supplier,currency\nExample North,{currency}\nExample South,USD\nExample East,EUR\n"
            ),
        );
        lay("prices.csv", prices);
        Self { files }
    }

    pub fn lay(&mut self, name: &str, bytes: impl AsRef<[u8]>) {
        self.files.lay(Path::new(name), bytes);
    }

    pub fn text(&self, name: &str) -> String {
        let bytes = self.files.bytes(Path::new(name), 1 << 30).unwrap();
        String::from_utf8(bytes).unwrap()
    }

    pub fn shelf(&self, list: &str) -> Result<Shelf, Failure> {
        let asked = Asked {
            place: "c".into(),
            supplier: SUPPLIER.into(),
            list: list.into(),
            dated: None,
            out: None,
        };
        Shelf::open(self.files.clone(), asked)
    }

    /// The list read by its recipe.
    pub fn read(&self, list: &str) -> Result<ReadList, Failure> {
        match self.shelf(list)?.read()? {
            Outcome::Read(read) => Ok(*read),
            Outcome::Proposed(draft) => panic!("no recipe: {}", draft.text),
        }
    }

    /// Takes a list, and gives what was told.
    pub fn take(&mut self, list: &str) -> ReadList {
        let read = self
            .read(list)
            .unwrap_or_else(|error| panic!("{}", told(&error)));
        self.lay(PRICES, &read.text);
        read
    }

    /// The offers of a supplier, sorted.
    pub fn offers(&self, supplier: &str) -> Vec<Row> {
        let loaded = load_catalog(&self.files, Path::new("c"), None);
        let catalog = loaded
            .catalog
            .unwrap_or_else(|| panic!("{}", findings(&loaded.findings)));
        let supplier = catalog.find_supplier(supplier).unwrap();
        let own = catalog
            .offers
            .iter()
            .filter(|offer| offer.supplier == supplier);
        let mut rows: Vec<Row> = own.map(|o| row(&catalog.part(o.part).code, o)).collect();
        rows.sort();
        rows
    }

    /// The days of all prices of a supplier.
    pub fn days(&self, supplier: &str) -> Vec<Option<String>> {
        let catalog = load_catalog(&self.files, Path::new("c"), None)
            .catalog
            .unwrap();
        let supplier = catalog.find_supplier(supplier).unwrap();
        let own = catalog
            .offers
            .iter()
            .filter(|offer| offer.supplier == supplier);
        let breaks = own.flat_map(|offer| &offer.breaks);
        breaks
            .map(|b| b.quoted.map(|day| day.to_string()))
            .collect()
    }
}

/// All that a failure says.
pub fn told(failure: &Failure) -> String {
    match failure {
        Failure::Input(all) => findings(all),
        other => format!("{other}\n  help: {}\n", other.cure().unwrap_or("")),
    }
}

pub fn findings(findings: &Findings) -> String {
    let one = |d: &couplet::diag::Diagnostic| {
        let help = d.help.as_deref().unwrap_or("");
        let notes: String = d
            .notes
            .iter()
            .map(|note| format!("  note: {note}\n"))
            .collect();
        format!("{}: {}\n  help: {help}\n{notes}", d.place(), d.message)
    };
    findings.iter().map(one).collect()
}
