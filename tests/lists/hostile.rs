//! Texts that were made to do harm, broken bytes, cells without end.

use crate::shop::{PRICES, RECIPE, SUPPLIER, Shop, told};
use fastrand::Rng;

const HEADER: &str = "part,supplier,sku,currency,min_qty,unit_price\n";

const SIMPLE: &str = "supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\ndescription = \"Text\"\nprice = \"Price\"\n";

fn shop(recipe: &str) -> Shop {
    let rows = format!(
        "P-0,{SUPPLIER},N-0,EUR,1,1.00\nP-1,{SUPPLIER},=N-1,EUR,1,1.00\nP-2,Example South,=1+1,USD,1,3\n"
    );
    let mut shop = Shop::new(5, "EUR", &(HEADER.to_owned() + &rows));
    shop.lay(RECIPE, recipe);
    shop
}

#[test]
fn formulas_and_escapes_are_texts() {
    let parts = "[parts]\n\"=cmd()\" = [\"P-2\"]\n\"#9\" = [\"P-3\"]\n\"a\\\"b,c\" = [\"P-4\"]\n";
    let mut shop = shop(&format!("{SIMPLE}{parts}"));
    let list = "Nr,Text,Price\n\
                =N-1,\"\u{1b}[31mred\u{7}\",2.50\n\
                =cmd(),x,3.50\n\
                #9,x,4.50\n\
                \"a\"\"b,c\",x,5.50\n\
                @SUM(1),\u{202e}x,1.00\n";
    shop.lay("list.csv", list);
    let read = shop.take("list.csv");
    let text = shop.text(PRICES);
    // In the price list, whatever a spreadsheet would run begins with an apostrophe.
    let formulas = text
        .split(['\n', ','])
        .filter(|cell| cell.starts_with(['=', '@', '+', '-']));
    assert_eq!(formulas.collect::<Vec<_>>(), ["=N-1", "=1+1"]);
    assert!(
        text.contains("P-2,Example North,'=cmd(),EUR,1,3.50\n"),
        "{text}"
    );
    let offers = shop.offers(SUPPLIER);
    let skus: Vec<&str> = offers.iter().map(|offer| offer.1.as_str()).collect();
    assert_eq!(skus, ["=N-1", "=cmd()", "#9", "a\"b,c"]);
    let shown = couplet::report::take::text(&read.taken, false, 80);
    assert!(!shown.contains(['\u{1b}', '\u{7}']), "{shown:?}");
    let csv = couplet::report::take::changes(&read.taken).csv().unwrap();
    assert!(csv.contains(",'=cmd(),"), "{csv}");
    assert!(
        read.new_rows().unwrap().contains("'@SUM(1)"),
        "{}",
        read.new_rows().unwrap()
    );
}

#[test]
fn a_cell_without_end_is_read_and_cut_where_it_is_shown() {
    let mut shop = shop(SIMPLE);
    let long = "x".repeat(3_000_000);
    shop.lay(
        "list.csv",
        format!("Nr,Text,Price\nN-0,{long},2\n{long},a,3\nN-1,b,{long}\n"),
    );
    let read = shop.take("list.csv");
    assert_eq!(
        (read.taken.matched, read.taken.not_understood.len()),
        (1, 1)
    );
    assert!(read.taken.not_understood[0].message.len() < 200);
    shop.lay("list.csv", format!("Nr,Text,Price\nN-0,x,{long}\n"));
    let error = told(&shop.read("list.csv").unwrap_err());
    assert!(
        error.starts_with("list.csv:2, column Price: \"xxx") && error.len() < 400,
        "{error}"
    );
}

/// Whatever bytes come, there is a list or an error with a cure, and no panic.
#[test]
fn spoilt_lists_are_read_or_refused() {
    let mut rng = Rng::with_seed(31);
    let texts = [
        "Nr;Text;Price\r\nN-0;für;1,50\r\n=N-1;x;\"2;5\"\r\n",
        "Nr\tText\tPrice\nN-0\tx\t€ 1.234,50\n",
        "Nr,Text,Price\nN-0,x,1.50\n",
    ];
    for _ in 0..3_000 {
        let text = rng.choice(texts).unwrap();
        let mut bytes = match rng.u32(..4) {
            0 => encoding_rs::WINDOWS_1252.encode(text).0.into_owned(),
            1 => text.encode_utf16().flat_map(u16::to_le_bytes).collect(),
            _ => text.as_bytes().to_vec(),
        };
        for _ in 0..rng.usize(..6) {
            let at = rng.usize(..bytes.len());
            match rng.u32(..4) {
                0 => bytes[at] = rng.u8(..),
                1 => bytes.truncate(at.max(1)),
                2 => drop(bytes.remove(at)),
                _ => bytes.insert(
                    at,
                    *rng.choice(b"\"\0;\n\r\t,\xff\xfe\xef\xbb\xbf").unwrap(),
                ),
            }
            if bytes.is_empty() {
                bytes.push(0);
            }
        }
        for recipe in [Some(SIMPLE), None] {
            let mut shop = shop("");
            match recipe {
                Some(recipe) => shop.lay(RECIPE, recipe),
                None => shop.files.hide(std::path::Path::new(RECIPE)),
            }
            shop.lay("list.csv", &bytes);
            if let Err(error) = shop.shelf("list.csv").unwrap().read() {
                let told = told(&error);
                assert!(
                    told.contains("help: ") && !told.contains("help: \n"),
                    "{bytes:?}: {told}"
                );
                assert_ne!(error.status(), 5, "{bytes:?}: {told}");
            }
        }
    }
}
