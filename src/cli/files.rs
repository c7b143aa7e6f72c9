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
pub fn write(path: &Path, content: impl AsRef<[u8]>) -> Result<(), CliError> {
    write_over(path, content.as_ref(), true)
}

/// As [`write`]; where an old file must not be replaced, one is an error.
pub fn write_over(path: &Path, content: &[u8], replace: bool) -> Result<(), CliError> {
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
    file.write_all(content).map_err(failed)?;
    file.as_file().sync_all().map_err(failed)?;
    let persisted = match replace {
        true => file.persist(path),
        false => file.persist_noclobber(path),
    };
    persisted.map_err(|e| failed(e.error))?;
    Ok(())
}

/// The files of the project that are no longer as they were when the plan was
/// made, in the order of the record, then optional files that are new.
pub fn changed_inputs(project: &Path, plan: &Plan) -> Vec<String> {
    let folder = folder(project);
    let is_changed = |file: &str, sha256: &str| match std::fs::read(folder.join(file)) {
        Ok(bytes) => hex_sha256(&bytes) != sha256,
        Err(_) => true,
    };
    let changed = plan
        .inputs
        .iter()
        .filter(|input| is_changed(&input.file, &input.sha256))
        .map(|input| input.file.clone());
    let added = optional(plan)
        .into_iter()
        .filter(|file| plan.inputs.iter().all(|input| input.file != *file))
        .filter(|file| folder.join(file).exists());
    changed.chain(added).collect()
}

/// The files that a project may do without: its stock, and the dies beside the bodies.
fn optional(plan: &Plan) -> Vec<String> {
    let catalogs = plan
        .inputs
        .iter()
        .filter_map(|input| input.file.strip_suffix("bodies.csv"));
    let own = ["on_hand.csv", "project.xlsx", "project.ods"];
    let mut files = own.map(str::to_owned).to_vec();
    files.extend(catalogs.map(|folder| format!("{folder}dies.csv")));
    files
}

fn hex_sha256(bytes: &[u8]) -> String {
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
            hex_sha256(b"abc"),
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
