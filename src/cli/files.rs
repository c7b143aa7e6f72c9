//! Files that commands write, and those that a plan was made from.

use super::error::CliError;
use couplet::plan::Plan;
use sha2::{Digest, Sha256};
use std::io::Write;
use std::path::{Path, PathBuf};

/// The folder of a project that is named by its folder or its `project.toml`.
pub fn folder(project: &Path) -> PathBuf {
    match project.parent() {
        Some(parent) if project.is_file() => parent.to_owned(),
        _ => project.to_owned(),
    }
}

/// Writes a file beside and renames it, so that an old one is replaced only by
/// a complete new one.
pub fn write(path: &Path, text: &str) -> Result<(), CliError> {
    let failed = |error: std::io::Error| CliError::write(path, error);
    let folder = match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Like any other new file; the temporary one would be private. The umask still holds.
        builder.permissions(std::fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(folder).map_err(failed)?;
    file.write_all(text.as_bytes()).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    file.persist(path).map_err(|e| failed(e.error))?;
    Ok(())
}

/// The files of the project that are no longer as they were when the plan was
/// made, in the order of the record.
pub fn changed_inputs(project: &Path, plan: &Plan) -> Vec<String> {
    let folder = folder(project);
    plan.inputs
        .iter()
        .filter(|input| {
            std::fs::read(folder.join(&input.file))
                .map_or(true, |bytes| sha256(&bytes) != input.sha256)
        })
        .map(|input| input.file.clone())
        .collect()
}

fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sha256_of_fips_180_example() {
        // FIPS 180-4, example of the one-block message "abc".
        assert_eq!(
            sha256(b"abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

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
