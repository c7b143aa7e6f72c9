//! All that a plan is made from, read and checked.

mod alike;
mod checks;
mod form;
mod load;
mod machines;
mod reading;
mod warnings;

pub use form::{Input, InputFile, PriceList};
pub use load::{
    LoadOptions, Loaded, LoadedCatalog, is_project, load, load_catalog, load_settings,
    machine_folders,
};
pub use reading::folder_of;
