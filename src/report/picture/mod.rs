//! Pictures of studies as SVG: black, white and grey, no fonts of the system
//! needed to draw them.

mod breakeven;
mod budget;
mod frontier;
mod history;

pub use breakeven::breakeven;
pub use budget::budget;
pub use frontier::frontier;
pub use history::history;

use super::wording::plain;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// Why a picture could not be drawn; no cause is known for a picture in memory.
#[derive(Debug, thiserror::Error)]
#[error("the picture cannot be drawn: {0}")]
pub struct PictureError(String);

type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// Type sizes in pixels.
const TEXT: u32 = 15;
const TITLE: u32 = 19;

/// Width of all pictures in pixels.
const WIDTH: u32 = 960;

/// A grey that is told apart from black and white in print.
const GREY: RGBColor = RGBColor(160, 160, 160);

/// Grid lines.
const FAINT: RGBColor = RGBColor(215, 215, 215);

/// Draws a picture of so many pixels in height.
fn svg(
    height: u32,
    draw: impl FnOnce(&Area) -> Result<(), PictureError>,
) -> Result<String, PictureError> {
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, (WIDTH, height)).into_drawing_area();
        area.fill(&WHITE).map_err(failed)?;
        draw(&area)?;
        area.present().map_err(failed)?;
    }
    Ok(text)
}

fn failed(error: impl std::fmt::Display) -> PictureError {
    PictureError(error.to_string())
}

fn style(size: u32, across: HPos, up: VPos) -> TextStyle<'static> {
    ("sans-serif", size)
        .into_font()
        .color(&BLACK)
        .pos(Pos::new(across, up))
}

/// A headline at the top left.
fn title(area: &Area, text: &str) -> Result<(), PictureError> {
    let style = style(TITLE, HPos::Left, VPos::Top);
    let element = Text::new(plain(text), (16, 12), style);
    area.draw(&element).map_err(failed)
}

/// Room for names at the left: about the width of the longest.
fn room<'s>(names: impl Iterator<Item = &'s str>) -> u32 {
    let longest = names.map(|name| name.chars().count()).max().unwrap_or(0) as u32;
    (longest * TEXT * 11 / 20 + 24).clamp(60, 420)
}

/// A name that fits its room.
fn shortened(name: &str) -> String {
    const MOST: usize = 48;
    let name = plain(name);
    if name.chars().count() <= MOST {
        return name;
    }
    let head: String = name.chars().take(MOST - 1).collect();
    format!("{head}…")
}

fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(0.0)
}
