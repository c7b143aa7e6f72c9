//! The pages in a browser. `tests/browser/install.sh` installs what this needs;
//! where that is missing it is said and nothing is checked, but not in CI.

use crate::any_plan::{any_plan, generated, of_two_machines};
use crate::documents::pages;
use crate::hostile;
use crate::needs;
use couplet::input::Input;
use couplet::plan::Plan;
use couplet::study::cables::cables;
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const NEEDED: [&str; 3] = ["/usr/bin/chromium", "/usr/bin/pdftotext", "/usr/bin/node"];

/// What is missing of what the check needs.
fn missing(scripts: &Path) -> Vec<String> {
    let modules = scripts.join("node_modules/axe-core/package.json");
    let needed = NEEDED.iter().map(PathBuf::from).chain([modules]);
    let missing = needed.filter(|path| !path.exists());
    missing.map(|path| path.display().to_string()).collect()
}

/// Writes the pages of a plan and notes which cables its drawing must show.
fn write(
    folder: &Path,
    (name, kinds): (&str, &[&str]),
    (input, plan): (&Input, &Plan),
    expected: &mut Value,
) {
    let circuits: Vec<[String; 2]> = cables(input, plan)
        .expect("cables")
        .into_iter()
        .map(|cable| [cable.name.to_owned(), cable.net])
        .collect();
    let pages = pages(input, plan).into_iter();
    for (kind, page) in pages.filter(|(kind, _)| kinds.contains(kind)) {
        let file = format!("{name}-{kind}.html");
        fs::write(folder.join(&file), page).expect("written");
        if kind == "report" {
            expected[file] = json!(circuits);
        }
    }
}

#[test]
fn pages_hold_in_a_browser() {
    let scripts = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/browser");
    let missing = missing(&scripts);
    if !missing.is_empty() {
        needs::skipped(&missing.join(", "), "./setup.sh tests");
        return;
    }
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("pages");
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).expect("a folder");
    let mut expected = json!({});
    let all = ["report", "kit", "cards", "labels", "compare"];
    let (input, plan) = generated(9, 4);
    write(&folder, ("small", &all), (&input, &plan), &mut expected);
    let (input, plan) = generated(5, 40);
    write(
        &folder,
        ("large", &all[..1]),
        (&input, &plan),
        &mut expected,
    );
    let (input, _) = generated(11, 8);
    let input = of_two_machines(input);
    let plan = any_plan(&input);
    write(&folder, ("purchase", &all), (&input, &plan), &mut expected);
    // All hostile texts at once; the long one by itself, for it makes long pages.
    let texts = hostile::texts();
    let (long, others) = texts.split_last().expect("texts");
    for (name, text, kinds) in [
        ("hostile", others.join(" "), &all[..]),
        ("long", long.clone(), &all[3..]),
    ] {
        let input = hostile::spoiled(&text);
        let plan = any_plan(&input);
        write(&folder, (name, kinds), (&input, &plan), &mut expected);
    }
    fs::write(folder.join("expected.json"), expected.to_string()).expect("written");
    let output = Command::new("node")
        .arg(scripts.join("check.mjs"))
        .arg(&folder)
        .output()
        .expect("node runs");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(
        output.status.success(),
        "pages in {}:\n{said}",
        folder.display()
    );
}
