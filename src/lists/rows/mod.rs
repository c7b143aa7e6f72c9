//! The rows of a list as articles with their prices per piece, by a recipe.

mod article;
mod cells;
mod layout;
mod share;

pub use article::{Article, Step, Terms, articles};
pub use cells::Trouble;
pub use layout::Layout;
