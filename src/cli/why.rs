//! `couplet why`.

use super::args::Why as Args;
use super::glue::Job;
use super::output::Terminal;
use super::progress::Of;
use super::record;
use couplet::catalog::PartId;
use couplet::desk::Desk;
use couplet::desk::why::{At, Why};
use couplet::report;
use couplet::report::why as words;
use couplet::study::failure::Failure;
use couplet::study::why::Forced;

/// Alternatives that are tried in each place without `--all`.
const SHOWN: usize = 3;

/// Tells why the ends of a circuit have what they have.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = record::on_record(&args.project, args.plan.as_deref());
    record::kept(&desk, terminal)?;
    record::note_prices(desk.sound()?, terminal);
    let ends = desk.ends_of(&args.circuit, args.net.as_deref(), args.end.as_deref())?;
    let part = args.part.as_deref().map(|code| desk.part(code));
    let part = part.transpose()?;
    let open = match part {
        Some(part) => refused(&desk, ends, part, terminal)?,
        None => ends,
    };
    if open.is_empty() {
        return Ok(());
    }
    desk.fit()?;
    if !desk.has_plan() && desk.kept()?.plan().is_some() {
        terminal.note(format!(
            "{} is not of the {} as it is now, so the command plans anew and keeps nothing",
            desk.record_path().display(),
            desk.word()
        ));
    }
    let search = Job::new(Of::Why, &desk, args.time_limit, args.threads, terminal)?;
    let mut why = desk.why(&search.limit)?;
    terminal.print(&format!("{}\n", words::against(why.plan())))?;
    for at in open {
        if terminal.stop.is_asked() {
            break;
        }
        let most = if args.all { usize::MAX } else { SHOWN };
        match part {
            Some(part) => with_part(&desk, &mut why, &at, part, terminal)?,
            None => alternatives(&desk, &mut why, &at, most, terminal)?,
        }
    }
    search.finish();
    if terminal.stop.is_asked() {
        terminal.note("stopped by Ctrl-C: what was not tried to the end is left out");
    }
    Ok(())
}

/// Shows the refusals; what is left are the ends that the part fits.
fn refused(
    desk: &Desk,
    ends: Vec<At>,
    part: PartId,
    terminal: &Terminal,
) -> Result<Vec<At>, Failure> {
    let mut open = Vec::new();
    for at in ends {
        let refusals = desk.refusals(&at.end, part)?;
        if refusals.is_empty() {
            open.push(at);
        } else {
            terminal.print(&words::refused(desk.sound()?, &at.end, &refusals))?;
        }
    }
    Ok(open)
}

fn alternatives(
    desk: &Desk,
    why: &mut Why<'_>,
    at: &At,
    most: usize,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let tried = why.alternatives(at.place, most)?;
    if tried.is_empty() && terminal.stop.is_asked() {
        return Ok(());
    }
    let (input, width) = (desk.sound()?, terminal.width);
    let text = words::text(input, why.plan(), &at.end, &tried, width);
    terminal.print(&format!("\n{text}"))
}

/// What a part that fits an end by itself would add there.
fn with_part(
    desk: &Desk,
    why: &mut Why<'_>,
    at: &At,
    part: PartId,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let input = desk.sound()?;
    let mut lines = format!("\n{}\n", words::name(input, &at.end));
    for added in why.with_part(at.place, part)? {
        let Some(forced) = &added.forced else {
            lines.push_str(&words::chosen(input, &added.place));
            continue;
        };
        lines.push_str(&words::adds(input, why.plan(), part, &added.place, forced));
        if let Forced::NoPlan(Some(conflict)) = forced {
            for line in report::conflict::lines(input, conflict) {
                lines.push_str(&format!("  {line}\n"));
            }
        }
    }
    terminal.print(&lines)
}
