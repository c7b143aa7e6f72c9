//! `couplet kit`.

use super::args::{Kit as Args, KitFormat};
use super::error::CliError;
use super::output::Terminal;
use super::paper::{self, put};
use couplet::report::{kit, page};

/// Shows or writes what goes into each bag.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let desk = paper::desk(&args.of);
    let paper = paper::read(&desk, terminal)?;
    let (kits, catalog) = (paper.kits()?, &paper.input.catalog);
    let text = match args.format {
        KitFormat::Table => kit::text(&kits, catalog, terminal.width),
        KitFormat::Csv => (kit::rows(&kits, catalog).csv()).map_err(CliError::output)?,
        KitFormat::Json => kit::json(&kits).map_err(CliError::output)?,
        KitFormat::Html => {
            page::kit(&kits, paper.plan, catalog, paper.changed).map_err(CliError::output)?
        }
    };
    put(args.out.as_deref(), &text, terminal)
}
