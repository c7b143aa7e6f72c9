//! A workbook is a zip archive. What the archive unpacks to is counted before the workbook is read.

use super::error::BookError;
use super::limits::MAX_UNPACKED;
use std::io::{self, Cursor, Read};
use zip::ZipArchive;

/// The most files in a workbook; no workbook of a user has so many.
const MAX_ENTRIES: usize = 10_000;

/// How a workbook begins that is protected by a password. Such a workbook is a compound
/// file (MS-CFB, section 2.2).
const COMPOUND: [u8; 8] = [0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1];

/// Unpacks the whole archive into nothing, and stops at the limit. What the archive
/// says of its own sizes is not relied on.
pub fn check(bytes: &[u8]) -> Result<(), BookError> {
    if bytes.starts_with(&COMPOUND) {
        return Err(BookError::Password);
    }
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(no_book)?;
    if archive.len() > MAX_ENTRIES {
        return Err(BookError::NotABook("it holds too many files".to_owned()));
    }
    let mut left = MAX_UNPACKED;
    for place in 0..archive.len() {
        let entry = archive.by_index(place).map_err(no_book)?;
        if entry.size() > left {
            return Err(BookError::Unpacked);
        }
        let unpacked = io::copy(&mut entry.take(left + 1), &mut io::sink()).map_err(no_book)?;
        left = left.checked_sub(unpacked).ok_or(BookError::Unpacked)?;
    }
    Ok(())
}

fn no_book(error: impl ToString) -> BookError {
    BookError::NotABook(error.to_string())
}
