//! The user's own attributes: what is asked of each part that is chosen, and what the
//! two halves of a pair must have in common.

use super::ends::Served;
use super::finding::{Finding, Rule};
use crate::catalog::{Attribute, Half, Holds, IfEmpty, Part, Value};
use crate::input::Input;

/// Checks the bodies of an end, each on its own and both together.
pub(super) fn check(input: &Input, end: &Served, found: &mut Vec<Finding>) {
    for &half in end.halves() {
        if let Some(code) = end.code(half) {
            on_part(input, end, code, &format!("{half} {code}"), found);
        }
    }
    if !end.wanted.is_built_in {
        alike(input, end, found);
    }
}

/// Checks one part by its code: it has what the end wants of each attribute that is
/// asked of its kind. `of` names the part and its place in a finding.
pub(super) fn on_part(input: &Input, end: &Served, code: &str, of: &str, found: &mut Vec<Finding>) {
    let Some(part) = input.catalog.find(code).map(|id| input.catalog.part(id)) else {
        return;
    };
    for (place, attribute) in input.catalog.attributes.iter().enumerate() {
        if !attribute.on.contains(&part.kind()) {
            continue;
        }
        let Some(Some(wanted)) = end.wanted.terminal.wants.get(place) else {
            continue;
        };
        let has = value(part, place);
        if !has_it(attribute, has, wanted) {
            let (has, wanted) = (words(has), measure(attribute.holds, wanted));
            let why = format!("{of}: has {has}, but {wanted} is wanted");
            found.push(broken(end, attribute, why));
        }
    }
}

/// What a part has of the attribute at this place.
fn value(part: &Part, place: usize) -> Option<&Value> {
    part.values.get(place)?.as_ref()
}

fn broken(end: &Served, attribute: &Attribute, why: String) -> Finding {
    let rule = Rule::Attribute(attribute.name.to_string());
    Finding::Broken(end.wanted.name.clone(), rule, why)
}

/// Whether a part with this value, or with none, is one for what is wanted. A value of
/// another form than the attribute's is none.
fn has_it(attribute: &Attribute, has: Option<&Value>, wanted: &Value) -> bool {
    let Some(has) = has else {
        return attribute.if_empty == IfEmpty::Meets;
    };
    match (has, wanted) {
        (Value::Word(has), Value::Word(wanted)) => {
            matches!(attribute.holds, Holds::Equal | Holds::Same) && has == wanted
        }
        (Value::Words(has), Value::Words(wanted)) => {
            attribute.holds == Holds::Has && wanted.iter().all(|word| has.contains(word))
        }
        (Value::Number(has), Value::Number(wanted)) => match attribute.holds {
            Holds::AtLeast => has >= wanted,
            Holds::AtMost => has <= wanted,
            Holds::Equal | Holds::Has | Holds::Same => false,
        },
        _ => false,
    }
}

/// The halves of a pair have the same word. Two without one are alike, and one without
/// goes with any word where an empty one meets.
fn alike(input: &Input, end: &Served, found: &mut Vec<Finding>) {
    let part = |half| {
        end.body(input, half)?;
        let id = input.catalog.find(end.code(half)?)?;
        Some(input.catalog.part(id))
    };
    let (Some(plug), Some(receptacle)) = (part(Half::Plug), part(Half::Receptacle)) else {
        return;
    };
    for (place, attribute) in input.catalog.attributes.iter().enumerate() {
        if attribute.holds != Holds::Same {
            continue;
        }
        let (plug, receptacle) = (value(plug, place), value(receptacle, place));
        let holds = match (plug, receptacle) {
            (Some(plug), Some(receptacle)) => plug == receptacle,
            (None, None) => true,
            (Some(_), None) | (None, Some(_)) => attribute.if_empty == IfEmpty::Meets,
        };
        if !holds {
            let (plug, receptacle) = (words(plug), words(receptacle));
            let why = format!("the plug has {plug}, the receptacle has {receptacle}");
            found.push(broken(end, attribute, why));
        }
    }
}

fn words(value: Option<&Value>) -> String {
    value.map_or_else(|| "none".to_owned(), Value::to_string)
}

/// `at least 105`.
fn measure(holds: Holds, wanted: &Value) -> String {
    match holds {
        Holds::AtLeast => format!("at least {wanted}"),
        Holds::AtMost => format!("at most {wanted}"),
        Holds::Equal | Holds::Has | Holds::Same => wanted.to_string(),
    }
}
