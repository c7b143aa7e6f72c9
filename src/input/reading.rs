//! Reading a project's folder, with account of what was read.

use super::form::InputFile;
use crate::diag::Findings;
use crate::project::settings::{self, Of, PROJECT, PURCHASE};
use crate::source::{self, Files};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What has been read of a project so far.
pub(super) struct Reading {
    pub from: Files,
    pub folder: PathBuf,
    pub files: Vec<InputFile>,
    pub names: Vec<Arc<str>>,
}

impl Reading {
    pub fn new(from: Files, folder: PathBuf) -> Self {
        Self {
            from,
            folder,
            files: Vec::new(),
            names: Vec::new(),
        }
    }

    pub fn name(&self, file: &str) -> Arc<str> {
        source::shown(&self.folder.join(file))
    }

    pub fn settings(&mut self, of: Of, findings: &mut Findings) -> settings::Draft {
        let file = of.file();
        let path = self.folder.join(file);
        let source = self.from.read_up_to(&path, settings::MAX_BYTES, findings);
        self.names.push(self.name(file));
        let Some(source) = source else {
            return settings::Draft::default();
        };
        self.files.push(InputFile {
            file: file.to_owned(),
            sha256: source.sha256.clone(),
        });
        settings::read(&source, of, findings)
    }

    /// Takes note of files that were read. A workbook may hold the tables of the
    /// project and those of its catalog, and is noted once.
    pub fn take(&mut self, files: &[(PathBuf, String)], names: &[Arc<str>]) {
        self.names.extend_from_slice(names);
        self.note(files);
    }

    pub fn note(&mut self, files: &[(PathBuf, String)]) {
        for file in recorded(&self.from, files, &self.folder) {
            if self.files.iter().all(|known| known.file != file.file) {
                self.files.push(file);
            }
        }
    }
}

/// The files that were read, by their paths relative to a folder.
pub(super) fn recorded(from: &Files, files: &[(PathBuf, String)], folder: &Path) -> Vec<InputFile> {
    files
        .iter()
        .map(|(path, sha256)| InputFile {
            file: from.relative(path, folder),
            sha256: sha256.clone(),
        })
        .collect()
}

/// The folder of a project or a purchase that is named by its folder, its `project.toml` or
/// its `purchase.toml`.
pub fn folder_of(files: &Files, project: &Path) -> PathBuf {
    let is_settings = project
        .file_name()
        .is_some_and(|n| n == PROJECT || n == PURCHASE);
    if is_settings && !files.is_dir(project) {
        return project.parent().unwrap_or(Path::new("")).to_owned();
    }
    project.to_owned()
}
