//! What was ordered and what came: changes to `ordered.csv` and `dies_ordered.csv`.

use super::open::{Desk, Held};
use super::record::OnRecord;
use crate::catalog::DieId;
use crate::diag::{Findings, did_you_mean, quote};
use crate::input::{Input, InputFile};
use crate::plan::{Order, Plan, dies_to_buy};
use crate::project::delivery::{self, Delivery};
use crate::project::{dies_ordered, ordered};
use crate::source::sha256;
use crate::study::booking::{self, Booked, BookingError, DIES, LINES};
use crate::study::failure::Failure;
use crate::units::Qty;
use jiff::civil::Date;
use std::path::Path;

/// What is placed of a plan's orders.
#[derive(Debug, Clone)]
pub struct Placed {
    /// Orders whose lines are placed.
    pub orders: Vec<Order>,
    /// Dies that are placed: with the first order all that the plan buys, since from
    /// then on the project owns these dies, and its plan is another.
    pub dies: Vec<DieId>,
    /// The day of the order.
    pub on: Date,
    new: Vec<(&'static str, String)>,
}

impl Placed {
    /// True if there is nothing to place.
    pub fn is_empty(&self) -> bool {
        self.orders.is_empty() && self.dies.is_empty()
    }
}

/// What a delivery is booked to.
#[derive(Debug, Clone)]
pub struct Received {
    /// What is booked, by row of `ordered.csv`.
    pub rows: Vec<Booked>,
    new: String,
}

impl Desk {
    /// Holds `ordered.csv` and `dies_ordered.csv`. Whether the files are still as they
    /// were read is looked at afterwards.
    ///
    /// # Errors
    /// [`Failure::Write`] where another run holds the files.
    pub fn hold_orders(&self) -> Result<Held, Failure> {
        self.hold(&self.path(LINES))
    }

    /// What placing the orders of the plan on record would write: all orders, or the
    /// orders to the suppliers that are named.
    ///
    /// # Errors
    /// [`Failure`] if the record does not hold, a supplier is unknown, or the
    /// orders may be placed already.
    pub fn to_place(&self, suppliers: &[String], on: Date) -> Result<Placed, Failure> {
        let OnRecord { plan, input, .. } = self.on_record()?;
        let [lines, dies_placed] = [LINES, DIES].map(|file| self.current(file, input));
        let (lines, dies_placed) = (lines?, dies_placed?);
        refuse_placed(plan, input)?;
        let mut orders = plan.orders.clone();
        if !suppliers.is_empty() {
            known_suppliers(suppliers, plan)?;
            orders.retain(|order| suppliers.contains(&order.supplier));
        }
        let dies = dies_to_buy(input, plan);
        let mut new = Vec::new();
        if !orders.is_empty() {
            let text = booking::place(lines.as_deref(), &orders, &input.catalog, on)?;
            let added: usize = orders.iter().map(|order| order.lines.len()).sum();
            new.push((LINES, checked(text, input, added)?));
        }
        if !dies.is_empty() {
            let bought: Vec<_> = dies.iter().map(|die| input.catalog.die(*die)).collect();
            let text = booking::place_dies(dies_placed.as_deref(), &bought, on)?;
            new.push((DIES, checked_dies(text, input, dies.len())?));
        }
        Ok(Placed {
            orders,
            dies,
            on,
            new,
        })
    }

    /// Writes what was placed. A file that can't be written fails before the first file
    /// is written. After the writing the plan on record is stale.
    ///
    /// # Errors
    /// [`Failure::Write`].
    pub fn place(&mut self, placed: &Placed) -> Result<(), Failure> {
        for (file, _) in &placed.new {
            let path = self.path(file);
            let can = self.files().can_write(&path);
            can.map_err(|error| Failure::write(&path, &error))?;
        }
        let mut written: Option<&str> = None;
        for (file, text) in &placed.new {
            self.save(file, text).map_err(|error| match (error, written) {
                (Failure::Write { message, help }, Some(written)) => Failure::Write {
                    message,
                    help: format!(
                        "{help}; {} is written, so run couplet plan again before you place the rest",
                        self.path(written).display()
                    ),
                },
                (error, _) => error,
            })?;
            written = Some(file);
        }
        Ok(())
    }

    /// What booking a delivery would write.
    ///
    /// # Errors
    /// [`Failure`] if the project can't be read, or more came than was ordered.
    pub fn to_receive(&self, deliveries: &[Delivery], on: Date) -> Result<Received, Failure> {
        let input = self.sound()?;
        let text = self.current(LINES, input)?.unwrap_or_default();
        if input.ordered.is_empty() {
            return Err(Failure::read(
                format!("{} has no order", self.path(LINES).display()),
                "place the order first: couplet order --place",
            ));
        }
        let (new, rows) = booking::receive(&text, input, deliveries, on)?;
        let new = checked(new, input, 0)?;
        Ok(Received { rows, new })
    }

    /// Writes what came.
    ///
    /// # Errors
    /// [`Failure::Write`].
    pub fn receive(&mut self, received: &Received) -> Result<(), Failure> {
        self.save(LINES, &received.new)
    }

    /// A delivery from a table file: what came of which part.
    ///
    /// # Errors
    /// [`Failure::Input`] with all that is wrong with the file.
    pub fn delivery(&self, file: &Path) -> Result<(Vec<Delivery>, Findings), Failure> {
        let input = self.sound()?;
        let mut findings = Findings::default();
        let source = self.files().read(file, &mut findings);
        let deliveries = source.map(|s| delivery::read(&s, &input.catalog, &mut findings));
        findings.merge_repeated();
        match findings.has_errors() {
            true => Err(Failure::Input(findings)),
            false => Ok((deliveries.unwrap_or_default(), findings)),
        }
    }

    /// A delivery of so many of one part, from any supplier and under any sku where none
    /// is named.
    ///
    /// # Errors
    /// [`Failure::Usage`] where the catalog has no such part.
    pub fn delivery_of(
        &self,
        code: &str,
        qty: Qty,
        supplier: Option<&str>,
        sku: Option<&str>,
    ) -> Result<Delivery, Failure> {
        Ok(Delivery {
            part: self.part(code)?,
            supplier: supplier.map(str::to_owned),
            sku: sku.map(str::to_owned),
            qty,
        })
    }

    /// The text of the file that the input was read from; none where there is no file.
    fn current(&self, file: &'static str, input: &Input) -> Result<Option<String>, Failure> {
        let was = input.files.iter().find(|f| f.file == file);
        let text = self.text(file);
        let now = text.as_ref().map(|text| sha256(text.as_bytes()));
        match now.as_deref() == was.map(|f| f.sha256.as_str()) {
            true => Ok(text),
            false => Err(BookingError::Changed(file).into()),
        }
    }
}

/// Placing the lines of one plan twice would order everything twice.
fn refuse_placed(plan: &Plan, input: &Input) -> Result<(), Failure> {
    let of = |files: &[InputFile], name: &str| {
        let file = files.iter().find(|f| f.file == name);
        file.map(|f| f.sha256.clone())
    };
    let is_changed = |name: &&str| of(&plan.inputs, name) != of(&input.files, name);
    let Some(changed) = [LINES, DIES].into_iter().find(is_changed) else {
        return Ok(());
    };
    Err(Failure::read(
        format!("{changed} is not as when the plan was made, so the orders may be placed already"),
        "run couplet plan again before you order",
    ))
}

fn known_suppliers(names: &[String], plan: &Plan) -> Result<(), Failure> {
    let all = || plan.orders.iter().map(|order| order.supplier.as_str());
    match names.iter().find(|name| all().all(|known| known != **name)) {
        None => Ok(()),
        Some(name) => Err(Failure::usage(
            format!("the plan has no order to {}", quote(name)),
            did_you_mean(name, all())
                .unwrap_or_else(|| "name a supplier as couplet order shows it".to_owned()),
        )),
    }
}

/// The new text of `ordered.csv`, if it is what it should be.
fn checked(text: String, input: &Input, added: usize) -> Result<String, Failure> {
    let rows = ordered::reread(&text, &input.catalog).map(|rows| rows.len());
    match rows == Some(input.ordered.len() + added) {
        true => Ok(text),
        false => Err(invalid("the lines", LINES)),
    }
}

/// The new text of `dies_ordered.csv`, if it is what it should be.
fn checked_dies(text: String, input: &Input, added: usize) -> Result<String, Failure> {
    let rows = dies_ordered::reread(&text, &input.catalog).map(|rows| rows.len());
    match rows == Some(input.dies_ordered.len() + added) {
        true => Ok(text),
        false => Err(invalid("the dies", DIES)),
    }
}

fn invalid(what: &str, file: &str) -> Failure {
    Failure::read(
        format!("{what} do not make a valid {file}"),
        "correct what the catalog no longer has, or make the amounts smaller",
    )
}

impl From<BookingError> for Failure {
    fn from(error: BookingError) -> Self {
        let help = error.cure();
        Failure::read(error, help)
    }
}
