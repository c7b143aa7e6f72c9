//! The files that a project or a catalog reads and keeps. No result is written over them.

use super::open::Desk;
use super::take::Place;
use crate::book::is_book;
use crate::catalog::read::{TABLES, history};
use crate::input::{folder_of, is_project, machine_folders};
use crate::project::settings::{PROJECT, PURCHASE};
use crate::source::{Files, shown};
use crate::study::booking::{DIES, LINES};
use crate::study::failure::Failure;
use std::path::{Path, PathBuf};

/// The record of a project.
pub(super) const RECORD: &str = "plan.json";

/// What a project folder may hold that is read or kept.
const OF_PROJECT: [&str; 13] = [
    PROJECT,
    PURCHASE,
    "circuits.csv",
    "on_hand.csv",
    LINES,
    DIES,
    RECORD,
    "plan.before.json",
    "trials.toml",
    "project.xlsx",
    "project.ods",
    "purchase.xlsx",
    "purchase.ods",
];

/// The recipes of a catalog stand in this folder.
const LISTS: &str = "lists";

/// Files that are read or kept, each with what the file is.
#[derive(Debug, Clone, Default)]
pub struct Own {
    from: Files,
    all: Vec<(PathBuf, &'static str)>,
    /// Catalog folders, for the recipes in them.
    catalogs: Vec<PathBuf>,
    /// Files that are to be written all the same.
    free: Vec<PathBuf>,
    /// True if the files of any other project are kept as well.
    with_projects: bool,
}

impl Own {
    /// None but those that are added.
    pub fn none(from: &Files) -> Self {
        Self {
            from: from.clone(),
            ..Self::default()
        }
    }

    /// The files of a project, a purchase or a catalog. Where the settings can't be read,
    /// these are the files of the folder alone.
    pub fn of(from: &Files, place: &Path) -> Self {
        let mut own = Self::none(from);
        own.with_projects = true;
        let folder = folder_of(from, place);
        if is_project(from, &folder) {
            own.project(&folder);
        }
        if let Ok(place) = Place::find(from, place) {
            own.catalog(&place);
        }
        own
    }

    /// These files and one more, with what it is: "the list that is read".
    pub fn and(mut self, path: &Path, what: &'static str) -> Self {
        self.add(path.to_owned(), what);
        self
    }

    /// These files and one more, where there is one.
    pub fn and_if(self, path: Option<&Path>, what: &'static str) -> Self {
        match path {
            Some(path) => self.and(path, what),
            None => self,
        }
    }

    /// These files without one, which is to be written.
    pub fn but(mut self, path: &Path) -> Self {
        self.free.push(path.to_owned());
        self
    }

    /// Refuses to write a result over one of these files, under whatever name.
    ///
    /// # Errors
    /// [`Failure::Usage`] with the file that would be lost.
    pub fn allow(&self, out: &Path) -> Result<(), Failure> {
        let Some((own, what)) = self.at(out) else {
            return Ok(());
        };
        let (out, own) = (shown(out), shown(&own));
        let message = match out == own {
            true => format!("{out} is {what}, and would be written over"),
            false => format!("{out} leads to {own}, {what}, which would be written over"),
        };
        Err(Failure::usage(message, "name another file for the result"))
    }

    /// The file that stands where a result is to go, if it is one of these.
    fn at(&self, out: &Path) -> Option<(PathBuf, &'static str)> {
        if self.free.iter().any(|free| self.from.is_same(free, out)) {
            return None;
        }
        let mut all = self.all.iter();
        if let Some(found) = all.find(|(own, _)| self.from.is_same(own, out)) {
            return Some(found.clone());
        }
        let real = self.from.place(out);
        let folder = real.parent()?;
        let is_toml = real.extension().is_some_and(|e| e == "toml");
        let is_recipe = |catalog: &PathBuf| self.from.is_same(&catalog.join(LISTS), folder);
        if is_toml && self.catalogs.iter().any(is_recipe) {
            return Some((out.to_owned(), "a recipe of the catalog"));
        }
        let of_other = self.with_projects && is_project(&self.from, folder);
        let is_named = OF_PROJECT.iter().any(|name| real.ends_with(name));
        (of_other && is_named && self.from.is_there(&real))
            .then(|| (out.to_owned(), "a file of another project"))
    }

    fn add(&mut self, path: PathBuf, what: &'static str) {
        self.all.push((path, what));
    }

    fn project(&mut self, folder: &Path) {
        let is_purchase = self.from.is_there(&folder.join(PURCHASE));
        let what = match is_purchase {
            true => "a file of the purchase",
            false => "a file of the project",
        };
        for name in OF_PROJECT {
            self.add(folder.join(name), what);
        }
        if !is_purchase {
            return;
        }
        for machine in machine_folders(&self.from, folder) {
            for name in OF_PROJECT {
                self.add(machine.join(name), "a file of a machine's project");
            }
        }
    }

    fn catalog(&mut self, place: &Place) {
        let (catalog, prices) = (&place.catalog, place.prices());
        self.add(prices, "the price list");
        self.and_history(place);
        if is_book(&self.from, catalog) {
            self.add(catalog.clone(), "the catalog");
            return;
        }
        for table in TABLES.into_iter().chain([history::NAME]) {
            self.add(
                catalog.join(format!("{table}.csv")),
                "a file of the catalog",
            );
        }
        self.catalogs.push(catalog.clone());
    }

    fn and_history(&mut self, place: &Place) {
        if let Ok(history) = place.history() {
            self.add(history, "the history of prices");
        }
    }
}

impl Desk {
    /// The files that this project reads and keeps, with those that were named for it. No
    /// result may be written over them.
    pub fn own(&self) -> Own {
        let named = self.asked.record.as_deref();
        self.own_but_record().and_if(named, "the record")
    }

    /// The same files, but for the record that was named: a new record goes there.
    pub fn own_but_record(&self) -> Own {
        let prices = self.list();
        let own = Own::of(self.files(), self.folder());
        let mut own = own.and_if(prices.as_deref(), "the price list");
        // Reading from a pipe would wait for ever, or take what is to be read later.
        if self.files().is_file(&self.record_path())
            && let Ok(Some(plan)) = self.unchecked()
        {
            for input in &plan.inputs {
                own.add(
                    self.folder().join(&input.file),
                    "what the plan was made from",
                );
            }
        }
        own
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(own: &Own, out: &Path) -> String {
        match own.allow(out) {
            Ok(()) => String::new(),
            Err(failure) => {
                assert_eq!(failure.status(), 2);
                failure.to_string()
            }
        }
    }

    /// A project in memory: nothing of it is on the disk.
    fn boat() -> Files {
        let mut files = Files::in_memory();
        let settings =
            "name = \"x\"\ncurrency = \"EUR\"\ncatalog = \"cat\"\nprices = \"own.csv\"\n";
        files.lay(Path::new("boat/project.toml"), settings);
        files.lay(Path::new("boat/cat/bodies.csv"), "");
        files
    }

    #[test]
    fn what_is_read_or_kept_is_not_written_over() {
        let own = Own::of(&boat(), Path::new("boat"));
        for (out, what) in [
            ("boat/project.toml", "a file of the project"),
            ("boat/circuits.csv", "a file of the project"),
            ("boat/ordered.csv", "a file of the project"),
            ("boat/plan.json", "a file of the project"),
            ("boat/own.csv", "the price list"),
            ("boat/history.csv", "the history of prices"),
            ("boat/cat/bodies.csv", "a file of the catalog"),
            ("boat/cat/prices.csv", "a file of the catalog"),
            ("boat/cat/lists/North.toml", "a recipe of the catalog"),
        ] {
            let message = format!("{out} is {what}, and would be written over");
            assert_eq!(said(&own, Path::new(out)), message);
        }
        for free in [
            "boat/report.html",
            "boat/spring.csv",
            "boat/cat/new.csv",
            "boat/cat/North.toml",
            "boat/cat/lists/new.csv",
            "circuits.csv",
        ] {
            assert_eq!(said(&own, Path::new(free)), "", "{free}");
        }
    }

    #[test]
    fn another_spelling_is_the_same_file() {
        let own = Own::of(&boat(), Path::new("boat/project.toml"));
        let detour = Path::new("boat/cat/../ordered.csv");
        assert!(said(&own, detour).contains("ordered.csv"));
        assert_eq!(said(&own, Path::new("boat/cat/../x.csv")), "");
    }

    #[test]
    fn more_files_can_be_named_and_one_taken_out() {
        let own = Own::of(&boat(), Path::new("boat"));
        let own = own.and(Path::new("list.csv"), "the list that is read");
        assert_eq!(
            said(&own, Path::new("./list.csv")),
            "list.csv is the list that is read, and would be written over"
        );
        let own = own.but(Path::new("boat/plan.json"));
        assert_eq!(said(&own, Path::new("boat/plan.json")), "");
        assert!(!said(&own, Path::new("boat/project.toml")).is_empty());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_leads_to_the_same_file() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        for name in ["list.csv", "other.csv"] {
            std::fs::write(at(name), "x").unwrap();
        }
        std::os::unix::fs::symlink(at("list.csv"), at("soft")).unwrap();
        std::fs::hard_link(at("list.csv"), at("hard")).unwrap();
        std::fs::hard_link(at("other.csv"), at("free")).unwrap();
        let own = Own::none(&Files::on_disk()).and(&at("list.csv"), "the list that is read");
        for link in ["soft", "hard"] {
            let message = said(&own, &at(link));
            assert!(message.contains("leads to"), "{message}");
        }
        assert_eq!(said(&own, &at("free")), "");
    }

    #[test]
    fn another_project_keeps_its_files_too() {
        let mut files = boat();
        files.lay(Path::new("launch/project.toml"), "");
        let own = Own::of(&files, Path::new("boat/cat"));
        let message = said(&own, Path::new("launch/project.toml"));
        assert!(message.contains("a file of another project"), "{message}");
        assert_eq!(said(&own, Path::new("launch/circuits.csv")), "");
        files.lay(Path::new("launch/circuits.csv"), "");
        let own = Own::of(&files, Path::new("boat/cat"));
        assert!(!said(&own, Path::new("launch/circuits.csv")).is_empty());
    }
}
