//! Files that are replaced whole or not at all, by one run at a time.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

/// Writes a file beside the old one, has the disk keep it, and renames it over
/// the old one. So an old file is replaced only by a complete new one. A link stays
/// a link: the file that it points at is replaced, and keeps its rights. A device or
/// a pipe is written into.
///
/// # Errors
/// What the system says. Then the old file is as it was.
pub fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    Beside::write(path, bytes)?.put()
}

/// Replaces several files, all or none as far as can be: all are written beside the old
/// ones before the first is renamed. Where a later one can't be renamed, those before it
/// are put back.
///
/// # Errors
/// What the system says, with the place of the file among all.
pub fn replace_all(all: &[(&Path, &[u8])]) -> Result<(), (usize, io::Error)> {
    let mut ready = Vec::new();
    for (place, (path, bytes)) in all.iter().enumerate() {
        ready.push(Beside::write(path, bytes).map_err(|error| (place, error))?);
    }
    let mut done: Vec<(&Path, Option<Vec<u8>>)> = Vec::new();
    for (place, (one, (path, _))) in ready.into_iter().zip(all).enumerate() {
        let is_last = place + 1 == all.len();
        let old = (!is_last).then(|| fs::read(path).ok()).flatten();
        if let Err(error) = one.put() {
            (done.into_iter().rev()).for_each(|(path, old)| put_back(path, old));
            return Err((place, error));
        }
        done.push((path, old));
    }
    Ok(())
}

/// Puts back what was there before. Where that fails too, nothing more can be done.
fn put_back(path: &Path, old: Option<Vec<u8>>) {
    let _ = match old {
        Some(bytes) => replace(path, &bytes),
        None => fs::remove_file(path),
    };
}

/// A file that is written whole, and is not in its place yet.
enum Beside<'b> {
    /// It stands beside the file that it is to replace.
    File(tempfile::NamedTempFile, PathBuf),
    /// A device or a pipe, with what is to be written into it.
    Stream(File, &'b [u8]),
}

impl<'b> Beside<'b> {
    fn write(path: &Path, bytes: &'b [u8]) -> io::Result<Self> {
        let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let old = fs::metadata(&target).ok();
        if old.as_ref().is_some_and(fs::Metadata::is_dir) {
            return Err(ErrorKind::IsADirectory.into());
        }
        if old.as_ref().is_some_and(|old| !old.is_file()) {
            let stream = OpenOptions::new().write(true).open(&target)?;
            return Ok(Beside::Stream(stream, bytes));
        }
        let mut builder = tempfile::Builder::new();
        builder.prefix(".couplet-").suffix(".tmp");
        // Temporary files are private; this one has the rights of any new file.
        #[cfg(unix)]
        let rights = std::os::unix::fs::PermissionsExt::from_mode(0o666);
        #[cfg(unix)]
        builder.permissions(rights);
        let mut beside = builder.tempfile_in(folder_of(&target))?;
        beside.write_all(bytes)?;
        if let Some(old) = old {
            beside.as_file().set_permissions(old.permissions())?;
        }
        beside.as_file().sync_all()?;
        Ok(Beside::File(beside, target))
    }

    /// Puts it in its place.
    fn put(self) -> io::Result<()> {
        match self {
            Beside::Stream(mut stream, bytes) => stream.write_all(bytes),
            Beside::File(beside, target) => {
                beside.persist(&target).map_err(|error| error.error)?;
                keep_name(folder_of(&target));
                Ok(())
            }
        }
    }
}

/// Somebody who is told of every file that is written to the disk.
pub trait Watch: Send + Sync {
    /// A file is about to be written.
    fn begins(&self, path: &Path);
    /// The file was written, or it could not be written.
    fn ends(&self, path: &Path, is_written: bool);
}

/// Tells before the work whether a file could be written.
///
/// # Errors
/// What would keep the file from being written.
pub fn can_write(path: &Path) -> io::Result<()> {
    if path.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    // A device or a pipe is written into, not beside.
    if path.exists() && !path.is_file() {
        return Ok(());
    }
    tempfile::tempfile_in(folder_of(path)).map(drop)
}

/// True if both paths lead to one file of the disk, which may have several names.
#[cfg(unix)]
pub fn are_one(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (fs::metadata(one), fs::metadata(other)) {
        (Ok(one), Ok(other)) => (one.dev(), one.ino()) == (other.dev(), other.ino()),
        _ => false,
    }
}

/// Elsewhere the names of a file can't be told from other files.
#[cfg(not(unix))]
pub fn are_one(_: &Path, _: &Path) -> bool {
    false
}

/// The folder that a file stands in.
pub fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    }
}

/// Has the disk keep the new name. The file is in its place by now. So where a
/// file system can't keep the name, there is nothing to undo and nothing to tell.
fn keep_name(folder: &Path) {
    if cfg!(unix) {
        let _ = File::open(folder).and_then(|folder| folder.sync_all());
    }
}

/// What kept a file from being written, in words.
pub fn why(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "its folder does not exist".to_owned(),
        ErrorKind::NotADirectory => "what should be its folder is a file".to_owned(),
        ErrorKind::PermissionDenied => "writing there is not allowed".to_owned(),
        ErrorKind::ReadOnlyFilesystem => "the disk can only be read".to_owned(),
        ErrorKind::IsADirectory => "it is a folder".to_owned(),
        ErrorKind::StorageFull => "the disk is full".to_owned(),
        ErrorKind::QuotaExceeded => "your share of the disk is full".to_owned(),
        ErrorKind::FileTooLarge => "the disk takes no file that is so large".to_owned(),
        ErrorKind::InvalidFilename => {
            "the name is too long, or the disk does not take it".to_owned()
        }
        ErrorKind::ResourceBusy => BUSY.to_owned(),
        _ => error.to_string(),
    }
}

/// What the user can do about such an error. The old file is as it was in every case.
pub fn cure(error: &io::Error) -> &'static str {
    match error.kind() {
        ErrorKind::NotFound => "make the folder first, or name another file",
        ErrorKind::NotADirectory | ErrorKind::InvalidFilename => "name another file",
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            "allow writing in that folder, or name another file"
        }
        ErrorKind::IsADirectory => "name a file, not a folder",
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded | ErrorKind::FileTooLarge => {
            "make room on the disk, or name another file; what was there is unchanged"
        }
        ErrorKind::ResourceBusy => "wait until it has ended, or name another file",
        _ => "name another file; what was there is unchanged",
    }
}

const BUSY: &str = "another run of couplet is writing it";

/// Keeps other runs from writing a file while this value lives. The lock is on a
/// second file beside the file, and ends with the process, even if that is killed.
#[derive(Debug)]
pub struct Hold {
    lock: Option<(File, PathBuf)>,
}

impl Hold {
    /// Holds a file that is to be written. The file need not be there yet.
    ///
    /// # Errors
    /// [`ErrorKind::ResourceBusy`] where another run holds the file; what the system
    /// says where nothing can be written beside the file.
    pub fn take(path: &Path) -> io::Result<Hold> {
        let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        // Devices and pipes have nothing beside them, and nothing to lose.
        let is_other = fs::metadata(&target).is_ok_and(|about| !about.is_file());
        let Some(name) = target.file_name().filter(|_| !is_other) else {
            return Ok(Hold { lock: None });
        };
        let name = format!(".{}.lock", name.to_string_lossy());
        let beside = folder_of(&target).join(name);
        loop {
            // Never emptied: a link may stand there, and lead to somebody's file.
            let file =
                (OpenOptions::new().write(true).create(true).truncate(false)).open(&beside)?;
            match file.try_lock() {
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => {
                    return Err(io::Error::new(ErrorKind::ResourceBusy, BUSY));
                }
                // Some network disks have no locks. Files there are whole, but unguarded.
                Err(TryLockError::Error(_)) => return Ok(Hold { lock: None }),
            }
            // The run that had the lock may have removed its file in between.
            if is_same(&file, &beside) {
                return Ok(Hold {
                    lock: Some((file, beside)),
                });
            }
        }
    }
}

impl Drop for Hold {
    fn drop(&mut self) {
        if let Some((_, beside)) = &self.lock {
            // The lock is still held, so this is not the lock of another run.
            let _ = fs::remove_file(beside);
        }
    }
}

#[cfg(unix)]
fn is_same(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (file.metadata(), fs::metadata(path)) {
        (Ok(one), Ok(other)) => (one.dev(), one.ino()) == (other.dev(), other.ino()),
        _ => false,
    }
}

/// Elsewhere an open file can't be removed.
#[cfg(not(unix))]
fn is_same(_: &File, path: &Path) -> bool {
    path.exists()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_old_file_is_replaced_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("x");
        replace(&path, b"old and longer").unwrap();
        replace(&path, b"new").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"new");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn what_cannot_be_written_leaves_all_as_it_was() {
        let folder = tempfile::tempdir().unwrap();
        let inside = folder.path().join("f");
        fs::create_dir(&inside).unwrap();
        let error = replace(&inside, b"x").unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::IsADirectory);
        let error = replace(&folder.path().join("no/x"), b"x").unwrap_err();
        assert_eq!(error.kind(), io::ErrorKind::NotFound);
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn several_files_are_replaced_or_none() {
        let folder = tempfile::tempdir().unwrap();
        let [a, b, inside, lost] = ["a", "b", "f", "no/x"].map(|name| folder.path().join(name));
        replace_all(&[(&a, b"1"), (&b, b"2")]).unwrap();
        let read = || [&a, &b].map(|path| fs::read_to_string(path).unwrap());
        assert_eq!(read(), ["1", "2"]);
        fs::create_dir(&inside).unwrap();
        for wrong in [&inside, &lost] {
            let (place, _) = replace_all(&[(&a, b"3"), (&b, b"4"), (wrong, b"5")]).unwrap_err();
            assert_eq!((place, read()), (2, ["1", "2"].map(str::to_owned)));
        }
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 3);
    }

    /// What fails only when it is put in its place.
    #[cfg(target_os = "linux")]
    #[test]
    fn what_was_replaced_is_put_back() {
        let folder = tempfile::tempdir().unwrap();
        let [old, new] = ["old", "new"].map(|name| folder.path().join(name));
        fs::write(&old, "as it was").unwrap();
        let full = Path::new("/dev/full");
        let all: [(&Path, &[u8]); 3] = [(&old, b"1"), (&new, b"2"), (full, b"3")];
        let (place, error) = replace_all(&all).unwrap_err();
        assert_eq!((place, error.kind()), (2, ErrorKind::StorageFull));
        assert_eq!(fs::read_to_string(&old).unwrap(), "as it was");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn one_run_at_a_time_holds_a_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.json");
        let held = Hold::take(&path).unwrap();
        let error = Hold::take(&path).unwrap_err();
        assert_eq!(error.kind(), ErrorKind::ResourceBusy);
        assert_eq!(why(&error), "another run of couplet is writing it");
        // Another file beside it is free, and so is this one once it is let go.
        drop(Hold::take(&folder.path().join("spring.json")).unwrap());
        drop(held);
        drop(Hold::take(&path).unwrap());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn what_a_dead_run_left_holds_nothing() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(".plan.json.lock"), "").unwrap();
        drop(Hold::take(&folder.path().join("plan.json")).unwrap());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_in_the_place_of_a_lock_costs_nobody_a_file() {
        let folder = tempfile::tempdir().unwrap();
        let precious = folder.path().join("precious");
        fs::write(&precious, "precious").unwrap();
        std::os::unix::fs::symlink(&precious, folder.path().join(".plan.json.lock")).unwrap();
        drop(Hold::take(&folder.path().join("plan.json")).unwrap());
        assert_eq!(fs::read_to_string(&precious).unwrap(), "precious");
    }

    #[test]
    fn many_runs_hold_a_file_one_after_the_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ordered.csv");
        let inside = std::sync::atomic::AtomicU32::new(0);
        let taken = std::sync::atomic::AtomicU32::new(0);
        let order = std::sync::atomic::Ordering::SeqCst;
        std::thread::scope(|scope| {
            for _ in 0..4 {
                scope.spawn(|| {
                    for _ in 0..500 {
                        let Ok(_held) = Hold::take(&path) else {
                            continue;
                        };
                        assert_eq!(inside.fetch_add(1, order), 0);
                        taken.fetch_add(1, order);
                        inside.fetch_sub(1, order);
                    }
                });
            }
        });
        assert!(taken.load(order) > 0);
    }

    #[test]
    fn every_failure_has_words_and_a_cure() {
        use ErrorKind::*;
        for kind in [
            NotFound,
            NotADirectory,
            PermissionDenied,
            ReadOnlyFilesystem,
            IsADirectory,
            StorageFull,
            QuotaExceeded,
            FileTooLarge,
            InvalidFilename,
            ResourceBusy,
            TimedOut,
        ] {
            let error = io::Error::from(kind);
            assert!(!why(&error).is_empty() && !cure(&error).is_empty());
            assert!(!why(&error).ends_with('.'), "{kind}");
        }
    }

    /// A device that was replaced by a file would be lost to the whole machine.
    #[cfg(target_os = "linux")]
    #[test]
    fn a_device_is_written_into_and_stays_one() {
        use std::os::unix::fs::FileTypeExt;
        let is_device = || {
            let about = fs::metadata("/dev/full").unwrap();
            about.file_type().is_char_device()
        };
        assert!(is_device());
        let error = replace(Path::new("/dev/full"), b"x").unwrap_err();
        assert_eq!(error.kind(), ErrorKind::StorageFull);
        assert!(is_device());
        replace(Path::new("/dev/null"), b"x").unwrap();
        assert_eq!(fs::read("/dev/null").unwrap(), b"");
        drop(Hold::take(Path::new("/dev/null")).unwrap());
    }

    #[cfg(unix)]
    #[test]
    fn rights_and_links_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (folder.path().join("f"), folder.path().join("l"));
        fs::write(&file, "old").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
        symlink(&file, &link).unwrap();
        replace(&link, b"new").unwrap();
        assert!(link.symlink_metadata().unwrap().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"new");
        assert_eq!(file.metadata().unwrap().permissions().mode() & 0o777, 0o600);
    }
}
