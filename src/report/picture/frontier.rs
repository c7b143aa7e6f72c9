//! Cost over the number of variants, suppliers or dies.

use super::{FAINT, PictureError, TEXT, failed, float, style, svg, title};
use crate::plan::Status;
use crate::study::frontier::{Frontier, Point};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

/// Height in pixels.
const HEIGHT: u32 = 560;

/// Where there are more points than this, not every point gets a figure.
const LABELLED: usize = 16;

/// The frontier as a picture: a dot for each point, filled where it is proven.
///
/// # Errors
/// [`PictureError`] if the picture can't be drawn.
pub fn frontier(frontier: &Frontier) -> Result<String, PictureError> {
    let noun = frontier.by.word();
    let Some(first) = frontier.points.first() else {
        return svg(HEIGHT, |area| title(area, "no plan"));
    };
    let head = format!("{}: what fewer {noun}s cost", first.plan.project);
    let (across, up) = (across(&frontier.points), up(&frontier.points));
    svg(HEIGHT, |area| {
        title(area, &head)?;
        let mut chart = ChartBuilder::on(area)
            .margin(24)
            .margin_top(48)
            .x_label_area_size(48)
            .y_label_area_size(90)
            .build_cartesian_2d(across.clone(), up.clone())
            .map_err(failed)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .light_line_style(WHITE)
            .bold_line_style(FAINT)
            .x_labels(((across.end - across.start) as usize + 1).min(20))
            .x_label_formatter(&|x| x.to_string())
            .y_label_formatter(&|y| format!("{y:.0}"))
            .label_style(style(TEXT, HPos::Center, VPos::Center))
            .axis_desc_style(style(TEXT, HPos::Center, VPos::Center))
            .x_desc(format!("{noun}s, at most"))
            .y_desc(format!("total, {}", first.plan.currency))
            .draw()
            .map_err(failed)?;
        let at = |p: &Point| (i64::from(p.at_most), float(p.plan.cost.total.0));
        let path = steps(frontier.points.iter().map(at).collect());
        chart
            .draw_series([PathElement::new(path, BLACK.stroke_width(2))])
            .map_err(failed)?;
        for point in &frontier.points {
            let fill = match point.plan.status {
                Status::Optimal => BLACK.filled(),
                _ => WHITE.filled(),
            };
            let dot = EmptyElement::at(at(point)) + Circle::new((0, 0), 5, fill);
            let ring = EmptyElement::at(at(point)) + Circle::new((0, 0), 5, BLACK.stroke_width(2));
            chart.draw_series([dot]).map_err(failed)?;
            chart.draw_series([ring]).map_err(failed)?;
        }
        for point in labelled(&frontier.points) {
            let text = point.plan.cost.total.cents().to_string();
            let label = EmptyElement::at(at(point))
                + Text::new(text, (8, -6), style(TEXT, HPos::Left, VPos::Bottom));
            chart.draw_series([label]).map_err(failed)?;
        }
        Ok(())
    })
}

/// A plan holds until the next number: level, then down, from the largest on.
fn steps(points: Vec<(i64, f64)>) -> Vec<(i64, f64)> {
    let mut path: Vec<(i64, f64)> = Vec::new();
    for (x, y) in points {
        path.extend(path.last().map(|&(right, _)| (right, y)));
        path.push((x, y));
    }
    path
}

/// The first point, the last, and the points between where there is room.
fn labelled(points: &[Point]) -> Vec<&Point> {
    let step = points.len().div_ceil(LABELLED).max(1);
    let last = points.len().saturating_sub(1);
    (points.iter().enumerate())
        .filter(|(place, _)| place % step == 0 || *place == last)
        .map(|(_, point)| point)
        .collect()
}

/// The numbers across, one more on both sides, so that no dot is cut.
fn across(points: &[Point]) -> std::ops::Range<i64> {
    let numbers = || points.iter().map(|p| i64::from(p.at_most));
    let (low, high) = (numbers().min().unwrap_or(0), numbers().max().unwrap_or(0));
    (low - 1).max(0)..high + 1
}

fn up(points: &[Point]) -> std::ops::Range<f64> {
    let totals = || points.iter().map(|p| float(p.plan.cost.total.0));
    let low = totals().fold(f64::INFINITY, f64::min);
    let high = totals().fold(0.0, f64::max);
    let room = ((high - low) * 0.15).max(high * 0.01).max(0.5);
    (low - room).max(0.0)..high + room
}
