//! `couplet kit`.

use super::args::{Kit as Args, KitFormat};
use super::output::Terminal;
use super::paper;
use couplet::report::{kit, page};
use couplet::study::failure::Failure;

/// Shows or writes what goes into each bag.
pub fn run(args: &Args, terminal: &Terminal) -> Result<(), Failure> {
    let desk = paper::desk(&args.of);
    let target = paper::target(args.out.as_deref(), &desk)?;
    let paper = paper::read(&desk, terminal)?;
    let (kits, catalog) = (paper.kits()?, &paper.input.catalog);
    let copies = paper::copies(&paper, &args.copies)?;
    let text = match args.format {
        KitFormat::Table => kit::text(&kits, &copies, catalog, terminal.width),
        KitFormat::Csv => (kit::rows(&kits, &copies, catalog).csv()).map_err(Failure::output)?,
        KitFormat::Json => kit::json(&kits, &copies).map_err(Failure::output)?,
        KitFormat::Html => {
            paper::on_a_page(kits.bags(&copies).count(), "bag")?;
            let cables = paper.cables()?;
            let of = (paper.plan, catalog, &*cables);
            page::kit(&kits, &copies, of, paper.changed).map_err(Failure::output)?
        }
    };
    target.put(&text, terminal)
}
