//! Shares that add up, savings and rising prices, on random projects.

mod support;

use couplet::fit::fit;
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::project::Budget;
use couplet::study::answer::{Answer, cheapest};
use couplet::study::budget::{
    Ease, Key, Rise, RiseOf, Term, against, breakdown, rise, savings, share,
};
use couplet::units::{Money, Percent};
use proptest::prelude::*;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};
use support::brute;
use support::build::{self, Shop, list, money};
use support::dec;
use support::random::project;

fn planned(input: &Input, limit: &Limit) -> Answer {
    cheapest(input, &fit(input).expect("fits"), limit, None).expect("a plan")
}

/// Seeds with a plan.
fn projects(seeds: std::ops::Range<u64>) -> impl Iterator<Item = (u64, Input)> {
    seeds.filter_map(|seed| {
        let (input, best) = project(seed);
        best.map(|_| (seed, input))
    })
}

#[test]
fn shares_add_up_to_the_cent_term_by_term() {
    let free = Limit::default();
    let mut terms_seen = BTreeMap::new();
    for (seed, input) in projects(0..100) {
        let plan = planned(&input, &free).plan;
        let parts = breakdown(&input, &plan);
        assert_eq!(parts.terms.total(), plan.cost.total.cents(), "seed {seed}");
        // A project is one machine.
        assert!(!parts.groups.contains_key(&Key::Machine));
        for key in Key::ALL.into_iter().filter(|key| *key != Key::Machine) {
            let groups = &parts.groups[&key];
            for term in Term::ALL {
                let sum: Money = groups.iter().map(|g| g.terms.of(term)).sum();
                assert_eq!(
                    sum,
                    parts.terms.of(term),
                    "seed {seed}: {term:?} by {key:?}"
                );
                *terms_seen.entry(term).or_insert(0) += usize::from(sum.is_positive());
                let is_cent = |g: &couplet::study::budget::Group| {
                    let amount = g.terms.of(term);
                    amount == amount.cents() && amount >= Money::ZERO
                };
                assert!(
                    groups.iter().all(is_cent),
                    "seed {seed}: {term:?} by {key:?}"
                );
            }
        }
    }
    assert_eq!(terms_seen.len(), 7);
    assert!(terms_seen.values().all(|&n| n > 5), "{terms_seen:?}");
}

#[test]
fn what_a_supplier_bills_is_its_share() {
    let free = Limit::default();
    for (seed, input) in projects(0..100) {
        let plan = planned(&input, &free).plan;
        let parts = breakdown(&input, &plan);
        for order in &plan.orders {
            let rate = input.settings.rate(&order.currency).expect("a rate");
            let group = parts.groups[&Key::Supplier]
                .iter()
                .find(|g| g.name == order.supplier);
            let group = group.expect("every order has a share");
            // Each of the terms is rounded by itself, once by column and once by group.
            let off = (group.terms.total().0 - order.total.0 * rate).abs();
            assert!(
                off < dec("0.08"),
                "seed {seed}: {} is off by {off}",
                order.supplier
            );
        }
    }
}

#[test]
fn a_term_is_within_cents_of_the_record() {
    let free = Limit::default();
    for (seed, input) in projects(0..100) {
        let plan = planned(&input, &free).plan;
        let terms = breakdown(&input, &plan).terms;
        let goods = [Term::Fitted, Term::Spare, Term::Surplus].map(|t| terms.of(t));
        for (shown, exact) in [
            (goods.into_iter().sum(), plan.cost.goods),
            (terms.of(Term::Duty), plan.cost.duty),
            (terms.of(Term::Shipping), plan.cost.shipping),
            (terms.of(Term::Dies), plan.cost.dies),
            (terms.of(Term::Handling), plan.cost.lines),
        ] {
            let off = (shown - exact).0.abs();
            assert!(off < dec("0.03"), "seed {seed}: {shown} for {exact}");
        }
    }
}

#[test]
fn savings_equal_enumeration_of_the_eased_project() {
    let free = Limit::default().with_threads(2);
    let mut kinds = BTreeSet::new();
    for (seed, input) in projects(0..100) {
        let now = planned(&input, &free);
        let found = savings(&input, &now, &free).expect("savings");
        assert!(found.untold.is_empty());
        assert!(
            found.found.is_sorted_by(|a, b| a.saved >= b.saved),
            "seed {seed}"
        );
        for saving in &found.found {
            let best = brute::best(&eased(&input, &saving.ease)).expect("a plan");
            assert_eq!(
                saving.total.0.normalize(),
                best.total,
                "seed {seed}: {:?}",
                saving.ease
            );
            assert!(saving.is_proven && saving.saved == now.total() - saving.total);
            kinds.insert(kind(&saving.ease));
        }
        for ease in &found.in_vain {
            let best = brute::best(&eased(&input, ease)).expect("a plan");
            assert_eq!(
                best.total,
                now.total().0.normalize(),
                "seed {seed}: {ease:?}"
            );
        }
    }
    assert!(kinds.len() >= 3, "{kinds:?}");
}

fn kind(ease: &Ease) -> &'static str {
    match ease {
        Ease::Protection { .. } => "protection",
        Ease::Colour { .. } => "colour",
        Ease::Supplier { .. } => "supplier",
        Ease::Variant { .. } => "variant",
        Ease::Spares { .. } => "spares",
    }
}

/// One end that takes PA at 5 without protection or colour, or PB at 12.
fn protected(ip: Option<&str>, colour: Option<&str>) -> Input {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for (code, key, price) in [("PA", "A", "5"), ("PB", "B", "12")] {
        let (mut plug, mut receptacle) = (build::plug("F", key), build::receptacle("F", key));
        for body in [&mut plug, &mut receptacle] {
            body.ip = (key == "B").then(|| "IP67".parse().expect("a code"));
            body.colour = (key == "B").then(|| "orange".to_owned());
        }
        shop.body(code, plug);
        shop.body(&code.replace('P', "R"), receptacle);
        shop.on_hand.insert(code.replace('P', "R"), 9);
        shop.offer(code, "Nord", list(&[(1, price)]));
    }
    let mut circuit = build::circuit("C1", "HV+", "pack");
    circuit.ip = ip.map(|ip| ip.parse().expect("a code"));
    circuit.colour = colour.map(str::to_owned);
    shop.circuits.push(circuit);
    shop.finish()
}

#[test]
fn protection_and_colour_save_where_they_are_all_that_binds() {
    let free = Limit::default();
    for (ip, colour, saves) in [
        (Some("IP67"), None, Some("protection")),
        (None, Some("orange"), Some("colour")),
        (Some("IP67"), Some("orange"), None),
    ] {
        let input = protected(ip, colour);
        let now = planned(&input, &free);
        assert_eq!(now.total(), money("12"));
        let found = savings(&input, &now, &free).expect("savings");
        let kinds: Vec<&str> = found.found.iter().map(|s| kind(&s.ease)).collect();
        assert_eq!(kinds, Vec::from_iter(saves), "{ip:?} {colour:?}");
        for saving in &found.found {
            assert_eq!((saving.saved, saving.total), (money("7"), money("5")));
            assert_eq!(
                (&saving.parts_out[..], &saving.parts_in[..]),
                (
                    &["PB", "RB"].map(String::from)[..],
                    &["PA", "RA"].map(String::from)[..]
                )
            );
        }
        assert_eq!(found.found.is_empty(), found.in_vain.len() == 2);
    }
}

/// The project with that given up, written apart from the program's own.
fn eased(input: &Input, ease: &Ease) -> Input {
    let mut input = input.clone();
    let named = |input: &Input, name: &str| {
        let place = input.circuits.iter().position(|c| c.name == *name);
        place.expect("a circuit")
    };
    match ease {
        Ease::Protection { circuit, .. } => {
            let place = named(&input, circuit);
            input.circuits[place].ip = None;
        }
        Ease::Colour { circuit, .. } => {
            let place = named(&input, circuit);
            input.circuits[place].colour = None;
        }
        Ease::Supplier { .. } => {
            input.settings.max_suppliers = input.settings.max_suppliers.map(|n| n + 1);
        }
        Ease::Variant { .. } => {
            input.settings.max_variants = input.settings.max_variants.map(|n| n + 1);
        }
        Ease::Spares { kind, .. } => {
            input.settings.spares.remove(kind);
        }
    }
    input
}

#[test]
fn rising_prices_equal_enumeration() {
    let free = Limit::default();
    let mut replanned = 0;
    for (seed, input) in projects(0..100) {
        let now = planned(&input, &free);
        let supplier = couplet::catalog::SupplierId(0);
        let wanted = Rise {
            percent: Percent(dec("35")),
            of: RiseOf::Supplier(supplier),
        };
        let rising = rise(&input, &now, wanted, &free).expect("a rise");
        let mut dear = input.clone();
        for offer in dear
            .catalog
            .offers
            .iter_mut()
            .filter(|o| o.supplier == supplier)
        {
            for step in &mut offer.breaks {
                step.unit_price = Money(step.unit_price.0 * dec("1.35"));
            }
        }
        let best = brute::best(&dear).expect("a plan");
        let again = rising.again.expect("a plan").cost.total;
        assert_eq!(again.0.normalize(), best.total, "seed {seed}");
        assert!(rising.kept >= again, "seed {seed}");
        replanned += usize::from(rising.kept > again);
    }
    assert!(replanned >= 2, "{replanned}");
}

#[test]
fn nothing_rises_by_nothing() {
    let free = Limit::default();
    let (_, input) = projects(1..9).next().expect("a project");
    let now = planned(&input, &free);
    let none = Rise {
        percent: Percent(Decimal::ZERO),
        of: RiseOf::All,
    };
    let rising = rise(&input, &now, none, &free).expect("a rise");
    assert_eq!(rising.kept, now.total());
    assert_eq!(rising.again.expect("a plan").cost.total, now.total());
}

#[test]
fn a_limit_is_met_up_to_its_edge() {
    let free = Limit::default();
    let (_, mut input) = projects(1..9).next().expect("a project");
    let plan = planned(&input, &free).plan;
    assert_eq!(against(&input.settings, &plan), None);
    let total = plan.altogether().cents();
    for (limit, percent, is_over) in [
        (total, "0", false),
        (total - money("0.01"), "0", true),
        (Money(total.0 * dec("2")), "50", false),
        (Money(total.0 * dec("2")), "50.1", true),
    ] {
        input.settings.budget = Some(Budget {
            limit,
            contingency_percent: Percent(dec(percent)),
        });
        let against = against(&input.settings, &plan).expect("a limit");
        assert_eq!(against.is_over(), is_over, "{limit} less {percent} %");
        assert_eq!(against.available - against.left, total);
    }
}

proptest! {
    #[test]
    fn any_amount_is_shared_without_rest(
        cents in 0i64..10_000_000,
        weights in prop::collection::vec(0i64..5_000, 1..40),
    ) {
        let amount = Money(Decimal::new(cents, 2));
        let weights: Vec<Decimal> = weights.iter().map(|w| Decimal::new(*w, 3)).collect();
        let shares = share(amount, &weights);
        let sum: Decimal = weights.iter().sum();
        prop_assert_eq!(shares.iter().copied().sum::<Money>(), amount);
        for (share, weight) in shares.iter().zip(&weights) {
            prop_assert_eq!(share.cents(), *share);
            if !sum.is_zero() {
                let exact = amount.0 * weight / sum;
                prop_assert!((share.0 - exact).abs() <= Decimal::new(1, 2));
            }
        }
    }
}
