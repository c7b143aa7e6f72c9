//! A sheet's XML with its changes: values into cells, rows added and taken out.

use super::pins::MOVED;
use super::place::{self, Area, after};
use super::xml::{CellXml, Other, Patch, RowXml, SheetXml, attribute, attributes, patched, value};
use quick_xml::escape::escape;
use std::collections::{BTreeMap, BTreeSet};

/// What a cell is to hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// The cell holds nothing.
    Empty,
    /// A number, as it is written.
    Number(String),
    /// A text.
    Text(String),
}

/// A cell that is written.
#[derive(Debug, Clone)]
pub struct NewCell {
    pub value: Value,
    /// The place of the cell's format in the workbook's list; none for the plain format.
    pub style: Option<usize>,
}

/// All changes of a sheet. Rows have the numbers from before any row is taken out.
#[derive(Debug, Default)]
pub struct Changes {
    /// Cells by row from 1, then column from 0.
    pub cells: BTreeMap<u64, BTreeMap<usize, NewCell>>,
    pub removed: BTreeSet<u64>,
}

/// The sheet with its changes. All else is the same, byte for byte, but for the
/// numbers of rows below a row that is taken out.
pub fn written(sheet: &SheetXml, changes: &Changes) -> String {
    let mut patches = Vec::new();
    for row in &sheet.rows {
        match changes.removed.contains(&row.number) {
            true => patches.push(Patch {
                bytes: row.bytes.clone(),
                new: String::new(),
            }),
            false => old_row(sheet, row, changes, &mut patches),
        }
    }
    let is_new = |number: &u64| sheet.row_at(*number).is_none();
    for (number, cells) in changes.cells.iter().filter(|(number, _)| is_new(number)) {
        let next = sheet.rows.partition_point(|row| row.number < *number);
        let at = sheet
            .rows
            .get(next)
            .map_or(sheet.rows_end, |row| row.bytes.start);
        patches.push(Patch {
            bytes: at..at,
            new: new_row(sheet, *number, cells, changes),
        });
    }
    for other in &sheet.others {
        if let Other::Tag { name, bytes } = other {
            tag(sheet.slice(bytes), bytes.start, name, changes, &mut patches);
        }
    }
    patched(&sheet.text, patches)
}

/// A row that stays: its new cells, and its number where rows above it go.
fn old_row(sheet: &SheetXml, row: &RowXml, changes: &Changes, patches: &mut Vec<Patch>) {
    let none = BTreeMap::new();
    let cells = changes.cells.get(&row.number).unwrap_or(&none);
    let number = after(row.number, &changes.removed);
    let mut new = |bytes, new| patches.push(Patch { bytes, new });
    let open = sheet.slice(&row.open);
    let mut tag_patches = Vec::new();
    if number != row.number {
        tag_patches.extend(attribute(open, "r").map(|bytes| Patch {
            bytes,
            new: number.to_string(),
        }));
    }
    tag_patches.extend(spans(open, cells.keys().next_back().copied()));
    for cell in row.cells.iter().filter(|_| number != row.number) {
        let tag = sheet.slice(&cell.open);
        if let Some(r) = attribute(tag, "r").filter(|_| !cells.contains_key(&cell.column)) {
            let at = cell.open.start;
            new(at + r.start..at + r.end, place::cell(number, cell.column));
        }
    }
    let mut inner = String::new();
    for (column, cell) in cells {
        let text = new_cell(sheet, number, *column, cell);
        let next = row.cells.partition_point(|old| old.column < *column);
        match (row.cells.get(next), row.end) {
            (Some(old), _) if old.column == *column => new(old.bytes.clone(), text),
            (Some(old), _) => new(old.bytes.start..old.bytes.start, text),
            (None, Some(end)) => new(end..end, text),
            (None, None) => inner.push_str(&text),
        }
    }
    let is_opened = row.end.is_none() && !inner.is_empty();
    if tag_patches.is_empty() && !is_opened {
        return;
    }
    let mut tag = patched(open, tag_patches);
    if is_opened {
        tag.truncate(tag.trim_end_matches("/>").trim_end().len());
        tag.push_str(&format!(">{inner}</{}row>", sheet.prefix));
    }
    new(row.open.clone(), tag);
}

/// How far the cells of a row reach, where the row says how far and they reach further.
fn spans(open: &str, last: Option<usize>) -> Option<Patch> {
    let bytes = attribute(open, "spans")?;
    let (from, to) = open.get(bytes.clone())?.split_once(':')?;
    let (to, last): (usize, usize) = (to.parse().ok()?, last? + 1);
    (last > to).then(|| Patch {
        bytes,
        new: format!("{from}:{last}"),
    })
}

fn new_row(
    sheet: &SheetXml,
    number: u64,
    cells: &BTreeMap<usize, NewCell>,
    changes: &Changes,
) -> String {
    let number = after(number, &changes.removed);
    let cells = cells.iter();
    let cells: String = cells
        .map(|(column, cell)| new_cell(sheet, number, *column, cell))
        .collect();
    let row = format!("{}row", sheet.prefix);
    format!("<{row} r=\"{number}\">{cells}</{row}>")
}

fn new_cell(sheet: &SheetXml, number: u64, column: usize, cell: &NewCell) -> String {
    let p = &sheet.prefix;
    let place = place::cell(number, column);
    let style = cell
        .style
        .map(|s| format!(" s=\"{s}\""))
        .unwrap_or_default();
    match &cell.value {
        Value::Empty => format!("<{p}c r=\"{place}\"{style}/>"),
        Value::Number(number) => format!("<{p}c r=\"{place}\"{style}><{p}v>{number}</{p}v></{p}c>"),
        Value::Text(text) => {
            let text = escaped(text);
            format!(
                "<{p}c r=\"{place}\"{style} t=\"inlineStr\"><{p}is>\
                 <{p}t xml:space=\"preserve\">{text}</{p}t></{p}is></{p}c>"
            )
        }
    }
}

/// A text as a cell holds it. A character that XML can't hold is written as `_xHHHH_`,
/// and so is a text that looks like such a code (ECMA-376 part 1, 22.9.2.19).
fn escaped(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for (at, c) in text.char_indices() {
        let rest = text.get(at..).unwrap_or("");
        let is_held = matches!(c, '\t' | '\n' | '\u{20}'..='\u{fffd}' | '\u{10000}'..);
        if !is_held || looks_escaped(rest) {
            plain.push_str(&format!("_x{:04X}_", u32::from(c)));
        } else {
            plain.push(c);
        }
    }
    escape(&plain).into_owned()
}

fn looks_escaped(text: &str) -> bool {
    let bytes = text.as_bytes();
    bytes.starts_with(b"_x")
        && bytes.get(6) == Some(&b'_')
        && bytes
            .get(2..6)
            .is_some_and(|digits| digits.iter().all(u8::is_ascii_hexdigit))
}

/// Moves the areas that an element outside of the rows names.
fn tag(tag: &str, start: usize, name: &str, changes: &Changes, patches: &mut Vec<Patch>) {
    for (attribute, bytes) in attributes(tag) {
        if !MOVED.contains(&(name, attribute)) {
            continue;
        }
        let said = tag.get(bytes.clone()).unwrap_or("");
        let new = match name {
            "dimension" => reach(said, changes),
            _ => moved(said, name, &changes.removed).unwrap_or_else(|| said.to_owned()),
        };
        if new != said {
            patches.push(Patch {
                bytes: start + bytes.start..start + bytes.end,
                new,
            });
        }
    }
}

/// The area in which all cells stand.
fn reach(said: &str, changes: &Changes) -> String {
    let Some(mut area) = Area::parse(said) else {
        return said.to_owned();
    };
    for (row, cells) in &changes.cells {
        for column in cells.keys() {
            if !area.holds(*row, *column) {
                area = area.with(*row, *column);
            }
        }
    }
    let area = area.without(&changes.removed);
    area.map_or_else(|| said.to_owned(), |area| area.to_string())
}

/// The areas once rows are taken out; none where nothing is left of them. What is
/// only shown, such as the selected cell, comes to stand on the next row.
fn moved(said: &str, name: &str, removed: &BTreeSet<u64>) -> Option<String> {
    if removed.is_empty() {
        return Some(said.to_owned());
    }
    let is_shown = ["pane", "selection", "sheetView"].contains(&name);
    let mut left = Vec::new();
    for one in said.split_whitespace() {
        let area = Area::parse(one)?;
        let next = || {
            let mut from = area.from;
            from.row = from.row.map(|row| after(row, removed));
            is_shown.then_some(Area { from, to: None })
        };
        left.extend(area.without(removed).or_else(next));
    }
    let left: Vec<String> = left.iter().map(ToString::to_string).collect();
    (!left.is_empty()).then(|| left.join(" "))
}

/// The first element outside of the rows of which nothing would be left.
pub fn vanishing(sheet: &SheetXml, removed: &BTreeSet<u64>) -> Option<String> {
    sheet.others.iter().find_map(|other| {
        let Other::Tag { name, bytes } = other else {
            return None;
        };
        let tag = sheet.slice(bytes);
        let mut areas = MOVED
            .iter()
            .filter(|(of, _)| of == name && *of != "dimension");
        let vanishes = areas.any(|(_, attribute)| {
            value(tag, attribute).is_some_and(|said| moved(said, name, removed).is_none())
        });
        vanishes.then(|| name.clone())
    })
}

/// The format of a cell.
pub fn style(cell: Option<&CellXml>) -> Option<usize> {
    cell.and_then(|cell| cell.style)
}
