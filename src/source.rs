//! Files as bytes: each file is read once, hashed on the way, and named as the user would.

mod files;

pub use files::Files;

use crate::diag::{Diagnostic, Findings};
use csv::StringRecord;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

/// The most bytes of a file that is read: 256 MiB. Larger files are refused.
pub const MAX_BYTES: u64 = 256 << 20;

/// A text file, or a sheet of a workbook, that was read.
#[derive(Debug, Clone)]
pub struct Source {
    /// The file as the user would name it.
    pub file: Arc<str>,
    /// SHA-256 of the file's bytes, in hex.
    pub sha256: String,
    body: Body,
}

#[derive(Debug, Clone)]
enum Body {
    Text(String),
    Sheet(Arc<[SheetRow]>),
}

/// A row of a sheet that holds anything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetRow {
    /// The row's number, from 1.
    pub number: u64,
    /// The cells from the first column to the last column that holds anything.
    pub cells: StringRecord,
    /// What the text of a cell does not tell, by the cell's place from 0.
    pub marks: Vec<(u16, Mark)>,
}

impl SheetRow {
    /// True if the first cell is a text that starts with `#`.
    pub fn is_comment(&self) -> bool {
        let is_text = self.mark(0).is_none();
        is_text && self.cells.get(0).is_some_and(|cell| cell.starts_with('#'))
    }

    /// The mark of the cell at this place.
    pub fn mark(&self, place: usize) -> Option<Mark> {
        mark(&self.marks, place)
    }
}

/// The mark of the cell at this place.
pub fn mark(marks: &[(u16, Mark)], place: usize) -> Option<Mark> {
    let found = marks.iter().find(|(at, _)| usize::from(*at) == place);
    found.map(|(_, mark)| *mark)
}

/// What the text of a cell does not tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The cell holds a number, no text.
    Number,
    /// The cell holds an error of its formula.
    Failed,
    /// The cell holds a number of which the spreadsheet may have lost digits.
    TooLong,
}

impl Source {
    /// Takes the rows of a sheet; the hash is that of its workbook.
    pub fn from_sheet(file: Arc<str>, sha256: String, rows: Arc<[SheetRow]>) -> Source {
        Source {
            file,
            sha256,
            body: Body::Sheet(rows),
        }
    }

    /// Takes bytes that were read from `file`.
    ///
    /// Pushes an error and gives none if the bytes are not UTF-8.
    pub fn from_bytes(file: &Arc<str>, bytes: Vec<u8>, findings: &mut Findings) -> Option<Source> {
        let sha256 = sha256(&bytes);
        match String::from_utf8(bytes) {
            Ok(text) => Some(Source {
                file: file.clone(),
                sha256,
                body: Body::Text(text),
            }),
            Err(error) => {
                findings.push(not_utf8(
                    file,
                    error.as_bytes(),
                    error.utf8_error().valid_up_to(),
                ));
                None
            }
        }
    }

    /// The text of a text file, without a byte-order mark; empty for a sheet.
    pub fn text(&self) -> &str {
        match &self.body {
            Body::Text(text) => text.strip_prefix('\u{feff}').unwrap_or(text),
            Body::Sheet(_) => "",
        }
    }

    /// The rows of a sheet; none for a text file.
    pub fn rows(&self) -> Option<&[SheetRow]> {
        match &self.body {
            Body::Text(_) => None,
            Body::Sheet(rows) => Some(rows),
        }
    }
}

/// The path as it is shown: with `/`, without `.`, and without `a/..` where the
/// shorter path leads to the same place.
pub fn shown(path: &Path) -> Arc<str> {
    let short = without_detours(path);
    let same = match (path.canonicalize(), short.canonicalize()) {
        (Ok(long), Ok(short)) => long == short,
        _ => true,
    };
    slashed(if same { &short } else { path }).into()
}

/// The path of a file relative to a folder, with `/`. Where there is no such path,
/// the path is given as it is.
pub fn relative(path: &Path, folder: &Path) -> String {
    let folder = if folder.as_os_str().is_empty() {
        Path::new(".")
    } else {
        folder
    };
    let (Ok(to), Ok(from)) = (path.canonicalize(), folder.canonicalize()) else {
        return slashed(path);
    };
    way(&to, &from).unwrap_or_else(|| slashed(path))
}

/// The way from a folder to a file, both whole paths; none where the paths have
/// nothing in common.
fn way(to: &Path, from: &Path) -> Option<String> {
    let to: Vec<Component> = to.components().collect();
    let from: Vec<Component> = from.components().collect();
    let common = to.iter().zip(&from).take_while(|(a, b)| a == b).count();
    if common == 0 {
        return None;
    }
    let up = from.iter().skip(common).map(|_| Component::ParentDir);
    let way = up.chain(to.iter().skip(common).copied());
    Some(slashed(&way.collect::<PathBuf>()))
}

fn slashed(path: &Path) -> String {
    let text = path.to_string_lossy();
    if cfg!(windows) {
        text.replace('\\', "/")
    } else {
        text.into_owned()
    }
}

fn without_detours(path: &Path) -> PathBuf {
    let mut short = PathBuf::new();
    for component in path.components() {
        match (component, short.components().next_back()) {
            (Component::CurDir, _) => {}
            (Component::ParentDir, Some(Component::Normal(_))) => {
                short.pop();
            }
            _ => short.push(component),
        }
    }
    short
}

/// Why a file can't be read.
#[derive(Debug, thiserror::Error)]
pub enum ReadError {
    /// What the system says.
    #[error(transparent)]
    Io(#[from] std::io::Error),
    /// The path leads to a folder.
    #[error("it is a folder")]
    Folder,
    /// The file is larger than so many bytes.
    #[error("it is larger than {0} bytes")]
    TooLarge(u64),
}

fn disk_bytes(path: &Path, limit: u64) -> Result<Vec<u8>, ReadError> {
    let file = File::open(path)?;
    let about = file.metadata()?;
    if about.is_dir() {
        return Err(ReadError::Folder);
    }
    if about.len() > limit {
        return Err(ReadError::TooLarge(limit));
    }
    let mut bytes = Vec::with_capacity(usize::try_from(about.len()).unwrap_or(0));
    file.take(limit + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(ReadError::TooLarge(limit));
    }
    Ok(bytes)
}

fn unreadable(file: &Arc<str>, error: &ReadError) -> Diagnostic {
    match error {
        ReadError::Io(io) if io.kind() == ErrorKind::NotFound => {
            Diagnostic::error(file, "the file is not there")
                .help("create it, or correct the path that leads to it")
        }
        ReadError::Folder => {
            Diagnostic::error(file, "the path leads to a folder, not to a file").help("name a file")
        }
        ReadError::TooLarge(limit) => {
            Diagnostic::error(file, format!("the file is larger than {limit} bytes"))
                .help("leave out what no circuit needs")
        }
        ReadError::Io(io) => Diagnostic::error(file, format!("the file cannot be read: {io}"))
            .help("check who may read it"),
    }
}

fn not_utf8(file: &Arc<str>, bytes: &[u8], at: usize) -> Diagnostic {
    let before = bytes.get(..at).unwrap_or(bytes);
    let line = 1 + before.iter().filter(|b| **b == b'\n').count() as u64;
    let start = before
        .iter()
        .rposition(|b| *b == b'\n')
        .map_or(0, |i| i + 1);
    let byte = at - start + 1;
    Diagnostic::error(
        file,
        format!("the file is not UTF-8: byte {byte} of the line"),
    )
    .line(line)
    .help("save it as UTF-8")
}

/// SHA-256 in hex (FIPS 180-4).
pub fn sha256(bytes: &[u8]) -> String {
    let digits = |byte: &u8| format!("{byte:02x}");
    Sha256::digest(bytes).iter().map(digits).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hash_is_sha_256() {
        // FIPS 180-4, the example of one block: "abc".
        let mut findings = Findings::default();
        let source = Source::from_bytes(&"a".into(), b"abc".to_vec(), &mut findings).unwrap();
        assert_eq!(
            source.sha256,
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn size_limit_has_two_sides() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a");
        std::fs::write(&path, b"1234").unwrap();
        assert_eq!(disk_bytes(&path, 4).unwrap(), b"1234");
        let error = disk_bytes(&path, 3).unwrap_err();
        assert_eq!(
            unreadable(&"a".into(), &error).message,
            "the file is larger than 3 bytes"
        );
    }

    #[test]
    fn other_failures_are_told_as_they_are() {
        let error = ReadError::Io(ErrorKind::PermissionDenied.into());
        let finding = unreadable(&"a".into(), &error);
        assert_eq!(
            finding.message,
            "the file cannot be read: permission denied"
        );
        assert_eq!(finding.help.unwrap(), "check who may read it");
    }

    #[test]
    fn not_utf8_names_line_and_byte() {
        let mut findings = Findings::default();
        let none = Source::from_bytes(&"a".into(), b"ab\ncd\xff".to_vec(), &mut findings);
        assert!(none.is_none());
        let finding = findings.iter().next().unwrap();
        assert_eq!(finding.message, "the file is not UTF-8: byte 3 of the line");
        assert_eq!(finding.line, Some(2));
    }

    #[test]
    fn paths_lose_their_detours() {
        assert_eq!(&*shown(Path::new("./a/../../b/c.csv")), "../b/c.csv");
        assert_eq!(&*shown(Path::new("a/./b")), "a/b");
        assert_eq!(&*shown(Path::new("../a")), "../a");
    }

    #[test]
    fn relative_goes_up_and_down() {
        let folder = tempfile::tempdir().unwrap();
        let project = folder.path().join("p/q");
        std::fs::create_dir_all(&project).unwrap();
        let prices = folder.path().join("prices.csv");
        std::fs::write(&prices, "").unwrap();
        assert_eq!(relative(&prices, &project), "../../prices.csv");
        assert_eq!(
            relative(&project.join("../../prices.csv"), folder.path()),
            "prices.csv"
        );
        assert_eq!(relative(Path::new("nowhere/x"), &project), "nowhere/x");
    }
}
