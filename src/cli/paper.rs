//! What the documents have in common: the plan, the project it is for, where it goes.

use super::args::OfPlan;
use super::error::CliError;
use super::output::Terminal;
use super::{files, record};
use couplet::desk::record::OnRecord;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::study::cables::{Cable, cables};
use std::path::Path;

/// A plan with its project.
pub struct Paper {
    /// The plan.
    pub plan: Plan,
    /// The project as it is now, but for what was placed of this plan.
    pub input: Input,
    /// Files that are not as when the plan was made; `ordered.csv` and
    /// `dies_ordered.csv` are not among them where they only hold this plan's own
    /// orders since.
    pub changed: Vec<String>,
    /// True if every file is as when the plan was made.
    pub is_same: bool,
}

impl Paper {
    /// Reads both, and warns where files have changed since the plan was made.
    pub fn read(of: &OfPlan, terminal: &Terminal) -> Result<Self, CliError> {
        let OnRecord {
            plan,
            input,
            checked,
            ..
        } = record::open(&of.project, of.plan.as_deref(), "order or build", terminal)?;
        let paper = Self {
            plan,
            input: checked.before.unwrap_or(input),
            changed: checked.changed,
            is_same: checked.is_same,
        };
        paper.cables()?;
        Ok(paper)
    }

    /// The cables with what the plan puts on their ends.
    pub fn cables(&self) -> Result<Vec<Cable<'_>>, CliError> {
        cables(&self.input, &self.plan).map_err(|error| CliError::Read {
            message: error.to_string(),
            help: "run couplet plan again".to_owned(),
        })
    }
}

/// Writes a document into a file, or to standard output where none is named or
/// it is `-`.
pub fn put(out: Option<&Path>, text: &str, terminal: &Terminal) -> Result<(), CliError> {
    match out {
        Some(path) if path.as_os_str() != "-" => files::write(path, text),
        _ => terminal.print(text),
    }
}
