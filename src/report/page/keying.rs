//! The keying map on a page.

use crate::input::Input;
use crate::project::Distinct;
use crate::report::keys as words;
use crate::report::table::{Column, Table};
use crate::report::wording::list;
use crate::study::keys::KeyMap;

/// The keys of each net at each location.
pub fn keys(map: &KeyMap) -> Table {
    let mut table = Table::new(&[
        Column::text("location"),
        Column::text("net"),
        Column::text("interface"),
        Column::text("key"),
        Column::number("pairs"),
        Column::text("circuits"),
        Column::text("shared_with"),
    ]);
    for at in &map.locations {
        for used in &at.used {
            let mut circuits: Vec<&str> = used.ends.iter().map(|(name, _)| name.as_str()).collect();
            circuits.dedup();
            table.row(vec![
                at.location.clone(),
                used.net.clone(),
                used.identity.interface.clone(),
                used.identity.key.clone(),
                used.ends.len().to_string(),
                list(&circuits),
                list(&at.shared_with(used)),
            ]);
        }
    }
    table
}

/// The keys of each location that are left for a further net, and how often the wrong
/// plug goes in.
pub fn left(map: &KeyMap) -> Table {
    let mut table = Table::new(&[
        Column::text("location"),
        Column::text("keys_left"),
        Column::number("pairs_of_ends"),
        Column::text("wrong_plug_goes_in"),
    ]);
    for at in &map.locations {
        table.row(vec![
            at.location.clone(),
            words::left(at),
            at.proof.pairs.to_string(),
            words::mixed_up(&at.proof),
        ]);
    }
    if let Some(elsewhere) = &map.elsewhere {
        table.row(vec![
            "from one location to another".to_owned(),
            String::new(),
            elsewhere.pairs.to_string(),
            words::mixed_up(elsewhere),
        ]);
    }
    table
}

/// The rule in a sentence.
pub fn rule(input: &Input) -> String {
    let keying = &input.settings.keying;
    if keying.distinct == Distinct::Off {
        return "The keying rule is off: different nets may mate with one another.".to_owned();
    }
    let place = match keying.distinct {
        Distinct::Everywhere => "In the whole machine",
        Distinct::ByLocation | Distinct::Off => "At one location",
    };
    let rule = format!("{place}, ends of different nets never share interface and key");
    let ignored: Vec<&String> = keying.ignore_at.iter().collect();
    if ignored.is_empty() {
        return format!("{rule}.");
    }
    format!("{rule}; left out of the rule: {}.", list(&ignored))
}
