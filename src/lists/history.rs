//! What a list that is taken adds to the history of prices.

use crate::catalog::read::history::{GONE, NUMBERS, WRITTEN};
use crate::catalog::{Break, Catalog, Offer, PartId, PastPrice, SupplierId};
use crate::table::{EditError, EditedTable};
use crate::units::{Money, Qty};
use jiff::civil::Date;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Which price it is: part, sku, least quantity.
type Place<'c> = (PartId, &'c str, Qty);

/// The prices of a supplier.
type Prices<'c> = BTreeMap<Place<'c>, &'c Break>;

/// The rows to be added where a list makes one price list of another: every price of the
/// supplier that changes, is new or is gone. `past` is the history so far, and `dated` the
/// day of the list.
///
/// A price that the history does not have yet stands there before its first change as well.
/// What the history has last already is not added once more.
pub fn added(
    (old, new): (&Catalog, &Catalog),
    supplier: SupplierId,
    dated: Option<Date>,
    past: &[PastPrice],
) -> Vec<PastPrice> {
    let of = old.supplier(supplier);
    let last: HashMap<_, &PastPrice> = (past.iter())
        .filter(|one| one.supplier == of.name)
        .map(|one| (one.of(), one))
        .collect();
    let (was, is) = (prices(old, supplier), prices(new, supplier));
    let days = days(new, supplier);
    let places: BTreeSet<&Place> = was.keys().chain(is.keys()).collect();
    let mut added = Vec::new();
    for place in places {
        let (part, sku, min_qty) = *place;
        let price = |quoted: Option<Date>, unit_price: Option<Money>| PastPrice {
            quoted,
            supplier: of.name.clone(),
            sku: sku.to_owned(),
            part: old.part(part).code.clone(),
            min_qty,
            unit_price,
            currency: of.currency.clone(),
        };
        let before = was.get(place).map(|b| price(b.quoted, Some(b.unit_price)));
        let after = match is.get(place) {
            Some(b) => price(b.quoted, Some(b.unit_price)),
            None => price(days.get(&(part, sku)).copied().or(dated), None),
        };
        let has_changed = before.as_ref().and_then(|b| b.unit_price) != after.unit_price;
        let last = last.get(&after.of()).copied();
        if !has_changed || last == Some(&after) {
            continue;
        }
        let is_told = |before: &PastPrice| {
            last.is_some_and(|last| {
                (last.unit_price, &last.currency) == (before.unit_price, &before.currency)
            })
        };
        added.extend(before.filter(|before| !is_told(before)));
        added.push(after);
    }
    added
}

fn own(catalog: &Catalog, supplier: SupplierId) -> impl Iterator<Item = &Offer> {
    let offers = catalog.offers.iter();
    offers.filter(move |offer| offer.supplier == supplier)
}

fn prices(catalog: &Catalog, supplier: SupplierId) -> Prices<'_> {
    own(catalog, supplier)
        .flat_map(|offer| {
            let place = move |b: &Break| (offer.part, offer.sku.as_str(), b.min_qty);
            offer.breaks.iter().map(move |b| (place(b), b))
        })
        .collect()
}

/// The day of each offer that goes on, which is also the day of a break that is gone from
/// the offer.
fn days(catalog: &Catalog, supplier: SupplierId) -> BTreeMap<(PartId, &str), Date> {
    own(catalog, supplier)
        .filter_map(|offer| {
            let day = offer.breaks.iter().filter_map(|b| b.quoted).max()?;
            Some(((offer.part, offer.sku.as_str()), day))
        })
        .collect()
}

/// The text of a history with more rows at its end; a new one where there is none yet.
///
/// # Errors
/// [`EditError`] where the text can't be added to.
pub fn append(text: Option<&str>, rows: &[PastPrice]) -> Result<String, EditError> {
    let mut table = match text {
        Some(text) => EditedTable::open(text, NUMBERS)?,
        None => EditedTable::create(&WRITTEN, NUMBERS)?,
    };
    for row in rows {
        let day = row.quoted.map(|day| day.to_string()).unwrap_or_default();
        let price = row
            .unit_price
            .map_or_else(|| GONE.to_owned(), |price| price.to_string());
        let least = row.min_qty.to_string();
        let cells = [
            &*day,
            &row.supplier,
            &row.sku,
            &row.part,
            &least,
            &price,
            &row.currency.0,
        ];
        let named: Vec<(&str, &str)> = WRITTEN.into_iter().zip(cells).collect();
        table.add(&named)?;
    }
    Ok(table.text())
}
