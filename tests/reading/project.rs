//! What a project that is in order reads as.

use crate::support::Project;
use couplet::catalog::{Exit, Fitting, Half, Kind, PartId, Spec, SupplierId};
use couplet::input::{LoadOptions, load, load_catalog};
use couplet::project::{Cable, Distinct, Per};
use couplet::source::Files;
use couplet::units::{Gauge, Implied};

#[test]
fn a_sound_project_has_no_findings() {
    assert_eq!(Project::new().found(), Vec::<String>::new());
}

#[test]
fn settings_are_read() {
    let settings = Project::new().load().input.unwrap().settings;
    assert_eq!(settings.name, "Cart");
    assert_eq!(settings.currency.0, "EUR");
    assert_eq!(settings.catalog, "../catalog");
    assert_eq!(settings.prices, None);
    assert_eq!(settings.ambient.unwrap().to_string(), "40 °C");
    assert_eq!(settings.max_lead_days, Some(30));
    let line = |row: &Option<couplet::diag::Row>| {
        let row = row
            .as_ref()
            .filter(|row| row.file.ends_with("cart/project.toml"));
        row.map(|row| row.line)
    };
    let rows = &settings.rows;
    let lines = [&rows.max_lead_days, &rows.max_variants, &rows.max_suppliers].map(line);
    assert_eq!(lines, [Some(5), Some(9), Some(10)]);
    assert_eq!(line(&rows.distinct), Some(18));
    assert_eq!(line(&rows.exclude_parts.get("S-9").cloned()), Some(11));
    assert!(rows.exclude_suppliers.is_empty());
    assert_eq!(settings.protection, Implied::Strict);
    assert_eq!(settings.tax_percent.to_string(), "20 %");
    assert_eq!(settings.line_cost.to_string(), "1.50");
    assert_eq!(settings.max_variants, Some(40));
    assert_eq!(settings.max_suppliers, Some(4));
    assert!(settings.exclude_parts.contains("S-9"));
    assert_eq!(settings.rates.values().next().unwrap().to_string(), "0.92");
    assert_eq!(settings.keying.distinct, Distinct::ByLocation);
    assert!(settings.keying.ignore_at.contains("bench"));
    let ferrule = settings.spares[&Kind::Ferrule];
    assert_eq!((ferrule.per, ferrule.minimum), (Per::Gauge, 1));
    assert_eq!(ferrule.percent.to_string(), "10 %");
    let seal = settings.spares[&Kind::Seal];
    assert_eq!((seal.per, seal.minimum), (Per::Part, 0));
    let budget = settings.budget.unwrap();
    assert_eq!(budget.limit.to_string(), "2500.00");
    assert_eq!(budget.contingency_percent.to_string(), "10 %");
}

#[test]
fn settings_have_defaults() {
    let project = Project::new();
    project.write(
        "project.toml",
        "name = \"x\"\ncurrency = \"EUR\"\ncatalog = \"../catalog\"\n[rates]\nUSD = 1\n",
    );
    assert_eq!(project.found(), Vec::<String>::new());
    let settings = project.load().input.unwrap().settings;
    assert_eq!(settings.tax_percent.to_string(), "0 %");
    assert_eq!(settings.line_cost.to_string(), "0.00");
    assert_eq!(settings.keying.distinct, Distinct::ByLocation);
    assert_eq!(settings.protection, Implied::Strict);
    assert!(settings.budget.is_none() && settings.spares.is_empty());
}

#[test]
fn circuits_are_read() {
    let circuits = Project::new().load().input.unwrap().circuits;
    assert_eq!(circuits.len(), 2);
    let main = &circuits[0];
    assert_eq!(main.name, "main");
    assert_eq!(main.conductors, ["HV+", "HV-"]);
    assert_eq!(main.cable, Cable::Single);
    assert_eq!(main.from.location, "pack");
    assert_eq!(main.from.attach.as_deref(), Some("busbar"));
    assert_eq!(main.from.exit, Some(Exit::Straight));
    assert_eq!((main.to.attach.as_deref(), main.to.exit), (None, None));
    assert_eq!(main.current.to_string(), "200 A");
    assert_eq!(main.cable_od.to_string(), "16.5 mm");
    assert_eq!(main.ip.as_ref().unwrap().to_string(), "IP67");
    assert_eq!(main.row.line, 2);
    assert_eq!(circuits[1].cable, Cable::Multi);
    assert_eq!(circuits[1].gauge, Gauge::Awg(-1));
}

#[test]
fn an_end_can_be_pinned_to_a_key() {
    let project = Project::new();
    let circuits = project.load().input.unwrap().circuits;
    assert_eq!((&circuits[0].from.key, &circuits[0].to.key), (&None, &None));
    project.edit("circuits.csv", "ip,colour", "ip,colour,from_key,to_key");
    project.edit("circuits.csv", "IP67,orange", "IP67,orange,A,");
    project.edit(
        "circuits.csv",
        "right-angle,,orange",
        "right-angle,,orange,, B",
    );
    let circuits = project.load().input.unwrap().circuits;
    assert_eq!(circuits[0].from.key.as_deref(), Some("A"));
    assert_eq!(circuits[0].to.key, None);
    assert_eq!(circuits[1].to.key.as_deref(), Some("B"));
}

#[test]
fn keying_reaches_as_far_as_the_word_says() {
    let reach = |word: &str| {
        let project = Project::new();
        project.edit("project.toml", "by-location", word);
        project.load().input.unwrap().settings.keying.distinct
    };
    assert_eq!(reach("everywhere"), Distinct::Everywhere);
    assert_eq!(reach("by-location"), Distinct::ByLocation);
    assert_eq!(reach("off"), Distinct::Off);
}

#[test]
fn the_catalog_is_read_and_sorted() {
    let input = Project::new().load().input.unwrap();
    let catalog = &input.catalog;
    let codes: Vec<&str> = catalog.parts.iter().map(|p| p.code.as_str()).collect();
    assert_eq!(codes, ["F-70", "K-1", "P-1", "P-2", "R-1", "S-1", "S-9"]);
    let plug = catalog.parts[2].body().unwrap();
    assert_eq!(
        (plug.half, plug.poles, plug.key.as_str()),
        (Half::Plug, 1, "A")
    );
    assert_eq!(plug.exit, Some(Exit::Straight));
    assert_eq!(plug.max_c.unwrap().to_string(), "125 °C");
    let boxed = catalog.parts[3].body().unwrap();
    assert_eq!(
        boxed.includes,
        [Fitting::Ferrule, Fitting::Seal, Fitting::BackShell]
    );
    assert_eq!(boxed.max_mm2.unwrap().to_string(), "70 mm²");
    assert_eq!(boxed.poles, 1);
    let Spec::Ferrule(ferrule) = &catalog.parts[0].spec else {
        panic!()
    };
    assert_eq!(catalog.die(ferrule.die.unwrap()).cost.to_string(), "120.00");
    let Spec::BackShell(shell) = &catalog.parts[1].spec else {
        panic!()
    };
    assert_eq!((shell.pieces, shell.exit), (2, Some(Exit::Straight)));
    let Spec::Seal(seal) = &catalog.parts[6].spec else {
        panic!()
    };
    assert_eq!(
        (seal.min_od.to_string().as_str(), &seal.ip),
        ("10 mm", &None)
    );
    assert_eq!(catalog.suppliers[1].duty_percent.to_string(), "3.5 %");
    assert_eq!(
        catalog.suppliers[0].free_over.unwrap().to_string(),
        "200.00"
    );
    assert_eq!(catalog.suppliers[1].free_over, None);
}

#[test]
fn offers_are_read() {
    let catalog = Project::new().load().input.unwrap().catalog;
    assert_eq!(catalog.offers.len(), 7);
    let plug = catalog.offers_of(PartId(2)).next().unwrap().1;
    assert_eq!(plug.supplier, SupplierId(0));
    assert_eq!(plug.breaks.len(), 2);
    assert_eq!(plug.breaks[0].unit_price.to_string(), "30.125");
    assert_eq!(plug.break_at(9).unwrap().min_qty, 1);
    assert_eq!(plug.break_at(10).unwrap().min_qty, 10);
    assert_eq!(
        (plug.stock, plug.lead_days, plug.breaks[1].row.line),
        (Some(100), Some(7), 3)
    );
    let boxed = catalog.offers_of(PartId(3)).next().unwrap().1;
    assert_eq!((boxed.pack, boxed.stock), (1, None));
    let seal = catalog.offers_of(PartId(5)).next().unwrap().1;
    assert_eq!(
        (
            seal.breaks[0].min_qty,
            seal.breaks[0].unit_price.is_positive()
        ),
        (1, false)
    );
    let receptacle = catalog.offers_of(PartId(4)).next().unwrap().1;
    assert_eq!(receptacle.stock, Some(0));
}

#[test]
fn stock_on_hand_lists_what_there_is() {
    let on_hand = Project::new().load().input.unwrap().on_hand;
    assert_eq!(on_hand.into_iter().collect::<Vec<_>>(), [(PartId(0), 3)]);
}

#[test]
fn files_are_recorded_in_a_fixed_order() {
    let files = Project::new().load().input.unwrap().files;
    let names: Vec<&str> = files.iter().map(|f| f.file.as_str()).collect();
    assert_eq!(
        names,
        [
            "project.toml",
            "circuits.csv",
            "on_hand.csv",
            "../catalog/bodies.csv",
            "../catalog/ferrules.csv",
            "../catalog/seals.csv",
            "../catalog/backshells.csv",
            "../catalog/prices.csv",
            "../catalog/suppliers.csv",
            "../catalog/dies.csv",
        ]
    );
    assert!(files.iter().all(|f| f.sha256.len() == 64));
}

#[test]
fn a_hash_changes_with_its_file() {
    let project = Project::new();
    let before = project.load().input.unwrap().files;
    project.edit("circuits.csv", "200", "201");
    let after = project.load().input.unwrap().files;
    let changed: Vec<bool> = before.iter().zip(&after).map(|(a, b)| a != b).collect();
    assert_eq!(changed.iter().filter(|c| **c).count(), 1);
    assert!(changed[1]);
}

#[test]
fn as_of_is_the_newest_quote_or_what_the_user_says() {
    let project = Project::new();
    let as_of = project.load().input.unwrap().as_of.unwrap();
    assert_eq!(as_of.to_string(), "2026-03-31");
    let options = LoadOptions {
        as_of: Some("2026-05-01".parse().unwrap()),
        ..LoadOptions::default()
    };
    let said = project.load_with(&options).input.unwrap().as_of.unwrap();
    assert_eq!(said.to_string(), "2026-05-01");
    for quote in ["2026-03-31", "2026-03-31", "2026-03-01"] {
        project.edit("../catalog/prices.csv", quote, "");
    }
    assert_eq!(project.load().input.unwrap().as_of, None);
}

#[test]
fn another_price_list_takes_the_place() {
    let project = Project::new();
    let text = std::fs::read_to_string(project.folder().join("../catalog/prices.csv")).unwrap();
    project.write("spring.csv", text.replace("30.125", "31"));
    project.edit(
        "project.toml",
        "ambient_c",
        "prices = \"spring.csv\"\nambient_c",
    );
    let price = |loaded: &couplet::input::Input| {
        loaded.catalog.offers_of(PartId(2)).next().unwrap().1.breaks[0]
            .unit_price
            .to_string()
    };
    let input = project.load().input.unwrap();
    assert_eq!(
        (price(&input).as_str(), input.files[7].file.as_str()),
        ("31.00", "spring.csv")
    );
    let autumn = project.root().join("autumn.csv");
    std::fs::write(&autumn, text.replace("30.125", "32")).unwrap();
    let options = LoadOptions {
        prices: Some(autumn),
        ..LoadOptions::default()
    };
    let input = project.load_with(&options).input.unwrap();
    assert_eq!(
        (price(&input).as_str(), input.files[7].file.as_str()),
        ("32.00", "../autumn.csv")
    );
}

#[test]
fn a_project_can_be_named_by_its_settings_file() {
    let project = Project::new();
    let loaded = load(
        &project.folder().join("project.toml"),
        &LoadOptions::default(),
    );
    assert_eq!(loaded.input, project.load().input);
}

#[test]
fn a_catalog_reads_without_a_project() {
    let project = Project::new();
    let loaded = load_catalog(&Files::on_disk(), &project.root().join("catalog"), None);
    assert!(loaded.findings.is_empty());
    assert_eq!(loaded.catalog.unwrap().parts.len(), 7);
    let names: Vec<&str> = loaded.files.iter().map(|f| f.file.as_str()).collect();
    assert_eq!(
        (names.len(), names[0], names[6]),
        (7, "bodies.csv", "dies.csv")
    );
}

#[test]
fn no_catalog_folder_is_an_error() {
    let project = Project::new();
    let loaded = load_catalog(&Files::on_disk(), &project.root().join("nothing"), None);
    assert!(loaded.catalog.is_none());
    let words: Vec<String> = loaded.findings.iter().map(|d| project.words(d)).collect();
    assert_eq!(
        words,
        ["error at nothing: there is no catalog folder nothing \
          | correct the path to the folder that has bodies.csv"]
    );
}

#[test]
fn optional_files_may_be_absent_and_lists_empty() {
    let project = Project::new();
    project.remove("on_hand.csv");
    let circuits = std::fs::read_to_string(project.folder().join("circuits.csv")).unwrap();
    project.write("circuits.csv", circuits.lines().next().unwrap());
    project.edit("project.toml", "ignore_at = [\"bench\"]", "");
    assert_eq!(project.found(), Vec::<String>::new());
    let input = project.load().input.unwrap();
    assert!(input.circuits.is_empty() && input.on_hand.is_empty());
}

#[test]
fn a_circuit_may_lead_from_a_place_to_itself() {
    let project = Project::new();
    project.edit("circuits.csv", "pack,inverter", "pack,pack");
    assert_eq!(project.found(), Vec::<String>::new());
}
