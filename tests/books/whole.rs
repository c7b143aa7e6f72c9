//! Whole catalogs and projects as a workbook and back. What is in the workbook an
//! office program says too: a mistake that is made in writing and again in
//! reading would not show on the way back.

use crate::office::shown;
use crate::{cells, done, generate, needs};
use couplet::input::{Input, LoadOptions, load};
use fastrand::Rng;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Every table with every column, as `manual/files.md` lists them.
const TABLES: [(&str, &str); 11] = [
    (
        "bodies",
        "part,description,half,interface,key,poles,rated_a,rated_v,rated_c,max_c,attach,exit,\
         barrel,rear,ip,colour,includes,min_mm2,max_mm2,min_od_mm,max_od_mm,note,interlock",
    ),
    ("ratings", "part,min_mm2,max_mm2,rated_a,note"),
    ("attributes", "attribute,on,holds,if_empty,description,note"),
    ("ferrules", "part,description,barrel,min_mm2,max_mm2,die"),
    (
        "seals",
        "part,description,rear,min_od_mm,max_od_mm,ip,temp_c",
    ),
    (
        "backshells",
        "part,description,rear,exit,max_od_mm,colour,pieces",
    ),
    (
        "prices",
        "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted",
    ),
    (
        "suppliers",
        "supplier,currency,shipping,free_over,min_order,duty_percent",
    ),
    ("dies", "die,description,cost,owned"),
    (
        "circuits",
        "circuit,conductors,cable,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,\
         to_attach,from_exit,to_exit,from_interface,to_interface,from_key,to_key,branch,ip,colour,\
         note,to_interlock",
    ),
    ("on_hand", "part,qty"),
];

/// Whatever a field of any column may hold, and some things that it may not.
fn field(rng: &mut Rng) -> String {
    // No digits, which could make a decimal comma where there are decimal points:
    // no file may have both.
    let text = |rng: &mut Rng| {
        let signs: Vec<char> = "aZ ,;\"'=+-@#.<>&/\\äß🔌\u{202e}\u{301}".chars().collect();
        let text: String = (0..rng.usize(1..14))
            .map(|_| signs[rng.usize(..signs.len())])
            .collect();
        text.trim().to_owned()
    };
    match rng.u8(..12) {
        0 => String::new(),
        1 => rng.u32(..1_000_000).to_string(),
        2 => format!(
            "{}.{:0width$}",
            rng.u32(..5000),
            rng.u32(..100),
            width = rng.usize(2..7)
        ),
        3 => format!("00{}", rng.u32(..100)),
        4 => format!("-{}.5", rng.u32(1..60)),
        5 => format!(
            "20{:02}-{:02}-{:02}",
            rng.u8(..60),
            rng.u8(1..14),
            rng.u8(1..33)
        ),
        6 => ["70 mm2", "2/0 AWG", "6 AWG", "16 mm²"][rng.usize(..4)].to_owned(),
        7 => [
            "IP67/IP6K9K",
            "1e5",
            "TRUE",
            "#REF!",
            "_x0041_",
            "1/2",
            "2 %",
        ][rng.usize(..7)]
        .to_owned(),
        8 => ["plug", "crimp", "straight", "ferrule seal", "yes"][rng.usize(..5)].to_owned(),
        _ => text(rng),
    }
}

/// A table with its columns in any order, comments and empty lines between.
fn table(rng: &mut Rng, columns: &str) -> Vec<Vec<String>> {
    let mut names: Vec<String> = columns.split(',').map(str::to_owned).collect();
    rng.shuffle(&mut names);
    let width = names.len();
    let mut rows = vec![names];
    for _ in 0..rng.usize(..25) {
        let mut row: Vec<String> = (0..width).map(|_| field(rng)).collect();
        // A row needs something in it, and a first cell with # would be a comment.
        row[0] = format!("r{}{}", rng.u8(..9), row[0]);
        rows.push(row);
    }
    rows
}

fn text(rng: &mut Rng, rows: &[Vec<String>]) -> String {
    let mut text = String::new();
    for row in rows {
        let mut writer = csv::Writer::from_writer(Vec::new());
        let fields = row.iter().map(|field| couplet::table::guarded(field));
        writer.write_record(fields).unwrap();
        text += &String::from_utf8(writer.into_inner().unwrap()).unwrap();
        text += ["", "", "", "\n", "# a note, with \"signs\" = 1\n"][rng.usize(..5)];
    }
    text
}

/// The CSV files of a folder by name.
fn files(folder: &Path) -> BTreeMap<String, String> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    let csv = entries.filter(|e| e.file_name().to_string_lossy().ends_with(".csv"));
    csv.map(|entry| {
        let name = entry.file_name().to_string_lossy().into_owned();
        (name, fs::read_to_string(entry.path()).unwrap())
    })
    .collect()
}

/// Comments and empty lines by number, without those after the last row. No
/// field here goes over several lines.
fn others(text: &str) -> Vec<(usize, &str)> {
    let lines = text.trim_end().lines().enumerate();
    lines
        .filter(|(_, line)| line.is_empty() || line.starts_with('#'))
        .collect()
}

fn same_lines(before: &str, after: &str, place: &str) {
    for (number, (a, b)) in before.lines().zip(after.lines()).enumerate() {
        assert_eq!(a, b, "{place}, line {}", number + 1);
    }
    assert_eq!(before.len(), after.len(), "{place}");
}

/// Into a workbook and back; what was there and what came back.
fn there_and_back(root: &Path, from: &str) -> [BTreeMap<String, String>; 2] {
    let (book, back) = (format!("{from}.xlsx"), format!("{from}-back"));
    done(root, &["convert", from, &book]);
    done(root, &["convert", &book, &back]);
    [files(&root.join(from)), files(&root.join(back))]
}

/// The rows without comments and empty lines, and without empty fields at their ends.
fn bare(rows: Vec<Vec<String>>) -> Vec<Vec<String>> {
    let bare = |mut row: Vec<String>| {
        while row.last().is_some_and(String::is_empty) {
            row.pop();
        }
        row
    };
    let rows = rows.into_iter().map(bare);
    rows.filter(|row| row.first().is_some_and(|cell| !cell.starts_with('#')))
        .collect()
}

/// Files as this program writes them come back byte for byte.
#[test]
fn every_cell_of_every_table_comes_back() {
    let mut seen = 0;
    let books = tempfile::tempdir().unwrap();
    let mut expected: BTreeMap<String, Vec<Vec<String>>> = BTreeMap::new();
    for seed in 0..40 {
        let mut rng = Rng::with_seed(seed);
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("t")).unwrap();
        for (name, columns) in TABLES {
            let rows = table(&mut rng, columns);
            seen += rows.len();
            let path = folder.path().join("t").join(format!("{name}.csv"));
            fs::write(path, text(&mut rng, &rows)).unwrap();
            expected.insert(format!("t{seed}-{name}"), bare(rows));
        }
        let [before, after] = there_and_back(folder.path(), "t");
        let book = books.path().join(format!("t{seed}.xlsx"));
        fs::copy(folder.path().join("t.xlsx"), book).unwrap();
        assert_eq!(before.len(), TABLES.len());
        for (name, text) in &before {
            for (before, after) in cells(text).iter().zip(cells(&after[name])) {
                assert_eq!(before, &after, "seed {seed}, {name}");
            }
            assert_eq!(others(text), others(&after[name]), "seed {seed}, {name}");
        }
        let [once, twice] = there_and_back(folder.path(), "t-back");
        assert_eq!(once, twice, "seed {seed}");
    }
    assert!(seen > 2_000);
    if needs::soffice() {
        let shown = shown(books.path());
        assert_eq!(shown.len(), expected.len());
        for (sheet, rows) in shown {
            assert_eq!(bare(rows), expected[&sheet], "{sheet}");
        }
    }
}

/// What is lost is how the file was written: separator, decimal comma stays,
/// byte-order mark, line ends, quotes without need.
#[test]
fn another_way_of_writing_says_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    fs::create_dir(root.join("t")).unwrap();
    let csv = "\u{feff}part;\"description\";unit_price\r\n\"P\";\"a;b\";12,50\r\nQ;c;3\r\n";
    fs::write(root.join("t/prices.csv"), csv).unwrap();
    let [_, after] = there_and_back(root, "t");
    let expected = "part;description;unit_price\nP;\"a;b\";12,50\nQ;c;3\n";
    assert_eq!(after["prices.csv"], expected);
}

fn read(project: &Path) -> Input {
    let mut input = load(project, &LoadOptions::default())
        .input
        .expect("a project");
    // Names of files and their hashes are those of other files.
    input.files.clear();
    input.prices = Default::default();
    input
}

/// Rows say where they stand, which differs; all else is compared.
fn told(input: &Input) -> String {
    let text = format!("{input:#?}");
    let places = ["row: Row", "file:", "line:", "catalog: \""];
    let lines = text
        .lines()
        .filter(|line| !places.iter().any(|p| line.trim_start().starts_with(p)));
    lines.collect::<Vec<_>>().join("\n")
}

/// A project whose tables stand in workbooks is the same project.
#[test]
fn a_project_in_workbooks_is_the_same_project() {
    let books = tempfile::tempdir().unwrap();
    let mut expected: BTreeMap<String, Vec<Vec<String>>> = BTreeMap::new();
    for (seed, circuits) in [(1, 3), (2, 12), (3, 40)] {
        let folder = tempfile::tempdir().unwrap();
        let root = folder.path();
        generate::write_project(&root.join("p"), seed, circuits).unwrap();
        let from_files = read(&root.join("p"));
        let mut there_and_back = |from: &str, stem: &str| {
            let [before, after] = there_and_back(root, from);
            assert_eq!(before, after, "seed {seed}");
            let book = books.path().join(format!("{stem}{seed}.xlsx"));
            fs::copy(root.join(format!("{from}.xlsx")), book).unwrap();
            for (file, text) in &before {
                let sheet = file.trim_end_matches(".csv");
                expected.insert(format!("{stem}{seed}-{sheet}"), bare(cells(text)));
            }
            before
        };
        there_and_back("p/catalog", "catalog");
        let before = there_and_back("p", "project");

        fs::rename(root.join("p.xlsx"), root.join("p/project.xlsx")).unwrap();
        for name in before.keys() {
            fs::remove_file(root.join("p").join(name)).unwrap();
        }
        let settings = root.join("p/project.toml");
        let text = fs::read_to_string(&settings).unwrap();
        let changed = text.replace("\"catalog\"", "\"catalog.xlsx\"");
        assert_ne!(text, changed);
        fs::write(settings, changed).unwrap();
        let from_books = read(&root.join("p"));
        same_lines(
            &told(&from_files),
            &told(&from_books),
            &format!("seed {seed}"),
        );
        assert!(!from_books.circuits.is_empty() && !from_books.on_hand.is_empty());
    }
    if needs::soffice() {
        let shown = shown(books.path());
        assert_eq!(shown.len(), expected.len());
        for (sheet, rows) in shown {
            assert_eq!(bare(rows), expected[&sheet], "{sheet}");
        }
    }
}
