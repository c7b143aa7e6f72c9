//! The way to the cells of an Office Open XML workbook, past its guards.

use super::error::BookError;
use super::sheet::Sheet;
use super::{archive, places, xlsx};

/// All sheets, in order.
pub fn sheets_of_xlsx(bytes: &[u8]) -> Result<Vec<Sheet>, BookError> {
    archive::check(bytes)?;
    places::check(bytes)?;
    xlsx::sheets(bytes)
}
