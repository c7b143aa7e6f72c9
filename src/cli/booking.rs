//! `couplet order --place` and `couplet receive`: changes to `ordered.csv` and
//! `dies_ordered.csv`.

use super::args::{Order, Receive};
use super::error::CliError;
use super::glue::{self, Instead};
use super::output::Terminal;
use super::{files, record};
use couplet::catalog::Die;
use couplet::desk::record::OnRecord;
use couplet::diag::{Findings, did_you_mean, quote};
use couplet::input::Input;
use couplet::plan::{Plan, dies_to_buy};
use couplet::project::delivery::{self, Delivery};
use couplet::project::{dies_ordered, ordered};
use couplet::report::booking as report;
use couplet::source;
use couplet::store::Hold;
use couplet::study::booking::{self, DIES, LINES};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;
use std::path::{Path, PathBuf};

/// Adds the lines of the plan's orders to `ordered.csv`, and its dies to
/// `dies_ordered.csv`: with the first order, whoever it goes to, since from then
/// on the plan is another one, which owns them.
pub fn place(args: &Order, terminal: &Terminal) -> Result<(), CliError> {
    let OnRecord { plan, input, .. } =
        record::open(&args.project, args.plan.as_deref(), "order", terminal)?;
    let folder = files::folder(&args.project);
    let paths = [LINES, DIES].map(|file| folder.join(file));
    let _held = held(&paths[0], args.dry_run)?;
    let text = current(&folder, LINES, &input)?;
    let text_of_dies = current(&folder, DIES, &input)?;
    refuse_placed(&plan, &input)?;
    let mut orders = plan.orders.clone();
    if !args.supplier.is_empty() {
        known_suppliers(&args.supplier, &plan)?;
        orders.retain(|order| args.supplier.contains(&order.supplier));
    }
    let dies = dies_to_buy(&input, &plan).into_iter();
    let dies: Vec<&Die> = dies.map(|die| input.catalog.die(die)).collect();
    if orders.is_empty() && dies.is_empty() {
        return terminal.print("nothing to order, so nothing was placed\n");
    }
    let on = args.on.unwrap_or_else(today);
    let mut shown = Vec::new();
    let mut new = Vec::new();
    if !orders.is_empty() {
        let text = booking::place(text.as_deref(), &orders, on).map_err(refused)?;
        let added: usize = orders.iter().map(|order| order.lines.len()).sum();
        new.push((&paths[0], checked(text, &input, added)?));
        shown.push(report::placed(&orders, on, args.dry_run, terminal.width));
    }
    if !dies.is_empty() {
        let text = booking::place_dies(text_of_dies.as_deref(), &dies, on).map_err(refused)?;
        new.push((&paths[1], checked_dies(text, &input, dies.len())?));
        shown.push(report::placed_dies(
            &dies,
            &input,
            args.dry_run,
            terminal.width,
        ));
    }
    write(&new, args.dry_run)?;
    terminal.print(&shown.join("\n"))?;
    if !args.dry_run {
        terminal.note("run couplet plan again: what was placed counts as available from now on");
    }
    Ok(())
}

/// Books a delivery.
pub fn receive(args: &Receive, terminal: &Terminal) -> Result<(), CliError> {
    let input = read(&args.project, terminal)?;
    let folder = files::folder(&args.project);
    let path = folder.join(LINES);
    let _held = held(&path, args.dry_run)?;
    let text = current(&folder, LINES, &input)?.unwrap_or_default();
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
    write(&[(&path, checked(new, &input, 0)?)], args.dry_run)?;
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
fn current(folder: &Path, file: &'static str, input: &Input) -> Result<Option<String>, CliError> {
    let was = input.files.iter().find(|f| f.file == file);
    let path = folder.join(file);
    let text = match std::fs::read_to_string(&path) {
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
        return Err(refused(booking::BookingError::Changed(file)));
    }
    Ok(text)
}

/// Placing the lines of one plan twice would order everything twice.
fn refuse_placed(plan: &Plan, input: &Input) -> Result<(), CliError> {
    let of = |files: &[couplet::input::InputFile], name: &str| {
        let file = files.iter().find(|f| f.file == name);
        file.map(|f| f.sha256.clone())
    };
    let is_changed = |name: &&str| of(&plan.inputs, name) != of(&input.files, name);
    let Some(changed) = [LINES, DIES].into_iter().find(is_changed) else {
        return Ok(());
    };
    Err(CliError::Read {
        message: format!(
            "{changed} is not as when the plan was made, so its orders may be placed already"
        ),
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

/// The new text of `ordered.csv`, if it is what it should be.
fn checked(text: String, input: &Input, added: usize) -> Result<String, CliError> {
    let rows = ordered::reread(&text, &input.catalog).map(|rows| rows.len());
    match rows == Some(input.ordered.len() + added) {
        true => Ok(text),
        false => Err(invalid("the lines", LINES)),
    }
}

/// The new text of `dies_ordered.csv`, if it is what it should be.
fn checked_dies(text: String, input: &Input, added: usize) -> Result<String, CliError> {
    let rows = dies_ordered::reread(&text, &input.catalog).map(|rows| rows.len());
    match rows == Some(input.dies_ordered.len() + added) {
        true => Ok(text),
        false => Err(invalid("the dies", DIES)),
    }
}

fn invalid(what: &str, file: &str) -> CliError {
    CliError::Read {
        message: format!("{what} do not make a valid {file}"),
        help: "correct what the catalog no longer has, or make the amounts smaller".to_owned(),
    }
}

/// Writes the new texts, unless they are only to be shown. What can't be written
/// fails before the first of them is.
fn write(new: &[(&PathBuf, String)], is_dry: bool) -> Result<(), CliError> {
    if is_dry {
        return Ok(());
    }
    for (path, _) in new {
        files::writable(path)?;
    }
    let mut written: Option<&PathBuf> = None;
    for &(path, ref text) in new {
        files::write(path, text).map_err(|error| match (error, written) {
            (CliError::Write { message, help }, Some(written)) => CliError::Write {
                message,
                help: format!(
                    "{help}; {} is written, so run couplet plan again before you place the rest",
                    written.display()
                ),
            },
            (error, _) => error,
        })?;
        written = Some(path);
    }
    Ok(())
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
    findings.merge_repeated();
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
        booking::BookingError::Changed(_) => "run it again",
        booking::BookingError::Text(..) => "correct the file",
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
