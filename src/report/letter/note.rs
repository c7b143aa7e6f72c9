//! What of a delivery note is not booked.

use super::{say_yes, table_of};
use crate::report::wording::counted;
use crate::study::letter::Arrived;

/// Lines of the note that are nothing that was ordered; nothing where there are none.
pub fn strangers(arrived: &Arrived, width: usize) -> Option<String> {
    let lines = &arrived.strangers;
    (!lines.is_empty()).then(|| {
        let count = counted(lines.len() as u64, "line");
        let table = table_of(lines).text(width);
        let yes = say_yes(lines, arrived.recipe.as_deref(), width).unwrap_or_default();
        format!("{count} not booked, since nothing of the kind is on order\n{table}{yes}")
    })
}

/// What is said where nothing is booked.
pub fn nothing(arrived: &Arrived, width: usize) -> String {
    let first = "nothing that is on order came, so nothing was booked\n";
    match strangers(arrived, width) {
        None => first.to_owned(),
        Some(strangers) => format!("{first}\n{strangers}"),
    }
}
