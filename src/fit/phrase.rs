//! Small phrases that the words of several rules share.

use super::end::End;
use crate::catalog::{Fitting, Kind};
use crate::units::Gauge;
use std::fmt::Display;

/// `70 mm²`, `67.4309 mm² (2/0 AWG)`.
pub(crate) fn area(end: &End) -> String {
    match end.gauge {
        Gauge::Metric(area) => area.to_string(),
        Gauge::Awg(_) => format!("{} ({})", end.area, end.gauge),
    }
}

/// A kind in running text.
pub(crate) fn name(kind: Kind) -> &'static str {
    match kind {
        Kind::BackShell => "back shell",
        kind => kind.word(),
    }
}

/// The name of the code that ties a fitting to a body.
pub(crate) fn code_word(fitting: Fitting) -> &'static str {
    match fitting {
        Fitting::Ferrule => "barrel",
        Fitting::Seal | Fitting::BackShell => "rear",
    }
}

/// `interface I, key A`.
pub(super) fn identity_words(interface: &str, key: &str) -> String {
    match key {
        "" => format!("interface {interface}"),
        key => format!("interface {interface}, key {key}"),
    }
}

/// `10 mm to 20 mm`, `up to 20 mm`.
pub(super) fn range<T: Display>(min: Option<T>, max: Option<T>) -> String {
    match (min, max) {
        (Some(min), Some(max)) => format!("{min} to {max}"),
        (Some(min), None) => format!("{min} and above"),
        (None, Some(max)) => format!("up to {max}"),
        (None, None) => "any size".to_owned(),
    }
}

/// On which side of the limits a size is.
pub(super) fn outside<T: Display + PartialOrd>(size: T, min: Option<T>, max: Option<T>) -> String {
    match (min, max) {
        (Some(min), _) if size < min => format!("{size} is below {min}"),
        (_, Some(max)) => format!("{size} is above {max}"),
        (min, None) => format!("{size} is outside {}", range(min, None)),
    }
}

/// `1 pole`, `3 poles`.
pub(crate) fn count(number: u64, word: &str) -> String {
    match number {
        1 => format!("1 {word}"),
        _ => format!("{number} {}", plural(word)),
    }
}

/// The plural of a word.
pub(crate) fn plural(word: &str) -> String {
    format!("{word}s")
}
