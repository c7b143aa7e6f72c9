//! Where the cells of an Office Open XML workbook say that they stand.
//!
//! The reader of the cells counts rows and columns in 32 bits and does not look
//! whether the numbers fit. So a cell could turn up in another place than it names.

use super::error::BookError;
use quick_xml::events::{BytesStart, Event};
use std::io::{BufReader, Cursor};
use zip::ZipArchive;

/// The most letters of a column and digits of a row: `XFD1048576` is the last cell
/// (ECMA-376, part 1, 18.3.1.4 and 18.3.1.73: 16 384 columns, 1 048 576 rows).
const LETTERS: usize = 3;
const DIGITS: usize = 7;

/// Looks at each part that may be a sheet.
pub fn check(bytes: &[u8]) -> Result<(), BookError> {
    let broken = |error: &dyn ToString| BookError::NotABook(error.to_string());
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|e| broken(&e))?;
    for place in 0..archive.len() {
        let entry = archive.by_index(place).map_err(|e| broken(&e))?;
        let is_xml = |name: &str| name.to_ascii_lowercase().ends_with(".xml");
        if entry.name().is_ok_and(|name| is_xml(&name)) {
            part(BufReader::new(entry))?;
        }
    }
    Ok(())
}

fn part(source: impl std::io::BufRead) -> Result<(), BookError> {
    let mut reader = quick_xml::Reader::from_reader(source);
    reader.config_mut().check_end_names = false;
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(e) | Event::Empty(e)) => element(&e)?,
            Ok(Event::Eof) => return Ok(()),
            Ok(_) => {}
            // A part that is no sheet need not be sound XML.
            Err(_) => return Ok(()),
        }
    }
}

fn element(e: &BytesStart) -> Result<(), BookError> {
    let name = match e.local_name().as_ref() {
        "c" | "row" => "r",
        "dimension" | "mergeCell" | "f" => "ref",
        _ => return Ok(()),
    };
    let Some(said) = e.try_get_attribute(name).ok().flatten() else {
        return Ok(());
    };
    match said.value.split(':').all(is_place) {
        true => Ok(()),
        false => Err(BookError::NotABook(format!(
            "{} is no place in a sheet",
            said.value
        ))),
    }
}

/// True for `A1`, and for `A` and `1`, which stand in a range or a row.
fn is_place(text: &str) -> bool {
    let digits = text.trim_start_matches(|c: char| c.is_ascii_alphabetic());
    let letters = text.len() - digits.len();
    let are_digits = digits.bytes().all(|b| b.is_ascii_digit());
    letters <= LETTERS && digits.len() <= DIGITS && are_digits
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_end_with_the_last_one_of_a_sheet() {
        for place in ["A1", "XFD1048576", "A", "7", "", "xfd9999999"] {
            assert!(is_place(place), "{place}");
        }
        for place in ["AAAA1", "A12345678", "1A", "A-1", "A 1", "\u{c4}1"] {
            assert!(!is_place(place), "{place}");
        }
        assert!(part(&b"<row r='5'><c r='B5'/></row><dimension ref='A1:B2'/>"[..]).is_ok());
        let error = part(&b"<x:c r = 'A4294967297'/>"[..]).unwrap_err();
        assert_eq!(
            error.to_string(),
            "the file is no workbook that can be read: A4294967297 is no place in a sheet"
        );
        assert!(part(&b"<mergeCell ref='A1:ABCDEFGH2'/>"[..]).is_err());
    }
}
