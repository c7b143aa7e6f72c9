//! The keying map of a plan: which net has which interface and key at each
//! location, which keys are left, and for every pair of ends whether the plug
//! of one goes into the receptacle of the other.
//!
//! Interface and key are read from the catalog's bodies, not from the record.

use crate::catalog::{Body, Half};
use crate::fit::{self, Fit, Identity, mate};
use crate::input::Input;
use crate::plan::{EndRecord, Plan};
use crate::project::{Distinct, Keying};
use std::collections::{BTreeMap, BTreeSet};

/// A plan fits a part that the catalog does not have, or no longer has, as that half.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the plan has the {half} {part}, which the catalog does not have")]
pub struct UnknownBody {
    /// Part code.
    pub part: String,
    /// The half that the part should be.
    pub half: Half,
}

/// The keying of a whole plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyMap {
    /// How far the rule reaches.
    pub distinct: Distinct,
    /// The locations, in the order of their first ends.
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
    /// What is used here, by net, interface and key.
    pub used: Vec<Used>,
    /// Identities that some end here could have and that the rule leaves free for a
    /// further net. None where the project as it is now has an end without a set.
    pub left: Option<Vec<Identity>>,
    /// All pairs of ends here.
    pub proof: Proof,
}

/// An interface and key that a net has at a location.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Used {
    /// The net.
    pub net: String,
    /// The interface and key that the net has.
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
    /// The one net, or the two nets that are mixed up.
    pub nets: Vec<String>,
    /// How many pairs of such ends there are.
    pub pairs: usize,
    /// Why the plan has such ends.
    pub why: Why,
}

/// Why two plugs can be swapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    /// Both ends have the same net, so that nothing is joined that should not be.
    SameNet,
    /// The location is left out of the rule.
    Ignored,
    /// There is no rule.
    Off,
    /// The rule is broken; no audited plan comes to this.
    Broken,
}

/// The keys of one net on one interface, over the whole machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spread {
    /// The net.
    pub net: String,
    /// The interface.
    pub interface: String,
    /// Distinct keys, sorted; one where the net keeps its key.
    pub keys: Vec<String>,
}

impl AtLocation {
    /// The other nets here that have the same interface and key: possible only
    /// where the keying rule does not hold.
    pub fn shared_with(&self, used: &Used) -> Vec<&str> {
        let same = |other: &&Used| other.identity == used.identity && other.net != used.net;
        let others = self.used.iter().filter(same);
        others.map(|other| other.net.as_str()).collect()
    }
}

/// Works out the keying map.
///
/// # Errors
/// [`UnknownBody`] if the plan is not of this catalog.
pub fn key_map(input: &Input, plan: &Plan) -> Result<KeyMap, UnknownBody> {
    let ends: Vec<Mated> = plan
        .ends
        .iter()
        .map(|end| mated(input, end))
        .collect::<Result<_, _>>()?;
    let keying = &input.settings.keying;
    let fit = fit::fit(input).ok();
    let at = |location| at_location(keying, fit.as_ref(), &ends, location);
    Ok(KeyMap {
        distinct: keying.distinct,
        locations: locations(&ends).into_iter().map(at).collect(),
        elsewhere: (keying.distinct == Distinct::Everywhere).then(|| elsewhere(keying, &ends)),
        spread: spread(plan),
    })
}

/// For each net and interface of a plan, the distinct keys, by net, then interface.
/// These keys are what a person has to remember of a machine.
pub fn spread(plan: &Plan) -> Vec<Spread> {
    let mut keys: BTreeMap<(&str, &str), BTreeSet<&str>> = BTreeMap::new();
    for end in &plan.ends {
        let of_net = keys.entry((&end.net, &end.interface)).or_default();
        of_net.insert(&end.key);
    }
    keys.into_iter()
        .map(|((net, interface), keys)| Spread {
            net: net.to_owned(),
            interface: interface.to_owned(),
            keys: keys.into_iter().map(str::to_owned).collect(),
        })
        .collect()
}

/// An end with its two bodies.
struct Mated<'a> {
    end: &'a EndRecord,
    plug: &'a Body,
    /// None where the device has its own, with interface and key of the plug.
    receptacle: Option<&'a Body>,
}

impl Mated<'_> {
    /// True if the plug of another end goes into the receptacle here.
    fn takes(&self, plug: &Body) -> bool {
        match self.receptacle {
            Some(receptacle) => mate::mates(plug, receptacle),
            None => mate::identity(plug) == mate::identity(self.plug),
        }
    }
}

fn mated<'a>(input: &'a Input, end: &'a EndRecord) -> Result<Mated<'a>, UnknownBody> {
    let body = |code: &str, half: Half| {
        let part = input.catalog.find(code).map(|id| input.catalog.part(id));
        part.and_then(|part| part.body())
            .filter(|body| body.half == half)
            .ok_or_else(|| UnknownBody {
                part: code.to_owned(),
                half,
            })
    };
    Ok(Mated {
        end,
        plug: body(&end.plug, Half::Plug)?,
        receptacle: match &end.receptacle {
            Some(code) => Some(body(code, Half::Receptacle)?),
            None => None,
        },
    })
}

fn locations<'a>(ends: &[Mated<'a>]) -> Vec<&'a str> {
    let mut seen = BTreeSet::new();
    let all = ends.iter().map(|m| m.end.location.as_str());
    all.filter(|location| seen.insert(*location)).collect()
}

fn at_location(
    keying: &Keying,
    fit: Option<&Fit>,
    ends: &[Mated<'_>],
    location: &str,
) -> AtLocation {
    let here: Vec<&Mated> = ends.iter().filter(|m| m.end.location == location).collect();
    let is_ignored = keying.ignore_at.contains(location);
    let taken = |m: &&Mated| match keying.distinct {
        Distinct::Everywhere if !is_ignored => !keying.ignore_at.contains(&m.end.location),
        _ => m.end.location == location,
    };
    let taken: BTreeSet<Identity> = ends
        .iter()
        .filter(taken)
        .map(|m| mate::identity(m.plug))
        .collect();
    let left = |fit: &Fit| usable(fit, location).difference(&taken).cloned().collect();
    AtLocation {
        location: location.to_owned(),
        is_ignored,
        used: used(&here),
        left: fit.map(left),
        proof: proof(keying, pairs(&here)),
    }
}

/// All identities of which some end at a location can have both halves.
fn usable(fit: &Fit, location: &str) -> BTreeSet<Identity> {
    fit.classes
        .iter()
        .filter(|class| class.location == location)
        .flat_map(|class| &class.plugs)
        .filter_map(|plug| fit.identities.get(plug.identity).cloned())
        .collect()
}

fn used(here: &[&Mated<'_>]) -> Vec<Used> {
    let mut used: BTreeMap<(&str, Identity), Vec<(String, String)>> = BTreeMap::new();
    for m in here {
        used.entry((&m.end.net, mate::identity(m.plug)))
            .or_default()
            .push((m.end.circuit.clone(), m.end.end.clone()));
    }
    used.into_iter()
        .map(|((net, identity), ends)| Used {
            net: net.to_owned(),
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

fn elsewhere(keying: &Keying, ends: &[Mated<'_>]) -> Proof {
    let seen: Vec<&Mated> = ends
        .iter()
        .filter(|m| !keying.ignore_at.contains(&m.end.location))
        .collect();
    let mut pairs = pairs(&seen);
    pairs.retain(|(one, other)| one.end.location != other.end.location);
    proof(keying, pairs)
}

/// Holds each plug of a pair against the other's receptacle.
fn proof(keying: &Keying, pairs: Pairs<'_, '_>) -> Proof {
    let mut found: BTreeMap<(Why, Identity, Vec<&str>), usize> = BTreeMap::new();
    for (one, other) in &pairs {
        let plug = [(one, other), (other, one)]
            .into_iter()
            .find(|(from, into)| into.takes(from.plug))
            .map(|(from, _)| from.plug);
        if let Some(plug) = plug {
            let nets = BTreeSet::from([one.end.net.as_str(), other.end.net.as_str()]);
            let why = why(keying, one.end, other.end);
            let of = (why, mate::identity(plug), nets.into_iter().collect());
            *found.entry(of).or_default() += 1;
        }
    }
    let exception =
        |((why, identity, nets), pairs): ((Why, Identity, Vec<&str>), usize)| Exception {
            identity,
            nets: nets.into_iter().map(str::to_owned).collect(),
            pairs,
            why,
        };
    Proof {
        pairs: pairs.len(),
        exceptions: found.into_iter().map(exception).collect(),
    }
}

fn why(keying: &Keying, one: &EndRecord, other: &EndRecord) -> Why {
    let ignored = |end: &EndRecord| keying.ignore_at.contains(&end.location);
    if one.net == other.net {
        Why::SameNet
    } else if keying.distinct == Distinct::Off {
        Why::Off
    } else if ignored(one) || ignored(other) {
        Why::Ignored
    } else {
        Why::Broken
    }
}
