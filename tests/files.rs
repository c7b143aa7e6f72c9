//! Disks that are full, folders that can't be written or are gone, a record that
//! another run is writing: each is told with its file and its cure, and what was
//! there stays.

#![cfg(unix)]

#[path = "../benches/generate/mod.rs"]
mod generate;
#[path = "common/needs.rs"]
mod needs;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

fn couplet(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin("couplet"));
    command.current_dir(folder).args(args).stdin(Stdio::null());
    command
}

fn run(folder: &Path, args: &[&str]) -> Output {
    couplet(folder, args).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

fn done(folder: &Path, args: &[&str]) {
    let output = run(folder, args);
    assert!(output.status.success(), "{args:?}: {}", said(&output));
}

/// A run that can't write its file: status 2, with these words on standard error.
fn refused(folder: &Path, args: &[&str], words: &[&str]) {
    let output = run(folder, args);
    // Long messages are wrapped.
    let said = said(&output);
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(2), "{args:?}: {said}");
    for word in words {
        assert!(said.contains(word), "{args:?}: no {word:?} in {said}");
    }
}

/// All files under a folder with what is in them.
fn content(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            all.extend(content(&path));
        } else {
            let bytes = fs::read(&path).unwrap();
            all.push((path, bytes));
        }
    }
    all.sort();
    all
}

/// A folder with a project `boat` that is planned, another price list, and a supplier's
/// list with its recipe.
fn boat(folder: &Path) {
    done(folder, &["new", "boat"]);
    done(folder, &["plan", "boat"]);
    let prices = fs::read_to_string(folder.join("boat/catalog/prices.csv")).unwrap();
    fs::write(folder.join("new.csv"), prices.replace("20.58", "20.68")).unwrap();
    let list = "Item no.,Unit price\nN-1026,9.50\n";
    fs::write(folder.join("list.csv"), list).unwrap();
    fs::write(folder.join("note.csv"), "Item no.,Qty\nN-1026,1\n").unwrap();
    // The first run writes the recipe alone.
    done(folder, &["take", "boat", "Example North", "list.csv"]);
}

/// Every command that writes, in a folder where `boat` is planned; a word that
/// names the file that it writes there.
const WRITERS: &[(&[&str], &str)] = &[
    (&["plan", "boat", "--again"], "boat/plan.json"),
    (&["plan", "boat", "--out", "boat/x.json"], "boat/x.json"),
    (
        &["reprice", "boat", "--prices", "new.csv"],
        "boat/plan.json",
    ),
    (
        &["take", "boat", "Example North", "list.csv"],
        "boat/catalog/",
    ),
    (
        &[
            "take",
            "boat",
            "Example North",
            "list.csv",
            "--out",
            "boat/p.csv",
        ],
        "boat/p.csv",
    ),
    (
        &["take", "boat", "Example South", "list.csv"],
        "boat/catalog/lists",
    ),
    (&["order", "boat", "--place"], "boat/ordered.csv"),
    (
        &[
            "receive",
            "boat",
            "--note",
            "note.csv",
            "--supplier",
            "Example North",
        ],
        "boat/",
    ),
    (
        &[
            "order",
            "boat",
            "--confirm",
            "note.csv",
            "--supplier",
            "Example North",
        ],
        "boat/catalog/lists",
    ),
    (
        &["order", "boat", "--out-dir", "boat/orders"],
        "boat/orders",
    ),
    (&["order", "boat", "--xlsx", "boat/o.xlsx"], "boat/o.xlsx"),
    (&["report", "boat", "--out", "boat/r.html"], "boat/r.html"),
    (&["kit", "boat", "--out", "boat/k.txt"], "boat/k.txt"),
    (&["cards", "boat", "--out", "boat/c.html"], "boat/c.html"),
    (&["labels", "boat", "--out", "boat/l.csv"], "boat/l.csv"),
    (
        &["compare", "boat", "boat", "--out", "boat/d.txt"],
        "boat/d.txt",
    ),
    (&["consolidate", "boat", "--to", "99"], "boat/plan.json"),
    (
        &["consolidate", "boat", "--svg", "boat/f.svg"],
        "boat/f.svg",
    ),
    (&["budget", "boat", "--svg", "boat/b.svg"], "boat/b.svg"),
    (&["breakeven", "boat", "--svg", "boat/e.svg"], "boat/e.svg"),
    (
        &[
            "prices",
            "boat",
            "--history",
            "--part",
            "C10",
            "--svg",
            "boat/h.svg",
        ],
        "boat/h.svg",
    ),
    (&["convert", "boat", "boat/all.xlsx"], "boat/all.xlsx"),
    (&["man", "--out-dir", "boat/man"], "boat/man"),
    (&["new", "boat/new"], "boat/new"),
];

/// A disk of so many kB in memory, for root alone.
struct Disk(PathBuf);

impl Disk {
    fn mounted(at: &Path, options: &str) -> Option<Disk> {
        fs::create_dir_all(at).unwrap();
        let mount = |args: &[&str]| {
            let command = Command::new("mount")
                .args(args)
                .stderr(Stdio::null())
                .status();
            command.is_ok_and(|status| status.success())
        };
        let made = mount(&["-t", "tmpfs", "-o", options, "tmpfs", at.to_str()?]);
        if !made {
            needs::not_allowed("no disk can be mounted here", "run it as root");
        }
        made.then(|| Disk(at.to_owned()))
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(&self.0).status();
    }
}

#[test]
fn a_full_disk_leaves_all_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join("disk");
    let Some(disk) = Disk::mounted(&at, "size=1m") else {
        return;
    };
    boat(&disk.0);
    fs::write(disk.0.join("full"), vec![7; 2 << 20]).unwrap_err();
    let before = content(&disk.0);
    for (args, file) in WRITERS {
        refused(
            &disk.0,
            args,
            &[
                file,
                "cannot be written: the disk is full",
                "make room on the disk",
            ],
        );
        // Empty folders may be new; files are as they were.
        let _ = fs::remove_dir_all(disk.0.join("boat/new"));
        assert_eq!(content(&disk.0), before, "{args:?}");
    }
    let output = couplet(&disk.0, &["parts", "boat"])
        .stdout(
            fs::OpenOptions::new()
                .write(true)
                .open("/dev/full")
                .unwrap(),
        )
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output).contains("standard output cannot be written: the disk is full"));
}

/// The price list and its history are written both or neither.
#[test]
fn a_disk_with_room_for_one_of_two_files_gets_neither() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join("disk");
    let Some(disk) = Disk::mounted(&at, "size=1m") else {
        return;
    };
    boat(&disk.0);
    let take = &["take", "boat", "Example North", "list.csv"];
    let full = disk.0.join("full");
    fs::write(&full, vec![7; 2 << 20]).unwrap_err();
    // One page is room for the short history alone.
    let filler = fs::OpenOptions::new().write(true).open(&full).unwrap();
    let mut refusals = Vec::new();
    let taken = loop {
        filler
            .set_len(fs::metadata(&full).unwrap().len() - 4096)
            .unwrap();
        let before = content(&disk.0);
        let output = run(&disk.0, take);
        if output.status.success() {
            break before;
        }
        refusals.push(said(&output));
        assert_eq!(content(&disk.0), before, "{}", said(&output));
    };
    let names = |name: &str| refusals.iter().filter(|said| said.contains(name)).count();
    assert!(names("prices.csv cannot be written") >= 1, "{refusals:?}");
    let after = content(&disk.0);
    let history = disk.0.join("boat/catalog/history.csv");
    assert!(after.iter().any(|(path, _)| *path == history));
    assert_eq!(after.len(), taken.len() + 1);
}

/// A price list that can't be replaced, although a file can be written beside it.
#[cfg(target_os = "linux")]
#[test]
fn a_history_is_put_back_where_the_price_list_stays() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    let prices = folder.join("boat/catalog/prices.csv");
    let mount = |args: &[&str]| {
        let command = Command::new("mount")
            .args(args)
            .stderr(Stdio::null())
            .status();
        command.is_ok_and(|status| status.success())
    };
    let list = prices.to_str().unwrap();
    if !mount(&["--bind", list, list]) {
        needs::not_allowed("no file can be mounted here", "run it as root");
        return;
    }
    let take = &["take", "boat", "Example North", "list.csv"];
    let before = content(folder);
    let output = run(folder, take);
    let after = content(folder);
    assert!(
        Command::new("umount")
            .arg(&prices)
            .status()
            .unwrap()
            .success()
    );
    assert_eq!(output.status.code(), Some(2), "{}", said(&output));
    assert!(
        said(&output).contains("prices.csv cannot be written"),
        "{}",
        said(&output)
    );
    assert_eq!(after, before);
    done(folder, take);
    assert!(folder.join("boat/catalog/history.csv").exists());
}

#[test]
fn a_disk_that_can_only_be_read_is_told_before_the_work() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join("disk");
    let Some(disk) = Disk::mounted(&at, "size=8m") else {
        return;
    };
    boat(&disk.0);
    let before = content(&disk.0);
    let remount = ["-o", "remount,ro", at.to_str().unwrap()];
    assert!(
        Command::new("mount")
            .args(remount)
            .status()
            .unwrap()
            .success()
    );
    for (args, file) in WRITERS {
        let words = [
            file,
            "cannot be written: the disk can only be read",
            "name another file",
        ];
        refused(&disk.0, args, &words);
    }
    assert_eq!(content(&disk.0), before);
    // What writes nothing goes on as ever.
    done(&disk.0, &["plan", "boat"]);
    done(&disk.0, &["order", "boat", "--place", "--dry-run"]);
    let check = run(
        &disk.0,
        &["reprice", "boat", "--prices", "new.csv", "--check"],
    );
    assert_eq!(check.status.code(), Some(6), "{}", said(&check));
}

#[test]
fn a_folder_that_may_not_be_written_is_told() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    let set = |mode| {
        fs::set_permissions(folder.join("boat"), fs::Permissions::from_mode(mode)).unwrap();
    };
    set(0o555);
    let probe = fs::write(folder.join("boat/probe"), "");
    if probe.is_ok() {
        needs::not_allowed(
            "root may write anywhere",
            "see the disk that can only be read",
        );
        fs::remove_file(folder.join("boat/probe")).unwrap();
        set(0o755);
        return;
    }
    let before = content(folder);
    for (args, file) in WRITERS {
        refused(
            folder,
            args,
            &[file, "writing there is not allowed", "allow writing"],
        );
    }
    assert_eq!(content(folder), before);
    set(0o755);
}

#[test]
fn a_folder_in_the_place_of_a_file_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    fs::create_dir(folder.join("taken")).unwrap();
    for args in [
        &["plan", "boat", "--out", "taken"][..],
        &["order", "boat", "--xlsx", "taken"],
        &["report", "boat", "--out", "taken"],
        &["kit", "boat", "--out", "taken"],
        &["cards", "boat", "--out", "taken"],
        &["labels", "boat", "--out", "taken"],
        &["consolidate", "boat", "--to", "9", "--out", "taken"],
        &["consolidate", "boat", "--svg", "taken"],
        &["budget", "boat", "--svg", "taken"],
        &["breakeven", "boat", "--svg", "taken"],
    ] {
        let words = [
            "taken cannot be written: it is a folder",
            "name a file, not a folder",
        ];
        refused(folder, args, &words);
    }
    fs::write(folder.join("file"), "x").unwrap();
    for args in [
        &["plan", "boat", "--out", "file/x.json"][..],
        &["report", "boat", "--out", "file/x.html"],
        &["budget", "boat", "--svg", "file/x.svg"],
    ] {
        refused(folder, args, &["what should be its folder is a file"]);
    }
    for args in [
        &["plan", "boat", "--out", "gone/x.json"][..],
        &["report", "boat", "--out", "gone/x.html"],
        &["budget", "boat", "--svg", "gone/x.svg"],
    ] {
        refused(
            folder,
            args,
            &["its folder does not exist", "make the folder first"],
        );
    }
}

#[test]
fn a_folder_that_vanishes_during_the_search_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    generate::write_project(&folder.join("p"), 1, 25).unwrap();
    fs::create_dir(folder.join("out")).unwrap();
    let args = [
        "plan",
        "p",
        "--out",
        "out/x.json",
        "--time-limit",
        "4",
        "-q",
    ];
    let mut run = couplet(folder, &args);
    let run = run
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // From when it holds the file, it searches.
    while !folder.join("out/.x.json.lock").exists() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    fs::remove_dir_all(folder.join("out")).unwrap();
    let output = run.wait_with_output().unwrap();
    let said = said(&output);
    assert_eq!(output.status.code(), Some(2), "{said}");
    let words = "out/x.json cannot be written: its folder does not exist";
    assert!(
        said.contains(words) && said.contains("make the folder first"),
        "{said}"
    );
}

/// The lock that a run has while it writes.
fn lock(file: &Path) -> fs::File {
    let name = format!(".{}.lock", file.file_name().unwrap().to_str().unwrap());
    let lock = fs::File::create(file.with_file_name(name)).unwrap();
    lock.lock().unwrap();
    lock
}

#[test]
fn a_file_that_another_run_is_writing_is_left_to_it() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    let words = [
        "another run of couplet is writing it",
        "wait until it has ended",
    ];
    let held = lock(&folder.join("boat/plan.json"));
    let before = content(folder);
    for args in [
        &["plan", "boat", "--again"][..],
        &["reprice", "boat", "--prices", "new.csv"],
        &["consolidate", "boat", "--to", "99"],
    ] {
        refused(
            folder,
            args,
            &[&["boat/plan.json cannot be written"], &words[..]].concat(),
        );
    }
    assert_eq!(content(folder), before);
    // Another file in the same folder is free.
    done(folder, &["plan", "boat", "--out", "boat/other.json"]);
    // And so is this one once the other run has ended, in whatever way.
    drop(held);
    done(folder, &["plan", "boat", "--again"]);
    assert!(!folder.join("boat/.plan.json.lock").exists());

    let held = lock(&folder.join("boat/ordered.csv"));
    refused(folder, &["order", "boat", "--place"], &words);
    assert!(!folder.join("boat/ordered.csv").exists());
    done(folder, &["order", "boat", "--place", "--dry-run"]);
    drop(held);
    done(folder, &["order", "boat", "--place", "--on", "2026-01-02"]);
    let _held = lock(&folder.join("boat/ordered.csv"));
    let before = content(folder);
    refused(
        folder,
        &["receive", "boat", "--part", "C10", "--qty", "1"],
        &words,
    );
    assert_eq!(content(folder), before);
}

/// Of two that book at once, one is told to wait, or both are booked: none is lost.
#[test]
fn deliveries_that_are_booked_at_once_are_not_lost() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    done(folder, &["order", "boat", "--place", "--on", "2026-01-02"]);
    let args = ["receive", "boat", "--part", "C10", "--qty", "1"];
    let mut booked = 0;
    for _ in 0..5 {
        let runs: Vec<_> = (0..2)
            .map(|_| {
                couplet(folder, &args)
                    .stderr(Stdio::piped())
                    .stdout(Stdio::null())
                    .spawn()
            })
            .collect();
        for run in runs {
            let output = run.unwrap().wait_with_output().unwrap();
            match output.status.code() {
                Some(0) => booked += 1,
                // Not as it was read, or held by the other.
                Some(1 | 2) => {}
                other => panic!("{other:?}: {}", said(&output)),
            }
        }
    }
    let text = fs::read_to_string(folder.join("boat/ordered.csv")).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    let place = |name| headers.iter().position(|h| h == name).unwrap();
    let (part, received) = (place("part"), place("received"));
    let sum: u64 = reader
        .records()
        .map(Result::unwrap)
        .filter(|row| &row[part] == "C10")
        .map(|row| row[received].parse().unwrap_or(0))
        .sum();
    assert!(booked >= 5, "{booked}");
    assert_eq!(sum, booked);
}

#[cfg(target_os = "linux")]
#[test]
fn devices_and_pipes_are_written_into() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    done(folder, &["report", "boat", "--out", "/dev/null"]);
    done(folder, &["plan", "boat", "--out", "/dev/null"]);
    let about = fs::metadata("/dev/null").unwrap();
    assert!(!about.is_file());
    refused(
        folder,
        &["report", "boat", "--out", "/dev/full"],
        &["the disk is full"],
    );
    let output = run(folder, &["labels", "boat", "--out", "/dev/stdout"]);
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(output.stdout, run(folder, &["labels", "boat"]).stdout);
}

/// Starts it with a standard output that nobody reads any more.
fn unread(folder: &Path, args: &[&str]) -> Output {
    let line = format!(
        "{{ {} {}; echo $? >&3; }} 3>status | true; cat status >&2",
        assert_cmd::cargo::cargo_bin("couplet").display(),
        args.join(" ")
    );
    Command::new("sh")
        .current_dir(folder)
        .args(["-c", &line])
        .output()
        .unwrap()
}

#[test]
fn a_closed_pipe_ends_quietly_and_what_is_to_be_kept_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    for args in [
        &["parts", "boat"][..],
        &["plan", "boat", "-q"],
        &["check", "boat"],
        &["order", "boat", "--format", "json"],
        &["report", "boat", "--out", "-"],
        &["keys", "boat"],
        &["budget", "boat"],
        &["man"],
        &["completions", "bash"],
        &["plan", "--help"],
    ] {
        assert_eq!(said(&unread(folder, args)), "0\n", "{args:?}");
    }
    let before = fs::read(folder.join("boat/plan.json")).unwrap();
    let check = unread(
        folder,
        &["reprice", "boat", "--prices", "new.csv", "--check", "-q"],
    );
    assert_eq!(said(&check), "6\n");
    assert_eq!(fs::read(folder.join("boat/plan.json")).unwrap(), before);
    unread(folder, &["reprice", "boat", "--prices", "new.csv", "-q"]);
    let after = fs::read(folder.join("boat/plan.json")).unwrap();
    assert_ne!(after, before);
    unread(
        folder,
        &[
            "consolidate",
            "boat",
            "--to",
            "99",
            "--prices",
            "boat/catalog/prices.csv",
            "-q",
        ],
    );
    assert_ne!(fs::read(folder.join("boat/plan.json")).unwrap(), after);
}

/// A call of a run to the system.
#[cfg(target_os = "linux")]
struct Call {
    name: String,
    /// What stands in its brackets; open files with their paths.
    args: String,
    result: String,
    /// Lines of the log where it begins and ends.
    lines: (usize, usize),
}

/// The calls of a log. One that another thread's call comes into has two lines.
#[cfg(target_os = "linux")]
fn calls(log: &str) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    let mut open: Vec<(&str, usize)> = Vec::new();
    for (number, line) in log.lines().enumerate() {
        let (thread, text) = line.split_once(' ').unwrap();
        let text = text.trim_start();
        if let Some(rest) = text.strip_prefix("<... ") {
            let place = open.iter().position(|(of, _)| *of == thread);
            let call = &mut calls[open.remove(place.unwrap()).1];
            let (_, rest) = rest.split_once(" resumed>").unwrap();
            let (more, result) = rest.rsplit_once(" = ").unwrap_or((rest, ""));
            call.args.push_str(more.trim_end().trim_end_matches(')'));
            call.result = result.to_owned();
            call.lines.1 = number;
            continue;
        }
        // What is no call: how a thread ended, which signal came.
        let Some((name, rest)) = text.split_once('(') else {
            continue;
        };
        let (args, result) = match rest.strip_suffix("<unfinished ...>") {
            Some(args) => {
                open.push((thread, calls.len()));
                (args, "")
            }
            None => rest.rsplit_once(" = ").unwrap_or((rest, "")),
        };
        calls.push(Call {
            name: name.to_owned(),
            args: args.trim_end().trim_end_matches(')').to_owned(),
            result: result.to_owned(),
            lines: (number, number),
        });
    }
    calls
}

/// The two paths of a call that renames.
#[cfg(target_os = "linux")]
fn paths(rename: &Call, folder: &Path) -> [PathBuf; 2] {
    let names = rename.args.split('"').skip(1).step_by(2);
    let paths: Vec<PathBuf> = names.map(|name| folder.join(name)).collect();
    paths.try_into().unwrap()
}

/// Looks at the calls of a run: of each file that is renamed into its place, all
/// that was written has been put on the disk before, and the name after. How
/// many files those are.
#[cfg(target_os = "linux")]
fn renamed_in_order(calls: &[Call], folder: &Path, what: &str) -> usize {
    let renames = calls.iter().filter(|call| call.name.starts_with("rename"));
    let mut count = 0;
    for rename in renames {
        let [beside, target] = paths(rename, folder);
        assert_eq!(rename.result, "0", "{what}: {}", rename.args);
        assert_eq!(beside.parent(), target.parent(), "{what}");
        let of = |names: &[&str], path: &Path| -> Vec<(usize, usize)> {
            let path = format!("<{}>", path.display());
            let of_file = |call: &&Call| {
                let (file, _) = call.args.split_once(',').unwrap_or((&call.args, ""));
                names.contains(&call.name.as_str()) && file.ends_with(&path)
            };
            calls
                .iter()
                .filter(of_file)
                .map(|call| call.lines)
                .collect()
        };
        let writes = of(&["write", "pwrite64", "writev"], &beside);
        let kept = of(&["fsync"], &beside);
        let (Some((_, written)), [(begins, ends)]) = (writes.last(), &kept[..]) else {
            panic!(
                "{what}: {} is written and put on the disk once",
                beside.display()
            );
        };
        assert!(
            written < begins,
            "{what}: all is written, then put on the disk"
        );
        assert!(
            *ends < rename.lines.0,
            "{what}: on the disk, then in its place"
        );
        let folders = of(&["fsync"], target.parent().unwrap());
        let mut after = folders.iter().filter(|lines| lines.0 > rename.lines.1);
        assert!(after.next().is_some(), "{what}: the folder comes last");
        count += 1;
    }
    count
}

/// What runs ask of the system: a file is written beside its place, put on the
/// disk, renamed, and the folder put on the disk after that. No file is opened
/// for writing under its own name.
#[cfg(target_os = "linux")]
#[test]
fn the_disk_has_a_file_before_it_takes_its_place() {
    if !needs::strace() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let folder = &folder.path().canonicalize().unwrap();
    boat(folder);
    let traced = "trace=openat,write,pwrite64,writev,fsync,fdatasync,\
                  rename,renameat,renameat2,link,linkat,ftruncate";
    let log = tempfile::NamedTempFile::new().unwrap();
    let program = assert_cmd::cargo::cargo_bin("couplet");
    let receive: &[&str] = &["receive", "boat", "--part", "C10", "--qty", "1"];
    let others = [
        (receive, "boat/ordered.csv"),
        (&["convert", "boat/all.xlsx", "boat/back"], "boat/back"),
    ];
    for (args, file) in WRITERS.iter().chain(&others) {
        let status = Command::new("strace")
            .args(["-f", "-qq", "-y", "-s", "0", "-e", traced, "-o"])
            .arg(log.path())
            .arg(&program)
            .args(*args)
            .current_dir(folder)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .unwrap();
        assert!(status.success(), "{args:?}: {status}");
        let text = fs::read_to_string(log.path()).unwrap();
        let calls = calls(&text);
        let what = format!("{args:?}");
        let renamed = renamed_in_order(&calls, folder, &what);
        assert!(renamed > 0, "{what} writes {file}: {text}");
        for call in calls.iter().filter(|call| call.name == "openat") {
            let args = &call.args;
            let is_own = args.contains("/boat/") || args.contains("\"boat/");
            if is_own && (args.contains("O_WRONLY") || args.contains("O_RDWR")) {
                let is_beside = args.contains(".couplet-") || args.contains(".lock");
                let is_probe = args.contains("O_TMPFILE");
                assert!(is_beside || is_probe, "{what}: {args}");
            }
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn runs_that_are_not_watched_are_told() {
    needs::is_told_and_fails_in_ci("the_disk_has_a_file_before_it_takes_its_place");
}

/// The order that is asked for, and each way to miss it.
#[cfg(target_os = "linux")]
#[test]
fn another_order_of_calls_is_noticed() {
    let log = |order: &[usize]| -> String {
        let lines = [
            "7 write(3</d/.couplet-x.tmp>, \"\"..., 9) = 9",
            "7 fsync(3</d/.couplet-x.tmp>) = 0",
            "7 rename(\"/d/.couplet-x.tmp\", \"f\") = 0",
            "7 fsync(3</d>) = 0",
        ];
        order.iter().map(|n| format!("{}\n", lines[*n])).collect()
    };
    let holds = |log: &str| {
        let calls = calls(log);
        std::panic::catch_unwind(|| renamed_in_order(&calls, Path::new("/d"), "")).is_ok()
    };
    assert!(holds(&log(&[0, 1, 2, 3])));
    for order in [
        &[0, 2, 3][..],
        &[0, 2, 1, 3],
        &[1, 0, 2, 3],
        &[0, 1, 2],
        &[0, 1, 3, 2],
        &[1, 2, 3],
    ] {
        assert!(!holds(&log(order)), "{order:?}");
    }
    // A call that is not over yet has not happened.
    let split = log(&[0, 1, 2, 3]).replacen(
        "tmp>) = 0\n",
        "tmp> <unfinished ...>\n8 write(1</d/g>, \"\"..., 1) = 1\n7 <... fsync resumed>) = 0\n",
        1,
    );
    assert!(holds(&split), "{split}");
    let late = split.replace("7 <... fsync resumed>) = 0\n", "") + "7 <... fsync resumed>) = 0\n";
    assert!(!holds(&late), "{late}");
}
