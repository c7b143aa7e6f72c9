//! What the papers of a plan are made from.

use super::open::Desk;
use crate::input::Input;
use crate::plan::Plan;
use crate::study::cables::{Cable, cables};
use crate::study::copies::{Copies, copies};
use crate::study::failure::Failure;
use crate::study::keys::{KeyMap, key_maps};
use crate::study::kit::{Kits, kits};
use crate::units::Qty;

/// A plan on record with the project that the plan is of.
#[derive(Debug, Clone, Copy)]
pub struct Paper<'d> {
    /// The plan.
    pub plan: &'d Plan,
    /// The project as it is now, without what was placed of this plan.
    pub input: &'d Input,
    /// Files that are not as when the plan was made. `ordered.csv` and
    /// `dies_ordered.csv` are not among these files where only this plan's own orders
    /// were added.
    pub changed: &'d [String],
    /// True if every file is as when the plan was made.
    pub is_same: bool,
}

impl Desk {
    /// The plan on record, as papers show it.
    ///
    /// # Errors
    /// [`Failure`] if the record does not hold, or is not of these circuits.
    pub fn paper(&self) -> Result<Paper<'_>, Failure> {
        let on = self.on_record()?;
        let paper = Paper {
            plan: &on.plan,
            input: on.as_planned(),
            changed: &on.checked.changed,
            is_same: on.checked.is_same,
        };
        paper.cables()?;
        Ok(paper)
    }
}

impl<'d> Paper<'d> {
    /// The cables with what the plan puts on their ends.
    ///
    /// # Errors
    /// [`Failure::Read`] if the plan is not of these circuits.
    pub fn cables(&self) -> Result<Vec<Cable<'d>>, Failure> {
        cables(self.input, self.plan).map_err(plan_again)
    }

    /// Which plugs go into which receptacles, for each machine.
    ///
    /// # Errors
    /// [`Failure::Read`] if the plan has parts that the catalog does not.
    pub fn keys(&self) -> Result<Vec<KeyMap>, Failure> {
        key_maps(self.input, self.plan).map_err(plan_again)
    }

    /// The same, of one machine alone where one is named.
    ///
    /// # Errors
    /// As [`Paper::keys`] and [`Paper::copies`].
    pub fn keys_of(&self, machine: Option<&str>) -> Result<Vec<KeyMap>, Failure> {
        self.copies(machine, None)?;
        let mut maps = self.keys()?;
        maps.retain(|map| machine.is_none_or(|name| map.machine == name));
        Ok(maps)
    }

    /// What papers are made for: all machines that the plan builds, or all copies of one
    /// machine, or one copy.
    ///
    /// # Errors
    /// [`Failure::Usage`] if the plan does not build it.
    pub fn copies(&self, machine: Option<&str>, copy: Option<Qty>) -> Result<Copies, Failure> {
        copies(self.plan, machine, copy).map_err(|no| Failure::usage(no.to_string(), no.help()))
    }

    /// What goes into each bag.
    ///
    /// # Errors
    /// [`Failure::Read`] if the plan's counts don't add up.
    pub fn kits(&self) -> Result<Kits, Failure> {
        kits(self.plan).map_err(plan_again)
    }
}

fn plan_again(error: impl ToString) -> Failure {
    Failure::read(error, "run couplet plan again")
}
