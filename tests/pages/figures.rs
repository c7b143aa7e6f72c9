//! Every figure of the report's page against the record, worked out anew.

use crate::documents::{frontier, pages};
use crate::full::{ALL, cents, dec, description, ends, full, is_near, label, mating};
use crate::html::Element;
use couplet::catalog::Spec;
use couplet::input::Input;
use couplet::plan::{FittingRecord, Order, OrderLine, Plan};
use couplet::units::Money;
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

fn report(input: &Input, plan: &Plan) -> Element {
    let pages = pages(input, plan);
    let (_, page) = pages
        .iter()
        .find(|(name, _)| *name == "report")
        .expect("it");
    Element::page(page)
}

/// Looks at the report of each of the plans.
fn each(look: impl Fn(&Input, &Plan, &Element)) {
    for (seed, circuits) in ALL {
        let (input, plan) = full(seed, circuits);
        look(&input, &plan, &report(&input, &plan));
    }
}

/// The amount of `12.30 EUR`.
fn amount<'t>(text: &'t str, plan: &Plan) -> &'t str {
    let currency = format!(" {}", plan.currency);
    text.strip_suffix(&currency)
        .unwrap_or_else(|| panic!("{text}"))
}

#[test]
fn the_total_and_the_facts_below_it() {
    each(|input, plan, page| {
        let head = page.all("header")[0];
        let total = format!("{} {}", cents(plan.cost.total), plan.currency);
        assert_eq!(head.of_class("total")[0].all("strong")[0].text(), total);
        let with_tax = format!(
            "with tax {} {}",
            cents(plan.cost.total_with_tax),
            plan.currency
        );
        assert_eq!(head.of_class("more")[0].text(), with_tax);
        let facts = head.facts();
        let (circuits, cables) = (input.circuits.len(), ends(input, plan).len() / 2);
        let pairs = plan.ends.len();
        let size = format!("{circuits} circuits, {cables} cables, {pairs} mated pairs");
        assert_eq!(facts["Size"], size);
        let variants: BTreeSet<&str> = plan.ends.iter().flat_map(codes).collect();
        assert_eq!(
            facts["Variants"],
            format!("{} distinct parts", variants.len())
        );
        assert_eq!(facts["Orders"], format!("{} suppliers", plan.orders.len()));
        let [spent, both] = numbers(&facts["Ordered already"], plan);
        assert!(is_near(&spent, plan.spent));
        assert_eq!(dec(&both), dec(&spent) + dec(&cents(plan.cost.total)));
        let day = input.as_of.expect("a day").to_string();
        assert_eq!(facts["Prices as of"], day);
    });
}

/// `1.00 EUR, with the total 2.00`.
fn numbers(text: &str, plan: &Plan) -> [String; 2] {
    let (spent, both) = text.split_once(", with the total ").expect("two amounts");
    [amount(spent, plan).to_owned(), both.to_owned()]
}

/// The parts of an end.
fn codes(end: &couplet::plan::EndRecord) -> impl Iterator<Item = &str> {
    let bodies = end.bodies().map(|(_, code)| code);
    bodies.chain(end.fittings.iter().map(|f| f.part.as_str()))
}

#[test]
fn terms_shares_and_bars() {
    each(|_, plan, page| {
        let cost = &plan.cost;
        let terms = [
            ("goods", cost.goods),
            ("duty", cost.duty),
            ("shipping", cost.shipping),
            ("dies", cost.dies),
            ("handling", cost.lines),
        ];
        let terms: Vec<_> = terms
            .into_iter()
            .filter(|(_, term)| term.is_positive())
            .collect();
        let (rows, chart) = (
            page.id("terms").rows(),
            page.id("cost").of_class("chart")[0],
        );
        assert_eq!(rows.len(), terms.len());
        let longest = terms.iter().map(|(_, term)| *term).max().expect("a term");
        let mut sum = Decimal::ZERO;
        let texts: Vec<String> = chart.all("text").into_iter().map(Element::text).collect();
        for (place, (row, (name, exact))) in rows.iter().zip(&terms).enumerate() {
            assert_eq!(&row["term"], name);
            let shown = amount(&row["amount"], plan);
            assert!(is_near(shown, *exact), "{row:?}");
            sum += dec(shown);
            let share = row["share"].strip_suffix(" %").expect("a share");
            let off = dec(share) - exact.0 * Decimal::ONE_HUNDRED / cost.total.0;
            assert!(off.abs() <= Decimal::new(5, 2), "{row:?}");
            // The bar says and is the same.
            assert_eq!(texts[2 * place], row["term"]);
            let beside = format!("{} · {}", row["amount"], row["share"]);
            assert_eq!(texts[2 * place + 1], beside);
            let of_longest: f64 = (exact.0 / longest.0).try_into().expect("a number");
            let width = chart.all("rect")[place].number("width");
            assert!(
                (width - (300.0 * of_longest).max(1.0)).abs() < 0.01,
                "{width}"
            );
        }
        let total = format!("{} {}", cents(cost.total), plan.currency);
        assert_eq!(sum, dec(&cents(cost.total)));
        assert_eq!(
            page.id("terms").sums(),
            [("total".to_owned(), total.clone())]
        );
        let said = page.id("cost").all("figcaption")[0].text();
        assert!(
            said.starts_with(&format!("What the total of {total} is made of")),
            "{said}"
        );
    });
}

#[test]
fn dies_to_buy_are_those_of_the_ferrules() {
    each(|input, plan, page| {
        let catalog = &input.catalog;
        let mut wanted: BTreeMap<String, Money> = BTreeMap::new();
        for code in plan.ends.iter().flat_map(codes) {
            let part = catalog
                .parts
                .iter()
                .find(|part| part.code == code)
                .expect("a part");
            if let Spec::Ferrule(ferrule) = &part.spec
                && let Some(name) = &ferrule.die_name
            {
                let die = catalog
                    .dies
                    .iter()
                    .find(|die| die.name == *name)
                    .expect("a die");
                if !die.owned {
                    wanted.insert(name.clone(), die.cost);
                }
            }
        }
        assert_eq!(wanted.values().copied().sum::<Money>(), plan.cost.dies);
        let caption = page.id("cost").all("figcaption")[0].text();
        let said: BTreeSet<String> = match caption.split_once("Dies to buy: ") {
            Some((_, dies)) => dies.split(", ").map(str::to_owned).collect(),
            None => BTreeSet::new(),
        };
        let wanted = wanted.iter();
        let wanted =
            wanted.map(|(name, cost)| format!("{name} {} {}", cents(*cost), plan.currency));
        assert_eq!(said, wanted.collect());
    });
}

#[test]
fn fewer_variants() {
    each(|_, plan, page| {
        let points = frontier(plan).points;
        let rows = page.id("frontier").rows();
        assert_eq!(rows.len(), points.len());
        for (row, point) in rows.iter().zip(&points) {
            assert_eq!(row["at most"], point.variants.to_string());
            assert_eq!(row["total"], cents(point.total));
            let proof = match point.gap_percent {
                None => "proven".to_owned(),
                Some(gap) => format!("within {gap:.2} %"),
            };
            assert_eq!(row["proof"], proof);
        }
        let here = page.id("cost").of_class("here");
        assert_eq!(here.len(), 1, "one dot is this plan");
    });
}

#[test]
fn each_order_with_its_sums() {
    each(|input, plan, page| {
        for (place, order) in plan.orders.iter().enumerate() {
            let grid = page.id(&format!("order-{place}"));
            let caption = format!("{}, in {}", order.supplier, order.currency);
            assert_eq!(grid.all("caption")[0].text(), caption);
            let rows = grid.rows();
            assert_eq!(rows.len(), order.lines.len());
            let mut goods = Decimal::ZERO;
            for (row, line) in rows.iter().zip(&order.lines) {
                let expected = [
                    ("part", line.part.clone()),
                    ("description", description(&input.catalog, &line.part)),
                    ("sku", line.sku.clone()),
                    ("qty", line.qty.to_string()),
                    ("packs", line.packs.to_string()),
                    ("quoted", quoted(input, order, line)),
                ];
                for (column, cell) in expected {
                    assert_eq!(row[column], cell, "{row:?}");
                }
                assert_eq!(dec(&row["unit price"]), line.unit_price.0, "{row:?}");
                let exact = Money(line.unit_price.0 * Decimal::from(line.qty));
                assert!(is_near(&row["amount"], exact), "{row:?}");
                goods += dec(&row["amount"]);
            }
            let sums: BTreeMap<String, String> = grid.sums().into_iter().collect();
            let sum = |name: &str| sums.get(name).map_or(Decimal::ZERO, |sum| dec(sum));
            assert_eq!(sum("goods"), goods);
            assert_eq!(sums.contains_key("duty"), order.duty.is_positive());
            assert_eq!(sums["total"], cents(order.total));
            assert_eq!(sum("goods") + sum("duty") + sum("shipping"), sum("total"));
            assert!(is_near(&sums["shipping"], order.shipping));
            assert!(
                sums.get("duty")
                    .is_none_or(|duty| is_near(duty, order.duty))
            );
        }
    });
}

/// The day of the dearest break that the quantity reaches.
fn quoted(input: &Input, order: &Order, line: &OrderLine) -> String {
    let catalog = &input.catalog;
    let is_it = |offer: &&couplet::catalog::Offer| {
        catalog.suppliers[offer.supplier.0 as usize].name == order.supplier
            && catalog.parts[offer.part.0 as usize].code == line.part
    };
    let offer = catalog.offers.iter().find(is_it).expect("an offer");
    let reached = offer.breaks.iter().filter(|step| step.min_qty <= line.qty);
    let step = reached.max_by_key(|step| step.min_qty).expect("a break");
    step.quoted.expect("a day").to_string()
}

#[test]
fn each_end_of_each_cable() {
    each(|input, plan, page| {
        let (rows, ends) = (page.id("ends").rows(), ends(input, plan));
        assert_eq!(rows.len(), ends.len());
        for (row, end) in rows.iter().zip(&ends) {
            let expected = [
                ("circuit", end.circuit.name.clone()),
                ("no.", end.number.to_string()),
                ("net", end.net.clone()),
                ("end", format!("{} {}", end.side, end.here.location)),
                ("gauge", end.circuit.gauge.to_string()),
                (
                    "interface and key",
                    end.pair.map_or("no connector".into(), mating),
                ),
                (
                    "receptacle",
                    end.pair.map_or(String::new(), |p| {
                        p.receptacle.clone().expect("a receptacle")
                    }),
                ),
                ("plug", end.pair.map_or(String::new(), |p| p.plug.clone())),
            ];
            for (column, cell) in expected {
                assert_eq!(row[column], cell, "{}", label(end));
            }
            let fittings = end.pair.map_or(&[][..], |pair| &pair.fittings);
            let [on_receptacle, on_plug] =
                ["receptacle", "plug"].map(|half| pieces(fittings, half));
            let expected = match (on_receptacle.is_empty(), on_plug.is_empty()) {
                (true, _) => on_plug,
                (false, true) => format!("receptacle: {on_receptacle}"),
                (false, false) => format!("receptacle: {on_receptacle}; plug: {on_plug}"),
            };
            assert_eq!(
                row["fittings"].replace('\u{a0}', " "),
                expected,
                "{}",
                label(end)
            );
        }
    });
}

/// `F-70, 2 × B-8` of one half.
fn pieces(fittings: &[FittingRecord], half: &str) -> String {
    let of_half = fittings.iter().filter(|fitting| fitting.half == half);
    let texts = of_half.map(|fitting| match fitting.qty {
        1 => fitting.part.clone(),
        qty => format!("{qty} × {}", fitting.part),
    });
    texts.collect::<Vec<_>>().join(", ")
}

#[test]
fn the_drawing_has_each_cable_with_what_mates_at_its_ends() {
    each(|input, plan, page| {
        let ends = ends(input, plan);
        let drawn = page.id("machine").of_class("cable");
        assert_eq!(drawn.len(), ends.len() / 2);
        let title = page.id("drawing-t").text();
        let places: BTreeSet<&str> = ends.iter().map(|end| end.here.location.as_str()).collect();
        assert_eq!(
            title,
            format!("{} locations and {} cables", places.len(), drawn.len())
        );
        for both in ends.chunks(2) {
            let [from, to] = both else {
                panic!("two ends a cable")
            };
            let name = format!("{} {}, {}", from.number, from.circuit.name, from.net);
            let is_it = |cable: &&&Element| cable.all("title")[0].text() == name;
            let cable = drawn.iter().find(is_it).unwrap_or_else(|| panic!("{name}"));
            let shown = cable.of_class("mating").into_iter();
            let shown: Vec<bool> = shown
                .map(|m| m.attributes["class"].contains("bare"))
                .collect();
            assert_eq!(shown, [from, to].map(|end| end.pair.is_none()), "{name}");
            for (mark, end) in cable.of_class("mating").into_iter().zip([from, to]) {
                if let Some(pair) = end.pair {
                    assert_eq!(mark.text(), mating(pair), "{name}");
                }
            }
        }
    });
}

#[test]
fn keys_at_each_location() {
    each(|_, plan, page| {
        // Location, net, interface and key to the circuits of its ends.
        let mut used: BTreeMap<[&str; 4], Vec<&str>> = BTreeMap::new();
        let mut at: BTreeMap<&str, usize> = BTreeMap::new();
        for end in &plan.ends {
            let place = [&end.location, &end.net, &end.interface, &end.key];
            used.entry(place.map(String::as_str))
                .or_default()
                .push(&end.circuit);
            *at.entry(&end.location).or_default() += 1;
        }
        let rows = page.id("keys").rows();
        assert_eq!(rows.len(), used.len());
        for row in &rows {
            let place = ["location", "net", "interface", "key"].map(|name| row[name].as_str());
            let circuits = &used[&place];
            assert_eq!(row["pairs"], circuits.len().to_string(), "{row:?}");
            let listed = row["circuits"].replace(" and ", ", ");
            let listed: BTreeSet<&str> = listed.split(", ").collect();
            assert_eq!(listed, circuits.iter().copied().collect(), "{row:?}");
        }
        for row in page.id("keys-left").rows() {
            let count = at[row["location"].as_str()];
            let pairs = count * (count - 1) / 2;
            assert_eq!(row["pairs of ends"], pairs.to_string(), "{row:?}");
        }
    });
}

/// Each row adds up, and says why there is more than is fitted.
#[test]
fn each_part() {
    each(|_, plan, page| {
        let rows = page.id("part-list").rows();
        assert_eq!(rows.len(), plan.parts.len());
        for (row, part) in rows.iter().zip(&plan.parts) {
            assert_eq!((&row["part"], &row["kind"]), (&part.part, &part.kind));
            let counts = [
                ("fitted", part.fitted),
                ("spare", part.spare),
                ("on hand used", part.on_hand_used),
                ("ordered used", part.ordered_used),
                ("bought", part.bought),
                ("surplus", part.surplus),
            ];
            let shown = |name: &str| match row[name].as_str() {
                "" => 0,
                text => text.parse::<u64>().expect("a count"),
            };
            for (column, count) in counts {
                assert_eq!(shown(column), count, "{row:?}");
            }
            let there = shown("on hand used") + shown("ordered used") + shown("bought");
            let taken = shown("fitted") + shown("spare") + shown("surplus");
            assert_eq!(there, taken, "{row:?}");
            let why = &row["why more than fitted"];
            assert_eq!(why.contains("spare: "), part.spare > 0, "{row:?}");
            assert_eq!(why.contains("surplus: "), part.surplus > 0, "{row:?}");
        }
    });
}

/// The same table as text: what is blank on paper is nothing.
#[test]
fn each_part_in_the_text() {
    for (seed, circuits) in ALL {
        let (input, plan) = full(seed, circuits);
        let text = couplet::report::plan::text(&plan, &input, 100);
        let table = text.split("\nParts\n").nth(1).expect("parts");
        let mut lines = table.split("\n\n").next().expect("a table").lines();
        let (heads, rule) = (lines.next().expect("heads"), lines.next().expect("a rule"));
        let mut spans: Vec<(usize, usize)> = Vec::new();
        for column in rule.split(' ') {
            let begins = spans.last().map_or(0, |(_, end)| end + 1);
            spans.push((begins, begins + column.len()));
        }
        let cell = |line: &str, (begins, ends): (usize, usize)| {
            let cell: String = line.chars().skip(begins).take(ends - begins).collect();
            cell.trim().to_owned()
        };
        let rows: Vec<&str> = lines.collect();
        assert_eq!(rows.len(), plan.parts.len());
        for (line, part) in rows.into_iter().zip(&plan.parts) {
            let row: BTreeMap<String, String> = spans
                .iter()
                .map(|span| (cell(heads, *span), cell(line, *span)))
                .collect();
            assert_eq!(row["part"], part.part);
            let count = |name: &str| row[name].parse::<u64>().unwrap_or(0);
            let there = count("on hand used") + count("ordered used") + count("bought");
            assert_eq!(count("bought"), part.bought, "{line}");
            let taken = count("fitted") + count("spare") + count("surplus");
            assert_eq!(there, taken, "{line}");
        }
    }
}

#[test]
fn each_file() {
    each(|input, plan, page| {
        let rows = page.id("files").rows();
        assert_eq!(rows.len(), plan.inputs.len());
        let breaks = input.catalog.offers.iter().flat_map(|offer| &offer.breaks);
        let days: BTreeSet<String> = breaks
            .map(|b| b.quoted.expect("a day").to_string())
            .collect();
        for (row, file) in rows.iter().zip(&plan.inputs) {
            assert_eq!((&row["file"], &row["sha256"]), (&file.file, &file.sha256));
            let dates = match file.file.ends_with("prices.csv") {
                true => format!(
                    "quoted {} to {}",
                    days.first().unwrap(),
                    days.last().unwrap()
                ),
                false => String::new(),
            };
            assert_eq!(row["dates"], dates);
        }
    });
}

/// Without tax the page has no second total.
#[test]
fn without_tax_there_is_one_total() {
    let (mut input, _) = full(1, 2);
    input.settings.tax_percent.0 = Decimal::ZERO;
    let plan = crate::any_plan::any_plan(&input);
    assert_eq!(plan.cost.total, plan.cost.total_with_tax);
    assert!(report(&input, &plan).of_class("more").is_empty());
}
