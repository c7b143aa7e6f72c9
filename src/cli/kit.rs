//! `couplet kit`.

use super::args::{Kit as Args, KitFormat};
use super::output::Terminal;
use super::paper::{self, put};
use couplet::report::{kit, page};
use couplet::study::failure::Failure;

/// Shows or writes what goes into each bag.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let paper = paper::read(&desk, terminal)?;
    let (kits, catalog) = (paper.kits()?, &paper.input.catalog);
    let text = match args.format {
        KitFormat::Table => kit::text(&kits, catalog, terminal.width),
        KitFormat::Csv => (kit::rows(&kits, catalog).csv()).map_err(Failure::output)?,
        KitFormat::Json => kit::json(&kits).map_err(Failure::output)?,
        KitFormat::Html => {
            page::kit(&kits, paper.plan, catalog, paper.changed).map_err(Failure::output)?
        }
    };
    put(args.out.as_deref(), &text, terminal)
}
