//! What each key of a recipe does, on small lists.

use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop};
use couplet::desk::take::{Asked, Outcome, ReadList, Shelf};

const HEADER: &str = "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted\n";

/// A shop whose price list has two articles.
fn shop(recipe: &str) -> Shop {
    let rows = "P-0,Example North,N-0,EUR,1,1.00,,,,2026-01-01\n\
                P-1,Example North,N-1,EUR,1,2.00,5,7,9,2026-01-01\n";
    let mut shop = Shop::new(6, "EUR", &format!("{HEADER}{rows}"));
    shop.lay(RECIPE, recipe);
    shop
}

/// The rows of the price list after a list was taken.
fn rows(columns: &str, rest: &str, list: &str) -> Vec<String> {
    let recipe = format!("supplier = \"{SUPPLIER}\"\n{columns}{rest}");
    let mut shop = shop(&recipe);
    shop.lay("list.csv", list);
    shop.take("list.csv");
    let text = shop.text(PRICES);
    let own = text.lines().filter(|line| line.contains(SUPPLIER));
    own.map(|line| line.replace(",Example North,", " ").replace(",EUR,", " "))
        .collect()
}

const COLUMNS: &str = "[columns]\narticle = \"Nr\"\nprice = \"Price\"\n";

#[test]
fn what_has_no_column_stays() {
    let list = "Nr,Price\nN-0,1.50\nN-1,2.50\n";
    // Without a day, a row with a new price has none; one with the old price keeps its day.
    assert_eq!(
        rows(COLUMNS, "", list),
        ["P-0 N-0 1,1.50,,,,", "P-1 N-1 1,2.50,5,7,9,"]
    );
    let list = list.replace("2.50", "2.00");
    assert_eq!(
        rows(COLUMNS, "", &list)[1],
        "P-1 N-1 1,2.00,5,7,9,2026-01-01"
    );
}

#[test]
fn an_empty_cell_keeps_what_was_known_and_that_is_told() {
    let columns = format!(
        "supplier = \"{SUPPLIER}\"\n{COLUMNS}stock = \"Stock\"\nlead = \"Lead\"\npack = \"Pack\"\n[lead]\n\
         unit = \"days\"\n"
    );
    let of = |cells: &str| {
        let mut shop = shop(&columns);
        let list = format!("Nr,Price,Stock,Lead,Pack\nN-0,1,,,\nN-1,2,{cells}\n");
        shop.lay("list.csv", list);
        let read = shop.take("list.csv");
        let row = shop.text(PRICES).lines().last().unwrap().to_owned();
        let kept = read.taken.kept.iter();
        let kept: Vec<String> = kept
            .map(|one| format!("{} {}", one.sku, one.what.join(", ")))
            .collect();
        let shown = couplet::report::take::text(&read.taken, true, 80);
        let is_told = shown.contains("Kept as it was, since the list has an empty cell\n");
        assert_eq!(is_told, !kept.is_empty(), "{shown}");
        (row.replace("P-1,Example North,N-1,EUR,1,2.00,", ""), kept)
    };
    let all = ["N-1 pack 5, stock 7, lead time 9".to_owned()];
    assert_eq!(of(",,"), ("5,7,9,2026-01-01".to_owned(), all.to_vec()));
    assert_eq!(of("-,–,"), ("5,7,9,2026-01-01".to_owned(), all.to_vec()));
    let one = ["N-1 lead time 9".to_owned()];
    assert_eq!(of("0,,1"), (",0,9,2026-01-01".to_owned(), one.to_vec()));
    // What is there without a number is no empty cell: there is no limit any more.
    assert_eq!(of("yes,3,1"), (",,3,2026-01-01".to_owned(), Vec::new()));
}

#[test]
fn a_list_that_is_not_complete_leaves_the_rest() {
    let list = "Nr,Price\nN-0,1.50\n";
    assert_eq!(rows(COLUMNS, "", list).len(), 1);
    let columns = format!("complete = false\n{COLUMNS}");
    assert_eq!(
        rows(&columns, "", list),
        ["P-0 N-0 1,1.50,,,,", "P-1 N-1 1,2.00,5,7,9,2026-01-01"]
    );
}

#[test]
fn below_the_least_quantity_nothing_is_sold() {
    let columns = format!("{COLUMNS}least = \"Min\"\n");
    let breaks =
        "[[breaks]]\nfrom = 10\nprice = \"from 10\"\n[[breaks]]\nfrom = 50\nprice = \"from 50\"\n";
    let list = "Nr,Price,Min,from 10,from 50\nN-0,5,20,4,3\nN-1,5,10,4,\n";
    let is = rows(&columns, breaks, list);
    assert_eq!(
        is,
        [
            "P-0 N-0 20,4.00,,,,",
            "P-0 N-0 50,3.00,,,,",
            "P-1 N-1 10,4.00,5,7,9,"
        ]
    );
    // Just at a break, and just below.
    let list = "Nr,Price,Min,from 10,from 50\nN-0,5,9,4,3\nN-1,5,1,4,\n";
    let is = rows(&columns, breaks, list);
    assert_eq!(is[..2], ["P-0 N-0 9,5.00,,,,", "P-0 N-0 10,4.00,,,,"]);
}

#[test]
fn packs_are_counted_where_the_recipe_or_the_cell_says_so() {
    let columns = format!("{COLUMNS}pack = \"Pack\"\nleast = \"Min\"\nstock = \"Stock\"\n");
    let rest = "[price]\nper = \"pack\"\n[quantity]\nbreaks = \"packs\"\nleast = \"packs\"\nstock = \"packs\"\n\
                [[breaks]]\nfrom = 3\ndiscount = \"from 3\"\n";
    let list = "Nr,Price,Pack,Min,Stock,from 3\nN-0,10,4,2,5,10 %\nN-1,10,4,2 pcs,yes (5 pcs),\n";
    let is = rows(&columns, rest, list);
    assert_eq!(
        is,
        [
            "P-0 N-0 8,2.50,4,20,,",
            "P-0 N-0 12,2.25,4,20,,",
            "P-1 N-1 2,2.50,4,5,9,"
        ]
    );
}

#[test]
fn what_does_not_end_is_rounded_half_up_and_told() {
    let columns = format!("{COLUMNS}pack = \"Pack\"\n");
    let mut shop = shop(&format!(
        "supplier = \"{SUPPLIER}\"\n{columns}[price]\nper = \"pack\"\n"
    ));
    shop.lay("list.csv", "Nr,Price,Pack\nN-0,2,3\nN-1,10,8\n");
    let read = shop.take("list.csv");
    let rounded: Vec<String> = read
        .taken
        .rounded
        .iter()
        .map(|r| format!("{} {} {}", r.part, r.unit_price, r.row))
        .collect();
    assert_eq!(rounded, ["P-0 0.666667 2"]);
}

#[test]
fn rows_are_left_out() {
    let columns = format!("{COLUMNS}description = \"Text\"\n");
    let list =
        "Nr,Text,Price\nN-0,ok,1.50\nN-1,Discontinued item,soon\nN-1,,2.50\nSum,,4\nN-1,old,2.75\n";
    let skip = "[[skip]]\ncolumn = \"Text\"\nbegins = [\"DISCONTINUED\"]\n\
                [[skip]]\ncolumn = \"Nr\"\nis = [\"sum\"]\n\
                [[skip]]\ncolumn = \"Text\"\nempty = true\n";
    assert_eq!(
        rows(&columns, skip, list),
        ["P-0 N-0 1,1.50,,,,", "P-1 N-1 1,2.75,5,7,9,"]
    );
    let has = "[[skip]]\ncolumn = \"Text\"\nhas = [\"item\", \"old\"]\n";
    assert_eq!(rows(&columns, has, list)[1], "P-1 N-1 1,2.50,5,7,9,");
}

#[test]
fn columns_with_one_heading_are_told_apart() {
    let columns = "[columns]\narticle = \"Nr\"\nprice = \"Price [2]\"\n";
    assert_eq!(
        rows(columns, "", "Nr,Price,Price\nN-0,9,1.50\nN-1,9,2\n")[0],
        "P-0 N-0 1,1.50,,,,"
    );
    // Case, spaces and line breaks do not count.
    let list = "NR,\"Net\nprice\"\nN-0,1.50\nN-1,2\n";
    let columns = "[columns]\narticle = \"Nr\"\nprice = \"net  Price\"\n";
    assert_eq!(rows(columns, "", list)[0], "P-0 N-0 1,1.50,,,,");
    // A heading that stands again below is no article.
    let list = "Nr,Price\nN-0,1.50\nNr,Price\nN-1,2\n";
    assert_eq!(rows(COLUMNS, "", list).len(), 2);
}

#[test]
fn words_of_the_user() {
    let columns =
        format!("{COLUMNS}per = \"Per\"\nstock = \"Stock\"\nlead = \"Lead\"\ndate = \"Day\"\n");
    let rest = "[price.words]\n\"C\" = 100\n[stock.words]\n\"few\" = 3\n[lead]\nunit = \"working-days\"\n\
                [lead.words]\n\"On its way\" = 11\n[date]\norder = \"month-day\"\n";
    let list =
        "Nr,Price,Per,Stock,Lead,Day\nN-0,150,c,Few,on its  way,4/1/2026\nN-1,2,,,10,1 July 2026\n";
    let is = rows(&columns, rest, list);
    assert_eq!(
        is,
        [
            "P-0 N-0 1,1.50,,3,11,2026-04-01",
            "P-1 N-1 1,2.00,5,7,14,2026-07-01"
        ]
    );
}

#[test]
fn quotes_can_be_letters() {
    let rest = "[file]\nquotes = false\nseparator = \"tab\"\n";
    let list = "Nr\tText\tPrice\nN-0\t\"big\t1.50\nN-1\tx\t2\n";
    assert_eq!(rows(COLUMNS, rest, list)[0], "P-0 N-0 1,1.50,,,,");
}

#[test]
fn our_code_in_the_list_needs_no_article_number() {
    let columns = "[columns]\npart = \"Yours\"\nprice = \"Price\"\n";
    let list = "Yours,Price\nP-1,2.50\nP-5,9\nP-9,1\n";
    // The only offer of a part keeps its article number.
    let is = rows(columns, "", list);
    assert_eq!(is, ["P-1 N-1 1,2.50,5,7,9,", "P-5  1,9.00,,,,"]);
}

fn read(shop: &Shop, dated: Option<&str>) -> ReadList {
    let asked = Asked {
        place: "c".into(),
        supplier: SUPPLIER.into(),
        list: "list.csv".into(),
        dated: dated.map(|day| day.parse().unwrap()),
        out: None,
    };
    match Shelf::open(shop.files.clone(), asked).unwrap().read() {
        Ok(Outcome::Read(read)) => *read,
        Ok(Outcome::Proposed(_)) => panic!("there is a recipe"),
        Err(error) => panic!("{}", crate::shop::told(&error)),
    }
}

#[test]
fn the_day_that_the_user_gives_comes_first() {
    let mut shop = shop(&format!(
        "supplier = \"{SUPPLIER}\"\n{COLUMNS}[date]\ncell = \"B1\"\n"
    ));
    shop.lay("list.csv", "Day,2026-04-01\nNr,Price\nN-0,1\nN-1,2\n");
    assert_eq!(read(&shop, None).taken.dated.as_deref(), Some("2026-04-01"));
    let given = read(&shop, Some("2026-05-05"));
    assert_eq!(given.taken.dated.as_deref(), Some("2026-05-05"));
    assert_eq!(given.text.matches("2026-05-05").count(), 2);
    // The same prices on another day are a change of the file, and of nothing else.
    assert!(given.taken.would_change && given.taken.changes.is_empty());
    let shown = couplet::report::take::text(&given.taken, true, 80);
    assert!(
        shown.contains("only the day of the quotes changes"),
        "{shown}"
    );
}

#[test]
fn where_most_rows_go_the_way_out_is_shown() {
    let mut prices = HEADER.to_owned();
    for n in 0..6 {
        prices.push_str(&format!("P-{n},{SUPPLIER},N-{n},EUR,1,1.00,,,,\n"));
    }
    for (kept, is_shown) in [(3, false), (2, true)] {
        let mut shop = Shop::new(6, "EUR", &prices);
        shop.lay(RECIPE, format!("supplier = \"{SUPPLIER}\"\n{COLUMNS}"));
        let rows = (0..kept).map(|n| format!("N-{n},1\n"));
        shop.lay(
            "list.csv",
            "Nr,Price\n".to_owned() + &rows.collect::<String>(),
        );
        let shown = couplet::report::take::text(&read(&shop, None).taken, true, 80);
        assert_eq!(
            shown.contains("write complete = false into the recipe"),
            is_shown,
            "{shown}"
        );
    }
}
