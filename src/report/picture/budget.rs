//! The total by circuit and by kind, as bars.

use super::{
    Area, FAINT, GREY, PictureError, TEXT, WIDTH, failed, float, room, shortened, style, svg, title,
};
use crate::plan::Plan;
use crate::study::budget::{Breakdown, Group, Key, Term, Terms};
use crate::units::{Currency, Money};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

/// Height of one bar with the room about it, in pixels.
const BAR: u32 = 30;

/// What a panel needs beside its bars.
const AROUND: u32 = 110;

/// The breakdown as a picture: fitted parts black, spares and surplus grey,
/// all else white.
///
/// # Errors
/// [`PictureError`] if the picture can't be drawn.
pub fn budget(plan: &Plan, breakdown: &Breakdown) -> Result<String, PictureError> {
    let panels: Vec<(Key, &[Group])> = [Key::Circuit, Key::Kind]
        .into_iter()
        .filter_map(|key| Some((key, breakdown.groups.get(&key)?.as_slice())))
        .collect();
    let heights: Vec<u32> = (panels.iter())
        .map(|(_, groups)| groups.len() as u32 * BAR + AROUND)
        .collect();
    let head = format!(
        "{}: {} {} by circuit and by kind of part",
        plan.project,
        plan.cost.total.cents(),
        plan.currency
    );
    svg(76 + heights.iter().sum::<u32>(), |area| {
        title(area, &head)?;
        legend(area)?;
        let (_, mut rest) = area.split_vertically(76);
        for ((key, groups), height) in panels.iter().zip(heights) {
            let (panel, below) = rest.split_vertically(height);
            draw(&panel, *key, groups, &plan.currency)?;
            rest = below;
        }
        Ok(())
    })
}

/// The three shades: what is in each, and how it is filled.
const SHADES: [(&str, &[Term], RGBColor); 3] = [
    ("fitted", &[Term::Fitted], BLACK),
    ("spare and surplus", &[Term::Spare, Term::Surplus], GREY),
    (
        "duty, shipping, dies, handling",
        &[Term::Duty, Term::Shipping, Term::Dies, Term::Handling],
        WHITE,
    ),
];

fn legend(area: &Area) -> Result<(), PictureError> {
    let mut left = 16;
    for (name, _, shade) in SHADES {
        let corners = [(left, 48), (left + 22, 62)];
        area.draw(&Rectangle::new(corners, shade.filled()))
            .map_err(failed)?;
        area.draw(&Rectangle::new(corners, BLACK.stroke_width(1)))
            .map_err(failed)?;
        let style = style(TEXT, HPos::Left, VPos::Center);
        area.draw(&Text::new(name, (left + 30, 55), style))
            .map_err(failed)?;
        left += 62 + name.len() as i32 * 8;
    }
    Ok(())
}

fn draw(area: &Area, key: Key, groups: &[Group], currency: &Currency) -> Result<(), PictureError> {
    let totals = groups.iter().map(|g| float(g.terms.total().0));
    let most = totals.fold(0.0, f64::max).max(1.0) * 1.15;
    let left = room(groups.iter().map(|g| g.name.as_str()));
    let low = 0.5 - groups.len() as f64;
    let mut chart = ChartBuilder::on(area)
        .margin(16)
        .x_label_area_size(48)
        .y_label_area_size(left.min(WIDTH / 2))
        .build_cartesian_2d(0.0..most, low..0.5)
        .map_err(failed)?;
    chart
        .configure_mesh()
        .disable_y_mesh()
        .disable_y_axis()
        .light_line_style(WHITE)
        .bold_line_style(FAINT)
        .x_label_formatter(&|x| format!("{x:.0}"))
        .label_style(style(TEXT, HPos::Center, VPos::Center))
        .axis_desc_style(style(TEXT, HPos::Center, VPos::Center))
        .x_desc(format!("cost by {}, {currency}", key.word()))
        .draw()
        .map_err(failed)?;
    for (place, group) in groups.iter().enumerate() {
        let y = -(place as f64);
        let mut from = 0.0;
        for (_, terms, shade) in SHADES {
            let to = from + float(sum(&group.terms, terms).0);
            let corners = [(from, y - 0.32), (to, y + 0.32)];
            let fill = Rectangle::new(corners, shade.filled());
            let edge = Rectangle::new(corners, BLACK.stroke_width(1));
            chart.draw_series([fill, edge]).map_err(failed)?;
            from = to;
        }
        let total = EmptyElement::at((from, y))
            + Text::new(
                group.terms.total().cents().to_string(),
                (6, 0),
                style(TEXT, HPos::Left, VPos::Center),
            );
        let name = EmptyElement::at((0.0, y))
            + Text::new(
                shortened(&group.name),
                (-8, 0),
                style(TEXT, HPos::Right, VPos::Center),
            );
        chart.draw_series([total]).map_err(failed)?;
        chart.draw_series([name]).map_err(failed)?;
    }
    Ok(())
}

fn sum(terms: &Terms, of: &[Term]) -> Money {
    of.iter().map(|&term| terms.of(term)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_term_has_one_shade() {
        let mut shaded: Vec<Term> = SHADES
            .iter()
            .flat_map(|(_, terms, _)| *terms)
            .copied()
            .collect();
        shaded.sort();
        assert_eq!(shaded, Term::ALL);
    }
}
