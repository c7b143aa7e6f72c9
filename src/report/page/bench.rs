//! Pages for the bench: kits, build cards, labels.

use super::{Frame, Grid, PageError};
use crate::catalog::Catalog;
use crate::input::Input;
use crate::plan::Plan;
use crate::report::cards::{self, Card};
use crate::report::kit as words;
use crate::report::labels::{self as label, Label};
use crate::report::wording::plain;
use crate::study::cables::Cable;
use crate::study::copies::{Built, Copies};
use crate::study::kit::Kits;
use askama::Template;
use std::collections::BTreeSet;

#[derive(Template)]
#[template(path = "kit.html")]
struct KitPage {
    frame: Frame,
    starts: Vec<Start>,
    bags: Vec<Bag>,
    summary: String,
}

struct Bag {
    /// The id of the bag, for links.
    id: String,
    /// True where a new sheet begins in print: the bags of each copy of a machine go their
    /// own way.
    begins: bool,
    name: String,
    /// Where the circuit goes; empty for spares and surplus.
    way: String,
    contents: String,
    grid: Grid,
}

/// A page of bags, each with a heading.
///
/// # Errors
/// The error of the template; in memory there is none.
pub fn kit(
    kits: &Kits,
    copies: &Copies,
    (plan, catalog, cables): (&Plan, &Catalog, &[Cable]),
    changed: &[String],
) -> Result<String, PageError> {
    let mut bags: Vec<Bag> = Vec::new();
    let of: Vec<Option<&Built>> = kits.bags(copies).map(|(copy, _)| copy).collect();
    let mut starts = starts("of", of);
    for (copy, bag) in kits.bags(copies) {
        bags.push(Bag {
            id: format!("of-{}", bags.len()),
            begins: id_at(&starts, &bags.len()).is_some(),
            name: match copy {
                Some(copy) => plain(&format!("{copy}: circuit {}", bag.circuit)),
                None => format!("Circuit {}", bag.circuit),
            },
            way: way(bag, cables),
            contents: words::contents(bag.picks.iter().map(|p| p.qty())),
            grid: Grid::new(
                format!("bag-{}", bags.len()),
                match copy {
                    Some(copy) => format!("Bag of circuit {} of {copy}", bag.circuit),
                    None => format!("Bag of circuit {}", bag.circuit),
                },
                &words::bag(bag, catalog),
            ),
        });
    }
    for (name, items) in words::rest(kits, copies) {
        let id = format!("of-{}", bags.len());
        starts.push(Start {
            name: name.to_owned(),
            id: id.clone(),
            place: bags.len(),
        });
        bags.push(Bag {
            id,
            begins: copies.has_machines(),
            name: name.to_owned(),
            way: String::new(),
            contents: words::contents(items.iter().map(|i| i.qty)),
            grid: Grid::new(
                format!("bag-{}", bags.len()),
                format!("Bag of {}", name.to_lowercase()),
                &words::items(items, catalog),
            ),
        });
    }
    KitPage {
        frame: Frame::new("Kits", &plan.project, changed),
        starts,
        bags,
        summary: words::summary(kits, copies),
    }
    .render()
}

/// Where the circuit of a bag goes: `pack to motor (no connector)`.
fn way(bag: &crate::study::kit::Bag, cables: &[Cable]) -> String {
    let is_own = |cable: &&Cable| cable.machine == bag.machine && cable.name == bag.circuit;
    let cable = cables.iter().find(is_own);
    let place = |side: usize| match (&bag.locations[side], cable) {
        (Some(location), _) => location.clone(),
        (None, Some(cable)) => format!("{} (no connector)", cable.ends[side].location),
        (None, None) => "no connector".to_owned(),
    };
    format!("{} to {}", place(0), place(1))
}

/// Where what is for one copy of a machine begins.
struct Start {
    /// `ferry 3 of 5`.
    name: String,
    /// The id of its first bag, card or label.
    id: String,
    /// That one's place.
    place: usize,
}

/// Where each copy begins among all that is on a page; nothing in a project.
fn starts<'a>(kind: &str, of: impl IntoIterator<Item = Option<&'a Built>>) -> Vec<Start> {
    let mut starts = Vec::new();
    let mut last = None;
    for (place, copy) in of.into_iter().enumerate() {
        if let Some(copy) = copy.filter(|copy| last != Some(*copy)) {
            starts.push(Start {
                name: plain(&copy.to_string()),
                id: format!("{kind}-{place}"),
                place,
            });
            last = Some(copy);
        }
    }
    starts
}

/// The id of what stands at a place, where a copy begins there.
fn id_at<'s>(starts: &'s [Start], place: &usize) -> Option<&'s str> {
    let at = starts.binary_search_by_key(place, |start| start.place);
    at.ok()
        .and_then(|at| starts.get(at))
        .map(|start| &*start.id)
}

#[derive(Template)]
#[template(path = "cards.html")]
struct CardsPage<'a> {
    frame: Frame,
    starts: Vec<Start>,
    cards: Vec<Card<'a>>,
}

impl CardsPage<'_> {
    fn code(&self, card: &Card) -> String {
        label::of_copy(card.copy, &label::code(card.cable, card.end.side))
    }

    fn id(&self, place: &usize) -> Option<&str> {
        id_at(&self.starts, place)
    }

    fn mating(&self, card: &Card) -> String {
        label::mating(card.pair)
    }
}

/// A page of build cards, one for each end.
///
/// # Errors
/// The error of the template; in memory there is none.
pub fn cards(
    cables: &[Cable],
    copies: &Copies,
    (plan, input): (&Plan, &Input),
    changed: &[String],
) -> Result<String, PageError> {
    let cards = cards::cards(cables, copies, input);
    CardsPage {
        frame: Frame::new("Build cards", &plan.project, changed),
        starts: starts("card", cards.iter().map(|card| card.copy)),
        cards,
    }
    .render()
}

#[derive(Template)]
#[template(path = "labels.html")]
struct LabelsPage<'a> {
    frame: Frame,
    copies: Vec<OfCopy<'a>>,
    /// The notes of circuits, each once.
    notes: Vec<(String, &'a str)>,
}

/// The labels of a copy of a machine, or all labels of a project.
struct OfCopy<'a> {
    /// `ferry 3 of 5`; empty in a project.
    name: String,
    /// The id of the section.
    id: String,
    labels: Vec<Label<'a>>,
}

/// The labels by the copy that they are for, which stand one after the other.
fn by_copy(labels: Vec<Label>) -> Vec<OfCopy> {
    let mut all: Vec<OfCopy> = Vec::new();
    let mut last = None;
    for label in labels {
        if last != Some(label.copy) {
            last = Some(label.copy);
            all.push(OfCopy {
                name: label
                    .copy
                    .map_or_else(String::new, |copy| plain(&copy.to_string())),
                id: format!("labels-{}", all.len()),
                labels: Vec::new(),
            });
        }
        if let Some(of) = all.last_mut() {
            of.labels.push(label);
        }
    }
    all
}

/// A page of labels to cut out, two for each cable.
///
/// # Errors
/// The error of the template; in memory there is none.
pub fn labels(labels: Vec<Label>, plan: &Plan, changed: &[String]) -> Result<String, PageError> {
    let mut cables: Vec<&Cable> = labels.iter().map(|label| label.cable).collect();
    let mut seen = BTreeSet::new();
    cables.retain(|cable| !cable.circuit.note.is_empty() && seen.insert(&cable.circuit.name));
    // Copies are alike, so a note stands once for all of them.
    let name = |cable: &Cable| match cable.machine {
        "" => cable.name.to_owned(),
        machine => format!("{machine}: {}", cable.name),
    };
    let notes = cables
        .iter()
        .map(|cable| (name(cable), &*cable.circuit.note));
    let notes = notes.collect();
    LabelsPage {
        frame: Frame::new("Cable labels", &plan.project, changed),
        copies: by_copy(labels),
        notes,
    }
    .render()
}
