//! Reads a project with its catalog.

use super::form::{Input, InputFile, PriceList, newest_quote};
use super::machines::Machines;
use super::reading::{Reading, folder_of, recorded};
use super::{checks, warnings};
use crate::book;
use crate::catalog::{Catalog, read};
use crate::diag::{Diagnostic, Findings};
use crate::project::settings::{self, Of, PROJECT, PURCHASE};
use crate::project::{OnHand, Settings};
use crate::project::{circuits, dies_ordered, on_hand, ordered};
use crate::source::{self, Files, Source};
use crate::tables::Tables;
use jiff::civil::Date;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What the user says in place of what the files say.
#[derive(Debug, Clone, Default)]
pub struct LoadOptions {
    /// The files that are read.
    pub files: Files,
    /// The price list to use, relative to the current folder.
    pub prices: Option<PathBuf>,
    /// The day as of which the prices are looked at.
    pub as_of: Option<Date>,
}

/// A project, and what is wrong with it.
#[derive(Debug)]
pub struct Loaded {
    /// None where there are errors.
    pub input: Option<Input>,
    /// By file, then line.
    pub findings: Findings,
}

/// A catalog alone, and what is wrong with it.
#[derive(Debug)]
pub struct LoadedCatalog {
    /// None where there are errors.
    pub catalog: Option<Catalog>,
    /// By file, then line.
    pub findings: Findings,
    /// The files that were read, relative to the catalog folder, or to the folder of
    /// the catalog's workbook.
    pub files: Vec<InputFile>,
}

/// Reads a project folder (or the folder of the `project.toml` given), with its
/// catalog, and checks that all of it goes together.
///
/// Every error of every file is found in one run. A row with an error is left out,
/// but its part code stays known, so that the row causes no second error.
pub fn load(project: &Path, options: &LoadOptions) -> Loaded {
    let mut findings = Findings::default();
    let mut reading = Reading::new(options.files.clone(), folder_of(&options.files, project));
    if let Some(missing) = missing_project(&reading.from, &reading.folder) {
        findings.push(missing);
        return Loaded {
            input: None,
            findings,
        };
    }
    let of = of_folder(&reading.from, &reading.folder, &mut findings);
    let settings = reading.settings(of, &mut findings);
    let book = match of {
        Of::Project => "project",
        Of::Purchase => "purchase",
    };
    let mut tables = Tables::with_book(&reading.from, &reading.folder, book, &mut findings);
    let source = match of {
        Of::Project => tables.required("circuits", &mut findings),
        Of::Purchase => {
            unused(&tables, &mut findings);
            None
        }
    };
    let stock = tables.optional("on_hand", &mut findings);
    let placed = tables.only_file("ordered", &mut findings);
    let placed_dies = tables.only_file("dies_ordered", &mut findings);
    reading.take(tables.files(), tables.names());
    let machines = match of {
        Of::Project => Machines::default(),
        Of::Purchase => reading.machines(&settings, &mut findings),
    };
    let mut draft = reading.catalog(of, &settings, options, &mut findings);
    // What a circuit can want is for the catalog to say.
    let attributes = draft
        .as_mut()
        .map(|draft| std::mem::take(&mut draft.attributes));
    let attributes = attributes.unwrap_or_default();
    let mut read = |source: Option<&Source>| circuits::read(source, &attributes, &mut findings);
    let of_projects: Vec<circuits::Draft> = match of {
        Of::Project => vec![read(source.as_ref())],
        Of::Purchase => (machines.projects.iter())
            .map(|project| read(project.circuits.as_ref()))
            .collect(),
    };
    let on_hand = match (&stock, &draft) {
        (Some(stock), Some(draft)) => {
            on_hand::read(stock, &draft.catalog, &draft.part_codes, &mut findings)
        }
        _ => OnHand::new(),
    };
    let ordered = match (&placed, &draft) {
        (Some(placed), Some(draft)) => {
            let known = ordered::Names {
                parts: &draft.part_codes,
                suppliers: &draft.supplier_codes,
            };
            ordered::read(placed, &draft.catalog, known, &mut findings)
        }
        _ => Vec::new(),
    };
    let dies_ordered = match (&placed_dies, &draft) {
        (Some(placed), Some(draft)) => {
            dies_ordered::read(placed, &draft.catalog, &draft.die_codes, &mut findings)
        }
        _ => Vec::new(),
    };
    let own = match of {
        Of::Project => vec![(reading.name(of.file()), &settings)],
        Of::Purchase => (machines.projects.iter())
            .map(|project| (Arc::clone(&project.file), &project.settings))
            .collect(),
    };
    let projects = own.into_iter().zip(&of_projects);
    let all = checks::Read {
        settings_file: reading.name(of.file()),
        settings: &settings,
        projects: projects
            .map(|((file, settings), circuits)| checks::Project {
                file,
                settings,
                circuits,
            })
            .collect(),
        on_hand: &on_hand,
        ordered: &ordered,
        catalog: draft.as_ref(),
    };
    checks::run(&all, &mut findings);
    let as_of = options
        .as_of
        .or_else(|| newest_quote(&draft.as_ref()?.catalog));
    warnings::run(&all, as_of, &mut findings);
    findings.sort_by_place(&reading.names);
    findings.merge_repeated();

    let whole = !findings.has_errors();
    let prices = reading.price_list(&settings, options);
    let built = machines.built(&of_projects);
    let circuits = match of {
        Of::Project => of_projects.into_iter().flat_map(|of| of.circuits).collect(),
        Of::Purchase => built.circuits,
    };
    let settings = settings.settings.filter(|_| whole);
    let input = settings.zip(draft.take()).map(|(settings, draft)| Input {
        catalog: draft.catalog,
        settings,
        machines: built.machines,
        circuits,
        on_hand,
        ordered,
        dies_ordered,
        as_of,
        prices,
        files: reading.files,
    });
    Loaded { input, findings }
}

/// Warns where circuits stand beside a purchase: nobody reads them.
fn unused(tables: &Tables, findings: &mut Findings) {
    if tables.has("circuits") {
        let message = "a purchase has no circuits of its own: nobody reads this";
        findings.push(
            Diagnostic::warning(&tables.name("circuits"), message)
                .help("put the circuits into the project of a machine"),
        );
    }
}

/// What the folder holds: a project, or a purchase. Pushes an error if it holds both.
fn of_folder(files: &Files, folder: &Path, findings: &mut Findings) -> Of {
    let [project, purchase] = [PROJECT, PURCHASE].map(|file| folder.join(file));
    if !files.is_there(&purchase) {
        return Of::Project;
    }
    if files.is_there(&project) {
        let message = format!("{} is there as well", source::shown(&project));
        findings.push(
            Diagnostic::error(&source::shown(&purchase), message).help(
                "keep one of the two: the project of a machine stands in a folder of its own",
            ),
        );
    }
    Of::Purchase
}

/// True if the folder is that of a project or a purchase.
pub fn is_project(files: &Files, folder: &Path) -> bool {
    [PROJECT, PURCHASE]
        .iter()
        .any(|file| files.is_there(&folder.join(file)))
}

/// Reads the settings of a project or a purchase alone; none where its file can't be
/// read or has an error.
pub fn load_settings(files: &Files, folder: &Path) -> Option<Settings> {
    let mut findings = Findings::default();
    let of = of_folder(files, folder, &mut findings);
    let draft = Reading::new(files.clone(), folder.to_owned()).settings(of, &mut findings);
    draft.settings.filter(|_| !findings.has_errors())
}

/// The project folders of the machines of a purchase, as far as its settings can be read.
pub fn machine_folders(files: &Files, purchase: &Path) -> Vec<PathBuf> {
    let mut findings = Findings::default();
    let mut reading = Reading::new(files.clone(), purchase.to_owned());
    let draft = reading.settings(Of::Purchase, &mut findings);
    let folder = |project: &str| folder_of(files, &purchase.join(project));
    (draft.machines.iter())
        .map(|machine| folder(&machine.project))
        .collect()
}

/// Reads a catalog, a folder or a workbook, without any project; `prices` is the price list to
/// use in place of the folder's own.
pub fn load_catalog(files: &Files, folder: &Path, prices: Option<&Path>) -> LoadedCatalog {
    let mut findings = Findings::default();
    if let Some(missing) = missing_catalog(files, folder, &source::shown(folder)) {
        findings.push(missing);
        return LoadedCatalog {
            catalog: None,
            findings,
            files: Vec::new(),
        };
    }
    let asked = read::Asked {
        prices,
        taken: &circuits::column_names(),
    };
    let draft = read::read(files, folder, asked, &mut findings);
    warnings::of_catalog(&draft, newest_quote(&draft.catalog), &mut findings);
    findings.sort_by_place(&draft.names);
    findings.merge_repeated();
    LoadedCatalog {
        files: recorded(files, &draft.files, beside(files, folder)),
        catalog: Some(draft.catalog).filter(|_| !findings.has_errors()),
        findings,
    }
}

impl Reading {
    /// Reads the catalog that the settings name, if they name one.
    fn catalog(
        &mut self,
        of: Of,
        settings: &settings::Draft,
        options: &LoadOptions,
        findings: &mut Findings,
    ) -> Option<read::Draft> {
        let folder = self.folder.join(settings.catalog.as_ref()?);
        if let Some(missing) = missing_catalog(&self.from, &folder, &self.name(of.file())) {
            // The path may be what is broken in a file that is no TOML.
            if settings.readable {
                findings.push(missing.column("catalog"));
            }
            return None;
        }
        let of_project = settings.prices.as_ref().map(|p| self.folder.join(p));
        let of_project = of_project.filter(|path| settings.readable || self.from.is_file(path));
        let prices = options.prices.clone().or(of_project);
        let asked = read::Asked {
            prices: prices.as_deref(),
            taken: &circuits::column_names(),
        };
        let draft = read::read(&self.from, &folder, asked, findings);
        self.take(&draft.files, &draft.names);
        Some(draft)
    }

    /// Which list the prices come from, once the settings are read.
    fn price_list(&self, settings: &settings::Draft, options: &LoadOptions) -> PriceList {
        let Some(catalog) = &settings.catalog else {
            return PriceList::default();
        };
        let catalog = self.folder.join(catalog);
        let own = match &settings.prices {
            Some(prices) => self.folder.join(prices),
            // A workbook holds its prices itself.
            None if self.from.is_file(&catalog) => catalog,
            None => catalog.join("prices.csv"),
        };
        let own = self.from.relative(&own, &self.folder);
        let named = options.prices.as_ref();
        let named = named.map(|path| self.from.relative(path, &self.folder));
        PriceList {
            instead: named.filter(|named| *named != own),
            own,
        }
    }
}

fn missing_project(files: &Files, folder: &Path) -> Option<Diagnostic> {
    if folder.as_os_str().is_empty() || files.is_dir(folder) {
        return None;
    }
    let shown = source::shown(folder);
    Some(
        Diagnostic::error(&shown, format!("there is no project folder {shown}"))
            .help("name the folder that has project.toml or purchase.toml"),
    )
}

/// An error at `file` if the catalog is not there.
fn missing_catalog(files: &Files, catalog: &Path, file: &Arc<str>) -> Option<Diagnostic> {
    let is_book = book::is_book(files, catalog);
    if files.is_dir(catalog) || (is_book && files.is_file(catalog)) {
        return None;
    }
    let shown = source::shown(catalog);
    Some(if files.is_file(catalog) {
        Diagnostic::error(
            file,
            format!("{shown} is no catalog folder and no workbook"),
        )
        .help("name the folder that has bodies.csv, or a workbook saved as .xlsx or .ods")
    } else if is_book {
        Diagnostic::error(file, format!("there is no catalog workbook {shown}"))
            .help("correct the path to the workbook that has a sheet bodies")
    } else {
        Diagnostic::error(file, format!("there is no catalog folder {shown}"))
            .help("correct the path to the folder that has bodies.csv")
    })
}

/// The folder that holds a catalog's files.
fn beside<'c>(files: &Files, catalog: &'c Path) -> &'c Path {
    match catalog.parent() {
        Some(parent) if book::is_book(files, catalog) => parent,
        _ => catalog,
    }
}
