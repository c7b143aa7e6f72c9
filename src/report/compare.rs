//! Plans side by side: terms of the total in columns, then what differs from the first.

use super::difference::{self, ends_table, exchanges, parts_table, proof, signed};
use super::table::{Column, Table};
use super::wording::{plain, wrapped};
use crate::plan::{Plan, Status};
use crate::study::changes::{Change, Kind, Line};
use crate::study::compare::{Compared, Difference, EndChange, Stands, amounts};
use crate::units::{Currency, Money, Qty, apportion};
use rust_decimal::Decimal;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// The plans for a reader.
pub fn text(compared: &Compared, width: usize) -> String {
    let Some((first, plan)) = compared.plans.first() else {
        return String::new();
    };
    let currency = &plan.currency;
    let mut sections = vec![format!(
        "Totals in {currency}\n{}",
        totals(compared).text(width)
    )];
    let others = compared.plans.iter().skip(1).zip(&compared.differences);
    for ((other, _), one) in others {
        let body = difference::text(one, currency, width);
        // Of two plans it is plain which is held against which.
        sections.push(match compared.differences.len() {
            1 => body,
            _ => {
                let head = plain(&format!("From {first} to {other}"));
                format!("{}\n\n{body}", wrapped(&head, width, "", "  "))
            }
        });
    }
    sections.join("\n")
}

/// What is counted of a plan.
type Count = fn(&Plan) -> usize;

/// The terms of the total as rows, a column for each plan, and how far each is from the
/// first. All amounts are to the cent, and each column adds up as shown.
pub fn totals(compared: &Compared) -> Table {
    let mut columns = vec![Column::text("term").at_least(8)];
    for (place, (name, _)) in compared.plans.iter().enumerate() {
        columns.push(Column::figures(&short(name)));
        columns.extend((place > 0).then_some(Column::number("difference")));
    }
    let mut table = Table::new(&columns);
    let plans: Vec<&Plan> = compared.plans.iter().map(|(_, plan)| plan).collect();
    for row in terms(&plans) {
        table.row(row);
    }
    let counts: [(&str, Count); 3] = [
        ("variants", |plan| plan.parts.len()),
        ("suppliers", |plan| plan.orders.len()),
        ("order lines", |plan| {
            plan.orders.iter().map(|order| order.lines.len()).sum()
        }),
    ];
    for (name, count) in counts {
        let counts: Vec<usize> = plans.iter().map(|plan| count(plan)).collect();
        table.row(beside(
            name,
            &counts,
            ToString::to_string,
            |here, own| match *here as i64 - *own as i64 {
                0 => "0".to_owned(),
                more => format!("{more:+}"),
            },
        ));
    }
    let proofs: Vec<String> = plans.iter().map(|plan| proof(plan)).collect();
    table.row(beside("proof", &proofs, Clone::clone, |_, _| String::new()));
    table
}

/// A row: what each plan has, and behind each but the first how far it is from the first.
fn beside<T>(
    name: &str,
    values: &[T],
    show: impl Fn(&T) -> String,
    difference: impl Fn(&T, &T) -> String,
) -> Vec<String> {
    let mut row = vec![name.to_owned()];
    if let Some((own, others)) = values.split_first() {
        row.push(show(own));
        row.extend((others.iter()).flat_map(|here| [show(here), difference(here, own)]));
    }
    row
}

/// The rows of amounts, with the names that a plan shows. Left out is what a plan alone
/// would leave out in each of the plans.
fn terms(plans: &[&Plan]) -> Vec<Vec<String>> {
    let is_any = |of: fn(&Plan) -> Money| plans.iter().any(|plan| of(plan) != Money::ZERO);
    let (taxed, spent) = (is_any(|plan| plan.cost.tax), is_any(|plan| plan.spent));
    let exact: Vec<Vec<(&str, Money)>> = plans.iter().map(|plan| amounts(plan)).collect();
    let shown: Vec<Vec<Money>> = plans.iter().map(|plan| to_the_cent(plan)).collect();
    let names = exact.first().into_iter().flatten().map(|(name, _)| *name);
    let mut rows = Vec::new();
    for (place, name) in names.enumerate() {
        let is_shown = match name {
            "goods" | "total" => true,
            "total with tax" => taxed,
            "spent and still to spend" => spent,
            _ => (exact.iter().filter_map(|of| of.get(place)))
                .any(|(_, amount)| *amount != Money::ZERO),
        };
        let name = match name {
            "total" if spent => "still to spend",
            "total with tax" if spent => "still to spend with tax",
            name => name,
        };
        let all: Vec<Money> = { shown.iter() }
            .filter_map(|of| of.get(place).copied())
            .collect();
        let more = |here: &Money, own: &Money| signed((*here - *own).cents());
        rows.extend(is_shown.then(|| beside(name, &all, ToString::to_string, more)));
    }
    rows
}

/// The amounts of a plan to the cent, so that they add up: terms to the total, total and tax
/// to the total with tax, total and spent to both together.
fn to_the_cent(plan: &Plan) -> Vec<Money> {
    let cost = &plan.cost;
    let mut all = apportion(&cost.terms().map(|(_, exact)| exact));
    let [total, with_tax, both] =
        [cost.total, cost.total_with_tax, plan.altogether()].map(Money::cents);
    all.extend([
        total,
        (with_tax - total).cents(),
        with_tax,
        (both - total).cents(),
        both,
    ]);
    all
}

/// A name as the head of a column: of a long one the end, which tells paths apart.
fn short(name: &str) -> String {
    const LONGEST: usize = 24;
    let name = plain(name);
    let count = name.chars().count();
    match count > LONGEST {
        true => std::iter::once('…')
            .chain(name.chars().skip(count + 1 - LONGEST))
            .collect(),
        false => name,
    }
}

/// All that differs from the first plan, a row each: of terms, parts, order lines and ends.
pub fn table(compared: &Compared) -> Table {
    let mut table = Table::new(&[
        Column::text("plan"),
        Column::text("what"),
        Column::text("name"),
        Column::text("field"),
        Column::text("before"),
        Column::text("after"),
        Column::number("difference"),
        Column::text("currency"),
    ]);
    let others = compared.plans.iter().skip(1).zip(&compared.differences);
    for ((name, plan), one) in others {
        for row in rows(one, &plan.currency) {
            let mut cells = vec![plain(name)];
            cells.extend(row);
            table.row(cells);
        }
    }
    table
}

/// A row without the name of the plan: what, name, field, before, after, then the difference
/// with its currency.
fn row(
    [what, name, field]: [&str; 3],
    [before, after]: [String; 2],
    more: Option<[String; 2]>,
) -> Vec<String> {
    let mut row = [what, name, field].map(plain).to_vec();
    row.extend([before, after].map(|cell| plain(&cell)));
    row.extend(more.unwrap_or_default());
    row
}

/// The rows of one difference.
fn rows(one: &Difference, currency: &Currency) -> Vec<Vec<String>> {
    let money = |more: Money| [signed(more), currency.to_string()];
    let mut rows: Vec<Vec<String>> = Vec::new();
    for term in &one.terms {
        let both = [term.before, term.after].map(|amount| amount.to_string());
        let more = Some(money(term.after - term.before));
        rows.push(row(["term", term.term, ""], both, more));
    }
    for (what, both) in [("variants", one.variants), ("suppliers", one.suppliers)] {
        let more = (both[1] as i64 - both[0] as i64).to_string();
        let more = Some([more, String::new()]);
        rows.push(row(["count", what, ""], both.map(|n| n.to_string()), more));
    }
    for part in &one.parts {
        let is_told = |(field, [before, after]): &(&str, [Qty; 2])| {
            before != after || ["fitted", "bought"].contains(field)
        };
        for (field, both) in part.pieces().into_iter().filter(is_told) {
            let more = part.difference.filter(|_| field == "bought").map(money);
            let both = both.map(|n| n.to_string());
            rows.push(row(["part", &part.part, field], both, more));
        }
    }
    let is_changed = |line: &&Change| line.kind != Kind::Unchanged;
    for change in one.lines.iter().filter(is_changed) {
        let part = change.before.as_ref().or(change.after.as_ref());
        let name = part.map_or("", |line| &line.part);
        let both = [&change.before, &change.after].map(|line| line.as_ref().map(line_text));
        let more = change.difference.map(money);
        let what = ["order line", name, change.kind.word()];
        rows.push(row(what, both.map(Option::unwrap_or_default), more));
    }
    rows.extend(one.ends.iter().flat_map(end_rows));
    rows
}

/// An order line in words.
fn line_text(line: &Line) -> String {
    let sku = match line.sku.as_str() {
        "" => String::new(),
        sku => format!(" ({sku})"),
    };
    let (qty, price, currency) = (line.qty, line.unit_price, &line.currency);
    format!("{qty} from {}{sku} at {price} {currency}", line.supplier)
}

fn end_rows(end: &EndChange) -> Vec<Vec<String>> {
    let name = [&end.machine, &end.circuit, &end.net, &end.end].map(String::as_str);
    let name: Vec<&str> = name.into_iter().filter(|word| !word.is_empty()).collect();
    let name = name.join(", ");
    let one = |field: &str, before: &str, after: &str| {
        row(
            ["end", &name, field],
            [before, after].map(str::to_owned),
            None,
        )
    };
    match end.stands {
        Stands::Both => (end.what.iter())
            .map(|of| one(&of.field, &of.before, &of.after))
            .collect(),
        Stands::Before => vec![one("end", "there", "")],
        Stands::After => vec![one("end", "", "there")],
    }
}

/// The tables of a page: totals, then for each plan its parts, order lines and ends.
pub fn tables(compared: &Compared) -> Vec<(String, Table)> {
    let mut all = vec![("Totals".to_owned(), totals(compared))];
    let others = compared.plans.iter().skip(1).zip(&compared.differences);
    for ((name, plan), one) in others {
        let currency = &plan.currency;
        let of = |what: &str| plain(&format!("{what}: {name}"));
        if one.is_nothing() {
            continue;
        }
        all.push((of("Variants and suppliers"), exchanges(one)));
        let parts = parts_table(&one.parts, currency, usize::MAX);
        all.push((of("Parts that differ"), parts));
        let lines = difference::Lines::of(one, currency);
        all.push((of("Changes of the order"), difference::changed(&lines)));
        all.push((of("Ends that differ"), ends_table(&one.ends)));
    }
    all
}

#[derive(Serialize, JsonSchema)]
struct Record<'a> {
    #[schemars(extend("const" = "couplet.compare/1"))]
    schema: &'static str,
    currency: Option<&'a Currency>,
    plans: Vec<PlanRecord<'a>>,
    /// What differs from the first plan to each other plan, in the order of the plans.
    differences: &'a [Difference],
}

#[derive(Serialize, JsonSchema)]
struct PlanRecord<'a> {
    /// The plan as it was named.
    name: &'a str,
    project: &'a str,
    /// Spent and still to spend.
    total: Money,
    status: Status,
    total_bound: Money,
    #[serde(with = "rust_decimal::serde::float")]
    #[schemars(with = "f64")]
    gap_percent: Decimal,
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Record>()
}

/// All that differs, with the figures of each plan.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(compared: &Compared) -> Result<String, serde_json::Error> {
    let plans = compared.plans.iter().map(|(name, plan)| PlanRecord {
        name,
        project: &plan.project,
        total: plan.altogether(),
        status: plan.status,
        total_bound: plan.total_bound,
        gap_percent: plan.gap_percent,
    });
    let record = Record {
        schema: "couplet.compare/1",
        currency: compared.plans.first().map(|(_, plan)| &plan.currency),
        plans: plans.collect(),
        differences: &compared.differences,
    };
    serde_json::to_string_pretty(&record).map(|text| text + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample::{self, money};
    use crate::study::compare::compare;

    fn compared(others: Vec<(&str, Plan)>) -> Compared {
        let mut plans = vec![("boat_one".to_owned(), sample::plan())];
        plans.extend(
            others
                .into_iter()
                .map(|(name, plan)| (name.to_owned(), plan)),
        );
        compare(plans, |_| None).unwrap()
    }

    /// The column of a plan, by the names of the rows.
    fn column(table: &Table, place: usize) -> Vec<(String, String)> {
        let cell = |row: &Vec<String>| (row[0].clone(), row[place].clone());
        table.rows().iter().map(cell).collect()
    }

    #[test]
    fn each_column_adds_up_as_shown() {
        let mut other = sample::plan();
        let exact = [
            "10.335", "1.335", "1.335", "1.335", "0", "14.34", "2.868", "17.208",
        ];
        let [
            goods,
            duty,
            shipping,
            dies,
            lines,
            total,
            tax,
            total_with_tax,
        ] = exact.map(money);
        other.cost = crate::plan::Cost {
            goods,
            duty,
            shipping,
            dies,
            lines,
            total,
            tax,
            total_with_tax,
        };
        other.spent = money("3.335");
        let table = totals(&compared(vec![("spring_list", other)]));
        let theirs = column(&table, 2);
        let amount = |name: &str| {
            let found = theirs.iter().find(|(row, _)| row == name);
            money(&found.unwrap_or_else(|| panic!("{name}: {theirs:?}")).1)
        };
        let terms = ["goods", "duty", "shipping", "dies"].map(amount);
        let total = amount("still to spend");
        assert_eq!(terms.into_iter().sum::<Money>(), total);
        assert_eq!(total, money("14.34"));
        assert_eq!(total + amount("tax"), amount("still to spend with tax"));
        assert_eq!(total + amount("spent"), amount("spent and still to spend"));
        assert!(!theirs.iter().any(|(row, _)| row == "handling"));
        let ours = column(&table, 1);
        let more = column(&table, 3);
        for ((ours, theirs), (name, more)) in ours.iter().zip(&theirs).zip(&more) {
            if let Ok(difference) = more.parse::<Money>() {
                let (before, after) = (money(&ours.1), money(&theirs.1));
                assert_eq!(after - before, difference, "{name}");
            }
        }
        // Names stand as they were given.
        assert!(table.text(100).contains("boat_one"), "{}", table.text(100));
    }

    #[test]
    fn a_spare_that_was_surplus_differs() {
        let mut other = sample::plan();
        let ferrule = &mut other.parts[1];
        assert_eq!((ferrule.spare, ferrule.surplus), (1, 5));
        (ferrule.spare, ferrule.surplus) = (2, 4);
        let compared = compared(vec![("other", other)]);
        assert!(!compared.differences[0].is_nothing());
        let text = text(&compared, 100);
        for word in ["spare", "surplus", "1 to 2", "5 to 4"] {
            assert!(text.contains(word), "{word}: {text}");
        }
        let csv = table(&compared).csv().unwrap();
        for row in [
            "other,part,F-70,spare,1,2,,\n",
            "other,part,F-70,surplus,5,4,,\n",
        ] {
            assert!(csv.contains(row), "{row}: {csv}");
        }
        assert!(!csv.contains("F-70,on_hand_used"), "{csv}");
    }

    #[test]
    fn a_page_names_the_plans_that_do_not_differ() {
        use crate::report::page;
        let mut other = sample::plan();
        other.ends[0].key = "<b>".to_owned();
        let both = vec![("same", sample::plan()), ("other_key", other)];
        let page = page::compare(&compared(both)).unwrap();
        assert!(page.contains("nothing differs in same"), "{page}");
        assert!(
            page.contains("other_key") && !page.contains("<b>"),
            "{page}"
        );
        let page = page::compare(&compared(vec![("same", sample::plan())])).unwrap();
        assert!(page.contains(difference::SAME), "{page}");
    }
}
