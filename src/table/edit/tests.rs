use super::*;

const NUMBERS: &[&str] = &["qty", "price"];
const FILE: &str = "\u{feff}# what is ordered\r\nqty;part ; price\r\n\r\n3; P-1 ;1,5\r\n# more\n;;\r\n\"4\";\"P;2\";2";

fn open(text: &str) -> EditedTable {
    EditedTable::open(text, NUMBERS).unwrap()
}

/// The text after one cell was written.
fn set(text: &str, line: u64, column: &str, value: &str) -> String {
    let mut table = open(text);
    table.set(line, column, value).unwrap();
    table.text()
}

#[test]
fn what_no_edit_names_stays() {
    assert_eq!((open(FILE).rows(), open(FILE).text()), (2, FILE.to_owned()));
    assert_eq!(set(FILE, 4, "qty", "5"), FILE.replace("3; P", "5; P"));
    assert_eq!(set(FILE, 4, "part", "P-7"), FILE.replace(" P-1 ", " P-7 "));
    assert_eq!(set(FILE, 7, "price", "2.5"), format!("{FILE},5"));
}

#[test]
fn a_value_that_reads_so_already() {
    for (line, column, value) in [
        (4, "part", "P-1"),
        (4, "price", "1.50"),
        (7, "qty", "4.0"),
        (7, "part", "P;2"),
    ] {
        assert_eq!(set(FILE, line, column, value), FILE);
    }
    let mut table = open(FILE);
    table.set(4, "part", "Q").unwrap();
    table.set(4, "part", "P-1").unwrap();
    assert_eq!(table.text(), FILE);
    // A code is no number.
    assert_eq!(
        set("part,qty\n1.50,1\n", 2, "part", "1.5"),
        "part,qty\n1.5,1\n"
    );
}

#[test]
fn quotes_where_they_must_be() {
    let text = "part,note\n\"a,b\",1\n \"c\" ,2\n";
    let at = |line, value| set(text, line, "part", value);
    assert_eq!(at(2, "ab"), "part,note\nab,1\n \"c\" ,2\n");
    assert_eq!(at(2, "a,c"), "part,note\n\"a,c\",1\n \"c\" ,2\n");
    assert_eq!(at(2, "a\n\"c"), "part,note\n\"a\n\"\"c\",1\n \"c\" ,2\n");
    assert_eq!(at(2, "a;b"), "part,note\na;b,1\n \"c\" ,2\n");
    assert_eq!(at(3, "x,y"), "part,note\n\"a,b\",1\n\"x,y\",2\n");
    assert_eq!(at(2, "#1"), "part,note\n\"#1\",1\n \"c\" ,2\n");
    assert_eq!(set(text, 2, "note", "#1"), text.replace(",1\n", ",#1\n"));
}

#[test]
fn a_spreadsheet_runs_nothing() {
    assert_eq!(set("part,qty\na,1\n", 2, "part", "=1"), "part,qty\n'=1,1\n");
    assert_eq!(
        set("part,qty\n a,1\n", 2, "part", "'=1"),
        "part,qty\n''=1,1\n"
    );
    assert_eq!(set("part,qty\na,1\n", 2, "qty", "-1"), "part,qty\na,-1\n");
}

#[test]
fn the_decimal_sign_of_the_file() {
    let price = |text: &str| set(text, 2, "price", "2.25");
    assert_eq!(price("part;price\n1.5;1,5\n"), "part;price\n1.5;2,25\n");
    assert_eq!(price("part;price\n1,5;1.5\n"), "part;price\n1,5;2.25\n");
    assert_eq!(price("part;price\na;1\n"), "part;price\na;2,25\n");
    assert_eq!(price("part\tprice\na\t1\n"), "part\tprice\na\t2,25\n");
    assert_eq!(price("part,price\na,1\n"), "part,price\na,2.25\n");
    // The sign of a number alone goes before that of a number with a unit.
    let text = "qty;price\n2,5 mm2;\n;1.5\n";
    assert_eq!(set(text, 2, "qty", "4.5 mm2"), text.replace("2,5", "4.5"));
    let text = "qty;price\n2.5 mm2;\n;1\n";
    assert_eq!(set(text, 2, "qty", "4.5 mm2"), text.replace("2.5", "4.5"));
    let text = "qty;price\n2,5 mm2;\n;1\n";
    assert_eq!(set(text, 2, "qty", "2.5 mm2"), text);
}

#[test]
fn a_row_is_added() {
    let mut table = open(FILE);
    table
        .add(&[("part", "#3"), ("price", "0.25"), ("charges", "")])
        .unwrap();
    table.add(&[("qty", "1")]).unwrap();
    assert_eq!(table.rows(), 4);
    assert_eq!(table.text(), format!("{FILE}\r\n;#3;0,25\r\n1;;\r\n"));
    let mut table = open("part,qty\n# end");
    table.add(&[("part", "#3")]).unwrap();
    assert_eq!(table.text(), "part,qty\n# end\n\"#3\",\n");
    let mut table = EditedTable::create(&["part", "qty"], NUMBERS).unwrap();
    assert_eq!((table.rows(), table.text()), (0, "part,qty\n".to_owned()));
    table.add(&[("part", "a"), ("qty", "2")]).unwrap();
    assert_eq!(table.text(), "part,qty\na,2\n");
}

#[test]
fn the_line_end_of_the_last_row_that_has_one() {
    for (text, end) in [
        ("part\na\r\nb", "\r\n"),
        ("part\r\na\nb\n", "\n"),
        ("part", "\n"),
        ("part\ra\r", "\n"),
    ] {
        let mut table = open(text);
        table.add(&[("part", "c")]).unwrap();
        let start = if text.ends_with('\n') { "" } else { end };
        assert_eq!(table.text(), format!("{text}{start}c{end}"));
    }
}

#[test]
fn a_column_is_added() {
    let text = "# c\npart,qty\r\nP-1, 2\n\n,,\nP-2,1,1";
    let mut table = open(text);
    table.ensure("price").unwrap();
    table.ensure("price").unwrap();
    table.set(3, "price", "1.5").unwrap();
    table.add(&[("part", "a"), ("note", "x,y")]).unwrap();
    let edited = "# c\npart,qty,price,note\r\nP-1, 2,1.5,\n\n,,\nP-2,1,1,,\na,,,\"x,y\"\n";
    assert_eq!(table.text(), edited);
}

#[test]
fn a_row_is_removed() {
    let mut table = open(FILE);
    table.remove(7).unwrap();
    assert_eq!(table.text(), FILE.trim_end_matches("\"4\";\"P;2\";2"));
    assert_eq!(table.remove(7), Err(EditError::NoRow { line: 7 }));
    assert_eq!(table.set(7, "qty", "1"), Err(EditError::NoRow { line: 7 }));
    // Other rows keep their names.
    table.set(4, "qty", "9").unwrap();
    table.remove(4).unwrap();
    assert_eq!((table.rows(), table.text().contains("P-1")), (0, false));
}

#[test]
fn rows_are_added_after_a_row() {
    let mut table = open("part;qty\r\na;1\r\n# c\r\nb;2");
    table
        .add_after(2, &[("part", "a2"), ("qty", "1.5")])
        .unwrap();
    table.add_after(4, &[("part", "b2")]).unwrap();
    table
        .add_after(2, &[("part", "a3"), ("note", "n")])
        .unwrap();
    table.remove(2).unwrap();
    table.add_after(2, &[("part", "a4")]).unwrap();
    table.add(&[("part", "z")]).unwrap();
    let edited = "part;qty;note\r\na2;1,5;\r\na3;;n\r\na4;;\r\n# c\r\nb;2;\r\nb2;;\r\nz;;\r\n";
    assert_eq!((table.text().as_str(), table.rows()), (edited, 6));
    assert!(table.has("note") && !table.has("price"));
    for line in [0, 1, 3, 5] {
        assert_eq!(table.add_after(line, &[]), Err(EditError::NoRow { line }));
    }
}

#[test]
fn what_is_not_there() {
    let mut table = open("part,qty,qty,\n# c\n\"a\nb\",1,2,\n\n,,,\nc,1\n");
    let (column, twice) = ("parts".to_owned(), "qty".to_owned());
    assert_eq!(
        table.set(3, "parts", "1"),
        Err(EditError::NoColumn { column })
    );
    assert_eq!(
        table.set(3, "qty", "1"),
        Err(EditError::Twice { column: twice })
    );
    for line in [0, 1, 2, 4, 5, 6, 8, 9, u64::MAX] {
        assert_eq!(table.set(line, "part", "1"), Err(EditError::NoRow { line }));
        assert_eq!(table.remove(line), Err(EditError::NoRow { line }));
    }
    assert_eq!(
        table.set(7, "part", "1"),
        Err(EditError::Ragged { line: 7 })
    );
    for value in [" a", "a\n", "a\t"] {
        let error = table.set(3, "part", value).unwrap_err();
        assert!(matches!(error, EditError::Value { .. }), "{value:?}");
        let row = [("note", "n"), ("part", value)];
        assert!(table.add(&row).is_err());
    }
    assert_eq!(
        table.text(),
        "part,qty,qty,\n# c\n\"a\nb\",1,2,\n\n,,,\nc,1\n"
    );
}

#[test]
fn what_cannot_be_opened() {
    let error = |text: &str| EditedTable::open(text, NUMBERS).unwrap_err();
    assert_eq!(error(""), EditError::NoHeader);
    assert_eq!(error("# only\n\n"), EditError::NoHeader);
    assert_eq!(
        EditedTable::create(&[], &[]).unwrap_err(),
        EditError::NoHeader
    );
    assert_eq!(error("part\n\n\"a"), EditError::OpenQuote { line: 3 });
    let twice = "\u{feff}\u{feff}part\n";
    assert_eq!(error(twice), EditError::Unclear { line: 1 });
    let mut table = open("part\ra\rb\r");
    assert_eq!(
        table.set(1, "part", "c"),
        Err(EditError::Several { line: 1 })
    );
}
