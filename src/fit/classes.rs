//! From a valid input to everything that fits.

use super::class::{Choice, Class, Fit, Identity, Slot};
use super::definition::At;
use super::end::{End, Need};
use super::ends::ends;
use super::place::{Place, places};
use super::shelf::Shelf;
use super::unfit::{MAX_CHOICES, MAX_ENDS, Unfit, at_most};
use super::{attribute, checks, explain, supply};
use crate::catalog::{CRIMP, Half, PartId};
use crate::input::Input;
use crate::units::Gauge;
use std::collections::{BTreeMap, BTreeSet};

/// Finds every part that can serve every end.
///
/// # Errors
/// [`Unfit::NoSet`] if some end has no compatible set, with the reasons;
/// [`Unfit::TooLarge`] if there is more than can be planned at once.
pub fn fit(input: &Input) -> Result<Fit, Unfit> {
    let ends = ends(&input.circuits);
    at_most("ends", ends.len(), MAX_ENDS)?;
    let shelf = Shelf::new(input, |id| supply::lack(input, id).is_none());
    let (options, of_end) = options_of_ends(input, &shelf, &ends);
    let without: Vec<usize> = (0..ends.len())
        .filter(|&e| options[of_end[e]].plugs.is_empty())
        .collect();
    if !without.is_empty() {
        return Err(explain::no_set(input, &ends, &without).into());
    }
    let choices = choices_in_classes(&ends, &options, &of_end);
    at_most("choices of bodies for all ends", choices, MAX_CHOICES)?;
    let classes = classes(&ends, &options, &of_end);
    Ok(finish(input, &shelf, ends, classes))
}

/// The parts that can serve an end; empty if there is no set.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Options {
    receptacles: Vec<Choice>,
    plugs: Vec<Choice>,
    slots: Vec<Slot>,
}

/// The distinct options, and which of them each end has.
fn options_of_ends<'a>(
    input: &'a Input,
    shelf: &Shelf<'a>,
    ends: &'a [End],
) -> (Vec<Options>, Vec<usize>) {
    let mut of_need: BTreeMap<Need<'_>, usize> = BTreeMap::new();
    let mut distinct: BTreeMap<Options, usize> = BTreeMap::new();
    let mut of_end = Vec::with_capacity(ends.len());
    for end in ends {
        let need = Need::new(input, end);
        let place = *of_need.entry(need).or_insert_with(|| {
            let next = distinct.len();
            *distinct.entry(options(input, shelf, end)).or_insert(next)
        });
        of_end.push(place);
    }
    let mut options: Vec<(usize, Options)> = distinct.into_iter().map(|(o, i)| (i, o)).collect();
    options.sort_by_key(|(place, _)| *place);
    (options.into_iter().map(|(_, o)| o).collect(), of_end)
}

/// A body that fits by itself, with the places on it.
struct Candidate<'a> {
    body: PartId,
    identity: usize,
    places: Vec<Place<'a>>,
}

/// Everything that can serve this end: bodies whose places can all be filled
/// and that have a mate among the others.
fn options<'a>(input: &'a Input, shelf: &Shelf<'a>, end: &'a End) -> Options {
    let mut slots: BTreeMap<Place<'a>, Slot> = BTreeMap::new();
    let mut receptacles = candidates(input, shelf, Half::Receptacle, end);
    receptacles.retain(|c| fill(input, shelf, end, c, &mut slots));
    let mut plugs = candidates(input, shelf, Half::Plug, end);
    plugs.retain(|c| fill(input, shelf, end, c, &mut slots));

    let mated = match end.is_built_in() {
        true => Mated::built_in(&plugs),
        false => Mated::new(input, &receptacles, &plugs),
    };
    receptacles.retain(|c| mated.has(c));
    plugs.retain(|c| mated.has(c));
    let used: BTreeSet<Place<'a>> = receptacles
        .iter()
        .chain(&plugs)
        .flat_map(|c| c.places.iter().copied())
        .collect();
    slots.retain(|place, _| used.contains(place));

    let rank: BTreeMap<Place<'a>, usize> = slots.keys().copied().zip(0..).collect();
    Options {
        receptacles: choices_of(&receptacles, &mated, &rank),
        plugs: choices_of(&plugs, &mated, &rank),
        slots: slots.into_values().collect(),
    }
}

/// The bodies of a half that fit by themselves.
fn candidates<'a>(
    input: &'a Input,
    shelf: &Shelf<'a>,
    half: Half,
    end: &'a End,
) -> Vec<Candidate<'a>> {
    let attach = match half {
        Half::Receptacle => end.attach.as_str(),
        Half::Plug => CRIMP,
    };
    let at = At::new(input, end, None);
    let holds = |id: PartId, body| {
        let part = input.catalog.part(id);
        let is_excluded = input.excludes(end.machine, &part.code);
        !is_excluded && checks::body(part, body, at).next().is_none()
    };
    shelf
        .bodies(half, attach, end.poles)
        .iter()
        .filter(|(id, body, _)| holds(*id, body))
        .map(|&(id, body, identity)| Candidate {
            body: id,
            identity,
            places: places(body).collect(),
        })
        .collect()
}

/// True if each place on the body has an option; works the slots out on the way.
fn fill<'a>(
    input: &'a Input,
    shelf: &Shelf<'a>,
    end: &'a End,
    candidate: &Candidate<'a>,
    slots: &mut BTreeMap<Place<'a>, Slot>,
) -> bool {
    candidate.places.iter().all(|place| {
        let slot = slots
            .entry(*place)
            .or_insert_with(|| slot(input, shelf, end, place));
        !slot.options.is_empty()
    })
}

fn slot<'a>(input: &'a Input, shelf: &Shelf<'a>, end: &'a End, place: &Place<'a>) -> Slot {
    let at = At::new(input, end, Some(*place));
    Slot {
        half: place.half,
        fitting: place.fitting,
        code: place.code.to_owned(),
        exit: place.exit,
        options: shelf
            .fittings(place)
            .iter()
            .filter(|(_, part)| !input.excludes(end.machine, &part.code))
            .filter(|(_, part)| checks::fitting(part, &at).is_empty())
            .map(|&(id, part)| (id, checks::pieces(part, end)))
            .collect(),
    }
}

/// How the bodies of an end can be put together: for each, its groups, in each of which
/// every receptacle mates with every plug.
struct Mated {
    groups: BTreeMap<PartId, BTreeSet<usize>>,
}

impl Mated {
    /// Bodies mate by identity, and by the words that a pair must agree in.
    fn new(input: &Input, receptacles: &[Candidate<'_>], plugs: &[Candidate<'_>]) -> Self {
        let agreements = attribute::agreements(&input.catalog);
        let mut of_identity: BTreeMap<usize, [Vec<PartId>; 2]> = BTreeMap::new();
        for (half, bodies) in [receptacles, plugs].into_iter().enumerate() {
            for one in bodies {
                of_identity.entry(one.identity).or_default()[half].push(one.body);
            }
        }
        let together = of_identity.values().flat_map(|[receptacles, plugs]| {
            attribute::together(&input.catalog, &agreements, receptacles, plugs)
        });
        let mut groups: BTreeMap<PartId, BTreeSet<usize>> = BTreeMap::new();
        for (group, together) in together.enumerate() {
            for body in together.receptacles.into_iter().chain(together.plugs) {
                groups.entry(body).or_default().insert(group);
            }
        }
        Mated { groups }
    }

    /// The rules have held each plug against the receptacle that is there.
    fn built_in(plugs: &[Candidate<'_>]) -> Self {
        let groups = plugs.iter();
        let groups = groups.map(|c| (c.body, BTreeSet::from([c.identity])));
        Mated {
            groups: groups.collect(),
        }
    }

    fn has(&self, candidate: &Candidate<'_>) -> bool {
        self.groups.contains_key(&candidate.body)
    }
}

/// The choices by id, each once for each group in which it mates.
fn choices_of<'a>(
    candidates: &[Candidate<'a>],
    mated: &Mated,
    rank: &BTreeMap<Place<'a>, usize>,
) -> Vec<Choice> {
    let groups = |c: &Candidate<'a>| mated.groups.get(&c.body).into_iter().flatten().copied();
    let choices = candidates
        .iter()
        .flat_map(|c| groups(c).map(move |mate| choice(c, mate, rank)));
    choices.collect()
}

fn choice<'a>(candidate: &Candidate<'a>, mate: usize, rank: &BTreeMap<Place<'a>, usize>) -> Choice {
    Choice {
        body: candidate.body,
        identity: candidate.identity,
        mate,
        slots: candidate
            .places
            .iter()
            .filter_map(|place| rank.get(place).copied())
            .collect(),
    }
}

/// What is equal at all ends of a class.
#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Alike<'a> {
    machine: usize,
    location: &'a str,
    net: &'a str,
    branch: &'a str,
    gauge: Gauge,
    options: usize,
}

/// How many choices the classes of these ends have, before any class is made.
fn choices_in_classes(ends: &[End], options: &[Options], of_end: &[usize]) -> usize {
    let alike = ends.iter().zip(of_end).map(|(end, &o)| Alike {
        machine: end.machine,
        location: &end.location,
        net: &end.net,
        branch: &end.branch,
        gauge: end.gauge,
        options: o,
    });
    let alike: BTreeSet<Alike<'_>> = alike.collect();
    let of = |o: usize| options[o].receptacles.len() + options[o].plugs.len();
    alike.iter().map(|alike| of(alike.options)).sum()
}

/// Gathers ends that are alike.
fn classes(ends: &[End], options: &[Options], of_end: &[usize]) -> Vec<Class> {
    let mut place: BTreeMap<Alike<'_>, usize> = BTreeMap::new();
    let mut classes: Vec<Class> = Vec::new();
    for (e, (end, &o)) in ends.iter().zip(of_end).enumerate() {
        let alike = Alike {
            machine: end.machine,
            location: &end.location,
            net: &end.net,
            branch: &end.branch,
            gauge: end.gauge,
            options: o,
        };
        let at = *place.entry(alike).or_insert_with(|| {
            classes.push(class(end, &options[o]));
            classes.len() - 1
        });
        classes[at].ends.push(e);
    }
    classes
}

fn class(end: &End, options: &Options) -> Class {
    Class {
        ends: Vec::new(),
        machine: end.machine,
        copies: end.copies,
        location: end.location.clone(),
        net: end.net.clone(),
        branch: end.branch.clone(),
        gauge: end.gauge,
        receptacles: options.receptacles.clone(),
        plugs: options.plugs.clone(),
        slots: options.slots.clone(),
    }
}

/// Keeps the identities and offers that some class can use.
fn finish(input: &Input, shelf: &Shelf<'_>, ends: Vec<End>, mut classes: Vec<Class>) -> Fit {
    let used: BTreeSet<usize> = choices(&mut classes).map(|c| c.identity).collect();
    let rank: BTreeMap<usize, usize> = used.iter().copied().zip(0..).collect();
    for choice in choices(&mut classes) {
        if let Some(&place) = rank.get(&choice.identity) {
            choice.identity = place;
        }
    }
    let identities: Vec<Identity> = used.iter().map(|&i| shelf.identities[i].clone()).collect();
    let offers = used_parts(&classes)
        .into_iter()
        .flat_map(|part| supply::usable_offers(input, part))
        .collect();
    Fit {
        ends,
        classes,
        identities,
        offers,
    }
}

fn choices(classes: &mut [Class]) -> impl Iterator<Item = &mut Choice> {
    classes
        .iter_mut()
        .flat_map(|class| class.receptacles.iter_mut().chain(&mut class.plugs))
}

/// Every part that some class can use, by id.
fn used_parts(classes: &[Class]) -> BTreeSet<PartId> {
    let bodies = classes
        .iter()
        .flat_map(|class| class.receptacles.iter().chain(&class.plugs))
        .map(|choice| choice.body);
    let fittings = classes
        .iter()
        .flat_map(|class| &class.slots)
        .flat_map(|slot| slot.options.iter().map(|(part, _)| *part));
    bodies.chain(fittings).collect()
}
