//! Reads a supplier's file by its recipe, or proposes one; or reads our own order.

use super::{Draft, Outcome};
use crate::book;
use crate::catalog::{Catalog, SupplierId};
use crate::desk::Desk;
use crate::desk::open::supplier as named;
use crate::diag::{Findings, joined, quote};
use crate::input::Input;
use crate::lists::change::{proposed_parts, told};
use crate::lists::matching::{Likeness, Named, Proposal, Telling};
use crate::lists::own;
use crate::lists::propose::propose;
use crate::lists::read::{self, Hints, List};
use crate::lists::recipe::{self, Field, Purpose, Recipe};
use crate::lists::rows::{self, Layout};
use crate::source;
use crate::study::failure::Failure;
use crate::study::letter::{Day, Letter, Line};
use crate::units::Qty;
use std::path::{Path, PathBuf};

impl Desk {
    /// Reads what a supplier sent: our own order as it is, any other file by the supplier's
    /// recipe. Without a name, it is from the only supplier that has an order.
    ///
    /// # Errors
    /// [`Failure`] with all that is wrong with the project, the recipe or the file.
    pub fn letter(
        &self,
        file: &Path,
        supplier: Option<&str>,
        purpose: Purpose,
    ) -> Result<Outcome, Failure> {
        if let Some(own) = self.own_letter(file, supplier)? {
            return Ok(Outcome::Read(Box::new(own)));
        }
        let input = self.sound()?;
        let supplier = match supplier {
            Some(name) => named(&input.catalog, name)?,
            None => only(input)?,
        };
        let path = self.recipe_path(input, supplier, purpose);
        let name = &input.catalog.supplier(supplier).name;
        let recipe = recipe::open(self.files(), &path, name, purpose);
        match recipe.map_err(Failure::Input)? {
            Some(recipe) => {
                let letter = self.by_recipe(input, file, &recipe, supplier)?;
                Ok(Outcome::Read(Box::new(letter)))
            }
            None => {
                let draft = self.proposed(input, file, supplier, path, purpose)?;
                Ok(Outcome::Proposed(Box::new(draft)))
            }
        }
    }

    /// Our own order as a letter, from one supplier where one is named; none where the file
    /// is another.
    ///
    /// # Errors
    /// [`Failure::Input`] with all that is wrong with the file.
    pub fn own_letter(
        &self,
        file: &Path,
        supplier: Option<&str>,
    ) -> Result<Option<Letter>, Failure> {
        let mut findings = Findings::default();
        // What can't be read here is read once more, by the recipe.
        let list = read::open(self.files(), file, &Hints::default(), &mut findings);
        let Some(page) = list.as_ref().and_then(own::page) else {
            return Ok(None);
        };
        let catalog = &self.sound()?.catalog;
        let only = supplier.map(|name| named(catalog, name)).transpose()?;
        let mut lines = own::lines(page, catalog, &mut findings);
        if findings.has_errors() {
            findings.merge_repeated();
            return Err(Failure::Input(findings));
        }
        lines.retain(|line| only.is_none_or(|only| line.supplier == only));
        let mut suppliers: Vec<SupplierId> = lines.iter().map(|line| line.supplier).collect();
        suppliers.extend(only);
        suppliers.sort();
        suppliers.dedup();
        Ok(Some(Letter {
            file: page.file.clone(),
            suppliers,
            recipe: None,
            lines: lines
                .into_iter()
                .map(|line| of_own(line, catalog))
                .collect(),
            has_prices: true,
            has_days: false,
            warnings: findings,
        }))
    }

    /// Where the supplier's recipe is kept: in the catalog folder, or beside the workbook
    /// that is the catalog.
    fn recipe_path(&self, input: &Input, supplier: SupplierId, purpose: Purpose) -> PathBuf {
        let catalog = self.folder().join(&input.settings.catalog);
        let folder = match book::is_book(self.files(), &catalog) {
            true => catalog.parent().unwrap_or(self.folder()).to_owned(),
            false => catalog,
        };
        let name = &input.catalog.supplier(supplier).name;
        folder.join(recipe::file_name(name, purpose))
    }

    /// The file, with warnings.
    fn rows_of(&self, file: &Path, hints: &Hints) -> Result<(List, Findings), Failure> {
        let mut findings = Findings::default();
        let list = read::open(self.files(), file, hints, &mut findings);
        match list {
            Some(list) => Ok((list, findings)),
            None => Err(Failure::Input(findings)),
        }
    }

    fn proposed(
        &self,
        input: &Input,
        file: &Path,
        supplier: SupplierId,
        path: PathBuf,
        purpose: Purpose,
    ) -> Result<Draft, Failure> {
        let (list, _) = self.rows_of(file, &Hints::default())?;
        let shown = source::shown(&path);
        let proposed = propose(&list, &input.catalog, supplier, shown, purpose);
        let proposed = proposed.map_err(|error| Failure::from(*error))?;
        let mut findings = Findings::default();
        let reading = Reading::of(input, &proposed.recipe, supplier, &mut findings);
        let layout = Layout::of(&list, &proposed.recipe, None, &mut findings);
        let lines = layout.map(|layout| reading.lines(&list, &layout));
        let lines = lines.unwrap_or_default();
        let is_ours = |line: &&rows::Line| reading.telling.parts(&line.number, &line.own).is_some();
        let unknown = lines.iter().filter(|line| !is_ours(line));
        let matches = proposed_parts(unknown.map(Named::from), &reading.likeness);
        Ok(Draft {
            text: recipe::text(&proposed.recipe, &proposed.remarks, &matches),
            matched: lines.iter().filter(is_ours).count(),
            path,
            remarks: proposed.remarks,
            lines,
            findings,
            recipe: proposed.recipe.clone(),
        })
    }

    fn by_recipe(
        &self,
        input: &Input,
        file: &Path,
        recipe: &Recipe,
        supplier: SupplierId,
    ) -> Result<Letter, Failure> {
        let (list, mut findings) = self.rows_of(file, &recipe.hints)?;
        findings.extend(recipe.wrong_currency(input.catalog.supplier(supplier)));
        let reading = Reading::of(input, recipe, supplier, &mut findings);
        let layout = Layout::of(&list, recipe, None, &mut findings);
        let layout = layout.filter(|_| !findings.has_errors());
        let layout = layout.ok_or_else(|| Failure::Input(findings.clone()))?;
        let page = list.pages.get(layout.page).map(|page| page.file.clone());
        let page = page.unwrap_or_else(|| list.file.clone());
        let lines = reading.lines(&list, &layout).into_iter();
        let lines = lines.map(|line| Line {
            row: line.row,
            supplier,
            article: line.article().to_owned(),
            parts: reading.telling.parts(&line.number, &line.own),
            proposals: reading.proposals(&line),
            number: line.number,
            description: line.description,
            pieces: line.pieces,
            price: line.price,
            day: line.day.map(Day::On).or(line.lead_days.map(Day::After)),
            wrong: line.troubles.iter().map(|t| told(t, &page)).collect(),
        });
        let has = |field| recipe.columns.contains_key(&field);
        Ok(Letter {
            lines: lines.collect(),
            file: page.clone(),
            suppliers: vec![supplier],
            recipe: Some(recipe.file.clone()),
            has_prices: has(Field::Price),
            has_days: has(Field::Date) || has(Field::Lead),
            warnings: findings,
        })
    }
}

/// How the lines of a supplier are read.
struct Reading<'r> {
    catalog: &'r Catalog,
    recipe: &'r Recipe,
    supplier: SupplierId,
    telling: Telling<'r>,
    likeness: Likeness<'r>,
}

impl<'r> Reading<'r> {
    fn of(
        input: &'r Input,
        recipe: &'r Recipe,
        supplier: SupplierId,
        findings: &mut Findings,
    ) -> Self {
        let catalog = &input.catalog;
        let mut telling = Telling::of(recipe, catalog, supplier, findings);
        // What was ordered under a number comes under that number, whatever is sold now.
        let mut likeness = Likeness::of(catalog, supplier);
        let own = input.ordered.iter().filter(|row| row.supplier == supplier);
        for row in own.filter(|row| !row.sku.is_empty()) {
            telling.add(&row.sku, row.part);
            likeness.add(&row.sku, row.part);
        }
        Self {
            catalog,
            recipe,
            supplier,
            telling,
            likeness,
        }
    }

    /// What a line may be that is no part of ours.
    fn proposals(&self, line: &rows::Line) -> Vec<Proposal> {
        match self.telling.parts(&line.number, &line.own) {
            Some(_) => Vec::new(),
            None => self.likeness.proposals(line),
        }
    }

    /// The lines of the list. Rows that have no quantity and are no part of ours are titles
    /// and remarks.
    fn lines(&self, list: &List, layout: &Layout) -> Vec<rows::Line> {
        let currency = &self.catalog.supplier(self.supplier).currency;
        let packs = |number: &str, own: &str| self.pack(number, own);
        let mut lines = rows::lines(list, layout, self.recipe, currency, &packs);
        let is_ours = |line: &rows::Line| self.telling.parts(&line.number, &line.own).is_some();
        lines.retain(|line| line.is_counted || is_ours(line));
        lines
    }

    /// Pieces in a pack of an article, where the offers of the supplier agree.
    fn pack(&self, number: &str, own: &str) -> Option<Qty> {
        let parts = self.telling.parts(number, own)?;
        let offers = parts.iter().flat_map(|part| self.catalog.offers_of(*part));
        let own = offers.filter(|(_, offer)| offer.supplier == self.supplier);
        let own: Vec<_> = own.map(|(_, offer)| offer).collect();
        let exact = own.iter().filter(|o| o.sku == number && !number.is_empty());
        let mut packs: Vec<Qty> = exact.map(|offer| offer.pack).collect();
        if packs.is_empty() {
            packs = own.iter().map(|offer| offer.pack).collect();
        }
        let first = packs.first().copied();
        first.filter(|first| packs.iter().all(|pack| pack == first))
    }
}

fn of_own(line: own::OwnLine, catalog: &Catalog) -> Line {
    let article = match line.sku.is_empty() {
        true => catalog.part(line.part).code.clone(),
        false => line.sku.clone(),
    };
    Line {
        row: line.row,
        supplier: line.supplier,
        number: line.sku,
        article,
        description: line.description,
        parts: Some(vec![line.part]),
        pieces: Some(line.qty),
        price: Some(line.price),
        day: None,
        proposals: Vec::new(),
        wrong: Vec::new(),
    }
}

/// The only supplier with something outstanding.
fn only(input: &Input) -> Result<SupplierId, Failure> {
    let open = input.ordered.iter().filter(|row| row.received < row.qty);
    let mut suppliers: Vec<SupplierId> = open.map(|row| row.supplier).collect();
    suppliers.sort();
    suppliers.dedup();
    if let [one] = suppliers.as_slice() {
        return Ok(*one);
    }
    let names = suppliers.iter();
    let names = names.map(|supplier| quote(&input.catalog.supplier(*supplier).name));
    let names: Vec<String> = names.collect();
    let help = match names.as_slice() {
        [] => "name the supplier with --supplier".to_owned(),
        names => format!(
            "name the supplier with --supplier: orders from {} are outstanding",
            joined(names, "and")
        ),
    };
    Err(Failure::usage(
        "which supplier the file is from is not said",
        help,
    ))
}
