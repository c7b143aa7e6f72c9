use super::*;
use std::io::{Cursor, Write};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// An OpenDocument spreadsheet of one sheet with these rows (OpenDocument 1.3,
/// part 3, 9.1).
fn ods(rows: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content \
         xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
         xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" \
         xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\">\
         <office:body><office:spreadsheet><table:table table:name=\"bodies\">{rows}\
         </table:table></office:spreadsheet></office:body></office:document-content>"
    );
    archive(&[
        (
            "mimetype",
            b"application/vnd.oasis.opendocument.spreadsheet",
        ),
        (
            "META-INF/manifest.xml",
            b"<manifest:manifest xmlns:manifest=\"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0\"/>",
        ),
        ("content.xml", content.as_bytes()),
    ])
}

fn cell(text: &str) -> String {
    format!(
        "<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>"
    )
}

fn row(repeated: u64, cells: &str) -> String {
    format!("<table:table-row table:number-rows-repeated=\"{repeated}\">{cells}</table:table-row>")
}

fn limit(bytes: &[u8]) -> SheetLimit {
    match sheets("a.ods", bytes) {
        Err(BookError::Sheet { limit, .. }) => limit,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_million_empty_rows_are_nothing_and_what_stands_below_them_is_refused() {
    let empty = row(1_000_000, "<table:table-cell/>");
    let head = row(1, &cell("part"));
    let read = sheets("a.ods", &ods(&format!("{head}{empty}"))).unwrap();
    assert_eq!(read[0].rows.len(), 1);
    let below = row(1, &cell("P"));
    assert_eq!(
        limit(&ods(&format!("{head}{empty}{below}"))),
        SheetLimit::Rows(1_000_002)
    );
}

#[test]
fn repeated_rows_are_counted_to_the_limit() {
    let rows = |count| ods(&row(count, &cell("P")));
    let read = sheets("a.ods", &rows(MAX_ROWS)).unwrap();
    assert_eq!(read[0].rows.len() as u64, MAX_ROWS);
    assert!(matches!(limit(&rows(MAX_ROWS + 1)), SheetLimit::Rows(_)));
}

#[test]
fn an_archive_that_unpacks_to_too_much_is_refused() {
    let zeros = vec![0; MAX_UNPACKED as usize + 1];
    let bomb = archive(&[("xl/worksheets/sheet1.xml", &zeros)]);
    assert!(bomb.len() < 1 << 20, "{}", bomb.len());
    for name in ["a.xlsx", "a.ods"] {
        let error = sheets(name, &bomb).unwrap_err();
        assert!(matches!(error, BookError::Unpacked), "{error}");
        let help = error.diagnostic(&name.into()).help;
        assert_eq!(help.as_deref(), Some("leave out what no circuit needs"));
    }
    let fits = archive(&[("x", &zeros[1..])]);
    let error = sheets("a.xlsx", &fits).unwrap_err();
    assert!(matches!(error, BookError::NotABook(_)), "{error}");
}

#[test]
fn what_is_no_workbook_says_so() {
    for bytes in [&b""[..], b"part,qty\n", b"PK\x03\x04broken"] {
        let error = sheets("a.xlsx", bytes).unwrap_err();
        assert!(matches!(error, BookError::NotABook(_)), "{error}");
    }
    let error = sheets("a.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1rest").unwrap_err();
    assert!(matches!(error, BookError::Password), "{error}");
}

/// Such a file once kept the reader in a loop for ever.
#[test]
fn a_table_that_is_never_closed_is_no_workbook() {
    let whole = "<table:table table:name=\"a\"><table:table-row><table:table-cell/></table:table-row></table:table>";
    for broken in [
        "<table:table table:name=\"a\"><table:table-row></table:table>",
        "<table:table table:name=\"a\"></table:tabel>",
    ] {
        let error = sheets("a.ods", &archive(&[("content.xml", broken.as_bytes())])).unwrap_err();
        assert!(matches!(error, BookError::NotABook(_)), "{error}");
    }
    for end in 0..whole.len() {
        let cut = &whole[..end];
        let archive = archive(&[
            (
                "mimetype",
                b"application/vnd.oasis.opendocument.spreadsheet",
            ),
            ("META-INF/manifest.xml", b"<manifest/>"),
            ("content.xml", cut.as_bytes()),
        ]);
        if let Err(error) = sheets("a.ods", &archive) {
            assert!(matches!(error, BookError::NotABook(_)), "{error}");
        }
    }
}

/// Escape codes of a file must not reach a terminal by way of a message.
#[test]
fn what_a_message_quotes_of_a_workbook_is_plain_and_short() {
    let text = format!("<a></\u{1b}[31m{}>", "x".repeat(5_000));
    let error = sheets("a.ods", &archive(&[("content.xml", text.as_bytes())])).unwrap_err();
    let message = error.diagnostic(&"a.ods".into()).message;
    assert!(message.contains("expected `</a>`"), "{message}");
    assert!(!message.contains(char::is_control), "{message:?}");
    assert_eq!(message.chars().count(), 201);
    let beyond = BookError::Sheet {
        sheet: "a\u{1b}[31m".to_owned(),
        limit: SheetLimit::Fields,
    };
    let place = beyond.diagnostic(&"a.ods".into()).place();
    assert_eq!(place, "a.ods, sheet a [31m");
}

/// An Office Open XML workbook of one sheet with these rows (ECMA-376, part 1, 18.3.1).
fn xlsx(rows: &str) -> Vec<u8> {
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    const LINKS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006/relationships";
    let sheet = format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{rows}</sheetData></worksheet>");
    let book = format!(
        "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{LINKS}\"><sheets>\
         <sheet name=\"bodies\" sheetId=\"1\" r:id=\"a\"/></sheets></workbook>"
    );
    let links = format!(
        "<Relationships xmlns=\"{PACKAGE}\"><Relationship Id=\"a\" Type=\"{LINKS}/worksheet\" \
         Target=\"worksheets/sheet1.xml\"/></Relationships>"
    );
    let package = format!(
        "<Relationships xmlns=\"{PACKAGE}\"><Relationship Id=\"a\" Type=\"{LINKS}/officeDocument\" \
         Target=\"xl/workbook.xml\"/></Relationships>"
    );
    archive(&[
        ("_rels/.rels", package.as_bytes()),
        ("xl/workbook.xml", book.as_bytes()),
        ("xl/_rels/workbook.xml.rels", links.as_bytes()),
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
    ])
}

#[test]
fn a_million_empty_rows_of_the_other_format() {
    let head = "<row r=\"1\"><c r=\"A1\"><v>1</v></c></row>";
    let empty: String = (2..1_000_000)
        .map(|n| format!("<row r=\"{n}\"><c r=\"A{n}\"/></row>"))
        .collect();
    let read = sheets("a.xlsx", &xlsx(&format!("{head}{empty}"))).unwrap();
    assert_eq!(read[0].rows.len(), 1);
    let below = "<row r=\"1000000\"><c r=\"A1000000\"><v>1</v></c></row>";
    match sheets("a.xlsx", &xlsx(&format!("{head}{empty}{below}"))) {
        Err(error @ BookError::Sheet { .. }) => assert_eq!(
            error.to_string(),
            "row 1000000 holds something; a sheet may have 500000 rows"
        ),
        other => panic!("{other:?}"),
    }
}

/// Once it turned up in the first row.
#[test]
fn a_cell_beyond_the_last_place_is_refused() {
    let at = |place: &str| xlsx(&format!("<row r=\"1\"><c r=\"{place}\"><v>1</v></c></row>"));
    assert_eq!(sheets("a.xlsx", &at("B1")).unwrap()[0].rows.len(), 1);
    for place in ["A4294967297", "AAAAAAAAAA1"] {
        let error = sheets("a.xlsx", &at(place)).unwrap_err();
        assert!(
            error.to_string().contains("is no place in a sheet"),
            "{error}"
        );
    }
}
