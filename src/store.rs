//! Files that are replaced whole or not at all.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

/// Writes a file beside the old one and renames it over it, so that an old
/// file is replaced only by a complete new one. A link stays a link; what it
/// points at is replaced, and keeps its rights.
///
/// # Errors
/// What the system says; the file that was there is as it was.
pub fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if target.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    let folder = match target.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".couplet-").suffix(".tmp");
    // Temporary files are private; this one has the rights of any new file.
    #[cfg(unix)]
    let rights = std::os::unix::fs::PermissionsExt::from_mode(0o666);
    #[cfg(unix)]
    builder.permissions(rights);
    let mut beside = builder.tempfile_in(folder)?;
    beside.write_all(bytes)?;
    if let Ok(old) = fs::metadata(&target) {
        beside.as_file().set_permissions(old.permissions())?;
    }
    beside.as_file().sync_all()?;
    beside.persist(&target).map_err(|error| error.error)?;
    Ok(())
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
