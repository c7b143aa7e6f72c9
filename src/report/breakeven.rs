//! How far each price can move before another plan is cheapest.

use super::difference::some_sku;
use super::table::{Column, Table};
use super::wording::{counted, list, wrapped};
use crate::plan::Status;
use crate::study::breakeven::{Breakeven, Edge, HIGHEST, Range, Turn};
use crate::units::Money;
use rust_decimal::{Decimal, RoundingStrategy};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// The edges for a reader, by how little it takes; with the sku that a price is of
/// where it tells offers apart.
pub fn text(breakeven: &Breakeven, width: usize) -> String {
    let turns = turns(breakeven);
    let with_skus = turns.iter().any(|(range, _)| range.is_one_of_several);
    let mut columns = vec![Column::text("part")];
    columns.extend(with_skus.then(|| Column::text("sku")));
    columns.extend([
        Column::number("price"),
        Column::text("currency").detail(1),
        Column::number("best_to"),
        Column::text("change"),
        Column::number("total_then"),
        Column::text("what_changes").at_least(30),
    ]);
    let mut table = Table::new(&columns);
    for (range, turn) in turns {
        let mut cells = vec![range.part.clone()];
        cells.extend(with_skus.then(|| some_sku(&range.sku)));
        cells.extend([
            range.unit_price.to_string(),
            range.currency.to_string(),
            price(range, turn.last),
            format!(
                "{}{}",
                percent(turn.last),
                if turn.last == turn.first { "" } else { " *" }
            ),
            turn.total
                .map(|m| m.cents().to_string())
                .unwrap_or_default(),
            changes(turn),
        ]);
        table.row(cells);
    }
    let mut sections = vec![head(breakeven, width)];
    if !table.is_empty() {
        sections.push(table.text(width));
    }
    sections.extend(notes(breakeven, width));
    sections.join("\n")
}

fn head(breakeven: &Breakeven, width: usize) -> String {
    let plan = &breakeven.plan;
    let (total, currency) = (plan.cost.total.cents(), &plan.currency);
    let what = match plan.status {
        Status::Optimal => format!(
            "The plan at {total} {currency} stays the cheapest while a price moves alone as far \
             as \"best to\""
        ),
        _ => format!(
            "The best plan found, at {total} {currency}, is not proven cheapest, so how far a \
             price can move is not known: give the search more time"
        ),
    };
    let head = format!(
        "{what}; {} looked at, {} solved.",
        counted(breakeven.ranges.len() as u64, "bought part"),
        counted(breakeven.solves as u64, "plan"),
    );
    wrapped(&head, width, "", "  ") + "\n"
}

/// All edges where the plan changes, those first that the least change reaches.
fn turns(breakeven: &Breakeven) -> Vec<(&Range, &Turn)> {
    let mut turns: Vec<(&Range, &Turn)> = Vec::new();
    for range in &breakeven.ranges {
        for edge in [&range.down, &range.up] {
            if let Edge::Turns(turn) = edge {
                turns.push((range, turn));
            }
        }
    }
    turns.sort_by_key(|(_, turn)| (turn.first - Decimal::ONE).abs());
    turns
}

fn notes(breakeven: &Breakeven, width: usize) -> Vec<String> {
    let having = |test: &dyn Fn(&Range) -> bool| -> Vec<String> {
        let ranges = breakeven.ranges.iter().filter(|range| test(range));
        ranges.map(|range| range.part.clone()).collect()
    };
    let is_bracketed = |r: &Range| {
        [&r.down, &r.up]
            .iter()
            .any(|edge| word(edge) == "bracketed")
    };
    let mut notes = Vec::new();
    let mut add = |what: String, parts: Vec<String>| {
        if !parts.is_empty() {
            notes.push(wrapped(&format!("{what}: {}", list(&parts)), width, "", "  ") + "\n");
        }
    };
    add(
        format!("The plan does not change up to {HIGHEST} times the price"),
        having(&|r| matches!(r.up, Edge::Holds)),
    );
    add(
        "The plan does not change down to a price of nothing".to_owned(),
        having(&|r| matches!(r.down, Edge::Holds)),
    );
    add(
        "Not told before the search stopped".to_owned(),
        having(&|r| matches!(r.up, Edge::Untold) || matches!(r.down, Edge::Untold)),
    );
    add(
        "* The total jumps there, as free shipping or a minimum order is reached or missed, so the \
         change is bracketed: the plan is proven cheapest at this price, and proven not to be a \
         cent or less beyond"
            .to_owned(),
        having(&is_bracketed),
    );
    add(
        "A supplier of the part ships free above an amount or has a minimum order, so a change that \
         comes and goes on the way is not ruled out"
            .to_owned(),
        having(&|r| !r.thresholds.is_empty()),
    );
    notes
}

/// The price at a factor, on the side of the plan: to four decimals, or two more
/// than the price has.
fn price(range: &Range, factor: Decimal) -> String {
    let side = match factor > Decimal::ONE {
        true => RoundingStrategy::ToNegativeInfinity,
        false => RoundingStrategy::ToPositiveInfinity,
    };
    let unit_price = range.unit_price.0.normalize();
    // A factor has twelve decimals: what they leave of a price is no price.
    let digits = unit_price.trunc().mantissa().checked_ilog10();
    let left = 12_u32.saturating_sub(digits.map_or(0, |n| n + 1));
    let price = (unit_price * factor).round_dp(left);
    let decimals = (unit_price.scale() + 2).max(4);
    Money(price.round_dp_with_strategy(decimals, side)).to_string()
}

/// `+12.4 %`, `-3.05 %`.
fn percent(factor: Decimal) -> String {
    let percent = ((factor - Decimal::ONE) * Decimal::ONE_HUNDRED)
        .round_dp(2)
        .normalize();
    let sign = if percent > Decimal::ZERO { "+" } else { "" };
    format!("{sign}{percent} %")
}

/// What the plan changes to, in words.
fn changes(turn: &Turn) -> String {
    if turn.total.is_none() {
        return "no plan holds all limits".to_owned();
    }
    let mut changes = Vec::new();
    if !turn.parts_out.is_empty() {
        changes.push(format!("out {}", list(&turn.parts_out)));
    }
    if !turn.parts_in.is_empty() {
        changes.push(format!("in {}", list(&turn.parts_in)));
    }
    for moved in &turn.moves {
        let (from, to) = (list(&moved.from), list(&moved.to));
        changes.push(format!("{} from {to}, not {from}", moved.part));
    }
    if changes.is_empty() {
        return "the same parts from the same suppliers, in other quantities or places".to_owned();
    }
    changes.join("; ")
}

/// Two rows for each part: down, up.
pub fn table(breakeven: &Breakeven) -> Table {
    let mut table = Table::new(&[
        Column::text("part"),
        Column::text("kind"),
        Column::text("supplier"),
        Column::text("currency"),
        Column::number("bought"),
        Column::number("unit_price"),
        Column::text("way"),
        Column::text("edge"),
        Column::number("best_to_factor"),
        Column::number("not_from_factor"),
        Column::number("best_to_price"),
        Column::number("total_then"),
        Column::text("parts_out"),
        Column::text("parts_in"),
        Column::text("moves"),
        Column::text("sku"),
    ]);
    for range in &breakeven.ranges {
        for (way, edge) in [("down", &range.down), ("up", &range.up)] {
            let mut cells = vec![
                range.part.clone(),
                range.kind.clone(),
                range.supplier.clone(),
                range.currency.to_string(),
                range.bought.to_string(),
                range.unit_price.to_string(),
                way.to_owned(),
                word(edge).to_owned(),
            ];
            if let Edge::Turns(turn) = edge {
                cells.extend(cells_of(range, turn));
            }
            cells.resize(15, String::new());
            cells.push(range.sku.clone());
            table.row(cells);
        }
    }
    table
}

fn word(edge: &Edge) -> &'static str {
    match edge {
        Edge::Holds => "holds",
        Edge::Untold => "untold",
        Edge::Turns(turn) if turn.last == turn.first => "exact",
        Edge::Turns(_) => "bracketed",
    }
}

fn cells_of(range: &Range, turn: &Turn) -> Vec<String> {
    let moves = turn.moves.iter().map(|m| {
        let (from, to) = (m.from.join(" + "), m.to.join(" + "));
        format!("{}: {from} > {to}", m.part)
    });
    vec![
        turn.last.to_string(),
        turn.first.to_string(),
        price(range, turn.last),
        turn.total
            .map(|m| m.cents().to_string())
            .unwrap_or_default(),
        turn.parts_out.join("; "),
        turn.parts_in.join("; "),
        moves.collect::<Vec<String>>().join("; "),
    ]
}

#[derive(Serialize, JsonSchema)]
struct Record<'a> {
    #[schemars(extend("const" = "couplet.breakeven/1"))]
    schema: &'static str,
    currency: &'a crate::units::Currency,
    total: Money,
    status: Status,
    highest_factor: u64,
    solves: usize,
    parts: Vec<RangeRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct RangeRecord<'a> {
    part: &'a str,
    kind: &'a str,
    supplier: &'a str,
    sku: &'a str,
    currency: &'a crate::units::Currency,
    bought: u64,
    unit_price: Money,
    thresholds: &'a [String],
    down: EdgeRecord<'a>,
    up: EdgeRecord<'a>,
}

#[derive(Serialize, JsonSchema)]
struct EdgeRecord<'a> {
    edge: &'static str,
    #[serde(flatten)]
    turn: Option<TurnRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct TurnRecord<'a> {
    best_to_factor: String,
    not_from_factor: String,
    best_to_price: String,
    total_then: Option<Money>,
    parts_out: &'a [String],
    parts_in: &'a [String],
    moves: Vec<MoveRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct MoveRecord<'a> {
    part: &'a str,
    from: &'a [String],
    to: &'a [String],
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Record>()
}

/// The ranges for a program.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(breakeven: &Breakeven) -> Result<String, serde_json::Error> {
    let record = Record {
        schema: "couplet.breakeven/1",
        currency: &breakeven.plan.currency,
        total: breakeven.plan.cost.total,
        status: breakeven.plan.status,
        highest_factor: HIGHEST.try_into().unwrap_or(0),
        solves: breakeven.solves,
        parts: breakeven.ranges.iter().map(range_record).collect(),
    };
    serde_json::to_string_pretty(&record).map(|text| text + "\n")
}

fn range_record(range: &Range) -> RangeRecord<'_> {
    RangeRecord {
        part: &range.part,
        kind: &range.kind,
        supplier: &range.supplier,
        sku: &range.sku,
        currency: &range.currency,
        bought: range.bought,
        unit_price: range.unit_price,
        thresholds: &range.thresholds,
        down: edge_record(range, &range.down),
        up: edge_record(range, &range.up),
    }
}

fn edge_record<'a>(range: &'a Range, edge: &'a Edge) -> EdgeRecord<'a> {
    let turn = match edge {
        Edge::Holds | Edge::Untold => None,
        Edge::Turns(turn) => Some(TurnRecord {
            best_to_factor: turn.last.to_string(),
            not_from_factor: turn.first.to_string(),
            best_to_price: price(range, turn.last),
            total_then: turn.total,
            parts_out: &turn.parts_out,
            parts_in: &turn.parts_in,
            moves: (turn.moves.iter())
                .map(|m| MoveRecord {
                    part: &m.part,
                    from: &m.from,
                    to: &m.to,
                })
                .collect(),
        }),
    };
    EdgeRecord {
        edge: word(edge),
        turn,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Currency;

    fn shown(unit_price: &str, factor: &str) -> String {
        let range = Range {
            part: "P".to_owned(),
            kind: "plug".to_owned(),
            supplier: "Nord".to_owned(),
            sku: String::new(),
            is_one_of_several: false,
            currency: Currency("EUR".to_owned()),
            unit_price: unit_price.parse().unwrap(),
            bought: 1,
            thresholds: Vec::new(),
            down: Edge::Holds,
            up: Edge::Holds,
        };
        price(&range, factor.parse().unwrap())
    }

    #[test]
    fn an_edge_price_is_on_the_side_of_the_plan() {
        for (unit_price, factor, best_to) in [
            ("8", "1.25", "10.00"),
            ("8", "0.75", "6.00"),
            // 8.64197523…, and 6.91358024…
            ("7", "1.234567890123", "8.6419"),
            ("7", "0.987654321098", "6.9136"),
            ("7", "1.00001", "7.00"),
            ("7", "0.99999", "7.00"),
            // For a cheap part more decimals count: 0.07814385, and 0.04845615.
            ("0.0633", "1.2345", "0.078143"),
            ("0.0633", "0.7655", "0.048457"),
            // What twelve decimals of a factor leave of a third is nothing.
            ("3", "1.666666666667", "5.00"),
            ("3", "1.333333333333", "4.00"),
            ("900000", "1.111111111111", "1000000.00"),
            ("900000", "0.333333333333", "300000.00"),
            ("0.0009", "1.111111111111", "0.001"),
        ] {
            assert_eq!(
                shown(unit_price, factor),
                best_to,
                "{unit_price} × {factor}"
            );
        }
    }
}
