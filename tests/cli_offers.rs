//! Single pieces and a bag of ten from one supplier, from the plan to the delivery: two
//! offers of one part under two skus. All data is invented.

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use std::process::Output;
use tempfile::TempDir;

const FILES: &[(&str, &str)] = &[
    (
        "catalog/bodies.csv",
        "part,description,half,interface,key,poles,rated_a,rated_v,attach,exit,barrel\n\
         P,,plug,X,,1,100,600,crimp,straight,B\n\
         R,,receptacle,X,,1,100,600,stud,,\n",
    ),
    (
        "catalog/ferrules.csv",
        "part,description,barrel,min_mm2,max_mm2,die\nF,,B,45,55,\n",
    ),
    (
        "catalog/seals.csv",
        "part,description,rear,min_od_mm,max_od_mm,ip\n",
    ),
    (
        "catalog/backshells.csv",
        "part,description,rear,exit,max_od_mm,colour\n",
    ),
    (
        "catalog/suppliers.csv",
        "supplier,currency,shipping,free_over,min_order,duty_percent\n\
         Nord,EUR,5,,,0\nWest,EUR,50,,,0\n",
    ),
    ("catalog/prices.csv", PRICES),
    (
        "project.toml",
        "name = \"rig\"\ncurrency = \"EUR\"\ncatalog = \"catalog\"\n\
         [keying]\ndistinct = \"off\"\n",
    ),
    (
        "circuits.csv",
        "circuit,conductors,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach\n\
         c,n1 n2 n3 n4 n5 n6 n7 n8 n9 n10 n11 n12 n13,box,load,50,48,50 mm2,14,stud,none\n",
    ),
    ("on_hand.csv", "part,qty\nP,13\nR,13\n"),
];

/// A bag of ten for 12.00, a piece for 2.00: thirteen are cheapest as a bag and three
/// pieces, 18.00. Two bags are 24.00, thirteen pieces 26.00.
const PRICES: &str = "part,supplier,sku,min_qty,unit_price,pack,stock,lead_days\n\
                      F,Nord,N-F,1,2.00,1,,5\n\
                      F,Nord,N-F10,1,1.20,10,,5\n\
                      P,West,W-P,1,3.00,1,,\n";

/// A folder with the project `rig` in it.
fn rig() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir_all(folder.path().join("rig/catalog")).unwrap();
    for (name, text) in FILES {
        write(&folder, &format!("rig/{name}"), text);
    }
    folder
}

fn write(folder: &TempDir, name: &str, text: &str) {
    fs::write(folder.path().join(name), text).unwrap();
}

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).unwrap()
}

fn run(folder: &Path, line: &str) -> Output {
    let mut command = Command::cargo_bin("couplet").unwrap();
    command.current_dir(folder).args(line.split_whitespace());
    command.output().unwrap()
}

/// Standard output and standard error of a run that must do well.
fn both(folder: &TempDir, line: &str) -> (String, String) {
    let output = run(folder.path(), line);
    let [out, err] = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap());
    assert_eq!(output.status.code(), Some(0), "{line}: {err}");
    (out, err)
}

fn done(folder: &TempDir, line: &str) -> String {
    both(folder, line).0
}

/// Standard error of a run that must end with this status, its lines joined.
fn fails(folder: &TempDir, line: &str, status: i32) -> String {
    let output = run(folder.path(), line);
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(status), "{line}: {err}");
    joined(&err)
}

fn joined(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Sku and pieces of each line of the record.
fn lines(folder: &TempDir) -> Vec<(String, u64)> {
    let plan: serde_json::Value = serde_json::from_str(&read(folder, "rig/plan.json")).unwrap();
    let orders = plan["orders"].as_array().unwrap().iter();
    let lines = orders.flat_map(|order| order["lines"].as_array().unwrap());
    let line = |line: &serde_json::Value| {
        let sku = line["sku"].as_str().unwrap().to_owned();
        (sku, line["qty"].as_u64().unwrap())
    };
    lines.map(line).collect()
}

fn told(lines: &[(&str, u64)]) -> Vec<(String, u64)> {
    let one = |(sku, qty): &(&str, u64)| ((*sku).to_owned(), *qty);
    lines.iter().map(one).collect()
}

const PLACE: &str = "order rig --place --on 2026-01-02";

const HEAD: &str = "part,supplier,qty,unit_price,ordered_on,received,charges,sku\n";

#[test]
fn a_bag_and_single_pieces_are_planned_ordered_and_received() {
    let folder = rig();
    done(&folder, "plan rig");
    assert_eq!(lines(&folder), told(&[("N-F", 3), ("N-F10", 10)]));
    assert_eq!(
        done(&folder, "order rig"),
        "proven cheapest: no compatible set for the 13 ends costs less\n\
         \n\
         Order from Nord in EUR\n\
         part      sku    qty  packs  unit price  amount\n\
         --------- ------ ---- ------ ----------- ------\n\
         F         N-F      3      3        2.00    6.00\n\
         F         N-F10   10      1        1.20   12.00\n\
         goods                                     18.00\n\
         shipping                                   5.00\n\
         total                                     23.00\n"
    );
    let shown = done(&folder, PLACE);
    assert_eq!(
        shown,
        "2 lines added to ordered.csv, ordered on 2026-01-02\n\
         supplier  part               sku    qty  unit price  amount  currency\n\
         --------- ------------------ ------ ---- ----------- ------- --------\n\
         Nord      F                  N-F      3        2.00    6.00  EUR\n\
         Nord      F                  N-F10   10        1.20   12.00  EUR\n\
         Nord      shipping and duty                            5.00  EUR\n"
    );
    let placed =
        format!("{HEAD}F,Nord,3,2.00,2026-01-02,,5.00,N-F\nF,Nord,10,1.20,2026-01-02,,,N-F10\n");
    assert_eq!(read(&folder, "rig/ordered.csv"), placed);
    let said = fails(&folder, PLACE, 1);
    assert!(said.contains("may be placed already"), "{said}");
    // The papers are of the plan that was ordered.
    assert_eq!(both(&folder, "kit rig").1, "");

    // Nothing is bought twice.
    let shown = done(&folder, "plan rig");
    assert!(shown.contains("Nothing to order"), "{shown}");
    assert_eq!(lines(&folder), []);

    // What comes of the bag goes to the bag, though its row is the lower one.
    let shown = done(
        &folder,
        "receive rig --part F --qty 4 --sku N-F10 --on 2026-01-09",
    );
    assert_eq!(
        shown,
        "4 pieces booked as received\n\
         part  supplier  sku    ordered on  came  received  of  outstanding\n\
         ----- --------- ------ ----------- ----- --------- --- -----------\n\
         F     Nord      N-F10  2026-01-02     4         4  10            6\n"
    );
    let bag = placed.replace("10,1.20,2026-01-02,,,N-F10", "10,1.20,2026-01-02,4,,N-F10");
    assert_eq!(read(&folder, "rig/ordered.csv"), bag);
    write(
        &folder,
        "came.csv",
        "part,supplier,sku,qty\nF,Nord,N-F10,6\nF,Nord,N-F,2\n",
    );
    done(&folder, "receive rig came.csv --on 2026-01-10");
    let both = bag
        .replace("2026-01-02,4,", "2026-01-02,10,")
        .replace("2026-01-02,,5.00", "2026-01-02,2,5.00");
    assert_eq!(read(&folder, "rig/ordered.csv"), both);
}

#[test]
fn a_delivery_under_a_wrong_sku_is_refused_with_a_cure() {
    let folder = rig();
    done(&folder, "plan rig");
    done(&folder, PLACE);
    let placed = read(&folder, "rig/ordered.csv");
    let day = "--on 2026-01-09";
    for (came, what, cure) in [
        (
            "--qty 4 --sku N-F --supplier Nord",
            "4 of part F (sku N-F) came, but only 3 are on order from Nord",
            "enter what came beyond the order into on_hand.csv",
        ),
        (
            "--qty 14",
            "14 of part F came, but only 13 are on order",
            "enter what came beyond the order into on_hand.csv",
        ),
        (
            "--qty 1 --sku N-F99 --supplier Nord",
            "nothing of part F (sku N-F99) is on order from Nord",
            "on order there is sku N-F and sku N-F10: name that sku, or name none and the \
             oldest order is filled first",
        ),
        (
            "--qty 1 --sku N-F99",
            "part F has no sku N-F99: no order and no offer has it",
            "on order there is sku N-F and sku N-F10: name that sku, or name none and the \
             oldest order is filled first",
        ),
        (
            "--qty 1 --sku N-F --supplier West",
            "nothing of part F (sku N-F) is on order from West",
            "enter what came beyond the order into on_hand.csv",
        ),
    ] {
        let said = fails(&folder, &format!("receive rig --part F {came} {day}"), 1);
        assert!(said.contains(what), "{what} in {said}");
        assert!(said.contains(cure), "{cure} in {said}");
        assert_eq!(read(&folder, "rig/ordered.csv"), placed);
    }
    // Two suppliers may have the same code for a part.
    let west = "F,West,3,2.50,2026-01-03,,,N-F\n";
    write(&folder, "rig/ordered.csv", &format!("{placed}{west}"));
    let args = format!("receive rig --part F --qty 1 --sku N-F {day}");
    let said = fails(&folder, &args, 1);
    assert!(
        said.contains("name the supplier: Nord and West have this sku"),
        "{said}"
    );
}

/// A row without a sku counts for any line of its part and supplier, and a delivery
/// with a sku goes there last.
#[test]
fn rows_without_a_sku_count_for_any() {
    let folder = rig();
    let rows = "F,Nord,2,2.00,2026-01-01,,,\nF,Nord,3,2.00,2026-01-02,,,N-F\n\
                F,Nord,10,1.20,2026-01-02,,,N-F10\n";
    write(&folder, "rig/ordered.csv", &format!("{HEAD}{rows}"));
    done(
        &folder,
        "receive rig --part F --qty 4 --sku N-F --on 2026-01-09",
    );
    assert_eq!(
        read(&folder, "rig/ordered.csv"),
        HEAD.to_owned()
            + &rows
                .replace("2026-01-01,,", "2026-01-01,1,")
                .replace("2026-01-02,,,N-F\n", "2026-01-02,3,,N-F\n")
    );
    // Without a sku the oldest order comes first.
    done(&folder, "receive rig --part F --qty 2 --on 2026-01-09");
    let text = read(&folder, "rig/ordered.csv");
    assert!(text.contains("2026-01-01,2,,\n"), "{text}");
    assert!(text.contains("2026-01-02,1,,N-F10\n"), "{text}");
}

#[test]
fn a_file_without_skus_gets_the_column_where_skus_tell_offers_apart() {
    let old = "# by hand\npart,supplier,qty,unit_price,ordered_on\nR,Nord,1,9,2025-12-01\n";
    let with = |column: &str, cells: [&str; 3]| {
        format!(
            "# by hand\npart,supplier,qty,unit_price,ordered_on,charges{column}\n\
             R,Nord,1,9,2025-12-01,{}\nF,Nord,3,2.00,2026-01-02,5.00{}\n{}",
            cells[0], cells[1], cells[2]
        )
    };
    let folder = rig();
    write(&folder, "rig/ordered.csv", old);
    done(&folder, "plan rig");
    done(&folder, PLACE);
    let bag = "F,Nord,10,1.20,2026-01-02,,N-F10\n";
    assert_eq!(
        read(&folder, "rig/ordered.csv"),
        with(",sku", [",", ",N-F", bag])
    );
    // The record is of the file as it was, and knows what was added to it.
    assert_eq!(both(&folder, "kit rig").1, "");
    let other = read(&folder, "rig/ordered.csv").replace("R,Nord,1,9,", "R,Nord,1,8,");
    write(&folder, "rig/ordered.csv", &other);
    let said = both(&folder, "kit rig").1;
    assert!(said.contains("ordered.csv is not as when"), "{said}");

    // With one offer the file stays without.
    let folder = rig();
    write(&folder, "rig/ordered.csv", old);
    let single = PRICES.replace("F,Nord,N-F10,1,1.20,10,,5\n", "");
    write(&folder, "rig/catalog/prices.csv", &single);
    done(&folder, "plan rig");
    done(&folder, PLACE);
    let pieces = with("", ["", "", ""]).replace("F,Nord,3,", "F,Nord,13,");
    assert_eq!(read(&folder, "rig/ordered.csv"), pieces);
    assert_eq!(both(&folder, "kit rig").1, "");
}

/// The list with some text replaced, as `autumn.csv`.
fn autumn(folder: &TempDir, changes: &[(&str, &str)]) {
    let mut list = PRICES.to_owned();
    for (from, to) in changes {
        assert!(list.contains(from), "{from}");
        list = list.replace(from, to);
    }
    write(folder, "autumn.csv", &list);
}

const REPRICE: &str = "reprice rig --prices autumn.csv";

#[test]
fn the_bag_gets_another_price() {
    let folder = rig();
    done(&folder, "plan rig");
    // 10 × 1.80 + 3 × 2.00 = 24.00 is less than 13 × 2.00.
    autumn(&folder, &[("N-F10,1,1.20", "N-F10,1,1.80")]);
    let shown = done(&folder, REPRICE);
    let rows = "Changes of the order\n\
                change  part  supplier  sku    qty  unit price            percent  difference\n\
                ------- ----- --------- ------ ---- --------------------- -------- ----------\n\
                price   F     Nord      N-F10   10  1.20 EUR to 1.80 EUR    +50.0   +6.00 EUR\n\
                1 line unchanged; goods together +6.00 EUR, before duty and shipping\n";
    assert!(shown.ends_with(rows), "{shown}");
    assert_eq!(lines(&folder), told(&[("N-F", 3), ("N-F10", 10)]));

    // 10 × 2.10 + 3 × 2.00 = 27.00 is more.
    let folder = rig();
    done(&folder, "plan rig");
    autumn(&folder, &[("N-F10,1,1.20", "N-F10,1,2.10")]);
    let csv = done(&folder, &format!("{REPRICE} --format csv"));
    for row in [
        "quantity,F,Nord,3,2.00,,,13,,,EUR,,+20.00,EUR,N-F,\n",
        "removed,F,Nord,10,1.20,,,,,,EUR,,-12.00,EUR,N-F10,\n",
    ] {
        assert!(csv.contains(row), "{row} in {csv}");
    }
    assert_eq!(lines(&folder), told(&[("N-F", 13)]));
}

#[test]
fn the_bag_is_gone_or_has_another_code() {
    let folder = rig();
    done(&folder, "plan rig");
    autumn(&folder, &[("F,Nord,N-F10,1,1.20,10,,5\n", "")]);
    let output = run(folder.path(), &format!("{REPRICE} --check"));
    assert_eq!(output.status.code(), Some(6));
    let shown = joined(&String::from_utf8(output.stdout).unwrap());
    for said in [
        "10 of part F (sku N-F10) can no longer be bought from Nord",
        "Nord no longer sells part F (sku N-F10); the part is bought from Nord (sku N-F) now",
    ] {
        assert!(shown.contains(said), "{said} in {shown}");
    }
    let compare = "prices rig/catalog/prices.csv autumn.csv --plan rig";
    assert_eq!(
        done(&folder, compare),
        "3 offers: 1 gone and 2 unchanged\n\
         \n\
         change  part  supplier  sku    qty  old price\n\
         ------- ----- --------- ------ ---- ---------\n\
         gone    F     Nord      N-F10   10   1.20 EUR\n\
         \n\
         for the 2 lines of the plan on these lists: 0.00 EUR; no longer sold so: F (sku N-F10) from Nord\n"
    );

    // Of two offers, one under a new code is another offer.
    autumn(&folder, &[("N-F10", "N-F11")]);
    let args = format!("{REPRICE} --keep lines --check");
    let said = fails(&folder, &args, 3);
    assert!(
        said.contains("10 of part F (sku N-F10) can no longer"),
        "{said}"
    );
    let csv = done(&folder, &format!("{compare} --format csv"));
    for row in [
        "gone,F,Nord,EUR,10,1.20,,,,,N-F10\n",
        "new,F,Nord,EUR,,,1.20,,,,N-F11\n",
    ] {
        assert!(csv.contains(row), "{row} in {csv}");
    }
    let shown = done(&folder, REPRICE);
    assert!(shown.contains("sku switched"), "{shown}");
    assert!(shown.contains("N-F10 to N-F11"), "{shown}");
    let said = "Nord no longer sells part F (sku N-F10); the part is bought from Nord (sku N-F) and \
                Nord (sku N-F11) now";
    assert!(joined(&shown).contains(said), "{shown}");
}

/// A supplier's only offer of a part is the same offer under a new sku.
#[test]
fn the_only_offer_has_another_code() {
    let folder = rig();
    let single = PRICES.replace("F,Nord,N-F10,1,1.20,10,,5\n", "");
    write(&folder, "rig/catalog/prices.csv", &single);
    done(&folder, "plan rig");
    write(&folder, "autumn.csv", &single.replace("N-F,", "N-G,"));
    let args = format!("{REPRICE} --keep lines --check");
    let output = run(folder.path(), &args);
    assert_eq!(output.status.code(), Some(6));
    let shown = joined(&String::from_utf8(output.stdout).unwrap());
    for said in [
        "the order lines are kept: 1 order line changes",
        "sku switched F Nord N-F to N-G 13 2.00 EUR 0.00 EUR",
        "Nord sells part F as sku N-G now, not as sku N-F",
    ] {
        assert!(shown.contains(said), "{said} in {shown}");
    }
    assert!(!shown.contains("no longer"), "{shown}");
    let csv = done(
        &folder,
        "prices rig/catalog/prices.csv autumn.csv --plan rig --format csv",
    );
    let row = "terms,F,Nord,EUR,13,2.00,2.00,,0.00,sku N-F to N-G,N-G\n";
    assert!(csv.contains(row), "{csv}");
    done(&folder, REPRICE);
    assert_eq!(lines(&folder), told(&[("N-G", 13)]));
}

/// What was ordered of the bag is not bought again, what was not still is.
#[test]
fn an_order_of_the_bag_alone_leaves_the_pieces_to_be_bought() {
    let folder = rig();
    done(&folder, "plan rig");
    let row = |sku: &str, qty: u64| format!("{HEAD}F,Nord,{qty},1.20,2026-01-02,,,{sku}\n");
    autumn(&folder, &[("N-F,1,2.00", "N-F,1,2.50")]);
    for (ordered, open) in [
        (row("N-F10", 10), vec![("N-F", 3)]),
        (row("N-F", 3), vec![("N-F10", 10)]),
        // Any line takes a row without a sku.
        (row("", 13), vec![]),
    ] {
        write(&folder, "rig/ordered.csv", &ordered);
        let args = format!("{REPRICE} --check --keep lines --format json");
        let output = run(folder.path(), &args);
        let shown: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let changes = shown["changes"].as_array().unwrap().iter();
        let old = changes.map(|change| {
            let line = &change["before"];
            (line["sku"].as_str().unwrap(), line["qty"].as_u64().unwrap())
        });
        assert_eq!(old.collect::<Vec<_>>(), open, "{ordered}");
    }
}

#[test]
fn several_offers_are_named_wherever_prices_are_shown() {
    let folder = rig();
    done(&folder, "plan rig");
    let shown = done(&folder, "parts rig --kind ferrule");
    assert!(
        joined(&shown).contains("Nord (sku N-F) 2.00 EUR; Nord (sku N-F10) 1.20 EUR, packs of 10"),
        "{shown}"
    );
    let json = done(&folder, "parts rig --kind ferrule --format json");
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json[0]["offers"][1]["sku"], "N-F10");
    let shown = done(&folder, "parts rig --kind plug");
    assert!(shown.contains("West 3.00 EUR"), "{shown}");
    // Both prices go up together: at 12.00 × f + 6.00 × f nothing changes.
    let csv = done(&folder, "breakeven rig --format csv");
    let rows: Vec<&str> = csv.lines().filter(|row| row.starts_with("F,")).collect();
    assert!(!rows.is_empty(), "{csv}");
    assert!(rows.iter().all(|row| row.ends_with(",N-F10")), "{csv}");
}

/// West is cheapest at 13 × 1.30 + 6.00 = 22.90. At a factor f below 1 / 1.1 the bag with
/// three pieces, 18.00 × f + 5.00, is cheaper than 16.90 × f + 6.00.
#[test]
fn a_break_even_names_the_offers_that_take_over() {
    let folder = rig();
    let list = format!("{PRICES}F,West,W-F,1,1.30,1,,\n");
    write(&folder, "rig/catalog/prices.csv", &list);
    let suppliers = FILES[4].1.replace("West,EUR,50", "West,EUR,6");
    write(&folder, "rig/catalog/suppliers.csv", &suppliers);
    let shown = joined(&done(&folder, "breakeven rig"));
    let moved =
        "F 1.30 EUR 1.1819 -9.09 % 21.36 F from Nord (sku N-F) and Nord (sku N-F10), not West";
    assert!(shown.contains(moved), "{shown}");
    let csv = done(&folder, "breakeven rig --format csv");
    let moved = ",F: West > Nord (sku N-F) + Nord (sku N-F10),W-F\n";
    assert!(csv.contains(moved), "{csv}");
}

/// Only parts that are fitted are bought. Filling up an order with a part that nothing
/// uses would save money here, and is not done.
#[test]
fn what_nothing_uses_is_not_bought() {
    let filler = "X,,B9,45,55,\n";
    let prices = |stock: &str| {
        format!(
            "part,supplier,sku,min_qty,unit_price,pack,stock\n\
             F,Nord,N-F,1,2.00,1,{stock}\nX,Nord,N-X,1,0.50,1,\n"
        )
    };
    let folder = rig();
    write(
        &folder,
        "rig/catalog/suppliers.csv",
        "supplier,currency,shipping,free_over,min_order,duty_percent\nNord,EUR,5,28,,0\n",
    );
    let ferrules = format!("{}{filler}", FILES[1].1);
    write(&folder, "rig/catalog/ferrules.csv", &ferrules);
    // 13 × 2.00 + 5.00 = 31.00, while four X would bring the goods to 28.00 and save 3.00.
    write(&folder, "rig/catalog/prices.csv", &prices("13"));
    let shown = done(&folder, "plan rig");
    assert!(shown.contains("Total 31.00 EUR"), "{shown}");
    assert_eq!(lines(&folder), told(&[("N-F", 13)]));
    // One more of a part that is fitted does it.
    write(&folder, "rig/catalog/prices.csv", &prices("14"));
    let shown = done(&folder, "plan rig");
    assert!(shown.contains("Total 28.00 EUR"), "{shown}");
    assert_eq!(lines(&folder), told(&[("N-F", 14)]));
}
