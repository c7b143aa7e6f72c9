//! Files as such: missing, empty, odd separators, encodings, quotes.

use crate::support::{Project, spoilt};
use couplet::input::{LoadOptions, load};

const SEALS: &str = "../catalog/seals.csv";

/// What is found with this in place of `seals.csv`.
fn seals(bytes: impl AsRef<[u8]>) -> Vec<String> {
    let project = Project::new();
    project.write(SEALS, bytes);
    project.found()
}

const ROWS: &str = "S-1,,R10,14,17,IP67\nS-9,,R10,10,14,\n";
const HEADER: &str = "part,description,rear,min_od_mm,max_od_mm,ip\n";
const NOTHING: [&str; 0] = [];

#[test]
fn missing_files_and_folders() {
    let project = Project::new();
    project.remove(SEALS);
    assert_eq!(
        project.found(),
        ["error at catalog/seals.csv: the file is not there \
          | create it, or correct the path that leads to it"]
    );
    let project = Project::new();
    project.remove("project.toml").remove("circuits.csv");
    assert_eq!(
        project.found(),
        [
            "error at cart/project.toml: the file is not there \
             | create it, or correct the path that leads to it",
            "error at cart/circuits.csv: the file is not there \
             | create it, or correct the path that leads to it"
        ]
    );
    assert_eq!(
        spoilt("project.toml", "../catalog", "../catalogue"),
        [
            "error at cart/project.toml, key catalog: there is no catalog folder catalogue \
          | correct the path to the folder that has bodies.csv"
        ]
    );
    let project = Project::new();
    project.remove(SEALS);
    std::fs::create_dir(project.folder().join(SEALS)).unwrap();
    assert_eq!(
        project.found(),
        ["error at catalog/seals.csv: the path leads to a folder, not to a file | name a file"]
    );
}

#[test]
fn empty_file_and_no_header() {
    let begin = "begin with a header row: part,description,rear,min_od_mm,max_od_mm,ip,note";
    for text in ["", "\n \n", "\u{feff}"] {
        let wanted = format!("error at catalog/seals.csv: the file is empty | {begin}");
        assert_eq!(seals(text), [wanted], "{text:?}");
    }
    assert_eq!(
        seals("# only this\n# and this"),
        [format!(
            "error at catalog/seals.csv: there are only comments, no header row | {begin}"
        )]
    );
    assert_eq!(
        seals(ROWS),
        [format!(
            "error at catalog/seals.csv:1: there is no header row: \
             no field of the first row names a column | {begin}"
        )]
    );
}

#[test]
fn a_header_alone_is_fine() {
    let project = Project::new();
    project.write(SEALS, HEADER);
    project.edit("project.toml", "[\"S-9\"]", "[]");
    project.edit("on_hand.csv", "S-9,0\n", "");
    project.edit("../catalog/prices.csv", "S-1,Nord,,,,0,,,7,\n", "");
    project.edit("../catalog/prices.csv", "S-9,West,,,1,2,,,7,\n", "");
    assert_eq!(project.found(), NOTHING);
}

#[test]
fn wrong_separator() {
    assert_eq!(
        seals(HEADER.replace(',', "|")),
        [
            "error at catalog/seals.csv:1: nothing that is known separates the columns \
          | separate them with commas, semicolons or tabs"
        ]
    );
}

#[test]
fn separators_and_marks_that_are_understood() {
    let text = format!("{HEADER}{ROWS}");
    assert_eq!(seals(format!("\u{feff}{text}")), NOTHING);
    assert_eq!(seals(text.replace(',', ";")), NOTHING);
    assert_eq!(seals(text.replace(',', "\t")), NOTHING);
    assert_eq!(
        seals(text.replace(',', " , ").replace('\n', "\r\n")),
        NOTHING
    );
    assert_eq!(
        seals(format!("# a, note\n\n{text}#another \"one\n")),
        NOTHING
    );
    assert_eq!(seals(format!("{text},,,,,\n , ,,,,\n")), NOTHING);
    assert_eq!(
        seals(text.replace("S-1,,", "\"S-1\",\"one \"\"seal\"\"\",")),
        NOTHING
    );
    let turned = "ip,rear,part,max_od_mm,min_od_mm\n,R10,S-1,17,14\n,R10,S-9,14,10\n";
    assert_eq!(seals(turned), NOTHING);
}

#[test]
fn decimal_comma_goes_with_semicolons() {
    let semicolons = |rows: &str| seals(format!("{}{rows}", HEADER.replace(',', ";")));
    assert_eq!(semicolons("S-1;;R10;14,5;17,25;\nS-9;;R10;10;14;"), NOTHING);
    assert_eq!(semicolons("S-1;;R10;,5;17,25;\nS-9;;R10;10;14;"), NOTHING);
    assert_eq!(
        seals(format!("{HEADER}S-1,,R10,.5,17,\nS-9,,R10,10,14,\n")),
        NOTHING
    );
    assert_eq!(
        seals(format!("{HEADER}S-1,,R10,14.,17,\nS-9,,R10,10,14,\n")),
        [
            "error at catalog/seals.csv:2, column min_od_mm: \"14.\" is not a number \
          | give a diameter in digits, such as 12.5"
        ]
    );
    assert_eq!(
        semicolons("S-1;;R10;14,5;17;\nS-9;;R10;10.5;14;"),
        ["error at catalog/seals.csv:3, column min_od_mm: \
          \"10.5\" has a decimal point, line 2 has a decimal comma \
          | use one decimal sign in the whole file"]
    );
    let project = Project::new();
    let text = std::fs::read_to_string(project.folder().join("circuits.csv")).unwrap();
    let text = text.replace(',', ";").replace("70 mm2", "2,5 mm2");
    project.write("circuits.csv", text.replace("16.5", "16,5"));
    assert_eq!(project.found(), NOTHING);
    let gauge = project.load().input.unwrap().circuits[0].gauge;
    assert_eq!(gauge.to_string(), "2.5 mm2");
}

#[test]
fn lines_are_counted_past_comments_blanks_and_breaks() {
    let bad = "S-1,,R10,x,17,\nS-9,,R10,1,2,\n";
    let place = |text: String| {
        let found = seals(text);
        found[0].split(": ").next().unwrap().to_owned()
    };
    let at = |line: u32| format!("error at catalog/seals.csv:{line}, column min_od_mm");
    assert_eq!(place(format!("{HEADER}{bad}")), at(2));
    assert_eq!(place(format!("# a\n\n{HEADER}\n# b\n\n{bad}")), at(7));
    assert_eq!(
        place(format!("# a\n\n{HEADER}\n# b\n\n{bad}").replace('\n', "\r\n")),
        at(7)
    );
}

#[test]
fn columns() {
    assert_eq!(
        seals(format!("{}{ROWS}", HEADER.replace("rear", "raer"))),
        [
            "error at catalog/seals.csv:1: unknown column \"raer\" | did you mean \"rear\"?",
            "error at catalog/seals.csv:1, column rear: the column is missing \
             | add it to the header row, with a value in each row"
        ]
    );
    assert_eq!(
        seals(format!("{}{ROWS}", HEADER.replace("description", "weight"))),
        [
            "error at catalog/seals.csv:1: unknown column \"weight\" | leave it out; \
          the columns are part, description, rear, min_od_mm, max_od_mm, ip, note"
        ]
    );
    assert_eq!(
        seals(format!("{}{ROWS}", HEADER.replace("description", "part"))),
        [
            "error at catalog/seals.csv:1, column part: the column stands twice \
          | leave one of them out"
        ]
    );
    assert_eq!(
        seals(format!("{}{ROWS}", HEADER.replace("description", ""))),
        NOTHING
    );
    assert_eq!(
        seals(format!(
            "{}{}",
            HEADER.replace("description", ""),
            ROWS.replace("S-1,", "S-1,x")
        )),
        [
            "error at catalog/seals.csv:2: a value stands in a column without a name \
          | name the column in the header row, or leave it out"
        ]
    );
}

#[test]
fn ragged_rows_keep_their_codes() {
    assert_eq!(
        seals(format!("{HEADER}{}", ROWS.replace("14,17,IP67", "14,17"))),
        [
            "error at catalog/seals.csv:2: the row has 5 fields, the header row has 6 \
          | put a field that contains the separator in quotes"
        ]
    );
    assert_eq!(
        seals(format!(
            "{HEADER}{}",
            ROWS.replace("S-1,,", "S-1, \"a,b\",")
        )),
        [
            "error at catalog/seals.csv:2: the row has 7 fields, the header row has 6 \
          | look for a quote that is not closed, or that has a space before it"
        ]
    );
}

#[test]
fn a_row_with_another_separator() {
    assert_eq!(
        seals(format!(
            "{HEADER}{}",
            ROWS.replace("S-1,,R10,14,17,IP67", "S-1;;R10;14;17;IP67")
        )),
        [
            "error at catalog/seals.csv:2: the row has 1 field, the header row has 6 \
          | separate the columns as the header row does"
        ]
    );
}

#[test]
fn quotes() {
    assert_eq!(
        seals(format!("{HEADER}{}", ROWS.replace("S-1,,", "S-1,\"a,"))),
        [
            "error at catalog/seals.csv:2: a quote that opens in this row is not closed \
          | close the quote; a quote inside a quoted field is written twice"
        ]
    );
    assert_eq!(
        seals("\"part,description"),
        [
            "error at catalog/seals.csv:1: a quote that opens in this row is not closed \
          | close the quote; a quote inside a quoted field is written twice"
        ]
    );
    assert_eq!(
        seals(format!("{HEADER}{}", ROWS.replace("S-1,,", "S-1, \"a\","))),
        [
            "error at catalog/seals.csv:2, column description: a space stands before the quote \
          | leave out the space, so that the quotes count"
        ]
    );
    assert_eq!(
        seals(format!(
            "{HEADER}{}",
            ROWS.replace("S-1,,", "S-1,\"a\nb\",")
        )),
        ["error at catalog/seals.csv:2, column description: \
          \"a\\nb\" contains a line break or control character \
          | write it on one line; is a quote not closed?"]
    );
    assert_eq!(
        seals(format!(
            "{HEADER}{}",
            ROWS.replace("S-1,,", "S-1,5\" long,")
        )),
        NOTHING
    );
}

#[test]
fn not_utf8() {
    let mut bytes = format!("{HEADER}{ROWS}").into_bytes();
    let at = HEADER.len() + 4;
    bytes.insert(at, 0xe9);
    assert_eq!(
        seals(bytes),
        [
            "error at catalog/seals.csv:2: the file is not UTF-8: byte 5 of the line \
          | save it as UTF-8"
        ]
    );
}

#[test]
fn all_errors_of_all_files_in_one_run() {
    let project = Project::new();
    project.edit("project.toml", "tax_percent = 20", "tax_percent = -1");
    project.edit("circuits.csv", "200", "abc");
    project.edit("circuits.csv", "180", "0");
    project.edit("on_hand.csv", "F-70,3", "F-70,");
    project.edit("../catalog/bodies.csv", "plug,M10", "plgu,M10");
    project.edit("../catalog/ferrules.csv", "50,70", "50,x");
    project.edit(SEALS, "14,17", "18,17");
    project.edit("../catalog/backshells.csv", "18", "");
    project.edit("../catalog/prices.csv", "30.125", "1e5");
    project.edit("../catalog/suppliers.csv", "USD", "usd");
    project.edit("../catalog/dies.csv", "no\n", "maybe\n");
    let found = project.found();
    let places: Vec<&str> = found
        .iter()
        .map(|f| f.split(": ").next().unwrap())
        .collect();
    assert_eq!(
        places,
        [
            "error at cart/project.toml:7, key tax_percent",
            "error at cart/circuits.csv:2, column current_a",
            "error at cart/circuits.csv:3, column current_a",
            "error at cart/on_hand.csv:2, column qty",
            "error at catalog/bodies.csv:2, column half",
            "error at catalog/ferrules.csv:2, column max_mm2",
            "error at catalog/seals.csv:2, column min_od_mm",
            "error at catalog/backshells.csv:2, column max_od_mm",
            "error at catalog/prices.csv:2, column unit_price",
            "error at catalog/suppliers.csv:3, column currency",
            "error at catalog/dies.csv:2, column owned",
        ]
    );
}

#[test]
fn errors_in_one_file_have_an_end() {
    let rows = "S-1,,R10,x,17,\n".repeat(30_000);
    let found = seals(format!("{HEADER}{rows}"));
    // From the second row on there are two in each: the code is there already.
    assert_eq!(
        found[0],
        "error at catalog/seals.csv:2, column min_od_mm: 5001 rows: \"x\" is not a number \
         | give a diameter in digits, such as 12.5 | note: in lines 2 to 5002"
    );
    assert_eq!(
        found.last().unwrap(),
        "error at catalog/seals.csv: the file has more than 10000 errors: \
         the rest of the file was not looked at | correct these errors first"
    );
}

#[test]
fn an_error_down_a_column_is_one() {
    let price = |quoted: &str, n: usize| format!("K-1,Nord,N{n},,{n},4,1,,7,{quoted}\n");
    let spoilt = |rows: usize| {
        let project = Project::new();
        let path = project.folder().join("../catalog/prices.csv");
        let text = std::fs::read_to_string(path).unwrap();
        let text = text.replace("K-1,Nord,,,1,4,,,7,\n", "");
        let dated: String = (1..=rows).map(|n| price("07.09.2026", n)).collect();
        project.write("../catalog/prices.csv", text + &dated);
        project.found()
    };
    let one = |line: usize| {
        format!(
            "error at catalog/prices.csv:{line}, column quoted: \"07.09.2026\" is not a date \
             | write year, month and day as YYYY-MM-DD, such as 2026-03-31"
        )
    };
    assert_eq!(spoilt(3), [one(9), one(10), one(11)]);
    let cure = "write year, month and day as YYYY-MM-DD, such as 2026-03-31";
    let merged =
        "error at catalog/prices.csv:9, column quoted: 394 rows: \"07.09.2026\" is not a date";
    assert_eq!(
        spoilt(394),
        [format!("{merged} | {cure} | note: in lines 9 to 402")]
    );
    // What repeats in another column stays apart.
    let project = Project::new();
    let mut rows = String::from("part,qty\n");
    for (part, qty) in [
        ("F-70", "1x"),
        ("S-9", "2x"),
        ("S-1", "x"),
        ("K-1", "x"),
        ("thing", "4"),
    ] {
        rows.push_str(&format!("{part},{qty}\n"));
    }
    project.write("on_hand.csv", rows);
    assert_eq!(
        project.found(),
        [
            "error at cart/on_hand.csv:2, column qty: 4 rows: \"1x\" is not a number \
             | give a number of pieces in digits, such as 12 \
             | note: what stands there: \"1x\", \"2x\" and \"x\" | note: in lines 2 to 5",
            "error at cart/on_hand.csv:6, column part: unknown part \"thing\" \
             | correct the code, or add the part to the catalog"
        ]
    );
}

#[test]
fn no_project_folder() {
    let project = Project::new();
    let loaded = load(&project.root().join("card"), &LoadOptions::default());
    assert!(loaded.input.is_none());
    assert_eq!(
        project.worded(&loaded),
        [
            "error at card: there is no project folder card | name the folder that has project.toml or purchase.toml"
        ]
    );
}

#[test]
fn long_lines() {
    let row = |n: usize| format!("{HEADER}{ROWS}#{}\n", " ".repeat(n));
    assert_eq!(seals(row(1_048_575)), NOTHING);
    assert_eq!(
        seals(row(1_048_576)),
        [
            "error at catalog/seals.csv:4: the line is longer than 1048576 bytes \
          | put each row on a line of its own"
        ]
    );
}
