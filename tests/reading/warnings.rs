//! What is legal but looks wrong, in exact words.

use crate::support::{Project, each_finds, spoilt};
use couplet::input::LoadOptions;

const NOTHING: [&str; 0] = [];

#[test]
fn a_higher_price_at_a_higher_break() {
    each_finds(
        "../catalog/prices.csv",
        &[(
            "EUR,10,25",
            "EUR,10,30.126",
            "warning at catalog/prices.csv:3, column unit_price: \
             from 10 pieces on, the price goes up from 30.125 to 30.126 \
             | compare with catalog/prices.csv:2",
        )],
    );
    assert_eq!(
        spoilt("../catalog/prices.csv", "EUR,10,25", "EUR,10,30.125"),
        NOTHING
    );
}

#[test]
fn a_quote_older_than_a_year() {
    assert_eq!(
        spoilt("../catalog/prices.csv", "2026-03-01", "2025-03-31"),
        NOTHING
    );
    each_finds(
        "../catalog/prices.csv",
        &[(
            "2026-03-01",
            "2025-03-30",
            "warning at catalog/prices.csv:5, column quoted: \
             the quote of 2025-03-30 is more than a year old at 2026-03-31 | ask for a new price",
        )],
    );
    let project = Project::new();
    let options = LoadOptions {
        as_of: Some("2027-03-31".parse().unwrap()),
        ..LoadOptions::default()
    };
    assert_eq!(project.load_with(&options).findings.warnings(), 1);
}

#[test]
fn above_60_volt_without_orange() {
    let note = "note: above 60 V DC is class B of ISO 6469-3:2021; UN R100 5.1.1.5 asks for an \
                orange covering on cables outside enclosures";
    let wanted = format!(
        "warning at cart/circuits.csv:2, column colour: \
         circuit \"main\" carries 60.1 V but does not ask for orange \
         | write orange as its colour | {note}"
    );
    let volts = |volts: &str, colour: &str| {
        let project = Project::new();
        project.edit("circuits.csv", "200,350", &format!("200,{volts}"));
        project.edit("circuits.csv", "IP67,orange", &format!("IP67,{colour}"));
        project.found()
    };
    assert_eq!(volts("60.1", ""), std::slice::from_ref(&wanted));
    assert_eq!(volts("60.1", "black"), [wanted]);
    assert_eq!(volts("60.1", "orange"), NOTHING);
    assert_eq!(volts("60", ""), NOTHING);
}

#[test]
fn parts_that_nothing_can_use() {
    each_finds(
        "../catalog/ferrules.csv",
        &[(
            "B10,",
            "B11,",
            "warning at catalog/ferrules.csv:2, column barrel: nothing can use \"F-70\": no body needs a ferrule for barrel \"B11\" | compare the codes, or take the part out",
        )],
    );
    each_finds(
        "../catalog/seals.csv",
        &[(
            "S-1,,R10",
            "S-1,,R11",
            "warning at catalog/seals.csv:2, column rear: nothing can use \"S-1\": no body needs a seal for rear \"R11\" | compare the codes, or take the part out",
        )],
    );
    each_finds(
        "../catalog/backshells.csv",
        &[(
            "R10",
            "R11",
            "warning at catalog/backshells.csv:2, column rear: nothing can use \"K-1\": no body needs a back-shell for rear \"R11\" | compare the codes, or take the part out",
        )],
    );
    each_finds(
        "../catalog/bodies.csv",
        &[
            (
                "boxed plug,plug,M10,A",
                "boxed plug,plug,M10,B",
                "warning at catalog/bodies.csv:3, column interface: nothing can use \"P-2\": there is no receptacle with interface \"M10\", key \"B\" | compare the codes, or take the part out",
            ),
            (
                "boxed plug,plug,M10,A",
                "boxed plug,plug,M9,",
                "warning at catalog/bodies.csv:3, column interface: nothing can use \"P-2\": there is no receptacle with interface \"M9\" | compare the codes, or take the part out",
            ),
            (
                "crimp,right-angle,B10,R10,IP67,orange,ferrule seal back-shell,25,70,10,18",
                "busbar,,,,IP67,orange,,,,,",
                "warning at catalog/bodies.csv:3, column attach: no circuit can use a plug that attaches to \"busbar\" | write crimp: the plug is the half on the cable",
            ),
        ],
    );
}

#[test]
fn fittings_in_the_box_need_no_part() {
    // Then only P-2 is left on the barrel, and it brings its ferrule.
    let found = spoilt(
        "../catalog/bodies.csv",
        "crimp,straight,B10",
        "crimp,straight,",
    );
    assert_eq!(found.len(), 1);
    assert!(found[0].contains("nothing can use \"F-70\""));
}

#[test]
fn names_that_nothing_uses() {
    each_finds(
        "project.toml",
        &[
            (
                "\"bench\"",
                "\"bensh\"",
                "warning at cart/project.toml:19, key keying.ignore_at: no circuit has the location \"bensh\" | did you mean \"bench\"?",
            ),
            (
                "\"bench\"",
                "\"roof\"",
                "warning at cart/project.toml:19, key keying.ignore_at: no circuit has the location \"roof\" | write a location of circuits.csv, or take it out",
            ),
        ],
    );
    each_finds(
        "../catalog/suppliers.csv",
        &[(
            "West,",
            "East,EUR,,,,\nWest,",
            "warning at catalog/suppliers.csv:3, column supplier: no price names supplier \"East\" | add its prices, or take the row out",
        )],
    );
    each_finds(
        "../catalog/dies.csv",
        &[(
            "no\n",
            "no\nD-2,,1,yes\n",
            "warning at catalog/dies.csv:3, column die: no ferrule names die \"D-2\" | name it in the column die of ferrules.csv, or take the row out",
        )],
    );
}

#[test]
fn offers_without_lead_time() {
    each_finds(
        "../catalog/prices.csv",
        &[(
            "K-1,Nord,,,1,4,,,7,",
            "K-1,Nord,,,1,4,,,,",
            "warning at cart/project.toml:5, key max_lead_days: lead_days is missing in 1 of 7 offers | ask the suppliers, and fill in lead_days in the price list",
        )],
    );
    let project = Project::new();
    project.edit(
        "../catalog/prices.csv",
        "K-1,Nord,,,1,4,,,7,",
        "K-1,Nord,,,1,4,,,,",
    );
    project.edit("project.toml", "max_lead_days = 30", "");
    assert_eq!(project.found(), NOTHING);
}

#[test]
fn parts_without_price_or_stock() {
    each_finds(
        "../catalog/prices.csv",
        &[(
            "K-1,Nord,,,1,4,,,7,\n",
            "",
            "warning at catalog/prices.csv: there is neither a price nor stock on hand for 1 of 7 parts | do nothing, unless a circuit should use such a part",
        )],
    );
    // F-70 is on hand.
    assert_eq!(
        spoilt("../catalog/prices.csv", "F-70,Nord,,,10,1.2,10,,7,\n", ""),
        NOTHING
    );
}

#[test]
fn many_of_a_kind_become_a_number() {
    let project = Project::new();
    let rows: String = (0..7).map(|i| format!("F-{i},,B0,1,2,\n")).collect();
    project.edit("../catalog/ferrules.csv", "F-70,", &format!("{rows}F-70,"));
    let found = project.found();
    let useless: Vec<&String> = found
        .iter()
        .filter(|f| f.contains("ferrules.csv"))
        .collect();
    assert_eq!(useless.len(), 6);
    assert_eq!(
        useless[5],
        "warning at catalog/ferrules.csv: and 2 more ferrules that nothing can use"
    );
}
