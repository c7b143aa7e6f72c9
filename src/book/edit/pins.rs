//! What points at rows of a sheet and can't be moved along when a row goes.

use super::error::SheetEditError;
use super::package::{Package, tags};
use super::place::{Area, names_rows};
use super::xml::{Formula, Other, SheetXml, attributes, value};
use quick_xml::Reader;
use quick_xml::escape::unescape;
use quick_xml::events::Event;

/// Something that points at rows.
#[derive(Debug, Clone)]
pub struct Pin {
    /// What the pin is, in words that stand in a message.
    pub what: String,
    /// The last row that the pin points at; none where that can't be told.
    pub last: Option<u64>,
}

impl Pin {
    /// True if the pin may point at this row or a row below.
    pub fn holds(&self, row: u64) -> bool {
        self.last.is_none_or(|last| last >= row)
    }
}

/// Elements outside of the rows whose areas move along, each with the attribute of the area.
pub const MOVED: [(&str, &str); 11] = [
    ("autoFilter", "ref"),
    ("conditionalFormatting", "sqref"),
    ("dataValidation", "sqref"),
    ("dimension", "ref"),
    ("hyperlink", "ref"),
    ("ignoredError", "sqref"),
    ("mergeCell", "ref"),
    ("pane", "topLeftCell"),
    ("selection", "activeCell"),
    ("selection", "sqref"),
    ("sheetView", "topLeftCell"),
];

/// Elements whose attributes are no places, whatever they look like.
const PLAIN: [&str; 4] = ["worksheet", "sheetPr", "headerFooter", "pageSetup"];

/// Kinds of parts that belong to a sheet and hold no places in it.
const HARMLESS: [&str; 2] = ["hyperlink", "printerSettings"];

/// Everything that points at rows of the sheet.
pub fn pins(package: &Package, part: &str, name: &str, sheet: &SheetXml) -> Found {
    let mut pins = formulas(sheet);
    pins.extend(others(sheet));
    for relation in package.relations(part)? {
        if !HARMLESS.contains(&relation.kind.as_str()) {
            pins.push(Pin {
                what: format!("a part of the sheet ({})", relation.kind),
                last: None,
            });
        }
    }
    pins.extend(names(package, name)?);
    pins.extend(elsewhere(package, part, name)?);
    Ok(pins)
}

type Found = Result<Vec<Pin>, SheetEditError>;

/// Formulas of the sheet itself.
fn formulas(sheet: &SheetXml) -> Vec<Pin> {
    let mut pins = Vec::new();
    for row in &sheet.rows {
        for cell in row.cells.iter().filter(|cell| cell.formula.is_some()) {
            let text = formula_text(sheet.slice(&cell.bytes));
            if cell.formula == Some(Formula::Shared) || text.is_empty() || names_rows(&text) {
                let place = super::place::cell(row.number, cell.column);
                pins.push(Pin {
                    what: format!("the formula in cell {place}"),
                    last: None,
                });
            }
        }
    }
    pins
}

/// The text of the formula in a cell; empty where another cell has it.
fn formula_text(cell: &str) -> String {
    let mut reader = Reader::from_str(cell);
    let (mut text, mut is_formula) = (String::new(), false);
    loop {
        match reader.read_event() {
            Ok(Event::Start(tag)) => is_formula = tag.local_name().as_ref() == "f",
            Ok(Event::End(_)) => is_formula = false,
            Ok(Event::Text(t)) if is_formula => text.push_str(&t),
            Ok(Event::GeneralRef(entity)) if is_formula => {
                text.push_str(if entity.as_ref() == "quot" { "\"" } else { " " });
            }
            Ok(Event::Eof) | Err(_) => return text,
            Ok(_) => {}
        }
    }
}

/// What stands outside of the rows and is not known to move along.
fn others(sheet: &SheetXml) -> Vec<Pin> {
    let mut pins = Vec::new();
    for other in &sheet.others {
        let (name, last) = match other {
            Other::Tag { name, bytes } if !PLAIN.contains(&name.as_str()) => {
                let tag = sheet.slice(bytes);
                let unmoved = attributes(tag)
                    .filter(|(attribute, _)| !attribute.contains(':'))
                    .filter(|(attribute, _)| !MOVED.contains(&(name.as_str(), *attribute)));
                let values = unmoved.filter_map(|(_, bytes)| tag.get(bytes));
                let areas = values
                    .flat_map(str::split_whitespace)
                    .filter_map(Area::parse);
                let breaks = value(tag, "id").filter(|_| name == "brk");
                let last = areas.filter_map(|area| area.last_row()).max();
                (name, last.or_else(|| breaks.and_then(|id| id.parse().ok())))
            }
            Other::Text { name, bytes }
                if !name.ends_with("Header") && !name.ends_with("Footer") =>
            {
                let text = unescape(sheet.slice(bytes)).unwrap_or_default();
                (name, names_rows(&text).then_some(u64::MAX))
            }
            _ => continue,
        };
        if let Some(last) = last {
            let what = format!("the element {name} of the sheet");
            pins.push(Pin {
                what,
                last: Some(last),
            });
        }
    }
    pins
}

/// Names of the workbook for rows of the sheet.
fn names(package: &Package, sheet: &str) -> Found {
    let text = package.text(&package.workbook)?;
    let mut pins = Vec::new();
    for bytes in tags(&text, "definedName")? {
        let tag = text.get(bytes.clone()).unwrap_or("");
        let rest = text.get(bytes.end..).unwrap_or("");
        let said = rest.split_once('<').map_or("", |(said, _)| said);
        let said = unescape(said).unwrap_or_default();
        if mentions(&said, sheet) {
            let name = value(tag, "name").unwrap_or("");
            pins.push(Pin {
                what: format!("the name {name} of the workbook"),
                last: last_row(&said),
            });
        }
    }
    Ok(pins)
}

/// The last row in a list of areas of one sheet; none where the text is anything else.
fn last_row(said: &str) -> Option<u64> {
    let mut last = 0;
    // A comma in a quoted name makes an area unreadable, so the answer is none.
    for one in said.split(',') {
        let area = one.rsplit('!').next().and_then(Area::parse)?;
        last = last.max(area.last_row().unwrap_or(u64::MAX));
    }
    Some(last)
}

/// Other parts that name the sheet: formulas, charts, pivot tables.
fn elsewhere(package: &Package, part: &str, sheet: &str) -> Found {
    let is_own = |name: &str| {
        let name = name.rsplit('/').next().unwrap_or("");
        ["sharedStrings.xml", "styles.xml", "theme1.xml"].contains(&name)
    };
    let mut pins = Vec::new();
    for name in package.names() {
        let is_part = name.to_ascii_lowercase().ends_with(".xml") && !name.starts_with("docProps/");
        if !is_part || is_own(name) || name == part || name == package.workbook {
            continue;
        }
        let text = package.text(name)?;
        let text = unescape(&text).map_or_else(|_| text.clone(), |plain| plain.into_owned());
        if mentions(&text, sheet) || text.contains(&format!("sheet=\"{sheet}\"")) {
            pins.push(Pin {
                what: format!("the part {name} of the workbook"),
                last: None,
            });
        }
    }
    Ok(pins)
}

/// True if a formula in the text names the sheet: `orders!A1`, `'my orders'!A1`.
fn mentions(text: &str, sheet: &str) -> bool {
    let (text, sheet) = (text.to_lowercase(), sheet.to_lowercase());
    let quoted = sheet.replace('\'', "''");
    [format!("{sheet}!"), format!("{quoted}'!")]
        .iter()
        .any(|name| text.contains(name))
        || names_several(&text)
}

/// True if a formula in the text may name sheets from one to another, and so perhaps
/// this sheet: `first:last!A1`, `'the first:the last'!A1`.
fn names_several(text: &str) -> bool {
    let is_word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | ':');
    text.match_indices('!').any(|(at, _)| {
        let before = text.get(..at).unwrap_or("");
        let name = match before.strip_suffix('\'') {
            Some(quoted) => quoted.rsplit('\'').next().unwrap_or(""),
            None => {
                let kept = before.trim_end_matches(is_word).len();
                before.get(kept..).unwrap_or("")
            }
        };
        name.contains(':')
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_is_named_however_it_is_written() {
        for text in [
            "<f>my stock!A1</f>",
            "SUM('My Stock'!A1:A9)",
            "first:last!A1",
            "'the first:the last'!A1",
        ] {
            assert!(mentions(text, "My Stock"), "{text}");
        }
        assert!(mentions("'it''s'!A1", "it's"));
        for text in ["other!A1", "A1:B2", "<!-- a:b -->", "hello!", "stocks !"] {
            assert!(!mentions(text, "stock"), "{text}");
        }
        assert_eq!(last_row("t!$A$1:$B$7,t!$C$9"), Some(9));
        assert_eq!(last_row("OFFSET(t!$A$1,1,1)"), None);
        assert_eq!(last_row("t!$A:$B"), Some(u64::MAX));
    }
}
