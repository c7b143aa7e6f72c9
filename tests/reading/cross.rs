//! Files that do not go together, and circuits, in exact words.

use crate::support::{Project, each_finds, spoilt};
use couplet::catalog::DieId;
use couplet::diag::Findings;
use couplet::project::delivery::{self, Delivery};
use couplet::source::Source;

const NOTHING: [&str; 0] = [];

#[test]
fn circuits() {
    let attach = "write what the receptacle attaches to, or none if there is no connector there";
    let empty = |col: &str, cure: &str| {
        format!("error at cart/circuits.csv:2, column {col}: the field is empty | {cure}")
    };
    let many: String = (0..101).map(|i| format!("n{i} ")).collect();
    each_finds(
        "circuits.csv",
        &[
            ("main,", ",", &empty("circuit", "give a value")),
            (
                "main,",
                "motor,",
                "error at cart/circuits.csv:3, column circuit: circuit \"motor\" is there already | take out this row or cart/circuits.csv:2, or give one of the two another name",
            ),
            ("HV+ HV-", "", &empty("conductors", "give a value")),
            (
                "HV+ HV-",
                "HV+ HV- HV+",
                "error at cart/circuits.csv:2, column conductors: conductor \"HV+\" is named twice | give each conductor a net name of its own",
            ),
            (
                "HV+ HV-",
                &many,
                "error at cart/circuits.csv:2, column conductors: the circuit has more than 100 conductors | split the circuit",
            ),
            (
                "single",
                "double",
                "error at cart/circuits.csv:2, column cable: unknown word \"double\" | write single or multi",
            ),
            ("pack,", ",", &empty("from", "give a value")),
            ("200,350", ",350", &empty("current_a", "give a value")),
            ("200,350", "200,", &empty("voltage_v", "give a value")),
            (
                "200,350",
                "-200,350",
                "error at cart/circuits.csv:2, column current_a: \"-200\" is not above 0 | give a current above 0 up to 100000 A",
            ),
            (
                "200,350",
                "200,100001",
                "error at cart/circuits.csv:2, column voltage_v: \"100001\" is above 100000 | give a voltage above 0 up to 100000 V",
            ),
            (
                "70 mm2",
                "70",
                "error at cart/circuits.csv:2, column gauge: \"70\" has no unit: it could be mm² or AWG | write 70 mm2 or 70 AWG",
            ),
            (
                "70 mm2",
                "70 cm2",
                "error at cart/circuits.csv:2, column gauge: \"70 cm2\" is not a gauge | write a gauge such as 70 mm2, 2/0 AWG or 6 AWG; gauges go up to 10000 mm², or from 4/0 to 40 AWG, with at most 6 decimals",
            ),
            (
                "70 mm2",
                "0.1234567 mm2",
                "error at cart/circuits.csv:2, column gauge: \"0.1234567 mm2\" has more than 6 decimals | write a gauge such as 70 mm2, 2/0 AWG or 6 AWG; gauges go up to 10000 mm², or from 4/0 to 40 AWG, with at most 6 decimals",
            ),
            ("70 mm2", "", &empty("gauge", "give a value")),
            (
                "16.5",
                "",
                &empty("cable_od_mm", "measure the cable's outer diameter"),
            ),
            ("busbar,none", ",none", &empty("from_attach", attach)),
            ("busbar,none", "busbar,", &empty("to_attach", attach)),
            (
                "none,straight",
                "none,left",
                "error at cart/circuits.csv:2, column from_exit: unknown word \"left\" | write straight or right-angle",
            ),
            (
                "IP67",
                "IP7",
                "error at cart/circuits.csv:2, column ip: \"IP7\" is not a protection code | write a code such as IP67, or several codes joined by /",
            ),
        ],
    );
    let hundred: String = (0..100).map(|i| format!("n{i} ")).collect();
    assert_eq!(spoilt("circuits.csv", "HV+ HV-", &hundred), NOTHING);
}

#[test]
fn one_bad_cell_hides_no_other_of_its_row() {
    let project = Project::new();
    project.edit("circuits.csv", "200,350,70 mm2,16.5,busbar", "x,y,70,z,");
    assert_eq!(project.found().len(), 5);
}

#[test]
fn stock_on_hand() {
    each_finds(
        "on_hand.csv",
        &[
            (
                "F-70,3",
                "F-77,3",
                "error at cart/on_hand.csv:2, column part: unknown part \"F-77\" | did you mean \"F-70\"?",
            ),
            (
                "F-70,3",
                "thing,3",
                "error at cart/on_hand.csv:2, column part: unknown part \"thing\" | correct the code, or add the part to the catalog",
            ),
            (
                "S-9,0",
                "F-70,1",
                "error at cart/on_hand.csv:3, column part: part \"F-70\" is there already | take out this row or cart/on_hand.csv:2, or give one of the two another name",
            ),
            (
                "F-70,3",
                "F-70,-1",
                "error at cart/on_hand.csv:2, column qty: \"-1\" is below 0 | give a number of pieces from 0 up to 1000000000, a whole number",
            ),
            (
                "F-70,3",
                "F-70,1000000001",
                "error at cart/on_hand.csv:2, column qty: \"1000000001\" is above 1000000000 | give a number of pieces from 0 up to 1000000000, a whole number",
            ),
        ],
    );
    assert_eq!(spoilt("on_hand.csv", "F-70,3", "F-70,1000000000"), NOTHING);
}

/// What is found with these rows of `dies_ordered.csv`.
fn dies_ordered(rows: &str) -> Vec<String> {
    let project = Project::new();
    project.write("dies_ordered.csv", format!("die,cost,ordered_on\n{rows}"));
    project.found()
}

#[test]
fn ordered_dies() {
    let at = |column: &str, what: &str| {
        [format!(
            "error at cart/dies_ordered.csv:2, column {column}: {what}"
        )]
    };
    assert_eq!(dies_ordered(""), NOTHING);
    assert_eq!(dies_ordered("D-1,120,2026-04-01\n"), NOTHING);
    assert_eq!(dies_ordered("D-1,1000000000,2026-04-01\n"), NOTHING);
    for (row, column, what) in [
        (
            "D-2,120,2026-04-01",
            "die",
            "unknown die \"D-2\" | did you mean \"D-1\"?",
        ),
        (
            "hammer,120,2026-04-01",
            "die",
            "unknown die \"hammer\" | correct the name, or give the die a row among the dies of the catalog",
        ),
        (
            ",120,2026-04-01",
            "die",
            "the field is empty | give a value",
        ),
        (
            "D-1,,2026-04-01",
            "cost",
            "the field is empty | give a value",
        ),
        (
            "D-1,-1,2026-04-01",
            "cost",
            "\"-1\" is below 0 | give an amount of money from 0 up to 1000000000",
        ),
        (
            "D-1,1000000001,2026-04-01",
            "cost",
            "\"1000000001\" is above 1000000000 | give an amount of money from 0 up to 1000000000",
        ),
        (
            "D-1,120,",
            "ordered_on",
            "the field is empty | give a value",
        ),
        (
            "D-1,120,1.4.2026",
            "ordered_on",
            "\"1.4.2026\" is not a date | write year, month and day as YYYY-MM-DD, such as 2026-03-31",
        ),
    ] {
        assert_eq!(dies_ordered(row), at(column, what), "{row}");
    }
    assert_eq!(
        dies_ordered("D-1,120,2026-04-01\nD-1,1,2026-04-02\n"),
        [
            "error at cart/dies_ordered.csv:3, column die: die \"D-1\" is there already \
             | take out this row or cart/dies_ordered.csv:2, or give one of the two another name"
        ]
    );
}

#[test]
fn what_is_ordered_may_have_a_sku() {
    let project = Project::new();
    let skus = |text: &str| -> Vec<(String, String)> {
        project.write("ordered.csv", text);
        assert_eq!(project.found(), NOTHING, "{text}");
        let rows = project.load().input.unwrap().ordered.into_iter();
        rows.map(|row| (row.sku, row.note)).collect()
    };
    let of = |sku: &str, note: &str| (sku.to_owned(), note.to_owned());
    let rows = "P-1,Nord,2,30,2026-04-01";
    assert_eq!(
        skus(&format!(
            "part,supplier,qty,unit_price,ordered_on\n{rows}\n"
        )),
        [of("", "")]
    );
    let head = "part,supplier,qty,unit_price,ordered_on,sku,note\n";
    // Any code may stand there: the offer may be gone by now.
    assert_eq!(
        skus(&format!(
            "{head}{rows},N1,\n{rows},,by phone\n{rows}, B  10 ,\n"
        )),
        [of("N1", ""), of("", "by phone"), of("B 10", "")]
    );
}

/// What a delivery file says, and what is found in it.
fn delivered(text: &str) -> (Vec<Delivery>, Vec<String>) {
    let project = Project::new();
    let catalog = project.load().input.unwrap().catalog;
    let mut findings = Findings::default();
    let bytes = text.as_bytes().to_vec();
    let source = Source::from_bytes(&"came.csv".into(), bytes, &mut findings).unwrap();
    let deliveries = delivery::read(&source, &catalog, &mut findings);
    let found = findings.iter().map(|d| project.words(d)).collect();
    (deliveries, found)
}

#[test]
fn deliveries() {
    let (came, found) =
        delivered("qty;part;sku;supplier\n3;P-1;N1;Nord\n1;P-1;N1;\n2;P-1;;Nord\n4;P-1;;\n");
    assert_eq!(found, NOTHING);
    let named: Vec<_> = (came.iter())
        .map(|d| (d.qty, d.sku.as_deref(), d.supplier.as_deref()))
        .collect();
    let (n1, nord) = (Some("N1"), Some("Nord"));
    let want = [
        (3, n1, nord),
        (1, n1, None),
        (2, None, nord),
        (4, None, None),
    ];
    assert_eq!(named, want);
    // Without the columns, with them in any order.
    assert_eq!(delivered("part,qty\nP-1,3\n").0.len(), 1);
    for (row, what) in [
        (
            "P-11,N1,Nord,1",
            "column part: unknown part \"P-11\" | did you mean \"P-1\"?",
        ),
        (
            "P-1,N1,Nrd,1",
            "column supplier: unknown supplier \"Nrd\" | did you mean \"Nord\"?",
        ),
        (
            "P-1,N1,Nord,0",
            "column qty: \"0\" is below 1 | give a number of pieces from 1 up to 1000000000, a whole number",
        ),
        (
            "P-1,N1,Nord,",
            "column qty: the field is empty | give a value",
        ),
    ] {
        let (came, found) = delivered(&format!("part,sku,supplier,qty\n{row}\n"));
        assert_eq!(found, [format!("error at came.csv:2, {what}")]);
        assert_eq!(came, []);
    }
}

#[test]
fn an_ordered_die_is_owned() {
    let project = Project::new();
    let owned = |project: &Project| {
        let input = project.load().input.unwrap();
        (input.owns(DieId(0)), input.catalog.dies[0].owned)
    };
    assert_eq!(owned(&project), (false, false));
    project.write(
        "dies_ordered.csv",
        "ordered_on;cost;die\n2026-04-01;99,5;D-1\n",
    );
    assert_eq!(owned(&project), (true, false));
    let input = project.load().input.unwrap();
    assert_eq!(input.dies_ordered[0].cost.to_string(), "99.50");
    assert!(input.files.iter().any(|f| f.file == "dies_ordered.csv"));
    // A die whose row is spoilt is known, and named once.
    project.edit("../catalog/dies.csv", "120,no", "120,x");
    assert_eq!(project.found().len(), 1, "{:?}", project.found());
    // Without a table of dies none is known.
    project.remove("../catalog/dies.csv");
    project.edit("../catalog/ferrules.csv", "D-1", "");
    assert_eq!(
        project.found(),
        [
            "error at cart/dies_ordered.csv:2, column die: unknown die \"D-1\" \
             | correct the name, or give the die a row among the dies of the catalog"
        ]
    );
}

#[test]
fn exclusions_name_what_is_there() {
    each_finds(
        "project.toml",
        &[
            (
                "[\"S-9\"]",
                "[\"S-8\"]",
                "error at cart/project.toml:11, key exclude_parts: unknown part \"S-8\" | did you mean \"S-1\"?",
            ),
            (
                "[\"S-9\"]",
                "[\n\"S-9\",\n\"seal\"]",
                "error at cart/project.toml:13, key exclude_parts: unknown part \"seal\" | correct it, or take it out of the list",
            ),
            (
                "exclude_suppliers = []",
                "exclude_suppliers = [\"nord\"]",
                "error at cart/project.toml:12, key exclude_suppliers: unknown supplier \"nord\" | did you mean \"Nord\"?",
            ),
        ],
    );
}

#[test]
fn rates_that_are_missing() {
    each_finds(
        "project.toml",
        &[(
            "USD = 0.92",
            "CHF = 1.05",
            "error at cart/project.toml, key rates.USD: there is no rate for USD \
             | add what one USD is in EUR: USD = 1.23 under [rates] \
             | note: \"West\" bills in USD (catalog/suppliers.csv:3)",
        )],
    );
    // A supplier that offers nothing needs no rate.
    let project = Project::new();
    project.edit("project.toml", "USD = 0.92", "");
    project.edit("../catalog/prices.csv", "R-1,West,,USD", "R-1,Nord,,");
    project.edit("../catalog/prices.csv", "S-9,West", "S-9,Nord");
    assert_eq!(
        project.found(),
        ["warning at catalog/suppliers.csv:3, column supplier: \
          no price names supplier \"West\" | add its prices, or take the row out"]
    );
}

/// The solver takes no factor of 10¹⁵.
#[test]
fn what_costs_too_much_at_once() {
    let project = Project::new();
    project.edit(
        "../catalog/prices.csv",
        "USD,1,25,1,0",
        "USD,1,1000000,1000000,0",
    );
    project.edit("project.toml", "USD = 0.92", "USD = 1");
    assert_eq!(project.found(), [""; 0]);
    project.edit("project.toml", "USD = 1", "USD = 1.1");
    assert_eq!(
        project.found(),
        [
            "error at catalog/prices.csv:5, column unit_price: a pack of 1000000 at \
             1000000.00 comes to more than 1000000000000 \
             | correct the price or the pack, or the rate of the currency"
        ]
    );
    let project = Project::new();
    let shipping = spoilt_shipping(&project, "1000000000", "1000");
    assert_eq!(shipping, [""; 0]);
    let shipping = spoilt_shipping(&Project::new(), "1000000000", "1000.1");
    assert_eq!(
        shipping,
        [
            "error at catalog/suppliers.csv:3, column shipping: 1000000000.00 for shipping \
             comes to more than 1000000000000 | correct it, or the rate of the currency"
        ]
    );
}

/// What is found with this for shipping from West, at this rate.
fn spoilt_shipping(project: &Project, shipping: &str, rate: &str) -> Vec<String> {
    project.edit(
        "../catalog/suppliers.csv",
        "USD,20,",
        &format!("USD,{shipping},"),
    );
    project.edit("project.toml", "USD = 0.92", &format!("USD = {rate}"));
    project.found()
}

#[test]
fn dies() {
    assert_eq!(
        spoilt("../catalog/ferrules.csv", "D-1", "D-2"),
        [
            "error at catalog/ferrules.csv:2, column die: unknown die \"D-2\" \
             | did you mean \"D-1\"?",
            "warning at catalog/dies.csv:2, column die: no ferrule names die \"D-1\" \
             | name it in the column die of ferrules.csv, or take the row out"
        ]
    );
    assert_eq!(
        spoilt("../catalog/ferrules.csv", "D-1", "press")[0],
        "error at catalog/ferrules.csv:2, column die: unknown die \"press\" \
         | give it a row in catalog/dies.csv"
    );
    let project = Project::new();
    project.remove("../catalog/dies.csv");
    assert_eq!(
        project.found(),
        ["warning at catalog/ferrules.csv:2, column die: \
          ferrules name dies, but there is no dies.csv: dies cost nothing \
          | write dies.csv with die,description,cost,owned"]
    );
    project.edit("../catalog/ferrules.csv", "D-1", "");
    assert_eq!(project.found(), NOTHING);
}

#[test]
fn unknown_codes_are_told_once() {
    let project = Project::new();
    let rows = "X-1,Elsewhere,,,,1,,,7,\nX-1,Elsewhere,,,2,1,,,7,\nX-1,Elsewhere,,,3,1,,,7,\n";
    project.edit("../catalog/prices.csv", "P-2,", &format!("{rows}P-2,"));
    assert_eq!(project.found().len(), 2);
}

#[test]
fn a_bad_row_causes_no_second_message() {
    let cases = [
        ("../catalog/bodies.csv", "plug,M10", "?,M10"),
        ("../catalog/ferrules.csv", "50,70", "50,x"),
        ("../catalog/suppliers.csv", "20,,,3.5", "x,,,3.5"),
        ("../catalog/dies.csv", "120", "x"),
        ("../catalog/seals.csv", "10,14,", "10,14"),
        ("circuits.csv", "200,350,70 mm2", "x,350,70 mm2"),
    ];
    for (file, old, new) in cases {
        let found = spoilt(file, old, new);
        assert_eq!(found.len(), 1, "{file}: {found:#?}");
    }
}

#[test]
fn a_bad_circuit_takes_no_net_and_no_mate_away() {
    let project = Project::new();
    project.edit(
        "project.toml",
        "ignore_at = [\"bench\"]",
        "ignore_at = [\"bench\"]\n[keying.keys]\n\"HV+\" = [\"A\"]",
    );
    // A plug for which only a device has the receptacle.
    project.edit(
        "../catalog/bodies.csv",
        "R-1,",
        "P-3,,plug,IN,z,1,350,1000,,,crimp,straight,B10,R10,IP67,orange,,,,,\nR-1,",
    );
    project.edit("../catalog/prices.csv", "R-1,", "P-3,Nord,,,1,9,,,7,\nR-1,");
    let with = "orange\nin,HV+,single,pack,dock,100,350,70 mm2,16.5,none,built-in,,,,orange";
    project.edit("circuits.csv", "IP67,orange", &format!("IP67,{with}"));
    project.edit(
        "circuits.csv",
        "from_exit,",
        "to_interface,to_key,from_exit,",
    );
    let text = "none,built-in,,,,orange";
    project.edit("circuits.csv", text, "none,built-in,IN,z,,,,orange");
    project.edit(
        "circuits.csv",
        "busbar,none,straight",
        "busbar,none,,,straight",
    );
    project.edit("circuits.csv", "none,busbar,,right", "none,busbar,,,,right");
    assert_eq!(project.found(), NOTHING);
    // Without that circuit the plug has no mate, and the other takes the net with it.
    project.edit("circuits.csv", "dock,100,", "dock,x,");
    project.edit("circuits.csv", "inverter,200,", "inverter,y,");
    let found = project.found();
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(
        found.iter().all(|one| one.starts_with("error")),
        "{found:#?}"
    );
}
