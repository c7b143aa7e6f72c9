//! Both sides of every numeric limit.

use crate::support::spoilt;

/// File, text with `@` in place of the number, last value inside, first outside.
type Case = (
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
);

const BODIES: &str = "../catalog/bodies.csv";
const PRICES: &str = "../catalog/prices.csv";
const SUPPLIERS: &str = "../catalog/suppliers.csv";

const CASES: &[Case] = &[
    (BODIES, "A,1,350", "A,@,350", "1", "0"),
    (BODIES, "A,1,350", "A,@,350", "100", "101"),
    (BODIES, "A,1,350", "A,1,@", "0.000001", "0"),
    (BODIES, "A,1,350", "A,1,@", "100000", "100000.000001"),
    (BODIES, "350,1000", "350,@", "0.000001", "0"),
    (BODIES, "350,1000", "350,@", "100000", "100000.000001"),
    (BODIES, "25,125", "@,125", "-100", "-100.1"),
    (BODIES, "25,125", "@,125", "124.9", "125"),
    (BODIES, "25,125", "25,@", "1000", "1000.1"),
    (BODIES, "25,70,10,18", "@,70,10,18", "0.000001", "0"),
    (BODIES, "25,70,10,18", "@,70,10,18", "70", "70.1"),
    (BODIES, "25,70,10,18", "25,@,10,18", "10000", "10000.1"),
    (BODIES, "25,70,10,18", "25,70,@,18", "18", "18.1"),
    (BODIES, "25,70,10,18", "25,70,10,@", "1000", "1000.1"),
    (
        "../catalog/ferrules.csv",
        "50,70",
        "@,70",
        "70",
        "70.000001",
    ),
    (
        "../catalog/ferrules.csv",
        "50,70",
        "50,@",
        "10000",
        "10000.1",
    ),
    ("../catalog/seals.csv", "14,17", "@,17", "17", "17.000001"),
    ("../catalog/seals.csv", "14,17", "14,@", "1000", "1000.1"),
    ("../catalog/backshells.csv", "18", "@", "1000", "1000.1"),
    ("../catalog/backshells.csv", "18", "@", "0.1", "0"),
    (
        "../catalog/backshells.csv",
        "orange,2",
        "orange,@",
        "1",
        "0",
    ),
    (
        "../catalog/backshells.csv",
        "orange,2",
        "orange,@",
        "100",
        "101",
    ),
    (PRICES, "10,1.2,10", "@,1.2,10", "1", "0"),
    (PRICES, "10,1.2,10", "@,1.2,10", "1000000000", "1000000001"),
    (PRICES, "10,1.2,10", "10,@,10", "0", "-0.01"),
    (PRICES, "10,1.2,10", "10,@,10", "0.005", "0.0000005"),
    (
        PRICES,
        "10,1.2,10",
        "10,@,10",
        "1000000000",
        "1000000000.01",
    ),
    (PRICES, "10,1.2,10", "10,1.2,@", "1", "0"),
    (PRICES, "10,1.2,10", "10,1.2,@", "1000000000", "1000000001"),
    // A pack at its price, and shipping, in the project's currency too.
    (PRICES, "10,1.2,10", "10,1000000,@", "1000000", "1000001"),
    (
        "project.toml",
        "USD = 0.92",
        "USD = @",
        "1000000",
        "1000000.1",
    ),
    (PRICES, "25,1,0,7", "25,1,@,7", "0", "-1"),
    (PRICES, "25,1,0,7", "25,1,@,7", "1000000000", "1000000001"),
    (PRICES, "25,1,0,7", "25,1,0,@", "0", "-1"),
    (PRICES, "25,1,0,7", "25,1,0,@", "3650", "3651"),
    (SUPPLIERS, "9.5,200,25", "@,200,25", "0", "-1"),
    (
        SUPPLIERS,
        "9.5,200,25",
        "@,200,25",
        "1000000000",
        "1000000001",
    ),
    (SUPPLIERS, "9.5,200,25", "9.5,@,25", "0", "-1"),
    (SUPPLIERS, "9.5,200,25", "9.5,200,@", "0", "-1"),
    (SUPPLIERS, "3.5", "@", "0", "-1"),
    (SUPPLIERS, "3.5", "@", "1000", "1000.1"),
    ("../catalog/dies.csv", "120", "@", "0", "-1"),
    (
        "../catalog/dies.csv",
        "120",
        "@",
        "1000000000",
        "1000000001",
    ),
    ("circuits.csv", "200,350", "@,350", "0.000001", "0"),
    ("circuits.csv", "200,350", "@,350", "100000", "100000.1"),
    ("circuits.csv", "200,350", "200,@", "0.000001", "0"),
    ("circuits.csv", "200,350", "200,@", "100000", "100000.1"),
    ("circuits.csv", "70 mm2", "@ mm2", "0.000001", "0"),
    ("circuits.csv", "70 mm2", "@ mm2", "10000", "10000.1"),
    ("circuits.csv", "70 mm2", "@ AWG", "40", "41"),
    ("circuits.csv", "70 mm2", "@ AWG", "4/0", "5/0"),
    ("circuits.csv", "16.5", "@", "0.000001", "0"),
    ("circuits.csv", "16.5", "@", "1000", "1000.1"),
    (
        "on_hand.csv",
        "F-70,3",
        "F-70,@",
        "1000000000",
        "1000000001",
    ),
    ("on_hand.csv", "F-70,3", "F-70,@", "1", "-1"),
    (
        "project.toml",
        "ambient_c = 40",
        "ambient_c = @",
        "-100",
        "-100.1",
    ),
    (
        "project.toml",
        "ambient_c = 40",
        "ambient_c = @",
        "1000",
        "1000.1",
    ),
    (
        "project.toml",
        "max_lead_days = 30",
        "max_lead_days = @",
        "7",
        "-1",
    ),
    (
        "project.toml",
        "max_lead_days = 30",
        "max_lead_days = @",
        "3650",
        "3651",
    ),
    (
        "project.toml",
        "max_variants = 40",
        "max_variants = @",
        "1",
        "0",
    ),
    (
        "project.toml",
        "max_variants = 40",
        "max_variants = @",
        "1000000",
        "1000001",
    ),
    (
        "project.toml",
        "max_suppliers = 4",
        "max_suppliers = @",
        "1",
        "0",
    ),
    (
        "project.toml",
        "max_suppliers = 4",
        "max_suppliers = @",
        "1000000",
        "1000001",
    ),
    (
        "project.toml",
        "tax_percent = 20",
        "tax_percent = @",
        "0",
        "-1",
    ),
    (
        "project.toml",
        "tax_percent = 20",
        "tax_percent = @",
        "1000",
        "1000.1",
    ),
    (
        "project.toml",
        "line_cost = 1.5",
        "line_cost = @",
        "0",
        "-1",
    ),
    (
        "project.toml",
        "line_cost = 1.5",
        "line_cost = @",
        "1000000000",
        "1000000001",
    ),
    ("project.toml", "USD = 0.92", "USD = @", "0.0000000001", "0"),
    (
        "project.toml",
        "USD = 0.92",
        "USD = @",
        "0.0000000001",
        "0.00000000001",
    ),
    (
        "project.toml",
        "USD = 0.92",
        "USD = @",
        "1000000",
        "1000001",
    ),
    (
        "project.toml",
        "percent = 10\nminimum",
        "percent = @\nminimum",
        "0",
        "-1",
    ),
    (
        "project.toml",
        "percent = 10\nminimum",
        "percent = @\nminimum",
        "1000",
        "1000.1",
    ),
    ("project.toml", "minimum = 1", "minimum = @", "0", "-1"),
    (
        "project.toml",
        "minimum = 1",
        "minimum = @",
        "1000000000",
        "1000000001",
    ),
    ("project.toml", "limit = 2500", "limit = @", "0", "-1"),
    (
        "project.toml",
        "limit = 2500",
        "limit = @",
        "1000000000",
        "1000000001",
    ),
    (
        "project.toml",
        "contingency_percent = 10",
        "contingency_percent = @",
        "0",
        "-1",
    ),
    (
        "project.toml",
        "contingency_percent = 10",
        "contingency_percent = @",
        "1000",
        "1000.1",
    ),
];

#[test]
fn both_sides() {
    let errors = |(file, old, new): (&str, &str, &str), value| {
        let found = spoilt(file, old, &new.replace('@', value));
        found.iter().filter(|f| f.starts_with("error")).count()
    };
    for (file, old, new, inside, outside) in CASES {
        assert_eq!(errors((file, old, new), inside), 0, "{file} {new} {inside}");
        assert_eq!(
            errors((file, old, new), outside),
            1,
            "{file} {new} {outside}"
        );
    }
}
