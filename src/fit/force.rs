//! One end made to use one part. The search then says what a plan with that part
//! costs.

use super::class::{Choice, Class, Fit, Slot};
use crate::catalog::{Half, PartId};
use std::collections::{BTreeMap, BTreeSet};

/// The halves of an end on which some set has the part, as the half itself or
/// as a fitting on the half; receptacle first. Empty where no set has the part.
pub fn halves(fit: &Fit, end: usize, part: PartId) -> Vec<Half> {
    let on = |half: &Half| force(fit, end, *half, part).is_some();
    [Half::Receptacle, Half::Plug]
        .into_iter()
        .filter(on)
        .collect()
}

/// The same fit with one end (by place in [`Fit::ends`]) in a class of its own
/// that has only the sets with this part on this half. None if there is no such set.
///
/// The new fit is exact. A body has one place of each kind. So a set has the part on the
/// half just where the part is the body, or where a place that lists the part takes it.
pub fn force(fit: &Fit, end: usize, half: Half, part: PartId) -> Option<Fit> {
    let at = fit.classes.iter().position(|c| c.ends.contains(&end))?;
    let mut forced = only(&fit.classes[at], half, part)?;
    forced.ends = vec![end];
    let mut all = fit.clone();
    all.classes[at].ends.retain(|&e| e != end);
    if all.classes[at].ends.is_empty() {
        all.classes.remove(at);
    }
    all.classes.push(forced);
    all.classes.sort_by_key(|class| class.ends.first().copied());
    Some(all)
}

/// The class with only the sets that have the part on the half.
fn only(class: &Class, half: Half, part: PartId) -> Option<Class> {
    let mut class = class.clone();
    let takes = |slot: &Slot| slot.half == half && slot.options.iter().any(|o| o.0 == part);
    let taking: BTreeSet<usize> = (0..class.slots.len())
        .filter(|&s| takes(&class.slots[s]))
        .collect();
    let (asked, other) = match half {
        Half::Plug => (&mut class.plugs, &mut class.receptacles),
        Half::Receptacle => (&mut class.receptacles, &mut class.plugs),
    };
    asked.retain(|c| c.body == part || c.slots.iter().any(|s| taking.contains(s)));
    let mates: BTreeSet<usize> = asked.iter().map(|c| c.mate).collect();
    other.retain(|c| mates.contains(&c.mate));
    // Each body of a class mates, so that the other half is there if this one is.
    if asked.is_empty() {
        return None;
    }
    for &slot in &taking {
        class.slots[slot].options.retain(|o| o.0 == part);
    }
    Some(without_idle_slots(class))
}

/// Drops the places that no body of the class has any more.
fn without_idle_slots(mut class: Class) -> Class {
    let bodies = || class.receptacles.iter().chain(&class.plugs);
    let used: BTreeSet<usize> = bodies().flat_map(|c| c.slots.iter().copied()).collect();
    let rank: BTreeMap<usize, usize> = used.iter().copied().zip(0..).collect();
    let renumber = |choice: &mut Choice| {
        let slots = choice.slots.iter().filter_map(|s| rank.get(s).copied());
        choice.slots = slots.collect();
    };
    class.receptacles.iter_mut().for_each(renumber);
    class.plugs.iter_mut().for_each(renumber);
    let slots = std::mem::take(&mut class.slots).into_iter().enumerate();
    class.slots = slots
        .filter(|(s, _)| used.contains(s))
        .map(|(_, slot)| slot)
        .collect();
    class
}
