//! `couplet order --place` and `couplet receive`: changes to `ordered.csv` and
//! `dies_ordered.csv`.

use super::args::{Order, Receive};
use super::letter::{self, Noted};
use super::output::Terminal;
use super::record;
use super::today::today;
use couplet::desk::Desk;
use couplet::project::delivery::Delivery;
use couplet::report::{booking as report, letter as notes};
use couplet::study::failure::Failure;
use couplet::study::letter::Letter;

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
    let is_dry = args.dry_run || args.check;
    let _held = (!is_dry).then(|| desk.hold_orders()).transpose()?;
    if let Some(note) = letter::of_delivery(args, &mut desk, terminal)? {
        return match note {
            Noted::Letter(letter) => by_note(args, &mut desk, &letter, terminal),
            Noted::Proposed if args.check => Err(Failure::WouldChange),
            Noted::Proposed => Ok(()),
        };
    }
    let deliveries = deliveries(args, &desk, terminal)?;
    if deliveries.is_empty() {
        return terminal.print("nothing came, so nothing was booked\n");
    }
    book(args, &mut desk, &deliveries, None, terminal)
}

/// Books what a delivery note says, and shows what of it was not ordered.
fn by_note(
    args: &Receive,
    desk: &mut Desk,
    note: &Letter,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let arrived = desk.arrived(note, args.on.unwrap_or_else(today))?;
    if arrived.deliveries.is_empty() {
        return terminal.print(&notes::nothing(&arrived, terminal.width));
    }
    let strangers = notes::strangers(&arrived, terminal.width);
    book(args, desk, &arrived.deliveries, strangers, terminal)
}

/// Books deliveries, and shows that with what else there is to say.
fn book(
    args: &Receive,
    desk: &mut Desk,
    deliveries: &[Delivery],
    besides: Option<String>,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let received = desk.to_receive(deliveries, args.on.unwrap_or_else(today))?;
    let is_dry = args.dry_run || args.check;
    let mut shown = report::received(desk.sound()?, &received.rows, is_dry, terminal.width);
    if let Some(besides) = besides {
        shown.push_str(&format!("\n{besides}"));
    }
    if !is_dry {
        desk.receive(&received)?;
    }
    let shown = terminal.print(&shown);
    match args.check {
        true => Err(Failure::WouldChange),
        false => shown,
    }
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
