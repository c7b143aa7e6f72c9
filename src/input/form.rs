//! A project with its catalog, as it was read.

use crate::catalog::{Attribute, Catalog, DieId, Holds, PartId};
use crate::diag::Row;
use crate::project::settings::{PROJECT, PURCHASE};
use crate::project::{Circuit, DieOrdered, Machine, OnHand, Ordered, Settings};
use crate::units::Qty;
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// A valid project with its catalog.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Input {
    /// What can be bought.
    pub catalog: Catalog,
    /// `project.toml`, or `purchase.toml`. In a purchase what is asked of parts is for the
    /// machines to say, see [`Input::rules`].
    pub settings: Settings,
    /// The machines of a purchase, in order; empty for a project.
    pub machines: Vec<Machine>,
    /// The circuits, in the order of `circuits.csv`; those of a machine stand together.
    pub circuits: Vec<Circuit>,
    /// The stock of `on_hand.csv`.
    pub on_hand: OnHand,
    /// The rows of `ordered.csv`, in order.
    pub ordered: Vec<Ordered>,
    /// The rows of `dies_ordered.csv`, in order; each die once.
    pub dies_ordered: Vec<DieOrdered>,
    /// The newest `quoted` date among the prices, or what the user says; none
    /// where no price has a date.
    pub as_of: Option<Date>,
    /// The price list that the prices come from.
    pub prices: PriceList,
    /// The files that were read, in a fixed order.
    pub files: Vec<InputFile>,
}

impl Input {
    /// The newest day on which any price was quoted.
    pub fn newest_quote(&self) -> Option<Date> {
        newest_quote(&self.catalog)
    }

    /// Pieces of a part that cost nothing any more: on hand or ordered.
    pub fn available(&self, part: PartId) -> Qty {
        let on_hand = self.on_hand.get(&part).copied().unwrap_or(0);
        on_hand.saturating_add(self.on_order(part))
    }

    /// Pieces of a part that are ordered, received or not.
    pub fn on_order(&self, part: PartId) -> Qty {
        let rows = self.ordered.iter().filter(|row| row.part == part);
        rows.fold(0, |sum, row| sum.saturating_add(row.qty))
    }

    /// The attributes that the project asks for: those that some end wants, and those in
    /// which two halves must agree.
    pub fn attributes_in_use(&self) -> Vec<&Attribute> {
        let ends = || (self.circuits.iter()).flat_map(|circuit| [&circuit.from, &circuit.to]);
        let is_wanted =
            |place: usize| ends().any(|end| matches!(end.wants.get(place), Some(Some(_))));
        let all = self.catalog.attributes.iter().enumerate();
        all.filter(|(place, attribute)| attribute.holds == Holds::Same || is_wanted(*place))
            .map(|(_, attribute)| attribute)
            .collect()
    }

    /// The settings that say what is asked of the parts of a machine: its ambient
    /// temperature, how protection is read, its keying, the parts that it does not use. In
    /// a project these are the project's own.
    pub fn rules(&self, machine: usize) -> &Settings {
        let own = self.machines.get(machine);
        own.map_or(&self.settings, |machine| &machine.settings)
    }

    /// True if the project, or the whole purchase, or the machine excludes the part.
    pub fn excludes(&self, machine: usize, code: &str) -> bool {
        self.settings.exclude_parts.contains(code)
            || self.rules(machine).exclude_parts.contains(code)
    }

    /// Where the part is excluded for the machine; none where it is not.
    pub fn excluded_at(&self, machine: usize, code: &str) -> Option<&Row> {
        let all = [&self.settings, self.rules(machine)];
        all.into_iter()
            .find_map(|of| of.rows.exclude_parts.get(code))
    }

    /// The same, to be changed.
    pub fn rules_mut(&mut self, machine: usize) -> &mut Settings {
        match self.machines.get_mut(machine) {
            Some(machine) => &mut machine.settings,
            None => &mut self.settings,
        }
    }

    /// The file of the settings: `project.toml`, or `purchase.toml`.
    pub fn settings_file(&self) -> &'static str {
        match self.machines.is_empty() {
            true => PROJECT,
            false => PURCHASE,
        }
    }

    /// The name of a machine; none in a project.
    pub fn machine_name(&self, machine: usize) -> Option<&str> {
        self.machines.get(machine).map(|of| of.name.as_str())
    }

    /// The machines of one project, by place: this machine and those that the same files
    /// are read for. In a project the project itself, 0.
    pub fn sharing(&self, machine: usize) -> Vec<usize> {
        let Some(own) = self.machines.get(machine) else {
            return vec![machine];
        };
        let folder = Path::new(&own.project);
        let all = self.machines.iter().enumerate();
        all.filter(|(_, of)| Path::new(&of.project) == folder)
            .map(|(place, _)| place)
            .collect()
    }

    /// The first machine of the project of this machine.
    pub fn first_sharing(&self, machine: usize) -> usize {
        let first = self.sharing(machine).first().copied();
        first.unwrap_or(machine)
    }

    /// True if a die need not be bought: it is owned, or ordered.
    pub fn owns(&self, die: DieId) -> bool {
        self.catalog.die(die).owned || self.dies_ordered.iter().any(|row| row.die == die)
    }
}

/// The price list of a project, by paths relative to the project folder, with `/`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PriceList {
    /// The project's own list: what `project.toml` names, else the catalog's.
    pub own: String,
    /// The list that the user named in place of the own list; none where the two are the same.
    pub instead: Option<String>,
}

/// A file that was read, and what was in it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct InputFile {
    /// Path relative to the project folder, with `/`.
    pub file: String,
    /// SHA-256 of the file's bytes, in hex.
    pub sha256: String,
}

/// The newest day on which any price was quoted.
pub(super) fn newest_quote(catalog: &Catalog) -> Option<Date> {
    let breaks = catalog.offers.iter().flat_map(|offer| &offer.breaks);
    breaks.filter_map(|b| b.quoted).max()
}
