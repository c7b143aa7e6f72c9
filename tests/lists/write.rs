//! Writes known offers as a list in a layout, with its recipe.

use crate::known::Known;
use crate::layout::{Amounts, Breaks, Form, Head, Lead, Pack, Stock, Style, Unit};
use fastrand::Rng;
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use rust_xlsxwriter::{Format, Workbook};

/// A list as bytes.
pub struct Written {
    pub name: &'static str,
    pub bytes: Vec<u8>,
    /// The row of each article, by its number; the first of several.
    pub rows: Vec<(String, u64)>,
}

#[derive(Clone)]
pub enum Cell {
    Text(String),
    Number(Decimal),
}

pub fn text(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

/// The list, with articles that are none of ours between those that are.
pub fn list(offers: &[Known], others: &[&str], day: &str, style: &Style, rng: &mut Rng) -> Written {
    let mut grid: Vec<Vec<Cell>> = Vec::new();
    let is_book = style.form == Form::Workbook;
    if style.head == Head::Block {
        grid.push(vec![text("Example North, invented")]);
        grid.push(vec![text("Weg 5, 12345 Ort; Tel. 0 12 34")]);
        grid.push(vec![]);
        grid.push(vec![text(format!("{}: {day}", style.words().valid))]);
        grid.push(vec![]);
    }
    grid.push(headings(style).into_iter().map(text).collect());
    let mut order: Vec<Option<&Known>> = offers.iter().map(Some).collect();
    order.extend(others.iter().map(|_| None));
    rng.shuffle(&mut order);
    let mut others = others.iter();
    let mut rows = Vec::new();
    for one in order {
        match one {
            Some(offer) => {
                rows.push((offer.sku.clone(), grid.len() as u64 + 1));
                grid.extend(article(offer, style, rng));
            }
            None => grid.extend(other(others.next().unwrap(), style, rng)),
        }
        if rng.u32(..8) == 0 {
            grid.push(vec![text("~ next group ~")]);
        }
    }
    let bytes = bytes(&grid, headings(style).len(), style);
    let name = if is_book { "list.xlsx" } else { "list.csv" };
    Written { name, bytes, rows }
}

/// Rows of cells as the file of a layout.
pub fn bytes(grid: &[Vec<Cell>], width: usize, style: &Style) -> Vec<u8> {
    match style.form {
        Form::Workbook => workbook(grid),
        _ => encoded(grid, width, style),
    }
}

/// An article that none of our parts is, with prices of its own.
fn other(sku: &str, style: &Style, rng: &mut Rng) -> Vec<Vec<Cell>> {
    let offer = crate::known::known("", sku, style, rng);
    article(&offer, style, rng)
}

pub fn headings(style: &Style) -> Vec<String> {
    let words = style.words();
    let mut headings = vec![words.article.to_owned(), words.description.to_owned()];
    if style.pack != Pack::None {
        headings.push(words.pack.to_owned());
    }
    if style.breaks == Breaks::Rows {
        headings.push(words.quantity.to_owned());
    }
    headings.extend(prices(style));
    if style.unit == Unit::Column {
        headings.push(words.per.to_owned());
    }
    match style.lead {
        Lead::None => {}
        Lead::Words => headings.push(words.lead.to_owned()),
        Lead::Days => headings.push(format!("{} ({})", words.lead, words.days)),
        Lead::Weeks => headings.push(format!("{} ({})", words.lead, words.weeks)),
    }
    if style.stock != Stock::None {
        headings.push(words.stock.to_owned());
    }
    headings
}

/// The headings of the columns of prices.
fn prices(style: &Style) -> Vec<String> {
    let words = style.words();
    let price = match style.unit {
        Unit::Fixed(1) | Unit::Column => words.price.to_owned(),
        Unit::Fixed(per) => format!("{} {} {per} {}", words.price, words.per_word, words.pieces),
        Unit::Pack => format!("{} / {}", words.price, words.packs),
    };
    match style.breaks {
        Breaks::One | Breaks::Rows => vec![price],
        Breaks::Columns => [1, 10, 50]
            .map(|n| format!("{} {n} {}", words.from, words.pieces))
            .into(),
        Breaks::Ranges => ["1-9", "10-49", "50+"].map(str::to_owned).into(),
        Breaks::Discounts => {
            let counted = if style.pack == Pack::None {
                words.pieces
            } else {
                words.packs
            };
            let discount = |n: u64| format!("{} {} {n} {counted}", words.discount, words.from);
            vec![price, discount(5), discount(20)]
        }
        Breaks::Pairs => (1..=3)
            .flat_map(|n| {
                [
                    format!("{} {n}", words.quantity),
                    format!("{} {n}", words.price),
                ]
            })
            .collect(),
    }
}

/// The rows of an article.
fn article(offer: &Known, style: &Style, rng: &mut Rng) -> Vec<Vec<Cell>> {
    let words = style.words();
    let steps: Vec<(u64, Decimal)> = offer.steps.clone();
    let by_rows = style.breaks == Breaks::Rows;
    let rows = if by_rows { steps.len() } else { 1 };
    let mut out = Vec::new();
    for at in 0..rows {
        let number = if by_rows && at > 0 && rng.bool() {
            ""
        } else {
            &offer.sku
        };
        let mut row = vec![
            text(number),
            text(format!("plug \"{}\" 1/2\", orange", offer.part)),
        ];
        match style.pack {
            Pack::None => {}
            Pack::Number => row.push(number_cell(offer.pack, style)),
            Pack::Words => row.push(text(format!("{} {}", offer.pack, words.pieces))),
        }
        if by_rows {
            row.push(quantity(&steps, at, style, rng));
        }
        row.extend(price_cells(offer, &steps, at, style));
        if style.unit == Unit::Column {
            row.push(text(format!("{} {}", offer.per, words.pieces)));
        }
        row.extend(lead(offer, style));
        row.extend(stock(offer, style, rng));
        out.push(row);
    }
    out
}

fn number_cell(number: u64, style: &Style) -> Cell {
    match style.form {
        Form::Workbook => Cell::Number(number.into()),
        _ => text(number.to_string()),
    }
}

/// A quantity from which a price holds, in some form.
fn quantity(steps: &[(u64, Decimal)], at: usize, style: &Style, rng: &mut Rng) -> Cell {
    let (from, words) = (steps[at].0, style.words());
    let next = steps.get(at + 1).map(|(next, _)| next - 1);
    text(match (rng.u32(..4), next) {
        (0, Some(to)) => format!("{from}-{to}"),
        (1, _) => format!("{} {from} {}", words.from, words.pieces),
        (2, _) => format!("{from}+"),
        _ => from.to_string(),
    })
}

fn price_cells(offer: &Known, steps: &[(u64, Decimal)], at: usize, style: &Style) -> Vec<Cell> {
    let cell = |price: Decimal| amount(price * Decimal::from(offer.per), style);
    let of = |from: u64| {
        steps
            .iter()
            .find(|(n, _)| *n == from)
            .map(|(_, price)| cell(*price))
    };
    match style.breaks {
        Breaks::One | Breaks::Rows => vec![cell(steps[at].1)],
        Breaks::Columns | Breaks::Ranges => {
            [1, 10, 50].map(|from| of(from).unwrap_or(text(""))).into()
        }
        Breaks::Discounts => {
            let mut cells = vec![cell(steps[0].1)];
            cells.extend((0..2).map(|n| {
                offer
                    .discounts
                    .get(n)
                    .map_or(text(""), |d| percent(*d, style))
            }));
            cells
        }
        Breaks::Pairs => (0..3)
            .flat_map(|n| match steps.get(n) {
                Some((from, price)) => [number_cell(*from, style), cell(*price)],
                None => [text(""), text("")],
            })
            .collect(),
    }
}

fn percent(percent: Decimal, style: &Style) -> Cell {
    let shown = format!("{} %", percent.normalize());
    text(if style.is_comma() {
        shown.replace('.', ",")
    } else {
        shown
    })
}

/// An amount as the layout writes it.
pub fn amount(value: Decimal, style: &Style) -> Cell {
    if style.form == Form::Workbook && matches!(style.amounts, Amounts::Comma | Amounts::Point) {
        return Cell::Number(value);
    }
    let mut value = value.normalize();
    if value.scale() < 2 {
        value.rescale(2);
    }
    let plain = value.to_string();
    let (whole, broken) = plain.split_once('.').unwrap();
    let grouped = |mark: &str| in_groups(whole, mark);
    text(match style.amounts {
        Amounts::Comma => format!("{whole},{broken}"),
        Amounts::CommaDots => format!("{},{broken}", grouped(".")),
        Amounts::CommaSpaces => format!("kr {},{broken}", grouped("\u{a0}")),
        Amounts::Point => plain.clone(),
        Amounts::PointCommas => format!("€ {}.{broken}", grouped(",")),
        Amounts::PointMarks => format!("{}.{broken} EUR", grouped("'")),
    })
}

fn in_groups(whole: &str, mark: &str) -> String {
    let digits: Vec<char> = whole.chars().rev().collect();
    let groups: Vec<String> = digits.chunks(3).map(|c| c.iter().rev().collect()).collect();
    groups.into_iter().rev().collect::<Vec<String>>().join(mark)
}

/// A whole number as the layout writes it.
pub fn grouped(number: u64, style: &Style) -> String {
    let mark = match style.amounts {
        Amounts::Comma | Amounts::Point => "",
        Amounts::CommaDots => ".",
        Amounts::CommaSpaces => "\u{a0}",
        Amounts::PointCommas => ",",
        Amounts::PointMarks => "'",
    };
    in_groups(&number.to_string(), mark)
}

fn lead(offer: &Known, style: &Style) -> Option<Cell> {
    let words = style.words();
    let days = offer.lead_days;
    Some(match style.lead {
        Lead::None => return None,
        Lead::Days => number_cell(days.unwrap().into(), style),
        Lead::Weeks => number_cell((days.unwrap() / 7).into(), style),
        Lead::Words => text(match days {
            None => String::new(),
            Some(2) => words.from_stock.to_owned(),
            Some(days) => format!("{} {}", days / 7, words.weeks),
        }),
    })
}

fn stock(offer: &Known, style: &Style, rng: &mut Rng) -> Option<Cell> {
    let words = style.words();
    Some(match (style.stock, offer.stock) {
        (Stock::None, _) => return None,
        (Stock::Number, stock) => number_cell(stock.unwrap(), style),
        (Stock::Words, None) => text(words.yes),
        (Stock::Words, Some(0)) => text(words.no),
        (Stock::Words, Some(n)) if rng.bool() => text(format!("{} ({n})", words.yes)),
        (Stock::Words, Some(n)) => text(format!("> {n}")),
    })
}

fn workbook(grid: &[Vec<Cell>]) -> Vec<u8> {
    let mut book = Workbook::new();
    // A sheet without prices comes first.
    book.add_worksheet()
        .set_name("Cover")
        .unwrap()
        .write(0, 0, "Price list")
        .unwrap();
    let sheet = book.add_worksheet().set_name("Prices 2026").unwrap();
    for (row, cells) in grid.iter().enumerate() {
        let row = row as u32;
        if let ([Cell::Text(title)], true) = (cells.as_slice(), row < 2) {
            sheet
                .merge_range(row, 0, row, 3, title, &Format::new())
                .unwrap();
            continue;
        }
        for (column, cell) in cells.iter().enumerate() {
            let column = column as u16;
            match cell {
                Cell::Text(text) if text.is_empty() => {}
                Cell::Text(text) => drop(sheet.write_string(row, column, text).unwrap()),
                Cell::Number(n) => drop(
                    sheet
                        .write_number(row, column, n.to_f64().unwrap())
                        .unwrap(),
                ),
            }
        }
    }
    book.save_to_buffer().unwrap()
}

fn encoded(grid: &[Vec<Cell>], width: usize, style: &Style) -> Vec<u8> {
    let mut out = String::new();
    for row in grid {
        let mut cells: Vec<String> = row
            .iter()
            .map(|cell| field(cell, style.separator))
            .collect();
        cells.resize(width.max(cells.len()), String::new());
        out.push_str(&cells.join(&style.separator.to_string()));
        out.push_str("\r\n");
    }
    match style.form {
        Form::Utf8 | Form::Workbook => out.into_bytes(),
        Form::Utf8Mark => format!("\u{feff}{out}").into_bytes(),
        Form::Windows1252 => encoding_rs::WINDOWS_1252.encode(&out).0.into_owned(),
        Form::Utf16Le => format!("\u{feff}{out}")
            .encode_utf16()
            .flat_map(u16::to_le_bytes)
            .collect(),
        Form::Utf16Be => format!("\u{feff}{out}")
            .encode_utf16()
            .flat_map(u16::to_be_bytes)
            .collect(),
    }
}

fn field(cell: &Cell, separator: char) -> String {
    let text = match cell {
        Cell::Text(text) => text.clone(),
        Cell::Number(number) => number.to_string(),
    };
    match text.contains([separator, '"', '\n']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text,
    }
}

/// The recipe of a layout, as a user would write it.
pub fn recipe(supplier: &str, style: &Style, parts: &str) -> String {
    let words = style.words();
    let prices = prices(style);
    let mut out = format!("supplier = {supplier:?}\n[file]\n");
    match style.form {
        Form::Workbook => out.push_str("sheet = \"Prices 2026\"\n"),
        Form::Windows1252 => out.push_str("encoding = \"windows-1252\"\n"),
        _ => {}
    }
    out.push_str(&format!(
        "decimal = \"{}\"\n",
        if style.is_comma() { "comma" } else { "point" }
    ));
    out.push_str(&format!(
        "[columns]\narticle = {:?}\ndescription = {:?}\n",
        words.article, words.description
    ));
    let mut column = |is_there: bool, key: &str, heading: &str| {
        if is_there {
            out.push_str(&format!("{key} = {heading:?}\n"));
        }
    };
    column(style.pack != Pack::None, "pack", words.pack);
    column(style.breaks == Breaks::Rows, "quantity", words.quantity);
    let has_price = matches!(style.breaks, Breaks::One | Breaks::Rows | Breaks::Discounts);
    column(has_price, "price", &prices[0]);
    column(style.unit == Unit::Column, "per", words.per);
    let headings = headings(style);
    let lead = headings
        .iter()
        .find(|heading| heading.starts_with(words.lead));
    column(
        style.lead != Lead::None,
        "lead",
        lead.map_or("", String::as_str),
    );
    column(style.stock != Stock::None, "stock", words.stock);
    match style.unit {
        Unit::Fixed(per) => out.push_str(&format!("[price]\nper = {per}\n")),
        Unit::Pack => out.push_str("[price]\nper = \"pack\"\n"),
        Unit::Column => {}
    }
    if style.breaks == Breaks::Discounts && style.pack != Pack::None {
        out.push_str("[quantity]\nbreaks = \"packs\"\n");
    }
    let by_count = |key: &str, all: &[(u64, &String)]| -> String {
        let one = |(from, heading): &(u64, &String)| {
            format!("[[breaks]]\nfrom = {from}\n{key} = {heading:?}\n")
        };
        all.iter().map(one).collect()
    };
    out.push_str(&match style.breaks {
        Breaks::One | Breaks::Rows => String::new(),
        Breaks::Columns | Breaks::Ranges => by_count(
            "price",
            &[(1, &prices[0]), (10, &prices[1]), (50, &prices[2])],
        ),
        Breaks::Discounts => by_count("discount", &[(5, &prices[1]), (20, &prices[2])]),
        Breaks::Pairs => (prices.chunks(2))
            .map(|pair| {
                format!(
                    "[[breaks]]\nfrom_column = {:?}\nprice = {:?}\n",
                    pair[0], pair[1]
                )
            })
            .collect(),
    });
    let unit = match style.lead {
        Lead::Days => "unit = \"days\"\n",
        Lead::Weeks => "unit = \"weeks\"\n",
        _ => "",
    };
    out.push_str(&format!("[lead]\n{unit}from_stock = 2\n"));
    if style.head == Head::Block {
        out.push_str(&format!("[date]\nafter = {:?}\n", words.valid));
    }
    out.push_str(&format!("[parts]\n{parts}"));
    out
}
