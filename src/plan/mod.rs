//! The plan as a record, `plan.json`: what it says, how it is made from a
//! solver's answer, how it is read and written.

mod count;
mod dies;
mod error;
mod exact;
mod file;
mod form;
mod ordered;
mod price;
mod proof;
mod record;

pub use dies::{dies_to_buy, dies_used};
pub use error::PlanError;
pub use file::{MAX_BYTES, ReadError, WriteError, before_path, read, read_from, text, write};
pub use form::{
    Cost, EARLIER, EndRecord, FittingRecord, MachineRecord, Order, OrderLine, OrderedRecord,
    PartRecord, Plan, SCHEMA, Status,
};
pub use proof::Bound;
pub use record::record;
