//! A confirmation beside what is on order: what is outstanding, or the order of the plan.

use crate::catalog::{Catalog, SupplierId};
use crate::desk::Desk;
use crate::diag::{joined, quote};
use crate::input::Input;
use crate::study::failure::Failure;
use crate::study::letter::{self, Compared, Confirmed, Letter, Open, by_ordered, by_plan};
use crate::study::open::open_orders;
use jiff::civil::Date;
use std::collections::BTreeSet;

impl Desk {
    /// Holds a confirmation against what is outstanding from its suppliers in
    /// `ordered.csv`; of a supplier from whom nothing is, against the order of the plan on
    /// record. With `on`, of what is outstanding that of this day alone. The order of the
    /// plan counts as made on that day, or `today`.
    ///
    /// # Errors
    /// [`Failure`] where a line of what was ordered is not understood, nothing was ordered on
    /// the day, or a record that is needed does not hold.
    pub fn confirmed(
        &self,
        letter: &Letter,
        on: Option<Date>,
        today: Date,
    ) -> Result<Confirmed, Failure> {
        let input = self.sound()?;
        let (mut open, mut compared) = (Vec::new(), Vec::new());
        for supplier in &letter.suppliers {
            let placed = placed(input, *supplier, on)?;
            let is_placed = !placed.is_empty();
            let lines = match is_placed {
                true => placed,
                false => self.in_plan(*supplier, on.unwrap_or(today))?,
            };
            compared.push(compare(&input.catalog, *supplier, is_placed, &lines));
            open.extend(lines);
        }
        letter::confirmed(input, letter, &open, compared).map_err(Failure::Input)
    }

    /// What a proposed recipe would be used for: where nothing is outstanding from the
    /// supplier, the order of the plan on record, which has to hold.
    ///
    /// # Errors
    /// [`Failure`] where a record that is needed does not hold.
    pub fn may_confirm(&self, supplier: Option<&str>) -> Result<(), Failure> {
        let input = self.sound()?;
        let is_it = |row: &crate::project::Ordered| {
            let name = &input.catalog.supplier(row.supplier).name;
            row.received < row.qty && supplier.is_none_or(|wanted| wanted == name)
        };
        match (input.ordered.iter().any(is_it), self.unchecked()) {
            (false, Ok(Some(_)) | Err(_)) => Ok(self.on_record().map(drop)?),
            _ => Ok(()),
        }
    }

    /// What the plan on record still buys from a supplier.
    fn in_plan(&self, supplier: SupplierId, on: Date) -> Result<Vec<Open>, Failure> {
        let record = self.on_record()?;
        let orders = open_orders(&record.input, &record.plan);
        let mut lines = by_plan(&orders, self.sound()?, on);
        lines.retain(|line| line.supplier == supplier);
        Ok(lines)
    }
}

/// What is outstanding from a supplier, of one day where that is given.
fn placed(input: &Input, supplier: SupplierId, on: Option<Date>) -> Result<Vec<Open>, Failure> {
    let mut lines = by_ordered(input);
    lines.retain(|line| line.supplier == supplier && line.qty > 0);
    let days: BTreeSet<Date> = lines.iter().map(|line| line.ordered_on).collect();
    lines.retain(|line| on.is_none_or(|on| line.ordered_on == on));
    match (on, lines.is_empty() && !days.is_empty()) {
        (Some(on), true) => {
            let name = quote(&input.catalog.supplier(supplier).name);
            let days: Vec<String> = days.iter().map(ToString::to_string).collect();
            Err(Failure::usage(
                format!("nothing that was ordered from {name} on {on} is outstanding"),
                format!("orders of {} are", joined(&days, "and")),
            ))
        }
        _ => Ok(lines),
    }
}

fn compare(catalog: &Catalog, supplier: SupplierId, is_placed: bool, lines: &[Open]) -> Compared {
    let days: BTreeSet<Date> = lines.iter().map(|line| line.ordered_on).collect();
    let only = days.first().filter(|_| days.len() == 1);
    Compared {
        supplier: catalog.supplier(supplier).name.clone(),
        is_placed,
        ordered_on: only.map(ToString::to_string),
        lines: lines.len(),
    }
}
