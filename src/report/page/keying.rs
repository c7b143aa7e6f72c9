//! The keying map on a page.

use crate::input::Input;
use crate::project::Distinct;
use crate::report::keys as words;
use crate::report::table::{Column, Table};
use crate::report::wording::{list, plain};
use crate::study::keys::{Exception, KeyMap};

/// What stands in place of a location.
const ELSEWHERE: &str = "from one location to another";

/// The heads of the machine's columns, where there are machines: its name, and how often it
/// is built, since a row counts for one copy.
fn machine(shown: words::Shown) -> Vec<Column> {
    let name = shown.machine();
    let built = name.as_ref().map(|_| Column::number("built"));
    name.into_iter().chain(built).collect()
}

/// The cells of these columns.
fn machine_of(shown: words::Shown, map: &KeyMap) -> Vec<String> {
    let name = shown.machine_of(map);
    let built = name.as_ref().map(|_| map.count.to_string());
    name.into_iter().chain(built).collect()
}

/// The keys of each net at each location.
pub fn keys(maps: &[KeyMap]) -> Table {
    let shown = words::Shown::of_all(maps);
    let mut columns = machine(shown);
    columns.extend([Column::text("location"), Column::text("net")]);
    columns.extend(shown.columns());
    columns.extend([
        Column::text("interface"),
        Column::text("key"),
        Column::number("pairs"),
        Column::text("circuits"),
        Column::text("shared_with"),
    ]);
    let mut table = Table::new(&columns);
    let all = maps
        .iter()
        .flat_map(|map| map.locations.iter().map(move |at| (map, at)));
    for (map, at) in all {
        for used in &at.used {
            let mut circuits: Vec<&str> = used.ends.iter().map(|(name, _)| name.as_str()).collect();
            circuits.dedup();
            let others = at.shared_with(used).into_iter();
            let others: Vec<String> = others.map(|f| words::feed(f, map.has_branches)).collect();
            let mut row = machine_of(shown, map);
            row.extend([at.location.clone(), used.feed.net.clone()]);
            row.extend(shown.cells(used));
            row.extend([
                used.identity.interface.clone(),
                used.identity.key.clone(),
                used.ends.len().to_string(),
                list(&circuits),
                list(&others),
            ]);
            table.row(row);
        }
    }
    table
}

/// The keys of each location that are left for a further net, and how often the wrong
/// plug goes in.
pub fn left(maps: &[KeyMap]) -> Table {
    let shown = words::Shown::of_all(maps);
    let mut columns = machine(shown);
    columns.extend([
        Column::text("location"),
        Column::text("keys_left"),
        Column::number("pairs_of_ends"),
        Column::text("wrong_plug_goes_in"),
    ]);
    let mut table = Table::new(&columns);
    for map in maps {
        let mut row = |cells: [String; 4]| {
            let mut row = machine_of(shown, map);
            row.extend(cells);
            table.row(row);
        };
        for at in &map.locations {
            row([
                at.location.clone(),
                words::left(at),
                at.proof.pairs.to_string(),
                words::mixed_up(map, &at.proof),
            ]);
        }
        if let Some(elsewhere) = &map.elsewhere {
            row([
                ELSEWHERE.to_owned(),
                String::new(),
                elsewhere.pairs.to_string(),
                words::mixed_up(map, elsewhere),
            ]);
        }
    }
    table
}

/// The plugs of different circuits of one net that interchange; none where there
/// are none.
pub fn interchange(maps: &[KeyMap]) -> Option<Table> {
    let shown = words::Shown::of_all(maps);
    let mut columns = machine(shown);
    columns.extend([
        Column::text("location"),
        Column::text("level"),
        Column::text("net"),
        Column::text("interface_and_key"),
        Column::text("circuits_that_interchange"),
        Column::text("what_a_swap_does"),
    ]);
    let mut table = Table::new(&columns);
    let mut row = |map: &KeyMap, location: &str, with_places: bool, exception: &Exception| {
        let Some(mark) = words::mark(exception) else {
            return false;
        };
        let feeds = exception.feeds.iter();
        let feeds: Vec<String> = feeds.map(|f| words::feed(f, map.has_branches)).collect();
        let mut cells = machine_of(shown, map);
        cells.extend([
            location.to_owned(),
            mark.to_owned(),
            list(&feeds),
            words::name(&exception.identity),
            words::circuits(exception, with_places),
            words::swap(exception),
        ]);
        table.row(cells);
        true
    };
    let mut has_any = false;
    for map in maps {
        for at in &map.locations {
            for exception in &at.proof.exceptions {
                has_any |= row(map, &at.location, false, exception);
            }
        }
        for exception in map.elsewhere.iter().flat_map(|proof| &proof.exceptions) {
            has_any |= row(map, ELSEWHERE, true, exception);
        }
    }
    has_any.then_some(table)
}

/// How often plugs of different circuits interchange and what keeps them apart, in
/// sentences.
pub fn summary(maps: &[KeyMap]) -> Vec<String> {
    let both = [words::summary(maps), words::cure(maps)];
    both.into_iter().flatten().map(sentence).collect()
}

fn sentence(text: String) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(char::to_uppercase);
    let first: String = first.into_iter().flatten().collect();
    format!("{first}{}.", chars.as_str())
}

/// The rule of each machine in a sentence; in a project one sentence.
pub fn rules(input: &Input, maps: &[KeyMap]) -> Vec<String> {
    let all = maps.iter().enumerate();
    all.map(|(machine, map)| match map.machine.as_str() {
        "" => rule(input, machine, map),
        name => format!("{}: {}", plain(name), rule(input, machine, map)),
    })
    .collect()
}

fn rule(input: &Input, machine: usize, map: &KeyMap) -> String {
    let keying = &input.rules(machine).keying;
    let what = words::differing(map);
    if keying.distinct == Distinct::Off {
        return format!("The keying rule is off: {what} may mate with one another.");
    }
    let place = match keying.distinct {
        Distinct::Everywhere => "In the whole machine",
        Distinct::ByLocation | Distinct::Off => "At one location",
    };
    let rule = format!("{place}, ends of {what} never share interface and key");
    let ignored: Vec<&String> = keying.ignore_at.iter().collect();
    if ignored.is_empty() {
        return format!("{rule}.");
    }
    format!("{rule}; left out of the rule: {}.", list(&ignored))
}
