//! The keying on the report: branches, keys of nets, plugs that interchange.

use crate::any_plan::any_plan;
use crate::documents::pages;
use crate::html::Element;
use crate::support::build::{Shop, circuit, list, plug, receptacle};
use couplet::input::Input;
use couplet::project::Distinct;
use std::collections::BTreeMap;

/// Two circuits of HV+ at the hub, and two keys of one face.
fn hub() -> Input {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for key in ["A", "B"] {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, "5")]));
        }
    }
    shop.circuits.push(circuit("drive", "HV+", "hub"));
    shop.circuits.push(circuit("aux", "HV+", "hub"));
    shop.circuits[1].gauge = "16 mm2".parse().expect("a gauge");
    // Which of equally cheap keys a plan has is not settled here.
    shop.circuits[0].from.key = Some("A".to_owned());
    shop.finish()
}

/// The rows of a table of the report by its id; none where there is no such table.
fn rows(input: &Input, id: &str) -> Vec<BTreeMap<String, String>> {
    let page = report(input);
    let has_it = page.contains(&format!("id=\"{id}\""));
    match has_it {
        true => Element::page(&page).id(id).rows(),
        false => Vec::new(),
    }
}

fn report(input: &Input) -> String {
    let pages = pages(input, &any_plan(input));
    let report = pages.into_iter().find(|(name, _)| *name == "report");
    report.expect("a report").1
}

fn row(cells: &[(&str, &str)]) -> BTreeMap<String, String> {
    let cells = cells.iter();
    cells
        .map(|(head, text)| ((*head).to_owned(), (*text).to_owned()))
        .collect()
}

#[test]
fn plugs_that_interchange_are_on_the_report() {
    let mut input = hub();
    input.circuits[1].from.key = Some("A".to_owned());
    assert_eq!(
        rows(&input, "interchange"),
        [row(&[
            ("location", "hub"),
            ("level", "warning"),
            ("net", "HV+"),
            ("interface and key", "F A"),
            (
                "circuits that interchange",
                "drive (70 mm2, 200 A) and aux (16 mm2, 200 A)"
            ),
            (
                "what a swap does",
                "a swap mixes up their gauges, so their fuses"
            ),
        ])]
    );
    let page = report(&input);
    for sentence in [
        "<p>1 warning: plugs of different circuits of one net interchange.</p>",
        "<p>The keying rule keeps circuits of different branches apart: ",
    ] {
        assert!(page.contains(sentence), "{sentence}");
    }
    let keys = rows(&input, "keys");
    assert!(!keys[0].contains_key("branch") && !keys[0].contains_key("keeps to"));
    assert!(!page.contains("should not be"));
}

#[test]
fn branches_and_keys_of_nets_are_on_the_report() {
    let mut input = hub();
    input.circuits[0].branch = "drive".to_owned();
    input.circuits[1].from.key = Some("B".to_owned());
    let keys = ["A", "B"].map(str::to_owned);
    let lists = &mut input.settings.keying.keys;
    lists.insert("HV+".to_owned(), keys.into());
    assert_eq!(rows(&input, "interchange"), []);
    let keys = rows(&input, "keys");
    assert_eq!(keys.len(), 2);
    for (row, (branch, key)) in keys.iter().zip([("", "B"), ("drive", "A")]) {
        assert_eq!((row["branch"].as_str(), row["key"].as_str()), (branch, key));
        assert_eq!(row["keeps to"], "key A or B");
    }
    let rule = "At one location, ends of different nets, and different branches of a net, \
                never share interface and key.";
    assert!(report(&input).contains(rule));
    // Off, the wrong plug goes in, by the names of the branches.
    input.settings.keying.distinct = Distinct::Off;
    input.circuits[1].from.key = Some("A".to_owned());
    let left = rows(&input, "keys-left");
    let wrong = "1 pair of HV+ of no branch and HV+ of branch drive, F A: the wrong plug goes \
                 in; keying is off";
    assert_eq!(left[0]["wrong plug goes in"], wrong);
    let shared = rows(&input, "keys");
    assert_eq!(shared[0]["shared with"], "HV+ of branch drive");
    assert_eq!(rows(&input, "interchange"), []);
}
