//! Plans what to buy for the cable ends of a high-voltage DC conversion.
//!
//! Data goes one way. The modules stand in the order of that flow, and no module
//! knows a module that stands later:
//! `units, diag, limit` → `source, store, book, table, tables` → `convert` → `catalog, project` → `input` → `lists` → `trial` →
//! `fit` → `refusal` → `solve` → `model` → `plan` → `audit` → `study` → `desk` → `report`. The program on top of them
//! is `main.rs` and `cli`.
#![deny(unsafe_code)]
#![warn(missing_docs)]

pub mod diag;
pub mod limit;
pub mod units;

pub mod book;
pub mod source;
pub mod store;
pub mod table;
pub mod tables;

pub mod convert;

pub mod catalog;
pub mod project;

pub mod input;

pub mod lists;

pub mod trial;

pub mod fit;

pub mod refusal;

pub mod solve;

pub mod model;

pub mod plan;

pub mod audit;

pub mod study;

pub mod desk;

pub mod report;
