//! `project.toml`, and `purchase.toml`.

use super::keys::{Document, Keys, Placed, shortened, syntax};
use super::{Budget, Distinct, Keying, LimitRows, Per, Settings, Spares};
use crate::catalog::Kind;
use crate::diag::{Findings, Row, quote};
use crate::source::Source;
use crate::table::{limits, one_spelling};
use crate::units::{Celsius, Currency, Implied, Money, Percent, Qty};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use std::collections::{BTreeMap, BTreeSet};
use toml::de::DeTable;

/// The most bytes of a settings file that is read: 256 KiB.
pub const MAX_BYTES: u64 = 256 << 10;

/// What could be read of the settings, for the sake of the checks that need
/// only a part of them.
#[derive(Debug, Default)]
pub struct Draft {
    /// All settings, if nothing is wrong with them.
    pub settings: Option<Settings>,
    /// `catalog`.
    pub catalog: Option<String>,
    /// `prices`.
    pub prices: Option<String>,
    /// `currency`.
    pub currency: Option<Currency>,
    /// `[rates]`; none where the value is wrong.
    pub rates: BTreeMap<String, Option<Decimal>>,
    /// `[[machine]]`, in a purchase.
    pub machines: Vec<MachineDraft>,
    /// `exclude_parts` with lines.
    pub exclude_parts: Vec<Placed>,
    /// `exclude_suppliers` with lines.
    pub exclude_suppliers: Vec<Placed>,
    /// `keying.ignore_at` with lines.
    pub ignore_at: Vec<Placed>,
    /// The nets of `keying.keys` with lines.
    pub net_keys: Vec<Placed>,
    /// Line of `keying.distinct`, where it is given.
    pub distinct_line: Option<u64>,
    /// Line of `max_lead_days`, where it is given.
    pub max_lead_line: Option<u64>,
    /// True if the file is TOML, so that what is absent is really absent.
    pub readable: bool,
}

const PROTECTIONS: [(&str, Implied); 2] = [
    ("strict", Implied::Strict),
    ("customary", Implied::Customary),
];

const DISTINCTS: [(&str, Distinct); 3] = [
    ("by-location", Distinct::ByLocation),
    ("everywhere", Distinct::Everywhere),
    ("off", Distinct::Off),
];

const PERS: [(&str, Per); 2] = [("gauge", Per::Gauge), ("part", Per::Part)];

/// The file of a project.
pub const PROJECT: &str = "project.toml";

/// The file of several machines that are bought together.
pub const PURCHASE: &str = "purchase.toml";

/// What a settings file is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// One project.
    Project,
    /// A purchase: what is about money and buying, and the machines.
    Purchase,
}

impl Of {
    /// The name of the file.
    pub fn file(self) -> &'static str {
        match self {
            Of::Project => PROJECT,
            Of::Purchase => PURCHASE,
        }
    }
}

/// A machine of a purchase.
#[derive(Debug, Clone)]
pub struct MachineDraft {
    /// `name`.
    pub name: String,
    /// `project`, as written.
    pub project: String,
    /// `count`.
    pub count: Qty,
    /// Where it stands.
    pub row: Row,
}

/// Reads the settings; pushes all that is wrong with them.
///
/// `name`, `currency` and `catalog` must be there, and `kind` and `per` of a
/// spares rule and `limit` of a budget. Percentages, `line_cost` and `minimum`
/// are nothing where they are not given.
pub fn read(source: &Source, of: Of, findings: &mut Findings) -> Draft {
    let (table, errors) = DeTable::parse_recoverable(source.text());
    let doc = Document::new(&source.file, source.text());
    let root = Keys::new(&doc, table.get_ref(), "", 1);
    let mut draft = Draft {
        readable: errors.is_empty(),
        ..Draft::default()
    };
    let settings = all(root, of, &mut draft);
    if errors.is_empty() {
        let wrong = doc.into_findings();
        draft.settings = settings.filter(|_| !wrong.has_errors());
        findings.extend(wrong);
        return draft;
    }
    // What a broken file seems to lack may only be hidden, so its syntax comes first.
    findings.extend(syntax(source, &errors));
    // Of what was recovered, only other files that it names are still worth reading.
    Draft {
        catalog: draft.catalog,
        prices: draft.prices,
        machines: draft.machines,
        ..Draft::default()
    }
}

fn all(root: Keys, of: Of, draft: &mut Draft) -> Option<Settings> {
    root.require("name", "name = \"Orchard tractor\"");
    root.require("currency", "currency = \"EUR\"");
    root.require(
        "catalog",
        "catalog = \"../catalog\", the folder with bodies.csv",
    );
    let name = root.text("name").map(str::to_owned);
    draft.currency = root.currency("currency");
    draft.catalog = root.text("catalog").map(str::to_owned);
    draft.prices = root.text("prices").map(str::to_owned);
    draft.exclude_parts = root.texts("exclude_parts");
    draft.exclude_suppliers = root.texts("exclude_suppliers");
    let max_lead_days = root.count("max_lead_days", &limits::DAYS);
    draft.max_lead_line = max_lead_days.map(|_| root.line("max_lead_days"));
    let tax_percent = percent(&root, "tax_percent");
    let line_cost = root.number("line_cost", &limits::MONEY).unwrap_or_default();
    let max_variants = root.count("max_variants", &limits::AT_MOST);
    let max_suppliers = root.count("max_suppliers", &limits::AT_MOST);
    let rates = rates(&root, draft);
    let machine = match of {
        Of::Project => of_machine(&root, draft),
        Of::Purchase => {
            draft.machines = machines(&root);
            OfMachine::default()
        }
    };
    let spares = spares(&root);
    let budget = budget(&root);
    let worth_changing = worth_changing(&root);
    let rows = limit_rows(&root, draft);
    root.finish();
    let words = |list: &[Placed]| list.iter().map(|(word, _)| word.clone()).collect();
    Some(Settings {
        name: name?,
        currency: draft.currency.clone()?,
        catalog: draft.catalog.clone()?,
        prices: draft.prices.clone(),
        ambient: machine.ambient,
        max_lead_days: max_lead_days.and_then(|n| n.to_u32()),
        protection: machine.protection,
        tax_percent,
        line_cost: Money(line_cost),
        max_variants: max_variants.and_then(|n| n.to_u32()),
        max_suppliers: max_suppliers.and_then(|n| n.to_u32()),
        max_dies: None,
        exclude_parts: words(&draft.exclude_parts),
        exclude_suppliers: words(&draft.exclude_suppliers),
        rates,
        keying: machine.keying,
        spares,
        budget,
        worth_changing,
        rows,
    })
}

/// What is asked of the parts of one machine.
#[derive(Default)]
struct OfMachine {
    ambient: Option<Celsius>,
    protection: Implied,
    keying: Keying,
}

fn of_machine(root: &Keys, draft: &mut Draft) -> OfMachine {
    OfMachine {
        ambient: root.number("ambient_c", &limits::TEMPERATURE).map(Celsius),
        protection: root.word("protection", &PROTECTIONS).unwrap_or_default(),
        keying: keying(root, draft),
    }
}

/// `[[machine]]`. What is asked of the parts of a machine is for its project to say.
fn machines(root: &Keys) -> Vec<MachineDraft> {
    for key in ["ambient_c", "protection", "keying"] {
        let help = format!("write {key} in {PROJECT} of each machine");
        root.refuse(key, "each machine has its own", help);
    }
    root.require(
        "machine",
        "[[machine]] with name = \"ferry\" and project = \"../ferry\"",
    );
    let mut names: BTreeMap<String, u64> = BTreeMap::new();
    let mut machines = Vec::new();
    for keys in root.tables("machine", "machine.") {
        keys.require("name", "name = \"ferry\"");
        keys.require(
            "project",
            "project = \"../ferry\", the folder with project.toml",
        );
        let name = keys
            .text("name")
            .map(|name| one_spelling(name).into_owned());
        let project = keys.text("project").map(str::to_owned);
        let count = keys.count("count", &limits::MACHINES);
        if let Some(name) = &name {
            claim(&keys, name, &mut names);
        }
        let row = keys.document().row(keys.line("name"));
        machines.extend(name.zip(project).map(|(name, project)| MachineDraft {
            name,
            project,
            count: count.unwrap_or(1),
            row,
        }));
        keys.finish();
    }
    machines
}

/// Pushes an error if the name of a machine can't be told from another, or from a circuit.
fn claim(keys: &Keys, name: &str, names: &mut BTreeMap<String, u64>) {
    if name.contains('/') {
        let message = format!("{} has a slash in it", quote(name));
        let help = "write it without: a slash stands between machine and circuit";
        keys.error("name", message, help);
    }
    if let Some(line) = names.get(name) {
        let message = format!("machine {} stands in line {line} already", quote(name));
        let help = "give it another name, or add its count to the count there";
        keys.error("name", message, help);
        return;
    }
    names.insert(name.to_owned(), keys.line("name"));
}

fn limit_rows(root: &Keys, draft: &Draft) -> LimitRows {
    let place = |(word, line): &Placed| (word.clone(), root.document().row(*line));
    LimitRows {
        max_lead_days: root.row("max_lead_days"),
        max_variants: root.row("max_variants"),
        max_suppliers: root.row("max_suppliers"),
        distinct: draft.distinct_line.map(|line| root.document().row(line)),
        net_keys: draft.net_keys.iter().map(place).collect(),
        exclude_parts: draft.exclude_parts.iter().map(place).collect(),
        exclude_suppliers: draft.exclude_suppliers.iter().map(place).collect(),
    }
}

fn percent(keys: &Keys, key: &'static str) -> Percent {
    Percent(keys.number(key, &limits::PERCENT).unwrap_or_default())
}

fn rates(root: &Keys, draft: &mut Draft) -> BTreeMap<Currency, Decimal> {
    let mut rates = BTreeMap::new();
    for (name, line, rate) in root.numbers("rates", &limits::RATE) {
        draft.rates.insert(name.to_owned(), rate);
        let key = format!("rates.{}", shortened(name));
        match Currency::parse(name) {
            None => {
                let message = format!("{} is not a currency code", quote(name));
                let help = "write the three capital letters of the currency, such as USD";
                root.document().error(line, &key, message, help);
            }
            Some(currency) if draft.currency.as_ref() == Some(&currency) => {
                if rate.is_some_and(|r| r != Decimal::ONE) {
                    let message = format!("one {currency} is one {currency}");
                    let help = "leave the rate of the project's own currency out";
                    root.document().error(line, &key, message, help);
                }
            }
            Some(currency) => {
                rates.extend(rate.map(|r| (currency, r)));
            }
        }
    }
    rates
}

fn keying(root: &Keys, draft: &mut Draft) -> Keying {
    let Some(keys) = root.table("keying", "keying.") else {
        return Keying::default();
    };
    let distinct = keys.word("distinct", &DISTINCTS);
    draft.distinct_line = distinct.map(|_| keys.line("distinct"));
    draft.ignore_at = keys.texts("ignore_at");
    let lists = net_keys(&keys, draft);
    keys.finish();
    Keying {
        distinct: distinct.unwrap_or(Distinct::ByLocation),
        ignore_at: draft.ignore_at.iter().map(|(at, _)| at.clone()).collect(),
        keys: lists,
    }
}

/// `[keying.keys]`: the keys of each net.
fn net_keys(keying: &Keys, draft: &mut Draft) -> BTreeMap<String, BTreeSet<String>> {
    let mut lists: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for ((net, line), keys) in keying.lists("keys") {
        let key = format!("keying.keys.{}", shortened(&net));
        let error = |message: &str, help: &str| {
            keying.document().error(line, &key, message, help);
        };
        if keys.is_empty() {
            error(
                "no key at all",
                "name the keys of the net, or leave the net out",
            );
        }
        if lists.contains_key(&net) {
            error("the net stands here already", "keep one of its lists");
        }
        draft.net_keys.push((net.clone(), line));
        lists.insert(net, keys.into_iter().collect());
    }
    lists
}

fn spares(root: &Keys) -> BTreeMap<Kind, Spares> {
    let kinds = Kind::ALL.map(|kind| (kind.word(), kind));
    let mut rules: BTreeMap<Kind, Spares> = BTreeMap::new();
    for keys in root.tables("spares", "spares.") {
        keys.require("kind", "kind = \"ferrule\", or another kind of part");
        keys.require("per", "per = \"part\" or per = \"gauge\"");
        let kind = keys.word("kind", &kinds);
        let per = keys.word("per", &PERS);
        let percent = percent(&keys, "percent");
        let minimum = keys.count("minimum", &limits::PIECES).unwrap_or(0);
        if let Some(kind) = kind {
            let rule = Spares {
                per: per.unwrap_or(Per::Part),
                percent,
                minimum,
            };
            if rules.insert(kind, rule).is_some() {
                let message = format!("there is a rule for {kind} already");
                keys.error("kind", message, "keep one rule for each kind");
            }
        }
        keys.finish();
    }
    rules
}

fn budget(root: &Keys) -> Option<Budget> {
    let keys = root.table("budget", "budget.")?;
    keys.require("limit", "limit = 2500");
    let limit = keys.number("limit", &limits::MONEY);
    let contingency_percent = percent(&keys, "contingency_percent");
    keys.finish();
    Some(Budget {
        limit: Money(limit?),
        contingency_percent,
    })
}

/// `reprice.worth_changing`; nothing where it is not given.
fn worth_changing(root: &Keys) -> Money {
    let Some(keys) = root.table("reprice", "reprice.") else {
        return Money::ZERO;
    };
    let least = keys.number("worth_changing", &limits::MONEY);
    keys.finish();
    Money(least.unwrap_or_default())
}
