//! What is proposed where nobody has said anything yet.

use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop};
use couplet::desk::take::{Draft, Outcome};
use std::path::Path;

const HEADER: &str = "part,supplier,sku,min_qty,unit_price\n";

fn draft(shop: &Shop, list: &str) -> Draft {
    match shop.shelf(list).unwrap().read().unwrap() {
        Outcome::Proposed(draft) => *draft,
        Outcome::Read(_) => panic!("there is a recipe"),
    }
}

/// A list of ten articles, priced so many times the price of a piece.
fn list(times: u32) -> String {
    let rows = (0..10).map(|n| format!("N-{n};seal;{};5\n", times * (n + 1)));
    format!("Nr.;Text;Preis;VPE\n{}", rows.collect::<String>())
}

fn shop() -> Shop {
    let rows = (0..10).map(|n| format!("P-{n},{SUPPLIER},N-{n},1,{}.1\n", n + 1));
    Shop::new(12, "EUR", &(HEADER.to_owned() + &rows.collect::<String>()))
}

#[test]
fn known_prices_tell_for_how_many_pieces_a_price_is() {
    let mut shop = shop();
    for (times, per) in [
        (1, "per = 1"),
        (10, "per = 10"),
        (100, "per = 100"),
        (5, "per = \"pack\""),
    ] {
        shop.lay("list.csv", list(times));
        let draft = draft(&shop, "list.csv");
        assert!(
            draft.text.contains(&format!("\n{per}\n")),
            "{times}: {}",
            draft.text
        );
        let remark = draft.remarks.iter().find(|(key, _)| *key == "per").unwrap();
        assert!(
            remark.1.contains("beside the price list it is for"),
            "{}",
            remark.1
        );
        assert_eq!(draft.matched, 10);
    }
}

#[test]
fn the_column_with_known_article_numbers_has_them() {
    let mut shop = shop();
    let rows = (0..10).map(|n| format!("M{n};N-{n};{n},50\n"));
    shop.lay(
        "list.csv",
        "Artikelnr.;Katalog;Preis\n".to_owned() + &rows.collect::<String>(),
    );
    let draft = draft(&shop, "list.csv");
    assert!(
        draft.text.contains("article = \"Katalog\"\n"),
        "{}",
        draft.text
    );
    assert!(
        draft.text.contains("decimal = \"comma\"\n"),
        "{}",
        draft.text
    );
}

#[test]
fn unknown_articles_are_proposed_and_never_taken() {
    let mut shop = shop();
    let list = "Nr.,Type,Text,Price\n\
                n 3,,seal,4.00\n\
                X1,p_11,seal,4.00\n\
                X2,,seal number 7 R,4.00\n\
                X3,,bolt,4.00\n\
                P-10,,,4.00\n";
    shop.lay("list.csv", list);
    let draft = draft(&shop, "list.csv");
    assert_eq!(draft.matched, 0);
    let lines: Vec<&str> = draft
        .text
        .lines()
        .filter(|line| line.starts_with("# \""))
        .collect();
    assert_eq!(
        lines,
        [
            "# \"n 3\" = [\"P-3\"]  # 95 % sure: the article number, but for case, spaces and punctuation",
            "# \"X1\" = [\"P-11\"]  # 92 % sure: the maker's type is our code",
            "# \"X2\" = [\"P-7\"]  # 59 % sure: the descriptions have most words in common",
            "# \"P-10\" = [\"P-10\"]  # 90 % sure: the article number is our code",
        ]
    );
    // With the recipe as it is proposed no article is taken for a part.
    shop.lay(RECIPE, &draft.text);
    let read = shop.take("list.csv");
    assert_eq!((read.taken.matched, read.taken.unmatched.len()), (0, 5));
    assert_eq!(read.taken.unmatched[0].proposals[0].part, "P-3");
    // The list has none of the ten parts that the price list has: nothing is deleted by it.
    let before = shop.text(PRICES);
    assert_eq!(read.taken.changes.gone.len(), 0);
    assert!(!read.taken.would_change && before.contains("P-3,Example North,N-3,1,4.1\n"));
    // The user says yes to one of them.
    shop.lay(RECIPE, draft.text.replace("# \"n 3\"", "\"n 3\""));
    let read = shop.take("list.csv");
    let changes = &read.taken.changes;
    assert_eq!((read.taken.matched, changes.new.len()), (1, 0));
    assert_eq!(changes.terms[0].what, ["number changed N-3 → n 3"]);
    let after = before.replace("N-3,1,4.1", "n 3,1,4.00");
    assert_eq!(shop.text(PRICES), after);
}

#[test]
fn a_list_that_lacks_most_articles_is_no_complete_one() {
    let mut shop = shop();
    for (count, is_complete) in [(5, true), (4, false), (0, false)] {
        let rows = (0..count).map(|n| format!("N-{n};seal;{};5\n", n + 1));
        let more = "X-1;bolt;1,50;5\nX-2;bolt;1,50;5\n";
        let rows: String = rows.collect();
        shop.lay("list.csv", format!("Nr.;Text;Preis;VPE\n{rows}{more}"));
        let draft = draft(&shop, "list.csv");
        assert_eq!(draft.recipe.complete, is_complete, "{count}");
        let said = format!(
            "# LOOK HERE: the list has {count} of the 10 parts that the price list has of this supplier, so the \
             rest is taken to be still sold; write true if it no longer is\ncomplete = false\n"
        );
        let shown = if is_complete {
            "\ncomplete = true\n"
        } else {
            &said
        };
        assert!(draft.text.contains(shown), "{}", draft.text);
        let told = draft.remarks.iter().any(|(key, _)| *key == "complete");
        assert_eq!(told, !is_complete, "{count}");
    }
    // Where the price list has nothing of the supplier, nothing can be deleted.
    let mut empty = Shop::new(3, "EUR", HEADER);
    empty.lay("list.csv", "Nr.;Preis\nX-1;1,50\n");
    assert!(self::draft(&empty, "list.csv").recipe.complete);
}

#[test]
fn a_list_without_headings_is_told() {
    let mut shop = shop();
    shop.lay("list.csv", "a;b;c\n1;2;3\n");
    let error = shop.shelf("list.csv").unwrap().read().unwrap_err();
    assert_eq!(
        crate::shop::told(&error),
        "list.csv: no row is told to be the headings: none names an article number and a price\n  \
         help: write c/lists/Example-North.toml by hand, with the headings under [columns]\n"
    );
    assert!(!shop.files.is_there(Path::new(RECIPE)));
}

#[test]
fn articles_without_a_part_become_rows_to_fill_in() {
    let mut shop = shop();
    let list = "Nr.,Type,Text,Price\n\
                X1,,\"=plug, orange\",4.00\n\
                X2,Z9,Aderendhülse 50,0.5\n\
                X3,,bolt,4.00\n\
                X4,,seal for plug,\n";
    shop.lay("list.csv", list);
    let draft = draft(&shop, "list.csv");
    shop.lay(RECIPE, &draft.text);
    let read = shop.take("list.csv");
    let expected = "# Articles of Example North that match no part: list.csv.\n\
        # Put each row into the file that stands above it, and fill in what is missing.\n\n\
        # bodies.csv\n\
        part,description,half,interface,key,poles,rated_a,rated_v,rated_c,max_c,attach,exit,barrel,rear,ip,colour,includes,\
        min_mm2,max_mm2,min_od_mm,max_od_mm,note\n\
        X1,\"'=plug, orange\",plug,,,,,,,,,,,,,,,,,,,price 4.00\n\n\
        # ferrules.csv\n\
        part,description,barrel,min_mm2,max_mm2,die,note\n\
        X2,Aderendhülse 50,,,,,type Z9; price 0.50\n\n\
        # seals.csv\n\
        part,description,rear,min_od_mm,max_od_mm,ip,note\n\
        X4,seal for plug,,,,,\n\n\
        # What these are is not clear.\n\
        part,description,note\n\
        X3,bolt,price 4.00\n\n\
        # Then put these lines under [parts] of c/lists/Example-North.toml:\n\
        # \"X1\" = [\"X1\"]\n# \"X2\" = [\"X2\"]\n# \"X3\" = [\"X3\"]\n# \"X4\" = [\"X4\"]\n";
    assert_eq!(read.new_rows().unwrap(), expected);
}
