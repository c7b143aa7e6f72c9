//! Catalogs as large as may be, and one row larger; numbers as large as may be.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use std::time::Instant;

const PARTS: usize = couplet::catalog::read::MAX_PARTS;
const PRICES: usize = couplet::table::MAX_ROWS;

/// A part code of an invented catalog of so many parts: a quarter of each table.
fn code(n: usize, parts: usize) -> String {
    let quarter = parts / 4;
    let kind = ["BODY", "FERRULE", "SEAL", "SHELL"][(n / quarter).min(3)];
    format!("{kind}-{n:06}")
}

/// Writes an invented project with a catalog of so many parts and price rows,
/// five breaks an offer.
fn write(folder: &Path, parts: usize, prices: usize) {
    let catalog = folder.join("catalog");
    fs::create_dir_all(&catalog).unwrap();
    let mut tables = [
        "part,description,half,interface,key,poles,rated_a,rated_v,attach,exit,barrel,rear,ip,colour\n",
        "part,description,barrel,min_mm2,max_mm2,die\n",
        "part,description,rear,min_od_mm,max_od_mm,ip\n",
        "part,description,rear,exit,max_od_mm,colour,pieces\n",
    ]
    .map(str::to_owned);
    let quarter = parts / 4;
    for n in 0..parts {
        let (code, group, face) = (code(n, parts), n % 200, n / 2 % 500);
        let key = ["A", "B", "C"][n / 2 % 3];
        let row = match n / quarter {
            0 if n % 2 == 0 => format!(
                "{code},invented plug {n},plug,M{face},{key},1,350,1000,crimp,straight,B{group},R{group},IP67,orange"
            ),
            0 => format!(
                "{code},invented receptacle {n},receptacle,M{face},{key},1,350,1000,busbar,,,,IP67,orange"
            ),
            1 => format!("{code},invented ferrule {n},B{group},10,95,"),
            2 => format!("{code},invented seal {n},R{group},8,20,"),
            _ => format!("{code},invented shell {n},R{group},,20,,"),
        };
        writeln!(tables[(n / quarter).min(3)], "{row}").unwrap();
    }
    for (name, text) in ["bodies", "ferrules", "seals", "backshells"]
        .iter()
        .zip(&tables)
    {
        fs::write(catalog.join(format!("{name}.csv")), text).unwrap();
    }
    let mut rows =
        "part,supplier,sku,currency,min_qty,unit_price,pack,stock,lead_days,quoted\n".to_owned();
    for n in 0..prices {
        let (offer, step) = (n / 5, n % 5);
        let (part, supplier) = (code(offer % parts, parts), offer / parts);
        let (least, price, month) = (1 + step * 10, 50 - step, step + 1);
        writeln!(
            rows,
            "{part},S{supplier},SKU-{offer},EUR,{least},{price}.25,1,,14,2026-0{month}-11"
        )
        .unwrap();
    }
    fs::write(catalog.join("prices.csv"), rows).unwrap();
    let suppliers: String = (0..2).map(|n| format!("S{n},EUR,9.90\n")).collect();
    fs::write(
        catalog.join("suppliers.csv"),
        format!("supplier,currency,shipping\n{suppliers}"),
    )
    .unwrap();
    let settings = "name = \"Large\"\ncurrency = \"EUR\"\ncatalog = \"catalog\"\n";
    fs::write(folder.join("project.toml"), settings).unwrap();
    let circuits = "circuit,conductors,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach\n\
                    a,HV+ HV-,pack,inverter,100,400,50 mm2,14,busbar,busbar\n";
    fs::write(folder.join("circuits.csv"), circuits).unwrap();
}

/// Runs the program with no more than so many kB of memory, where a shell can hold
/// it to that.
fn limited(folder: &Path, memory: &str, args: &str) -> Output {
    let program = assert_cmd::cargo::cargo_bin("couplet");
    let mut command = if cfg!(target_os = "linux") {
        let mut shell = Command::new("sh");
        let line = format!("ulimit -v {memory} && exec \"$0\" {args}");
        shell.arg("-c").arg(line).arg(program);
        shell
    } else {
        let mut plain = Command::new(program);
        plain.args(args.split(' '));
        plain
    };
    command.current_dir(folder).output().unwrap()
}

/// Checks a project with no more than 1 GB of memory.
fn check(folder: &Path) -> Output {
    limited(folder, "976562", "check . --quiet")
}

/// What the reading of the bytes alone costs, through the crate that splits them.
fn split(folder: &Path) -> usize {
    let mut fields = 0;
    for entry in fs::read_dir(folder.join("catalog")).unwrap() {
        let mut reader = csv::Reader::from_path(entry.unwrap().path()).unwrap();
        let mut record = csv::StringRecord::new();
        while reader.read_record(&mut record).unwrap() {
            fields += record.len();
        }
    }
    fields
}

#[test]
fn the_largest_catalog_is_checked_in_little_memory() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), PARTS, PRICES);
    let begun = Instant::now();
    let output = check(folder.path());
    let checked = begun.elapsed();
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let counts = "200000 parts, 200000 offers, 1 circuit, 4 ends: 0 errors";
    assert!(said.starts_with(counts), "{said}");
    let begun = Instant::now();
    assert_eq!(
        split(folder.path()),
        PRICES * 10 + PARTS / 4 * (14 + 6 + 6 + 7) + 2 * 3
    );
    let split = begun.elapsed();
    let ratio = checked.as_secs_f64() / split.as_secs_f64();
    eprintln!(
        "checked in {} ms, split alone in {} ms: {ratio:.1} times",
        checked.as_millis(),
        split.as_millis()
    );
}

#[test]
fn one_row_more_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), PARTS + 4, PRICES + 1);
    let output = check(folder.path());
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8_lossy(&output.stderr);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "the catalog has more than 200000 parts: from here on nothing was looked at",
        "catalog/backshells.csv:49999",
        "the table has more than 1000000 rows: from here on nothing was looked at",
        "catalog/prices.csv:1000002",
        "leave out what no circuit needs",
    ] {
        assert!(said.contains(words), "no {words:?} in {said}");
    }
}

/// A project of four cables with numbers of its own: least spares of each kind,
/// and price, pack and stock of every offer.
fn write_numbers(folder: &Path, spares: &str, [price, pack, stock]: [&str; 3]) {
    let catalog = folder.join("catalog");
    fs::create_dir_all(&catalog).unwrap();
    let put = |name: &str, text: &str| fs::write(folder.join(name), text).unwrap();
    let mut bodies = "part,description,half,interface,key,poles,rated_a,rated_v,attach,exit,\
                      barrel,rear,ip,colour\n"
        .to_owned();
    for key in ["A", "B"] {
        bodies += &format!(
            "P{key},,plug,M,{key},1,350,1000,crimp,straight,B,R,IP67,orange\n\
             R{key},,receptacle,M,{key},1,350,1000,busbar,,,,IP67,orange\n"
        );
    }
    put("catalog/bodies.csv", &bodies);
    put(
        "catalog/ferrules.csv",
        "part,description,barrel,min_mm2,max_mm2,die\nF,,B,10,95,\n",
    );
    put(
        "catalog/seals.csv",
        "part,description,rear,min_od_mm,max_od_mm,ip\nS,,R,8,20,IP67\n",
    );
    put(
        "catalog/backshells.csv",
        "part,description,rear,exit,max_od_mm,colour,pieces\nH,,R,,20,orange,100\n",
    );
    let mut rows = "part,supplier,currency,min_qty,unit_price,pack,stock\n".to_owned();
    for part in ["PA", "PB", "RA", "RB", "F", "S", "H"] {
        for supplier in ["North", "South"] {
            writeln!(rows, "{part},{supplier},EUR,1,{price},{pack},{stock}").unwrap();
        }
    }
    put("catalog/prices.csv", &rows);
    put(
        "catalog/suppliers.csv",
        "supplier,currency,shipping,free_over,min_order\n\
         North,EUR,9.90,1000000000,\nSouth,EUR,1000000000,,1000000000\n",
    );
    let mut settings = "name = \"Numbers\"\ncurrency = \"EUR\"\ncatalog = \"catalog\"\n".to_owned();
    for kind in ["plug", "receptacle", "ferrule", "seal", "back-shell"] {
        writeln!(settings, "[[spares]]\nkind = \"{kind}\"\nper = \"gauge\"").unwrap();
        writeln!(settings, "percent = 1000\nminimum = {spares}").unwrap();
    }
    put("project.toml", &settings);
    put(
        "circuits.csv",
        "circuit,conductors,from,to,current_a,voltage_v,gauge,cable_od_mm,from_attach,to_attach\n\
         a,HV+ HV-,pack,inverter,100,400,50 mm2,14,busbar,busbar\n\
         b,HV+ HV-,pack,inverter,100,400,70 mm2,14,busbar,busbar\n",
    );
}

/// How many pieces are needed has no part in how much memory it takes.
#[test]
fn the_largest_numbers_are_planned_in_little_memory() {
    let most = "1000000000";
    for (spares, offer, status) in [
        ("100000000", ["1", "1", ""], 0),
        (most, ["1", "1", ""], 0),
        (most, ["1", most, ""], 0),
        (most, [most, "1", ""], 0),
        (most, ["0", "1", ""], 0),
        ("1", [most, "1", most], 0),
        ("1", ["1", most, most], 0),
        // Two gauges take twice as many seals as both suppliers have.
        (most, ["1", "1", most], 3),
    ] {
        let folder = tempfile::tempdir().unwrap();
        write_numbers(folder.path(), spares, offer);
        let output = limited(folder.path(), "2000000", "plan . --quiet --time-limit 4");
        let said = String::from_utf8_lossy(&output.stderr);
        // On a machine that is too slow the time runs out.
        let ended = output
            .status
            .code()
            .filter(|code| [status, 4].contains(code));
        assert!(ended.is_some(), "{spares} {offer:?}: {output:?} {said}");
        assert_eq!(folder.path().join("plan.json").exists(), ended == Some(0));
    }
}

/// Writes an invented project with so many locations, each with one end, and so many
/// plugs with their receptacles, all of which fit everywhere.
fn write_choices(folder: &Path, locations: usize, keys: usize) {
    let catalog = folder.join("catalog");
    fs::create_dir_all(&catalog).unwrap();
    let put = |file: &str, text: &str| fs::write(folder.join(file), text).unwrap();
    put(
        "project.toml",
        "name = \"Large\"\ncurrency = \"EUR\"\ncatalog = \"catalog\"\n",
    );
    let mut bodies = "part,half,interface,key,rated_a,rated_v,attach,exit\n".to_owned();
    let mut stock = "part,qty\n".to_owned();
    for n in 0..keys {
        writeln!(bodies, "P{n},plug,F,{n},100,800,crimp,straight").unwrap();
        writeln!(bodies, "R{n},receptacle,F,{n},100,800,busbar,").unwrap();
        writeln!(stock, "P{n},9\nR{n},9").unwrap();
    }
    put("catalog/bodies.csv", &bodies);
    put("on_hand.csv", &stock);
    put("catalog/ferrules.csv", "part,barrel,min_mm2,max_mm2\n");
    put("catalog/seals.csv", "part,rear,min_od_mm,max_od_mm\n");
    put("catalog/backshells.csv", "part,rear,max_od_mm\n");
    put("catalog/prices.csv", "part,supplier,unit_price\n");
    put("catalog/suppliers.csv", "supplier,currency\n");
    let mut circuits = "circuit,conductors,from,to,current_a,voltage_v,gauge,cable_od_mm,\
                        from_attach,to_attach\n"
        .to_owned();
    for n in 0..locations {
        writeln!(circuits, "C{n},HV+,L{n},away,10,50,10 mm2,8,busbar,none").unwrap();
    }
    put("circuits.csv", &circuits);
}

/// What would take all memory is refused before it does: the limit itself is planned, or
/// the time runs out; one end more is not.
#[test]
fn more_choices_than_can_be_planned_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let per_end = 20_000;
    let most = couplet::fit::MAX_CHOICES / per_end;
    write_choices(folder.path(), most + 1, per_end / 2);
    let output = limited(folder.path(), "1500000", "plan --time-limit 5 .");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{said}");
    let expected =
        "choices of bodies for all ends: 5020000, but at most 5000000 can be planned at once";
    assert!(said.contains(expected), "{said}");
    assert!(said.contains("plan the project in parts"), "{said}");

    write_choices(folder.path(), most, per_end / 2);
    let input = couplet::input::load(folder.path(), &Default::default())
        .input
        .unwrap();
    assert!(couplet::fit::fit(&input).is_ok());
}
