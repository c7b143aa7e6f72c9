//! Kits: a bag for each circuit, the spares, the surplus.

use super::labels::of_copy;
use super::table::{Column, Table};
use super::wording::{counted, list, plain};
use crate::catalog::Catalog;
use crate::study::copies::Copies;
use crate::study::kit::{Bag, Item, Kits};
use crate::units::Qty;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// What a bag of spares is called.
pub const SPARES: &str = "Spares";
/// What a bag of surplus is called.
pub const SURPLUS: &str = "Surplus";

/// One row for each part of each bag: `bag, circuit, kind, part, description,
/// nets, from, to, qty`; `bag` is `circuit`, `spares` or `surplus`. In a purchase
/// `machine` and `copy` stand behind `bag`.
pub fn rows(kits: &Kits, copies: &Copies, catalog: &Catalog) -> Table {
    let has_machines = copies.has_machines();
    let mut columns = vec![Column::text("bag")];
    columns.extend(has_machines.then(|| Column::text("machine")));
    columns.extend(has_machines.then(|| Column::number("copy")));
    columns.extend([
        Column::text("circuit"),
        Column::text("kind"),
        Column::text("part"),
        Column::text("description"),
        Column::text("nets"),
        Column::number("from"),
        Column::number("to"),
        Column::number("qty"),
    ]);
    let mut table = Table::new(&columns);
    for (copy, bag) in kits.bags(copies) {
        for cells in bag_cells(bag, catalog) {
            let mut row = vec!["circuit".to_owned()];
            let copy = copy.map(|copy| [copy.machine.clone(), copy.number.to_string()]);
            row.extend(copy.into_iter().flatten());
            row.push(bag.circuit.clone());
            row.extend(cells);
            table.row(row);
        }
    }
    for (name, items) in rest(kits, copies) {
        for item in items {
            let [kind, part, description, qty] = item_cells(item, catalog);
            let none = String::new;
            let mut row = vec![name.to_lowercase()];
            row.resize(if has_machines { 4 } else { 2 }, none());
            row.extend([kind, part, description, none(), none(), none(), qty]);
            table.row(row);
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

/// Spares and surplus, where there are any. Spares and surplus are of the whole purchase, so they have no
/// place among the bags of some machines alone.
pub fn rest<'k>(kits: &'k Kits, copies: &Copies) -> Vec<(&'static str, &'k [Item])> {
    let rest = [
        (SPARES, kits.spares.as_slice()),
        (SURPLUS, kits.surplus.as_slice()),
    ];
    let is_shown = |items: &[Item]| !copies.is_part && !items.is_empty();
    (rest.into_iter().filter(|(_, items)| is_shown(items))).collect()
}

/// All bags for a reader.
pub fn text(kits: &Kits, copies: &Copies, catalog: &Catalog, width: usize) -> String {
    let circuits = kits.bags(copies).map(|(copy, b)| {
        let heading = format!(
            "{}: {}",
            of_copy(copy, &b.circuit),
            contents(b.picks.iter().map(|p| p.qty()))
        );
        (heading, bag(b, catalog))
    });
    let rest = rest(kits, copies).into_iter().map(|(name, bag)| {
        let heading = format!("{name}: {}", contents(bag.iter().map(|i| i.qty)));
        (heading, items(bag, catalog))
    });
    let mut sections: Vec<String> = circuits
        .chain(rest)
        .map(|(heading, table)| format!("{}\n{}", plain(&heading), table.text(width)))
        .collect();
    sections.push(format!("{}\n", summary(kits, copies)));
    sections.join("\n")
}

/// `4 parts, 12 pieces`.
pub fn contents(counts: impl Iterator<Item = Qty>) -> String {
    let (parts, pieces) = counts.fold((0, 0u128), |(n, sum), qty| (n + 1, sum + u128::from(qty)));
    let ending = if pieces == 1 { "" } else { "s" };
    format!("{}, {pieces} piece{ending}", counted(parts, "part"))
}

/// How many bags there are and what they hold together.
pub fn summary(kits: &Kits, copies: &Copies) -> String {
    let sum = |items: &[Item]| items.iter().map(|i| u128::from(i.qty)).sum::<u128>();
    let picks = kits.bags(copies).flat_map(|(_, bag)| &bag.picks);
    let fitted: u128 = picks.map(|p| u128::from(p.qty())).sum();
    let bags = counted(kits.bags(copies).count() as u64, "bag");
    if copies.is_part {
        return format!(
            "{bags} with {fitted} pieces; spares and surplus are of the whole purchase, and \
             are not shown here"
        );
    }
    let (spare, surplus) = (sum(&kits.spares), sum(&kits.surplus));
    format!(
        "{bags} with {fitted}, spares {spare}, surplus {surplus}: {} pieces, \
         as many as are taken from stock on hand and ordered",
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
    #[serde(skip_serializing_if = "Option::is_none")]
    machine: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    copy: Option<Qty>,
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

/// The bags as JSON: `circuits`, `spares`, `surplus`. In a purchase each bag of a circuit
/// has its `machine` and `copy`, and of some machines alone no spares and surplus are told.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(kits: &Kits, copies: &Copies) -> serde_json::Result<String> {
    let circuits = kits.bags(copies).map(|(copy, bag)| BagJson {
        machine: copy.map(|copy| copy.machine.as_str()),
        copy: copy.map(|copy| copy.number),
        circuit: &bag.circuit,
        parts: bag.picks.iter().map(pick_line).collect(),
    });
    let rest = |name| {
        let items = rest(kits, copies).into_iter().filter(|(of, _)| *of == name);
        items.flat_map(|(_, items)| items).map(item_line).collect()
    };
    let json = KitsJson {
        circuits: circuits.collect(),
        spares: rest(SPARES),
        surplus: rest(SURPLUS),
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
