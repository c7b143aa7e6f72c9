//! How values stand in cells: what is written for a value, and whether what is
//! read is the value.

use super::write::Value;
use crate::book::cell::reads_as;
use crate::source::SheetRow;
use crate::table::{limits::ANY, parse};

/// How many digits of a number a spreadsheet keeps.
const DIGITS: usize = 15;

/// A value as text.
pub fn text(value: &str) -> Value {
    match value {
        "" => Value::Empty,
        text => Value::Text(text.to_owned()),
    }
}

/// A value in a column of numbers. The value is written as a number where it is a
/// number and the format of its cell shows it as digits, else as text with this
/// decimal sign.
pub fn number(value: &str, format: &str, sign: char) -> Value {
    let reads = |number: f64| same(true, &reads_as(number, format), value);
    let digits = value.chars().filter(char::is_ascii_digit).count();
    let is_number = parse(value, &ANY, false).is_ok()
        && value.starts_with(|c: char| c.is_ascii_digit() || c == '-')
        && digits <= DIGITS
        && is_number_format(format)
        && value.parse().is_ok_and(reads);
    match (is_number, sign) {
        (true, _) => Value::Number(value.to_owned()),
        (false, ',') => text(&value.replacen('.', ",", 1)),
        (false, _) => text(value),
    }
}

/// The decimal sign of numbers that stand as text; the reader allows one decimal sign
/// in a file.
pub fn decimal_sign<'r>(rows: impl Iterator<Item = &'r SheetRow>, numbers: &[usize]) -> char {
    for row in rows {
        for place in numbers.iter().filter(|place| row.mark(**place).is_none()) {
            let cell = row.cells.get(*place).unwrap_or("").trim();
            let word = cell.split_whitespace().next().unwrap_or("");
            let sign = word.chars().find(|c| matches!(c, '.' | ','));
            if let Some(sign) = sign.filter(|_| parse(word, &ANY, true).is_ok()) {
                return sign;
            }
        }
    }
    '.'
}

/// True if what is read is the value; a number may be written in several ways.
pub fn same(is_number: bool, read: &str, value: &str) -> bool {
    if read == value {
        return true;
    }
    let both = (parse(read, &ANY, true), parse(value, &ANY, false));
    let is_equal = matches!(both, (Ok(read), Ok(value)) if read == value);
    is_number && (is_equal || read.replacen(',', ".", 1) == value)
}

/// True if cells of the format show a number as its digits, not as a day or a percentage.
fn is_number_format(format: &str) -> bool {
    let is_plain = format
        .chars()
        .all(|c| matches!(c, '0' | '#' | '.' | ',' | '?'));
    is_plain || format.is_empty() || format.eq_ignore_ascii_case("general")
}
