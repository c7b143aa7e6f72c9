//! Prices divided exactly, and rounded once.

use rust_decimal::Decimal;

/// Decimals that a price list holds.
const DECIMALS: u32 = 6;

/// A price per piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Share {
    /// The price, with at most six decimals.
    pub price: Decimal,
    /// True if nothing was rounded.
    pub is_exact: bool,
}

/// `value` times `factor` divided by `pieces`, rounded half up to six decimals; none for
/// numbers beyond what is kept. Neither may be below zero.
pub fn share(value: Decimal, factor: Decimal, pieces: u64) -> Option<Share> {
    let (value, factor) = (value.normalize(), factor.normalize());
    let above = value.mantissa().checked_mul(factor.mantissa())?;
    let above = above.checked_mul(power(DECIMALS)?)?;
    let scale = value.scale().checked_add(factor.scale())?;
    let below = i128::from(pieces).checked_mul(power(scale)?)?;
    if below <= 0 || above < 0 {
        return None;
    }
    let (whole, rest) = (above / below, above % below);
    let up = i128::from(rest.checked_mul(2)? >= below);
    let price = Decimal::try_from_i128_with_scale(whole.checked_add(up)?, DECIMALS).ok()?;
    Some(Share {
        price: price.normalize(),
        is_exact: rest == 0,
    })
}

fn power(exponent: u32) -> Option<i128> {
    10i128.checked_pow(exponent)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(value: &str, factor: &str, pieces: u64) -> (String, bool) {
        let number = |text: &str| text.parse::<Decimal>().unwrap();
        let share = share(number(value), number(factor), pieces).unwrap();
        (share.price.to_string(), share.is_exact)
    }

    #[test]
    fn shares_are_exact_or_rounded_half_up() {
        assert_eq!(of("12.50", "1", 100), ("0.125".into(), true));
        assert_eq!(of("1", "1", 3), ("0.333333".into(), false));
        assert_eq!(of("2", "1", 3), ("0.666667".into(), false));
        assert_eq!(of("100", "0.95", 1), ("95".into(), true));
        // 0.0000005 is half of the last decimal.
        assert_eq!(of("0.000001", "1", 2), ("0.000001".into(), false));
        assert_eq!(of("0.00000049", "1", 1), ("0".into(), false));
        assert_eq!(of("0", "1", 7), ("0".into(), true));
    }

    #[test]
    fn what_is_beyond_is_none() {
        let large: Decimal = "79228162514264337593543950335".parse().unwrap();
        assert_eq!(share(large, large, 1), None);
        assert_eq!(share(Decimal::ONE, Decimal::ONE, 0), None);
    }
}
