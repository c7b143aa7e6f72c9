//! What the documents have in common: the plan, the project it is for, where it goes.

use super::args::OfPlan;
use super::booking;
use super::error::CliError;
use super::files;
use super::glue::{self, Instead};
use super::output::Terminal;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::report::diagnostics::Message;
use couplet::report::wording::list;
use couplet::study::cables::{Cable, cables};
use std::path::Path;

/// A plan with its project.
pub struct Paper {
    /// The plan.
    pub plan: Plan,
    /// The project as it is now.
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
        let path = match &of.plan {
            Some(path) => path.clone(),
            None => files::folder(&of.project).join("plan.json"),
        };
        let plan = glue::read_plan(&path)?;
        let input = match glue::load(&of.project, &Instead::default()) {
            (Some(input), findings) if !findings.has_errors() => input,
            (_, findings) => return Err(CliError::Input(findings)),
        };
        let mut changed = files::changed_inputs(&of.project, &plan);
        let is_same = changed.is_empty();
        changed.retain(|file| !booking::is_own(file, of, &plan, &input));
        if !changed.is_empty() {
            let verb = if changed.len() == 1 { "is" } else { "are" };
            terminal.warning(&Message {
                text: format!("{} {verb} not as when the plan was made", list(&changed)),
                help: Some("run couplet plan again before you order or build".to_owned()),
                ..Message::default()
            });
        }
        let paper = Self {
            plan,
            input,
            changed,
            is_same,
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
