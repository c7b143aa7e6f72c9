//! Whole runs on projects that once went wrong, as a user meets them.

use crate::files::{self, Style};
use crate::support::build::{Shop, circuit, list, plug, receptacle};
use crate::support::random;
use assert_cmd::Command;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::units::Money;
use fastrand::Rng;
use rust_decimal::Decimal;
use std::fs;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, line: &str) -> Output {
    let words = line.split(' ');
    let mut couplet = Command::cargo_bin("couplet").unwrap();
    couplet.current_dir(folder).args(words).output().unwrap()
}

fn said(output: &Output) -> String {
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn plain(folder: &Path, input: &Input) {
    let style = Style {
        separator: ',',
        mark: false,
        ending: "\n",
        turned: false,
        is_book: false,
    };
    files::write(folder, input, &style, &mut Rng::with_seed(1));
}

fn record(folder: &Path) -> Plan {
    serde_json::from_slice(&fs::read(folder.join("plan.json")).unwrap()).unwrap()
}

#[test]
fn keys_of_which_some_are_ordered_are_planned() {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for key in ["A", "B"] {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, "5")]));
        }
    }
    for (name, net) in [("a", "N1"), ("b", "N1"), ("c", "N1"), ("d", "N2")] {
        shop.circuits.push(circuit(name, net, "pack"));
    }
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path();
    plain(place, &shop.finish());
    let rows =
        "part,supplier,qty,unit_price,ordered_on\nPB,Nord,3,5,2026-01-05\nRB,Nord,3,5,2026-01-05\n";
    fs::write(place.join("ordered.csv"), rows).unwrap();
    let output = run(place, "plan .");
    assert!(output.status.success(), "{}", said(&output));
    let plan = record(place);
    let keys: Vec<&str> = plan.ends.iter().map(|end| end.key.as_str()).collect();
    assert_eq!(keys, ["B", "B", "B", "A"]);
    assert_eq!(plan.cost.total.to_string(), "10.00");
}

#[test]
fn money_of_large_numbers_is_planned() {
    let mut rng = Rng::with_seed(11);
    let mut input = (0..500)
        .map(|_| random::any(&mut rng, 12))
        .find(|input| couplet::fit::fit(input).is_ok())
        .expect("one of them fits");
    // All money in a currency of which twenty thousand are a euro.
    let large = |money: &mut Money| money.0 = (money.0 * Decimal::from(20_000)).round_dp(4);
    for offer in &mut input.catalog.offers {
        offer
            .breaks
            .iter_mut()
            .for_each(|step| large(&mut step.unit_price));
        offer.stock = None;
    }
    for supplier in &mut input.catalog.suppliers {
        large(&mut supplier.shipping);
        supplier.min_order = None;
        supplier.free_over.iter_mut().for_each(large);
    }
    for die in &mut input.catalog.dies {
        large(&mut die.cost);
    }
    input.settings.max_variants = None;
    input.settings.max_suppliers = None;
    input.settings.keying.distinct = couplet::project::Distinct::Off;
    let folder = tempfile::tempdir().unwrap();
    plain(folder.path(), &input);
    let output = run(folder.path(), "plan . --time-limit 10");
    assert!(output.status.success(), "{}", said(&output));
    assert!(record(folder.path()).cost.total.0 > Decimal::from(1_000_000));
}

#[test]
fn a_dead_part_is_one_block() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path();
    run(place, "new boat");
    let prices = place.join("boat/catalog/prices.csv");
    let text = fs::read_to_string(&prices).unwrap();
    let kept = text.lines().filter(|line| !line.starts_with("S10-14,"));
    fs::write(&prices, kept.collect::<Vec<_>>().join("\n")).unwrap();
    let output = run(place, "plan boat");
    assert_eq!(output.status.code(), Some(3));
    let said = said(&output);
    let cause = "seal S10-14 cannot be bought: 2 circuits need a seal for rear E10, 14 to 14.2 mm";
    assert_eq!(said.matches(cause).count(), 1, "{said}");
    assert_eq!(said.matches("so: ").count(), 1, "{said}");
    assert!(
        said.contains("circuits traction at pack and inverter, motor at motor"),
        "{said}"
    );
}

#[test]
fn a_reprice_without_time_has_a_plan_all_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let place = folder.path();
    run(place, "new boat");
    assert!(run(place, "plan boat").status.success());
    let text = fs::read_to_string(place.join("boat/catalog/prices.csv")).unwrap();
    fs::write(place.join("new.csv"), text.replace(",24.50,", ",25.50,")).unwrap();
    let output = run(place, "reprice boat --prices new.csv --time-limit 0.000001");
    assert!(output.status.success(), "{}", said(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.contains("same lines at the new prices"), "{text}");
    assert!(record(&place.join("boat")).cost.total.is_positive());
}
