//! `suppliers.csv`.

use crate::catalog::Supplier;
use crate::diag::Findings;
use crate::source::Source;
use crate::table::{Codes, Col, Row, Table, limits};
use crate::units::{Money, Percent};

pub const SUPPLIER: Col = Col::required(0, "supplier");
const CURRENCY: Col = Col::required(1, "currency");
const SHIPPING: Col = Col::optional(2, "shipping");
const FREE_OVER: Col = Col::optional(3, "free_over");
const MIN_ORDER: Col = Col::optional(4, "min_order");
const DUTY_PERCENT: Col = Col::optional(5, "duty_percent");
const NOTE: Col = Col::optional(6, "note");

const COLUMNS: &[Col] = &[
    SUPPLIER,
    CURRENCY,
    SHIPPING,
    FREE_OVER,
    MIN_ORDER,
    DUTY_PERCENT,
    NOTE,
];

/// All sound rows, by name. Shipping and duty are nothing where they are not given.
pub fn read(source: Option<&Source>, codes: &mut Codes, findings: &mut Findings) -> Vec<Supplier> {
    let mut table = source.and_then(|s| Table::open(s, COLUMNS, findings));
    let mut suppliers = Vec::new();
    while let Some(mut row) = table.as_mut().and_then(|t| t.next(findings)) {
        let name = codes.claim(&mut row, SUPPLIER);
        if !row.is_ragged() {
            let supplier = supplier(&mut row, name);
            suppliers.extend(supplier.filter(|_| row.is_sound()));
        }
    }
    codes.read_from(table.as_ref(), SUPPLIER);
    suppliers.sort_by(|a, b| a.name.cmp(&b.name));
    suppliers
}

fn supplier(row: &mut Row, name: Option<&str>) -> Option<Supplier> {
    let currency = row.currency(CURRENCY);
    let shipping = row.number(SHIPPING, &limits::MONEY).map(Money);
    let free_over = row.number(FREE_OVER, &limits::MONEY).map(Money);
    let min_order = row.number(MIN_ORDER, &limits::MONEY).map(Money);
    let duty_percent = row.number(DUTY_PERCENT, &limits::PERCENT);
    Some(Supplier {
        name: name?.to_owned(),
        currency: currency?,
        shipping: shipping.unwrap_or(Money::ZERO),
        free_over,
        min_order,
        duty_percent: Percent(duty_percent.unwrap_or_default()),
        note: row.owned(NOTE),
        row: row.place(),
    })
}
