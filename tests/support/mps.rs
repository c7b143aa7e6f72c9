//! Reads a program in free MPS, as far as the programs of the tests need it.

use couplet::solve::{Program, Row, VarId};
use std::collections::BTreeMap;

/// The program of a text in MPS.
pub fn read(text: &str) -> Program {
    let mut program = Program::default();
    let mut rows: BTreeMap<String, usize> = BTreeMap::new();
    let mut vars: BTreeMap<String, VarId> = BTreeMap::new();
    let mut senses = Vec::new();
    let (mut section, mut whole) = (String::new(), false);
    let number = |word: &str| word.parse::<f64>().expect("a number");
    for line in text.lines().filter(|line| !line.starts_with('*')) {
        let words: Vec<&str> = line.split_whitespace().collect();
        if !line.starts_with(' ') {
            section = words.first().copied().unwrap_or_default().to_owned();
            continue;
        }
        match section.as_str() {
            "ROWS" if words[0] != "N" => {
                rows.insert(words[1].to_owned(), program.rows.len());
                senses.push(words[0].to_owned());
                program.rows.push(Row {
                    terms: Vec::new(),
                    lo: if words[0] == "L" {
                        f64::NEG_INFINITY
                    } else {
                        0.0
                    },
                    up: if words[0] == "G" { f64::INFINITY } else { 0.0 },
                });
            }
            "COLUMNS" if words[1] == "'MARKER'" => whole = words[2] == "'INTORG'",
            "COLUMNS" => {
                let var = *vars
                    .entry(words[0].to_owned())
                    .or_insert_with(|| match whole {
                        true => program.integer(0.0, 1.0, 0.0),
                        false => program.continuous(0.0, f64::INFINITY, 0.0),
                    });
                for pair in words[1..].chunks(2) {
                    match rows.get(pair[0]) {
                        Some(&row) => program.rows[row].terms.push((var, number(pair[1]))),
                        None => program.vars[var.0].cost += number(pair[1]),
                    }
                }
            }
            "RHS" => {
                for pair in words[1..].chunks(2) {
                    let row = &mut program.rows[rows[pair[0]]];
                    if row.lo.is_finite() {
                        row.lo = number(pair[1]);
                    }
                    if row.up.is_finite() {
                        row.up = number(pair[1]);
                    }
                }
            }
            "RANGES" => {
                let place = rows[words[1]];
                assert_eq!(senses[place], "G", "other ranges are not read");
                program.rows[place].up = program.rows[place].lo + number(words[2]);
            }
            "BOUNDS" => {
                let var = &mut program.vars[vars[words[2]].0];
                match words[0] {
                    "UP" | "UI" => var.up = number(words[3]),
                    "LO" | "LI" => var.lo = number(words[3]),
                    "FX" => (var.lo, var.up) = (number(words[3]), number(words[3])),
                    "BV" => (var.lo, var.up) = (0.0, 1.0),
                    other => panic!("a bound {other}"),
                }
            }
            _ => {}
        }
    }
    program
}
