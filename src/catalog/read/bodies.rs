//! `bodies.csv`: plugs and receptacles.

use super::exit::exits;
use super::part_table::{PartRow, PartTable};
use crate::catalog::{BUILT_IN, Body, CRIMP, Fitting, Half, Kind, Spec};
use crate::diag::{Diagnostic, quote};
use crate::table::{Col, Row, limits};
use crate::units::{Ampere, Celsius, Mm, Mm2, Volt};

const PART: Col = Col::required(0, "part");
const DESCRIPTION: Col = Col::optional(1, "description");
const HALF: Col = Col::required(2, "half");
const INTERFACE: Col = Col::required(3, "interface");
const KEY: Col = Col::optional(4, "key");
const POLES: Col = Col::optional(5, "poles");
const RATED_A: Col = Col::required(6, "rated_a");
const RATED_V: Col = Col::required(7, "rated_v");
const RATED_C: Col = Col::optional(8, "rated_c");
const MAX_C: Col = Col::optional(9, "max_c");
const ATTACH: Col = Col::required(10, "attach");
const EXIT: Col = Col::optional(11, "exit");
const BARREL: Col = Col::optional(12, "barrel");
const REAR: Col = Col::optional(13, "rear");
const IP: Col = Col::optional(14, "ip");
const COLOUR: Col = Col::optional(15, "colour");
const INCLUDES: Col = Col::optional(16, "includes");
const MIN_MM2: Col = Col::optional(17, "min_mm2");
const MAX_MM2: Col = Col::optional(18, "max_mm2");
const MIN_OD: Col = Col::optional(19, "min_od_mm");
const MAX_OD: Col = Col::optional(20, "max_od_mm");
const NOTE: Col = Col::optional(21, "note");

const COLUMNS: &[Col] = &[
    PART,
    DESCRIPTION,
    HALF,
    INTERFACE,
    KEY,
    POLES,
    RATED_A,
    RATED_V,
    RATED_C,
    MAX_C,
    ATTACH,
    EXIT,
    BARREL,
    REAR,
    IP,
    COLOUR,
    INCLUDES,
    MIN_MM2,
    MAX_MM2,
    MIN_OD,
    MAX_OD,
    NOTE,
];

/// The table of this file.
pub const TABLE: PartTable = PartTable {
    name: "bodies",
    kinds: &[Kind::Plug, Kind::Receptacle],
    columns: COLUMNS,
    code: PART,
    note: NOTE,
    read: part,
};

/// What only a crimped body has.
const CABLE_SIDE: [Col; 8] = [
    EXIT, BARREL, REAR, INCLUDES, MIN_MM2, MAX_MM2, MIN_OD, MAX_OD,
];

const HALVES: [(&str, Half); 2] = [("plug", Half::Plug), ("receptacle", Half::Receptacle)];

const FITTINGS: [(&str, Fitting); 3] = [
    ("ferrule", Fitting::Ferrule),
    ("seal", Fitting::Seal),
    ("back-shell", Fitting::BackShell),
];

/// Description and body of a row.
///
/// A crimped body must give its exit; any other body takes no cable of its
/// own, so it gives no exit, barrel, rear, includes or cable limits. What
/// comes in the box needs limits of its own: a ferrule the areas, a seal the
/// diameters; a back shell has a largest diameter only if one is given.
fn part(row: &mut Row) -> Option<PartRow> {
    let description = row.owned(DESCRIPTION);
    let (half, interface, key) = (row.word(HALF, &HALVES), row.text(INTERFACE), row.owned(KEY));
    let poles = row.small(POLES, &limits::POLES);
    let rated_a = row.number(RATED_A, &limits::CURRENT).map(Ampere);
    let rated_v = row.number(RATED_V, &limits::VOLTAGE).map(Volt);
    let rated_c = row.number(RATED_C, &limits::TEMPERATURE).map(Celsius);
    let max_c = row.number(MAX_C, &limits::TEMPERATURE).map(Celsius);
    let (attach, exit) = (row.text(ATTACH), row.word(EXIT, exits()));
    let (barrel, rear) = (row.text(BARREL), row.text(REAR));
    let (ip, colour) = (row.protection(IP), row.text(COLOUR));
    let includes = row.words(INCLUDES, &FITTINGS);
    let min_mm2 = row.number(MIN_MM2, &limits::AREA).map(Mm2);
    let max_mm2 = row.number(MAX_MM2, &limits::AREA).map(Mm2);
    let min_od = row.number(MIN_OD, &limits::DIAMETER).map(Mm);
    let max_od = row.number(MAX_OD, &limits::DIAMETER).map(Mm);

    temperatures(row, rated_c, max_c);
    row.in_order((MIN_MM2, min_mm2), (MAX_MM2, max_mm2));
    row.in_order((MIN_OD, min_od), (MAX_OD, max_od));
    match attach {
        Some(CRIMP) => crimped(row, &includes),
        Some(BUILT_IN) => {
            let message = "a receptacle that a device has already is not bought";
            let help = "take out the row; circuits.csv gives its interface and key";
            row.error(ATTACH, message, help);
        }
        Some(attach) => device_side(row, attach, half),
        None => {}
    }
    let body = Body {
        half: half?,
        interface: interface?.to_owned(),
        key,
        poles: poles.unwrap_or(1),
        rated_a: rated_a?,
        rated_v: rated_v?,
        rated_c,
        max_c,
        attach: attach?.to_owned(),
        exit,
        barrel: barrel.map(str::to_owned),
        rear: rear.map(str::to_owned),
        ip,
        colour: colour.map(str::to_owned),
        includes,
        min_mm2,
        max_mm2,
        min_od,
        max_od,
        ratings: Vec::new(),
    };
    Some(PartRow {
        description,
        spec: Spec::Body(Box::new(body)),
    })
}

fn temperatures(row: &mut Row, rated_c: Option<Celsius>, max_c: Option<Celsius>) {
    if let (Some(rated), Some(max)) = (rated_c, max_c) {
        if max <= rated {
            let message = format!("max_c {} is not above rated_c {}", max.0, rated.0);
            row.error(MAX_C, message, "give the body's own limit, above rated_c");
        }
        return;
    }
    let (rated, max) = (row.peek(RATED_C), row.peek(MAX_C));
    let (given, absent) = match (rated.is_empty(), max.is_empty()) {
        (false, true) => (RATED_C, MAX_C),
        (true, false) => (MAX_C, RATED_C),
        _ => return,
    };
    let message = format!("{} is given without {}", given.name, absent.name);
    row.error(absent, message, "give both or neither");
}

fn crimped(row: &mut Row, includes: &[Fitting]) {
    if row.peek(EXIT).is_empty() {
        row.error(
            EXIT,
            "a crimped body needs an exit",
            "write straight or right-angle",
        );
    }
    let boxed = [
        (Fitting::Ferrule, [MIN_MM2, MAX_MM2]),
        (Fitting::Seal, [MIN_OD, MAX_OD]),
    ];
    for (fitting, columns) in boxed {
        for col in columns {
            if includes.contains(&fitting) && row.peek(col).is_empty() {
                let message = format!("a body that includes its {fitting} needs {}", col.name);
                row.error(
                    col,
                    message,
                    format!("say what the {fitting} in the box is for"),
                );
            }
        }
    }
}

fn device_side(row: &mut Row, attach: &str, half: Option<Half>) {
    let half_word = half.map_or("body", Half::word);
    for col in CABLE_SIDE {
        if !row.peek(col).is_empty() {
            let message = format!(
                "a {half_word} that attaches to {} takes no cable of its own",
                quote(attach)
            );
            let help = format!("leave {} empty, or write crimp as attach", col.name);
            row.error(col, message, help);
        }
    }
    if half == Some(Half::Plug) {
        let place = row.place();
        let message = format!(
            "no circuit can use a plug that attaches to {}",
            quote(attach)
        );
        row.push(
            Diagnostic::warning(&place.file, message)
                .line(place.line)
                .column(ATTACH.name)
                .help("write crimp: the plug is the half on the cable"),
        );
    }
}
