//! What a plan comes to, by machine, circuit, kind, supplier and gauge, and what would save.

use super::difference::proof;
use super::plan::verdict;
use super::table::{Column, Table};
use super::wording::{counted, list, wrapped};
use crate::catalog::Catalog;
use crate::plan::{Cost, Plan};
use crate::project::settings::{PROJECT, PURCHASE};
use crate::study::budget::{
    Against, Alone, Apart, Breakdown, Ease, Group, Key, OfMachine, RiseOf, Rising, Saving, Savings,
    Stock, Term, Terms,
};
use crate::units::{Money, Qty, apportion};
use rust_decimal::Decimal;
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
    /// What the machines would cost bought one by one, where that is asked.
    pub apart: Option<&'a Apart>,
}

/// The budget for a reader.
pub fn text(budget: &Budget, width: usize) -> String {
    let mut sections = vec![wrapped(&verdict(budget.plan), width, "", "  ") + "\n"];
    sections.push(wrapped(&against(budget), width, "", "  ") + "\n");
    for (&key, groups) in &budget.breakdown.groups {
        let title = key.word();
        sections.push(format!(
            "By {title}\n{}",
            shares(key, groups, &budget.breakdown.terms).text(width)
        ));
        if key == Key::Machine {
            sections.push(format!(
                "One of each machine\n{}",
                one_of_each(budget).text(width)
            ));
        }
    }
    sections.push(format!(
        "What is shared among {}circuits and gauges, and by what\n{}",
        if budget.breakdown.machines.is_empty() {
            ""
        } else {
            "machines, "
        },
        keys(width)
    ));
    if let Some(savings) = budget.savings {
        sections.push(savings_text(savings, budget, width));
    }
    if let Some(rising) = budget.rising {
        sections.push(rising_text(rising, budget, width));
    }
    if let Some(apart) = budget.apart {
        sections.push(apart_text(apart, width));
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
        let file = match budget.plan.machines.is_empty() {
            true => PROJECT,
            false => PURCHASE,
        };
        return format!("{head}; {file} sets no budget.limit.");
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

/// The machines with the share of one of each. Where the cents do not divide, it is the
/// share of the first.
fn one_of_each(budget: &Budget) -> Table {
    let mut columns = vec![Column::text("machine"), Column::number("built")];
    columns.extend(Term::ALL.map(|term| Column::number(term.word())));
    columns.push(Column::number("total"));
    let mut table = Table::new(&columns);
    for (group, of) in machines(budget) {
        let mut cells = row(&group.name, &of.first);
        cells.insert(1, of.count.to_string());
        table.row(cells);
    }
    table
}

fn machines<'a>(budget: &'a Budget) -> impl Iterator<Item = (&'a Group, &'a OfMachine)> {
    let groups = budget.breakdown.groups.get(&Key::Machine);
    let groups = groups.into_iter().flatten();
    groups.zip(&budget.breakdown.machines)
}

/// A row for each machine, and rows for all of them apart and together.
fn apart_rows(apart: &Apart) -> Table {
    let mut columns = vec![Column::text("bought"), Column::number("built")];
    let terms = apart.together.cost.terms();
    columns.extend(terms.map(|(name, _)| Column::number(name)));
    columns.extend([
        Column::number("total"),
        Column::number("one"),
        Column::text("proof"),
    ]);
    let mut table = Table::new(&columns);
    let amounts = |cost: &Cost| -> Vec<String> {
        let terms = in_cents(cost).into_iter().map(|(_, amount)| amount);
        let amounts = terms.chain([cost.total.cents()]);
        amounts.map(|amount| amount.to_string()).collect()
    };
    for alone in &apart.machines {
        let mut cells = vec![alone.machine.clone(), alone.count.to_string()];
        match alone.plan.as_ref().zip(alone.cost()) {
            Some((plan, cost)) => {
                cells.extend(amounts(&cost));
                cells.extend([plan.cost.total.cents().to_string(), proof(plan)]);
            }
            None => {
                cells.extend(vec![String::new(); terms.len() + 2]);
                cells.push(why_none(alone).to_owned());
            }
        }
        table.row(cells);
    }
    let blank = String::new;
    if let Some(cost) = &apart.one_by_one {
        let head = vec!["one by one".to_owned(), blank()];
        table.row([head, amounts(cost), vec![blank(), blank()]].concat());
    }
    let together = &apart.together;
    let head = vec!["together".to_owned(), blank()];
    let tail = vec![blank(), proof(together)];
    table.row([head, amounts(&together.cost), tail].concat());
    table
}

/// The terms as they are shown: they add up to the total that is shown.
fn in_cents(cost: &Cost) -> Vec<(&'static str, Money)> {
    let terms = cost.terms();
    let amounts = apportion(&terms.map(|(_, amount)| amount));
    (terms.iter().map(|(name, _)| *name)).zip(amounts).collect()
}

fn why_none(alone: &Alone) -> &'static str {
    match alone.is_impossible {
        true => "can't be bought alone",
        false => "no plan in time",
    }
}

/// How much less all together cost, in words; nothing where that is not known.
fn saved(apart: &Apart) -> Option<String> {
    let one_by_one = apart.one_by_one.as_ref()?.total;
    let saved = apart.saved()?.cents();
    let currency = &apart.together.currency;
    if !one_by_one.is_positive() {
        return None;
    }
    let percent = (saved.0 / one_by_one.0 * Decimal::ONE_HUNDRED).round_dp(1);
    Some(match saved < Money::ZERO {
        true => format!(
            "Together they cost {} {currency} more.",
            (Money::ZERO - saved).cents()
        ),
        false => format!("Together they cost {saved} {currency} less, {percent} %."),
    })
}

fn apart_text(apart: &Apart, width: usize) -> String {
    let mut text = format!(
        "Bought one by one, each with packs, spares and shipping of its own, each die once\n{}",
        apart_rows(apart).text(width)
    );
    let mut add = |line: &str| {
        text.push_str(&wrapped(line, width, "", "  "));
        text.push('\n');
    };
    if let Some(saved) = saved(apart) {
        add(&saved);
    }
    let twice = apart.dies_counted_once();
    if twice.is_positive() {
        add(&format!(
            "Crimp dies that several machines need are counted once in \"one by one\": {} less \
             than in the rows.",
            twice.cents()
        ));
    }
    match apart.stock {
        Stock::None => {}
        Stock::LeftOut => {
            add("Nothing counts as on hand or ordered here, neither for one machine nor together.");
        }
        Stock::Together => add(
            "What is on hand and ordered counts for all together alone: without it there is no \
             plan for them.",
        ),
    }
    text
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

/// One row for the whole, each group, each saving and each total after a rise. Where the
/// machines are bought one by one, there is a column for all goods, since there the goods are
/// not divided.
pub fn table(budget: &Budget) -> Table {
    let mut columns = vec![Column::text("section"), Column::text("name")];
    columns.extend(Term::ALL.map(|term| Column::number(term.word())));
    let has_goods = budget.apart.is_some();
    columns.extend(has_goods.then(|| Column::number("goods")));
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
        let goods = || [Term::Fitted, Term::Spare, Term::Surplus].map(|term| terms.of(term));
        let goods = || goods().into_iter().sum::<Money>().cents().to_string();
        cells.extend(has_goods.then(goods));
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
        let blank = vec![String::new(); Term::ALL.len() + usize::from(has_goods)];
        let saves = saves.map(|m| m.cents().to_string()).unwrap_or_default();
        let tail = [total.cents().to_string(), saves, proof.to_owned()];
        [vec![name], blank, tail.to_vec()].concat()
    };
    let bought = |name: String, cost: &Cost, saves: Option<Money>, proof: &str| -> Vec<String> {
        let mut cells = short(name, cost.total, saves, proof);
        for (term, amount) in in_cents(cost) {
            let heads = Term::ALL.map(Term::word).into_iter().chain(["goods"]);
            let head = ["name"]
                .into_iter()
                .chain(heads)
                .position(|head| head == term);
            if let Some(cell) = head.and_then(|place| cells.get_mut(place)) {
                *cell = amount.to_string();
            }
        }
        cells
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
    for (group, of) in machines(budget) {
        add("one of a machine", full(&group.name, &of.first));
    }
    if let Some(apart) = budget.apart {
        for alone in &apart.machines {
            if let Some(plan) = &alone.plan {
                let name = alone.machine.clone();
                let cells = bought(name, &plan.cost, None, &proof(plan));
                add("one bought alone", cells);
            }
            if let Some(cost) = alone.cost() {
                let name = alone.machine.clone();
                add("all bought alone", bought(name, &cost, None, ""));
            }
        }
        let together = &apart.together;
        if let Some(cost) = &apart.one_by_one {
            add("apart", bought("one by one".into(), cost, None, ""));
        }
        let name = "together".to_owned();
        let cells = bought(name, &together.cost, apart.saved(), &proof(together));
        add("apart", cells);
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
    /// The machines of a purchase; absent in a project.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    by_machine: Vec<MachineRecord<'a>>,
    by_circuit: Vec<GroupRecord<'a>>,
    by_kind: Vec<GroupRecord<'a>>,
    by_supplier: Vec<GroupRecord<'a>>,
    by_gauge: Vec<GroupRecord<'a>>,
    savings: Option<SavingsRecord<'a>>,
    rise: Option<RiseRecord<'a>>,
    /// The machines bought one by one; absent where that is not asked.
    #[serde(skip_serializing_if = "Option::is_none")]
    apart: Option<ApartRecord<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct MachineRecord<'a> {
    name: &'a str,
    count: Qty,
    #[serde(flatten)]
    terms: TermsRecord,
    /// The share of the first one.
    first: TermsRecord,
    /// The share of the last one: where cents do not divide, less than that of the first.
    last: TermsRecord,
}

#[derive(Serialize, JsonSchema)]
struct ApartRecord<'a> {
    machines: Vec<AloneRecord<'a>>,
    /// All of them one by one, each die once; null where one of them has no plan.
    one_by_one: Option<Money>,
    /// What makes it up; null where one of them has no plan.
    one_by_one_terms: Option<CostRecord>,
    together: Money,
    /// What makes it up.
    together_terms: CostRecord,
    together_status: crate::plan::Status,
    /// No plan for all together costs less than this.
    together_bound: Money,
    /// What becomes of what is on hand and ordered: `none` where there is nothing,
    /// `left_out` where it counts for no one, `together` where it counts for all together
    /// alone, since they have no plan without it.
    stock: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct AloneRecord<'a> {
    machine: &'a str,
    count: Qty,
    /// One by itself; null where there is no plan.
    one: Option<Money>,
    /// What makes it up; null where there is no plan.
    one_terms: Option<CostRecord>,
    /// All of them one by one, with the dies of one; null where there is no plan.
    all_terms: Option<CostRecord>,
    status: Option<crate::plan::Status>,
    /// No plan for one by itself costs less than this.
    bound: Option<Money>,
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

/// The terms of a total whose goods are not divided, before tax.
#[derive(Serialize, JsonSchema)]
struct CostRecord {
    goods: Money,
    duty: Money,
    shipping: Money,
    dies: Money,
    handling: Money,
    total: Money,
}

impl From<&Cost> for CostRecord {
    fn from(cost: &Cost) -> Self {
        Self {
            goods: cost.goods,
            duty: cost.duty,
            shipping: cost.shipping,
            dies: cost.dies,
            handling: cost.lines,
            total: cost.total,
        }
    }
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
        by_machine: machines(budget)
            .map(|(group, of)| MachineRecord {
                name: &group.name,
                count: of.count,
                terms: TermsRecord::from(&group.terms),
                first: TermsRecord::from(&of.first),
                last: TermsRecord::from(&of.last),
            })
            .collect(),
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
        apart: budget.apart.map(apart_record),
    };
    serde_json::to_string_pretty(&record).map(|text| text + "\n")
}

fn apart_record(apart: &Apart) -> ApartRecord<'_> {
    let record = |alone| -> AloneRecord {
        let alone: &Alone = alone;
        let plan = alone.plan.as_ref();
        AloneRecord {
            machine: &alone.machine,
            count: alone.count,
            one: plan.map(|plan| plan.cost.total),
            one_terms: plan.map(|plan| (&plan.cost).into()),
            all_terms: alone.cost().as_ref().map(CostRecord::from),
            status: plan.map(|plan| plan.status),
            bound: plan.map(|plan| plan.total_bound),
        }
    };
    ApartRecord {
        machines: apart.machines.iter().map(record).collect(),
        one_by_one: apart.one_by_one.as_ref().map(|cost| cost.total),
        one_by_one_terms: apart.one_by_one.as_ref().map(CostRecord::from),
        together: apart.together.cost.total,
        together_terms: (&apart.together.cost).into(),
        together_status: apart.together.status,
        together_bound: apart.together.total_bound,
        stock: match apart.stock {
            Stock::None => "none",
            Stock::LeftOut => "left_out",
            Stock::Together => "together",
        },
    }
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
