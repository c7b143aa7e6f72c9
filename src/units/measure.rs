//! Measured values as decimals with their unit.

use rust_decimal::Decimal;
use std::fmt;

macro_rules! measure {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub Decimal);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!("{}", $unit), self.0.normalize())
            }
        }

        impl From<Decimal> for $name {
            fn from(value: Decimal) -> Self {
                Self(value)
            }
        }
    };
}

measure!(
    /// Electric current in ampere.
    Ampere, " A"
);
measure!(
    /// Voltage in volt.
    Volt, " V"
);
measure!(
    /// Temperature in degrees Celsius.
    Celsius, " °C"
);
measure!(
    /// Length or diameter in millimetre.
    Mm, " mm"
);
measure!(
    /// Conductor area in square millimetre.
    Mm2, " mm²"
);
measure!(
    /// A share of a hundred.
    Percent, " %"
);
