//! How large a workbook may be.

/// Larger workbooks are refused: 64 MiB.
pub const MAX_BYTES: u64 = 64 << 20;
/// Workbooks that unpack to more are refused: 256 MiB.
pub const MAX_UNPACKED: u64 = 256 << 20;
/// Rows of a sheet, at most.
pub const MAX_ROWS: u64 = 500_000;
/// Columns of a sheet, at most.
pub const MAX_COLUMNS: u64 = 200;
/// Cells of a workbook, at most, those before the last one of each row included.
pub const MAX_FIELDS: u64 = 4_000_000;
/// Bytes of text in all cells of a workbook, at most: 256 MiB.
pub const MAX_TEXT: u64 = 256 << 20;
