//! What README.md and the chapters of the manual show: their commands run and print
//! what they say, their files load and plan, every column and key of the starting
//! project is explained, and no link leads nowhere.
//!
//! In a block marked `console`, lines after `$ ` are run by a shell, one after
//! the other in one folder for each page; the lines below are what they print, in
//! order, with `…` for lines left out. In a block marked `sh`, the command lines of
//! couplet need only be right. A block marked with a format and a path is that file:
//! of one project over all pages, or of a purchase of its own page.

#[path = "common/said.rs"]
mod said;

use assert_cmd::cargo::cargo_bin;
use said::said;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const SUMMARY: &str = "manual/SUMMARY.md";

/// A file shown in this folder is one that the commands of its own page read.
const PURCHASES: &str = "series/";

/// README.md, the list of chapters or a chapter.
struct Page {
    /// Where it is, seen from the folder of the crate: `manual/keys.md`.
    path: PathBuf,
    text: String,
}

struct Block<'a> {
    /// What follows ```` ``` ````.
    mark: &'a str,
    /// What follows the mark: the path of a file.
    rest: &'a str,
    lines: Vec<&'a str>,
}

impl Page {
    fn read(path: &Path) -> Page {
        let text = fs::read_to_string(root().join(path)).unwrap();
        Page {
            path: path.to_owned(),
            text,
        }
    }

    fn name(&self) -> &str {
        self.path.to_str().unwrap()
    }

    /// The blocks, and the text without them.
    fn parts(&self) -> (Vec<Block<'_>>, String) {
        let mut blocks = Vec::new();
        let mut prose = String::new();
        let mut lines = self.text.lines();
        while let Some(line) = lines.next() {
            let Some(info) = line.strip_prefix("```") else {
                prose.push_str(line);
                prose.push('\n');
                continue;
            };
            let mut body = Vec::new();
            loop {
                match lines.next() {
                    Some("```") => break,
                    Some(line) => body.push(line),
                    None => panic!("{}: a block has no end: {info}", self.name()),
                }
            }
            let (mark, rest) = info.split_once(' ').unwrap_or((info, ""));
            blocks.push(Block {
                mark,
                rest,
                lines: body,
            });
        }
        (blocks, prose)
    }

    fn blocks(&self, mark: &str) -> Vec<Block<'_>> {
        let mut blocks = self.parts().0;
        blocks.retain(|block| block.mark == mark);
        blocks
    }

    /// The names by which a link reaches a heading.
    fn anchors(&self) -> BTreeSet<String> {
        let mut anchors = BTreeSet::new();
        for line in self.parts().1.lines() {
            let heading = line.trim_start_matches('#');
            if heading.len() < line.len() && heading.starts_with(' ') {
                let name = anchor(heading.trim());
                let again = (1..).map(|n| format!("{name}-{n}"));
                let mut names = std::iter::once(name.clone()).chain(again);
                anchors.insert(names.find(|name| !anchors.contains(name)).unwrap());
            }
        }
        anchors
    }

    /// The targets of the links, without those that lead out of the repository.
    fn links(&self) -> Vec<String> {
        let prose = self.parts().1;
        // What stands between backticks is no link.
        let words: String = prose.split('`').step_by(2).collect();
        let mut links: Vec<String> = words
            .split("](")
            .skip(1)
            .map(|rest| rest.split_once(')').expect("a link ends").0.to_owned())
            .collect();
        links.retain(|link| !link.contains("://"));
        links
    }
}

/// As GitHub and mdbook make it.
fn anchor(heading: &str) -> String {
    let mut name = String::new();
    for c in heading.to_lowercase().chars() {
        match c {
            ' ' => name.push('-'),
            '-' | '_' => name.push(c),
            _ if c.is_alphanumeric() => name.push(c),
            _ => {}
        }
    }
    name
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn readme() -> Page {
    Page::read(Path::new("README.md"))
}

/// Every chapter that is there, by name.
fn chapters() -> Vec<Page> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(root().join("manual")).unwrap() {
        let path = Path::new("manual").join(entry.unwrap().file_name());
        if path.extension().is_some_and(|e| e == "md") && path != Path::new(SUMMARY) {
            paths.push(path);
        }
    }
    paths.sort();
    paths.iter().map(|path| Page::read(path)).collect()
}

/// README.md and every chapter.
fn pages() -> Vec<Page> {
    let mut pages = vec![readme()];
    pages.extend(chapters());
    pages
}

/// Runs a line in a shell that finds the program; both streams as one.
fn shell(line: &str, folder: &Path) -> Output {
    let program = cargo_bin("couplet");
    let beside = program.parent().unwrap().to_str().unwrap();
    let path = format!("{beside}:{}", std::env::var("PATH").unwrap());
    let mut shell = Command::new("sh");
    shell.arg("-c").arg(format!("exec 2>&1; {line}"));
    shell
        .current_dir(folder)
        .env("PATH", path)
        .output()
        .unwrap()
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &to),
            false => drop(fs::copy(entry.path(), to).unwrap()),
        }
    }
}

/// True if `shown` is `printed` but for the lines left out.
fn agrees(shown: &[&str], printed: &[&str]) -> bool {
    match shown.split_first() {
        None => printed.is_empty(),
        Some((&"…", rest)) => (0..=printed.len()).any(|skip| agrees(rest, &printed[skip..])),
        Some((line, rest)) => printed.first() == Some(line) && agrees(rest, &printed[1..]),
    }
}

#[cfg(unix)]
#[test]
fn each_page_prints_what_it_shows() {
    let mut runs = 0;
    for page in pages() {
        let folder = tempfile::tempdir().unwrap();
        if page.path == Path::new("README.md") {
            // The reader of README stands in the folder of the sources.
            for name in ["catalog", "examples"] {
                copy(&root().join(name), &folder.path().join(name));
            }
        }
        for block in page.parts().0 {
            if block.rest.starts_with(PURCHASES) {
                let path = folder.path().join(block.rest);
                fs::write(path, block.lines.join("\n") + "\n").unwrap();
            }
            if block.mark != "console" {
                continue;
            }
            let mut lines = block.lines.into_iter().peekable();
            while let Some(line) = lines.next() {
                let command = line.strip_prefix("$ ").expect("a command comes first");
                let mut shown = Vec::new();
                while let Some(line) = lines.next_if(|l| !l.starts_with("$ ")) {
                    shown.push(line);
                }
                let output = shell(command, folder.path());
                let text = String::from_utf8(output.stdout).unwrap();
                let printed: Vec<&str> = text.lines().collect();
                let name = page.name();
                assert!(agrees(&shown, &printed), "{name}: {command}\n{text}");
                runs += 1;
            }
        }
    }
    assert!(runs >= 30, "{runs}");
}

#[test]
fn lines_left_out_are_the_only_difference() {
    assert!(agrees(&["a", "…"], &["a", "b", "c"]));
    assert!(agrees(&["…", "c"], &["a", "b", "c"]));
    assert!(agrees(&["a", "…", "b"], &["a", "b"]));
    assert!(!agrees(&["a"], &["a", "b"]));
    assert!(!agrees(&["a", "…", "d"], &["a", "b", "c"]));
}

/// `--help` comes after the rest: what is wrong before it is told, and nothing is done.
#[cfg(unix)]
#[test]
fn command_lines_are_right() {
    let folder = tempfile::tempdir().unwrap();
    let mut found = BTreeSet::new();
    for page in pages() {
        let (blocks, prose) = page.parts();
        for line in blocks
            .iter()
            .filter(|block| block.mark == "sh")
            .flat_map(|block| &block.lines)
        {
            let command = line.split(" && ").last().unwrap();
            if let Some(rest) = command.strip_prefix("cargo run --release -- ") {
                found.insert(format!("couplet {rest}"));
            } else if command.starts_with("couplet ") {
                found.insert(command.to_owned());
            }
        }
        for word in prose.split('`').skip(1).step_by(2) {
            let is_one = word.starts_with("couplet ") && !word.contains(['\n', '/']);
            if is_one && !word.contains("COMMAND") {
                found.insert(word.replace("SHELL", "bash"));
            }
        }
    }
    assert!(found.len() >= 20, "{found:?}");
    for command in found {
        let output = shell(&format!("{command} --help"), folder.path());
        assert!(output.status.success(), "{command}");
    }
    assert!(
        !shell("couplet plan boat --grap 1 --help", folder.path())
            .status
            .success()
    );
}

#[test]
fn every_command_is_in_the_readme() {
    let output = Command::new(cargo_bin("couplet"))
        .arg("--help")
        .output()
        .unwrap();
    let help = String::from_utf8(output.stdout).unwrap();
    let (commands, _) = help.split_once("\nOptions:").unwrap();
    let text = readme().text;
    let mut found = 0;
    for line in commands.lines() {
        let Some(word) = line.strip_prefix("  ").and_then(|l| l.split(' ').next()) else {
            continue;
        };
        assert!(
            text.contains(&format!("\n| `couplet {word} "))
                || text.contains(&format!("\n| `couplet {word}`")),
            "{word}"
        );
        found += 1;
    }
    assert!(found >= 20, "{found}");
}

#[test]
fn the_files_shown_are_a_project_that_plans() {
    let folder = tempfile::tempdir().unwrap();
    let mut names = Vec::new();
    for page in pages() {
        for mark in ["csv", "toml"] {
            // A block without a name is a part of a file.
            let is_of_it = |b: &Block| !b.rest.is_empty() && !b.rest.starts_with(PURCHASES);
            for block in page.blocks(mark).into_iter().filter(is_of_it) {
                let path = folder.path().join(block.rest);
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(path, block.lines.join("\n") + "\n").unwrap();
                names.push(block.rest.to_owned());
            }
        }
    }
    assert_eq!(names.len(), 12, "{names:?}");
    for command in ["check", "plan"] {
        let mut couplet = Command::new(cargo_bin("couplet"));
        let output = couplet.arg(command).arg(folder.path()).output().unwrap();
        let said = said(&output.stderr);
        assert!(
            output.status.success() && said.is_empty(),
            "{command}: {said}"
        );
    }
}

#[test]
fn every_column_and_key_is_explained() {
    let prose: String = pages().iter().map(|page| page.parts().1).collect();
    let is_explained = |word: &str| prose.contains(&format!("`{word}`"));
    let folder = root().join("src/cli/new");
    let mut words = 0;
    for table in [
        "circuits",
        "on_hand",
        "catalog/bodies",
        "catalog/ferrules",
        "catalog/seals",
        "catalog/backshells",
        "catalog/prices",
        "catalog/suppliers",
        "catalog/dies",
    ] {
        let text = fs::read_to_string(folder.join(format!("{table}.csv"))).unwrap();
        let header = text.lines().find(|l| !l.starts_with('#')).unwrap();
        for column in header.split(',') {
            assert!(is_explained(column), "{table}.csv, column {column}");
            words += 1;
        }
    }
    let settings = fs::read_to_string(folder.join("project.toml")).unwrap();
    for line in settings.lines() {
        let line = line.strip_prefix("# ").unwrap_or(line);
        if let Some((key, _)) = line.split_once(" = ")
            && key.bytes().all(|b| b.is_ascii_lowercase() || b == b'_')
        {
            assert!(is_explained(key), "project.toml, key {key}");
            words += 1;
        }
    }
    assert!(words > 70, "{words}");
}

#[test]
fn the_two_commands_stand_alone() {
    let readme = readme();
    for command in [
        "./setup.sh && cargo run --release -- plan examples/orchard-tractor",
        "./setup.sh tests && cargo test --release",
    ] {
        let blocks = readme.blocks("sh");
        let alone = blocks.iter().filter(|block| block.lines == [command]);
        assert_eq!(alone.count(), 1, "{command}");
    }
}

#[test]
fn the_readme_is_short() {
    let lines = readme().text.lines().count();
    assert!(lines <= 250, "{lines} lines");
}

#[test]
fn every_chapter_is_in_the_summary_once() {
    let summary = Page::read(Path::new(SUMMARY));
    let listed = summary.links();
    let once: BTreeSet<&String> = listed.iter().collect();
    assert_eq!(once.len(), listed.len(), "a chapter is listed twice");
    let there = chapters();
    assert!(there.len() >= 10, "{}", there.len());
    for chapter in there {
        let name = chapter.path.file_name().unwrap().to_str().unwrap();
        assert!(listed.iter().any(|l| l == name), "{name} is not listed");
    }
}

#[test]
fn every_link_leads_somewhere() {
    let mut pages = pages();
    pages.push(Page::read(Path::new(SUMMARY)));
    let mut links = 0;
    let mut nowhere = Vec::new();
    for page in &pages {
        let beside = root().join(page.path.parent().unwrap());
        for link in page.links() {
            let (file, heading) = match link.split_once('#') {
                Some((file, heading)) => (file, Some(heading)),
                None => (link.as_str(), None),
            };
            let path = match file {
                "" => root().join(&page.path),
                _ => beside.join(file),
            };
            let leads = path.exists()
                && heading.is_none_or(|heading| Page::read(&path).anchors().contains(heading));
            if !leads {
                nowhere.push(format!("{}: {link}", page.name()));
            }
            links += 1;
        }
    }
    assert!(nowhere.is_empty(), "{nowhere:#?}");
    assert!(links >= 40, "{links}");
}

#[test]
fn links_and_headings_are_those_of_the_prose() {
    let page = Page {
        path: PathBuf::from("manual/page.md"),
        text: "# A\n[b](c.md#d) `[no](no)` [e\nf](#g) [h](https://i)\n```\n# No\n[no](no)\n```\n## A\n".into(),
    };
    assert_eq!(page.links(), ["c.md#d", "#g"]);
    let anchors = page.anchors();
    assert_eq!(anchors.iter().collect::<Vec<_>>(), ["a", "a-1"]);
}

#[test]
fn an_anchor_is_made_of_what_a_heading_says() {
    assert_eq!(anchor("catalog/bodies.csv"), "catalogbodiescsv");
    assert_eq!(
        anchor("What \"within 0.5 %\" means"),
        "what-within-05--means"
    );
    assert_eq!(anchor("on_hand.csv"), "on_handcsv");
}
