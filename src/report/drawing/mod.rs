//! The machine as a drawing: locations as boxes, a line for each cable, each
//! end marked with interface and key. Lengths are in CSS pixels.

mod path;
mod place;
mod plain;
mod relax;
mod sizes;
mod texts;

use crate::study::cables::Cable;
use plain::Plain;
use sizes::{COLOURS, DASHES, LONGEST_NAME, OVERLAP, PAD, SHEET, UPRIGHT};
use std::collections::BTreeMap;
use texts::{cut, mating, tag};

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
    /// True if the drawing is too wide to be read on an upright A4 sheet.
    pub fn is_wide(&self) -> bool {
        self.width > UPRIGHT
    }

    /// The lying A4 sheets on which the drawing can be read; one where the drawing
    /// fits on one. Each sheet begins with the layer that the sheet before ends
    /// with, so that every line between two layers is whole on one sheet.
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
            // A layer that is wider than a sheet would begin sheets for ever.
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
    /// Place of its circuit in the `circuits.csv` of its machine, from 1.
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
    /// Where the line meets the box, from the left.
    pub x: f64,
    /// Where the line meets the box, from above.
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
        circuit: cable.name.to_owned(),
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
