//! Conductor gauges.

use super::Mm2;
use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use std::fmt;
use std::str::FromStr;

/// A conductor's gauge as it is named: a metric size or an AWG number.
///
/// `70 mm2` and `2/0 AWG` are two gauges, even where one ferrule takes both.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gauge {
    /// Nominal area in mm².
    Metric(Mm2),
    /// American wire gauge by its number `n`, with 1/0 = 0, 2/0 = -1, 3/0 = -2, 4/0 = -3.
    Awg(i8),
}

/// Why a text is no gauge.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum GaugeError {
    /// A number without its unit.
    #[error("a bare number could be mm² or AWG")]
    Bare,
    /// A text that names no size known here.
    #[error("the gauge is not known")]
    Unknown,
}

impl Gauge {
    /// The conductor's area in mm².
    ///
    /// ASTM B258 gives the diameter of an AWG number: `d = 0.127 mm × 92^((36 − n)/39)`.
    /// The area is π/4 d², rounded to four decimals.
    ///
    /// ```
    /// use couplet::units::Gauge;
    /// let gauge: Gauge = "2/0 AWG".parse().unwrap();
    /// assert_eq!(gauge.area().to_string(), "67.4309 mm²");
    /// ```
    pub fn area(self) -> Mm2 {
        match self {
            Gauge::Metric(area) => area,
            Gauge::Awg(n) => {
                let d = 0.127 * 92f64.powf((36.0 - f64::from(n)) / 39.0);
                let area = std::f64::consts::FRAC_PI_4 * d * d;
                Mm2(Decimal::from_f64(area).unwrap_or_default().round_dp(4))
            }
        }
    }
}

impl fmt::Display for Gauge {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = match self {
            Gauge::Metric(area) => format!("{} mm2", area.0.normalize()),
            Gauge::Awg(n) if *n <= 0 => format!("{}/0 AWG", 1 - n),
            Gauge::Awg(n) => format!("{n} AWG"),
        };
        f.pad(&text)
    }
}

impl FromStr for Gauge {
    type Err = GaugeError;

    /// Reads `70 mm2`, `70 mm²`, `2/0 AWG`, `6 awg`. AWG goes from 4/0 to 40, an area
    /// from above 0 to 10000 mm². A comma is not read as a decimal sign here.
    fn from_str(text: &str) -> Result<Self, GaugeError> {
        let text = text.trim();
        let lower = text.to_lowercase();
        if let Some(size) = lower
            .strip_suffix("mm2")
            .or_else(|| lower.strip_suffix("mm²"))
        {
            let area = plain_number(size.trim()).ok_or(GaugeError::Unknown)?;
            let sane = area > Decimal::ZERO && area <= Decimal::from(10_000);
            return sane
                .then(|| Gauge::Metric(Mm2(area.normalize())))
                .ok_or(GaugeError::Unknown);
        }
        if let Some(size) = lower.strip_suffix("awg") {
            return awg_number(size.trim())
                .map(Gauge::Awg)
                .ok_or(GaugeError::Unknown);
        }
        if plain_number(&text.replace(',', ".")).is_some() || awg_number(text).is_some() {
            return Err(GaugeError::Bare);
        }
        Err(GaugeError::Unknown)
    }
}

/// Reads digits with at most one point, and not at the end. A sign or a grouping is refused.
fn plain_number(text: &str) -> Option<Decimal> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.') && !text.ends_with('.');
    plain.then(|| Decimal::from_str_exact(text).ok()).flatten()
}

/// `2/0` is -1, `6` is 6.
fn awg_number(size: &str) -> Option<i8> {
    if !size.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    if let Some(zeros) = size.strip_suffix("/0") {
        let zeros: i8 = zeros.trim().parse().ok()?;
        return (1..=4).contains(&zeros).then_some(1 - zeros);
    }
    let n: i8 = size.parse().ok()?;
    (1..=40).contains(&n).then_some(n)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<String, GaugeError> {
        text.parse::<Gauge>().map(|gauge| gauge.to_string())
    }

    #[test]
    fn reads_both_systems_and_writes_them_back() {
        for (text, shown) in [
            ("70 mm2", "70 mm2"),
            ("70mm²", "70 mm2"),
            (" 70.0 MM2 ", "70 mm2"),
            ("0.75 mm2", "0.75 mm2"),
            (".5 mm2", "0.5 mm2"),
            ("10000 mm2", "10000 mm2"),
            ("2/0 AWG", "2/0 AWG"),
            ("2 /0 awg", "2/0 AWG"),
            ("4/0AWG", "4/0 AWG"),
            ("6 awg", "6 AWG"),
            ("40 AWG", "40 AWG"),
        ] {
            assert_eq!(read(text), Ok(shown.to_owned()), "{text}");
            assert_eq!(read(shown), Ok(shown.to_owned()), "{shown}");
        }
    }

    #[test]
    fn a_bare_number_is_told_from_nonsense() {
        for text in ["70", "2/0", "6", "16,5", "16.5", ".5", ",5", "0"] {
            assert_eq!(read(text), Err(GaugeError::Bare), "{text}");
        }
        for text in [
            "",
            "mm2",
            "AWG",
            "0 mm2",
            ". mm2",
            "70. mm2",
            "-70 mm2",
            "+70 mm2",
            "10000.1 mm2",
            "7_0 mm2",
            "1e2 mm2",
            "NaN mm2",
            "5/0 AWG",
            "0/0 AWG",
            "0 AWG",
            "41 AWG",
            "+6 AWG",
            "-1 AWG",
            "2.5 AWG",
            "70 sqmm",
            "big",
        ] {
            assert_eq!(read(text), Err(GaugeError::Unknown), "{text}");
        }
    }

    #[test]
    fn equal_sizes_are_equal_however_written() {
        let plain: Gauge = "70 mm2".parse().unwrap();
        assert_eq!(plain, "70.000 mm²".parse().unwrap());
        assert_ne!(plain, "2/0 AWG".parse().unwrap());
    }

    #[test]
    fn a_larger_number_is_a_thinner_wire() {
        let areas: Vec<Mm2> = (-3..=40).map(|n| Gauge::Awg(n).area()).collect();
        assert!(areas.windows(2).all(|pair| pair[0] > pair[1]));
        assert!(areas.iter().all(|area| area.0 > Decimal::ZERO));
    }
}
