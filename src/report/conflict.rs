//! A conflict in the user's words: what cannot hold together, with numbers and
//! rows, and for each limit the smallest change that helps.

use super::keys::feed;
use super::wording::{counted, list, plain};
use crate::catalog::{OfferId, PartId, SupplierId};
use crate::diag::{Row, joined};
use crate::fit::{Identity, Side};
use crate::input::Input;
use crate::limit::{Doing, Progress};
use crate::project::{Circuit, Terminal, circuit_name};
use crate::study::conflict::{Change, Conflict, Easing, Group, Member, Shortage, Took};
use crate::study::feed::Feed;
use std::collections::{BTreeMap, BTreeSet};
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
        1 => "this limit alone leaves no plan:".to_owned(),
        2 => "these two limits cannot both hold:".to_owned(),
        n => format!("these {n} limits cannot all hold:"),
    }
}

fn proof(conflict: &Conflict) -> String {
    match (conflict.is_minimal, conflict.members.len()) {
        (true, 1) => "proven: this limit alone rules every plan out".to_owned(),
        (true, _) => "proven: leave out any one of these limits and the others can hold".to_owned(),
        (false, _) => format!(
            "not proven smallest: {}, so perhaps not all of these limits are needed",
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

/// `searched for 3.0 s, in 14 trials`.
pub fn took(took: Took) -> String {
    let seconds = took.elapsed.as_secs_f64();
    format!(
        "searched for {seconds:.1} s, in {}",
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
        Group::Stock(offer) => stock(input, conflict, *offer),
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
        Group::KeyingAt(machine, at) => keying(input, conflict, *machine, Some(at)),
        Group::KeyingEverywhere(machine) => keying(input, conflict, *machine, None),
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
        Group::ExcludePart(machine, part) => {
            let part = input.catalog.part(*part);
            let (settings, of) = match machine {
                Some(machine) => (input.rules(*machine), of_machine(input, *machine)),
                None => (settings, String::new()),
            };
            let at = rows_of([settings.rows.exclude_parts.get(&part.code), Some(&part.row)]);
            format!("exclude_parts{of} leaves out {} ({at})", plain(&part.code))
        }
        Group::ExcludeSupplier(supplier) => {
            let of = input.catalog.supplier(*supplier);
            let named = settings.rows.exclude_suppliers.get(&of.name);
            let at = rows_of([named, Some(&of.row)]);
            format!("exclude_suppliers leaves out {} ({at})", plain(&of.name))
        }
        Group::NetKeys(machine, net) => {
            let settings = input.rules(*machine);
            let of = of_machine(input, *machine);
            let keys: Vec<&String> = settings
                .keying
                .keys
                .get(net)
                .into_iter()
                .flatten()
                .collect();
            let at = place(&settings.rows.net_keys.get(net).cloned());
            plain(&format!(
                "net {net}{of} keeps to key {}{at}",
                joined(&keys, "or")
            ))
        }
        Group::Face(circuit, side) => {
            wish(input, *circuit, *side, "interface", |end| &end.interface)
        }
        Group::Pin(circuit, side) => wish(input, *circuit, *side, "key", |end| &end.key),
    }
}

/// ` of ferry`: the machine, and all of the same project; nothing in a project.
fn of_machine(input: &Input, machine: usize) -> String {
    let machines = input.sharing(machine).into_iter();
    let names: Vec<&str> = machines.filter_map(|of| input.machine_name(of)).collect();
    match names.is_empty() {
        true => String::new(),
        false => plain(&format!(" of {}", list(&names))),
    }
}

/// `circuit pump`; where machines have one project, that of each of them.
fn circuits(input: &Input, circuit: &Circuit) -> String {
    let own = circuit.own_name(&input.machines);
    let machines = input.sharing(circuit.machine).into_iter();
    let machines = machines.filter_map(|of| input.machine_name(of));
    let names: Vec<String> = machines.map(|of| circuit_name(of, own)).collect();
    match names.len() {
        0 | 1 => format!("circuit {}", circuit.name),
        _ => format!("circuits {}", list(&names)),
    }
}

/// ` (project.toml:12)`; nothing where the row is not known.
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

/// What change of the limit would help.
fn help(input: &Input, conflict: &Conflict, member: &Member) -> String {
    let Easing::Found {
        change,
        is_enough,
        is_least,
    } = &member.easing
    else {
        return match (&member.easing, conflict.took.is_stopped) {
            (Easing::Elsewhere, _) => {
                "more keys do not help here; ease another of these limits".to_owned()
            }
            (_, true) => "what would help was not found before the search was stopped".to_owned(),
            (_, false) => "what would help was not found in time".to_owned(),
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
        (Group::KeyingAt(machine, at), change) => keys_at(input, *machine, at, change),
        (Group::KeyingEverywhere(machine), change) => keys_everywhere(input, *machine, change),
        (Group::Stock(offer), Change::Pieces(qty)) => {
            format!(
                "{qty} of {}",
                offered(input, *offer, |code, at| format!("{code} in stock at {at}"))
            )
        }
        (Group::NetKeys(machine, net), Change::NetKeys(more)) => {
            let word = if more.len() == 1 { "key" } else { "keys" };
            plain(&format!(
                "{word} {} as well in keying.keys of {net}{}",
                list(more),
                of_machine(input, *machine)
            ))
        }
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
        (Group::ExcludePart(machine, part), _) => format!(
            "{} out of exclude_parts{}",
            code(input, *part),
            machine.map_or_else(String::new, |machine| of_machine(input, machine))
        ),
        (Group::ExcludeSupplier(s), _) => format!("{} out of exclude_suppliers", seller(input, *s)),
        (Group::Face(_, side), Change::Face(Some(face))) => {
            format!("{}_interface = {}, or empty", side.word(), plain(face))
        }
        (Group::Face(_, side), _) => format!("{}_interface left empty", side.word()),
        (Group::Pin(_, side), Change::Key(Some(key))) => {
            format!("{}_key = {}, or empty", side.word(), plain(key))
        }
        (Group::Pin(_, side), _) => format!("{}_key left empty", side.word()),
        (_, _) => "this limit lifted".to_owned(),
    }
}

/// Interface, how many more keys, and the lists that need them too.
fn more_keys(change: &Change, of: &str) -> Option<(String, String, String)> {
    let Change::Keys {
        interface,
        more,
        nets,
    } = change
    else {
        return None;
    };
    let lists = match nets.is_empty() {
        true => String::new(),
        false => plain(&format!(", also in keying.keys of {}{of}", list(nets))),
    };
    Some((counted(*more as u64, "more key"), plain(interface), lists))
}

/// More keys; only where these don't help, what weakens the rule, and what that does.
fn keys_at(input: &Input, machine: usize, at: &str, change: &Change) -> String {
    let of = of_machine(input, machine);
    let at = plain(at);
    match more_keys(change, &of) {
        Some((keys, face, lists)) => format!("{keys} of {face} that fits at {at}{of}{lists}"),
        None => format!(
            "{at} in keying.ignore_at{of}, and nothing else that was tried; it switches the \
             keying rule off at {at}{of}, so plugs can be swapped there"
        ),
    }
}

fn keys_everywhere(input: &Input, machine: usize, change: &Change) -> String {
    let of = of_machine(input, machine);
    let by_location = format!("keying.distinct = \"by-location\"{of}");
    match more_keys(change, &of) {
        Some((keys, face, lists)) => format!("{keys} of {face}{lists}, or {by_location}"),
        None => by_location,
    }
}

fn code(input: &Input, part: PartId) -> String {
    plain(&input.catalog.part(part).code)
}

fn seller(input: &Input, supplier: SupplierId) -> String {
    plain(&input.catalog.supplier(supplier).name)
}

fn stock(input: &Input, conflict: &Conflict, id: OfferId) -> String {
    let offer = input.catalog.offer(id);
    let qty = offer.stock.unwrap_or(0);
    let row = offer.breaks.first().map(|b| format!(" ({})", b.row));
    let row = row.unwrap_or_default();
    let need = needed(conflict, offer.part);
    let of = offered(input, id, |code, at| format!("{code} at {at}"));
    format!("stock of {of}: {qty}{row}{need}")
}

/// Part and supplier; with the sku, where the supplier has several offers of the part.
fn offered(input: &Input, id: OfferId, words: impl Fn(&str, &str) -> String) -> String {
    let offer = input.catalog.offer(id);
    let words = words(&code(input, offer.part), &seller(input, offer.supplier));
    match (
        input.catalog.has_several(offer.part, offer.supplier),
        offer.sku.as_str(),
    ) {
        (false, _) => words,
        (true, "") => format!("{words} (no sku)"),
        (true, sku) => format!("{words} (sku {})", plain(sku)),
    }
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

fn keying(input: &Input, conflict: &Conflict, machine: usize, at: Option<&String>) -> String {
    let of = of_machine(input, machine);
    let title = match at {
        Some(at) => format!("keying at {}{of}", plain(at)),
        None => {
            let at = place(&input.rules(machine).rows.distinct);
            format!("keying.distinct = \"everywhere\"{of}{at}")
        }
    };
    let short = conflict.shortages.iter().find_map(|s| match s {
        Shortage::Keys {
            machine: of,
            location,
            feeds,
            keys,
        } if *of == machine && location.as_ref() == at => Some((feeds, keys)),
        _ => None,
    });
    let mut circuits = input.circuits.iter();
    let has_branches = circuits.any(|c| c.machine == machine && !c.branch.is_empty());
    let named = |feeds: &BTreeSet<&Feed>| {
        let feeds: Vec<String> = feeds.iter().map(|f| feed(f, has_branches)).collect();
        list(&feeds)
    };
    let all = feeds_at(input, conflict, machine, at);
    let Some((feeds, keys)) = short else {
        let feeds: BTreeSet<&Feed> = all.keys().collect();
        let verb = if feeds.len() == 1 { "shares" } else { "share" };
        return format!(
            "{title}: {} ({}) never {verb} interface and key",
            named(&feeds),
            rows(&all, &feeds)
        );
    };
    let keys: Vec<String> = keys
        .iter()
        .filter_map(|&i| conflict.fit.identities.get(i))
        .map(name)
        .collect();
    let feeds: BTreeSet<&Feed> = feeds.iter().collect();
    let nets = match has_branches {
        true => format!("{}, counted by branch", counted(feeds.len() as u64, "net")),
        false => counted(feeds.len() as u64, "net"),
    };
    format!(
        "{title}: {nets} ({}; {}) need {}, but only {} ({})",
        named(&feeds),
        rows(&all, &feeds),
        counted(feeds.len() as u64, "key"),
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

/// The nets of a machine with their branches that arrive there, each with the rows of its
/// circuits.
fn feeds_at<'a>(
    input: &'a Input,
    conflict: &Conflict,
    machine: usize,
    at: Option<&String>,
) -> BTreeMap<Feed, BTreeSet<&'a Row>> {
    let mut feeds: BTreeMap<Feed, BTreeSet<&Row>> = BTreeMap::new();
    let ends = conflict.fit.ends.iter();
    let ends = ends.filter(|end| end.machine == machine);
    for end in ends.filter(|end| at.is_none_or(|at| end.location == *at)) {
        let feed = Feed::from((end.net.as_str(), end.branch.as_str()));
        let rows = feeds.entry(feed).or_default();
        rows.extend(input.circuits.get(end.circuit).map(|circuit| &circuit.row));
    }
    feeds
}

/// Rows of the circuits that bring these nets there.
fn rows(all: &BTreeMap<Feed, BTreeSet<&Row>>, feeds: &BTreeSet<&Feed>) -> String {
    let of_these = all.iter().filter(|(feed, _)| feeds.contains(feed));
    let rows: BTreeSet<&Row> = of_these
        .flat_map(|(_, rows)| rows.iter().copied())
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

/// `from_key of circuit pump at motor: A (circuits.csv:3)`.
fn wish(
    input: &Input,
    place: usize,
    side: Side,
    column: &str,
    of: impl Fn(&Terminal) -> &Option<String>,
) -> String {
    let Some(circuit) = input.circuits.get(place) else {
        return String::new();
    };
    let terminal: &Terminal = match side {
        Side::From => &circuit.from,
        Side::To => &circuit.to,
    };
    format!(
        "{}_{column} of {} at {}: {} ({})",
        side.word(),
        plain(&circuits(input, circuit)),
        plain(&terminal.location),
        plain(of(terminal).as_deref().unwrap_or_default()),
        circuit.row
    )
}
