//! Disks that are full, folders that can't be written or are gone, a record that
//! another run is writing: each is told with its file and its cure, and what was
//! there stays.

#![cfg(unix)]

#[path = "../benches/generate/mod.rs"]
mod generate;

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
    let said = said(&output)
        .replace("\n  ", " ")
        .replace("\n        ", " ");
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

/// A folder with a project `boat` that is planned, and another price list.
fn boat(folder: &Path) {
    done(folder, &["new", "boat"]);
    done(folder, &["plan", "boat"]);
    let prices = fs::read_to_string(folder.join("boat/catalog/prices.csv")).unwrap();
    fs::write(folder.join("new.csv"), prices.replace("20.58", "20.68")).unwrap();
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
    (&["order", "boat", "--place"], "boat/ordered.csv"),
    (
        &["order", "boat", "--out-dir", "boat/orders"],
        "boat/orders",
    ),
    (&["order", "boat", "--xlsx", "boat/o.xlsx"], "boat/o.xlsx"),
    (&["report", "boat", "--out", "boat/r.html"], "boat/r.html"),
    (&["kit", "boat", "--out", "boat/k.txt"], "boat/k.txt"),
    (&["cards", "boat", "--out", "boat/c.html"], "boat/c.html"),
    (&["labels", "boat", "--out", "boat/l.csv"], "boat/l.csv"),
    (&["consolidate", "boat", "--to", "99"], "boat/plan.json"),
    (
        &["consolidate", "boat", "--svg", "boat/f.svg"],
        "boat/f.svg",
    ),
    (&["budget", "boat", "--svg", "boat/b.svg"], "boat/b.svg"),
    (&["breakeven", "boat", "--svg", "boat/e.svg"], "boat/e.svg"),
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
            eprintln!("no disk can be mounted here, so this was not tried");
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
        // Root may write anywhere; the disk above that can only be read is its test.
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

/// What runs ask of the system: a file is renamed into its place only after the
/// disk has it, the folder is put on the disk after that, and no file is opened
/// for writing under its own name.
#[cfg(target_os = "linux")]
#[test]
fn the_disk_has_a_file_before_it_takes_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    boat(folder);
    let calls = "trace=openat,fsync,fdatasync,rename,renameat,renameat2";
    let log = tempfile::NamedTempFile::new().unwrap();
    let program = assert_cmd::cargo::cargo_bin("couplet");
    let receive: &[&str] = &["receive", "boat", "--part", "C10", "--qty", "1"];
    let others = [
        (receive, "boat/ordered.csv"),
        (&["convert", "boat/all.xlsx", "boat/back"], "boat/back"),
    ];
    for (args, file) in WRITERS.iter().chain(&others) {
        let strace = Command::new("strace")
            .args(["-f", "-qq", "-y", "-e", calls, "-o"])
            .arg(log.path())
            .arg(&program)
            .args(*args)
            .current_dir(folder)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        let Ok(status) = strace else {
            eprintln!("strace is not there, so no run was watched: ./setup.sh tests");
            assert_ne!(std::env::var("CI").as_deref(), Ok("true"));
            return;
        };
        assert!(status.success(), "{args:?}: {status}");
        let text = fs::read_to_string(log.path()).unwrap();
        let mut kept: Option<bool> = None;
        let mut renamed = 0;
        for call in text.lines() {
            let is_own = call.contains("/boat/") || call.contains("\"boat/");
            if call.contains("fsync(") {
                kept = Some(call.contains(".couplet-"));
            } else if call.contains("rename") {
                assert_eq!(kept, Some(true), "{args:?}: {call}");
                renamed += 1;
            } else if is_own && (call.contains("O_WRONLY") || call.contains("O_RDWR")) {
                let is_beside = call.contains(".couplet-") || call.contains(".lock");
                let is_probe = call.contains("O_TMPFILE");
                assert!(is_beside || is_probe, "{args:?}: {call}");
            }
        }
        assert!(renamed > 0, "{args:?} writes {file}: {text}");
        assert_eq!(kept, Some(false), "{args:?}: the folder comes last");
    }
}
