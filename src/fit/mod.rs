//! Which parts can serve which end: the rules of fit, each in a file of its own.
//!
//! The outcome is a list of classes: ends that differ in nothing that a rule
//! or a price can see, with every body that can serve them and, for each code
//! that a body brings, the ferrules, seals and back shells that go with it.

mod checks;
mod clash;
mod class;
mod classes;
mod code;
mod definition;
mod diameter;
mod end;
mod ends;
mod explain;
mod fact;
mod force;
mod missing;
mod no_set;
mod phrase;
mod place;
mod rules;
mod shelf;
mod survey;
mod unfilled;
mod unfit;

mod attach;
mod attribute;
mod back_shell;
mod colour;
pub mod current;
mod exit;
mod face;
mod ferrule;
pub mod keying;
pub mod mate;
mod net_keys;
mod pin;
mod poles;
mod protection;
mod seal;
pub mod supply;
mod voltage;

pub use class::{Choice, Class, Fit, Identity, Slot};
pub use classes::fit;
pub use end::{End, Side};
pub use ends::ends;
pub use explain::refusals;
pub use force::{force, halves};
pub use missing::Missing;
pub use no_set::{EndName, Group, Kept, Near, NetList, NoSet, NoSetAt, Refusal};
pub(crate) use phrase::{area, count, name, plural};
pub use place::{FITTINGS, Place, places};
pub use rules::{AttributeRule, Rule};
pub use unfit::{MAX_CHOICES, MAX_ENDS, Unfit};
