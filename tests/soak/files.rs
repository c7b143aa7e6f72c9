//! An input as the files that it could have been read from.

use couplet::catalog::{Attribute, Fitting, Kind, Spec};
use couplet::convert::{self, Grid};
use couplet::diag::Findings;
use couplet::input::Input;
use couplet::project::{Cable, Circuit, Distinct, Machine, Per, Settings, Terminal};
use couplet::source::Source;
use couplet::units::Implied;
use fastrand::Rng;
use std::collections::BTreeSet;
use std::fmt::{Display, Write as _};
use std::fs;
use std::path::Path;

/// How files are written.
pub struct Style {
    pub separator: char,
    /// A byte-order mark.
    pub mark: bool,
    pub ending: &'static str,
    /// The columns in another order.
    pub turned: bool,
    /// The catalog as a workbook.
    pub is_book: bool,
}

/// Rows of text; the first has the names of the columns.
type Table = Vec<Vec<String>>;

/// Writes the project with its catalog.
pub fn write(folder: &Path, input: &Input, style: &Style, rng: &mut Rng) {
    fs::create_dir_all(folder.join("catalog")).unwrap();
    let catalog = tables(input);
    // As it is, for what needs a price list that is easy to change.
    fs::write(
        folder.join("catalog/plain.txt"),
        csv(catalog[4].1.clone(), ',', "\n"),
    )
    .unwrap();
    let grids: Vec<Grid> = catalog
        .iter()
        .map(|(name, table)| grid(name, table))
        .collect();
    if style.is_book {
        let book = convert::workbook(&grids).unwrap();
        fs::write(folder.join("catalog.xlsx"), book).unwrap();
    } else {
        for (name, table) in catalog {
            let file = folder.join(format!("catalog/{name}.csv"));
            fs::write(file, styled(table, style, rng)).unwrap();
        }
    }
    let place = if style.is_book {
        "catalog.xlsx"
    } else {
        "catalog"
    };
    let put = |folder: &Path, file: &str, text: String| {
        fs::create_dir_all(folder).unwrap();
        fs::write(folder.join(file), text).unwrap();
    };
    if input.machines.is_empty() {
        put(folder, "project.toml", settings(input, None, place));
        let rows = styled(circuits(input, 0), style, rng);
        put(folder, "circuits.csv", rows);
    } else {
        put(folder, "purchase.toml", purchase(input, place));
    }
    for (number, machine) in input.machines.iter().enumerate() {
        let own = folder.join(&machine.project);
        let text = settings(input, Some(machine), &format!("../p/{place}"));
        put(&own, "project.toml", text);
        let rows = styled(circuits(input, number), style, rng);
        put(&own, "circuits.csv", rows);
    }
    if !input.on_hand.is_empty() {
        fs::write(
            folder.join("on_hand.csv"),
            styled(on_hand(input), style, rng),
        )
        .unwrap();
    }
    if !input.dies_ordered.is_empty() {
        fs::write(
            folder.join("dies_ordered.csv"),
            styled(dies_ordered(input), style, rng),
        )
        .unwrap();
    }
}

/// The price list of a project that was written here, with commas.
pub fn prices(folder: &Path) -> String {
    fs::read_to_string(folder.join("catalog/plain.txt")).unwrap()
}

fn grid(name: &str, table: &Table) -> Grid {
    let text = csv(table.clone(), ',', "\n");
    let mut findings = Findings::default();
    let file = format!("{name}.csv").as_str().into();
    let source = Source::from_bytes(&file, text.into_bytes(), &mut findings).unwrap();
    convert::read(name, &source, &mut findings).unwrap_or_else(|| panic!("{findings:?}"))
}

fn styled(mut table: Table, style: &Style, rng: &mut Rng) -> String {
    if style.turned {
        let by = rng.usize(..table[0].len());
        table.iter_mut().for_each(|row| row.rotate_left(by));
    }
    let mut text = String::from(if style.mark { "\u{feff}" } else { "" });
    if rng.bool() {
        write!(text, "# invented{}{}", style.ending, style.ending).unwrap();
    }
    text + &csv(table, style.separator, style.ending)
}

fn csv(table: Table, separator: char, ending: &str) -> String {
    let quoted = |field: String| {
        // Where commas do not separate, they are the decimal sign.
        let is_number = field.parse::<f64>().is_ok() && field.contains('.');
        let field = if separator != ',' && is_number {
            field.replace('.', ",")
        } else {
            field
        };
        if field.contains([separator, '"']) {
            format!("\"{}\"", field.replace('"', "\"\""))
        } else {
            field
        }
    };
    let rows = table.into_iter().map(|row| {
        let fields: Vec<String> = row.into_iter().map(quoted).collect();
        fields.join(&separator.to_string()) + ending
    });
    rows.collect()
}

fn maybe<T: Display>(value: Option<T>) -> String {
    value.map(|v| v.to_string()).unwrap_or_default()
}

fn header(columns: &str) -> Table {
    vec![columns.split_whitespace().map(str::to_owned).collect()]
}

fn tables(input: &Input) -> Vec<(&'static str, Table)> {
    let mut bodies = header(
        "part description half interface key poles rated_a rated_v rated_c max_c attach exit \
         barrel rear ip colour includes min_mm2 max_mm2 min_od_mm max_od_mm",
    );
    let mut ferrules = header("part description barrel min_mm2 max_mm2 die");
    let mut seals = header("part description rear min_od_mm max_od_mm ip");
    let mut shells = header("part description rear exit max_od_mm colour pieces");
    for (table, kinds) in [
        (&mut bodies, &[Kind::Plug, Kind::Receptacle][..]),
        (&mut ferrules, &[Kind::Ferrule]),
        (&mut seals, &[Kind::Seal]),
        (&mut shells, &[Kind::BackShell]),
    ] {
        table[0].extend(
            asked(input, kinds)
                .into_iter()
                .map(|(_, a)| a.name.to_string()),
        );
        table[0].push("note".to_owned());
    }
    for part in &input.catalog.parts {
        let mut row = vec![part.code.clone(), part.description.clone()];
        let kinds = match part.kind() {
            Kind::Plug | Kind::Receptacle => &[Kind::Plug, Kind::Receptacle][..],
            Kind::Ferrule => &[Kind::Ferrule],
            Kind::Seal => &[Kind::Seal],
            Kind::BackShell => &[Kind::BackShell],
        };
        let values = asked(input, kinds).into_iter();
        let mut own: Vec<String> = values
            .map(|(at, _)| maybe(part.values[at].as_ref()))
            .collect();
        own.push(part.note.clone());
        match &part.spec {
            Spec::Body(b) => {
                let includes: Vec<&str> = b.includes.iter().copied().map(Fitting::word).collect();
                row.extend([
                    b.half.to_string(),
                    b.interface.clone(),
                    b.key.clone(),
                    b.poles.to_string(),
                    b.rated_a.0.to_string(),
                    b.rated_v.0.to_string(),
                    maybe(b.rated_c.map(|c| c.0)),
                    maybe(b.max_c.map(|c| c.0)),
                    b.attach.clone(),
                    maybe(b.exit),
                    maybe(b.barrel.as_ref()),
                    maybe(b.rear.as_ref()),
                    maybe(b.ip.as_ref()),
                    maybe(b.colour.as_ref()),
                    includes.join(" "),
                    maybe(b.min_mm2.map(|a| a.0)),
                    maybe(b.max_mm2.map(|a| a.0)),
                    maybe(b.min_od.map(|d| d.0)),
                    maybe(b.max_od.map(|d| d.0)),
                ]);
                row.extend(own);
                bodies.push(row);
            }
            Spec::Ferrule(f) => {
                let (min, max) = (f.min_mm2.0.to_string(), f.max_mm2.0.to_string());
                row.extend([f.barrel.clone(), min, max, maybe(f.die_name.as_ref())]);
                row.extend(own);
                ferrules.push(row);
            }
            Spec::Seal(s) => {
                let (min, max) = (s.min_od.0.to_string(), s.max_od.0.to_string());
                row.extend([s.rear.clone(), min, max, maybe(s.ip.as_ref())]);
                row.extend(own);
                seals.push(row);
            }
            Spec::BackShell(s) => {
                let (od, pieces) = (s.max_od.0.to_string(), s.pieces.to_string());
                let colour = maybe(s.colour.as_ref());
                row.extend([s.rear.clone(), maybe(s.exit), od, colour, pieces]);
                row.extend(own);
                shells.push(row);
            }
        }
    }
    let mut tables = vec![
        ("bodies", bodies),
        ("ferrules", ferrules),
        ("seals", seals),
        ("backshells", shells),
        ("prices", offers(input)),
        ("suppliers", suppliers(input)),
        ("dies", dies(input)),
    ];
    let rated = ratings(input);
    tables.extend((rated.len() > 1).then_some(("ratings", rated)));
    let own = attributes(input);
    tables.extend((own.len() > 1).then_some(("attributes", own)));
    tables
}

/// The attributes that are asked of any of these kinds, each with its place.
fn asked<'i>(input: &'i Input, kinds: &[Kind]) -> Vec<(usize, &'i Attribute)> {
    let all = input.catalog.attributes.iter().enumerate();
    all.filter(|(_, a)| kinds.iter().any(|kind| a.on.contains(kind)))
        .collect()
}

fn attributes(input: &Input) -> Table {
    let mut rows = header("attribute on holds if_empty description note");
    for a in &input.catalog.attributes {
        let on: Vec<&str> = a.on.iter().map(|kind| kind.word()).collect();
        rows.push(vec![
            a.name.to_string(),
            on.join(" "),
            a.holds.word().to_owned(),
            a.if_empty.word().to_owned(),
            a.description.clone(),
            a.note.clone(),
        ]);
    }
    rows
}

fn ratings(input: &Input) -> Table {
    let mut rows = header("part min_mm2 max_mm2 rated_a");
    for part in &input.catalog.parts {
        for rating in part.body().map_or(&[][..], |body| &body.ratings) {
            rows.push(vec![
                part.code.clone(),
                rating.min_mm2.0.to_string(),
                rating.max_mm2.0.to_string(),
                rating.rated_a.0.to_string(),
            ]);
        }
    }
    rows
}

fn offers(input: &Input) -> Table {
    let mut rows =
        header("part supplier sku currency min_qty unit_price pack stock lead_days quoted");
    for offer in &input.catalog.offers {
        let supplier = input.catalog.supplier(offer.supplier);
        for step in &offer.breaks {
            rows.push(vec![
                input.catalog.part(offer.part).code.clone(),
                supplier.name.clone(),
                offer.sku.clone(),
                supplier.currency.to_string(),
                step.min_qty.to_string(),
                step.unit_price.0.to_string(),
                offer.pack.to_string(),
                maybe(offer.stock),
                maybe(offer.lead_days),
                maybe(step.quoted),
            ]);
        }
    }
    rows
}

fn suppliers(input: &Input) -> Table {
    let mut rows = header("supplier currency shipping free_over min_order duty_percent");
    for s in &input.catalog.suppliers {
        rows.push(vec![
            s.name.clone(),
            s.currency.to_string(),
            s.shipping.0.to_string(),
            maybe(s.free_over.map(|m| m.0)),
            maybe(s.min_order.map(|m| m.0)),
            s.duty_percent.0.to_string(),
        ]);
    }
    rows
}

fn dies(input: &Input) -> Table {
    let mut rows = header("die description cost owned");
    for die in &input.catalog.dies {
        let owned = if die.owned { "yes" } else { "no" };
        let (name, cost) = (die.name.clone(), die.cost.0.to_string());
        rows.push(vec![name, die.description.clone(), cost, owned.to_owned()]);
    }
    rows
}

/// The circuits of a machine, or of the project.
fn circuits(input: &Input, machine: usize) -> Table {
    let mut rows = header(
        "circuit conductors cable from to current_a voltage_v gauge cable_od_mm from_attach \
         to_attach from_exit to_exit ip colour from_key to_key from_interface to_interface \
         branch note",
    );
    for attribute in &input.catalog.attributes {
        rows[0].extend([
            format!("from_{}", attribute.name),
            format!("to_{}", attribute.name),
        ]);
    }
    let attach = |end: &Terminal| end.attach.clone().unwrap_or_else(|| "none".to_owned());
    let row = |c: &Circuit| {
        let mut row = vec![
            c.own_name(&input.machines).to_owned(),
            c.conductors.join(" "),
            match c.cable {
                Cable::Single => "single".to_owned(),
                Cable::Multi => "multi".to_owned(),
            },
            c.from.location.clone(),
            c.to.location.clone(),
            c.current.0.to_string(),
            c.voltage.0.to_string(),
            c.gauge.to_string(),
            c.cable_od.0.to_string(),
            attach(&c.from),
            attach(&c.to),
            maybe(c.from.exit),
            maybe(c.to.exit),
            maybe(c.ip.as_ref()),
            maybe(c.colour.as_ref()),
            maybe(c.from.key.as_ref()),
            maybe(c.to.key.as_ref()),
            maybe(c.from.interface.as_ref()),
            maybe(c.to.interface.as_ref()),
            c.branch.clone(),
            c.note.clone(),
        ];
        for (from, to) in c.from.wants.iter().zip(&c.to.wants) {
            row.extend([maybe(from.as_ref()), maybe(to.as_ref())]);
        }
        row
    };
    let own = input.circuits.iter().filter(|c| c.machine == machine);
    rows.extend(own.map(row));
    rows
}

fn on_hand(input: &Input) -> Table {
    let mut rows = header("part qty");
    for (part, qty) in &input.on_hand {
        rows.push(vec![
            input.catalog.part(*part).code.clone(),
            qty.to_string(),
        ]);
    }
    rows
}

fn dies_ordered(input: &Input) -> Table {
    let mut rows = header("die cost ordered_on");
    for row in &input.dies_ordered {
        rows.push(vec![
            input.catalog.die(row.die).name.clone(),
            row.cost.0.to_string(),
            row.ordered_on.to_string(),
        ]);
    }
    rows
}

/// `purchase.toml`.
fn purchase(input: &Input, catalog: &str) -> String {
    let mut text = about_money(&input.settings, catalog);
    text += &rates(&input.settings);
    for machine in &input.machines {
        let Machine {
            name,
            project,
            count,
            ..
        } = machine;
        writeln!(text, "[[machine]]\nname = {name:?}\nproject = {project:?}").unwrap();
        // One is what an absent count means.
        if *count > 1 {
            writeln!(text, "count = {count}").unwrap();
        }
    }
    text + &of_purchase(&input.settings)
}

/// `project.toml` of the project, or of a machine.
fn settings(input: &Input, machine: Option<&Machine>, catalog: &str) -> String {
    let s = machine.map_or(&input.settings, |machine| &machine.settings);
    let ends = |c: &Circuit| [c.from.location.clone(), c.to.location.clone()];
    let is_here =
        |c: &&Circuit| machine.is_none_or(|m| c.name.starts_with(&format!("{}/", m.name)));
    let circuits = input.circuits.iter().filter(is_here);
    let locations: BTreeSet<String> = circuits.flat_map(ends).collect();
    about_money(s, catalog)
        + &about_machine(s)
        + &rates(s)
        + &keying(s, &locations)
        + &of_purchase(s)
}

fn about_machine(s: &Settings) -> String {
    let mut text = String::new();
    if let Some(ambient) = s.ambient {
        writeln!(text, "ambient_c = {}", ambient.0).unwrap();
    }
    let protection = match s.protection {
        Implied::Strict => "strict",
        Implied::Customary => "customary",
    };
    writeln!(text, "protection = \"{protection}\"").unwrap();
    text
}

fn about_money(s: &Settings, catalog: &str) -> String {
    let mut text = format!(
        "name = {:?}\ncurrency = \"{}\"\ncatalog = \"{catalog}\"\ntax_percent = {}\nline_cost = {}\n",
        s.name, s.currency, s.tax_percent.0, s.line_cost.0
    );
    let mut key = |name: &str, value: String| {
        if !value.is_empty() {
            writeln!(text, "{name} = {value}").unwrap();
        }
    };
    key("max_lead_days", maybe(s.max_lead_days));
    key("max_variants", maybe(s.max_variants));
    key("max_suppliers", maybe(s.max_suppliers));
    key(
        "exclude_parts",
        format!("{:?}", s.exclude_parts.iter().collect::<Vec<_>>()),
    );
    let suppliers: Vec<_> = s.exclude_suppliers.iter().collect();
    key("exclude_suppliers", format!("{suppliers:?}"));
    text
}

fn rates(s: &Settings) -> String {
    let mut text = String::from("[rates]\n");
    for (currency, rate) in &s.rates {
        writeln!(text, "{currency} = {rate}").unwrap();
    }
    text
}

/// `[keying]`; a location that no circuit has is left out.
fn keying(s: &Settings, locations: &BTreeSet<String>) -> String {
    let mut text = String::new();
    let distinct = match s.keying.distinct {
        Distinct::Off => "off",
        Distinct::ByLocation => "by-location",
        Distinct::Everywhere => "everywhere",
    };
    writeln!(text, "[keying]\ndistinct = \"{distinct}\"").unwrap();
    let ignored: Vec<&String> = s.keying.ignore_at.intersection(locations).collect();
    writeln!(text, "ignore_at = {ignored:?}").unwrap();
    if !s.keying.keys.is_empty() {
        text += "[keying.keys]\n";
    }
    for (net, keys) in &s.keying.keys {
        writeln!(text, "{net:?} = {:?}", keys.iter().collect::<Vec<_>>()).unwrap();
    }
    text
}

/// Spares, the budget, what new prices must save.
fn of_purchase(s: &Settings) -> String {
    let mut text = String::new();
    for (kind, rule) in &s.spares {
        let per = match rule.per {
            Per::Gauge => "gauge",
            Per::Part => "part",
        };
        let (kind, percent): (&Kind, _) = (kind, rule.percent.0);
        let minimum = rule.minimum;
        writeln!(
            text,
            "[[spares]]\nkind = \"{kind}\"\nper = \"{per}\"\npercent = {percent}\nminimum = {minimum}"
        )
        .unwrap();
    }
    if let Some(budget) = &s.budget {
        let (limit, kept) = (budget.limit.0, budget.contingency_percent.0);
        writeln!(
            text,
            "[budget]\nlimit = {limit}\ncontingency_percent = {kept}"
        )
        .unwrap();
    }
    writeln!(text, "[reprice]\nworth_changing = {}", s.worth_changing.0).unwrap();
    text
}
