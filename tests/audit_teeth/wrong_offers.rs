//! Wrong plans by skus: an order line and what is ordered name their offer.

use crate::case::{Case, Expect, only, with};
use crate::wrong::Make;
use couplet::audit::{Finding, LineName};
use couplet::catalog::Offer;
use couplet::plan::OrderLine;
use couplet::units::Money;
use rust_decimal::Decimal;

/// By what is wrong.
pub const ALL: &[(&str, Make)] = &[
    ("sku", |c| other_sku(c, |sku| sku.push('x'))),
    ("no sku", |c| other_sku(c, String::clear)),
    ("the sku of another offer", sku_of_another),
    ("a line in two", line_in_two),
    ("lines of two skus out of order", lines_turned),
    ("a line for what nothing uses", needless_line),
    ("what is ordered under another sku", ordered_sku),
    ("what is ordered under two skus as one", ordered_as_one),
];

/// Sums that follow from a line.
fn sums(f: &Finding) -> bool {
    matches!(
        f,
        Finding::Order(_) | Finding::Cost(_) | Finding::BelowMinOrder(_)
    )
}

/// Whether the finding is about this line.
fn is_about(f: &Finding, line: &LineName) -> bool {
    match f {
        Finding::DoubledLine(at)
        | Finding::TooSlow(at)
        | Finding::BelowLeast(at)
        | Finding::AboveStock(at)
        | Finding::BrokenPack(at)
        | Finding::Line(at, _) => at == line,
        _ => false,
    }
}

fn other_sku(case: &mut Case, change: fn(&mut String)) -> Option<Expect> {
    let at = case.line()?;
    let sku = &mut case.plan.orders[at.0].lines[at.1].sku;
    change(sku);
    let name = case.line_name(at);
    with(
        move |f| *f == Finding::NoSuchSku(name.clone()),
        |f| matches!(f, Finding::LinesOutOfOrder(_)),
    )
}

/// The offers of the same part and supplier beside that of a line.
fn beside(case: &mut Case, at: (usize, usize)) -> Vec<Offer> {
    let own = case.offer(at).clone();
    let offers = case.input.catalog.offers.iter();
    let others = offers.filter(|o| (o.part, o.supplier) == (own.part, own.supplier));
    others.filter(|o| o.sku != own.sku).cloned().collect()
}

/// A line as it is, under another sku at another price.
fn sku_of_another(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let others = beside(case, at);
    let other = case.one_of(others)?;
    let line = &mut case.plan.orders[at.0].lines[at.1];
    if other
        .breaks
        .iter()
        .any(|step| step.unit_price == line.unit_price)
    {
        return None;
    }
    line.sku = other.sku;
    let name = case.line_name(at);
    let twin = name.clone();
    with(
        move |f| is_about(f, &name),
        move |f| is_about(f, &twin) || sums(f) || matches!(f, Finding::LinesOutOfOrder(_)),
    )
}

/// Two lines of one offer, as if the stock and the least quantity were for each line.
fn line_in_two(case: &mut Case) -> Option<Expect> {
    let at = case.line()?;
    let pack = case.offer(at).pack;
    let name = case.line_name(at);
    let lines = &mut case.plan.orders[at.0].lines;
    let line = &mut lines[at.1];
    if line.packs < 2 {
        return None;
    }
    let (mut other, rest) = (line.clone(), line.packs - 1);
    for (line, packs) in [(line, rest), (&mut other, 1)] {
        (line.packs, line.qty) = (packs, packs * pack);
        line.line_total = Money(line.unit_price.0 * Decimal::from(line.qty));
    }
    lines.insert(at.1 + 1, other);
    let twin = name.clone();
    with(
        move |f| *f == Finding::DoubledLine(name.clone()),
        move |f| is_about(f, &twin) || sums(f),
    )
}

fn lines_turned(case: &mut Case) -> Option<Expect> {
    let orders = case.plan.orders.iter().enumerate();
    let all = orders.flat_map(|(o, order)| {
        let pairs = order.lines.windows(2).enumerate();
        let found = pairs.filter(|(_, pair)| pair[0].part == pair[1].part);
        found.map(move |(l, _)| (o, l))
    });
    let all = all.collect();
    let (order, line) = case.one_of(all)?;
    case.plan.orders[order].lines.swap(line, line + 1);
    let name = case.line_name((order, line + 1));
    only(move |f| *f == Finding::LinesOutOfOrder(name.clone()))
}

/// A line at the right price for a part that no end has.
fn needless_line(case: &mut Case) -> Option<Expect> {
    let (order, _) = case.line()?;
    let supplier = (case.input.catalog).find_supplier(&case.plan.orders[order].supplier)?;
    let catalog = &case.input.catalog;
    let is_listed = |code: &str| case.plan.parts.iter().any(|part| part.part == code);
    let offers = catalog.offers.iter().filter(|o| o.supplier == supplier);
    let offers = offers.filter(|o| !is_listed(&catalog.part(o.part).code));
    let offers = offers.cloned().collect();
    let offer: Offer = case.one_of(offers)?;
    let packs = offer.breaks[0].min_qty.div_ceil(offer.pack);
    let qty = packs * offer.pack;
    let reached = offer.break_at(qty)?;
    let line = OrderLine {
        part: case.input.catalog.part(offer.part).code.clone(),
        sku: offer.sku.clone(),
        qty,
        packs,
        unit_price: reached.unit_price,
        line_total: Money(reached.unit_price.0 * Decimal::from(qty)),
    };
    let name = LineName {
        supplier: case.plan.orders[order].supplier.clone(),
        part: line.part.clone(),
        sku: line.sku.clone(),
    };
    let lines = &mut case.plan.orders[order].lines;
    let place = lines.partition_point(|l| l.part < line.part);
    lines.insert(place, line);
    let twin = name.clone();
    with(
        move |f| *f == Finding::UnfittedLine(name.clone()),
        move |f| is_about(f, &twin) || sums(f),
    )
}

fn of_list(f: &Finding) -> bool {
    matches!(f, Finding::Head(fact) if fact.field == "ordered")
}

fn ordered_sku(case: &mut Case) -> Option<Expect> {
    let count = case.plan.ordered.len();
    let place = case.one_of((0..count).collect())?;
    case.plan.ordered[place].sku.push('x');
    only(of_list)
}

fn ordered_as_one(case: &mut Case) -> Option<Expect> {
    let pairs = case.plan.ordered.windows(2).enumerate();
    let same = pairs.filter(|(_, pair)| {
        (&pair[0].part, &pair[0].supplier) == (&pair[1].part, &pair[1].supplier)
    });
    let same = same.map(|(place, _)| place).collect();
    let place = case.one_of(same)?;
    let gone = case.plan.ordered.remove(place);
    let left = &mut case.plan.ordered[place];
    left.qty += gone.qty;
    left.unused += gone.unused;
    left.worth += gone.worth;
    only(of_list)
}
