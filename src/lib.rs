//! Plans what to buy for the cable ends of a high-voltage DC conversion.
//!
//! Data goes one way; the modules stand in the order of that flow, and none
//! knows one that stands after it:
//! `units, diag` → `catalog, project` → `input` → `fit` → `model` → `solve` →
//! `plan` → `audit` → `report` → `cli`.
#![forbid(unsafe_code)]
#![warn(missing_docs)]

pub mod diag;
pub mod units;

pub mod catalog;
pub mod project;

pub mod input;

pub mod fit;

pub mod model;

pub mod plan;

pub mod report;
