//! The machines of a purchase, each with its project.

use super::reading::{Reading, folder_of};
use crate::diag::{Diagnostic, Findings};
use crate::project::settings::{self, MachineDraft, Of, PROJECT, PURCHASE};
use crate::project::{Circuit, Machine, circuit_name, circuits};
use crate::source::{self, Source};
use crate::tables::Tables;
use std::path::PathBuf;
use std::sync::Arc;

/// The project of a machine.
pub(super) struct OfMachine {
    folder: PathBuf,
    /// Its `project.toml`.
    pub file: Arc<str>,
    pub settings: settings::Draft,
    pub circuits: Option<Source>,
}

/// The machines of a purchase with the place of each one's project.
#[derive(Default)]
pub(super) struct Machines {
    list: Vec<(MachineDraft, usize)>,
    pub projects: Vec<OfMachine>,
}

/// What is built: the machines, and the circuits of each under its name.
#[derive(Default)]
pub(super) struct Built {
    pub machines: Vec<Machine>,
    pub circuits: Vec<Circuit>,
}

impl Machines {
    /// Machines whose project has errors are left out.
    pub fn built(self, circuits: &[circuits::Draft]) -> Built {
        let mut built = Built::default();
        for (draft, place) in self.list {
            let own = self.projects[place].settings.settings.as_ref();
            let Some(own) = own else {
                continue;
            };
            let number = built.machines.len();
            let of_project = circuits.get(place).into_iter();
            let circuits = of_project.flat_map(|of| &of.circuits);
            built.circuits.extend(circuits.map(|circuit| Circuit {
                name: circuit_name(&draft.name, &circuit.name),
                machine: number,
                copies: draft.count,
                ..circuit.clone()
            }));
            built.machines.push(Machine {
                name: draft.name,
                project: draft.project,
                count: draft.count,
                settings: own.clone(),
                row: draft.row,
            });
        }
        built
    }
}

impl Reading {
    /// Reads the projects of the machines, each folder once.
    pub(super) fn machines(&mut self, of: &settings::Draft, findings: &mut Findings) -> Machines {
        let mut machines = Machines::default();
        for machine in &of.machines {
            let folder = folder_of(&self.from, &self.folder.join(&machine.project));
            let known = (machines.projects.iter()).position(|of| of.folder == folder);
            let place = match known {
                Some(place) => Some(place),
                None => self.machine(machine, folder, findings).map(|project| {
                    machines.projects.push(project);
                    machines.projects.len() - 1
                }),
            };
            machines
                .list
                .extend(place.map(|place| (machine.clone(), place)));
        }
        machines
    }

    /// Reads the project of a machine; none where there is none.
    fn machine(
        &mut self,
        machine: &MachineDraft,
        folder: PathBuf,
        findings: &mut Findings,
    ) -> Option<OfMachine> {
        let path = folder.join(PROJECT);
        if !self.from.is_there(&path) {
            let shown = source::shown(&folder);
            let (message, help) = match self.from.is_there(&folder.join(PURCHASE)) {
                true => (
                    format!("{shown} is a purchase"),
                    "name the project of one machine".to_owned(),
                ),
                false => (
                    format!("there is no project in {shown}"),
                    format!("correct the path to the folder that has {PROJECT}"),
                ),
            };
            findings.push(
                Diagnostic::error(&machine.row.file, message)
                    .line(machine.row.line)
                    .column("machine.project")
                    .help(help),
            );
            return None;
        }
        let file = source::shown(&path);
        let source = self.from.read_up_to(&path, settings::MAX_BYTES, findings);
        self.names.push(Arc::clone(&file));
        let settings = source.map_or_else(settings::Draft::default, |source| {
            self.note(&[(path, source.sha256.clone())]);
            settings::read(&source, Of::Project, findings)
        });
        let mut tables = Tables::with_book(&self.from, &folder, "project", findings);
        let circuits = tables.required("circuits", findings);
        self.take(tables.files(), tables.names());
        Some(OfMachine {
            folder,
            file,
            settings,
            circuits,
        })
    }
}
