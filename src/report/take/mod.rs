//! A supplier's list that was taken, for a reader.

mod proposed;
mod tables;
mod text;

pub use proposed::proposed;
pub use tables::changes;
pub use text::text;
