//! Lines of a delivery note or a confirmation.

use super::article::one_line;
use super::cells::{Cells, Trouble};
use super::layout::Layout;
use super::steps::price;
use crate::lists::read::List;
use crate::lists::recipe::{Field, Recipe};
use crate::lists::values::quantity::{Unit, counted};
use crate::units::{Currency, Money, Qty};
use jiff::civil::Date;

/// A line of a delivery note or a confirmation.
#[derive(Debug, Clone)]
pub struct Line {
    /// The row of the list.
    pub row: u64,
    /// The supplier's article number; empty where there is none.
    pub number: String,
    /// Our code of the part, where the list has it.
    pub own: String,
    /// What the article is, where the list says it.
    pub description: String,
    /// How many pieces; none where that is not understood.
    pub pieces: Option<Qty>,
    /// The price of a piece, where the list has it.
    pub price: Option<Money>,
    /// Days until delivery, where they are told.
    pub lead_days: Option<u32>,
    /// The day of the delivery, where it is told.
    pub day: Option<Date>,
    /// What of the line is not understood.
    pub troubles: Vec<Trouble>,
    /// True if the row has a quantity, understood or not.
    pub is_counted: bool,
}

/// Pieces in a pack of an article by its number and our code; none where that is not known.
pub type Packs<'p> = &'p dyn Fn(&str, &str) -> Option<Qty>;

/// All lines of a list in order. Rows without an article and a quantity are left out.
pub fn lines(
    list: &List,
    layout: &Layout,
    recipe: &Recipe,
    currency: &Currency,
    packs: Packs,
) -> Vec<Line> {
    let Some(page) = list.pages.get(layout.page) else {
        return Vec::new();
    };
    let rows = page.rows.iter().skip(layout.header + 1);
    let rows = rows.filter(|row| !layout.leaves_out(page, row));
    let each = rows.filter_map(|row| {
        let cells = Cells {
            page,
            layout,
            recipe,
            currency,
            row,
        };
        line(&cells, packs)
    });
    each.collect()
}

fn line(cells: &Cells, packs: Packs) -> Option<Line> {
    let name = |field| one_line(cells.text(field));
    let (number, own) = (name(Field::Article), name(Field::Part));
    let is_counted = cells.field(Field::Quantity).is_some();
    if number.is_empty() && own.is_empty() && !is_counted {
        return None;
    }
    let mut line = Line {
        row: cells.row.number,
        description: name(Field::Description),
        pieces: None,
        price: None,
        lead_days: None,
        day: None,
        troubles: Vec::new(),
        is_counted,
        number,
        own,
    };
    let pack = line.of(cells.pack()).flatten();
    let pack = pack.or_else(|| packs(&line.number, &line.own));
    line.pieces = line.of(pieces(cells, pack));
    line.price = line.of(price(cells, pack)).flatten();
    line.lead_days = line.of(cells.lead()).flatten();
    line.day = line.of(cells.day()).flatten();
    Some(line)
}

impl Line {
    /// What was read; a trouble is kept.
    fn of<T>(&mut self, read: Result<T, Trouble>) -> Option<T> {
        read.map_err(|trouble| self.troubles.push(trouble)).ok()
    }

    /// The article as the list names it: its number, else our code.
    pub fn article(&self) -> &str {
        match self.number.is_empty() {
            true => &self.own,
            false => &self.number,
        }
    }
}

/// How many pieces the row has.
fn pieces(cells: &Cells, pack: Option<Qty>) -> Result<Qty, Trouble> {
    let Some(cell) = cells.field(Field::Quantity) else {
        return Err(cells.missing(Field::Quantity, "the row has no quantity"));
    };
    cell.whole()?;
    let read = counted(cell.text, cell.sign).ok_or_else(|| {
        cell.trouble(
            "is no quantity",
            "correct the recipe, or leave such rows out with [[skip]]",
        )
    })?;
    let unit = read.unit.unwrap_or(cells.recipe.counted.quantity);
    let pack = match (unit, pack) {
        (Unit::Pieces, _) => 1,
        (Unit::Packs, Some(pack)) => pack,
        (Unit::Packs, None) => {
            return Err(cell.trouble(
                "counts packs, but nothing says how many pieces are in one",
                "add pack = \"heading\" under [columns] of the recipe, or the pack to the price list",
            ));
        }
    };
    let pieces = unit.in_pieces(read.count, pack);
    pieces.ok_or_else(|| cell.trouble("are more pieces than an order holds", "correct the list"))
}
