//! A list as large as lists come. What it takes is printed, not asserted.

use crate::shop::{RECIPE, SUPPLIER, Shop};
use std::fmt::Write;
use std::time::Instant;

#[test]
fn a_hundred_thousand_lines() {
    let mut prices = "part,supplier,sku,currency,min_qty,unit_price\n".to_owned();
    for n in 0..2_000 {
        let _ = writeln!(prices, "P-{n},{SUPPLIER},N-{n},EUR,1,1.25");
    }
    let mut shop = Shop::new(2_000, "EUR", &prices);
    let recipe = "supplier = \"Example North\"\n[columns]\narticle = \"Art.-Nr.\"\ndescription = \"Bezeichnung\"\n\
                  price = \"Preis\"\nstock = \"Bestand\"\n";
    shop.lay(RECIPE, recipe);
    let mut list = "Art.-Nr.;Bezeichnung;Preis;Bestand\r\n".to_owned();
    for n in 0..100_000 {
        let _ = write!(
            list,
            "N-{n};seal number {n} für Stecker;{},{:02} €;{}\r\n",
            n % 900 + 1,
            n % 100,
            n % 50
        );
    }
    let bytes = encoding_rs::WINDOWS_1252.encode(&list).0.into_owned();
    shop.lay("list.csv", &bytes);
    let begun = Instant::now();
    let read = shop.take("list.csv");
    eprintln!(
        "100,000 lines, {} bytes: {} ms",
        bytes.len(),
        begun.elapsed().as_millis()
    );
    assert_eq!((read.taken.articles, read.taken.matched), (100_000, 2_000));
    assert_eq!(shop.offers(SUPPLIER).len(), 2_000);
}
