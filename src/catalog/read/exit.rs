//! The words for how the cable leaves.

use crate::catalog::Exit;

const EXITS: [(&str, Exit); 2] = [
    ("straight", Exit::Straight),
    ("right-angle", Exit::RightAngle),
];

/// The words that read as an exit.
pub(crate) fn exits() -> &'static [(&'static str, Exit)] {
    &EXITS
}
