//! All that a plan is made from, read and checked.

mod alike;
mod checks;
mod form;
mod load;
mod warnings;

pub use form::{Input, InputFile, PriceList};
pub use load::{
    LoadOptions, Loaded, LoadedCatalog, folder_of, is_project, load, load_catalog, load_settings,
};
