//! How large a workbook may be.

/// The most bytes of a workbook that is read: 64 MiB. Larger workbooks are refused.
pub const MAX_BYTES: u64 = 64 << 20;
/// The most bytes that a workbook may unpack to: 256 MiB.
pub const MAX_UNPACKED: u64 = 256 << 20;
/// The most rows of a sheet.
pub const MAX_ROWS: u64 = 500_000;
/// The most columns of a sheet.
pub const MAX_COLUMNS: u64 = 200;
/// The most cells of a workbook. Empty cells before the last cell of a row count as well.
pub const MAX_FIELDS: u64 = 4_000_000;
/// The most bytes of text in all cells of a workbook: 256 MiB.
pub const MAX_TEXT: u64 = 256 << 20;
