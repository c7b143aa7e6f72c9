//! The catalog as a table with prices, filtered, and where a plan uses each part.

use super::table::{Column, Table};
use super::wording::counted;
use crate::catalog::{Body, Catalog, Ferrule, Fitting, Half, Kind, OfferId, Part, PartId, Spec};
use crate::plan::Plan;
use crate::units::{Ampere, Gauge, Mm, Mm2, Money};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// Which parts are wanted; what is not given wants all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Filter {
    /// Of this kind.
    pub kind: Option<Kind>,
    /// What can go on a cable of this gauge.
    pub gauge: Option<Gauge>,
    /// Bodies rated for at least this current, and what goes on them.
    pub current: Option<Ampere>,
    /// Bodies of this mating face, and what goes on them.
    pub interface: Option<String>,
}

/// The parts that the filter wants, by code.
///
/// Bodies are chosen first; a ferrule, seal or back shell is in if one of the
/// chosen bodies takes it. A gauge is taken by a ferrule of its range, by a
/// body that such a ferrule or the body's own limits serve, and by the device
/// side that mates with one of those.
pub fn wanted(catalog: &Catalog, filter: &Filter) -> Vec<PartId> {
    let bodies = bodies(catalog, filter);
    let all = filter.gauge.is_none() && filter.current.is_none() && filter.interface.is_none();
    catalog
        .iter()
        .filter(|(_, part)| filter.kind.is_none_or(|kind| part.kind() == kind))
        .filter(|(id, part)| match &part.spec {
            Spec::Body(_) => bodies.contains_key(id),
            Spec::Ferrule(f) => {
                filter.gauge.is_none_or(|g| takes(f, g))
                    && (all || goes_on(&bodies, Fitting::Ferrule, &f.barrel))
            }
            Spec::Seal(s) => all || goes_on(&bodies, Fitting::Seal, &s.rear),
            Spec::BackShell(b) => all || goes_on(&bodies, Fitting::BackShell, &b.rear),
        })
        .map(|(id, _)| id)
        .collect()
}

fn bodies<'c>(catalog: &'c Catalog, filter: &Filter) -> BTreeMap<PartId, &'c Body> {
    let rated: Vec<(PartId, &Body)> = catalog
        .iter()
        .filter_map(|(id, part)| part.body().map(|body| (id, body)))
        .filter(|(_, b)| filter.current.is_none_or(|a| b.rated_a >= a))
        .filter(|(_, b)| filter.interface.as_ref().is_none_or(|i| b.interface == *i))
        .collect();
    let Some(gauge) = filter.gauge else {
        return rated.into_iter().collect();
    };
    let faces: BTreeSet<(&str, &str)> = rated
        .iter()
        .filter(|(_, b)| b.half == Half::Plug && body_takes(catalog, b, gauge))
        .map(|(_, b)| (b.interface.as_str(), b.key.as_str()))
        .collect();
    rated
        .into_iter()
        .filter(|(_, b)| {
            if b.is_crimped() {
                body_takes(catalog, b, gauge)
            } else {
                faces.contains(&(b.interface.as_str(), b.key.as_str()))
            }
        })
        .collect()
}

fn body_takes(catalog: &Catalog, body: &Body, gauge: Gauge) -> bool {
    let area = gauge.area();
    let within = body.min_mm2.is_none_or(|m| m <= area) && body.max_mm2.is_none_or(|m| area <= m);
    within
        && body.needs(Fitting::Ferrule).is_none_or(|barrel| {
            catalog.parts.iter().any(|part| match &part.spec {
                Spec::Ferrule(f) => f.barrel == barrel && takes(f, gauge),
                _ => false,
            })
        })
}

fn takes(ferrule: &Ferrule, gauge: Gauge) -> bool {
    (ferrule.min_mm2..=ferrule.max_mm2).contains(&gauge.area())
}

fn goes_on(bodies: &BTreeMap<PartId, &Body>, fitting: Fitting, code: &str) -> bool {
    bodies.values().any(|b| b.needs(fitting) == Some(code))
}

/// Where a plan fits each part, in the order of its ends: part code to
/// `circuit net end` with the number of pieces.
pub fn uses(plan: &Plan) -> BTreeMap<String, Vec<String>> {
    let mut uses: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for end in &plan.ends {
        let place = format!("{} {} {} ({})", end.circuit, end.net, end.end, end.location);
        let mut pieces: BTreeMap<&str, u64> = BTreeMap::new();
        *pieces.entry(&end.receptacle).or_default() += 1;
        *pieces.entry(&end.plug).or_default() += 1;
        for fitting in &end.fittings {
            *pieces.entry(&fitting.part).or_default() += fitting.qty;
        }
        for (part, count) in pieces {
            let place = match count {
                1 => place.clone(),
                count => format!("{place} {count}×"),
            };
            uses.entry(part.to_owned()).or_default().push(place);
        }
    }
    uses
}

/// The parts as a table: what each is, what it takes, its offers and, where
/// `uses` is given, where it goes.
pub fn table(
    catalog: &Catalog,
    parts: &[PartId],
    uses: Option<&BTreeMap<String, Vec<String>>>,
) -> Table {
    let mut columns = vec![
        Column::text("part"),
        Column::text("kind"),
        Column::text("description").detail(9),
        Column::text("interface").detail(2),
        Column::text("key").detail(2),
        Column::number("poles").detail(7),
        Column::number("rated_a").detail(3),
        Column::number("rated_v").detail(6),
        Column::text("takes").detail(1),
        Column::text("attach").detail(4),
        Column::text("exit").detail(5),
        Column::text("ip").detail(8),
        Column::text("colour").detail(10),
        Column::text("prices").at_least(30),
    ];
    if uses.is_some() {
        columns.push(Column::text("goes_to").at_least(30));
    }
    let mut table = Table::new(&columns);
    for row in rows(catalog, parts, uses) {
        let mut cells = vec![
            row.part.to_owned(),
            row.kind.to_owned(),
            row.description.to_owned(),
            row.interface.unwrap_or_default().to_owned(),
            row.key.unwrap_or_default().to_owned(),
            row.poles.map(|p| p.to_string()).unwrap_or_default(),
            row.rated_a.unwrap_or_default(),
            row.rated_v.unwrap_or_default(),
            row.takes.unwrap_or_default(),
            row.attach.unwrap_or_default().to_owned(),
            row.exit.unwrap_or_default().to_owned(),
            row.ip.unwrap_or_default(),
            row.colour.unwrap_or_default().to_owned(),
            prices(&row.offers),
        ];
        cells.extend(row.goes_to.map(|places| places.join("; ")));
        table.row(cells);
    }
    table
}

/// The parts as JSON: a list of `{ "part", "kind", "description", "interface",
/// "key", "poles", "rated_a", "rated_v", "takes", "attach", "exit", "ip",
/// "colour", "offers": [ { "supplier", "currency", "pack", "stock",
/// "lead_days", "breaks": [ { "min_qty", "unit_price" } ] } ], "goes_to" }`;
/// what a part does not have is null.
///
/// # Errors
/// What the writer says; none in memory.
pub fn json(
    catalog: &Catalog,
    parts: &[PartId],
    uses: Option<&BTreeMap<String, Vec<String>>>,
) -> serde_json::Result<String> {
    serde_json::to_string_pretty(&rows(catalog, parts, uses)).map(|text| text + "\n")
}

/// `3 of 8 parts`.
pub fn summary(shown: usize, catalog: &Catalog) -> String {
    format!("{shown} of {}", counted(catalog.parts.len() as u64, "part"))
}

#[derive(Default, Serialize)]
struct Row<'c> {
    part: &'c str,
    kind: &'static str,
    description: &'c str,
    interface: Option<&'c str>,
    key: Option<&'c str>,
    poles: Option<u32>,
    rated_a: Option<String>,
    rated_v: Option<String>,
    takes: Option<String>,
    attach: Option<&'c str>,
    exit: Option<&'static str>,
    ip: Option<String>,
    colour: Option<&'c str>,
    offers: Vec<OfferRow<'c>>,
    goes_to: Option<Vec<String>>,
}

#[derive(Serialize)]
struct OfferRow<'c> {
    supplier: &'c str,
    currency: &'c str,
    pack: u64,
    stock: Option<u64>,
    lead_days: Option<u32>,
    breaks: Vec<BreakRow>,
}

#[derive(Serialize)]
struct BreakRow {
    min_qty: u64,
    unit_price: Money,
}

fn rows<'c>(
    catalog: &'c Catalog,
    parts: &[PartId],
    uses: Option<&BTreeMap<String, Vec<String>>>,
) -> Vec<Row<'c>> {
    parts
        .iter()
        .map(|&id| {
            let part = catalog.part(id);
            Row {
                offers: catalog
                    .offers_of(id)
                    .map(|(o, _)| offer_row(catalog, o))
                    .collect(),
                goes_to: uses.map(|uses| uses.get(&part.code).cloned().unwrap_or_default()),
                ..row(part)
            }
        })
        .collect()
}

fn row(part: &Part) -> Row<'_> {
    let base = Row {
        part: &part.code,
        kind: part.kind().word(),
        description: &part.description,
        ..Row::default()
    };
    match &part.spec {
        Spec::Body(b) => body_row(b, base),
        Spec::Ferrule(f) => Row {
            takes: Some(areas(f.min_mm2, f.max_mm2)),
            ..base
        },
        Spec::Seal(s) => Row {
            takes: Some(format!("cable {} to {}", s.min_od.0.normalize(), s.max_od)),
            ip: s.ip.as_ref().map(ToString::to_string),
            ..base
        },
        Spec::BackShell(b) => Row {
            takes: Some(up_to(b.max_od)),
            exit: b.exit.map(|e| e.word()),
            colour: b.colour.as_deref(),
            ..base
        },
    }
}

fn body_row<'c>(b: &'c Body, base: Row<'c>) -> Row<'c> {
    let number = |value: rust_decimal::Decimal| value.normalize().to_string();
    Row {
        interface: Some(&b.interface),
        key: (!b.key.is_empty()).then_some(b.key.as_str()),
        poles: Some(b.poles),
        rated_a: Some(number(b.rated_a.0)),
        rated_v: Some(number(b.rated_v.0)),
        takes: b.min_mm2.zip(b.max_mm2).map(|(min, max)| areas(min, max)),
        attach: Some(&b.attach),
        exit: b.exit.map(|e| e.word()),
        ip: b.ip.as_ref().map(ToString::to_string),
        colour: b.colour.as_deref(),
        ..base
    }
}

fn areas(min: Mm2, max: Mm2) -> String {
    if min == max {
        return max.to_string();
    }
    format!("{} to {max}", min.0.normalize())
}

fn up_to(max: Mm) -> String {
    format!("cable up to {max}")
}

fn offer_row(catalog: &Catalog, id: OfferId) -> OfferRow<'_> {
    let offer = catalog.offer(id);
    let supplier = catalog.supplier(offer.supplier);
    OfferRow {
        supplier: &supplier.name,
        currency: &supplier.currency.0,
        pack: offer.pack,
        stock: offer.stock,
        lead_days: offer.lead_days,
        breaks: offer
            .breaks
            .iter()
            .map(|b| BreakRow {
                min_qty: b.min_qty,
                unit_price: b.unit_price,
            })
            .collect(),
    }
}

/// `Nord 1.60 EUR, 1.10 from 20, packs of 10; West 1.70 USD`.
fn prices(offers: &[OfferRow<'_>]) -> String {
    let words: Vec<String> = offers.iter().map(offer_words).collect();
    words.join("; ")
}

fn offer_words(offer: &OfferRow<'_>) -> String {
    let mut words = offer.supplier.to_owned();
    for (i, step) in offer.breaks.iter().enumerate() {
        let from = match step.min_qty {
            1 => String::new(),
            least => format!(" from {least}"),
        };
        match i {
            0 => words.push_str(&format!(" {} {}{from}", step.unit_price, offer.currency)),
            _ => words.push_str(&format!(", {}{from}", step.unit_price)),
        }
    }
    if offer.pack > 1 {
        words.push_str(&format!(", packs of {}", offer.pack));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn codes(filter: &Filter) -> Vec<String> {
        let catalog = sample::catalog();
        wanted(&catalog, filter)
            .into_iter()
            .map(|id| catalog.part(id).code.clone())
            .collect()
    }

    fn gauge(text: &str) -> Filter {
        Filter {
            gauge: text.parse().ok(),
            ..Filter::default()
        }
    }

    #[test]
    fn no_filter_wants_all() {
        assert_eq!(codes(&Filter::default()).len(), 8);
    }

    #[test]
    fn by_kind() {
        let filter = Filter {
            kind: Some(Kind::Ferrule),
            ..Filter::default()
        };
        assert_eq!(codes(&filter), ["F-50", "F-70"]);
    }

    #[test]
    fn by_gauge_on_both_sides_of_the_edges() {
        let ferrules = |text| -> Vec<String> {
            let filter = Filter {
                kind: Some(Kind::Ferrule),
                ..gauge(text)
            };
            codes(&filter)
        };
        assert_eq!(ferrules("70 mm2"), ["F-70"]);
        assert_eq!(ferrules("60 mm2"), ["F-70"]);
        assert_eq!(ferrules("2/0 AWG"), ["F-70"]);
        assert!(ferrules("59.9 mm2").is_empty());
        assert!(ferrules("70.1 mm2").is_empty());
        // With the ferrule go its bodies, their mates, and what goes on them.
        assert_eq!(codes(&gauge("70 mm2")).len(), 7);
        assert!(codes(&gauge("95 mm2")).is_empty());
    }

    #[test]
    fn by_current_and_interface() {
        let current = |a: i64| Filter {
            current: Some(Ampere(a.into())),
            ..Filter::default()
        };
        assert_eq!(codes(&current(200)).len(), 8);
        assert!(codes(&current(201)).is_empty());
        let interface = |i: &str| Filter {
            interface: Some(i.into()),
            ..Filter::default()
        };
        assert_eq!(codes(&interface("M8")).len(), 8);
        assert!(codes(&interface("M10")).is_empty());
    }

    #[test]
    fn prices_are_compact() {
        let catalog = sample::catalog();
        let row = |code: &str| {
            let id = catalog.find(code).unwrap();
            let offers: Vec<OfferRow> = catalog
                .offers_of(id)
                .map(|(o, _)| offer_row(&catalog, o))
                .collect();
            prices(&offers)
        };
        assert_eq!(row("F-70"), "Nord 1.60 EUR, 1.10 from 20, packs of 10");
        assert_eq!(
            row("P-8-A"),
            "Nord 21.00 EUR, 18.50 from 10; West & Co 22.00 USD"
        );
        assert_eq!(row("S-8"), "West & Co 0.333 USD from 5, packs of 5");
    }

    #[test]
    fn a_table_fits_and_tells_where_parts_go() {
        let catalog = sample::catalog();
        let all = wanted(&catalog, &Filter::default());
        let uses = uses(&sample::plan());
        assert_eq!(uses["P-8-A"].len(), 2);
        assert_eq!(uses["F-70"][3], "pack to inverter HV- to (inverter)");
        assert!(!uses.contains_key("F-50"));
        for width in [40, 60, 80, 100] {
            for uses in [None, Some(&uses)] {
                let text = table(&catalog, &all, uses).text(width);
                let wide = text.lines().map(textwrap::core::display_width).max();
                assert!(wide <= Some(width), "{width}\n{text}");
            }
        }
    }

    #[test]
    fn json_holds_every_offer() {
        let catalog = sample::catalog();
        let all = wanted(&catalog, &Filter::default());
        let json: serde_json::Value =
            serde_json::from_str(&json(&catalog, &all, None).unwrap()).unwrap();
        assert_eq!(json[3]["offers"][1]["breaks"][0]["unit_price"], "22.00");
        assert_eq!(json[1]["takes"], "45 to 50 mm²");
        assert_eq!(json[1]["interface"], serde_json::Value::Null);
    }
}
