//! The same integer program through a second solver, on small random projects:
//! what HiGHS proves to be least, the pure Rust solver microlp must find too.

mod support;

use couplet::fit::fit;
use couplet::solve::{Program, Solved, Task, run};
use good_lp::solvers::microlp::microlp;
use good_lp::{Expression, ProblemVariables, ResolutionError, Solution, SolverModel, variable};
use support::random::{FACTS, SEEDS, project, with_facts};

/// Larger programs take microlp long.
const MOST_VARIABLES: usize = 90;

/// The least objective by microlp; none if no values hold all rows.
fn second(program: &Program) -> Option<f64> {
    let mut vars = ProblemVariables::new();
    let columns: Vec<_> = (program.vars.iter())
        .map(|var| {
            let column = variable().min(var.lo).max(var.up);
            vars.add(if var.integer {
                column.integer()
            } else {
                column
            })
        })
        .collect();
    let sum = |terms: &mut dyn Iterator<Item = (usize, f64)>| -> Expression {
        terms.map(|(place, factor)| columns[place] * factor).sum()
    };
    let objective = sum(&mut program.vars.iter().map(|v| v.cost).enumerate());
    let mut model = vars.minimise(objective.clone()).using(microlp);
    for row in &program.rows {
        let left = sum(&mut row.terms.iter().map(|(var, factor)| (var.0, *factor)));
        if row.lo.is_finite() {
            model.add_constraint(left.clone().geq(row.lo));
        }
        if row.up.is_finite() {
            model.add_constraint(left.leq(row.up));
        }
    }
    match model.solve() {
        Ok(solution) => Some(solution.eval(&objective)),
        Err(ResolutionError::Infeasible) => None,
        Err(error) => panic!("microlp: {error}"),
    }
}

/// The least objective by HiGHS; none if no values hold all rows.
fn first(program: &Program) -> Option<f64> {
    match run(program, &Task::default(), &mut |_| {}).expect("the solver runs") {
        Solved::Optimal { objective, .. } => Some(objective),
        Solved::Infeasible => None,
        other => panic!("not proven: {other:?}"),
    }
}

#[test]
fn two_solvers_agree_on_the_least_total() {
    let (mut optimal, mut infeasible) = (0, 0);
    let drawn = (0..SEEDS).map(project);
    let with_facts = (0..FACTS).map(with_facts);
    for (seed, (input, best)) in drawn.chain(with_facts).enumerate() {
        let Ok(fit) = fit(&input) else { continue };
        let program = couplet::model::program(&input, &fit);
        if program.vars.len() > MOST_VARIABLES {
            continue;
        }
        let (one, two) = (first(&program), second(&program));
        assert_eq!(one.is_some(), two.is_some(), "seed {seed}: {one:?} {two:?}");
        assert_eq!(one.is_some(), best.is_some(), "seed {seed}");
        match one.zip(two) {
            Some((a, b)) => {
                optimal += 1;
                assert!((a - b).abs() < 1e-6 * a.max(1.0), "seed {seed}: {a}, {b}");
            }
            None => infeasible += 1,
        }
    }
    println!("{optimal} optimal, {infeasible} infeasible");
    assert!(optimal >= 50, "{optimal} optimal, {infeasible} infeasible");
}
