//! `couplet schema`.

use super::args::Schema as Args;
use super::error::CliError;
use super::journal;
use super::output::Terminal;
use couplet::plan::{Order, Plan};
use couplet::report::{breakeven, budget, diagnostics, frontier, keys, kit, parts};
use couplet::study::prices::Compared;
use couplet::study::reprice::Repriced;
use schemars::generate::SchemaSettings;
use schemars::{JsonSchema, Schema, SchemaGenerator};

/// A JSON that the program writes.
struct Form {
    name: &'static str,
    what: &'static str,
    schema: fn(SchemaGenerator) -> Schema,
}

/// Every JSON that the program writes.
const FORMS: [Form; 12] = [
    form(
        "plan",
        "the record, as in plan.json and plan --format json",
        of::<Plan>,
    ),
    form(
        "frontier",
        "what fewer variants, suppliers or dies cost: consolidate --format json",
        frontier::schema,
    ),
    form(
        "budget",
        "the total and its parts: budget --format json",
        budget::schema,
    ),
    form(
        "breakeven",
        "how far each price can move: breakeven --format json",
        breakeven::schema,
    ),
    form(
        "reprice",
        "what other prices change: reprice --format json",
        of::<Repriced>,
    ),
    form(
        "prices",
        "two price lists compared: prices --format json",
        of::<Vec<Compared>>,
    ),
    form("order", "the orders: order --format json", of::<Vec<Order>>),
    form(
        "parts",
        "the parts of a catalog: parts --format json",
        parts::schema,
    ),
    form(
        "keys",
        "which net has which key: keys --format json",
        keys::schema,
    ),
    form(
        "kit",
        "what goes into each bag: kit --format json",
        kit::schema,
    ),
    form(
        "check",
        "the findings: check --format json",
        diagnostics::schema,
    ),
    form("progress", "a line of --progress json", journal::schema),
];

const fn form(
    name: &'static str,
    what: &'static str,
    schema: fn(SchemaGenerator) -> Schema,
) -> Form {
    Form { name, what, schema }
}

fn of<T: JsonSchema>(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<T>()
}

/// The names that a schema can be asked for by.
pub fn names() -> [&'static str; FORMS.len()] {
    FORMS.each_ref().map(|form| form.name)
}

/// Prints the schema that is asked for, else the list of them.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let asked = |form: &&Form| args.name.as_deref() == Some(form.name);
    match FORMS.iter().find(asked) {
        Some(form) => terminal.print(&text(form).map_err(CliError::output)?),
        None => terminal.print(&list()),
    }
}

fn list() -> String {
    let line = |form: &Form| format!("{:<10} {}\n", form.name, form.what);
    FORMS.iter().map(line).collect()
}

/// As the JSON is written: a field that may be left out is not required.
fn text(form: &Form) -> serde_json::Result<String> {
    let settings = SchemaSettings::draft2020_12().for_serialize();
    let mut schema = (form.schema)(settings.into_generator());
    schema.insert("title".to_owned(), format!("couplet {}", form.name).into());
    schema.insert("description".to_owned(), form.what.into());
    serde_json::to_string_pretty(&schema).map(|text| text + "\n")
}
