//! The keying map of a plan: which net has which interface and key at each
//! location, which keys are left, and for every pair of ends whether the plug
//! of one goes into the receptacle of the other. Each machine of a purchase has a map of
//! its own.
//!
//! Interface and key are read from the catalog's bodies, not from the record;
//! branch, gauge and current are those of the circuits.

use super::feed::Feed;
use crate::catalog::{Body, Half};
use crate::fit::{self, Fit, Identity, mate};
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::project::{Circuit, Distinct, Keying};
use crate::units::{Ampere, Gauge, Qty};
use std::collections::{BTreeMap, BTreeSet};

/// A plan has what is not, or no longer, in the catalog or among the circuits.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unknown {
    /// A body that the catalog does not have as that half.
    #[error("the plan has the {half} {part}, which the catalog does not have")]
    Body {
        /// Part code.
        part: String,
        /// What it should be.
        half: Half,
    },
    /// A circuit.
    #[error("the plan has the circuit {0}, which circuits.csv does not have")]
    Circuit(String),
}

/// The keying of a whole machine. What it says is the same for every copy of the machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyMap {
    /// The machine by name; empty in the plan of a project.
    pub machine: String,
    /// How often the machine is built; once in a project.
    pub count: Qty,
    /// How far the rule reaches.
    pub distinct: Distinct,
    /// True if some circuit names its branch.
    pub has_branches: bool,
    /// In the order of their first ends.
    pub locations: Vec<AtLocation>,
    /// All pairs of ends at different locations that the rule sees; none where the
    /// rule does not hold for the whole machine.
    pub elsewhere: Option<Proof>,
    /// How many keys each net has of each interface.
    pub spread: Vec<Spread>,
}

/// The keying at one location.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AtLocation {
    /// The location.
    pub location: String,
    /// True if the project leaves the location out of the rule.
    pub is_ignored: bool,
    /// By net, branch, interface and key.
    pub used: Vec<Used>,
    /// Identities that some end here could have and that the rule leaves free for a
    /// further net. None where the project as it is now has an end without a set.
    pub left: Option<Vec<Identity>>,
    /// All pairs of ends here.
    pub proof: Proof,
}

/// An interface and key that a net of a branch has at a location.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// The net with its branch.
    pub feed: Feed,
    /// The keys that the project gives to the net, if any.
    pub keeps_to: Option<Vec<String>>,
    /// What it has.
    pub identity: Identity,
    /// The ends: circuit and `from` or `to`, in order.
    pub ends: Vec<(String, String)>,
}

/// What comparing pairs of ends came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof {
    /// How many pairs of ends were compared: each plug with the other's receptacle.
    pub pairs: usize,
    /// The pairs whose plugs can be swapped.
    pub exceptions: Vec<Exception>,
}

/// Ends whose plugs can be swapped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exception {
    /// The interface and key that the ends share.
    pub identity: Identity,
    /// One net with its branch, or the two that are mixed up.
    pub feeds: Vec<Feed>,
    /// How many pairs.
    pub pairs: usize,
    /// Why the plan has such ends.
    pub why: Why,
    /// The circuits whose plugs interchange, in their order; only of
    /// [`Why::Circuits`].
    pub circuits: Vec<Swapped>,
}

/// Why two plugs can be swapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Both ends are of one circuit and net.
    OneCircuit,
    /// Both ends have the same net and branch, but are of different circuits. The
    /// rule lets them share a key; a swap gives each circuit the other's fuse.
    Circuits,
    /// The location is left out of the rule.
    Ignored,
    /// There is no rule.
    Off,
    /// The rule is broken; no audited plan comes to this.
    Broken,
}

/// A circuit whose plugs go into the receptacles of another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Swapped {
    /// Its name.
    pub circuit: String,
    /// Its gauge.
    pub gauge: Gauge,
    /// Its current.
    pub current: Ampere,
    /// Where the ends in question are.
    pub locations: Vec<String>,
}

/// The keys of one net on one interface, over the whole machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spread {
    /// The machine by name; empty in the plan of a project.
    pub machine: String,
    /// The net.
    pub net: String,
    /// The interface.
    pub interface: String,
    /// Distinct keys, sorted; one where the net keeps its key.
    pub keys: Vec<String>,
}

impl KeyMap {
    /// What comparing ends came to, at each location and from one to another.
    pub fn proofs(&self) -> impl Iterator<Item = &Proof> {
        let at = self.locations.iter().map(|at| &at.proof);
        at.chain(&self.elsewhere)
    }

    /// How often plugs of different circuits interchange: with different gauges, and
    /// with one gauge.
    pub fn interchanges(&self) -> (usize, usize) {
        let all = self.proofs().flat_map(|proof| &proof.exceptions);
        let circuits = all.filter(|exception| exception.why == Why::Circuits);
        let (warnings, notes): (Vec<_>, Vec<_>) = circuits.partition(|e| e.is_warning());
        (warnings.len(), notes.len())
    }

    /// The keys that the project gives to a net, if any.
    pub fn keeps_to(&self, net: &str) -> Option<&[String]> {
        let mut used = self.locations.iter().flat_map(|at| &at.used);
        used.find(|used| used.feed.net == net)?.keeps_to.as_deref()
    }
}

impl AtLocation {
    /// The other nets and branches here that have the same interface and key: possible
    /// only where the keying rule does not hold.
    pub fn shared_with(&self, used: &Used) -> Vec<&Feed> {
        let same = |other: &&Used| other.identity == used.identity && other.feed != used.feed;
        let others = self.used.iter().filter(same);
        others.map(|other| &other.feed).collect()
    }
}

impl Exception {
    /// True if a swap puts a circuit of another gauge on a fuse.
    pub fn is_warning(&self) -> bool {
        self.why == Why::Circuits && self.differ(|circuit| circuit.gauge)
    }

    /// True if the circuits are not all equal in this.
    pub fn differ<T: PartialEq>(&self, of: impl Fn(&Swapped) -> T) -> bool {
        let mut all = self.circuits.iter().map(of);
        let first = all.next();
        all.any(|other| Some(other) != first)
    }
}

/// Works out the keying map of each machine of a purchase, in their order; of a project
/// one. Locations and nets of one machine have nothing to do with those of another.
///
/// # Errors
/// [`Unknown`] if the plan is not of this catalog, or not of these circuits.
pub fn key_maps(input: &Input, plan: &Plan) -> Result<Vec<KeyMap>, Unknown> {
    let by_name: BTreeMap<&str, (usize, &Circuit)> = (input.circuits.iter().enumerate())
        .map(|(place, circuit)| (circuit.name.as_str(), (place, circuit)))
        .collect();
    let ends: Vec<Mated> = plan
        .ends
        .iter()
        .map(|end| mated(input, &by_name, end))
        .collect::<Result<_, _>>()?;
    let fit = fit::fit(input).ok();
    let machines = 0..input.machines.len().max(1);
    let spread = spread(plan);
    let map = |machine| {
        let own: Vec<&Mated> = ends.iter().filter(|m| m.machine() == machine).collect();
        let fit = fit.as_ref().map(|fit| (fit, machine));
        key_map(input, machine, (fit, &own), &spread)
    };
    Ok(machines.map(map).collect())
}

fn key_map(
    input: &Input,
    machine: usize,
    (fit, ends): (Option<(&Fit, usize)>, &[&Mated<'_>]),
    spread: &[Spread],
) -> KeyMap {
    let keying = &input.rules(machine).keying;
    let at = |location| at_location(keying, fit, ends, location);
    let name = input.machine_name(machine).unwrap_or_default();
    let mut circuits = input.circuits.iter().filter(|c| c.machine == machine);
    KeyMap {
        machine: name.to_owned(),
        count: input.machines.get(machine).map_or(1, |of| of.count),
        distinct: keying.distinct,
        has_branches: circuits.any(|c| !c.branch.is_empty()),
        locations: locations(ends).into_iter().map(at).collect(),
        elsewhere: (keying.distinct == Distinct::Everywhere).then(|| elsewhere(keying, ends)),
        spread: (spread.iter().filter(|of| of.machine == name).cloned()).collect(),
    }
}

/// For each net and interface of each machine of a plan, the distinct keys, by machine,
/// net, then interface. These keys are what a person has to remember of a machine.
pub fn spread(plan: &Plan) -> Vec<Spread> {
    let mut keys: BTreeMap<(&str, &str, &str), BTreeSet<&str>> = BTreeMap::new();
    for end in &plan.ends {
        let of_net = (keys.entry((&end.machine, &end.net, &end.interface))).or_default();
        of_net.insert(&end.key);
    }
    keys.into_iter()
        .map(|((machine, net, interface), keys)| Spread {
            machine: machine.to_owned(),
            net: net.to_owned(),
            interface: interface.to_owned(),
            keys: keys.into_iter().map(str::to_owned).collect(),
        })
        .collect()
}

/// An end with its bodies and its circuit.
struct Mated<'a> {
    end: &'a EndRecord,
    /// Its circuit, and its place among all.
    circuit: (usize, &'a Circuit),
    /// The name of its circuit without that of the machine.
    name: &'a str,
    plug: &'a Body,
    /// None where the device has its own, with interface and key of the plug.
    receptacle: Option<&'a Body>,
}

impl<'a> Mated<'a> {
    /// True if the plug of another end goes into the receptacle here.
    fn takes(&self, plug: &Body) -> bool {
        match self.receptacle {
            Some(receptacle) => mate::mates(plug, receptacle),
            None => mate::identity(plug) == mate::identity(self.plug),
        }
    }

    fn machine(&self) -> usize {
        self.circuit.1.machine
    }

    /// Net and branch.
    fn feed(&self) -> (&'a str, &'a str) {
        (&self.end.net, &self.circuit.1.branch)
    }
}

fn mated<'a>(
    input: &'a Input,
    circuits: &BTreeMap<&str, (usize, &'a Circuit)>,
    end: &'a EndRecord,
) -> Result<Mated<'a>, Unknown> {
    let body = |code: &str, half: Half| {
        let part = input.catalog.find(code).map(|id| input.catalog.part(id));
        part.and_then(|part| part.body())
            .filter(|body| body.half == half)
            .ok_or_else(|| Unknown::Body {
                part: code.to_owned(),
                half,
            })
    };
    let name = end.circuit_name();
    let circuit = circuits.get(&*name).copied();
    let circuit = circuit.ok_or_else(|| Unknown::Circuit(name.into_owned()))?;
    Ok(Mated {
        end,
        circuit,
        name: circuit.1.own_name(&input.machines),
        plug: body(&end.plug, Half::Plug)?,
        receptacle: match &end.receptacle {
            Some(code) => Some(body(code, Half::Receptacle)?),
            None => None,
        },
    })
}

fn locations<'a>(ends: &[&Mated<'a>]) -> Vec<&'a str> {
    let mut seen = BTreeSet::new();
    let all = ends.iter().map(|m| m.end.location.as_str());
    all.filter(|location| seen.insert(*location)).collect()
}

fn at_location(
    keying: &Keying,
    fit: Option<(&Fit, usize)>,
    ends: &[&Mated<'_>],
    location: &str,
) -> AtLocation {
    let is_here = |m: &&Mated| m.end.location == location;
    let here: Vec<&Mated> = ends.iter().copied().filter(is_here).collect();
    let is_ignored = keying.ignore_at.contains(location);
    let taken = |m: &&Mated| match keying.distinct {
        Distinct::Everywhere if !is_ignored => !keying.ignore_at.contains(&m.end.location),
        _ => m.end.location == location,
    };
    let taken: BTreeSet<Identity> = ends
        .iter()
        .copied()
        .filter(taken)
        .map(|m| mate::identity(m.plug))
        .collect();
    let left = |of| usable(of, location).difference(&taken).cloned().collect();
    AtLocation {
        location: location.to_owned(),
        is_ignored,
        used: used(keying, &here),
        left: fit.map(left),
        proof: proof(keying, pairs(&here)),
    }
}

/// All identities of which some end at a location of a machine can have both halves.
fn usable((fit, machine): (&Fit, usize), location: &str) -> BTreeSet<Identity> {
    fit.classes
        .iter()
        .filter(|class| class.machine == machine && class.location == location)
        .flat_map(|class| &class.plugs)
        .filter_map(|plug| fit.identities.get(plug.identity).cloned())
        .collect()
}

/// Circuit and `from` or `to` of each end.
type Ends = Vec<(String, String)>;

fn used(keying: &Keying, here: &[&Mated<'_>]) -> Vec<Used> {
    let mut used: BTreeMap<((&str, &str), Identity), Ends> = BTreeMap::new();
    for m in here {
        used.entry((m.feed(), mate::identity(m.plug)))
            .or_default()
            .push((m.end.circuit.clone(), m.end.end.clone()));
    }
    let keys = |net: &str| {
        keying
            .keys
            .get(net)
            .map(|keys| keys.iter().cloned().collect())
    };
    used.into_iter()
        .map(|((feed, identity), ends)| Used {
            feed: feed.into(),
            keeps_to: keys(feed.0),
            identity,
            ends,
        })
        .collect()
}

/// Pairs of two ends.
type Pairs<'p, 'a> = Vec<(&'p Mated<'a>, &'p Mated<'a>)>;

fn pairs<'p, 'a>(ends: &[&'p Mated<'a>]) -> Pairs<'p, 'a> {
    let after = |i: usize| ends.iter().skip(i + 1);
    let of = |(i, one): (usize, &&'p Mated<'a>)| {
        let one = *one;
        after(i).map(move |other| (one, *other)).collect::<Vec<_>>()
    };
    ends.iter().enumerate().flat_map(of).collect()
}

fn elsewhere(keying: &Keying, ends: &[&Mated<'_>]) -> Proof {
    let seen: Vec<&Mated> = ends
        .iter()
        .copied()
        .filter(|m| !keying.ignore_at.contains(&m.end.location))
        .collect();
    let mut pairs = pairs(&seen);
    pairs.retain(|(one, other)| one.end.location != other.end.location);
    proof(keying, pairs)
}

/// What the pairs of one exception have in common.
type Shared<'a> = (Why, Identity, BTreeSet<(&'a str, &'a str)>);

/// The pairs of one exception.
#[derive(Default)]
struct Gathered<'p, 'a> {
    pairs: usize,
    ends: Vec<&'p Mated<'a>>,
}

/// Holds each plug of a pair against the other's receptacle.
fn proof(keying: &Keying, pairs: Pairs<'_, '_>) -> Proof {
    let mut found: BTreeMap<Shared<'_>, Gathered<'_, '_>> = BTreeMap::new();
    for (one, other) in &pairs {
        let plug = [(one, other), (other, one)]
            .into_iter()
            .find(|(from, into)| into.takes(from.plug))
            .map(|(from, _)| from.plug);
        if let Some(plug) = plug {
            let feeds = BTreeSet::from([one.feed(), other.feed()]);
            let of = (why(keying, one, other), mate::identity(plug), feeds);
            let gathered = found.entry(of).or_default();
            gathered.pairs += 1;
            gathered.ends.extend([*one, *other]);
        }
    }
    let exception = |((why, identity, feeds), gathered): (Shared<'_>, Gathered<'_, '_>)| {
        let circuits = match why {
            Why::Circuits => swapped(&gathered.ends),
            _ => Vec::new(),
        };
        Exception {
            identity,
            feeds: feeds.into_iter().map(Feed::from).collect(),
            pairs: gathered.pairs,
            why,
            circuits,
        }
    };
    Proof {
        pairs: pairs.len(),
        exceptions: found.into_iter().map(exception).collect(),
    }
}

/// The circuits of these ends, in their order, each with the locations in theirs.
fn swapped(ends: &[&Mated<'_>]) -> Vec<Swapped> {
    let mut circuits: BTreeMap<usize, Swapped> = BTreeMap::new();
    for m in ends {
        let (place, circuit) = m.circuit;
        let swapped = circuits.entry(place).or_insert_with(|| Swapped {
            circuit: m.name.to_owned(),
            gauge: circuit.gauge,
            current: circuit.current,
            locations: Vec::new(),
        });
        if !swapped.locations.contains(&m.end.location) {
            swapped.locations.push(m.end.location.clone());
        }
    }
    circuits.into_values().collect()
}

fn why(keying: &Keying, one: &Mated<'_>, other: &Mated<'_>) -> Why {
    let ignored = |m: &Mated| keying.ignore_at.contains(&m.end.location);
    if one.feed() == other.feed() {
        return match one.circuit.0 == other.circuit.0 {
            true => Why::OneCircuit,
            false => Why::Circuits,
        };
    }
    if keying.distinct == Distinct::Off {
        Why::Off
    } else if ignored(one) || ignored(other) {
        Why::Ignored
    } else {
        Why::Broken
    }
}
