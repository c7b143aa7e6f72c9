//! Holds the offers of a list against those of the price list.

use super::edits::Edit;
use super::form::{BreakChange, Changes, GoneOffer, NewOffer, PriceChange, TermChange};
use super::offers::Offered;
use crate::catalog::{Break, Catalog, Offer, OfferId, PartId, SupplierId};
use crate::lists::rows::Step;
use crate::units::Money;
use jiff::civil::Date;
use rust_decimal::Decimal;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// What changes, and the edits that make it so. `complete` says that what is not in the list
/// is no longer sold.
pub fn compare(
    offered: &[Offered],
    catalog: &Catalog,
    supplier: SupplierId,
    complete: bool,
) -> (Changes, Vec<Edit>) {
    let mut out = Comparing {
        catalog,
        changes: Changes::default(),
        edits: Vec::new(),
    };
    let mut goes_on: BTreeSet<OfferId> = BTreeSet::new();
    let mut listed: BTreeSet<PartId> = BTreeSet::new();
    for new in offered {
        listed.insert(new.part);
        match new.origin.old {
            Some(old) => {
                goes_on.insert(old);
                out.goes_on(new, catalog.offer(old));
            }
            None => out.is_new(new),
        }
    }
    if complete {
        let ids = (0u32..).map(OfferId).zip(&catalog.offers);
        let own = ids.filter(|(id, offer)| offer.supplier == supplier && !goes_on.contains(id));
        let mut lost: BTreeSet<PartId> = BTreeSet::new();
        for (_, offer) in own {
            out.is_gone(offer);
            if !listed.contains(&offer.part) && lost.insert(offer.part) {
                let code = out.code(offer.part);
                out.changes.no_longer_sold.push(code);
            }
        }
    }
    out.sort();
    (out.changes, out.edits)
}

struct Comparing<'c> {
    catalog: &'c Catalog,
    changes: Changes,
    edits: Vec<Edit>,
}

impl Comparing<'_> {
    fn code(&self, part: PartId) -> String {
        self.catalog.part(part).code.clone()
    }

    fn is_new(&mut self, new: &Offered) {
        let Some(first) = new.terms.steps.first() else {
            return;
        };
        let perhaps = new.origin.perhaps.iter();
        let perhaps = perhaps.map(|old| self.catalog.offer(*old));
        self.changes.new.push(NewOffer {
            part: self.code(new.part),
            sku: new.sku.clone(),
            min_qty: first.min_qty,
            unit_price: first.price,
            breaks: new.terms.steps.len(),
            may_replace: perhaps.map(|old| old.sku.clone()).collect(),
            row: new.row,
        });
        let rows = self
            .catalog
            .offers_of(new.part)
            .flat_map(|(_, offer)| &offer.breaks);
        let after = rows.map(|b| b.row.line).max();
        for step in &new.terms.steps {
            self.add(new, step, after);
        }
    }

    fn is_gone(&mut self, old: &Offer) {
        let lines: Vec<u64> = old.breaks.iter().map(|b| b.row.line).collect();
        if let Some(first) = old.breaks.first() {
            self.changes.gone.push(GoneOffer {
                part: self.code(old.part),
                sku: old.sku.clone(),
                unit_price: first.unit_price,
                row: lines.iter().copied().min().unwrap_or(0),
            });
        }
        self.edits.extend(lines.into_iter().map(Edit::Remove));
    }

    fn goes_on(&mut self, new: &Offered, old: &Offer) {
        self.terms(new, old);
        self.prices(new, old);
        let rows = rows(&new.terms.steps, &old.breaks);
        let last = old.breaks.iter().map(|b| b.row.line).max();
        for pair in rows {
            match pair {
                (Some(step), Some(was)) => self.set(new, old, step, was),
                (Some(step), None) => self.add(new, step, last),
                (None, Some(was)) => self.edits.push(Edit::Remove(was.row.line)),
                (None, None) => {}
            }
        }
    }

    fn terms(&mut self, new: &Offered, old: &Offer) {
        let say = |n: Option<u64>| n.map_or("none".to_owned(), |n| n.to_string());
        let terms = &new.terms;
        let days = |days: Option<u32>| days.map(u64::from);
        let all = [
            ("pack", Some(old.pack), Some(terms.pack)),
            ("stock", old.stock, terms.stock),
            ("lead time", days(old.lead_days), days(terms.lead_days)),
        ];
        let mut what: Vec<String> = (all.into_iter())
            .filter(|(_, was, is)| was != is)
            .map(|(name, was, is)| format!("{name} {} to {}", say(was), say(is)))
            .collect();
        match (old.sku == new.sku, old.sku.is_empty()) {
            (true, _) => {}
            (false, true) => what.push("article number added".to_owned()),
            (false, false) => what.push(format!("number changed {} → {}", old.sku, new.sku)),
        }
        if !what.is_empty() {
            let part = self.code(new.part);
            self.changes.terms.push(TermChange {
                part,
                sku: new.sku.clone(),
                what,
                row: new.row,
            });
        }
    }

    fn prices(&mut self, new: &Offered, old: &Offer) {
        let part = self.code(new.part);
        let sku = &new.sku;
        let mut all: BTreeMap<u64, (Option<Money>, Option<Money>, u64)> = BTreeMap::new();
        for was in &old.breaks {
            all.insert(was.min_qty, (Some(was.unit_price), None, new.row));
        }
        for step in &new.terms.steps {
            let entry = all.entry(step.min_qty).or_default();
            (entry.1, entry.2) = (Some(step.price), step.row);
        }
        for (min_qty, (before, after, row)) in all {
            match (before, after) {
                (Some(before), Some(after)) if before == after => {}
                (Some(before), Some(after)) => self.changes.prices.push(PriceChange {
                    part: part.clone(),
                    sku: sku.clone(),
                    min_qty,
                    before,
                    after,
                    percent: percent(before, after),
                    row,
                }),
                _ => self.changes.breaks.push(BreakChange {
                    part: part.clone(),
                    sku: sku.clone(),
                    min_qty,
                    before,
                    after,
                    row,
                }),
            }
        }
    }

    /// Writes what differs into the row of an old break.
    fn set(&mut self, new: &Offered, old: &Offer, step: &Step, was: &Break) {
        let terms = &new.terms;
        let mut cells = Vec::new();
        let mut put = |differs: bool, column, value: String| {
            if differs {
                cells.push((column, value));
            }
        };
        put(old.sku != new.sku, "sku", new.sku.clone());
        put(
            step.min_qty != was.min_qty,
            "min_qty",
            step.min_qty.to_string(),
        );
        put(
            step.price != was.unit_price,
            "unit_price",
            step.price.to_string(),
        );
        put(terms.pack != old.pack, "pack", pack(terms.pack));
        put(terms.stock != old.stock, "stock", shown(terms.stock));
        put(
            terms.lead_days != old.lead_days,
            "lead_days",
            shown(terms.lead_days),
        );
        // An old day would be wrong beside a new price; beside the old price it stays right.
        let quoted = match (terms.quoted, step.price == was.unit_price) {
            (None, true) => was.quoted,
            (quoted, _) => quoted,
        };
        put(quoted != was.quoted, "quoted", day(quoted));
        if !cells.is_empty() {
            self.edits.push(Edit::Set(was.row.line, cells));
        }
    }

    fn add(&mut self, new: &Offered, step: &Step, after: Option<u64>) {
        let terms = &new.terms;
        let cells = vec![
            ("part", self.code(new.part)),
            ("sku", new.sku.clone()),
            ("min_qty", step.min_qty.to_string()),
            ("unit_price", step.price.to_string()),
            ("pack", pack(terms.pack)),
            ("stock", shown(terms.stock)),
            ("lead_days", shown(terms.lead_days)),
            ("quoted", day(terms.quoted)),
        ];
        self.edits.push(Edit::Add(after, cells));
    }

    fn sort(&mut self) {
        let size = |change: &PriceChange| change.percent.map(|p| p.abs());
        self.changes.prices.sort_by(|a, b| {
            let by_part = |c: &PriceChange| (c.part.clone(), c.sku.clone(), c.min_qty);
            (Reverse(size(a)), by_part(a)).cmp(&(Reverse(size(b)), by_part(b)))
        });
        self.changes
            .breaks
            .sort_by(|a, b| (&a.part, &a.sku, a.min_qty).cmp(&(&b.part, &b.sku, b.min_qty)));
        self.changes
            .terms
            .sort_by(|a, b| (&a.part, &a.sku).cmp(&(&b.part, &b.sku)));
        self.changes
            .new
            .sort_by(|a, b| (&a.part, &a.sku).cmp(&(&b.part, &b.sku)));
    }
}

/// Each new break with the row that it goes into: where both have the same quantities, by
/// quantity, else in order.
fn rows<'s, 'b>(steps: &'s [Step], old: &'b [Break]) -> Vec<(Option<&'s Step>, Option<&'b Break>)> {
    let is_same = steps
        .iter()
        .map(|s| s.min_qty)
        .eq(old.iter().map(|b| b.min_qty));
    let mut rows: Vec<&Break> = old.iter().collect();
    if !is_same {
        rows.sort_by_key(|b| b.row.line);
    }
    let count = steps.len().max(rows.len());
    (0..count)
        .map(|at| (steps.get(at), rows.get(at).copied()))
        .collect()
}

fn pack(pack: u64) -> String {
    if pack == 1 {
        String::new()
    } else {
        pack.to_string()
    }
}

fn shown(value: Option<impl ToString>) -> String {
    value.map(|v| v.to_string()).unwrap_or_default()
}

fn day(day: Option<Date>) -> String {
    shown(day)
}

/// How much more or less, in percent with one decimal.
fn percent(before: Money, after: Money) -> Option<Decimal> {
    let share = (after - before).0.checked_mul(Decimal::ONE_HUNDRED)?;
    let mut share = share.checked_div(before.0)?.round_dp(1);
    share.rescale(1);
    Some(share)
}
