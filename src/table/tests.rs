use super::*;

const PART: Col = Col::required(0, "part");
const QTY: Col = Col::optional(1, "qty");
const WORDS: Col = Col::optional(2, "words");
const COLUMNS: &[Col] = &[PART, QTY, WORDS];
const COUNT: Span = Span::whole("a number of pieces", 0, 10);

fn source(text: &str) -> Source {
    let mut findings = Findings::default();
    Source::from_bytes(&"t.csv".into(), text.into(), &mut findings).unwrap()
}

/// Line, part and quantity.
type Read = (u64, String, Option<u64>);

/// All rows, then all messages.
fn read(text: &str) -> (Vec<Read>, Vec<String>) {
    let source = source(text);
    let mut findings = Findings::default();
    let mut rows = Vec::new();
    if let Some(mut table) = Table::open(&source, COLUMNS, &mut findings) {
        while let Some(mut row) = table.next(&mut findings) {
            let (part, qty) = (row.owned(PART), row.count(QTY, &COUNT));
            rows.push((row.place().line, part, qty));
        }
    }
    (rows, findings.iter().map(|d| d.message.clone()).collect())
}

#[test]
fn rows_come_with_their_lines() {
    let (rows, messages) = read("part,qty\na,1\n\n# no, row\nb,\n\"c\nd\",2\ne,3");
    assert_eq!(rows[0], (2, "a".into(), Some(1)));
    assert_eq!(rows[1], (5, "b".into(), None));
    assert_eq!((rows[2].0, rows[2].2), (6, Some(2)));
    assert_eq!(rows[3], (8, "e".into(), Some(3)));
    assert_eq!(
        messages,
        ["\"c\\nd\" contains a line break or control character"]
    );
}

#[test]
fn the_header_tells_the_separator() {
    for text in ["part,qty\na,1", "part;qty\na;1", "part\tqty\na\t1"] {
        assert_eq!(
            read(text),
            (vec![(2, "a".into(), Some(1))], vec![]),
            "{text:?}"
        );
    }
    assert_eq!(header::separator("# a;b;c\n\na,b"), b',');
    assert_eq!(header::separator("\"a,b\";c"), b';');
    assert_eq!(header::separator("a"), b',');
    assert_eq!(header::separator("a;b,c"), b',');
    assert_eq!(header::separator("a;b;c,d"), b';');
}

#[test]
fn only_an_open_quote_at_the_end_is_an_error() {
    let open = ["a quote that opens in this row is not closed"];
    for text in [
        "part,qty\n\"a,1\n",
        "part,qty\n\"a\"\",1\n",
        "part,qty\na,\"",
    ] {
        assert_eq!(read(text).1, open, "{text:?}");
    }
    for text in [
        "part,qty\n\"a\",1",
        "part,qty\n\"a\"\"\",1",
        "part,qty\na\"b,1",
        "part,qty\n\"a\"b\",1",
    ] {
        assert_eq!(read(text).1, [""; 0], "{text:?}");
    }
}

#[test]
fn words_are_found_or_suggested() {
    let source = source("part,words\na,straight\nb,stright\nc,straight straight\n");
    let mut findings = Findings::default();
    let mut table = Table::open(&source, COLUMNS, &mut findings).unwrap();
    let list = [("straight", 1)];
    let mut row = table.next(&mut findings).unwrap();
    assert_eq!(row.word(WORDS, &list), Some(1));
    let mut row = table.next(&mut findings).unwrap();
    assert_eq!((row.word(WORDS, &list), row.is_sound()), (None, false));
    let mut row = table.next(&mut findings).unwrap();
    assert_eq!(row.words(WORDS, &list).len(), 2);
    assert!(row.is_sound());
}

#[test]
fn columns_stand_at_their_own_places() {
    for (place, col) in COLUMNS.iter().enumerate() {
        assert_eq!(col.place, place);
    }
}

#[test]
fn codes_of_bad_rows_stay_known() {
    let source = source("part,qty\na,1\nb,1,1\na,2\n,3\n");
    let mut findings = Findings::default();
    let mut table = Table::open(&source, COLUMNS, &mut findings).unwrap();
    let mut codes = Codes::new("part");
    let mut claimed = Vec::new();
    while let Some(mut row) = table.next(&mut findings) {
        claimed.push(codes.claim(&mut row, PART).map(str::to_owned));
        if claimed.len() == 3 {
            assert!(codes.is_complete() && codes.may_know("b") && !codes.may_know("z"));
        }
    }
    codes.read_from(Some(&table), PART);
    assert_eq!(claimed, [Some("a".into()), None, Some("a".into()), None]);
    // A row without a code: any unknown one may be meant.
    assert!(!codes.is_complete() && codes.may_know("z"));
    assert_eq!(findings.errors(), 3);
}
