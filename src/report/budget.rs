//! What a plan comes to, by circuit, kind, supplier and gauge, and what would save.

use super::frontier::proof;
use super::plan::verdict;
use super::table::{Column, Table};
use super::wording::{counted, list, wrapped};
use crate::catalog::Catalog;
use crate::plan::Plan;
use crate::study::budget::{
    Against, Breakdown, Ease, Group, Key, RiseOf, Rising, Saving, Savings, Term, Terms,
};
use crate::units::Money;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;

/// All that is told of a budget.
pub struct Budget<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The catalog, for names.
    pub catalog: &'a Catalog,
    /// The total against the limit, where there is a limit.
    pub against: Option<Against>,
    /// The total divided.
    pub breakdown: &'a Breakdown,
    /// What would save, where the total is over the limit.
    pub savings: Option<&'a Savings>,
    /// What rising prices do, where that is asked.
    pub rising: Option<&'a Rising>,
}

/// The budget for a reader.
pub fn text(budget: &Budget, width: usize) -> String {
    let mut sections = vec![wrapped(&verdict(budget.plan), width, "", "  ") + "\n"];
    sections.push(wrapped(&against(budget), width, "", "  ") + "\n");
    for key in Key::ALL {
        let groups = budget
            .breakdown
            .groups
            .get(&key)
            .map(Vec::as_slice)
            .unwrap_or_default();
        let title = key.word();
        sections.push(format!(
            "By {title}\n{}",
            shares(key, groups, &budget.breakdown.terms).text(width)
        ));
    }
    sections.push(format!(
        "What is shared among circuits and gauges, and by what\n{}",
        keys(width)
    ));
    if let Some(savings) = budget.savings {
        sections.push(savings_text(savings, budget, width));
    }
    if let Some(rising) = budget.rising {
        sections.push(rising_text(rising, budget, width));
    }
    sections.join("\n")
}

fn against(budget: &Budget) -> String {
    let currency = &budget.plan.currency;
    let total = budget.plan.cost.total.cents();
    let tax = match budget.plan.cost.tax.is_positive() {
        true => format!(" ({} with tax)", budget.plan.cost.total_with_tax.cents()),
        false => String::new(),
    };
    let ordered = match budget.plan.spent.is_positive() {
        true => format!(
            " still to spend, {} with what is ordered",
            budget.plan.altogether().cents()
        ),
        false => String::new(),
    };
    let head = format!("Total {total} {currency}{tax}{ordered}");
    let Some(against) = budget.against else {
        return format!("{head}; project.toml sets no budget.limit.");
    };
    let room = match against.contingency.is_positive() {
        true => format!(
            "of the limit of {} less {} kept back, {}",
            against.limit, against.contingency, against.available
        ),
        false => format!("of the limit of {}", against.limit),
    };
    match against.is_over() {
        true => format!(
            "{head}: over what may be spent by {} ({room}, before tax).",
            (Money::ZERO - against.left).cents()
        ),
        false => format!("{head}: {} are left ({room}, before tax).", against.left),
    }
}

fn shares(key: Key, groups: &[Group], terms: &Terms) -> Table {
    let mut columns = vec![Column::text(key.word())];
    columns.extend(Term::ALL.map(|term| Column::number(term.word())));
    columns.push(Column::number("total"));
    let mut table = Table::new(&columns);
    for group in groups {
        table.row(row(name(group), &group.terms));
    }
    if groups.len() > 1 {
        table.row(row("total", terms));
    }
    table
}

/// A group without a name is what no supplier bills: dies and handling.
fn name(group: &Group) -> &str {
    if group.name.is_empty() {
        "(no supplier)"
    } else {
        &group.name
    }
}

/// Amounts that are nothing are blank.
fn row(name: &str, terms: &Terms) -> Vec<String> {
    let amount = |term| match terms.of(term) {
        nothing if nothing == Money::ZERO => String::new(),
        some => some.to_string(),
    };
    let mut row = vec![name.to_owned()];
    row.extend(Term::ALL.map(amount));
    row.push(terms.total().cents().to_string());
    row
}

fn keys(width: usize) -> String {
    let mut lines = String::new();
    let mut told: Vec<&str> = Vec::new();
    for term in Term::ALL {
        let key = term.key();
        if told.contains(&key) {
            continue;
        }
        told.push(key);
        let alike: Vec<&str> = (Term::ALL.into_iter())
            .filter(|other| other.key() == key)
            .map(Term::word)
            .collect();
        lines.push_str(&wrapped(
            &format!("{}: {key}", list(&alike)),
            width,
            "  ",
            "    ",
        ));
        lines.push('\n');
    }
    lines
}

/// What is given up, in words.
pub fn gives_up(ease: &Ease) -> String {
    match ease {
        Ease::Protection { circuit, ip } => format!("{ip} on circuit {circuit}"),
        Ease::Colour { circuit, colour } => format!("{colour} on circuit {circuit}"),
        Ease::Supplier { most } => {
            format!(
                "the limit on suppliers: {most} in place of {}",
                most.saturating_sub(1)
            )
        }
        Ease::Variant { most } => format!(
            "the limit on variants: {most} in place of {}",
            most.saturating_sub(1)
        ),
        Ease::Spares { kind, pieces } => {
            format!("all spares of kind {kind}, {}", counted(*pieces, "piece"))
        }
    }
}

fn savings_text(savings: &Savings, budget: &Budget, width: usize) -> String {
    let mut text = "What would save most, one at a time, each planned again\n".to_owned();
    if savings.found.is_empty() {
        text.push_str("  nothing that was tried\n");
    } else {
        let mut table = Table::new(&[
            Column::number("saves"),
            Column::number("total"),
            Column::text("gives_up").at_least(24),
            Column::text("proof"),
            Column::text("within_limit"),
        ]);
        let spent = budget.plan.spent.cents();
        for saving in &savings.found {
            let within =
                budget
                    .against
                    .map_or("", |a| match spent + saving.total.cents() <= a.available {
                        true => "yes",
                        false => "no",
                    });
            table.row(vec![
                saving.saved.cents().to_string(),
                saving.total.cents().to_string(),
                gives_up(&saving.ease),
                saving_proof(saving).to_owned(),
                within.to_owned(),
            ]);
        }
        text.push_str(&table.text(width));
    }
    for (what, eases) in [
        ("saves nothing", &savings.in_vain),
        ("not told before the search stopped", &savings.untold),
    ] {
        if !eases.is_empty() {
            let names: Vec<String> = eases.iter().map(gives_up).collect();
            text.push_str(&wrapped(
                &format!("{what}: {}", list(&names)),
                width,
                "",
                "  ",
            ));
            text.push('\n');
        }
    }
    text
}

fn saving_proof(saving: &Saving) -> &'static str {
    match saving.is_proven {
        true => "proven",
        false => "at least",
    }
}

/// What rises, in words.
fn what_rises(rising: &Rising, catalog: &Catalog) -> String {
    let percent = rising.rise.percent.0.normalize();
    match rising.rise.of {
        RiseOf::All => format!("all prices rise by {percent} %"),
        RiseOf::Supplier(id) => {
            format!(
                "the prices of {} rise by {percent} %",
                catalog.supplier(id).name
            )
        }
        RiseOf::Kind(kind) => format!("the prices of kind {kind} rise by {percent} %"),
    }
}

fn rising_text(rising: &Rising, budget: &Budget, width: usize) -> String {
    let mut table = Table::new(&[
        Column::text("then"),
        Column::number("total"),
        Column::number("more"),
        Column::text("proof"),
    ]);
    let now = budget.plan.cost.total.cents();
    table.row(vec![
        "now".into(),
        now.to_string(),
        String::new(),
        proof(budget.plan),
    ]);
    let kept = rising.kept.cents();
    table.row(vec![
        "order kept".into(),
        kept.to_string(),
        (kept - now).cents().to_string(),
    ]);
    if let Some(plan) = &rising.again {
        let again = plan.cost.total.cents();
        let more = (again - now).cents().to_string();
        table.row(vec![
            "planned again".into(),
            again.to_string(),
            more,
            proof(plan),
        ]);
    }
    let mut text = format!(
        "If {}\n{}",
        what_rises(rising, budget.catalog),
        table.text(width)
    );
    for (what, parts) in [
        ("leaves", &rising.parts_out),
        ("comes in", &rising.parts_in),
    ] {
        if !parts.is_empty() {
            text.push_str(&wrapped(
                &format!("{what}: {}", list(parts)),
                width,
                "",
                "  ",
            ));
            text.push('\n');
        }
    }
    text
}

/// One row for the whole, each group, each saving and each total after a rise.
pub fn table(budget: &Budget) -> Table {
    let mut columns = vec![Column::text("section"), Column::text("name")];
    columns.extend(Term::ALL.map(|term| Column::number(term.word())));
    columns.extend([
        Column::number("total"),
        Column::number("saves"),
        Column::text("proof"),
    ]);
    let mut table = Table::new(&columns);
    let mut add = |section: &str, cells: Vec<String>| {
        table.row([vec![section.to_owned()], cells].concat());
    };
    let full = |name: &str, terms: &Terms| -> Vec<String> {
        let mut cells = vec![name.to_owned()];
        cells.extend(Term::ALL.map(|term| terms.of(term).cents().to_string()));
        cells.push(terms.total().cents().to_string());
        cells
    };
    add("total", full("", &budget.breakdown.terms));
    for (key, groups) in &budget.breakdown.groups {
        for group in groups {
            add(key.word(), full(name(group), &group.terms));
        }
    }
    let short = |name: String, total: Money, saves: Option<Money>, proof: &str| -> Vec<String> {
        let blank = Term::ALL.map(|_| String::new());
        let saves = saves.map(|m| m.cents().to_string()).unwrap_or_default();
        let tail = [total.cents().to_string(), saves, proof.to_owned()];
        [vec![name], blank.to_vec(), tail.to_vec()].concat()
    };
    for saving in budget.savings.iter().flat_map(|s| &s.found) {
        let proof = saving_proof(saving);
        add(
            "saving",
            short(
                gives_up(&saving.ease),
                saving.total,
                Some(saving.saved),
                proof,
            ),
        );
    }
    if let Some(rising) = budget.rising {
        add("rise", short("order kept".into(), rising.kept, None, ""));
        if let Some(plan) = &rising.again {
            let name = "planned again".to_owned();
            add("rise", short(name, plan.cost.total, None, &proof(plan)));
        }
    }
    table
}

#[derive(Serialize, JsonSchema)]
struct Record<'a> {
    #[schemars(extend("const" = "couplet.budget/1"))]
    schema: &'static str,
    currency: &'a crate::units::Currency,
    status: crate::plan::Status,
    total: Money,
    total_with_tax: Money,
    limit: Option<LimitRecord>,
    terms: TermsRecord,
    keys: Vec<(&'static str, &'static str)>,
    by_circuit: Vec<GroupRecord<'a>>,
    by_kind: Vec<GroupRecord<'a>>,
    by_supplier: Vec<GroupRecord<'a>>,
    by_gauge: Vec<GroupRecord<'a>>,
    savings: Option<SavingsRecord<'a>>,
    rise: Option<RiseRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct LimitRecord {
    limit: Money,
    contingency: Money,
    available: Money,
    left: Money,
}

#[derive(Serialize, JsonSchema)]
struct TermsRecord {
    fitted: Money,
    spare: Money,
    surplus: Money,
    duty: Money,
    shipping: Money,
    dies: Money,
    handling: Money,
    total: Money,
}

#[derive(Serialize, JsonSchema)]
struct GroupRecord<'a> {
    name: &'a str,
    #[serde(flatten)]
    terms: TermsRecord,
}

#[derive(Serialize, JsonSchema)]
struct SavingsRecord<'a> {
    found: Vec<SavingRecord<'a>>,
    in_vain: Vec<String>,
    untold: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct SavingRecord<'a> {
    gives_up: String,
    saves: Money,
    total: Money,
    proven: bool,
    parts_out: &'a [String],
    parts_in: &'a [String],
}

#[derive(Serialize, JsonSchema)]
struct RiseRecord<'a> {
    what: String,
    kept: Money,
    again: Option<Money>,
    again_status: Option<crate::plan::Status>,
    parts_out: &'a [String],
    parts_in: &'a [String],
}

impl From<&Terms> for TermsRecord {
    fn from(terms: &Terms) -> Self {
        Self {
            fitted: terms.of(Term::Fitted),
            spare: terms.of(Term::Spare),
            surplus: terms.of(Term::Surplus),
            duty: terms.of(Term::Duty),
            shipping: terms.of(Term::Shipping),
            dies: terms.of(Term::Dies),
            handling: terms.of(Term::Handling),
            total: terms.total(),
        }
    }
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Record>()
}

/// The budget for a program.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(budget: &Budget) -> Result<String, serde_json::Error> {
    let groups = |key| -> Vec<GroupRecord> {
        let groups = budget.breakdown.groups.get(&key);
        let record = |group| GroupRecord {
            name: name(group),
            terms: TermsRecord::from(&group.terms),
        };
        groups.into_iter().flatten().map(record).collect()
    };
    let record = Record {
        schema: "couplet.budget/1",
        currency: &budget.plan.currency,
        status: budget.plan.status,
        total: budget.plan.cost.total,
        total_with_tax: budget.plan.cost.total_with_tax,
        limit: budget.against.map(|a| LimitRecord {
            limit: a.limit,
            contingency: a.contingency,
            available: a.available,
            left: a.left,
        }),
        terms: TermsRecord::from(&budget.breakdown.terms),
        keys: Term::ALL.map(|term| (term.word(), term.key())).to_vec(),
        by_circuit: groups(Key::Circuit),
        by_kind: groups(Key::Kind),
        by_supplier: groups(Key::Supplier),
        by_gauge: groups(Key::Gauge),
        savings: budget.savings.map(savings_record),
        rise: budget.rising.map(|rising| RiseRecord {
            what: what_rises(rising, budget.catalog),
            kept: rising.kept,
            again: rising.again.as_ref().map(|plan| plan.cost.total),
            again_status: rising.again.as_ref().map(|plan| plan.status),
            parts_out: &rising.parts_out,
            parts_in: &rising.parts_in,
        }),
    };
    serde_json::to_string_pretty(&record).map(|text| text + "\n")
}

fn savings_record(savings: &Savings) -> SavingsRecord<'_> {
    let names = |eases: &[Ease]| eases.iter().map(gives_up).collect();
    let record = |saving| -> SavingRecord {
        let saving: &Saving = saving;
        SavingRecord {
            gives_up: gives_up(&saving.ease),
            saves: saving.saved,
            total: saving.total,
            proven: saving.is_proven,
            parts_out: &saving.parts_out,
            parts_in: &saving.parts_in,
        }
    };
    SavingsRecord {
        found: savings.found.iter().map(record).collect(),
        in_vain: names(&savings.in_vain),
        untold: names(&savings.untold),
    }
}
