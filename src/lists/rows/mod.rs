//! The rows of a list as articles with their prices per piece, by a recipe.

mod article;
mod cells;
mod layout;
mod line;
mod share;
mod sign;
mod steps;

pub use article::{Article, Terms, articles};
pub use cells::Trouble;
pub use layout::Layout;
pub use line::{Line, Packs, lines};
pub use sign::Signs;
pub use steps::Step;
