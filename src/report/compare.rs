//! Plans side by side: terms of the total in columns, then what differs from the first.

use super::difference::{self, ends_table, is_shown, parts_table, proof, signed};
use super::table::{Column, Table};
use super::wording::{plain, wrapped};
use crate::plan::{Plan, Status};
use crate::study::compare::{Compared, Difference, Term};
use crate::units::{Currency, Money};
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

/// The terms of the total as rows, a column for each plan, and how far each is from the
/// first.
pub fn totals(compared: &Compared) -> Table {
    let mut columns = vec![Column::text("term").at_least(8)];
    for (place, (name, _)) in compared.plans.iter().enumerate() {
        columns.push(Column::figures(&plain(name)));
        columns.extend((place > 0).then_some(Column::number("difference")));
    }
    let mut table = Table::new(&columns);
    let Some(first) = compared.differences.first() else {
        return table;
    };
    // Without anything spent, all that is spent and to be spent is the total.
    let is_spent = |one: &Difference| {
        let spent = one.terms.iter().filter(|term| term.term == "spent");
        { spent }.any(|term| is_shown(&[term]))
    };
    let spent = compared.differences.iter().any(is_spent);
    let shown = first.terms.len() - usize::from(!spent);
    for place in 0..shown {
        let terms: Vec<&Term> = (compared.differences.iter())
            .filter_map(|one| one.terms.get(place))
            .collect();
        if !is_shown(&terms) {
            continue;
        }
        let own = terms
            .first()
            .map_or(Money::ZERO, |term| term.before.cents());
        let name = terms.first().map_or("", |term| term.term);
        let mut row = vec![name.to_owned(), own.to_string()];
        for term in terms {
            let after = term.after.cents();
            row.extend([after.to_string(), signed((after - own).cents())]);
        }
        table.row(row);
    }
    let counts: [(&str, fn(&Plan) -> usize); 3] = [
        ("variants", |plan| plan.parts.len()),
        ("suppliers", |plan| plan.orders.len()),
        ("order lines", |plan| {
            plan.orders.iter().map(|order| order.lines.len()).sum()
        }),
    ];
    for (name, count) in counts {
        let mut row = vec![name.to_owned()];
        let own = compared.plans.first().map_or(0, |(_, plan)| count(plan));
        for (place, (_, plan)) in compared.plans.iter().enumerate() {
            let here = count(plan);
            row.push(here.to_string());
            row.extend((place > 0).then(|| match here as i64 - own as i64 {
                0 => "0".to_owned(),
                more => format!("{more:+}"),
            }));
        }
        table.row(row);
    }
    let mut row = vec!["proof".to_owned()];
    for (place, (_, plan)) in compared.plans.iter().enumerate() {
        row.push(proof(plan));
        row.extend((place > 0).then(String::new));
    }
    table.row(row);
    table
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

/// The rows of one difference, without the name of the plan.
fn rows(one: &Difference, currency: &Currency) -> Vec<[String; 7]> {
    let mut rows = Vec::new();
    let money = |more: Money| (signed(more), currency.to_string());
    for term in &one.terms {
        let (more, currency) = money(term.after - term.before);
        let [before, after] = [term.before, term.after].map(|amount| amount.to_string());
        rows.push([
            "term".into(),
            term.term.into(),
            String::new(),
            before,
            after,
            more,
            currency,
        ]);
    }
    for (what, [before, after]) in [("variants", one.variants), ("suppliers", one.suppliers)] {
        let more = after as i64 - before as i64;
        rows.push([
            "count".into(),
            what.into(),
            String::new(),
            before.to_string(),
            after.to_string(),
            more.to_string(),
            String::new(),
        ]);
    }
    for part in &one.parts {
        let (more, currency) = part.difference.map(money).unwrap_or_default();
        for (field, [before, after]) in [("fitted", part.fitted), ("bought", part.bought)] {
            let is_money = field == "bought";
            rows.push([
                "part".into(),
                plain(&part.part),
                field.into(),
                before.to_string(),
                after.to_string(),
                if is_money {
                    more.clone()
                } else {
                    String::new()
                },
                if is_money {
                    currency.clone()
                } else {
                    String::new()
                },
            ]);
        }
    }
    let changed = one
        .lines
        .iter()
        .filter(|line| line.kind != crate::study::changes::Kind::Unchanged);
    for line in changed {
        let side = |line: &Option<crate::study::changes::Line>| {
            let text = line.as_ref().map(|line| {
                let sku = match line.sku.as_str() {
                    "" => String::new(),
                    sku => format!(" ({sku})"),
                };
                let (qty, price, currency) = (line.qty, line.unit_price, &line.currency);
                format!("{qty} from {}{sku} at {price} {currency}", line.supplier)
            });
            plain(&text.unwrap_or_default())
        };
        let part = line.before.as_ref().or(line.after.as_ref());
        let (more, currency) = line.difference.map(money).unwrap_or_default();
        rows.push([
            "order line".into(),
            part.map(|line| line.part.clone()).unwrap_or_default(),
            line.kind.word().into(),
            side(&line.before),
            side(&line.after),
            more,
            currency,
        ]);
    }
    for end in &one.ends {
        let name = [&end.machine, &end.circuit, &end.net, &end.end].map(|word| plain(word));
        let name: Vec<String> = name.into_iter().filter(|word| !word.is_empty()).collect();
        let row = |field: &str, before: &str, after: &str| {
            let (before, after) = (plain(before), plain(after));
            [
                "end".into(),
                name.join(", "),
                field.into(),
                before,
                after,
                String::new(),
                String::new(),
            ]
        };
        use crate::study::compare::Stands;
        match end.stands {
            Stands::Both => {
                rows.extend(
                    end.what
                        .iter()
                        .map(|of| row(&of.field, &of.before, &of.after)),
                );
            }
            Stands::Before => rows.push(row("end", "there", "")),
            Stands::After => rows.push(row("end", "", "there")),
        }
    }
    rows
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
        all.push((of("Parts that differ"), parts_table(&one.parts, currency)));
        let lines = difference::Lines::of(one, currency);
        all.push((of("Changes of the order"), difference::changes(&lines)));
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
