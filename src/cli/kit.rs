//! `couplet kit`.

use super::args::{Kit as Args, KitFormat};
use super::error::CliError;
use super::output::Terminal;
use super::paper::{Paper, put};
use couplet::report::{kit, page};
use couplet::study::kit::kits;

/// Shows or writes what goes into each bag.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), CliError> {
    let paper = Paper::read(&args.of, terminal)?;
    let catalog = &paper.input.catalog;
    let kits = kits(&paper.plan).map_err(|error| CliError::Read {
        message: error.to_string(),
        help: "run couplet plan again".to_owned(),
    })?;
    let text = match args.format {
        KitFormat::Table => kit::text(&kits, catalog, terminal.width),
        KitFormat::Csv => (kit::rows(&kits, catalog).csv()).map_err(CliError::output)?,
        KitFormat::Json => kit::json(&kits).map_err(CliError::output)?,
        KitFormat::Html => {
            page::kit(&kits, &paper.plan, catalog, &paper.changed).map_err(CliError::output)?
        }
    };
    put(args.out.as_deref(), &text, terminal)
}
