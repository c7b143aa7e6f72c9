//! What an audit can find, in words.

use crate::catalog::{Fitting, Half, Kind};
use std::fmt;

/// An end as a record names it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct EndName {
    /// Circuit.
    pub circuit: String,
    /// Net.
    pub net: String,
    /// `from` or `to`.
    pub side: String,
}

/// A line of an order.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LineName {
    /// Supplier.
    pub supplier: String,
    /// Part code.
    pub part: String,
    /// The supplier's code for what is bought; may be empty.
    pub sku: String,
}

/// What may share a mating face and keying position: a net on one fused branch.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct NetName {
    /// The whole net of an end.
    pub net: String,
    /// The branch; may be empty.
    pub branch: String,
}

/// A field of the record that should say something else.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fact {
    /// What the field tells of.
    pub of: String,
    /// The field as the record names it.
    pub field: &'static str,
    /// What the field says.
    pub found: String,
    /// What the field should say.
    pub want: String,
}

/// A rule of fit.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Rule {
    /// Equal interface and key.
    Mate,
    /// As many contacts as conductors.
    Poles,
    /// Derated current.
    Current,
    /// Rated voltage.
    Voltage,
    /// What a half fixes to.
    Attach,
    /// How the cable leaves.
    Exit,
    /// Barrel and conductor area.
    Ferrule,
    /// Rear and cable diameter.
    Seal,
    /// Rear and cable diameter of the shell.
    BackShell,
    /// Protection codes.
    Protection,
    /// Colour.
    Colour,
    /// Mating face that the end asks for.
    Interface,
    /// Keying position that the end is pinned to.
    Pin,
    /// Keying positions that the project gives to the net.
    NetKeys,
    /// The user's own attribute of this name.
    Attribute(String),
}

/// One thing that is wrong with a plan.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Finding {
    /// Schema, project, currency or day.
    Head(Fact),
    /// The plan was made from other files.
    Inputs,
    /// Status, bound or gap.
    Proof(Fact),

    /// A machine that stands twice, has no name, or is never built.
    WrongMachine(String),
    /// The machines are not those of the purchase, or not so many.
    Machines {
        /// What the record is for: `4 × ferry, 1 × tender`, or `one project`.
        found: String,
        /// What is to be built, in the same words.
        want: String,
        /// The file that says so; none where that is a project.
        file: Option<String>,
    },
    /// An end without a set.
    MissingEnd(EndName),
    /// An end served twice.
    DoubledEnd(EndName),
    /// An end that no circuit has.
    UnknownEnd(EndName),
    /// The first end that does not stand in the order of the circuits.
    EndsOutOfOrder(EndName),
    /// Location, gauge, key or interface of an end.
    End(EndName, Fact),
    /// A rule of fit is broken; the text tells why.
    Broken(EndName, Rule, String),
    /// An end without a receptacle where the device has none.
    MissingReceptacle(EndName),
    /// An end with a receptacle where the device has its own.
    UnneededReceptacle(EndName),
    /// Different nets, or branches of a net, share an interface and key.
    KeyingClash {
        /// Machine; empty in a project.
        machine: String,
        /// Location; none where the rule holds for the whole machine.
        location: Option<String>,
        /// Mating face.
        interface: String,
        /// Keying position.
        key: String,
        /// Nets that share it with their branches, sorted.
        nets: Vec<NetName>,
    },

    /// A part that no catalog file has.
    UnknownPart(String),
    /// A part in the place of another kind.
    WrongKind {
        /// Part code.
        part: String,
        /// What should stand there.
        want: Kind,
    },
    /// A part that the project leaves out.
    ExcludedPart(String),
    /// A fitting that is needed but not there.
    MissingFitting(EndName, Half, Fitting),
    /// A fitting that the body does not take, or has in its box.
    UnneededFitting(EndName, Half, Fitting),
    /// More than one entry of a kind on one body.
    DoubledFitting(EndName, Half, Fitting),
    /// Pieces of a fitting on one body.
    FittingQty(EndName, Half, Fitting, Fact),
    /// A word that is no half or no kind of fitting.
    UnknownWord(EndName, String),
    /// Fittings that are not in the order of halves and kinds.
    FittingsOutOfOrder(EndName),

    /// A fitted part that is not listed.
    MissingPart(String),
    /// A listed part that nothing uses.
    UnfittedPart(String),
    /// A part listed twice.
    DoubledPart(String),
    /// The first part that is not in order.
    PartsOutOfOrder(String),
    /// Kind or a count of a part.
    Part(Fact),
    /// Bought, ordered and on hand do not reach what is needed.
    Short {
        /// Part code.
        part: String,
        /// Pieces fitted and spare.
        need: u128,
        /// Pieces on hand, ordered and bought.
        have: u128,
    },

    /// A supplier that is not listed.
    UnknownSupplier(String),
    /// A supplier that the project leaves out.
    ExcludedSupplier(String),
    /// Two orders to one supplier.
    DoubledOrder(String),
    /// The first order that is not in order.
    OrdersOutOfOrder(String),
    /// An order without lines.
    EmptyOrder(String),
    /// Currency or an amount of an order.
    Order(Fact),
    /// Goods below the least order.
    BelowMinOrder(String),
    /// A part is bought that nothing uses.
    UnfittedLine(LineName),
    /// A part twice under one sku in one order.
    DoubledLine(LineName),
    /// The first line of an order that is not in order.
    LinesOutOfOrder(LineName),
    /// The supplier does not sell the part.
    NoOffer(LineName),
    /// The supplier sells the part under other skus alone.
    NoSuchSku(LineName),
    /// Delivery takes longer than the project allows.
    TooSlow(LineName),
    /// Fewer pieces than the supplier sells.
    BelowLeast(LineName),
    /// More pieces than the supplier has.
    AboveStock(LineName),
    /// Not a whole number of packs.
    BrokenPack(LineName),
    /// Packs, price or total of a line.
    Line(LineName, Fact),

    /// More distinct parts than allowed.
    TooManyVariants {
        /// Distinct parts fitted.
        found: usize,
        /// Distinct parts allowed.
        limit: u32,
    },
    /// More suppliers than allowed.
    TooManySuppliers {
        /// Suppliers with an order.
        found: usize,
        /// Suppliers allowed.
        limit: u32,
    },
    /// A currency without a rate.
    NoRate(String),
    /// A term of the total, or the total.
    Cost(Fact),
    /// A number beyond what can be checked.
    TooLarge(String),
}

impl fmt::Display for EndName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "circuit {}, {}, {} end",
            self.circuit, self.net, self.side
        )
    }
}

impl fmt::Display for LineName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "order to {}, part {}", self.supplier, self.part)?;
        match self.sku.as_str() {
            "" => Ok(()),
            sku => write!(f, ", sku {sku}"),
        }
    }
}

/// `HV+ of branch drive, HV+ of no branch, HV-`: a branch is named where there is one,
/// and where the same net has another.
fn nets_in_words(nets: &[NetName]) -> String {
    let words = nets.iter().map(|NetName { net, branch }| {
        let is_only = nets.iter().filter(|other| other.net == *net).count() == 1;
        match branch.as_str() {
            "" if is_only => net.clone(),
            "" => format!("{net} of no branch"),
            branch => format!("{net} of branch {branch}"),
        }
    });
    words.collect::<Vec<String>>().join(", ")
}

impl fmt::Display for Fact {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Fact {
            of,
            field,
            found,
            want,
        } = self;
        write!(f, "{of}: {field} is {found}, not {want}")
    }
}

impl Rule {
    /// The rule's short name; of an attribute, the attribute's.
    pub fn word(&self) -> &str {
        match self {
            Rule::Mate => "mate",
            Rule::Poles => "poles",
            Rule::Current => "current",
            Rule::Voltage => "voltage",
            Rule::Attach => "attach",
            Rule::Exit => "exit",
            Rule::Ferrule => "ferrule",
            Rule::Seal => "seal",
            Rule::BackShell => "back shell",
            Rule::Protection => "protection",
            Rule::Colour => "colour",
            Rule::Interface => "interface",
            Rule::Pin => "pin",
            Rule::NetKeys => "net keys",
            Rule::Attribute(name) => name,
        }
    }
}

impl fmt::Display for Rule {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Rule::Attribute(name) => f.pad(&format!("attribute {name}")),
            _ => f.pad(self.word()),
        }
    }
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use Finding::*;
        match self {
            Head(fact) | Proof(fact) | Part(fact) | Order(fact) | Cost(fact) => fact.fmt(f),
            Line(_, fact) | End(_, fact) | FittingQty(_, _, _, fact) => fact.fmt(f),
            Inputs => write!(
                f,
                "the input files are not those that the plan was made from"
            ),
            WrongMachine(machine) => {
                write!(
                    f,
                    "machine {machine:?}: stands twice, or has no name, or no count"
                )
            }
            Machines { found, want, file } => {
                write!(f, "the plan is for {found}, but {want} is to be built")?;
                file.iter().try_for_each(|file| write!(f, " ({file})"))
            }
            MissingEnd(end) => write!(f, "{end}: has no set"),
            DoubledEnd(end) => write!(f, "{end}: is served twice"),
            UnknownEnd(end) => write!(f, "{end}: no circuit has this end"),
            EndsOutOfOrder(end) => write!(f, "{end}: is not in the order of the circuits"),
            Broken(end, rule, why) => write!(f, "{end}: {rule}: {why}"),
            MissingReceptacle(end) => write!(f, "{end}: has no receptacle"),
            UnneededReceptacle(end) => {
                write!(f, "{end}: has a receptacle, but the device has its own")
            }
            KeyingClash {
                machine,
                location,
                interface,
                key,
                nets,
            } => {
                let nets = nets_in_words(nets);
                if !machine.is_empty() {
                    write!(f, "machine {machine}, ")?;
                }
                match location {
                    Some(location) => write!(f, "location {location}: nets {nets}")?,
                    None => write!(f, "nets {nets}")?,
                }
                write!(f, " share interface {interface}, key {key:?}")
            }
            UnknownPart(part) => write!(f, "part {part}: is not in the catalog"),
            WrongKind { part, want } => write!(f, "part {part}: stands in the place of a {want}"),
            ExcludedPart(part) => write!(f, "part {part}: exclude_parts excludes it"),
            MissingFitting(end, half, kind) => write!(f, "{end}: the {half} has no {kind}"),
            UnneededFitting(end, half, kind) => write!(f, "{end}: the {half} needs no {kind}"),
            DoubledFitting(end, half, kind) => {
                write!(
                    f,
                    "{end}: the {half} has more than one entry for its {kind}"
                )
            }
            UnknownWord(end, word) => {
                write!(f, "{end}: {word:?} is no half and no kind of fitting")
            }
            FittingsOutOfOrder(end) => write!(f, "{end}: its fittings are not in order"),
            _ => self.fmt_purchase(f),
        }
    }
}

impl Finding {
    /// The findings about counts, orders and limits.
    fn fmt_purchase(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use Finding::*;
        match self {
            MissingPart(part) => write!(f, "part {part}: is fitted but not listed"),
            UnfittedPart(part) => write!(f, "part {part}: is listed but not fitted"),
            DoubledPart(part) => write!(f, "part {part}: is listed twice"),
            PartsOutOfOrder(part) => write!(f, "part {part}: is not in the order of codes"),
            Short { part, need, have } => {
                write!(f, "part {part}: {need} are needed, {have} are there")
            }
            UnknownSupplier(name) => write!(f, "supplier {name}: is not listed"),
            ExcludedSupplier(name) => write!(f, "supplier {name}: exclude_suppliers excludes it"),
            DoubledOrder(name) => write!(f, "supplier {name}: has two orders"),
            OrdersOutOfOrder(name) => write!(f, "supplier {name}: is not in the order of names"),
            EmptyOrder(name) => write!(f, "supplier {name}: its order has no lines"),
            BelowMinOrder(name) => write!(f, "supplier {name}: goods are below the least order"),
            UnfittedLine(line) => write!(f, "{line}: nothing uses the part"),
            DoubledLine(line) => write!(f, "{line}: the part stands there twice"),
            LinesOutOfOrder(line) => write!(f, "{line}: is not in the order of codes"),
            NoOffer(line) => write!(f, "{line}: the supplier does not sell the part"),
            NoSuchSku(line) => {
                let what = "the supplier does not sell the part under this sku";
                write!(f, "{line}: {what}")
            }
            TooSlow(line) => write!(f, "{line}: delivery takes longer than is allowed"),
            BelowLeast(line) => write!(f, "{line}: is below the least quantity"),
            AboveStock(line) => write!(f, "{line}: is more than the stock"),
            BrokenPack(line) => write!(f, "{line}: is not a whole number of packs"),
            TooManyVariants { found, limit } => {
                write!(f, "{found} distinct parts are fitted, {limit} are allowed")
            }
            TooManySuppliers { found, limit } => {
                write!(f, "{found} suppliers have an order, {limit} are allowed")
            }
            NoRate(currency) => write!(f, "currency {currency}: has no rate"),
            TooLarge(what) => write!(f, "{what}: is too large to be checked"),
            // Every other finding is worded above.
            _ => Ok(()),
        }
    }
}

/// A finding's fact, if a field does not say what it should.
pub(super) fn differs(
    of: impl fmt::Display,
    field: &'static str,
    found: impl fmt::Display,
    want: impl fmt::Display,
) -> Option<Fact> {
    let (found, want) = (found.to_string(), want.to_string());
    (found != want).then(|| Fact {
        of: of.to_string(),
        field,
        found,
        want,
    })
}
