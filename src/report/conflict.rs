//! A conflict in the user's words: what cannot hold together, with numbers and
//! rows, and for each limit the smallest change that helps.

use super::wording::{counted, list, plain};
use crate::catalog::{OfferId, PartId, SupplierId};
use crate::diag::Row;
use crate::fit::{Identity, Side};
use crate::input::Input;
use crate::limit::{Doing, Progress};
use crate::project::Terminal;
use crate::study::conflict::{Change, Conflict, Easing, Group, Member, Shortage, Took};
use std::collections::BTreeSet;
use std::time::Duration;

/// The conflict as lines, indented by two spaces a level.
pub fn lines(input: &Input, conflict: &Conflict) -> Vec<String> {
    if conflict.members.is_empty() {
        return vec!["none of the limits that can be changed stands in the way".to_owned()];
    }
    let mut lines = vec![heading(conflict)];
    for member in &conflict.members {
        lines.push(format!("  {}", fact(input, conflict, &member.group)));
        lines.push(format!("    {}", help(input, conflict, member)));
    }
    lines.push(proof(conflict));
    lines.push(took(conflict.took));
    lines
}

fn heading(conflict: &Conflict) -> String {
    match conflict.members.len() {
        1 => "this alone leaves no plan:".to_owned(),
        2 => "these two cannot both hold:".to_owned(),
        n => format!("these {n} cannot all hold:"),
    }
}

fn proof(conflict: &Conflict) -> String {
    match (conflict.is_minimal, conflict.members.len()) {
        (true, 1) => "proven: it alone rules every plan out".to_owned(),
        (true, _) => "proven: leave out any one of them and the others can hold".to_owned(),
        (false, _) => format!(
            "not proven smallest: {}, so perhaps not all of this is needed",
            ended(conflict)
        ),
    }
}

/// What ended a search that was not through.
fn ended(conflict: &Conflict) -> &'static str {
    match conflict.took.is_stopped {
        true => "the search was stopped",
        false => "the time ran out",
    }
}

/// `searched 3 s, 14 trials`.
pub fn took(took: Took) -> String {
    let seconds = took.elapsed.as_secs_f64();
    format!(
        "looked for it for {seconds:.1} s, in {}",
        counted(took.trials as u64, "trial")
    )
}

/// What a search for a conflict is at, and when it ends at the latest:
/// `no plan holds all limits; looking for the smallest conflict: group 4 of 17,
/// trial 9, 60 s at most`.
pub fn progress(progress: &Progress, at_most: Duration) -> String {
    let (done, of) = progress.done.unwrap_or_default();
    let now = done + 1;
    let doing = match progress.doing {
        Doing::Easing => format!("the smallest change that helps: limit {now} of {of}"),
        _ => format!("the smallest conflict: group {now} of {of}"),
    };
    format!(
        "no plan holds all limits; looking for {doing}, trial {}, {} s at most",
        progress.solves,
        at_most.as_secs()
    )
}

/// The limit with its numbers and rows.
fn fact(input: &Input, conflict: &Conflict, group: &Group) -> String {
    let settings = &input.settings;
    let number = |n: Option<u32>| n.unwrap_or(0);
    match group {
        Group::Stock(part, supplier) => stock(input, conflict, *part, *supplier),
        Group::OnHand(part) => {
            let qty = input.on_hand.get(part).copied().unwrap_or(0);
            let need = needed(conflict, *part);
            let there = match input.on_order(*part) {
                0 => format!("{qty} on hand and"),
                ordered => format!("{qty} on hand, {ordered} ordered and"),
            };
            let part = code(input, *part);
            format!("{part}: {there} no offer in the price list{need}")
        }
        Group::MinOrder(supplier) => min_order(input, conflict, *supplier),
        Group::KeyingAt(at) => keying(input, conflict, Some(at)),
        Group::KeyingEverywhere => keying(input, conflict, None),
        Group::MaxVariants => {
            let most = number(settings.max_variants);
            let parts = conflict.shortages.iter().find_map(|s| match s {
                Shortage::Variants { parts } => Some(parts.iter().map(|p| code(input, *p))),
                _ => None,
            });
            let need = parts.map(|parts| {
                let parts: Vec<String> = parts.collect();
                format!(
                    ", but {} cannot be done without: {}",
                    counted(parts.len() as u64, "part"),
                    list(&parts)
                )
            });
            let at = place(&settings.rows.max_variants);
            format!("max_variants = {most}{at}{}", need.unwrap_or_default())
        }
        Group::MaxSuppliers => max_suppliers(input, conflict),
        Group::LeadTime => lead_time(input),
        Group::ExcludePart(part) => {
            let part = input.catalog.part(*part);
            let at = rows_of([settings.rows.exclude_parts.get(&part.code), Some(&part.row)]);
            format!("exclude_parts leaves out {} ({at})", plain(&part.code))
        }
        Group::ExcludeSupplier(supplier) => {
            let of = input.catalog.supplier(*supplier);
            let named = settings.rows.exclude_suppliers.get(&of.name);
            let at = rows_of([named, Some(&of.row)]);
            format!("exclude_suppliers leaves out {} ({at})", plain(&of.name))
        }
        Group::Pin(circuit, side) => pin(input, *circuit, *side),
    }
}

/// ` (project.toml:12)`; nothing where it is not known.
fn place(row: &Option<Row>) -> String {
    row.as_ref()
        .map_or(String::new(), |row| format!(" ({row})"))
}

/// `project.toml:12, bodies.csv:3`.
fn rows_of(rows: [Option<&Row>; 2]) -> String {
    let rows: Vec<String> = rows
        .into_iter()
        .flatten()
        .map(ToString::to_string)
        .collect();
    rows.join(", ")
}

/// What of it would help.
fn help(input: &Input, conflict: &Conflict, member: &Member) -> String {
    let Easing::Found {
        change,
        is_enough,
        is_least,
    } = &member.easing
    else {
        return match conflict.took.is_stopped {
            true => "what would help was not found before the search was stopped".to_owned(),
            false => "what would help was not found in time".to_owned(),
        };
    };
    let mut text = format!("would help: {}", cure(input, &member.group, change));
    if !is_least {
        text.push_str(&format!(" ({}: less may do)", ended(conflict)));
    }
    if !is_enough {
        text.push_str(" (settles this conflict; there is another)");
    }
    text
}

fn cure(input: &Input, group: &Group, change: &Change) -> String {
    let settings = &input.settings;
    let now = |n: Option<u32>| n.unwrap_or(0);
    match (group, change) {
        (Group::KeyingAt(at), Change::Keys { interface, more }) => format!(
            "{} of {} that fits at {at}, or {at} in keying.ignore_at",
            counted(*more as u64, "more key"),
            plain(interface),
            at = plain(at),
        ),
        (Group::KeyingAt(at), _) => format!("{} in keying.ignore_at", plain(at)),
        (Group::KeyingEverywhere, Change::Keys { interface, more }) => format!(
            "{} of {}, or keying.distinct = \"by-location\"",
            counted(*more as u64, "more key"),
            plain(interface)
        ),
        (Group::KeyingEverywhere, _) => "keying.distinct = \"by-location\"".to_owned(),
        (Group::Stock(part, supplier), Change::Pieces(qty)) => format!(
            "{qty} of {} in stock at {}",
            code(input, *part),
            seller(input, *supplier)
        ),
        (Group::OnHand(part), Change::Pieces(qty)) => {
            format!("{qty} of {} on hand", code(input, *part))
        }
        (Group::MinOrder(supplier), Change::Least(least)) => format!(
            "a least order of {least} {}",
            input.catalog.supplier(*supplier).currency
        ),
        (Group::MaxVariants, Change::Number(n)) => {
            format!(
                "max_variants = {n} instead of {}",
                now(settings.max_variants)
            )
        }
        (Group::MaxSuppliers, Change::Number(n)) => {
            format!(
                "max_suppliers = {n} instead of {}",
                now(settings.max_suppliers)
            )
        }
        (_, Change::Number(n)) => {
            format!(
                "max_lead_days = {n} instead of {}",
                now(settings.max_lead_days)
            )
        }
        (Group::ExcludePart(part), _) => format!("{} out of exclude_parts", code(input, *part)),
        (Group::ExcludeSupplier(s), _) => format!("{} out of exclude_suppliers", seller(input, *s)),
        (Group::Pin(_, side), Change::Key(Some(key))) => {
            format!("{}_key = {}, or empty", side.word(), plain(key))
        }
        (Group::Pin(_, side), _) => format!("{}_key left empty", side.word()),
        (_, _) => "this limit lifted".to_owned(),
    }
}

fn code(input: &Input, part: PartId) -> String {
    plain(&input.catalog.part(part).code)
}

fn seller(input: &Input, supplier: SupplierId) -> String {
    plain(&input.catalog.supplier(supplier).name)
}

fn stock(input: &Input, conflict: &Conflict, part: PartId, supplier: SupplierId) -> String {
    let mut offers = input.catalog.offers_of(part);
    let offer = offers.find(|(_, offer)| offer.supplier == supplier);
    let (qty, row) = offer.map_or((0, String::new()), |(_, offer)| {
        let row = offer.breaks.first().map(|b| format!(" ({})", b.row));
        (offer.stock.unwrap_or(0), row.unwrap_or_default())
    });
    let need = needed(conflict, part);
    format!(
        "stock of {} at {}: {qty}{row}{need}",
        code(input, part),
        seller(input, supplier)
    )
}

/// `; 12 are needed, 8 can be had`.
fn needed(conflict: &Conflict, of: PartId) -> String {
    let short = conflict.shortages.iter().find_map(|s| match s {
        Shortage::Part { part, need, have } if *part == of => Some((need, have)),
        _ => None,
    });
    short.map_or(String::new(), |(need, have)| {
        format!("; {need} are needed, spares included, and {have} can be had")
    })
}

fn min_order(input: &Input, conflict: &Conflict, of: SupplierId) -> String {
    let supplier = input.catalog.supplier(of);
    let least = supplier.min_order.unwrap_or_default();
    let currency = &supplier.currency;
    let most = conflict.shortages.iter().find_map(|s| match s {
        Shortage::Goods {
            supplier,
            part,
            most,
        } if *supplier == of => Some((part, most)),
        _ => None,
    });
    let most = most.map_or(String::new(), |(part, most)| {
        format!(
            "; {} is sold there alone, and all that can be bought there comes to {most} {currency}",
            code(input, *part)
        )
    });
    format!(
        "least order of {}: {least} {currency} ({}){most}",
        seller(input, of),
        supplier.row
    )
}

fn keying(input: &Input, conflict: &Conflict, at: Option<&String>) -> String {
    let title = match at {
        Some(at) => format!("keying at {}", plain(at)),
        None => {
            let at = place(&input.settings.rows.distinct);
            format!("keying.distinct = \"everywhere\"{at}")
        }
    };
    let short = conflict.shortages.iter().find_map(|s| match s {
        Shortage::Keys {
            location,
            nets,
            keys,
        } if location.as_ref() == at => Some((nets, keys)),
        _ => None,
    });
    let Some((nets, keys)) = short else {
        let nets: BTreeSet<&str> = conflict
            .fit
            .ends
            .iter()
            .filter(|end| at.is_none_or(|at| end.location == *at))
            .map(|end| end.net.as_str())
            .collect();
        let nets: Vec<String> = nets.into_iter().map(plain).collect();
        let rows = rows(input, conflict, at, &nets);
        let verb = if nets.len() == 1 { "shares" } else { "share" };
        return format!(
            "{title}: {} ({rows}) never {verb} interface and key",
            list(&nets)
        );
    };
    let keys: Vec<String> = keys
        .iter()
        .filter_map(|&i| conflict.fit.identities.get(i))
        .map(name)
        .collect();
    let nets: Vec<String> = nets.iter().map(|n| plain(n)).collect();
    let rows = rows(input, conflict, at, &nets);
    format!(
        "{title}: {} ({}; {rows}) need {}, but only {} ({})",
        counted(nets.len() as u64, "net"),
        list(&nets),
        counted(nets.len() as u64, "key"),
        match keys.len() {
            1 => "1 fits".to_owned(),
            n => format!("{n} fit"),
        },
        list(&keys),
    )
}

fn name(identity: &Identity) -> String {
    plain(format!("{} {}", identity.interface, identity.key).trim())
}

/// Rows of the circuits that bring these nets there.
fn rows(input: &Input, conflict: &Conflict, at: Option<&String>, nets: &[String]) -> String {
    let ends = conflict.fit.ends.iter();
    let rows: BTreeSet<_> = ends
        .filter(|end| at.is_none_or(|at| end.location == *at) && nets.contains(&plain(&end.net)))
        .filter_map(|end| input.circuits.get(end.circuit))
        .map(|circuit| &circuit.row)
        .collect();
    let rows: Vec<String> = rows.into_iter().map(ToString::to_string).collect();
    list(&rows)
}

fn max_suppliers(input: &Input, conflict: &Conflict) -> String {
    let most = input.settings.max_suppliers.unwrap_or(0);
    let sellers = conflict.shortages.iter().find_map(|s| match s {
        Shortage::Suppliers { sellers } => Some(sellers),
        _ => None,
    });
    let need = sellers.map_or(String::new(), |sellers| {
        let sellers: Vec<String> = sellers
            .iter()
            .map(|(s, p)| format!("{} from {}", code(input, *p), seller(input, *s)))
            .collect();
        format!(", but there is no other way than {}", list(&sellers))
    });
    let at = place(&input.settings.rows.max_suppliers);
    format!("max_suppliers = {most}{at}{need}")
}

fn lead_time(input: &Input) -> String {
    let limit = input.settings.max_lead_days.unwrap_or(0);
    let slow = |id: &OfferId| {
        input
            .catalog
            .offer(*id)
            .lead_days
            .is_some_and(|d| d > limit)
    };
    let count = (0..input.catalog.offers.len() as u32)
        .map(OfferId)
        .filter(slow)
        .count();
    let offers = counted(count as u64, "offer");
    let at = place(&input.settings.rows.max_lead_days);
    format!("max_lead_days = {limit}{at} leaves out {offers}")
}

fn pin(input: &Input, place: usize, side: Side) -> String {
    let Some(circuit) = input.circuits.get(place) else {
        return String::new();
    };
    let terminal: &Terminal = match side {
        Side::From => &circuit.from,
        Side::To => &circuit.to,
    };
    format!(
        "{}_key of circuit {} at {}: {} ({})",
        side.word(),
        plain(&circuit.name),
        plain(&terminal.location),
        plain(terminal.key.as_deref().unwrap_or_default()),
        circuit.row
    )
}
