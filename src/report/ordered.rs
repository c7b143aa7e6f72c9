//! Ordered parts that a plan does not use, and what they are worth.

use super::table::{Column, Table};
use super::wording::wrapped;
use crate::plan::Plan;
use crate::units::{Money, apportion};

/// Ordered parts that the plan leaves unused, with their worth; nothing where
/// all of them are used.
pub fn unused_text(plan: &Plan, width: usize) -> Option<String> {
    let unused: Vec<_> = plan.ordered.iter().filter(|o| o.unused > 0).collect();
    if unused.is_empty() {
        return None;
    }
    let worths: Vec<Money> = unused.iter().map(|o| o.worth).collect();
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("supplier"),
        Column::number("ordered"),
        Column::number("unused"),
        Column::number("worth"),
    ]);
    for (record, worth) in unused.iter().zip(apportion(&worths)) {
        table.row(vec![
            record.part.clone(),
            record.supplier.clone(),
            record.qty.to_string(),
            record.unused.to_string(),
            worth.to_string(),
        ]);
    }
    let total = worths.into_iter().sum::<Money>().cents();
    let heading = format!(
        "Ordered but not used by this plan: worth {total} {} as it was ordered",
        plan.currency
    );
    Some(format!(
        "{}\n{}",
        wrapped(&heading, width, "", "  "),
        table.text(width)
    ))
}
