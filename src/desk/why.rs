//! Why an end has what it has: every search with a part forced is made once.

use super::ask::to_explain;
use super::open::Desk;
use crate::catalog::{Half, PartId};
use crate::diag::{did_you_mean, joined, quote};
use crate::fit::{self, End, Fit, Refusal};
use crate::input::Input;
use crate::limit::{Doing, Limit};
use crate::model::Set;
use crate::plan::Plan;
use crate::study::failure::Failure;
use crate::study::recall;
use crate::study::why::{self, Forced, Forcing, LeftOut, Place, Planned, Tried};
use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

/// An end by its place in the order of the ends.
#[derive(Debug, Clone)]
pub struct At {
    /// Its place, from 0.
    pub place: usize,
    /// The end.
    pub end: End,
}

/// What a part comes to on a half of an end.
#[derive(Debug, Clone, PartialEq)]
pub struct Added {
    /// Where the part would stand, with what stands there.
    pub place: Place,
    /// What the part adds; none where the plan has the part there already.
    pub forced: Option<Forced>,
}

/// A plan, and what other parts would add to it.
#[derive(Debug)]
pub struct Why<'d> {
    desk: &'d Desk,
    plan: Arc<Plan>,
    sets: Vec<Set>,
    known: BTreeMap<(usize, Set, Half, PartId), Forced>,
    limit: Limit,
    /// The project with no part excluded, once it is asked for.
    all_parts: OnceLock<Option<(Input, Fit)>>,
}

impl Desk {
    /// The ends of a circuit, or its ends of one net or one side. In a purchase a circuit is
    /// named `machine/circuit`; where one machine alone has the circuit, its own name is
    /// enough.
    ///
    /// # Errors
    /// [`Failure::Usage`] where there is no such end.
    pub fn ends_of(
        &self,
        circuit: &str,
        net: Option<&str>,
        side: Option<&str>,
    ) -> Result<Vec<At>, Failure> {
        let input = self.sound()?;
        let circuits = &input.circuits;
        let of = circuit_named(input, circuit)?;
        let ends = fit::ends(circuits).into_iter().enumerate();
        let ends = ends.map(|(place, end)| At { place, end });
        let mut ends: Vec<At> = ends.filter(|at| at.end.circuit == of).collect();
        let mut nets: Vec<String> = ends.iter().map(|at| quote(&at.end.net)).collect();
        ends.retain(|at| net.is_none_or(|net| *net == *at.end.net));
        ends.retain(|at| side.is_none_or(|side| side == at.end.side.word()));
        if ends.is_empty() {
            nets.dedup();
            let help = match nets.as_slice() {
                [] => format!("circuit {} has no connector", quote(circuit)),
                nets => format!("leave --end out; the nets are {}", joined(nets, "and")),
            };
            return Err(Failure::usage("no such end takes a connector", help));
        }
        Ok(ends)
    }

    /// All rules that refuse a part at an end by itself; empty if the part fits.
    ///
    /// # Errors
    /// [`Failure::Input`] if the project has errors.
    pub fn refusals(&self, end: &End, part: PartId) -> Result<Vec<Refusal>, Failure> {
        Ok(fit::refusals(self.sound()?, end, part))
    }

    /// True if the record is of the project as it is now, so that no plan need be
    /// made for [`Desk::why`].
    pub fn has_plan(&self) -> bool {
        let kept = self.kept().ok().and_then(super::record::Kept::plan);
        let files = self.input().map(|input| &input.files);
        kept.is_some_and(|plan| Some(&plan.inputs) == files)
    }

    /// The plan to ask about: the record, where it is of the project as it is now;
    /// else a new plan that is not kept. Each search has the limit anew.
    ///
    /// # Errors
    /// Any [`Failure`].
    pub fn why(&self, limit: &Limit) -> Result<Why<'_>, Failure> {
        let (input, fit) = (self.sound()?, self.fit()?);
        let before = self.kept()?.plan();
        let plan = match before.filter(|plan| plan.inputs == input.files) {
            Some(plan) => plan.clone(),
            None => self.plan(before, limit)?,
        };
        let solution = recall::solution(input, fit, &plan);
        Ok(Why {
            desk: self,
            plan: Arc::new(plan),
            sets: solution.map(|s| s.sets).unwrap_or_default(),
            known: BTreeMap::new(),
            limit: limit.doing(Doing::Studying),
            all_parts: OnceLock::new(),
        })
    }
}

/// The place of a circuit.
fn circuit_named(input: &Input, name: &str) -> Result<usize, Failure> {
    let circuits = &input.circuits;
    if let Some(of) = circuits.iter().position(|c| c.name == name) {
        return Ok(of);
    }
    let own = |place: &usize| {
        let circuit = circuits.get(*place);
        circuit.is_some_and(|circuit| circuit.own_name(&input.machines) == name)
    };
    let alike: Vec<usize> = (0..circuits.len()).filter(own).collect();
    let named = |place: usize| circuits.get(place).map_or("", |c| c.name.as_str());
    match alike.as_slice() {
        [] => {}
        [only] => return Ok(*only),
        several => {
            let names: Vec<String> = several.iter().map(|place| quote(named(*place))).collect();
            return Err(Failure::usage(
                format!("several machines have a circuit {}", quote(name)),
                format!("name the machine as well: {}", joined(&names, "or")),
            ));
        }
    }
    let names: Vec<&str> = circuits.iter().map(|c| c.name.as_str()).collect();
    let own_names = circuits.iter().map(|c| c.own_name(&input.machines));
    let near = did_you_mean(name, names.iter().copied());
    let help = near.or_else(|| did_you_mean(name, own_names));
    Err(Failure::usage(
        format!("no circuit {}", quote(name)),
        help.unwrap_or_else(|| format!("the circuits are {}", joined(&names, "and"))),
    ))
}

impl Why<'_> {
    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What stands in each place of an end, with what other parts would add, at most
    /// `most` of them. After a stop what was not tried to the end is left out.
    ///
    /// # Errors
    /// Any [`Failure`].
    pub fn alternatives(&mut self, end: usize, most: usize) -> Result<Vec<Tried>, Failure> {
        let mut tried = Vec::new();
        for mut place in self.places(end)? {
            if place.others.is_empty() {
                place.left_out = self.left_out(end, &place)?;
            }
            let mut forced = Vec::new();
            for part in place.others.iter().take(most) {
                let one = self.forced(end, &place, *part)?;
                let Some(one) = one.filter(|_| !self.is_stopped()) else {
                    break;
                };
                forced.push(one);
            }
            tried.extend(self.whole(Tried { place, forced }));
        }
        Ok(tried)
    }

    /// After a stop, leaves out what was not tried; none where nothing was tried.
    fn whole(&self, mut tried: Tried) -> Option<Tried> {
        if self.is_stopped() && !tried.place.others.is_empty() {
            tried.place.others.truncate(tried.forced.len());
            return (!tried.forced.is_empty()).then_some(tried);
        }
        Some(tried)
    }

    /// What a part that fits an end by itself would add on each half that it fits.
    ///
    /// # Errors
    /// Any [`Failure`].
    pub fn with_part(&mut self, end: usize, part: PartId) -> Result<Vec<Added>, Failure> {
        let kind = self.desk.sound()?.catalog.part(part).kind();
        let places = self.places(end)?;
        let mut added = Vec::new();
        for half in fit::halves(self.desk.fit()?, end, part) {
            let here = places.iter().find(|p| (p.half, p.kind) == (half, kind));
            let is_chosen = here.is_some_and(|place| place.chosen == part);
            let place = here.cloned().unwrap_or(Place {
                half,
                kind,
                chosen: part,
                others: Vec::new(),
                left_out: Vec::new(),
            });
            let forced = match is_chosen {
                true => None,
                false => match self.explained(end, &place, part)? {
                    Some(forced) => Some(forced),
                    None => break,
                },
            };
            added.push(Added { place, forced });
        }
        Ok(added)
    }

    /// What a part adds; where no plan has the part, why. None after a stop.
    fn explained(
        &mut self,
        end: usize,
        place: &Place,
        part: PartId,
    ) -> Result<Option<Forced>, Failure> {
        Ok(match self.forced(end, place, part)? {
            Some(Forced::NoPlan(None)) => {
                let with = Forcing {
                    end,
                    half: place.half,
                    part,
                };
                let limit = to_explain(&self.limit);
                let found = why::conflict_with(&self.planned()?, with, &limit)?;
                Some(Forced::NoPlan(found.map(Box::new)))
            }
            Some(Forced::Unknown) if self.is_stopped() => None,
            forced => forced,
        })
    }

    /// What a part adds, tried once for all ends that are alike; none after a stop.
    fn forced(
        &mut self,
        end: usize,
        place: &Place,
        part: PartId,
    ) -> Result<Option<Forced>, Failure> {
        if self.is_stopped() {
            return Ok(None);
        }
        let planned = self.planned()?;
        let class = (planned.fit.classes.iter()).position(|c| c.ends.contains(&end));
        let key = class.zip(self.sets.get(end).cloned());
        let key = key.map(|(class, set)| (class, set, place.half, part));
        if let Some(forced) = key.as_ref().and_then(|key| self.known.get(key)) {
            return Ok(Some(forced.clone()));
        }
        let code = &planned.input.catalog.part(part).code;
        self.limit.begins(&format!("planning with {code}"));
        let with = Forcing {
            end,
            half: place.half,
            part,
        };
        let forced = why::forced(&planned, with, &self.limit)?;
        self.known.extend(key.map(|key| (key, forced.clone())));
        Ok(Some(forced))
    }

    fn places(&self, end: usize) -> Result<Vec<Place>, Failure> {
        let places = why::places(&self.planned()?, end);
        places.ok_or_else(|| Failure::Defect(vec!["the plan is not of this project".to_owned()]))
    }

    /// What would fit in a place, if it was not excluded.
    fn left_out(&self, end: usize, place: &Place) -> Result<Vec<LeftOut>, Failure> {
        let planned = self.planned()?;
        let all = (self.all_parts).get_or_init(|| why::with_all_parts(planned.input));
        let found = all.as_ref();
        Ok(found.map_or_else(Vec::new, |all| why::left_out(&planned, all, end, place)))
    }

    fn planned(&self) -> Result<Planned<'_>, Failure> {
        Ok(Planned {
            input: self.desk.sound()?,
            fit: self.desk.fit()?,
            plan: &self.plan,
        })
    }

    fn is_stopped(&self) -> bool {
        self.limit.stop.is_asked()
    }
}
