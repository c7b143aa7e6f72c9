//! The program's optimum against enumeration, on random projects.
//!
//! The reference shares nothing with the program but plain types, so a total
//! that agrees on all of them is right by two ways.

mod support;

use couplet::input::Input;
use rust_decimal::Decimal;
use support::brute::Best;
use support::random::{SEEDS, project};

/// What both sides must agree on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Figures {
    total: Decimal,
    variants: usize,
    surplus: Decimal,
}

impl From<&Best> for Figures {
    fn from(best: &Best) -> Figures {
        Figures {
            total: best.total,
            variants: best.variants,
            surplus: best.surplus,
        }
    }
}

#[test]
fn random_projects_equal_enumeration() {
    let mut wrong = Vec::new();
    for seed in 0..SEEDS {
        let (input, best) = project(seed);
        let want = best.as_ref().map(Figures::from);
        let got = planned(&input);
        if got != want {
            wrong.push((seed, got, want));
        }
    }
    assert!(wrong.is_empty(), "(seed, program, reference): {wrong:#?}");
}

/// What the program comes to, audited; none where it proves that there is no plan.
fn planned(input: &Input) -> Option<Figures> {
    use couplet::model::{Outcome, SolveOptions};
    let fit = couplet::fit::fit(input).ok()?;
    let outcome = couplet::model::solve(input, &fit, &SolveOptions::default(), &mut |_| {});
    let plan = match &outcome {
        Outcome::Infeasible => return None,
        Outcome::Found { proven: true, .. } => couplet::plan::record(input, &fit, &outcome),
        other => panic!("not proven: {other:?}"),
    };
    assert_eq!(couplet::audit::audit(input, &plan), []);
    Some(Figures {
        total: plan.cost.total.0,
        variants: plan.parts.len(),
        surplus: surplus_money(input, &plan),
    })
}

/// Surplus pieces of each part at the lowest price paid for it, in the
/// project's currency, before duty.
fn surplus_money(input: &Input, plan: &couplet::plan::Plan) -> Decimal {
    let lowest = |code: &str| {
        let prices = plan.orders.iter().flat_map(|order| {
            let rate = input.settings.rate(&order.currency).expect("a rate");
            let lines = order.lines.iter().filter(move |line| line.part == code);
            lines.map(move |line| line.unit_price.0 * rate)
        });
        prices.min().unwrap_or_default()
    };
    let parts = plan.parts.iter();
    parts
        .map(|part| Decimal::from(part.surplus) * lowest(&part.part))
        .sum::<Decimal>()
        .normalize()
}
