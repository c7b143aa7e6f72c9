//! The report: everything that is to be known of a plan, on one page.

use super::chart::{self, Bars, Frontier, Plot};
use super::{Frame, Grid, PageError, keying};
use crate::catalog::{BUILT_IN, Catalog, Kind};
use crate::fit::Side;
use crate::input::Input;
use crate::plan::{EndRecord, Order, OrderLine, PartRecord, Plan, dies_to_buy};
use crate::project::Per;
use crate::report::drawing::{Drawing, Sheet, drawing};
use crate::report::table::{Column, Table};
use crate::report::wording::{counted, plain};
use crate::report::{asked, labels, order, plan as words, surplus};
use crate::study::cables::{Cable, CableEnd};
use crate::study::keys::KeyMap;
use crate::study::offers;
use crate::units::Qty;
use askama::Template;
use std::collections::BTreeMap;

/// What a report is made from.
pub struct Report<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The project that the plan is for.
    pub input: &'a Input,
    /// Its cables.
    pub cables: &'a [Cable<'a>],
    /// Files that are not as when the plan was made.
    pub changed: &'a [String],
    /// Its keying map; in a purchase that of each machine.
    pub keys: &'a [KeyMap],
    /// What fewer variants would cost, where that has been computed.
    pub frontier: Option<&'a Frontier>,
}

#[derive(Template)]
#[template(path = "report.html")]
struct Page {
    frame: Frame,
    verdict: String,
    total: String,
    with_tax: Option<String>,
    facts: Vec<(&'static str, String)>,
    bars: Bars,
    dies: Vec<String>,
    plot: Option<Plot>,
    orders: Vec<Grid>,
    machines: Vec<Drawn>,
    circuits: Grid,
    keying: Grid,
    keys_left: Grid,
    interchange: Option<Grid>,
    interchanges: Vec<String>,
    keying_rules: Vec<String>,
    parts: Grid,
    inputs: Grid,
    caution: &'static str,
}

/// A machine as it is drawn.
struct Drawn {
    /// Its name, with how often it is built; empty in a project.
    name: String,
    /// The end of the ids of its drawing.
    id: String,
    drawing: Drawing,
    sheets: Vec<Sheet>,
}

impl Page {
    /// True if some drawing wants a lying sheet.
    fn is_wide(&self) -> bool {
        self.machines.iter().any(|of| of.drawing.is_wide())
    }
}

/// A drawing for each machine.
fn drawn(report: &Report) -> Vec<Drawn> {
    let names = report.plan.machines.iter();
    let mut of: Vec<(&str, String)> = names
        .map(|of| (of.machine.as_str(), plain(&words::built(of))))
        .collect();
    if of.is_empty() {
        of.push(("", String::new()));
    }
    let all = of.into_iter().enumerate();
    all.map(|(place, (machine, name))| {
        let own = report.cables.iter().filter(|c| c.machine == machine);
        let drawing = drawing(&own.cloned().collect::<Vec<Cable>>());
        Drawn {
            name,
            id: match place {
                0 => String::new(),
                place => format!("-{}", place + 1),
            },
            sheets: drawing.sheets(),
            drawing,
        }
    })
    .collect()
}

/// The report as a page.
///
/// # Errors
/// The error of the template; in memory there is none.
pub fn report(report: &Report) -> Result<String, PageError> {
    let (plan, input) = (report.plan, report.input);
    let cost = &plan.cost;
    let page = Page {
        frame: Frame::new("Plan", &plan.project, report.changed),
        verdict: if plan.ends.is_empty() {
            words::nothing(input).to_owned()
        } else {
            words::verdict(plan)
        },
        total: format!("{} {}", cost.total.cents(), plan.currency),
        with_tax: (cost.tax != crate::units::Money::ZERO)
            .then(|| format!("{} {}", cost.total_with_tax.cents(), plan.currency)),
        facts: facts(report),
        bars: chart::bars(cost, &plan.currency),
        dies: dies(plan, input),
        plot: (report.frontier).and_then(|f| chart::plot(f, plan.parts.len() as u64)),
        orders: orders(plan, &input.catalog),
        machines: drawn(report),
        circuits: Grid::new(
            "ends",
            "Each end with its pair, key and fittings",
            &circuits(report.cables, &input.catalog),
        ),
        keying: Grid::new(
            "keys",
            "Interface and key of each net",
            &keying::keys(report.keys),
        ),
        keys_left: Grid::new(
            "keys-left",
            "Keys left at each location, and what holding every plug against every other receptacle there came to",
            &keying::left(report.keys),
        ),
        interchange: keying::interchange(report.keys).map(|table| {
            Grid::new(
                "interchange",
                "Plugs of different circuits of one net that interchange",
                &table,
            )
        }),
        interchanges: keying::summary(report.keys),
        keying_rules: keying::rules(input, report.keys),
        parts: Grid::new(
            "part-list",
            "What is fitted, spare and bought",
            &parts(plan, input),
        ),
        inputs: Grid::new("files", "Files that were read", &inputs(plan, input)),
        caution: words::CAUTION,
    };
    page.render()
}

fn facts(report: &Report) -> Vec<(&'static str, String)> {
    let plan = report.plan;
    let number = |n: usize, noun| counted(n as u64, noun);
    // Each cable and each end is there once for each copy of its machine.
    let copies = |cable: &Cable| cable.circuit.copies;
    let circuits: BTreeMap<&str, Qty> = (report.cables.iter())
        .map(|cable| (cable.circuit.name.as_str(), copies(cable)))
        .collect();
    let cables: Qty = report.cables.iter().map(copies).sum();
    let pairs: Qty = plan.ends.iter().map(|end| plan.copies(end)).sum();
    let mut facts = Vec::new();
    if !plan.machines.is_empty() {
        facts.push(("Machines", plain(&words::machines(plan))));
    }
    facts.extend([
        (
            "Size",
            format!(
                "{}, {}, {}",
                counted(circuits.values().sum(), "circuit"),
                counted(cables, "cable"),
                counted(pairs, "mated pair")
            ),
        ),
        ("Variants", number(plan.parts.len(), "distinct part")),
        ("Orders", number(plan.orders.len(), "supplier")),
    ]);
    if plan.spent != crate::units::Money::ZERO {
        let both = plan.cost.total.cents() + plan.spent.cents();
        facts.push((
            "Ordered already",
            format!(
                "{} {}, with the total {}",
                plan.spent.cents(),
                plan.currency,
                both.cents()
            ),
        ));
    }
    if let Some(day) = plan.as_of {
        facts.push(("Prices as of", day.to_string()));
    }
    facts
}

/// The dies that are paid for, with their price.
fn dies(plan: &Plan, input: &Input) -> Vec<String> {
    let die = |id| input.catalog.die(id);
    (dies_to_buy(input, plan).into_iter().map(die))
        .map(|die| format!("{} {} {}", die.name, die.cost.cents(), plan.currency))
        .collect()
}

fn orders(plan: &Plan, catalog: &Catalog) -> Vec<Grid> {
    let grids = plan.orders.iter().enumerate().map(|(n, order)| {
        let note = |line: &OrderLine| order::note(order, line, catalog);
        let has_notes = order.lines.iter().any(|line| !note(line).is_empty());
        let mut columns = vec![
            Column::text("part"),
            Column::text("description"),
            Column::text("sku"),
        ];
        columns.extend(has_notes.then(|| Column::text("note")));
        columns.extend([
            Column::number("qty"),
            Column::number("packs"),
            Column::text("quoted"),
            Column::number("unit_price"),
            Column::number("amount"),
        ]);
        let mut table = Table::new(&columns);
        let shown = order::Shown::of(order);
        for (line, amount) in order.lines.iter().zip(&shown.lines) {
            let mut row = vec![
                line.part.clone(),
                order::description(catalog, &line.part),
                line.sku.clone(),
            ];
            row.extend(has_notes.then(|| note(line)));
            row.extend([
                line.qty.to_string(),
                line.packs.to_string(),
                quoted(catalog, order, line),
                line.unit_price.to_string(),
                amount.to_string(),
            ]);
            table.row(row);
        }
        let sums = shown.sums().into_iter();
        let sums = sums.map(|(name, amount)| (name.to_owned(), amount.to_string()));
        let caption = match order::supplier_note(order, catalog) {
            "" => format!("{}, in {}", order.supplier, order.currency),
            note => format!("{}, in {} ({note})", order.supplier, order.currency),
        };
        Grid::new(format!("order-{n}"), caption, &table).with_sums(sums.collect())
    });
    grids.collect()
}

/// The day of the quote that an order line was priced from, where it has one.
fn quoted(catalog: &Catalog, order: &Order, line: &OrderLine) -> String {
    let offer = offers::offer(catalog, &order.supplier, &line.part, &line.sku);
    let day = offer.and_then(|(_, offer)| offer.break_at(line.qty)?.quoted);
    day.map(|day| day.to_string()).unwrap_or_default()
}

/// Branches, notes and what is wanted of attributes have a column where any circuit has
/// one.
fn circuits(cables: &[Cable], catalog: &Catalog) -> Table {
    let has_machines = cables.iter().any(|cable| !cable.machine.is_empty());
    let mut columns = Vec::new();
    columns.extend(has_machines.then(|| Column::text("machine")));
    columns.extend([
        Column::text("circuit"),
        Column::number("no."),
        Column::text("net"),
        Column::text("end"),
        Column::text("gauge"),
        Column::text("interface_and_key"),
        Column::text("receptacle"),
        Column::text("plug"),
        Column::text("fittings"),
    ]);
    let own = |cable: &Cable, end: &CableEnd| {
        let terminal = match end.side {
            Side::From => &cable.circuit.from,
            Side::To => &cable.circuit.to,
        };
        let wants = asked::wants(catalog, &terminal.wants);
        [
            cable.circuit.branch.clone(),
            wants,
            cable.circuit.note.clone(),
        ]
    };
    let all = || {
        cables
            .iter()
            .flat_map(|cable| cable.ends.iter().map(move |end| own(cable, end)))
    };
    let is_there = [0, 1, 2].map(|place| all().any(|own| !own[place].is_empty()));
    let names = ["branch", "wanted", "note"].into_iter().zip(is_there);
    columns.extend(
        names
            .filter(|(_, there)| *there)
            .map(|(name, _)| Column::text(name)),
    );
    let mut table = Table::new(&columns);
    for cable in cables {
        for end in &cable.ends {
            let mut row = Vec::new();
            row.extend(has_machines.then(|| cable.machine.to_owned()));
            row.extend([
                cable.name.to_owned(),
                cable.number.to_string(),
                cable.net.clone(),
                format!("{} {}", end.side.word(), end.location),
                cable.circuit.gauge.to_string(),
            ]);
            match end.pair {
                None => {
                    row.push("no connector".to_owned());
                    row.extend([String::new(), String::new(), String::new()]);
                }
                Some(pair) => row.extend([
                    labels::mating(pair),
                    pair.receptacle
                        .clone()
                        .unwrap_or_else(|| BUILT_IN.to_owned()),
                    pair.plug.clone(),
                    fittings(pair),
                ]),
            }
            let own = own(cable, end).into_iter().zip(is_there);
            row.extend(own.filter(|(_, there)| *there).map(|(cell, _)| cell));
            table.row(row);
        }
    }
    table
}

/// `F-70, S-8, 2 × B-8`, with the half where the receptacle takes some too.
fn fittings(pair: &EndRecord) -> String {
    let on = |half: &str| {
        let pieces: Vec<String> = pair
            .fittings
            .iter()
            .filter(|f| f.half == half)
            .map(crate::report::ends::pieces)
            .collect();
        // No line begins with the sign, since the spaces do not break.
        pieces.join(", ").replace(" × ", "\u{a0}×\u{a0}")
    };
    let (receptacle, plug) = (on("receptacle"), on("plug"));
    match (receptacle.as_str(), plug.as_str()) {
        ("", _) => plug,
        (_, "") => format!("receptacle: {receptacle}"),
        _ => format!("receptacle: {receptacle}; plug: {plug}"),
    }
}

/// Each row adds up: fitted and spare are what is used of the stock on hand and
/// of what is ordered, and bought, without the surplus.
fn parts(plan: &Plan, input: &Input) -> Table {
    let mut columns = vec![
        Column::text("part"),
        Column::text("kind"),
        Column::number("fitted"),
        Column::number("spare"),
        Column::number("on_hand_used"),
        Column::number("ordered_used"),
        Column::number("bought"),
        Column::number("surplus"),
        Column::text("why_more_than_fitted"),
    ];
    let asked = input.attributes_in_use();
    let has = |part: &PartRecord| asked::has(&input.catalog, &part.part, &asked);
    let is_any = plan.parts.iter().any(|part| !has(part).is_empty());
    columns.extend(is_any.then(|| Column::text("attributes")));
    let mut table = Table::new(&columns);
    for part in &plan.parts {
        let mut row = vec![
            part.part.clone(),
            part.kind.clone(),
            part.fitted.to_string(),
            some(part.spare),
            some(part.on_hand_used),
            some(part.ordered_used),
            some(part.bought),
            some(part.surplus),
            reasons(plan, input, part),
        ];
        row.extend(is_any.then(|| has(part)));
        table.row(row);
    }
    table
}

fn some(qty: crate::units::Qty) -> String {
    if qty == 0 {
        return String::new();
    }
    qty.to_string()
}

fn reasons(plan: &Plan, input: &Input, part: &PartRecord) -> String {
    let rule = Kind::from_word(&part.kind).and_then(|kind| input.settings.spares.get(&kind));
    let mut reasons: Vec<String> = Vec::new();
    if let Some(rule) = rule.filter(|_| part.spare > 0) {
        let per = match rule.per {
            Per::Gauge => "for each gauge",
            Per::Part => "for the part",
        };
        let percent = rule.percent.0.normalize();
        reasons.push(match (percent.is_zero(), rule.minimum) {
            (true, minimum) => format!("spare: {minimum} {per}"),
            (false, 0) => format!("spare: {percent} % {per}"),
            (false, minimum) => format!("spare: {percent} % {per}, at least {minimum}"),
        });
    }
    let surplus = surplus::why(&input.catalog, plan, part);
    let surplus: Vec<String> = surplus.iter().map(ToString::to_string).collect();
    if !surplus.is_empty() {
        reasons.push(format!("surplus: {}", surplus.join("; ")));
    }
    reasons.join(". ")
}

/// Each file with its hash; the price list with the days of its quotes.
fn inputs(plan: &Plan, input: &Input) -> Table {
    let mut table = Table::new(&[
        Column::text("file"),
        Column::text("dates"),
        Column::text("sha256"),
    ]);
    for file in &plan.inputs {
        table.row(vec![
            file.file.clone(),
            quotes(&input.catalog, &file.file),
            file.sha256.clone(),
        ]);
    }
    table
}

/// First and last day of the quotes in a file. The record names files from the
/// project folder and a row from where the program runs, so the last part of
/// the path tells: a project reads one price list.
fn quotes(catalog: &Catalog, file: &str) -> String {
    let last = |path: &str| path.rsplit('/').next().map(str::to_owned);
    let breaks = catalog.offers.iter().flat_map(|offer| &offer.breaks);
    let here = breaks.filter(|b| last(&b.row.file) == last(file));
    let mut days: Vec<_> = here.filter_map(|b| b.quoted).collect();
    days.sort();
    match (days.first(), days.last()) {
        (Some(first), Some(last)) if first == last => format!("quoted {first}"),
        (Some(first), Some(last)) => format!("quoted {first} to {last}"),
        _ => String::new(),
    }
}
