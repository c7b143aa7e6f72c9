//! What a list says by a slip: an encoding, a decimal sign, a price, a day.

use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop, findings, told};

const HEADER: &str = "part,supplier,sku,currency,min_qty,unit_price,quoted\n";

const COLUMNS: &str = "[columns]\narticle = \"Nr\"\nprice = \"Price\"\n";

/// A shop whose price list has these rows: `N-0,EUR,1,1.00,2026-01-01` of part `P-0`.
fn shop(rows: &[&str], recipe: &str) -> Shop {
    let rows = rows.iter().enumerate();
    let rows = rows.map(|(n, row)| format!("P-{n},{SUPPLIER},{row}\n"));
    let prices = HEADER.to_owned() + &rows.collect::<String>();
    let mut shop = Shop::new(20, "EUR", &prices);
    shop.lay(
        RECIPE,
        format!("supplier = \"{SUPPLIER}\"\ncomplete = false\n{recipe}"),
    );
    shop
}

/// The warnings or errors of a list.
fn said(shop: &mut Shop, list: impl AsRef<[u8]>) -> String {
    shop.lay("list.csv", list);
    match shop.read("list.csv") {
        Ok(read) => findings(&read.warnings),
        Err(error) => told(&error),
    }
}

const TAKE_OUT: &str =
    "  help: take encoding out of the recipe: then the file tells it, or it is guessed\n";

#[test]
fn another_encoding_than_that_of_the_recipe_is_told() {
    let named = |encoding: &str| format!("[file]\nencoding = \"{encoding}\"\n{COLUMNS}");
    let rows = ["Größe 1,EUR,1,1.00,"];
    let list = "Nr;Price\nGröße 1;1.10\n";
    let old = encoding_rs::WINDOWS_1252.encode(list).0.into_owned();
    let mut by_old = shop(&rows, &named("windows-1252"));
    assert_eq!(said(&mut by_old, &old), "");
    assert_eq!(
        said(&mut by_old, list),
        format!("list.csv: the file is in UTF-8, but the recipe says windows-1252\n{TAKE_OUT}")
    );
    let marked = format!("\u{feff}{list}");
    let mark = "list.csv: the file begins with a mark of UTF-8, but the recipe says windows-1252: it \
                is read as UTF-8\n";
    assert_eq!(said(&mut by_old, &marked), format!("{mark}{TAKE_OUT}"));
    assert_eq!(by_old.read("list.csv").unwrap().taken.matched, 1);
    // Without letters beyond ASCII there is nothing to tell.
    assert_eq!(said(&mut by_old, "Nr;Price\nN-1;1.10\n"), "");
    let mut by_new = shop(&rows, &named("utf-8"));
    assert_eq!(said(&mut by_new, list), "");
    assert_eq!(said(&mut by_new, &marked), "");
    let broken = said(&mut by_new, &old);
    assert!(
        broken.starts_with("list.csv: the file is not in UTF-8: some of its bytes"),
        "{broken}"
    );
    assert!(broken.ends_with(TAKE_OUT), "{broken}");
    // The cure.
    let mut without = shop(&rows, COLUMNS);
    assert_eq!(said(&mut without, list), "");
    assert_eq!(said(&mut without, &old), "");
}

const DECIMAL: &str = "write decimal = \"comma\" or decimal = \"point\" under [file] of \
                       c/lists/Example-North.toml\n";

#[test]
fn all_cells_tell_the_decimal_sign_together() {
    let rows = ["N-0,EUR,1,1.25,", "N-1,EUR,1,2.10,", "N-2,EUR,1,3.15,"];
    let mut shop = shop(&rows, COLUMNS);
    let price = |shop: &mut Shop, list: &str| {
        assert_eq!(said(shop, list), "", "{list}");
        let changes = shop.read("list.csv").unwrap().taken.changes;
        changes.prices.first().map(|one| one.after.to_string())
    };
    // What is no amount tells nothing of the others.
    let first = price(
        &mut shop,
        "Nr;Price\nN-0;1,26\nX;3.1.50\nX;from 01.04.2026\n",
    );
    assert_eq!(first.as_deref(), Some("1.26"));
    // Neither does what the recipe leaves out, so that nothing tells here.
    let malformed = said(&mut shop, "Nr;Price\nN-0;1.250\nN-1;2.100\nX;3.1.50\n");
    let unclear = "list.csv:2: whether \"1.250\" has thousands or decimals can't be told\n";
    assert_eq!(malformed, format!("{unclear}  help: {DECIMAL}"));
    // One cell against two that may be either.
    let alone = "list.csv:4: \"3,15\" alone tells the decimal sign: whether the other amounts, such as \
                 \"1,250\", have thousands or decimals is not sure\n";
    assert_eq!(
        said(&mut shop, "Nr;Price\nN-0;1,250\nN-1;2,100\nN-2;3,15\n"),
        format!("{alone}  help: {DECIMAL}")
    );
    // Against one, and two against two, they do tell.
    let first = price(&mut shop, "Nr;Price\nN-0;1,251\nN-2;3,15\n");
    assert_eq!(first.as_deref(), Some("1.251"));
    let first = price(
        &mut shop,
        "Nr;Price\nN-0;1,251\nN-1;2,100\nN-2;3,15\nX;4,1\n",
    );
    assert_eq!(first.as_deref(), Some("1.251"));
}

#[test]
fn each_cell_with_the_other_decimal_sign_is_told() {
    let mut shop = shop(&["N-0,EUR,1,1.25,"], COLUMNS);
    let list = "Nr;Price\nN-0;1,25\nX;2.50\nX;3,50\nX;4,50\nX;5.50\n";
    let one = |row: u64, cell: &str| {
        format!(
            "list.csv:{row}: \"{cell}\" has a decimal point, but 3 amounts have a decimal comma\n  \
             help: correct the cell, or {DECIMAL}"
        )
    };
    assert_eq!(said(&mut shop, list), one(3, "2.50") + &one(6, "5.50"));
    // The first of two that differ counts for nothing either.
    let even = said(&mut shop, "Nr;Price\nN-0;1,25\nX;2.50\n");
    let but = "but another amount has a decimal";
    assert!(
        even.contains(&format!("has a decimal comma, {but} point")),
        "{even}"
    );
}

#[test]
fn a_proposed_recipe_says_how_sure_the_decimal_sign_is() {
    let draft = |list: &str| {
        let mut shop = Shop::new(5, "EUR", HEADER);
        shop.lay("list.csv", list);
        match shop.shelf("list.csv").unwrap().read().unwrap() {
            couplet::desk::take::Outcome::Proposed(draft) => {
                let remark = draft.remarks.iter().find(|(key, _)| *key == "decimal");
                remark.map(|(_, text)| text.clone()).unwrap_or_default()
            }
            couplet::desk::take::Outcome::Read(_) => panic!("there is a recipe"),
        }
    };
    assert_eq!(draft("Nr;Preis\nN-0;1,25\nN-1;2,10\n"), "");
    assert_eq!(
        draft("Nr;Preis\nN-0;1,25\nN-1;2,10\nN-2;3.10\n"),
        "most amounts have a decimal comma, but 1 of 3 not, such as \"3.10\" in row 4"
    );
    assert_eq!(
        draft("Nr;Preis\nN-0;1.250\nN-1;2.100\nN-2;3.15\n"),
        "\"3.15\" in row 4 alone tells the decimal sign"
    );
    assert_eq!(
        draft("Nr;Preis\nN-0;1.250\nN-1;2.100\n"),
        "whether a sign is of thousands or decimals can't be told; a decimal point is assumed"
    );
}

#[test]
fn prices_that_jump_are_told() {
    let rows = ["N-0,EUR,1,1.00,", "N-1,EUR,1,1.00,"];
    let mut shop = shop(&rows, COLUMNS);
    let jump = |shop: &mut Shop, price: &str| said(shop, format!("Nr;Price\nN-0;{price}\n"));
    let said_of = |price: &str, help: &str| {
        format!(
            "list.csv:2: article N-0 (P-0) costs {price} EUR, and 1.00 EUR so far\n  help: {help}\n"
        )
    };
    for fine in ["4.99", "0.21", "1.00"] {
        assert_eq!(jump(&mut shop, fine), "", "{fine}");
    }
    let pack = "look whether the price is that of a pack, or ask the supplier";
    for (far, shown) in [("5.00", "5.00"), ("0.2", "0.20"), ("49.99", "49.99")] {
        assert_eq!(jump(&mut shop, far), said_of(shown, pack), "{far}");
    }
    let per = |word, n| {
        format!(
            "is the price per {word}? then write per = {n} under [price] of c/lists/Example-North.toml"
        )
    };
    for (price, word, n) in [
        ("50.00", "hundred", 100),
        ("200.00", "hundred", 100),
        ("500.00", "thousand", 1_000),
        ("2000.00", "thousand", 1_000),
    ] {
        assert_eq!(jump(&mut shop, price), said_of(price, &per(word, n)));
    }
    for neither in ["200.01", "499.99", "2000.01"] {
        assert_eq!(jump(&mut shop, neither), said_of(neither, pack));
    }
    let too_large = "is the price per hundred so far, or is per under [price] of \
                     c/lists/Example-North.toml too large?";
    assert_eq!(jump(&mut shop, "0.01"), said_of("0.01", too_large));
    // A warning stops nothing.
    assert!(shop.take("list.csv").taken.would_change);
    assert!(shop.text(PRICES).contains("N-0,EUR,1,0.01"));
}

#[test]
fn of_many_prices_that_jump_a_few_are_told() {
    let rows: Vec<String> = (0..8).map(|n| format!("N-{n},EUR,1,1.00,")).collect();
    let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
    let mut shop = shop(&rows, COLUMNS);
    let list = |count: usize| {
        let rows = (0..count).map(|n| format!("N-{n};99.00\n"));
        "Nr;Price\n".to_owned() + &rows.collect::<String>()
    };
    let five = said(&mut shop, list(5));
    assert_eq!(five.matches("costs 99.00 EUR").count(), 5, "{five}");
    assert!(!five.contains("more"), "{five}");
    let eight = said(&mut shop, list(8));
    assert_eq!(eight.matches("costs 99.00 EUR").count(), 5, "{eight}");
    let more = "list.csv: 3 more articles cost 5 times as much or as little as so far, or more\n";
    assert!(eight.contains(more), "{eight}");
}

#[test]
fn an_older_list_than_the_newest_is_told() {
    let recipe = format!("{COLUMNS}[date]\ncell = \"B1\"\n");
    let rows = ["N-0,EUR,1,1.00,2026-01-01", "N-1,EUR,1,1.00,"];
    let list = |day: &str| format!("Day,{day}\nNr,Price\nN-0,1.10\n");
    let older = |day: &str, newest: &str| {
        format!(
            "list.csv: the list is of {day}, but the price list has prices of this supplier of {newest} \
             already\n  help: take the newer list after it, or leave this one\n"
        )
    };
    let mut shop = shop(&rows, &recipe);
    assert_eq!(said(&mut shop, list("2026-01-01")), "");
    assert_eq!(said(&mut shop, list("2026-01-02")), "");
    let day = "2025-12-31";
    assert_eq!(said(&mut shop, list(day)), older(day, "2026-01-01"));
    // The history has a day that no price has any more, and others have days of their own.
    let history = "quoted,supplier,sku,part,min_qty,unit_price,currency\n\
                   2026-03-01,Example North,N-1,P-1,1,1.00,EUR\n\
                   2026-05-01,Example East,N-1,P-1,1,1.00,EUR\n";
    shop.lay("c/history.csv", history);
    assert_eq!(said(&mut shop, list("2026-03-01")), "");
    let day = "2026-02-28";
    assert_eq!(said(&mut shop, list(day)), older(day, "2026-03-01"));
}
