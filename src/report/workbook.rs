//! The orders of a plan as a workbook: a sheet for each supplier, one of the
//! circuits, one of the totals. Numbers are numbers; every text is stored as
//! text, so that no spreadsheet runs it.

use super::ends::on_half;
use super::order::{description, kind};
use super::plan::verdict;
use crate::catalog::Catalog;
use crate::convert::{MAX_CELL, undated};
use crate::plan::{EndRecord, Order, Plan};
use crate::units::{Currency, Money};
use rust_decimal::prelude::ToPrimitive;
use rust_xlsxwriter::{Color, Format, FormatBorder, Workbook, Worksheet, XlsxError};

/// A4: ECMA-376 part 1, 18.3.1.63, paper size 9.
const A4: u8 = 9;

/// The bytes of the `.xlsx` file; the same plan gives the same bytes.
/// Descriptions come from the catalog where it has the part.
///
/// # Errors
/// What the writer says: more rows than a sheet takes.
pub fn orders(plan: &Plan, catalog: &Catalog) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    book.set_properties(&undated()?);
    let mut names = Names::default();
    // These two keep their names, whatever a supplier is called.
    let (circuits, totals) = (names.take("circuits"), names.take("totals"));
    for order in &plan.orders {
        let sheet = book.add_worksheet();
        sheet.set_name(names.take(&order.supplier))?;
        order_sheet(order, catalog).write(sheet)?;
    }
    let sheet = book.add_worksheet();
    sheet.set_name(circuits)?;
    circuits_sheet(plan).write(sheet)?;
    let sheet = book.add_worksheet();
    sheet.set_name(totals)?;
    totals_sheet(plan).write(sheet)?;
    book.save_to_buffer()
}

/// A cell.
enum Cell {
    Text(String),
    Count(u64),
    Money(Money, Currency),
}

/// A sheet before it is written.
struct Sheet {
    /// Lines above the table.
    title: Vec<String>,
    header: Vec<&'static str>,
    rows: Vec<Vec<Cell>>,
    /// Rows below the table, set off by a line.
    sums: Vec<Vec<Cell>>,
    landscape: bool,
}

fn text(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

fn order_sheet(order: &Order, catalog: &Catalog) -> Sheet {
    let money = |amount: Money| Cell::Money(amount, order.currency.clone());
    let rows = order.lines.iter().map(|line| {
        vec![
            text(&line.sku),
            text(&line.part),
            text(kind(catalog, &line.part)),
            text(description(catalog, &line.part)),
            Cell::Count(line.qty),
            Cell::Count(line.packs),
            money(line.unit_price),
            money(line.line_total),
        ]
    });
    let sum = |name: &str, amount: Money| {
        let mut row = vec![text(name)];
        row.extend((0..6).map(|_| text("")));
        row.push(money(amount));
        row
    };
    Sheet {
        title: vec![format!(
            "Order from {} in {}",
            order.supplier, order.currency
        )],
        header: vec![
            "sku",
            "part",
            "kind",
            "description",
            "qty",
            "packs",
            "unit_price",
            "line_total",
        ],
        rows: rows.collect(),
        sums: vec![
            sum("goods", order.goods),
            sum("duty", order.duty),
            sum("shipping", order.shipping),
            sum("total", order.total),
        ],
        landscape: true,
    }
}

fn circuits_sheet(plan: &Plan) -> Sheet {
    Sheet {
        title: vec![format!("Circuits of {}", plan.project)],
        header: vec![
            "circuit",
            "net",
            "end",
            "location",
            "gauge",
            "interface",
            "key",
            "receptacle",
            "receptacle_ferrule",
            "receptacle_seal",
            "receptacle_back_shell",
            "plug",
            "plug_ferrule",
            "plug_seal",
            "plug_back_shell",
        ],
        rows: plan.ends.iter().map(end_row).collect(),
        sums: Vec::new(),
        landscape: true,
    }
}

fn end_row(end: &EndRecord) -> Vec<Cell> {
    let own = [
        &end.circuit,
        &end.net,
        &end.end,
        &end.location,
        &end.gauge,
        &end.interface,
        &end.key,
    ];
    let mut row: Vec<Cell> = own.into_iter().map(text).collect();
    for (half, body) in [("receptacle", &end.receptacle), ("plug", &end.plug)] {
        row.push(text(body));
        row.extend(on_half(end, half).into_iter().map(text));
    }
    row
}

fn totals_sheet(plan: &Plan) -> Sheet {
    let own = |amount: Money| Cell::Money(amount, plan.currency.clone());
    let cost = &plan.cost;
    let terms = [
        ("goods", cost.goods),
        ("duty", cost.duty),
        ("shipping", cost.shipping),
        ("dies", cost.dies),
        ("lines", cost.lines),
    ];
    let sums = [
        ("total", cost.total),
        ("tax", cost.tax),
        ("total with tax", cost.total_with_tax),
    ];
    let mut rows: Vec<Vec<Cell>> = plan
        .orders
        .iter()
        .map(|order| {
            let total = Cell::Money(order.total, order.currency.clone());
            vec![text(format!("order from {}", order.supplier)), total]
        })
        .collect();
    rows.extend(terms.map(|(name, amount)| vec![text(name), own(amount)]));
    Sheet {
        title: vec![plan.project.clone(), verdict(plan)],
        header: vec!["term", "amount"],
        rows,
        sums: sums
            .map(|(name, amount)| vec![text(name), own(amount)])
            .into_iter()
            .collect(),
        landscape: false,
    }
}

impl Sheet {
    fn write(&self, sheet: &mut Worksheet) -> Result<(), XlsxError> {
        let bold = Format::new().set_bold();
        for (row, line) in (0..).zip(&self.title) {
            sheet.write_string_with_format(row, 0, cut(line), &bold)?;
        }
        // A blank line sets the title off.
        let header = u32::try_from(self.title.len()).unwrap_or(0) + 1;
        let head = bold
            .set_background_color(Color::RGB(0xE6_E6_E6))
            .set_border_bottom(FormatBorder::Thin);
        for (column, name) in (0..).zip(&self.header) {
            let title = name.replace('_', " ");
            sheet.write_string_with_format(header, column, title, &head)?;
        }
        sheet.set_freeze_panes(header + 1, 0)?;
        let mut row = header + 1;
        for cells in &self.rows {
            write_row(sheet, row, cells, Format::new())?;
            row += 1;
        }
        for (place, cells) in self.sums.iter().enumerate() {
            let last = place + 1 == self.sums.len();
            let mut format = Format::new();
            if place == 0 {
                format = format.set_border_top(FormatBorder::Thin);
            }
            write_row(
                sheet,
                row,
                cells,
                if last { format.set_bold() } else { format },
            )?;
            row += 1;
        }
        self.widths(sheet)?;
        self.print(sheet, header, row.saturating_sub(1))
    }

    /// All of it on A4, as many pages long as it takes, the header on each.
    fn print(&self, sheet: &mut Worksheet, header: u32, last: u32) -> Result<(), XlsxError> {
        let columns = u16::try_from(self.header.len()).unwrap_or(1);
        sheet.set_print_area(0, 0, last.max(header), columns.saturating_sub(1))?;
        sheet.set_repeat_rows(header, header)?;
        sheet.set_paper_size(A4);
        sheet.set_print_fit_to_pages(1, 0);
        sheet.set_footer("&L&A&R&P / &N");
        if self.landscape {
            sheet.set_landscape();
        }
        Ok(())
    }

    fn widths(&self, sheet: &mut Worksheet) -> Result<(), XlsxError> {
        for (place, name) in self.header.iter().enumerate() {
            let cells = self.rows.iter().chain(&self.sums);
            let widest = cells
                .filter_map(|row| row.get(place))
                .map(Cell::width)
                .max()
                .unwrap_or(0);
            let width = widest.max(name.len()).min(WIDEST) as f64 + 2.0;
            sheet.set_column_width(u16::try_from(place).unwrap_or(u16::MAX), width)?;
        }
        Ok(())
    }
}

/// Longer texts run on over what is beside them, or are cut off by it.
const WIDEST: usize = 50;

impl Cell {
    fn width(&self) -> usize {
        match self {
            Cell::Text(text) => text.chars().take(WIDEST).count(),
            Cell::Count(count) => count.to_string().len(),
            // With separators of thousands and the currency.
            Cell::Money(amount, _) => amount.to_string().len() + 6,
        }
    }
}

fn write_row(
    sheet: &mut Worksheet,
    row: u32,
    cells: &[Cell],
    format: Format,
) -> Result<(), XlsxError> {
    for (column, cell) in (0..).zip(cells) {
        match cell {
            Cell::Text(text) if text.is_empty() => {
                sheet.write_blank(row, column, &format)?;
            }
            Cell::Text(text) => {
                sheet.write_string_with_format(row, column, cut(text), &format)?;
            }
            Cell::Count(count) => {
                sheet.write_number_with_format(row, column, *count as f64, &format)?;
            }
            Cell::Money(amount, currency) => {
                let format = format.clone().set_num_format(money_format(currency));
                // A number of at most fifteen digits is the same in binary and back.
                let amount = amount.0.to_f64().unwrap_or(f64::NAN);
                sheet.write_number_with_format(row, column, amount, &format)?;
            }
        }
    }
    Ok(())
}

/// Two decimals at least, more where the amount has them. Only a real code goes
/// into the format: a record could hold anything.
fn money_format(currency: &Currency) -> String {
    match Currency::parse(&currency.0) {
        Some(code) => format!("#,##0.00#### [${code}]"),
        None => "#,##0.00####".to_owned(),
    }
}

/// A cell takes 32767 UTF-16 units: limits of the common spreadsheet programs.
fn cut(text: &str) -> String {
    if text.encode_utf16().count() <= MAX_CELL {
        return text.to_owned();
    }
    let mut left = MAX_CELL - 1;
    let fits = text.chars().take_while(|c| {
        let fits = c.len_utf16() <= left;
        left = left.saturating_sub(c.len_utf16());
        fits
    });
    fits.chain(['…']).collect()
}

/// Names of sheets: at most 31 characters, no two equal in upper or lower case.
#[derive(Default)]
struct Names {
    taken: Vec<String>,
}

/// A sheet's name is at most so long, in UTF-16 units.
const LONGEST_NAME: usize = 31;

impl Names {
    fn take(&mut self, wanted: &str) -> String {
        let mut stem = String::new();
        for c in wanted.chars() {
            let bad = c.is_control() || "[]:*?/\\'".contains(c);
            stem.push(if bad { '-' } else { c });
        }
        let stem = match stem.trim() {
            "" => "supplier".to_owned(),
            stem if stem.eq_ignore_ascii_case("history") => format!("{stem}-"),
            stem => stem.to_owned(),
        };
        let mut name = shortened(&stem, LONGEST_NAME);
        let mut count = 1;
        while self.taken.contains(&name.to_lowercase()) {
            count += 1;
            let ending = format!("-{count}");
            name = shortened(&stem, LONGEST_NAME - ending.len()) + &ending;
        }
        self.taken.push(name.to_lowercase());
        name
    }
}

fn shortened(text: &str, units: usize) -> String {
    let mut left = units;
    text.chars()
        .take_while(|c| {
            let fits = c.len_utf16() <= left;
            left = left.saturating_sub(c.len_utf16());
            fits
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheet_names_are_valid_and_distinct() {
        let mut names = Names::default();
        let long = "x".repeat(40);
        let emoji = "🔌".repeat(20);
        assert_eq!(names.take("totals"), "totals");
        let wanted = ["A/B", "a:b", "", "History", &long, &long, &emoji, "Totals"];
        let got = wanted.map(|name| names.take(name));
        assert_eq!(got[..4], ["A-B", "a-b-2", "supplier", "History-"]);
        assert_eq!(got[4], "x".repeat(31));
        assert_eq!(got[5], format!("{}-2", "x".repeat(29)));
        assert_eq!(got[6], "🔌".repeat(15));
        assert_eq!(got[7], "Totals-2");
        for name in &got {
            assert!(Worksheet::new().set_name(name).is_ok(), "{name}");
        }
    }

    #[test]
    fn texts_are_cut_at_the_limit_of_a_cell() {
        let fits = "a".repeat(MAX_CELL);
        assert_eq!(cut(&fits), fits);
        let long = cut(&format!("{fits}b"));
        assert_eq!(long.encode_utf16().count(), MAX_CELL);
        assert!(long.ends_with("a…"));
    }

    #[test]
    fn only_a_currency_code_goes_into_a_format() {
        assert_eq!(money_format(&Currency("EUR".into())), "#,##0.00#### [$EUR]");
        assert_eq!(money_format(&Currency("]@;\"".into())), "#,##0.00####");
    }
}
