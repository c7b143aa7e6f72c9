//! Random tables, random edits: what no edit names stays byte for byte, and the
//! reader finds the new values.

use couplet::diag::Findings;
use couplet::source::Source;
use couplet::table::{Col, EditedTable, Table, limits, one_spelling, unguarded};
use fastrand::Rng;

const PART: Col = Col::optional(0, "part");
const PRICE: Col = Col::optional(1, "price");
const NOTE: Col = Col::optional(2, "note");
const COLUMNS: [Col; 3] = [PART, PRICE, NOTE];
const NUMBERS: &[&str] = &["price"];

/// A line of the file, or several where a field goes over them.
#[derive(Debug, Clone)]
enum Chunk {
    /// A comment or a blank line, with its end.
    Kept(String),
    /// The bytes of each field, and the end of the line.
    Row(Vec<String>, String),
}

#[derive(Debug, Clone)]
struct File {
    mark: &'static str,
    separator: char,
    /// The decimal sign.
    sign: char,
    columns: Vec<&'static str>,
    /// The header row is the first row.
    chunks: Vec<Chunk>,
}

impl File {
    fn text_of(&self, chunk: &Chunk) -> String {
        match chunk {
            Chunk::Kept(text) => text.clone(),
            Chunk::Row(cells, end) => cells.join(&self.separator.to_string()) + end,
        }
    }

    fn text(&self) -> String {
        let chunks = self.chunks.iter().map(|chunk| self.text_of(chunk));
        self.mark.to_owned() + &chunks.collect::<String>()
    }

    /// What stands before a chunk, and the line that it begins at.
    fn before(&self, place: usize) -> (String, u64) {
        let chunks = self.chunks[..place].iter();
        let text: String = chunks.map(|chunk| self.text_of(chunk)).collect();
        let line = 1 + text.matches('\n').count() as u64;
        (self.mark.to_owned() + &text, line)
    }

    /// The places of rows that hold anything, without the header row.
    fn rows(&self) -> Vec<usize> {
        let is_row = |place: &usize| match &self.chunks[*place] {
            Chunk::Kept(_) => false,
            Chunk::Row(cells, _) => cells.iter().any(|cell| !field(cell).trim().is_empty()),
        };
        (0..self.chunks.len()).filter(is_row).skip(1).collect()
    }

    fn cells(&self, place: usize) -> &[String] {
        match &self.chunks[place] {
            Chunk::Row(cells, _) => cells,
            Chunk::Kept(_) => &[],
        }
    }

    fn is_whole(&self, place: usize) -> bool {
        self.cells(place).len() == self.columns.len()
    }

    /// Each whole row: its line, part, price and note.
    fn values(&self) -> Vec<(u64, [String; 3])> {
        let rows = self.rows().into_iter().filter(|row| self.is_whole(*row));
        let value = |row: usize, col: Col| {
            let at = self.columns.iter().position(|name| *name == col.name);
            let text = at.map_or(String::new(), |at| value(&self.cells(row)[at]));
            match col.name {
                "price" => text.replace(',', "."),
                _ => one_spelling(&text).into_owned(),
            }
        };
        rows.map(|row| (self.before(row).1, COLUMNS.map(|col| value(row, col))))
            .collect()
    }
}

/// What the bytes of a field stand for, by the library that the reader uses.
fn field(bytes: &str) -> String {
    // At the beginning of a text a byte-order mark would be taken off.
    let row = format!("x\0{bytes}");
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .delimiter(0)
        .from_reader(row.as_bytes());
    let record = reader.records().next().unwrap().unwrap();
    assert_eq!(record.len(), 2, "{bytes:?}");
    record[1].to_owned()
}

/// What a cell says.
fn value(bytes: &str) -> String {
    unguarded(&field(bytes)).trim().to_owned()
}

/// A text of characters that matter to a table.
fn any_text(rng: &mut Rng) -> String {
    const CHARACTERS: [&str; 20] = [
        "a", "b", "1", "2", " ", ",", ";", "\t", "\"", "'", "#", "=", "-", ".", "\n", "\r\n", "\r",
        "ü", "\u{feff}", "\u{a0}",
    ];
    let length = rng.usize(0..7);
    (0..length)
        .map(|_| CHARACTERS[rng.usize(0..CHARACTERS.len())])
        .collect()
}

/// The bytes of a cell: with or without quotes, whether it needs them or not.
fn any_cell(rng: &mut Rng, separator: char, is_first: bool) -> String {
    let text = any_text(rng);
    if rng.u8(0..3) == 0 {
        let tail = if rng.u8(0..4) == 0 { " x\"y" } else { "" };
        return format!("\"{}\"{tail}", text.replace('"', "\"\""));
    }
    let plain = text.replace([separator, '\r', '\n'], "");
    let plain = plain.trim_start_matches('"');
    match is_first {
        true => plain.trim_start_matches(['#', '\u{feff}', '"']).to_owned(),
        false => plain.to_owned(),
    }
}

fn any_price(rng: &mut Rng) -> String {
    let decimals = ["", ".5", ".25", ".50", ".0"][rng.usize(0..5)];
    format!("{}{decimals}", rng.u8(0..100))
}

fn any_end(rng: &mut Rng) -> String {
    ["\n", "\r\n"][rng.usize(0..2)].to_owned()
}

fn any_file(rng: &mut Rng) -> File {
    let separator = [',', ';', '\t'][rng.usize(0..3)];
    let mut columns = vec!["part", "price", "note"];
    rng.shuffle(&mut columns);
    columns.truncate(rng.usize(2..4));
    let mut file = File {
        mark: ["", "\u{feff}"][rng.usize(0..2)],
        separator,
        sign: if separator == ',' || rng.bool() {
            '.'
        } else {
            ','
        },
        columns,
        chunks: Vec::new(),
    };
    for _ in 0..rng.usize(0..3) {
        let text = ["# a, b;\tc \"", "", "#", "  "][rng.usize(0..4)];
        file.chunks
            .push(Chunk::Kept(text.to_owned() + &any_end(rng)));
    }
    let names = file.columns.iter();
    let names = names.map(|name| [format!("\"{name}\""), format!(" {name}")]);
    let names = names.map(|both| both[rng.usize(0..2)].clone()).collect();
    file.chunks.push(Chunk::Row(names, any_end(rng)));
    for _ in 0..rng.usize(0..7) {
        let chunk = any_chunk(rng, &file);
        file.chunks.push(chunk);
    }
    // The last line may lack its end.
    if rng.bool()
        && let Some(Chunk::Kept(end) | Chunk::Row(_, end)) = file.chunks.last_mut()
    {
        end.truncate(end.trim_end_matches(['\r', '\n']).len());
    }
    file
}

fn any_chunk(rng: &mut Rng, file: &File) -> Chunk {
    let end = any_end(rng);
    let blank = file.separator.to_string().repeat(file.columns.len() - 1);
    match rng.u8(0..10) {
        0 => Chunk::Kept(format!("# a \" '{}{end}", file.separator)),
        1 => Chunk::Kept(end),
        2 => Chunk::Kept(format!("{blank}{end}")),
        3 => {
            let width = file.columns.len() - 1 + [0, 2, 3][rng.usize(0..3)];
            let cell = |place| any_cell(rng, file.separator, place == 0);
            Chunk::Row((0..width).map(cell).collect(), end)
        }
        _ => {
            let names = file.columns.iter().enumerate();
            let cell = |(place, name): (usize, &&str)| match *name {
                "price" => any_price(rng).replace('.', &file.sign.to_string()),
                _ => any_cell(rng, file.separator, place == 0),
            };
            Chunk::Row(names.map(cell).collect(), end)
        }
    }
}

/// What the project's own reader finds in the rows that it can tell apart.
fn read(text: &str) -> Vec<(u64, [String; 3])> {
    let mut findings = Findings::default();
    let bytes = text.as_bytes().to_vec();
    let source = Source::from_bytes(&"t.csv".into(), bytes, &mut findings).unwrap();
    let mut table = Table::open(&source, &COLUMNS, &mut findings).unwrap();
    let mut rows = Vec::new();
    while let Some(mut row) = table.next(&mut findings) {
        if row.is_ragged() {
            continue;
        }
        // The price is a number to the reader: one decimal sign in the whole file.
        let price = row.number(PRICE, &limits::MONEY);
        assert!(row.peek(PRICE).is_empty() || price.is_some(), "{text:?}");
        let price = price.map(|_| row.peek(PRICE).replace(',', "."));
        let texts = [PART, NOTE].map(|col| row.peek(col).to_owned());
        let [part, note] = texts;
        rows.push((row.place().line, [part, price.unwrap_or_default(), note]));
    }
    rows
}

fn open(text: &str) -> EditedTable {
    EditedTable::open(text, NUMBERS).unwrap()
}

/// A value that a cell of the column can have.
fn any_value(rng: &mut Rng, column: &str) -> String {
    match column {
        "price" => any_price(rng),
        _ => any_text(rng).trim().to_owned(),
    }
}

/// Writes one cell: all bytes before it and after it are as they were.
fn set_one(rng: &mut Rng, file: &mut File) {
    let rows = file.rows();
    let Some(&row) = rows.get(rng.usize(0..rows.len().max(1))) else {
        return;
    };
    let at = rng.usize(0..file.columns.len());
    let column = file.columns[at];
    let new = any_value(rng, column);
    let ((mut before, line), old) = (file.before(row), file.text());
    let mut table = open(&old);
    if !file.is_whole(row) {
        assert!(table.set(line, column, &new).is_err(), "{old:?}");
        return assert_eq!(table.text(), old);
    }
    let was = file.cells(row)[at].clone();
    for cell in &file.cells(row)[..at] {
        before += cell;
        before.push(file.separator);
    }
    let after = &old[before.len() + was.len()..];
    table.set(line, column, &new).unwrap();
    let text = table.text();
    let cell = text
        .strip_prefix(&before)
        .and_then(|t| t.strip_suffix(after));
    let cell = cell
        .unwrap_or_else(|| panic!("{old:?}\n{text:?}"))
        .to_owned();
    let expected = match column {
        "price" => new.replace('.', &sign(file).to_string()),
        _ => new.clone(),
    };
    if value(&cell) != expected {
        // Another spelling of the same number stays.
        assert_eq!((column, &cell), ("price", &was));
        let number = |text: &str| text.replace(',', ".").parse::<f64>().unwrap();
        assert_eq!(number(&cell), number(&new));
    }
    if value(&was) == expected {
        assert_eq!(cell, was);
    } else if column != "price" && cell.starts_with('"') {
        let must = ['"', '\r', '\n', file.separator];
        assert!(new.contains(must) || new.trim_start_matches('\'').starts_with('#'));
    }
    if let Chunk::Row(cells, _) = &mut file.chunks[row] {
        cells[at] = cell;
    }
}

/// The decimal sign that is written: that of the first price with one.
fn sign(file: &File) -> char {
    let at = file.columns.iter().position(|name| *name == "price");
    let rows = file.rows().into_iter().filter(|row| file.is_whole(*row));
    let prices = rows.filter_map(|row| Some(file.cells(row)[at?].clone()));
    let seen = prices
        .into_iter()
        .find_map(|p| p.chars().find(|c| ".,".contains(*c)));
    match file.separator {
        ',' => '.',
        _ => seen.unwrap_or(','),
    }
}

/// Takes one row out.
fn remove_one(rng: &mut Rng, file: &mut File) {
    let rows = file.rows();
    if let Some(&row) = rows.get(rng.usize(0..rows.len().max(1))) {
        let mut table = open(&file.text());
        table.remove(file.before(row).1).unwrap();
        assert_eq!(table.rows(), rows.len() - 1);
        file.chunks.remove(row);
        assert_eq!(table.text(), file.text());
    }
}

/// Adds one row: the text before is as it was, and so far it has a line end.
fn add_one(rng: &mut Rng, file: &mut File) {
    let values: Vec<(&str, String)> = file
        .columns
        .iter()
        .map(|c| (*c, any_value(rng, c)))
        .collect();
    let row: Vec<(&str, &str)> = values.iter().map(|(c, v)| (*c, v.as_str())).collect();
    let old = file.text();
    let mut table = open(&old);
    table.add(&row).unwrap();
    let text = table.text();
    let new = text.strip_prefix(&old).unwrap();
    let rest = new.trim_start_matches(['\r', '\n']);
    let lead = &new[..new.len() - rest.len()];
    assert_eq!(lead.is_empty(), old.ends_with('\n'), "{old:?}\n{text:?}");
    let end = if rest.ends_with("\r\n") { "\r\n" } else { "\n" };
    let written: Vec<String> = cells_of(rest.strip_suffix(end).unwrap(), file.separator);
    assert_eq!(written.len(), file.columns.len());
    let sign = sign(file).to_string();
    for ((column, new), cell) in values.iter().zip(&written) {
        let new = match *column {
            "price" => new.replace('.', &sign),
            _ => new.clone(),
        };
        assert_eq!(unguarded(&field(cell)), new);
    }
    if let Some(Chunk::Kept(last) | Chunk::Row(_, last)) = file.chunks.last_mut() {
        *last += lead;
    }
    file.chunks.push(Chunk::Row(written, end.to_owned()));
    assert_eq!(file.text(), text);
}

/// The fields of a row that was written, where all quotes are in pairs.
fn cells_of(row: &str, separator: char) -> Vec<String> {
    let (mut cells, mut quotes) = (vec![String::new()], 0);
    for character in row.chars() {
        quotes += usize::from(character == '"');
        if character == separator && quotes % 2 == 0 {
            cells.push(String::new());
        } else if let Some(cell) = cells.last_mut() {
            cell.push(character);
        }
    }
    cells
}

/// Adds the column that is missing: each row gets one separator.
fn add_column(file: &mut File) {
    let all = ["part", "price", "note"];
    let Some(new) = all.into_iter().find(|c| !file.columns.contains(c)) else {
        return;
    };
    let before = file.text();
    let mut table = open(&before);
    table.ensure(new).unwrap();
    let header = (0..file.chunks.len()).find(|at| matches!(file.chunks[*at], Chunk::Row(..)));
    let rows = file.rows();
    for (cell, row) in std::iter::once((new, header.unwrap())).chain(rows.iter().map(|r| ("", *r)))
    {
        if let Chunk::Row(cells, _) = &mut file.chunks[row] {
            cells.push(cell.to_owned());
        }
    }
    file.columns.push(new);
    let after = file.text();
    assert_eq!(table.text(), after);
    // Taken back, nothing is left of it.
    let after = open(&after);
    assert_eq!(after.without_last(new).as_deref(), Some(before.as_str()));
    assert_eq!(after.without_last("other"), None);
}

#[test]
fn a_column_is_taken_back_where_it_is_the_last_and_empty() {
    let last = |text: &str| open(text).without_last("note");
    assert_eq!(last("part,note\nA,\n").as_deref(), Some("part\nA\n"));
    assert_eq!(last("part,note\nA,x\n"), None);
    assert_eq!(last("note,part\n,A\n"), None);
    assert_eq!(last("part,note\nA\n"), None);
    assert_eq!(last("note\n"), None);
    let text = "\u{feff}# a\r\npart;price;note\r\n\r\n\"A;1\";2,5;\r\nB;1;";
    let want = "\u{feff}# a\r\npart;price\r\n\r\n\"A;1\";2,5\r\nB;1";
    assert_eq!(last(text).as_deref(), Some(want));
}

#[test]
fn one_edit_after_the_other() {
    for seed in 0..1_000 {
        let mut rng = Rng::with_seed(seed);
        let mut file = any_file(&mut rng);
        assert_eq!(open(&file.text()).text(), file.text(), "seed {seed}");
        for _ in 0..6 {
            match rng.u8(0..8) {
                0 => remove_one(&mut rng, &mut file),
                1 | 2 => add_one(&mut rng, &mut file),
                3 => add_column(&mut file),
                _ => set_one(&mut rng, &mut file),
            }
            let text = file.text();
            assert_eq!(read(&text), file.values(), "seed {seed}: {text:?}");
            assert_eq!(open(&text).rows(), file.rows().len(), "seed {seed}");
        }
    }
}

/// Many edits at once come to the same as one at a time, the last row first, so
/// that the rows above keep their lines.
#[test]
fn all_edits_at_once() {
    for seed in 0..1_000 {
        let mut rng = Rng::with_seed(seed);
        let file = any_file(&mut rng);
        let (mut text, mut at_once) = (file.text(), open(&file.text()));
        // One sign from the start, so that no edit tells another one.
        if file.separator != ',' && sign(&file) != ',' {
            continue;
        }
        for row in file.rows().into_iter().rev() {
            let line = file.before(row).1;
            let mut alone = open(&text);
            if rng.u8(0..4) == 0 {
                alone.remove(line).unwrap();
                at_once.remove(line).unwrap();
            } else if file.is_whole(row) {
                let column = file.columns[rng.usize(0..file.columns.len())];
                let value = any_value(&mut rng, column);
                alone.set(line, column, &value).unwrap();
                at_once.set(line, column, &value).unwrap();
            }
            text = alone.text();
        }
        assert_eq!(at_once.text(), text, "seed {seed}");
    }
}

/// Whatever the bytes are, the text without an edit is the text; and the rows
/// are those of the reader.
#[test]
fn any_text_that_opens_comes_back() {
    let mut opened = 0;
    for seed in 0..20_000 {
        let mut rng = Rng::with_seed(seed);
        let head = ["part,price\n", "part;price\r\n", "part\tprice\n", ""][rng.usize(0..4)];
        let text: String = (0..rng.usize(0..6)).map(|_| any_text(&mut rng)).collect();
        let text = head.to_owned() + &text;
        let Ok(table) = EditedTable::open(&text, NUMBERS) else {
            continue;
        };
        opened += 1;
        assert_eq!(table.text(), text);
        let mut findings = Findings::default();
        let bytes = text.as_bytes().to_vec();
        let source = Source::from_bytes(&"t.csv".into(), bytes, &mut findings).unwrap();
        let Some(mut read) = Table::open(&source, &COLUMNS, &mut findings) else {
            continue;
        };
        let mut rows = 0;
        while read.next(&mut findings).is_some() {
            rows += 1;
        }
        assert_eq!(table.rows(), rows, "seed {seed}: {text:?}");
    }
    assert!(opened > 10_000, "{opened}");
}
