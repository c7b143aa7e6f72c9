//! Ends without a set, told cause by cause, and the wording where the cause is
//! that parts cannot be had.

use super::lines as rule;
use crate::catalog::{Kind, PartId};
use crate::diag::joined;
use crate::fit::supply::Lack;
use crate::fit::{Missing, NoSetAt, Rule, count, name};
use crate::units::{Mm, Mm2};
use std::collections::{BTreeMap, BTreeSet};

/// So many parts that cannot be had are named, the others told as a number.
const TOLD: usize = 5;

/// A setting of the project that keeps several parts from an end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Setting {
    MaxLeadDays,
    ExcludeSuppliers,
}

/// Ends of one cause.
struct Block<'t> {
    /// The parts that cannot be had; one part of each list is needed. Empty where a rule is
    /// the cause.
    missing: Vec<Vec<&'t Missing>>,
    /// The setting, where one setting alone keeps away all these parts.
    setting: Option<Setting>,
    ats: Vec<&'t NoSetAt>,
}

/// All that is said about ends without a set.
pub(super) fn lines(ats: &[NoSetAt]) -> Vec<String> {
    let blocks = blocks(ats).into_iter();
    let told = blocks.flat_map(|block| match block.missing.is_empty() {
        true => rule::lines(&block.ats),
        false => missing(&block),
    });
    told.collect()
}

/// The blocks in the order of their first ends.
fn blocks(ats: &[NoSetAt]) -> Vec<Block<'_>> {
    let mut blocks: BTreeMap<usize, Block<'_>> = BTreeMap::new();
    let (alone, other): (Vec<_>, Vec<_>) =
        (ats.iter().enumerate()).partition(|(_, at)| at.missing.len() == 1);
    for (place, block) in by_part(alone) {
        blocks.insert(place, block);
    }
    let mut place_of = BTreeMap::new();
    for (place, at) in other {
        let setting = setting(at);
        let mut parts: Vec<Vec<PartId>> = (at.missing.iter())
            .map(|list| list.iter().map(|m| m.part).collect())
            .collect();
        parts.retain(|_| setting.is_none());
        // Ends whose cause has no words make a block of their own.
        let cause = rule::cause(at);
        let own = (at.missing.is_empty() && cause.is_none()).then_some(place);
        let of_rule = at.missing.is_empty().then_some((cause, &at.without));
        let key = (setting, parts, of_rule, own);
        let place = *place_of.entry(key).or_insert(place);
        let block = blocks.entry(place).or_insert_with(|| Block {
            missing: at
                .missing
                .iter()
                .map(|list| list.iter().collect())
                .collect(),
            setting,
            ats: Vec::new(),
        });
        block.ats.push(at);
    }
    blocks.into_values().collect()
}

/// Ends that one part alone would help, each with the part that would help most
/// ends. So few parts are named.
fn by_part(mut left: Vec<(usize, &NoSetAt)>) -> Vec<(usize, Block<'_>)> {
    // A part that one machine excludes may be another thing to another machine.
    let key = |missing: &Missing| (missing.part, missing.lack == Lack::Excluded);
    let parts = |at: &NoSetAt| -> BTreeSet<(PartId, bool)> {
        let lists = at.missing.iter().flatten();
        lists.map(key).collect()
    };
    let mut blocks = Vec::new();
    while let Some((place, first)) = left.first().copied() {
        let mut helps: BTreeMap<(PartId, bool), usize> = BTreeMap::new();
        for (_, at) in &left {
            for part in parts(at) {
                *helps.entry(part).or_default() += at.ends.len();
            }
        }
        // The first of the ends decides, so that each round takes some away.
        let most = (parts(first).into_iter()).max_by_key(|part| {
            let ends = helps.get(part).copied().unwrap_or_default();
            (ends, std::cmp::Reverse(*part))
        });
        let (with, without): (Vec<_>, Vec<_>) =
            (left.into_iter()).partition(|(_, at)| most.is_some_and(|p| parts(at).contains(&p)));
        left = without;
        let ats: Vec<&NoSetAt> = with.into_iter().map(|(_, at)| at).collect();
        let common = |missing: &&Missing| ats.iter().all(|at| parts(at).contains(&key(missing)));
        let named = first.missing.iter().flatten().filter(common).collect();
        let missing = vec![named];
        let setting = None;
        blocks.push((
            place,
            Block {
                missing,
                setting,
                ats,
            },
        ));
    }
    blocks
}

/// The setting that keeps away all parts that the ends lack.
fn setting(at: &NoSetAt) -> Option<Setting> {
    let all = |is: fn(&Lack) -> bool| {
        let mut parts = at.missing.iter().flatten();
        !at.missing.is_empty() && parts.all(|part| is(&part.lack))
    };
    if all(|lack| matches!(lack, Lack::Slow { .. })) {
        return Some(Setting::MaxLeadDays);
    }
    all(|lack| *lack == Lack::Supplier).then_some(Setting::ExcludeSuppliers)
}

/// All that is said about ends that lack parts.
fn missing(block: &Block<'_>) -> Vec<String> {
    let heading = block
        .setting
        .map_or_else(|| heading(block), |s| of_setting(s, block));
    let mut lines = vec![heading, rule::circuits(&block.ats)];
    lines.extend(parts(block));
    let ends = rule::ends(&block.ats);
    let has = match ends.as_str() {
        "1 end" => "there is one",
        _ => "each end has one",
    };
    let with = with(block);
    lines.push(format!(
        "  so: there is no compatible set for {ends}; with {with} {has}"
    ));
    lines.extend(other_ways(&block.ats));
    lines
}

/// A line for each part that cannot be had.
fn parts(block: &Block<'_>) -> Vec<String> {
    let lists = block.ats.iter().flat_map(|at| &at.missing);
    let parts: Vec<&Missing> = match block.setting {
        None => block.missing.iter().flatten().copied().collect(),
        Some(_) => {
            let parts: BTreeMap<PartId, &Missing> = lists.flatten().map(|m| (m.part, m)).collect();
            parts.into_values().collect()
        }
    };
    let mut lines = Vec::new();
    for part in parts.iter().take(TOLD) {
        let of = place(part).map(|place| format!(" of {place}"));
        lines.push(format!(
            "  {} {}{}: {} ({})",
            name(part.kind),
            part.code,
            of.unwrap_or_default(),
            part.lack.words(),
            part.row
        ));
    }
    if parts.len() > TOLD {
        lines.push(format!("  and {} more", parts.len() - TOLD));
    }
    lines
}

/// What would help.
fn with(block: &Block<'_>) -> String {
    match (block.setting, block.missing.as_slice()) {
        (Some(Setting::MaxLeadDays), _) => format!("max_lead_days = {}", days(&block.ats)),
        (Some(Setting::ExcludeSuppliers), _) => "all suppliers".to_owned(),
        (None, [one]) if one.len() == 1 => any_of(one),
        (None, [_]) => "any one of these parts".to_owned(),
        (None, _) => "these parts".to_owned(),
    }
}

/// The fewest days in which all ends can have one part of each list.
fn days(ats: &[&NoSetAt]) -> u32 {
    let of = |part: &Missing| match part.lack {
        Lack::Slow { days, .. } => days,
        _ => 0,
    };
    let lists = ats.iter().flat_map(|at| &at.missing);
    let soonest = lists.filter_map(|list| list.iter().map(of).min());
    soonest.max().unwrap_or_default()
}

/// `max_lead_days = 3 is too short: 7 circuits need parts that take longer`.
fn of_setting(setting: Setting, block: &Block<'_>) -> String {
    let who = who(&block.ats, "need");
    match (setting, block.missing.first().and_then(|list| list.first())) {
        (
            Setting::MaxLeadDays,
            Some(Missing {
                lack: Lack::Slow { limit, .. },
                ..
            }),
        ) => {
            format!("max_lead_days = {limit} is too short: {who} parts that take longer")
        }
        _ => format!("exclude_suppliers leaves too little: {who} parts of excluded suppliers"),
    }
}

/// `seal S-13 cannot be bought: 7 circuits need a seal for rear R1, 11 to 12.4 mm`.
fn heading(block: &Block<'_>) -> String {
    let parts = || block.missing.iter().flatten();
    let is_excluded = parts().all(|part| part.lack == Lack::Excluded);
    let many = block.missing.iter().flatten().count() > 1;
    let cannot = match (is_excluded, many) {
        (true, false) => "is excluded",
        (true, true) => "are excluded",
        _ => "cannot be bought",
    };
    let (what, need) = match block.missing.as_slice() {
        [list] => match list.as_slice() {
            [part] => (
                format!("{} {}", name(part.kind), part.code),
                need_of(part, &block.ats),
            ),
            list => (
                kinds(list),
                format!("{} one of them", who(&block.ats, "need")),
            ),
        },
        lists => {
            let names: Vec<String> = lists.iter().map(|list| any_of(list)).collect();
            let all = if lists.len() == 2 {
                "both"
            } else {
                "all of them"
            };
            (
                joined(&names, "and"),
                format!("{} {all}", who(&block.ats, "need")),
            )
        }
    };
    format!("{what} {cannot}: {need}")
}

/// `circuit pump needs`, `7 circuits need`.
fn who(ats: &[&NoSetAt], verb: &str) -> String {
    match rule::names(ats).as_slice() {
        [one] => format!("circuit {} {verb}s", one.circuit),
        names => format!("{} circuits {verb}", names.len()),
    }
}

fn need_of(part: &Missing, ats: &[&NoSetAt]) -> String {
    let Some(place) = place(part) else {
        let has = match rule::names(ats).as_slice() {
            [one] => format!("circuit {} has", one.circuit),
            names => format!("{} circuits have", names.len()),
        };
        return format!("{has} no set without it");
    };
    let size = match part.kind {
        Kind::Ferrule => range(ats.iter().map(|at| at.end.area), |area: Mm2| area.0, "mm²"),
        _ => range(ats.iter().map(|at| at.end.cable_od), |od: Mm| od.0, "mm"),
    };
    let kind = name(part.kind);
    format!("{} a {kind} for {place}, {size}", who(ats, "need"))
}

/// What a fitting is for: `rear R1`, `barrel B1`; none for a body.
fn place(part: &Missing) -> Option<String> {
    let word = match part.kind {
        Kind::Ferrule => "barrel",
        _ => "rear",
    };
    (part.of.as_ref()).map(|code| format!("{word} {code}"))
}

/// `11 to 12.4 mm`.
fn range<T: Ord + Copy>(
    sizes: impl Iterator<Item = T> + Clone,
    number: impl Fn(T) -> rust_decimal::Decimal,
    unit: &str,
) -> String {
    let shown = |size: Option<T>| size.map(|size| number(size).normalize().to_string());
    match (shown(sizes.clone().min()), shown(sizes.max())) {
        (Some(min), Some(max)) if min != max => format!("{min} to {max} {unit}"),
        (min, _) => format!("{} {unit}", min.unwrap_or_default()),
    }
}

/// `3 seals`; `3 parts` where they are of several kinds.
fn kinds(list: &[&Missing]) -> String {
    let kind = list.first().map(|part| part.kind);
    let is_one = list.iter().all(|part| Some(part.kind) == kind);
    let word = kind.filter(|_| is_one).map_or("part", name);
    count(list.len() as u64, word)
}

/// `seal S-13`, `any of 3 seals`.
fn any_of(list: &[&Missing]) -> String {
    match list {
        [part] => format!("{} {}", name(part.kind), part.code),
        list => format!("any of {}", kinds(list)),
    }
}

/// Rules that could be given up in place of buying.
fn other_ways(ats: &[&NoSetAt]) -> Option<String> {
    let common = |rules: &&Vec<Rule>| {
        rules.as_slice() != [Rule::Supply] && ats.iter().all(|at| at.without.contains(rules))
    };
    let ways: Vec<String> = (ats.first()?.without.iter().filter(common))
        .map(|rules| rule::list(rules))
        .collect();
    (!ways.is_empty()).then(|| {
        let ways = ways.join(", or without ");
        format!("  a set exists also without: {ways}")
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_a_range_where_they_differ() {
        let of = |sizes: &[i64]| {
            let sizes: Vec<Mm> = sizes
                .iter()
                .map(|n| Mm(rust_decimal::Decimal::new(*n, 1)))
                .collect();
            range(sizes.into_iter(), |od| od.0, "mm")
        };
        assert_eq!(of(&[124, 110, 115]), "11 to 12.4 mm");
        assert_eq!(of(&[110, 110]), "11 mm");
    }
}
