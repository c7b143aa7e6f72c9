//! A table file that is changed in place: comments, blank lines, the order of
//! columns, the separator and every row that is not touched stay as they are.
//!
//! Only for a text that was read as a table without errors: then each row is
//! one line.

use super::header;

/// The lines of a table file.
#[derive(Debug, Clone)]
pub struct Sheet {
    separator: u8,
    mark: bool,
    ending: &'static str,
    header: Vec<String>,
    lines: Vec<Line>,
}

#[derive(Debug, Clone)]
enum Line {
    /// A comment or a blank line, as it stands, with its end.
    Kept(String),
    /// A row as it stands, and its fields; the text goes once they change.
    Row(Option<String>, Vec<String>),
}

impl Sheet {
    /// A file with a header row alone.
    pub fn new(columns: &[&str]) -> Sheet {
        Sheet {
            separator: b',',
            mark: false,
            ending: "\n",
            header: columns.iter().map(|c| (*c).to_owned()).collect(),
            lines: vec![Line::Row(None, owned(columns))],
        }
    }

    /// Takes a file apart; none where it has no header row.
    pub fn parse(text: &str) -> Option<Sheet> {
        let bare = text.strip_prefix('\u{feff}').unwrap_or(text);
        let separator = header::separator(bare);
        let mut header: Option<Vec<String>> = None;
        let mut lines = Vec::new();
        for raw in bare.split_inclusive('\n') {
            let fields = fields(raw, separator).filter(|_| !raw.starts_with('#'));
            let Some(fields) = fields else {
                lines.push(Line::Kept(raw.to_owned()));
                continue;
            };
            if header.is_none() {
                header = Some(fields.clone());
            }
            lines.push(Line::Row(Some(raw.to_owned()), fields));
        }
        Some(Sheet {
            separator,
            mark: bare.len() < text.len(),
            ending: if bare.contains("\r\n") { "\r\n" } else { "\n" },
            header: header?,
            lines,
        })
    }

    /// How many rows there are, the header row left out.
    pub fn rows(&self) -> usize {
        let rows = self.lines.iter().filter(|l| matches!(l, Line::Row(..)));
        rows.count().saturating_sub(1)
    }

    /// The decimal sign of the file: a comma only where it separates no
    /// columns and no number has a point.
    fn sign(&self, columns: &[&str]) -> char {
        if self.separator == b',' {
            return '.';
        }
        let places: Vec<usize> = columns.iter().filter_map(|c| self.place(c)).collect();
        let has_point = self.lines.iter().any(|line| match line {
            Line::Row(_, fields) => places
                .iter()
                .filter_map(|&p| fields.get(p))
                .any(|field| field.contains('.')),
            Line::Kept(_) => false,
        });
        if has_point { '.' } else { ',' }
    }

    /// A number as this file writes it; `columns` are those with numbers.
    pub fn number(&self, text: &str, columns: &[&str]) -> String {
        match self.sign(columns) {
            ',' => text.replace('.', ","),
            _ => text.to_owned(),
        }
    }

    fn place(&self, column: &str) -> Option<usize> {
        self.header.iter().position(|name| name == column)
    }

    /// Adds the column at the end, empty in all rows, unless it is there.
    pub fn ensure(&mut self, column: &str) {
        if self.place(column).is_some() {
            return;
        }
        self.header.push(column.to_owned());
        let width = self.header.len();
        let mut is_header = true;
        for line in &mut self.lines {
            if let Line::Row(raw, fields) = line {
                *raw = None;
                fields.resize(width, String::new());
                if is_header {
                    fields.clone_from(&self.header);
                    is_header = false;
                }
            }
        }
    }

    /// Writes a field of a row, counted from 0 without the header row.
    pub fn set(&mut self, row: usize, column: &str, value: &str) {
        let Some(place) = self.place(column) else {
            return;
        };
        let rows = self.lines.iter_mut().filter_map(|line| match line {
            Line::Row(raw, fields) => Some((raw, fields)),
            Line::Kept(_) => None,
        });
        if let Some((raw, fields)) = rows.skip(1).nth(row)
            && let Some(field) = fields.get_mut(place)
        {
            *field = value.to_owned();
            *raw = None;
        }
    }

    /// Adds a row at the end; columns that the file does not have are left out.
    pub fn push(&mut self, values: &[(&str, String)]) {
        let value = |name: &String| {
            let found = values.iter().find(|(column, _)| column == name);
            found.map_or_else(String::new, |(_, value)| value.clone())
        };
        let fields = self.header.iter().map(value).collect();
        self.lines.push(Line::Row(None, fields));
    }

    /// The whole file.
    ///
    /// # Errors
    /// What the writer says; none in memory.
    pub fn text(&self) -> Result<String, csv::Error> {
        let mut text = String::from(if self.mark { "\u{feff}" } else { "" });
        let start = text.len();
        for line in &self.lines {
            // The last line of the old file may lack its end.
            if text.len() > start && !text.ends_with('\n') {
                text.push_str(self.ending);
            }
            match line {
                Line::Kept(raw) | Line::Row(Some(raw), _) => text.push_str(raw),
                Line::Row(None, fields) => {
                    text.push_str(&self.line(fields)?);
                    text.push_str(self.ending);
                }
            }
        }
        Ok(text)
    }

    fn line(&self, fields: &[String]) -> Result<String, csv::Error> {
        let mut writer = csv::WriterBuilder::new()
            .delimiter(self.separator)
            .comment(Some(b'#'))
            .from_writer(Vec::new());
        writer.write_record(fields)?;
        let bytes = writer.into_inner().map_err(|e| e.into_error())?;
        let line = String::from_utf8_lossy(&bytes);
        Ok(line.trim_end_matches(['\r', '\n']).to_owned())
    }
}

fn owned(columns: &[&str]) -> Vec<String> {
    columns.iter().map(|c| (*c).to_owned()).collect()
}

/// The fields of a line without the spaces around them; none for a blank one.
fn fields(raw: &str, separator: u8) -> Option<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .delimiter(separator)
        .from_reader(raw.as_bytes());
    let record = reader.records().next()?.ok()?;
    let fields: Vec<String> = record.iter().map(|f| f.trim().to_owned()).collect();
    fields.iter().any(|f| !f.is_empty()).then_some(fields)
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "\u{feff}# what is ordered\r\nqty;part ; unit_price\r\n\r\n3; P-1 ;1,5\r\n;;\r\n\"4\";\"P;2\";2";

    #[test]
    fn what_is_not_touched_stays_byte_for_byte() {
        let sheet = Sheet::parse(FILE).unwrap();
        assert_eq!(sheet.rows(), 2);
        assert_eq!(sheet.text().unwrap(), FILE);
    }

    #[test]
    fn a_field_and_a_row() {
        let mut sheet = Sheet::parse(FILE).unwrap();
        sheet.set(1, "qty", "5");
        let price = sheet.number("0.25", &["qty", "unit_price"]);
        sheet.push(&[("part", "#3".into()), ("unit_price", price)]);
        let text = sheet.text().unwrap();
        assert!(text.starts_with(&FILE[..FILE.len() - 11]), "{text}");
        assert!(
            text.ends_with("\r\n5;\"P;2\";2\r\n;\"#3\";0,25\r\n"),
            "{text}"
        );
    }

    #[test]
    fn a_column_is_added_once() {
        let mut sheet = Sheet::parse("# c\npart,qty\nP-1,2\n").unwrap();
        sheet.ensure("received");
        sheet.ensure("received");
        sheet.set(0, "received", "1");
        assert_eq!(sheet.text().unwrap(), "# c\npart,qty,received\nP-1,2,1\n");
    }

    #[test]
    fn a_code_that_looks_like_a_comment_is_quoted() {
        let mut sheet = Sheet::new(&["part", "qty"]);
        sheet.push(&[("part", "#1".into()), ("qty", "2".into())]);
        assert_eq!(sheet.text().unwrap(), "part,qty\n\"#1\",2\n");
    }

    #[test]
    fn a_point_stays_a_point() {
        let sheet = Sheet::parse("part;unit_price\nP;1.5\n").unwrap();
        assert_eq!(sheet.number("2.5", &["unit_price"]), "2.5");
        let sheet = Sheet::parse("part,unit_price\nP,1.5\n").unwrap();
        assert_eq!(sheet.number("2.5", &["unit_price"]), "2.5");
    }

    #[test]
    fn no_header_row_is_no_sheet() {
        assert!(Sheet::parse("").is_none());
        assert!(Sheet::parse("# only\n\n").is_none());
    }
}
