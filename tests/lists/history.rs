//! The history of prices: what taking a list adds to it, what is wrong with one, and what
//! is shown of it.

use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop, told};
use couplet::catalog::PastPrice;
use couplet::catalog::read::history::read;
use couplet::desk::history;
use couplet::desk::take::{Asked, Outcome, ReadList, Shelf};
use couplet::diag::Findings;
use couplet::input::load_catalog;
use couplet::source::Files;
use couplet::study::failure::Failure;
use couplet::study::history::Course;
use fastrand::Rng;
use rust_decimal::Decimal;
use std::collections::BTreeMap;
use std::path::Path;

const HISTORY: &str = "c/history.csv";

const HEAD: &str = "quoted,supplier,sku,part,min_qty,unit_price,currency\n";

/// An article has a row for each price.
const BY_ROWS: &str = "supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\n\
                       price = \"Price\"\nquantity = \"From\"\n";

fn shop(prices: &str) -> Shop {
    let mut shop = Shop::new(9, "EUR", &format!("{PRICE_HEAD}{prices}"));
    shop.lay(RECIPE, BY_ROWS);
    shop
}

const PRICE_HEAD: &str = "part,supplier,sku,currency,min_qty,unit_price,quoted\n";

fn asked(place: &str, dated: Option<&str>) -> Asked {
    Asked {
        place: place.into(),
        supplier: SUPPLIER.into(),
        list: "list.csv".into(),
        dated: dated.map(|day| day.parse().unwrap()),
        out: None,
    }
}

fn read_list(shop: &Shop, asked: Asked) -> Result<ReadList, Failure> {
    match Shelf::open(shop.files.clone(), asked)?.read()? {
        Outcome::Read(read) => Ok(*read),
        Outcome::Proposed(draft) => panic!("no recipe: {}", draft.text),
    }
}

/// Takes a list of these rows, and gives how many rows the history gains.
fn take(shop: &mut Shop, rows: &str, dated: Option<&str>) -> usize {
    shop.lay("list.csv", format!("Nr,From,Price\n{rows}"));
    let read = read_list(shop, asked("c", dated)).unwrap_or_else(|e| panic!("{}", told(&e)));
    shop.lay(PRICES, &read.text);
    if let Some(noted) = &read.noted {
        assert_eq!(noted.path, Path::new(HISTORY));
        shop.lay(HISTORY, &noted.text);
    }
    read.noted.map_or(0, |noted| noted.rows)
}

/// The rows of the history, without its header row.
fn rows(shop: &Shop) -> String {
    shop.text(HISTORY).strip_prefix(HEAD).unwrap().to_owned()
}

#[test]
fn a_change_stands_there_with_the_price_before() {
    let mut shop = shop(
        "P-0,Example North,N-0,EUR,1,1.00,2026-01-01\n\
         P-0,Example North,N-0,EUR,10,0.90,\n\
         P-1,Example North,N-1,EUR,1,2.00,2026-01-01\n\
         P-1,Example South,N-1,USD,1,2.00,2026-01-01\n",
    );
    // A price, a break that is gone, a new break, an article that is gone; P-2 is new.
    let text = BY_ROWS.to_owned() + "[parts]\n\"N-2\" = [\"P-2\"]\n";
    shop.lay(RECIPE, text);
    let list = "N-0,1,1.10\nN-0,50,0.80\nN-2,1,3\n";
    assert_eq!(take(&mut shop, list, Some("2026-04-01")), 8);
    assert_eq!(
        rows(&shop),
        "2026-01-01,Example North,N-0,P-0,1,1.00,EUR\n\
         2026-04-01,Example North,N-0,P-0,1,1.10,EUR\n\
         ,Example North,N-0,P-0,10,0.90,EUR\n\
         2026-04-01,Example North,N-0,P-0,10,gone,EUR\n\
         2026-04-01,Example North,N-0,P-0,50,0.80,EUR\n\
         2026-01-01,Example North,N-1,P-1,1,2.00,EUR\n\
         2026-04-01,Example North,N-1,P-1,1,gone,EUR\n\
         2026-04-01,Example North,N-2,P-2,1,3.00,EUR\n"
    );
    // The same list adds nothing, and neither does the same list of a later day.
    assert_eq!(take(&mut shop, list, Some("2026-04-01")), 0);
    assert_eq!(take(&mut shop, list, Some("2026-07-01")), 0);
    // From now on the price before is there.
    assert_eq!(
        take(&mut shop, "N-0,1,1.20\nN-0,50,0.80\nN-2,1,3\n", None),
        1
    );
    assert!(rows(&shop).ends_with("\n,Example North,N-0,P-0,1,1.20,EUR\n"));
}

#[test]
fn a_price_that_changed_by_hand_is_made_up_for() {
    let mut shop = shop("P-0,Example North,N-0,EUR,1,1.00,2026-01-01\n");
    take(&mut shop, "N-0,1,2\n", Some("2026-04-01"));
    let by_hand = shop
        .text(PRICES)
        .replace(",2.00,2026-04-01", ",5.00,2026-05-01");
    shop.lay(PRICES, by_hand);
    assert_eq!(take(&mut shop, "N-0,1,6\n", Some("2026-07-01")), 2);
    let added = "2026-05-01,Example North,N-0,P-0,1,5.00,EUR\n\
                 2026-07-01,Example North,N-0,P-0,1,6.00,EUR\n";
    assert!(rows(&shop).ends_with(added), "{}", rows(&shop));
}

/// A run that is killed between the two files leaves the history written and the price list
/// as it was.
#[test]
fn a_run_after_one_that_was_killed_adds_nothing_twice() {
    let mut shop = shop("P-0,Example North,N-0,EUR,1,1.00,\n");
    let before = shop.text(PRICES);
    take(&mut shop, "N-0,1,2\n", Some("2026-04-01"));
    let (prices, noted) = (shop.text(PRICES), shop.text(HISTORY));
    shop.lay(PRICES, before);
    assert_eq!(take(&mut shop, "N-0,1,2\n", Some("2026-04-01")), 0);
    assert_eq!((shop.text(PRICES), shop.text(HISTORY)), (prices, noted));
}

#[test]
fn what_the_user_wrote_stays() {
    let mut shop = shop("P-0,Example North,N-0,EUR,1,1.00,\n");
    let own = "# ours\r\nnote;part;unit_price;supplier;currency;quoted\r\n\r\n\
               \"by; phone\";P-8;0,5;Example Far;EUR;2020-02-29\r\n# end";
    shop.lay(HISTORY, own);
    assert_eq!(take(&mut shop, "N-0,1,1.25\n", Some("2026-04-01")), 2);
    let text = shop.text(HISTORY);
    let head = "note;part;unit_price;supplier;currency;quoted";
    let wider = own.replace(head, &format!("{head};sku;min_qty"));
    let (begin, added) = text.split_once("# end\r\n").unwrap();
    assert!(wider.replace("29\r", "29;;\r").starts_with(begin), "{text}");
    assert_eq!(
        added,
        ";P-0;1,00;Example North;EUR;;N-0;1\r\n;P-0;1,25;Example North;EUR;2026-04-01;N-0;1\r\n"
    );
}

#[test]
fn neither_check_nor_another_file_writes_a_history() {
    let mut shop = shop("P-0,Example North,N-0,EUR,1,1.00,\n");
    shop.lay("list.csv", "Nr,From,Price\nN-0,1,2\n");
    // Reading is all that a check does.
    let read = read_list(&shop, asked("c", None)).unwrap();
    assert_eq!(
        (read.taken.history_rows, &*read.taken.history),
        (2, HISTORY)
    );
    assert!(!shop.files.is_there(Path::new(HISTORY)));
    let mut out = asked("c", None);
    out.out = Some("c/new.csv".into());
    shop.lay(HISTORY, "this is no history");
    let read = read_list(&shop, out).unwrap();
    assert!(read.noted.is_none() && read.taken.history.is_empty());
}

#[test]
fn a_projects_own_price_list_has_its_own_history() {
    let mut shop = shop("P-0,Example North,N-0,EUR,1,1.00,\n");
    let settings = include_str!("../../src/cli/new/project.toml");
    let named = |list: &str| {
        let text = settings.replace("catalog = \"catalog\"", "catalog = \"../c\"");
        format!("prices = \"{list}\"\n{text}")
    };
    shop.lay("p/project.toml", named("lists/own.csv"));
    shop.lay("p/lists/own.csv", shop.text(PRICES));
    shop.lay("list.csv", "Nr,From,Price\nN-0,1,2\n");
    let noted = read_list(&shop, asked("p", None)).unwrap().noted.unwrap();
    assert_eq!(noted.path, Path::new("p/lists/history.csv"));
    shop.lay("p/lists/history.csv", &noted.text);
    let courses = |place: &str| history(&shop.files, Path::new(place), None).unwrap();
    assert_eq!((courses("p").len(), courses("c").len()), (1, 0));
    // The price list can't be its own history.
    shop.lay("p/project.toml", named("history.csv"));
    shop.lay("p/history.csv", shop.text(PRICES));
    let error = read_list(&shop, asked("p", None)).unwrap_err();
    assert_eq!(
        (error.status(), told(&error)),
        (
            2,
            "the price list p/history.csv has the name of the history of prices\n  \
             help: give the price list another name\n"
                .to_owned()
        )
    );
}

/// A random list: some articles, each with some breaks.
fn random_list(rng: &mut Rng) -> String {
    let mut list = String::new();
    for article in ["N-0", "N-1", "N-2", "M-2", "N-3", "two"] {
        if rng.u8(..6) == 0 {
            continue;
        }
        for from in [1, 10, 100] {
            if from == 1 || rng.bool() {
                list.push_str(&format!(
                    "{article},{from},{}.{}\n",
                    rng.u8(1..4),
                    rng.u8(..3)
                ));
            }
        }
    }
    list + "X-1,1,1\n"
}

type Prices = BTreeMap<(String, String, u64), Decimal>;

fn prices(shop: &Shop) -> Prices {
    let catalog = load_catalog(&shop.files, Path::new("c"), None)
        .catalog
        .unwrap();
    let north = catalog.find_supplier(SUPPLIER).unwrap();
    let mut prices = Prices::new();
    for offer in catalog
        .offers
        .iter()
        .filter(|offer| offer.supplier == north)
    {
        for b in &offer.breaks {
            let part = catalog.part(offer.part).code.clone();
            prices.insert((part, offer.sku.clone(), b.min_qty), b.unit_price.0);
        }
    }
    prices
}

fn past(shop: &Shop) -> Vec<PastPrice> {
    let mut findings = Findings::default();
    let source = shop.files.read_optional(Path::new(HISTORY), &mut findings);
    let past = source.map(|source| read(&source, &mut findings));
    assert!(findings.is_empty());
    past.unwrap_or_default()
}

/// Prices after all rows of a history, in their order.
fn replayed(mut prices: Prices, past: &[PastPrice]) -> Prices {
    for row in past.iter().filter(|row| row.supplier == SUPPLIER) {
        let place = (row.part.clone(), row.sku.clone(), row.min_qty);
        match row.unit_price {
            Some(price) => prices.insert(place, price.0),
            None => prices.remove(&place),
        };
    }
    prices
}

#[test]
fn a_history_leads_from_the_first_price_list_to_the_last() {
    let (mut changes, mut gone) = (0, 0);
    for seed in 0..150 {
        let mut rng = Rng::with_seed(seed);
        let mut shop = shop(
            "P-0,Example North,N-0,EUR,1,1.00,2026-01-01\n\
             P-0,Example North,N-0,EUR,10,0.90,\n\
             P-1,Example North,,EUR,1,2.00,2025-01-01\n\
             P-1,Example South,N-1,USD,1,2.00,2026-01-01\n\
             P-2,Example North,N-2,EUR,1,2.00,2026-01-01\n\
             P-2,Example North,M-2,EUR,1,2.00,2026-01-01\n\
             P-6,Example North,N-6,EUR,1,2.00,2026-01-01\n",
        );
        let first = prices(&shop);
        let mut dated = true;
        for turn in 1..8 {
            let complete = rng.bool();
            let parts =
                "[parts]\n\"N-1\" = [\"P-1\"]\n\"N-3\" = [\"P-3\"]\n\"two\" = [\"P-4\", \"P-5\"]\n";
            shop.lay(RECIPE, format!("complete = {complete}\n{BY_ROWS}{parts}"));
            let list = random_list(&mut rng);
            let day = format!("2026-0{turn}-15");
            let day = Some(day.as_str()).filter(|_| seed % 3 > 0 || rng.bool());
            dated &= day.is_some();
            let before = past(&shop);
            let added = take(&mut shop, &list, day);
            let all = past(&shop);
            assert_eq!(all.len(), before.len() + added, "seed {seed}");
            assert_eq!(all[..before.len()], before, "seed {seed}");
            assert_eq!(replayed(first.clone(), &all), prices(&shop), "seed {seed}");
            let text = shop
                .files
                .is_there(Path::new(HISTORY))
                .then(|| shop.text(HISTORY));
            assert_eq!(take(&mut shop, &list, day), 0, "seed {seed}");
            let again = shop
                .files
                .is_there(Path::new(HISTORY))
                .then(|| shop.text(HISTORY));
            assert_eq!(text, again, "seed {seed}");
            changes += added;
        }
        let last = prices(&shop);
        let courses = history(&shop.files, Path::new("c"), None).unwrap();
        gone += courses
            .iter()
            .filter(|c| c.stages.last().unwrap().unit_price.is_none())
            .count();
        if dated {
            for Course {
                part,
                sku,
                min_qty,
                stages,
                ..
            } in courses
            {
                let now = stages.last().unwrap().unit_price.map(|price| price.0);
                let place = (part, sku, min_qty);
                assert_eq!(now.as_ref(), last.get(&place), "seed {seed}: {place:?}");
            }
        }
    }
    assert!(changes > 5_000 && gone > 300, "{changes} {gone}");
}

/// What is wrong with a history, with the place of each.
fn wrong(text: &str) -> String {
    let mut shop = shop("P-0,Example North,N-0,EUR,1,1.00,\n");
    shop.lay(HISTORY, text);
    let shown = history(&shop.files, Path::new("c"), None).map_err(|e| (e.status(), told(&e)));
    shop.lay("list.csv", "Nr,From,Price\nN-0,1,2\n");
    let taken = read_list(&shop, asked("c", None)).map_err(|e| (e.status(), told(&e)));
    // Taking a list says the same, and nothing is written.
    match (shown, taken) {
        (Err(one), Err(other)) => {
            assert_eq!((one.0, &one), (1, &other), "{text}");
            one.1
        }
        (one, other) => {
            assert!(one.is_ok() && other.is_ok(), "{text}: {one:?} {other:?}");
            String::new()
        }
    }
}

#[test]
fn every_message_of_the_reader() {
    let row = "2026-01-01,Example North,N-0,P-0,1,1.00,EUR";
    let with = |from: &str, to: &str| wrong(&format!("{HEAD}{}\n", row.replace(from, to)));
    assert_eq!(with("1.00", "gone"), "");
    assert_eq!(with("2026-01-01", ""), "");
    assert_eq!(with("P-0,1,", "P-99,,"), "");
    let cases = [
        (
            with("2026-01-01", "1.1.26"),
            "quoted: \"1.1.26\" is not a date\n  \
             help: write year, month and day as YYYY-MM-DD, such as 2026-03-31\n",
        ),
        (
            with("Example North", ""),
            "supplier: the field is empty\n  help: give a value\n",
        ),
        (
            with("P-0", ""),
            "part: the field is empty\n  help: give a value\n",
        ),
        (
            with(",1,", ",0,"),
            "min_qty: \"0\" is below 1\n  \
             help: give a number of pieces from 1 up to 1000000000, a whole number\n",
        ),
        (
            with("1.00", ""),
            "unit_price: the field is empty\n  help: give a value\n",
        ),
        (
            with("1.00", "Gone"),
            "unit_price: \"Gone\" is no price\n  \
             help: give an amount of money, or gone where the price is gone\n",
        ),
        (
            with("1.00", "1.00 EUR"),
            "unit_price: \"1.00 EUR\" is not a number\n  \
             help: give an amount of money in digits, such as 12.5\n",
        ),
        (
            with("1.00", "-1"),
            "unit_price: \"-1\" is below 0\n  \
             help: give an amount of money from 0 up to 1000000000\n",
        ),
        (
            with("1.00", "1000000001"),
            "unit_price: \"1000000001\" is above 1000000000\n  \
             help: give an amount of money from 0 up to 1000000000\n",
        ),
        (
            with("1.00", "1.0000001"),
            "unit_price: \"1.0000001\" has more than 6 decimals\n  help: round it to 6 decimals\n",
        ),
        (
            with("EUR", "euro"),
            "currency: \"euro\" is not a currency code\n  \
             help: write the three capital letters of the currency, such as EUR\n",
        ),
        (
            with("EUR", ""),
            "currency: the field is empty\n  help: give a value\n",
        ),
    ];
    for (said, expected) in cases {
        assert_eq!(said, format!("c/history.csv:2, column {expected}"));
    }
    assert_eq!(
        wrong(&HEAD.replace(",currency", ",curency")),
        "c/history.csv:1: unknown column \"curency\"\n  help: did you mean \"currency\"?\n\
         c/history.csv:1, column currency: the column is missing\n  \
         help: add it to the header row, with a value in each row\n"
    );
    assert_eq!(
        wrong(""),
        "c/history.csv: the file is empty\n  help: begin with a header row: \
         quoted,supplier,sku,part,min_qty,unit_price,currency,note\n"
    );
    assert_eq!(
        wrong(&format!("{HEAD}a,b\n")),
        "c/history.csv:2: the row has 2 fields, the header row has 7\n  \
         help: put a field that contains the separator in quotes\n"
    );
}

#[test]
fn a_part_is_known_by_the_catalog_or_by_the_history() {
    let mut shop = shop("");
    let row = "2020-01-01,Once Ltd,,OLD-7,1,1,EUR\n";
    shop.lay(HISTORY, format!("{HEAD}{row}"));
    let of = |part| history(&shop.files, Path::new("c"), Some(part));
    assert_eq!(of("OLD-7").unwrap().len(), 1);
    assert_eq!(of("P-3").unwrap(), []);
    let said = |part| {
        let error = of(part).unwrap_err();
        (error.status(), told(&error))
    };
    let unknown = "unknown part \"OLD-8\"\n  help: did you mean \"OLD-7\"?\n";
    assert_eq!(said("OLD-8"), (2, unknown.to_owned()));
    let unknown = "unknown part \"quite another\"\n  \
                   help: couplet parts shows the parts of the catalog\n";
    assert_eq!(said("quite another"), (2, unknown.to_owned()));
    let nowhere = history(&Files::in_memory(), Path::new("none"), None).unwrap_err();
    assert_eq!(nowhere.status(), 1);
}
