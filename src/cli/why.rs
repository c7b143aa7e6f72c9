//! `couplet why`.

use super::args::Why as Args;
use super::error::CliError;
use super::glue::{self, Limits};
use super::journal::Stage;
use super::output::Terminal;
use super::progress::Meter;
use super::{interrupt, record};
use couplet::catalog::PartId;
use couplet::desk::Desk;
use couplet::diag::{did_you_mean, quote};
use couplet::fit::{self, End, Fit};
use couplet::input::Input;
use couplet::model::{Progress, Set};
use couplet::plan::Plan;
use couplet::report;
use couplet::report::why::{self as words, Tried};
use couplet::report::wording::{list, plain};
use couplet::study::conflict::Pulse;
use couplet::study::recall;
use couplet::study::why::{self, Context, Forced, Place};
use std::collections::BTreeMap;
use std::time::{Duration, Instant};

/// Alternatives that are tried in each place without `--all`.
const SHOWN: usize = 3;

/// Tells why the ends of a circuit have what they have.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let desk = record::on_record(&args.project, args.plan.as_deref());
    let before = record::kept(&desk, terminal)?;
    let input = desk.sound()?;
    record::note_prices(input, terminal);
    let ends = asked(args, input)?;
    let part = args.part.as_deref().map(|code| desk.part(code));
    let part = part.transpose()?;
    let open = match part {
        Some(part) => refused(input, &ends, part, terminal)?,
        None => ends,
    };
    if open.is_empty() {
        return Ok(());
    }
    let fit = glue::fit_of(input)?;
    let plan = plan(args, &desk, before, terminal)?;
    let context = Context {
        input,
        fit: &fit,
        plan: &plan,
        time_limit: args.time_limit,
        threads: args.threads.unwrap_or_else(glue::cores),
        stop: Some(interrupt::flag()),
    };
    let mut search = Search::new(&context, terminal);
    terminal.print(&format!("{}\n", words::against(&plan)))?;
    for (end, _) in open {
        if interrupt::is_asked() {
            break;
        }
        match part {
            Some(part) => with_part(&mut search, end, part, terminal)?,
            None => alternatives(&mut search, end, args.all, terminal)?,
        }
    }
    search.meter.finish();
    if interrupt::is_asked() {
        terminal.note("stopped by Ctrl-C: what was not tried to the end is left out");
    }
    Ok(())
}

/// The ends that are asked for, with their places.
fn asked(args: &Args, input: &Input) -> Result<Vec<(usize, End)>, CliError> {
    let names: Vec<&str> = input.circuits.iter().map(|c| c.name.as_str()).collect();
    let Some(place) = names.iter().position(|name| *name == args.circuit) else {
        return Err(CliError::Usage {
            message: format!("no circuit {}", quote(&args.circuit)),
            help: did_you_mean(&args.circuit, names.iter().copied())
                .unwrap_or_else(|| format!("the circuits are {}", plain(&list(&names)))),
        });
    };
    let all: Vec<(usize, End)> = fit::ends(&input.circuits).into_iter().enumerate().collect();
    let mut ends = all;
    ends.retain(|(_, end)| end.circuit == place);
    let nets: Vec<String> = ends.iter().map(|(_, end)| quote(&end.net)).collect();
    ends.retain(|(_, end)| args.net.as_ref().is_none_or(|net| *net == end.net));
    ends.retain(|(_, end)| args.end.as_ref().is_none_or(|side| side == end.side.word()));
    if ends.is_empty() {
        let mut nets = nets;
        nets.dedup();
        return Err(CliError::Usage {
            message: "no such end takes a connector".to_owned(),
            help: match nets.as_slice() {
                [] => format!("circuit {} has no connector", quote(&args.circuit)),
                nets => format!("leave --end out; its nets are {}", list(nets)),
            },
        });
    }
    Ok(ends)
}

/// Shows the refusals; what is left are the ends that the part fits.
fn refused(
    input: &Input,
    ends: &[(usize, End)],
    part: PartId,
    terminal: &Terminal,
) -> Result<Vec<(usize, End)>, CliError> {
    let mut open = Vec::new();
    for (place, end) in ends {
        let refusals = fit::refusals(input, end, part);
        if refusals.is_empty() {
            open.push((*place, end.clone()));
        } else {
            terminal.print(&words::refused(input, end, &refusals))?;
        }
    }
    Ok(open)
}

/// The record, where it is of the project as it is now; else a new plan that
/// is not kept.
fn plan(
    args: &Args,
    desk: &Desk,
    before: Option<&Plan>,
    terminal: &Terminal,
) -> Result<Plan, CliError> {
    let input = desk.sound()?;
    if let Some(plan) = before {
        if plan.inputs == input.files {
            return Ok(plan.clone());
        }
        let path = desk.record_path();
        terminal.note(format!(
            "{} is not of the project as it is now, so this plans anew and keeps nothing",
            path.display()
        ));
    }
    let limits = Limits {
        time: args.time_limit,
        threads: args.threads,
        ..Limits::default()
    };
    let mut meter = Meter::new(&input.settings.currency, terminal);
    let plan = glue::make_plan(input, &limits, before, &mut meter);
    meter.finish();
    plan
}

/// Searches with one part forced; those of equal ends are made once.
struct Search<'a> {
    context: &'a Context<'a>,
    sets: Vec<Set>,
    known: BTreeMap<(usize, Set, couplet::catalog::Half, PartId), Forced>,
    meter: Meter,
    start: Instant,
}

impl<'a> Search<'a> {
    fn new(context: &'a Context<'a>, terminal: &Terminal) -> Self {
        let solution = recall::solution(context.input, context.fit, context.plan);
        Search {
            context,
            sets: solution.map(|s| s.sets).unwrap_or_default(),
            known: BTreeMap::new(),
            meter: Meter::new(&context.input.settings.currency, terminal),
            start: Instant::now(),
        }
    }

    fn forced(&mut self, end: usize, place: &Place, part: PartId) -> Result<Forced, CliError> {
        if interrupt::is_asked() {
            return Err(CliError::Cut);
        }
        let fit: &Fit = self.context.fit;
        let class = fit.classes.iter().position(|c| c.ends.contains(&end));
        let key = class.zip(self.sets.get(end).cloned());
        let key = key.map(|(class, set)| (class, set, place.half, part));
        if let Some(forced) = key.as_ref().and_then(|key| self.known.get(key)) {
            return Ok(forced.clone());
        }
        let code = plain(&self.context.input.catalog.part(part).code);
        let (meter, start) = (&mut self.meter, self.start);
        let doing = format!("planning with {code}");
        let mut show = |_: Progress| meter.step(Stage::Studying, &doing, start.elapsed());
        let forced = why::forced(self.context, (end, place.half, part), &mut show)?;
        self.known.extend(key.map(|key| (key, forced.clone())));
        Ok(forced)
    }

    fn places(&self, end: usize) -> Result<Vec<Place>, CliError> {
        why::places(self.context, end)
            .ok_or_else(|| CliError::Defect(vec!["the plan is not of this project".to_owned()]))
    }
}

fn alternatives(
    search: &mut Search<'_>,
    end: usize,
    all: bool,
    terminal: &Terminal,
) -> Result<(), CliError> {
    let mut tried = Vec::new();
    for place in search.places(end)? {
        let most = if all { place.others.len() } else { SHOWN };
        let mut forced = Vec::new();
        for part in place.others.iter().take(most) {
            // What is known by now is shown, not lost.
            if interrupt::is_asked() {
                break;
            }
            let one = search.forced(end, &place, *part)?;
            if interrupt::is_asked() {
                break;
            }
            forced.push(one);
        }
        tried.extend(whole(Tried { place, forced }));
    }
    let Context {
        input, fit, plan, ..
    } = search.context;
    let Some(of) = fit.ends.get(end) else {
        return Ok(());
    };
    if tried.is_empty() && interrupt::is_asked() {
        return Ok(());
    }
    let text = words::text(input, plan, (of, &tried), terminal.width);
    terminal.print(&format!("\n{text}"))
}

/// After Ctrl-C without what was not tried; nothing where that is all.
fn whole(mut tried: Tried) -> Option<Tried> {
    if interrupt::is_asked() && !tried.place.others.is_empty() {
        tried.place.others.truncate(tried.forced.len());
        return (!tried.forced.is_empty()).then_some(tried);
    }
    Some(tried)
}

/// What a part that fits an end by itself would add there.
fn with_part(
    search: &mut Search<'_>,
    end: usize,
    part: PartId,
    terminal: &Terminal,
) -> Result<(), CliError> {
    let Context {
        input, fit, plan, ..
    } = search.context;
    let Some(of) = fit.ends.get(end) else {
        return Ok(());
    };
    let kind = input.catalog.part(part).kind();
    let places = search.places(end)?;
    let mut lines = format!("\n{}\n", words::name(input, of));
    for half in fit::halves(fit, end, part) {
        if interrupt::is_asked() {
            break;
        }
        let here = places.iter().find(|p| (p.half, p.kind) == (half, kind));
        let place = here.cloned().unwrap_or(Place {
            half,
            kind,
            chosen: part,
            others: Vec::new(),
        });
        if here.is_some() && place.chosen == part {
            lines.push_str(&words::chosen(input, &place));
            continue;
        }
        let forced = match search.forced(end, &place, part)? {
            Forced::NoPlan(None) => {
                let time = search.context.time_limit.unwrap_or(glue::EXPLAIN);
                Forced::NoPlan(conflict(search, (end, half, part), time)?)
            }
            Forced::Unknown if interrupt::is_asked() => break,
            forced => forced,
        };
        lines.push_str(&words::adds(input, plan, (part, &place), &forced));
        if let Forced::NoPlan(Some(conflict)) = &forced {
            for line in report::conflict::lines(input, conflict) {
                lines.push_str(&format!("  {line}\n"));
            }
        }
    }
    terminal.print(&lines)
}

fn conflict(
    search: &mut Search<'_>,
    of: (usize, couplet::catalog::Half, PartId),
    time: Duration,
) -> Result<Option<Box<couplet::study::conflict::Conflict>>, CliError> {
    let (meter, start) = (&mut search.meter, search.start);
    let mut show = |pulse: Pulse| meter.explain(pulse, time, start.elapsed());
    Ok(why::conflict_with(search.context, of, time, &mut show)?.map(Box::new))
}
