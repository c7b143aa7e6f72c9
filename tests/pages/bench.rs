//! Each field of each label, card and kit against the end in the record.

use crate::documents::{csv, pages};
use crate::full::{ALL, description, ends, full, label, mating};
use crate::html::Element;
use couplet::catalog::{Catalog, Kind, Spec};
use couplet::input::Input;
use couplet::plan::{EndRecord, Plan};
use couplet::project::Circuit;
use couplet::report::kit::json;
use couplet::study::kit::kits;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

type Row = BTreeMap<String, String>;

/// Looks at one page of each of the plans.
fn each(name: &str, look: impl Fn(&Input, &Plan, &Element)) {
    for (seed, circuits) in ALL {
        let (input, plan) = full(seed, circuits);
        let pages = pages(&input, &plan);
        let (_, page) = pages.iter().find(|(page, _)| *page == name).expect("it");
        look(&input, &plan, &Element::page(page));
    }
}

/// The rows of one CSV file of a plan.
fn rows(input: &Input, plan: &Plan, name: &str) -> Vec<Row> {
    let files = csv(input, plan);
    let (_, text) = files.iter().find(|(file, _)| *file == name).expect("it");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader
        .deserialize()
        .map(|row| row.expect("a row"))
        .collect()
}

#[test]
fn labels_as_csv() {
    for (seed, circuits) in ALL {
        let (input, plan) = full(seed, circuits);
        let (rows, ends) = (rows(&input, &plan, "labels"), ends(&input, &plan));
        assert_eq!(rows.len(), ends.len());
        for (row, end) in rows.iter().zip(&ends) {
            let of = |field: fn(&EndRecord) -> &String| end.pair.map_or("", |pair| field(pair));
            let gauge = end.circuit.gauge.to_string();
            let code = label(end);
            let expected = [
                ("label", code.as_str()),
                ("circuit", &end.circuit.name),
                ("net", &end.net),
                ("end", end.side),
                ("location", &end.here.location),
                ("other_end", &end.there.location),
                ("gauge", &gauge),
                ("interface", of(|pair| &pair.interface)),
                ("key", of(|pair| &pair.key)),
                ("plug", of(|pair| &pair.plug)),
                (
                    "receptacle",
                    of(|pair| pair.receptacle.as_ref().expect("a receptacle")),
                ),
            ];
            let expected = expected.map(|(name, field)| (name.to_owned(), field.to_owned()));
            assert_eq!(row, &Row::from(expected));
        }
    }
}

#[test]
fn labels_on_a_page() {
    each("labels", |input, plan, page| {
        let labels = page.of_class("labels")[0].all("li");
        let ends = ends(input, plan);
        assert_eq!(labels.len(), ends.len());
        for (shown, end) in labels.iter().zip(&ends) {
            assert_eq!(shown.all("strong")[0].text(), label(end));
            let lines: Vec<String> = shown.all("span").into_iter().map(Element::text).collect();
            let mating = end.pair.map_or("no connector".to_owned(), mating);
            let expected = [
                end.circuit.name.clone(),
                format!("here: {}", end.here.location),
                format!("other end: {}", end.there.location),
                format!("{mating}, {}", end.circuit.gauge),
            ];
            assert_eq!(lines, expected, "{}", label(end));
        }
    });
}

#[test]
fn cards() {
    each("cards", |input, plan, page| {
        let cards = page.of_class("card");
        let with_pair: Vec<_> = (ends(input, plan).into_iter())
            .filter_map(|end| Some((end.pair?, end)))
            .collect();
        assert_eq!(cards.len(), with_pair.len());
        for (card, (pair, end)) in cards.iter().zip(&with_pair) {
            assert_eq!(card.all("h2")[0].text(), label(end));
            let circuit = end.circuit;
            let expected = [
                ("Circuit", pair.circuit.clone()),
                ("Net", pair.net.clone()),
                ("End", format!("{} {}", pair.end, pair.location)),
                ("Gauge", pair.gauge.clone()),
                (
                    "Cable",
                    format!("outer diameter {} mm", circuit.cable_od.0.normalize()),
                ),
                (
                    "Carries",
                    format!(
                        "{} A, {} V",
                        circuit.current.0.normalize(),
                        circuit.voltage.0.normalize()
                    ),
                ),
                ("Interface and key", mating(pair)),
                ("Rated", rated(input, end.circuit, pair)),
            ];
            let facts = card.of_class("facts")[0].facts();
            let expected = expected.map(|(name, fact)| (name.to_owned(), fact));
            assert_eq!(facts, BTreeMap::from(expected));
            halves(card, pair, &input.catalog);
        }
    });
}

/// What each body carries, the receptacle first: `plug P: 250 A, 230.4 A at 40 °C`.
fn rated(input: &Input, circuit: &Circuit, pair: &EndRecord) -> String {
    let codes = [pair.receptacle.as_deref(), Some(pair.plug.as_str())];
    let texts = codes.into_iter().flatten().map(|code| {
        let body = body(&input.catalog, code);
        let area = circuit.gauge.area();
        let here = |row: &&couplet::catalog::Rating| row.min_mm2 <= area && area <= row.max_mm2;
        let row = body
            .ratings
            .iter()
            .filter(here)
            .min_by_key(|row| row.rated_a);
        let amps = row.map_or(body.rated_a, |row| row.rated_a).0;
        let mut text = format!("{} {code}: {} A", body.half, amps.normalize());
        if let Some(row) = row {
            let (min, max) = (row.min_mm2.0.normalize(), row.max_mm2.0.normalize());
            text += &format!(" on {min} to {max} mm² (ratings.csv)");
        }
        let number = |value: Decimal| value.to_f64().expect("a number");
        if let (Some(at), Some(max), Some(from)) =
            (input.settings.ambient, body.max_c, body.rated_c)
            && at > from
        {
            let share = number(max.0 - at.0) / number(max.0 - from.0);
            let left = (number(amps) * share.sqrt() * 10.0).floor() / 10.0;
            text += &format!(", {left} A at {} °C", at.0.normalize());
        }
        text
    });
    texts.collect::<Vec<String>>().join("; ")
}

/// Both halves of a card: the crimped ones first, the receptacle before the plug.
fn halves(card: &Element, pair: &EndRecord, catalog: &Catalog) {
    let receptacle = body(catalog, pair.receptacle.as_ref().expect("a receptacle"));
    let expected = match receptacle.attach.as_str() {
        "crimp" => [("receptacle", true), ("plug", true)],
        _ => [("plug", true), ("receptacle", false)],
    };
    let shown = card.of_class("half");
    assert_eq!(shown.len(), 2);
    for (half, (name, is_crimped)) in shown.iter().zip(expected) {
        let head = match is_crimped {
            true => format!("{name}, crimped onto the cable"),
            false => format!("{name}, on the device"),
        };
        assert_eq!(half.all("h3")[0].text(), head);
        assert_eq!(
            half.all("caption")[0].text(),
            format!("Parts of the {name}")
        );
        assert_eq!(half.rows(), parts(pair, name, catalog), "{}", pair.circuit);
        assert_eq!(half.of_class("blanks").len(), usize::from(is_crimped));
        let steps = half.of_class("steps")[0].text();
        match is_crimped {
            true => {
                let dies = dies(pair, name, catalog);
                assert_eq!(half.all("p")[0].text(), format!("Die: {dies}"));
                assert_eq!(
                    steps.contains(&format!("Crimp with die {dies};")),
                    dies != "none on file"
                );
                let mates = format!("both halves must read {}.", mating(pair));
                assert!(steps.contains(&mates), "{steps}");
            }
            false => assert!(steps.contains(&format!("Fix the half to: {};", receptacle.attach))),
        }
    }
}

fn body<'c>(catalog: &'c Catalog, code: &str) -> &'c couplet::catalog::Body {
    let part = catalog.parts.iter().find(|part| part.code == code);
    match part.map(|part| &part.spec) {
        Some(Spec::Body(body)) => body,
        other => panic!("{code}: {other:?}"),
    }
}

/// The body, its fittings in the record, and what comes in its box.
fn parts(pair: &EndRecord, half: &str, catalog: &Catalog) -> Vec<Row> {
    let code = match half {
        "plug" => &pair.plug,
        _ => pair.receptacle.as_ref().expect("a receptacle"),
    };
    let row = |kind: &str, part: &str, description: String, qty: u64| {
        let cells = [
            ("kind", kind.to_owned()),
            ("part", part.to_owned()),
            ("description", description),
            ("qty", qty.to_string()),
        ];
        Row::from(cells.map(|(name, cell)| (name.to_owned(), cell)))
    };
    let mut rows = vec![row(half, code, description(catalog, code), 1)];
    for fitting in pair.fittings.iter().filter(|f| f.half == half) {
        let words = description(catalog, &fitting.part);
        rows.push(row(&fitting.kind, &fitting.part, words, fitting.qty));
    }
    for boxed in &body(catalog, code).includes {
        rows.push(row(boxed.word(), "", format!("in the box of {code}"), 1));
    }
    rows
}

/// What crimps the ferrules of a half.
fn dies(pair: &EndRecord, half: &str, catalog: &Catalog) -> String {
    let mut dies: Vec<String> = Vec::new();
    for fitting in pair.fittings.iter().filter(|f| f.half == half) {
        let part = catalog.parts.iter().find(|part| part.code == fitting.part);
        if let Some(Spec::Ferrule(ferrule)) = part.map(|part| &part.spec)
            && let Some(name) = &ferrule.die_name
        {
            let die = catalog
                .dies
                .iter()
                .find(|die| die.name == *name)
                .expect("a die");
            dies.push(format!("{name} ({})", die.description));
        }
    }
    match dies.is_empty() {
        true => "none on file".to_owned(),
        false => dies.join(", "),
    }
}

/// What a part of a circuit's bag is for.
#[derive(Debug, Default, PartialEq, Eq)]
struct Pick {
    nets: Vec<String>,
    from: u64,
    to: u64,
}

/// Kind by its place in the word list, then part code.
type Bag = BTreeMap<(usize, String), Pick>;

/// The bags of the circuits in the order of the record, from its ends.
fn bags(plan: &Plan) -> Vec<(String, Bag)> {
    let mut bags: Vec<(String, Bag)> = Vec::new();
    for end in &plan.ends {
        if bags
            .last()
            .is_none_or(|(circuit, _)| *circuit != end.circuit)
        {
            bags.push((end.circuit.clone(), Bag::new()));
        }
        let (_, bag) = bags.last_mut().expect("a bag");
        let receptacle = end.receptacle.as_ref().expect("a receptacle");
        let bodies = [("plug", &end.plug, 1), ("receptacle", receptacle, 1)];
        let fittings = end
            .fittings
            .iter()
            .map(|f| (f.kind.as_str(), &f.part, f.qty));
        for (kind, part, qty) in bodies.into_iter().chain(fittings) {
            let pick = bag.entry((place(kind), part.clone())).or_default();
            match end.end.as_str() {
                "from" => pick.from += qty,
                _ => pick.to += qty,
            }
            if !pick.nets.contains(&end.net) {
                pick.nets.push(end.net.clone());
            }
        }
    }
    bags
}

const KINDS: [&str; 5] = ["plug", "receptacle", "ferrule", "seal", "back-shell"];

fn place(kind: &str) -> usize {
    KINDS.iter().position(|word| *word == kind).expect("a kind")
}

/// `HV+ and HV-`.
fn listed(nets: &[String]) -> String {
    match nets {
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
        [] => String::new(),
    }
}

/// Every row that the bags of a plan should have: those of the circuits, then
/// spares and surplus by kind and part.
fn packed(input: &Input, plan: &Plan) -> Vec<Row> {
    let row = |cells: [&str; 9]| {
        let names = [
            "bag",
            "circuit",
            "kind",
            "part",
            "description",
            "nets",
            "from",
            "to",
            "qty",
        ];
        let cells = names.into_iter().zip(cells);
        cells
            .map(|(name, cell)| (name.to_owned(), cell.to_owned()))
            .collect::<Row>()
    };
    let mut rows = Vec::new();
    for (circuit, bag) in bags(plan) {
        for ((kind, part), pick) in bag {
            let words = description(&input.catalog, &part);
            let [from, to, qty] = [pick.from, pick.to, pick.from + pick.to].map(|n| n.to_string());
            let nets = listed(&pick.nets);
            let kind = KINDS[kind];
            rows.push(row([
                "circuit", &circuit, kind, &part, &words, &nets, &from, &to, &qty,
            ]));
        }
    }
    for name in ["spares", "surplus"] {
        let of = |part: &couplet::plan::PartRecord| match name {
            "spares" => part.spare,
            _ => part.surplus,
        };
        let mut left: Vec<_> = plan.parts.iter().filter(|part| of(part) > 0).collect();
        left.sort_by_key(|part| (place(&part.kind), &part.part));
        for part in left {
            let words = description(&input.catalog, &part.part);
            let qty = of(part).to_string();
            rows.push(row([
                name, "", &part.kind, &part.part, &words, "", "", "", &qty,
            ]));
        }
    }
    rows
}

#[test]
fn kits_as_csv() {
    for (seed, circuits) in ALL {
        let (input, plan) = full(seed, circuits);
        let (shown, expected) = (rows(&input, &plan, "kit"), packed(&input, &plan));
        assert_eq!(shown.len(), expected.len());
        for (shown, expected) in shown.iter().zip(&expected) {
            assert_eq!(shown, expected);
        }
        let bags: BTreeSet<&str> = shown.iter().map(|row| row["bag"].as_str()).collect();
        assert_eq!(bags.len(), 3, "{bags:?}");
    }
}

#[test]
fn kits_on_a_page() {
    each("kit", |input, plan, page| {
        let mut left = packed(input, plan).into_iter().peekable();
        for bag in page.of_class("bag") {
            let name = bag.all("h2")[0].text();
            let (kind, circuit) = match name.strip_prefix("Circuit ") {
                Some(circuit) => ("circuit".to_owned(), circuit),
                None => (name.to_lowercase(), ""),
            };
            let mut rows = Vec::new();
            while let Some(row) = left.next_if(|r| r["bag"] == kind && r["circuit"] == circuit) {
                rows.push(row);
            }
            assert_eq!(bag.rows().len(), rows.len(), "{name}");
            for (shown, row) in bag.rows().iter().zip(&rows) {
                for (column, cell) in shown {
                    assert_eq!(cell, &row[column], "{name}: {row:?}");
                }
                assert!(shown.len() >= 4, "{shown:?}");
            }
            let pieces: u64 = rows
                .iter()
                .map(|row| row["qty"].parse::<u64>().unwrap())
                .sum();
            let contents = format!("{} parts, {pieces} pieces.", rows.len());
            assert!(
                bag.all("p")[0].text().contains(&contents),
                "{name}: {contents}"
            );
            if kind == "circuit" {
                let way = |side: &str| {
                    let is_it = |end: &&EndRecord| end.circuit == circuit && end.end == side;
                    let has_end = plan.ends.iter().any(|end| is_it(&end));
                    let of = input.circuits.iter().find(|of| of.name == circuit).unwrap();
                    let terminal = if side == "to" { &of.to } else { &of.from };
                    let location = &terminal.location;
                    match has_end {
                        true => location.clone(),
                        false => format!("{location} (no connector)"),
                    }
                };
                let way = format!("{} to {}: ", way("from"), way("to"));
                assert!(bag.all("p")[0].text().starts_with(&way), "{name}: {way}");
            }
        }
        assert_eq!(left.next(), None, "all bags are on the page");
    });
}

#[test]
fn kits_as_json() {
    let (input, plan) = full(ALL[0].0, ALL[0].1);
    let value: Value = serde_json::from_str(
        &json(&kits(&plan).unwrap(), &super::documents::of_all(&plan)).unwrap(),
    )
    .unwrap();
    let mut shown = Vec::new();
    let list = |value: &Value| value.as_array().expect("a list").clone();
    let bags = list(&value["circuits"]).into_iter();
    let bags = bags.map(|bag| ("circuit", bag["circuit"].clone(), list(&bag["parts"])));
    let rest = ["spares", "surplus"].map(|name| (name, Value::from(""), list(&value[name])));
    for (bag, circuit, parts) in bags.chain(rest) {
        for part in parts {
            let text = |name: &str| match &part[name] {
                Value::Null => String::new(),
                Value::String(text) => text.clone(),
                Value::Array(nets) => {
                    let nets = nets.iter().map(|net| net.as_str().unwrap().to_owned());
                    listed(&nets.collect::<Vec<_>>())
                }
                other => other.to_string(),
            };
            let mut row: Row = ["kind", "part", "nets", "from", "to", "qty"]
                .map(|name| (name.to_owned(), text(name)))
                .into();
            row.insert("bag".into(), bag.into());
            row.insert("circuit".into(), circuit.as_str().unwrap().into());
            row.insert(
                "description".into(),
                description(&input.catalog, &row["part"]),
            );
            shown.push(row);
        }
    }
    assert_eq!(shown, packed(&input, &plan));
}

/// The order of kinds is that of the catalog.
#[test]
fn kinds_are_in_their_order() {
    assert_eq!(Kind::ALL.map(Kind::word), KINDS);
}
