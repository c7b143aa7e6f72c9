//! The corpora of the fuzz targets, as they are and spoilt in simple ways: no
//! reader panics or hangs, and whatever is refused is refused with words.
//!
//! `COUPLET_FUZZ_SECONDS=600 cargo test --release --test corpora` goes on for so
//! long with each target, without any fuzzer; `COUPLET_FUZZ_TARGET` names one.

#[path = "../fuzz/src/readers.rs"]
mod readers;

use fastrand::Rng;
use readers::{TARGETS, corpus};
use std::path::Path;
use std::time::{Duration, Instant};

/// Larger inputs are for the fuzzer.
const MOST: usize = 100_000;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Runs a target; tells the input where it panics.
fn run(target: readers::Target, of: &str, data: &[u8]) {
    let done = std::panic::catch_unwind(|| target(data));
    if done.is_err() {
        let kept = Path::new(env!("CARGO_TARGET_TMPDIR")).join("corpora-panic");
        std::fs::write(&kept, data).expect("kept");
        panic!("{of}: see {}", kept.display());
    }
}

#[test]
fn every_seed_is_read() {
    for (name, target) in TARGETS {
        let seeds = corpus(root(), name);
        assert!(seeds.len() >= 4, "{name}");
        for (path, data) in seeds {
            run(*target, &path.display().to_string(), &data);
        }
    }
}

#[test]
fn every_corpus_has_its_target() {
    let folder = root().join("fuzz/corpus");
    for entry in std::fs::read_dir(folder).expect("the corpora") {
        let entry = entry.expect("an entry");
        let name = entry.file_name().into_string().expect("a name");
        let is_known = TARGETS.iter().any(|(target, _)| *target == name);
        assert!(is_known || name.starts_with("sound."), "{name}");
    }
    for (name, _) in TARGETS {
        let file = root().join(format!("fuzz/fuzz_targets/{name}.rs"));
        let text = std::fs::read_to_string(file).expect("a target");
        assert!(text.contains(&format!("readers::{name}(data)")), "{name}");
    }
}

/// A part of one input in the place of a part of another, bytes turned, taken
/// out, doubled, words that readers look at put in.
fn spoilt(seeds: &[Vec<u8>], rng: &mut Rng) -> Vec<u8> {
    let mut data = seeds[rng.usize(..seeds.len())].clone();
    for _ in 0..rng.usize(1..6) {
        let at = rng.usize(..=data.len());
        let end = (at + rng.usize(..40)).min(data.len());
        match rng.u32(..7) {
            0 if at < data.len() => data[at] ^= 1 << rng.u32(..8),
            1 => drop(data.drain(at..end)),
            2 => {
                let copy = data[at..end].to_vec();
                for _ in 0..rng.usize(1..20) {
                    data.splice(at..at, copy.iter().copied());
                }
            }
            3 => {
                let word = WORDS[rng.usize(..WORDS.len())].as_bytes();
                data.splice(at..end, word.iter().copied());
            }
            4 => {
                let other = &seeds[rng.usize(..seeds.len())];
                let from = rng.usize(..=other.len());
                let to = (from + rng.usize(..400)).min(other.len());
                data.splice(at..end, other[from..to].iter().copied());
            }
            5 => data.truncate(at),
            _ => drop(data.splice(at..at, [rng.u8(..)])),
        }
    }
    data.truncate(MOST);
    data
}

const WORDS: &[&str] = &[
    "",
    "0",
    "-1",
    "1e400",
    "NaN",
    "99999999999999999999",
    "0.0000000001",
    "1,5",
    "1.5",
    ",",
    ";",
    "\t",
    "\"",
    "\"\"",
    "\n",
    "\r\n",
    "\r",
    "#",
    "'",
    "'=",
    "\u{feff}",
    "\0",
    "\u{202e}",
    "mm2",
    "AWG",
    "4/0 AWG",
    "IP67/IP6K9K",
    "9999-12-31",
    "-0001-01-01",
    "none",
    "yes",
    "EUR",
    "[",
    "]",
    "[[",
    "{",
    "}",
    "=",
    "null",
    "18446744073709551615",
    "\\u0000",
    "&#0;",
    "&lt;",
    "<",
    "/>",
    "<![CDATA[",
    "table:number-rows-repeated=\"99999999\"",
    "r=\"XFD1048576\"",
    "t=\"s\"",
];

fn seconds() -> Option<Duration> {
    let said = std::env::var("COUPLET_FUZZ_SECONDS").ok()?;
    Some(Duration::from_secs(said.parse().expect("whole seconds")))
}

#[test]
fn spoilt_seeds_are_read() {
    let only = std::env::var("COUPLET_FUZZ_TARGET").ok();
    let long = seconds();
    for (name, target) in TARGETS {
        if only.as_ref().is_some_and(|only| only != name) {
            continue;
        }
        let seeds: Vec<Vec<u8>> = corpus(root(), name).into_iter().map(|(_, d)| d).collect();
        // Another seed for each long run, the same for each short one.
        let mut rng = match long {
            Some(_) => Rng::new(),
            None => Rng::with_seed(11),
        };
        let (begun, mut runs, mut slowest) = (Instant::now(), 0u64, Duration::ZERO);
        while long.map_or(runs < 120, |long| begun.elapsed() < long) {
            let data = spoilt(&seeds, &mut rng);
            let start = Instant::now();
            run(*target, name, &data);
            slowest = slowest.max(start.elapsed());
            runs += 1;
        }
        eprintln!(
            "{name}: {runs} runs, the slowest {} ms",
            slowest.as_millis()
        );
    }
}

/// As large as inputs may be for the fuzzer, made of what each table repeats.
#[test]
fn inputs_of_a_hundred_kilobytes_are_read() {
    for (name, target) in TARGETS {
        for (path, data) in corpus(root(), name) {
            let half = data.len() / 2;
            for line in [half, data.len().saturating_sub(2)] {
                let start = data[..line]
                    .iter()
                    .rposition(|b| *b == b'\n')
                    .map_or(0, |p| p + 1);
                let end = data[line..]
                    .iter()
                    .position(|b| *b == b'\n')
                    .map_or(data.len(), |p| line + p + 1);
                let unit = data[start..end].to_vec();
                if unit.is_empty() || unit.len() > 2_000 {
                    continue;
                }
                let mut large = data[..start].to_vec();
                while large.len() + unit.len() + (data.len() - end) < MOST {
                    large.extend(&unit);
                }
                large.extend(&data[end..]);
                run(*target, &path.display().to_string(), &large);
            }
        }
    }
}
