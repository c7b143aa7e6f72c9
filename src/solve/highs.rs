//! HiGHS through good_lp.

use super::answer::{Pulse, SolveError, Solved};
use super::callback;
use super::doubts::Doubts;
use super::engine::{Engine, Solver, Task};
use super::line::{Line, in_bounds};
use super::program::Program;
use crate::limit::Stop;
use crate::limit::apart::{self, Apart};
use ::highs::{HighsModelStatus, HighsSolutionStatus, Model, SolvedModel, TrySetOptionError};
use good_lp::{Expression, ProblemVariables, SolverModel, Variable, constraint, variable};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// The solver that the program is built with.
#[derive(Debug, Clone, Copy)]
pub struct Highs;

impl Engine for Highs {
    fn solve(
        &self,
        program: &Program,
        task: &Task,
        report: &mut dyn FnMut(Pulse),
    ) -> Result<Solved, SolveError> {
        run(program, task, report)
    }
}

impl Default for Solver {
    /// The solver that the program is built with.
    fn default() -> Self {
        Solver {
            engine: Arc::new(Highs),
            doubts: Doubts::default(),
        }
    }
}

/// The time between two looks at what HiGHS says.
const STEP: Duration = Duration::from_millis(20);

/// How long a run is waited for that was told to end. HiGHS does not hear it within
/// one relaxation of a tree, within presolve, and within its own small trees.
const PATIENCE: Duration = Duration::from_millis(50);

/// Solves the program; `report` hears of progress now and then, and of each better
/// solution. After a stop nothing is begun.
///
/// # Errors
/// [`SolveError`] if HiGHS refuses the program or breaks off.
///
/// # Panics
/// With the panic of `report`, after the run was told to end.
pub fn run(
    program: &Program,
    task: &Task,
    report: &mut dyn FnMut(Pulse),
) -> Result<Solved, SolveError> {
    if program.vars.is_empty() {
        return Ok(without_variables(program));
    }
    let nothing = Solved::Unknown {
        bound: f64::NEG_INFINITY,
    };
    if task.limit.stop.is_asked() {
        return Ok(nothing);
    }
    // A new tree has no nodes.
    report(Pulse::default());
    let quit = task.limit.stop.below();
    let line = Arc::new(Line::new(program, task, &quit));
    let (program, held, ear) = (program.clone(), task.clone(), Arc::clone(&line));
    let apart = apart::begin(&task.limit, move || attempt(&program, &held, &ear));
    match apart {
        Ok(apart) => watch(&apart, &line, &quit, task, report),
        Err(_) if task.limit.is_over() => Ok(nothing),
        Err(crowded) => Err(crowded.into()),
    }
}

fn attempt(program: &Program, task: &Task, line: &Line) -> Result<Solved, SolveError> {
    let model = build(program, task)?;
    let solved = callback::solve(model, line).map_err(|e| SolveError::new(format!("{e:?}")))?;
    Ok(line.with_best(answer(program, task, &solved)?))
}

fn without_variables(program: &Program) -> Solved {
    let holds = program.rows.iter().all(|r| r.lo <= 0.0 && r.up >= 0.0);
    match holds {
        true => Solved::Optimal {
            values: Vec::new(),
            objective: 0.0,
        },
        false => Solved::Infeasible,
    }
}

fn build(program: &Program, task: &Task) -> Result<Model, SolveError> {
    let mut vars = ProblemVariables::new();
    let ids: Vec<Variable> = program
        .vars
        .iter()
        .map(|v| {
            let def = variable().min(v.lo).max(v.up);
            vars.add(if v.integer { def.integer() } else { def })
        })
        .collect();
    let objective: Expression = (ids.iter().zip(&program.vars))
        .filter(|(_, v)| v.cost != 0.0)
        .map(|(&id, v)| v.cost * id)
        .sum();
    let mut problem = vars.minimise(objective).using(good_lp::highs);
    for row in &program.rows {
        let mut terms = Expression::with_capacity(row.terms.len());
        for &(var, factor) in &row.terms {
            terms.add_mul(factor, ids[var.0]);
        }
        if row.lo == row.up {
            problem.add_constraint(constraint!(terms == row.lo));
        } else if row.up < f64::INFINITY {
            problem.add_constraint(constraint!(terms.clone() <= row.up));
            if row.lo > f64::NEG_INFINITY {
                problem.add_constraint(constraint!(terms >= row.lo));
            }
        } else if row.lo > f64::NEG_INFINITY {
            problem.add_constraint(constraint!(terms >= row.lo));
        }
    }
    let mut model = problem
        .try_into_inner()
        .map_err(|e| SolveError::new(e.to_string()))?;
    set_options(&mut model, task)?;
    if let Some(start) = &task.start {
        // A start that does not fit is ignored by HiGHS: nothing is lost.
        let _ = model.try_set_solution(Some(start), None, None, None);
    }
    Ok(model)
}

fn set_options(model: &mut Model, task: &Task) -> Result<(), SolveError> {
    let fail = |e: TrySetOptionError| SolveError::new(format!("{e:?}"));
    model.make_quiet();
    model
        .try_set_option("time_limit", task.seconds())
        .map_err(fail)?;
    model
        .try_set_option("threads", task.limit.threads as i32)
        .map_err(fail)?;
    // HiGHS stops at 1e-4 by default, which would not be a proof.
    model
        .try_set_option("mip_rel_gap", task.relative_gap())
        .map_err(fail)?;
    model
        .try_set_option("mip_abs_gap", task.absolute_gap)
        .map_err(fail)?;
    if !task.presolve {
        model.try_set_option("presolve", "off").map_err(fail)?;
    }
    if task.proof {
        model
            .try_set_option("mip_heuristic_effort", 0.0)
            .map_err(fail)?;
        model
            .try_set_option("mip_allow_restart", false)
            .map_err(fail)?;
    }
    if let Some(target) = task.target {
        model
            .try_set_option("objective_target", target)
            .map_err(fail)?;
    }
    if let Some(cutoff) = task.cutoff {
        model
            .try_set_option("objective_bound", cutoff)
            .map_err(fail)?;
    }
    if let Some(nodes) = task.nodes {
        model.try_set_option("mip_max_nodes", nodes).map_err(fail)?;
    }
    Ok(())
}

/// Waits for an answer, and passes on what the run says meanwhile. Where the limit is
/// over and the run does not end soon, its thread is left to itself: it ends as soon
/// as HiGHS looks up.
fn watch(
    apart: &Apart<Result<Solved, SolveError>>,
    line: &Line,
    quit: &Stop,
    task: &Task,
    report: &mut dyn FnMut(Pulse),
) -> Result<Solved, SolveError> {
    let mut over: Option<Instant> = None;
    loop {
        let ended = apart.wait(STEP);
        let told = catch_unwind(AssertUnwindSafe(|| line.pass_on(report)));
        if let Err(panic) = told {
            quit.ask();
            if ended.is_none() {
                let _ = apart.wait(PATIENCE);
            }
            resume_unwind(panic);
        }
        if let Some(ended) = ended {
            return ended;
        }
        if task.limit.is_over() && over.get_or_insert_with(Instant::now).elapsed() >= PATIENCE {
            quit.ask();
            return Ok(line.so_far());
        }
    }
}

fn answer(program: &Program, task: &Task, solved: &SolvedModel) -> Result<Solved, SolveError> {
    let feasible = solved.primal_solution_status() == HighsSolutionStatus::Feasible;
    let bound = match program.vars.iter().all(|v| !v.integer) {
        true => f64::NEG_INFINITY,
        false => solved
            .double_info_value(c"mip_dual_bound")
            .unwrap_or(f64::NEG_INFINITY),
    };
    let values = || -> Vec<f64> {
        let raw = solved.get_solution();
        in_bounds(raw.columns(), &program.vars)
    };
    match solved.status() {
        HighsModelStatus::Infeasible | HighsModelStatus::UnboundedOrInfeasible => {
            Ok(Solved::Infeasible)
        }
        HighsModelStatus::Optimal if feasible => {
            let values = values();
            let objective = program.objective(&values);
            Ok(if task.relative_gap() > 0.0 && bound < objective - 1e-6 {
                Solved::Feasible {
                    values,
                    objective,
                    bound,
                }
            } else {
                Solved::Optimal { values, objective }
            })
        }
        HighsModelStatus::ObjectiveBound if task.cutoff.is_some() && !feasible => {
            Ok(Solved::Infeasible)
        }
        HighsModelStatus::ReachedTimeLimit
        | HighsModelStatus::ReachedIterationLimit
        | HighsModelStatus::ReachedSolutionLimit
        | HighsModelStatus::ReachedInterrupt
        | HighsModelStatus::ObjectiveBound
        | HighsModelStatus::ObjectiveTarget => Ok(match feasible {
            true => {
                let values = values();
                Solved::Feasible {
                    objective: program.objective(&values),
                    values,
                    bound,
                }
            }
            false => Solved::Unknown { bound },
        }),
        other => Err(SolveError::new(format!("status {other:?}"))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::limit::Limit;

    fn quiet(program: &Program, task: &Task) -> Solved {
        run(program, task, &mut |_| {}).expect("the solver runs")
    }

    #[test]
    fn a_small_program_is_solved_to_the_end() {
        let mut p = Program::default();
        let x = p.integer(0.0, 10.0, 3.0);
        let y = p.integer(0.0, 10.0, 2.0);
        p.at_least(vec![(x, 2.0), (y, 1.0)], 7.0);
        match quiet(&p, &Task::default()) {
            Solved::Optimal { values, objective } => {
                assert_eq!(values, vec![3.0, 1.0]);
                assert_eq!(objective, 11.0);
            }
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn no_solution_is_told_from_no_time() {
        let mut p = Program::default();
        let x = p.integer(0.0, 10.0, 1.0);
        p.at_least(vec![(x, 1.0)], 11.0);
        assert_eq!(quiet(&p, &Task::default()), Solved::Infeasible);
        // Market split (Cornuéjols and Dawande 1998): easy to relax, hard to decide.
        let mut p = Program::default();
        let x: Vec<_> = (0..30).map(|_| p.binary(0.0)).collect();
        for k in 1..5 {
            let a: Vec<f64> = (0..30)
                .map(|i| ((i * i * k * 7 + i * 13) % 101) as f64)
                .collect();
            let half = (a.iter().sum::<f64>() / 2.0).floor();
            p.equal(x.iter().copied().zip(a).collect(), half);
        }
        let limit = Limit::default().within(Duration::ZERO);
        let task = Task::default().within(&limit);
        assert!(matches!(quiet(&p, &task), Solved::Unknown { .. }));
    }

    #[test]
    fn an_empty_program_is_solved() {
        assert!(matches!(
            quiet(&Program::default(), &Task::default()),
            Solved::Optimal { .. }
        ));
    }
}
