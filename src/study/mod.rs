//! What can be asked of a plan: pure computations on it and on its project.

pub mod cables;
pub mod keying_map;
pub mod kit;
