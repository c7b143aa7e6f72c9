//! What fewer variants, suppliers or dies cost.

use super::difference::{exchange_columns, exchanged, proof};
use super::table::{Column, Table};
use super::wording::{counted, wrapped};
use crate::plan::{Plan, Status};
use crate::study::frontier::{Change, Frontier, Point};
use crate::units::{Currency, Money};
use rust_decimal::Decimal;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// The frontier for a reader.
pub fn text(frontier: &Frontier, width: usize) -> String {
    let head = wrapped(&head(frontier), width, "", "  ");
    let mut columns = vec![
        Column::number("at_most"),
        Column::number("total"),
        Column::number("extra"),
        Column::text("proof"),
    ];
    columns.extend(exchange_columns());
    let mut table = Table::new(&columns);
    for point in &frontier.points {
        let change = &point.change;
        let mut row = vec![
            point.at_most.to_string(),
            point.plan.cost.total.cents().to_string(),
            extra(frontier, point),
            proof(&point.plan),
        ];
        let out = both(&change.out, &change.parts_out);
        let into = both(&change.into, &change.parts_in);
        row.extend(exchanged(&out, &into));
        table.row(row);
    }
    let mut text = format!("{head}\n\n{}", table.text(width));
    if !frontier.is_whole {
        let note = "The search was stopped: these are the points that it has.";
        text.push_str(&format!("\n{}\n", wrapped(note, width, "", "  ")));
    }
    text
}

/// The cheapest plan and the least number, in a sentence.
fn head(frontier: &Frontier) -> String {
    let noun = frontier.by.word();
    let Some(top) = frontier.points.first() else {
        return String::new();
    };
    let (total, currency) = (top.plan.cost.total.cents(), &top.plan.currency);
    let uses = counted(top.uses.into(), noun);
    let cheapest = match top.plan.status {
        Status::Optimal => "The cheapest plan",
        _ => "The best plan found",
    };
    let least = counted(frontier.least.into(), noun);
    let end = match (frontier.least == top.uses, frontier.points.last()) {
        (true, _) => "no compatible plan does with fewer".to_owned(),
        (false, Some(last)) if last.at_most == frontier.least => {
            format!(
                "no plan does with fewer than {least}, which cost {}",
                cost(frontier, last)
            )
        }
        _ => format!("no plan does with fewer than {least}"),
    };
    let solves = counted(frontier.solves as u64, "plan");
    format!("{cheapest} takes {uses} and costs {total} {currency}; {end}. {solves} solved.")
}

fn cost(frontier: &Frontier, point: &Point) -> String {
    let more = more(frontier, point);
    let currency = &point.plan.currency;
    match more.is_positive() {
        true => format!("{more} {currency} more"),
        false => "nothing more".to_owned(),
    }
}

/// What a point costs beyond the first point, both to the cent.
fn more(frontier: &Frontier, point: &Point) -> Money {
    let first = frontier
        .points
        .first()
        .map_or(Money::ZERO, |p| p.plan.cost.total);
    (point.plan.cost.total.cents() - first.cents()).cents()
}

fn is_free(frontier: &Frontier, point: &Point) -> bool {
    let is_first = frontier
        .points
        .first()
        .is_some_and(|p| p.at_most == point.at_most);
    !is_first && point.extra == Money::ZERO
}

fn extra(frontier: &Frontier, point: &Point) -> String {
    match is_free(frontier, point) {
        true => "free".to_owned(),
        false => more(frontier, point).to_string(),
    }
}

fn both(first: &[String], then: &[String]) -> Vec<String> {
    [first, then].concat()
}

/// One row for each point.
pub fn table(frontier: &Frontier) -> Table {
    let mut table = Table::new(&[
        Column::text("by"),
        Column::number("at_most"),
        Column::number("uses"),
        Column::number("total"),
        Column::number("extra"),
        Column::text("currency"),
        Column::text("free"),
        Column::text("proof"),
        Column::number("gap_percent"),
        Column::text("out"),
        Column::text("in"),
        Column::text("parts_out"),
        Column::text("parts_in"),
    ]);
    for point in &frontier.points {
        let change = &point.change;
        table.row(vec![
            frontier.by.word().to_owned(),
            point.at_most.to_string(),
            point.uses.to_string(),
            point.plan.cost.total.cents().to_string(),
            more(frontier, point).to_string(),
            point.plan.currency.to_string(),
            if is_free(frontier, point) {
                "yes"
            } else {
                "no"
            }
            .to_owned(),
            proof(&point.plan),
            point.plan.gap_percent.normalize().to_string(),
            change.out.join("; "),
            change.into.join("; "),
            change.parts_out.join("; "),
            change.parts_in.join("; "),
        ]);
    }
    table
}

#[derive(Serialize, JsonSchema)]
struct Record<'a> {
    #[schemars(extend("const" = "couplet.frontier/1"))]
    schema: &'static str,
    by: &'static str,
    currency: Option<&'a Currency>,
    least: u32,
    whole: bool,
    solves: usize,
    points: Vec<PointRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct PointRecord<'a> {
    at_most: u32,
    uses: u32,
    total: Money,
    extra: Money,
    free: bool,
    status: Status,
    total_bound: Money,
    #[serde(with = "rust_decimal::serde::float")]
    #[schemars(with = "f64")]
    gap_percent: Decimal,
    change: ChangeRecord<'a>,
    plan: &'a Plan,
}

#[derive(Serialize, JsonSchema)]
struct ChangeRecord<'a> {
    parts_out: &'a [String],
    parts_in: &'a [String],
    out: &'a [String],
    #[serde(rename = "in")]
    into: &'a [String],
}

impl<'a> From<&'a Change> for ChangeRecord<'a> {
    fn from(change: &'a Change) -> Self {
        Self {
            parts_out: &change.parts_out,
            parts_in: &change.parts_in,
            out: &change.out,
            into: &change.into,
        }
    }
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Record>()
}

/// The frontier with the record of each plan.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(frontier: &Frontier) -> Result<String, serde_json::Error> {
    let points = frontier.points.iter().map(|point| PointRecord {
        at_most: point.at_most,
        uses: point.uses,
        total: point.plan.cost.total,
        extra: point.extra,
        free: is_free(frontier, point),
        status: point.plan.status,
        total_bound: point.plan.total_bound,
        gap_percent: point.plan.gap_percent,
        change: ChangeRecord::from(&point.change),
        plan: &point.plan,
    });
    let record = Record {
        schema: "couplet.frontier/1",
        by: frontier.by.word(),
        currency: frontier.points.first().map(|p| &p.plan.currency),
        least: frontier.least,
        whole: frontier.is_whole,
        solves: frontier.solves,
        points: points.collect(),
    };
    serde_json::to_string_pretty(&record).map(|text| text + "\n")
}
