//! Every message, word for word.

use crate::shop::{RECIPE, SUPPLIER, Shop, told};
use rust_xlsxwriter::Workbook;
use std::fmt::Write;

/// The cases and what they say, one after the other.
const EXPECTED: &str = include_str!("messages.txt");

const PRICES: &str = "part,supplier,sku,currency,min_qty,unit_price\n\
                      P-0,Example North,N-0,EUR,1,1.00\n\
                      P-1,Example North,N-1,EUR,1,1.00\n";

/// A recipe with these lines behind its columns.
fn recipe(columns: &str, rest: &str) -> String {
    format!("supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\n{columns}{rest}")
}

/// What is said of a list by a recipe.
fn said(recipe: &str, name: &str, list: &[u8]) -> String {
    let mut shop = Shop::new(5, "EUR", PRICES);
    shop.lay(RECIPE, recipe);
    shop.lay(name, list);
    match shop.read(name) {
        Err(error) => told(&error),
        Ok(read) => {
            let told = read.taken.not_understood.iter();
            let lines = told.map(|one| {
                format!(
                    "row {}, {}: {}: {}\n",
                    one.row, one.article, one.column, one.message
                )
            });
            lines.collect()
        }
    }
}

const PRICE: &str = "price = \"Price\"\n";

/// Recipe, list: texts that are read and what is wrong with them.
fn cases() -> Vec<(String, Vec<u8>)> {
    let simple = recipe(PRICE, "");
    let mut cases: Vec<(String, Vec<u8>)> = Vec::new();
    let mut files = |recipe: &str, lists: &[&[u8]]| {
        cases.extend(lists.iter().map(|list| (recipe.to_owned(), list.to_vec())));
    };
    // The file.
    let wide = format!("Nr,Price\n{}\n", "1,".repeat(200));
    files(
        &simple,
        &[
            b"PK\x03\x04 and more",
            &[0xd0, 0xcf, 0x11, 0xe0, 0xa1],
            b"%PDF-1.7",
            b"<!DOCTYPE html>",
            b"\xef\xbb\xbfNr\xff",
            b"Nr,Price\n\"N-0,1\n",
            wide.as_bytes(),
            b"\n \n",
        ],
    );
    files(
        &simple.replace("[columns]", "[file]\nencoding = \"utf-8\"\n[columns]"),
        &[b"Nr\xff"],
    );
    // The headings.
    files(
        &simple,
        &[
            b"Nr,Price EUR\nN-0,1\n",
            b"Nr\nN-0,1\n",
            b"Nr,Stock,Lead\nN-0,1\n",
            b"a,b\nN-0,1\n",
            b"Nr,Price,Price\nN-0,1,2\n",
        ],
    );
    // The decimal sign and the day.
    files(
        &simple,
        &[b"Nr;Price\nN-0;1,50\nN-1;1.50\n", b"Nr;Price\nN-0;1.234\n"],
    );
    files(
        &recipe(PRICE, "[date]\ncell = \"B1\"\n"),
        &[b"x\nNr,Price\nN-0,1\n", b"x,spring\nNr,Price\nN-0,1\n"],
    );
    files(
        &recipe(PRICE, "[date]\nafter = \"Date\"\n"),
        &[b"x\nNr,Price\nN-0,1\n", b"Date,4/5/2026\nNr,Price\nN-0,1\n"],
    );
    // Amounts.
    let point = recipe(PRICE, "[file]\ndecimal = \"point\"\n");
    files(
        &point,
        &[
            b"Nr;Price\nN-0;on request\n",
            b"Nr;Price\nN-0;0.00\n",
            b"Nr;Price\nN-0;5 x\n",
            b"Nr;Price\nN-0;5 USD\n",
            b"Nr;Price\nN-0;soon\n",
            b"Nr;Price\nN-0;1,50\n",
            b"Nr;Price\nN-0;-5\n",
            b"Nr;Price\nN-0;1234567890123456789012345\n",
            b"Nr;Price\nN-0;0.0000001\n",
            b"Nr;Price\nN-0;\n",
            b"Nr;Price\nN-0;5\nN-0;6\n",
            b"Nr;Price\n;5\n",
            b"Nr;Price\nX;soon\n",
        ],
    );
    // Other columns.
    let with = |columns: &str, rest: &str| recipe(&format!("{PRICE}{columns}"), rest);
    files(&with("per = \"Per\"\n", ""), &[b"Nr,Price,Per\nN-0,5,C\n"]);
    files(
        &with("currency = \"Cur\"\n", ""),
        &[b"Nr,Price,Cur\nN-0,5,USD\n"],
    );
    files(
        &with("pack = \"Pack\"\n", ""),
        &[
            b"Nr,Price,Pack\nN-0,5,0\n",
            b"Nr,Price,Pack\nN-0,5,5\nN-0,5,6\n",
        ],
    );
    files(
        &with("discount = \"Off\"\n", ""),
        &[b"Nr,Price,Off\nN-0,5,101 %\n"],
    );
    files(
        &with("quantity = \"Qty\"\n", ""),
        &[b"Nr,Price,Qty\nN-0,5,some\n"],
    );
    files(
        &with(
            "least = \"Min\"\npack = \"Pack\"\n",
            "[quantity]\nleast = \"packs\"\n",
        ),
        &[b"Nr,Price,Min,Pack\nN-0,5,1000000000,2\n"],
    );
    files(
        &with("stock = \"Stock\"\n", ""),
        &[b"Nr,Price,Stock\nN-0,5,soon\n"],
    );
    files(
        &with("lead = \"Lead\"\n", ""),
        &[
            b"Nr,Price,Lead\nN-0,5,14\n",
            b"Nr,Price,Lead\nN-0,5,11 years\n",
            b"Nr,Price,Lead\nN-0,5,600 weeks\n",
        ],
    );
    files(
        &with("date = \"Date\"\n", ""),
        &[b"Nr,Price,Date\nN-0,5,spring\n"],
    );
    let pairs = "[[breaks]]\nfrom_column = \"Qty\"\nprice = \"At\"\n";
    files(&with("", pairs), &[b"Nr,Price,Qty,At\nN-0,5,,4\n"]);
    let off = "[[breaks]]\nfrom = 10\ndiscount = \"Off\"\n";
    files(&with("", off), &[b"Nr,Price,Off\nN-0,,4\n"]);
    files(
        &with("", "[parts]\n\"N-0\" = [\"P-9\"]\n"),
        &[b"Nr,Price\nN-0,5\n"],
    );
    let own = "supplier = \"Example North\"\n[columns]\npart = \"Own\"\narticle = \"Nr\"\nprice = \"Price\"\n[parts]\n\"N-1\" = [\"P-0\"]\n";
    files(own, &[b"Own,Nr,Price\nP-0,N-1,5\n,N-1,6\n"]);
    // The recipe itself.
    for (columns, rest) in [
        (PRICE, "[file]\nencoding = \"utf-9\"\n"),
        (PRICE, "[file]\nseparator = \"pipe\"\n"),
        (PRICE, "[file]\nquotes = \"no\"\n"),
        ("prise = \"Price\"\n", ""),
        (PRICE, "[price]\nper = \"box\"\n"),
        (
            PRICE,
            "[[breaks]]\nfrom = 1\nfrom_column = \"Q\"\nprice = \"A\"\n",
        ),
        (PRICE, "[[breaks]]\nprice = \"A\"\n"),
        (
            PRICE,
            "[[breaks]]\nfrom = 1\nprice = \"A\"\ndiscount = \"B\"\n",
        ),
        (PRICE, "[[breaks]]\nfrom = 1\n"),
        (PRICE, "[date]\ncell = \"3B\"\n"),
        (PRICE, "[date]\ncell = \"B3\"\nafter = \"Date\"\n"),
        (PRICE, "[[skip]]\ncolumn = \"Nr\"\n"),
        (PRICE, "[parts]\n\"a b\" = []\n\"a  b\" = []\n"),
        ("", "[[breaks]]\nfrom = 1\ndiscount = \"A\"\n"),
        (
            "price = \"Price\"\nquantity = \"Q\"\n",
            "[[breaks]]\nfrom = 1\nprice = \"A\"\n",
        ),
        (PRICE, "[quantity]\nbreaks = \"packs\"\n"),
    ] {
        files(&recipe(columns, rest), &[b"Nr,Price\nN-0,5\n"]);
    }
    for recipe in [
        "[columns]\nprice = \"Price\"\n",
        "supplier = \"Example South\"\n[columns]\narticle = \"Nr\"\nprice = \"Price\"\n",
        "supplier = \"Example North\"\ncurrency = \"USD\"\n[columns]\narticle = \"Nr\"\nprice = \"Price\"\n",
        "supplier = Example North\n",
    ] {
        files(recipe, &[b"Nr,Price\nN-0,5\n"]);
    }
    cases
}

#[test]
fn every_message_is_as_it_is_written_down() {
    let mut all = String::new();
    for (recipe, list) in cases() {
        let shown = String::from_utf8_lossy(&list);
        let shown: String = shown.chars().take(60).collect();
        let rest = recipe.replace(
            "supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\n",
            "",
        );
        let said = said(&recipe, "list.csv", &list);
        let _ = write!(all, "{:?} | {rest:?}\n{said}\n", shown);
    }
    if all != EXPECTED {
        let kept = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("list-messages.txt");
        std::fs::write(&kept, &all).unwrap();
        let first = all
            .lines()
            .zip(EXPECTED.lines())
            .find(|(is, should)| is != should);
        panic!("see {}: {first:#?}", kept.display());
    }
}

#[test]
fn sheets_are_told_apart() {
    let mut book = Workbook::new();
    for name in ["Spring", "Summer"] {
        let sheet = book.add_worksheet().set_name(name).unwrap();
        sheet.write_row(0, 0, ["Nr", "Price"]).unwrap();
        sheet.write(1, 0, "N-0").unwrap();
        sheet.write(1, 1, 5).unwrap();
        sheet.write_formula(2, 1, "=1/0").unwrap();
        sheet.write(2, 0, "N-1").unwrap();
    }
    let bytes = book.save_to_buffer().unwrap();
    let said = |rest: &str| said(&recipe(PRICE, rest), "list.xlsx", &bytes);
    assert_eq!(
        said(""),
        "list.xlsx: the sheets \"Spring\" and \"Summer\" both have the headings of the recipe\n  \
         help: name one of them with sheet under [file] of c/lists/Example-North.toml\n"
    );
    assert_eq!(
        said("[file]\nsheet = \"Sumer\"\n"),
        "c/lists/Example-North.toml:6, key file.sheet: list.xlsx has no sheet \"Sumer\"\n  \
         help: did you mean \"Summer\"?\n"
    );
    assert_eq!(
        said("[file]\nsheet = \"Autumn\"\n"),
        "c/lists/Example-North.toml:6, key file.sheet: list.xlsx has no sheet \"Autumn\"\n  \
         help: name one of its sheets: \"Spring\" or \"Summer\"\n"
    );
}

#[test]
fn places_that_cannot_be_changed_are_told() {
    let mut shop = Shop::new(2, "EUR", PRICES);
    shop.lay("list.csv", "Nr,Price\nN-0,5\n");
    let mut asked = couplet::desk::take::Asked {
        place: "c".into(),
        supplier: "Example Nord".into(),
        list: "list.csv".into(),
        dated: None,
        out: None,
    };
    let open = |asked: &couplet::desk::take::Asked| {
        let shelf = couplet::desk::take::Shelf::open(shop.files.clone(), asked.clone());
        shelf.and_then(|shelf| shelf.read().map(|_| ()))
    };
    let said = |error: couplet::study::failure::Failure| (told(&error), error.status());
    assert_eq!(
        said(open(&asked).unwrap_err()),
        (
            "unknown supplier \"Example Nord\"\n  help: did you mean \"Example North\"?\n".into(),
            2
        )
    );
    asked.supplier = "nobody".into();
    assert_eq!(
        said(open(&asked).unwrap_err()).0,
        "unknown supplier \"nobody\"\n  help: add a row to suppliers.csv; there are Example East, \
         Example North and Example South\n"
    );
    asked.supplier = SUPPLIER.into();
    asked.place = "book.xlsx".into();
    shop.lay("book.xlsx", "");
    shop.lay("p/prices.ods", "");
    let settings =
        "name = \"x\"\ncurrency = \"EUR\"\ncatalog = \"../c\"\nprices = \"prices.ods\"\n";
    shop.lay("p/project.toml", settings);
    let open = |asked: &couplet::desk::take::Asked| {
        let shelf = couplet::desk::take::Shelf::open(shop.files.clone(), asked.clone());
        shelf.and_then(|shelf| shelf.read().map(|_| ()))
    };
    assert_eq!(
        said(open(&asked).unwrap_err()),
        (
            "the catalog book.xlsx is a workbook, which couplet take does not change\n  help: make CSV \
             files of it: couplet convert book.xlsx FOLDER; then name the folder\n"
                .into(),
            2
        )
    );
    asked.place = "p".into();
    assert_eq!(
        said(open(&asked).unwrap_err()).0,
        "the price list p/prices.ods is a workbook, which couplet take does not change\n  help: make \
         CSV files of it: couplet convert p/prices.ods FOLDER; then name the folder\n"
    );
}
