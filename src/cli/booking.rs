//! `couplet order --place` and `couplet receive`: changes to `ordered.csv`.

use super::args::{Order, Receive};
use super::error::CliError;
use super::glue::{self, Instead};
use super::output::Terminal;
use super::{files, record};
use couplet::desk::record::OnRecord;
use couplet::diag::{Findings, did_you_mean, quote};
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::project::delivery::{self, Delivery};
use couplet::project::ordered;
use couplet::report::booking as report;
use couplet::source;
use couplet::store::Hold;
use couplet::study::booking;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;
use std::path::Path;

/// The file, in the project folder.
pub const FILE: &str = "ordered.csv";

/// Adds the lines of the plan's orders to `ordered.csv`.
pub fn place(args: &Order, terminal: &Terminal) -> Result<(), CliError> {
    let OnRecord { plan, input, .. } =
        record::open(&args.project, args.plan.as_deref(), "order", terminal)?;
    let path = files::folder(&args.project).join(FILE);
    let _held = held(&path, args.dry_run)?;
    let text = current(&path, &input)?;
    refuse_placed(&plan, &input)?;
    let mut orders = plan.orders.clone();
    if !args.supplier.is_empty() {
        known_suppliers(&args.supplier, &plan)?;
        orders.retain(|order| args.supplier.contains(&order.supplier));
    }
    if orders.is_empty() {
        return terminal.print("nothing to order, so nothing was placed\n");
    }
    let on = args.on.unwrap_or_else(today);
    let new = booking::place(text.as_deref(), &orders, on).map_err(refused)?;
    let added: usize = orders.iter().map(|order| order.lines.len()).sum();
    keep(&path, &new, &input, added, args.dry_run)?;
    terminal.print(&report::placed(&orders, on, args.dry_run, terminal.width))?;
    if !args.dry_run {
        terminal.note("run couplet plan again: what was placed counts as available from now on");
    }
    Ok(())
}

/// Books a delivery.
pub fn receive(args: &Receive, terminal: &Terminal) -> Result<(), CliError> {
    let input = read(&args.project, terminal)?;
    let path = files::folder(&args.project).join(FILE);
    let _held = held(&path, args.dry_run)?;
    let text = current(&path, &input)?.unwrap_or_default();
    let deliveries = deliveries(args, &input, terminal)?;
    if deliveries.is_empty() {
        return terminal.print("nothing came, so nothing was booked\n");
    }
    let on = args.on.unwrap_or_else(today);
    if input.ordered.is_empty() {
        return Err(CliError::Read {
            message: format!("{} has no order", path.display()),
            help: "place the order first: couplet order --place".to_owned(),
        });
    }
    let (new, booked) = booking::receive(&text, &input, &deliveries, on).map_err(refused)?;
    keep(&path, &new, &input, 0, args.dry_run)?;
    terminal.print(&report::received(
        &input,
        &booked,
        args.dry_run,
        terminal.width,
    ))
}

/// The project as it is now, once its record is found sound: what is booked is
/// what the plan had ordered.
fn read(project: &Path, terminal: &Terminal) -> Result<Input, CliError> {
    record::kept(project, None, terminal)?;
    match glue::load(project, &Instead::default()) {
        (Some(input), _) => Ok(input),
        (None, findings) => Err(CliError::Input(findings)),
    }
}

/// From reading to writing no other run may write the file, or what it booked
/// would be lost.
fn held(path: &Path, dry_run: bool) -> Result<Option<Hold>, CliError> {
    (!dry_run).then(|| files::hold(path)).transpose()
}

/// The text of the file that the input was read from; none where there is none.
fn current(path: &Path, input: &Input) -> Result<Option<String>, CliError> {
    let was = input.files.iter().find(|f| f.file == FILE);
    let text = match std::fs::read_to_string(path) {
        Ok(text) => Some(text),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => None,
        Err(error) => {
            return Err(CliError::Read {
                message: format!("{} cannot be read: {error}", path.display()),
                help: "check who may read it".to_owned(),
            });
        }
    };
    let now = text.as_ref().map(|t| couplet::source::sha256(t.as_bytes()));
    if now.as_deref() != was.map(|f| f.sha256.as_str()) {
        return Err(refused(booking::BookingError::Changed));
    }
    Ok(text)
}

/// Placing the lines of one plan twice would order everything twice.
fn refuse_placed(plan: &Plan, input: &Input) -> Result<(), CliError> {
    let of = |files: &[couplet::input::InputFile]| {
        let file = files.iter().find(|f| f.file == FILE);
        file.map(|f| f.sha256.clone())
    };
    if of(&plan.inputs) == of(&input.files) {
        return Ok(());
    }
    Err(CliError::Read {
        message:
            "ordered.csv is not as when the plan was made, so its orders may be placed already"
                .to_owned(),
        help: "run couplet plan again before you order".to_owned(),
    })
}

fn known_suppliers(names: &[String], plan: &Plan) -> Result<(), CliError> {
    let all = || plan.orders.iter().map(|order| order.supplier.as_str());
    match names.iter().find(|name| all().all(|known| known != **name)) {
        None => Ok(()),
        Some(name) => Err(CliError::Usage {
            message: format!("the plan has no order to {}", quote(name)),
            help: did_you_mean(name, all())
                .unwrap_or_else(|| "name a supplier as couplet order shows it".to_owned()),
        }),
    }
}

/// Writes the new text, unless it is only to be shown or is not what it should be.
fn keep(
    path: &Path,
    text: &str,
    input: &Input,
    added: usize,
    is_dry: bool,
) -> Result<(), CliError> {
    let rows = ordered::reread(text, &input.catalog);
    if rows.is_none_or(|rows| rows.len() != input.ordered.len() + added) {
        return Err(CliError::Read {
            message: "the lines do not make a valid ordered.csv".to_owned(),
            help: "correct what the catalog no longer has, or make the amounts smaller".to_owned(),
        });
    }
    if is_dry {
        return Ok(());
    }
    files::write(path, text)
}

fn deliveries(
    args: &Receive,
    input: &Input,
    terminal: &Terminal,
) -> Result<Vec<Delivery>, CliError> {
    if let Some(file) = &args.file {
        return delivery_file(file, input, terminal);
    }
    let (Some(code), Some(qty)) = (&args.part, args.qty) else {
        return Ok(Vec::new());
    };
    let Some(part) = input.catalog.find(code) else {
        let codes = input.catalog.parts.iter().map(|part| part.code.as_str());
        return Err(CliError::Usage {
            message: format!("unknown part {}", quote(code)),
            help: did_you_mean(code, codes)
                .unwrap_or_else(|| "name a part of the catalog".to_owned()),
        });
    };
    Ok(vec![Delivery {
        part,
        supplier: args.supplier.clone(),
        qty,
    }])
}

fn delivery_file(
    file: &Path,
    input: &Input,
    terminal: &Terminal,
) -> Result<Vec<Delivery>, CliError> {
    let mut findings = Findings::default();
    let source = source::read(file, &mut findings);
    let deliveries = source.map(|s| delivery::read(&s, &input.catalog, &mut findings));
    if findings.has_errors() {
        return Err(CliError::Input(findings));
    }
    if !findings.is_empty() {
        terminal.findings(&findings);
    }
    Ok(deliveries.unwrap_or_default())
}

fn refused(error: booking::BookingError) -> CliError {
    let help = match &error {
        booking::BookingError::Changed => "run it again",
        booking::BookingError::Text(_) => "correct ordered.csv",
        _ => {
            "book what was ordered; enter what came beyond it into on_hand.csv, \
             or correct ordered.csv"
        }
    };
    CliError::Read {
        message: error.to_string(),
        help: help.to_owned(),
    }
}

/// Today by the computer's clock, in UTC: for what the user keeps, never for a record.
fn today() -> Date {
    Offset::UTC.to_datetime(Timestamp::now()).date()
}
