//! The prices of a row.

use super::cells::{Cell, Cells, Trouble};
use super::layout::{BreakAt, FromAt};
use super::share::{Share, share};
use crate::lists::recipe::Field;
use crate::units::{MAX_QTY, Money, Qty};
use rust_decimal::Decimal;

/// A price from a quantity on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// From this many pieces on.
    pub min_qty: Qty,
    /// Price of a piece.
    pub price: Money,
    /// True if the price was rounded to six decimals.
    pub is_rounded: bool,
    /// The row of the list.
    pub row: u64,
}

/// True if any cell for a price holds anything.
pub fn has_price(cells: &Cells) -> bool {
    let breaks = cells.layout.breaks.iter();
    let mut priced = breaks.filter(|b| !b.is_discount).map(|b| &b.column);
    cells.field(Field::Price).is_some() || priced.any(|column| cells.at(column).is_some())
}

/// The least quantity that is sold.
pub fn least(cells: &Cells, pack: Qty) -> Result<Option<Qty>, Trouble> {
    let Some(cell) = cells.field(Field::Least) else {
        return Ok(None);
    };
    let pieces = cells.pieces(&cell, cells.recipe.counted.least, pack)?;
    Ok(Some(pieces.max(1)))
}

/// The prices of a row.
pub fn steps(cells: &Cells, pack: Qty) -> Result<Vec<Step>, Trouble> {
    let per = cells.per(pack)?;
    if let Some(cell) = cells.field(Field::Currency) {
        cells.same_currency(&cell, cell.text)?;
    }
    let base = cells.field(Field::Price);
    let value = base.as_ref().map(|cell| cells.money(cell)).transpose()?;
    let mut steps = Vec::new();
    if let (Some(cell), Some(value)) = (&base, value) {
        let left = match cells.field(Field::Discount) {
            Some(discount) => cells.left(&discount)?,
            None => Decimal::ONE,
        };
        let from = match cells.field(Field::Quantity) {
            Some(from) => cells
                .pieces(&from, cells.recipe.counted.breaks, pack)?
                .max(1),
            None => 1,
        };
        steps.push(step(cells, cell, from, (value, left), per)?);
    }
    for one in &cells.layout.breaks {
        steps.extend(of_column(cells, one, value, (per, pack))?);
    }
    Ok(steps)
}

/// The price of a piece in a row of a confirmation; none where it has no price. `pack` is
/// none where nobody says how many are in one.
pub fn price(cells: &Cells, pack: Option<Qty>) -> Result<Option<Money>, Trouble> {
    if let Some(cell) = cells.field(Field::Currency) {
        cells.same_currency(&cell, cell.text)?;
    }
    let Some(cell) = cells.field(Field::Price) else {
        return Ok(None);
    };
    let value = cells.money(&cell)?;
    let left = match cells.field(Field::Discount) {
        Some(discount) => cells.left(&discount)?,
        None => Decimal::ONE,
    };
    // Only a price of a pack is one of no pieces where the size of the pack is not known.
    let per = match cells.per(pack.unwrap_or(0))? {
        0 => {
            return Err(cell.trouble(
                "is the price of a pack, but nothing says how many pieces are in one",
                "add pack = \"heading\" under [columns] of the recipe, or the pack to the price list",
            ));
        }
        per => per,
    };
    let step = step(cells, &cell, 1, (value, left), per)?;
    Ok(Some(step.price))
}

/// The price of a column of its own; none where its cell is empty.
fn of_column(
    cells: &Cells,
    one: &BreakAt,
    base: Option<Decimal>,
    (per, pack): (Qty, Qty),
) -> Result<Option<Step>, Trouble> {
    let Some(cell) = cells.at(&one.column) else {
        return Ok(None);
    };
    let unit = cells.recipe.counted.breaks;
    let from = match &one.from {
        FromAt::Count(count) => unit.in_pieces(*count, pack),
        FromAt::Column(column) => match cells.at(column) {
            Some(from) => Some(cells.pieces(&from, unit, pack)?),
            None => {
                return Err(cell.trouble(
                    "is a price without its quantity",
                    "correct the recipe or the list",
                ));
            }
        },
    };
    let from = from.ok_or_else(|| {
        cell.trouble(
            "holds from more pieces than a price list has",
            "correct the recipe",
        )
    })?;
    let price = match (one.is_discount, base) {
        (false, _) => (cells.money(&cell)?, Decimal::ONE),
        (true, Some(base)) => (base, cells.left(&cell)?),
        (true, None) => {
            return Err(cell.trouble("is a discount without a price", "correct the list"));
        }
    };
    step(cells, &cell, from.max(1), price, per).map(Some)
}

fn step(
    cells: &Cells,
    cell: &Cell,
    min_qty: Qty,
    (value, left): (Decimal, Decimal),
    per: Qty,
) -> Result<Step, Trouble> {
    let most = Decimal::from(MAX_QTY);
    let is_in_reach = |share: &Share| share.price <= most && !share.price.is_zero();
    let share = share(value, left, per).filter(is_in_reach);
    let Share { price, is_exact } = share.ok_or_else(|| {
        cell.trouble(
            "makes no price of a piece that a price list holds",
            "correct the recipe or the list",
        )
    })?;
    Ok(Step {
        min_qty,
        price: Money(price),
        is_rounded: !is_exact,
        row: cells.row.number,
    })
}
