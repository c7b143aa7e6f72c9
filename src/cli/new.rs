//! `couplet new`.

use super::args::New as Args;
use super::files::{self, Target};
use super::output::Terminal;
use super::typed::typed;
use couplet::desk::Own;
use couplet::source::Files;
use couplet::study::failure::Failure;
use std::fs;
use std::io::ErrorKind;
use std::path::Path;

/// Every file of a new project, by its path in the project.
const FILES: &[(&str, &str)] = &[
    ("project.toml", include_str!("new/project.toml")),
    ("circuits.csv", include_str!("new/circuits.csv")),
    ("on_hand.csv", include_str!("new/on_hand.csv")),
    (
        "catalog/attributes.csv",
        include_str!("new/catalog/attributes.csv"),
    ),
    ("catalog/bodies.csv", include_str!("new/catalog/bodies.csv")),
    (
        "catalog/ratings.csv",
        include_str!("new/catalog/ratings.csv"),
    ),
    (
        "catalog/ferrules.csv",
        include_str!("new/catalog/ferrules.csv"),
    ),
    ("catalog/seals.csv", include_str!("new/catalog/seals.csv")),
    (
        "catalog/backshells.csv",
        include_str!("new/catalog/backshells.csv"),
    ),
    ("catalog/prices.csv", include_str!("new/catalog/prices.csv")),
    (
        "catalog/suppliers.csv",
        include_str!("new/catalog/suppliers.csv"),
    ),
    ("catalog/dies.csv", include_str!("new/catalog/dies.csv")),
];

/// Writes the files and says what to do next.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let folder = &args.folder;
    refuse_content(folder)?;
    let own = Own::none(&Files::on_disk());
    for (name, text) in FILES {
        let path = folder.join(name);
        if let Some(parent) = path.parent() {
            files::make_folder(parent)?;
        }
        Target::of(&path, &own)?.put(text, terminal)?;
    }
    let shown = folder.display();
    terminal.print(&format!(
        "{shown} holds a small project and its catalog; all of its data is invented.\n\
         Plan the project with: couplet plan {}\n",
        typed(folder)
    ))
}

/// Nothing that is there is ever written over.
fn refuse_content(folder: &Path) -> Result<(), Failure> {
    let refuse = |message: String| Failure::Usage {
        message,
        help: "name a folder that is empty or does not exist yet".to_owned(),
    };
    match fs::read_dir(folder).map(|mut entries| entries.next().is_none()) {
        Ok(true) => Ok(()),
        Ok(false) => Err(refuse(format!("{} is not empty", folder.display()))),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(()),
        Err(error) => Err(refuse(format!("{}: {error}", folder.display()))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_has_one_width() {
        for (name, text) in FILES.iter().filter(|(name, _)| name.ends_with(".csv")) {
            let mut reader = csv::ReaderBuilder::new()
                .comment(Some(b'#'))
                .trim(csv::Trim::All)
                .from_reader(text.as_bytes());
            let width = reader.headers().unwrap().len();
            let rows = reader.records().map(Result::unwrap).count();
            assert!(rows > 0 && width > 1, "{name}");
        }
    }

    #[test]
    fn every_column_is_explained() {
        for (name, text) in FILES.iter().filter(|(name, _)| name.ends_with(".csv")) {
            let comments: Vec<&str> = text.lines().filter(|l| l.starts_with('#')).collect();
            let header = text.lines().find(|l| !l.starts_with('#')).unwrap();
            for column in header.split(',').map(str::trim) {
                let is_said = comments.iter().any(|c| c.contains(column));
                assert!(is_said, "{name} does not explain {column}");
            }
            assert!(comments[0].contains("invented"), "{name}");
        }
    }

    #[test]
    fn a_folder_with_something_in_it_is_refused() {
        let folder = tempfile::tempdir().unwrap();
        assert!(refuse_content(folder.path()).is_ok());
        assert!(refuse_content(&folder.path().join("new")).is_ok());
        fs::write(folder.path().join("x"), "").unwrap();
        assert_eq!(refuse_content(folder.path()).unwrap_err().status(), 2);
        assert!(refuse_content(&folder.path().join("x")).is_err());
    }
}
