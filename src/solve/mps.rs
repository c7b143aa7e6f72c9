//! A program as text in the free MPS format, which every solver reads: for a
//! report of an answer that was wrong.

use super::program::{Program, Row};
use std::fmt::Write;

/// The program as free MPS; numbers have all their digits.
pub fn mps(program: &Program) -> String {
    let mut text = String::from("NAME couplet\nROWS\n N cost\n");
    // Writing into a string does not fail.
    for (r, row) in program.rows.iter().enumerate() {
        let _ = writeln!(text, " {} r{r}", sense(row));
    }
    columns(program, &mut text);
    sides(program, &mut text);
    text.push_str("BOUNDS\n");
    for (v, var) in program.vars.iter().enumerate() {
        let _ = writeln!(text, " LO b x{v} {:?}\n UP b x{v} {:?}", var.lo, var.up);
    }
    text.push_str("ENDATA\n");
    text
}

fn sense(row: &Row) -> char {
    match (row.lo.is_finite(), row.up.is_finite()) {
        (true, true) if row.lo == row.up => 'E',
        (true, _) => 'G',
        (false, true) => 'L',
        (false, false) => 'N',
    }
}

fn columns(program: &Program, text: &mut String) {
    let mut terms: Vec<Vec<(usize, f64)>> = vec![Vec::new(); program.vars.len()];
    for (r, row) in program.rows.iter().enumerate() {
        for &(var, factor) in &row.terms {
            // A variable may stand in a row more than once.
            match terms[var.0].last_mut() {
                Some((last, sum)) if *last == r => *sum += factor,
                _ => terms[var.0].push((r, factor)),
            }
        }
    }
    text.push_str("COLUMNS\n");
    let mut whole = false;
    for (v, (var, terms)) in program.vars.iter().zip(&terms).enumerate() {
        if var.integer != whole {
            whole = var.integer;
            let kind = if whole { "INTORG" } else { "INTEND" };
            let _ = writeln!(text, " m{v} 'MARKER' '{kind}'");
        }
        let _ = writeln!(text, " x{v} cost {:?}", var.cost);
        for (r, factor) in terms {
            let _ = writeln!(text, " x{v} r{r} {factor:?}");
        }
    }
    if whole {
        text.push_str(" end 'MARKER' 'INTEND'\n");
    }
}

fn sides(program: &Program, text: &mut String) {
    text.push_str("RHS\n");
    for (r, row) in program.rows.iter().enumerate() {
        let side = if row.lo.is_finite() { row.lo } else { row.up };
        if side.is_finite() {
            let _ = writeln!(text, " s r{r} {side:?}");
        }
    }
    text.push_str("RANGES\n");
    for (r, row) in program.rows.iter().enumerate() {
        if row.lo.is_finite() && row.up.is_finite() && row.lo != row.up {
            let _ = writeln!(text, " g r{r} {:?}", row.up - row.lo);
        }
    }
}
