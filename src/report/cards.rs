//! Build cards: what is done at each end of a cable, in order.

use super::asked;
use super::labels::{mating, of_copies};
use super::order::description;
use crate::catalog::{Body, Catalog, Fitting, Spec};
use crate::fit::Side;
use crate::input::Input;
use crate::plan::{EndRecord, FittingRecord};
use crate::project::Terminal;
use crate::study::cables::{Cable, CableEnd, Rated, rated};
use crate::study::copies::{Built, Copies};
use crate::units::Qty;

/// What stands on the card of one end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Card<'a> {
    /// The machine that the cable is of, and which copy of it; none in a project.
    pub copy: Option<&'a Built>,
    /// Its cable.
    pub cable: &'a Cable<'a>,
    /// The end.
    pub end: CableEnd<'a>,
    /// What the plan puts on the end.
    pub pair: &'a EndRecord,
    /// The receptacle first where it is crimped, then the plug; then a half
    /// that is fixed to a device.
    pub halves: Vec<Half>,
    /// What each body carries on the end's conductor, and which rating says so.
    pub ratings: Vec<String>,
    /// What the end wants of the user's own attributes; may be empty.
    pub wants: String,
}

/// One half of a pair on a card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Half {
    /// `plug` or `receptacle`.
    pub name: &'static str,
    /// The half itself and what goes on it.
    pub parts: Vec<Piece>,
    /// The crimp dies of its ferrules, with what the catalog says of them.
    pub dies: Vec<String>,
    /// True if the half is crimped onto the cable: then the card has blanks to fill in.
    pub is_crimped: bool,
    /// What is done, in order.
    pub steps: Vec<String>,
}

/// A part and how many.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// What the part is.
    pub kind: String,
    /// Part code; empty for what comes in the box.
    pub part: String,
    /// What the catalog says of the part.
    pub description: String,
    /// Pieces.
    pub qty: Qty,
}

/// How many cards there are, without making them.
pub fn number(cables: &[Cable], copies: &Copies) -> usize {
    let ends = of_copies(cables, copies).flat_map(|(_, cable)| cable.ends);
    ends.filter(|end| end.pair.is_some()).count()
}

/// A card for each end that has a mated pair, by machine and copy, then in the order of
/// the cables.
pub fn cards<'a>(cables: &'a [Cable<'a>], copies: &'a Copies, input: &Input) -> Vec<Card<'a>> {
    let catalog = &input.catalog;
    let ends = of_copies(cables, copies)
        .flat_map(|(copy, cable)| cable.ends.map(|end| (copy, cable, end)));
    let cards = ends.filter_map(|(copy, cable, end)| {
        let pair = end.pair?;
        let halves = pair
            .bodies()
            .map(|(name, code)| half(pair, name, code, catalog));
        let mut halves: Vec<Half> = halves.collect();
        halves.sort_by_key(|half| !half.is_crimped);
        Some(Card {
            copy,
            cable,
            end,
            pair,
            halves,
            ratings: rated(input, cable.circuit, pair)
                .iter()
                .map(rating)
                .collect(),
            wants: asked::wants(catalog, &terminal(cable, end).wants),
        })
    });
    cards.collect()
}

fn terminal<'a>(cable: &Cable<'a>, end: CableEnd) -> &'a Terminal {
    match end.side {
        Side::From => &cable.circuit.from,
        Side::To => &cable.circuit.to,
    }
}

/// `plug P-1: 90 A on 10 to 16 mm² (ratings.csv), 83.4 A at 40 °C`.
fn rating(rated: &Rated) -> String {
    let mut text = format!("{} {}: {}", rated.half, rated.part, rated.rated);
    if let Some((min, max)) = rated.areas {
        text += &format!(" on {} to {max} (ratings.csv)", min.0.normalize());
    }
    if let Some((ambient, left)) = rated.left {
        text += &format!(", {left} at {ambient}");
    }
    text
}

fn half(pair: &EndRecord, name: &'static str, code: &str, catalog: &Catalog) -> Half {
    let body = catalog.find(code).and_then(|id| catalog.part(id).body());
    // A plug is always crimped. Fittings tell of a receptacle that the catalog has lost.
    let fittings: Vec<&FittingRecord> = pair.fittings.iter().filter(|f| f.half == name).collect();
    let is_crimped = match body {
        Some(body) => body.is_crimped(),
        None => name == "plug" || !fittings.is_empty(),
    };
    let dies = dies(&fittings, catalog);
    let steps = if is_crimped {
        let makes = Makes::of(body, &fittings);
        crimped(&makes, &dies, &mating(pair))
    } else {
        fixed(body.map_or("the device", |body| &body.attach))
    };
    Half {
        name,
        parts: pieces(name, code, &fittings, body, catalog),
        dies,
        is_crimped,
        steps,
    }
}

fn pieces(
    name: &str,
    code: &str,
    fittings: &[&FittingRecord],
    body: Option<&Body>,
    catalog: &Catalog,
) -> Vec<Piece> {
    let piece = |kind: &str, part: &str, qty| Piece {
        kind: kind.to_owned(),
        part: part.to_owned(),
        description: noted(catalog, part),
        qty,
    };
    let mut pieces = vec![piece(name, code, 1)];
    pieces.extend(fittings.iter().map(|f| piece(&f.kind, &f.part, f.qty)));
    let boxed = body.map(|body| body.includes.iter()).into_iter().flatten();
    pieces.extend(boxed.map(|fitting| Piece {
        kind: fitting.word().to_owned(),
        part: String::new(),
        description: format!("in the box of {code}"),
        qty: 1,
    }));
    pieces
}

/// What the catalog says of a part, with the user's remark on it.
fn noted(catalog: &Catalog, part: &str) -> String {
    let note = catalog.find(part).map_or("", |id| &catalog.part(id).note);
    let texts = [description(catalog, part), note.to_owned()];
    let texts = texts.into_iter().filter(|text| !text.is_empty());
    texts.collect::<Vec<String>>().join("; ")
}

/// The dies that the ferrules name, each once.
fn dies(fittings: &[&FittingRecord], catalog: &Catalog) -> Vec<String> {
    let mut dies: Vec<String> = Vec::new();
    for fitting in fittings {
        let part = catalog.find(&fitting.part).map(|id| catalog.part(id));
        let Some(Spec::Ferrule(ferrule)) = part.map(|part| &part.spec) else {
            continue;
        };
        let name = ferrule.die_name.clone();
        let words = ferrule.die.map(|id| catalog.die(id).description.as_str());
        let die = match (name, words) {
            (Some(name), Some(words)) if !words.is_empty() => format!("{name} ({words})"),
            (Some(name), _) => name,
            (None, _) => continue,
        };
        if !dies.contains(&die) {
            dies.push(die);
        }
    }
    dies
}

/// Which fittings a crimped half takes, bought or in its box.
struct Makes {
    ferrule: bool,
    seal: bool,
    back_shell: bool,
}

impl Makes {
    fn of(body: Option<&Body>, fittings: &[&FittingRecord]) -> Self {
        let has = |fitting: Fitting| {
            fittings.iter().any(|f| f.kind == fitting.word())
                || body.is_some_and(|body| body.includes.contains(&fitting))
        };
        Self {
            ferrule: has(Fitting::Ferrule),
            seal: has(Fitting::Seal),
            back_shell: has(Fitting::BackShell),
        }
    }

    /// What goes behind the body: `back shell parts and seal`.
    fn rear(&self, between: &str) -> Option<String> {
        match (self.back_shell, self.seal) {
            (true, true) if between.is_empty() => Some("back shell parts and seal".to_owned()),
            (true, true) => Some(between.to_owned()),
            (true, false) => Some("back shell".to_owned()),
            (false, true) => Some("seal".to_owned()),
            (false, false) => None,
        }
    }
}

/// The customary order of work on a crimped half: common practice, no published source.
fn crimped(makes: &Makes, dies: &[String], mating: &str) -> Vec<String> {
    let mut steps = Vec::new();
    if let Some(rear) = makes.rear("") {
        steps.push(format!("Slide {rear} onto the cable first."));
    }
    steps.push("Strip the cable to the length above; leave no strand cut.".to_owned());
    let into = "every strand must be inside";
    if makes.ferrule {
        steps.push(format!("Put the ferrule onto the conductor; {into}."));
        steps.push("Put the ferrule into the barrel.".to_owned());
    } else {
        steps.push(format!("Put the conductor into the barrel; {into}."));
    }
    steps.push(match dies {
        [] => "Crimp with the die that the maker's sheet names; no die is on file.".to_owned(),
        [die] => format!("Crimp with die {die}; measure the crimp height."),
        several => format!("Crimp with dies {}; measure.", several.join(", ")),
    });
    steps.push("Pull check: the conductor must not move in the crimp.".to_owned());
    if let Some(rear) = makes.rear("seal, then back shell,") {
        steps.push(format!("Push the {rear} home."));
    }
    steps.push(if mating.is_empty() {
        "Check that this half is the right half before mating.".to_owned()
    } else {
        format!("Check the key before mating: both halves must read {mating}.")
    });
    steps
}

fn fixed(attach: &str) -> Vec<String> {
    vec![
        format!("Fix the half to: {attach}; torque as on the maker's sheet."),
        "Check the key before mating.".to_owned(),
    ]
}
