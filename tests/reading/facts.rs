//! Attributes, ratings, built-in receptacles, keys of nets, branches, skus, notes: what
//! is read of them, and what is said where they are wrong.

use crate::support::Project;
use couplet::catalog::{Holds, IfEmpty, Kind, Value};
use couplet::input::Input;
use couplet::table::one_spelling;
use rust_decimal::Decimal;
use std::collections::BTreeSet;

const ATTRIBUTES: &str = "attribute,on,holds,if_empty,description,note
interlock,plug receptacle,equal,,contact of the loop,ask first
approvals,plug,has,meets,,
temp_c,seal back-shell,at-least,refuses,,
force_n,plug,at-most,,,
plating,plug receptacle,same,meets,,
";

const BODIES: &str =
    "part,half,interface,key,rated_a,rated_v,attach,exit,interlock,approvals,force_n,plating,note
P-1,plug,M10,A,350,1000,crimp,straight,yes,boat  smoke,40.5,silver,a remark
P-2,plug,M10,A,350,1000,crimp,straight,,,,,
R-1,receptacle,M10,A,350,1000,busbar,,no,boat,7,tin,
R-3,receptacle,N6,,350,1000,busbar,,,,,,
P-3,plug,N6,,350,1000,crimp,straight,,,,,
";

const RATINGS: &str = "part,min_mm2,max_mm2,rated_a,note
P-1,10,25,120,
P-1,35,50,200,thin
R-1,10,16,90,
";

const CIRCUITS: &str = "circuit,conductors,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach,from_interface,to_interface,from_key,to_key,branch,colour,interlock,from_temp_c,to_approvals,note
main,HV+ HV-,pack,inverter,20,50,10 mm2,8,busbar,none,M10,,A,,drive,,yes,105,smoke boat,behind the seat
shore,HV+,inlet,pack,20,50,10 mm2,8,built-in,none,N6,,,,,,,,,
";

const SETTINGS: &str = "name = \"Cart\"
currency = \"EUR\"
catalog = \"../catalog\"

[rates]
USD = 0.92

[keying.keys]
\"HV+\" = [\"A\", \"1\"]
";

/// A project that has each of them, in order.
fn facts() -> Project {
    let project = Project::new();
    project
        .write("project.toml", SETTINGS)
        .write("circuits.csv", CIRCUITS)
        .write("../catalog/attributes.csv", ATTRIBUTES)
        .write("../catalog/bodies.csv", BODIES)
        .write("../catalog/ratings.csv", RATINGS)
        .write("../catalog/ferrules.csv", "part,barrel,min_mm2,max_mm2\n")
        .write("../catalog/dies.csv", "die,cost,owned\n")
        .write(
            "../catalog/seals.csv",
            "part,rear,min_od_mm,max_od_mm,temp_c\nS-1,R,5,9,105\n",
        )
        .write("../catalog/backshells.csv", "part,rear,max_od_mm\n")
        .write(
            "../catalog/suppliers.csv",
            "supplier,currency\nNord,EUR\nWest,USD\n",
        )
        .write("../catalog/prices.csv", PRICES)
        .write("on_hand.csv", "part,qty,note\nP-1,2,in the drawer\n");
    project
}

const PRICES: &str = "part,supplier,sku,min_qty,unit_price,pack,note
P-1,Nord,N1,1,30,1,
P-1,Nord,N1,5,28,1,
P-1,Nord,N1-10,10,20,10,bag of ten
P-1,West,,1,25,1,
";

fn input(project: &Project) -> Input {
    let loaded = project.load();
    loaded
        .input
        .unwrap_or_else(|| panic!("{:?}", loaded.findings))
}

/// What is found beside what is found in the sound project.
fn found(file: &str, old: &str, new: &str) -> Vec<String> {
    let before = facts().found();
    let project = facts();
    project.edit(file, old, new);
    let found = project.found();
    found
        .into_iter()
        .filter(|line| !before.contains(line))
        .collect()
}

#[track_caller]
fn finds(file: &str, cases: &[(&str, &str, &str)]) {
    for (old, new, expected) in cases {
        assert_eq!(found(file, old, new), [*expected], "{old:?} -> {new:?}");
    }
}

#[test]
fn everything_is_read() {
    let input = input(&facts());
    let names: Vec<&str> = input.catalog.attributes.iter().map(|a| &*a.name).collect();
    assert_eq!(
        names,
        ["interlock", "approvals", "temp_c", "force_n", "plating"]
    );
    let plating = &input.catalog.attributes[4];
    assert_eq!(
        (plating.holds, plating.if_empty),
        (Holds::Same, IfEmpty::Meets)
    );
    let on = &input.catalog.attributes[2].on;
    assert_eq!(*on, BTreeSet::from([Kind::Seal, Kind::BackShell]));

    let part = |code: &str| input.catalog.part(input.catalog.find(code).unwrap());
    let word = |text: &str| Some(Value::Word(text.into()));
    let words = |all: &[&str]| Some(Value::Words(all.iter().map(|w| (*w).into()).collect()));
    let number = |text: &str| Some(Value::Number(text.parse::<Decimal>().unwrap()));
    let values = [
        word("yes"),
        words(&["boat", "smoke"]),
        None,
        number("40.5"),
        word("silver"),
    ];
    assert_eq!(part("P-1").values, values);
    // Approvals and force are not asked of a receptacle: what stands there is nothing.
    assert_eq!(
        part("R-1").values,
        [word("no"), None, None, None, word("tin")]
    );
    assert_eq!(part("S-1").values, [None, None, number("105"), None, None]);
    assert_eq!(part("P-1").note, "a remark");

    let rated = |code: &str, area: &str| {
        let body = part(code).body().unwrap();
        body.rated_on(area.parse::<Decimal>().unwrap().into())
            .to_string()
    };
    // Both limits of a row are included.
    assert_eq!(rated("P-1", "9.999"), "350 A");
    assert_eq!(rated("P-1", "10"), "120 A");
    assert_eq!(rated("P-1", "25"), "120 A");
    assert_eq!(rated("P-1", "25.001"), "350 A");
    assert_eq!(rated("P-1", "50"), "200 A");
    assert_eq!(rated("P-2", "10"), "350 A");

    let main = &input.circuits[0];
    assert_eq!(
        (main.branch.as_str(), main.note.as_str()),
        ("drive", "behind the seat")
    );
    assert_eq!(main.from.interface.as_deref(), Some("M10"));
    assert_eq!(
        main.from.wants,
        [word("yes"), None, number("105"), None, None]
    );
    assert_eq!(
        main.to.wants,
        [word("yes"), words(&["boat", "smoke"]), None, None, None]
    );
    assert!(input.circuits[1].from.is_built_in());
    assert_eq!(input.circuits[1].branch, "");

    let keying = &input.settings.keying;
    assert!(keying.allows("HV+", "A") && keying.allows("HV+", ""));
    assert!(!keying.allows("HV+", "B") && keying.allows("HV-", "B"));

    let skus: Vec<(&str, usize)> = (input.catalog.offers.iter())
        .map(|offer| (offer.sku.as_str(), offer.breaks.len()))
        .collect();
    assert_eq!(skus, [("N1", 2), ("N1-10", 1), ("", 1)]);
    assert_eq!(input.catalog.offers[1].breaks[0].note, "bag of ten");
}

#[test]
fn one_column_for_one_end_counts_before_the_one_for_both() {
    let project = facts();
    project.edit(
        "circuits.csv",
        "interlock,from_temp_c",
        "interlock,to_interlock",
    );
    project.edit("circuits.csv", "yes,105", "yes,no");
    let main = &input(&project).circuits[0];
    assert_eq!(main.from.wants[0], Some(Value::Word("yes".into())));
    assert_eq!(main.to.wants[0], Some(Value::Word("no".into())));
}

#[test]
fn attributes_that_are_wrong() {
    finds(
        "../catalog/attributes.csv",
        &[
            (
                "force_n,plug,at-most",
                "Force,seal,equal,,,\nforce_n,plug,at-most",
                "error at catalog/attributes.csv:5, column attribute: \"Force\" is no name for a column | write small letters, digits and _, such as temp_class",
            ),
            (
                "plating,plug receptacle,same",
                "plating,plug,same",
                "error at catalog/attributes.csv:6, column on: same compares the two halves of a pair | write plug receptacle, or another word in holds",
            ),
            (
                "plating,plug receptacle,same",
                "plating,plug receptacle seal,same",
                "error at catalog/attributes.csv:6, column on: same compares the two halves of a pair | write plug receptacle, or another word in holds",
            ),
            (
                "plug,has,meets",
                "plug,has,allows",
                "error at catalog/attributes.csv:3, column if_empty: unknown word \"allows\" | write refuses or meets",
            ),
            (
                "plug,has,meets",
                "plg,has,meets",
                "error at catalog/attributes.csv:3, column on: unknown word \"plg\" | did you mean \"plug\"?",
            ),
            (
                "plug,has,meets",
                ",has,meets",
                "error at catalog/attributes.csv:3, column on: the field is empty | give a value",
            ),
        ],
    );
}

/// No attribute has the name of a column, be it of a part or of a circuit.
#[test]
fn an_attribute_named_like_a_column() {
    for (name, column) in [
        ("rated_a", "rated_a"),
        ("gauge", "gauge"),
        ("attach", "attach"),
        ("key", "key"),
        ("note", "note"),
        ("from_exit", "from_exit"),
        // `from_interface` would be its column for one end.
        ("interface", "interface"),
    ] {
        let line = format!("{name},seal,equal,,,\ninterlock,");
        let found = found("../catalog/attributes.csv", "interlock,", &line);
        let expected = format!(
            "error at catalog/attributes.csv:2, column attribute: \
             there is a column {column} already | give the attribute another name"
        );
        assert!(found.contains(&expected), "{name}: {found:?}");
    }
    let found = found(
        "../catalog/attributes.csv",
        "interlock,",
        "from_temp_c,seal,equal,,,\ninterlock,",
    );
    let expected = "error at catalog/attributes.csv:2, column attribute: \"from_temp_c\" is the \
                    column of attribute \"temp_c\" for one end of a circuit | give one of the two \
                    another name";
    assert!(found.iter().any(|line| line == expected), "{found:?}");
}

#[test]
fn values_that_are_wrong() {
    finds(
        "../catalog/seals.csv",
        &[(
            "9,105",
            "9,warm",
            "error at catalog/seals.csv:2, column temp_c: \"warm\" is not a number | give a number in digits, such as 12.5",
        )],
    );
    finds(
        "circuits.csv",
        &[
            (
                "yes,105",
                "yes,hot",
                "error at cart/circuits.csv:2, column from_temp_c: \"hot\" is not a number | give a number in digits, such as 12.5",
            ),
            (
                "from_temp_c",
                "from_tmp_c",
                "error at cart/circuits.csv:1: unknown column \"from_tmp_c\" | did you mean \"from_temp_c\"?",
            ),
        ],
    );
}

/// The rows of a table of parts can't have an attribute that is asked of others.
#[test]
fn a_column_of_other_parts() {
    let found = found("../catalog/seals.csv", ",temp_c\n", ",interlock\n");
    assert!(
        found[0].contains("unknown column \"interlock\""),
        "{found:?}"
    );
}

#[test]
fn ratings_that_are_wrong() {
    finds(
        "../catalog/ratings.csv",
        &[
            (
                "R-1,10",
                "S-1,10",
                "error at catalog/ratings.csv:4, column part: \"S-1\" is a seal, no body | ratings are those of plugs and receptacles",
            ),
            (
                "R-1,10",
                "R-7,10",
                "error at catalog/ratings.csv:4, column part: unknown part \"R-7\" | did you mean \"R-1\"?",
            ),
            (
                "10,16,90",
                "17,16,90",
                "error at catalog/ratings.csv:4, column min_mm2: min_mm2 17 is above max_mm2 16 | exchange them, or correct one",
            ),
            (
                "10,16,90",
                "10,16,",
                "error at catalog/ratings.csv:4, column rated_a: the field is empty | give a value",
            ),
            (
                "P-1,35",
                "P-1,25",
                "warning at catalog/ratings.csv:3, column min_mm2: its areas overlap with those of catalog/ratings.csv:2: the lower current counts there | give each area to one row",
            ),
        ],
    );
    let project = facts();
    project.edit("../catalog/ratings.csv", "P-1,35,50,200", "P-1,20,50,100");
    let input = input(&project);
    let body = input
        .catalog
        .part(input.catalog.find("P-1").unwrap())
        .body()
        .unwrap()
        .clone();
    assert_eq!(
        body.rated_on("25".parse::<Decimal>().unwrap().into())
            .to_string(),
        "100 A"
    );
    assert_eq!(
        body.rated_on("19".parse::<Decimal>().unwrap().into())
            .to_string(),
        "120 A"
    );
}

#[test]
fn built_in_receptacles() {
    finds(
        "circuits.csv",
        &[
            (
                "built-in,none,N6",
                "built-in,none,",
                "error at cart/circuits.csv:3, column from_interface: a built-in receptacle needs its interface | write the mating face that the device has",
            ),
            (
                "built-in,none,N6",
                "built-in,none,M10",
                "error at cart/circuits.csv:3, column from_key: interface \"M10\" has keys, so its built-in receptacle has one | write the key that the device has",
            ),
        ],
    );
    finds(
        "../catalog/bodies.csv",
        &[(
            "R-3,receptacle,N6,,350,1000,busbar",
            "R-3,receptacle,N6,,350,1000,built-in",
            "error at catalog/bodies.csv:5, column attach: a receptacle that a device has already is not bought | take out the row; circuits.csv gives its interface and key",
        )],
    );
    // The plug is of use, though no receptacle of the catalog takes it.
    let project = facts();
    project.edit(
        "../catalog/bodies.csv",
        "R-3,receptacle,N6,,350,1000,busbar,,,,,,\n",
        "",
    );
    let found = project.found();
    assert!(
        found
            .iter()
            .all(|line| !line.contains("nothing can use \"P-3\"")),
        "{found:?}"
    );
}

#[test]
fn keys_of_nets() {
    finds(
        "project.toml",
        &[
            (
                "\"HV+\" = [\"A\", \"1\"]",
                "\"HV+\" = \"A\"",
                "error at cart/project.toml:9, key keying.keys.HV+: the value is text, but a list is wanted | write it as [\"1\", \"2\"]",
            ),
            (
                "\"HV+\" = [\"A\", \"1\"]",
                "\"HV+\" = []",
                "error at cart/project.toml:9, key keying.keys.HV+: no key at all | name the keys of the net, or leave the net out",
            ),
            (
                "\"HV+\"",
                "\"HVplus\"",
                "warning at cart/project.toml:9, key keying.keys.\"HVplus\": no circuit has the net \"HVplus\" | write the whole net of an end, such as \"HV+\" or \"HV+ HV-\"",
            ),
        ],
    );
}

#[test]
fn skus_on_some_rows_and_none_on_others() {
    finds(
        "../catalog/prices.csv",
        &[(
            "P-1,Nord,N1,5,28",
            "P-1,Nord,,5,28",
            "warning at catalog/prices.csv:3, column sku: there is no sku here, but catalog/prices.csv:2 has sku \"N1\": they count as several offers | give all rows of one offer the same sku",
        )],
    );
}

#[test]
fn names_that_look_alike() {
    let warning = |place: &str, noun: &str, name: &str, first: &str, at: &str| {
        format!(
            "warning at {place}: {noun} {name:?} is not {noun} {first:?} in {at}, though they look \
             alike | write both alike if they are one, or give one of the two another name"
        )
    };
    let both = "cart/circuits.csv:2";
    assert_eq!(
        found("circuits.csv", "inlet,pack", "inlet,Pack"),
        [warning(
            "cart/circuits.csv:3, column to",
            "location",
            "Pack",
            "pack",
            both
        )]
    );
    assert_eq!(
        found("circuits.csv", "shore,HV+,", "shore,hv+,"),
        [warning(
            "cart/circuits.csv:3, column conductors",
            "net",
            "hv+",
            "HV+",
            both
        )]
    );
    assert_eq!(
        found("circuits.csv", "shore,HV+", "Main,HV+"),
        [warning(
            "cart/circuits.csv:3, column circuit",
            "circuit",
            "Main",
            "main",
            both
        )]
    );
    assert_eq!(
        found("circuits.csv", "N6,,,,,,,,,", "N6,,,,Dri-ve,,,,,"),
        [warning(
            "cart/circuits.csv:3, column branch",
            "branch",
            "Dri-ve",
            "drive",
            both
        )]
    );
    let catalog = "catalog/suppliers.csv:2";
    assert_eq!(
        found("../catalog/suppliers.csv", "West,USD", "West,USD\nNORD,EUR")[0],
        warning(
            "catalog/suppliers.csv:4, column supplier",
            "supplier",
            "NORD",
            "Nord",
            catalog
        )
    );
    // Spaces, hyphens and underscores, and nothing else.
    assert_eq!(
        found("circuits.csv", "inlet,pack", "inlet,pack 2"),
        Vec::<String>::new()
    );
    assert_eq!(
        found("circuits.csv", "inlet,pack", "inlet,p_a-c k").len(),
        1
    );
}

/// Two ways to write one name are one name.
#[test]
fn names_are_compared_in_one_spelling() {
    let project = facts();
    project.edit("circuits.csv", "inlet,pack", "inlet,\u{c5}bo  dock");
    project.edit("circuits.csv", "pack,inverter", "pack,A\u{30a}bo\u{a0}dock");
    let input = input(&project);
    assert_eq!(input.circuits[0].to.location, input.circuits[1].to.location);
    assert_eq!(input.circuits[0].to.location, one_spelling("\u{c5}bo dock"));
    let warnings = project.found();
    assert!(
        warnings.iter().all(|line| !line.contains("look alike")),
        "{warnings:?}"
    );
}

/// A row of the file is read with its remark, and a remark changes nothing.
#[test]
fn notes_may_stand_in_every_table() {
    let project = facts();
    for (file, text) in [
        (
            "ordered.csv",
            "part,supplier,qty,unit_price,ordered_on,sku,note\nP-1,Nord,1,30,2026-03-01,N1,by phone\n",
        ),
        ("dies_ordered.csv", "die,cost,ordered_on,note\n"),
        (
            "../catalog/dies.csv",
            "die,cost,owned,note\nD,1,yes,lent out\n",
        ),
        (
            "../catalog/suppliers.csv",
            "supplier,currency,note\nNord,EUR,ring first\nWest,USD,\n",
        ),
    ] {
        project.write(file, text);
    }
    let input = input(&project);
    assert_eq!(input.ordered[0].note, "by phone");
    assert_eq!(input.ordered[0].sku, "N1");
    assert_eq!(input.catalog.dies[0].note, "lent out");
    assert_eq!(input.catalog.suppliers[0].note, "ring first");
    let before = facts().found();
    let found = project.found();
    let told: Vec<&String> = found.iter().filter(|line| !before.contains(line)).collect();
    assert!(
        told.iter()
            .all(|line| line.contains("no ferrule names die")),
        "{told:?}"
    );
}
