//! Hostile text in every text field of the files, through every command: it
//! comes out unharmed, and nothing that reads the documents can run it.

use assert_cmd::Command;
use couplet::catalog::read::TABLES;
use std::fs;
use std::path::Path;
use std::process::Output;

/// Each of the names below gets one of these before it.
const TEXTS: [&str; 7] = [
    "<script>alert(1)</script>",
    "=cmd|'/c calc'!A1",
    "+1+1\"'>&amp;]]>",
    "-1 {{ 7 * 7 }} ${x} %s",
    "@SUM(A1) \\ / : * ? [ ]",
    "\u{202e}desrever\u{2066} אבג e\u{301}\u{327}",
    "🔌⚡👩\u{200d}🔧 --help ../../x",
];

/// Suppliers, parts, a die, circuits, places and nets of the project that
/// `couplet new` writes.
const NAMES: [&str; 22] = [
    "Example North",
    "Example South",
    "HEX-50",
    "P10-A",
    "P10-B",
    "R10-A-BUS",
    "F10-50",
    "S10-14",
    "C10",
    "P4-2",
    "N-1026",
    "S-2019",
    "traction",
    "heater",
    "pack",
    "inverter",
    "charger",
    "motor",
    "HV+",
    "plug, key A",
    "straight back shell",
    "Small boat",
];

fn run(folder: &Path, args: &[&str]) -> Output {
    let mut program = Command::cargo_bin("couplet").unwrap();
    program.current_dir(folder).args(args).output().unwrap()
}

fn hostile(place: usize, name: &str) -> String {
    format!("{}{name}", TEXTS[place % TEXTS.len()])
}

/// A CSV field or a text of TOML with the hostile text in place of the name.
fn spoil(field: &str) -> String {
    match NAMES.iter().position(|name| *name == field) {
        // Nets stand in a list with spaces between.
        Some(place) if field == "HV+" => hostile(place, field).replace(' ', "_"),
        Some(place) => hostile(place, field),
        None => {
            let nets = field.split(' ').map(|net| match net {
                "HV+" => spoil(net),
                net => net.to_owned(),
            });
            nets.collect::<Vec<_>>().join(" ")
        }
    }
}

fn spoil_table(path: &Path) {
    let text = fs::read_to_string(path).unwrap();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut writer = csv::Writer::from_path(path).unwrap();
    for (number, row) in reader.records().enumerate() {
        let row = row.unwrap();
        if number == 0 {
            writer.write_record(&row).unwrap();
            continue;
        }
        let fields = row
            .iter()
            .map(|field| couplet::table::guarded(&spoil(field)));
        writer.write_record(fields).unwrap();
    }
}

/// The small project, planned.
fn project() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    assert!(run(root, &["new", "boat"]).status.success());
    for name in TABLES {
        spoil_table(&root.join(format!("boat/catalog/{name}.csv")));
    }
    for name in ["circuits", "on_hand"] {
        spoil_table(&root.join(format!("boat/{name}.csv")));
    }
    let settings = root.join("boat/project.toml");
    let text = fs::read_to_string(&settings).unwrap();
    assert!(text.contains("\"Small boat\""));
    let name = serde_json::to_string(&spoil("Small boat")).unwrap();
    fs::write(&settings, text.replace("\"Small boat\"", &name)).unwrap();
    let output = run(root, &["plan", "boat"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{said}");
    folder
}

fn no_formula(args: &[&str], csv: &str) {
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    for cell in reader
        .records()
        .flat_map(|row| row.unwrap().iter().map(str::to_owned).collect::<Vec<_>>())
    {
        let runs = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
        assert!(!runs || cell.parse::<f64>().is_ok(), "{args:?}: {cell}");
    }
}

/// What a document holds, as its reader sees it.
fn shown(text: &str) -> String {
    let signs = [
        ("&#60;", "<"),
        ("&#62;", ">"),
        ("&#34;", "\""),
        ("&#39;", "'"),
        ("&#38;", "&"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&apos;", "'"),
        ("&amp;", "&"),
    ];
    let plain = signs.iter().fold(text.to_owned(), |text, (code, sign)| {
        text.replace(code, sign)
    });
    plain
        .replace("\"\"", "\"")
        .replace("\\\"", "\"")
        .replace("\\\\", "\\")
}

/// A folder whose name is hostile too.
const OTHER: &str = "=cmd {{ 7 }} <b>\u{202e}&amp;";

/// The project without its last circuit, planned in a folder of its own.
fn without_last_circuit(root: &Path) {
    let other = root.join(OTHER);
    fs::create_dir_all(other.join("catalog")).unwrap();
    for folder in ["", "catalog"] {
        for entry in fs::read_dir(root.join("boat").join(folder)).unwrap() {
            let from = entry.unwrap().path();
            if from.is_file() {
                let name = from.file_name().unwrap();
                fs::copy(&from, other.join(folder).join(name)).unwrap();
            }
        }
    }
    let circuits = other.join("circuits.csv");
    let text = fs::read_to_string(&circuits).unwrap();
    let (kept, _) = text.trim_end().rsplit_once('\n').unwrap();
    fs::write(&circuits, format!("{kept}\n")).unwrap();
    let output = run(root, &["plan", OTHER]);
    assert!(output.status.success(), "{output:?}");
    assert!(other.join("plan.before.json").is_file());
}

#[test]
fn every_command_shows_it_and_none_is_misled() {
    let folder = project();
    let root = folder.path();
    // A value that begins with a hyphen is given after an equals sign.
    let (circuit, part) = (spoil("traction"), format!("--part={}", spoil("P10-A")));
    let why = ["why", "boat", circuit.as_str(), "--end", "from"];
    without_last_circuit(root);
    let commands: [(&[&str], &[&str]); 16] = [
        (&["plan", "boat", "--again"], &["table", "csv", "json"]),
        (&["order", "boat"], &["table", "csv", "json"]),
        (&["parts", "boat"], &["table", "csv", "json"]),
        (&["keys", "boat"], &["table", "csv", "json"]),
        (&["kit", "boat"], &["table", "csv", "json", "html"]),
        (&["labels", "boat"], &["csv", "html"]),
        (
            &["consolidate", "boat", "--by", "suppliers"],
            &["table", "csv", "json"],
        ),
        (&["budget", "boat"], &["table", "csv", "json"]),
        (&["breakeven", "boat", &part], &["table", "csv", "json"]),
        (
            &["reprice", "boat", "--keep", "lines", "--check"],
            &["table", "json"],
        ),
        (
            &[
                "prices",
                "boat/catalog/prices.csv",
                "boat/catalog/prices.csv",
                "--plan",
                "boat",
            ],
            &["table", "csv"],
        ),
        (
            &["compare", "boat", OTHER],
            &["table", "csv", "json", "html"],
        ),
        (&why, &[""]),
        (&["cards", "boat", "--out", "-"], &[""]),
        (&["report", "boat", "--out", "-"], &[""]),
        (
            &[
                "order",
                "boat",
                "--place",
                "--dry-run",
                "--on",
                "2026-01-02",
            ],
            &[""],
        ),
    ];
    for (command, formats) in commands {
        for format in formats {
            let mut args = command.to_vec();
            if !format.is_empty() {
                args.extend(["--format", format]);
            }
            let output = run(root, &args);
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(0), "{args:?}: {said}");
            let text = String::from_utf8(output.stdout).unwrap();
            let is_page = *format == "html" || text.starts_with("<!");
            if *format == "csv" {
                no_formula(&args, &text);
            }
            if is_page {
                assert!(!text.contains("<script>alert"), "{args:?}");
            } else {
                assert!(
                    !text.chars().any(|c| c.is_control() && c != '\n'),
                    "{args:?}"
                );
            }
            // A table may wrap a name; the other forms hold it in one piece.
            if is_page || ["csv", "json"].contains(format) && command[0] != "prices" {
                let whole = shown(&text);
                let names = NAMES.iter().filter(|name| whole.contains(&spoil(name)));
                assert!(
                    names.count() > 0,
                    "{args:?} has lost every name:\n{whole:.600}"
                );
            }
        }
    }
}

/// What comes after an order: the order is placed, confirmed with other figures and an article
/// that was not ordered, and delivered by a note in a supplier's form.
#[test]
fn what_a_supplier_sends_is_shown_as_text() {
    let folder = project();
    let root = folder.path();
    let ours = String::from_utf8(run(root, &["order", "boat", "--format", "csv"]).stdout).unwrap();
    fs::write(root.join("ours.csv"), ours.replace(",4.20,", ",4.30,")).unwrap();
    let place = ["order", "boat", "--place", "--on", "2026-01-02"];
    assert!(run(root, &place).status.success());
    let supplier = format!("--supplier={}", spoil("Example North"));
    let mut note = csv::Writer::from_path(root.join("note.csv")).unwrap();
    note.write_record(["Item no.", "Description", "Qty delivered"])
        .unwrap();
    note.write_record([&spoil("N-1026"), "=1+1\u{1b}[31m", "2"])
        .unwrap();
    for text in TEXTS {
        note.write_record([text, text, "5"]).unwrap();
    }
    drop(note);
    let note = [
        "receive",
        "boat",
        "--note",
        "note.csv",
        &supplier,
        "--on=2026-01-09",
    ];
    for (args, code) in [
        (&["order", "boat", "--outstanding"][..], 0),
        (&["order", "boat", "--confirm", "ours.csv"], 6),
        // The first run writes the recipe.
        (&note, 0),
        (&note, 0),
    ] {
        let formats = if args[0] == "order" {
            &["table", "csv", "json"][..]
        } else {
            &[""]
        };
        for format in formats {
            let more = if format.is_empty() {
                vec![]
            } else {
                vec!["--format", format]
            };
            let args = [args, &more].concat();
            let output = run(root, &args);
            let said = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(code), "{args:?}: {said}");
            let text = String::from_utf8(output.stdout).unwrap();
            assert!(
                !text.chars().any(|c| c.is_control() && c != '\n'),
                "{args:?}"
            );
            if *format == "csv" {
                no_formula(&args, &text);
            }
            if ["csv", "json"].contains(format) {
                let whole = shown(&text);
                assert!(
                    whole.contains(&spoil("Example North")),
                    "{args:?}: {whole:.600}"
                );
            }
        }
    }
    // The recipe lies in its folder, whatever the supplier's name is.
    let lists: Vec<_> = fs::read_dir(root.join("boat/catalog/lists"))
        .unwrap()
        .collect();
    assert_eq!(lists.len(), 1);
    let name = lists[0]
        .as_ref()
        .unwrap()
        .file_name()
        .into_string()
        .unwrap();
    assert!(name.ends_with("Example-North.delivery.toml"), "{name}");
    let ordered = fs::read_to_string(root.join("boat/ordered.csv")).unwrap();
    assert!(ordered.contains(",2026-01-02,2,"), "{ordered}");
}

fn is_well_formed(name: &str, svg: &str) {
    let mut reader = quick_xml::Reader::from_str(svg);
    loop {
        match reader
            .read_event()
            .unwrap_or_else(|e| panic!("{name}: {e}"))
        {
            quick_xml::events::Event::Eof => break,
            quick_xml::events::Event::Start(tag) => {
                assert_ne!(tag.name().as_ref(), "script", "{name}");
            }
            _ => {}
        }
    }
}

/// Pictures are well-formed, and no text in them is a mark.
#[test]
fn pictures_hold_it_as_text() {
    let folder = project();
    let root = folder.path();
    for (command, name) in [
        ("budget", "b.svg"),
        ("breakeven", "e.svg"),
        ("consolidate", "c.svg"),
    ] {
        let output = run(root, &[command, "boat", "--svg", name]);
        assert!(output.status.success(), "{command}");
        let svg = fs::read_to_string(root.join(name)).unwrap();
        is_well_formed(name, &svg);
        assert!(
            command == "consolidate" || svg.contains("&lt;script&gt;alert"),
            "{name}"
        );
    }
}

/// A history that names hostile suppliers, skus and parts, one of them in no catalog.
fn history(root: &Path) {
    let mut writer = csv::Writer::from_path(root.join("boat/catalog/history.csv")).unwrap();
    let columns = [
        "quoted",
        "supplier",
        "sku",
        "part",
        "unit_price",
        "currency",
    ];
    writer.write_record(columns).unwrap();
    for (day, price) in [("2026-01-01", "1.5"), ("2026-02-01", "gone")] {
        for name in NAMES {
            let [supplier, sku, part] =
                [name, "S-2019", "C10"].map(|name| couplet::table::guarded(&spoil(name)));
            writer
                .write_record([day, &supplier, &sku, &part, price, "EUR"])
                .unwrap();
        }
    }
}

#[test]
fn prices_over_time_hold_it_as_text() {
    let folder = project();
    let root = folder.path();
    history(root);
    let part = format!("--part={}", spoil("C10"));
    let shown = |more: &[&str]| {
        let args = [&["prices", "boat", "--history", &part], more].concat();
        let output = run(root, &args);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.success(), "{args:?}: {said}");
        String::from_utf8(output.stdout).unwrap()
    };
    let text = shown(&["--svg", "h.svg"]);
    assert!(
        !text.contains(|c: char| c.is_control() && c != '\n'),
        "{text}"
    );
    no_formula(&["prices", "--history"], &shown(&["--format", "csv"]));
    let json: serde_json::Value = serde_json::from_str(&shown(&["--format", "json"])).unwrap();
    let suppliers = json
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["supplier"].as_str().unwrap());
    assert!(suppliers.count() >= NAMES.len() - 1);
    is_well_formed("h.svg", &fs::read_to_string(root.join("h.svg")).unwrap());
}

/// Files whose names come from suppliers stay in their folder; sheets have valid
/// names; tables go into a workbook and back.
#[test]
fn files_and_sheets_are_named_safely() {
    let folder = project();
    let root = folder.path();
    assert!(
        run(root, &["order", "boat", "--out-dir", "orders"])
            .status
            .success()
    );
    for entry in fs::read_dir(root.join("orders")).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(
            name.starts_with("order-") && name.ends_with(".csv"),
            "{name}"
        );
        no_formula(
            &["order"],
            &fs::read_to_string(root.join("orders").join(name)).unwrap(),
        );
    }
    assert!(
        run(root, &["order", "boat", "--xlsx", "o.xlsx"])
            .status
            .success()
    );
    let mut findings = couplet::diag::Findings::default();
    let book = couplet::book::read(
        &couplet::source::Files::on_disk(),
        &root.join("o.xlsx"),
        &mut findings,
    )
    .unwrap();
    assert_eq!(book.sheets.len(), 4);
    let cells: Vec<String> = (book.sheets.iter())
        .flat_map(|sheet| sheet.rows.iter())
        .flat_map(|row| row.cells.iter().map(str::to_owned).collect::<Vec<_>>())
        .collect();
    for name in [
        "Example North",
        "P10-A",
        "traction",
        "pack",
        "HV+",
        "Small boat",
        "S-2019",
    ] {
        assert!(
            cells
                .iter()
                .any(|cell| cell.contains(&*couplet::table::one_spelling(&spoil(name)))),
            "{name}"
        );
    }
    for args in [
        ["convert", "boat/catalog", "c.xlsx"],
        ["convert", "c.xlsx", "c"],
    ] {
        assert!(run(root, &args).status.success(), "{args:?}");
    }
    for name in ["bodies.csv", "prices.csv", "suppliers.csv", "dies.csv"] {
        let read = |from: &str| fs::read_to_string(root.join(from).join(name)).unwrap();
        assert_eq!(read("boat/catalog"), read("c"), "{name}");
    }
}
