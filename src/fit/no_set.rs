//! Which ends have no compatible set, and which rules refuse which parts there.
//! [`crate::refusal`] makes the message.

use super::end::{End, Side};
use super::missing::Missing;
use super::rules::Rule;
use crate::catalog::{Half, Kind, PartId};
use crate::diag::Row;

/// Some ends have no compatible set.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub struct NoSet {
    /// The ends, in the order of the first ends. Ends that need the same stand together.
    pub ends: Vec<NoSetAt>,
}

/// Ends that need the same and have no set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NoSetAt {
    /// The ends, in order.
    pub ends: Vec<EndName>,
    /// The first of these ends. What a rule can see is the same at all of them.
    pub end: End,
    /// What the end wants beside its own columns: keys of its net, then attributes.
    pub wants: Vec<String>,
    /// Parts with which the ends would have a set, if the parts could be had. One part of
    /// each list is needed, and any part of a list is enough. Empty where no parts would help.
    pub missing: Vec<Vec<Missing>>,
    /// For plugs and receptacles, how many there are and how many fit by themselves.
    pub kept: Vec<Kept>,
    /// Which rule refuses what. Each body is counted once, at the first rule
    /// that refuses it.
    pub groups: Vec<Group>,
    /// The fewest rules without which a set would exist. Where several entries
    /// stand, any of them is enough. Empty if the catalog lacks a half altogether.
    pub without: Vec<Vec<Rule>>,
    /// Bodies that come nearest, at most two of each half.
    pub nearest: Vec<Near>,
    /// The keys that the project gives to the net of the ends, if any.
    pub net_keys: Option<NetList>,
}

/// The list of a net in `keying.keys`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NetList {
    /// The keys, sorted.
    pub keys: Vec<String>,
    /// Where the list stands, if that is known.
    pub row: Option<Row>,
}

/// An end by the user's names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EndName {
    /// Circuit.
    pub circuit: String,
    /// Net or nets.
    pub net: String,
    /// Which end.
    pub side: Side,
    /// Location.
    pub location: String,
    /// Row of the circuit.
    pub row: Row,
}

/// How many bodies of a half fit by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Plug or receptacle.
    pub half: Half,
    /// How many bodies of the half the catalog has.
    pub of: usize,
    /// How many of these no rule refuses, with all fittings. The other half is not looked at.
    pub fit: usize,
}

/// Bodies that a rule refuses for the same reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// Plug or receptacle.
    pub half: Half,
    /// The rule.
    pub rule: Rule,
    /// The reason in the words of the rule.
    pub what: String,
    /// The bodies by id; at least one.
    pub parts: Vec<PartId>,
    /// The body that comes nearest by this rule: `highest: P-1 at 350 A`.
    pub best: Option<String>,
    /// The row of the nearest body, or of the first body.
    pub row: Row,
}

/// A body that comes near.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Near {
    /// The body.
    pub part: PartId,
    /// All that stands against the body.
    pub refusals: Vec<Refusal>,
}

/// One rule refuses one part at one end; both facts in the words of the rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The rule.
    pub rule: Rule,
    /// Kind of the part.
    pub kind: Kind,
    /// Code of the part.
    pub part: String,
    /// The part's fact: `is rated 350 A`.
    pub has: String,
    /// What the end wants of the part: `needs 400 A`.
    pub wants: String,
    /// Both facts at once, in short: `350 A is below 400 A`.
    pub reason: String,
    /// Circuit of the end.
    pub circuit: String,
    /// Where the part stands.
    pub part_row: Row,
    /// Where the circuit stands.
    pub end_row: Row,
}
