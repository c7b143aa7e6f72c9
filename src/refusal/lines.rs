//! The wording of why ends have no set, where a rule is the cause.

use crate::diag::{Row, joined, line_list, line_word};
use crate::fit::{EndName, Group, Near, NoSetAt, Refusal, Rule, area, count, plural};
use std::collections::{BTreeMap, BTreeSet};

/// What an end needs, in one line.
fn needs(at: &NoSetAt) -> String {
    let end = &at.end;
    let mut needs = vec![
        format!("conductor of {}", area(end)),
        format!("cable of {}", end.cable_od),
        end.current.to_string(),
        end.voltage.to_string(),
        count(u64::from(end.poles), "pole"),
        match (&end.interface, end.is_built_in()) {
            (Some(face), true) => format!("built-in receptacle of interface {face}"),
            _ => format!("receptacle by {}", end.attach),
        },
    ];
    needs.extend(
        end.interface
            .iter()
            .filter(|_| !end.is_built_in())
            .map(|face| format!("interface {face}")),
    );
    needs.extend(end.key.iter().map(|key| format!("key {key}")));
    needs.extend(end.exit.map(|exit| format!("{exit} exit")));
    needs.extend(end.ip.as_ref().map(ToString::to_string));
    needs.extend(end.colour.clone());
    needs.extend(at.wants.iter().cloned());
    needs.join(", ")
}

/// What follows from all refusals.
fn conclusion(at: &NoSetAt) -> String {
    if let Some(none) = no_half(at) {
        return none;
    }
    if let Some(barred) = barred(at) {
        return barred;
    }
    let Some(rule) = only_rule(at) else {
        return several(&at.without);
    };
    let circuit = at.ends.first().map_or("", |end| end.circuit.as_str());
    match (rule, first_refusal(at, rule)) {
        (Rule::Mate, _) => {
            format!("plugs and receptacles fit circuit {circuit}, but no two of them mate")
        }
        (Rule::Supply, _) => {
            format!("all that fits circuit {circuit} is left out or cannot be had")
        }
        (Rule::Ferrule | Rule::Seal | Rule::BackShell, Some(r)) => {
            format!("circuit {circuit} {}, {}", r.wants, r.reason)
        }
        (_, Some(r)) => format!("circuit {circuit} {}", not_given(at, r)),
        (_, None) => several(&at.without),
    }
}

/// The conclusion without the circuit, where the conclusion tells the cause. Ends with
/// equal causes are told together.
pub(super) fn cause(at: &NoSetAt) -> Option<String> {
    if let Some(none) = no_half(at) {
        return Some(none);
    }
    let rule = only_rule(at)?;
    let refusal = first_refusal(at, rule)?;
    match rule {
        Rule::Mate | Rule::Supply => None,
        // The cause is a row that is missing, whatever size the end asks for.
        Rule::Ferrule | Rule::Seal | Rule::BackShell => Some(refusal.reason.clone()),
        _ => Some(not_given(at, refusal)),
    }
}

/// The sentence that the catalog lacks a half altogether, where it does.
fn no_half(at: &NoSetAt) -> Option<String> {
    let none = at.kept.iter().find(|kept| kept.of == 0)?;
    Some(format!("the catalog has no {}", none.half))
}

/// The sentence that the end asks for a key that its net may not have, with both rows
/// and the cure. The same where no key of the net is to be had.
fn barred(at: &NoSetAt) -> Option<String> {
    let (list, end, name) = (at.net_keys.as_ref()?, &at.end, at.ends.first()?);
    let keys = joined(&list.keys, "or");
    let row = list.row.as_ref().map(|row| format!(" ({row})"));
    let net = format!(
        "net {} keeps to key {keys}{}",
        end.net,
        row.unwrap_or_default()
    );
    let EndName { circuit, row, .. } = name;
    let side = end.side.word();
    match end
        .key
        .as_deref()
        .filter(|key| !list.keys.iter().any(|k| k == key))
    {
        Some(key) if end.is_built_in() => Some(format!(
            "{net}, but the receptacle that circuit {circuit} has built in at {} has key {key} \
             ({row}); add {key} to the keys of the net, or correct {side}_key",
            end.location
        )),
        Some(key) => Some(format!(
            "{net}, but circuit {circuit} is pinned to key {key} at {} ({row}); add {key} to the \
             keys of the net, or change {side}_key",
            end.location
        )),
        None if only_rule(at) == Some(&Rule::NetKeys) => Some(format!(
            "{net}, and no {} that fits circuit {circuit} ({row}) otherwise has such a key; add \
             a key to the keys of the net",
            lacking(&at.nearest, &Rule::NetKeys)
        )),
        None => None,
    }
}

/// The one rule without which a set would exist, where there is just one.
fn only_rule(at: &NoSetAt) -> Option<&Rule> {
    match at.without.as_slice() {
        [alone] => match alone.as_slice() {
            [rule] => Some(rule),
            _ => None,
        },
        _ => None,
    }
}

/// What the rule has against the nearest body that it refuses.
fn first_refusal<'a>(at: &'a NoSetAt, rule: &Rule) -> Option<&'a Refusal> {
    let mut refusals = at.nearest.iter().flat_map(|near| &near.refusals);
    refusals.find(|refusal| refusal.rule == *rule)
}

/// `needs 400 A, no plug that fits otherwise gives that`.
fn not_given(at: &NoSetAt, refusal: &Refusal) -> String {
    let lacking = lacking(&at.nearest, &refusal.rule);
    format!(
        "{}, no {lacking} that fits otherwise gives that",
        refusal.wants
    )
}

/// The halves that fail the rule among the nearest.
fn lacking(nearest: &[Near], rule: &Rule) -> String {
    let mut kinds: Vec<_> = nearest
        .iter()
        .flat_map(|near| &near.refusals)
        .filter(|refusal| refusal.rule == *rule)
        .map(|refusal| refusal.kind)
        .collect();
    kinds.sort();
    kinds.dedup();
    let words: Vec<_> = kinds.iter().map(ToString::to_string).collect();
    words.join(" or ")
}

fn several(without: &[Vec<Rule>]) -> String {
    let single = without.iter().all(|rules| rules.len() == 1);
    match single {
        true => "one of several rules stands in the way; without any one of them a set exists",
        false => "no single rule stands in the way: more than one would have to be given up",
    }
    .to_owned()
}

/// All that is said about ends of one cause. The first ends that need the same are told
/// in full.
pub(super) fn lines(ats: &[&NoSetAt]) -> Vec<String> {
    let Some(at) = ats.first() else {
        return Vec::new();
    };
    let mut lines = vec![format!("there is no compatible set for {}", ends(ats))];
    lines.push(circuits(ats));
    lines.extend(several_lines(ats, "needs", needs));
    for kept in &at.kept {
        lines.push(format!(
            "  {}: {} of {} {}{}",
            plural(kept.half.word()),
            kept.fit,
            kept.of,
            if kept.fit == 1 {
                "fits by itself"
            } else {
                "fit by themselves"
            },
            if ats.len() == 1 {
                ""
            } else {
                " for the first of these needs"
            }
        ));
        let groups = at.groups.iter().filter(|g| g.half == kept.half);
        lines.extend(groups.map(|group| format!("    {}", group_line(group))));
    }
    lines.extend(several_lines(ats, "so", conclusion));
    if !at.without.is_empty() {
        let ways: Vec<String> = at.without.iter().map(|rules| list(rules)).collect();
        lines.push(format!(
            "  a set exists without: {}",
            ways.join(", or without ")
        ));
    }
    for near in at.nearest.iter().filter(|n| !n.refusals.is_empty()) {
        lines.push(format!("  nearest: {}", near_line(near)));
    }
    lines
}

/// `3 ends`.
pub(super) fn ends(ats: &[&NoSetAt]) -> String {
    let ends: usize = ats.iter().map(|at| at.ends.len()).sum();
    count(ends as u64, "end")
}

/// So many different texts are told, the others counted.
const TOLD: usize = 3;

/// A line for each different text.
fn several_lines(ats: &[&NoSetAt], word: &str, text: impl Fn(&NoSetAt) -> String) -> Vec<String> {
    let mut texts: Vec<String> = ats.iter().map(|at| text(at)).collect();
    let mut seen = BTreeSet::new();
    texts.retain(|text| seen.insert(text.clone()));
    let more = texts.len().saturating_sub(TOLD);
    let told = texts.iter().take(TOLD);
    let mut lines: Vec<String> = told.map(|text| format!("  {word}: {text}")).collect();
    lines.extend((more > 0).then(|| format!("  {word}: {more} more")));
    lines
}

/// The names of the circuits, each once, in the order of their rows.
pub(super) fn names<'t>(ats: &[&'t NoSetAt]) -> Vec<&'t EndName> {
    let mut names: Vec<&EndName> = ats.iter().flat_map(|at| &at.ends).collect();
    // Each machine of a purchase has a file of its own.
    names.sort_by_key(|end| (&end.row.file, end.row.line));
    let mut seen = BTreeSet::new();
    names.retain(|end| seen.insert(&end.circuit));
    names
}

/// One circuit with its nets: `circuit pump (circuits.csv:4): HV+ at pack, HV- at pack`;
/// several with their locations: `circuits pump at pack, fan at pack and motor
/// (circuits.csv, lines 4 and 7)`.
pub(super) fn circuits(ats: &[&NoSetAt]) -> String {
    let all = || ats.iter().flat_map(|at| &at.ends);
    let names = names(ats);
    if let [one] = names.as_slice() {
        let places: Vec<String> = all()
            .map(|end| format!("{} at {}", end.net, end.location))
            .collect();
        let places = places.join(", ");
        return format!("  circuit {} ({}): {places}", one.circuit, one.row);
    }
    let mut at: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for end in all() {
        let locations = at.entry(&end.circuit).or_default();
        if !locations.contains(&end.location.as_str()) {
            locations.push(&end.location);
        }
    }
    let told: Vec<String> = names
        .iter()
        .map(|end| {
            let locations = at.get(end.circuit.as_str()).cloned().unwrap_or_default();
            format!("{} at {}", end.circuit, joined(&locations, "and"))
        })
        .collect();
    let rows: Vec<&Row> = names.iter().map(|end| &end.row).collect();
    format!("  circuits {} ({})", told.join(", "), rows_named(&rows))
}

/// `circuits.csv, lines 4 and 7 to 9`; several files with `; ` between.
fn rows_named(rows: &[&Row]) -> String {
    let files = rows.chunk_by(|a, b| a.file == b.file);
    let told: Vec<String> = files.map(rows_of_file).collect();
    told.join("; ")
}

fn rows_of_file(rows: &[&Row]) -> String {
    let Some(first) = rows.first() else {
        return String::new();
    };
    let lines: BTreeSet<u64> = rows.iter().map(|row| row.line).collect();
    let lines: Vec<u64> = lines.into_iter().collect();
    let word = line_word(&first.file);
    let ending = if lines.len() == 1 { "" } else { "s" };
    format!("{}, {word}{ending} {}", first.file, line_list(&lines))
}

/// `14 plugs: rated below 400 A (highest: P-1 at 350 A; catalog/bodies.csv:12)`.
fn group_line(group: &Group) -> String {
    let place = match &group.best {
        Some(best) => format!("{best}; {}", group.row),
        None if group.parts.len() == 1 => group.row.to_string(),
        None => format!("the first: {}", group.row),
    };
    let number = count(group.parts.len() as u64, group.half.word());
    format!("{number}: {}: {} ({place})", group.rule, group.what)
}

/// `plug P-70-RA fails only protection: IP67 does not give IP6K9K (…)`.
fn near_line(near: &Near) -> String {
    let mut rules: Vec<Rule> = near.refusals.iter().map(|r| r.rule.clone()).collect();
    rules.dedup();
    let only = if rules.len() == 1 { "only " } else { "" };
    let mut reasons: Vec<&str> = near.refusals.iter().map(|r| r.reason.as_str()).collect();
    reasons.dedup();
    let Some(first) = near.refusals.first() else {
        return String::new();
    };
    format!(
        "{} {} fails {only}{}: {} ({}, {})",
        first.kind,
        first.part,
        list(&rules),
        reasons.join("; "),
        first.part_row,
        first.end_row
    )
}

/// `exit`, `exit and colour`.
pub(super) fn list(rules: &[Rule]) -> String {
    let names: Vec<&str> = rules.iter().map(|rule| rule.name()).collect();
    joined(&names, "and")
}
