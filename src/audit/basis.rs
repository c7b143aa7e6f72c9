//! What a finding rests on, so that a record can be checked as far as the files
//! that it was made from are still the same.

use super::finding::{Fact, Finding, Rule};
use super::{audit, audit_alone};
use crate::input::Input;
use crate::plan::Plan;
use std::collections::BTreeSet;
use std::fmt;

/// Files that belong together as the ground of a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Basis {
    /// Circuits, parts and settings together: what fits where, and how many.
    Fit,
    /// Circuits: which ends there are, and where.
    Circuits,
    /// Parts: what each of them is.
    Parts,
    /// What is on hand.
    Stock,
    /// What is ordered.
    Ordered,
    /// The price list.
    Prices,
    /// Suppliers: their currencies, duty, shipping and least orders.
    Suppliers,
    /// Dies.
    Dies,
    /// What stands in `project.toml`.
    Settings,
}

/// Every basis.
const ALL: [Basis; 9] = [
    Basis::Fit,
    Basis::Circuits,
    Basis::Parts,
    Basis::Stock,
    Basis::Ordered,
    Basis::Prices,
    Basis::Suppliers,
    Basis::Dies,
    Basis::Settings,
];

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Basis::Fit => "what fits where",
            Basis::Circuits => "which ends there are",
            Basis::Parts => "what each part is",
            Basis::Stock => "what is on hand",
            Basis::Ordered => "what is ordered",
            Basis::Prices => "prices",
            Basis::Suppliers => "suppliers",
            Basis::Dies => "dies",
            Basis::Settings => "settings",
        })
    }
}

/// What a changed file takes away, by its path: the settings and a workbook take
/// every basis, a table takes what it holds, any other CSV file takes the prices.
fn bases(file: &str) -> &'static [Basis] {
    let name = file.rsplit('/').next().unwrap_or(file);
    match name.strip_suffix(".csv") {
        None => &ALL,
        Some("circuits") => &[Basis::Fit, Basis::Circuits],
        Some("bodies" | "ferrules" | "seals" | "backshells") => &[Basis::Fit, Basis::Parts],
        Some("ratings" | "attributes") => &[Basis::Fit],
        Some("on_hand") => &[Basis::Stock],
        Some("ordered") => &[Basis::Ordered],
        Some("dies" | "dies_ordered") => &[Basis::Dies],
        Some("suppliers") => &[Basis::Suppliers],
        Some(_) => &[Basis::Prices],
    }
}

/// Everything that is wrong with a plan of which some files have changed since,
/// and what could not be checked because of these changes. What rests on files that
/// are still the same is checked against them, all else against the record itself.
pub fn audit_since(input: &Input, plan: &Plan, changed: &[String]) -> (Vec<Finding>, Vec<Basis>) {
    if changed.is_empty() {
        return (audit(input, plan), Vec::new());
    }
    let gone: BTreeSet<Basis> = (changed.iter())
        .flat_map(|file| bases(file).iter().copied())
        .collect();
    let mut found = audit_alone(plan);
    for finding in audit(input, plan) {
        let stands = rests_on(&finding).is_some_and(|on| on.iter().all(|b| !gone.contains(b)));
        if stands && !found.contains(&finding) {
            found.push(finding);
        }
    }
    (found, gone.into_iter().collect())
}

/// What a finding rests on; none for a finding that only says that files
/// changed.
fn rests_on(finding: &Finding) -> Option<&'static [Basis]> {
    use Finding::*;
    Some(match finding {
        Inputs => return None,
        Proof(_)
        | UnknownWord(..)
        | FittingsOutOfOrder(_)
        | DoubledOrder(_)
        | OrdersOutOfOrder(_)
        | EmptyOrder(_)
        | DoubledLine(_)
        | LinesOutOfOrder(_) => &[],
        Head(fact) => of_head(fact),
        MissingEnd(_) | DoubledEnd(_) | UnknownEnd(_) | EndsOutOfOrder(_) => &[Basis::Circuits],
        End(_, fact) => of_end(fact),
        UnknownPart(_)
        | WrongKind { .. }
        | MissingFitting(..)
        | UnneededFitting(..)
        | DoubledFitting(..)
        | Broken(_, Rule::Mate, _) => &[Basis::Parts],
        // A plan for other machines is no plan for these, whatever else has changed.
        WrongMachine(_) | Machines { .. } => &[],
        ExcludedPart(_) | ExcludedSupplier(_) | TooManySuppliers { .. } => &[Basis::Settings],
        Part(fact) => of_part(fact),
        Cost(fact) => of_cost(fact),
        Short { .. } => &[Basis::Fit, Basis::Stock, Basis::Ordered],
        Order(fact) => of_order(fact),
        UnknownSupplier(_) | NoRate(_) => &[Basis::Suppliers, Basis::Settings],
        BelowMinOrder(_) => &[Basis::Prices, Basis::Suppliers],
        NoSuchSku(_) | TooSlow(_) | BelowLeast(_) | AboveStock(_) | BrokenPack(_) | Line(..) => {
            &[Basis::Prices]
        }
        // A part may have got another place in the catalog.
        NoOffer(_) => &[Basis::Parts, Basis::Prices],
        TooLarge(_) => &ALL,
        _ => &[Basis::Fit],
    })
}

fn of_head(fact: &Fact) -> &'static [Basis] {
    match fact.field {
        "as_of" | "prices" => &[Basis::Prices],
        "spent" => &[Basis::Ordered, Basis::Prices, Basis::Suppliers, Basis::Dies],
        "ordered" => &[Basis::Fit, Basis::Ordered, Basis::Prices, Basis::Suppliers],
        _ => &[Basis::Settings],
    }
}

fn of_end(fact: &Fact) -> &'static [Basis] {
    match fact.field {
        "key" | "interface" => &[Basis::Parts],
        _ => &[Basis::Circuits],
    }
}

fn of_part(fact: &Fact) -> &'static [Basis] {
    match fact.field {
        "kind" => &[Basis::Parts],
        "fitted" | "spare" => &[Basis::Fit],
        "on_hand_used" => &[Basis::Fit, Basis::Stock],
        "qty" | "unused" | "worth" => &ALL,
        _ => &[Basis::Fit, Basis::Stock, Basis::Ordered],
    }
}

fn of_order(fact: &Fact) -> &'static [Basis] {
    match fact.field {
        "currency" => &[Basis::Suppliers],
        "goods" => &[Basis::Prices],
        _ => &[Basis::Prices, Basis::Suppliers],
    }
}

fn of_cost(fact: &Fact) -> &'static [Basis] {
    match fact.field {
        "goods" | "duty" | "shipping" => &[Basis::Prices, Basis::Suppliers],
        "dies" => &[Basis::Fit, Basis::Dies],
        "lines" => &[Basis::Fit],
        _ => &ALL,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_takes_away_what_it_holds() {
        assert_eq!(bases("circuits.csv"), [Basis::Fit, Basis::Circuits]);
        let parts = bases("../../catalog/bodies.csv");
        assert_eq!(parts, [Basis::Fit, Basis::Parts]);
        assert_eq!(bases("../../catalog/ratings.csv"), [Basis::Fit]);
        assert_eq!(bases("catalog/attributes.csv"), [Basis::Fit]);
        assert_eq!(bases("on_hand.csv"), [Basis::Stock]);
        assert_eq!(bases("ordered.csv"), [Basis::Ordered]);
        assert_eq!(bases("autumn.csv"), [Basis::Prices]);
        assert_eq!(bases("../parts/suppliers.csv"), [Basis::Suppliers]);
        assert_eq!(bases("../catalog/dies.csv"), [Basis::Dies]);
        assert_eq!(bases("project.toml"), ALL);
        assert_eq!(bases("catalog.xlsx"), ALL);
    }
}
