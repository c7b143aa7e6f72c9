//! The columns of `prices.csv`.

use crate::table::Col;

pub const PART: Col = Col::required(0, "part");
pub const SUPPLIER: Col = Col::required(1, "supplier");
pub const SKU: Col = Col::optional(2, "sku");
pub const CURRENCY: Col = Col::optional(3, "currency");
pub const MIN_QTY: Col = Col::optional(4, "min_qty");
pub const UNIT_PRICE: Col = Col::required(5, "unit_price");
pub const PACK: Col = Col::optional(6, "pack");
pub const STOCK: Col = Col::optional(7, "stock");
pub const LEAD_DAYS: Col = Col::optional(8, "lead_days");
pub const QUOTED: Col = Col::optional(9, "quoted");
pub const NOTE: Col = Col::optional(10, "note");

pub const COLUMNS: &[Col] = &[
    PART, SUPPLIER, SKU, CURRENCY, MIN_QTY, UNIT_PRICE, PACK, STOCK, LEAD_DAYS, QUOTED, NOTE,
];
