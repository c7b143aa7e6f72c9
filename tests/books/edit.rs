//! Cells of a workbook written in place: what is read is what was meant, and all
//! else is as it was, byte for byte.

use crate::needs;
use crate::office::shown;
use couplet::book::edit::{EditedSheet, Note, SheetEditError};
use couplet::book::{self, Book};
use couplet::diag::Findings;
use couplet::tables::{EditFileError, EditedFile};
use fastrand::Rng;
use rust_xlsxwriter::{
    Chart, ChartType, ConditionalFormatCell, ConditionalFormatCellRule, DataValidation,
    ExcelDateTime, Format, Formula, Note as Comment, Table, TableColumn, Workbook, Worksheet,
    XlsxError,
};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{Cursor, Read, Write};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

const NUMBERS: &[&str] = &["qty", "price"];
const COLUMNS: [&str; 5] = ["part", "qty", "price", "day", "note"];

/// Rows of a sheet by number.
type Rows = BTreeMap<u64, Vec<String>>;

fn read(bytes: &[u8]) -> Book {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("b.xlsx");
    fs::write(&path, bytes).unwrap();
    let mut findings = Findings::default();
    let book = book::read(&couplet::source::Files::on_disk(), &path, &mut findings);
    book.unwrap_or_else(|| panic!("{findings:?}"))
}

fn rows(book: &Book, sheet: &str) -> Rows {
    let rows = book.sheet(sheet).unwrap().rows.iter();
    let cells = |row: &couplet::source::SheetRow| row.cells.iter().map(str::to_owned).collect();
    rows.map(|row| (row.number, cells(row))).collect()
}

/// All parts of a workbook in their order: name, packed bytes, unpacked bytes.
fn parts(bytes: &[u8]) -> Vec<(String, Vec<u8>, Vec<u8>)> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut parts = Vec::new();
    for place in 0..archive.len() {
        let (mut packed, mut plain) = (Vec::new(), Vec::new());
        let mut entry = archive.by_index_raw(place).unwrap();
        entry.read_to_end(&mut packed).unwrap();
        let name = entry.name().unwrap().into_owned();
        drop(entry);
        let mut entry = archive.by_index(place).unwrap();
        entry.read_to_end(&mut plain).unwrap();
        parts.push((name, packed, plain));
    }
    parts
}

/// The names of the parts that differ.
fn changed(before: &[u8], after: &[u8]) -> Vec<String> {
    let (before, after) = (parts(before), parts(after));
    let names = |parts: &[(String, Vec<u8>, Vec<u8>)]| -> Vec<String> {
        parts.iter().map(|part| part.0.clone()).collect()
    };
    assert_eq!(names(&before), names(&after));
    let pairs = before.iter().zip(&after);
    let differ = pairs.filter(|(a, b)| (&a.1, &a.2) != (&b.1, &b.2));
    differ.map(|(a, _)| a.0.clone()).collect()
}

fn part(bytes: &[u8], name: &str) -> String {
    let part = parts(bytes).into_iter().find(|part| part.0 == name);
    String::from_utf8(part.unwrap().2).unwrap()
}

/// The XML of each cell by its place, without that place.
fn cells(xml: &str) -> BTreeMap<(u64, String), String> {
    let mut cells = BTreeMap::new();
    for piece in xml.split("<c r=\"").skip(1) {
        let (place, rest) = piece.split_once('"').unwrap();
        let tag = rest.find('>').unwrap();
        let end = match rest[..tag].ends_with('/') {
            true => tag,
            false => rest.find("</c>").unwrap(),
        };
        let digits = place.find(|c: char| c.is_ascii_digit()).unwrap();
        let (column, row) = place.split_at(digits);
        let place = (row.parse().unwrap(), column.to_owned());
        assert!(cells.insert(place, rest[..end].to_owned()).is_none());
    }
    cells
}

/// A workbook with the sheet `stock` and what an edit must not touch beside it.
struct Made {
    bytes: Vec<u8>,
    /// The part of the sheet.
    part: &'static str,
    /// The columns that it has.
    columns: Vec<&'static str>,
}

fn text(rng: &mut Rng) -> String {
    let signs: Vec<char> = "aZ09 ,;\"'=+-@#<>&/\\äß🔌_x".chars().collect();
    let text: String = (0..rng.usize(1..9))
        .map(|_| signs[rng.usize(..signs.len())])
        .collect();
    let special = ["_x0041_", "a\nb", "a\tb", "]]>", "&amp;", "\u{1}", "=1+1"];
    match rng.u8(..6) {
        0 => special[rng.usize(..special.len())].to_owned(),
        _ => text.trim().to_owned(),
    }
}

fn number(rng: &mut Rng) -> String {
    match rng.u8(..3) {
        0 => rng.u32(..100_000).to_string(),
        1 => format!("{}.{}", rng.u32(..1000), rng.u32(1..1000)),
        _ => format!("{}.50", rng.u32(..10)),
    }
}

fn write_row(
    sheet: &mut Worksheet,
    row: u32,
    columns: &[&str],
    rng: &mut Rng,
) -> Result<(), XlsxError> {
    let formats = ["0.00", "0%", "#,##0.0", "0", "General", "@"];
    let format = Format::new().set_num_format(formats[rng.usize(..formats.len())]);
    for (place, column) in (0..).zip(columns) {
        match (*column, rng.u8(..8)) {
            (_, 0) => sheet.write_blank(row, place, &format)?,
            (_, 1) if *column != "part" => continue,
            ("part", _) => sheet.write_string(row, place, format!("P-{}", text(rng)))?,
            ("qty" | "price", 2) => sheet.write_string(row, place, number(rng))?,
            ("qty" | "price", 3) => sheet.write_number(row, place, rng.u32(..99))?,
            ("qty" | "price", _) => {
                let value: f64 = number(rng).parse().unwrap();
                sheet.write_number_with_format(row, place, value, &format)?
            }
            ("day", _) => {
                let day = ExcelDateTime::from_ymd(2026, 1 + rng.u8(..12), 1 + rng.u8(..28))?;
                let format = Format::new().set_num_format("yyyy-mm-dd");
                sheet.write_datetime_with_format(row, place, &day, &format)?
            }
            _ => sheet.write_string(row, place, text(rng))?,
        };
    }
    Ok(())
}

fn made(rng: &mut Rng) -> Result<Made, XlsxError> {
    let mut book = Workbook::new();
    let mut columns: Vec<&str> = COLUMNS[..rng.usize(3..6)].to_vec();
    rng.shuffle(&mut columns);
    let first = rng.bool();
    if first {
        other(&mut book, rng)?;
    }
    let sheet = book.add_worksheet().set_name("stock")?;
    let mut row = 0;
    if rng.bool() {
        sheet.write_string(row, 0, "# what is in stock")?;
        row += 1 + u32::from(rng.bool());
    }
    let bold = Format::new().set_bold();
    for (place, column) in (0..).zip(&columns) {
        sheet.write_string_with_format(row, place, *column, &bold)?;
    }
    sheet.set_freeze_panes(row + 1, 0)?;
    sheet.set_repeat_rows(row, row)?;
    for _ in 0..rng.usize(1..12) {
        row += 1 + u32::from(rng.u8(..5) == 0);
        match rng.u8(..9) {
            0 => drop(sheet.write_string(row, 0, "# more")?),
            _ => write_row(sheet, row, &columns, rng)?,
        }
    }
    let width = columns.len() as u16;
    if rng.bool() {
        let rule = ConditionalFormatCellRule::GreaterThan(5);
        let rule = ConditionalFormatCell::new()
            .set_rule(rule)
            .set_format(&bold);
        sheet.add_conditional_format(1, 0, row + 3, width, &rule)?;
    }
    if rng.bool() {
        let list = DataValidation::new().allow_list_strings(&["a", "b"])?;
        sheet.add_data_validation(1, 1, row + 30, 1, &list)?;
    }
    if rng.bool() {
        sheet.merge_range(row + 40, 0, row + 41, 1, "", &bold)?;
    }
    if rng.bool() {
        sheet.write_blank(row + 1, 0, &bold)?;
        sheet.set_row_height(row + 2, 30)?;
    }
    if !first {
        other(&mut book, rng)?;
    }
    Ok(Made {
        bytes: book.save_to_buffer()?,
        part: match first {
            true => "xl/worksheets/sheet2.xml",
            false => "xl/worksheets/sheet1.xml",
        },
        columns,
    })
}

/// A sheet with a chart, a comment and a table of its own.
fn other(book: &mut Workbook, rng: &mut Rng) -> Result<(), XlsxError> {
    let sheet = book.add_worksheet().set_name("other")?;
    for row in 0..5 {
        sheet.write_number(row, 0, rng.u32(..100))?;
        sheet.write_string(row, 1, text(rng))?;
    }
    let mut chart = Chart::new(ChartType::Column);
    chart.add_series().set_values("other!$A$1:$A$5");
    sheet.insert_chart(8, 0, &chart)?;
    sheet.insert_note(0, 0, &Comment::new("see there"))?;
    Ok(())
}

/// A value for a column, as an edit may give it.
fn value(rng: &mut Rng, column: &str) -> String {
    match column {
        _ if rng.u8(..8) == 0 => String::new(),
        "qty" | "price" if rng.u8(..8) > 0 => number(rng),
        "day" => format!("2027-0{}-11", rng.u8(1..10)),
        _ => text(rng),
    }
}

/// True if a cell reads as the value.
fn reads(column: &str, read: &str, value: &str) -> bool {
    let number = |text: &str| text.replacen(',', ".", 1).parse::<f64>().ok();
    let is_number = NUMBERS.contains(&column) && number(read).is_some();
    read == value || (is_number && number(read) == number(value))
}

#[test]
fn random_edits_of_random_workbooks() {
    let (mut edits, mut removed_rows) = (0, 0);
    for seed in 0..250 {
        let mut rng = Rng::with_seed(seed);
        let made = made(&mut rng).unwrap();
        let before = read(&made.bytes);
        let old = rows(&before, "stock");
        let mut sheet = EditedSheet::open(&made.bytes, "stock", NUMBERS).unwrap();
        let header = old.iter().find(|(_, row)| !row[0].starts_with('#'));
        let header = *header.unwrap().0;
        let table: Vec<u64> = old
            .iter()
            .filter(|(n, row)| **n > header && !row[0].starts_with('#'))
            .map(|(n, _)| *n)
            .collect();
        assert_eq!(sheet.rows(), table.len());
        let mut columns = made.columns.clone();
        let mut wanted = old.clone();
        let mut removed = BTreeSet::new();
        let mut touched = BTreeSet::new();
        let last = *old.keys().next_back().unwrap();
        let mut next = last + 1;
        for _ in 0..rng.usize(1..8) {
            let row = table.get(rng.usize(..table.len().max(1))).copied();
            match (rng.u8(..6), row) {
                (0..=2, Some(row)) => {
                    let place = rng.usize(..columns.len());
                    let value = value(&mut rng, columns[place]);
                    let result = sheet.set(row, columns[place], &value);
                    let is_comment = place == 0 && value.starts_with('#');
                    match result {
                        Err(SheetEditError::NoRow { .. }) => assert!(removed.contains(&row)),
                        Err(SheetEditError::Value { .. }) => assert!(is_comment),
                        other => {
                            other.unwrap();
                            assert!(!is_comment && !removed.contains(&row));
                            let cells = wanted.get_mut(&row).unwrap();
                            cells.resize(cells.len().max(place + 1), String::new());
                            cells[place] = value;
                            touched.insert((row, place));
                        }
                    }
                }
                (3, _) => {
                    let values: Vec<String> = columns
                        .iter()
                        .map(|column| value(&mut rng, column))
                        .collect();
                    let row: Vec<(&str, &str)> = columns
                        .iter()
                        .copied()
                        .zip(values.iter().map(String::as_str))
                        .collect();
                    if values[0].starts_with('#') {
                        assert!(sheet.add(&row).is_err());
                        continue;
                    }
                    sheet.add(&row).unwrap();
                    if values.iter().any(|value| !value.is_empty()) {
                        touched.extend((0..values.len()).map(|place| (next, place)));
                        wanted.insert(next, values);
                        next += 1;
                    }
                }
                (4, _) if !columns.contains(&"extra") => {
                    columns.push("extra");
                    assert_eq!(sheet.ensure("extra").unwrap(), columns.len() - 1);
                    wanted.get_mut(&header).unwrap().push("extra".to_owned());
                    touched.insert((header, columns.len() - 1));
                }
                (5, Some(row)) => match sheet.remove(row) {
                    Err(SheetEditError::NoRow { .. }) => assert!(removed.contains(&row)),
                    result => {
                        result.unwrap();
                        removed.insert(row);
                        wanted.remove(&row);
                    }
                },
                _ => {}
            }
            edits += 1;
        }
        removed_rows += removed.len();
        let edited = sheet.finish().unwrap();
        assert_eq!(edited.notes, BTreeSet::new(), "seed {seed}");
        let after = read(&edited.bytes);
        let shift = |row: u64| row - removed.range(..row).count() as u64;
        wanted.retain(|_, cells| cells.iter().any(|cell| !cell.is_empty()));
        let wanted: Rows = wanted
            .into_iter()
            .map(|(n, cells)| (shift(n), cells))
            .collect();
        let now = rows(&after, "stock");
        assert!(
            now.keys().eq(wanted.keys()),
            "seed {seed}: {now:?}\n{wanted:?}"
        );
        for (n, cells) in &wanted {
            for place in 0..cells.len().max(now[n].len()) {
                let of = |row: &[String]| row.get(place).cloned().unwrap_or_default();
                let column = columns.get(place).copied().unwrap_or("");
                let (read, wanted) = (of(&now[n]), of(cells));
                assert!(
                    reads(column, &read, &wanted),
                    "seed {seed}, row {n}: {read:?} {wanted:?}"
                );
            }
        }
        assert_eq!(rows(&before, "other"), rows(&after, "other"));

        let differ = changed(&made.bytes, &edited.bytes);
        assert!(
            differ.iter().all(|name| name == made.part),
            "seed {seed}: {differ:?}"
        );
        let (xml_before, xml_after) =
            (part(&made.bytes, made.part), part(&edited.bytes, made.part));
        let (old_cells, new_cells) = (cells(&xml_before), cells(&xml_after));
        for ((row, column), cell) in &old_cells {
            let place = column
                .bytes()
                .fold(0, |sum, b| sum * 26 + usize::from(b - b'A') + 1)
                - 1;
            if !removed.contains(row) && !touched.contains(&(*row, place)) {
                let now = new_cells.get(&(shift(*row), column.clone()));
                assert_eq!(now, Some(cell), "seed {seed}, {column}{row}");
            }
        }
        if removed.is_empty() {
            // Nothing but cells changed: without them both are the same text.
            let tail = |xml: &str| xml.split("</sheetData>").nth(1).unwrap().to_owned();
            assert_eq!(tail(&xml_before), tail(&xml_after), "seed {seed}");
        }
    }
    assert!(edits > 700 && removed_rows > 60, "{edits} {removed_rows}");
}

/// A workbook whose sheet `t` has the columns `part`, `qty` and these changes.
fn book(change: impl Fn(&mut Workbook) -> Result<(), XlsxError>) -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("t").unwrap();
    for (row, [part, qty]) in (0..).zip([["part", "qty"], ["A", ""], ["B", ""], ["C", ""]]) {
        sheet.write_string(row, 0, part).unwrap();
        if qty.is_empty() {
            sheet.write_number(row, 1, row).unwrap();
        } else {
            sheet.write_string(row, 1, qty).unwrap();
        }
    }
    change(&mut book).unwrap();
    book.save_to_buffer().unwrap()
}

fn open(bytes: &[u8]) -> EditedSheet {
    EditedSheet::open(bytes, "T", NUMBERS).unwrap()
}

#[test]
fn a_formula_gives_way_and_the_others_are_worked_out_anew() {
    let bytes = book(|book| {
        let sheet = book.worksheet_from_name("t")?;
        sheet.write_formula(1, 1, Formula::new("1+1").set_result("2"))?;
        sheet.write_formula(2, 2, Formula::new("B2*2").set_result("4"))?;
        Ok(())
    });
    // The program that wrote it leaves these out, spreadsheets do not.
    let bytes = with_chain(&bytes);
    let mut sheet = open(&bytes);
    sheet.set(2, "qty", "7").unwrap();
    let edited = sheet.finish().unwrap();
    let notes: Vec<String> = edited.notes.iter().map(ToString::to_string).collect();
    assert_eq!(
        notes,
        [
            "the formula in cell B2 gave way to its new value",
            "formulas in the workbook are worked out anew when an office program opens it",
        ]
    );
    let names: Vec<String> = parts(&edited.bytes).into_iter().map(|p| p.0).collect();
    assert!(!names.iter().any(|name| name.contains("calcChain")));
    assert!(!part(&edited.bytes, "[Content_Types].xml").contains("calcChain"));
    assert!(!part(&edited.bytes, "xl/_rels/workbook.xml.rels").contains("calcChain"));
    assert!(part(&edited.bytes, "xl/workbook.xml").contains("fullCalcOnLoad=\"1\""));
    assert_eq!(rows(&read(&edited.bytes), "t")[&2], ["A", "7"]);
    // A value that the formula gives already leaves it as it is.
    let mut sheet = open(&bytes);
    sheet.set(2, "qty", "2").unwrap();
    assert_eq!(sheet.finish().unwrap().bytes, bytes);
}

/// The workbook with an order of calculation, which is not asked for when opened.
fn with_chain(bytes: &[u8]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let mut put = |name: &str, text: &[u8]| {
        zip.start_file(name, SimpleFileOptions::default()).unwrap();
        zip.write_all(text).unwrap();
    };
    for (name, _, plain) in parts(bytes) {
        let text = String::from_utf8(plain).unwrap();
        let text = match name.as_str() {
            "[Content_Types].xml" => text.replace(
                "</Types>",
                "<Override PartName=\"/xl/calcChain.xml\" ContentType=\"x\"/></Types>",
            ),
            "xl/_rels/workbook.xml.rels" => text.replace(
                "</Relationships>",
                "<Relationship Id=\"rId99\" Type=\"http://x/calcChain\" Target=\"calcChain.xml\"/>\
                 </Relationships>",
            ),
            "xl/workbook.xml" => text.replace(" fullCalcOnLoad=\"1\"", ""),
            _ => text,
        };
        put(&name, text.as_bytes());
    }
    put(
        "xl/calcChain.xml",
        b"<calcChain><c r=\"B2\" i=\"1\"/></calcChain>",
    );
    zip.finish().unwrap().into_inner()
}

fn pinned(change: impl Fn(&mut Workbook) -> Result<(), XlsxError>) -> String {
    let bytes = book(change);
    let mut sheet = open(&bytes);
    let error = sheet.remove(3).unwrap_err();
    assert!(
        matches!(error, SheetEditError::Pinned { row: 3, .. }),
        "{error}"
    );
    // Nothing was done, and other edits go on.
    sheet.set(3, "part", "B2").unwrap();
    assert_eq!(rows(&read(&sheet.finish().unwrap().bytes), "t").len(), 4);
    error.to_string()
}

#[test]
fn a_row_that_something_points_at_is_not_taken_out() {
    let said = pinned(|book| {
        let sheet = book.worksheet_from_name("t")?;
        sheet.write_formula(1, 2, Formula::new("B4*2")).map(drop)
    });
    assert_eq!(
        said,
        "row 3 cannot be taken out: the formula in cell C2 would point at the wrong rows"
    );
    let said = pinned(|book| {
        let sheet = book.add_worksheet();
        sheet.write_formula(0, 0, Formula::new("t!B4")).map(drop)
    });
    assert!(
        said.contains("the part xl/worksheets/sheet2.xml of the workbook"),
        "{said}"
    );
    let said = pinned(|book| book.define_name("all", "=t!$A$2:$A$4").map(drop));
    assert!(said.contains("the name all of the workbook"), "{said}");
    let said = pinned(|book| {
        let sheet = book.worksheet_from_name("t")?;
        let note = Comment::new("hm");
        sheet.insert_note(3, 0, &note).map(drop)
    });
    assert!(
        said.contains("a part of the sheet (comments)") || said.contains("Drawing"),
        "{said}"
    );
    let said = pinned(|book| {
        let sheet = book.worksheet_from_name("t")?;
        let columns = [TableColumn::new().set_header("x")];
        sheet
            .add_table(0, 4, 3, 4, &Table::new().set_columns(&columns))
            .map(drop)
    });
    assert!(said.contains("a part of the sheet (table)"), "{said}");
    let said = pinned(|book| {
        let sheet = book.worksheet_from_name("t")?;
        let format = Format::new();
        sheet.merge_range(2, 3, 2, 4, "", &format).map(drop)
    });
    assert!(
        said.contains("the element mergeCell of the sheet"),
        "{said}"
    );
    let said = pinned(|book| {
        let mut chart = Chart::new(ChartType::Line);
        chart.add_series().set_values("t!$B$2:$B$4");
        book.add_worksheet().insert_chart(0, 0, &chart).map(drop)
    });
    assert!(said.contains("xl/charts/chart1.xml"), "{said}");
}

#[test]
fn what_points_above_or_at_nothing_holds_no_row() {
    let bytes = book(|book| {
        book.define_name("head", "=t!$A$1:$B$1")?;
        let sheet = book.worksheet_from_name("t")?;
        sheet.set_print_area(0, 0, 0, 1)?;
        sheet.merge_range(9, 0, 10, 1, "", &Format::new())?;
        sheet.set_selection(2, 0, 2, 1)?;
        sheet
            .write_formula(1, 2, Formula::new("LOG10(100)").set_result("2"))
            .map(drop)
    });
    let mut sheet = open(&bytes);
    sheet.remove(3).unwrap();
    sheet.remove(4).unwrap();
    assert_eq!(sheet.rows(), 1);
    let edited = sheet.finish().unwrap();
    let xml = part(&edited.bytes, "xl/worksheets/sheet1.xml");
    assert!(xml.contains("<mergeCell ref=\"A8:B9\"/>"), "{xml}");
    assert!(xml.contains("<dimension ref=\"A1:C9\"/>"), "{xml}");
    let left = rows(&read(&edited.bytes), "t");
    assert_eq!(left.keys().copied().collect::<Vec<_>>(), [1, 2]);
}

#[test]
fn cells_that_cannot_be_written() {
    let bytes = book(|book| {
        let sheet = book.worksheet_from_name("t")?;
        sheet.write_array_formula(1, 1, 2, 1, Formula::new("A2:A3"))?;
        sheet.merge_range(4, 0, 5, 1, "", &Format::new())?;
        sheet.write_string(2, 2, "beside").map(drop)
    });
    let mut sheet = open(&bytes);
    for row in [2, 3] {
        let error = sheet.set(row, "qty", "9").unwrap_err();
        assert!(matches!(error, SheetEditError::Formula { .. }), "{error}");
    }
    let error = sheet.ensure("new").unwrap_err();
    assert_eq!(
        error.to_string(),
        "cell C3 is not empty, so that no column new can be added there"
    );
    let error = sheet.add(&[("part", "D"), ("qty", "1")]).unwrap_err();
    assert_eq!(
        error.to_string(),
        "cell B5 is covered by the merged cells A5:B6"
    );
    for (row, column, value) in [(1, "qty", "1"), (9, "qty", "1")] {
        let error = sheet.set(row, column, value).unwrap_err();
        assert!(matches!(error, SheetEditError::NoRow { .. }), "{error}");
    }
    let error = sheet.set(4, "colour", "red").unwrap_err();
    assert_eq!(error.to_string(), "there is no column colour");
    for value in [" A", "A ", "#A"] {
        let error = sheet.set(4, "part", value).unwrap_err();
        assert!(matches!(error, SheetEditError::Value { .. }), "{error}");
    }
    assert_eq!(sheet.finish().unwrap().bytes, bytes);
}

#[test]
fn a_table_range_is_told_of() {
    let bytes = book(|book| {
        let sheet = book.worksheet_from_name("t")?;
        let names = ["part", "qty"].map(|name| TableColumn::new().set_header(name));
        sheet
            .add_table(0, 0, 3, 1, &Table::new().set_columns(&names))
            .map(drop)
    });
    let mut sheet = open(&bytes);
    sheet.set(3, "qty", "5").unwrap();
    assert!(sheet.finish().unwrap().notes.is_empty());
    sheet.add(&[("part", "D")]).unwrap();
    assert_eq!(sheet.finish().unwrap().notes, BTreeSet::from([Note::Range]));
}

#[test]
fn only_workbooks_that_can_be_changed_are_opened() {
    let open = |file: &str, bytes: &[u8]| EditedFile::open(file, bytes, "t", NUMBERS);
    let bytes = book(|_| Ok(()));
    let mut file = open("b.XLSX", &bytes).unwrap();
    file.set(2, "qty", "8").unwrap();
    file.add(&[("part", "D"), ("due", "2026-01-01")]).unwrap();
    file.remove(3).unwrap();
    assert_eq!((file.rows(), file.ensure("due").unwrap()), (3, 2));
    let after = rows(&read(&file.finish().unwrap().bytes), "t");
    let row = |cells: &[&str]| cells.iter().map(|c| (*c).to_owned()).collect::<Vec<_>>();
    let wanted = [
        row(&["part", "qty", "due"]),
        row(&["A", "8"]),
        row(&["C", "3"]),
        row(&["D", "", "2026-01-01"]),
    ];
    assert!(after.values().eq(&wanted), "{after:?}");

    let error = open("b.ods", &bytes).unwrap_err();
    assert!(matches!(error, EditFileError::OnlyRead));
    assert!(error.to_string().contains("couplet convert"), "{error}");
    let refused = |bytes: &[u8]| open("b.xlsx", bytes).unwrap_err().to_string();
    assert!(refused(b"part,qty").contains("the file is no workbook"));
    let signed = with_part(&bytes, "_xmlsignatures/sig1.xml", b"<s/>");
    assert_eq!(refused(&signed), "the workbook is signed");
    let error = EditedFile::open("b.xlsx", &bytes, "u", NUMBERS).unwrap_err();
    assert_eq!(error.to_string(), "there is no sheet u");
}

fn with_part(bytes: &[u8], name: &str, text: &[u8]) -> Vec<u8> {
    let mut zip = ZipWriter::new_append(Cursor::new(bytes.to_owned())).unwrap();
    zip.start_file(name, SimpleFileOptions::default()).unwrap();
    zip.write_all(text).unwrap();
    zip.finish().unwrap().into_inner()
}

/// Bytes of a sheet changed at random: refused, or edited as meant, never a panic.
#[test]
fn damaged_sheets_are_refused_or_edited_as_meant() {
    let mut opened = 0;
    let bytes = book(|_| Ok(()));
    let name = "xl/worksheets/sheet1.xml";
    let xml = part(&bytes, name);
    for seed in 0..400 {
        let mut rng = Rng::with_seed(seed);
        let mut chars: Vec<char> = xml.chars().collect();
        for _ in 0..rng.usize(1..4) {
            let at = rng.usize(..chars.len());
            match rng.u8(..3) {
                0 => drop(chars.remove(at)),
                1 => chars.insert(at, ['<', '>', '"', '/', '1', 'r', '\u{e4}'][rng.usize(..7)]),
                _ => chars[at] = chars[rng.usize(..chars.len())],
            }
        }
        let text: String = chars.into_iter().collect();
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        for (part, _, plain) in parts(&bytes) {
            zip.start_file(&*part, SimpleFileOptions::default())
                .unwrap();
            let plain = if part == name {
                text.clone().into_bytes()
            } else {
                plain
            };
            zip.write_all(&plain).unwrap();
        }
        let damaged = zip.finish().unwrap().into_inner();
        let Ok(mut sheet) = EditedSheet::open(&damaged, "t", NUMBERS) else {
            continue;
        };
        opened += 1;
        let set = sheet.set(3, "qty", "17").is_ok();
        let added = sheet.add(&[("part", "new")]).is_ok();
        let removed = sheet.remove(2).is_ok();
        let Ok(edited) = sheet.finish() else { continue };
        let after = rows(&read(&edited.bytes), "t");
        let has = |cell: &str| after.values().flatten().any(|c| c == cell);
        assert!(!set || has("17"), "seed {seed}: {after:?}");
        assert!(!added || has("new"), "seed {seed}: {after:?}");
        let before = rows(&read(&damaged), "t").len();
        let grown = before + usize::from(added) - usize::from(removed);
        assert_eq!(after.len(), grown, "seed {seed}: {after:?}");
    }
    assert!(opened > 40, "{opened}");
}

#[test]
fn an_office_program_reads_the_same() {
    if !needs::soffice() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut wanted = BTreeMap::new();
    for seed in 0..8 {
        let mut rng = Rng::with_seed(1000 + seed);
        let made = made(&mut rng).unwrap();
        let mut sheet = EditedSheet::open(&made.bytes, "stock", NUMBERS).unwrap();
        sheet
            .add(&[("part", "<new> & 'it'"), ("qty", "12"), ("extra", "äß")])
            .unwrap();
        let edited = sheet.finish().unwrap();
        fs::write(folder.path().join(format!("b{seed}.xlsx")), &edited.bytes).unwrap();
        let rows = rows(&read(&edited.bytes), "stock");
        wanted.insert(format!("b{seed}-stock"), rows);
    }
    let shown = shown(folder.path());
    for (name, rows) in wanted {
        let has = |row: &Vec<String>, text: &str| row.iter().any(|cell| cell == text);
        let row = shown[&name].iter().find(|row| has(row, "<new> & 'it'"));
        assert!(has(row.unwrap(), "äß"), "{name}");
        let last = *rows.keys().next_back().unwrap() as usize;
        assert_eq!(shown[&name].len(), last, "{name}");
    }
}
