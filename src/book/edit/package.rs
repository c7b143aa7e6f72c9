//! The parts of a workbook: which of them is a sheet, and a copy of all with some
//! of them changed (ECMA-376 part 2; part 1, 12.3 and 18.2).

use super::error::SheetEditError;
use super::xml::{Patch, patched, unclear, value};
use crate::book::archive;
use crate::book::error::BookError;
use crate::book::places;
use quick_xml::Reader;
use quick_xml::escape::unescape;
use quick_xml::events::Event;
use std::collections::BTreeMap;
use std::io::{Cursor, Read, Write};
use std::ops::Range;
use zip::{ZipArchive, ZipWriter};

const TYPES: &str = "[Content_Types].xml";

/// A workbook with its parts.
#[derive(Debug, Clone)]
pub struct Package {
    bytes: Vec<u8>,
    /// Names of all parts.
    names: Vec<String>,
    /// Name of the part that lists the sheets.
    pub workbook: String,
}

/// A relationship of a part.
#[derive(Debug)]
pub struct Relation {
    id: String,
    /// The last word of the relationship's type: `worksheet`.
    pub kind: String,
    /// Name of the part that the relationship leads to.
    target: String,
    bytes: Range<usize>,
}

impl Package {
    /// Opens a workbook, held to the limits of reading.
    pub fn open(bytes: &[u8]) -> Result<Self, SheetEditError> {
        archive::check(bytes)?;
        places::check(bytes)?;
        let archive = zip(bytes)?;
        let names = archive.file_names();
        let names = names.map(|name| name.map(std::borrow::Cow::into_owned));
        let names = names.collect::<Result<_, _>>().map_err(broken)?;
        let mut package = Package {
            bytes: bytes.to_owned(),
            names,
            workbook: String::new(),
        };
        if package
            .names
            .iter()
            .any(|name| name.starts_with("_xmlsignatures/"))
        {
            return Err(SheetEditError::Signed);
        }
        let root = package.relations("")?;
        let workbook = root.into_iter().find(|r| r.kind == "officeDocument");
        let workbook = workbook.ok_or(unclear("it has no list of sheets"))?;
        package.workbook = package.found(&workbook.target)?;
        Ok(package)
    }

    /// The whole workbook, as it was opened.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Names of all parts.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.names.iter().map(String::as_str)
    }

    /// The part of a sheet by its name, in upper or lower case, and the name as it is
    /// written. Of several such sheets, the first is given, as in reading.
    pub fn sheet(&self, name: &str) -> Result<(String, String), SheetEditError> {
        let lower = name.to_lowercase();
        let relations = self.relations(&self.workbook)?;
        let text = self.text(&self.workbook)?;
        for tag in tags(&text, "sheet")? {
            let written = text.get(tag).unwrap_or("");
            let said = value(written, "name").and_then(|name| unescape(name).ok());
            let id = ["r:id", "id"]
                .into_iter()
                .find_map(|name| value(written, name));
            let (Some(said), Some(id)) = (said, id) else {
                return Err(unclear("a sheet has no name or no part"));
            };
            let part = relations
                .iter()
                .find(|r| r.id == id && r.kind == "worksheet");
            if let Some(part) = part.filter(|_| said.trim().to_lowercase() == lower) {
                return Ok((self.found(&part.target)?, said.into_owned()));
            }
        }
        Err(SheetEditError::NoSheet {
            sheet: name.to_owned(),
        })
    }

    /// The relationships of a part; empty where no other part lists them.
    pub fn relations(&self, part: &str) -> Result<Vec<Relation>, SheetEditError> {
        let list = relations_of(part);
        let Some(list) = self.find(&list) else {
            return Ok(Vec::new());
        };
        let text = self.text(list)?;
        let folder = part.rsplit_once('/').map_or("", |(folder, _)| folder);
        let mut relations = Vec::new();
        for bytes in tags(&text, "Relationship")? {
            let tag = text.get(bytes.clone()).unwrap_or("");
            let of = |name| value(tag, name).unwrap_or("");
            relations.push(Relation {
                id: of("Id").to_owned(),
                kind: of("Type").rsplit('/').next().unwrap_or("").to_owned(),
                target: resolved(folder, of("Target")),
                bytes,
            });
        }
        Ok(relations)
    }

    /// A part as text.
    pub fn text(&self, name: &str) -> Result<String, SheetEditError> {
        let mut archive = zip(&self.bytes)?;
        let mut entry = archive.by_name(name).map_err(broken)?;
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).map_err(broken)?;
        String::from_utf8(bytes).map_err(|_| unclear("a part of it is not in UTF-8"))
    }

    /// The changes that take out the order of calculation. A formula that went must not
    /// stand in that order; an office program makes the order anew.
    pub fn without_chain(&self) -> Result<BTreeMap<String, Change>, SheetEditError> {
        let mut changes = BTreeMap::new();
        let relations = self.relations(&self.workbook)?;
        let Some(chain) = relations.iter().find(|r| r.kind == "calcChain") else {
            return Ok(changes);
        };
        let list = relations_of(&self.workbook);
        let cut = |text: &str, bytes: Range<usize>| {
            let new = String::new();
            Change::Text(patched(text, vec![Patch { bytes, new }]))
        };
        changes.insert(list.clone(), cut(&self.text(&list)?, chain.bytes.clone()));
        let types = self.text(TYPES)?;
        let is_chain = |tag: &Range<usize>| {
            let tag = types.get(tag.clone()).unwrap_or("");
            let name = value(tag, "PartName").unwrap_or("");
            name.trim_start_matches('/')
                .eq_ignore_ascii_case(&chain.target)
        };
        if let Some(tag) = tags(&types, "Override")?.into_iter().find(is_chain) {
            changes.insert(TYPES.to_owned(), cut(&types, tag));
        }
        if let Some(name) = self.find(&chain.target) {
            changes.insert(name.to_owned(), Change::Gone);
        }
        Ok(changes)
    }

    /// The part that lists the sheets, with the order to work out all formulas
    /// when the workbook is opened. None where the part gives that order already, or has
    /// no settings of calculation.
    pub fn recalculated(&self) -> Result<Option<String>, SheetEditError> {
        const ASKS: &str = "fullCalcOnLoad";
        let text = self.text(&self.workbook)?;
        let Some(bytes) = tags(&text, "calcPr")?.into_iter().next() else {
            return Ok(None);
        };
        let tag = text.get(bytes.clone()).unwrap_or("");
        let patch = match super::xml::attribute(tag, ASKS) {
            Some(said) if matches!(tag.get(said.clone()), Some("1" | "true")) => return Ok(None),
            Some(said) => Patch {
                bytes: bytes.start + said.start..bytes.start + said.end,
                new: "1".to_owned(),
            },
            None => {
                let end = bytes.end - if tag.ends_with("/>") { 2 } else { 1 };
                Patch {
                    bytes: end..end,
                    new: format!(" {ASKS}=\"1\""),
                }
            }
        };
        Ok(Some(patched(&text, vec![patch])))
    }

    /// The workbook with these parts changed. All other parts are copied as they are
    /// packed, byte for byte, in their order.
    pub fn with(&self, changes: &BTreeMap<String, Change>) -> Result<Vec<u8>, SheetEditError> {
        let mut archive = zip(&self.bytes)?;
        let mut new = ZipWriter::new(Cursor::new(Vec::new()));
        new.set_raw_comment(archive.comment().into())
            .map_err(broken)?;
        for place in 0..archive.len() {
            let entry = archive.by_index_raw(place).map_err(broken)?;
            let name = entry.name().map_err(broken)?.into_owned();
            match changes.get(name.as_str()) {
                None => new.raw_copy_file(entry).map_err(broken)?,
                Some(Change::Gone) => {}
                Some(Change::Text(text)) => {
                    new.start_file(name, entry.options()).map_err(broken)?;
                    new.write_all(text.as_bytes()).map_err(broken)?;
                }
            }
        }
        Ok(new.finish().map_err(broken)?.into_inner())
    }

    /// True if any sheet has a formula.
    pub fn has_formulas(&self) -> Result<bool, SheetEditError> {
        for relation in self.relations(&self.workbook)? {
            let is_sheet = relation.kind == "worksheet";
            if let Some(name) = self.find(&relation.target).filter(|_| is_sheet)
                && !tags(&self.text(name)?, "f")?.is_empty()
            {
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn found(&self, name: &str) -> Result<String, SheetEditError> {
        let found = self.find(name).map(str::to_owned);
        found.ok_or(unclear("a part of it is missing"))
    }

    /// The name of a part as the archive has it.
    fn find(&self, name: &str) -> Option<&str> {
        let mut exact = self.names().filter(|known| *known == name);
        let like = |known: &&str| known.eq_ignore_ascii_case(name);
        exact.next().or_else(|| self.names().find(like))
    }
}

/// What becomes of a part.
#[derive(Debug, Clone)]
pub enum Change {
    /// The part is taken out.
    Gone,
    /// The part has this text.
    Text(String),
}

fn zip(bytes: &[u8]) -> Result<ZipArchive<Cursor<&[u8]>>, SheetEditError> {
    ZipArchive::new(Cursor::new(bytes)).map_err(broken)
}

fn broken(error: impl ToString) -> SheetEditError {
    SheetEditError::Book(BookError::NotABook(error.to_string()))
}

/// `xl/_rels/workbook.xml.rels` for `xl/workbook.xml`.
fn relations_of(part: &str) -> String {
    match part.rsplit_once('/') {
        Some((folder, name)) => format!("{folder}/_rels/{name}.rels"),
        None => format!("_rels/{part}.rels"),
    }
}

/// The name of the part to which a path leads from a folder.
fn resolved(folder: &str, target: &str) -> String {
    let whole = match target.strip_prefix('/') {
        Some(whole) => whole.to_owned(),
        None => format!("{folder}/{target}"),
    };
    let mut names: Vec<&str> = Vec::new();
    for name in whole.split('/') {
        match name {
            "" | "." => {}
            ".." => drop(names.pop()),
            name => names.push(name),
        }
    }
    names.join("/")
}

/// Where the opening tags of this name stand.
pub fn tags(text: &str, name: &str) -> Result<Vec<Range<usize>>, SheetEditError> {
    let mut reader = Reader::from_str(text);
    let mut found = Vec::new();
    loop {
        let start = reader.buffer_position() as usize;
        match reader
            .read_event()
            .map_err(|_| unclear("its XML is broken"))?
        {
            Event::Start(tag) | Event::Empty(tag) if tag.local_name().as_ref() == name => {
                found.push(start..reader.buffer_position() as usize);
            }
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}
