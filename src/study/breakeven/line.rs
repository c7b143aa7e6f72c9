//! What one plan costs when the price of one part is multiplied by a factor.
//!
//! Without thresholds the cost is a straight line. Where a supplier that the part
//! is bought from ships free above an amount or has a least order, the line is
//! straight piece by piece, and below a least order there is no cost.

use crate::catalog::{PartId, SupplierId};
use crate::fit::Fit;
use crate::input::Input;
use crate::model::{Solution, worth};
use rust_decimal::Decimal;
use std::collections::BTreeMap;

/// The cost of a plan over the price factor of a part, in the project's currency.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// What does not depend on the price.
    fixed: Decimal,
    /// Goods of the part with duty at factor 1.
    slope: Decimal,
    /// One for each supplier that the plan buys from.
    tolls: Vec<Toll>,
}

/// What a supplier's thresholds do.
#[derive(Debug, Clone)]
struct Toll {
    /// Other goods there, in its currency.
    other: Decimal,
    /// Goods of the part there at factor 1, in its currency.
    part: Decimal,
    /// Shipping, in the project's currency.
    shipping: Decimal,
    free_over: Option<Decimal>,
    min_order: Option<Decimal>,
}

impl Toll {
    fn goods(&self, factor: Decimal) -> Decimal {
        self.other + self.part * factor
    }

    /// Shipping at a factor; none below the least order.
    fn at(&self, factor: Decimal) -> Option<Decimal> {
        let goods = self.goods(factor);
        if self.min_order.is_some_and(|least| goods < least) {
            return None;
        }
        Some(self.shipping_at(factor))
    }

    fn shipping_at(&self, factor: Decimal) -> Decimal {
        let is_free = self
            .free_over
            .is_some_and(|over| self.goods(factor) >= over);
        if is_free {
            Decimal::ZERO
        } else {
            self.shipping
        }
    }

    /// Factors where a threshold is reached.
    fn knots(&self) -> impl Iterator<Item = Decimal> {
        let free = self.free_over.filter(|_| !self.shipping.is_zero());
        let limits = [free, self.min_order].into_iter().flatten();
        limits.filter_map(|limit| (limit - self.other).checked_div(self.part))
    }
}

impl Line {
    /// The line of a plan; its purchases stay as they are.
    pub(super) fn new(input: &Input, fit: &Fit, part: PartId, solution: &Solution) -> Line {
        let mut goods: BTreeMap<SupplierId, (Decimal, Decimal)> = BTreeMap::new();
        for &(id, packs) in &solution.purchases {
            let offer = input.catalog.offer(id);
            let qty = packs * offer.pack;
            let price = offer
                .break_at(qty)
                .map_or(Decimal::ZERO, |b| b.unit_price.0);
            let (other, of_part) = goods.entry(offer.supplier).or_default();
            let sum = if offer.part == part { of_part } else { other };
            *sum += price * Decimal::from(qty);
        }
        let mut line = Line {
            fixed: worth(input, fit, solution).total.0,
            slope: Decimal::ZERO,
            tolls: Vec::new(),
        };
        for (id, (other, part)) in goods {
            let supplier = input.catalog.supplier(id);
            let rate = input
                .settings
                .rate(&supplier.currency)
                .unwrap_or(Decimal::ONE);
            let duty = Decimal::ONE + supplier.duty_percent.0 / Decimal::ONE_HUNDRED;
            let toll = Toll {
                other,
                part,
                shipping: supplier.shipping.0 * rate,
                free_over: supplier.free_over.map(|m| m.0),
                min_order: supplier.min_order.map(|m| m.0),
            };
            line.slope += part * duty * rate;
            line.fixed -= toll.shipping_at(Decimal::ONE);
            line.tolls.push(toll);
        }
        line.fixed -= line.slope;
        line
    }

    /// The cost at a factor; none where the plan can't be ordered.
    pub(super) fn at(&self, factor: Decimal) -> Option<Decimal> {
        let mut cost = self.fixed + self.slope * factor;
        for toll in &self.tolls {
            cost += toll.at(factor)?;
        }
        Some(cost)
    }

    /// True where a threshold is reached within a distance of a factor, so that the
    /// cost jumps there, or the plan can be ordered on one side alone.
    pub(super) fn jumps_near(&self, factor: Decimal, distance: Decimal) -> bool {
        let mut knots = self.tolls.iter().flat_map(Toll::knots);
        knots.any(|knot| (knot - factor).abs() <= distance)
    }

    /// The straight piece that holds around a factor, as cost at 0 and slope.
    fn piece(&self, factor: Decimal) -> Option<(Decimal, Decimal)> {
        let tolls = self.tolls.iter().map(|toll| toll.at(factor));
        let tolls: Option<Decimal> = tolls.sum();
        Some((self.fixed + tolls?, self.slope))
    }
}

/// Where a plan stops being the cheapest of those known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Crossing {
    /// The factor; the plan is beaten just beyond it.
    pub(super) factor: Decimal,
    /// The place of the line that beats the plan; none where the plan can't be
    /// ordered any more and no other plan can.
    pub(super) by: Option<usize>,
}

/// The factor nearest to 1, on the way to `reach`, beyond which one of the
/// lines is below `line`.
pub(super) fn nearest(line: &Line, others: &[Line], reach: Decimal) -> Option<Crossing> {
    let inside = |x: &Decimal| (*x - Decimal::ONE) * (*x - reach) < Decimal::ZERO;
    let all = std::iter::once(line).chain(others);
    let mut knots: Vec<Decimal> = all
        .flat_map(|l| l.tolls.iter().flat_map(Toll::knots))
        .filter(inside)
        .chain([Decimal::ONE, reach])
        .collect();
    knots.sort_by_key(|x| (*x - Decimal::ONE).abs());
    knots.dedup();
    let pieces = knots.iter().zip(knots.iter().skip(1));
    pieces
        .filter_map(|(&near, &far)| on_piece(line, others, near, far))
        .next()
}

/// The crossing between two factors with no threshold between them.
fn on_piece(line: &Line, others: &[Line], near: Decimal, far: Decimal) -> Option<Crossing> {
    let middle = (near + far) / Decimal::TWO;
    let value = |(at_zero, slope): (Decimal, Decimal), x: Decimal| at_zero + slope * x;
    let Some(own) = line.piece(middle) else {
        let rivals = others.iter().enumerate();
        let costs = rivals.filter_map(|(i, l)| l.piece(middle).map(|p| (value(p, middle), i)));
        return Some(Crossing {
            factor: near,
            by: costs.min().map(|(_, i)| i),
        });
    };
    let mut best: Option<(Decimal, Decimal, usize)> = None;
    for (i, other) in others.iter().enumerate() {
        let Some(piece) = other.piece(middle) else {
            continue;
        };
        let (first, last) = (
            value(piece, near) - value(own, near),
            value(piece, far) - value(own, far),
        );
        let beaten_at = if first < -GRAIN {
            near
        } else if last < -GRAIN {
            near + (far - near) * (first.max(Decimal::ZERO) / (first.max(Decimal::ZERO) - last))
        } else {
            continue;
        };
        let key = ((beaten_at - near).abs(), value(piece, far), i);
        if best.as_ref().is_none_or(|b| key < *b) {
            best = Some(key);
        }
    }
    best.map(|(distance, _, i)| Crossing {
        factor: if far > near {
            near + distance
        } else {
            near - distance
        },
        by: Some(i),
    })
}

/// Less than this is no difference: a millionth of a hundredth.
const GRAIN: Decimal = Decimal::from_parts(1, 0, 0, false, 8);

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub fn dec(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    pub fn straight(fixed: &str, slope: &str) -> Line {
        Line {
            fixed: dec(fixed),
            slope: dec(slope),
            tolls: Vec::new(),
        }
    }

    pub fn tolled(fixed: &str, part: &str, toll: (&str, Option<&str>, Option<&str>)) -> Line {
        let (shipping, free_over, min_order) = toll;
        let mut line = straight(fixed, part);
        line.tolls.push(Toll {
            other: Decimal::ZERO,
            part: dec(part),
            shipping: dec(shipping),
            free_over: free_over.map(dec),
            min_order: min_order.map(dec),
        });
        line
    }

    fn three() -> Decimal {
        dec("3")
    }

    #[test]
    fn lines_cross_where_they_cost_the_same() {
        // 10 + 10 f meets 22 + 4 f at f = 2, and 13 + 8 f at 1.5.
        let own = straight("10", "10");
        let crossing = |others: &[Line]| nearest(&own, others, three());
        let at = |factor, by| {
            Some(Crossing {
                factor: dec(factor),
                by: Some(by),
            })
        };
        assert_eq!(crossing(&[straight("22", "4")]), at("2", 0));
        assert_eq!(
            crossing(&[straight("22", "4"), straight("13", "8")]),
            at("1.5", 1)
        );
        assert_eq!(crossing(&[straight("40", "4")]), None);
        // Downwards steeper ones win: 5 + 16 f meets it at 5/6.
        let down = nearest(
            &own,
            &[straight("4", "22"), straight("22", "4")],
            Decimal::ZERO,
        );
        assert_eq!(down, at("0.5", 0));
    }

    #[test]
    fn of_lines_through_one_point_the_cheapest_beyond_it_counts() {
        // All meet 10 + 10 f at 2; beyond it 24 + 3 f is the cheapest. Below 0.5,
        // where 5 + 20 f and 3 + 24 f meet 10 + 10 f, the cheapest is 3 + 24 f.
        let own = straight("10", "10");
        let by = |others: &[(&str, &str)], reach| {
            let others: Vec<Line> = others.iter().map(|o| straight(o.0, o.1)).collect();
            let found = nearest(&own, &others, reach).unwrap();
            (found.factor, others[found.by.unwrap()].slope)
        };
        let mut up = [("22", "4"), ("24", "3"), ("18", "6")];
        let mut down = [("5", "20"), ("3", "24"), ("7", "16")];
        for _ in 0..3 {
            up.rotate_left(1);
            down.rotate_left(1);
            assert_eq!(by(&up, three()), (dec("2"), dec("3")));
            assert_eq!(by(&down, Decimal::ZERO), (dec("0.5"), dec("24")));
        }
        // A nearer one comes first, however dear it is further on.
        assert_eq!(by(&[("24", "3"), ("11", "9.5")], three()).1, dec("3"));
        assert_eq!(by(&[("24", "3"), ("10.95", "9.5")], three()).1, dec("9.5"));
    }

    #[test]
    fn of_plans_that_replace_one_that_ends_the_cheapest_counts() {
        let own = tolled("0", "10", ("0", None, Some("8")));
        let rivals = ["12", "11", "13"].map(|fixed| straight(fixed, "0"));
        let down = nearest(&own, &rivals, Decimal::ZERO).unwrap();
        assert_eq!((down.factor, down.by), (dec("0.8"), Some(1)));
    }

    #[test]
    fn a_jump_is_near_on_both_sides_of_it() {
        let line = tolled("0", "10", ("5", Some("9"), Some("6")));
        for (factor, is_near) in [
            ("0.889", false),
            ("0.89", true),
            ("0.9", true),
            ("0.91", true),
            ("0.911", false),
            ("0.59", true),
            ("1", false),
        ] {
            let found = line.jumps_near(dec(factor), dec("0.01"));
            assert_eq!(found, is_near, "{factor}");
        }
        // Without a fee nothing changes where shipping gets free.
        let free = tolled("0", "10", ("0", Some("9"), None));
        assert!(!free.jumps_near(dec("0.9"), dec("0.01")));
    }

    #[test]
    fn a_least_order_ends_a_plan() {
        let own = tolled("0", "10", ("0", None, Some("8")));
        assert_eq!(own.at(dec("0.8")), Some(dec("8")));
        assert_eq!(own.at(dec("0.79")), None);
        let rival = straight("100", "0");
        let down = nearest(&own, &[rival], Decimal::ZERO).unwrap();
        assert_eq!((down.factor, down.by), (dec("0.8"), Some(0)));
        let alone = nearest(&own, &[], Decimal::ZERO).unwrap();
        assert_eq!((alone.factor, alone.by), (dec("0.8"), None));
    }

    #[test]
    fn free_shipping_lost_is_a_step() {
        let own = tolled("0", "10", ("5", Some("9"), None));
        assert_eq!(own.at(dec("0.9")), Some(dec("9")));
        assert_eq!(own.at(dec("0.89")), Some(dec("13.9")));
        let down = nearest(&own, &[straight("12", "0")], Decimal::ZERO).unwrap();
        assert_eq!(down.factor, dec("0.9"));
        // Upwards the rival reaches free shipping at f = 1.5.
        let own = straight("10", "10");
        let rival = tolled("8", "10", ("9", Some("15"), None));
        assert_eq!(nearest(&own, &[rival], three()).unwrap().factor, dec("1.5"));
    }
}
