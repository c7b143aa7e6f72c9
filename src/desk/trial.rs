//! What-if: changes tried on an open project, without saving them, and kept where wanted.

use super::open::Desk;
use crate::diag::{Diagnostic, Findings};
use crate::limit::{Doing, Limit};
use crate::model::Question;
use crate::plan::Plan;
use crate::source::MAX_BYTES;
use crate::study::answer::{self, Reply, side_by_side};
use crate::study::compare::{Difference, difference};
use crate::study::failure::Failure;
use crate::study::recall::{Recalled, Trust};
use crate::trial::{self, Change, ChangeError, FILE, Touched, Trial};
use crate::units::Currency;
use std::path::PathBuf;

/// Trials held against the plan of the project as it is.
#[derive(Debug)]
pub struct Trials {
    /// The plan of the project as it is.
    pub base: Plan,
    /// The trials, in the order in which they were asked for.
    pub tried: Vec<Tried>,
}

/// One trial.
#[derive(Debug)]
pub struct Tried {
    /// The trial.
    pub trial: Trial,
    /// What its changes do to the files.
    pub touched: Vec<Touched>,
    /// The plan of the project with these changes, or why there is none.
    pub plan: Result<Plan, Failure>,
    /// What differs from the plan of the project as it is; none where there is no plan.
    pub difference: Option<Difference>,
}

impl From<ChangeError> for Failure {
    fn from(error: ChangeError) -> Self {
        let help = error.help.clone();
        Failure::usage(error.to_string(), help)
    }
}

impl Desk {
    /// The trials of `trials.toml`, where that file is there.
    ///
    /// # Errors
    /// [`Failure::Input`] with all that is wrong with the file.
    pub fn kept_trials(&self) -> Result<Vec<Trial>, Failure> {
        let mut findings = Findings::default();
        let source = self.files().read_optional(&self.path(FILE), &mut findings);
        let trials = source.map(|source| trial::read(&source, &mut findings));
        match findings.has_errors() {
            true => Err(Failure::Input(findings)),
            false => Ok(trials.unwrap_or_default()),
        }
    }

    /// The project with the changes of a trial laid over its files, and what they changed.
    ///
    /// # Errors
    /// [`Failure::Usage`] where a change names what is not there; [`Failure::Input`] where
    /// the project has errors with a change.
    pub fn with(&self, trial: &Trial) -> Result<(Desk, Vec<Touched>), Failure> {
        let mut desk = self.clone();
        let mut touched = Vec::new();
        for change in &trial.changes {
            let input = desk.sound()?.clone();
            let folder = desk.folder.clone();
            touched.extend(change.apply(&mut desk.asked.files, &folder, &input)?);
            desk.read_again();
            if desk.input().is_none() {
                return Err(Failure::Input(unsound(change, desk.findings())));
            }
        }
        Ok((desk, touched))
    }

    /// The plan of the project with each trial's changes, beside the plan of the project
    /// as it is. The limit on time is that of each plan.
    ///
    /// # Errors
    /// Any [`Failure`] of the project as it is, and of changes that can't be made. Where one
    /// trial alone is asked for, the failure of its plan too.
    pub fn trials(&self, trials: Vec<Trial>, limit: &Limit) -> Result<Trials, Failure> {
        let changed = trials.iter().map(|trial| self.with(trial));
        let changed: Vec<(Desk, Vec<Touched>)> = changed.collect::<Result<_, _>>()?;
        let (input, fit) = (self.sound()?, self.fit()?);
        let record = self.kept()?.plan();
        limit.expect(trials.len() + 1);
        let base = answer::on_record(input, fit, &limit.again(), record, Trust::Best);
        let base = match base {
            Err(Failure::Limits(None)) => return Err(self.explained(limit)),
            base => base?.plan,
        };
        limit.one_done();
        let threads = match changed.len() {
            1 => limit.threads,
            _ => 1,
        };
        let plans = side_by_side(&changed, limit.threads, |(desk, _)| {
            let plan = desk.tried(&base, &limit.again().with_threads(threads));
            limit.one_done();
            plan
        });
        let mut tried: Vec<Tried> = (trials.into_iter().zip(changed).zip(plans))
            .map(|((trial, (_, touched)), plan)| {
                let rate = |currency: &Currency| input.settings.rate(currency);
                let found = plan.as_ref().ok();
                Tried {
                    trial,
                    touched,
                    difference: found.map(|plan| difference(&base, plan, rate)),
                    plan,
                }
            })
            .collect();
        // Of one trial alone the user wants to know what stands in its way.
        if let [Tried { plan: Err(_), .. }] = tried.as_slice()
            && let Some(Tried {
                trial,
                plan: Err(failure),
                ..
            }) = tried.pop()
        {
            return Err(match failure {
                Failure::Limits(None) => self.with(&trial)?.0.explained(limit),
                failure => failure,
            });
        }
        Ok(Trials { base, tried })
    }

    /// The cheapest plan of this project with a trial's changes, from that of the project
    /// without them.
    fn tried(&self, base: &Plan, limit: &Limit) -> Result<Plan, Failure> {
        if limit.stop.is_asked() {
            return Err(Failure::Stopped);
        }
        let (input, fit) = (self.sound()?, self.fit()?);
        let recalled = Recalled::new(input, fit, Some(base));
        let question = Question {
            solver: self.solver.clone(),
            ..Question::default()
        };
        let limit = limit.doing(Doing::Studying);
        let reply = answer::planned(input, fit, &question, &recalled, &limit)?;
        limit.one_solved();
        match reply {
            Reply::Found(answer) => Ok(answer.plan),
            Reply::Infeasible => Err(Failure::Limits(None)),
            Reply::Unknown if limit.stop.is_asked() => Err(Failure::Stopped),
            Reply::Unknown => Err(Failure::OutOfTime),
        }
    }

    /// Writes trials into `trials.toml`; a trial of a name that is there takes the place of
    /// that trial. Those without a name are not written.
    ///
    /// # Errors
    /// [`Failure::Write`], and [`Failure::Input`] where the file can't be read.
    pub fn save_trials(&mut self, trials: &[&Trial]) -> Result<(), Failure> {
        let _held = self.hold(&self.path(FILE))?;
        self.kept_trials()?;
        let old = self.text(FILE).unwrap_or_default();
        let text = trial::saved(&old, trials).map_err(|wrong| Failure::from(*wrong))?;
        self.save(FILE, &text)
    }

    /// Writes the changes of a trial into the files of the project: those cells and settings
    /// alone. All files are written or none, as far as can be.
    ///
    /// # Errors
    /// As [`Desk::with`], and [`Failure::Write`].
    pub fn keep_trial(&mut self, trial: &Trial) -> Result<Vec<Touched>, Failure> {
        let (desk, _) = self.with(trial)?;
        let paths = self.changed_in(&desk);
        let held = paths.iter().map(|path| self.hold(path));
        let _held = held.collect::<Result<Vec<_>, _>>()?;
        // Another run may have written since: the changes are made to what is there now.
        self.read_again();
        let (desk, touched) = self.with(trial)?;
        let mut new = Vec::new();
        for path in self.changed_in(&desk) {
            let bytes = desk.files().bytes(&path, MAX_BYTES);
            new.extend(bytes.ok().map(|bytes| (path, bytes)));
        }
        let all: Vec<_> = new
            .iter()
            .map(|(path, bytes)| (path.as_path(), bytes.as_slice()))
            .collect();
        let written = self.asked.files.write_all(&all);
        written.map_err(|(path, error)| Failure::write(&path, &error))?;
        self.read_again();
        Ok(touched)
    }

    /// The files that are not the same in another state of the project.
    fn changed_in(&self, other: &Desk) -> Vec<PathBuf> {
        let bytes = |desk: &Desk, path: &PathBuf| desk.files().bytes(path, MAX_BYTES).ok();
        let laid = other.files().laid().map(PathBuf::from);
        laid.filter(|path| bytes(self, path) != bytes(other, path))
            .collect()
    }
}

/// All that is wrong with a project once a change is made.
fn unsound(change: &Change, found: &Findings) -> Findings {
    let mut findings = Findings::default();
    let text = "the project has errors with this change";
    findings.push(
        Diagnostic::error(&change.text.as_str().into(), text)
            .help("write another value; the places below are those of the changed files"),
    );
    findings.extend(found.clone());
    findings
}
