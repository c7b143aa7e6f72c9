//! Whatever stands in a text field goes through every document unharmed and
//! harmless.

use crate::any_plan::{any_plan, generated};
use crate::documents::{csv, pages};
use couplet::catalog::Spec;
use couplet::input::Input;

/// Long, and told from any other text.
fn long() -> String {
    "longtext ".repeat(1112)[..10_000].to_owned()
}

/// Texts that some reader of a document could take for something else.
pub fn texts() -> Vec<String> {
    let mut texts = [
        "<script>alert(1)</script>",
        "</style></title><img src=x onerror=alert(1)>",
        "\"'><svg onload=alert(1)>&amp;&lt;",
        "=HYPERLINK(\"http://example.invalid\",\"x\")",
        "+1+1",
        "-1+cmd",
        "@SUM(A1)",
        "javascript:alert(1)",
        "{{ 7 * 7 }} {% if %} ${x}",
        "\u{202e}desrever\u{2066} אבג",
        "🔌⚡👩\u{200d}🔧",
        "e\u{301}\u{327}\u{301}",
    ]
    .map(str::to_owned)
    .to_vec();
    texts.push(long());
    texts
}

/// A project with this text before every name, code and description.
pub fn spoiled(text: &str) -> Input {
    let (mut input, _) = generated(8, 3);
    let spoil = |field: &mut String| *field = format!("{text}{field}");
    let catalog = &mut input.catalog;
    for part in &mut catalog.parts {
        spoil(&mut part.code);
        spoil(&mut part.description);
        match &mut part.spec {
            Spec::Body(body) => {
                let fields = [&mut body.interface, &mut body.key];
                fields.into_iter().for_each(spoil);
                if !body.is_crimped() {
                    spoil(&mut body.attach);
                }
                let options = [&mut body.barrel, &mut body.rear, &mut body.colour];
                options.into_iter().flatten().for_each(spoil);
            }
            Spec::Ferrule(ferrule) => {
                spoil(&mut ferrule.barrel);
                ferrule.die_name.iter_mut().for_each(spoil);
            }
            Spec::Seal(seal) => spoil(&mut seal.rear),
            Spec::BackShell(shell) => {
                spoil(&mut shell.rear);
                shell.colour.iter_mut().for_each(spoil);
            }
        }
    }
    catalog
        .suppliers
        .iter_mut()
        .for_each(|s| spoil(&mut s.name));
    for die in &mut catalog.dies {
        spoil(&mut die.name);
        spoil(&mut die.description);
        die.owned = false;
    }
    for offer in &mut catalog.offers {
        spoil(&mut offer.sku);
    }
    spoil(&mut input.settings.name);
    for circuit in &mut input.circuits {
        spoil(&mut circuit.name);
        circuit.conductors.iter_mut().for_each(spoil);
        circuit.colour.iter_mut().for_each(spoil);
        for end in [&mut circuit.from, &mut circuit.to] {
            spoil(&mut end.location);
            end.attach
                .iter_mut()
                .filter(|a| *a != "crimp")
                .for_each(spoil);
        }
    }
    input.files.iter_mut().for_each(|f| spoil(&mut f.file));
    input
}

/// As a browser reads it.
fn unescaped(page: &str) -> String {
    [
        ("&#60;", "<"),
        ("&#62;", ">"),
        ("&#34;", "\""),
        ("&#39;", "'"),
        ("&#38;", "&"),
    ]
    .iter()
    .fold(page.to_owned(), |text, (code, sign)| {
        text.replace(code, sign)
    })
}

/// The page without the program's own style and script.
fn content(page: &str) -> String {
    let cut = |text: &str, from: &str, to: &str| {
        let (before, rest) = text.split_once(from).expect(from);
        let (_, after) = rest.split_once(to).expect(to);
        format!("{before}{after}")
    };
    let page = cut(page, "<style>", "</style>");
    let (before, after) = page.rsplit_once("<script>").expect("a script");
    let (_, after) = after.split_once("</script>").expect("its end");
    format!("{before}{after}")
}

#[test]
fn every_page_holds_the_text_as_text() {
    for text in texts() {
        let input = spoiled(&text);
        let plan = any_plan(&input);
        for (name, page) in pages(&input, &plan) {
            let content = content(&page);
            for bad in [
                "<script",
                "<img",
                "onload=alert(1)>",
                "onerror=alert(1)>",
                "<svg onload",
            ] {
                assert!(!content.contains(bad), "{name}: {bad} of {text}");
            }
            let shown = unescaped(&content);
            for field in [&input.settings.name, &input.circuits[0].name] {
                // The page of kits names projects and circuits, and so do all others.
                assert!(
                    shown.contains(field.as_str()),
                    "{name} has lost {field:.40}"
                );
            }
            if name == "report" || name == "kit" || name == "cards" {
                let code = &plan.ends[0].plug;
                let id = input.catalog.find(code).expect("a part");
                let words = &input.catalog.part(id).description;
                assert!(
                    shown.contains(code.as_str()) && shown.contains(words.as_str()),
                    "{name}"
                );
            }
        }
    }
}

#[test]
fn no_csv_cell_begins_as_a_formula() {
    for text in texts() {
        let input = spoiled(&text);
        let plan = any_plan(&input);
        for (name, csv) in csv(&input, &plan) {
            let mut reader = csv::Reader::from_reader(csv.as_bytes());
            let mut found = false;
            for row in reader.records() {
                for cell in &row.expect("a row") {
                    let first = cell.chars().next();
                    let is_number = cell.parse::<f64>().is_ok();
                    let runs = matches!(first, Some('=' | '+' | '-' | '@' | '\t' | '\r'));
                    assert!(
                        !runs || (is_number && !cell.starts_with('+')),
                        "{name}: {cell:.40}"
                    );
                    found |= cell.trim_start_matches('\'').starts_with(&text);
                }
            }
            assert!(found, "{name} has lost {text:.40}");
        }
    }
}

#[test]
fn a_text_is_cut_in_the_drawing_alone() {
    let input = spoiled(&long());
    let plan = any_plan(&input);
    let cables = couplet::study::cables::cables(&input, &plan).expect("cables");
    let drawing = couplet::report::drawing::drawing(&cables);
    for place in &drawing.boxes {
        assert!(place.name.len() > 10_000 && place.shown.chars().count() <= 26);
        assert!(place.shown.ends_with('…'));
    }
    assert!(drawing.width < 4_000.0);
}

/// Sheets have names that a spreadsheet takes, and no cell is a formula.
#[test]
fn the_order_workbook_holds_the_text_as_text() {
    let mut texts = texts();
    texts.extend([
        "\t=1\r\u{1b}[31m_x0041_".to_owned(),
        "[]:*?/\\ History".to_owned(),
        "'quoted'".to_owned(),
        "x".repeat(40_000),
    ]);
    for text in texts {
        let input = spoiled(&text);
        let plan = any_plan(&input);
        let bytes = couplet::report::workbook::orders(&plan, &input.catalog).expect("a workbook");
        for sheet in xml(&bytes) {
            assert!(
                !sheet.contains("<f>") && !sheet.contains("<f "),
                "{text:.40}"
            );
        }
        let book = read(&bytes);
        let names: Vec<&str> = book.sheets.iter().map(|s| s.name.as_str()).collect();
        assert_eq!(names.len(), plan.orders.len() + 2);
        for name in &names {
            assert!(name.encode_utf16().count() <= 31, "{name}");
            assert!(
                !name.contains(['[', ']', ':', '*', '?', '/', '\\', '\'']),
                "{name}"
            );
        }
        let mut distinct: Vec<String> = names.iter().map(|name| name.to_lowercase()).collect();
        distinct.sort();
        distinct.dedup();
        assert_eq!(distinct.len(), names.len());
        let cells: Vec<&str> = (book.sheets.iter().flat_map(|sheet| sheet.rows.iter()))
            .flat_map(|row| row.cells.iter())
            .collect();
        for field in [
            &plan.ends[0].circuit,
            &plan.ends[0].plug,
            &plan.orders[0].supplier,
        ] {
            // A longer text is cut at the end of a cell, and says so.
            let units = field.encode_utf16().count();
            let holds = |cell: &&&str| match units <= 32_000 {
                true => cell.contains(field.as_str()),
                false => cell.ends_with('…') && cell.contains(&text[..30_000]),
            };
            assert!(cells.iter().any(|cell| holds(&cell)), "lost {field:.60}");
        }
    }
}

/// The sheets of a workbook as they stand in it.
fn xml(bytes: &[u8]) -> Vec<String> {
    let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).expect("an archive");
    let names: Vec<String> = archive
        .file_names()
        .map(|name| name.expect("a name").into_owned())
        .collect();
    let sheets = names
        .iter()
        .filter(|name| name.starts_with("xl/worksheets/sheet"));
    sheets
        .map(|name| std::io::read_to_string(archive.by_name(name).expect(name)).expect("text"))
        .collect()
}

fn read(bytes: &[u8]) -> couplet::book::Book {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("o.xlsx");
    std::fs::write(&path, bytes).expect("written");
    let mut findings = couplet::diag::Findings::default();
    let book = couplet::book::read(&couplet::source::Files::on_disk(), &path, &mut findings);
    assert!(!findings.has_errors());
    book.expect("a workbook")
}
