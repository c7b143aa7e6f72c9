//! `couplet order --place` and `couplet receive`: changes to `ordered.csv` and
//! `dies_ordered.csv`.

use super::args::{Order, Receive};
use super::output::Terminal;
use super::record;
use couplet::desk::Desk;
use couplet::project::delivery::Delivery;
use couplet::report::booking as report;
use couplet::study::failure::Failure;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;

/// Places the orders of the plan, and shows what was placed.
pub fn place(args: &Order, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::on_record(&args.project, args.plan.as_deref());
    record::open(&desk, "order", terminal)?;
    let _held = (!args.dry_run).then(|| desk.hold_orders()).transpose()?;
    let placed = desk.to_place(&args.supplier, args.on.unwrap_or_else(today))?;
    if placed.is_empty() {
        return terminal.print("nothing to order, so nothing was placed\n");
    }
    let shown = report::placed(&placed, desk.sound()?, args.dry_run, terminal.width);
    if !args.dry_run {
        desk.place(&placed)?;
    }
    terminal.print(&shown)?;
    if !args.dry_run {
        terminal.note("run couplet plan again: what was placed counts as available from now on");
    }
    Ok(())
}

/// Books a delivery, and shows where to.
pub fn receive(args: &Receive, terminal: &Terminal) -> Result<(), Failure> {
    let mut desk = record::own(&args.project);
    // What is booked is what the plan had ordered.
    record::kept(&desk, terminal)?;
    desk.sound()?;
    let _held = (!args.dry_run).then(|| desk.hold_orders()).transpose()?;
    let deliveries = deliveries(args, &desk, terminal)?;
    if deliveries.is_empty() {
        return terminal.print("nothing came, so nothing was booked\n");
    }
    let received = desk.to_receive(&deliveries, args.on.unwrap_or_else(today))?;
    let shown = report::received(desk.sound()?, &received.rows, args.dry_run, terminal.width);
    if !args.dry_run {
        desk.receive(&received)?;
    }
    terminal.print(&shown)
}

fn deliveries(args: &Receive, desk: &Desk, terminal: &Terminal) -> Result<Vec<Delivery>, Failure> {
    if let Some(file) = &args.file {
        let (deliveries, findings) = desk.delivery(file)?;
        if !findings.is_empty() {
            terminal.findings(&findings);
        }
        return Ok(deliveries);
    }
    let (Some(code), Some(qty)) = (&args.part, args.qty) else {
        return Ok(Vec::new());
    };
    let (supplier, sku) = (args.supplier.as_deref(), args.sku.as_deref());
    let one = desk.delivery_of(code, qty, supplier, sku)?;
    Ok(vec![one])
}

/// Today by the computer's clock, in UTC: for what the user keeps, never for a record.
fn today() -> Date {
    Offset::UTC.to_datetime(Timestamp::now()).date()
}
