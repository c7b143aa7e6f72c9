//! Files that commands write.

use super::interrupt;
use super::output::Terminal;
use couplet::desk::Own;
use couplet::source::Files;
use couplet::store;
use couplet::study::failure::Failure;
use std::path::{Path, PathBuf};

/// The folder of a project that is named by its folder or its `project.toml`.
pub fn folder(project: &Path) -> PathBuf {
    couplet::input::folder_of(&Files::on_disk(), project)
}

/// Where a result goes. Only places that were looked at before the work are written.
#[derive(Debug, PartialEq, Eq)]
pub enum Target {
    /// To standard output.
    Output,
    /// Into a file, which is none of those that are read or kept.
    File(PathBuf),
}

impl Target {
    /// The place that the user names, `-` being standard output. What can't be written
    /// fails here, before the work, and so does what would be lost.
    pub fn of(path: &Path, own: &Own) -> Result<Self, Failure> {
        if path.as_os_str() == "-" {
            return Ok(Self::Output);
        }
        own.allow(path)?;
        store::can_write(path).map_err(|error| Failure::write(path, &error))?;
        Ok(Self::File(path.to_owned()))
    }

    /// The same, where a place is named.
    pub fn if_named(path: Option<&Path>, own: &Own) -> Result<Option<Self>, Failure> {
        path.map(|path| Self::of(path, own)).transpose()
    }

    /// The place that the user names, standard output where none is named.
    pub fn or_output(path: Option<&Path>, own: &Own) -> Result<Self, Failure> {
        Ok(Self::if_named(path, own)?.unwrap_or(Self::Output))
    }

    /// The file, unless it is standard output.
    pub fn file(&self) -> Option<&Path> {
        match self {
            Self::Output => None,
            Self::File(path) => Some(path),
        }
    }

    /// Writes a text, whole or not at all.
    pub fn put(&self, text: &str, terminal: &Terminal) -> Result<(), Failure> {
        match self {
            Self::Output => terminal.print(text),
            Self::File(path) => write(path, text),
        }
    }

    /// Writes bytes that are no text.
    pub fn put_bytes(&self, bytes: &[u8], terminal: &Terminal) -> Result<(), Failure> {
        match self {
            Self::Output => terminal.print_bytes(bytes),
            Self::File(path) => write(path, bytes),
        }
    }
}

/// True if standard output takes this, and so the result itself is not shown there.
pub fn is_output(target: Option<&Target>) -> bool {
    target == Some(&Target::Output)
}

/// Refuses two results in one stream.
pub fn one_output(targets: &[Option<&Target>]) -> Result<(), Failure> {
    let outputs = targets.iter().filter(|target| is_output(**target));
    match outputs.count() {
        0 | 1 => Ok(()),
        _ => Err(Failure::usage(
            "two results cannot both go to standard output",
            "write - for one of them alone, and name a file for the other",
        )),
    }
}

fn write(path: &Path, content: impl AsRef<[u8]>) -> Result<(), Failure> {
    let written = interrupt::files().write(path, content);
    written.map_err(|error| Failure::write(path, &error))
}

/// Makes a folder and the folders above it, where they are missing.
pub fn make_folder(folder: &Path) -> Result<(), Failure> {
    std::fs::create_dir_all(folder).map_err(|error| Failure::write(folder, &error))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_project_is_named_by_its_folder_or_its_settings() {
        let temporary = tempfile::tempdir().unwrap();
        let file = temporary.path().join("project.toml");
        write(&file, "").unwrap();
        assert_eq!(folder(&file), temporary.path());
        assert_eq!(folder(temporary.path()), temporary.path());
    }

    #[test]
    fn a_file_is_replaced_whole_or_not_at_all() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.json");
        write(&path, "old").unwrap();
        write(&path, "new").unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "new");
        let lost = folder.path().join("missing").join("plan.json");
        assert_eq!(write(&lost, "x").unwrap_err().status(), 2);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_dash_is_standard_output_and_takes_one_result() {
        let own = Own::none(&Files::in_memory());
        let output = Target::of(Path::new("-"), &own).unwrap();
        let file = Target::of(Path::new("./-"), &own).unwrap();
        assert_eq!((output.file(), file.file()), (None, Some(Path::new("./-"))));
        assert!(one_output(&[Some(&output), Some(&file), None]).is_ok());
        assert_eq!(
            one_output(&[Some(&output), Some(&output)])
                .unwrap_err()
                .status(),
            2
        );
    }
}
