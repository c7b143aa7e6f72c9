//! The keying map: at each location which net has which key, which keys are left,
//! and what comparing every pair of ends came to.

use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::fit::Identity;
use crate::project::Distinct;
use crate::study::keys::{AtLocation, Exception, KeyMap, Proof, Spread, Used, Why};
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use std::collections::BTreeMap;

/// The whole map for reading.
pub fn text(map: &KeyMap, width: usize) -> String {
    if map.locations.is_empty() {
        return "no end takes a connector\n".to_owned();
    }
    let mut text = wrapped(rule(map.distinct), width, "", "  ") + "\n";
    for at in &map.locations {
        text.push('\n');
        text.push_str(&location(at, width));
    }
    if let Some(elsewhere) = &map.elsewhere {
        text.push_str("\nFrom one location to another\n");
        text.push_str(&proof(elsewhere, width));
    }
    text.push_str(&format!(
        "\nKeys of each net\n{}",
        spread(&map.spread).text(width)
    ));
    text
}

fn rule(distinct: Distinct) -> &'static str {
    match distinct {
        Distinct::Off => "keying is off: different nets may share interface and key",
        Distinct::ByLocation => {
            "keying by location: at one location, different nets never share interface and key"
        }
        Distinct::Everywhere => {
            "keying everywhere: different nets never share interface and key in the whole machine"
        }
    }
}

fn location(at: &AtLocation, width: usize) -> String {
    let ignored = if at.is_ignored {
        " (in keying.ignore_at)"
    } else {
        ""
    };
    let mut table = Table::new(&[
        Column::text("net"),
        Column::text("interface"),
        Column::text("key"),
        Column::text("ends"),
    ]);
    for used in &at.used {
        let Identity { interface, key } = &used.identity;
        let row = [&used.net, interface, key, &ends(used)].map(|cell| plain(cell));
        table.row(row.to_vec());
    }
    let left = left(at);
    format!(
        "{}{ignored}\n{}{}\n{}",
        plain(&at.location),
        table.text(width),
        wrapped(&format!("keys left: {left}"), width, "", "  "),
        proof(&at.proof, width)
    )
}

/// What is left at a location for a further net: `M8: A, B; M10: C`.
pub(super) fn left(at: &AtLocation) -> String {
    match &at.left {
        None => "not known: the project as it is now has an end without a set".to_owned(),
        Some(left) if left.is_empty() => "none".to_owned(),
        Some(left) => by_interface(left),
    }
}

/// The pairs of ends of different nets whose plugs can be swapped, in words;
/// `none` where there are none.
pub(super) fn mixed_up(proof: &Proof) -> String {
    let wrong = proof.exceptions.iter().filter(|e| e.why != Why::SameNet);
    let told: Vec<String> = wrong.map(told).collect();
    match told.is_empty() {
        true => "none".to_owned(),
        false => told.join("; "),
    }
}

fn ends(used: &Used) -> String {
    let ends: Vec<String> = used
        .ends
        .iter()
        .map(|(c, end)| format!("{c} {end}"))
        .collect();
    ends.join(", ")
}

/// `M8: A, B; M10: C`.
fn by_interface(left: &[Identity]) -> String {
    let mut keys: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for identity in left {
        let key = match identity.key.as_str() {
            "" => "without keying".to_owned(),
            key => plain(key),
        };
        keys.entry(&identity.interface).or_default().push(key);
    }
    let faces = keys
        .into_iter()
        .map(|(face, keys)| format!("{}: {}", plain(face), keys.join(", ")));
    faces.collect::<Vec<_>>().join("; ")
}

fn proof(proof: &Proof, width: usize) -> String {
    let pairs = counted(proof.pairs as u64, "pair");
    let swapped: usize = proof.exceptions.iter().map(|e| e.pairs).sum();
    let head = match swapped {
        0 => format!("checked {pairs} of ends: no plug goes into the other's receptacle"),
        _ => format!(
            "checked {pairs} of ends: no plug goes into the other's receptacle, except of {}:",
            counted(swapped as u64, "pair")
        ),
    };
    let mut text = wrapped(&head, width, "", "  ") + "\n";
    for exception in &proof.exceptions {
        text.push_str(&wrapped(&told(exception), width, "  ", "    "));
        text.push('\n');
    }
    text
}

fn told(exception: &Exception) -> String {
    let nets: Vec<String> = exception.nets.iter().map(|net| plain(net)).collect();
    format!(
        "{} of {}, {}: {}",
        counted(exception.pairs as u64, "pair"),
        list(&nets),
        name(&exception.identity),
        match exception.why {
            Why::SameNet => "the same net, so nothing is joined that should not be",
            Why::Ignored => "the wrong plug goes in; the location is in keying.ignore_at",
            Why::Off => "the wrong plug goes in; keying is off",
            Why::Broken => "the wrong plug goes in against the rule: plan again",
        }
    )
}

fn name(identity: &Identity) -> String {
    plain(format!("{} {}", identity.interface, identity.key).trim())
}

fn spread(spread: &[Spread]) -> Table {
    let mut table = Table::new(&[
        Column::text("net"),
        Column::text("interface"),
        Column::number("count"),
        Column::text("keys"),
    ]);
    for of in spread {
        table.row(vec![
            plain(&of.net),
            plain(&of.interface),
            of.keys.len().to_string(),
            plain(&of.keys.join(", ")),
        ]);
    }
    table
}

/// One row for each net and key at a location, and for each key that is left
/// there, without a net.
pub fn table(map: &KeyMap) -> Table {
    let mut table = Table::new(&[
        Column::text("location"),
        Column::text("interface"),
        Column::text("key"),
        Column::text("net"),
        Column::text("ends"),
    ]);
    for at in &map.locations {
        let mut row = |identity: &Identity, net: &str, ends: String| {
            let Identity { interface, key } = identity;
            let cells = [at.location.as_str(), interface, key, net, &ends];
            table.row(cells.map(str::to_owned).to_vec());
        };
        for used in &at.used {
            row(&used.identity, &used.net, ends(used));
        }
        for left in at.left.iter().flatten() {
            row(left, "", String::new());
        }
    }
    table
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Shape>()
}

/// The map as JSON: `{ "distinct", "locations": [ { "location", "ignored",
/// "used": [ { "net", "interface", "key", "ends": [ { "circuit", "end" } ] } ],
/// "left": [ { "interface", "key" } ] or null, "pairs", "exceptions": [ { "nets",
/// "interface", "key", "pairs", "why" } ] } ], "elsewhere": { "pairs",
/// "exceptions" } or null, "spread": [ { "net", "interface", "keys" } ] }`.
/// `why` is `same_net`, `ignored`, `off` or `broken`.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(map: &KeyMap) -> serde_json::Result<String> {
    let shape = Shape {
        distinct: match map.distinct {
            Distinct::Off => "off",
            Distinct::ByLocation => "by-location",
            Distinct::Everywhere => "everywhere",
        },
        locations: map.locations.iter().map(ShapeAt::from).collect(),
        elsewhere: map.elsewhere.as_ref().map(ShapeProof::from),
        spread: map.spread.iter().map(ShapeSpread::from).collect(),
    };
    serde_json::to_string_pretty(&shape).map(|text| text + "\n")
}

#[derive(Serialize, JsonSchema)]
struct Shape<'a> {
    distinct: &'static str,
    locations: Vec<ShapeAt<'a>>,
    elsewhere: Option<ShapeProof<'a>>,
    spread: Vec<ShapeSpread<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeAt<'a> {
    location: &'a str,
    ignored: bool,
    used: Vec<ShapeUsed<'a>>,
    left: Option<Vec<ShapeIdentity<'a>>>,
    #[serde(flatten)]
    proof: ShapeProof<'a>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeUsed<'a> {
    net: &'a str,
    #[serde(flatten)]
    identity: ShapeIdentity<'a>,
    ends: Vec<ShapeEnd<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeEnd<'a> {
    circuit: &'a str,
    end: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct ShapeIdentity<'a> {
    interface: &'a str,
    key: &'a str,
}

#[derive(Serialize, JsonSchema)]
struct ShapeProof<'a> {
    pairs: usize,
    exceptions: Vec<ShapeException<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeException<'a> {
    nets: &'a [String],
    #[serde(flatten)]
    identity: ShapeIdentity<'a>,
    pairs: usize,
    why: &'static str,
}

#[derive(Serialize, JsonSchema)]
struct ShapeSpread<'a> {
    net: &'a str,
    interface: &'a str,
    keys: &'a [String],
}

impl<'a> From<&'a Identity> for ShapeIdentity<'a> {
    fn from(identity: &'a Identity) -> Self {
        ShapeIdentity {
            interface: &identity.interface,
            key: &identity.key,
        }
    }
}

impl<'a> From<&'a AtLocation> for ShapeAt<'a> {
    fn from(at: &'a AtLocation) -> Self {
        let end = |(circuit, end): &'a (String, String)| ShapeEnd { circuit, end };
        let used = |used: &'a Used| ShapeUsed {
            net: &used.net,
            identity: (&used.identity).into(),
            ends: used.ends.iter().map(end).collect(),
        };
        let left = |left: &'a Vec<Identity>| left.iter().map(ShapeIdentity::from).collect();
        ShapeAt {
            location: &at.location,
            ignored: at.is_ignored,
            used: at.used.iter().map(used).collect(),
            left: at.left.as_ref().map(left),
            proof: (&at.proof).into(),
        }
    }
}

impl<'a> From<&'a Proof> for ShapeProof<'a> {
    fn from(proof: &'a Proof) -> Self {
        let exception = |e: &'a Exception| ShapeException {
            nets: &e.nets,
            identity: (&e.identity).into(),
            pairs: e.pairs,
            why: match e.why {
                Why::SameNet => "same_net",
                Why::Ignored => "ignored",
                Why::Off => "off",
                Why::Broken => "broken",
            },
        };
        ShapeProof {
            pairs: proof.pairs,
            exceptions: proof.exceptions.iter().map(exception).collect(),
        }
    }
}

impl<'a> From<&'a Spread> for ShapeSpread<'a> {
    fn from(spread: &'a Spread) -> Self {
        ShapeSpread {
            net: &spread.net,
            interface: &spread.interface,
            keys: &spread.keys,
        }
    }
}
