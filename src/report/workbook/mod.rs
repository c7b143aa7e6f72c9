//! The orders of a plan as a workbook: a sheet for each supplier, one of the
//! circuits, one of the totals. Numbers are numbers; every text is stored as
//! text, so that no spreadsheet runs it.

mod names;
mod sheet;

use super::ends::on_half;
use super::order::{Shown, description, kind};
use super::plan::{amounts, machines, verdict};
use crate::catalog::BUILT_IN;
use crate::catalog::Catalog;
use crate::convert::undated;
use crate::plan::{EndRecord, Order, Plan};
use crate::units::Money;
use names::Names;
use rust_xlsxwriter::{Workbook, XlsxError};
use sheet::{Cell, Sheet, cents, numbers, text, words};

/// The bytes of the `.xlsx` file; the same plan gives the same bytes.
/// Descriptions come from the catalog where it has the part.
///
/// # Errors
/// What the writer says: more rows than a sheet takes.
pub fn orders(plan: &Plan, catalog: &Catalog) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&undated()?);
    let mut names = Names::default();
    // These two sheets keep their names, whatever a supplier is called.
    let (circuits, totals) = (names.take("circuits"), names.take("totals"));
    for order in &plan.orders {
        let sheet = book.add_worksheet();
        sheet.set_name(names.take(&order.supplier))?;
        order_sheet(order, catalog).write(sheet)?;
    }
    let sheet = book.add_worksheet();
    sheet.set_name(circuits)?;
    circuits_sheet(plan).write(sheet)?;
    let sheet = book.add_worksheet();
    sheet.set_name(totals)?;
    totals_sheet(plan).write(sheet)?;
    book.save_to_buffer()
}

/// Lines and sums as the order shows them: to the cent, and they add up.
fn order_sheet(order: &Order, catalog: &Catalog) -> Sheet {
    let shown = Shown::of(order);
    let prices = order.lines.iter().map(|line| line.unit_price.0.normalize());
    let decimals = prices.map(|price| price.scale()).max().unwrap_or(0).max(2);
    let currency = &order.currency;
    let lines = order.lines.iter().zip(&shown.lines);
    let rows = lines.map(|(line, amount)| {
        vec![
            text(&line.sku),
            text(&line.part),
            text(kind(catalog, &line.part)),
            text(description(catalog, &line.part)),
            Cell::Count(line.qty),
            Cell::Count(line.packs),
            Cell::Money(line.unit_price, decimals, currency.clone()),
            cents(*amount, currency),
        ]
    });
    let sum = |(name, amount): (&str, Money)| {
        let mut row: Vec<Cell> = (0..6).map(|_| text("")).collect();
        row.extend([text(name), cents(amount, currency)]);
        row
    };
    Sheet {
        title: vec![format!("Order from {} in {currency}", order.supplier)],
        columns: vec![
            words("sku"),
            words("part"),
            words("kind"),
            words("description"),
            numbers("qty"),
            numbers("packs"),
            numbers("unit price"),
            numbers("line total"),
        ],
        rows: rows.collect(),
        sums: shown.sums().into_iter().map(sum).collect(),
        notes: Vec::new(),
        landscape: true,
        kept: 1,
    }
}

/// The ends, without columns that are empty throughout: most receptacles take nothing. In a
/// purchase each end stands once, with how often its machine is built.
fn circuits_sheet(plan: &Plan) -> Sheet {
    let names = [
        "machine",
        "copies",
        "circuit",
        "net",
        "end",
        "location",
        "gauge",
        "interface",
        "key",
        "receptacle",
        "receptacle ferrule",
        "receptacle seal",
        "receptacle back shell",
        "plug",
        "plug ferrule",
        "plug seal",
        "plug back shell",
    ];
    let rows: Vec<Vec<String>> = plan.ends.iter().map(|end| end_row(plan, end)).collect();
    let is_used = |at: usize| {
        rows.iter()
            .any(|row| row.get(at).is_some_and(|c| !c.is_empty()))
    };
    let used: Vec<usize> = (0..names.len())
        .filter(|at| *at == FIRST || is_used(*at))
        .collect();
    let cells = |row: &Vec<String>| {
        let cells = used.iter().filter_map(|at| Some((*at, row.get(*at)?)));
        cells.map(|(at, cell)| end_cell(at, cell)).collect()
    };
    let columns = used.iter().filter_map(|at| Some((*at, *names.get(*at)?)));
    let columns = columns.map(|(at, name)| match at {
        COPIES => numbers(name),
        _ => words(name),
    });
    Sheet {
        title: with_machines(plan, vec![format!("Circuits of {}", plan.project)]),
        columns: columns.collect(),
        rows: rows.iter().map(cells).collect(),
        sums: Vec::new(),
        notes: Vec::new(),
        landscape: true,
        kept: match plan.machines.is_empty() {
            true => 2,
            false => 4,
        },
    }
}

/// The place of the column of copies among the columns of an end.
const COPIES: usize = 1;
/// The place of the circuit, which is always there.
const FIRST: usize = 2;

fn end_cell(at: usize, cell: &str) -> Cell {
    match (at, cell.parse()) {
        (COPIES, Ok(count)) => Cell::Count(count),
        _ => text(cell),
    }
}

/// A title with the machines of a purchase.
fn with_machines(plan: &Plan, mut title: Vec<String>) -> Vec<String> {
    if !plan.machines.is_empty() {
        title.push(machines(plan));
    }
    title
}

fn end_row(plan: &Plan, end: &EndRecord) -> Vec<String> {
    let copies = match plan.machines.is_empty() {
        true => String::new(),
        false => plan.copies(end).to_string(),
    };
    let own = [
        &end.machine,
        &copies,
        &end.circuit,
        &end.net,
        &end.end,
        &end.location,
        &end.gauge,
        &end.interface,
        &end.key,
    ];
    let mut row: Vec<String> = own.into_iter().cloned().collect();
    let receptacle = end.receptacle.as_deref().unwrap_or(BUILT_IN);
    for (half, body) in [("receptacle", receptacle), ("plug", &end.plug)] {
        row.push(body.to_owned());
        row.extend(on_half(end, half));
    }
    row
}

fn totals_sheet(plan: &Plan) -> Sheet {
    let row = |(name, amount): (&str, Money)| vec![text(name), cents(amount, &plan.currency)];
    let (terms, sums) = amounts(plan);
    let order = |order: &Order| {
        let total = cents(order.total.cents(), &order.currency);
        vec![text(format!("order from {}", order.supplier)), total]
    };
    Sheet {
        title: with_machines(plan, vec![plan.project.clone(), verdict(plan)]),
        columns: vec![words("term"), numbers("amount")],
        rows: terms.into_iter().map(row).collect(),
        sums: sums.into_iter().map(row).collect(),
        notes: plan.orders.iter().map(order).collect(),
        landscape: false,
        kept: 0,
    }
}
