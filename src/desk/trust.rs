//! How far the record of an open project is trusted.

use super::open::Desk;
use super::record::{Kept, Made, OnRecord, Refusal, check, check_alone, list_then, prices_of};
use crate::input::{self, Input};
use crate::plan::{Plan, ReadError};
use crate::study::failure::Failure;
use std::sync::Arc;

impl Desk {
    /// The record with the project read as the record says, checked.
    ///
    /// # Errors
    /// [`Refusal`] if record or project can't be read, or the record does not hold.
    pub fn on_record(&self) -> Result<&OnRecord, &Refusal> {
        let opened = self.on_record.get_or_init(|| {
            let plan = self.there()?.clone();
            let input = self.as_recorded(&plan)?;
            let checked = check(self.files(), self.folder(), &input, &plan)?;
            Ok(Arc::new(OnRecord {
                plan,
                input,
                checked,
            }))
        });
        opened.as_deref()
    }

    /// The record, which has to be there, and the project as it is now.
    ///
    /// # Errors
    /// [`Failure::Read`] of the record and [`Failure::Input`] of the project.
    pub fn record_and_now(&self) -> Result<(&Plan, &Input), Failure> {
        Ok((self.there()?, self.sound()?))
    }

    /// The record held against the project as it was when the plan was made, as far as
    /// that project can still be read: with the list of that time, even where
    /// `project.toml` names another list since.
    ///
    /// # Errors
    /// [`Failure`] if the record does not hold.
    pub fn as_made(&self) -> Result<Made, Failure> {
        let plan = self.there()?;
        let list = list_then(self.files(), self.folder(), plan);
        let loaded = input::load(self.folder(), &self.options(list, plan.as_of));
        let now = || self.sound();
        let against = loaded.input.as_ref().map_or_else(now, Ok)?;
        let checked = check(self.files(), self.folder(), against, plan)?;
        Ok(Made {
            was: loaded.input,
            checked,
        })
    }

    /// The record held against itself alone, where the project can't be read.
    ///
    /// # Errors
    /// [`Refusal::Read`] and [`Refusal::Wrong`].
    pub fn on_record_alone(&self) -> Result<&Plan, Refusal> {
        let plan = self.there()?;
        check_alone(plan)?;
        Ok(plan)
    }

    fn there(&self) -> Result<&Plan, Refusal> {
        let plan = self.unchecked();
        let plan = plan.map_err(|error| Refusal::Read(error.clone()))?;
        plan.ok_or_else(|| Refusal::Read(ReadError::Missing(self.record_path())))
    }

    /// What a search can start from: the record, where it is of this project. A
    /// record that nobody named and that can't be read, or is of another project,
    /// is as good as none. So is a record whose list has errors, where another list
    /// is named: [`Desk::sound`] tells what else is wrong with the project.
    ///
    /// # Errors
    /// [`Failure`] where the record was named and is not of this project, where the record
    /// does not hold, or the project can't be read as the record says.
    pub fn kept(&self) -> Result<Kept<'_>, Failure> {
        if let Ok(None) = self.unchecked() {
            return Ok(Kept(Err(None)));
        }
        match self.on_record() {
            Ok(on) => Ok(Kept(Ok(&on.plan))),
            Err(refusal @ (Refusal::Read(_) | Refusal::OtherProject { .. }))
                if !self.is_record_named() =>
            {
                Ok(Kept(Err(Some(refusal))))
            }
            Err(Refusal::Input(_)) if self.asked.prices.is_some() => Ok(Kept(Err(None))),
            Err(refusal) => Err(refusal.into()),
        }
    }

    /// The project with the list that was named for the record, as of the record's day.
    fn as_recorded(&self, plan: &Plan) -> Result<Input, Refusal> {
        let list = prices_of(self.files(), self.folder(), plan);
        if list == self.list() {
            let now = self.now();
            let sound = now.input.as_ref().filter(|_| !now.findings.has_errors());
            let mut input = sound.cloned().ok_or_else(|| self.broken())?;
            input.as_of = plan.as_of.or_else(|| input.newest_quote());
            return Ok(input);
        }
        let loaded = input::load(self.folder(), &self.options(list, plan.as_of));
        match loaded.input {
            Some(input) if !loaded.findings.has_errors() => Ok(input),
            _ => Err(Refusal::Input(loaded.findings)),
        }
    }

    fn broken(&self) -> Refusal {
        Refusal::Input(self.findings().clone())
    }

    /// True unless every file is as when the plan on record was made; none where
    /// there is no record that holds.
    pub fn is_stale(&self) -> Option<bool> {
        let on = self.on_record().ok()?;
        Some(!on.checked.is_same || Some(&on.plan.inputs) != self.input().map(|now| &now.files))
    }
}
