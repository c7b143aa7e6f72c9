//! The machines that are built one by one: `ferry 3 of 5`. All copies of a machine are
//! alike, but each has bags, cards and labels of its own.

use crate::diag::{did_you_mean, joined, quote};
use crate::plan::Plan;
use crate::units::Qty;
use std::fmt;

/// One of the machines that are built.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Built {
    /// The machine by name.
    pub machine: String,
    /// Which of its copies, from 1.
    pub number: Qty,
    /// How often the machine is built.
    pub of: Qty,
}

impl fmt::Display for Built {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.of {
            1 => write!(f, "{}", self.machine),
            of => write!(f, "{} {} of {of}", self.machine, self.number),
        }
    }
}

/// What papers are made for. In a project it is one machine without a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copies {
    /// Each machine that is built, by machine, then by number; none for that of a project.
    pub all: Vec<Option<Built>>,
    /// True if some are left out.
    pub is_part: bool,
}

impl Copies {
    /// True in a purchase.
    pub fn has_machines(&self) -> bool {
        self.all.iter().any(Option::is_some)
    }
}

/// A machine or a copy that the plan does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoCopy {
    /// The plan is of a project.
    #[error("the plan is of a project, not of a purchase: there is no machine to choose")]
    NoMachines,
    /// No machine has this name.
    #[error("no machine {}", quote(.machine))]
    Machine {
        /// The name.
        machine: String,
        /// The machines that there are.
        all: Vec<String>,
    },
    /// The machine is not built so often.
    #[error("no copy {number} of {machine}")]
    Number {
        /// The machine.
        machine: String,
        /// The copy that was asked for.
        number: Qty,
        /// How often the machine is built.
        of: Qty,
    },
}

impl NoCopy {
    /// What would be right.
    pub fn help(&self) -> String {
        match self {
            NoCopy::NoMachines => "leave --machine and --copy out".to_owned(),
            NoCopy::Machine { machine, all } => did_you_mean(machine, all.iter().map(|m| &**m))
                .unwrap_or_else(|| format!("the machines are {}", joined(all, "and"))),
            NoCopy::Number { machine, of, .. } => match of {
                1 => format!("{machine} is built once"),
                of => format!("{machine} is built {of} times: name a copy from 1 to {of}"),
            },
        }
    }
}

/// All machines that a plan builds, or all copies of one, or one copy.
///
/// # Errors
/// [`NoCopy`] where the plan does not build it.
pub fn copies(plan: &Plan, machine: Option<&str>, copy: Option<Qty>) -> Result<Copies, NoCopy> {
    if plan.machines.is_empty() {
        return match (machine, copy) {
            (None, None) => Ok(Copies {
                all: vec![None],
                is_part: false,
            }),
            _ => Err(NoCopy::NoMachines),
        };
    }
    if let Some(name) = machine {
        let wanted = plan.machines.iter().find(|of| of.machine == name);
        let Some(of) = wanted else {
            return Err(NoCopy::Machine {
                machine: name.to_owned(),
                all: plan.machines.iter().map(|of| of.machine.clone()).collect(),
            });
        };
        if let Some(number) = copy.filter(|copy| !(1..=of.count).contains(copy)) {
            return Err(NoCopy::Number {
                machine: name.to_owned(),
                number,
                of: of.count,
            });
        }
    }
    let built = plan.machines.iter().flat_map(|of| {
        (1..=of.count).map(|number| Built {
            machine: of.machine.clone(),
            number,
            of: of.count,
        })
    });
    let is_wanted = |of: &Built| {
        machine.is_none_or(|name| of.machine == name) && copy.is_none_or(|copy| of.number == copy)
    };
    Ok(Copies {
        all: built.filter(is_wanted).map(Some).collect(),
        is_part: machine.is_some() || copy.is_some(),
    })
}
