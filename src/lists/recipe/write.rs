//! Writes a recipe as TOML, with comments for whoever looks it over.

use super::{BreakColumn, Field, From, Per, Purpose, Recipe};
use crate::lists::values::number::DecimalSign;
use crate::lists::values::quantity::Unit;
use std::fmt::Write;

/// A remark at a key of the recipe: its name, and what to look over there.
pub type Remark = (&'static str, String);

/// The text of a recipe. Remarks stand as comments before their keys; `matches` are lines
/// for `[parts]`, which stand there as comments, since nobody has looked at them yet.
pub fn text(recipe: &Recipe, remarks: &[Remark], matches: &[String]) -> String {
    let mut out = Writer {
        text: String::new(),
        remarks,
    };
    out.head(recipe);
    out.file(recipe);
    out.columns(recipe);
    out.price(recipe);
    out.breaks(recipe);
    out.lead(recipe);
    out.date(recipe);
    out.rest(matches);
    out.text
}

struct Writer<'r> {
    text: String,
    remarks: &'r [Remark],
}

impl Writer<'_> {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    /// A key with its remarks before it.
    fn key(&mut self, name: &'static str, key: &str, value: &str) {
        self.remark(name);
        let _ = writeln!(self.text, "{key} = {value}");
    }

    fn remark(&mut self, name: &'static str) {
        let found = self.remarks.iter().filter(|(key, _)| *key == name);
        for (_, remark) in found {
            let _ = writeln!(self.text, "# LOOK HERE: {remark}");
        }
    }

    fn head(&mut self, recipe: &Recipe) {
        let (command, papers) = (command(recipe.purpose), recipe.purpose.papers());
        self.line(&format!(
            "# How {command} reads the {papers} of this supplier."
        ));
        self.line(&format!(
            "# manual/lists.md explains every key. Look it over, then run {command} again."
        ));
        self.key("supplier", "supplier", &quoted(&recipe.supplier));
        if recipe.purpose.is_price_list() {
            self.line("# false: what is not in the list is still sold");
            self.key("complete", "complete", &recipe.complete.to_string());
        }
        if let Some((currency, _)) = &recipe.currency {
            self.key("currency", "currency", &quoted(&currency.0));
        }
    }

    fn file(&mut self, recipe: &Recipe) {
        self.line("\n[file]");
        if let Some((sheet, _)) = &recipe.sheet {
            self.key("sheet", "sheet", &quoted(sheet));
        }
        if let Some(encoding) = recipe.hints.encoding {
            self.key(
                "encoding",
                "encoding",
                &quoted(&encoding.name().to_lowercase()),
            );
        }
        if let Some(separator) = recipe.hints.separator {
            self.key("separator", "separator", &quoted(separator.word()));
        }
        if !recipe.hints.quotes {
            self.key("quotes", "quotes", "false");
        }
        if let Some(decimal) = recipe.decimal {
            let word = match decimal {
                DecimalSign::Comma => "comma",
                DecimalSign::Point => "point",
            };
            self.key("decimal", "decimal", &quoted(word));
        }
    }

    fn columns(&mut self, recipe: &Recipe) {
        self.line("\n# Which column is what, by its heading.");
        self.line("[columns]");
        for (field, word) in Field::ALL {
            match recipe.columns.get(&field) {
                Some(heading) => self.key(word, word, &quoted(&heading.text)),
                None if !recipe.purpose.takes(field) => {}
                // The section [price] has that key as well.
                None if field == Field::Per => {}
                None => self.remark(word),
            }
        }
    }

    fn price(&mut self, recipe: &Recipe) {
        let has_prices = recipe.columns.contains_key(&Field::Price);
        if recipe.purpose.is_price_list() || has_prices {
            self.per(recipe);
        }
        self.counted(recipe);
    }

    fn per(&mut self, recipe: &Recipe) {
        self.line("\n[price]");
        self.line("# for how many pieces a price is: 1, 10, 100 or \"pack\"");
        let per = match recipe.per {
            Per::Pieces(pieces) => pieces.to_string(),
            Per::Pack => quoted("pack"),
        };
        self.key("per", "per", &per);
    }

    fn counted(&mut self, recipe: &Recipe) {
        let units = [
            ("breaks", "breaks", recipe.counted.breaks),
            ("least", "least", recipe.counted.least),
            ("stock", "stock", recipe.counted.stock),
            // A lead time has a key of that name as well.
            ("quantity.unit", "unit", recipe.counted.quantity),
        ];
        let said = |name: &str| self.remarks.iter().any(|(key, _)| *key == name);
        let shown: Vec<_> = (units.into_iter())
            .filter(|(name, _, unit)| *unit != Unit::Pieces || said(name))
            .collect();
        if !shown.is_empty() {
            self.line("\n# what quantities count: \"pieces\" or \"packs\"");
            self.line("[quantity]");
            for (name, key, unit) in shown {
                self.key(name, key, &quoted(unit.word()));
            }
        }
    }

    fn breaks(&mut self, recipe: &Recipe) {
        for one in &recipe.breaks {
            let BreakColumn {
                from,
                heading,
                is_discount,
            } = one;
            self.line("\n[[breaks]]");
            match from {
                From::Count(count) => self.line(&format!("from = {count}")),
                From::Column(column) => {
                    self.line(&format!("from_column = {}", quoted(&column.text)))
                }
            }
            let key = if *is_discount { "discount" } else { "price" };
            self.line(&format!("{key} = {}", quoted(&heading.text)));
        }
    }

    fn lead(&mut self, recipe: &Recipe) {
        if !recipe.columns.contains_key(&Field::Lead) {
            return;
        }
        self.line("\n[lead]");
        if let Some(unit) = recipe.lead.unit {
            self.key("unit", "unit", &quoted(unit.word()));
        }
        self.line("# days until what comes from stock is here");
        self.key(
            "from_stock",
            "from_stock",
            &recipe.lead.from_stock.to_string(),
        );
    }

    fn date(&mut self, recipe: &Recipe) {
        let rule = &recipe.date;
        if *rule == super::DateRule::default() {
            return;
        }
        self.line("\n[date]");
        if let Some((after, _)) = &rule.after {
            self.key("after", "after", &quoted(after));
        }
        if let Some((_, _, cell)) = &rule.cell {
            self.key("cell", "cell", &quoted(cell));
        }
        if let Some(order) = rule.order {
            let words = crate::lists::values::date::DateOrder::WORDS;
            let word = words.iter().find(|(_, one)| *one == order);
            self.key("order", "order", &quoted(word.map_or("", |(word, _)| word)));
        }
    }

    fn rest(&mut self, matches: &[String]) {
        self.line("\n# Rows to leave out:");
        self.line("# [[skip]]");
        self.line("# column = \"Status\"");
        self.line("# is = [\"discontinued\"]");
        self.line(
            "\n# Articles that serve as parts of ours, where the price list does not say so yet.",
        );
        self.line("# An article with [] is never ours, and is not shown again.");
        self.line("[parts]");
        for line in matches {
            self.line(&format!("# {line}"));
        }
    }
}

/// The command that reads by such a recipe.
fn command(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Prices => "couplet take",
        Purpose::Delivery => "couplet receive --note",
        Purpose::Confirmation => "couplet order --confirm",
    }
}

/// A line of `[parts]`.
pub fn mapping(article: &str, part: &str) -> String {
    format!("{} = [{}]", quoted(article), quoted(part))
}

/// A text as TOML has it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::Findings;
    use crate::lists::read::Heading;
    use crate::source::Source;

    #[test]
    fn what_is_written_reads_the_same() {
        let mut recipe = Recipe::new("r.toml".into(), "A \"B\" \\ C's", Purpose::Prices);
        let heading = |text: &str| Heading {
            text: text.into(),
            key: String::new(),
            line: 0,
        };
        recipe
            .columns
            .insert(Field::Article, heading("Art.-Nr. 'x'"));
        recipe.columns.insert(Field::Price, heading("Preis [2]"));
        recipe.columns.insert(Field::Pack, heading("VPE"));
        recipe.per = Per::Pack;
        recipe.counted.breaks = Unit::Packs;
        recipe.breaks.push(BreakColumn {
            from: From::Count(5),
            heading: heading("Rabatt"),
            is_discount: true,
        });
        let remarks = [("price", "per what".to_owned())];
        let written = text(&recipe, &remarks, &["\"1\" = [\"P\"]".to_owned()]);
        assert!(
            written.contains("# LOOK HERE: per what\nprice = "),
            "{written}"
        );
        let mut findings = Findings::default();
        let bytes = written.into_bytes();
        let source = Source::from_bytes(&"r.toml".into(), bytes, &mut findings).unwrap();
        let read = super::super::read(&source, Purpose::Prices, &mut findings);
        let all: Vec<_> = findings.iter().collect();
        let read = read.unwrap_or_else(|| panic!("{all:?}"));
        assert_eq!(read.supplier, recipe.supplier);
        assert_eq!(read.per, recipe.per);
        assert_eq!(read.counted, recipe.counted);
        assert_eq!(read.breaks[0].heading.text, "Rabatt");
        let texts = |r: &Recipe| {
            r.columns
                .values()
                .map(|h| h.text.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!(texts(&read), texts(&recipe));
    }
}
