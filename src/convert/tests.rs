use super::*;
use crate::book;
use crate::diag::Findings;
use crate::source::Source;
use proptest::prelude::*;

/// CSV to workbook, workbook to file, file to CSV; what each cell says.
fn there_and_back(csv: &str) -> (Grid, Grid) {
    let mut findings = Findings::default();
    let source = |text: &str, findings: &mut Findings| {
        Source::from_bytes(&"t.csv".into(), text.as_bytes().to_vec(), findings).unwrap()
    };
    let first = source(csv, &mut findings);
    let before = read("t", &first, &mut findings).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("t.xlsx");
    std::fs::write(&path, workbook(std::slice::from_ref(&before)).unwrap()).unwrap();
    let book = book::read(&crate::source::Files::on_disk(), &path, &mut findings).unwrap();
    let text = write("t.xlsx", &book.sheets[0], &mut findings).unwrap();
    let second = source(&text, &mut findings);
    let after = read("t", &second, &mut findings).unwrap();
    assert!(!findings.has_errors());
    (before, after)
}

#[test]
fn comments_blank_lines_numbers_and_hostile_text_come_back() {
    let csv = "# invented\npart,description,unit_price,quoted\n\n\
               007,<script>,1.50,2026-03-31\n# note\nP-2,'=1+1,0.125,\n\
               1e5,\"a \"\"b\"\", c\",16,2026-02-30\n'-x,\u{202e}🔌,1.000000,x\n";
    let (before, after) = there_and_back(csv);
    assert_eq!(before, after);
    let (windows, _) = there_and_back(&csv.replace('\n', "\r\n"));
    assert_eq!(before, windows);
    assert!(matches!(after.lines[2], Line::Blank), "{after:?}");
    assert!(matches!(&after.lines[4], Line::Comment(text) if text == "# note"));
    assert!(matches!(&after.lines[3], Line::Fields(f) if f[0] == "007" && f[2] == "1.50"));
    assert!(matches!(&after.lines[5], Line::Fields(f) if f[1] == "=1+1"));
}

#[test]
fn what_would_run_is_stored_as_text() {
    let (_, after) = there_and_back("part,qty\n'=1+1,1\n'+1,2\n'@a,3\n'-a,4\n");
    let cells = ["=1+1", "+1", "@a", "-a"];
    for (line, cell) in after.lines[1..].iter().zip(cells) {
        assert!(matches!(line, Line::Fields(f) if f[0] == cell), "{line:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn random_tables_lose_nothing(rows in proptest::collection::vec(
        ("[A-Za-z0-9][ -~]{0,12}[a-z0-9]", "[=+@'<\"&,;a-zäß🔌-]{0,12}",
         "[1-9][0-9]{0,6}(\\.[0-9]{1,4})?"), 1..20))
    {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(["part", "description", "unit_price"]).unwrap();
        for (part, description, price) in &rows {
            let fields = [part, description].map(|t| crate::table::guarded(t));
            writer.write_record([&fields[0], &fields[1], price]).unwrap();
        }
        let csv = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        let (before, after) = there_and_back(&csv);
        prop_assert_eq!(&before, &after);
        for (line, (part, description, price)) in after.lines[1..].iter().zip(&rows) {
            let fields = vec![part.clone(), description.clone(), price.clone()];
            prop_assert_eq!(line, &Line::Fields(fields));
        }
    }
}
