//! One measured run, and what is made of many.

pub mod child;
pub mod export;
pub mod keep;
pub mod options;
pub mod picture;
pub mod run;
pub mod statistics;
pub mod table;
