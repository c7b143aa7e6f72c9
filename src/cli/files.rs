//! Files that commands write.

use super::interrupt;
use couplet::source::Files;
use couplet::store;
use couplet::study::failure::Failure;
use std::path::{Path, PathBuf};

/// The folder of a project that is named by its folder or its `project.toml`.
pub fn folder(project: &Path) -> PathBuf {
    couplet::input::folder_of(&Files::on_disk(), project)
}

/// Writes a file whole or not at all.
pub fn write(path: &Path, content: impl AsRef<[u8]>) -> Result<(), Failure> {
    let written = interrupt::files().write(path, content);
    written.map_err(|error| Failure::write(path, &error))
}

/// Makes a folder and the folders above it, where they are missing.
pub fn make_folder(folder: &Path) -> Result<(), Failure> {
    std::fs::create_dir_all(folder).map_err(|error| Failure::write(folder, &error))
}

/// A place that can't be written fails before the work.
pub fn writable(path: &Path) -> Result<(), Failure> {
    store::can_write(path).map_err(|error| Failure::write(path, &error))
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
}
