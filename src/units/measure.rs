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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_its_unit_and_no_idle_zeros() {
        let shown = |text: &str| Ampere(text.parse().unwrap()).to_string();
        assert_eq!(shown("350"), "350 A");
        assert_eq!(shown("350.50"), "350.5 A");
        assert_eq!(shown("0.0"), "0 A");
        assert_eq!(Mm2(Decimal::new(700, 1)).to_string(), "70 mm²");
        assert_eq!(Celsius(Decimal::from(-40)).to_string(), "-40 °C");
    }

    #[test]
    fn compares_by_value() {
        assert_eq!(Mm(Decimal::new(190, 1)), Mm(Decimal::from(19)));
        assert!(Mm(Decimal::new(1899, 2)) < Mm(Decimal::from(19)));
    }
}
