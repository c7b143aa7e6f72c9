//! Ordered parts that a plan does not use, and what they are worth.

use super::difference::some_sku;
use super::table::{Column, Table};
use super::wording::wrapped;
use crate::catalog::Catalog;
use crate::plan::{OrderedRecord, Plan};
use crate::study::offers::Several;
use crate::units::{Money, apportion};

/// Ordered parts that the plan leaves unused, with their worth; nothing where
/// all of them are used. The sku is shown where it tells offers apart.
pub fn unused_text(plan: &Plan, catalog: &Catalog, width: usize) -> Option<String> {
    let unused: Vec<_> = plan.ordered.iter().filter(|o| o.unused > 0).collect();
    if unused.is_empty() {
        return None;
    }
    let worths: Vec<Money> = unused.iter().map(|o| o.worth).collect();
    let with_skus = needs_skus(&unused, plan, catalog);
    let mut columns = vec![Column::text("part"), Column::text("supplier")];
    columns.extend(with_skus.then(|| Column::text("sku")));
    columns.extend([
        Column::number("ordered"),
        Column::number("unused"),
        Column::number("worth"),
    ]);
    let mut table = Table::new(&columns);
    for (record, worth) in unused.iter().zip(apportion(&worths)) {
        let mut row = vec![record.part.clone(), record.supplier.clone()];
        row.extend(with_skus.then(|| some_sku(&record.sku)));
        row.extend([
            record.qty.to_string(),
            record.unused.to_string(),
            worth.to_string(),
        ]);
        table.row(row);
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

/// True if one of these was ordered, or is offered, under several skus.
fn needs_skus(unused: &[&OrderedRecord], plan: &Plan, catalog: &Catalog) -> bool {
    let several = Several::of(catalog);
    let is_other = |a: &OrderedRecord, b: &OrderedRecord| {
        (&a.part, &a.supplier) == (&b.part, &b.supplier) && a.sku != b.sku
    };
    unused.iter().any(|record| {
        let others = plan.ordered.iter().any(|other| is_other(record, other));
        others || several.has(&record.part, &record.supplier)
    })
}
