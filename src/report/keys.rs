//! The keying map: at each location which net has which key, which keys are left,
//! and what comparing every pair of ends came to.

use super::table::{Column, Table};
use super::wording::{counted, list, plain, wrapped};
use crate::diag::joined;
use crate::fit::Identity;
use crate::project::Distinct;
use crate::study::feed::Feed;
use crate::study::keys::{AtLocation, Exception, KeyMap, Proof, Spread, Swapped, Used, Why};
use crate::units::Qty;
use schemars::{JsonSchema, Schema, SchemaGenerator};
use serde::Serialize;
use std::collections::BTreeMap;

/// The map of each machine for reading.
pub fn text(maps: &[KeyMap], width: usize) -> String {
    if maps.iter().all(|map| map.locations.is_empty()) {
        return "no end takes a connector\n".to_owned();
    }
    let texts: Vec<String> = maps.iter().map(|map| of_machine(map, width)).collect();
    let mut text = texts.join("\n");
    let ending: Vec<String> = [summary(maps), cure(maps)].into_iter().flatten().collect();
    for (place, sentence) in ending.iter().enumerate() {
        let before = if place == 0 { "\n" } else { "" };
        text.push_str(&format!("{before}{}\n", wrapped(sentence, width, "", "  ")));
    }
    text
}

/// `ferry, built 5 times`.
fn machine(map: &KeyMap) -> String {
    let times = match map.count {
        1 => "once".to_owned(),
        count => format!("{count} times"),
    };
    plain(&format!("{}, built {times}", map.machine))
}

fn of_machine(map: &KeyMap, width: usize) -> String {
    let mut text = match map.machine.as_str() {
        "" => String::new(),
        _ => wrapped(&machine(map), width, "", "  ") + "\n",
    };
    if map.locations.is_empty() {
        return text + "no end takes a connector\n";
    }
    text.push_str(&(wrapped(&rule(map), width, "", "  ") + "\n"));
    for at in &map.locations {
        text.push('\n');
        text.push_str(&location(map, at, width));
    }
    let of = match map.machine.as_str() {
        "" => String::new(),
        machine => plain(&format!(" of {machine}")),
    };
    if let Some(elsewhere) = &map.elsewhere {
        text.push_str(&format!("\nFrom one location{of} to another\n"));
        text.push_str(&proof(map, elsewhere, true, width));
    }
    text.push_str(&format!(
        "\nKeys of each net{of}\n{}",
        spread(map).text(width)
    ));
    text
}

/// How often plugs of different circuits interchange; none where they never do.
pub(super) fn summary(maps: &[KeyMap]) -> Option<String> {
    let (warnings, notes) = interchanges(maps);
    let counts = [
        (warnings, counted(warnings as u64, "warning")),
        (notes, counted(notes as u64, "note")),
    ];
    let counts: Vec<String> = (counts.into_iter())
        .filter(|(count, _)| *count > 0)
        .map(|(_, text)| text)
        .collect();
    (!counts.is_empty()).then(|| {
        format!(
            "{}: plugs of different circuits of one net interchange",
            list(&counts)
        )
    })
}

/// Warnings and notes of all machines, each machine counted once.
fn interchanges(maps: &[KeyMap]) -> (usize, usize) {
    let both = maps.iter().map(KeyMap::interchanges);
    both.fold((0, 0), |sum, of| (sum.0 + of.0, sum.1 + of.1))
}

/// What keeps circuits apart that interchange and name no branch.
pub(super) fn cure(maps: &[KeyMap]) -> Option<String> {
    let mut all = (maps.iter().flat_map(KeyMap::proofs)).flat_map(|proof| &proof.exceptions);
    let is_open = |e: &Exception| e.feeds.iter().all(|feed| feed.branch.is_empty());
    all.any(|e| e.why == Why::Circuits && is_open(e)).then(|| {
        "the keying rule keeps circuits of different branches apart: \
         give each fuse a name in the column branch of circuits.csv"
            .to_owned()
    })
}

fn rule(map: &KeyMap) -> String {
    let what = differing(map);
    match map.distinct {
        Distinct::Off => format!("keying is off: {what} may share interface and key"),
        Distinct::ByLocation => {
            format!("keying by location: at one location, {what} never share interface and key")
        }
        Distinct::Everywhere => {
            format!("keying everywhere: {what} never share interface and key in the whole machine")
        }
    }
}

/// What the rule keeps apart.
pub(super) fn differing(map: &KeyMap) -> &'static str {
    match map.has_branches {
        true => "different nets, and different branches of a net,",
        false => "different nets",
    }
}

fn location(map: &KeyMap, at: &AtLocation, width: usize) -> String {
    let ignored = if at.is_ignored {
        " (in keying.ignore_at)"
    } else {
        ""
    };
    let shown = Shown::of(map);
    let mut columns = vec![Column::text("net")];
    columns.extend(shown.columns());
    columns.extend(["interface", "key", "ends"].map(Column::text));
    let mut table = Table::new(&columns);
    for used in &at.used {
        let Identity { interface, key } = &used.identity;
        let mut row = vec![used.feed.net.clone()];
        row.extend(shown.cells(used));
        row.extend([interface.clone(), key.clone(), ends(used)]);
        table.row(row.iter().map(|cell| plain(cell)).collect());
    }
    let left = left(at);
    format!(
        "{}{ignored}\n{}{}\n{}",
        plain(&place(map, &at.location)),
        table.text(width),
        wrapped(&format!("keys left: {left}"), width, "", "  "),
        proof(map, &at.proof, false, width)
    )
}

/// A location, in a purchase behind its machine: `ferry: main box`.
fn place(map: &KeyMap, location: &str) -> String {
    match map.machine.as_str() {
        "" => location.to_owned(),
        machine => format!("{machine}: {location}"),
    }
}

/// Columns beside a net that not every project needs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shown {
    machines: bool,
    branches: bool,
    net_keys: bool,
}

impl Shown {
    /// What this map needs.
    pub fn of(map: &KeyMap) -> Self {
        Shown::of_all(std::slice::from_ref(map))
    }

    /// What some of these maps needs.
    pub fn of_all(maps: &[KeyMap]) -> Self {
        let at = maps.iter().flat_map(|map| &map.locations);
        let mut used = at.flat_map(|at| &at.used);
        Shown {
            machines: maps.iter().any(|map| !map.machine.is_empty()),
            branches: maps.iter().any(|map| map.has_branches),
            net_keys: used.any(|used| used.keeps_to.is_some()),
        }
    }

    /// The head of the machine's column, where there are machines.
    pub fn machine(self) -> Option<Column> {
        self.machines.then(|| Column::text("machine"))
    }

    /// The machine of a map, where there are machines.
    pub fn machine_of(self, map: &KeyMap) -> Option<String> {
        self.machines.then(|| map.machine.clone())
    }

    /// Their heads.
    pub fn columns(self) -> Vec<Column> {
        let mut columns = Vec::new();
        columns.extend(self.branches.then(|| Column::text("branch")));
        columns.extend(self.net_keys.then(|| Column::text("keeps_to")));
        columns
    }

    /// Their cells.
    pub fn cells(self, used: &Used) -> Vec<String> {
        let mut cells = Vec::new();
        cells.extend(self.branches.then(|| used.feed.branch.clone()));
        let keys = || keeps_to(used.keeps_to.as_deref());
        cells.extend(self.net_keys.then(keys));
        cells
    }
}

/// The keys of a net's list: `key 1 or a`; nothing where it has none.
fn keeps_to(keys: Option<&[String]>) -> String {
    keys.map_or_else(String::new, |keys| format!("key {}", joined(keys, "or")))
}

/// What is left at a location for a further net: `M8: A, B; M10: C`.
pub(super) fn left(at: &AtLocation) -> String {
    match &at.left {
        None => "not known: an end has no set now".to_owned(),
        Some(left) if left.is_empty() => "none".to_owned(),
        Some(left) => by_interface(left),
    }
}

/// The pairs of ends of different nets or branches whose plugs can be swapped, in
/// words; `none` without.
pub(super) fn mixed_up(map: &KeyMap, proof: &Proof) -> String {
    let is_wrong = |e: &&Exception| !matches!(e.why, Why::OneCircuit | Why::Circuits);
    let wrong = proof.exceptions.iter().filter(is_wrong);
    let told: Vec<String> = wrong.map(|e| told(map, e, false)).collect();
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

fn proof(map: &KeyMap, proof: &Proof, with_places: bool, width: usize) -> String {
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
        let told = told(map, exception, with_places);
        text.push_str(&wrapped(&told, width, "  ", "    "));
        text.push('\n');
    }
    text
}

fn told(map: &KeyMap, exception: &Exception, with_places: bool) -> String {
    let feeds = exception.feeds.iter();
    let feeds: Vec<String> = feeds.map(|f| feed(f, map.has_branches)).collect();
    format!(
        "{}{} of {}, {}: {}",
        mark(exception).map_or_else(String::new, |mark| format!("{mark}: ")),
        counted(exception.pairs as u64, "pair"),
        list(&feeds),
        name(&exception.identity),
        match exception.why {
            Why::OneCircuit => "of one circuit".to_owned(),
            Why::Circuits => interchange(exception, with_places),
            Why::Ignored =>
                "the wrong plug goes in; the location is in keying.ignore_at".to_owned(),
            Why::Off => "the wrong plug goes in; keying is off".to_owned(),
            Why::Broken => "the wrong plug goes in against the rule: plan again".to_owned(),
        }
    )
}

/// `warning` where plugs of circuits of different gauges interchange, `note` where
/// those of one gauge do.
pub(super) fn mark(exception: &Exception) -> Option<&'static str> {
    (exception.why == Why::Circuits).then(|| match exception.is_warning() {
        true => "warning",
        false => "note",
    })
}

/// `the plugs of traction (70 mm², 200 A) and heater (16 mm², 40 A) interchange; a swap
/// mixes up their gauges and currents, so their fuses`.
fn interchange(exception: &Exception, with_places: bool) -> String {
    format!(
        "the plugs of {} interchange; {}",
        circuits(exception, with_places),
        swap(exception)
    )
}

/// `traction (70 mm², 200 A) and heater (16 mm², 40 A)`.
pub(super) fn circuits(exception: &Exception, with_places: bool) -> String {
    let circuits = exception.circuits.iter();
    let circuits: Vec<String> = circuits.map(|c| swapped(c, with_places)).collect();
    list(&circuits)
}

fn swapped(circuit: &Swapped, with_places: bool) -> String {
    let at = match with_places {
        true => format!(" at {}", list(&circuit.locations)),
        false => String::new(),
    };
    plain(&format!(
        "{}{at} ({}, {})",
        circuit.circuit, circuit.gauge, circuit.current
    ))
}

/// What a swap does. Circuits of one named branch are behind one fuse.
pub(super) fn swap(exception: &Exception) -> String {
    let of_one_fuse = exception.feeds.iter().any(|feed| !feed.branch.is_empty());
    let gauges = exception.differ(|c| c.gauge).then_some("gauges");
    let currents = exception.differ(|c| c.current).then_some("currents");
    let differing: Vec<&str> = [gauges, currents].into_iter().flatten().collect();
    match (differing.is_empty(), of_one_fuse) {
        (true, true) => "they are behind one fuse".to_owned(),
        (true, false) => "a swap mixes up their fuses".to_owned(),
        (false, true) => format!(
            "a swap mixes up their {}; they are behind one fuse",
            list(&differing)
        ),
        (false, false) => format!("a swap mixes up their {}, so their fuses", list(&differing)),
    }
}

/// `HV+`; in a project with branches `HV+ of branch drive` or `HV+ of no branch`.
pub(super) fn feed(feed: &Feed, with_branch: bool) -> String {
    let net = &feed.net;
    plain(&match (with_branch, feed.branch.as_str()) {
        (false, _) => net.clone(),
        (true, "") => format!("{net} of no branch"),
        (true, branch) => format!("{net} of branch {branch}"),
    })
}

/// `M8 A`.
pub(super) fn name(identity: &Identity) -> String {
    plain(format!("{} {}", identity.interface, identity.key).trim())
}

fn spread(map: &KeyMap) -> Table {
    let has_lists = Shown::of(map).net_keys;
    let mut columns = vec![
        Column::text("net"),
        Column::text("interface"),
        Column::number("count"),
        Column::text("keys"),
    ];
    columns.extend(has_lists.then(|| Column::text("keeps_to")));
    let mut table = Table::new(&columns);
    for of in &map.spread {
        let mut row = vec![
            plain(&of.net),
            plain(&of.interface),
            of.keys.len().to_string(),
            plain(&of.keys.join(", ")),
        ];
        row.extend(has_lists.then(|| plain(&keeps_to(map.keeps_to(&of.net)))));
        table.row(row);
    }
    table
}

/// One row for each net and key at a location, for each key that is left there,
/// without a net, and for plugs that interchange from one location to another,
/// without a location. In a purchase the first column is the machine.
pub fn table(maps: &[KeyMap]) -> Table {
    let shown = Shown::of_all(maps);
    let mut columns: Vec<Column> = shown.machine().into_iter().collect();
    columns.extend(["location", "interface", "key", "net"].map(Column::text));
    columns.extend(shown.columns());
    columns.extend(["ends", "interchange", "swaps"].map(Column::text));
    let mut table = Table::new(&columns);
    for map in maps {
        for cells in rows(map, shown) {
            let mut row: Vec<String> = shown.machine_of(map).into_iter().collect();
            row.extend(cells);
            row.resize(columns.len(), String::new());
            table.row(row);
        }
    }
    table
}

/// The rows of a machine without the machine. A row may end early.
fn rows(map: &KeyMap, shown: Shown) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for at in &map.locations {
        for used in &at.used {
            let exception = at.proof.exceptions.iter().find(|e| is_of(e, used));
            let mut row = start(&at.location, &used.identity, &used.feed.net);
            row.extend(shown.cells(used));
            row.push(ends(used));
            row.extend(swaps(exception, false));
            rows.push(row);
        }
        let left = at.left.iter().flatten();
        rows.extend(left.map(|left| start(&at.location, left, "")));
    }
    for exception in map.elsewhere.iter().flat_map(|proof| &proof.exceptions) {
        let (Some(_), Some(feed)) = (mark(exception), exception.feeds.first()) else {
            continue;
        };
        let used = Used {
            feed: feed.clone(),
            keeps_to: map.keeps_to(&feed.net).map(<[String]>::to_vec),
            identity: exception.identity.clone(),
            ends: Vec::new(),
        };
        let mut row = start("", &used.identity, &feed.net);
        row.extend(shown.cells(&used));
        row.push(String::new());
        row.extend(swaps(Some(exception), true));
        rows.push(row);
    }
    rows
}

/// True if the plugs of a net with this identity interchange.
pub(super) fn is_of(exception: &Exception, used: &Used) -> bool {
    exception.why == Why::Circuits
        && exception.identity == used.identity
        && exception.feeds.contains(&used.feed)
}

fn start(location: &str, identity: &Identity, net: &str) -> Vec<String> {
    let Identity { interface, key } = identity;
    [location, interface, key, net].map(str::to_owned).to_vec()
}

/// Mark and circuits of plugs that interchange.
fn swaps(exception: Option<&Exception>, with_places: bool) -> [String; 2] {
    let mark = exception.and_then(mark).unwrap_or_default().to_owned();
    let circuits = exception.map(|e| circuits(e, with_places));
    [mark, circuits.unwrap_or_default()]
}

/// The schema of [`json`].
pub fn schema(generator: SchemaGenerator) -> Schema {
    generator.into_root_schema_for::<Shapes>()
}

/// The map as JSON: `{ "distinct", "warnings", "notes", "locations": [ {
/// "location", "ignored", "used": [ { "net", "branch", "keeps_to", "interface",
/// "key", "ends": [ { "circuit", "end" } ] } ], "left": [ { "interface", "key" } ]
/// or null, "pairs", "exceptions": [ { "nets", "between": [ { "net", "branch" } ],
/// "interface", "key", "pairs", "why", "level", "circuits": [ { "circuit", "gauge",
/// "current_a", "locations" } ] } ] } ], "elsewhere": { "pairs", "exceptions" } or
/// null, "spread": [ { "net", "keeps_to", "interface", "keys" } ] }`. `why` is
/// `one_circuit`, `circuits`, `ignored`, `off` or `broken`. Of `circuits`, whose plugs
/// interchange, `level` is `warning` where their gauges differ, else `note`; of all
/// others it is null. `keeps_to` is null where the project gives the net no keys.
///
/// Of a purchase: `{ "warnings", "notes", "machines": [ … ] }` with such a map for each
/// machine, which begins with `"machine", "count"`.
///
/// # Errors
/// The error of the writer; in memory there is none.
pub fn json(maps: &[KeyMap]) -> serde_json::Result<String> {
    let shape = match maps {
        [map] if map.machine.is_empty() => Shapes::Project(Shape::new(map)),
        maps => {
            let (warnings, notes) = interchanges(maps);
            Shapes::Purchase(ShapePurchase {
                warnings,
                notes,
                machines: maps.iter().map(ShapeMachine::new).collect(),
            })
        }
    };
    serde_json::to_string_pretty(&shape).map(|text| text + "\n")
}

#[derive(Serialize, JsonSchema)]
#[serde(untagged)]
enum Shapes<'a> {
    Project(Shape<'a>),
    Purchase(ShapePurchase<'a>),
}

#[derive(Serialize, JsonSchema)]
struct ShapePurchase<'a> {
    warnings: usize,
    notes: usize,
    machines: Vec<ShapeMachine<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeMachine<'a> {
    machine: &'a str,
    count: Qty,
    #[serde(flatten)]
    map: Shape<'a>,
}

impl<'a> ShapeMachine<'a> {
    fn new(map: &'a KeyMap) -> Self {
        ShapeMachine {
            machine: &map.machine,
            count: map.count,
            map: Shape::new(map),
        }
    }
}

#[derive(Serialize, JsonSchema)]
struct Shape<'a> {
    distinct: &'static str,
    warnings: usize,
    notes: usize,
    locations: Vec<ShapeAt<'a>>,
    elsewhere: Option<ShapeProof<'a>>,
    spread: Vec<ShapeSpread<'a>>,
}

impl<'a> Shape<'a> {
    fn new(map: &'a KeyMap) -> Self {
        let (warnings, notes) = map.interchanges();
        Shape {
            distinct: match map.distinct {
                Distinct::Off => "off",
                Distinct::ByLocation => "by-location",
                Distinct::Everywhere => "everywhere",
            },
            warnings,
            notes,
            locations: map.locations.iter().map(ShapeAt::from).collect(),
            elsewhere: map.elsewhere.as_ref().map(ShapeProof::from),
            spread: (map.spread.iter())
                .map(|of| ShapeSpread::new(map, of))
                .collect(),
        }
    }
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
    #[serde(flatten)]
    feed: ShapeFeed<'a>,
    keeps_to: Option<&'a [String]>,
    #[serde(flatten)]
    identity: ShapeIdentity<'a>,
    ends: Vec<ShapeEnd<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeFeed<'a> {
    net: &'a str,
    branch: &'a str,
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
    nets: Vec<&'a str>,
    between: Vec<ShapeFeed<'a>>,
    #[serde(flatten)]
    identity: ShapeIdentity<'a>,
    pairs: usize,
    why: &'static str,
    level: Option<&'static str>,
    circuits: Vec<ShapeSwapped<'a>>,
}

#[derive(Serialize, JsonSchema)]
struct ShapeSwapped<'a> {
    circuit: &'a str,
    gauge: String,
    current_a: String,
    locations: &'a [String],
}

#[derive(Serialize, JsonSchema)]
struct ShapeSpread<'a> {
    net: &'a str,
    keeps_to: Option<&'a [String]>,
    interface: &'a str,
    keys: &'a [String],
}

impl<'a> From<&'a Feed> for ShapeFeed<'a> {
    fn from(feed: &'a Feed) -> Self {
        ShapeFeed {
            net: &feed.net,
            branch: &feed.branch,
        }
    }
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
            feed: (&used.feed).into(),
            keeps_to: used.keeps_to.as_deref(),
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
        ShapeProof {
            pairs: proof.pairs,
            exceptions: proof.exceptions.iter().map(ShapeException::from).collect(),
        }
    }
}

impl<'a> From<&'a Exception> for ShapeException<'a> {
    fn from(e: &'a Exception) -> Self {
        let mut nets: Vec<&str> = e.feeds.iter().map(|feed| feed.net.as_str()).collect();
        nets.dedup();
        ShapeException {
            nets,
            between: e.feeds.iter().map(ShapeFeed::from).collect(),
            identity: (&e.identity).into(),
            pairs: e.pairs,
            why: match e.why {
                Why::OneCircuit => "one_circuit",
                Why::Circuits => "circuits",
                Why::Ignored => "ignored",
                Why::Off => "off",
                Why::Broken => "broken",
            },
            level: mark(e),
            circuits: e.circuits.iter().map(ShapeSwapped::from).collect(),
        }
    }
}

impl<'a> From<&'a Swapped> for ShapeSwapped<'a> {
    fn from(circuit: &'a Swapped) -> Self {
        ShapeSwapped {
            circuit: &circuit.circuit,
            gauge: circuit.gauge.to_string(),
            current_a: circuit.current.0.normalize().to_string(),
            locations: &circuit.locations,
        }
    }
}

impl<'a> ShapeSpread<'a> {
    fn new(map: &'a KeyMap, spread: &'a Spread) -> Self {
        ShapeSpread {
            net: &spread.net,
            keeps_to: map.keeps_to(&spread.net),
            interface: &spread.interface,
            keys: &spread.keys,
        }
    }
}
