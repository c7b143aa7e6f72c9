//! Files that a user names for a result: none of the files that are read or kept is written
//! over, an earlier result is, and `-` is standard output.

#[path = "common/needs.rs"]
mod needs;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn run(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("couplet"));
    command.current_dir(folder).args(args).stdin(Stdio::null());
    command.output().unwrap()
}

fn said(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr);
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn done(folder: &Path, args: &[&str]) -> Vec<u8> {
    let output = run(folder, args);
    assert!(output.status.success(), "{args:?}: {}", said(&output));
    output.stdout
}

/// Status 2, with these words on standard error, and no file is changed.
fn refused(folder: &Path, args: &[&str], words: &[&str]) {
    let before = content(folder);
    let output = run(folder, args);
    let said = said(&output);
    assert_eq!(output.status.code(), Some(2), "{args:?}: {said}");
    for word in words {
        assert!(said.contains(word), "{args:?}: no {word:?} in {said}");
    }
    assert!(content(folder) == before, "{args:?} changed a file");
}

/// All files under a folder with what is in them.
fn content(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        match path.is_dir() {
            true => all.extend(content(&path)),
            false => all.push((path.clone(), fs::read(&path).unwrap())),
        }
    }
    all.sort();
    all
}

/// A planned project `boat`, a purchase `series` of it, and a supplier's list with its recipe.
fn yard() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path();
    done(root, &["new", "boat"]);
    fs::create_dir(root.join("series")).unwrap();
    let purchase = "name = \"Series\"\ncurrency = \"EUR\"\ncatalog = \"../boat/catalog\"\n\
                    [rates]\nUSD = 0.92\n\
                    [[machine]]\nname = \"boat\"\nproject = \"../boat\"\ncount = 2\n";
    fs::write(root.join("series/purchase.toml"), purchase).unwrap();
    done(root, &["plan", "boat"]);
    done(root, &["plan", "series"]);
    fs::write(root.join("list.csv"), "Item no.,Unit price\nN-1026,9.50\n").unwrap();
    done(root, &["take", "boat", "Example North", "list.csv"]);
    // One article of many: the recipe takes the list for an extract.
    let recipe = root.join("boat/catalog/lists/Example-North.toml");
    let text = fs::read_to_string(&recipe).unwrap();
    assert!(text.contains("complete = false"), "{text}");
    folder
}

/// Every option that names a file to write, without that file.
const WRITERS: &[&[&str]] = &[
    &["plan", "boat", "--again", "--out"],
    &["take", "boat", "Example North", "list.csv", "--out"],
    &["take", "boat", "Example North", "list.csv", "--new"],
    &["order", "boat", "--xlsx"],
    &["report", "boat", "--no-frontier", "--out"],
    &["kit", "boat", "--out"],
    &["cards", "boat", "--out"],
    &["labels", "boat", "--out"],
    &["consolidate", "boat", "--to", "99", "--out"],
    &["consolidate", "boat", "--svg"],
    &["budget", "boat", "--svg"],
    &["breakeven", "boat", "--svg"],
    &["prices", "boat", "--history", "--part", "C10", "--svg"],
];

fn with<'a>(words: &[&'a str], more: &'a str) -> Vec<&'a str> {
    [words, &[more]].concat()
}

#[test]
fn no_command_writes_over_what_it_reads_or_keeps() {
    let folder = yard();
    let root = folder.path();
    for writer in WRITERS {
        for file in ["boat/project.toml", "boat/circuits.csv", "boat/ordered.csv"] {
            let cure = "name another file for the result";
            let words = [
                file,
                "is a file of the project, and would be written over",
                cure,
            ];
            refused(root, &with(writer, file), &words);
        }
        for file in ["boat/catalog/prices.csv", "boat/catalog/suppliers.csv"] {
            refused(root, &with(writer, file), &[file, "would be written over"]);
        }
        let recipe = "boat/catalog/lists/Example-North.toml";
        refused(root, &with(writer, recipe), &["a recipe of the catalog"]);
    }
    for writer in WRITERS {
        let is_record = writer.contains(&"plan") || writer.contains(&"--to");
        if !is_record {
            refused(
                root,
                &with(writer, "boat/plan.json"),
                &["boat/plan.json is a file"],
            );
        }
    }
}

#[test]
fn an_earlier_result_is_written_over() {
    let folder = yard();
    let root = folder.path();
    for (place, writer) in WRITERS.iter().enumerate() {
        let result = format!("boat/result-{place}");
        fs::write(root.join(&result), "earlier").unwrap();
        done(root, &with(writer, &result));
        let now = fs::read(root.join(&result)).unwrap();
        assert!(now != b"earlier", "{writer:?}");
    }
    // The record is what these two write.
    for writer in [WRITERS[0], WRITERS[8]] {
        done(root, &with(writer, "boat/plan.json"));
    }
}

#[cfg(unix)]
#[test]
fn another_spelling_and_links_lead_to_the_same_file() {
    let folder = yard();
    let root = folder.path();
    let file = root.join("boat/circuits.csv");
    std::os::unix::fs::symlink(&file, root.join("soft")).unwrap();
    fs::hard_link(&file, root.join("hard")).unwrap();
    std::os::unix::fs::symlink("boat", root.join("launch")).unwrap();
    let whole = file.to_str().unwrap();
    let detour = "boat/catalog/../circuits.csv";
    for out in ["soft", "hard", "launch/circuits.csv", whole, detour] {
        for writer in WRITERS {
            refused(root, &with(writer, out), &["circuits.csv", "written over"]);
        }
    }
    // A link to an earlier result is no harm.
    fs::write(root.join("k.txt"), "earlier").unwrap();
    std::os::unix::fs::symlink("k.txt", root.join("free")).unwrap();
    done(root, &["kit", "boat", "--out", "free"]);
    assert_ne!(fs::read(root.join("k.txt")).unwrap(), b"earlier");
}

#[test]
fn what_is_named_on_the_command_line_is_not_written_over_either() {
    let folder = yard();
    let root = folder.path();
    done(root, &["plan", "boat", "--out", "spring.json"]);
    fs::copy(root.join("boat/catalog/prices.csv"), root.join("new.csv")).unwrap();
    let list = "list.csv is the list that is read";
    for option in ["--out", "--new"] {
        let take = [
            "take",
            "boat",
            "Example North",
            "list.csv",
            option,
            "./list.csv",
        ];
        refused(root, &take, &[list]);
    }
    let take = ["take", "boat", "Example North", "list.csv"];
    let both = [&take[..], &["--out", "one.csv", "--new", "one.csv"]].concat();
    refused(root, &both, &["one.csv is where the price list goes"]);
    let of = ["kit", "boat", "--plan", "spring.json", "--out"];
    refused(
        root,
        &with(&of, "spring.json"),
        &["spring.json is the record"],
    );
    let of = ["budget", "boat", "--prices", "new.csv", "--svg"];
    refused(root, &with(&of, "new.csv"), &["new.csv is the price list"]);
    let both = [
        "consolidate",
        "boat",
        "--to",
        "99",
        "--out",
        "x",
        "--svg",
        "x",
    ];
    refused(root, &both, &["x is where the plan is kept"]);
    // The same names are free where nothing reads them.
    done(root, &["kit", "boat", "--out", "spring.json"]);
    done(root, &["budget", "boat", "--svg", "new.csv"]);
}

#[test]
fn a_purchase_keeps_its_files_and_those_of_its_machines() {
    let folder = yard();
    let root = folder.path();
    let of = ["kit", "series", "--out"];
    for (file, what) in [
        ("series/purchase.toml", "a file of the purchase"),
        ("series/on_hand.csv", "a file of the purchase"),
        ("boat/circuits.csv", "a file of a machine's project"),
        ("boat/plan.json", "a file of a machine's project"),
        ("boat/catalog/bodies.csv", "a file of the catalog"),
    ] {
        refused(root, &with(&of, file), &[file, what]);
    }
    done(root, &with(&of, "series/kits.txt"));
    let other = [
        "prices",
        "boat/catalog",
        "--history",
        "--part",
        "C10",
        "--svg",
    ];
    let purchase = "series/purchase.toml";
    refused(
        root,
        &with(&other, purchase),
        &["a file of another project"],
    );
}

#[test]
fn the_price_list_of_the_project_and_its_workbook_are_its_own() {
    let folder = yard();
    let root = folder.path();
    let settings = root.join("boat/project.toml");
    let text = fs::read_to_string(&settings).unwrap();
    fs::write(&settings, format!("prices = \"../own.csv\"\n{text}")).unwrap();
    fs::copy(root.join("boat/catalog/prices.csv"), root.join("own.csv")).unwrap();
    let of = ["kit", "boat", "--out"];
    refused(root, &with(&of, "own.csv"), &["own.csv is the price list"]);
    refused(root, &with(&of, "history.csv"), &["the history of prices"]);
    done(root, &["convert", "boat", "boat/all.xlsx"]);
    fs::rename(root.join("boat/all.xlsx"), root.join("boat/project.xlsx")).unwrap();
    let of = ["order", "boat", "--xlsx"];
    refused(
        root,
        &with(&of, "boat/project.xlsx"),
        &["a file of the project"],
    );
}

#[cfg(unix)]
#[test]
fn convert_never_writes_over_its_source() {
    let folder = yard();
    let root = folder.path();
    let circuits = root.join("boat/circuits.csv");
    std::os::unix::fs::symlink(&circuits, root.join("boat/all.xlsx")).unwrap();
    let onto = ["convert", "boat", "boat/all.xlsx", "--force"];
    refused(root, &onto, &["boat/circuits.csv, what is converted"]);
    fs::remove_file(root.join("boat/all.xlsx")).unwrap();
    done(root, &["convert", "boat", "boat/all.xlsx"]);
    done(root, &onto);
    fs::create_dir(root.join("back")).unwrap();
    fs::hard_link(root.join("boat/all.xlsx"), root.join("back/circuits.csv")).unwrap();
    let back = ["convert", "boat/all.xlsx", "back", "--force"];
    refused(root, &back, &["back/circuits.csv leads to boat/all.xlsx"]);
    fs::remove_file(root.join("back/circuits.csv")).unwrap();
    done(root, &back);
    done(root, &back);
}

#[test]
fn a_dash_is_standard_output_for_every_result() {
    let folder = yard();
    let root = folder.path();
    for (place, writer) in WRITERS.iter().enumerate() {
        let result = format!("result-{place}");
        done(root, &with(writer, &result));
        let file = fs::read(root.join(&result)).unwrap();
        let printed = done(root, &with(writer, "-"));
        assert_eq!(printed, file, "{writer:?}");
        assert!(!root.join("-").exists(), "{writer:?}");
    }
    let take = ["take", "boat", "Example North", "list.csv"];
    let both = [&take[..], &["--out", "-", "--new", "-"]].concat();
    refused(
        root,
        &both,
        &["two results cannot both go to standard output"],
    );
    let check = [&take[..], &["--out", "-", "--check"]].concat();
    refused(root, &check, &["--check writes no price list"]);
    let both = [
        "consolidate",
        "boat",
        "--to",
        "99",
        "--out",
        "-",
        "--svg",
        "-",
    ];
    refused(
        root,
        &both,
        &["two results cannot both go to standard output"],
    );
    // A file of that name can be named all the same.
    done(root, &["kit", "boat", "--out", "./-"]);
    assert!(root.join("-").exists());
}

/// `script` gives a run a terminal.
#[cfg(target_os = "linux")]
#[test]
fn a_workbook_is_not_shown_on_a_terminal() {
    let folder = yard();
    let root = folder.path();
    let program = assert_cmd::cargo::cargo_bin("couplet");
    let line = format!("{} order boat --xlsx -", program.display());
    let mut script = Command::new("script");
    script.args(["-qec", &line, "/dev/null"]).current_dir(root);
    let Ok(output) = script.stdin(Stdio::null()).output() else {
        needs::skipped("script, which gives a run a terminal", "install util-linux");
        return;
    };
    let shown = String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(2), "{shown}");
    assert!(
        shown.contains("a workbook cannot be shown on a terminal"),
        "{shown}"
    );
    // Elsewhere it is a workbook, which is a ZIP archive.
    let piped = done(root, &["order", "boat", "--xlsx", "-"]);
    assert!(piped.starts_with(b"PK"));
}
