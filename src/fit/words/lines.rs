//! The wording of why an end has no set.

use super::facts::{area, count, plural};
use crate::diag::joined;
use crate::fit::End;
use crate::fit::explain::{EndName, Group, Kept, Near, NoSetAt};
use crate::fit::rule::Rule;
use crate::input::Input;

/// What an end needs, in one line.
pub(in crate::fit) fn needs(end: &End) -> String {
    let mut needs = vec![
        format!("conductor of {}", area(end)),
        format!("cable of {}", end.cable_od),
        end.current.to_string(),
        end.voltage.to_string(),
        count(u64::from(end.poles), "pole"),
        format!("receptacle by {}", end.attach),
    ];
    needs.extend(end.exit.map(|exit| format!("{exit} exit")));
    needs.extend(end.ip.as_ref().map(ToString::to_string));
    needs.extend(end.colour.clone());
    needs.join(", ")
}

/// What follows from all refusals.
pub(in crate::fit) fn conclusion(
    input: &Input,
    end: &End,
    kept: &[Kept],
    without: &[Vec<Rule>],
    nearest: &[Near],
) -> String {
    if let Some(none) = kept.iter().find(|k| k.of == 0) {
        return format!("the catalog has no {}", none.half);
    }
    let circuit = &input.circuits[end.circuit].name;
    let [alone] = without else {
        return several(without);
    };
    let [rule] = alone.as_slice() else {
        return several(without);
    };
    let refusal = nearest
        .iter()
        .flat_map(|near| &near.refusals)
        .find(|refusal| refusal.rule == *rule);
    match (rule, refusal) {
        (Rule::Mate, _) => {
            format!("plugs and receptacles fit circuit {circuit}, but no two of them mate")
        }
        (Rule::Supply, _) => {
            format!("all that fits circuit {circuit} is left out or cannot be had")
        }
        (_, Some(r)) if matches!(rule, Rule::Ferrule | Rule::Seal | Rule::BackShell) => {
            format!("{}, {}", r.needs, r.reason)
        }
        (_, Some(r)) => format!(
            "{}, no {} that fits otherwise gives that",
            r.needs,
            lacking(nearest, *rule)
        ),
        (_, None) => several(without),
    }
}

/// The halves that fail the rule among the nearest.
fn lacking(nearest: &[Near], rule: Rule) -> String {
    let mut kinds: Vec<_> = nearest
        .iter()
        .flat_map(|near| &near.refusals)
        .filter(|refusal| refusal.rule == rule)
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

/// All that is said about ends that need the same.
pub(in crate::fit) fn lines(at: &NoSetAt) -> Vec<String> {
    let mut lines = vec![format!(
        "no compatible set for {}",
        count(at.ends.len() as u64, "end")
    )];
    lines.extend(circuits(&at.ends));
    lines.push(format!("  needs: {}", at.needs));
    for kept in &at.kept {
        lines.push(format!(
            "  {}: {} of {} {}",
            plural(kept.half.word()),
            kept.fit,
            kept.of,
            if kept.fit == 1 {
                "fits by itself"
            } else {
                "fit by themselves"
            },
        ));
        let groups = at.groups.iter().filter(|g| g.half == kept.half);
        lines.extend(groups.map(|group| format!("    {}", group_line(group))));
    }
    lines.push(format!("  so: {}", at.conclusion));
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

/// One line for each circuit: `circuit pump (circuits.csv:4): HV+ at pack, HV- at pack`.
fn circuits(ends: &[EndName]) -> Vec<String> {
    ends.chunk_by(|a, b| a.circuit == b.circuit)
        .filter_map(|ends| {
            let first = ends.first()?;
            let places: Vec<String> = ends
                .iter()
                .map(|end| format!("{} at {}", end.net, end.location))
                .collect();
            let places = places.join(", ");
            Some(format!(
                "  circuit {} ({}): {places}",
                first.circuit, first.row
            ))
        })
        .collect()
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
    let mut rules: Vec<Rule> = near.refusals.iter().map(|r| r.rule).collect();
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
fn list(rules: &[Rule]) -> String {
    let names: Vec<&str> = rules.iter().map(|rule| rule.name()).collect();
    joined(&names, "and")
}
