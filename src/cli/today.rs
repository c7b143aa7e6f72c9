//! The day of today.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::Offset;

/// Today by the computer's clock, in UTC: for what the user keeps, never for a record.
pub fn today() -> Date {
    Offset::UTC.to_datetime(Timestamp::now()).date()
}
