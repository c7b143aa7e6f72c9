//! `couplet schema`.

use super::args::Schema as Args;
use super::forms::{FORMS, Form};
use super::output::Terminal;
use couplet::study::failure::Failure;
use schemars::generate::SchemaSettings;

/// Prints the schema that is asked for, else the list of schemas.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let asked = |form: &&Form| args.name.as_deref() == Some(form.name);
    match FORMS.iter().find(asked) {
        Some(form) => terminal.print(&text(form).map_err(Failure::output)?),
        None => terminal.print(&list()),
    }
}

fn list() -> String {
    let width = FORMS.iter().map(|form| form.name.len()).max().unwrap_or(0);
    let line = |form: &Form| format!("{:<width$}  {}\n", form.name, form.what);
    FORMS.iter().map(line).collect()
}

/// The schema of the JSON as it is written: a field that may be left out is not required.
fn text(form: &Form) -> serde_json::Result<String> {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let mut schema = (form.schema)(settings.into_generator());
    schema.insert("title".to_owned(), format!("couplet {}", form.name).into());
    schema.insert("description".to_owned(), form.what.into());
    serde_json::to_string_pretty(&schema).map(|text| text + "\n")
}
