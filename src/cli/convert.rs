//! `couplet convert`.

use super::args::Convert as Args;
use super::files::{self, Target};
use super::output::Terminal;
use couplet::book;
use couplet::catalog::read::{TABLES, history};
use couplet::convert::{self, Grid};
use couplet::desk::Own;
use couplet::diag::{Findings, is_book_name};
use couplet::report::wording::list;
use couplet::source::{self, Files};
use couplet::study::failure::Failure;
use std::fs;
use std::path::{Path, PathBuf};

/// What is converted, which the result never replaces.
const SOURCE: &str = "what is converted";

/// Writes the workbook, or the CSV files.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let written = if book::is_book(&Files::on_disk(), &args.from) {
        to_folder(args, terminal)?
    } else {
        to_workbook(args, terminal)?
    };
    let lines = written.iter().map(|path| format!("{}\n", path.display()));
    terminal.print(&lines.collect::<String>())
}

fn to_workbook(args: &Args, terminal: &Terminal) -> Result<Vec<PathBuf>, Failure> {
    let is_xlsx = args
        .to
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("xlsx"));
    if !args.from.is_dir() {
        return Err(usage(
            format!("{} is no folder and no workbook", args.from.display()),
            "name a folder with CSV files, or a workbook saved as .xlsx or .ods",
        ));
    }
    if !is_xlsx {
        return Err(usage(
            format!("{} is not the name of a workbook", args.to.display()),
            "name a file that ends with .xlsx",
        ));
    }
    refuse_old(std::slice::from_ref(&args.to), args.force)?;
    let mut own = Own::none(&Files::on_disk());
    for name in csv_names(&args.from)? {
        own = own.and(&args.from.join(format!("{name}.csv")), SOURCE);
    }
    let target = Target::of(&args.to, &own)?;
    let grids = grids(&args.from)?;
    let bytes = convert::workbook(&grids).map_err(|error| Failure::Read {
        place: None,
        message: error.to_string(),
        help: "rename the CSV file".to_owned(),
    })?;
    target.put_bytes(&bytes, terminal)?;
    Ok(vec![args.to.clone()])
}

/// All CSV files of a folder: those of a project and a catalog first, in their
/// order, then others by name.
fn grids(folder: &Path) -> Result<Vec<Grid>, Failure> {
    let mut names = csv_names(folder)?;
    if names.is_empty() {
        return Err(Failure::Read {
            place: None,
            message: format!("{} has no CSV file", folder.display()),
            help: "name the folder that has the CSV files".to_owned(),
        });
    }
    let own = ["circuits", "on_hand"].into_iter();
    let known: Vec<&str> = own.chain(TABLES).chain([history::NAME]).collect();
    let rank = |name: &String| known.iter().position(|k| k == name).unwrap_or(known.len());
    names.sort_by(|a, b| (rank(a), a).cmp(&(rank(b), b)));
    let mut findings = Findings::default();
    let mut grids = Vec::new();
    for name in &names {
        let path = folder.join(format!("{name}.csv"));
        let source = Files::on_disk().read(&path, &mut findings);
        grids.extend(source.and_then(|s| convert::read(name, &s, &mut findings)));
    }
    sound(findings)?;
    Ok(grids)
}

fn csv_names(folder: &Path) -> Result<Vec<String>, Failure> {
    let unreadable = |error: std::io::Error| Failure::Read {
        place: None,
        message: format!("{} cannot be read: {error}", folder.display()),
        help: "check who may read it".to_owned(),
    };
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(unreadable)? {
        let name = entry.map_err(unreadable)?.file_name();
        let name = name.to_string_lossy();
        names.extend(name.strip_suffix(".csv").map(str::to_owned));
    }
    Ok(names)
}

fn to_folder(args: &Args, terminal: &Terminal) -> Result<Vec<PathBuf>, Failure> {
    if is_book_name(&args.to.to_string_lossy()) {
        return Err(usage(
            format!(
                "both {} and {} are workbooks",
                args.from.display(),
                args.to.display()
            ),
            "name a folder for the CSV files",
        ));
    }
    let mut findings = Findings::default();
    let book = book::read(&Files::on_disk(), &args.from, &mut findings);
    let mut texts: Vec<(PathBuf, String)> = Vec::new();
    for sheet in book.iter().flat_map(|book| &book.sheets) {
        let shown = source::shown(&args.from);
        if let Some(text) = convert::write(&shown, sheet, &mut findings) {
            texts.push((args.to.join(file_name(&sheet.name)?), text));
        }
    }
    sound(findings)?;
    if texts.is_empty() {
        return Err(Failure::Read {
            place: None,
            message: format!("the sheets of {} are empty", args.from.display()),
            help: "name another workbook".to_owned(),
        });
    }
    let paths: Vec<PathBuf> = texts.iter().map(|(path, _)| path.clone()).collect();
    refuse_old(&paths, args.force)?;
    files::make_folder(&args.to)?;
    let own = Own::none(&Files::on_disk()).and(&args.from, SOURCE);
    let targets = paths.iter().map(|path| Target::of(path, &own));
    let targets = targets.collect::<Result<Vec<_>, _>>()?;
    for (target, (_, text)) in targets.iter().zip(&texts) {
        target.put(text, terminal)?;
    }
    Ok(paths)
}

/// `bodies.csv` for the sheet `bodies`; never a path that leads elsewhere.
fn file_name(sheet: &str) -> Result<String, Failure> {
    let name = sheet.trim();
    let bad = |c: char| c.is_control() || r#"/\:*?"<>|"#.contains(c);
    if name.is_empty() || name.starts_with('.') || name.contains(bad) {
        return Err(Failure::Read {
            place: None,
            message: format!(
                "the sheet {} cannot name a file",
                couplet::diag::quote(name)
            ),
            help: "rename the sheet with letters, digits, - and _".to_owned(),
        });
    }
    Ok(format!("{name}.csv"))
}

fn sound(findings: Findings) -> Result<(), Failure> {
    match findings.has_errors() {
        true => Err(Failure::Input(findings)),
        false => Ok(()),
    }
}

/// Nothing that is there is written over unasked.
fn refuse_old(paths: &[PathBuf], force: bool) -> Result<(), Failure> {
    let old: Vec<String> = paths
        .iter()
        .filter(|path| path.symlink_metadata().is_ok())
        .map(|path| path.display().to_string())
        .collect();
    if force || old.is_empty() {
        return Ok(());
    }
    let verb = if old.len() == 1 { "is" } else { "are" };
    Err(usage(
        format!("{} {verb} there already", list(&old)),
        "name another place, or replace what is there with --force",
    ))
}

fn usage(message: String, help: &str) -> Failure {
    Failure::Usage {
        message,
        help: help.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_sheet_leads_out_of_the_folder() {
        assert_eq!(file_name(" bodies ").unwrap(), "bodies.csv");
        for name in ["../x", "a/b", "a\\b", ".hidden", "", "c:x", "a\nb"] {
            assert!(file_name(name).is_err(), "{name:?}");
        }
    }
}
