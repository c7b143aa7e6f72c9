//! From price rows to offers.

use super::price_columns::{LEAD_DAYS, MIN_QTY, PACK, SKU, STOCK, UNIT_PRICE};
use crate::catalog::{Break, Offer, PartId, SupplierId};
use crate::diag::{Diagnostic, Findings, Several, quote};
use crate::units::Qty;
use std::sync::Arc;

/// A row of the price list.
#[derive(Debug)]
pub struct PriceRow {
    pub part: PartId,
    pub supplier: SupplierId,
    pub sku: String,
    pub pack: Qty,
    pub stock: Option<Qty>,
    pub lead_days: Option<u32>,
    pub step: Break,
}

impl PriceRow {
    fn offer(&self) -> (PartId, SupplierId, &str) {
        (self.part, self.supplier, &self.sku)
    }
}

/// Puts the rows of each part, supplier and sku together.
///
/// Pushes an error where two rows of an offer have the same least quantity, or
/// do not agree in pack, stock or lead time; a warning where more pieces cost
/// more apiece, or where some rows of a part and supplier name a sku and some do not.
pub fn group(mut rows: Vec<PriceRow>, file: &Arc<str>, findings: &mut Findings) -> Vec<Offer> {
    rows.sort_by(|a, b| {
        let by_step = |r: &PriceRow| (r.step.min_qty, r.step.row.line);
        (a.offer(), by_step(a)).cmp(&(b.offer(), by_step(b)))
    });
    let mut rising = Several::new("price breaks that go up");
    let mut offers: Vec<Offer> = Vec::new();
    for chunk in rows.chunk_by(|a, b| a.offer() == b.offer()) {
        agree(chunk, findings);
        for (a, b) in chunk.iter().zip(chunk.iter().skip(1)) {
            steps(&a.step, &b.step, file, &mut rising, findings);
        }
    }
    rising.finish(findings);
    half_named(&rows, findings);
    for row in rows {
        match offers.last_mut() {
            Some(offer) if (offer.part, offer.supplier, &*offer.sku) == row.offer() => {
                offer.breaks.push(row.step);
            }
            _ => offers.push(Offer {
                part: row.part,
                supplier: row.supplier,
                sku: row.sku,
                pack: row.pack,
                stock: row.stock,
                lead_days: row.lead_days,
                breaks: vec![row.step],
            }),
        }
    }
    offers
}

/// Rows of a part and supplier where some name a sku and some do not: they count as
/// several offers, which may not be meant.
fn half_named(rows: &[PriceRow], findings: &mut Findings) {
    let mut several = Several::new("offers with a sku on some rows and none on others");
    for chunk in rows.chunk_by(|a, b| (a.part, a.supplier) == (b.part, b.supplier)) {
        // The empty one comes first.
        let (Some(first), Some(named)) = (chunk.first(), chunk.iter().find(|r| !r.sku.is_empty()))
        else {
            continue;
        };
        if first.sku.is_empty() {
            several.push(|| {
                let message = format!(
                    "there is no sku here, but {} has sku {}: they count as several offers",
                    named.step.row,
                    quote(&named.sku)
                );
                Diagnostic::warning(&first.step.row.file, message)
                    .line(first.step.row.line)
                    .column(SKU.name)
                    .help("give all rows of one offer the same sku")
            });
        }
    }
    several.finish(findings);
}

/// Compares two price breaks that are neighbours by least quantity.
fn steps(a: &Break, b: &Break, file: &Arc<str>, rising: &mut Several, findings: &mut Findings) {
    if a.min_qty == b.min_qty {
        let message = format!(
            "price breaks contradict each other: min_qty {} is there already",
            b.min_qty
        );
        findings.push(
            Diagnostic::error(file, message)
                .line(b.row.line)
                .column(MIN_QTY.name)
                .help(format!("take out this row or {}, or correct one", a.row)),
        );
    } else if b.unit_price > a.unit_price {
        rising.push(|| {
            let message = format!(
                "from {} pieces on, the price goes up from {} to {}",
                b.min_qty, a.unit_price, b.unit_price
            );
            Diagnostic::warning(file, message)
                .line(b.row.line)
                .column(UNIT_PRICE.name)
                .help(format!("compare with {}", a.row))
        });
    }
}

/// Makes sure that all rows of an offer agree in pack, stock and lead time.
fn agree(rows: &[PriceRow], findings: &mut Findings) {
    let Some(first) = rows.iter().min_by_key(|r| r.step.row.line) else {
        return;
    };
    let text = |n: Option<Qty>| n.map_or("none".to_owned(), |n| n.to_string());
    for row in rows {
        let lead = |r: &PriceRow| r.lead_days.map(Qty::from);
        let pairs = [
            (PACK, Some(row.pack), Some(first.pack)),
            (STOCK, row.stock, first.stock),
            (LEAD_DAYS, lead(row), lead(first)),
        ];
        for (col, here, there) in pairs {
            if here != there {
                let message = format!(
                    "{} {} differs from {} in {}, which is the same offer",
                    col.name,
                    text(here),
                    text(there),
                    first.step.row
                );
                findings.push(
                    Diagnostic::error(&row.step.row.file, message)
                        .line(row.step.row.line)
                        .column(col.name)
                        .help(format!(
                            "give the same {} on all rows of the offer",
                            col.name
                        )),
                );
            }
        }
    }
}
