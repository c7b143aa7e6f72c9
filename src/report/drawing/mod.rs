//! The machine as a drawing: locations as boxes, a line for each cable, each
//! end marked with interface and key. Lengths in CSS pixels.

mod path;
mod place;
mod relax;

use crate::study::cables::Cable;
use std::collections::BTreeMap;
use textwrap::core::display_width;

/// Between two lines that leave a box.
const PITCH: f64 = 18.0;
/// Room for the name of a location.
const HEAD: f64 = 28.0;
/// Below the last line that leaves a box.
const FOOT: f64 = 8.0;
/// Room beside and between texts.
const PAD: f64 = 8.0;
/// A character of the small text: wide enough for the fonts that browsers take.
const CHAR: f64 = 6.6;
/// A character of the name of a location.
const HEAD_CHAR: f64 = 8.2;
/// Longer texts are cut; the tables have them whole.
const LONGEST: usize = 18;
/// Longer names of locations are cut.
const LONGEST_NAME: usize = 26;
/// The widest drawing that can be read on an upright A4 sheet: three quarters of its size.
const UPRIGHT: f64 = 940.0;
/// What can be read on an A4 sheet that lies: width and height.
const SHEET: (f64, f64) = (1600.0, 935.0);
/// What two sheets below one another both show.
const OVERLAP: f64 = 120.0;
/// How many colours and how many dashes the style sheet has for nets.
const COLOURS: usize = 8;
const DASHES: usize = 4;

/// Everything that is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// Width of the whole.
    pub width: f64,
    /// Height of the whole.
    pub height: f64,
    /// Locations, in the order in which the circuits name them.
    pub boxes: Vec<Location>,
    /// Cables, in their order.
    pub lines: Vec<Line>,
    /// Each net with its look, in the order in which the circuits name them.
    pub nets: Vec<Net>,
}

impl Drawing {
    /// Too wide to be read on an upright A4 sheet.
    pub fn is_wide(&self) -> bool {
        self.width > UPRIGHT
    }

    /// The sheets of A4, lying, on which the drawing can be read; one where it
    /// fits on one. Each begins with the layer that the one before it ends
    /// with, so that every line between two layers is whole on one of them.
    pub fn sheets(&self) -> Vec<Sheet> {
        let (width, height) = SHEET;
        let rows = ((self.height - OVERLAP) / (height - OVERLAP))
            .ceil()
            .max(1.0);
        let starts = self.starts();
        let places = (0..rows as usize).flat_map(|row| {
            let y = row as f64 * (height - OVERLAP);
            starts.iter().map(move |x| (*x, y))
        });
        let sheets = places.map(|(x, y)| Sheet {
            x,
            y,
            width,
            height,
        });
        sheets.collect()
    }

    /// Left edges of the sheets.
    fn starts(&self) -> Vec<f64> {
        let mut layers: Vec<(f64, f64)> = self.boxes.iter().map(|b| (b.x, b.x + b.width)).collect();
        layers.sort_by(|a, b| a.0.total_cmp(&b.0));
        layers.dedup();
        let mut starts = vec![0.0];
        let mut begun = 0;
        let mut last = 0.0;
        for (n, (_, right)) in layers.iter().enumerate() {
            // A layer that is wider than a sheet would begin one for ever.
            if right + PAD > last + SHEET.0 && n > begun + 1 {
                begun = n - 1;
                last = layers.get(begun).map_or(last, |layer| layer.0 - PAD);
                starts.push(last);
            }
        }
        starts
    }
}

/// A piece of the drawing that fills a sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sheet {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

/// A box.
#[derive(Debug, Clone, PartialEq)]
pub struct Location {
    /// Its name, whole.
    pub name: String,
    /// Its name, cut to fit.
    pub shown: String,
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Location {
    /// Where its name is centred.
    pub fn middle(&self) -> f64 {
        self.x + self.width / 2.0
    }

    /// The base line of its name.
    pub fn base(&self) -> f64 {
        self.y + 18.0
    }
}

/// A line from a box to a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Place of its circuit in `circuits.csv`, from 1.
    pub number: usize,
    /// Circuit, whole.
    pub circuit: String,
    /// Net, whole.
    pub net: String,
    /// Place of its net in [`Drawing::nets`].
    pub look: usize,
    /// True for a multi-core cable.
    pub is_multi: bool,
    /// The way of the line, as SVG path data.
    pub path: String,
    /// Its `from` end, its `to` end.
    pub ends: [Mark; 2],
}

/// The end of a line on a box.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Where the line meets the box.
    pub x: f64,
    /// See `x`.
    pub y: f64,
    /// True where the line leaves to the right.
    pub to_right: bool,
    /// Interface and key, cut to fit; said in words where there is no connector.
    pub mating: String,
    /// Number of the circuit and net, cut to fit.
    pub tag: String,
    /// True where there is a mated pair.
    pub has_pair: bool,
}

impl Mark {
    /// Where interface and key stand, inside the box.
    pub fn inside(&self) -> f64 {
        self.x - self.sign() * PAD
    }

    /// Where number and net stand, outside the box.
    pub fn outside(&self) -> f64 {
        self.x + self.sign() * PAD
    }

    /// The base line of the text inside.
    pub fn base(&self) -> f64 {
        self.y + 4.0
    }

    /// The base line of the text above the line.
    pub fn above(&self) -> f64 {
        self.y - 3.0
    }

    fn sign(&self) -> f64 {
        if self.to_right { 1.0 } else { -1.0 }
    }
}

/// How the lines of a net look.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Net {
    /// Its name.
    pub name: String,
    /// Which colour, from 0.
    pub colour: usize,
    /// Which dash, from 0.
    pub dash: usize,
}

/// Lays the cables out: layers from left to right, each line on a way of its own.
pub fn drawing(cables: &[Cable]) -> Drawing {
    let plain = Plain::new(cables);
    let placed = place::place(&plain);
    let nets = nets(cables);
    let looks: BTreeMap<&str, usize> = nets.iter().map(|n| &*n.name).zip(0..).collect();
    let lines = cables.iter().zip(&placed.ways).map(|(cable, way)| Line {
        number: cable.number,
        circuit: cable.circuit.name.clone(),
        net: cable.net.clone(),
        look: looks.get(&*cable.net).copied().unwrap_or(0),
        is_multi: cable.circuit.cable == crate::project::Cable::Multi,
        path: path::data(way, plain.stub),
        ends: [0, 1].map(|side| mark(cable, way, side)),
    });
    Drawing {
        width: placed.width,
        height: placed.height,
        lines: lines.collect(),
        boxes: boxes(&plain, &placed),
        nets,
    }
}

/// What the layout needs to know.
struct Plain {
    names: Vec<String>,
    /// The boxes that each line joins.
    joins: Vec<[usize; 2]>,
    /// Width of every box.
    width: f64,
    /// How far a line runs straight from a box, for the text above it.
    stub: f64,
}

impl Plain {
    fn new(cables: &[Cable]) -> Self {
        let mut names: Vec<String> = Vec::new();
        let mut joins = Vec::new();
        for cable in cables {
            joins.push(cable.ends.map(|end| {
                let at = names.iter().position(|name| name == end.location);
                at.unwrap_or_else(|| {
                    names.push(end.location.to_owned());
                    names.len() - 1
                })
            }));
        }
        let ends = || cables.iter().flat_map(|cable| &cable.ends);
        let mating = widest(ends().map(|end| mating(end.pair)), CHAR);
        let name = widest(names.iter().map(|name| cut(name, LONGEST_NAME)), HEAD_CHAR);
        Self {
            width: (2.0 * mating + 3.0 * PAD).max(name + 2.0 * PAD),
            stub: widest(cables.iter().map(tag), CHAR) + 2.0 * PAD,
            names,
            joins,
        }
    }
}

fn widest(texts: impl Iterator<Item = String>, char: f64) -> f64 {
    let columns = texts.map(|text| display_width(&text)).max().unwrap_or(0);
    columns as f64 * char
}

fn boxes(plain: &Plain, placed: &place::Placed) -> Vec<Location> {
    let boxes = plain.names.iter().zip(&placed.boxes);
    let boxes = boxes.map(|(name, place)| Location {
        name: name.clone(),
        shown: cut(name, LONGEST_NAME),
        x: place.x,
        y: place.y,
        width: plain.width,
        height: place.height,
    });
    boxes.collect()
}

fn mark(cable: &Cable, way: &place::Way, side: usize) -> Mark {
    let port = if side == 0 { way.from } else { way.to };
    let pair = cable.ends.get(side).and_then(|end| end.pair);
    Mark {
        x: port.x,
        y: port.y,
        to_right: port.to_right,
        mating: mating(pair),
        tag: tag(cable),
        has_pair: pair.is_some(),
    }
}

fn mating(pair: Option<&crate::plan::EndRecord>) -> String {
    match pair {
        Some(pair) => cut(&super::labels::mating(pair), LONGEST),
        None => "no connector".to_owned(),
    }
}

fn tag(cable: &Cable) -> String {
    cut(&format!("{} {}", cable.number, cable.net), LONGEST)
}

/// At most so many columns, the last of them an ellipsis where something is cut.
fn cut(text: &str, longest: usize) -> String {
    if display_width(text) <= longest {
        return text.to_owned();
    }
    let mut shown = String::new();
    for c in text.chars() {
        let mut longer = shown.clone();
        longer.push(c);
        // A mark that takes no room of its own must not pile up without end.
        if display_width(&longer) >= longest || longer.chars().count() > 4 * longest {
            break;
        }
        shown = longer;
    }
    shown.push('…');
    shown
}

fn nets(cables: &[Cable]) -> Vec<Net> {
    let mut nets: Vec<Net> = Vec::new();
    for cable in cables {
        if nets.iter().all(|net| net.name != cable.net) {
            let n = nets.len();
            nets.push(Net {
                name: cable.net.clone(),
                colour: n % COLOURS,
                dash: n / COLOURS % DASHES,
            });
        }
    }
    nets
}
