//! Taking a list brings back the table that the list was made from.

use crate::known::{Known, known, reprice};
use crate::layout::{Breaks, Form, Head, Style, Unit};
use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop};
use crate::write::{list, recipe};
use fastrand::Rng;
use std::collections::{BTreeMap, BTreeSet};

/// Layouts that are tried.
const LAYOUTS: usize = 60;

/// A shop with stale prices of the supplier, known offers, and the recipe.
struct Case {
    shop: Shop,
    offers: Vec<Known>,
    style: Style,
    rng: Rng,
    kept: Vec<String>,
}

/// Rows of other suppliers and comments, in forms that a program would not choose.
const OTHERS: &str = "Example South, x ,USD,P-1, 10 ,1.50,2026-01-01,\" note, with comma\",,3\n";

fn case(seed: usize) -> Case {
    let style = Style::of(seed);
    let mut rng = Rng::with_seed(7_000 + seed as u64);
    let count = 24;
    let sku = |n: usize| format!("00{n}-A/{}", n * 7);
    let mut offers: Vec<Known> = (0..count)
        .map(|n| known(&format!("P-{n}"), &sku(n), &style, &mut rng))
        .collect();
    // The price list has most of them at other prices; the rest only the recipe knows.
    let mut prices =
        "# kept by hand\nsupplier,sku,currency,part,min_qty,unit_price,quoted,note,pack,stock,lead_days\n".to_owned();
    let others = OTHERS.replacen(",3\n", ",,3\n", 1);
    prices.push_str(&others);
    let mut kept = vec!["# kept by hand".to_owned(), others.trim_end().to_owned()];
    let mut parts = String::new();
    for (n, offer) in offers.iter().enumerate() {
        if n % 4 == 3 {
            parts.push_str(&format!("{:?} = [{:?}]\n", offer.sku, offer.part));
            continue;
        }
        let comment = format!("#  {}  ;", offer.part);
        let south = format!("Example East,,EUR,{},1,9.90,,,,,", offer.part);
        let currency = style.currency();
        prices.push_str(&format!("{comment}\n{south}\n"));
        prices.push_str(&format!(
            "{SUPPLIER},{},{currency},{},1,0.01,,kept,,,\n",
            offer.sku, offer.part
        ));
        if n % 3 == 0 {
            prices.push_str(&format!(
                "{SUPPLIER},{},{currency},{},7,0.009,,,,,\n",
                offer.sku, offer.part
            ));
        }
        kept.extend([comment, south]);
    }
    // One article serves as two parts.
    let two = known("P-24", "two in one", &style, &mut rng);
    let also = Known {
        part: "P-25".into(),
        ..two.clone()
    };
    parts.push_str("\"two in one\" = [\"P-24\", \"P-25\"]\n\"never\" = []\n");
    offers.extend([two, also]);
    let mut shop = Shop::new(30, style.currency(), &prices);
    shop.lay(RECIPE, recipe(SUPPLIER, &style, &parts));
    Case {
        shop,
        offers,
        style,
        rng,
        kept,
    }
}

/// One row of the list for each article number.
fn articles(offers: &[Known]) -> Vec<Known> {
    let mut seen = BTreeSet::new();
    offers
        .iter()
        .filter(|offer| seen.insert(offer.sku.clone()))
        .cloned()
        .collect()
}

fn rows(offers: &[Known]) -> Vec<crate::known::Row> {
    let mut rows: Vec<_> = offers.iter().map(Known::row).collect();
    rows.sort();
    rows
}

/// The lines of the price list that are none of the supplier's.
fn others(shop: &Shop) -> Vec<String> {
    let text = shop.text(PRICES);
    let own = |line: &&str| !line.starts_with(SUPPLIER) && !line.starts_with("supplier,");
    text.lines().filter(own).map(str::to_owned).collect()
}

#[test]
fn every_layout_brings_back_what_it_was_made_from() {
    for seed in 0..LAYOUTS {
        let mut case = case(seed);
        let of = format!("seed {seed}: {:?}", case.style);
        let written = list(
            &articles(&case.offers),
            &["X-1", "X-2", "never"],
            "01.04.2026",
            &case.style,
            &mut case.rng,
        );
        case.shop.lay(written.name, &written.bytes);
        let south = case.shop.offers("Example South");
        let read = case.shop.take(written.name);
        assert_eq!(case.shop.offers(SUPPLIER), rows(&case.offers), "{of}");
        assert_eq!(case.shop.offers("Example South"), south, "{of}");
        assert_eq!(others(&case.shop), case.kept, "{of}");
        let taken = &read.taken;
        assert_eq!(
            (taken.articles, taken.matched, taken.never_ours),
            (28, 25, 1),
            "{of}"
        );
        assert_eq!(taken.unmatched.len(), 2, "{of}");
        assert_eq!(
            (taken.not_understood.len(), taken.rounded.len()),
            (0, 0),
            "{of}"
        );
        let dated = (case.style.head == Head::Block).then_some("2026-04-01");
        assert_eq!(taken.dated.as_deref(), dated, "{of}");
        assert!(
            case.shop
                .days(SUPPLIER)
                .iter()
                .all(|day| day.as_deref() == dated),
            "{of}"
        );
        // A second time there is nothing to do.
        let text = case.shop.text(PRICES);
        let again = case.shop.take(written.name);
        assert!(
            !again.taken.would_change && again.taken.changes.is_empty(),
            "{of}"
        );
        assert_eq!(case.shop.text(PRICES), text, "{of}");
    }
}

#[test]
fn each_form_of_each_axis_is_among_the_layouts() {
    let styles: Vec<Style> = (0..LAYOUTS).map(Style::of).collect();
    let count =
        |of: &dyn Fn(&Style) -> String| styles.iter().map(of).collect::<BTreeSet<_>>().len();
    assert_eq!(count(&|s| format!("{:?}", s.form)), 6);
    assert_eq!(count(&|s| format!("{:?}", s.separator)), 3);
    assert_eq!(count(&|s| format!("{:?}", s.head)), 2);
    assert_eq!(count(&|s| format!("{:?}", s.breaks)), 6);
    assert_eq!(count(&|s| format!("{:?}", s.unit)), 5);
    assert_eq!(count(&|s| format!("{:?}", s.amounts)), 6);
    assert_eq!(count(&|s| format!("{:?}", s.lead)), 4);
    assert_eq!(count(&|s| format!("{:?}", s.stock)), 3);
    assert_eq!(count(&|s| format!("{:?}", s.pack)), 3);
    assert_eq!(count(&|s| s.language.to_string()), 7);
    let crossed: BTreeSet<String> = styles
        .iter()
        .map(|s| format!("{:?} {:?}", s.form, s.breaks))
        .collect();
    assert!(crossed.len() >= 12, "{}", crossed.len());
}

#[test]
fn a_second_list_brings_exactly_the_differences() {
    for seed in 0..LAYOUTS {
        let mut case = case(seed);
        let of = format!("seed {seed}: {:?}", case.style);
        let first = list(
            &articles(&case.offers),
            &["X-1"],
            "01.04.2026",
            &case.style,
            &mut case.rng,
        );
        case.shop.lay(first.name, &first.bytes);
        case.shop.take(first.name);
        // A third is dearer or cheaper, four are gone, one is new.
        let before = case.offers.clone();
        let mut after = before.clone();
        for offer in after.iter_mut().take(20).step_by(3) {
            reprice(offer, &case.style, &mut case.rng);
        }
        let gone: Vec<Known> = after.drain(8..12).collect();
        after.push(known("P-28", "brand-new", &case.style, &mut case.rng));
        let text = case.shop.text(RECIPE) + "\"brand-new\" = [\"P-28\"]\n";
        case.shop.lay(RECIPE, text);
        let second = list(
            &articles(&after),
            &["X-9"],
            "01.07.2026",
            &case.style,
            &mut case.rng,
        );
        case.shop.lay(second.name, &second.bytes);
        let taken = case.shop.take(second.name).taken;
        assert_eq!(case.shop.offers(SUPPLIER), rows(&after), "{of}");
        assert_eq!(others(&case.shop), case.kept, "{of}");

        let changes = &taken.changes;
        let is: BTreeMap<_, _> = (changes.prices.iter())
            .map(|c| {
                (
                    (c.part.clone(), c.min_qty),
                    (c.before.0.normalize(), c.after.0.normalize()),
                )
            })
            .collect();
        assert_eq!(is, differences(&before, &after), "{of}");
        let sizes: Vec<_> = changes
            .prices
            .iter()
            .map(|c| c.percent.map(|p| p.abs()))
            .collect();
        assert!(sizes.windows(2).all(|two| two[0] >= two[1]), "{of}");
        let parts: Vec<&str> = changes.gone.iter().map(|gone| gone.part.as_str()).collect();
        let mut expected: Vec<&str> = gone.iter().map(|gone| gone.part.as_str()).collect();
        expected.sort_unstable();
        assert_eq!(parts, expected, "{of}");
        assert_eq!(changes.no_longer_sold, expected, "{of}");
        let new: Vec<&str> = changes.new.iter().map(|new| new.part.as_str()).collect();
        assert_eq!(new, ["P-28"], "{of}");
        assert!(
            changes.breaks.is_empty() && changes.terms.is_empty(),
            "{of}"
        );
        for change in &changes.prices {
            let row = second
                .rows
                .iter()
                .find(|(sku, _)| *sku == change.sku)
                .unwrap()
                .1;
            let by_rows = case.style.breaks == Breaks::Rows;
            assert!(change.row == row || (by_rows && change.row > row), "{of}");
        }
    }
}

type Prices = BTreeMap<(String, u64), (rust_decimal::Decimal, rust_decimal::Decimal)>;

fn differences(before: &[Known], after: &[Known]) -> Prices {
    let mut differences = Prices::new();
    for new in after {
        let Some(old) = before.iter().find(|old| old.part == new.part) else {
            continue;
        };
        for ((quantity, was), (_, is)) in old.steps.iter().zip(&new.steps) {
            if was.normalize() != is.normalize() {
                differences.insert(
                    (new.part.clone(), *quantity),
                    (was.normalize(), is.normalize()),
                );
            }
        }
    }
    differences
}

#[test]
fn a_proposed_recipe_reads_every_layout_that_says_all() {
    let mut by_itself = 0;
    for seed in 0..LAYOUTS {
        let mut case = case(seed);
        let recipe = case.shop.text(RECIPE);
        let parts = recipe.split_once("[parts]").unwrap().1;
        case.shop.files.hide(std::path::Path::new(RECIPE));
        let written = list(
            &articles(&case.offers),
            &["X-1"],
            "01.04.2026",
            &case.style,
            &mut case.rng,
        );
        case.shop.lay(written.name, &written.bytes);
        let outcome = case.shop.shelf(written.name).unwrap().read();
        let of = format!("seed {seed}: {:?}", case.style);
        let couplet::desk::take::Outcome::Proposed(draft) = outcome.unwrap() else {
            panic!("{of}");
        };
        // What the user adds: the parts, how long stock takes, and what no heading says.
        let mut text = draft.text.replace("from_stock = 0", "from_stock = 2");
        text = text.replace("[parts]\n", &format!("[parts]{parts}"));
        let is_silent = !matches!(case.style.unit, Unit::Fixed(1) | Unit::Column)
            && matches!(
                case.style.breaks,
                Breaks::Columns | Breaks::Ranges | Breaks::Pairs
            );
        if is_silent {
            assert!(draft.remarks.iter().any(|(key, _)| *key == "per"), "{of}");
            let per = match case.style.unit {
                Unit::Fixed(per) => per.to_string(),
                _ => "\"pack\"".to_owned(),
            };
            text = text.replace("\nper = 1\n", &format!("\nper = {per}\n"));
        } else {
            by_itself += 1;
        }
        case.shop.lay(RECIPE, &text);
        let read = case.shop.read(written.name);
        let Ok(read) = read else {
            panic!("{of}\n{text}\n{}", crate::shop::told(&read.unwrap_err()));
        };
        case.shop.lay(PRICES, &read.text);
        assert_eq!(
            case.shop.offers(SUPPLIER),
            rows(&case.offers),
            "{of}\n{text}"
        );
        let is_book = case.style.form == Form::Workbook;
        assert_eq!(draft.recipe.sheet.is_some(), is_book, "{of}");
    }
    assert!(by_itself >= 40, "{by_itself} of {LAYOUTS}");
}
