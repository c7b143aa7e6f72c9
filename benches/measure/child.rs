//! One run in this process.

use super::run::{Job, Model, Point, Run};
use crate::plain;
use couplet::fit::{Fit, fit};
use couplet::input::{Input, LoadOptions, load};
use couplet::limit::{Limit, Progress};
use couplet::model::{Outcome, Question};
use couplet::plan::Bound;
use couplet::solve::{Solved, Task};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Reads, fits, solves, audits.
pub fn run(job: &Job) -> Run {
    let mut run = Run::broken(job.model, job.limit, "optimal");
    if let Err(status) = measure(job, &mut run) {
        run.status = status;
    }
    run.memory = memory();
    run
}

fn measure(job: &Job, run: &mut Run) -> Result<(), String> {
    let begun = Instant::now();
    let loaded = load(&job.project, &LoadOptions::default());
    let input = loaded.input.ok_or("input has errors")?;
    run.parts.reading = begun.elapsed().as_secs_f64();
    let fitting = Instant::now();
    let fit = fit(&input).map_err(|_| "an end has no set")?;
    run.parts.fitting = fitting.elapsed().as_secs_f64();
    match job.model {
        Model::Couplet => strong(job, (&input, &fit), begun, run),
        Model::Plain => plainly(job, (&input, &fit), begun, run),
    }
}

/// What the program does for `couplet plan`.
fn strong(
    job: &Job,
    (input, fit): (&Input, &Fit),
    begun: Instant,
    run: &mut Run,
) -> Result<(), String> {
    let question = Question {
        ties: !job.totals,
        ..Question::default()
    };
    let solving = Instant::now();
    let heard: Arc<Mutex<Vec<(f64, Progress)>>> = Arc::default();
    let list = Arc::clone(&heard);
    let limit = Limit::default()
        .within(Duration::from_secs(job.limit))
        .with_threads(job.threads)
        .told_to(move |now| {
            let mut list = list.lock().unwrap_or_else(PoisonError::into_inner);
            list.push((begun.elapsed().as_secs_f64(), now.clone()));
        });
    let outcome = couplet::model::solve(input, fit, &question, &limit);
    let heard = heard.lock().unwrap_or_else(PoisonError::into_inner);
    run.curve.extend(heard.iter().map(|(at, now)| Point {
        at: *at,
        best: now.best,
        bound: now.bound,
    }));
    let last = heard.last().map(|(_, now)| now);
    run.nodes = Some(last.map_or(0, |now| now.nodes));
    run.parts.building = last.map_or(0.0, |now| now.building.as_secs_f64());
    run.parts.solving = (solving.elapsed().as_secs_f64() - run.parts.building).max(0.0);
    let (solution, lower, witnesses) = match outcome.map_err(|e| e.to_string())? {
        Outcome::Found {
            solution,
            bound,
            witnesses,
        } => (solution, bound, witnesses),
        Outcome::Infeasible => return Err("infeasible".to_owned()),
        Outcome::Unknown => return Err("no plan".to_owned()),
    };
    let auditing = Instant::now();
    let bound = Bound {
        lower,
        witnesses,
        wanted_gap: None,
    };
    let plan = couplet::plan::record(input, fit, &solution, bound).map_err(|e| e.to_string())?;
    let is_right = couplet::audit::audit(input, &plan).is_empty();
    run.parts.auditing = auditing.elapsed().as_secs_f64();
    run.total = plan.cost.total.0.to_string().parse().ok();
    run.bound = if witnesses > 0 {
        run.total
    } else {
        Some(lower)
    };
    match (is_right, witnesses > 0) {
        (false, _) => Err("the audit refuses it".to_owned()),
        (true, false) => Err("time limit".to_owned()),
        (true, true) => Ok(()),
    }
}

/// The plain program through the same layer; its answer is not audited.
fn plainly(
    job: &Job,
    (input, fit): (&Input, &Fit),
    begun: Instant,
    run: &mut Run,
) -> Result<(), String> {
    let solving = Instant::now();
    let program = plain::program(input, fit);
    run.parts.building = solving.elapsed().as_secs_f64();
    let solving = Instant::now();
    let limit = Limit::default()
        .within(Duration::from_secs(job.limit))
        .with_threads(job.threads);
    let task = Task {
        limit,
        ..Task::default()
    };
    let solved = couplet::solve::run(&program, &task, &mut |pulse| {
        run.curve.push(Point {
            at: begun.elapsed().as_secs_f64(),
            best: pulse.best,
            bound: pulse.bound,
        });
        run.nodes = Some(pulse.nodes);
    });
    run.parts.solving = solving.elapsed().as_secs_f64();
    // What was known before the solver ran over its time.
    let last = |of: fn(&Point) -> Option<f64>| run.curve.iter().rev().find_map(of);
    let (best, known) = (last(|p| p.best), last(|p| p.bound));
    match solved.map_err(|e| e.to_string())? {
        Solved::Optimal { objective, .. } => {
            (run.total, run.bound) = (Some(objective), Some(objective));
            Ok(())
        }
        Solved::Feasible {
            objective, bound, ..
        } => {
            (run.total, run.bound) = (Some(objective), Some(bound));
            Err("time limit".to_owned())
        }
        Solved::Infeasible => Err("infeasible".to_owned()),
        Solved::Unknown { .. } => {
            (run.total, run.bound) = (best, known);
            Err(best.map_or("no plan", |_| "time limit").to_owned())
        }
    }
}

/// The largest memory that this process has had, in MB (1e6 bytes).
fn memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    let kib: f64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kib * 1024.0 / 1e6)
}
