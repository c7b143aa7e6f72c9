//! `couplet why`.

use super::args::Why as Args;
use super::error::CliError;
use super::glue::{self, Instead};
use super::journal::Stage;
use super::output::Terminal;
use super::progress::Meter;
use super::record;
use couplet::catalog::PartId;
use couplet::desk;
use couplet::diag::{did_you_mean, quote};
use couplet::fit::{self, End, Fit};
use couplet::input::Input;
use couplet::limit::{Doing, Limit, Stop};
use couplet::model::Set;
use couplet::plan::Plan;
use couplet::report;
use couplet::report::why::{self as words, Tried};
use couplet::report::wording::{list, plain};
use couplet::solve::Solver;
use couplet::study::recall;
use couplet::study::why::{self, Forced, Forcing, Place, Planned};
use std::collections::BTreeMap;

/// Alternatives that are tried in each place without `--all`.
const SHOWN: usize = 3;

/// Tells why the ends of a circuit have what they have.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let (input, before) = read(args, terminal)?;
    let ends = asked(args, &input)?;
    let part = args.part.as_deref().map(|code| part(&input, code));
    let part = part.transpose()?;
    let open = match part {
        Some(part) => refused(&input, &ends, part, terminal)?,
        None => ends,
    };
    if open.is_empty() {
        return Ok(());
    }
    let fit = fit::fit(&input).map_err(|none| CliError::NoSet(none.to_string()))?;
    let plan = plan(args, &input, before, terminal)?;
    let planned = Planned {
        input: &input,
        fit: &fit,
        plan: &plan,
    };
    let limit = glue::limit(args.time_limit, args.threads, terminal);
    let mut search = Search::new(planned, &limit, terminal);
    terminal.print(&format!("{}\n", words::against(&plan)))?;
    for (end, _) in open {
        if terminal.stop.is_asked() {
            break;
        }
        match part {
            Some(part) => with_part(&mut search, end, part, terminal)?,
            None => alternatives(&mut search, end, args.all, terminal)?,
        }
    }
    search.meter.finish();
    if terminal.stop.is_asked() {
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

fn part(input: &Input, code: &str) -> Result<PartId, CliError> {
    input.catalog.find(code).ok_or_else(|| CliError::Usage {
        message: format!("no part {}", quote(code)),
        help: did_you_mean(code, input.catalog.parts.iter().map(|p| p.code.as_str()))
            .unwrap_or_else(|| "couplet parts shows the parts of the catalog".to_owned()),
    })
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

/// The project as it is now, and the record that there is.
fn read(args: &Args, terminal: &Terminal) -> Result<(Input, Option<Plan>), CliError> {
    let named = args.plan.as_deref();
    let before = record::kept(&args.project, named, terminal)?;
    let prices = before.as_ref();
    let instead = Instead {
        prices: prices.and_then(|plan| desk::record::prices_of(&args.project, plan)),
        as_of: None,
    };
    match glue::load(&args.project, &instead) {
        (Some(input), findings) if !findings.has_errors() => {
            record::note_prices(&input, terminal);
            Ok((input, before))
        }
        (_, findings) => Err(CliError::Input(findings)),
    }
}

/// The record, where it is of the project as it is now; else a new plan that
/// is not kept.
fn plan(
    args: &Args,
    input: &Input,
    before: Option<Plan>,
    terminal: &Terminal,
) -> Result<Plan, CliError> {
    if let Some(plan) = &before {
        if plan.inputs == input.files {
            return Ok(plan.clone());
        }
        let path = desk::record::path_of(&args.project, args.plan.as_deref());
        terminal.note(format!(
            "{} is not of the project as it is now, so this plans anew and keeps nothing",
            path.display()
        ));
    }
    let limit = glue::limit(args.time_limit, args.threads, terminal);
    let meter = Meter::new(&input.settings.currency, terminal);
    let solver = Solver::default();
    let plan = glue::make_plan(input, &limit, &solver, before.as_ref(), &meter);
    meter.finish();
    plan
}

/// Searches with one part forced; those of equal ends are made once.
struct Search<'a> {
    planned: Planned<'a>,
    /// For each search anew; the meter hears of it.
    limit: Limit,
    sets: Vec<Set>,
    known: BTreeMap<(usize, Set, couplet::catalog::Half, PartId), Forced>,
    meter: Meter,
}

impl<'a> Search<'a> {
    fn new(planned: Planned<'a>, limit: &Limit, terminal: &Terminal) -> Self {
        let solution = recall::solution(planned.input, planned.fit, planned.plan);
        let meter = Meter::new(&planned.input.settings.currency, terminal);
        let (shown, at_most) = (meter.clone(), glue::to_explain(limit).1);
        let limit = limit
            .doing(Doing::Studying)
            .told_to(move |now| match now.doing {
                Doing::Narrowing | Doing::Easing => shown.explain(now, at_most),
                Doing::Planning | Doing::Studying => {
                    shown.step(Stage::Studying, &now.about, now.elapsed);
                }
            });
        Search {
            planned,
            limit,
            sets: solution.map(|s| s.sets).unwrap_or_default(),
            known: BTreeMap::new(),
            meter,
        }
    }

    fn forced(&mut self, end: usize, place: &Place, part: PartId) -> Result<Forced, CliError> {
        if self.limit.stop.is_asked() {
            return Err(CliError::Cut);
        }
        let fit: &Fit = self.planned.fit;
        let class = fit.classes.iter().position(|c| c.ends.contains(&end));
        let key = class.zip(self.sets.get(end).cloned());
        let key = key.map(|(class, set)| (class, set, place.half, part));
        if let Some(forced) = key.as_ref().and_then(|key| self.known.get(key)) {
            return Ok(forced.clone());
        }
        let code = plain(&self.planned.input.catalog.part(part).code);
        self.limit.begins(&format!("planning with {code}"));
        let with = Forcing {
            end,
            half: place.half,
            part,
        };
        let forced = why::forced(&self.planned, with, &self.limit)?;
        self.known.extend(key.map(|key| (key, forced.clone())));
        Ok(forced)
    }

    fn places(&self, end: usize) -> Result<Vec<Place>, CliError> {
        why::places(&self.planned, end)
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
            if search.limit.stop.is_asked() {
                break;
            }
            let one = search.forced(end, &place, *part)?;
            if search.limit.stop.is_asked() {
                break;
            }
            forced.push(one);
        }
        tried.extend(whole(Tried { place, forced }, &search.limit.stop));
    }
    let Planned { input, fit, plan } = search.planned;
    let Some(of) = fit.ends.get(end) else {
        return Ok(());
    };
    if tried.is_empty() && search.limit.stop.is_asked() {
        return Ok(());
    }
    let text = words::text(input, plan, (of, &tried), terminal.width);
    terminal.print(&format!("\n{text}"))
}

/// After Ctrl-C without what was not tried; nothing where that is all.
fn whole(mut tried: Tried, stop: &Stop) -> Option<Tried> {
    if stop.is_asked() && !tried.place.others.is_empty() {
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
    let Planned { input, fit, plan } = search.planned;
    let Some(of) = fit.ends.get(end) else {
        return Ok(());
    };
    let kind = input.catalog.part(part).kind();
    let places = search.places(end)?;
    let mut lines = format!("\n{}\n", words::name(input, of));
    for half in fit::halves(fit, end, part) {
        if search.limit.stop.is_asked() {
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
                let (limit, _) = glue::to_explain(&search.limit);
                let found =
                    why::conflict_with(&search.planned, Forcing { end, half, part }, &limit)?;
                Forced::NoPlan(found.map(Box::new))
            }
            Forced::Unknown if search.limit.stop.is_asked() => break,
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
