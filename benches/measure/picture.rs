//! Best total over time as a picture: one field for each size, one line for
//! each run.

use super::run::{Model, Run};
use super::table::{bounds, longest};
use plotters::coord::Shift;
use plotters::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

const WIDTH: u32 = 960;
const HEIGHT: u32 = 300;
const GREY: RGBColor = RGBColor(160, 160, 160);
const FAINT: RGBColor = RGBColor(225, 225, 225);

/// Seconds at the left.
const FIRST: f64 = 0.05;

/// Percent at the top; a plan further above the bound is no use.
const TOP: f64 = 20.0;

type Failure = Box<dyn std::error::Error>;
type Field<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type Bounds = BTreeMap<(u64, u64), f64>;

/// The picture.
pub fn svg(runs: &[Run]) -> Result<String, Failure> {
    let longest = longest(runs);
    let bounds = bounds(runs);
    let sizes: BTreeSet<u64> = longest.keys().map(|(size, _)| *size).collect();
    let mut text = String::new();
    {
        let height = HEIGHT * (sizes.len() as u32).max(1);
        let area = SVGBackend::with_string(&mut text, (WIDTH, height)).into_drawing_area();
        area.fill(&WHITE).map_err(failed)?;
        let fields = area.split_evenly((sizes.len().max(1), 1));
        for (field, size) in fields.iter().zip(sizes) {
            let of = |model| longest.get(&(size, model)).cloned().unwrap_or_default();
            let lines = [
                (of(Model::Plain), GREY.stroke_width(1)),
                (of(Model::Couplet), BLACK.stroke_width(2)),
            ];
            draw(field, size, &lines, &bounds)?;
        }
        area.present().map_err(failed)?;
    }
    Ok(text)
}

fn failed(error: impl std::fmt::Display) -> Failure {
    error.to_string().into()
}

fn draw(
    field: &Field,
    size: u64,
    lines: &[(Vec<&Run>, ShapeStyle)],
    bounds: &Bounds,
) -> Result<(), Failure> {
    let all = lines.iter().flat_map(|(runs, _)| runs);
    let last = all.map(|run| run.limit as f64).fold(1.0, f64::max);
    let mut chart = ChartBuilder::on(field)
        .caption(
            format!("{size} circuits: couplet black, plain program grey"),
            ("sans-serif", 17),
        )
        .margin(14)
        .x_label_area_size(40)
        .y_label_area_size(60)
        .build_cartesian_2d((FIRST..last).log_scale(), 0.0..TOP)
        .map_err(failed)?;
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .bold_line_style(FAINT)
        .x_label_formatter(&|t| format!("{t}"))
        .y_label_formatter(&|y| format!("{y:.0}"))
        .x_desc("seconds")
        .y_desc("% above the best bound")
        .draw()
        .map_err(failed)?;
    for (runs, style) in lines {
        for run in runs {
            let Some(bound) = bounds.get(&(run.size, run.seed)) else {
                continue;
            };
            let path = PathElement::new(steps(run, *bound, last), *style);
            chart.draw_series([path]).map_err(failed)?;
        }
    }
    Ok(())
}

/// Percent above the bound over time, in steps; what is above the field is cut.
fn steps(run: &Run, bound: f64, last: f64) -> Vec<(f64, f64)> {
    let mut path: Vec<(f64, f64)> = Vec::new();
    let end = (run.parts.sum(), run.total);
    let known = run.curve.iter().map(|point| (point.at, point.best));
    for (at, best) in known.chain([end]) {
        let Some(best) = best else { continue };
        let above = ((best / bound - 1.0) * 100.0).clamp(0.0, TOP);
        let at = at.clamp(FIRST, last);
        if let Some(&(_, before)) = path.last() {
            path.push((at, before.min(TOP)));
        }
        path.push((at, above));
    }
    if let Some(&(_, above)) = path.last() {
        path.push((last, above));
    }
    path
}
