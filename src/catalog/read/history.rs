//! `history.csv`, which may be absent: the prices that changed, each from its day on.
//! No plan rests on the history, so it is read only to be added to and to be shown.

use crate::catalog::PastPrice;
use crate::diag::{Findings, quote};
use crate::source::Source;
use crate::table::{Col, Row, Table, limits};
use crate::units::Money;

/// The name of the table.
pub const NAME: &str = "history";

/// What stands in place of a price that is gone.
pub const GONE: &str = "gone";

const QUOTED: Col = Col::optional(0, "quoted");
const SUPPLIER: Col = Col::required(1, "supplier");
const SKU: Col = Col::optional(2, "sku");
const PART: Col = Col::required(3, "part");
const MIN_QTY: Col = Col::optional(4, "min_qty");
const UNIT_PRICE: Col = Col::required(5, "unit_price");
const CURRENCY: Col = Col::required(6, "currency");
const NOTE: Col = Col::optional(7, "note");

const COLUMNS: &[Col] = &[
    QUOTED, SUPPLIER, SKU, PART, MIN_QTY, UNIT_PRICE, CURRENCY, NOTE,
];

/// The columns that a row which is written has.
pub const WRITTEN: [&str; 7] = [
    QUOTED.name,
    SUPPLIER.name,
    SKU.name,
    PART.name,
    MIN_QTY.name,
    UNIT_PRICE.name,
    CURRENCY.name,
];

/// The columns that hold numbers.
pub const NUMBERS: &[&str] = &[MIN_QTY.name, UNIT_PRICE.name];

/// All sound rows, in their order. `min_qty` is 1 where it is not given.
pub fn read(source: &Source, findings: &mut Findings) -> Vec<PastPrice> {
    let Some(mut table) = Table::open(source, COLUMNS, findings) else {
        return Vec::new();
    };
    let mut past = Vec::new();
    while let Some(mut row) = table.next(findings) {
        if !row.is_ragged() {
            let one = one(&mut row);
            past.extend(one.filter(|_| row.is_sound()));
        }
    }
    past
}

fn one(row: &mut Row) -> Option<PastPrice> {
    let quoted = row.date(QUOTED);
    let supplier = row.owned(SUPPLIER);
    let sku = row.owned(SKU);
    let part = row.owned(PART);
    let min_qty = row.count(MIN_QTY, &limits::SOME_PIECES);
    let unit_price = unit_price(row);
    let currency = row.currency(CURRENCY);
    row.owned(NOTE);
    Some(PastPrice {
        quoted,
        supplier,
        sku,
        part,
        min_qty: min_qty.unwrap_or(1),
        unit_price: unit_price?,
        currency: currency?,
    })
}

/// The price; nothing inside where the price is gone.
fn unit_price(row: &mut Row) -> Option<Option<Money>> {
    let is_word = |text: &str| !text.is_empty() && !text.contains(|c: char| c.is_ascii_digit());
    match row.peek(UNIT_PRICE) {
        GONE => Some(None),
        text if is_word(text) => {
            let text = row.text(UNIT_PRICE)?;
            let message = format!("{} is no price", quote(text));
            let help = format!("give an amount of money, or {GONE} where the price is gone");
            row.error(UNIT_PRICE, message, help);
            None
        }
        _ => {
            let price = row.number(UNIT_PRICE, &limits::MONEY)?;
            Some(Some(Money(price)))
        }
    }
}
