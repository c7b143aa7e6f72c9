//! The program against the plain one: the same totals on random projects, and
//! no bound that is told on the way ever exceeds a proven total.

mod support;

use couplet::fit::{Fit, fit};
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{Outcome, Question};
use couplet::solve::{Solved, Task, run};
use fastrand::Rng;
use std::sync::{Arc, Mutex};
use std::time::Duration;
use support::{plain, random};

/// Projects that are compared.
const PROJECTS: u64 = 200;

/// Projects with what users add.
const WITH_FACTS: u64 = 100;

/// Seconds that either side may take on one project.
const SECONDS: u64 = 3;

/// Projects that are large enough for the pooled program.
const LARGER_PROJECTS: u64 = 15;

/// Ends of such a project.
const LEAST_ENDS: usize = 48;

/// What one side says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Said {
    Total(f64),
    Infeasible,
    NotProven,
}

/// How a project of so many circuits is drawn.
type Draw = fn(&mut Rng, usize) -> Input;

fn any_with_facts(rng: &mut Rng, circuits: usize) -> Input {
    random::any_with_facts(rng, Some(circuits))
}

/// The first draw of a seed in which every end has a set and, for five seeds in
/// six, the whole is not proven to be impossible; with what the plain program says.
fn drawn(seed: u64, draw: Draw) -> ((Input, Fit), Said) {
    let mut rng = Rng::with_seed(seed);
    loop {
        let circuits = rng.usize(1..=6);
        let input = draw(&mut rng, circuits);
        let Ok(fit) = fit(&input) else { continue };
        let project = (input, fit);
        let said = plainly(&project);
        if said != Said::Infeasible || seed.is_multiple_of(6) {
            return (project, said);
        }
    }
}

fn plainly((input, fit): &(Input, Fit)) -> Said {
    let limit = Limit::default().within(Duration::from_secs(SECONDS));
    let task = Task::default().within(&limit);
    let program = plain::program(input, fit);
    match run(&program, &task, &mut |_| {}).expect("the solver runs") {
        Solved::Optimal { objective, .. } => Said::Total(objective),
        Solved::Infeasible => Said::Infeasible,
        Solved::Feasible { .. } | Solved::Unknown { .. } => Said::NotProven,
    }
}

/// What the program says, and the bounds that it told on the way and at the end.
fn strongly((input, fit): &(Input, Fit), seconds: u64) -> (Said, Vec<f64>) {
    let question = Question {
        ties: false,
        ..Question::default()
    };
    let bounds: Arc<Mutex<Vec<f64>>> = Arc::default();
    let list = Arc::clone(&bounds);
    let limit = Limit::default()
        .within(Duration::from_secs(seconds))
        .told_to(move |now| list.lock().unwrap().extend(now.bound));
    let outcome = couplet::model::solve(input, fit, &question, &limit);
    let mut told = bounds.lock().unwrap().clone();
    match outcome.expect("the solver runs") {
        Outcome::Found {
            solution,
            bound,
            witnesses,
        } => {
            let total = couplet::model::worth(input, fit, &solution).total.0;
            let total: f64 = total.to_string().parse().expect("a number");
            let said = if witnesses > 0 {
                Said::Total(total)
            } else {
                Said::NotProven
            };
            told.push(bound);
            (said, told)
        }
        Outcome::Infeasible => (Said::Infeasible, told),
        Outcome::Unknown => (Said::NotProven, told),
    }
}

fn agree(one: Said, other: Said) -> bool {
    match (one, other) {
        (Said::NotProven, _) | (_, Said::NotProven) => true,
        (Said::Total(a), Said::Total(b)) => (a - b).abs() <= 1e-5 * a.abs().max(1.0),
        (one, other) => one == other,
    }
}

#[test]
fn totals_equal_those_of_the_plain_program() {
    equal_plain(PROJECTS, random::any);
}

#[test]
fn totals_with_what_users_add_equal_those_of_the_plain_program() {
    equal_plain(WITH_FACTS, any_with_facts);
}

#[track_caller]
fn equal_plain(projects: u64, draw: Draw) {
    let (mut totals, mut infeasible, mut open) = (0, 0, 0);
    let mut wrong = Vec::new();
    for seed in 0..projects {
        let (project, plain) = drawn(seed, draw);
        let (strong, told) = strongly(&project, SECONDS);
        let below = match plain {
            Said::Total(total) => told.iter().all(|b| *b <= total + 1e-5 * total.max(1.0)),
            _ => true,
        };
        if !agree(plain, strong) || !below {
            wrong.push((seed, plain, strong, told));
        }
        match (plain, strong) {
            (Said::Total(_), Said::Total(_)) => totals += 1,
            (Said::Infeasible, Said::Infeasible) => infeasible += 1,
            _ => open += 1,
        }
    }
    println!("{totals} totals, {infeasible} infeasible, {open} not proven by both");
    assert!(
        wrong.is_empty(),
        "(seed, plain, program, bounds): {wrong:?}"
    );
    assert!(open * 10 <= projects, "{open} not proven by both");
    assert!(totals * 3 >= projects * 2, "{totals} totals");
    assert!(infeasible > 0);
}

/// A project that is too large to be solved without the pooled program: of many
/// drawn circuits those that have a set each, spread over more locations, without
/// the limits that few such projects hold; none where too few are left.
fn larger(seed: u64, (circuits, draw): (usize, Draw)) -> Option<(Input, Fit)> {
    let mut rng = Rng::with_seed(seed);
    let mut input = draw(&mut rng, circuits);
    input.settings.max_variants = None;
    input.settings.max_suppliers = None;
    for offer in &mut input.catalog.offers {
        offer.stock = None;
    }
    for (place, circuit) in input.circuits.iter_mut().enumerate() {
        for terminal in [&mut circuit.from, &mut circuit.to] {
            let location = format!("{} {}", terminal.location, place % 8);
            terminal.location = location;
        }
    }
    for circuit in std::mem::take(&mut input.circuits) {
        let alone = Input {
            circuits: vec![circuit.clone()],
            ..input.clone()
        };
        if fit(&alone).is_ok() && input.circuits.len() < 24 {
            input.circuits.push(circuit);
        }
    }
    let fit = fit(&input).ok()?;
    (fit.ends.len() >= LEAST_ENDS).then_some((input, fit))
}

#[test]
fn no_bound_exceeds_the_proven_total() {
    no_bound_exceeds(LARGER_PROJECTS, 100, (60, random::any));
}

#[test]
fn no_bound_exceeds_the_proven_total_with_what_users_add() {
    no_bound_exceeds(LARGER_PROJECTS / 5, 200, (300, any_with_facts));
}

/// Compares so many projects; one in `tries` draws has to be large enough.
#[track_caller]
fn no_bound_exceeds(projects: u64, tries: u64, draw: (usize, Draw)) {
    let (mut compared, mut seed) = (0, 0);
    while compared < projects {
        seed += 1;
        assert!(seed < tries * projects, "{compared} compared");
        let Some(project) = larger(seed, draw) else {
            continue;
        };
        let Said::Total(total) = plainly(&project) else {
            continue;
        };
        let (strong, told) = strongly(&project, SECONDS);
        assert!(agree(Said::Total(total), strong), "{seed}: {strong:?}");
        // The pooled program's bound comes first, the whole program's after it.
        assert!(!told.is_empty(), "{seed}: no bound");
        for bound in told {
            assert!(bound <= total + 1e-5 * total, "{seed}: {bound} > {total}");
        }
        compared += 1;
    }
}
