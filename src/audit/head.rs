//! What the record says of itself.

use super::finding::{Finding, differs};
use crate::input::Input;
use crate::plan::{EARLIER, Plan, SCHEMA};
use jiff::civil::Date;

pub(super) fn check(input: &Input, plan: &Plan, found: &mut Vec<Finding>) {
    const OF: &str = "the plan";
    let settings = &input.settings;
    // A record of an earlier version is of its own schema.
    let schema = EARLIER.iter().find(|earlier| **earlier == plan.schema);
    let facts = [
        differs(OF, "schema", &plan.schema, schema.unwrap_or(&SCHEMA)),
        differs(OF, "project", &plan.project, &settings.name),
        differs(OF, "currency", &plan.currency, &settings.currency),
        differs(OF, "as_of", day(plan.as_of), day(input.as_of)),
        differs(
            OF,
            "prices",
            list(plan.prices.as_ref()),
            list(input.prices.instead.as_ref()),
        ),
    ];
    found.extend(facts.into_iter().flatten().map(Finding::Head));
    let recorded = plan.machines.iter();
    let recorded = recorded.map(|of| (&of.machine, of.count));
    let machines = input.machines.iter();
    if !recorded.eq(machines.map(|of| (&of.name, of.count))) {
        found.push(Finding::Machines {
            found: counted(plan.machines.iter().map(|of| (&of.machine, of.count))),
            want: counted(input.machines.iter().map(|of| (&of.name, of.count))),
            file: input.machines.first().map(|of| of.row.file.to_string()),
        });
    }
    let projects = plan.machines.iter().zip(&input.machines);
    for (of, machine) in projects.filter(|(of, machine)| of.machine == machine.name) {
        let name = format!("machine {}", of.machine);
        let fact = differs(name, "project", &of.project, &machine.project);
        found.extend(fact.map(Finding::Head));
    }
    if plan.inputs != input.files {
        found.push(Finding::Inputs);
    }
}

/// `4 × ferry, 1 × tender`.
fn counted<'a>(machines: impl Iterator<Item = (&'a String, u64)>) -> String {
    let all: Vec<String> = machines
        .map(|(name, count)| format!("{count} × {name}"))
        .collect();
    match all.is_empty() {
        true => "one project".to_owned(),
        false => all.join(", "),
    }
}

fn day(date: Option<Date>) -> String {
    date.map_or_else(|| "null".to_owned(), |date| date.to_string())
}

fn list(prices: Option<&String>) -> &str {
    prices.map_or("the project's own list", |file| file.as_str())
}
