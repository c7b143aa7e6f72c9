//! A supplier's file as rows of texts, whatever its form.

mod decode;
mod heading;
mod list;
mod split;

pub use decode::{Told, named_encoding};
pub use heading::{Found, Heading, find, plain};
pub use list::{Hints, List, Page, open};
pub use split::{SEPARATORS, Separator};
