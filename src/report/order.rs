//! The orders of a plan: one for each supplier.

use super::table::{Column, Table};
use super::wording::plain;
use crate::catalog::Catalog;
use crate::input::Input;
use crate::plan::{Order, OrderLine, Plan, dies_to_buy};
use crate::study::offers;
use crate::units::{Currency, Money, apportion};

/// One order as a heading and a table; amounts are to the cent and add up.
/// Descriptions come from the catalog where it has the part. Where `at_home` is
/// given, the total stands there in the project's currency as well. Where skus tell
/// offers apart, they stay in any width.
pub fn text(
    order: &Order,
    catalog: &Catalog,
    at_home: Option<(&Currency, Money)>,
    width: usize,
) -> String {
    let sku = match needs_skus(order, catalog) {
        true => Column::text("sku"),
        false => Column::text("sku").detail(1),
    };
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("description").detail(2),
        sku,
        Column::number("qty"),
        Column::number("packs").detail(3),
        Column::number("unit_price"),
        Column::number("amount"),
    ]);
    let shown = Shown::of(order);
    for (line, amount) in order.lines.iter().zip(&shown.lines) {
        table.row(vec![
            line.part.clone(),
            description(catalog, &line.part),
            line.sku.clone(),
            line.qty.to_string(),
            line.packs.to_string(),
            line.unit_price.to_string(),
            amount.to_string(),
        ]);
    }
    let sums = shown.sums().into_iter();
    let sums = sums.map(|(name, amount)| (name.to_owned(), amount));
    let at_home = at_home.map(|(currency, total)| (format!("total in {currency}"), total.cents()));
    for (name, amount) in sums.chain(at_home) {
        let mut row = vec![name];
        row.resize(6, String::new());
        row.push(amount.to_string());
        table.row(row);
    }
    let heading = format!(
        "Order from {} in {}",
        plain(&order.supplier),
        order.currency
    );
    let notes: String = notes(order, catalog)
        .iter()
        .map(|note| format!("  {note}\n"))
        .collect();
    format!("{heading}\n{}{notes}", table.text(width))
}

/// The remarks of the supplier's row, of price rows and of parts, each with its name.
pub fn notes(order: &Order, catalog: &Catalog) -> Vec<String> {
    let supplier = supplier_note(order, catalog);
    let own = Some(format!(
        "note on {}: {}",
        plain(&order.supplier),
        plain(supplier)
    ));
    let of_lines = order.lines.iter().filter_map(|line| {
        let note = note(order, line, catalog);
        (!note.is_empty()).then(|| format!("note on {}: {}", line.part, plain(&note)))
    });
    own.into_iter()
        .filter(|_| !supplier.is_empty())
        .chain(of_lines)
        .collect()
}

/// The remark of a supplier's row; may be empty.
pub fn supplier_note<'c>(order: &Order, catalog: &'c Catalog) -> &'c str {
    let supplier = catalog.find_supplier(&order.supplier);
    supplier.map_or("", |id| &catalog.supplier(id).note)
}

/// The remarks of the price row and the part of an order line; may be empty.
pub fn note(order: &Order, line: &OrderLine, catalog: &Catalog) -> String {
    let offer = offers::offer(catalog, &order.supplier, &line.part, &line.sku);
    let of_price = offer.and_then(|(_, offer)| offer.break_at(line.qty));
    let of_part = catalog.find(&line.part).map(|id| catalog.part(id));
    let notes = [
        of_price.map(|step| step.note.as_str()),
        of_part.map(|part| part.note.as_str()),
    ];
    let notes = notes.into_iter().flatten().filter(|note| !note.is_empty());
    notes.collect::<Vec<&str>>().join("; ")
}

/// True if the supplier has several offers of a part of the order.
fn needs_skus(order: &Order, catalog: &Catalog) -> bool {
    let several = |line: &OrderLine| {
        let pair = catalog.find(&line.part);
        let pair = pair.zip(catalog.find_supplier(&order.supplier));
        pair.is_some_and(|(part, supplier)| catalog.has_several(part, supplier))
    };
    let is_twice = order.lines.windows(2);
    let mut is_twice = is_twice.map(|pair| matches!(pair, [a, b] if a.part == b.part));
    is_twice.any(|twice| twice) || order.lines.iter().any(several)
}

/// All orders as text, a blank line between.
pub fn all_text(plan: &Plan, catalog: &Catalog, width: usize) -> String {
    let orders: Vec<String> = plan
        .orders
        .iter()
        .map(|order| text(order, catalog, None, width))
        .collect();
    orders.join("\n")
}

/// All orders as text. An order that is billed in another currency has its total
/// in the project's currency as well.
pub fn all_text_at_home(plan: &Plan, input: &Input, width: usize) -> String {
    let one = |order: &Order| {
        let total = order.total_at_home(&input.settings);
        let at_home = total.filter(|_| order.currency != plan.currency);
        let at_home = at_home.map(|total| (&plan.currency, total));
        text(order, &input.catalog, at_home, width)
    };
    let orders: Vec<String> = plan.orders.iter().map(one).collect();
    orders.join("\n")
}

/// Crimp dies that the plan has to buy, with their costs in the project's
/// currency; none where there are no such dies.
pub fn dies_text(plan: &Plan, input: &Input, width: usize) -> Option<String> {
    let mut table = Table::new(&[
        Column::text("die"),
        Column::text("description").detail(1),
        Column::number("cost"),
    ]);
    for die in dies_to_buy(input, plan) {
        let die = input.catalog.die(die);
        let cost = die.cost.cents().to_string();
        let description = [&die.description, &die.note]
            .into_iter()
            .filter(|text| !text.is_empty());
        let description = description.cloned().collect::<Vec<String>>().join("; ");
        table.row(vec![die.name.clone(), description, cost]);
    }
    let heading = format!("Crimp dies to buy, in {}", plan.currency);
    (!table.is_empty()).then(|| format!("{heading}\n{}", table.text(width)))
}

/// The lines of these orders with exact amounts: `supplier, currency, sku,
/// part, kind, description, qty, packs, unit_price, line_total`, and `note` where any line
/// has one.
pub fn lines<'a>(orders: impl IntoIterator<Item = &'a Order>, catalog: &Catalog) -> Table {
    let orders: Vec<&Order> = orders.into_iter().collect();
    let mut all = orders
        .iter()
        .flat_map(|order| order.lines.iter().map(move |line| (order, line)));
    let has_notes = all.any(|(order, line)| !note(order, line, catalog).is_empty());
    let mut columns = vec![
        Column::text("supplier"),
        Column::text("currency"),
        Column::text("sku"),
        Column::text("part"),
        Column::text("kind"),
        Column::text("description"),
        Column::number("qty"),
        Column::number("packs"),
        Column::number("unit_price"),
        Column::number("line_total"),
    ];
    columns.extend(has_notes.then(|| Column::text("note")));
    let mut table = Table::new(&columns);
    for order in orders {
        for line in &order.lines {
            let mut row = line_row(order, line, catalog);
            row.extend(has_notes.then(|| note(order, line, catalog)));
            table.row(row);
        }
    }
    table
}

fn line_row(order: &Order, line: &OrderLine, catalog: &Catalog) -> Vec<String> {
    vec![
        order.supplier.clone(),
        order.currency.to_string(),
        line.sku.clone(),
        line.part.clone(),
        kind(catalog, &line.part),
        description(catalog, &line.part),
        line.qty.to_string(),
        line.packs.to_string(),
        line.unit_price.to_string(),
        line.line_total.to_string(),
    ]
}

/// The orders as JSON, as they stand in the record.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(plan: &Plan) -> serde_json::Result<String> {
    serde_json::to_string_pretty(&plan.orders).map(|text| text + "\n")
}

/// A file name for each order of the plan, in their order: `order-` and the
/// supplier's name with everything but letters, digits, `-` and `_` replaced.
/// No two are equal, even where case does not count.
pub fn file_names(plan: &Plan) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for order in &plan.orders {
        let stem = format!("order-{}", safe(&order.supplier));
        let mut name = format!("{stem}.csv");
        let mut count = 1;
        while names
            .iter()
            .any(|n| n.to_lowercase() == name.to_lowercase())
        {
            count += 1;
            name = format!("{stem}-{count}.csv");
        }
        names.push(name);
    }
    names
}

/// Longer names are cut: file systems take 255 bytes.
const LONGEST_NAME: usize = 50;

fn safe(name: &str) -> String {
    let mut safe = String::new();
    for c in name.chars().take(LONGEST_NAME) {
        if c.is_alphanumeric() || c == '_' {
            safe.push(c);
        } else if !safe.ends_with('-') {
            safe.push('-');
        }
    }
    match safe.trim_matches('-') {
        "" => "supplier".to_owned(),
        safe => safe.to_owned(),
    }
}

/// The kind of a part, where the catalog has it.
pub(super) fn kind(catalog: &Catalog, code: &str) -> String {
    let id = catalog.find(code);
    id.map(|id| catalog.part(id).kind().to_string())
        .unwrap_or_default()
}

/// The description of a part; empty where the catalog does not have it.
pub(super) fn description(catalog: &Catalog, code: &str) -> String {
    catalog
        .find(code)
        .map(|id| catalog.part(id).description.clone())
        .unwrap_or_default()
}

/// The amounts of an order to the cent.
pub(super) struct Shown {
    pub(super) lines: Vec<Money>,
    duty: Money,
    shipping: Money,
}

impl Shown {
    pub(super) fn of(order: &Order) -> Self {
        let mut exact: Vec<Money> = order.lines.iter().map(|l| l.line_total).collect();
        exact.extend([order.duty, order.shipping]);
        let mut lines = apportion(&exact);
        let shipping = lines.pop().unwrap_or_default();
        let duty = lines.pop().unwrap_or_default();
        Self {
            lines,
            duty,
            shipping,
        }
    }

    /// The rows below the lines; duty only where there is some.
    pub(super) fn sums(&self) -> Vec<(&'static str, Money)> {
        let goods: Money = self.lines.iter().copied().sum();
        let mut sums = vec![("goods", goods.cents())];
        if self.duty.is_positive() {
            sums.push(("duty", self.duty));
        }
        sums.push(("shipping", self.shipping));
        sums.push(("total", (goods + self.duty + self.shipping).cents()));
        sums
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample::{self, money};

    #[test]
    fn an_order_adds_up() {
        let plan = sample::plan();
        assert_eq!(
            text(&plan.orders[1], &sample::catalog(), None, 100),
            "Order from West & Co in USD\n\
             part      description       sku  qty  packs  unit price  amount\n\
             --------- ----------------- ---- ---- ------ ----------- ------\n\
             S-8       seal 12 to 16 mm  N-1    5      1       0.333    1.67\n\
             goods                                                      1.67\n\
             shipping                                                  12.00\n\
             total                                                     13.67\n"
        );
    }

    #[test]
    fn shown_amounts_add_up_to_the_shown_total() {
        let mut order = sample::plan().orders[1].clone();
        order.duty = money("0.335");
        order.shipping = money("0.335");
        order.total = order.goods + order.duty + order.shipping;
        let shown = Shown::of(&order);
        let sum: Money = shown.lines.iter().copied().sum();
        assert_eq!(sum + shown.duty + shown.shipping, order.total.cents());
    }

    #[test]
    fn lines_are_exact() {
        let plan = sample::plan();
        let csv = lines(&plan.orders, &sample::catalog()).csv().unwrap();
        let last = csv.lines().last().unwrap();
        assert_eq!(
            last,
            "West & Co,USD,N-1,S-8,seal,seal 12 to 16 mm,5,1,0.333,1.665"
        );
        assert_eq!(csv.lines().count(), 8);
    }

    #[test]
    fn file_names_are_safe_and_distinct() {
        let mut plan = sample::plan();
        let order = plan.orders[0].clone();
        plan.orders = ["../etc/x", "A B", "a-b", "::", "", "Öl & Söhne", "con"]
            .map(|name| Order {
                supplier: name.into(),
                ..order.clone()
            })
            .to_vec();
        assert_eq!(
            file_names(&plan),
            [
                "order-etc-x.csv",
                "order-A-B.csv",
                "order-a-b-2.csv",
                "order-supplier.csv",
                "order-supplier-2.csv",
                "order-Öl-Söhne.csv",
                "order-con.csv",
            ]
        );
    }
}
