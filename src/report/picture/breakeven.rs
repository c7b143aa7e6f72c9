//! How far each price can move, as bars about the price as it is.

use super::{FAINT, PictureError, TEXT, WIDTH, failed, float, room, shortened, style, svg, title};
use crate::study::breakeven::{Breakeven, Edge, HIGHEST};
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};
use rust_decimal::Decimal;

/// Height of one row in pixels.
const ROW: u32 = 30;

/// The ranges as a picture: from where to where a price leaves the plan the
/// cheapest. A dot ends a range; an arrow goes on to the edge of what was
/// looked at; a ring ends what is known.
///
/// # Errors
/// [`PictureError`] if the picture can't be drawn.
pub fn breakeven(breakeven: &Breakeven) -> Result<String, PictureError> {
    let ranges = &breakeven.ranges;
    let head = format!(
        "{}: how far each price can move before another plan is cheapest",
        breakeven.plan.project
    );
    let names: Vec<String> = ranges.iter().map(|r| shortened(&r.part)).collect();
    let left = room(names.iter().map(String::as_str)).min(WIDTH / 2);
    let most = float((HIGHEST - Decimal::ONE) * Decimal::ONE_HUNDRED);
    let low = 0.5 - ranges.len().max(1) as f64;
    svg(ranges.len() as u32 * ROW + 160, |area| {
        title(area, &head)?;
        let mut chart = ChartBuilder::on(area)
            .margin(24)
            .margin_top(48)
            .margin_right(40)
            .x_label_area_size(48)
            .y_label_area_size(left)
            .build_cartesian_2d(-100.0..most, low..0.5)
            .map_err(failed)?;
        chart
            .configure_mesh()
            .disable_y_mesh()
            .disable_y_axis()
            .light_line_style(WHITE)
            .bold_line_style(FAINT)
            .x_labels(13)
            .x_label_formatter(&|x| format!("{x:+.0}").replace("+0", "0"))
            .label_style(style(TEXT, HPos::Center, VPos::Center))
            .axis_desc_style(style(TEXT, HPos::Center, VPos::Center))
            .x_desc("change of the price, %")
            .draw()
            .map_err(failed)?;
        let now = vec![(0.0, low), (0.0, 0.5)];
        chart
            .draw_series([PathElement::new(now, BLACK.stroke_width(1))])
            .map_err(failed)?;
        for (place, (range, name)) in ranges.iter().zip(names).enumerate() {
            let y = -(place as f64);
            let ends = [end(&range.down, -100.0), end(&range.up, most)];
            let bar = vec![(ends[0].0, y), (ends[1].0, y)];
            chart
                .draw_series([PathElement::new(bar, BLACK.stroke_width(3))])
                .map_err(failed)?;
            for (&(x, mark), side) in ends.iter().zip([-1, 1]) {
                draw_mark(&mut chart, (x, y), mark, side)?;
            }
            for (edge, side) in [(&range.down, -1), (&range.up, 1)] {
                draw_label(&mut chart, edge, y, side)?;
            }
            let name = EmptyElement::at((-100.0, y))
                + Text::new(name, (-18, 0), style(TEXT, HPos::Right, VPos::Center));
            chart.draw_series([name]).map_err(failed)?;
        }
        Ok(())
    })
}

#[derive(Clone, Copy)]
enum Mark {
    Dot,
    Arrow,
    Ring,
}

fn percent(edge: &Edge) -> Option<f64> {
    match edge {
        Edge::Turns(turn) => Some(float((turn.last - Decimal::ONE) * Decimal::ONE_HUNDRED)),
        Edge::Holds | Edge::Untold => None,
    }
}

/// Where a bar ends and how.
fn end(edge: &Edge, reach: f64) -> (f64, Mark) {
    match edge {
        Edge::Turns(_) => (percent(edge).unwrap_or(0.0), Mark::Dot),
        Edge::Holds => (reach, Mark::Arrow),
        Edge::Untold => (0.0, Mark::Ring),
    }
}

type Place = (f64, f64);

type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// The mark at the end of a bar; the side is -1 at its left.
fn draw_mark(chart: &mut Chart, at: Place, mark: Mark, side: i32) -> Result<(), PictureError> {
    let circle = |style| EmptyElement::at(at) + Circle::new((0, 0), 6, style);
    match mark {
        Mark::Dot => chart.draw_series([circle(BLACK.filled())]),
        Mark::Ring => chart.draw_series([circle(WHITE.filled()), circle(BLACK.stroke_width(2))]),
        Mark::Arrow => {
            let head = vec![(0, -7), (10 * side, 0), (0, 7)];
            chart.draw_series([EmptyElement::at(at) + Polygon::new(head, BLACK.filled())])
        }
    }
    .map(|_| ())
    .map_err(failed)
}

/// A dot nearer to the end of its row than this, in percent of price, has its
/// figure above the bar: beside the bar stands the name, or nothing but the edge.
const NEAR: f64 = 25.0;

/// The figure beside a dot.
fn draw_label(chart: &mut Chart, edge: &Edge, y: f64, side: i32) -> Result<(), PictureError> {
    let Some(x) = percent(edge) else {
        return Ok(());
    };
    let most = float((HIGHEST - Decimal::ONE) * Decimal::ONE_HUNDRED);
    let is_near = x < NEAR - 100.0 || x > most - NEAR;
    let outwards = if side < 0 { HPos::Right } else { HPos::Left };
    let inwards = if side < 0 { HPos::Left } else { HPos::Right };
    let (place, style) = match is_near {
        true => ((0, -7), style(TEXT, inwards, VPos::Bottom)),
        false => ((11 * side, 0), style(TEXT, outwards, VPos::Center)),
    };
    let text = Text::new(format!("{x:+.1} %"), place, style);
    let label = EmptyElement::at((x, y)) + text;
    chart.draw_series([label]).map(|_| ()).map_err(failed)
}
