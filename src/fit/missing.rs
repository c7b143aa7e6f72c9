//! The parts that cannot be had, and for want of which an end has no set.

use super::attribute;
use super::code::Code;
use super::supply::Lack;
use super::survey::{Gap, Survey};
use crate::catalog::{Half, Kind, PartId};
use crate::diag::Row;
use crate::input::Input;
use std::collections::{BTreeMap, BTreeSet};

/// A part that cannot be had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// The part.
    pub part: PartId,
    /// Kind of the part.
    pub kind: Kind,
    /// Code of the part.
    pub code: String,
    /// Barrel or rear code of a fitting.
    pub of: Option<String>,
    /// Why the part cannot be had.
    pub lack: Lack,
    /// Where the part stands, or where it is excluded.
    pub row: Row,
}

/// Parts with which the end would have a set, if the parts could be had. One part of
/// each list is needed, and any part of a list is enough. Where one part alone is enough,
/// there is one list of all such parts. Empty where no parts would help.
pub(super) fn missing(input: &Input, survey: &Survey<'_>) -> Vec<Vec<Missing>> {
    let one = |&id: &PartId| {
        let part = input.catalog.part(id);
        Some(Missing {
            part: id,
            kind: part.kind(),
            code: part.code.clone(),
            of: Code::of(part).map(|code| code.code.to_owned()),
            lack: survey.lack_of(id)?,
            row: (input.excluded_at(survey.end.machine, &part.code))
                .unwrap_or(&part.row)
                .clone(),
        })
    };
    let lists = lists(input, survey);
    (lists.iter())
        .map(|parts| parts.iter().filter_map(one).collect())
        .collect()
}

/// Bodies of one half that fit but for supply.
#[derive(Default)]
struct Bodies<'a> {
    /// The gaps of the bodies that have just one gap.
    single: BTreeSet<Gap<'a>>,
    /// The gaps of the body that has the fewest; none where there is no body.
    least: Option<Vec<Gap<'a>>>,
}

impl<'a> Bodies<'a> {
    fn add(&mut self, gaps: Vec<Gap<'a>>) {
        if let [gap] = gaps.as_slice() {
            self.single.insert(*gap);
        }
        if self.least.as_ref().is_none_or(|l| gaps.len() < l.len()) {
            self.least = Some(gaps);
        }
    }

    fn has_whole(&self) -> bool {
        self.least.as_ref().is_some_and(Vec::is_empty)
    }

    /// Parts that alone make one of the bodies whole.
    fn alone(&self, survey: &Survey<'a>) -> BTreeSet<PartId> {
        let gaps = self.single.iter();
        gaps.flat_map(|gap| survey.closing(gap)).collect()
    }
}

/// Bodies that fit but for supply and that can be put together.
struct Halves<'a> {
    plugs: Bodies<'a>,
    receptacles: Bodies<'a>,
}

/// The bodies that fit but for supply, in groups of which each receptacle and each plug
/// can be put together.
fn groups<'a>(input: &Input, survey: &Survey<'a>) -> Vec<Halves<'a>> {
    let mut gaps: BTreeMap<PartId, Vec<Gap<'a>>> = BTreeMap::new();
    let mut of_identity: BTreeMap<(&str, &str), [Vec<PartId>; 2]> = BTreeMap::new();
    for surveyed in &survey.bodies {
        let Some(own) = survey.gaps(surveyed) else {
            continue;
        };
        gaps.insert(surveyed.id, own);
        let body = surveyed.body;
        let identity = (body.interface.as_str(), body.key.as_str());
        let [receptacles, plugs] = of_identity.entry(identity).or_default();
        match body.half {
            Half::Receptacle => receptacles.push(surveyed.id),
            Half::Plug => plugs.push(surveyed.id),
        }
    }
    let of = |ids: &[PartId]| {
        let mut bodies = Bodies::default();
        let gaps = ids.iter().filter_map(|id| gaps.get(id).cloned());
        gaps.for_each(|gaps| bodies.add(gaps));
        bodies
    };
    if survey.end.is_built_in() {
        // The device has the other half.
        let whole = || Bodies {
            least: Some(Vec::new()),
            ..Bodies::default()
        };
        let halves = of_identity.values().map(|[_, plugs]| Halves {
            plugs: of(plugs),
            receptacles: whole(),
        });
        return halves.collect();
    }
    let agreements = attribute::agreements(&input.catalog);
    let together = of_identity.values().flat_map(|[receptacles, plugs]| {
        attribute::together(&input.catalog, &agreements, receptacles, plugs)
    });
    let halves = together.map(|group| Halves {
        plugs: of(&group.plugs),
        receptacles: of(&group.receptacles),
    });
    halves.collect()
}

fn lists(input: &Input, survey: &Survey<'_>) -> Vec<Vec<PartId>> {
    let groups = groups(input, survey);
    let mut alone = BTreeSet::new();
    let mut least: Option<Vec<Vec<PartId>>> = None;
    for Halves { plugs, receptacles } in &groups {
        let (Some(one), Some(other)) = (&plugs.least, &receptacles.least) else {
            continue;
        };
        match (plugs.has_whole(), receptacles.has_whole()) {
            (true, _) => alone.extend(receptacles.alone(survey)),
            (_, true) => alone.extend(plugs.alone(survey)),
            _ => {
                let of_receptacles = receptacles.alone(survey);
                let of_plugs = plugs.alone(survey).into_iter();
                alone.extend(of_plugs.filter(|part| of_receptacles.contains(part)));
            }
        }
        let mut both: Vec<Vec<PartId>> = Vec::new();
        both.extend(one.iter().chain(other).map(|gap| survey.closing(gap)));
        both.sort();
        both.dedup();
        if least.as_ref().is_none_or(|l| both.len() < l.len()) {
            least = Some(both);
        }
    }
    match alone.is_empty() {
        true => least.unwrap_or_default(),
        false => vec![alone.into_iter().collect()],
    }
}
