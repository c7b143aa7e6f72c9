//! `trials.toml`: trials that are kept beside a project and run again.

use super::{ChangeError, Trial};
use crate::diag::{Diagnostic, Findings, quote};
use crate::project::keys::{Document, Keys, syntax};
use crate::source::Source;
use std::collections::BTreeMap;
use toml::de::DeTable;
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, value};

/// The file, beside `project.toml` or `purchase.toml`.
pub const FILE: &str = "trials.toml";

/// Reads the trials; pushes all that is wrong with them. Each has a name of its own.
pub fn read(source: &Source, findings: &mut Findings) -> Vec<Trial> {
    let (table, errors) = DeTable::parse_recoverable(source.text());
    if !errors.is_empty() {
        findings.extend(syntax(source, &errors));
        return Vec::new();
    }
    let doc = Document::new(&source.file, source.text());
    let root = Keys::new(&doc, table.get_ref(), "", 1);
    let mut names: BTreeMap<String, u64> = BTreeMap::new();
    let mut trials = Vec::new();
    for keys in root.tables("trial", "trial.") {
        keys.require("name", "name = \"thin\"");
        keys.require("changes", "changes = [\"ambient 50\"]");
        let name = keys
            .text("name")
            .map(|name| crate::table::one_spelling(name).into_owned());
        let texts = keys.texts("changes");
        if let Some(line) = name.as_ref().and_then(|name| names.get(name)) {
            let message = format!("the name stands in line {line} already");
            keys.error("name", message, "give the trial another name");
        }
        if let Some(name) = &name {
            names.insert(name.clone(), keys.line("name"));
        }
        let mut changes = Vec::new();
        for (text, line) in &texts {
            match Trial::parse(text) {
                Ok(trial) if trial.name.is_none() => changes.extend(trial.changes),
                Ok(_) => doc.error(
                    *line,
                    "trial.changes",
                    format!("{} has a name before it", quote(text)),
                    "write the name as name = \"…\"",
                ),
                Err(ChangeError {
                    change,
                    message,
                    help,
                }) => {
                    doc.error(*line, "trial.changes", format!("{change}: {message}"), help);
                }
            }
        }
        keys.finish();
        if !changes.is_empty() {
            trials.extend(name.map(|name| Trial {
                name: Some(name),
                changes,
            }));
        }
    }
    root.finish();
    findings.extend(doc.into_findings());
    trials
}

/// The text of `trials.toml` with these trials in it: a trial of a name that is there takes
/// the place of that trial. All else stays as it is.
///
/// # Errors
/// An error where the text is not TOML, or has no list of trials.
pub fn saved(text: &str, trials: &[&Trial]) -> Result<String, Box<Diagnostic>> {
    let wrong = |message: String| {
        let help = "correct the file, or move it away";
        Box::new(Diagnostic::error(&FILE.into(), message).help(help))
    };
    let doc = text.parse::<DocumentMut>();
    let mut doc = doc.map_err(|error| wrong(error.message().to_owned()))?;
    // What stands in a file without a trial stays above the first.
    let remarks = match doc.as_table().is_empty() {
        true => doc.trailing().as_str().unwrap_or_default().to_owned(),
        false => String::new(),
    };
    if !remarks.is_empty() {
        doc.set_trailing("");
    }
    if doc.get("trial").is_none() {
        doc.insert("trial", Item::ArrayOfTables(ArrayOfTables::new()));
    }
    let list = doc.get_mut("trial").and_then(Item::as_array_of_tables_mut);
    let list = list.ok_or_else(|| wrong("trial is no list of tables".to_owned()))?;
    for trial in trials {
        let Some(name) = &trial.name else { continue };
        let changes: Array = trial
            .changes
            .iter()
            .map(|change| change.text.as_str())
            .collect();
        let is_it = |of: &Table| of.get("name").and_then(Item::as_str) == Some(name);
        let place = list.iter().position(is_it);
        match place.and_then(|place| list.get_mut(place)) {
            Some(of) => of["changes"] = value(changes),
            None => {
                let mut new = Table::new();
                new.insert("name", value(name.as_str()));
                new.insert("changes", value(changes));
                if list.is_empty() && !remarks.is_empty() {
                    new.decor_mut().set_prefix(format!("{remarks}\n"));
                }
                list.push(new);
            }
        }
    }
    Ok(doc.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn read_text(text: &str) -> (Vec<Trial>, Vec<String>) {
        let file: Arc<str> = FILE.into();
        let mut findings = Findings::default();
        let source = Source::from_bytes(&file, text.as_bytes().to_vec(), &mut findings).unwrap();
        let trials = read(&source, &mut findings);
        (
            trials,
            findings.iter().map(|found| found.message.clone()).collect(),
        )
    }

    #[test]
    fn what_is_saved_is_read_again() {
        let trials = [
            "thin: circuit a gauge \"25 mm2\"; ambient 50",
            "few: at most 3 suppliers",
        ];
        let trials: Vec<Trial> = trials
            .iter()
            .map(|text| Trial::parse(text).unwrap())
            .collect();
        let text = saved("# ours\n", &trials.iter().collect::<Vec<_>>()).unwrap();
        assert!(text.starts_with("# ours\n"), "{text}");
        assert_eq!(read_text(&text), (trials.clone(), vec![]));
        let other = Trial::parse("few: at most 2 suppliers").unwrap();
        let text = saved(&text, &[&other]).unwrap();
        assert_eq!(read_text(&text).0, [trials[0].clone(), other]);
    }

    #[test]
    fn all_that_is_wrong_is_told() {
        let (trials, wrong) = read_text(
            "[[trial]]\nname = \"a\"\nchanges = [\"ambient 5\", \"ambiant 5\"]\n\n\
             [[trial]]\nname = \"a\"\nchanges = [\"x: ambient 5\"]\nnots = 1\n",
        );
        assert_eq!(trials.len(), 1);
        let wrong = wrong.join("\n");
        for said in [
            "ambiant 5: no change begins with \"ambiant\"",
            "the name stands in line 2 already",
            "\"x: ambient 5\" has a name before it",
            "nots",
        ] {
            assert!(wrong.contains(said), "{said}: {wrong}");
        }
    }
}
