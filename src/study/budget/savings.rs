//! What would save most, one thing at a time: each by planning again.

use crate::catalog::Kind;
use crate::fit::fit;
use crate::input::Input;
use crate::limit::Limit;
use crate::plan::Plan;
use crate::project::{Per, Spares};
use crate::study::answer::{self, Answer, Reply, side_by_side};
use crate::study::failure::Failure;
use crate::units::{Money, Percent, Protection, Qty};
use rust_decimal::Decimal;

/// One thing that could be given up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ease {
    /// The protection wanted on a circuit.
    Protection {
        /// Circuit by name.
        circuit: String,
        /// What it wants.
        ip: Protection,
    },
    /// The colour wanted on a circuit.
    Colour {
        /// Circuit by name.
        circuit: String,
        /// What it wants.
        colour: String,
    },
    /// One supplier more than `max_suppliers`.
    Supplier {
        /// What would be allowed.
        most: u32,
    },
    /// One variant more than `max_variants`.
    Variant {
        /// What would be allowed.
        most: u32,
    },
    /// All spares of a kind.
    Spares {
        /// Which kind.
        kind: Kind,
        /// How many pieces the plan has.
        pieces: Qty,
    },
}

/// What giving up one thing saves.
#[derive(Debug, Clone)]
pub struct Saving {
    /// What is given up.
    pub ease: Ease,
    /// What is saved against the plan as it is.
    pub saved: Money,
    /// The total once it is given up.
    pub total: Money,
    /// True if it is proven that giving it up saves no more.
    pub is_proven: bool,
    /// Parts that leave, by code.
    pub parts_out: Vec<String>,
    /// Parts that come in.
    pub parts_in: Vec<String>,
}

/// All that was tried.
#[derive(Debug, Clone)]
pub struct Savings {
    /// What saves something, most first.
    pub found: Vec<Saving>,
    /// What is proven to save nothing.
    pub in_vain: Vec<Ease>,
    /// What was not told before the search was stopped.
    pub untold: Vec<Ease>,
}

/// Tries each thing that could be given up, side by side, from the plan as it is.
///
/// # Errors
/// [`Failure`] if the solver breaks off or an answer is wrong.
pub fn savings(input: &Input, now: &Answer, limit: &Limit) -> Result<Savings, Failure> {
    let eases = eases(input, &now.plan);
    let replies = side_by_side(&eases, limit.threads, |ease| {
        let eased = eased(input, ease);
        let fit = fit(&eased)?;
        answer::solve(&eased, &fit, limit, &[&now.solution], false)
    });
    let mut savings = Savings {
        found: Vec::new(),
        in_vain: Vec::new(),
        untold: Vec::new(),
    };
    for (ease, reply) in eases.into_iter().zip(replies) {
        match reply? {
            Reply::Found(answer) if answer.total() < now.total() => {
                savings.found.push(saving(ease, now, &answer));
            }
            Reply::Found(answer) if answer.is_proven() => savings.in_vain.push(ease),
            _ => savings.untold.push(ease),
        }
    }
    savings.found.sort_by_key(|s| std::cmp::Reverse(s.saved));
    Ok(savings)
}

fn saving(ease: Ease, now: &Answer, answer: &Answer) -> Saving {
    let (parts_out, parts_in) = answer::exchanged(&now.plan, &answer.plan);
    Saving {
        ease,
        saved: now.total() - answer.total(),
        total: answer.total(),
        is_proven: answer.is_proven(),
        parts_out,
        parts_in,
    }
}

/// Everything that could be given up, in the order of the files.
fn eases(input: &Input, plan: &Plan) -> Vec<Ease> {
    let mut eases = Vec::new();
    for circuit in &input.circuits {
        let name = || circuit.name.clone();
        eases.extend(circuit.ip.clone().map(|ip| Ease::Protection {
            circuit: name(),
            ip,
        }));
        eases.extend(circuit.colour.clone().map(|colour| Ease::Colour {
            circuit: name(),
            colour,
        }));
    }
    let settings = &input.settings;
    let suppliers = settings.max_suppliers.map(|most| most.saturating_add(1));
    eases.extend(suppliers.map(|most| Ease::Supplier { most }));
    let variants = settings.max_variants.map(|most| most.saturating_add(1));
    eases.extend(variants.map(|most| Ease::Variant { most }));
    for &kind in settings.spares.keys() {
        let of_kind = plan.parts.iter().filter(|p| p.kind == kind.word());
        let pieces = of_kind.map(|p| p.spare).sum();
        if pieces > 0 {
            eases.push(Ease::Spares { kind, pieces });
        }
    }
    eases
}

/// The project with one thing given up.
fn eased(input: &Input, ease: &Ease) -> Input {
    let mut input = input.clone();
    let settings = &mut input.settings;
    match ease {
        Ease::Protection { circuit, .. } => {
            for c in input.circuits.iter_mut().filter(|c| c.name == *circuit) {
                c.ip = None;
            }
        }
        Ease::Colour { circuit, .. } => {
            for c in input.circuits.iter_mut().filter(|c| c.name == *circuit) {
                c.colour = None;
            }
        }
        Ease::Supplier { most } => settings.max_suppliers = Some(*most),
        Ease::Variant { most } => settings.max_variants = Some(*most),
        Ease::Spares { kind, .. } => {
            let none = Spares {
                per: Per::Part,
                percent: Percent(Decimal::ZERO),
                minimum: 0,
            };
            settings.spares.insert(*kind, none);
        }
    }
    input
}
