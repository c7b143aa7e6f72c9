//! What is written where a trial is kept: those cells, and nothing else.

use couplet::desk::{Asked, Desk};
use couplet::source::Files;
use couplet::trial::Trial;
use std::fs;
use std::path::Path;

fn folder_of(path: &str) -> tempfile::TempDir {
    fn copy(from: &Path, to: &Path) {
        fs::create_dir_all(to).unwrap();
        for entry in fs::read_dir(from).unwrap() {
            let entry = entry.unwrap();
            let to = to.join(entry.file_name());
            match entry.path().is_dir() {
                true => copy(&entry.path(), &to),
                false => drop(fs::copy(entry.path(), to).unwrap()),
            }
        }
    }
    let folder = tempfile::tempdir().unwrap();
    copy(Path::new(path), folder.path());
    folder
}

fn keep(desk: &mut Desk, text: &str) {
    desk.keep_trial(&Trial::parse(text).unwrap()).unwrap();
}

#[test]
fn comments_order_and_line_ends_stay() {
    let folder = folder_of("examples/lake-ferry");
    let read = |file: &str| fs::read_to_string(folder.path().join(file)).unwrap();
    let (circuits, settings) = (read("circuits.csv"), read("project.toml"));
    let mut desk = Desk::open(folder.path(), Asked::default());
    keep(
        &mut desk,
        "circuit port drive current 200; ambient 45; net HV+ keys 1 2",
    );
    let new = read("circuits.csv");
    let lines: Vec<(&str, &str)> = circuits
        .lines()
        .zip(new.lines())
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(lines[0].1, lines[0].0.replacen(",230,", ",200,", 1));
    let wanted = settings
        .replace("ambient_c = 50", "ambient_c = 45")
        .replace(
            "\"HV+\" = [\"1\", \"2\", \"3\"]",
            "\"HV+\" = [\"1\", \"2\"]",
        );
    assert_ne!(wanted, settings);
    assert_eq!(read("project.toml"), wanted);
}

#[test]
fn a_workbook_is_changed_in_its_cell_and_an_ods_is_refused() {
    let folder = folder_of("examples/lake-ferry");
    let place = folder.path();
    let convert = |to: &str| {
        let mut couplet = assert_cmd::Command::cargo_bin("couplet").unwrap();
        let done = couplet
            .current_dir(place)
            .args(["convert", ".", to, "-q"])
            .output()
            .unwrap();
        assert!(done.status.success(), "{done:?}");
    };
    convert("project.xlsx");
    fs::remove_file(place.join("circuits.csv")).unwrap();
    let mut desk = Desk::open(place, Asked::default());
    let Ok(input) = desk.sound() else {
        panic!("{:?}", desk.findings());
    };
    let before = input.circuits.clone();
    keep(&mut desk, "circuit port drive current 200");
    let again = Desk::open(place, Asked::default());
    let after = &again.sound().unwrap().circuits;
    let changed: Vec<&str> = (before.iter().zip(after))
        .filter(|(a, b)| a != b)
        .map(|(_, b)| b.name.as_str())
        .collect();
    assert_eq!(changed, ["port drive"]);
    // A sheet of an .ods workbook is only read.
    fs::rename(place.join("project.xlsx"), place.join("project.ods")).unwrap();
    let desk = Desk::open(place, Asked::default());
    if desk.input().is_some() {
        let trial = Trial::parse("circuit port drive current 200").unwrap();
        assert!(desk.with(&trial).unwrap_err().to_string().contains(".ods"));
    }
}

#[test]
fn nothing_is_written_where_a_change_can_not_be_made() {
    let folder = folder_of("examples/lake-ferry");
    let before = fs::read(folder.path().join("project.toml")).unwrap();
    let mut desk = Desk::open(folder.path(), Asked::default());
    for text in [
        "ambient 45; circuit nobody gauge 5 mm2",
        "ambient 45; circuit port drive gauge 5",
    ] {
        let trial = Trial::parse(text).unwrap();
        assert!(desk.keep_trial(&trial).is_err(), "{text}");
        assert_eq!(
            fs::read(folder.path().join("project.toml")).unwrap(),
            before
        );
    }
}

#[test]
fn a_trial_of_memory_is_kept_in_memory() {
    let folder = Path::new("no/such/ferry");
    let mut files = Files::in_memory();
    let from = Path::new("examples/lake-ferry");
    for entry in ["", "catalog"]
        .iter()
        .flat_map(|at| fs::read_dir(from.join(at)).unwrap())
    {
        let path = entry.unwrap().path();
        if path.is_file() {
            let place = folder.join(path.strip_prefix(from).unwrap());
            files.lay(&place, fs::read(&path).unwrap());
        }
    }
    let mut desk = Desk::open(
        folder,
        Asked {
            files,
            ..Asked::default()
        },
    );
    keep(&mut desk, "ambient 45");
    assert!(
        desk.text("project.toml")
            .unwrap()
            .contains("ambient_c = 45")
    );
    keep(&mut desk, "on hand S5-b-PI 2");
    assert!(desk.text("on_hand.csv").unwrap().contains("S5-b-PI,2"));
}
