//! A project whose files are being changed: where things stand, and what was done.

use super::cells::Stand;
use super::change::{Change, ChangeError};
use super::settings::{SettingError, Was};
use crate::catalog::{PartId, SupplierId};
use crate::diag::{did_you_mean, joined as listed, quote};
use crate::input::{Input, folder_of};
use crate::project::settings::{MAX_BYTES, PROJECT};
use crate::source::Files;
use crate::tables::{EditFileError, EditedFile};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use toml_edit::DocumentMut;

/// What a change did to a file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
pub struct Touched {
    /// The file, relative to the project folder; a sheet of a workbook by its name too.
    pub file: String,
    /// The line, or the row of a sheet; none in a settings file.
    pub line: Option<u64>,
    /// The column or the key.
    pub cell: String,
    /// What stood there; empty for nothing.
    pub before: String,
    /// What stands there now; empty for nothing.
    pub after: String,
    /// What happened.
    pub how: How,
}

/// What happened to a file.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// A cell or a setting has another value.
    Changed,
    /// A row is new: `after` says what it is of.
    Added,
    /// A row is gone: `before` says what it was of.
    Removed,
}

/// New bytes for cells: line, column, value.
pub(super) type Cells = Vec<(u64, String, String)>;

/// A project whose files are being changed.
pub(super) struct Work<'a> {
    /// The files, with what was changed laid over them.
    pub files: &'a mut Files,
    pub folder: &'a Path,
    pub input: &'a Input,
    pub change: &'a Change,
    /// What was done.
    pub touched: Vec<Touched>,
}

/// Whether a step of a change was done.
pub(super) type Done = Result<(), ChangeError>;

impl Work<'_> {
    pub(super) fn error(&self, message: impl Into<String>, help: impl Into<String>) -> ChangeError {
        self.change.error(message, help)
    }

    /// A name that nothing has.
    pub(super) fn unknown<'c>(
        &self,
        what: &str,
        name: &str,
        known: impl IntoIterator<Item = &'c str>,
    ) -> ChangeError {
        let known: Vec<&str> = known.into_iter().collect();
        let help =
            did_you_mean(name, known.iter().copied()).unwrap_or_else(|| match known.as_slice() {
                [] => format!("there is no {what}"),
                few if few.len() <= 12 => format!("there are {}", listed(few, "and")),
                many => format!("there are {}; name one of them", many.len()),
            });
        self.error(format!("there is no {what} {}", quote(name)), help)
    }

    pub(super) fn own_settings(&self) -> PathBuf {
        self.folder.join(self.input.settings_file())
    }

    /// The settings of the project of a machine; in a project its own.
    pub(super) fn settings_of(&self, machine: usize) -> PathBuf {
        self.folder_of(machine).join(PROJECT)
    }

    /// The folder of the project of a machine; in a project its own.
    pub(super) fn folder_of(&self, machine: usize) -> PathBuf {
        match self.input.machines.get(machine) {
            Some(of) => folder_of(self.files, &self.folder.join(&of.project)),
            None => self.folder.to_owned(),
        }
    }

    pub(super) fn catalog(&self) -> PathBuf {
        self.folder.join(&self.input.settings.catalog)
    }

    /// The machines, each project once; in a project 0.
    pub(super) fn machines(&self) -> Vec<usize> {
        let all = 0..self.input.machines.len().max(1);
        all.filter(|place| self.input.first_sharing(*place) == *place)
            .collect()
    }

    pub(super) fn machine(&self, name: &str) -> Result<usize, ChangeError> {
        let machines = &self.input.machines;
        let found = machines.iter().position(|of| of.name == name);
        found.ok_or_else(|| match machines.is_empty() {
            true => self.error(
                "a project is one machine",
                "leave the machine out; a purchase has machines",
            ),
            false => self.unknown("machine", name, machines.iter().map(|of| of.name.as_str())),
        })
    }

    pub(super) fn part_code(&self, code: &str) -> Result<PartId, ChangeError> {
        let catalog = &self.input.catalog;
        let codes = || catalog.parts.iter().map(|part| part.code.as_str());
        let found = catalog.find(code);
        found.ok_or_else(|| self.unknown("part", code, codes()))
    }

    pub(super) fn supplier_id(&self, name: &str) -> Result<SupplierId, ChangeError> {
        let catalog = &self.input.catalog;
        let names = || catalog.suppliers.iter().map(|of| of.name.as_str());
        let found = catalog.find_supplier(name);
        found.ok_or_else(|| self.unknown("supplier", name, names()))
    }

    /// Changes a settings file.
    pub(super) fn settings(
        &mut self,
        path: &Path,
        edit: impl FnOnce(&mut DocumentMut) -> Result<Vec<Was>, SettingError>,
    ) -> Done {
        let file = self.files.relative(path, self.folder);
        let bytes = self.files.bytes(path, MAX_BYTES);
        let text = bytes.ok().and_then(|bytes| String::from_utf8(bytes).ok());
        let doc = text.and_then(|text| text.parse::<DocumentMut>().ok().map(|doc| (doc, text)));
        let Some((mut doc, text)) = doc else {
            return Err(self.error(format!("{file} can't be changed"), "save the file as UTF-8"));
        };
        let all = edit(&mut doc);
        let all = all.map_err(|error| {
            self.error(
                format!("{file}: {error}"),
                format!("write the setting into {file}"),
            )
        })?;
        let mut new = doc.to_string();
        if text.contains("\r\n") {
            new = new.replace("\r\n", "\n").replace('\n', "\r\n");
        }
        self.files.lay(path, new);
        self.touched.extend(all.into_iter().map(|was| Touched {
            file: file.clone(),
            line: None,
            cell: was.key,
            before: was.before,
            after: was.after,
            how: How::Changed,
        }));
        Ok(())
    }

    /// A table that can't be found, where the project could be read: a defect of its folder.
    pub(super) fn stand(&self, stand: Option<Stand>, table: &str) -> Result<Stand, ChangeError> {
        stand.ok_or_else(|| self.error(format!("there is no table {table}"), "add the table"))
    }

    /// Writes cells of a table. A column that is not there is added for a value.
    pub(super) fn cells(
        &mut self,
        stand: &Stand,
        numbers: &'static [&'static str],
        cells: &[(u64, String, String)],
    ) -> Done {
        let columns: BTreeSet<&str> = cells.iter().map(|(_, column, _)| column.as_str()).collect();
        let columns: Vec<&str> = columns.into_iter().collect();
        let rows = stand.rows(&columns).into_iter();
        let rows: BTreeMap<u64, Vec<String>> = rows.map(|row| (row.line, row.cells)).collect();
        let file = stand.shown(self.files, self.folder);
        let mut touched = Vec::new();
        self.table(stand, numbers, &columns, |table| {
            for (line, column, value) in cells {
                let place = columns.iter().position(|name| name == column).unwrap_or(0);
                let before = rows.get(line).and_then(|row| row.get(place)).cloned();
                let before = before.unwrap_or_default();
                if before == *value {
                    continue;
                }
                table.ensure(column)?;
                table.set(*line, column, value)?;
                touched.push(Touched {
                    file: file.clone(),
                    line: Some(*line),
                    cell: column.clone(),
                    before,
                    after: value.clone(),
                    how: How::Changed,
                });
            }
            Ok(())
        })?;
        self.touched.extend(touched);
        Ok(())
    }

    /// Changes a table where it stands, and lays what becomes of it over its file. A CSV file
    /// that is not there is begun with `columns`.
    pub(super) fn table(
        &mut self,
        stand: &Stand,
        numbers: &'static [&'static str],
        columns: &[&str],
        edit: impl FnOnce(&mut EditedFile) -> Result<(), EditFileError>,
    ) -> Done {
        let edited = stand.edit(self.files, numbers, columns);
        let edited = edited.and_then(|mut table| {
            edit(&mut table)?;
            table.finish()
        });
        let edited = edited.map_err(|error| {
            let file = stand.shown(self.files, self.folder);
            self.in_place(&file, error)
        })?;
        self.files.lay(&stand.path, edited.bytes);
        Ok(())
    }

    /// Why a table can't be changed in place.
    fn in_place(&self, file: &str, error: EditFileError) -> ChangeError {
        self.error(
            format!("{file} can't be changed: {error}"),
            "change the file by hand, in a copy of the folder",
        )
    }
}
