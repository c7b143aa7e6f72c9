//! What the layout needs to know of the cables.

use super::sizes::{CHAR, HEAD_CHAR, LONGEST_NAME, PAD};
use super::texts::{cut, mating, tag, widest};
use crate::study::cables::Cable;

/// What the layout needs to know.
pub struct Plain {
    pub names: Vec<String>,
    /// The boxes that each line joins.
    pub joins: Vec<[usize; 2]>,
    /// Width of every box.
    pub width: f64,
    /// How far a line runs straight from a box, for the text above it.
    pub stub: f64,
}

impl Plain {
    pub fn new(cables: &[Cable]) -> Self {
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
