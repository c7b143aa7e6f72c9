//! Why an end has what it has, in words.

use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::catalog::{Half, Kind, PartId};
use crate::fit::{End, Refusal};
use crate::input::Input;
use crate::plan::{Cost, Plan, Status};
use crate::study::why::{Forced, Place, Tie, Tried};
use crate::units::Money;

/// `traction, HV+, from end at pack`; where the machine is built several times, an
/// alternative is for all copies: `boat/traction, HV+, from end at pack, in 3 copies`.
pub fn name(input: &Input, end: &End) -> String {
    let circuit = input.circuits.get(end.circuit);
    let circuit = circuit.map_or("", |circuit| circuit.name.as_str());
    let copies = match end.copies {
        1 => String::new(),
        copies => format!(", in {copies} copies"),
    };
    plain(&format!(
        "{circuit}, {}, {} end at {}{copies}",
        end.net,
        end.side.word(),
        end.location
    ))
}

/// `: the device has its receptacle built in (F A)`, at such an end.
fn built_in(end: &End) -> String {
    if !end.is_built_in() {
        return String::new();
    }
    let words = [end.interface.as_deref(), end.key.as_deref()];
    let words: Vec<&str> = words.into_iter().flatten().collect();
    plain(&format!(
        ": the device has its receptacle built in ({})",
        words.join(" ")
    ))
}

/// The plan that alternatives are held against, in one line.
pub fn against(plan: &Plan) -> String {
    let proven = match plan.status {
        Status::Optimal => "proven cheapest",
        Status::WithinGap | Status::TimeLimit => {
            "not proven cheapest, so an alternative may be cheaper"
        }
    };
    format!(
        "against the plan of {} {}, {proven}",
        plan.cost.total.cents(),
        plan.currency
    )
}

/// All places of one end with the alternatives that were tried.
pub fn text(input: &Input, plan: &Plan, end: &End, tried: &[Tried], width: usize) -> String {
    let mut text = format!("{}{}\n", name(input, end), built_in(end));
    text.push_str(&of_one_end(input, plan, end, tried).text(width));
    for one in tried {
        let untried = one.place.others.len() - one.forced.len().min(one.place.others.len());
        if untried > 0 {
            let line = format!(
                "--all also tries {} with higher unit prices for the {}",
                counted(untried as u64, "part"),
                place(&one.place)
            );
            text.push_str(&(wrapped(&line, width, "", "  ") + "\n"));
        }
    }
    text
}

/// Columns that a text for one end does not need.
const OF_END: usize = 3;

fn of_one_end(input: &Input, plan: &Plan, end: &End, tried: &[Tried]) -> Table {
    let mut table = Table::new(COLUMNS.get(OF_END..).unwrap_or(&COLUMNS));
    for row in all_rows(input, plan, &[(end, tried)]) {
        table.row(row.into_iter().skip(OF_END).collect());
    }
    table
}

const COLUMNS: [Column; 8] = [
    Column::text("circuit"),
    Column::text("net"),
    Column::text("end"),
    Column::text("place"),
    Column::text("chosen"),
    Column::text("alternative"),
    Column::number("adds"),
    Column::text("why"),
];

/// One row for each alternative that was tried, and one for a place without any.
pub fn table(input: &Input, plan: &Plan, ends: &[(&End, &[Tried])]) -> Table {
    let mut table = Table::new(&COLUMNS);
    for row in all_rows(input, plan, ends) {
        table.row(row);
    }
    table
}

fn all_rows(input: &Input, plan: &Plan, ends: &[(&End, &[Tried])]) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for (end, tried) in ends {
        let circuit = input.circuits.get(end.circuit);
        let circuit = circuit.map_or("", |circuit| circuit.name.as_str());
        for one in *tried {
            let start = [circuit, &end.net, end.side.word()].map(str::to_owned);
            let code = |part| input.catalog.part(part).code.clone();
            let place = [place(&one.place), code(one.place.chosen)];
            let row = |rest: [String; 3]| start.iter().chain(&place).cloned().chain(rest).collect();
            if one.place.others.is_empty() {
                let only = left_out(input, &one.place);
                rows.push(row([String::new(), String::new(), only]));
            }
            for (part, forced) in one.place.others.iter().zip(&one.forced) {
                let adds = match forced {
                    Forced::Costs { extra, .. } => signed(*extra),
                    Forced::NoPlan(_) | Forced::Unknown => String::new(),
                };
                rows.push(row([code(*part), adds, why(plan, forced)]));
            }
        }
    }
    rows
}

/// So many excluded parts are named.
const LEFT_OUT: usize = 3;

/// Why a place has no other part: `C10-RA would fit, but boat/project.toml:5 excludes it`.
fn left_out(input: &Input, place: &Place) -> String {
    if place.left_out.is_empty() {
        return "nothing else fits there".to_owned();
    }
    let told = place.left_out.iter().take(LEFT_OUT).map(|of| {
        let code = plain(&input.catalog.part(of.part).code);
        format!("{code} would fit, but {} excludes it", of.row)
    });
    let more = place.left_out.len().saturating_sub(LEFT_OUT);
    let more = (more > 0).then(|| format!("and {more} more are excluded"));
    told.chain(more).collect::<Vec<_>>().join("; ")
}

/// `plug`, `seal of the plug`.
fn place(place: &Place) -> String {
    let kind = match place.kind {
        Kind::BackShell => "back shell",
        kind => kind.word(),
    };
    match (place.kind, place.half) {
        (Kind::Plug | Kind::Receptacle, _) => kind.to_owned(),
        (_, Half::Plug) => kind.to_owned(),
        (_, Half::Receptacle) => format!("{kind} of the receptacle"),
    }
}

/// What an alternative comes to, without its amount.
pub fn why(plan: &Plan, forced: &Forced) -> String {
    match forced {
        Forced::Costs {
            cost, proven, tie, ..
        } => {
            let mut text = match tie {
                Some(tie) => format!("as cheap, but {}", tied(*tie, plan)),
                None => terms(&plan.cost, cost),
            };
            if !proven {
                text.push_str(" (not proven)");
            }
            text
        }
        Forced::NoPlan(_) => "no plan has the part there".to_owned(),
        Forced::Unknown => "the time ran out before a plan with the part was found".to_owned(),
    }
}

fn tied(tie: Tie, plan: &Plan) -> String {
    match tie {
        Tie::Variants(more) => format!("has {}", counted(more as u64, "more variant")),
        Tie::Keys(more) => format!("nets have {} to remember", counted(more as u64, "more key")),
        Tie::Surplus(more) => {
            format!("has {} {} more in surplus", more.cents(), plan.currency)
        }
        Tie::Codes => "comes later by part code".to_owned(),
    }
}

/// `goods +4.00, shipping -2.00`: the terms that differ, in exact amounts.
fn terms(ours: &Cost, theirs: &Cost) -> String {
    let both = ours.terms().into_iter().zip(theirs.terms());
    let terms: Vec<String> = both
        .filter(|((_, ours), (_, theirs))| ours != theirs)
        .map(|((name, ours), (_, theirs))| format!("{name} {}", signed(theirs - ours)))
        .collect();
    terms.join(", ")
}

/// An amount with its sign, to the cent as all amounts.
fn signed(amount: Money) -> String {
    let amount = amount.cents();
    match amount.is_positive() {
        true => format!("+{amount}"),
        false => amount.to_string(),
    }
}

/// Every rule that refuses a part at an end, one line each.
pub fn refused(input: &Input, end: &End, refusals: &[Refusal]) -> String {
    // A rule may stand there twice: a part alone, and a part with its mates.
    let mut rules: Vec<&str> = refusals.iter().map(|r| r.rule.name()).collect();
    rules.dedup();
    let mut text = format!("{}: refused by {}\n", name(input, end), list(&rules));
    for refusal in refusals {
        text.push_str(&format!(
            "  {}: {}\n",
            refusal.rule,
            plain(&refusal.sentence())
        ));
    }
    text
}

/// Says that a part is what the plan has there.
pub fn chosen(input: &Input, of: &Place) -> String {
    let code = plain(&input.catalog.part(of.chosen).code);
    format!("  {}: {code} is what the plan has there\n", place(of))
}

/// What a part that fits adds in a place.
pub fn adds(input: &Input, plan: &Plan, part: PartId, of: &Place, forced: &Forced) -> String {
    let code = plain(&input.catalog.part(part).code);
    let place = place(of);
    let why = why(plan, forced);
    match forced {
        Forced::Costs { extra, .. } => {
            let (extra, currency) = (signed(*extra), &plan.currency);
            format!("  {place}: {code} fits and adds {extra} {currency}: {why}\n")
        }
        Forced::NoPlan(_) => {
            format!("  {place}: {code} fits by itself, but no plan has it there\n")
        }
        Forced::Unknown => format!("  {place}: {code} fits by itself; {why}\n"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_part_adds_is_told_to_the_cent() {
        for (amount, shown) in [
            ("78.531156", "+78.53"),
            ("0.005", "+0.01"),
            ("0.004", "0.00"),
            ("0", "0.00"),
            ("-0.125", "-0.13"),
        ] {
            assert_eq!(signed(Money(amount.parse().unwrap())), shown);
        }
    }
}
