//! Prices over time, for a reader.

use super::difference::{percent, some_sku};
use super::table::{Column, GLUE, Table};
use super::wording::{plain, wrapped};
use crate::catalog::read::history::GONE;
use crate::diag::quote;
use crate::study::history::{Course, Stage};

/// The prices as they are read, or that none has changed; `part` is the part that was asked
/// for.
pub fn text(courses: &[Course], part: Option<&str>, width: usize) -> String {
    if courses.is_empty() {
        let of = part.map_or(String::new(), |part| format!(" of part {}", quote(part)));
        let none = format!(
            "no price{of} is in the history yet: couplet take notes the prices that change"
        );
        return wrapped(&none, width, "", "  ") + "\n";
    }
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("supplier"),
        Column::text("sku").detail(1),
        Column::number("from"),
        Column::text("quoted"),
        Column::number("price"),
        Column::number("percent"),
    ]);
    for (course, stage) in stages(courses) {
        let price = match stage.unit_price {
            Some(price) => format!("{price}{GLUE}{}", stage.currency),
            None => GONE.to_owned(),
        };
        table.row(vec![
            plain(&course.part),
            plain(&course.supplier),
            some_sku(&course.sku),
            course.min_qty.to_string(),
            stage.quoted.map_or("no day".to_owned(), |d| d.to_string()),
            price,
            stage.percent.map(percent).unwrap_or_default(),
        ]);
    }
    table.text(width)
}

/// The prices as a table: `part, supplier, sku, min_qty, quoted, unit_price, currency,
/// percent`.
pub fn table(courses: &[Course]) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("supplier"),
        Column::text("sku"),
        Column::number("min_qty"),
        Column::text("quoted"),
        Column::number("unit_price"),
        Column::text("currency"),
        Column::number("percent"),
    ]);
    for (course, stage) in stages(courses) {
        let price = stage.unit_price.map(|price| price.to_string());
        table.row(vec![
            plain(&course.part),
            plain(&course.supplier),
            plain(&course.sku),
            course.min_qty.to_string(),
            stage.quoted.map(|d| d.to_string()).unwrap_or_default(),
            price.unwrap_or_else(|| GONE.to_owned()),
            stage.currency.to_string(),
            stage.percent.map(percent).unwrap_or_default(),
        ]);
    }
    table
}

/// Each stage with its course.
fn stages(courses: &[Course]) -> impl Iterator<Item = (&Course, &Stage)> {
    courses
        .iter()
        .flat_map(|course| course.stages.iter().map(move |stage| (course, stage)))
}
