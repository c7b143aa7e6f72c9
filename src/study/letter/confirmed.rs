//! A confirmation held against the order.

use super::{Day, Letter, Line, Open, Stranger, fill};
use crate::diag::Findings;
use crate::input::Input;
use crate::study::outstanding::due;
use crate::units::{Money, Qty};
use jiff::civil::Date;
use schemars::JsonSchema;
use serde::Serialize;

/// What the confirmation of a supplier is held against.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Compared {
    /// The supplier.
    pub supplier: String,
    /// True for what is outstanding in `ordered.csv`, false for the order of the plan, which
    /// is not placed yet.
    pub is_placed: bool,
    /// The day of the order: of a placed one the only day, of the plan the day from which
    /// lead times are counted; none where several days are outstanding.
    pub ordered_on: Option<String>,
    /// Lines on order there.
    pub lines: usize,
}

/// What differs in one line.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Difference {
    /// The supplier.
    pub supplier: String,
    /// Part code.
    pub part: String,
    /// The supplier's code as it was ordered; may be empty.
    pub sku: String,
    /// What differs: `quantity`, `price` or `day`.
    pub what: &'static str,
    /// As it was ordered: pieces, the price of a piece in the supplier's currency, or the day
    /// when it is due.
    pub ordered: String,
    /// As it is confirmed.
    pub confirmed: String,
    /// How much more (above zero) or less: pieces, the price of a piece, or days.
    pub change: String,
    /// The row of the file; of several the last.
    pub row: u64,
}

/// A line that was ordered and is not in the confirmation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Missing {
    /// The supplier.
    pub supplier: String,
    /// Part code.
    pub part: String,
    /// The supplier's code as it was ordered; may be empty.
    pub sku: String,
    /// Pieces that are on order.
    pub qty: Qty,
    /// The day of the order.
    pub ordered_on: String,
}

/// A confirmation beside the order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Confirmed {
    /// What it is held against, by supplier.
    pub compared: Vec<Compared>,
    /// The recipe that the confirmation was read by; none for our own order.
    pub recipe: Option<String>,
    /// Lines of the order that are confirmed.
    pub confirmed: usize,
    /// What differs.
    pub differences: Vec<Difference>,
    /// Lines of the order that are not in the confirmation.
    pub missing: Vec<Missing>,
    /// Lines of the confirmation that were not ordered.
    pub not_ordered: Vec<Stranger>,
    /// True if the confirmation has prices.
    pub has_prices: bool,
    /// True if the confirmation has days.
    pub has_days: bool,
    /// Lines whose confirmed day has nothing to be compared with: the price list has no lead
    /// time.
    pub not_due: usize,
}

impl Confirmed {
    /// True if the confirmation is as the order.
    pub fn agrees(&self) -> bool {
        self.differences.is_empty() && self.missing.is_empty() && self.not_ordered.is_empty()
    }
}

/// What the confirmation says to one line of the order.
#[derive(Default)]
struct Said {
    pieces: Qty,
    /// The lines that say it.
    rows: Vec<usize>,
}

/// Holds a confirmation against what is on order. `compared` says what that is.
///
/// # Errors
/// An error for each line of what was ordered that is not understood.
pub fn confirmed(
    input: &Input,
    letter: &Letter,
    open: &[Open],
    compared: Vec<Compared>,
) -> Result<Confirmed, Findings> {
    let mut left: Vec<Qty> = open.iter().map(|one| one.qty).collect();
    let mut said: Vec<Said> = open.iter().map(|_| Said::default()).collect();
    let (mut strangers, mut findings) = (Vec::new(), Findings::default());
    for (at, line) in letter.lines.iter().enumerate() {
        let places = line.places(open, input);
        if places.is_empty() {
            if !line.is_never_ours() {
                strangers.push(line.stranger(line.why(open, input)));
            }
            continue;
        }
        let Some(pieces) = line.pieces.filter(|_| line.wrong.is_empty()) else {
            line.wrong
                .iter()
                .for_each(|wrong| findings.push(wrong.clone()));
            continue;
        };
        let (mut taken, beyond) = fill(&places, &mut left, pieces);
        // What is more than was ordered goes to the line that took last.
        let last = taken
            .last()
            .map(|(place, _)| *place)
            .or(places.last().copied());
        taken.extend(
            last.filter(|_| beyond > 0 || taken.is_empty())
                .map(|at| (at, beyond)),
        );
        for (place, pieces) in taken {
            if let Some(said) = said.get_mut(place) {
                said.pieces += pieces;
                said.rows.push(at);
            }
        }
    }
    if findings.has_errors() {
        return Err(findings);
    }
    let mut out = Confirmed {
        compared,
        recipe: letter.recipe.as_ref().map(ToString::to_string),
        confirmed: 0,
        differences: Vec::new(),
        missing: Vec::new(),
        not_ordered: strangers,
        has_prices: letter.has_prices,
        has_days: letter.has_days,
        not_due: 0,
    };
    for (one, said) in open.iter().zip(&said) {
        let names = Names::of(one, input);
        match said.rows.is_empty() {
            true => out.missing.push(names.missing(one)),
            false => out.take(&names, one, said, letter),
        }
    }
    Ok(out)
}

impl Confirmed {
    /// Takes what is said to a line of the order.
    fn take(&mut self, names: &Names, one: &Open, said: &Said, letter: &Letter) {
        self.confirmed += 1;
        let mut rows = said.rows.clone();
        rows.dedup();
        let lines: Vec<&Line> = rows.iter().filter_map(|at| letter.lines.get(*at)).collect();
        let last = lines.last().map_or(0, |line| line.row);
        if said.pieces != one.qty {
            let change = i128::from(said.pieces) - i128::from(one.qty);
            let (ordered, confirmed) = (one.qty.to_string(), said.pieces.to_string());
            let all = ("quantity", ordered, confirmed, signed(change));
            self.differences.push(names.differs(all, last));
        }
        for line in &lines {
            let other = line.price.filter(|price| *price != one.price);
            self.differences.extend(other.map(|price| {
                let change = Money(price.0 - one.price.0);
                let sign = if change.is_positive() { "+" } else { "" };
                let (ordered, confirmed) = (one.price.to_string(), price.to_string());
                names.differs(
                    ("price", ordered, confirmed, format!("{sign}{change}")),
                    line.row,
                )
            }));
        }
        let wanted = one.lead_days.and_then(|days| due(one.ordered_on, days));
        let mut is_unknown = false;
        for line in &lines {
            let day = match line.day {
                None => continue,
                Some(Day::On(day)) => Some(day),
                Some(Day::After(days)) => due(one.ordered_on, days),
            };
            let (Some(wanted), Some(day)) = (wanted, day) else {
                is_unknown = true;
                continue;
            };
            if day != wanted {
                let change = signed(days_between(wanted, day));
                let all = ("day", wanted.to_string(), day.to_string(), change);
                self.differences.push(names.differs(all, line.row));
            }
        }
        self.not_due += usize::from(is_unknown);
    }
}

/// A number with its sign.
fn signed(number: impl Into<i128>) -> String {
    format!("{:+}", number.into())
}

fn days_between(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}

/// The names of a line of the order.
struct Names {
    supplier: String,
    part: String,
    sku: String,
}

impl Names {
    fn of(one: &Open, input: &Input) -> Self {
        Self {
            supplier: input.catalog.supplier(one.supplier).name.clone(),
            part: input.catalog.part(one.part).code.clone(),
            sku: one.sku.clone(),
        }
    }

    fn missing(&self, one: &Open) -> Missing {
        Missing {
            supplier: self.supplier.clone(),
            part: self.part.clone(),
            sku: self.sku.clone(),
            qty: one.qty,
            ordered_on: one.ordered_on.to_string(),
        }
    }

    fn differs(
        &self,
        (what, ordered, confirmed, change): (&'static str, String, String, String),
        row: u64,
    ) -> Difference {
        Difference {
            supplier: self.supplier.clone(),
            part: self.part.clone(),
            sku: self.sku.clone(),
            what,
            ordered,
            confirmed,
            change,
            row,
        }
    }
}
