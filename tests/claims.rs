//! Claims about totals at other prices against fresh plans, on random projects:
//! what holds by a plan made there holds, and a cent more does not.

mod support;

use couplet::catalog::PartId;
use couplet::fit::{Fit, fit};
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{Claim, Scope, Solution, Verdict, refute, worth};
use couplet::study::answer::{Answer, cheapest};
use couplet::study::breakeven::priced;
use rust_decimal::Decimal;
use support::brute::Best;
use support::dec;
use support::random::{project, with_facts};

/// Seeds below this.
const SEEDS: u64 = 40;

/// Seeds below this of projects with what users add.
const FACTS: u64 = 15;

/// All projects.
fn projects() -> impl Iterator<Item = (u64, (Input, Option<Best>))> {
    let drawn = (0..SEEDS).map(|seed| (seed, project(seed)));
    drawn.chain((0..FACTS).map(|seed| (seed, with_facts(seed))))
}

fn plan(input: &Input, fit: &Fit) -> Option<Answer> {
    cheapest(input, fit, &Limit::default(), None).ok()
}

fn asked(input: &Input, fit: &Fit, claims: &[Claim], scope: Scope) -> Verdict {
    refute(input, fit, claims, scope, &Limit::default()).expect("the solver runs")
}

/// What a plan costs where the prices of a part are others.
fn cost(input: &Input, fit: &Fit, (part, factor): (PartId, Decimal), plan: &Solution) -> Decimal {
    worth(&priced(input, part, factor), fit, plan).total.0
}

/// The cheapest plans at several prices of all bought parts.
fn elsewhere(input: &Input, fit: &Fit, now: &Answer) -> Vec<(PartId, Decimal, Answer)> {
    let bought = now.plan.parts.iter().filter(|p| p.bought > 0);
    let parts = bought.filter_map(|p| input.catalog.find(&p.part));
    let mut list = Vec::new();
    for part in parts {
        for factor in ["0", "0.5", "0.97", "1.25", "3"] {
            let there = priced(input, part, dec(factor));
            list.extend(plan(&there, fit).map(|answer| (part, dec(factor), answer)));
        }
    }
    list
}

fn claims<'a>(list: &'a [(PartId, Decimal, Answer)], more: &[(usize, &str)]) -> Vec<Claim<'a>> {
    let claim = |(at, (part, factor, answer)): (usize, &'a (PartId, Decimal, Answer))| {
        let extra = more.iter().find(|m| m.0 == at).map_or("0", |m| m.1);
        Claim {
            part: *part,
            factor: *factor,
            least: answer.total().0 + dec(extra),
            kept: &answer.solution,
        }
    };
    list.iter().enumerate().map(claim).collect()
}

#[test]
fn what_plans_made_there_cost_holds_and_a_cent_more_does_not() {
    let (mut held, mut wrong) = (0, 0);
    for (seed, (input, best)) in projects() {
        if best.is_none() {
            continue;
        }
        let fit = fit(&input).expect("a fit");
        let now = plan(&input, &fit).expect("a plan");
        let list = elsewhere(&input, &fit, &now);
        for list in list.chunks(7) {
            let even = claims(list, &[]);
            match asked(&input, &fit, &even, Scope::All) {
                Verdict::Hold => held += list.len(),
                // By the solver's tolerance alone.
                Verdict::Wrong(plan) => {
                    for claim in &even {
                        let cost = cost(&input, &fit, (claim.part, claim.factor), &plan);
                        assert!(claim.least - cost < dec("0.0001"), "seed {seed}: {claim:?}");
                    }
                }
                Verdict::Unknown => panic!("seed {seed}: not known"),
            }
            for at in [0, list.len() / 2, list.len() - 1] {
                let claims = claims(list, &[(at, "0.01")]);
                let Verdict::Wrong(plan) = asked(&input, &fit, &claims, Scope::All) else {
                    panic!("seed {seed}: {:?} is not shown wrong", claims[at]);
                };
                let price = (claims[at].part, claims[at].factor);
                assert!(cost(&input, &fit, price, &plan) < claims[at].least);
                wrong += 1;
            }
        }
    }
    assert!(held >= 100 && wrong >= 50, "{held} held, {wrong} wrong");
}

#[test]
fn what_is_found_near_a_plan_is_cheaper() {
    let mut found = 0;
    for (seed, (input, best)) in projects() {
        if best.is_none() {
            continue;
        }
        let fit = fit(&input).expect("a fit");
        let now = plan(&input, &fit).expect("a plan");
        for (part, factor, there) in elsewhere(&input, &fit, &now) {
            let least = cost(&input, &fit, (part, factor), &now.solution);
            let claim = Claim {
                part,
                factor,
                least,
                kept: &now.solution,
            };
            match asked(&input, &fit, &[claim], Scope::Near) {
                Verdict::Wrong(plan) => {
                    let cost = cost(&input, &fit, (part, factor), &plan);
                    assert!(there.total().0 - cost < dec("0.0001"), "seed {seed}");
                    // A plan that can't be ordered there any more costs what it
                    // would without its least order.
                    if there.total().0 + dec("0.0001") < least {
                        assert!(cost < least, "seed {seed}: {cost}, not below {least}");
                        found += 1;
                    }
                }
                Verdict::Hold | Verdict::Unknown => {}
            }
        }
    }
    assert!(found >= 10, "{found}");
}

#[test]
fn a_search_that_is_stopped_says_nothing() {
    let (input, _) = (0..SEEDS)
        .map(project)
        .find(|p| p.1.is_some())
        .expect("a project");
    let fit = fit(&input).expect("a fit");
    let now = plan(&input, &fit).expect("a plan");
    let list = elsewhere(&input, &fit, &now);
    let limit = Limit::default();
    limit.stop.ask();
    let verdict = refute(&input, &fit, &claims(&list, &[]), Scope::All, &limit);
    assert_eq!(verdict.expect("the solver runs"), Verdict::Unknown);
}
