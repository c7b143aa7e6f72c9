//! The catalog as a table with prices, and where a plan uses each part.

mod asked;
mod filter;

pub use asked::{Asked, Condition, NoCondition, Sign, Unasked};
pub use filter::{Filter, wanted};

use super::table::{Column, Table};
use super::wording::counted;
use crate::catalog::{Body, Catalog, OfferId, Part, PartId, Rating, Spec, Value};
use crate::plan::Plan;
use crate::study::offers::with_sku;
use crate::units::{Mm, Mm2, Money};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use std::collections::BTreeMap;

/// Where a plan fits each part, in the order of its ends: part code to
/// `circuit net end` with the number of pieces, in all copies of its machine.
pub fn uses(plan: &Plan) -> BTreeMap<String, Vec<String>> {
    let mut uses: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for end in &plan.ends {
        let place = format!("{} {} at {}", end.circuit_name(), end.net, end.location);
        let mut pieces: BTreeMap<&str, u64> = BTreeMap::new();
        for (_, body) in end.bodies() {
            *pieces.entry(body).or_default() += 1;
        }
        for fitting in &end.fittings {
            *pieces.entry(&fitting.part).or_default() += fitting.qty;
        }
        for (part, count) in pieces {
            let place = match count * plan.copies(end) {
                1 => place.clone(),
                count => format!("{place} × {count}"),
            };
            uses.entry(part.to_owned()).or_default().push(place);
        }
    }
    uses
}

/// The parts as a table: what each is, what it takes, its offers and, where
/// `uses` is given, where it goes. Properties, ratings by gauge and notes have columns
/// where the catalog has some; those that are asked for stay in a narrow table.
pub fn table(
    catalog: &Catalog,
    parts: &[PartId],
    uses: Option<&BTreeMap<String, Vec<String>>>,
    asked: &[Asked],
) -> Table {
    let beside = Beside::of(catalog);
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
    ];
    let names = catalog.attributes.iter().map(|a| Column::named(&a.name));
    let rank = |place| match asked.iter().any(|a| a.place() == place) {
        true => 0,
        false => 4,
    };
    columns.extend((names.enumerate()).map(|(place, name)| name.detail(rank(place))));
    let ratings = Column::text("ratings").detail(8).at_least(20);
    columns.extend(beside.ratings.then_some(ratings));
    columns.extend(beside.notes.then(|| Column::text("note").detail(9)));
    columns.push(Column::text("prices").at_least(30));
    if uses.is_some() {
        columns.push(Column::text("goes_to").at_least(30));
    }
    let mut table = Table::new(&columns);
    for (id, row) in parts.iter().zip(rows(catalog, parts, uses)) {
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
        ];
        let values = &catalog.part(*id).values;
        let value = |place: usize| values.get(place).and_then(Option::as_ref);
        let places = 0..catalog.attributes.len();
        cells.extend(places.map(|place| value(place).map_or(String::new(), Value::to_string)));
        cells.extend(row.ratings.as_deref().map(ratings_words));
        cells.extend(row.note.map(|note| note.unwrap_or_default().to_owned()));
        cells.push(prices(&row.offers));
        cells.extend(row.goes_to.map(|places| places.join("; ")));
        table.row(cells);
    }
    table
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Vec<Row>>()
}

/// The parts as JSON: a list of `{ "part", "kind", "description", "interface",
/// "key", "poles", "rated_a", "rated_v", "takes", "attach", "exit", "ip",
/// "colour", "attributes": { NAME: value }, "ratings": [ { "min_mm2", "max_mm2",
/// "rated_a" } ], "note", "offers": [ { "supplier", "sku", "currency", "pack", "stock",
/// "lead_days", "breaks": [ { "min_qty", "unit_price", "note" } ] } ], "goes_to" }`;
/// what a part does not have is null. `attributes`, `ratings` and `note` stand only
/// where the catalog has some, `sku` and the note of a break where they are given.
///
/// # Errors
/// The error of the writer; in memory there is none.
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

#[derive(Default, Serialize, JsonSchema)]
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
    #[serde(skip_serializing_if = "Option::is_none")]
    attributes: Option<BTreeMap<&'c str, Option<ValueRow<'c>>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ratings: Option<Vec<RatingRow>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<Option<&'c str>>,
    offers: Vec<OfferRow<'c>>,
    goes_to: Option<Vec<String>>,
}

/// What a part has of an attribute.
#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
enum ValueRow<'c> {
    Words(Vec<&'c str>),
    One(String),
}

#[derive(Serialize, JsonSchema)]
struct RatingRow {
    min_mm2: String,
    max_mm2: String,
    rated_a: String,
}

#[derive(Serialize, JsonSchema)]
struct OfferRow<'c> {
    supplier: &'c str,
    #[serde(skip_serializing_if = "str::is_empty")]
    sku: &'c str,
    /// True if the supplier has several offers of the part.
    #[serde(skip)]
    is_one_of_several: bool,
    currency: &'c str,
    pack: u64,
    stock: Option<u64>,
    lead_days: Option<u32>,
    breaks: Vec<BreakRow<'c>>,
}

#[derive(Serialize, JsonSchema)]
struct BreakRow<'c> {
    min_qty: u64,
    unit_price: Money,
    #[serde(skip_serializing_if = "str::is_empty")]
    note: &'c str,
}

fn rows<'c>(
    catalog: &'c Catalog,
    parts: &[PartId],
    uses: Option<&BTreeMap<String, Vec<String>>>,
) -> Vec<Row<'c>> {
    let beside = Beside::of(catalog);
    parts
        .iter()
        .map(|&id| {
            let part = catalog.part(id);
            Row {
                attributes: beside.attributes.then(|| attributes(catalog, part)),
                ratings: beside.ratings.then(|| ratings(part)),
                note: beside
                    .notes
                    .then(|| (!part.note.is_empty()).then_some(&*part.note)),
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

/// What not every catalog has.
#[derive(Debug, Clone, Copy)]
struct Beside {
    attributes: bool,
    ratings: bool,
    notes: bool,
}

impl Beside {
    fn of(catalog: &Catalog) -> Self {
        let mut bodies = catalog.parts.iter().filter_map(Part::body);
        Beside {
            attributes: !catalog.attributes.is_empty(),
            ratings: bodies.any(|body| !body.ratings.is_empty()),
            notes: catalog.parts.iter().any(|part| !part.note.is_empty()),
        }
    }
}

fn attributes<'c>(catalog: &'c Catalog, part: &'c Part) -> BTreeMap<&'c str, Option<ValueRow<'c>>> {
    let value = |place: usize| part.values.get(place).and_then(Option::as_ref);
    let all = catalog.attributes.iter().enumerate();
    all.map(|(place, attribute)| (&*attribute.name, value(place).map(ValueRow::from)))
        .collect()
}

impl<'c> From<&'c Value> for ValueRow<'c> {
    fn from(value: &'c Value) -> Self {
        match value {
            Value::Words(words) => ValueRow::Words(words.iter().map(String::as_str).collect()),
            value => ValueRow::One(value.to_string()),
        }
    }
}

fn ratings(part: &Part) -> Vec<RatingRow> {
    let ratings = part.body().map_or(&[][..], |body| &body.ratings);
    let number = |value: rust_decimal::Decimal| value.normalize().to_string();
    let row = |r: &Rating| RatingRow {
        min_mm2: number(r.min_mm2.0),
        max_mm2: number(r.max_mm2.0),
        rated_a: number(r.rated_a.0),
    };
    ratings.iter().map(row).collect()
}

/// `120 A on 10 to 25 mm²; 150 A on 35 mm²`.
fn ratings_words(ratings: &[RatingRow]) -> String {
    let words = |r: &RatingRow| match r.min_mm2 == r.max_mm2 {
        true => format!("{} A on {} mm²", r.rated_a, r.max_mm2),
        false => format!("{} A on {} to {} mm²", r.rated_a, r.min_mm2, r.max_mm2),
    };
    let words: Vec<String> = ratings.iter().map(words).collect();
    words.join("; ")
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
        sku: &offer.sku,
        is_one_of_several: catalog.has_several(offer.part, offer.supplier),
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
                note: &b.note,
            })
            .collect(),
    }
}

/// `Nord 1.60 EUR, 1.10 from 20, packs of 10; West 1.70 USD`. Of several offers of one
/// supplier, each has its sku: `Nord (sku N-10) 1.60 EUR`. A note stands after its price:
/// `1.10 from 20 (until May)`.
fn prices(offers: &[OfferRow<'_>]) -> String {
    let words: Vec<String> = offers.iter().map(offer_words).collect();
    words.join("; ")
}

fn offer_words(offer: &OfferRow<'_>) -> String {
    let sku = offer.is_one_of_several.then_some(offer.sku);
    let mut words = with_sku(offer.supplier, sku);
    for (i, step) in offer.breaks.iter().enumerate() {
        let from = match step.min_qty {
            1 => String::new(),
            least => format!(" from {least}"),
        };
        match i {
            0 => words.push_str(&format!(" {} {}{from}", step.unit_price, offer.currency)),
            _ => words.push_str(&format!(", {}{from}", step.unit_price)),
        }
        if !step.note.is_empty() {
            words.push_str(&format!(" ({})", step.note));
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
    use crate::catalog::{Attribute, Holds, IfEmpty, Kind};
    use crate::report::sample;
    use crate::units::Ampere;
    use rust_decimal::Decimal;

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
        assert_eq!(uses["F-70"][3], "pack to inverter HV- at inverter");
        assert!(!uses.contains_key("F-50"));
        for width in [40, 60, 80, 100] {
            for uses in [None, Some(&uses)] {
                let text = table(&catalog, &all, uses, &[]).text(width);
                let wide = text.lines().map(textwrap::core::display_width).max();
                assert!(wide <= Some(width), "{width}\n{text}");
            }
        }
    }

    /// The sample with an attribute of plugs and one of ferrules, a rating, notes, and a
    /// bag beside single pieces.
    fn rich() -> Catalog {
        let mut catalog = sample::catalog();
        let attribute = |name: &str, on: Kind, holds| Attribute {
            name: name.into(),
            on: [on].into(),
            holds,
            if_empty: IfEmpty::Refuses,
            description: String::new(),
            note: String::new(),
            row: catalog.parts[0].row.clone(),
        };
        catalog.attributes = vec![
            attribute("approvals", Kind::Plug, Holds::Has),
            attribute("mass_g", Kind::Ferrule, Holds::AtMost),
        ];
        for part in &mut catalog.parts {
            let approvals = ["R10", "R100"].map(str::to_owned);
            let mass = |code: &str| Decimal::from(if code == "F-70" { 12 } else { 9 });
            part.values = match part.kind() {
                Kind::Plug => vec![Some(Value::Words(approvals.into())), None],
                Kind::Ferrule => vec![None, Some(Value::Number(mass(&part.code)))],
                _ => vec![None, None],
            };
            if part.code == "P-8-A" {
                part.note = "the old one".to_owned();
                if let Spec::Body(body) = &mut part.spec {
                    let rating = |min, max, a: i64| Rating {
                        min_mm2: Mm2(Decimal::from(min)),
                        max_mm2: Mm2(Decimal::from(max)),
                        rated_a: Ampere(Decimal::from(a)),
                    };
                    body.ratings = vec![rating(10, 25, 120), rating(35, 35, 150)];
                }
            }
        }
        let id = catalog.find("F-70").unwrap();
        let (OfferId(at), single) = catalog.offers_of(id).next().unwrap();
        let mut bag = single.clone();
        bag.sku = format!("{}-BAG", single.sku);
        bag.breaks[0].note = "until May".to_owned();
        catalog.offers.insert(at as usize + 1, bag);
        catalog
    }

    #[test]
    fn properties_ratings_notes_and_skus_have_their_places() {
        let catalog = rich();
        let all = wanted(&catalog, &Filter::default());
        let csv = table(&catalog, &all, None, &[]).csv().unwrap();
        let head = csv.lines().next().unwrap();
        let end = "ip,colour,approvals,mass_g,ratings,note,prices";
        assert!(head.ends_with(end), "{head}");
        let row = |code: &str| {
            let start = format!("{code},");
            let row = csv.lines().find(|line| line.starts_with(&start));
            row.unwrap().to_owned()
        };
        let plug = row("P-8-A");
        let cells = ",R10 R100,,120 A on 10 to 25 mm²; 150 A on 35 mm²,the old one,";
        assert!(plug.contains(cells), "{plug}");
        let ferrule = row("F-70");
        let single = catalog
            .offers_of(catalog.find("F-70").unwrap())
            .next()
            .unwrap();
        let sku = &single.1.sku;
        let cells = format!(
            ",,12,,,\"Nord (sku {sku}) 1.60 EUR, 1.10 from 20, packs of 10; \
             Nord (sku {sku}-BAG) 1.60 EUR (until May), 1.10 from 20, packs of 10\""
        );
        assert!(ferrule.ends_with(&cells), "{ferrule}");
        // A catalog without them has no such columns.
        let plain = sample::catalog();
        let csv = table(&plain, &all, None, &[]).csv().unwrap();
        assert!(csv.lines().next().unwrap().ends_with("ip,colour,prices"));
    }

    #[test]
    fn json_has_properties_only_where_the_catalog_has_some() {
        let shown = |catalog: &Catalog| -> serde_json::Value {
            let all = wanted(catalog, &Filter::default());
            serde_json::from_str(&json(catalog, &all, None).unwrap()).unwrap()
        };
        let catalog = rich();
        let parts = shown(&catalog);
        let of = |code: &str| {
            let mut all = parts.as_array().unwrap().iter();
            all.find(|part| part["part"] == code).unwrap()
        };
        let plug = of("P-8-A");
        let approvals = serde_json::json!({ "approvals": ["R10", "R100"], "mass_g": null });
        assert_eq!(plug["attributes"], approvals);
        let ratings = serde_json::json!([
            { "min_mm2": "10", "max_mm2": "25", "rated_a": "120" },
            { "min_mm2": "35", "max_mm2": "35", "rated_a": "150" },
        ]);
        assert_eq!(plug["ratings"], ratings);
        assert_eq!(plug["note"], "the old one");
        let ferrule = of("F-70");
        assert_eq!(ferrule["attributes"]["mass_g"], "12");
        assert_eq!(ferrule["ratings"], serde_json::json!([]));
        assert_eq!(ferrule["note"], serde_json::Value::Null);
        assert_eq!(ferrule["offers"][1]["breaks"][0]["note"], "until May");
        let plain = shown(&sample::catalog());
        for key in ["attributes", "ratings", "note"] {
            assert!(plain[0].get(key).is_none(), "{key}");
        }
    }

    #[test]
    fn what_is_asked_for_stays_in_a_narrow_table() {
        let catalog = rich();
        let condition = "approvals=R100".parse().unwrap();
        let asked = [Asked::new(&catalog, &condition).unwrap()];
        let all = wanted(&catalog, &Filter::default());
        let narrow = |asked| table(&catalog, &all, None, asked).text(60);
        assert!(narrow(&asked[..]).contains("approvals"));
        assert!(!narrow(&[]).contains("approvals"));
    }

    #[test]
    fn parts_with_a_property() {
        let catalog = rich();
        let codes = |condition: &str| -> Vec<&str> {
            let condition = condition.parse().unwrap();
            let filter = Filter {
                properties: vec![Asked::new(&catalog, &condition).unwrap()],
                ..Filter::default()
            };
            let ids = wanted(&catalog, &filter).into_iter();
            ids.map(|id| catalog.part(id).code.as_str()).collect()
        };
        assert_eq!(codes("mass_g<=12"), ["F-50", "F-70"]);
        assert_eq!(codes("mass_g<=11.9"), ["F-50"]);
        assert_eq!(codes("mass_g>=9.1"), ["F-70"]);
        assert_eq!(codes("mass_g=12.0"), ["F-70"]);
        assert_eq!(codes("approvals=R100 R10"), codes("approvals=R10"));
        assert!(!codes("approvals=R10").is_empty());
        // All words have to be there.
        assert!(codes("approvals=R10 R11").is_empty());
        // Each plug and each ferrule states a value.
        assert!(codes("approvals=").is_empty() && codes("mass_g=").is_empty());
        let refused = |condition: &str| {
            let error = Asked::new(&catalog, &condition.parse().unwrap()).unwrap_err();
            format!("{error} | {}", error.help)
        };
        assert_eq!(
            refused("mas_g<=9"),
            "unknown attribute \"mas_g\" | did you mean \"mass_g\"?"
        );
        assert_eq!(
            refused("colour=red"),
            "unknown attribute \"colour\" | the attributes are approvals and mass_g"
        );
        assert_eq!(
            refused("approvals>=3"),
            "the values of approvals are words, which >= does not compare | write approvals=VALUE"
        );
        assert_eq!(
            refused("mass_g<=light"),
            "the values of mass_g are numbers, \"light\" is none | \
             write a number, such as mass_g<=90"
        );
        let plain = sample::catalog();
        let error = Asked::new(&plain, &"mass_g=9".parse().unwrap()).unwrap_err();
        assert_eq!(error.help, "the catalog has no attributes.csv");
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
