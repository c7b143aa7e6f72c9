//! Each reader of a file that a user can bring, on bytes of any kind.
//!
//! One file serves the fuzz targets and, in `tests/corpora.rs`, an ordinary test
//! that runs the corpora. A reader must neither panic nor hang; what it finds
//! wrong has a place, a message and a cure, and it never says nothing where it
//! gives nothing.

use couplet::audit;
use couplet::catalog::read::price_lists;
use couplet::desk::take::{Asked, Outcome, Shelf};
use couplet::desk::{self, Desk, letter};
use couplet::diag::{Findings, Level};
use couplet::input::{LoadOptions, load, load_catalog};
use couplet::lists::recipe::{Purpose, file_name};
use couplet::plan;
use couplet::project::delivery;
use couplet::report::{letter as letters, order, take};
use couplet::source::{Files, Source};
use couplet::study::booking;
use couplet::study::failure::Failure;
use couplet::table::EditedTable;
use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// A target: bytes in, nothing out.
pub type Target = fn(&[u8]);

/// Every target by the name of its corpus.
pub const TARGETS: &[(&str, Target)] = &[
    ("catalog", catalog),
    ("circuits", circuits),
    ("settings", settings),
    ("prices", prices),
    ("on_hand", on_hand),
    ("ordered", ordered),
    ("plan", plan),
    ("xlsx", xlsx),
    ("ods", ods),
    ("list_text", list_text),
    ("list_book", list_book),
    ("letter", letter),
];

/// The sound project that each target spoils one file of.
const SOUND: [(&str, &str); 12] = [
    (
        "project.toml",
        include_str!("../../src/cli/new/project.toml"),
    ),
    (
        "circuits.csv",
        include_str!("../../src/cli/new/circuits.csv"),
    ),
    ("on_hand.csv", include_str!("../../src/cli/new/on_hand.csv")),
    (
        "catalog/bodies.csv",
        include_str!("../../src/cli/new/catalog/bodies.csv"),
    ),
    (
        "catalog/ferrules.csv",
        include_str!("../../src/cli/new/catalog/ferrules.csv"),
    ),
    (
        "catalog/seals.csv",
        include_str!("../../src/cli/new/catalog/seals.csv"),
    ),
    (
        "catalog/backshells.csv",
        include_str!("../../src/cli/new/catalog/backshells.csv"),
    ),
    (
        "catalog/prices.csv",
        include_str!("../../src/cli/new/catalog/prices.csv"),
    ),
    (
        "catalog/suppliers.csv",
        include_str!("../../src/cli/new/catalog/suppliers.csv"),
    ),
    (
        "catalog/dies.csv",
        include_str!("../../src/cli/new/catalog/dies.csv"),
    ),
    (
        "catalog/ratings.csv",
        include_str!("../../src/cli/new/catalog/ratings.csv"),
    ),
    (
        "catalog/attributes.csv",
        include_str!("../../src/cli/new/catalog/attributes.csv"),
    ),
];

/// A folder with the sound project, kept over all runs of a thread.
struct Project {
    folder: TempDir,
}

impl Project {
    fn new() -> Project {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::create_dir(folder.path().join("catalog")).expect("a folder");
        let project = Project { folder };
        for (file, text) in SOUND {
            project.write(file, text.as_bytes());
        }
        project
    }

    fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    fn write(&self, file: &str, bytes: &[u8]) {
        std::fs::write(self.path(file), bytes).expect("written");
    }

    /// Loads the project with other bytes in one file, and puts the file back.
    fn spoilt(&self, file: &str, bytes: &[u8]) {
        self.write(file, bytes);
        let loaded = load(self.folder.path(), &LoadOptions::default());
        is_told(&loaded.findings, loaded.input.is_some());
        match SOUND.iter().find(|(name, _)| *name == file) {
            Some((_, text)) => self.write(file, text.as_bytes()),
            None => std::fs::remove_file(self.path(file)).expect("removed"),
        }
    }
}

thread_local! {
    static PROJECT: Project = Project::new();
}

fn spoil(file: &str, bytes: &[u8]) {
    PROJECT.with(|project| project.spoilt(file, bytes));
}

/// Where nothing could be read, an error tells; every finding has its place, its
/// message on one line, and every error its cure.
fn is_told(findings: &Findings, is_read: bool) {
    assert_eq!(is_read, !findings.has_errors());
    for finding in findings.iter() {
        assert!(!finding.file.is_empty() && !finding.message.is_empty());
        assert!(finding.level == Level::Warning || finding.help.is_some());
        let help = finding.help.as_deref().unwrap_or_default();
        let shown = format!("{}{}{help}", finding.place(), finding.message);
        assert!(!shown.contains(char::is_control), "{shown:?}");
    }
}

/// The first line, and what comes after it.
fn first_line(data: &[u8]) -> (&[u8], &[u8]) {
    match data.iter().position(|b| *b == b'\n') {
        Some(end) => (&data[..end], &data[end + 1..]),
        None => (data, b""),
    }
}

/// A table of a catalog; the first line names it.
pub fn catalog(data: &[u8]) {
    let (name, rest) = first_line(data);
    let tables = SOUND.iter().map(|(file, _)| *file);
    let mut tables = tables.filter(|file| file.starts_with("catalog/"));
    let named = tables.find(|file| &file.as_bytes()[8..file.len() - 4] == name);
    match named {
        Some(file) => spoil(file, rest),
        None => spoil("catalog/bodies.csv", data),
    }
}

/// `circuits.csv`.
pub fn circuits(data: &[u8]) {
    spoil("circuits.csv", data);
}

/// `project.toml`.
pub fn settings(data: &[u8]) {
    spoil("project.toml", data);
}

/// A price list, with its catalog and beside another one.
pub fn prices(data: &[u8]) {
    spoil("catalog/prices.csv", data);
    PROJECT.with(|project| {
        project.write("new.csv", data);
        let (old, new) = (project.path("catalog/prices.csv"), project.path("new.csv"));
        for (a, b) in [(&old, &new), (&new, &old)] {
            let mut findings = Findings::default();
            let lists = price_lists(a, b, &mut findings);
            is_told(&findings, lists.is_some());
        }
        let loaded = load_catalog(
            &Files::on_disk(),
            &project.path("catalog"),
            Some(new.as_path()),
        );
        is_told(&loaded.findings, loaded.catalog.is_some());
    });
}

/// `on_hand.csv`, and a delivery, which has the same columns.
pub fn on_hand(data: &[u8]) {
    spoil("on_hand.csv", data);
    let loaded = PROJECT.with(|p| load(p.folder.path(), &LoadOptions::default()));
    let input = loaded.input.expect("the sound project");
    let mut findings = Findings::default();
    let source = Source::from_bytes(&"came.csv".into(), data.to_vec(), &mut findings);
    if let Some(source) = source {
        delivery::read(&source, &input.catalog, &mut findings);
    }
    is_told(&findings, !findings.has_errors());
}

/// `ordered.csv`: read, and changed in place.
pub fn ordered(data: &[u8]) {
    spoil("ordered.csv", data);
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    if let Ok(table) = EditedTable::open(text, &["qty", "unit_price"]) {
        // Nothing is changed, so nothing may change.
        assert_eq!(table.text(), text);
    }
    PROJECT.with(|project| {
        project.write("ordered.csv", data);
        let loaded = load(project.folder.path(), &LoadOptions::default());
        if let Some(input) = loaded.input {
            let one = input.ordered.iter().find(|row| row.received < row.qty);
            let came: Vec<delivery::Delivery> = one
                .map(|row| delivery::Delivery {
                    part: row.part,
                    qty: 1,
                    supplier: None,
                    sku: Some(row.sku.clone()).filter(|sku| !sku.is_empty()),
                })
                .into_iter()
                .collect();
            let day = "2999-01-01".parse().expect("a day");
            if let Ok((new, _)) = booking::receive(text, &input, &came, day) {
                // What was booked can be read again.
                project.write("ordered.csv", new.as_bytes());
                let again = load(project.folder.path(), &LoadOptions::default());
                is_told(&again.findings, true);
            }
        }
        std::fs::remove_file(project.path("ordered.csv")).expect("removed");
    });
}

/// `plan.json`.
pub fn plan(data: &[u8]) {
    PROJECT.with(|project| {
        project.write("plan.json", data);
        let plan = match plan::read(&project.path("plan.json")) {
            Ok(plan) => plan,
            Err(error) => {
                assert!(!error.to_string().is_empty() && !error.help().is_empty());
                return;
            }
        };
        let loaded = load(project.folder.path(), &LoadOptions::default());
        let input = loaded.input.expect("the sound project");
        for finding in audit::audit(&input, &plan)
            .into_iter()
            .chain(audit::audit_alone(&plan))
        {
            assert!(!finding.to_string().is_empty());
        }
        order::all_text(&plan, &input.catalog, 80);
        order::file_names(&plan);
        // What was read can be written and read again.
        let path = project.path("again.json");
        plan::write(&path, &plan).expect("written");
        assert_eq!(plan::read(&path).expect("read again"), plan);
    });
}

/// A workbook with all tables, `.xlsx`.
pub fn xlsx(data: &[u8]) {
    book("project.xlsx", include_bytes!("../corpus/sound.xlsx"), data);
}

/// A workbook with all tables, `.ods`.
pub fn ods(data: &[u8]) {
    book("project.ods", include_bytes!("../corpus/sound.ods"), data);
}

/// What stands between a recipe and a list in a seed.
const LIST_BEGINS: &[u8] = b"\n=====\n";

/// A supplier's list as a text, after its recipe and a line `=====`; without such a line,
/// a list without a recipe.
pub fn list_text(data: &[u8]) {
    let mut windows = data.windows(LIST_BEGINS.len());
    match windows.position(|window| window == LIST_BEGINS) {
        Some(at) => {
            let (recipe, list) = data.split_at(at);
            taken(Some(recipe), "list.csv", &list[LIST_BEGINS.len()..]);
        }
        None => taken(None, "list.csv", data),
    }
}

/// A delivery note or a confirmation as a text, after its recipe as in `list_text`; without a
/// recipe, one is proposed. Read as both, against an order that is placed.
pub fn letter(data: &[u8]) {
    let mut windows = data.windows(LIST_BEGINS.len());
    let at = windows.position(|window| window == LIST_BEGINS);
    let (recipe, file) = match at {
        Some(at) => {
            let (recipe, file) = data.split_at(at);
            (Some(recipe), &file[LIST_BEGINS.len()..])
        }
        None => (None, data),
    };
    for purpose in [Purpose::Delivery, Purpose::Confirmation] {
        sent(recipe, file, purpose);
    }
}

/// What is proposed can be read, what is read is booked or held against the order, and what
/// is refused is refused with a cure.
fn sent(recipe: Option<&[u8]>, file: &[u8], purpose: Purpose) {
    const ORDERED: &str = "part,supplier,qty,unit_price,ordered_on,sku\n\
                           C10,Example North,12,4.20,2026-01-02,N-1026\n\
                           F10-50,Example South,20,1.50,2026-01-02,\n";
    let on = "2026-02-03".parse().expect("a day");
    let mut files = Files::in_memory();
    SOUND
        .iter()
        .for_each(|(name, text)| files.lay(Path::new(name), text));
    files.lay(Path::new("ordered.csv"), ORDERED);
    files.lay(Path::new("sent.csv"), file);
    let path = Path::new("catalog").join(file_name("Example North", purpose));
    if let Some(recipe) = recipe {
        files.lay(&path, recipe);
    }
    let is_plain = |shown: String| {
        let is_bad = |c: char| c.is_control() && c != '\n';
        assert!(!shown.contains(is_bad), "{shown:?}");
    };
    for _ in 0..2 {
        let asked = desk::Asked {
            files: files.clone(),
            ..desk::Asked::default()
        };
        let desk = Desk::open(Path::new(""), asked);
        let sent = match desk.letter(Path::new("sent.csv"), Some("Example North"), purpose) {
            Err(error) => return is_refused(&error),
            Ok(letter::Outcome::Proposed(draft)) => {
                is_plain(letters::proposed(&draft, false, 80));
                files.lay(&path, &draft.text);
                continue;
            }
            Ok(letter::Outcome::Read(sent)) => sent,
        };
        match desk.arrived(&sent, on) {
            Err(error) => is_refused(&error),
            Ok(arrived) => {
                is_plain(letters::nothing(&arrived, 80));
                if !arrived.deliveries.is_empty() {
                    desk.to_receive(&arrived.deliveries, on).expect("it fits");
                }
            }
        }
        match desk.confirmed(&sent, None, on) {
            Err(error) => is_refused(&error),
            Ok(confirmed) => {
                is_plain(letters::text(&confirmed, 80));
                letters::table(&confirmed).csv().expect("a table");
            }
        }
        return;
    }
    panic!("the recipe that was proposed is not there");
}

/// A supplier's list as a workbook, with a recipe and without: seeds begin as those of
/// `xlsx`.
pub fn list_book(data: &[u8]) {
    const RECIPE: &str = "supplier = \"Example North\"\n[file]\nsheet = \"Prices\"\n[columns]\n\
                          article = \"Item\"\nprice = \"Price\"\nquantity = \"Qty\"\nlead = \"Delivery\"\n";
    let sound = include_bytes!("../corpus/sound.list.xlsx");
    let (part, rest) = first_line(data);
    let part = std::str::from_utf8(part).ok();
    let spoilt = part.and_then(|part| with_part(sound, part, rest));
    let bytes = spoilt.as_deref().unwrap_or(data);
    taken(Some(RECIPE.as_bytes()), "list.xlsx", bytes);
    taken(None, "list.xlsx", bytes);
}

/// Takes a list from memory: what is proposed can be read, what is taken can be taken again
/// and changes nothing, and what is refused is refused with a cure.
fn taken(recipe: Option<&[u8]>, name: &str, list: &[u8]) {
    const RECIPE: &str = "catalog/lists/Example-North.toml";
    let mut files = Files::in_memory();
    SOUND
        .iter()
        .for_each(|(file, text)| files.lay(Path::new(file), text));
    files.lay(Path::new(name), list);
    if let Some(recipe) = recipe {
        files.lay(Path::new(RECIPE), recipe);
    }
    let read = |files: &Files| {
        let asked = Asked {
            place: "catalog".into(),
            supplier: "Example North".into(),
            list: name.into(),
            dated: None,
            out: None,
        };
        Shelf::open(files.clone(), asked)?.read()
    };
    match read(&files) {
        Err(error) => is_refused(&error),
        Ok(Outcome::Proposed(draft)) => {
            let shown = take::proposed(&draft, false, 80);
            assert!(
                !shown.contains(|c: char| c.is_control() && c != '\n'),
                "{shown:?}"
            );
            files.lay(Path::new(RECIPE), &draft.text);
            match read(&files) {
                Err(error) => is_refused(&error),
                Ok(outcome) => assert!(matches!(outcome, Outcome::Read(_))),
            }
        }
        Ok(Outcome::Read(first)) => {
            let shown = take::text(&first.taken, false, 80);
            assert!(
                !shown.contains(|c: char| c.is_control() && c != '\n'),
                "{shown:?}"
            );
            take::changes(&first.taken).csv().expect("a table");
            first.new_rows().expect("rows");
            files.lay(Path::new("catalog/prices.csv"), &first.text);
            let Ok(Outcome::Read(again)) = read(&files) else {
                panic!("what was taken can't be taken again");
            };
            assert!(!again.taken.would_change && again.taken.changes.is_empty());
        }
    }
}

/// An error of the input, with its place and its cure; never one of the program.
fn is_refused(error: &Failure) {
    assert_eq!(error.status(), 1, "{error}");
    match error {
        Failure::Input(findings) => is_told(findings, false),
        other => assert!(other.cure().is_some(), "{other}"),
    }
}

/// The first line names the part of a sound workbook that is replaced by the
/// rest; without such a line, all of it is the workbook.
fn book(name: &str, sound: &[u8], data: &[u8]) {
    let (part, rest) = first_line(data);
    let part = std::str::from_utf8(part).ok();
    let spoilt = part.and_then(|part| with_part(sound, part, rest));
    let bytes = spoilt.as_deref().unwrap_or(data);
    PROJECT.with(|project| {
        let mut findings = Findings::default();
        project.write(name, bytes);
        let book = couplet::book::read(&Files::on_disk(), &project.path(name), &mut findings);
        is_told(&findings, book.is_some());
        for sheet in book.iter().flat_map(|book| &book.sheets) {
            couplet::convert::write(name, sheet, &mut Findings::default());
        }
        in_its_place(project, name);
        std::fs::remove_file(project.path(name)).expect("removed");
    });
}

/// Loads the project with the workbook in the place of its tables.
fn in_its_place(project: &Project, name: &str) {
    let settings = SOUND[0]
        .1
        .replace("catalog = \"catalog\"", &format!("catalog = \"{name}\""));
    assert!(
        settings.contains(name),
        "the sound project names its catalog"
    );
    project.write("project.toml", settings.as_bytes());
    let hidden: [&str; 2] = ["circuits.csv", "on_hand.csv"];
    for file in hidden {
        std::fs::remove_file(project.path(file)).expect("removed");
    }
    let loaded = load(project.folder.path(), &LoadOptions::default());
    is_told(&loaded.findings, loaded.input.is_some());
    for (file, text) in SOUND.iter().take(3) {
        project.write(file, text.as_bytes());
    }
}

/// The workbook with other bytes in one of its parts; none if it has no such part.
fn with_part(sound: &[u8], part: &str, bytes: &[u8]) -> Option<Vec<u8>> {
    let mut from = ZipArchive::new(Cursor::new(sound)).expect("an archive");
    from.index_for_name(part)?;
    let mut to = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for place in 0..from.len() {
        let mut entry = from.by_index(place).expect("an entry");
        let name = entry.name().expect("a name").into_owned();
        to.start_file(&*name, plain).expect("begun");
        if name == part {
            to.write_all(bytes).expect("written");
        } else {
            let mut old = Vec::new();
            entry.read_to_end(&mut old).expect("unpacked");
            to.write_all(&old).expect("written");
        }
    }
    Some(to.finish().expect("closed").into_inner())
}

/// All seeds of a target, by path.
pub fn corpus(root: &Path, target: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = root.join("fuzz/corpus").join(target);
    let entries = std::fs::read_dir(&folder).expect("a corpus");
    let mut seeds: Vec<(PathBuf, Vec<u8>)> = entries
        .map(|entry| entry.expect("an entry").path())
        .map(|path| (path.clone(), std::fs::read(path).expect("a seed")))
        .collect();
    seeds.sort();
    seeds
}
