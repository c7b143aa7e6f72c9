//! Questions that take several plans to answer.

pub mod answer;
pub mod breakeven;
pub mod budget;
pub mod frontier;
