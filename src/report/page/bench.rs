//! Pages for the bench: kits, build cards, labels.

use super::{Frame, Grid, PageError};
use crate::catalog::Catalog;
use crate::input::Input;
use crate::plan::Plan;
use crate::report::cards::{self, Card};
use crate::report::kit as words;
use crate::report::labels::{self as label, Label};
use crate::study::cables::Cable;
use crate::study::kit::Kits;
use askama::Template;

#[derive(Template)]
#[template(path = "kit.html")]
struct KitPage {
    frame: Frame,
    bags: Vec<Bag>,
    summary: String,
}

struct Bag {
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
    plan: &Plan,
    catalog: &Catalog,
    changed: &[String],
) -> Result<String, PageError> {
    let mut bags: Vec<Bag> = Vec::new();
    for bag in &kits.circuits {
        let place = |name: &Option<String>| name.clone().unwrap_or("no connector".to_owned());
        let [from, to] = &bag.locations;
        bags.push(Bag {
            name: format!("Circuit {}", bag.circuit),
            way: format!("{} to {}", place(from), place(to)),
            contents: words::contents(bag.picks.iter().map(|p| p.qty())),
            grid: Grid::new(
                format!("bag-{}", bags.len()),
                format!("Bag of circuit {}", bag.circuit),
                &words::bag(bag, catalog),
            ),
        });
    }
    for (name, items) in [
        (words::SPARES, &kits.spares),
        (words::SURPLUS, &kits.surplus),
    ] {
        if !items.is_empty() {
            bags.push(Bag {
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
    }
    KitPage {
        frame: Frame::new("Kits", &plan.project, changed),
        bags,
        summary: words::summary(kits),
    }
    .render()
}

#[derive(Template)]
#[template(path = "cards.html")]
struct CardsPage<'a> {
    frame: Frame,
    cards: Vec<Card<'a>>,
}

impl CardsPage<'_> {
    fn code(&self, card: &Card) -> String {
        label::code(card.cable, card.end.side)
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
    plan: &Plan,
    input: &Input,
    changed: &[String],
) -> Result<String, PageError> {
    CardsPage {
        frame: Frame::new("Build cards", &plan.project, changed),
        cards: cards::cards(cables, input),
    }
    .render()
}

#[derive(Template)]
#[template(path = "labels.html")]
struct LabelsPage<'a> {
    frame: Frame,
    labels: Vec<Label<'a>>,
    /// The notes of circuits, each once.
    notes: Vec<(&'a str, &'a str)>,
}

/// A page of labels to cut out, two for each cable.
///
/// # Errors
/// The error of the template; in memory there is none.
pub fn labels(labels: Vec<Label>, plan: &Plan, changed: &[String]) -> Result<String, PageError> {
    let circuits = labels.iter().map(|label| label.cable.circuit);
    let noted = circuits.filter(|circuit| !circuit.note.is_empty());
    let mut notes: Vec<(&str, &str)> = noted.map(|c| (&*c.name, &*c.note)).collect();
    notes.dedup();
    LabelsPage {
        frame: Frame::new("Cable labels", &plan.project, changed),
        labels,
        notes,
    }
    .render()
}
