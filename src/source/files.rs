//! Where files are read: on the disk, with unsaved texts laid over the disk, or from
//! memory alone.

use super::{MAX_BYTES, ReadError, Source, disk_bytes, shown, slashed, unreadable, way};
use super::{sha256, without_detours};
use crate::diag::Findings;
use crate::store::{self, Hold, Watch};
use std::collections::BTreeMap;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Files as a reader sees them. A text that is laid over a file hides the file on the
/// disk, until the text is lifted.
#[derive(Debug, Clone, Default)]
pub struct Files {
    /// Texts by whole path. None hides a file as if it were not there.
    laid: BTreeMap<PathBuf, Option<Arc<[u8]>>>,
    /// True if the disk is never looked at.
    is_memory: bool,
    watch: Watcher,
}

/// Who is told of each file that is written, if anybody.
#[derive(Clone, Default)]
struct Watcher(Option<Arc<dyn Watch>>);

impl std::fmt::Debug for Watcher {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(if self.0.is_some() {
            "watched"
        } else {
            "unwatched"
        })
    }
}

impl Files {
    /// The files of the disk.
    pub fn on_disk() -> Self {
        Self::default()
    }

    /// No files but those that are laid or written.
    pub fn in_memory() -> Self {
        Self {
            is_memory: true,
            ..Self::default()
        }
    }

    /// The same files, with somebody who is told of each file that is written.
    pub fn watched(self, watch: Arc<dyn Watch>) -> Self {
        Self {
            watch: Watcher(Some(watch)),
            ..self
        }
    }

    /// Lays a text over a file, which need not be there.
    pub fn lay(&mut self, path: &Path, content: impl AsRef<[u8]>) {
        let content = Some(content.as_ref().into());
        self.laid.insert(self.place(path), content);
    }

    /// Hides a file, as if it were not there.
    pub fn hide(&mut self, path: &Path) {
        self.laid.insert(self.place(path), None);
    }

    /// Takes away what was laid over a file: the file on the disk counts again.
    pub fn lift(&mut self, path: &Path) {
        let place = self.place(path);
        self.laid.remove(&place);
    }

    /// The files with something laid over them, by their whole paths.
    pub fn laid(&self) -> impl Iterator<Item = &Path> {
        self.laid.keys().map(PathBuf::as_path)
    }

    /// Writes a file whole or not at all: to the disk, or into memory where these files
    /// are in memory alone. What was laid over the file goes.
    ///
    /// # Errors
    /// The errors of [`store::replace`].
    pub fn write(&mut self, path: &Path, content: impl AsRef<[u8]>) -> io::Result<()> {
        if self.is_memory {
            self.lay(path, content);
            return Ok(());
        }
        if let Some(watch) = &self.watch.0 {
            watch.begins(path);
        }
        let written = store::replace(path, content.as_ref());
        if let Some(watch) = &self.watch.0 {
            watch.ends(path, written.is_ok());
        }
        if written.is_ok() {
            self.lift(path);
        }
        written
    }

    /// Writes several files, all or none as far as can be.
    ///
    /// # Errors
    /// The errors of [`store::replace_all`], with the path of the file.
    pub fn write_all(&mut self, all: &[(&Path, &[u8])]) -> Result<(), (PathBuf, io::Error)> {
        if self.is_memory {
            all.iter()
                .for_each(|(path, content)| self.lay(path, content));
            return Ok(());
        }
        if let Some(watch) = &self.watch.0 {
            all.iter().for_each(|(path, _)| watch.begins(path));
        }
        let written = store::replace_all(all);
        for (path, _) in all {
            if let Some(watch) = &self.watch.0 {
                watch.ends(path, written.is_ok());
            }
            if written.is_ok() {
                self.lift(path);
            }
        }
        written.map_err(|(place, error)| {
            let path = all.get(place).map(|(path, _)| path.to_path_buf());
            (path.unwrap_or_default(), error)
        })
    }

    /// Writes a file as [`Files::write`], and makes its folder where the folder is missing.
    ///
    /// # Errors
    /// The errors of [`Files::write`], and why the folder can't be made.
    pub fn write_below(&mut self, path: &Path, content: impl AsRef<[u8]>) -> io::Result<()> {
        if !self.is_memory {
            std::fs::create_dir_all(store::folder_of(path))?;
        }
        self.write(path, content)
    }

    /// Keeps other runs from writing a file while what is returned lives. None is returned
    /// for files in memory, which nobody else has.
    ///
    /// # Errors
    /// As [`Hold::take`].
    pub fn hold(&self, path: &Path) -> io::Result<Option<Hold>> {
        (!self.is_memory).then(|| Hold::take(path)).transpose()
    }

    /// Tells before the work whether a file could be written.
    ///
    /// # Errors
    /// What would keep the file from being written.
    pub fn can_write(&self, path: &Path) -> io::Result<()> {
        if self.is_memory {
            return Ok(());
        }
        store::can_write(path)
    }

    /// True if something is there under this name, even if it can't be read.
    pub fn is_there(&self, path: &Path) -> bool {
        self.is_dir(path)
            || match self.over(path) {
                Some(content) => content.is_some(),
                None => !self.is_memory && path.symlink_metadata().is_ok(),
            }
    }

    /// True if the path leads to a file.
    pub fn is_file(&self, path: &Path) -> bool {
        match self.over(path) {
            Some(content) => content.is_some(),
            None => !self.is_memory && path.is_file(),
        }
    }

    /// True if the path leads to a folder, or a file is laid somewhere below it.
    pub fn is_dir(&self, path: &Path) -> bool {
        let has_below = || {
            let place = self.place(path);
            let mut laid = self.laid.iter();
            laid.any(|(at, content)| content.is_some() && *at != place && at.starts_with(&place))
        };
        (!self.is_memory && path.is_dir()) || (!self.laid.is_empty() && has_below())
    }

    /// The bytes of a file of at most `limit` bytes.
    ///
    /// # Errors
    /// [`ReadError`] if the file is not there, can't be read or is larger.
    pub fn bytes(&self, path: &Path, limit: u64) -> Result<Vec<u8>, ReadError> {
        match self.over(path) {
            Some(Some(content)) if content.len() as u64 > limit => Err(ReadError::TooLarge(limit)),
            Some(Some(content)) => Ok(content.to_vec()),
            None if !self.is_memory => disk_bytes(path, limit),
            _ if self.is_dir(path) => Err(ReadError::Folder),
            _ => Err(ReadError::Io(ErrorKind::NotFound.into())),
        }
    }

    /// SHA-256 of a file's bytes, in hex; none where the file can't be read.
    pub fn sha256(&self, path: &Path) -> Option<String> {
        let bytes = self.bytes(path, MAX_BYTES).ok()?;
        Some(sha256(&bytes))
    }

    /// The bytes of a file that has to be there.
    ///
    /// Pushes an error and gives none if the file can't be read or is larger than `limit` bytes.
    pub fn read_bytes(&self, path: &Path, limit: u64, findings: &mut Findings) -> Option<Vec<u8>> {
        self.bytes(path, limit)
            .map_err(|error| findings.push(unreadable(&shown(path), &error)))
            .ok()
    }

    /// Reads a file that has to be there.
    ///
    /// Pushes an error and gives none if the file can't be read, is larger than
    /// [`MAX_BYTES`], or is not UTF-8.
    pub fn read(&self, path: &Path, findings: &mut Findings) -> Option<Source> {
        self.read_up_to(path, MAX_BYTES, findings)
    }

    /// Reads as [`Files::read`], with a limit of its own in bytes.
    pub fn read_up_to(&self, path: &Path, limit: u64, findings: &mut Findings) -> Option<Source> {
        let bytes = self.read_bytes(path, limit, findings)?;
        Source::from_bytes(&shown(path), bytes, findings)
    }

    /// Reads a file that may be missing; a missing file is no error.
    pub fn read_optional(&self, path: &Path, findings: &mut Findings) -> Option<Source> {
        match self.is_there(path) {
            true => self.read(path, findings),
            false => None,
        }
    }

    /// The path of a file relative to a folder, with `/`. Where there is no such path,
    /// the path is given as it is.
    pub fn relative(&self, path: &Path, folder: &Path) -> String {
        if self.laid.is_empty() {
            return super::relative(path, folder);
        }
        way(&self.place(path), &self.place(folder)).unwrap_or_else(|| slashed(path))
    }

    /// What is laid over a file, if anything. The inner value is none where the file is
    /// hidden.
    fn over(&self, path: &Path) -> Option<Option<&Arc<[u8]>>> {
        if self.laid.is_empty() {
            return None;
        }
        self.laid.get(&self.place(path)).map(Option::as_ref)
    }

    /// True if two paths lead to the same file, also over links. A file may have several
    /// names on the disk.
    pub fn is_same(&self, one: &Path, other: &Path) -> bool {
        self.place(one) == self.place(other) || (!self.is_memory && store::are_one(one, other))
    }

    /// One name for each file, however the path leads to it.
    pub fn place(&self, path: &Path) -> PathBuf {
        let lexical = |path: &Path| {
            let whole = match self.is_memory {
                true => Path::new("/").join(path),
                false => std::path::absolute(path).unwrap_or_else(|_| path.to_owned()),
            };
            without_detours(&whole)
        };
        if self.is_memory {
            return lexical(path);
        }
        // The file itself may be missing, or a link that leads nowhere.
        let of_folder = || {
            let folder = store::folder_of(path).canonicalize().ok()?;
            Some(folder.join(path.file_name()?))
        };
        let real = path.canonicalize().ok().or_else(of_folder);
        real.unwrap_or_else(|| lexical(path))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(files: &Files, path: &Path) -> Option<String> {
        let bytes = files.bytes(path, MAX_BYTES).ok()?;
        String::from_utf8(bytes).ok()
    }

    #[test]
    fn what_is_laid_hides_the_disk_until_it_is_lifted() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        std::fs::write(&path, "disk").unwrap();
        let mut files = Files::on_disk();
        assert_eq!(text(&files, &path).unwrap(), "disk");
        files.lay(&path, "laid");
        let detour = folder
            .path()
            .join("../")
            .join(folder.path())
            .join("./a.csv");
        assert_eq!(text(&files, &detour).unwrap(), "laid");
        files.hide(&path);
        assert!(!files.is_there(&path) && !files.is_file(&path));
        assert!(text(&files, &path).is_none());
        files.lift(&path);
        assert_eq!(text(&files, &path).unwrap(), "disk");
        assert_eq!(files.laid().count(), 0);
    }

    #[test]
    fn a_file_that_is_only_laid_is_there_with_its_folders() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("new/deep/a.csv");
        let mut files = Files::on_disk();
        files.lay(&path, "laid");
        assert!(files.is_file(&path) && files.is_there(&path));
        assert!(files.is_dir(&folder.path().join("new/deep")));
        assert!(files.is_dir(&folder.path().join("new")));
        assert!(!files.is_dir(&path) && !files.is_file(&folder.path().join("new")));
        assert_eq!(files.relative(&path, folder.path()), "new/deep/a.csv");
    }

    #[test]
    fn memory_never_looks_at_the_disk() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        std::fs::write(&path, "disk").unwrap();
        let mut files = Files::in_memory();
        assert!(!files.is_there(&path) && !files.is_dir(folder.path()));
        assert!(text(&files, &path).is_none());
        files.write(&path, "memory").unwrap();
        assert_eq!(text(&files, &path).unwrap(), "memory");
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "disk");
        assert_eq!(
            files.relative(Path::new("p/../c/x.csv"), Path::new("p")),
            "../c/x.csv"
        );
    }

    #[test]
    fn writing_puts_an_end_to_what_was_laid() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        let mut files = Files::on_disk();
        files.lay(&path, "laid");
        files.write(&path, "written").unwrap();
        assert_eq!(files.laid().count(), 0);
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "written");
        assert_eq!(text(&files, &path).unwrap(), "written");
    }

    #[test]
    fn several_files_are_written_or_none_and_the_wrong_one_is_named() {
        let folder = tempfile::tempdir().unwrap();
        let [a, b, lost] = ["a", "b", "no/x"].map(|name| folder.path().join(name));
        let mut files = Files::on_disk();
        files.lay(&a, "laid");
        let wrong = files.write_all(&[(&a, b"1"), (&lost, b"2")]).unwrap_err();
        assert_eq!((wrong.0, wrong.1.kind()), (lost, ErrorKind::NotFound));
        assert_eq!(
            (text(&files, &a).unwrap(), a.exists()),
            ("laid".into(), false)
        );
        files.write_all(&[(&a, b"1"), (&b, b"2")]).unwrap();
        let both = [&a, &b].map(|path| std::fs::read_to_string(path).unwrap());
        assert_eq!(
            (both, files.laid().count()),
            (["1", "2"].map(str::to_owned), 0)
        );
        let mut memory = Files::in_memory();
        memory.write_all(&[(&a, b"3"), (&b, b"4")]).unwrap();
        assert_eq!(
            [&a, &b].map(|path| text(&memory, path).unwrap()),
            ["3", "4"]
        );
        assert_eq!(text(&files, &a).unwrap(), "1");
    }

    #[test]
    fn what_is_laid_has_the_same_limit() {
        let mut files = Files::in_memory();
        files.lay(Path::new("a"), "1234");
        assert!(files.bytes(Path::new("a"), 4).is_ok());
        let error = files.bytes(Path::new("a"), 3).unwrap_err();
        assert!(matches!(error, ReadError::TooLarge(3)));
    }
}
