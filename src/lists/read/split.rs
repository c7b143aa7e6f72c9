//! A text as rows of fields. Unlike a table of ours, a list has no comments, and a row
//! may have any number of fields.

use crate::book::{MAX_COLUMNS, MAX_FIELDS, MAX_ROWS};
use crate::diag::Diagnostic;
use crate::source::SheetRow;
use csv::StringRecord;
use std::sync::Arc;

/// What stands between fields.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Separator {
    /// A tab.
    Tab,
    /// `;`
    Semicolon,
    /// `,`
    Comma,
}

/// All separators with the words that recipes use; the surer come first.
pub const SEPARATORS: [(&str, Separator); 3] = [
    ("tab", Separator::Tab),
    ("semicolon", Separator::Semicolon),
    ("comma", Separator::Comma),
];

impl Separator {
    fn char(self) -> char {
        match self {
            Separator::Tab => '\t',
            Separator::Semicolon => ';',
            Separator::Comma => ',',
        }
    }

    /// The word that recipes use.
    pub fn word(self) -> &'static str {
        let found = SEPARATORS.iter().find(|(_, one)| *one == self);
        found.map_or("comma", |(word, _)| word)
    }

    /// The separator that parts the rows of a text most evenly. Each one is tried on the
    /// first rows: so many rows as have the most frequent width, times the fields beyond
    /// the first.
    pub fn of(text: &str, quotes: bool) -> Self {
        let mut best = (0, Separator::Comma);
        for (_, separator) in SEPARATORS {
            let evenness = evenness(text, separator, quotes);
            if evenness > best.0 {
                best = (evenness, separator);
            }
        }
        best.1
    }
}

/// So many rows are tried.
const TRIED: usize = 300;

fn evenness(text: &str, separator: Separator, quotes: bool) -> usize {
    let mut widths = std::collections::BTreeMap::<usize, usize>::new();
    let mut splitter = Splitter::new(text, separator, quotes);
    for _ in 0..TRIED {
        match splitter.advance() {
            Ok(Some((_, record))) => *widths.entry(record.len()).or_default() += 1,
            _ => break,
        }
    }
    let wide = widths.iter().filter(|(width, _)| **width > 1);
    wide.map(|(width, rows)| rows * (width - 1))
        .max()
        .unwrap_or(0)
}

/// All rows that hold anything, each with the line that it begins at.
///
/// # Errors
/// A finding where a quote is not closed, or the text goes beyond a limit.
pub fn rows(
    file: &Arc<str>,
    text: &str,
    separator: Separator,
    quotes: bool,
) -> Result<Vec<SheetRow>, Box<Diagnostic>> {
    let mut splitter = Splitter::new(text, separator, quotes);
    let mut rows = Vec::new();
    let mut fields = 0u64;
    let beyond = |line: u64, message: String| {
        let error = Diagnostic::error(file, message).line(line);
        Box::new(error.help("split the list into several files, or leave out what you never buy"))
    };
    loop {
        let step = splitter
            .advance()
            .map_err(|line| Box::new(open_quote(file, line)))?;
        let Some((number, cells)) = step else {
            return Ok(rows);
        };
        let width = cells.len() as u64;
        fields += width;
        if width > MAX_COLUMNS {
            let message = format!("the row has {width} fields; a list may have {MAX_COLUMNS}");
            return Err(beyond(number, message));
        }
        if rows.len() as u64 >= MAX_ROWS {
            return Err(beyond(
                number,
                format!("the list has more than {MAX_ROWS} rows"),
            ));
        }
        if fields > MAX_FIELDS {
            let message = format!("the list has more than {MAX_FIELDS} fields up to here");
            return Err(beyond(number, message));
        }
        if cells.iter().any(|cell| !cell.trim().is_empty()) {
            rows.push(SheetRow {
                number,
                cells,
                marks: Vec::new(),
            });
        }
    }
}

fn open_quote(file: &Arc<str>, line: u64) -> Diagnostic {
    Diagnostic::error(file, "a quote that opens in this line is not closed")
        .line(line)
        .help(
            "if quotes are letters like any other in this list, write quotes = false under [file] \
             of the recipe",
        )
}

/// Parts a text into rows, one after the other.
struct Splitter<'t> {
    text: &'t str,
    at: usize,
    line: u64,
    separator: char,
    quotes: bool,
}

impl<'t> Splitter<'t> {
    fn new(text: &'t str, separator: Separator, quotes: bool) -> Self {
        Self {
            text,
            at: 0,
            line: 1,
            separator: separator.char(),
            quotes,
        }
    }

    /// The next row with its line; none at the end. The error is the line of a quote that
    /// is not closed.
    fn advance(&mut self) -> Result<Option<(u64, StringRecord)>, u64> {
        if self.at >= self.text.len() {
            return Ok(None);
        }
        let line = self.line;
        let mut record = StringRecord::new();
        loop {
            let quoted = self.quotes && self.rest().starts_with('"');
            let field = match quoted {
                true => self.quoted()?,
                false => self.plain().into(),
            };
            record.push_field(&field);
            if record.len() as u64 > MAX_COLUMNS {
                self.skip_row();
                return Ok(Some((line, record)));
            }
            if !self.pass_separator() {
                self.pass_line_end();
                return Ok(Some((line, record)));
            }
        }
    }

    fn rest(&self) -> &'t str {
        self.text.get(self.at..).unwrap_or("")
    }

    /// The field up to the next separator or line end.
    fn plain(&mut self) -> &'t str {
        let rest = self.rest();
        let separator = self.separator;
        let end = rest.find([separator, '\r', '\n']);
        let field = rest.get(..end.unwrap_or(rest.len())).unwrap_or("");
        self.at += field.len();
        field
    }

    /// A field in quotes; what comes after the closing quote goes on as without quotes.
    fn quoted(&mut self) -> Result<String, u64> {
        let begun = self.line;
        let mut field = String::new();
        self.at += 1;
        loop {
            let rest = self.rest();
            let Some((inside, _)) = rest.split_once('"') else {
                return Err(begun);
            };
            self.count_lines(inside);
            field.push_str(inside);
            self.at += inside.len() + 1;
            if self.rest().starts_with('"') {
                field.push('"');
                self.at += 1;
            } else {
                field.push_str(self.plain());
                return Ok(field);
            }
        }
    }

    fn count_lines(&mut self, text: &str) {
        let ends = text.bytes().filter(|b| *b == b'\n').count();
        let bare = text.bytes().filter(|b| *b == b'\r').count() - text.matches("\r\n").count();
        self.line += (ends + bare) as u64;
    }

    fn pass_separator(&mut self) -> bool {
        let is_there = self.rest().starts_with(self.separator);
        self.at += usize::from(is_there);
        is_there
    }

    fn pass_line_end(&mut self) {
        let rest = self.rest();
        let length = match rest {
            _ if rest.starts_with("\r\n") => 2,
            _ if rest.starts_with(['\r', '\n']) => 1,
            _ => return,
        };
        self.at += length;
        self.line += 1;
    }

    /// Leaves out the rest of a row that is too long.
    fn skip_row(&mut self) {
        let rest = self.rest();
        let end = rest.find(['\r', '\n']).unwrap_or(rest.len());
        self.at += end;
        self.pass_line_end();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str, separator: Separator, quotes: bool) -> Vec<(u64, Vec<String>)> {
        let rows = rows(&"list.csv".into(), text, separator, quotes).unwrap();
        let cells = |row: &SheetRow| row.cells.iter().map(str::to_owned).collect();
        rows.iter().map(|row| (row.number, cells(row))).collect()
    }

    fn is(text: &str, rows: &[(u64, &[&str])]) {
        let read = read(text, Separator::Semicolon, true);
        let read: Vec<(u64, Vec<&str>)> = read
            .iter()
            .map(|(n, cells)| (*n, cells.iter().map(String::as_str).collect()))
            .collect();
        let rows: Vec<(u64, Vec<&str>)> = rows.iter().map(|(n, c)| (*n, c.to_vec())).collect();
        assert_eq!(read, rows, "{text:?}");
    }

    #[test]
    fn rows_keep_their_lines() {
        is(
            "a;b\r\n\r\n# c;d\r\n",
            &[(1, &["a", "b"]), (3, &["# c", "d"])],
        );
        is("a\rb\r\rc", &[(1, &["a"]), (2, &["b"]), (4, &["c"])]);
        is("\"x\ny\";1\nz;2", &[(1, &["x\ny", "1"]), (3, &["z", "2"])]);
        is("a;;\n;b", &[(1, &["a", "", ""]), (2, &["", "b"])]);
    }

    #[test]
    fn quotes_count_at_the_beginning_of_a_field_alone() {
        is(
            "\"a;b\"\"c\"d;1/2\" plug",
            &[(1, &["a;b\"cd", "1/2\" plug"])],
        );
        let plain = read("\"a;b\n", Separator::Semicolon, false);
        assert_eq!(plain, [(1, vec!["\"a".to_owned(), "b".to_owned()])]);
        let error = rows(&"l".into(), "x\n\"a;b\n", Separator::Semicolon, true).unwrap_err();
        assert_eq!(error.line, Some(2));
    }

    #[test]
    fn limits_on_both_sides() {
        let wide = |n: usize| "x;".repeat(n - 1) + "x\n";
        let at = |n| rows(&"l".into(), &wide(n), Separator::Semicolon, true);
        assert!(at(200).is_ok());
        assert!(at(201).unwrap_err().message.contains("a list may have 200"));
    }

    #[test]
    fn the_separator_parts_rows_evenly() {
        let of = |text| Separator::of(text, true);
        assert_eq!(
            of("Weg 5, Ort\nNr;Preis;x\n1;1,50;2\n2;2,50;3\n"),
            Separator::Semicolon
        );
        assert_eq!(of("a,b,c\n1,\"x;y\",3\n"), Separator::Comma);
        assert_eq!(of("a\tb\n1\t1,5\n2\t2,5\n"), Separator::Tab);
        assert_eq!(of("Nr;Preis\n1;1,50\n2;2,50\n"), Separator::Semicolon);
        assert_eq!(of(""), Separator::Comma);
    }
}
