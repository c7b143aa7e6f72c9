//! Both sides of each edge of what comes after an order, and every message of it.

use crate::shop::told;
use crate::yard::Yard;
use couplet::lists::recipe::Purpose;
use couplet::study::letter::Confirmed;
use jiff::civil::{Date, date};

const NOTE: &str =
    "supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\nquantity = \"Qty\"\n";

const PRICES: &str = "C10,Example North,N-1,EUR,1,4.20,5,,7,\n\
                      C4,Example North,N-2,EUR,1,2.60,1,,,\n\
                      C6,Example North,N-3,EUR,1,3.00,1,,7,\n\
                      C6,Example North,N-4,EUR,1,3.10,4,,9,\n\
                      C10-RA,Example North,N-5,EUR,1,3.10,1,,2,\n";

const ORDERED: &str = "C10,Example North,12,4.20,2026-01-02,,N-1\n\
                       C4,Example North,2,2.60,2026-01-02,,\n\
                       C6,Example North,6,3.00,2026-01-02,1,N-3\n\
                       C10-RA,Example North,4,3.10,2026-01-05,,N-5\n";

const ON: Date = date(2026, 1, 4);

/// What a note brings: pieces by part, and what is told.
fn noted(recipe: &str, note: &str) -> String {
    let mut yard = Yard::with(PRICES, ORDERED);
    yard.recipe(Purpose::Delivery, recipe);
    yard.lay("note.csv", note.as_bytes());
    let letter = match yard.letter("note.csv", Purpose::Delivery) {
        Ok(letter) => letter,
        Err(error) => return told(&error),
    };
    match yard.desk.arrived(&letter, ON) {
        Err(error) => told(&error),
        Ok(arrived) => {
            let catalog = &yard.desk.sound().unwrap().catalog;
            let mut text = String::new();
            for one in &arrived.deliveries {
                let (part, sku) = (&catalog.part(one.part).code, one.sku.as_deref());
                text.push_str(&format!("{} of {part} {}\n", one.qty, sku.unwrap_or("any")));
            }
            for one in &arrived.strangers {
                let pieces = one.pieces.map_or("?".into(), |n| n.to_string());
                text.push_str(&format!(
                    "row {} {} {pieces}: {}\n",
                    one.row, one.article, one.why
                ));
                for best in one.proposals.iter().take(1) {
                    text.push_str(&format!("  perhaps {}: {}\n", best.part, best.why));
                }
            }
            if arrived.never_ours > 0 {
                text.push_str(&format!("{} never ours\n", arrived.never_ours));
            }
            text
        }
    }
}

const BOOKED_BEFORE: &str = "if the note was booked before, there is nothing to do; else correct \
                             the quantity, and enter what came beyond the order into on_hand.csv";

#[test]
fn as_much_as_is_outstanding_and_one_more() {
    assert_eq!(noted(NOTE, "Nr,Qty\nN-1,12\n"), "12 of C10 N-1\n");
    let more = |row, came, open: &str| {
        format!("note.csv:{row}: {came} of part {open}\n  help: {BOOKED_BEFORE}\n")
    };
    let only = "C10 came, but only 12 are outstanding";
    assert_eq!(noted(NOTE, "Nr,Qty\nN-1,13\n"), more(2, 13, only));
    // Of two lines the second is too much.
    let only = "C10 came, but only 1 is outstanding";
    assert_eq!(
        noted(NOTE, "Nr,Qty\nN-1,11\nN-1,1\n"),
        "11 of C10 N-1\n1 of C10 N-1\n"
    );
    assert_eq!(noted(NOTE, "Nr,Qty\nN-1,11\nN-1,2\n"), more(3, 2, only));
    // One of six came already.
    assert_eq!(noted(NOTE, "Nr,Qty\nN-3,5\n"), "5 of C6 N-3\n");
    let only = "C6 came, but only 5 are outstanding";
    assert_eq!(noted(NOTE, "Nr,Qty\nN-3,6\n"), more(2, 6, only));
    // Nothing came of a line.
    assert_eq!(noted(NOTE, "Nr,Qty\nN-1,0\n"), "");
    // Nothing is booked where one line is wrong, and all of them are told.
    let both = noted(NOTE, "Nr,Qty\nN-2,3\nN-3,5\nN-1,13\n");
    let two = "C4 came, but only 2 are outstanding";
    let twelve = "C10 came, but only 12 are outstanding";
    assert_eq!(both, more(2, 3, two) + &more(4, 13, twelve));
}

#[test]
fn packs_come_as_pieces() {
    // The price list has five in a pack: two packs are ten, three are more than the twelve.
    let packs = format!("{NOTE}[quantity]\nunit = \"packs\"\n");
    assert_eq!(noted(&packs, "Nr,Qty\nN-1,2\n"), "10 of C10 N-1\n");
    let only = "15 of part C10 came, but only 12 are outstanding";
    assert_eq!(
        noted(&packs, "Nr,Qty\nN-1,3\n"),
        format!("note.csv:2: {only}\n  help: {BOOKED_BEFORE}\n")
    );
    // What a cell says counts before the recipe, and so does the pack of the note.
    assert_eq!(noted(&packs, "Nr,Qty\nN-1,12 pcs\n"), "12 of C10 N-1\n");
    assert_eq!(noted(NOTE, "Nr,Qty\nN-1,2 packs\n"), "10 of C10 N-1\n");
    let with = packs.replace("[quantity]", "pack = \"Pack\"\n[quantity]");
    assert_eq!(noted(&with, "Nr,Qty,Pack\nN-1,3,4\n"), "12 of C10 N-1\n");
    assert_eq!(noted(&with, "Nr,Qty,Pack\nN-1,2,\n"), "10 of C10 N-1\n");
    // A pack that nobody knows.
    let mapped = format!("{packs}[parts]\n\"six\" = [\"C6\"]\n\"four\" = [\"C4\"]\n");
    assert_eq!(noted(&mapped, "Nr,Qty\nfour,2\n"), "2 of C4 any\n");
    assert_eq!(
        noted(&mapped, "Nr,Qty\nsix,1\n"),
        "note.csv:2, column Qty: \"1\" counts packs, but nothing says how many pieces are in one\n  \
         help: add pack = \"heading\" under [columns] of the recipe, or the pack to the price list\n"
    );
}

#[test]
fn what_is_not_on_order_is_told() {
    assert_eq!(
        noted(NOTE, "Nr,Qty\nX-1,3\nN-4,2\nN-5,1\n,6\nN-1,2\nX-2,some\n"),
        "2 of C10 N-1\n\
         row 2 X-1 3: no part of ours has this article number\n\
         row 3 N-4 2: C6 is on order as N-3 only\n\
         row 4 N-5 1: C10-RA was ordered after 2026-01-04\n\
         row 5  6: the row has no article number\n\
         row 7 X-2 ?: no part of ours has this article number\n"
    );
    // What the recipe says counts before the price list; a number of its own stands for any.
    let parts = "[parts]\n\"N-1\" = [\"C4\"]\n\"both\" = [\"C10\", \"C4\"]\n\"X\" = []\n";
    let recipe = format!("{NOTE}{parts}");
    assert_eq!(
        noted(&recipe, "Nr,Qty\nN-1,2\nX,5\n"),
        "2 of C4 any\n1 never ours\n"
    );
    assert_eq!(
        noted(&recipe, "Nr,Qty\nboth,13\n"),
        "12 of C10 any\n1 of C4 any\n"
    );
    assert_eq!(
        noted(&recipe, "Nr,Qty\nboth,15\n"),
        format!(
            "note.csv:2: 15 of part C10 and C4 came, but only 14 are outstanding\n  \
             help: {BOOKED_BEFORE}\n"
        )
    );
}

#[test]
fn a_number_that_is_only_alike_is_proposed() {
    let why = "no part of ours has this article number";
    let alike = "the article number, but for case, spaces and punctuation";
    assert_eq!(
        noted(NOTE, "Nr,Qty\nn 1,2\n00N2,1\nX-1,3\n"),
        format!(
            "row 2 n 1 2: {why}\n  perhaps C10: {alike}\n\
             row 3 00N2 1: {why}\n  perhaps C4: the article number, but for zeros at its beginning\n\
             row 4 X-1 3: {why}\n"
        )
    );
    // A number under which a part was ordered alone, and that the price list no longer has.
    let mut yard = Yard::with(
        PRICES,
        &ORDERED.replace("2026-01-02,,N-1", "2026-01-02,,O-9"),
    );
    yard.recipe(Purpose::Delivery, NOTE);
    yard.lay("note.csv", b"Nr,Qty\no9,2\n");
    let letter = yard.letter("note.csv", Purpose::Delivery).unwrap();
    let arrived = yard.desk.arrived(&letter, ON).unwrap();
    assert!(arrived.deliveries.is_empty());
    let best = &arrived.strangers[0].proposals[0];
    assert_eq!((best.part.as_str(), best.sure), ("C10", 95));
    // The user says yes.
    let yes = format!("{NOTE}[parts]\n\"n 1\" = [\"C10\"]\n");
    assert_eq!(noted(&yes, "Nr,Qty\nn 1,2\n"), "2 of C10 any\n");
}

#[test]
fn lines_of_ours_that_are_not_understood_are_errors() {
    let no = |cell: &str, what: &str, help: &str| {
        let is = noted(NOTE, &format!("Nr;Qty\nN-1;{cell}\n"));
        assert_eq!(
            is,
            format!("note.csv:2, column Qty: {what}\n  help: {help}\n"),
            "{cell}"
        );
    };
    let skip = "correct the recipe, or leave such rows out with [[skip]]";
    for cell in ["some", "1-5", "from 5", "5+", "-5", "1.5", "5 m"] {
        no(cell, &format!("{cell:?} is no quantity"), skip);
    }
    let leave = "leave such rows out with [[skip]] in the recipe, or correct the list";
    no("", "the row has no quantity", leave);
    no(
        "1000000000 packs",
        "\"1000000000 packs\" are more pieces than an order holds",
        "correct the list",
    );
    // Three digits after a sign may be thousands or nothing.
    assert_eq!(
        noted(NOTE, "Nr;Qty\nN-1;10,000\n"),
        "note.csv:2: whether \"10,000\" has thousands or decimals can't be told\n  help: write \
         decimal = \"comma\" or decimal = \"point\" under [file] of \
         y/catalog/lists/Example-North.delivery.toml\n"
    );
    let comma = NOTE.replace("[columns]", "[file]\ndecimal = \"comma\"\n[columns]");
    assert_eq!(noted(&comma, "Nr;Qty\nN-1;10,000\n"), "10 of C10 N-1\n");
    assert_eq!(noted(NOTE, "Nr;Qty\nN-1;10 pcs.\n"), "10 of C10 N-1\n");
}

#[test]
fn keys_of_another_recipe_are_errors() {
    let said = |purpose, text: &str| {
        let mut yard = Yard::with(PRICES, ORDERED);
        yard.recipe(purpose, text);
        yard.lay("note.csv", b"Nr,Qty\nN-1,1\n");
        told(&yard.letter("note.csv", purpose).unwrap_err())
    };
    let all = "complete = true\ncurrency = \"EUR\"\nsupplier = \"Example North\"\n[columns]\n\
               article = \"Nr\"\nquantity = \"Qty\"\nprice = \"P\"\nstock = \"S\"\n[price]\n\
               per = 1\n[quantity]\nbreaks = \"packs\"\n[lead]\nunit = \"days\"\n[date]\n\
               order = \"day-month\"\nafter = \"x\"\n[stock.words]\n\"few\" = 1\n[[breaks]]\n\
               from = 1\nprice = \"P\"\n";
    let says = |text: String| -> Vec<String> {
        let lines = text
            .lines()
            .filter(|line| !line.contains("help: leave it out"));
        lines.map(str::to_owned).collect()
    };
    let at = |file: &str, places: &[(u64, &str)], papers: &str| -> Vec<String> {
        let one = |(line, key): &(u64, &str)| {
            format!(
                "y/catalog/lists/Example-North.{file}.toml:{line}, key {key}: the key says nothing \
                 in a recipe for {papers}"
            )
        };
        places.iter().map(one).collect()
    };
    assert_eq!(
        says(said(Purpose::Delivery, all)),
        at(
            "delivery",
            &[
                (1, "complete"),
                (2, "currency"),
                (7, "columns.price"),
                (8, "columns.stock"),
                (9, "price"),
                (12, "quantity.breaks"),
                (13, "lead"),
                (15, "date"),
                (18, "stock"),
                (20, "breaks"),
            ],
            "delivery notes"
        )
    );
    assert_eq!(
        says(said(Purpose::Confirmation, all)),
        at(
            "confirmation",
            &[
                (1, "complete"),
                (8, "columns.stock"),
                (12, "quantity.breaks"),
                (17, "date.after"),
                (18, "stock"),
                (20, "breaks"),
            ],
            "order confirmations"
        )
    );
    let short = "supplier = \"Example North\"\n[columns]\ndescription = \"Nr\"\n";
    assert_eq!(
        said(Purpose::Delivery, short),
        "y/catalog/lists/Example-North.delivery.toml:2, key columns: no column names the article\n  \
         help: add article = \"heading\" under [columns]\n\
         y/catalog/lists/Example-North.delivery.toml:2, key columns: no column has the quantity\n  \
         help: add quantity = \"heading\" under [columns]\n"
    );
    let per = NOTE.to_owned() + "per = \"Per\"\n";
    assert_eq!(
        said(Purpose::Confirmation, &per),
        "y/catalog/lists/Example-North.confirmation.toml:2, key columns: no column has the price\n  \
         help: add price = \"heading\" under [columns]\n"
    );
    let unit = "supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\nprice = \"P\"\n\
                [quantity]\nunit = \"packs\"\n";
    let mut shop = crate::shop::Shop::new(1, "EUR", crate::yard::HEADER);
    shop.lay(crate::shop::RECIPE, unit);
    shop.lay("list.csv", "Nr,P\n1,2\n");
    assert_eq!(
        told(&shop.read("list.csv").unwrap_err()),
        "c/lists/Example-North.toml:6, key quantity.unit: the key says nothing in a recipe for \
         price lists\n  help: leave it out\n"
    );
}

#[test]
fn due_on_the_day_is_not_late() {
    let yard = Yard::with(PRICES, ORDERED);
    let late = |as_of: Date| -> Vec<(String, Option<String>, Option<u32>)> {
        let open = yard.desk.outstanding(&[], as_of).unwrap();
        let lines = open.lines();
        let lines = lines.map(|(_, l)| (l.part.clone(), l.due.clone(), l.days_late));
        lines.collect()
    };
    let due = |part: &str, due: Option<&str>, late| (part.to_owned(), due.map(str::to_owned), late);
    // C4 has no lead time.
    assert_eq!(
        late(date(2026, 1, 9)),
        [
            due("C10", Some("2026-01-09"), None),
            due("C4", None, None),
            due("C6", Some("2026-01-09"), None),
            due("C10-RA", Some("2026-01-07"), Some(2)),
        ]
    );
    let next = late(date(2026, 1, 10));
    assert_eq!(next[0].2, Some(1));
    assert_eq!((next[1].2, next[2].2, next[3].2), (None, Some(1), Some(3)));
    // A row without a sku is due where the offers agree, here on seven and on nine days.
    let none = ORDERED.replace(",N-3", ",");
    let open = Yard::with(PRICES, &none).desk.outstanding(&[], ON).unwrap();
    assert_eq!(open.lines().nth(2).unwrap().1.due, None);
    let agreed = PRICES.replace(",4,,9,", ",4,,7,");
    let open = Yard::with(&agreed, &none)
        .desk
        .outstanding(&[], ON)
        .unwrap();
    assert_eq!(
        open.lines().nth(2).unwrap().1.due.as_deref(),
        Some("2026-01-09")
    );
    // A sku that the price list no longer has: the only offer tells.
    let old = ORDERED.replace(",N-1", ",N-0");
    let open = Yard::with(PRICES, &old).desk.outstanding(&[], ON).unwrap();
    assert_eq!(
        open.lines().next().unwrap().1.due.as_deref(),
        Some("2026-01-09")
    );
}

#[test]
fn a_row_that_has_come_is_not_outstanding() {
    let all = |received: u64| {
        let ordered = format!("C10,Example North,12,4.20,2026-01-02,{received},N-1\n");
        let yard = Yard::with(PRICES, &ordered);
        let open = yard.desk.outstanding(&[], ON).unwrap();
        open.lines()
            .map(|(_, l)| l.outstanding)
            .collect::<Vec<u64>>()
    };
    assert_eq!(all(11), [1]);
    assert!(all(12).is_empty());
    let yard = Yard::with(PRICES, ORDERED);
    let error = yard
        .desk
        .outstanding(&["Example Nord".into()], ON)
        .unwrap_err();
    assert_eq!(
        (told(&error), error.status()),
        (
            "unknown supplier \"Example Nord\"\n  help: did you mean \"Example North\"?\n".into(),
            2
        )
    );
    let south = yard
        .desk
        .outstanding(&["Example South".into()], ON)
        .unwrap();
    assert_eq!(south.lines().count(), 0);
}

const CONFIRMATION: &str = "supplier = \"Example North\"\n[columns]\narticle = \"Nr\"\n\
                            quantity = \"Qty\"\nprice = \"Price\"\nper = \"Per\"\ndate = \"Day\"\n[parts]\n\"six\" = [\"C6\"]\n";

fn held(note: &str, on: Option<Date>) -> Result<Confirmed, String> {
    let mut yard = Yard::with(PRICES, ORDERED);
    yard.recipe(Purpose::Confirmation, CONFIRMATION);
    yard.lay("c.csv", format!("Nr,Qty,Price,Per,Day\n{note}").as_bytes());
    let letter = yard
        .letter("c.csv", Purpose::Confirmation)
        .map_err(|e| told(&e))?;
    yard.desk.confirmed(&letter, on, ON).map_err(|e| told(&e))
}

/// What differs, as `row part what ordered confirmed change`.
fn differences(note: &str) -> Vec<String> {
    let confirmed = held(note, Some(date(2026, 1, 2))).unwrap();
    let one = |d: &couplet::study::letter::Difference| {
        let couplet::study::letter::Difference {
            row,
            part,
            what,
            ordered,
            confirmed,
            change,
            ..
        } = d;
        format!("{row} {part} {what} {ordered} {confirmed} {change}")
    };
    confirmed.differences.iter().map(one).collect()
}

#[test]
fn each_thing_of_a_confirmation_has_two_sides() {
    let none: [&str; 0] = [];
    assert_eq!(differences("N-1,12,4.20,,2026-01-09\n"), none);
    assert_eq!(differences("N-1,12,42,10,9.1.2026\n"), none);
    assert_eq!(differences("N-1,12,,,\n"), none);
    assert_eq!(
        differences("N-1,12,4.21,,2026-01-09\n"),
        ["2 C10 price 4.20 4.21 +0.01"]
    );
    assert_eq!(
        differences("N-1,12,4.19,,2026-01-09\n"),
        ["2 C10 price 4.20 4.19 -0.01"]
    );
    assert_eq!(differences("N-1,13,,,\n"), ["2 C10 quantity 12 13 +1"]);
    assert_eq!(differences("N-1,11,,,\n"), ["2 C10 quantity 12 11 -1"]);
    assert_eq!(differences("N-1,0,,,\n"), ["2 C10 quantity 12 0 -12"]);
    // In two parts, one of them a day later.
    assert_eq!(
        differences("N-1,5,,,2026-01-09\nN-1,7,,,2026-01-10\n"),
        ["3 C10 day 2026-01-09 2026-01-10 +1"]
    );
    assert_eq!(
        differences("N-1,12,,,2026-01-08\n"),
        ["2 C10 day 2026-01-09 2026-01-08 -1"]
    );
    // Without a lead time there is nothing to compare with.
    let confirmed = held("N-2,2,2.60,,2026-03-01\n", None).unwrap();
    assert!(confirmed.differences.is_empty());
    assert_eq!((confirmed.not_due, confirmed.missing.len()), (1, 3));
    let outside = held("N-1,soon,4.20,,\n", None).unwrap_err();
    assert_eq!(
        outside,
        "c.csv:2, column Qty: \"soon\" is no quantity\n  help: correct the recipe, or leave such \
         rows out with [[skip]]\n"
    );
    assert_eq!(
        held("N-1,12,4.20,,spring\n", None).unwrap_err(),
        "c.csv:2, column Day: \"spring\" is no day\n  help: correct columns.date of the recipe, or \
         the list\n"
    );
    assert_eq!(
        held("N-3,5,3.00,pack,\nsix,1,3,VPE,\n", None).unwrap_err(),
        "c.csv:3, column Price: \"3\" is the price of a pack, but nothing says how many pieces are in \
         one\n  help: add pack = \"heading\" under [columns] of the recipe, or the pack to the price list\n"
    );
    assert_eq!(differences("N-1,12,21.00,pack,\n"), none);
    assert!(
        held("N-1,12,4.20 USD,,\n", None)
            .unwrap_err()
            .contains("is not in EUR")
    );
}

#[test]
fn a_confirmation_may_be_of_one_day() {
    let of = |on| held("N-1,12,4.20,,\n", on);
    let all = of(None).unwrap();
    assert_eq!(
        (all.compared[0].lines, all.compared[0].ordered_on.as_deref()),
        (4, None)
    );
    let first = of(Some(date(2026, 1, 2))).unwrap();
    let day = first.compared[0].ordered_on.as_deref();
    assert_eq!((first.compared[0].lines, day), (3, Some("2026-01-02")));
    assert_eq!(
        of(Some(date(2026, 1, 3))).unwrap_err(),
        "nothing that was ordered from \"Example North\" on 2026-01-03 is outstanding\n  \
         help: orders of 2026-01-02 and 2026-01-05 are\n"
    );
}

/// The header of our own order file.
const OWN: &str = "supplier,currency,sku,part,kind,description,qty,packs,unit_price,line_total\n";

#[test]
fn our_own_order_needs_no_recipe() {
    let read = |text: &str| {
        let mut yard = Yard::with(PRICES, ORDERED);
        yard.lay("own.csv", text.as_bytes());
        let own = yard.desk.own_letter("own.csv".as_ref(), None);
        own.map(|own| {
            let own = own.unwrap();
            let lines = own.lines.iter();
            lines
                .map(|l| (l.row, l.pieces.unwrap(), l.price.unwrap().to_string()))
                .collect()
        })
        .map_err(|error| told(&error))
    };
    let north = "Example North,EUR,N-1,C10,back-shell,\"a, b\",12,3,4.20,50.40\n";
    let is: Vec<_> = vec![(2, 12, "4.20".to_owned())];
    assert_eq!(read(&format!("{OWN}{north}")), Ok(is.clone()));
    // As a spreadsheet writes it, with another quantity and columns left out.
    let other = "supplier;sku;part;qty;unit_price\r\nExample North;N-1;C10;7;4,20\r\n";
    assert_eq!(read(other), Ok(vec![(2, 7, "4.20".to_owned())]));
    let utf16: Vec<u8> = "\u{feff}"
        .encode_utf16()
        .chain(other.encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    let mut yard = Yard::with(PRICES, ORDERED);
    yard.lay("own.csv", &utf16);
    assert!(
        yard.desk
            .own_letter("own.csv".as_ref(), None)
            .unwrap()
            .is_some()
    );
    // Some suppliers have no code of their own.
    let without = north.replace(",N-1,", ",,");
    assert_eq!(read(&format!("{OWN}{without}")), Ok(is.clone()));
    // What is wrong is told by row.
    let wrong =
        "Example Nord,EUR,N-1,C10,,,1,1,4.20,4.20\nExample North,USD,N-1,C99,,,x,1,4.20,1\n";
    let said = read(&format!("{OWN}{wrong}")).unwrap_err();
    for words in [
        "own.csv:2, column supplier: unknown supplier \"Example Nord\"\n  help: did you mean \"Example North\"?",
        "own.csv:3, column part: unknown part \"C99\"",
        "own.csv:3, column currency: the prices are in \"USD\", not in EUR\n  help: correct the currency, or the row of the supplier in suppliers.csv",
        "own.csv:3, column qty:",
    ] {
        assert!(said.contains(words), "{words}\n{said}");
    }
    // Any other file is none of ours.
    yard.lay("own.csv", b"part,qty\nC10,1\n");
    assert!(
        yard.desk
            .own_letter("own.csv".as_ref(), None)
            .unwrap()
            .is_none()
    );
}

#[test]
fn who_sends_it_has_to_be_known() {
    let said = |ordered: &str| {
        let mut yard = Yard::with(PRICES, ordered);
        yard.recipe(Purpose::Delivery, NOTE);
        yard.lay("note.csv", b"Nr,Qty\nN-1,1\n");
        let read = yard
            .desk
            .letter("note.csv".as_ref(), None, Purpose::Delivery);
        read.map(|_| ()).map_err(|error| told(&error))
    };
    assert_eq!(said(ORDERED), Ok(()));
    let south = "C10,Example South,1,1.00,2026-01-02,,\n";
    assert_eq!(
        said(&format!("{ORDERED}{south}")).unwrap_err(),
        "which supplier the file is from is not said\n  help: name the supplier with --supplier: \
         orders from \"Example North\" and \"Example South\" are outstanding\n"
    );
    // What has come needs no name.
    assert_eq!(
        said(&format!("{ORDERED}{}", south.replace(",,\n", ",1,\n"))),
        Ok(())
    );
    assert_eq!(
        said("C10,Example North,1,1.00,2026-01-02,1,\n").unwrap_err(),
        "which supplier the file is from is not said\n  help: name the supplier with --supplier\n"
    );
}

#[test]
fn a_file_without_headings_is_told() {
    let mut yard = Yard::with(PRICES, ORDERED);
    yard.lay("note.csv", b"a,b\nN-1,1\n");
    let read = yard.desk.letter(
        "note.csv".as_ref(),
        Some("Example North"),
        Purpose::Delivery,
    );
    assert_eq!(
        told(&read.unwrap_err()),
        "note.csv: no row is told to be the headings: none names an article number and a quantity\n  \
         help: write y/catalog/lists/Example-North.delivery.toml by hand, with the headings under \
         [columns]\n"
    );
}

#[test]
fn broken_files_are_read_or_refused() {
    let mut rng = fastrand::Rng::with_seed(41);
    let texts = [
        "Nr;Qty;Price;Per;Day\r\nN-1;12;4,20;1;9.1.2026\r\nN-2;2 packs;\"2;60\";;\r\n",
        OWN,
    ];
    for round in 0..1_500 {
        let mut bytes = rng.choice(texts).unwrap().as_bytes().to_vec();
        for _ in 0..rng.usize(..6) {
            let at = rng.usize(..bytes.len());
            match rng.u32(..3) {
                0 => bytes[at] = rng.u8(..),
                1 => drop(bytes.remove(at)),
                _ => bytes.insert(at, *rng.choice(b"\"\0;\n\r\t,\xff=").unwrap()),
            }
        }
        for purpose in [Purpose::Delivery, Purpose::Confirmation] {
            let mut yard = Yard::with(PRICES, ORDERED);
            if round % 2 == 0 {
                let recipe = if purpose == Purpose::Delivery {
                    NOTE
                } else {
                    CONFIRMATION
                };
                yard.recipe(purpose, recipe);
            }
            yard.lay("note.csv", &bytes);
            let read = yard
                .desk
                .letter("note.csv".as_ref(), Some("Example North"), purpose);
            if let Err(error) = read {
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
