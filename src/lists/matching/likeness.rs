//! Which of our parts an unknown article may be, and how sure that is. What is found here
//! is only proposed.

use super::matched::skus;
use crate::catalog::{Catalog, PartId, SupplierId};
use crate::lists::rows::{Article, Line};
use crate::lists::values::words::{Token, tokens};
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// A part that an article may be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Proposal {
    /// Our code.
    pub part: String,
    /// How sure, in percent. A measure of our own, which orders proposals.
    pub sure: u8,
    /// What is alike.
    pub why: String,
}

/// The most parts that are proposed for an article.
const MOST: usize = 3;

/// A word that more parts have tells too little.
const COMMON: usize = 40;

/// At least this share of the words must be the same, in percent.
const ALIKE: usize = 60;

/// A text without what is overlooked: in small letters, without spaces and punctuation.
pub fn bare(text: &str) -> String {
    let kept = text.chars().filter(|c| c.is_alphanumeric());
    kept.flat_map(char::to_lowercase).collect()
}

/// What a file says of an article.
#[derive(Debug, Clone, Copy)]
pub struct Named<'n> {
    /// The supplier's article number.
    pub number: &'n str,
    /// Our code of the part.
    pub own: &'n str,
    /// The maker's type.
    pub maker_type: &'n str,
    /// What it is.
    pub description: &'n str,
}

impl<'n> From<&'n Article> for Named<'n> {
    fn from(article: &'n Article) -> Self {
        Self {
            number: &article.number,
            own: &article.own,
            maker_type: &article.maker_type,
            description: &article.description,
        }
    }
}

impl<'n> From<&'n Line> for Named<'n> {
    fn from(line: &'n Line) -> Self {
        Self {
            number: &line.number,
            own: &line.own,
            maker_type: "",
            description: &line.description,
        }
    }
}

/// Our parts, by what an article can have in common with them.
pub struct Likeness<'c> {
    catalog: &'c Catalog,
    by_sku: HashMap<String, Vec<PartId>>,
    by_short_sku: HashMap<String, Vec<PartId>>,
    by_other_sku: HashMap<String, Vec<PartId>>,
    by_code: HashMap<String, Vec<PartId>>,
    by_word: HashMap<String, Vec<PartId>>,
    /// How many words the description of each part has.
    words: Vec<usize>,
}

impl<'c> Likeness<'c> {
    /// What of the catalog the articles of a supplier are held against.
    pub fn of(catalog: &'c Catalog, supplier: SupplierId) -> Self {
        let mut likeness = Self {
            catalog,
            by_sku: HashMap::new(),
            by_short_sku: HashMap::new(),
            by_other_sku: HashMap::new(),
            by_code: HashMap::new(),
            by_word: HashMap::new(),
            words: Vec::new(),
        };
        for (sku, parts) in skus(catalog, supplier) {
            parts.into_iter().for_each(|part| likeness.add(sku, part));
        }
        for offer in catalog
            .offers
            .iter()
            .filter(|offer| offer.supplier != supplier)
        {
            let parts = likeness.by_other_sku.entry(bare(&offer.sku)).or_default();
            if parts.last() != Some(&offer.part) {
                parts.push(offer.part);
            }
        }
        for (id, part) in catalog.iter() {
            likeness
                .by_code
                .entry(bare(&part.code))
                .or_default()
                .push(id);
            let words = words(&part.description);
            likeness.words.push(words.len());
            for word in words {
                likeness.by_word.entry(word).or_default().push(id);
            }
        }
        likeness
    }

    /// Adds an article number of the supplier.
    pub fn add(&mut self, sku: &str, part: PartId) {
        let sku = bare(sku);
        let short = sku.trim_start_matches('0').to_owned();
        self.by_short_sku.entry(short).or_default().push(part);
        self.by_sku.entry(sku).or_default().push(part);
    }

    /// The parts that an article may be, the surest first.
    pub fn proposals<'n>(&self, article: impl Into<Named<'n>>) -> Vec<Proposal> {
        let article: Named = article.into();
        let mut found: BTreeMap<PartId, (u8, &str)> = BTreeMap::new();
        let number = bare(article.number);
        let kind = bare(article.maker_type);
        let own = bare(article.own);
        let sure = [
            (
                &self.by_code,
                &own,
                98,
                "our code, but for case, spaces and punctuation",
            ),
            (
                &self.by_sku,
                &number,
                95,
                "the article number, but for case, spaces and punctuation",
            ),
            (&self.by_code, &kind, 92, "the maker's type is our code"),
            (&self.by_code, &number, 90, "the article number is our code"),
            (
                &self.by_other_sku,
                &kind,
                85,
                "another supplier has the maker's type as article number",
            ),
            (
                &self.by_other_sku,
                &number,
                80,
                "another supplier has this article number",
            ),
        ];
        for (index, text, sure, why) in sure {
            take(&mut found, index.get(text), text, sure, why);
        }
        let short = number.trim_start_matches('0');
        let why = "the article number, but for zeros at its beginning";
        take(&mut found, self.by_short_sku.get(short), short, 88, why);
        for word in article.description.split_whitespace() {
            let word = bare(word);
            if word.len() > 2 {
                let why = "the description names our code";
                take(&mut found, self.by_code.get(&word), &word, 75, why);
            }
        }
        self.by_description(article, &mut found);
        let mut sorted: Vec<_> = found.into_iter().collect();
        sorted.sort_by_key(|(part, (sure, _))| (std::cmp::Reverse(*sure), *part));
        sorted.truncate(MOST);
        let proposal = |(part, (sure, why)): (PartId, (u8, &str))| Proposal {
            part: self.catalog.part(part).code.clone(),
            sure,
            why: why.to_owned(),
        };
        sorted.into_iter().map(proposal).collect()
    }

    /// Parts whose description has most words in common with that of the article.
    fn by_description(&self, article: Named, found: &mut BTreeMap<PartId, (u8, &str)>) {
        let own = words(article.description);
        let mut common: BTreeMap<PartId, usize> = BTreeMap::new();
        let known = own.iter().filter_map(|word| self.by_word.get(word));
        let known: Vec<&Vec<PartId>> = known.collect();
        // Common words count for parts that a rare word brought up.
        let is_rare = |parts: &&&Vec<PartId>| parts.len() <= COMMON;
        for part in known.iter().filter(is_rare).flat_map(|parts| parts.iter()) {
            common.insert(*part, 0);
        }
        for (part, count) in &mut common {
            *count = known
                .iter()
                .filter(|parts| parts.binary_search(part).is_ok())
                .count();
        }
        for (part, count) in common {
            let all = own.len() + self.words.get(part.0 as usize).copied().unwrap_or(0);
            let share = (200 * count).checked_div(all).unwrap_or(0);
            if count >= 2 && share >= ALIKE {
                let sure = u8::try_from(share * 7 / 10).unwrap_or(70);
                let entry = found.entry(part).or_insert((0, ""));
                *entry = (*entry).max((sure, "the descriptions have most words in common"));
            }
        }
    }
}

fn take<'w>(
    found: &mut BTreeMap<PartId, (u8, &'w str)>,
    parts: Option<&Vec<PartId>>,
    text: &str,
    sure: u8,
    why: &'w str,
) {
    if text.is_empty() {
        return;
    }
    for part in parts.into_iter().flatten() {
        let entry = found.entry(*part).or_insert((0, ""));
        if sure > entry.0 {
            *entry = (sure, why);
        }
    }
}

/// The words and numbers of a description, each once.
fn words(text: &str) -> BTreeSet<String> {
    let word = |token| match token {
        Token::Word(word) => Some(word),
        Token::Number(number) => Some(number.replace(',', ".")),
        Token::Sign(_) => None,
    };
    tokens(text).into_iter().filter_map(word).collect()
}
