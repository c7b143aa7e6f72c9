//! Prices of a part over time, as steps.

use super::{
    Area, FAINT, GREY, PictureError, TEXT, failed, float, room, shortened, style, svg, title,
};
use crate::catalog::read::history::GONE;
use crate::study::history::{Course, Stage};
use crate::units::Currency;
use jiff::civil::Date;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};
use std::collections::BTreeSet;
use std::ops::Range;

/// Height of a panel without its names, and of one name beside it, in pixels.
const PANEL: u32 = 320;
const NAME: i32 = 20;

/// What stands above and below the names of a panel, and above all panels.
const AROUND: u32 = 90;
const HEAD: u32 = 48;

/// Room for the sample of a line before its name.
const SAMPLE: i32 = 58;

/// Two days whose names have less room than this have one name.
const DAY: i32 = 88;

/// The prices of a part as a picture: a panel for each currency, a line for each supplier,
/// sku and quantity. The dashes tell suppliers apart, the marks tell the lines of a supplier
/// apart. A cross ends the line of a price that is gone. A price without a day is drawn only
/// before the first day: after that, its line has a gap.
///
/// # Errors
/// [`PictureError`] if the picture can't be drawn.
pub fn history(part: &str, courses: &[Course]) -> Result<String, PictureError> {
    let stages = || courses.iter().flat_map(|course| &course.stages);
    let days: BTreeSet<Date> = stages().filter_map(|stage| stage.quoted).collect();
    let (Some(first), Some(last)) = (days.first(), days.last()) else {
        let none = format!("{}: no price with a day in the history", shortened(part));
        return svg(HEAD, |area| title(area, &none));
    };
    let across = across(*first, *last);
    let currencies: BTreeSet<&Currency> = stages().map(|stage| &stage.currency).collect();
    let panels: Vec<Panel> = (currencies.into_iter())
        .map(|currency| Panel::of(courses, currency, &across))
        .filter(|panel| !panel.lines.is_empty())
        .collect();
    let heights = panels.iter().map(Panel::height);
    let lines = panels.iter().flat_map(|panel| &panel.lines);
    let names = room(lines.map(|line| line.name.as_str()));
    svg(HEAD + heights.sum::<u32>(), |area| {
        title(area, &format!("{}: prices over time", shortened(part)))?;
        let (_, mut rest) = area.split_vertically(HEAD);
        for panel in &panels {
            let (own, below) = rest.split_vertically(panel.height());
            panel.draw(area, &own, names, (&across, &days))?;
            rest = below;
        }
        Ok(())
    })
}

/// A place in time and price.
type Place = (f64, f64);

fn at(day: Date) -> f64 {
    f64::from((day - Date::constant(2000, 1, 1)).get_days())
}

/// The days across, with room before the first and after the last.
fn across(first: Date, last: Date) -> Range<f64> {
    let room = ((at(last) - at(first)) * 0.08).max(5.0);
    at(first) - room..at(last) + room
}

/// A currency and its lines.
struct Panel<'c> {
    currency: &'c Currency,
    lines: Vec<Line>,
}

/// The line of one price.
struct Line {
    name: String,
    /// Which dashes it has.
    dashes: usize,
    /// Which marks it has.
    mark: usize,
    /// What is drawn without a gap.
    pieces: Vec<Vec<Place>>,
    /// Where a price begins.
    marks: Vec<Place>,
    /// Where a price is gone.
    crosses: Vec<Place>,
}

impl Line {
    fn of(course: &Course, currency: &Currency, across: &Range<f64>) -> Self {
        let mut line = Line {
            name: String::new(),
            dashes: 0,
            mark: 0,
            pieces: Vec::new(),
            marks: Vec::new(),
            crosses: Vec::new(),
        };
        let mut piece: Vec<Place> = Vec::new();
        let mut is_before_days = true;
        for stage in &course.stages {
            let price = stage.unit_price.filter(|_| stage.currency == *currency);
            let price = price.map(|price| float(price.0));
            let before = piece.last().map(|(_, price)| *price);
            let Some(day) = stage.quoted.map(at) else {
                // When it began is known only where no day is before it.
                match is_before_days {
                    true => piece.clear(),
                    false => line.end(&mut piece),
                }
                let known = price.filter(|_| is_before_days);
                piece.extend(known.map(|price| (across.start, price)));
                continue;
            };
            is_before_days = false;
            piece.extend(before.map(|price| (day, price)));
            match price {
                Some(price) => {
                    piece.push((day, price));
                    line.marks.push((day, price));
                }
                None => {
                    let is_gone = stage.unit_price.is_none();
                    let cross = before.filter(|_| is_gone).map(|price| (day, price));
                    line.crosses.extend(cross);
                    line.end(&mut piece);
                }
            }
        }
        let last = piece.last().map(|(_, price)| (across.end, *price));
        piece.extend(last);
        line.end(&mut piece);
        line
    }

    fn end(&mut self, piece: &mut Vec<Place>) {
        if !piece.is_empty() {
            self.pieces.push(std::mem::take(piece));
        }
    }

    fn places(&self) -> impl Iterator<Item = &Place> {
        self.pieces.iter().flatten()
    }

    fn last(&self) -> Option<Place> {
        self.places().last().copied()
    }
}

impl<'c> Panel<'c> {
    fn of(courses: &[Course], currency: &'c Currency, across: &Range<f64>) -> Self {
        let mut suppliers: Vec<(&str, usize)> = Vec::new();
        let mut lines = Vec::new();
        for course in courses {
            let mut line = Line::of(course, currency, across);
            if line.pieces.is_empty() {
                continue;
            }
            let known = suppliers
                .iter()
                .position(|(name, _)| *name == course.supplier);
            line.dashes = known.unwrap_or_else(|| {
                suppliers.push((&course.supplier, 0));
                suppliers.len() - 1
            });
            if let Some((_, count)) = suppliers.get_mut(line.dashes) {
                line.mark = *count;
                *count += 1;
            }
            let sku = match skus(courses, &course.supplier) {
                0 | 1 => "",
                _ => &course.sku,
            };
            line.name = name(course, sku, currency);
            lines.push(line);
        }
        // As their names stand, from the dearest down.
        let price = |line: &Line| line.last().map_or(0.0, |(_, price)| price);
        lines.sort_by(|a, b| price(b).total_cmp(&price(a)));
        Self { currency, lines }
    }

    fn height(&self) -> u32 {
        let names = self.lines.len() as u32 * NAME as u32;
        PANEL.max(names + AROUND)
    }

    fn draw(
        &self,
        all: &Area,
        own: &Area,
        names: u32,
        (across, days): (&Range<f64>, &BTreeSet<Date>),
    ) -> Result<(), PictureError> {
        let up = self.up();
        let decimals = (1.0 - (up.end - up.start).log10().floor()).clamp(0.0, 6.0) as usize;
        let mut chart = ChartBuilder::on(own)
            .margin(16)
            .margin_right(names + SAMPLE as u32)
            .x_label_area_size(32)
            .y_label_area_size(90)
            .build_cartesian_2d(across.clone(), up.clone())
            .map_err(failed)?;
        chart
            .configure_mesh()
            .disable_x_mesh()
            .disable_x_axis()
            .light_line_style(WHITE)
            .bold_line_style(FAINT)
            .y_label_formatter(&|y| format!("{y:.decimals$}"))
            .label_style(style(TEXT, HPos::Center, VPos::Center))
            .axis_desc_style(style(TEXT, HPos::Center, VPos::Center))
            .y_desc(format!("price of a piece, {}", self.currency))
            .draw()
            .map_err(failed)?;
        draw_days(all, &mut chart, &up, days)?;
        for line in &self.lines {
            line.draw(&mut chart)?;
        }
        self.draw_names(all, &chart, across)
    }

    fn up(&self) -> Range<f64> {
        let prices = || {
            let places = self.lines.iter().flat_map(Line::places);
            places.map(|(_, price)| *price)
        };
        let low = prices().fold(f64::INFINITY, f64::min);
        let high = prices().fold(0.0, f64::max);
        let room = ((high - low) * 0.15).max(high * 0.02).max(0.000_01);
        (low - room).max(0.0)..high + room
    }

    /// The names beside the ends of the lines, none above another, each with a sample.
    fn draw_names(
        &self,
        all: &Area,
        chart: &Chart,
        across: &Range<f64>,
    ) -> Result<(), PictureError> {
        let ends = self.lines.iter().map(|line| {
            let price = line.last().map_or(0.0, |(_, price)| price);
            chart.backend_coord(&(across.end, price)).1
        });
        let (low, high) = self.names_between(chart, across);
        let places = spread(ends.collect(), low, high);
        let (right, _) = chart.backend_coord(&(across.end, self.up().start));
        for (line, y) in self.lines.iter().zip(places) {
            if let Some(last) = line.last().filter(|(day, _)| *day == across.end) {
                let end = chart.backend_coord(&last);
                let lead = PathElement::new(vec![end, (right + 10, y)], GREY.stroke_width(1));
                all.draw(&lead).map_err(failed)?;
            }
            let sample = [(right + 12, y), (right + SAMPLE - 8, y)];
            for dash in dashes(&sample, line.dashes) {
                all.draw(&PathElement::new(dash, BLACK.stroke_width(2)))
                    .map_err(failed)?;
            }
            let mark = (right + SAMPLE / 2 + 2, y);
            for shape in shapes(line.mark) {
                all.draw(&(EmptyElement::at(mark) + shape))
                    .map_err(failed)?;
            }
            let text = style(TEXT, HPos::Left, VPos::Center);
            all.draw(&Text::new(line.name.clone(), (right + SAMPLE, y), text))
                .map_err(failed)?;
        }
        Ok(())
    }

    /// The pixels that names may stand between, from the top down.
    fn names_between(&self, chart: &Chart, across: &Range<f64>) -> (i32, i32) {
        let up = self.up();
        let y = |price| chart.backend_coord(&(across.end, price)).1;
        (y(up.end), y(up.start))
    }
}

/// How many skus of a supplier there are.
fn skus(courses: &[Course], supplier: &str) -> usize {
    let own = courses.iter().filter(|course| course.supplier == supplier);
    own.map(|course| &course.sku).collect::<BTreeSet<_>>().len()
}

fn name(course: &Course, sku: &str, currency: &Currency) -> String {
    let last = course.stages.last();
    let price = |stage: &Stage| stage.unit_price.map_or(GONE.to_owned(), |p| p.to_string());
    let now = match last {
        Some(stage) if stage.currency == *currency => price(stage),
        _ => GONE.to_owned(),
    };
    let sku = if sku.is_empty() {
        String::new()
    } else {
        format!(" {sku}")
    };
    // What tells lines apart stands at the end, which is never cut off.
    let supplier = shortened(&format!("{}{sku}", course.supplier));
    let supplier: String = match supplier.chars().count() {
        0..=24 => supplier,
        _ => supplier.chars().take(23).chain(['…']).collect(),
    };
    format!("{supplier} from {}: {now}", course.min_qty)
}

type Chart<'a, 'b> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// A faint line at each day, and its name where there is room.
fn draw_days(
    all: &Area,
    chart: &mut Chart,
    up: &Range<f64>,
    days: &BTreeSet<Date>,
) -> Result<(), PictureError> {
    let mut named: Option<i32> = None;
    for day in days {
        let line = vec![(at(*day), up.start), (at(*day), up.end)];
        chart
            .draw_series([PathElement::new(line, FAINT.stroke_width(1))])
            .map_err(failed)?;
        let (x, y) = chart.backend_coord(&(at(*day), up.start));
        if named.is_none_or(|named| x - named >= DAY) {
            let text = style(TEXT, HPos::Center, VPos::Top);
            all.draw(&Text::new(day.to_string(), (x, y + 10), text))
                .map_err(failed)?;
            named = Some(x);
        }
    }
    Ok(())
}

impl Line {
    fn draw(&self, chart: &mut Chart) -> Result<(), PictureError> {
        for piece in &self.pieces {
            let pixels: Vec<(i32, i32)> = piece.iter().map(|at| chart.backend_coord(at)).collect();
            for dash in dashes(&pixels, self.dashes) {
                // In pixels from the place of the piece.
                let (Some(begin), Some(origin)) = (piece.first(), pixels.first()) else {
                    continue;
                };
                let own = dash.iter().map(|(x, y)| (x - origin.0, y - origin.1));
                let path = PathElement::new(own.collect::<Vec<_>>(), BLACK.stroke_width(2));
                chart
                    .draw_series([EmptyElement::at(*begin) + path])
                    .map_err(failed)?;
            }
        }
        for place in &self.marks {
            for shape in shapes(self.mark) {
                chart
                    .draw_series([EmptyElement::at(*place) + shape])
                    .map_err(failed)?;
            }
        }
        for place in &self.crosses {
            let cross = EmptyElement::at(*place) + Cross::new((0, 0), 7, BLACK.stroke_width(2));
            chart.draw_series([cross]).map_err(failed)?;
        }
        Ok(())
    }
}

/// Lengths of dashes and of the gaps between, in pixels; without any, the line is whole.
const DASHES: [&[i32]; 4] = [&[], &[10, 5], &[2, 4], &[12, 4, 2, 4]];

/// A path of level and upright stretches, cut into dashes.
fn dashes(path: &[(i32, i32)], which: usize) -> Vec<Vec<(i32, i32)>> {
    let lengths = DASHES
        .get(which % DASHES.len())
        .copied()
        .unwrap_or_default();
    if lengths.is_empty() {
        return vec![path.to_vec()];
    }
    let mut cut = Vec::new();
    let mut turn = lengths
        .iter()
        .cycle()
        .zip([true, false].into_iter().cycle());
    let (mut left, mut is_drawn) = turn.next().map_or((1, true), |(l, d)| (*l, d));
    for (from, to) in path.iter().zip(path.iter().skip(1)) {
        let (dx, dy) = ((to.0 - from.0).signum(), (to.1 - from.1).signum());
        let length = (to.0 - from.0).abs().max((to.1 - from.1).abs());
        let mut done = 0;
        while done < length {
            let step = left.min(length - done);
            let point = |n: i32| (from.0 + dx * n, from.1 + dy * n);
            if is_drawn {
                cut.push(vec![point(done), point(done + step)]);
            }
            done += step;
            left -= step;
            if left == 0 {
                (left, is_drawn) = turn.next().map_or((1, true), |(l, d)| (*l, d));
            }
        }
    }
    cut
}

type Shape = Polygon<(i32, i32)>;

/// The mark of a line: two forms on each other, the edge and what it is filled with.
fn shapes(which: usize) -> [Shape; 2] {
    let form = |size: f64| -> Vec<(i32, i32)> {
        let corners: &[(f64, f64)] = match which / 2 % 3 {
            0 => &[
                (1.0, 0.0),
                (0.7, 0.7),
                (0.0, 1.0),
                (-0.7, 0.7),
                (-1.0, 0.0),
                (-0.7, -0.7),
                (0.0, -1.0),
                (0.7, -0.7),
            ],
            1 => &[(0.9, 0.9), (-0.9, 0.9), (-0.9, -0.9), (0.9, -0.9)],
            _ => &[(0.0, -1.2), (1.1, 0.8), (-1.1, 0.8)],
        };
        let scaled = corners.iter().map(|(x, y)| (x * size, y * size));
        scaled
            .map(|(x, y)| (x.round() as i32, y.round() as i32))
            .collect()
    };
    let inner = if which.is_multiple_of(2) {
        BLACK
    } else {
        WHITE
    };
    [
        Polygon::new(form(6.0), BLACK.filled()),
        Polygon::new(form(4.0), inner.filled()),
    ]
}

/// Places from the top down, each at least a name below the one before; as near to where
/// they were as the room allows.
fn spread(wanted: Vec<i32>, top: i32, bottom: i32) -> Vec<i32> {
    let mut places = wanted;
    let mut least = top;
    for place in &mut places {
        *place = (*place).max(least);
        least = *place + NAME;
    }
    let mut most = bottom.max(top + NAME * (places.len() as i32 - 1));
    for place in places.iter_mut().rev() {
        *place = (*place).min(most);
        most = *place - NAME;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Money;

    fn course(stages: &[(&str, &str, &str)]) -> Course {
        let stage = |(day, price, currency): &(&str, &str, &str)| Stage {
            quoted: day.parse().ok(),
            unit_price: price.parse().ok().map(Money),
            currency: Currency::parse(currency).unwrap(),
            percent: None,
        };
        Course {
            part: "P".into(),
            supplier: "North".into(),
            sku: "N-1".into(),
            min_qty: 1,
            stages: stages.iter().map(stage).collect(),
        }
    }

    const DAYS: [&str; 3] = ["2000-01-11", "2000-01-21", "2000-01-31"];

    fn line(stages: &[(&str, &str, &str)], currency: &str) -> Line {
        Line::of(
            &course(stages),
            &Currency::parse(currency).unwrap(),
            &(0.0..40.0),
        )
    }

    #[test]
    fn a_price_goes_on_until_the_next_and_a_cross_ends_it() {
        let one = line(&[(DAYS[0], "2", "EUR"), (DAYS[1], "3", "EUR")], "EUR");
        let steps = vec![(10.0, 2.0), (20.0, 2.0), (20.0, 3.0), (40.0, 3.0)];
        assert_eq!((one.pieces, one.marks.len()), (vec![steps], 2));
        let gone = line(&[("", "2", "EUR"), (DAYS[1], "gone", "EUR")], "EUR");
        assert_eq!(gone.pieces, [vec![(0.0, 2.0), (20.0, 2.0)]]);
        assert_eq!((gone.crosses, gone.marks), (vec![(20.0, 2.0)], vec![]));
    }

    #[test]
    fn what_has_no_day_leaves_a_gap_and_another_currency_its_own_panel() {
        let stages = [
            (DAYS[0], "2", "EUR"),
            ("", "3", "EUR"),
            (DAYS[2], "4", "EUR"),
        ];
        let one = line(&stages, "EUR");
        assert_eq!(
            one.pieces,
            [vec![(10.0, 2.0)], vec![(30.0, 4.0), (40.0, 4.0)]]
        );
        let stages = [(DAYS[0], "2", "EUR"), (DAYS[1], "3", "USD")];
        assert_eq!(
            line(&stages, "EUR").pieces,
            [vec![(10.0, 2.0), (20.0, 2.0)]]
        );
        assert!(line(&stages, "EUR").crosses.is_empty());
        assert_eq!(
            line(&stages, "USD").pieces,
            [vec![(20.0, 3.0), (40.0, 3.0)]]
        );
        let svg = history("P", &[course(&stages)]).unwrap();
        assert_eq!(svg.matches("price of a piece, ").count(), 2, "{svg}");
    }

    #[test]
    fn names_stand_below_each_other_within_their_room() {
        assert_eq!(spread(vec![10, 12, 300], 0, 320), [10, 30, 300]);
        assert_eq!(spread(vec![310, 312, 320], 0, 320), [280, 300, 320]);
        assert_eq!(spread(vec![5; 4], 0, 30), [0, 20, 40, 60]);
        assert_eq!(spread(vec![], 0, 30), [0; 0]);
    }

    #[test]
    fn dashes_go_round_corners_and_cover_as_much_as_they_say() {
        let path = [(0, 0), (20, 0), (20, 25)];
        let whole = dashes(&path, 0);
        assert_eq!(whole, [path.to_vec()]);
        let length = |cut: &[(i32, i32)]| (cut[1].0 - cut[0].0).abs() + (cut[1].1 - cut[0].1).abs();
        let drawn: i32 = dashes(&path, 1).iter().map(|cut| length(cut)).sum();
        assert_eq!(drawn, 30);
        let drawn: i32 = dashes(&path, 2).iter().map(|cut| length(cut)).sum();
        assert_eq!(drawn, 16);
    }

    #[test]
    fn without_a_day_there_is_nothing_to_draw() {
        for courses in [vec![], vec![course(&[("", "2", "EUR")])]] {
            let svg = history("P", &courses).unwrap();
            assert!(
                svg.contains("P: no price with a day in the history"),
                "{svg}"
            );
        }
    }
}
