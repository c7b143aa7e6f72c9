//! The documents as a user asks for them, on the project that `couplet new` writes.

use assert_cmd::Command;
use std::fs;
use std::path::Path;
use std::process::Output;

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::cargo_bin("couplet")
        .unwrap()
        .current_dir(folder)
        .args(args)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

fn done(folder: &Path, args: &[&str]) -> String {
    let output = run(folder, args);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{args:?}: {said}");
    text(&output.stdout).to_owned()
}

/// A folder with a new project `boat` and its plan.
fn boat() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    done(folder.path(), &["new", "boat"]);
    done(folder.path(), &["plan", "boat"]);
    folder
}

#[test]
fn every_document_is_written() {
    let folder = boat();
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    for (args, name, holds) in [
        (&["report", "boat"][..], "report.html", "Keying map"),
        (&["cards", "boat"], "cards.html", "from the maker's sheet"),
        (
            &["labels", "boat", "--format", "html"],
            "labels.html",
            "other end",
        ),
        (
            &["labels", "boat"],
            "labels.csv",
            "1 HV+ from,traction,HV+,from,pack",
        ),
        (
            &["kit", "boat", "--format", "html"],
            "kit.html",
            "Bag of surplus",
        ),
        (
            &["kit", "boat", "--format", "csv"],
            "kit.csv",
            "spares,,ferrule,",
        ),
        (
            &["kit", "boat", "--format", "json"],
            "kit.json",
            "\"surplus\"",
        ),
        (&["kit", "boat"], "kit.txt", "Spares: "),
    ] {
        let args = [args, &["--out", name]].concat();
        assert_eq!(done(folder.path(), &args), "", "{args:?}");
        assert!(read(name).contains(holds), "{name}");
        let last = args.len() - 1;
        let shown = done(folder.path(), &[&args[..last], &["-"]].concat());
        assert_eq!(shown, read(name));
    }
}

#[test]
fn the_report_shows_what_fewer_variants_cost() {
    let folder = boat();
    let root = folder.path();
    let page = |args: &[&str]| done(root, &[&["report", "boat", "--out", "-"], args].concat());
    let alone = "No compatible plan does with fewer variants than this plan";
    assert!(page(&[]).contains(alone));
    assert!(!page(&["--no-frontier"]).contains("Fewer variants"));

    let catalog = root.join("boat/catalog");
    let add = |name: &str, row: &str| {
        let path = catalog.join(name);
        let old = fs::read_to_string(&path).unwrap();
        fs::write(path, old + row).unwrap();
    };
    // One dear back shell for either exit, in place of one for each.
    add("backshells.csv", "C-ANY,dear shell,E10,,20,,1\n");
    add(
        "prices.csv",
        "C-ANY,Example North,N-9,EUR,1,25,1,,5,2025-10-01\n",
    );
    done(root, &["plan", "boat"]);
    let page = page(&[]);
    assert!(page.contains("No compatible plan does with fewer than 26 variants."));
    assert!(page.contains("Least total by number of variants"));
    assert!(page.contains("<td>proven</td>") && !page.contains("a dashed dot"));
    let output = run(
        root,
        &[
            "report",
            "boat",
            "--out",
            "r.html",
            "--no-frontier",
            "--time-limit",
            "1",
        ],
    );
    assert_eq!(output.status.code(), Some(2));
}

/// What is ordered already is part of what a plan takes: rows of parts add up,
/// and all of it goes into the bags.
#[test]
fn papers_count_what_is_ordered_already() {
    let folder = boat();
    let root = folder.path();
    let place = ["order", "boat", "--place", "--supplier", "Example North"];
    done(root, &[&place[..], &["--on", "2026-01-02"]].concat());
    fs::write(root.join("boat/on_hand.csv"), "part,qty\nC10,1\n").unwrap();
    done(root, &["plan", "boat"]);
    let page = done(root, &["report", "boat", "--no-frontier", "--out", "-"]);
    let table = page.split("id=\"part-list\"").nth(1).unwrap();
    let table = table.split("</table>").next().unwrap();
    let heads: Vec<&str> = (table.split("<th scope=\"col\"").skip(1))
        .map(|head| head.split(['>', '<']).nth(1).unwrap())
        .collect();
    let rows: Vec<Vec<String>> = (table.split("<tr>").skip(2))
        .map(|row| {
            let cells = row.split("<td").skip(1).map(|cell| {
                let shown = cell.split("<bdi>").nth(1).unwrap_or_default();
                shown.split("</bdi>").next().unwrap().to_owned()
            });
            std::iter::once(String::new()).chain(cells).collect()
        })
        .collect();
    assert!(rows.len() > 25);
    let (mut of_hand, mut of_order) = (0, 0);
    for row in &rows {
        let count = |name: &str| {
            let cell = &row[heads.iter().position(|head| *head == name).unwrap()];
            cell.parse::<u64>().unwrap_or(0)
        };
        let there = count("on hand used") + count("ordered used") + count("bought");
        let taken = count("fitted") + count("spare") + count("surplus");
        assert_eq!(there, taken, "{row:?}");
        of_hand += count("on hand used");
        of_order += count("ordered used");
    }
    assert!(of_hand == 1 && of_order > 30, "{of_hand} {of_order}");
    let kit = done(root, &["kit", "boat"]);
    let packed = kit.lines().last().unwrap();
    assert!(packed.contains("stock on hand and ordered"), "{packed}");
}

#[test]
fn changed_files_are_told_in_the_page_too() {
    let folder = boat();
    let prices = folder.path().join("boat/catalog/prices.csv");
    let old = fs::read_to_string(&prices).unwrap();
    fs::write(&prices, format!("{old}# later\n")).unwrap();
    let output = run(folder.path(), &["report", "boat", "--out", "-"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(text(&output.stderr).contains("is not as when the plan was made"));
    assert!(text(&output.stdout).contains("Out of date:"));
    // What fewer variants cost would be of other files than the plan.
    assert!(!text(&output.stdout).contains("Fewer variants"));
}

#[test]
fn a_plan_of_other_circuits_is_status_1() {
    let folder = boat();
    let circuits = folder.path().join("boat/circuits.csv");
    let old = fs::read_to_string(&circuits).unwrap();
    assert!(old.contains("traction,"));
    fs::write(&circuits, old.replace("traction,", "drive,")).unwrap();
    for args in [&["kit", "boat"][..], &["cards", "boat", "--out", "c.html"]] {
        let output = run(folder.path(), args);
        assert_eq!(output.status.code(), Some(1));
        let said = text(&output.stderr);
        assert!(said.contains("run couplet plan again"), "{said}");
        assert!(output.stdout.is_empty() && !folder.path().join("c.html").exists());
    }
}

#[test]
fn without_a_plan_or_a_place_nothing_is_written() {
    let folder = boat();
    let out = ["report", "boat", "--out", "no/such/folder/r.html"];
    assert_eq!(run(folder.path(), &out).status.code(), Some(2));
    fs::remove_file(folder.path().join("boat/plan.json")).unwrap();
    let output = run(folder.path(), &["report", "boat", "--out", "r.html"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(!folder.path().join("r.html").exists());
    assert_eq!(
        run(folder.path(), &["report", "boat"]).status.code(),
        Some(2)
    );
}
