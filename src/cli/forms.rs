//! Every JSON that the program writes, with its schema.

use super::journal;
use couplet::lists::change::Taken;
use couplet::plan::{Order, Plan};
use couplet::report::{breakeven, budget, compare, diagnostics, frontier, keys, kit, parts, trial};
use couplet::study::history::Course;
use couplet::study::letter::Confirmed;
use couplet::study::outstanding::Outstanding;
use couplet::study::prices::Compared;
use couplet::study::reprice::Repriced;
use schemars::{JsonSchema, Schema, SchemaGenerator};

/// A JSON that the program writes.
pub struct Form {
    /// The name by which the schema is asked for.
    pub name: &'static str,
    /// What the JSON is, and which command writes it.
    pub what: &'static str,
    /// Makes its schema.
    pub schema: fn(SchemaGenerator) -> Schema,
}

/// Every JSON that the program writes.
pub const FORMS: [Form; 18] = [
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
        "trials",
        "trials side by side: trial --format json",
        trial::schema,
    ),
    form(
        "compare",
        "plans side by side: compare --format json",
        compare::schema,
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
    form(
        "history",
        "prices over time: prices --history --format json",
        of::<Vec<Course>>,
    ),
    form(
        "take",
        "what a supplier's list changes: take --format json",
        of::<Taken>,
    ),
    form("order", "the orders: order --format json", of::<Vec<Order>>),
    form(
        "outstanding",
        "what has not come: order --outstanding --format json",
        of::<Outstanding>,
    ),
    form(
        "confirmation",
        "a confirmation beside the order: order --confirm --format json",
        of::<Confirmed>,
    ),
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
