//! The course of one solve: a plan, a bound, guidance, proof, ties.

mod close;
mod course;
mod frame;
mod known;
mod proof;
mod wide;

pub(super) use frame::Run;
