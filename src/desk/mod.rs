//! An open project: what was read, and the record that is acted on.

pub mod record;
