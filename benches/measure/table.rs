//! Runs as Markdown tables.

use super::run::{Model, Run};
use super::statistics::{median, spread};
use std::collections::{BTreeMap, BTreeSet};

/// When the best total is looked at, in seconds.
const TIMES: [f64; 8] = [0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 600.0];

/// All tables.
pub fn text(runs: &[Run]) -> String {
    let mut tables = vec![summary(runs)];
    if runs.iter().any(|run| run.model == Model::Plain) {
        tables.push(beside(runs));
    }
    tables.extend([shares(runs), over_time(runs), each(runs)]);
    tables.join("\n")
}

/// A row of the table of runs.
pub fn line(run: &Run) -> String {
    let figure = |value: Option<f64>, decimals: usize| {
        value.map_or("–".to_owned(), |v| format!("{v:.decimals$}"))
    };
    format!(
        "| {} | {} | {} | {} | {} | {:.2} | {} | {} | {} | {} | {} | {} |",
        run.size,
        run.seed,
        run.model.word(),
        run.limit,
        run.status,
        run.parts.sum(),
        figure(run.total, 2),
        figure(run.bound, 2),
        figure(run.gap(), 3),
        figure(run.first_plan(), 2),
        run.nodes.map_or("–".to_owned(), |nodes| nodes.to_string()),
        figure(run.memory, 0),
    )
}

fn each(runs: &[Run]) -> String {
    let head = "### Each run\n\n\
        | circuits | seed | program | limit s | status | seconds | total | bound | gap % \
        | first plan s | nodes | memory MB |\n\
        | ---: | ---: | --- | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n";
    let rows = runs.iter().map(|run| line(run) + "\n");
    head.to_owned() + &rows.collect::<String>()
}

/// The runs of one program, by size and limit.
fn groups(runs: &[Run], model: Model) -> BTreeMap<(u64, u64), Vec<&Run>> {
    let mut groups: BTreeMap<_, Vec<&Run>> = BTreeMap::new();
    for run in runs.iter().filter(|run| run.model == model) {
        groups.entry((run.size, run.limit)).or_default().push(run);
    }
    groups
}

fn summary(runs: &[Run]) -> String {
    let mut text = "### Plans: median (worst) over the seeds\n\n\
        | circuits | limit s | proven | seconds | gap % | first plan s | nodes | memory MB |\n\
        | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n"
        .to_owned();
    for ((size, limit), runs) in groups(runs, Model::Couplet) {
        let of = |figure: fn(&Run) -> Option<f64>, decimals| {
            let values = runs.iter().filter_map(|run| figure(run)).collect();
            spread(values, runs.len(), decimals)
        };
        text += &format!(
            "| {size} | {limit} | {} of {} | {} | {} | {} | {} | {} |\n",
            runs.iter().filter(|run| run.is_proven()).count(),
            runs.len(),
            of(|run| Some(run.parts.sum()), 2),
            of(Run::gap, 3),
            of(Run::first_plan, 2),
            of(|run| run.nodes.map(|nodes| nodes as f64), 0),
            of(|run| run.memory, 0),
        );
    }
    text
}

/// The program and the plain one on the same projects.
fn beside(runs: &[Run]) -> String {
    let mut text = "### The plain program beside it, through the same layer\n\n\
        | circuits | limit s | plain: proven | plain: seconds | plain: gap % | couplet: gap % \
        | plain total above couplet's, % | times as fast |\n\
        | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n"
        .to_owned();
    let plain = groups(runs, Model::Plain);
    for ((size, limit), strong) in groups(runs, Model::Couplet) {
        let same = plain.iter().find(|((s, l), _)| *s == size && *l >= limit);
        let Some((_, plain)) = same else { continue };
        let pairs: Vec<(&Run, &Run)> = (strong.iter())
            .filter_map(|s| Some((*s, *plain.iter().find(|p| p.seed == s.seed)?)))
            .collect();
        text += &format!("| {size} | {limit} | {} |\n", pair(&pairs, limit as f64));
    }
    text
}

fn pair(pairs: &[(&Run, &Run)], limit: f64) -> String {
    let of = |values: Vec<f64>, decimals| spread(values, pairs.len(), decimals);
    let in_time = |plain: &Run| plain.is_proven() && plain.parts.sum() <= limit + 1.0;
    let above = |(strong, plain): &(&Run, &Run)| {
        let (best, other) = (strong.total?, plain.best_at(limit)?);
        Some((other / best - 1.0) * 100.0)
    };
    format!(
        "{} of {} | {} | {} | {} | {} | {}",
        pairs.iter().filter(|(_, plain)| in_time(plain)).count(),
        pairs.len(),
        of(
            pairs
                .iter()
                .map(|(_, p)| p.parts.sum().min(limit))
                .collect(),
            2
        ),
        of(
            pairs.iter().filter_map(|(_, p)| p.gap_at(limit)).collect(),
            3
        ),
        of(pairs.iter().filter_map(|(s, _)| s.gap()).collect(), 3),
        of(pairs.iter().filter_map(above).collect(), 2),
        speed(pairs),
    )
}

/// How many times as long the plain program takes where the other proves; with
/// `≥` where a plain run of these ended without a proof.
fn speed(pairs: &[(&Run, &Run)]) -> String {
    let proven = || pairs.iter().filter(|(strong, _)| strong.is_proven());
    let ratios = proven().map(|(strong, plain)| plain.parts.sum() / strong.parts.sum());
    let at_least = if proven().all(|(_, plain)| plain.is_proven()) {
        ""
    } else {
        "≥ "
    };
    median(ratios.collect()).map_or("–".to_owned(), |ratio| format!("{at_least}{ratio:.1}"))
}

fn shares(runs: &[Run]) -> String {
    let mut text = "### Where the time goes: median share in %\n\n\
        | circuits | limit s | reading | fitting | building | solving | recording and auditing |\n\
        | ---: | ---: | ---: | ---: | ---: | ---: | ---: |\n"
        .to_owned();
    for ((size, limit), runs) in groups(runs, Model::Couplet) {
        let share = |part: fn(&Run) -> f64| {
            let shares = runs.iter().map(|run| part(run) / run.parts.sum() * 100.0);
            median(shares.collect()).map_or("–".to_owned(), |share| format!("{share:.2}"))
        };
        text += &format!(
            "| {size} | {limit} | {} | {} | {} | {} | {} |\n",
            share(|run| run.parts.reading),
            share(|run| run.parts.fitting),
            share(|run| run.parts.building),
            share(|run| run.parts.solving),
            share(|run| run.parts.auditing),
        );
    }
    text
}

/// The highest bound that any run found for each project.
pub fn bounds(runs: &[Run]) -> BTreeMap<(u64, u64), f64> {
    let mut bounds = BTreeMap::new();
    for run in runs {
        let known = run.bound.filter(|b| b.is_finite() && *b > 0.0);
        let best = bounds
            .entry((run.size, run.seed))
            .or_insert(f64::NEG_INFINITY);
        *best = known.into_iter().fold(*best, f64::max);
    }
    bounds.retain(|_, bound| bound.is_finite());
    bounds
}

/// For each size and program the runs with the longest limit.
pub fn longest(runs: &[Run]) -> BTreeMap<(u64, Model), Vec<&Run>> {
    let mut longest = BTreeMap::new();
    for model in [Model::Couplet, Model::Plain] {
        for ((size, _), runs) in groups(runs, model) {
            longest.insert((size, model), runs);
        }
    }
    longest
}

fn over_time(runs: &[Run]) -> String {
    let bounds = bounds(runs);
    let longest = longest(runs);
    let most = longest.values().flatten().map(|run| run.limit).max();
    let times: Vec<f64> = (TIMES.into_iter())
        .filter(|&t| most.is_some_and(|most| t <= most as f64))
        .collect();
    let heads: String = times.iter().map(|t| format!(" {t} s |")).collect();
    let mut text = format!(
        "### Best total over time: median % above the highest bound known\n\n\
         From the run with the longest limit; a dash where some seed has no plan yet.\n\n\
         | circuits | program |{heads}\n| ---: | --- |{}\n",
        " ---: |".repeat(times.len())
    );
    for ((size, model), runs) in longest {
        let known: BTreeSet<u64> = runs.iter().map(|run| run.seed).collect();
        let cell = |&time: &f64| {
            let told = |run: &&&Run| run.is_proven() || time <= run.limit as f64;
            let above = runs.iter().filter(told).filter_map(|run| {
                let bound = bounds.get(&(run.size, run.seed))?;
                Some((run.best_at(time)? / bound - 1.0) * 100.0)
            });
            let above: Vec<f64> = above.collect();
            match (above.len() == known.len(), median(above)) {
                (true, Some(middle)) => format!(" {middle:.3} |"),
                _ => " – |".to_owned(),
            }
        };
        let cells: String = times.iter().map(cell).collect();
        text += &format!("| {size} | {} |{cells}\n", model.word());
    }
    text
}
