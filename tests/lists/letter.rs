//! Writes a delivery note or a confirmation in a layout, with its recipe.

use crate::layout::{Form, Head, Pack, Style};
use crate::write::{Cell, amount, bytes, grouped, text};
use fastrand::Rng;
use rust_decimal::Decimal;

/// A line of the file.
#[derive(Debug, Clone)]
pub struct Said {
    pub sku: String,
    pub pieces: u64,
    pub pack: u64,
    pub price: Decimal,
    pub lead: Option<u32>,
}

/// What a quantity counts in all of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    Pieces,
    /// Packs, as the recipe says.
    Packs,
    /// Now pieces, now packs, as each cell says.
    Mixed,
}

/// Which of these goes with a layout.
pub fn counts(style: &Style, seed: usize) -> Counts {
    match (style.pack, seed % 3) {
        (Pack::None, _) => Counts::Pieces,
        (_, 0) => Counts::Packs,
        (_, 1) => Counts::Mixed,
        _ => Counts::Pieces,
    }
}

fn headings(style: &Style, has_prices: bool) -> Vec<String> {
    let words = style.words();
    let mut headings = vec![
        "Pos".to_owned(),
        words.article.into(),
        words.description.into(),
    ];
    if style.pack != Pack::None {
        headings.push(words.pack.into());
    }
    headings.push(words.quantity.into());
    if has_prices {
        headings.push(words.price.into());
        headings.push(words.lead.into());
    }
    headings
}

/// The file, with rows that are no lines: titles, a repeated header, a sum.
pub fn file(
    lines: &[Said],
    has_prices: bool,
    counts: Counts,
    style: &Style,
    rng: &mut Rng,
) -> (&'static str, Vec<u8>) {
    let head = headings(style, has_prices);
    let mut grid: Vec<Vec<Cell>> = Vec::new();
    if style.head == Head::Block {
        grid.push(vec![text("Example North, invented")]);
        grid.push(vec![text("Weg 5, 12345 Ort; Tel. 0 12 34")]);
        grid.push(vec![]);
    }
    grid.push(head.iter().map(|h| text(h.as_str())).collect());
    for (n, line) in lines.iter().enumerate() {
        if rng.u32(..6) == 0 {
            grid.push(vec![text("~ next group ~")]);
        }
        if rng.u32(..9) == 0 {
            grid.push(head.iter().map(|h| text(h.as_str())).collect());
        }
        grid.push(row(n, line, has_prices, counts, style, rng));
    }
    let name = if style.form == Form::Workbook {
        "note.xlsx"
    } else {
        "note.csv"
    };
    (name, bytes(&grid, head.len(), style))
}

fn row(
    n: usize,
    line: &Said,
    has_prices: bool,
    counts: Counts,
    style: &Style,
    rng: &mut Rng,
) -> Vec<Cell> {
    let words = style.words();
    let mut row = vec![text((10 * n).to_string()), text(line.sku.as_str())];
    row.push(text(format!("what \"{}\" is, 1/2\"", line.sku)));
    match style.pack {
        Pack::None => {}
        Pack::Number => row.push(text(line.pack.to_string())),
        Pack::Words => row.push(text(format!("{} {}", line.pack, words.pieces))),
    }
    let packs = line.pieces / line.pack;
    let is_whole = packs * line.pack == line.pieces;
    row.push(text(match counts {
        Counts::Packs if is_whole => packs.to_string(),
        Counts::Packs => format!("{} {}", grouped(line.pieces, style), words.pieces),
        Counts::Mixed if is_whole && rng.bool() => format!("{packs} {}", words.packs),
        Counts::Mixed => format!("{} {}", grouped(line.pieces, style), words.pieces),
        Counts::Pieces => grouped(line.pieces, style),
    }));
    if has_prices {
        row.push(amount(line.price, style));
        row.push(text(line.lead.map_or(String::new(), |days| {
            format!("{} {}", days / 7, words.weeks)
        })));
    }
    row
}

/// The recipe of a layout, as a user would write it.
pub fn recipe(supplier: &str, has_prices: bool, counts: Counts, style: &Style) -> String {
    let words = style.words();
    let mut out = format!("supplier = {supplier:?}\n[file]\n");
    match style.form {
        Form::Workbook => out.push_str("sheet = \"Prices 2026\"\n"),
        Form::Windows1252 => out.push_str("encoding = \"windows-1252\"\n"),
        _ => {}
    }
    let decimal = if style.is_comma() { "comma" } else { "point" };
    out.push_str(&format!("decimal = \"{decimal}\"\n[columns]\n"));
    let mut column = |key: &str, heading: &str| out.push_str(&format!("{key} = {heading:?}\n"));
    column("article", words.article);
    column("description", words.description);
    column("quantity", words.quantity);
    if style.pack != Pack::None {
        column("pack", words.pack);
    }
    if has_prices {
        column("price", words.price);
        column("lead", words.lead);
    }
    if counts == Counts::Packs {
        out.push_str("[quantity]\nunit = \"packs\"\n");
    }
    out
}
