//! The texts beside lines and in boxes.

use super::sizes::LONGEST;
use crate::plan::EndRecord;
use crate::report::labels;
use crate::study::cables::Cable;
use textwrap::core::display_width;

/// Interface and key of the pair at an end.
pub fn mating(pair: Option<&EndRecord>) -> String {
    match pair {
        Some(pair) => cut(&labels::mating(pair), LONGEST),
        None => "no connector".to_owned(),
    }
}

/// Number and net of a cable.
pub fn tag(cable: &Cable) -> String {
    cut(&format!("{} {}", cable.number, cable.net), LONGEST)
}

/// At most so many columns, the last of them an ellipsis where something is cut.
pub fn cut(text: &str, longest: usize) -> String {
    if display_width(text) <= longest {
        return text.to_owned();
    }
    let mut shown = String::new();
    for c in text.chars() {
        let mut longer = shown.clone();
        longer.push(c);
        // A mark that takes no room of its own must not pile up without end.
        if display_width(&longer) >= longest || longer.chars().count() > 4 * longest {
            break;
        }
        shown = longer;
    }
    shown.push('…');
    shown
}

/// Width of the widest text, a character so wide.
pub fn widest(texts: impl Iterator<Item = String>, char: f64) -> f64 {
    let columns = texts.map(|text| display_width(&text)).max().unwrap_or(0);
    columns as f64 * char
}
