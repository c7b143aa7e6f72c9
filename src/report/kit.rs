//! Kits: a bag for each circuit, the spares, the surplus.

use super::table::{Column, Table};
use super::wording::{counted, list, plain};
use crate::catalog::Catalog;
use crate::study::kit::{Bag, Item, Kits};
use crate::units::Qty;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// What a bag of spares is called.
pub const SPARES: &str = "Spares";
/// What a bag of surplus is called.
pub const SURPLUS: &str = "Surplus";

/// One row for each part of each bag: `bag, circuit, kind, part, description,
/// nets, from, to, qty`; `bag` is `circuit`, `spares` or `surplus`.
pub fn rows(kits: &Kits, catalog: &Catalog) -> Table {
    let mut table = Table::new(&[
        Column::text("bag"),
        Column::text("circuit"),
        Column::text("kind"),
        Column::text("part"),
        Column::text("description"),
        Column::text("nets"),
        Column::number("from"),
        Column::number("to"),
        Column::number("qty"),
    ]);
    for bag in &kits.circuits {
        for cells in bag_cells(bag, catalog) {
            let mut row = vec!["circuit".to_owned(), bag.circuit.clone()];
            row.extend(cells);
            table.row(row);
        }
    }
    for (name, items) in [("spares", &kits.spares), ("surplus", &kits.surplus)] {
        for item in items {
            let [kind, part, description, qty] = item_cells(item, catalog);
            let none = String::new;
            let names = [name.to_owned(), none(), kind, part, description];
            let counts = [none(), none(), none(), qty];
            table.row(names.into_iter().chain(counts).collect());
        }
    }
    table
}

/// The parts of one circuit's bag.
pub fn bag(bag: &Bag, catalog: &Catalog) -> Table {
    let mut table = Table::new(&[
        Column::text("kind"),
        Column::text("part"),
        Column::text("description").detail(2),
        Column::text("nets").detail(1),
        Column::number("from"),
        Column::number("to"),
        Column::number("qty"),
    ]);
    for cells in bag_cells(bag, catalog) {
        table.row(cells);
    }
    table
}

/// The parts of a bag that is for no circuit.
pub fn items(items: &[Item], catalog: &Catalog) -> Table {
    let mut table = Table::new(&[
        Column::text("kind"),
        Column::text("part"),
        Column::text("description").detail(1),
        Column::number("qty"),
    ]);
    for item in items {
        table.row(item_cells(item, catalog).to_vec());
    }
    table
}

/// All bags for a reader.
pub fn text(kits: &Kits, catalog: &Catalog, width: usize) -> String {
    let circuits = kits.circuits.iter().map(|b| {
        let heading = format!(
            "{}: {}",
            b.circuit,
            contents(b.picks.iter().map(|p| p.qty()))
        );
        (heading, bag(b, catalog))
    });
    let rest = [(SPARES, &kits.spares), (SURPLUS, &kits.surplus)];
    let rest = rest.into_iter().filter(|(_, bag)| !bag.is_empty());
    let rest = rest.map(|(name, bag)| {
        let heading = format!("{name}: {}", contents(bag.iter().map(|i| i.qty)));
        (heading, items(bag, catalog))
    });
    let mut sections: Vec<String> = circuits
        .chain(rest)
        .map(|(heading, table)| format!("{}\n{}", plain(&heading), table.text(width)))
        .collect();
    sections.push(format!("{}\n", summary(kits)));
    sections.join("\n")
}

/// `4 parts, 12 pieces`.
pub fn contents(counts: impl Iterator<Item = Qty>) -> String {
    let (parts, pieces) = counts.fold((0, 0u128), |(n, sum), qty| (n + 1, sum + u128::from(qty)));
    let ending = if pieces == 1 { "" } else { "s" };
    format!("{}, {pieces} piece{ending}", counted(parts, "part"))
}

/// How many bags there are and what they hold together.
pub fn summary(kits: &Kits) -> String {
    let sum = |items: &[Item]| items.iter().map(|i| u128::from(i.qty)).sum::<u128>();
    let picks = kits.circuits.iter().flat_map(|b| &b.picks);
    let fitted: u128 = picks.map(|p| u128::from(p.qty())).sum();
    let (spare, surplus) = (sum(&kits.spares), sum(&kits.surplus));
    format!(
        "{} with {fitted}, spares {spare}, surplus {surplus}: {} pieces, \
         as many as are taken from stock on hand and ordered",
        counted(kits.circuits.len() as u64, "bag"),
        fitted + spare + surplus
    )
}

#[derive(Serialize, JsonSchema)]
struct Line<'a> {
    kind: &'a str,
    part: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    nets: Option<&'a [String]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<Qty>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<Qty>,
    qty: Qty,
}

#[derive(Serialize, JsonSchema)]
struct BagJson<'a> {
    circuit: &'a str,
    parts: Vec<Line<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct KitsJson<'a> {
    circuits: Vec<BagJson<'a>>,
    spares: Vec<Line<'a>>,
    surplus: Vec<Line<'a>>,
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<KitsJson>()
}

/// The bags as JSON: `circuits`, `spares`, `surplus`.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(kits: &Kits) -> serde_json::Result<String> {
    let circuits = kits.circuits.iter().map(|bag| BagJson {
        circuit: &bag.circuit,
        parts: bag.picks.iter().map(pick_line).collect(),
    });
    let json = KitsJson {
        circuits: circuits.collect(),
        spares: kits.spares.iter().map(item_line).collect(),
        surplus: kits.surplus.iter().map(item_line).collect(),
    };
    serde_json::to_string_pretty(&json).map(|text| text + "\n")
}

fn pick_line(pick: &crate::study::kit::Pick) -> Line<'_> {
    let [from, to] = pick.at;
    Line {
        kind: pick.kind.word(),
        part: &pick.part,
        nets: Some(&pick.nets),
        from: Some(from),
        to: Some(to),
        qty: pick.qty(),
    }
}

fn item_line(item: &Item) -> Line<'_> {
    Line {
        kind: item.kind.word(),
        part: &item.part,
        nets: None,
        from: None,
        to: None,
        qty: item.qty,
    }
}

fn bag_cells<'a>(
    bag: &'a Bag,
    catalog: &'a Catalog,
) -> impl Iterator<Item = Vec<String>> + use<'a> {
    bag.picks.iter().map(|pick| {
        let [from, to] = pick.at;
        vec![
            pick.kind.to_string(),
            pick.part.clone(),
            super::order::description(catalog, &pick.part),
            list(&pick.nets),
            from.to_string(),
            to.to_string(),
            pick.qty().to_string(),
        ]
    })
}

fn item_cells(item: &Item, catalog: &Catalog) -> [String; 4] {
    [
        item.kind.to_string(),
        item.part.clone(),
        super::order::description(catalog, &item.part),
        item.qty.to_string(),
    ]
}
