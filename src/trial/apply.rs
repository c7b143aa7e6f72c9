//! Changes made to the files of a project, laid over them as if they were saved.

use super::cells::{RowOf, Stand};
use super::change::{Change, ChangeError, Own, Price, Value, What};
use super::circuit;
use super::settings::{self, Was};
use super::words::{Word, joined, quoted};
use super::work::{Cells, Done, How, Touched, Work};
use crate::catalog::Offer;
use crate::diag::{joined as listed, quote};
use crate::input::Input;
use crate::lists::change::NUMBERS as OF_PRICES;
use crate::source::Files;
use crate::units::{Money, Qty};
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use std::path::Path;

/// The columns of `suppliers.csv` that can be changed, each with other words for it.
const OF_SUPPLIERS: [(&str, &str); 4] = [
    ("shipping", "shipping"),
    ("free_over", "free over"),
    ("min_order", "min order"),
    ("duty_percent", "duty"),
];

/// Lays what a change makes of the files over them; says what was changed, each cell once.
///
/// # Errors
/// [`ChangeError`] where the change names what is not there, or a file can't be changed in
/// place.
pub(super) fn apply(
    files: &mut Files,
    folder: &Path,
    input: &Input,
    change: &Change,
) -> Result<Vec<Touched>, ChangeError> {
    let mut work = Work {
        files,
        folder,
        input,
        change,
        touched: Vec::new(),
    };
    work.run()?;
    let mut touched = work.touched;
    touched.retain(|one| one.how != How::Changed || one.before != one.after);
    touched.sort();
    touched.dedup();
    Ok(touched)
}

impl Work<'_> {
    fn run(&mut self) -> Done {
        let change = self.change;
        match &change.what {
            What::Circuit(words) => circuit::one(self, words),
            What::EveryCircuit(words) => circuit::every(self, words),
            What::WithoutCircuit(name) => circuit::without(self, name),
            What::Location { from, to } => circuit::location(self, from, to),
            What::Supplier { name, is_out } => self.supplier(name, *is_out),
            What::Part { code, is_out } => {
                let path = self.own_settings();
                let known = self.input.settings.exclude_parts.contains(code);
                self.part(&path, code, *is_out, known)
            }
            What::SupplierCell(words) => self.supplier_cell(words),
            What::Price {
                part,
                supplier,
                at,
                price,
            } => self.price(part.as_deref(), supplier.as_deref(), at.as_deref(), price),
            What::OnHand { part, qty } => self.on_hand(part, qty),
            What::Count { machine, count } => {
                self.machine(machine)?;
                let path = self.own_settings();
                self.settings(&path, |doc| settings::count(doc, machine, count).map(one))
            }
            What::Setting { key, value } => {
                self.refuse_named_list(key)?;
                let path = self.own_settings();
                self.settings(&path, |doc| {
                    settings::set(doc, key, value.as_ref()).map(one)
                })
            }
            What::Rate { currency, rate } => self.rate(currency, rate),
            What::OfMachine { machine, own } => self.of_machine(machine.as_deref(), own),
            What::Spares { kind, rule } => {
                let path = self.own_settings();
                self.settings(&path, |doc| settings::spares(doc, kind, rule.as_ref()))
            }
        }
    }

    fn supplier(&mut self, name: &str, is_out: bool) -> Done {
        self.supplier_id(name)?;
        let is_excluded = self.input.settings.exclude_suppliers.contains(name);
        self.listed(
            &self.own_settings(),
            ("exclude_suppliers", name),
            is_out,
            is_excluded,
        )
    }

    fn part(&mut self, path: &Path, code: &str, is_out: bool, is_excluded: bool) -> Done {
        self.part_code(code)?;
        self.listed(path, ("exclude_parts", code), is_out, is_excluded)
    }

    /// Excludes a name, or takes it back, which has to be excluded then.
    fn listed(
        &mut self,
        path: &Path,
        (key, name): (&str, &str),
        is_out: bool,
        is_excluded: bool,
    ) -> Done {
        if !is_out && !is_excluded {
            let file = self.files.relative(path, self.folder);
            let message = format!("{} is not excluded in {file}", quote(name));
            return Err(self.error(message, "leave the change out"));
        }
        self.settings(path, |doc| {
            settings::listed(doc, key, name, is_out).map(one)
        })
    }

    fn of_machine(&mut self, machine: Option<&str>, own: &Own) -> Done {
        let machines = match machine {
            Some(name) => vec![self.machine(name)?],
            None => self.machines(),
        };
        match own {
            Own::Setting { key, value } => {
                for place in machines {
                    let path = self.settings_of(place);
                    self.settings(&path, |doc| {
                        settings::set(doc, key, value.as_ref()).map(one)
                    })?;
                }
                Ok(())
            }
            Own::Part { code, is_out } => {
                for place in machines {
                    let path = self.settings_of(place);
                    let known = self.input.rules(place).exclude_parts.contains(code);
                    self.part(&path, code, *is_out, known)?;
                }
                Ok(())
            }
            Own::NetKeys { net, keys } => self.net_keys(&machines, net, keys),
        }
    }

    /// The keys of a net, in the projects that have the net.
    fn net_keys(&mut self, machines: &[usize], net: &str, keys: &[String]) -> Done {
        let mut all = BTreeSet::new();
        let mut having = BTreeSet::new();
        for circuit in &self.input.circuits {
            let first = self.input.first_sharing(circuit.machine);
            if machines
                .iter()
                .any(|place| self.input.first_sharing(*place) == first)
            {
                let nets = circuit.nets();
                having.extend(nets.iter().any(|of| of == net).then_some(first));
                all.extend(nets);
            }
        }
        if having.is_empty() {
            return Err(self.unknown("net", net, all.iter().map(String::as_str)));
        }
        for place in having {
            let path = self.settings_of(place);
            self.settings(&path, |doc| settings::net_keys(doc, net, keys).map(one))?;
        }
        Ok(())
    }

    fn rate(&mut self, currency: &str, rate: &str) -> Done {
        let all: BTreeSet<&str> = (self.input.catalog.suppliers.iter())
            .map(|of| of.currency.0.as_str())
            .collect();
        if !all.contains(currency) {
            return Err(self.unknown("supplier's currency", currency, all));
        }
        let value = Value::Number(rate.to_owned());
        let path = self.own_settings();
        self.settings(&path, |doc| {
            settings::set(doc, &["rates", currency], Some(&value)).map(one)
        })
    }

    /// A list that the command names is read in place of the list of the project.
    fn refuse_named_list(&self, key: &[&str]) -> Done {
        match (&self.input.prices.instead, key) {
            (Some(list), ["prices"]) => Err(self.error(
                format!("the prices are those of {list} already"),
                "leave --prices out, or plan again with the project's own list",
            )),
            _ => Ok(()),
        }
    }

    fn supplier_cell(&mut self, words: &[Word]) -> Done {
        let (name, rest) = (1..words.len())
            .rev()
            .map(|at| words.split_at(at))
            .find(|(name, _)| self.input.catalog.find_supplier(&joined(name)).is_some())
            .ok_or_else(|| {
                let name = words.first().map_or("", |word| &word.text);
                self.supplier_id(name).err().unwrap_or_else(|| {
                    self.error(
                        "the change is not whole",
                        "write it as: supplier NAME COLUMN VALUE",
                    )
                })
            })?;
        let id = self.supplier_id(&joined(name))?;
        let mut column = None;
        for at in (1..rest.len()).rev() {
            let word = joined(&rest[..at]);
            let found = OF_SUPPLIERS
                .iter()
                .find(|(name, other)| word == *name || word == *other);
            if let Some((name, _)) = found {
                column = Some((*name, &rest[at..]));
                break;
            }
        }
        let Some((column, value)) = column else {
            let word = rest.first().map_or("", |word| &word.text);
            return Err(self.unknown("column", word, OF_SUPPLIERS.map(|(name, _)| name)));
        };
        let value = match value {
            [none] if none.is("none") || none.is("any") => String::new(),
            value => joined(value),
        };
        let stand = Stand::in_catalog(self.files, &self.catalog(), "suppliers");
        let stand = self.stand(stand, "suppliers")?;
        let line = self.input.catalog.supplier(id).row.line;
        let numbers = &["shipping", "free_over", "min_order", "duty_percent"];
        self.cells(&stand, numbers, &[(line, column.to_owned(), value)])
    }

    fn price(
        &mut self,
        part: Option<&str>,
        supplier: Option<&str>,
        at: Option<&str>,
        price: &Price,
    ) -> Done {
        let part = part.map(|code| self.part_code(code)).transpose()?;
        let supplier = supplier.map(|name| self.supplier_id(name)).transpose()?;
        let at: Option<Qty> = match at.map(str::parse).transpose() {
            Ok(at) => at,
            Err(_) => return Err(self.error("the quantity is no whole number", "write digits")),
        };
        let catalog = &self.input.catalog;
        let is_meant = |offer: &&Offer| {
            part.is_none_or(|part| offer.part == part)
                && supplier.is_none_or(|supplier| offer.supplier == supplier)
        };
        let offers: Vec<&Offer> = catalog.offers.iter().filter(is_meant).collect();
        if offers.is_empty() {
            return Err(self.error("there is no such offer", "couplet parts shows the offers"));
        }
        self.one_price(&offers, at, price)?;
        let mut cells = Cells::new();
        for offer in offers {
            for step in &offer.breaks {
                if at.is_none_or(|at| step.min_qty == at) {
                    let new = self.new_price(step.unit_price, price)?;
                    cells.push((step.row.line, "unit_price".to_owned(), new));
                }
            }
        }
        if cells.is_empty() {
            return Err(self.error(
                "no price begins at that quantity",
                "couplet parts shows the prices; name the least quantity of one of them",
            ));
        }
        let stand = self.prices()?;
        self.cells(&stand, OF_PRICES, &cells)
    }

    /// A price of a piece can only be that of one price of one offer.
    fn one_price(&self, offers: &[&Offer], at: Option<Qty>, price: &Price) -> Done {
        if matches!(price, Price::By(_)) {
            return Ok(());
        }
        match offers {
            [offer] if offer.breaks.len() == 1 || at.is_some() => Ok(()),
            [offer] => {
                let from: Vec<String> =
                    offer.breaks.iter().map(|b| b.min_qty.to_string()).collect();
                Err(self.error(
                    "the offer has several prices",
                    format!(
                        "say which one: at {}, before the price",
                        listed(&from, "or")
                    ),
                ))
            }
            several => {
                let name =
                    |offer: &&Offer| quoted(&self.input.catalog.supplier(offer.supplier).name);
                let names: BTreeSet<String> = several.iter().map(name).collect();
                let names: Vec<String> = names.into_iter().collect();
                Err(self.error(
                    "there are several offers",
                    match names.len() {
                        1 => "change the price in the price list: the offers differ in their skus"
                            .to_owned(),
                        _ => format!("say which one: from {}", listed(&names, "or")),
                    },
                ))
            }
        }
    }

    fn new_price(&self, old: Money, price: &Price) -> Result<String, ChangeError> {
        let wrong = || {
            self.error(
                "the new price is no amount of money",
                "write a smaller number",
            )
        };
        match price {
            Price::To(price) => Ok(price.clone()),
            Price::By(percent) => {
                let percent: Decimal = percent.parse().map_err(|_| wrong())?;
                let factor = (Decimal::ONE_HUNDRED + percent).checked_div(Decimal::ONE_HUNDRED);
                let new = factor.and_then(|factor| old.0.checked_mul(factor));
                let new = new.ok_or_else(wrong)?;
                Ok(new.round_dp(old.0.scale().max(4)).normalize().to_string())
            }
        }
    }

    /// The price list that the prices come from.
    fn prices(&self) -> Result<Stand, ChangeError> {
        let prices = &self.input.prices;
        let path = self
            .folder
            .join(prices.instead.as_ref().unwrap_or(&prices.own));
        self.stand(Stand::file(self.files, &path, "prices"), "prices")
    }

    fn on_hand(&mut self, code: &str, qty: &str) -> Done {
        self.part_code(code)?;
        let book = match self.input.machines.is_empty() {
            true => "project",
            false => "purchase",
        };
        let stand = Stand::beside(self.files, self.folder, book, "on_hand");
        let stand = self.stand(stand, "on_hand")?;
        let rows = stand.rows(&["part", "qty"]);
        let is_it = |row: &&RowOf| row.cells.first().is_some_and(|part| part == code);
        let numbers: &'static [&'static str] = &["qty"];
        if let Some(row) = rows.iter().find(is_it) {
            return self.cells(
                &stand,
                numbers,
                &[(row.line, "qty".to_owned(), qty.to_owned())],
            );
        }
        let file = stand.shown(self.files, self.folder);
        self.table(&stand, numbers, &["part", "qty"], |table| {
            table.add(&[("part", code), ("qty", qty)])
        })?;
        self.touched.push(Touched {
            file,
            line: None,
            cell: "qty".to_owned(),
            before: String::new(),
            after: format!("{code}, {qty}"),
            how: How::Added,
        });
        Ok(())
    }
}

fn one(was: Was) -> Vec<Was> {
    vec![was]
}
