//! Lengths and limits of the drawing; lengths in CSS pixels.

/// Distance between two lines that leave a box.
pub const PITCH: f64 = 18.0;
/// Room for the name of a location.
pub const HEAD: f64 = 28.0;
/// Room below the last line that leaves a box.
pub const FOOT: f64 = 8.0;
/// Room beside and between texts.
pub const PAD: f64 = 8.0;
/// Width of a character of the small text: enough for the fonts that browsers take.
pub const CHAR: f64 = 6.6;
/// Width of a character of the name of a location.
pub const HEAD_CHAR: f64 = 8.2;
/// Longer texts are cut; the tables have them whole.
pub const LONGEST: usize = 18;
/// Longer names of locations are cut.
pub const LONGEST_NAME: usize = 26;
/// The widest drawing that can be read on an upright A4 sheet: three quarters of its size.
pub const UPRIGHT: f64 = 940.0;
/// What can be read on an A4 sheet that lies: width and height.
pub const SHEET: (f64, f64) = (1600.0, 935.0);
/// What two sheets below one another both show.
pub const OVERLAP: f64 = 120.0;
/// How many colours and how many dashes the style sheet has for nets.
pub const COLOURS: usize = 8;
pub const DASHES: usize = 4;
