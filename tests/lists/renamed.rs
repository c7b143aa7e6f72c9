//! Articles whose number is spelled anew, or is another one.

use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop};
use couplet::desk::take::ReadList;
use couplet::report::take;

const HEADER: &str = "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days\n";

/// What becomes of the supplier's rows by a list of these articles, each at 2.00.
fn taken(old: &str, complete: bool, numbers: &[&str], parts: &str) -> (Shop, ReadList) {
    let rows = old.lines().map(|line| format!("P-0,{SUPPLIER},{line}\n"));
    let mut shop = Shop::new(3, "EUR", &(HEADER.to_owned() + &rows.collect::<String>()));
    let recipe = format!(
        "supplier = \"{SUPPLIER}\"\ncomplete = {complete}\n[columns]\narticle = \"Nr\"\nprice = \"Price\"\n\
         [parts]\n{parts}"
    );
    shop.lay(RECIPE, recipe);
    let rows = numbers.iter().map(|number| format!("{number};2.00\n"));
    shop.lay(
        "list.csv",
        "Nr;Price\n".to_owned() + &rows.collect::<String>(),
    );
    let read = shop.take("list.csv");
    (shop, read)
}

/// The supplier's rows without part and name.
fn rows(shop: &Shop) -> String {
    let text = shop.text(PRICES);
    let rows = text
        .lines()
        .filter_map(|line| line.strip_prefix("P-0,Example North,"));
    rows.map(|row| format!("{row}\n")).collect()
}

fn is_new(read: &ReadList) -> Vec<(&str, String)> {
    let new = read.taken.changes.new.iter();
    new.map(|one| (one.sku.as_str(), one.may_replace.join(" ")))
        .collect()
}

const ONE: &str = "N-0,EUR,1,1.00,5,40,7";

#[test]
fn a_number_spelled_anew_takes_the_place_of_the_old_one() {
    for complete in [true, false] {
        let (shop, read) = taken(ONE, complete, &["n 0"], "\"n 0\" = [\"P-0\"]\n");
        assert_eq!(rows(&shop), "n 0,EUR,1,2.00,5,40,7\n");
        let changes = &read.taken.changes;
        assert_eq!(changes.terms[0].what, ["number changed N-0 → n 0"]);
        assert_eq!((changes.new.len(), changes.gone.len()), (0, 0));
        assert_eq!(changes.prices[0].before.to_string(), "1.00");
        let text = take::text(&read.taken, false, 100);
        assert!(text.contains("number changed N-0 → n 0"), "{text}");
        assert!(!text.contains("not clear"), "{text}");
        // A second time there is nothing to do.
        let again = shop.read("list.csv").unwrap();
        assert!(!again.taken.would_change && again.taken.changes.is_empty());
    }
}

#[test]
fn the_only_offer_before_and_now_are_one_whatever_the_number() {
    let (shop, read) = taken(ONE, false, &["X-77"], "\"X-77\" = [\"P-0\"]\n");
    assert_eq!(rows(&shop), "X-77,EUR,1,2.00,5,40,7\n");
    let what = &read.taken.changes.terms[0].what;
    assert_eq!(what, &["number changed N-0 → X-77"]);
}

#[test]
fn an_old_number_that_is_still_listed_stays_beside_a_new_one() {
    let numbers = ["N-0", "n 0"];
    let (shop, read) = taken(ONE, true, &numbers, "\"n 0\" = [\"P-0\"]\n");
    assert_eq!(rows(&shop), "N-0,EUR,1,2.00,5,40,7\nn 0,EUR,1,2.00,,,\n");
    assert_eq!(is_new(&read), [("n 0", String::new())]);
    assert!(read.taken.changes.terms.is_empty());
}

const TWO: &str = "A-1,EUR,1,1.00,5,40,7\nB-2,EUR,1,1.10,10,,9";

#[test]
fn of_several_the_one_that_is_spelled_alike_is_replaced() {
    for (complete, left) in [(false, "A-1,EUR,1,1.00,5,40,7\n"), (true, "")] {
        let (shop, read) = taken(TWO, complete, &["0b2"], "\"0b2\" = [\"P-0\"]\n");
        assert_eq!(rows(&shop), format!("{left}0b2,EUR,1,2.00,10,,9\n"));
        let what = &read.taken.changes.terms[0].what;
        assert_eq!(what, &["number changed B-2 → 0b2"]);
        assert!(is_new(&read).is_empty());
    }
}

#[test]
fn where_several_may_be_replaced_that_is_said() {
    let (shop, read) = taken(TWO, false, &["X-77"], "\"X-77\" = [\"P-0\"]\n");
    assert_eq!(
        rows(&shop),
        "A-1,EUR,1,1.00,5,40,7\nB-2,EUR,1,1.10,10,,9\nX-77,EUR,1,2.00,,,\n"
    );
    assert_eq!(is_new(&read), [("X-77", "A-1 B-2".to_owned())]);
    let text = take::text(&read.taken, false, 100);
    assert!(text.contains("A-1 or B-2"), "{text}");
    let said = "which article a new one replaces is not clear";
    assert!(text.contains(said), "{text}");
    let csv = take::changes(&read.taken).csv().unwrap();
    assert!(csv.contains("may replace A-1 or B-2"), "{csv}");
    // One is listed still: the other may be replaced, or not.
    let (_, read) = taken(TWO, false, &["A-1", "X-77"], "\"X-77\" = [\"P-0\"]\n");
    assert_eq!(is_new(&read), [("X-77", "B-2".to_owned())]);
    // Two of the list may replace the one.
    let parts = "\"X-7\" = [\"P-0\"]\n\"X-8\" = [\"P-0\"]\n";
    let (_, read) = taken(ONE, false, &["X-7", "X-8"], parts);
    let both = ["X-7", "X-8"].map(|sku| (sku, "N-0".to_owned()));
    assert_eq!(is_new(&read), both);
    // Two numbers that are alike replace none of the list.
    let alike = "A-1,EUR,1,1.00,5,40,7\na 1,EUR,1,1.10,10,,9";
    let (_, read) = taken(alike, false, &["A1"], "\"A1\" = [\"P-0\"]\n");
    assert_eq!(is_new(&read), [("A1", "A-1 a 1".to_owned())]);
}
