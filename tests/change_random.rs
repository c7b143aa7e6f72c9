//! What is ordered, received and repriced, on random projects.

mod support;

use couplet::audit::audit;
use couplet::catalog::{Die, Offer, PartId};
use couplet::fit::{Fit, fit};
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{Outcome, Question, Solution, solve};
use couplet::plan::{Bound, Order, Plan, dies_to_buy, record};
use couplet::project::Ordered;
use couplet::project::delivery::Delivery;
use couplet::project::dies_ordered;
use couplet::project::ordered::reread;
use couplet::study::booking;
use couplet::study::changes::{any, changes};
use couplet::study::offers::Several;
use couplet::study::open::open_orders;
use couplet::study::recall::Lost;
use couplet::study::reprice::{Keep, Options, options};
use couplet::units::{Money, Qty};
use fastrand::Rng;
use jiff::civil::{Date, date};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use support::random::project;

/// Seeds below this: enumerating the best plan of each takes a while.
const PROJECTS: u64 = 48;

fn found(input: &Input, fit: &Fit) -> Option<(Solution, f64)> {
    let outcome =
        solve(input, fit, &Question::default(), &Limit::default()).expect("the solver runs");
    match outcome {
        Outcome::Infeasible => None,
        Outcome::Found {
            solution,
            bound,
            witnesses: 1..,
        } => Some((solution, bound)),
        other => panic!("not proven: {other:?}"),
    }
}

/// The plan that `couplet plan` makes; none where there is none.
fn planned(input: &Input) -> Option<Plan> {
    let fit = fit(input).ok()?;
    let (solution, lower) = found(input, &fit)?;
    let bound = Bound {
        lower,
        witnesses: 2,
        wanted_gap: None,
    };
    let plan = record(input, &fit, &solution, bound).expect("a plan");
    assert_eq!(audit(input, &plan), []);
    Some(plan)
}

/// What `couplet reprice` makes of a plan; none where no plan is left.
fn repriced(input: &Input, old: &Plan) -> Option<Options> {
    let anew = planned(input)?;
    let fit = fit(input).ok()?;
    let several = Several::known(&input.catalog, None, old);
    let options = options(input, &fit, old, &several, Some(anew), |own| {
        let bought = found(input, own).map(|(solution, _)| solution);
        Ok::<_, ()>(bought.ok_or_else(|| Lost::NoPlan("limits".into())))
    });
    Some(options.unwrap().expect("a plan"))
}

/// A second offer of some parts from the same supplier under another sku: a bag, mostly
/// at a better price.
fn with_bags(mut input: Input, seed: u64) -> Input {
    let mut rng = Rng::with_seed(seed ^ 0xba9);
    let offers = std::mem::take(&mut input.catalog.offers);
    for offer in offers {
        let bag = (rng.u8(..3) > 0).then(|| {
            let mut bag = offer.clone();
            bag.sku.push_str("-bag");
            bag.pack = rng.u64(2..5);
            bag.stock = rng.bool().then(|| rng.u64(2..8));
            let percent = Decimal::from([40, 60, 80, 95, 120][rng.usize(..5)]);
            for step in &mut bag.breaks {
                let decimals = step.unit_price.0.scale().max(3);
                step.unit_price = Money(step.unit_price.percent(percent).0.round_dp(decimals));
            }
            bag
        });
        input.catalog.offers.push(offer);
        input.catalog.offers.extend(bag);
    }
    input
}

/// True if the plan buys a part from one supplier under two skus.
fn has_bags(plan: &Plan) -> bool {
    let parts = |order: &Order| {
        let parts = order.lines.iter().map(|line| line.part.clone());
        parts.collect::<BTreeSet<_>>().len()
    };
    plan.orders.iter().any(|o| parts(o) < o.lines.len())
}

/// The seeds that have a plan, with it; every second one with bags.
fn projects() -> impl Iterator<Item = (u64, Input, Plan)> {
    (0..PROJECTS).filter_map(|seed| {
        let (input, best) = project(seed);
        best?;
        let input = match seed % 2 {
            0 => input,
            _ => with_bags(input, seed),
        };
        let plan = planned(&input).expect("a plan");
        Some((seed, input, plan))
    })
}

/// Other prices: up, down, stock gone, offers gone, some under another sku.
fn shake(input: &Input, rng: &mut Rng) -> Input {
    let mut input = input.clone();
    for offer in &mut input.catalog.offers {
        let percent = Decimal::from([70, 90, 100, 100, 110, 135][rng.usize(..6)]);
        for step in &mut offer.breaks {
            let decimals = step.unit_price.0.scale().max(3);
            step.unit_price = Money(step.unit_price.percent(percent).0.round_dp(decimals));
        }
        if rng.u8(..12) == 0 {
            offer.stock = Some(rng.u64(..4));
        }
        if rng.u8(..12) == 0 {
            offer.sku.push('x');
        }
    }
    let place = |o: &Offer| (o.part, o.supplier, o.sku.clone());
    input.catalog.offers.sort_by_key(place);
    input.catalog.offers.retain(|_| rng.u8(..25) > 0);
    input
}

#[test]
fn effects_add_up_and_no_plan_is_better_than_a_freer_one() {
    let (mut with_all, mut without_lines, mut cheaper) = (0, 0, 0);
    for (seed, input, old) in projects() {
        let mut rng = Rng::with_seed(seed);
        let new = shake(&input, &mut rng);
        let Some(options) = repriced(&new, &old) else {
            continue;
        };
        let totals = options.totals(&old);
        for totals in [totals, totals.cents()] {
            let effects = totals.effects();
            assert_eq!(effects.together, totals.anew - totals.recorded);
            if let (Some(price), Some(buying), Some(choice)) =
                (effects.price, effects.buying, effects.choice)
            {
                assert_eq!(price + buying + choice, effects.together, "seed {seed}");
                with_all += 1;
            }
            if let (Some(both), Some(choice)) = (effects.price_and_buying, effects.choice) {
                assert_eq!(both + choice, effects.together, "seed {seed}");
            }
        }
        without_lines += u32::from(options.lines.is_err());
        assert!(
            totals.parts.is_none_or(|parts| totals.anew <= parts),
            "seed {seed}"
        );
        cheaper += u32::from(totals.parts.is_some_and(|parts| totals.anew < parts));
        if let (Some(lines), parts) = (totals.lines, totals.parts) {
            assert!(
                parts.is_some_and(|parts| parts <= lines),
                "seed {seed}: {totals:?}"
            );
        }
        for plan in [&options.lines, &options.parts].into_iter().flatten() {
            assert_eq!(plan.ends, old.ends, "seed {seed}");
            assert_eq!(audit(&new, plan), [], "seed {seed}");
        }
        if let Ok(lines) = &options.lines {
            let changes = changes((&old.orders, &old), (&lines.orders, lines));
            assert_eq!(
                changes.len(),
                old.orders.iter().map(|o| o.lines.len()).sum::<usize>()
            );
            for change in changes {
                let (before, after) = (change.before.unwrap(), change.after.unwrap());
                assert_eq!((before.part, before.qty), (after.part, after.qty));
            }
        }
    }
    assert!(
        with_all > 20 && without_lines > 2 && cheaper > 2,
        "{with_all} {without_lines} {cheaper}"
    );
}

/// Where no plan was made anew in time, the cheapest of what is kept is all there is.
#[test]
fn where_the_time_ran_out_what_is_kept_stands() {
    let (mut both, mut lines_alone, mut lost) = (0, 0, 0);
    for (seed, input, old) in projects().take(24) {
        let mut rng = Rng::with_seed(seed);
        for _ in 0..2 {
            let input = shake(&input, &mut rng);
            let (Some(whole), Ok(fit)) = (repriced(&input, &old), fit(&input)) else {
                continue;
            };
            let total = |plan: &Result<Plan, Lost>| plan.as_ref().ok().map(|p| p.cost.total);
            let (lines, parts) = (total(&whole.lines), total(&whole.parts));
            for bought in [true, false] {
                let several = Several::known(&input.catalog, None, &old);
                let kept = options(&input, &fit, &old, &several, None, |own| {
                    let found = found(&input, own).filter(|_| bought);
                    let found = found.map(|(solution, _)| solution);
                    Ok::<_, ()>(found.ok_or_else(|| Lost::NoPlan("no time".into())))
                });
                let want = lines.into_iter().chain(parts.filter(|_| bought)).min();
                let kept = kept.unwrap();
                let best = kept.as_ref().map(|kept| kept.anew.cost.total);
                assert_eq!(best, want, "seed {seed}");
                if let Some(kept) = kept {
                    let keep = kept.totals(&old).best(Money::ZERO);
                    assert_ne!(keep, Keep::Nothing, "seed {seed}");
                    assert_eq!(kept.plan(keep).map(|p| p.cost.total).ok(), want);
                    assert_eq!(audit(&input, &kept.anew), []);
                    both += usize::from(bought);
                    lines_alone += usize::from(!bought);
                } else {
                    lost += 1;
                }
            }
        }
    }
    assert!(
        both > 10 && lines_alone > 10 && lost > 3,
        "{both} {lines_alone} {lost}"
    );
}

#[test]
fn the_same_prices_change_nothing() {
    for (seed, input, old) in projects() {
        let options = repriced(&input, &old).expect("a plan");
        let totals = options.totals(&old);
        assert_eq!(totals.best(Money::ZERO), Keep::Lines, "seed {seed}");
        for plan in [options.lines.unwrap(), options.anew] {
            let text = |plan: &Plan| serde_json::to_string(plan).unwrap();
            assert_eq!(text(&plan), text(&old), "seed {seed}");
        }
    }
}

#[test]
fn all_money_times_a_factor_is_the_same_order() {
    for (seed, input, old) in projects() {
        let factor = Decimal::from([2, 3, 10][(seed % 3) as usize]);
        let mut new = input.clone();
        let times = |money: &mut Money| money.0 *= factor;
        for offer in &mut new.catalog.offers {
            offer
                .breaks
                .iter_mut()
                .for_each(|b| times(&mut b.unit_price));
        }
        for supplier in &mut new.catalog.suppliers {
            times(&mut supplier.shipping);
            supplier.free_over.iter_mut().for_each(times);
            supplier.min_order.iter_mut().for_each(times);
        }
        new.catalog
            .dies
            .iter_mut()
            .for_each(|die| times(&mut die.cost));
        let dies = new.dies_ordered.iter_mut();
        dies.for_each(|die| times(&mut die.cost));
        times(&mut new.settings.line_cost);
        let options = repriced(&new, &old).expect("a plan");
        let totals = options.totals(&old);
        assert_eq!(
            totals.best(Money::ZERO),
            Keep::Lines,
            "seed {seed}: {totals:?}"
        );
        assert_eq!(totals.anew, old.altogether() * factor, "seed {seed}");
        let plan = options.lines.unwrap();
        assert_eq!(plan.cost.goods, old.cost.goods * factor, "seed {seed}");
        let pieces = |plan: &Plan| -> Vec<(String, String, Qty)> {
            let lines = plan
                .orders
                .iter()
                .flat_map(|o| o.lines.iter().map(move |l| (o, l)));
            lines
                .map(|(o, l)| (o.supplier.clone(), l.part.clone(), l.qty))
                .collect()
        };
        assert_eq!(pieces(&plan), pieces(&old), "seed {seed}");
    }
}

/// Adds an order to what is ordered, through the text of the file.
fn place(input: &mut Input, text: &mut Option<String>, orders: &[Order], on: Date) {
    let new = booking::place(text.as_deref(), orders, &input.catalog, on).unwrap();
    input.ordered = reread(&new, &input.catalog).expect("a valid file");
    *text = Some(new);
}

/// Pieces of each part of all lines.
fn pieces(orders: &[Order]) -> BTreeMap<String, Qty> {
    let mut pieces = BTreeMap::new();
    for line in orders.iter().flat_map(|order| &order.lines) {
        *pieces.entry(line.part.clone()).or_default() += line.qty;
    }
    pieces
}

/// Adds the dies that a plan has to buy to those that are ordered.
fn place_dies(input: &mut Input, plan: &Plan) {
    let dies = dies_to_buy(input, plan).into_iter();
    let dies: Vec<&Die> = dies.map(|die| input.catalog.die(die)).collect();
    let text = booking::place_dies(None, &dies, date(2026, 1, 1)).unwrap();
    let rows = dies_ordered::reread(&text, &input.catalog).expect("a valid file");
    input.dies_ordered.extend(rows);
    assert!(dies_to_buy(input, plan).is_empty());
}

/// Fitted and spare never exceed on hand, received, open and newly ordered.
fn nothing_is_lost(input: &Input, plan: &Plan, open: &[Order], what: &str) {
    let bought = pieces(open);
    for part in &plan.parts {
        let id: PartId = input.catalog.find(&part.part).unwrap();
        let rows = || input.ordered.iter().filter(|row| row.part == id);
        let received: Qty = rows().map(|row| row.received).sum();
        let outstanding: Qty = rows().map(|row| row.qty - row.received).sum();
        let on_hand = input.on_hand.get(&id).copied().unwrap_or(0);
        let have = on_hand + received + outstanding;
        let have = have + bought.get(&part.part).copied().unwrap_or(0);
        assert!(part.fitted + part.spare <= have, "{what}: {}", part.part);
    }
}

/// Books some of what is outstanding, and tries to book too much.
fn receive(input: &mut Input, text: &mut Option<String>, rng: &mut Rng, on: Date) {
    let Some(file) = text.as_mut() else { return };
    let mut outstanding: BTreeMap<PartId, Qty> = BTreeMap::new();
    for row in &input.ordered {
        *outstanding.entry(row.part).or_default() += row.qty - row.received;
    }
    let before: Qty = input.ordered.iter().map(|row| row.received).sum();
    let mut came = 0;
    let deliveries: Vec<Delivery> = outstanding
        .iter()
        .filter(|(_, open)| **open > 0)
        .map(|(&part, &open)| {
            let qty = rng.u64(1..=open);
            came += qty;
            Delivery {
                part,
                supplier: None,
                sku: None,
                qty,
            }
        })
        .collect();
    for (&part, &open) in &outstanding {
        let too_many = Delivery {
            part,
            supplier: None,
            sku: None,
            qty: open + 1,
        };
        assert!(booking::receive(file, input, &[too_many], on).is_err());
    }
    let (new, booked) = booking::receive(file, input, &deliveries, on).unwrap();
    input.ordered = reread(&new, &input.catalog).expect("a valid file");
    let after: Qty = input.ordered.iter().map(|row| row.received).sum();
    assert_eq!(after, before + came);
    assert_eq!(booked.iter().map(|one| one.qty).sum::<Qty>(), came);
    *file = new;
}

#[test]
fn no_sequence_loses_a_part() {
    let (mut repriced_some, mut placed_part, mut bags) = (0, 0, 0);
    for (seed, mut input, mut plan) in projects() {
        bags += u32::from(has_bags(&plan));
        let mut rng = Rng::with_seed(seed ^ 0x5eed);
        let mut text = None;
        let mut day = date(2026, 1, 1);
        nothing_is_lost(&input, &plan, &plan.orders, "planned");
        for step in 0..3 {
            // perhaps not all suppliers get their order today
            let open = open_orders(&input, &plan);
            let today: Vec<Order> = open.iter().filter(|_| rng.u8(..4) > 0).cloned().collect();
            placed_part += u32::from(!today.is_empty() && today.len() < open.len());
            let pieces_before: Qty = input.ordered.iter().map(|row| row.qty).sum();
            if !today.is_empty() {
                place(&mut input, &mut text, &today, day);
            }
            let placed: Qty = pieces(&today).values().sum();
            let pieces_now: Qty = input.ordered.iter().map(|row| row.qty).sum();
            assert_eq!(pieces_now, pieces_before + placed, "seed {seed}");
            nothing_is_lost(&input, &plan, &open_orders(&input, &plan), "placed");
            receive(&mut input, &mut text, &mut rng, day);
            nothing_is_lost(&input, &plan, &open_orders(&input, &plan), "received");
            input = shake(&input, &mut rng);
            let Some(options) = repriced(&input, &plan) else {
                break;
            };
            let totals = options.totals(&plan);
            let keep = match rng.u8(..3) {
                0 => Keep::Nothing,
                1 if options.parts.is_ok() => Keep::Parts,
                _ => totals.best(Money::ZERO),
            };
            let new = options.plan(keep).unwrap().clone();
            if keep == Keep::Nothing {
                // the regenerated order is that of a fresh plan
                assert_eq!(Some(&new), planned(&input).as_ref(), "seed {seed}");
            }
            repriced_some += u32::from(any(&changes((&plan.orders, &plan), (&new.orders, &new))));
            plan = new;
            assert_eq!(audit(&input, &plan), [], "seed {seed} step {step}");
            nothing_is_lost(&input, &plan, &plan.orders, "repriced");
            day = day.tomorrow().unwrap();
        }
    }
    assert!(
        repriced_some > 10 && placed_part > 2 && bags > 2,
        "{repriced_some} {placed_part} {bags}"
    );
}

/// Supplier and part of each line.
fn lines(orders: &[Order]) -> BTreeSet<(&str, &str)> {
    let mut lines = BTreeSet::new();
    for order in orders {
        let parts = order.lines.iter().map(|line| line.part.as_str());
        lines.extend(parts.map(|part| (order.supplier.as_str(), part)));
    }
    lines
}

#[test]
fn what_was_ordered_before_a_plan_is_not_ordered_since() {
    let mut again = 0;
    for (seed, mut input, plan) in projects() {
        let mut text = None;
        if plan.orders.is_empty() {
            continue;
        }
        place(&mut input, &mut text, &plan.orders, date(2026, 1, 1));
        let mut more = input.circuits[0].clone();
        more.name = "more".to_owned();
        input.circuits.push(more);
        let Some(larger) = planned(&input) else {
            continue;
        };
        assert_eq!(open_orders(&input, &larger), larger.orders, "seed {seed}");
        let totals = repriced(&input, &larger).expect("a plan").totals(&larger);
        assert_eq!(totals.lines, Some(larger.altogether()), "seed {seed}");
        assert_eq!(totals.best(Money::ZERO), Keep::Lines, "seed {seed}");
        // Lines of which some were ordered before and some are to be bought.
        again += usize::from(!lines(&plan.orders).is_disjoint(&lines(&larger.orders)));
        place(&mut input, &mut text, &larger.orders, date(2026, 1, 2));
        assert_eq!(open_orders(&input, &larger), [], "seed {seed}");
    }
    assert!(again > 10, "{again}");
}

#[test]
fn placing_moves_money_from_still_to_spend_to_spent() {
    let mut nothing_left = 0;
    for (seed, mut input, plan) in projects() {
        if plan.orders.is_empty() {
            continue;
        }
        let mut text = None;
        place(&mut input, &mut text, &plan.orders, date(2026, 1, 1));
        place_dies(&mut input, &plan);
        let after = planned(&input).expect("a plan");
        // What is there is there: the lines in hand leave nothing to buy unless that saves more.
        assert!(after.altogether() <= plan.altogether(), "seed {seed}");
        assert_eq!(
            after.spent,
            plan.spent + plan.cost.goods + plan.cost.duty + plan.cost.shipping + plan.cost.dies,
            "seed {seed}"
        );
        nothing_left += u32::from(after.orders.is_empty());
        let options = repriced(&input, &plan).expect("a plan");
        let lines = options.lines.expect("nothing is left to buy");
        assert!(lines.orders.is_empty(), "seed {seed}");
        assert_eq!(lines.altogether(), plan.altogether(), "seed {seed}");
    }
    assert!(nothing_left > 10);
}

/// Where deliveries go, piece by piece, said plainly: first those that name a sku, then
/// those that name their supplier; each piece to the oldest order that still waits for
/// one, of orders of one day to the upper row. With a sku, an order without one comes
/// after all orders of that sku, and one of another sku never. None where a piece has
/// no row, or where a sku without a supplier is not one supplier's.
fn booked(input: &Input, deliveries: &[Delivery], on: Date) -> Option<Vec<Qty>> {
    let mut received: Vec<Qty> = input.ordered.iter().map(|row| row.received).collect();
    let mut deliveries = deliveries.to_vec();
    for delivery in &mut deliveries {
        if let (Some(sku), None) = (&delivery.sku, &delivery.supplier) {
            let rows = input.ordered.iter();
            let rows = rows.filter(|row| row.part == delivery.part && row.sku == *sku);
            let of: BTreeSet<_> = rows.map(|row| row.supplier.0).collect();
            let (Some(one), 1) = (of.first(), of.len()) else {
                return None;
            };
            delivery.supplier = Some(input.catalog.suppliers[*one as usize].name.clone());
        }
    }
    let with_sku = deliveries.iter().filter(|d| d.sku.is_some());
    let plain = || deliveries.iter().filter(|d| d.sku.is_none());
    let with = plain().filter(|d| d.supplier.is_some());
    let without = plain().filter(|d| d.supplier.is_none());
    for delivery in with_sku.chain(with).chain(without) {
        let is_sku = |row: &Ordered| Some(&row.sku) == delivery.sku.as_ref();
        for _ in 0..delivery.qty {
            let waits = |place: &usize| {
                let row = &input.ordered[*place];
                let supplier = &input.catalog.suppliers[row.supplier.0 as usize].name;
                row.part == delivery.part
                    && row.ordered_on <= on
                    && delivery
                        .supplier
                        .as_ref()
                        .is_none_or(|name| name == supplier)
                    && received[*place] < row.qty
                    && (delivery.sku.is_none() || row.sku.is_empty() || is_sku(row))
            };
            let places = (0..input.ordered.len()).filter(waits);
            let rank = |place: &usize| {
                let row = &input.ordered[*place];
                let comes_after = delivery.sku.is_some() && !is_sku(row);
                (comes_after, row.ordered_on, *place)
            };
            let oldest = places.min_by_key(rank)?;
            received[oldest] += 1;
        }
    }
    Some(received)
}

/// Some orders on a few days, in any order, some of them received in part.
fn orders(rng: &mut Rng, input: &Input) -> String {
    let mut text = "part,supplier,qty,unit_price,ordered_on,received,sku\n".to_owned();
    let count = |list: usize| list.min(2);
    for _ in 0..rng.usize(1..8) {
        let part = &input.catalog.parts[rng.usize(..count(input.catalog.parts.len()))].code;
        let suppliers = &input.catalog.suppliers;
        let supplier = &suppliers[rng.usize(..count(suppliers.len()))].name;
        let (qty, day) = (rng.u64(1..6), rng.u8(1..5));
        let received = rng.u64(..=qty / 2);
        let sku = ["", "a", "b"][rng.usize(..3)];
        text += &format!("{part},{supplier},{qty},1.50,2026-02-0{day},{received},{sku}\n");
    }
    text
}

#[test]
fn deliveries_go_to_the_oldest_orders() {
    let (mut two_days, mut named, mut over_rows, mut refused, mut early) = (0, 0, 0, 0, 0);
    let (mut with_sku, mut to_any) = (0, 0);
    for seed in 0..1_200 {
        let mut rng = Rng::with_seed(seed);
        let mut input = support::random::any(&mut rng, 1);
        let text = orders(&mut rng, &input);
        input.ordered = reread(&text, &input.catalog).expect("a valid file");
        let on = date(2026, 2, 3);
        let deliveries: Vec<Delivery> = (0..rng.usize(1..4))
            .map(|_| {
                let row = &input.ordered[rng.usize(..input.ordered.len())];
                let supplier = &input.catalog.suppliers[row.supplier.0 as usize].name;
                Delivery {
                    part: row.part,
                    supplier: rng.bool().then(|| supplier.clone()),
                    sku: Some(row.sku.clone()).filter(|sku| !sku.is_empty() && rng.bool()),
                    qty: rng.u64(1..5),
                }
            })
            .collect();
        let expected = booked(&input, &deliveries, on);
        let done = booking::receive(&text, &input, &deliveries, on);
        let Some(expected) = expected else {
            assert!(done.is_err(), "seed {seed}");
            refused += 1;
            continue;
        };
        let (new, rows) = done.unwrap_or_else(|e| panic!("seed {seed}: {e}"));
        let after = reread(&new, &input.catalog).expect("a valid file");
        let received: Vec<Qty> = after.iter().map(|row| row.received).collect();
        assert_eq!(received, expected, "seed {seed}: {deliveries:?}\n{text}");
        for (place, row) in input.ordered.iter().enumerate() {
            let booked = rows.iter().find(|one| one.row == place);
            let came = expected[place] - row.received;
            let told = booked.map_or((0, row.received), |one| (one.qty, one.received));
            assert_eq!(told, (came, expected[place]), "seed {seed}");
        }
        let of_part = |part| input.ordered.iter().filter(move |row| row.part == part);
        let days = |part| of_part(part).map(|row| row.ordered_on).collect::<Vec<_>>();
        let part = deliveries[0].part;
        two_days += u32::from(days(part).windows(2).any(|two| two[0] > two[1]));
        named += u32::from(deliveries.iter().any(|d| d.supplier.is_some()));
        over_rows += u32::from(rows.len() > deliveries.len());
        early += u32::from(days(part).iter().any(|day| *day > on));
        with_sku += u32::from(deliveries.iter().any(|d| d.sku.is_some()));
        // A row without a sku took what came under one.
        let is_any = |one: &booking::Booked| {
            let row = &input.ordered[one.row];
            let mut of_part = deliveries.iter().filter(|d| d.part == row.part);
            row.sku.is_empty() && of_part.all(|d| d.sku.is_some())
        };
        to_any += u32::from(rows.iter().any(is_any));
    }
    let seen = [two_days, named, over_rows, refused, early, with_sku, to_any];
    assert!(seen.iter().all(|count| *count > 15), "{seen:?}");
}
