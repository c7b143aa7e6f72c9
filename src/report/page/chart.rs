//! Charts, drawn as SVG. Each has its numbers in a table beside it.

use crate::plan::{Cost, Status};
use crate::report::wording::{counted, gap};
use crate::study::frontier::Frontier as Study;
use crate::units::{Currency, Money, apportion};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;

/// The least totals for each number of variants, computed elsewhere.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frontier {
    /// The points, by rising number of variants.
    pub points: Vec<Point>,
    /// No plan does with fewer variants than this number.
    pub least: u64,
    /// False where the search was stopped before all points were found.
    pub is_whole: bool,
}

/// One point of a [`Frontier`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Point {
    /// Distinct parts that are fitted.
    pub variants: u64,
    /// The least total with no more variants.
    pub total: Money,
    /// How far the least total may be below `total`, in percent; none where `total` is proven.
    pub gap_percent: Option<Decimal>,
}

impl From<&Study> for Frontier {
    fn from(study: &Study) -> Self {
        let points = study.points.iter().rev().map(|point| Point {
            variants: point.at_most.into(),
            total: point.plan.cost.total,
            gap_percent: (point.plan.status != Status::Optimal).then_some(point.plan.gap_percent),
        });
        Self {
            points: points.collect(),
            least: study.least.into(),
            is_whole: study.is_whole,
        }
    }
}

/// Length of the longest bar.
const BAR: f64 = 300.0;
/// Distance from bar to bar.
const ROW: f64 = 30.0;
/// Width and height of the frontier.
const PLOT: (f64, f64) = (560.0, 240.0);
/// Room around the frontier: left, top, right, bottom.
const EDGE: (f64, f64, f64, f64) = (86.0, 16.0, 24.0, 44.0);

/// The least distance from number to number on the axis.
const APART: f64 = 34.0;

/// A bar with its name and amount.
pub struct Bar {
    pub name: &'static str,
    pub amount: String,
    /// The share of the total: `12.3 %`, empty where the total is zero.
    pub share: String,
    pub y: f64,
    pub length: f64,
}

/// The terms of the total.
pub struct Bars {
    pub bars: Vec<Bar>,
    pub total: String,
    pub height: f64,
}

impl Bar {
    pub fn base(&self) -> f64 {
        self.y + 15.0
    }

    pub fn end(&self) -> f64 {
        86.0 + self.length
    }
}

/// The terms that are not zero, to the cent; they add up to the total.
pub fn bars(cost: &Cost, currency: &Currency) -> Bars {
    let exact = cost.terms().map(|(_, exact)| exact);
    let longest = exact.into_iter().max().unwrap_or_default();
    let shown = cost.terms().into_iter().zip(apportion(&exact));
    let shown = shown.filter(|((name, exact), _)| *exact != Money::ZERO || *name == "goods");
    let bars: Vec<Bar> = shown
        .enumerate()
        .map(|(n, ((name, exact), amount))| Bar {
            name,
            amount: format!("{amount} {currency}"),
            share: percent(exact, cost.total),
            y: 4.0 + ROW * n as f64,
            length: (share(exact, longest) * BAR).max(1.0),
        })
        .collect();
    Bars {
        height: 8.0 + ROW * bars.len() as f64,
        bars,
        total: format!("{} {currency}", cost.total.cents()),
    }
}

fn percent(part: Money, whole: Money) -> String {
    if !whole.is_positive() {
        return String::new();
    }
    let share = part.0 / whole.0 * Decimal::ONE_HUNDRED;
    format!("{:.1} %", share.round_dp(1))
}

/// A share for lengths on paper alone.
fn share(part: Money, whole: Money) -> f64 {
    if !whole.is_positive() {
        return 0.0;
    }
    (part.0 / whole.0).to_f64().unwrap_or(0.0).clamp(0.0, 1.0)
}

/// A point of the frontier on paper.
pub struct Dot {
    pub variants: u64,
    pub total: String,
    pub x: f64,
    pub y: f64,
    /// `proven`, or how far the total may be above the least.
    pub proof: String,
    pub is_proven: bool,
    /// True for the plan that the page shows.
    pub is_plan: bool,
}

/// The frontier on paper.
pub struct Plot {
    /// What the points show, in words.
    pub note: String,
    pub dots: Vec<Dot>,
    /// Points of the line through the dots, in steps.
    pub line: String,
    pub width: f64,
    pub height: f64,
    /// The axes: left edge, lower edge, right edge.
    pub left: f64,
    pub low: f64,
    pub right: f64,
    /// The totals at the upper and lower end of the axis.
    pub most: String,
    pub least: String,
}

impl Plot {
    /// True if every point can have its number below it.
    pub fn has_room(&self) -> bool {
        let next = self.dots.iter().skip(1);
        self.dots.iter().zip(next).all(|(a, b)| b.x - a.x >= APART)
    }

    /// True if some point is not proven.
    pub fn has_open(&self) -> bool {
        self.dots.iter().any(|dot| !dot.is_proven)
    }
}

/// The frontier, with the plan of so many variants marked; none without points.
pub fn plot(frontier: &Frontier, variants: u64) -> Option<Plot> {
    let totals = || frontier.points.iter().map(|p| p.total);
    let (least, most) = (totals().min()?, totals().max()?);
    let counts = || frontier.points.iter().map(|p| p.variants);
    let (few, many) = (counts().min()?, counts().max()?);
    let (left, top, right, bottom) = EDGE;
    let (wide, high) = (PLOT.0 - left - right, PLOT.1 - top - bottom);
    let along = |n: u64| (n - few) as f64 / (many - few).max(1) as f64;
    let dots: Vec<Dot> = frontier
        .points
        .iter()
        .map(|point| Dot {
            variants: point.variants,
            total: point.total.cents().to_string(),
            x: left + wide * along(point.variants),
            y: top + high * (1.0 - share(point.total - least, most - least)),
            proof: match point.gap_percent {
                None => "proven".to_owned(),
                Some(percent) => format!("within {}", gap(percent)),
            },
            is_proven: point.gap_percent.is_none(),
            is_plan: point.variants == variants,
        })
        .collect();
    Some(Plot {
        note: note(frontier),
        line: steps(&dots),
        dots,
        width: PLOT.0,
        height: PLOT.1,
        left,
        low: top + high,
        right: left + wide,
        most: most.cents().to_string(),
        least: least.cents().to_string(),
    })
}

/// How few variants there can be, and whether all points are there.
fn note(frontier: &Frontier) -> String {
    let stopped = match frontier.points.len() {
        1 => "The search was stopped before it found a plan with fewer variants than this plan",
        _ => "The search was stopped before it had the least total for every number",
    };
    match (frontier.points.as_slice(), frontier.is_whole) {
        ([_], true) => "No compatible plan does with fewer variants than this plan.".to_owned(),
        (_, true) => least(frontier),
        (_, false) if frontier.least == 0 => format!("{stopped}."),
        (_, false) => format!("{} {stopped}.", least(frontier)),
    }
}

fn least(frontier: &Frontier) -> String {
    let few = counted(frontier.least, "variant");
    format!("No compatible plan does with fewer than {few}.")
}

/// A total holds until the next point, so the line goes in steps.
fn steps(dots: &[Dot]) -> String {
    let mut points = Vec::new();
    let mut last: Option<f64> = None;
    for dot in dots {
        if let Some(y) = last {
            points.push(format!("{:.1},{y:.1}", dot.x));
        }
        points.push(format!("{:.1},{:.1}", dot.x, dot.y));
        last = Some(dot.y);
    }
    points.join(" ")
}
