//! What is wrong with the files of a catalog, in exact words.

use crate::support::each_finds;

#[test]
fn bodies() {
    each_finds(
        "../catalog/bodies.csv",
        &[
            (
                "P-1,",
                ",",
                "error at catalog/bodies.csv:2, column part: the field is empty | give a value",
            ),
            (
                "\nP-2,",
                "\nP-1,,plug,M10,A,,1,1,,,crimp,straight,,,,,,,,,\nP-2,",
                "error at catalog/bodies.csv:3, column part: part \"P-1\" is there already | take out this row or catalog/bodies.csv:2, or give one of the two another name",
            ),
            (
                "plug,M10",
                "plgu,M10",
                "error at catalog/bodies.csv:2, column half: unknown word \"plgu\" | did you mean \"plug\"?",
            ),
            (
                "plug,M10",
                "socket,M10",
                "error at catalog/bodies.csv:2, column half: unknown word \"socket\" | write plug or receptacle",
            ),
            (
                "plug,M10",
                "plug,",
                "error at catalog/bodies.csv:2, column interface: the field is empty | give a value",
            ),
            (
                "A,1,350",
                "A,0,350",
                "error at catalog/bodies.csv:2, column poles: \"0\" is below 1 | give a number of contacts from 1 up to 100, a whole number",
            ),
            (
                "A,1,350",
                "A,1,-5",
                "error at catalog/bodies.csv:2, column rated_a: \"-5\" is not above 0 | give a current above 0 up to 100000 A",
            ),
            (
                "25,125",
                "25,",
                "error at catalog/bodies.csv:2, column max_c: rated_c is given without max_c | give both or neither",
            ),
            (
                "25,125",
                ",125",
                "error at catalog/bodies.csv:2, column rated_c: max_c is given without rated_c | give both or neither",
            ),
            (
                "25,125",
                "125,125",
                "error at catalog/bodies.csv:2, column max_c: max_c 125 is not above rated_c 125 | give the body's own limit, above rated_c",
            ),
            (
                "crimp,straight",
                ",straight",
                "error at catalog/bodies.csv:2, column attach: the field is empty | give a value",
            ),
            (
                "crimp,straight",
                "crimp,",
                "error at catalog/bodies.csv:2, column exit: a crimped body needs an exit | write straight or right-angle",
            ),
            (
                "crimp,straight",
                "crimp,stright",
                "error at catalog/bodies.csv:2, column exit: unknown word \"stright\" | did you mean \"straight\"?",
            ),
            (
                "busbar,,,",
                "busbar,straight,,",
                "error at catalog/bodies.csv:4, column exit: a receptacle that attaches to \"busbar\" takes no cable of its own | leave exit empty, or write crimp as attach",
            ),
            (
                "busbar,,,",
                "busbar,,B10,",
                "error at catalog/bodies.csv:4, column barrel: a receptacle that attaches to \"busbar\" takes no cable of its own | leave barrel empty, or write crimp as attach",
            ),
            (
                "busbar,,,",
                "busbar,,,R10",
                "error at catalog/bodies.csv:4, column rear: a receptacle that attaches to \"busbar\" takes no cable of its own | leave rear empty, or write crimp as attach",
            ),
            (
                "IP6K9K,orange,",
                "IP6K9K,orange,seal",
                "error at catalog/bodies.csv:4, column includes: a receptacle that attaches to \"busbar\" takes no cable of its own | leave includes empty, or write crimp as attach",
            ),
            (
                "IP67,orange",
                "IP77,orange",
                "error at catalog/bodies.csv:2, column ip: \"IP77\" is not a protection code | write a code such as IP67, or several codes joined by /",
            ),
            (
                "ferrule seal",
                "ferrule sael",
                "error at catalog/bodies.csv:3, column includes: unknown word \"sael\" | did you mean \"seal\"?",
            ),
            (
                "25,70,10,18",
                ",70,10,18",
                "error at catalog/bodies.csv:3, column min_mm2: a body that includes its ferrule needs min_mm2 | say what the ferrule in the box is for",
            ),
            (
                "25,70,10,18",
                "25,,10,18",
                "error at catalog/bodies.csv:3, column max_mm2: a body that includes its ferrule needs max_mm2 | say what the ferrule in the box is for",
            ),
            (
                "25,70,10,18",
                "25,70,,18",
                "error at catalog/bodies.csv:3, column min_od_mm: a body that includes its seal needs min_od_mm | say what the seal in the box is for",
            ),
            (
                "25,70,10,18",
                "25,70,10,",
                "error at catalog/bodies.csv:3, column max_od_mm: a body that includes its seal needs max_od_mm | say what the seal in the box is for",
            ),
            (
                "25,70,10,18",
                "71,70,10,18",
                "error at catalog/bodies.csv:3, column min_mm2: min_mm2 71 is above max_mm2 70 | exchange them, or correct one",
            ),
            (
                "25,70,10,18",
                "25,70,19,18",
                "error at catalog/bodies.csv:3, column min_od_mm: min_od_mm 19 is above max_od_mm 18 | exchange them, or correct one",
            ),
        ],
    );
}

#[test]
fn fittings() {
    each_finds(
        "../catalog/ferrules.csv",
        &[
            (
                "D-1\n",
                "D-1\nP-1,,B10,50,70,D-1\n",
                "error at catalog/ferrules.csv:3, column part: part \"P-1\" is there already | take out this row or catalog/bodies.csv:2, or give one of the two another name",
            ),
            (
                "50,70",
                "71,70",
                "error at catalog/ferrules.csv:2, column min_mm2: min_mm2 71 is above max_mm2 70 | exchange them, or correct one",
            ),
            (
                "B10,50",
                ",50",
                "error at catalog/ferrules.csv:2, column barrel: the field is empty | give a value",
            ),
        ],
    );
    each_finds(
        "../catalog/seals.csv",
        &[
            (
                "14,17",
                "17.1,17",
                "error at catalog/seals.csv:2, column min_od_mm: min_od_mm 17.1 is above max_od_mm 17 | exchange them, or correct one",
            ),
            (
                "14,17",
                "14,",
                "error at catalog/seals.csv:2, column max_od_mm: the field is empty | give a value",
            ),
            (
                "IP67",
                "67",
                "error at catalog/seals.csv:2, column ip: \"67\" is not a protection code | write a code such as IP67, or several codes joined by /",
            ),
        ],
    );
    each_finds(
        "../catalog/backshells.csv",
        &[
            (
                "straight",
                "bent",
                "error at catalog/backshells.csv:2, column exit: unknown word \"bent\" | write straight or right-angle",
            ),
            (
                "orange,2",
                "orange,0",
                "error at catalog/backshells.csv:2, column pieces: \"0\" is below 1 | give a number of pieces per body from 1 up to 100, a whole number",
            ),
            (
                "orange,2",
                "orange,1.5",
                "error at catalog/backshells.csv:2, column pieces: \"1.5\" is not a whole number | give a number of pieces per body from 1 up to 100, a whole number",
            ),
        ],
    );
}

#[test]
fn numbers_that_are_none() {
    let place = "error at catalog/seals.csv:2, column min_od_mm";
    let cases = [
        (
            "NaN",
            "\"NaN\" is not a number | give a diameter in digits, such as 12.5",
        ),
        (
            "inf",
            "\"inf\" is not a number | give a diameter in digits, such as 12.5",
        ),
        (
            "12 mm",
            "\"12 mm\" is not a number | give a diameter in digits, such as 12.5",
        ),
        (
            "1e1",
            "\"1e1\" is not a number | write all its digits, without an exponent",
        ),
        (
            "1 000",
            "\"1 000\" is not a number | leave out the thousands separator",
        ),
        (
            "\"14,5\"",
            "\"14,5\" is not a number | write a decimal point and no thousands separator; a decimal comma goes with semicolons or tabs between the columns",
        ),
        (
            "14.0000001",
            "\"14.0000001\" has more than 6 decimals | round it to 6 decimals",
        ),
        (
            "0",
            "\"0\" is not above 0 | give a diameter above 0 up to 1000 mm",
        ),
        (
            "-1",
            "\"-1\" is not above 0 | give a diameter above 0 up to 1000 mm",
        ),
        (
            "1000.1",
            "\"1000.1\" is above 1000 | give a diameter above 0 up to 1000 mm",
        ),
        (
            "99999999999999999999999999999999999999999999",
            "\"99999999999999999999999999999999999999999999\" is above 1000 | give a diameter above 0 up to 1000 mm",
        ),
    ];
    for (text, expected) in cases {
        let wanted = format!("{place}: {expected}");
        each_finds(
            "../catalog/seals.csv",
            &[("14,17", &format!("{text},17"), &wanted)],
        );
    }
}

#[test]
fn suppliers_and_dies() {
    each_finds(
        "../catalog/suppliers.csv",
        &[
            (
                "25,\n",
                "25,\nNord,EUR,,,,\n",
                "error at catalog/suppliers.csv:3, column supplier: supplier \"Nord\" is there already | take out this row or catalog/suppliers.csv:2, or give one of the two another name",
            ),
            (
                "Nord,EUR",
                "Nord,euro",
                "error at catalog/suppliers.csv:2, column currency: \"euro\" is not a currency code | write the three capital letters of the currency, such as EUR",
            ),
            (
                "Nord,EUR",
                "Nord,",
                "error at catalog/suppliers.csv:2, column currency: the field is empty | give a value",
            ),
            (
                "9.5",
                "-9.5",
                "error at catalog/suppliers.csv:2, column shipping: \"-9.5\" is below 0 | give an amount of money from 0 up to 1000000000",
            ),
            (
                "3.5",
                "1000.5",
                "error at catalog/suppliers.csv:3, column duty_percent: \"1000.5\" is above 1000 | give a percentage from 0 up to 1000 %",
            ),
        ],
    );
    each_finds(
        "../catalog/dies.csv",
        &[
            (
                "no\n",
                "maybe\n",
                "error at catalog/dies.csv:2, column owned: unknown word \"maybe\" | write yes or no",
            ),
            (
                "120",
                "",
                "error at catalog/dies.csv:2, column cost: the field is empty | give a value",
            ),
            (
                "no\n",
                "no\nD-1,,1,yes\n",
                "error at catalog/dies.csv:3, column die: die \"D-1\" is there already | take out this row or catalog/dies.csv:2, or give one of the two another name",
            ),
        ],
    );
}

#[test]
fn prices() {
    let offer = "which is the same offer";
    let pack = format!(
        "error at catalog/prices.csv:3, column pack: pack 5 differs from 1 in catalog/prices.csv:2, {offer} | give the same pack on all rows of the offer"
    );
    let stock = format!(
        "error at catalog/prices.csv:3, column stock: stock none differs from 100 in catalog/prices.csv:2, {offer} | give the same stock on all rows of the offer"
    );
    let lead = format!(
        "error at catalog/prices.csv:3, column lead_days: lead_days 8 differs from 7 in catalog/prices.csv:2, {offer} | give the same lead_days on all rows of the offer"
    );
    each_finds(
        "../catalog/prices.csv",
        &[
            (
                "EUR,10,25",
                "EUR,1,25",
                "error at catalog/prices.csv:3, column min_qty: price breaks contradict each other: min_qty 1 is there already | take out this row or catalog/prices.csv:2, or correct one",
            ),
            ("10,25,1,100", "10,25,5,100", &pack),
            ("10,25,1,100", "10,25,1,", &stock),
            ("10,25,1,100,7", "10,25,1,100,8", &lead),
            (
                "EUR,10,25",
                "USD,10,25",
                "error at catalog/prices.csv:3, column currency: the price is in USD, but \"Nord\" bills in EUR | write the price in EUR, or correct catalog/suppliers.csv:2",
            ),
            (
                "EUR,10,25",
                "Euro,10,25",
                "error at catalog/prices.csv:3, column currency: \"Euro\" is not a currency code | write the three capital letters of the currency, such as EUR",
            ),
            (
                "EUR,10,25",
                "EUR,0,25",
                "error at catalog/prices.csv:3, column min_qty: \"0\" is below 1 | give a number of pieces from 1 up to 1000000000, a whole number",
            ),
            (
                "1.2,10,",
                "1.2,0,",
                "error at catalog/prices.csv:6, column pack: \"0\" is below 1 | give a number of pieces from 1 up to 1000000000, a whole number",
            ),
            (
                "10,25,",
                "10,,",
                "error at catalog/prices.csv:3, column unit_price: the field is empty | give a value",
            ),
            (
                "2026-03-01",
                "1.3.2026",
                "error at catalog/prices.csv:5, column quoted: \"1.3.2026\" is not a date | write year, month and day as YYYY-MM-DD, such as 2026-03-31",
            ),
            (
                "2026-03-01",
                "2026-02-30",
                "error at catalog/prices.csv:5, column quoted: \"2026-02-30\" is not a date | write year, month and day as YYYY-MM-DD, such as 2026-03-31",
            ),
            (
                "25,1,0,7",
                "25,1,1000000001,7",
                "error at catalog/prices.csv:5, column stock: \"1000000001\" is above 1000000000 | give a number of pieces from 0 up to 1000000000, a whole number",
            ),
            (
                "K-1,Nord",
                "K-11,Nord",
                "error at catalog/prices.csv:9, column part: unknown part \"K-11\" | did you mean \"K-1\"?",
            ),
            (
                "K-1,Nord",
                "shell,Nord",
                "error at catalog/prices.csv:9, column part: unknown part \"shell\" | correct the code, or add the part to the catalog",
            ),
            (
                "K-1,Nord",
                "K-1,Nordd",
                "error at catalog/prices.csv:9, column supplier: unknown supplier \"Nordd\" | did you mean \"Nord\"?",
            ),
            (
                "K-1,Nord",
                "K-1,Elsewhere",
                "error at catalog/prices.csv:9, column supplier: unknown supplier \"Elsewhere\" | give it a row in suppliers.csv",
            ),
        ],
    );
}
