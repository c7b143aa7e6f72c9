//! Reading and writing `plan.json`.

use super::form::{EARLIER, Plan, SCHEMA};
use crate::source::{self, Files};
use crate::store;
use serde::Deserialize;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The largest record that is read, in bytes.
pub const MAX_BYTES: u64 = 64 * 1024 * 1024;

/// What stands before the version in the name of a schema.
const SCHEMA_FAMILY: &str = "couplet.plan/";

/// Where the record is kept that a record took the place of: `plan.before.json` beside
/// `plan.json`.
///
/// ```
/// use couplet::plan::before_path;
/// use std::path::Path;
/// assert_eq!(before_path(Path::new("a/plan.json")), Path::new("a/plan.before.json"));
/// assert_eq!(before_path(Path::new("a/spring")), Path::new("a/spring.before.json"));
/// ```
pub fn before_path(record: &Path) -> PathBuf {
    record.with_extension("before.json")
}

/// Why a record can't be read.
#[derive(Debug, Clone, thiserror::Error)]
pub enum ReadError {
    /// There is no such file.
    #[error("{} does not exist", .0.display())]
    Missing(PathBuf),
    /// The file can't be read.
    #[error("{} cannot be read: {source}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system says.
        source: Arc<io::Error>,
    },
    /// The file is larger than [`MAX_BYTES`].
    #[error("{} is larger than {} MiB", .0.display(), MAX_BYTES / 1024 / 1024)]
    TooLarge(PathBuf),
    /// The file is not JSON, or has not the fields of a plan.
    #[error("{}:{line}:{column}: {message}", path.display())]
    Json {
        /// The file.
        path: PathBuf,
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// What is wrong there.
        message: String,
    },
    /// The file was written by a newer version.
    #[error("{} has the schema {found:?}, which is newer than {SCHEMA:?}", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// The schema that the file names.
        found: String,
    },
    /// The file is no plan record.
    #[error("{} has the schema {found:?}, not {SCHEMA:?}", path.display())]
    Foreign {
        /// The file.
        path: PathBuf,
        /// The schema that the file names.
        found: String,
    },
}

impl ReadError {
    /// What the user can do.
    pub fn help(&self) -> &'static str {
        match self {
            ReadError::Missing(_) => "make the plan first, or name the file where it is kept",
            ReadError::Io { .. } => "name a plan record that can be read",
            ReadError::TooLarge(_) => "name a plan record; no plan record is that large",
            ReadError::Json { .. } => {
                "plan again: a record that was changed by hand is not trusted"
            }
            ReadError::Newer { .. } => {
                "use the version of couplet that wrote the record, or a later version, or plan again"
            }
            ReadError::Foreign { .. } => "name a plan record, or plan again",
        }
    }
}

/// Why a record can't be written. A file that was there before stays as it was.
#[derive(Debug, thiserror::Error)]
#[error("{} cannot be written: {}", path.display(), store::why(source))]
pub struct WriteError {
    /// The file.
    pub path: PathBuf,
    /// What the system says.
    pub source: io::Error,
}

impl WriteError {
    /// What the user can do.
    pub fn help(&self) -> &'static str {
        store::cure(&self.source)
    }
}

/// Reads a record from the disk: its schema first, so that a newer one is told as
/// such.
///
/// # Errors
/// [`ReadError`] if the file can't be read or is no record of this version.
pub fn read(path: &Path) -> Result<Plan, ReadError> {
    read_from(&Files::on_disk(), path)
}

/// The same from wherever `files` reads.
///
/// # Errors
/// [`ReadError`] as of [`read`].
pub fn read_from(files: &Files, path: &Path) -> Result<Plan, ReadError> {
    let bytes = bytes(files, path)?;
    schema(path, &bytes)?;
    serde_json::from_slice(&bytes).map_err(|error| json_error(path, &error))
}

fn bytes(files: &Files, path: &Path) -> Result<Vec<u8>, ReadError> {
    files.bytes(path, MAX_BYTES).map_err(|error| {
        let path = path.to_owned();
        match error {
            source::ReadError::TooLarge(_) => ReadError::TooLarge(path),
            source::ReadError::Folder => ReadError::Io {
                path,
                source: Arc::new(io::ErrorKind::IsADirectory.into()),
            },
            source::ReadError::Io(error) if error.kind() == io::ErrorKind::NotFound => {
                ReadError::Missing(path)
            }
            source::ReadError::Io(error) => ReadError::Io {
                path,
                source: Arc::new(error),
            },
        }
    })
}

fn schema(path: &Path, bytes: &[u8]) -> Result<(), ReadError> {
    #[derive(Deserialize)]
    struct Head {
        schema: String,
    }
    let head: Head = serde_json::from_slice(bytes).map_err(|error| json_error(path, &error))?;
    if head.schema == SCHEMA || EARLIER.contains(&head.schema.as_str()) {
        return Ok(());
    }
    let (path, found) = (path.to_owned(), head.schema);
    match (version(&found), version(SCHEMA)) {
        (Some(theirs), Some(ours)) if theirs > ours => Err(ReadError::Newer { path, found }),
        _ => Err(ReadError::Foreign { path, found }),
    }
}

/// The number at the end of a schema of plans.
fn version(schema: &str) -> Option<u64> {
    schema.strip_prefix(SCHEMA_FAMILY)?.parse().ok()
}

fn json_error(path: &Path, error: &serde_json::Error) -> ReadError {
    let text = error.to_string();
    let place = format!(" at line {} column {}", error.line(), error.column());
    ReadError::Json {
        path: path.to_owned(),
        line: error.line(),
        column: error.column(),
        message: text.strip_suffix(&place).unwrap_or(&text).to_owned(),
    }
}

/// Writes a record whole or not at all: beside the old one first, then renamed
/// over it. The same plan gives the same bytes.
///
/// # Errors
/// [`WriteError`] if the file can't be written.
pub fn write(path: &Path, plan: &Plan) -> Result<(), WriteError> {
    write_whole(path, plan).map_err(|source| WriteError {
        path: path.to_owned(),
        source,
    })
}

fn write_whole(path: &Path, plan: &Plan) -> io::Result<()> {
    store::replace(path, text(plan)?.as_bytes())
}

/// A record as it is written. The same plan gives the same bytes.
///
/// # Errors
/// An error of `serde_json` if the plan can't be written as JSON.
pub fn text(plan: &Plan) -> serde_json::Result<String> {
    Ok(serde_json::to_string_pretty(plan)? + "\n")
}
