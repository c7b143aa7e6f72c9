//! The moves of a search, one file for each kind.
//!
//! A move takes the sets of some nodes away, gives them others, and is kept or
//! taken back as a whole (`decide`). It needs the heat: how much worse it may be.

mod decide;
mod exchange;
mod ruin;
mod toggle;

use super::course::Search;

impl Search<'_> {
    /// One move, drawn by lot. A supplier or a die is opened or closed only where
    /// there is another.
    pub(super) fn step(&mut self, heat: f64) {
        match self.random.u32(0..200) {
            0 if self.ground.problem.suppliers.len() > 1 => self.toggle_supplier(heat),
            1 if self.ground.of_die.len() > 1 => self.toggle_die(heat),
            2..82 => self.exchange(heat),
            _ => self.ruin(heat),
        }
    }
}
