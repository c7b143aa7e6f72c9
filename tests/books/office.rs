//! An office program reads our workbooks, and we read its own.
//! `tests/office/install.sh` installs it.

use crate::needs;
use crate::user::with_book;
use crate::{cells, done};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Command;

/// All sheets, comma, UTF-8, values and not what is shown (LibreOffice help,
/// "Filter Options for CSV": the last number asks for every sheet).
const ALL_SHEETS: &str =
    "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1";

/// The same with what is shown in each cell: numbers and days as they are formatted.
const AS_SHOWN: &str =
    "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,true,false,false,-1";

fn convert(root: &Path, to: &str, files: &[&str]) {
    let home = format!(
        "-env:UserInstallation=file://{}",
        root.join("home").display()
    );
    let output = Command::new("soffice")
        .current_dir(root)
        .args([&home, "--headless", "--convert-to", to])
        .args(files)
        .output()
        .unwrap();
    assert!(output.status.success(), "{output:?}");
}

/// The rows that hold anything; numbers without zeros at their end.
fn values(csv: &str) -> Vec<Vec<String>> {
    let plain = |cell: &String| match cell.parse::<f64>() {
        Ok(number) if !cell.starts_with('0') || cell.starts_with("0.") => number.to_string(),
        _ => cell.clone(),
    };
    let rows = cells(csv).into_iter();
    let rows = rows.map(|row| row.iter().map(plain).collect::<Vec<_>>());
    rows.filter(|row| row.iter().any(|cell| !cell.is_empty()))
        .collect()
}

/// What the office program says of each sheet, by its name.
fn sheets(root: &Path, book: &str) -> BTreeMap<String, Vec<Vec<String>>> {
    convert(root, ALL_SHEETS, &[book]);
    let stem = format!("{}-", book.trim_end_matches(".xlsx"));
    let entries = fs::read_dir(root).unwrap().map(|entry| entry.unwrap());
    let named = entries.filter_map(|entry| {
        let name = entry.file_name().to_string_lossy().into_owned();
        let sheet = name.strip_prefix(&stem)?.strip_suffix(".csv")?.to_owned();
        Some((sheet, values(&fs::read_to_string(entry.path()).unwrap())))
    });
    named.collect()
}

/// What the office program shows in each sheet of all workbooks of a folder, row
/// by row, by `book-sheet`.
pub fn shown(root: &Path) -> BTreeMap<String, Vec<Vec<String>>> {
    let names = |ending: &str| -> Vec<String> {
        let entries = fs::read_dir(root).unwrap().map(|entry| entry.unwrap());
        let names = entries.map(|entry| entry.file_name().to_string_lossy().into_owned());
        names.filter(|name| name.ends_with(ending)).collect()
    };
    let books = names(".xlsx");
    let books: Vec<&str> = books.iter().map(String::as_str).collect();
    convert(root, AS_SHOWN, &books);
    let sheets = names(".csv").into_iter().map(|name| {
        let text = fs::read_to_string(root.join(&name)).unwrap();
        let reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(text.as_bytes());
        let rows = reader.into_records().map(|row| {
            let row = row.unwrap();
            row.iter().map(str::to_owned).collect()
        });
        (name.trim_end_matches(".csv").to_owned(), rows.collect())
    });
    sheets.collect()
}

#[test]
fn every_sheet_of_an_order_comes_back_with_equal_values() {
    if !needs::soffice() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    done(root, &["new", "boat"]);
    done(root, &["plan", "boat"]);
    done(root, &["order", "boat", "--xlsx", "o.xlsx"]);
    let read = sheets(root, "o.xlsx");
    done(root, &["convert", "o.xlsx", "own"]);
    assert_eq!(read.len(), 4, "{:?}", read.keys());
    for (name, rows) in &read {
        let own = fs::read_to_string(root.join("own").join(format!("{name}.csv"))).unwrap();
        assert_eq!(rows, &values(&own), "{name}");
    }
    // And they are the figures of the plan.
    let lines = values(&done(root, &["order", "boat", "--format", "csv"]));
    assert!(lines.len() > 20);
    for line in &lines[1..] {
        let [
            supplier,
            _,
            sku,
            part,
            kind,
            description,
            qty,
            packs,
            price,
            total,
        ] = &line[..]
        else {
            panic!("{line:?}");
        };
        let row = read[supplier].iter().find(|row| &row[0] == sku).unwrap();
        let expected = [sku, part, kind, description, qty, packs, price];
        assert_eq!(row[..7].iter().collect::<Vec<_>>(), expected);
        let apart = row[7].parse::<f64>().unwrap() - total.parse::<f64>().unwrap();
        assert!(apart.abs() < 0.01, "{row:?}");
    }
}

#[test]
fn a_table_comes_back_with_equal_values() {
    if !needs::soffice() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    fs::create_dir(root.join("t")).unwrap();
    let csv = "part,description,unit_price,quoted\nP-1,\"a, b\",12.25,2026-03-31\n\
               007,'=1+1,3,\n1e5,<script>,0.125,\nTRUE,'@SUM(A1),16,\n_x0041_,🔌,1,2026-12-31\n";
    fs::write(root.join("t/prices.csv"), csv).unwrap();
    done(root, &["convert", "t", "t.xlsx"]);
    assert_eq!(sheets(root, "t.xlsx")["prices"], values(csv));
}

/// Our workbook, saved by the office program in its own format, plans the same.
#[test]
fn its_own_format_is_read() {
    if !needs::soffice() {
        return;
    }
    let folder = with_book();
    let root = folder.path();
    let from_xlsx = done(root, &["plan", "boat"]);
    let boat = root.join("boat");
    convert(&boat, "ods", &["catalog.xlsx"]);
    done(root, &["convert", "boat/catalog.xlsx", "from-xlsx"]);
    done(root, &["convert", "boat/catalog.ods", "from-ods"]);
    for file in ["bodies.csv", "prices.csv", "suppliers.csv", "dies.csv"] {
        let read = |from: &str| fs::read_to_string(root.join(from).join(file)).unwrap();
        assert_eq!(
            values(&read("from-xlsx")),
            values(&read("from-ods")),
            "{file}"
        );
    }
    let settings = boat.join("project.toml");
    let text = fs::read_to_string(&settings).unwrap();
    fs::write(&settings, text.replace("catalog.xlsx", "catalog.ods")).unwrap();
    fs::remove_file(boat.join("catalog.xlsx")).unwrap();
    assert_eq!(done(root, &["plan", "boat", "--again"]), from_xlsx);
}

#[test]
fn without_an_office_program_it_is_told() {
    needs::is_told_and_fails_in_ci("office::its_own_format_is_read");
}
