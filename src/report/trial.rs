//! Trials side by side, against the plan of the project as it is.

use super::difference::{exchange_columns, exchanged as cells_of, proof, signed};
use super::table::{Column, Table};
use super::wording::{list, plain, wrapped};
use crate::desk::trial::{Trials, Tried};
use crate::diag::Row;
use crate::plan::{Plan, Status};
use crate::study::compare::Difference;
use crate::study::failure::Failure;
use crate::trial::{How, Touched, Trial};
use crate::units::{Currency, Money};
use rust_decimal::Decimal;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The trials for a reader: figures side by side, then what each trial changes.
pub fn text(trials: &Trials, width: usize) -> String {
    let currency = &trials.base.currency;
    let mut columns = vec![
        Column::text("trial").at_least(12),
        Column::number("total"),
        Column::number("difference"),
        Column::number("variants"),
        Column::number("suppliers"),
        Column::text("proof"),
    ];
    columns.extend(exchange_columns().map(|column| column.detail(1)));
    let mut table = Table::new(&columns);
    let base = figures(&trials.base);
    let mut row = vec!["the plan".to_owned(), base.total, String::new()];
    row.extend([base.variants, base.suppliers, base.proof]);
    row.extend([String::new(), String::new()]);
    table.row(row);
    for tried in &trials.tried {
        table.row(cells(tried, &trials.base));
    }
    let mut sections = vec![format!("Totals in {currency}\n{}", table.text(width))];
    let lost: String = trials
        .tried
        .iter()
        .filter_map(|tried| no_plan(tried, width))
        .collect();
    sections.extend((!lost.is_empty()).then_some(lost));
    // Of one trial alone there is room for all that differs.
    if let [
        Tried {
            difference: Some(one),
            ..
        },
    ] = trials.tried.as_slice()
    {
        sections.push(super::difference::text(one, currency, width));
    }
    sections.extend(trials.tried.iter().map(|tried| {
        let head = plain(&tried.trial.title());
        format!("{head}\n{}", changes(&tried.touched, width))
    }));
    sections.join("\n")
}

/// What a trial changes in the files, a line each.
pub fn changes(touched: &[Touched], width: usize) -> String {
    if touched.is_empty() {
        return "  changes nothing: the files say so already\n".to_owned();
    }
    let mut groups: Vec<(&Touched, Vec<u64>)> = Vec::new();
    let mut places: BTreeMap<[&str; 4], usize> = BTreeMap::new();
    for one in touched {
        let alike = [&one.file, &one.cell, &one.before, &one.after].map(String::as_str);
        let known = places.get(&alike).filter(|_| one.how == How::Changed);
        match known.and_then(|place| groups.get_mut(*place)) {
            Some((_, lines)) => lines.extend(one.line),
            None => {
                if one.how == How::Changed {
                    places.insert(alike, groups.len());
                }
                groups.push((one, one.line.into_iter().collect()));
            }
        }
    }
    let lines = (groups.iter()).map(|(one, lines)| line(one, lines));
    let lines = lines.map(|line| wrapped(&line, width, "- ", "  ") + "\n");
    lines.collect()
}

/// What a trial changes in the files, a row each.
pub fn touched(touched: &[Touched]) -> Table {
    let mut table = Table::new(&[
        Column::text("file"),
        Column::number("line"),
        Column::text("cell"),
        Column::text("before"),
        Column::text("after"),
        Column::text("how"),
    ]);
    for one in touched {
        let how = match one.how {
            How::Changed => "changed",
            How::Added => "added",
            How::Removed => "removed",
        };
        table.row(vec![
            plain(&one.file),
            one.line.map(|line| line.to_string()).unwrap_or_default(),
            plain(&one.cell),
            plain(&one.before),
            plain(&one.after),
            how.to_owned(),
        ]);
    }
    table
}

/// More lines than this are counted, not listed.
const LISTED: usize = 6;

/// One cell, setting or row as a sentence, or the same cell of several rows.
fn line(one: &Touched, lines: &[u64]) -> String {
    let file: Arc<str> = one.file.as_str().into();
    let place = match lines {
        [] => one.file.clone(),
        [line] => Row { file, line: *line }.to_string(),
        [first, .., last] if lines.len() > LISTED => {
            format!("{}, {} rows from {first} to {last}", one.file, lines.len())
        }
        few => {
            let few: Vec<String> = few.iter().map(u64::to_string).collect();
            format!("{}, rows {}", one.file, list(&few))
        }
    };
    let text = match one.how {
        How::Added => format!("{place}: a new row, {}", one.after),
        How::Removed => format!("{place}: the row of {} goes", one.before),
        How::Changed => {
            let value = |text: &str| match text {
                "" => "(empty)".to_owned(),
                text => text.to_owned(),
            };
            let (before, after) = (value(&one.before), value(&one.after));
            format!("{place}, {}: {before} to {after}", one.cell)
        }
    };
    plain(&text)
}

/// The figures of a plan as they are shown.
struct Figures {
    total: String,
    variants: String,
    suppliers: String,
    proof: String,
}

fn figures(plan: &Plan) -> Figures {
    Figures {
        total: plan.altogether().cents().to_string(),
        variants: plan.parts.len().to_string(),
        suppliers: plan.orders.len().to_string(),
        proof: proof(plan),
    }
}

fn cells(tried: &Tried, base: &Plan) -> Vec<String> {
    let mut row = vec![plain(&tried.trial.title())];
    match &tried.plan {
        Ok(plan) => {
            let of = figures(plan);
            let (out, into) = exchanged(tried);
            row.extend([
                of.total,
                signed(difference(plan, base)),
                of.variants,
                of.suppliers,
            ]);
            row.push(of.proof);
            row.extend(cells_of(&out, &into));
        }
        Err(failure) => {
            row.extend(["none", "", "", ""].map(str::to_owned));
            row.extend([reason(failure).to_owned(), String::new(), String::new()]);
        }
    }
    row
}

/// The parts that leave, and those that come in.
fn exchanged(tried: &Tried) -> (Vec<String>, Vec<String>) {
    let parts = |of: &Difference| (of.parts_out.clone(), of.parts_in.clone());
    tried.difference.as_ref().map(parts).unwrap_or_default()
}

/// What a trial costs more, as the shown totals differ.
fn difference(plan: &Plan, base: &Plan) -> Money {
    let [plan, base] = [plan, base].map(|plan| plan.altogether().cents());
    (plan - base).cents()
}

/// Why a trial has no plan, in a word or two.
fn reason(failure: &Failure) -> &'static str {
    match failure.status() {
        3 => "no plan",
        4 => "not found in time",
        _ => "failed",
    }
}

/// Why a trial has no plan, in sentences; none where it has one.
fn no_plan(tried: &Tried, width: usize) -> Option<String> {
    let failure = tried.plan.as_ref().err()?;
    let cure = match failure {
        Failure::Limits(_) | Failure::NoSet(_) => "try it alone to see what stands in the way",
        failure => failure.cure().unwrap_or("try it alone"),
    };
    // What an end needs takes many lines; the first says what it is about.
    let failure = failure.to_string();
    let failure = failure.lines().next().unwrap_or_default();
    let text = format!("{}: {failure}; {cure}", plain(&tried.trial.title()));
    Some(wrapped(&text, width, "", "  ") + "\n")
}

/// One row for the plan and for each trial.
pub fn table(trials: &Trials) -> Table {
    let mut table = Table::new(&[
        Column::text("trial"),
        Column::text("changes"),
        Column::number("total"),
        Column::number("difference"),
        Column::text("currency"),
        Column::number("variants"),
        Column::number("suppliers"),
        Column::text("proof"),
        Column::number("gap_percent"),
        Column::text("parts_out"),
        Column::text("parts_in"),
    ]);
    let row = |names: [String; 2], plan: &Plan, tried: Option<&Tried>| {
        let of = figures(plan);
        let (out, into) = tried.map(exchanged).unwrap_or_default();
        let more = tried.map(|_| signed(difference(plan, &trials.base)));
        let mut row = names.to_vec();
        row.extend([
            of.total,
            more.unwrap_or_default(),
            plan.currency.to_string(),
        ]);
        row.extend([of.variants, of.suppliers, of.proof]);
        row.push(plan.gap_percent.normalize().to_string());
        row.extend([out.join("; "), into.join("; ")]);
        row
    };
    table.row(row(
        ["the plan".to_owned(), String::new()],
        &trials.base,
        None,
    ));
    for tried in &trials.tried {
        let names = [tried.trial.title(), tried.trial.text()];
        match &tried.plan {
            Ok(plan) => table.row(row(names, plan, Some(tried))),
            Err(failure) => {
                let mut row = names.to_vec();
                row.extend([(); 5].map(|()| String::new()));
                row.push(reason(failure).to_owned());
                row.extend([(); 3].map(|()| String::new()));
                table.row(row);
            }
        }
    }
    table
}

#[derive(Serialize, JsonSchema)]
struct Record<'a> {
    #[schemars(extend("const" = "couplet.trials/1"))]
    schema: &'static str,
    currency: &'a Currency,
    /// The plan of the project as it is.
    plan: &'a Plan,
    trials: Vec<TrialRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct TrialRecord<'a> {
    /// Null where the trial has no name.
    name: Option<&'a str>,
    changes: Vec<&'a str>,
    /// What the changes do to the files.
    touched: &'a [Touched],
    /// Why there is no plan; null where there is one.
    why_none: Option<String>,
    /// What the plan of the trial comes to; null where there is none, as all below.
    total: Option<Money>,
    /// What the trial costs more than the plan.
    difference: Option<Money>,
    variants: Option<usize>,
    suppliers: Option<usize>,
    status: Option<Status>,
    total_bound: Option<Money>,
    #[serde(with = "rust_decimal::serde::float_option")]
    #[schemars(with = "Option<f64>")]
    gap_percent: Option<Decimal>,
    /// What differs from the plan.
    changed: Option<&'a Difference>,
    plan: Option<&'a Plan>,
}

impl<'a> TrialRecord<'a> {
    fn new(tried: &'a Tried, base: &Plan) -> Self {
        let plan = tried.plan.as_ref().ok();
        Self {
            name: tried.trial.name.as_deref(),
            changes: texts(&tried.trial),
            touched: &tried.touched,
            why_none: tried.plan.as_ref().err().map(ToString::to_string),
            total: plan.map(Plan::altogether),
            difference: plan.map(|plan| plan.altogether() - base.altogether()),
            variants: plan.map(|plan| plan.parts.len()),
            suppliers: plan.map(|plan| plan.orders.len()),
            status: plan.map(|plan| plan.status),
            total_bound: plan.map(|plan| plan.total_bound),
            gap_percent: plan.map(|plan| plan.gap_percent),
            changed: tried.difference.as_ref(),
            plan,
        }
    }
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Record>()
}

/// The trials with the record of each plan.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(trials: &Trials) -> Result<String, serde_json::Error> {
    let base = &trials.base;
    let record = Record {
        schema: "couplet.trials/1",
        currency: &base.currency,
        plan: base,
        trials: (trials.tried.iter())
            .map(|tried| TrialRecord::new(tried, base))
            .collect(),
    };
    serde_json::to_string_pretty(&record).map(|text| text + "\n")
}

fn texts(trial: &Trial) -> Vec<&str> {
    trial
        .changes
        .iter()
        .map(|change| change.text.as_str())
        .collect()
}
