//! The pooled program is a relaxation: its least objective is at most the least
//! total by enumeration, and where it has no solution there is no plan.

mod support;

use couplet::fit::fit;
use couplet::input::Input;
use couplet::model::pooled_program;
use couplet::solve::{Solved, Task, run};
use rust_decimal::prelude::ToPrimitive;
use support::brute::Best;
use support::random::{FACTS, SEEDS, project, with_facts};

#[test]
fn no_plan_is_below_it_by_kind() {
    let (compared, tight) = compare(false, (0..SEEDS).map(project));
    assert!(compared > 150, "{compared} compared");
    // A bound that is never reached would be right and useless.
    assert!(
        tight * 3 > compared,
        "{tight} of {compared} reach the total"
    );
}

#[test]
fn no_plan_is_below_it_by_cell() {
    let (compared, tight) = compare(true, (0..SEEDS).map(project));
    assert!(compared > 150, "{compared} compared");
    assert!(
        tight * 2 > compared,
        "{tight} of {compared} reach the total"
    );
}

/// With attributes that halves must share, built-in receptacles, branches, and several
/// offers of one part and supplier.
#[test]
fn no_plan_is_below_it_with_what_users_add() {
    for by_cell in [false, true] {
        let (compared, tight) = compare(by_cell, (0..FACTS).map(with_facts));
        assert!(compared > 200, "{compared} compared");
        assert!(
            tight * 4 > compared,
            "{tight} of {compared} reach the total"
        );
    }
}

/// How many projects were compared, and on how many the two are equal.
fn compare(by_cell: bool, projects: impl Iterator<Item = (Input, Option<Best>)>) -> (usize, usize) {
    let (mut compared, mut tight) = (0, 0);
    for (seed, (input, best)) in projects.enumerate() {
        let Ok(fit) = fit(&input) else { continue };
        let program = pooled_program(&input, &fit, by_cell).expect("the solver runs");
        let solved = run(&program, &Task::default(), &mut |_| {}).expect("the solver runs");
        let Some(best) = best else { continue };
        let total = best.total.to_f64().expect("a number");
        let bound = match solved {
            Solved::Optimal { objective, .. } => objective,
            other => panic!("seed {seed}: a plan of {total} exists, but {other:?}"),
        };
        assert!(
            bound <= total + 1e-6 * total.max(1.0),
            "seed {seed}: {bound} is above {total}"
        );
        compared += 1;
        tight += usize::from(bound > total - 1e-4);
    }
    (compared, tight)
}
