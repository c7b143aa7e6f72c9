//! Reads a list by its recipe, or proposes one.

use super::noted::{Noted, text_of};
use super::shelf::{Draft, Outcome, ReadList, Shelf};
use crate::catalog::{Catalog, Offer, PartId, SupplierId};
use crate::desk::open::supplier as named;
use crate::diag::Findings;
use crate::lists::change::{
    Offered, Reading, apply, compare, jumps, matches, of_ours, offered, older, told,
};
use crate::lists::matching::{Likeness, matched};
use crate::lists::propose::propose;
use crate::lists::read::{self, Hints, List};
use crate::lists::recipe::{self, Field, Purpose, Recipe};
use crate::lists::rows::{Layout, articles};
use crate::source;
use crate::study::failure::Failure;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::sync::Arc;

impl Shelf {
    /// Reads the list; nothing is written.
    ///
    /// # Errors
    /// [`Failure`] with all that is wrong with the catalog, the recipe or the list.
    pub fn read(&self) -> Result<Outcome, Failure> {
        let catalog = self.place.read(&self.files)?;
        let supplier = named(&catalog, &self.asked.supplier)?;
        match self.recipe()? {
            Some(recipe) => {
                let read = self.by_recipe(&recipe, &catalog, supplier)?;
                Ok(Outcome::Read(Box::new(read)))
            }
            None => {
                let draft = self.proposed(&catalog, supplier)?;
                Ok(Outcome::Proposed(Box::new(draft)))
            }
        }
    }

    /// The supplier's recipe, if there is one.
    fn recipe(&self) -> Result<Option<Recipe>, Failure> {
        let (path, supplier) = (self.recipe_path(), &self.asked.supplier);
        recipe::open(&self.files, &path, supplier, Purpose::Prices).map_err(Failure::Input)
    }

    /// The list, with warnings.
    fn list(&self, hints: &Hints) -> Result<(List, Findings), Failure> {
        let mut findings = Findings::default();
        let list = read::open(&self.files, &self.asked.list, hints, &mut findings);
        match list {
            Some(list) => Ok((list, findings)),
            None => Err(Failure::Input(findings)),
        }
    }

    fn proposed(&self, catalog: &Catalog, supplier: SupplierId) -> Result<Draft, Failure> {
        let (list, _) = self.list(&Hints::default())?;
        let path = self.recipe_path();
        let file = source::shown(&path);
        let mut proposed = propose(&list, catalog, supplier, file, Purpose::Prices)
            .map_err(|error| Failure::from(*error))?;
        let currency = &catalog.supplier(supplier).currency;
        let read = |recipe: &Recipe, findings: &mut Findings| {
            let layout = Layout::of(&list, recipe, self.asked.dated, findings)?;
            Some(articles(&list, &layout, recipe, currency).0)
        };
        let mut findings = Findings::default();
        let mut articles = read(&proposed.recipe, &mut findings).unwrap_or_default();
        if proposed.scale(&articles, catalog, supplier) {
            articles = read(&proposed.recipe, &mut findings).unwrap_or_default();
        }
        let matched = matched(
            &articles,
            &proposed.recipe,
            catalog,
            supplier,
            &mut findings,
        );
        proposed.complete(&matched, catalog, supplier);
        let matches = matches(&articles, &matched, &Likeness::of(catalog, supplier));
        Ok(Draft {
            text: recipe::text(&proposed.recipe, &proposed.remarks, &matches),
            matched: articles.len() - matched.unmatched.len(),
            path,
            recipe: proposed.recipe,
            remarks: proposed.remarks,
            articles,
            findings,
        })
    }

    fn by_recipe(
        &self,
        recipe: &Recipe,
        catalog: &Catalog,
        supplier: SupplierId,
    ) -> Result<ReadList, Failure> {
        let (list, mut findings) = self.list(&recipe.hints)?;
        let of = catalog.supplier(supplier);
        findings.extend(recipe.wrong_currency(of));
        let layout = Layout::of(&list, recipe, self.asked.dated, &mut findings);
        let layout = layout.filter(|_| !findings.has_errors());
        let layout = layout.ok_or_else(|| Failure::Input(findings.clone()))?;
        let (articles, homeless) = articles(&list, &layout, recipe, &of.currency);
        let matched = matched(&articles, recipe, catalog, supplier, &mut findings);
        let (offers, twice) = offered(&articles, &matched, recipe, catalog, supplier);
        let page = list.pages.get(layout.page).map(|page| page.file.clone());
        let page = page.unwrap_or_else(|| list.file.clone());
        for trouble in of_ours(&articles, &matched).chain(&twice) {
            findings.push(told(trouble, &page));
        }
        if findings.has_errors() {
            findings.merge_repeated();
            return Err(Failure::Input(findings));
        }
        findings.extend(jumps(&offers, catalog, recipe, (&page, &of.currency)));
        let listed = offers.iter().filter_map(|offer| offer.terms.quoted);
        let day = layout.dated.or(listed.max());
        let newest = self.newest(catalog, supplier);
        if let Some(warning) = day.and_then(|day| older(day, newest, &page)) {
            findings.push(warning);
        }
        let (changes, edits) = compare(&offers, catalog, supplier, recipe.complete);
        let old = text_of(&self.files, &self.prices)?;
        let text = apply(&old, &edits, &of.name, &of.currency.0).map_err(|error| {
            Failure::read(
                format!("{} cannot be changed: {error}", source::shown(&self.prices)),
                "correct the file",
            )
        })?;
        let new = self.check(&text, catalog, (supplier, recipe.complete), &offers)?;
        let noted = self.noted((catalog, &new), supplier, layout.dated)?;
        let reading = Reading {
            articles: &articles,
            matched: &matched,
            offers: &offers,
            homeless: &homeless,
        };
        let mut taken = reading.taken(catalog, supplier, changes);
        let own = new.offers.iter().filter(|offer| offer.supplier == supplier);
        taken.rows_after = own.map(|offer| offer.breaks.len()).sum();
        taken.list = list.file.to_string();
        taken.dated = layout.dated.map(|day| day.to_string());
        taken.has_day_column = recipe.columns.contains_key(&Field::Date);
        taken.recipe = recipe.file.to_string();
        taken.prices = source::shown(&self.prices).to_string();
        taken.out = source::shown(self.out()).to_string();
        taken.would_change = self.would_change(&text, &old);
        if let Some(noted) = &noted {
            taken.history = source::shown(&noted.path).to_string();
            taken.history_rows = noted.rows;
        }
        Ok(ReadList {
            catalog: catalog.clone(),
            taken,
            text,
            path: self.out().to_owned(),
            noted,
            warnings: findings,
        })
    }

    /// The newest day of a price that we have of a supplier. A price that did not change is in
    /// no history, so the price list counts as well.
    fn newest(&self, catalog: &Catalog, supplier: SupplierId) -> Option<Date> {
        let name = &catalog.supplier(supplier).name;
        // What is wrong with a history is told where it is added to.
        let past = self.place.past(&self.files).ok().flatten();
        let past = past.unwrap_or_default();
        let past = past.iter().filter(|one| one.supplier == *name);
        let past = past.filter_map(|one| one.quoted);
        let own = catalog.offers.iter();
        let own = own.filter(|offer| offer.supplier == supplier);
        let own = own.flat_map(|offer| &offer.breaks);
        past.chain(own.filter_map(|b| b.quoted)).max()
    }

    /// The history with what the list adds; none where the price list goes elsewhere, since
    /// that list is not in use yet.
    fn noted(
        &self,
        catalogs: (&Catalog, &Catalog),
        supplier: SupplierId,
        dated: Option<Date>,
    ) -> Result<Option<Noted>, Failure> {
        match self.asked.out {
            Some(_) => Ok(None),
            None => Noted::of(&self.files, &self.place, catalogs, (supplier, dated)),
        }
    }

    /// True if the file that is written is not as it is now.
    fn would_change(&self, text: &str, old: &str) -> bool {
        match &self.asked.out {
            None => text != old,
            Some(out) => {
                self.files.bytes(out, source::MAX_BYTES).ok().as_deref() != Some(text.as_bytes())
            }
        }
    }

    /// Reads the new price list again: it has to hold the offers of the list, and all
    /// others as they were.
    fn check(
        &self,
        text: &str,
        old: &Catalog,
        (supplier, complete): (SupplierId, bool),
        offers: &[Offered],
    ) -> Result<Catalog, Failure> {
        let mut files = self.files.clone();
        files.lay(&self.prices, text);
        let new = self.place.read(&files)?;
        let plain = |offer: &Offer| {
            let mut offer = offer.clone();
            let row = crate::diag::Row {
                file: Arc::from(""),
                line: 0,
            };
            offer.breaks.iter_mut().for_each(|b| b.row = row.clone());
            offer
        };
        let others = |catalog: &Catalog| -> Vec<Offer> {
            let others = catalog
                .offers
                .iter()
                .filter(|offer| offer.supplier != supplier);
            others.map(plain).collect()
        };
        let own = |offer: &&Offer| offer.supplier == supplier;
        let by_name: BTreeMap<(PartId, &str), &Offer> = (new.offers.iter().filter(own))
            .map(|offer| ((offer.part, offer.sku.as_str()), offer))
            .collect();
        let is_there = |offered: &Offered| {
            let offer = by_name.get(&(offered.part, offered.sku.as_str()));
            offer.is_some_and(|offer| holds(offer, offered))
        };
        let is_sound = others(old) == others(&new)
            && (!complete || by_name.len() == offers.len())
            && offers.iter().all(is_there);
        match is_sound {
            true => Ok(new),
            false => Err(Failure::Defect(vec![
                "the changed price list does not hold what the list says".to_owned(),
            ])),
        }
    }
}

/// True if an offer of the price list is that of the list.
fn holds(offer: &Offer, offered: &Offered) -> bool {
    let terms = &offered.terms;
    let breaks = offer.breaks.iter().map(|b| (b.min_qty, b.unit_price));
    (offer.pack, offer.stock, offer.lead_days) == (terms.pack, terms.stock, terms.lead_days)
        && breaks.eq(terms.steps.iter().map(|step| (step.min_qty, step.price)))
}
