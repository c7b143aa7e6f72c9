//! Prices over time, as the history of a price list has them.

use super::changes::percent;
use crate::catalog::PastPrice;
use crate::units::{Currency, Money, Qty};
use jiff::civil::Date;
use rust_decimal::Decimal;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeMap;

/// A price from some day on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Stage {
    /// The day of the supplier's list; none where it is not known.
    #[schemars(with = "Option<String>", extend("format" = "date"))]
    pub quoted: Option<Date>,
    /// Price of a piece; none where the price is gone from that day on.
    pub unit_price: Option<Money>,
    /// The currency of the price.
    pub currency: Currency,
    /// By how many percent the price changed from the stage before; none where there is no
    /// price before in the same currency, or the price is the same.
    #[schemars(with = "Option<String>")]
    pub percent: Option<Decimal>,
}

/// The price of a break over time.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct Course {
    /// Part code.
    pub part: String,
    /// Supplier by name.
    pub supplier: String,
    /// The supplier's article number; empty where there is none.
    pub sku: String,
    /// From this many pieces on.
    pub min_qty: Qty,
    /// The prices in their order, at least one.
    pub stages: Vec<Stage>,
}

/// The prices of one part or of all, by part, supplier, sku and least quantity.
///
/// The prices of a break stand by day. One without a day stays after the one that is above
/// it in the history.
pub fn courses(past: &[PastPrice], part: Option<&str>) -> Vec<Course> {
    let mut by_place: BTreeMap<_, Vec<&PastPrice>> = BTreeMap::new();
    for one in past {
        if part.is_none_or(|part| part == one.part) {
            by_place.entry(one.of()).or_default().push(one);
        }
    }
    let course = |((part, supplier, sku, min_qty), prices): (_, _)| Course {
        part: str::to_owned(part),
        supplier: str::to_owned(supplier),
        sku: str::to_owned(sku),
        min_qty,
        stages: stages(prices),
    };
    by_place.into_iter().map(course).collect()
}

fn stages(prices: Vec<&PastPrice>) -> Vec<Stage> {
    let mut day = None;
    let mut by_day: Vec<(Option<Date>, &PastPrice)> = Vec::new();
    for one in prices {
        day = one.quoted.or(day);
        by_day.push((day, one));
    }
    by_day.sort_by_key(|(day, _)| *day);
    let mut stages: Vec<Stage> = Vec::new();
    for (_, one) in by_day {
        let before = stages.last().filter(|b| b.currency == one.currency);
        let both = before.and_then(|b| b.unit_price).zip(one.unit_price);
        stages.push(Stage {
            quoted: one.quoted,
            unit_price: one.unit_price,
            currency: one.currency.clone(),
            percent: both.and_then(|(before, after)| percent(before, after)),
        });
    }
    stages
}

#[cfg(test)]
mod tests {
    use super::*;

    fn past(rows: &[(&str, &str, &str)]) -> Vec<PastPrice> {
        let one = |(day, price, currency): &(&str, &str, &str)| PastPrice {
            quoted: day.parse().ok(),
            supplier: "North".into(),
            sku: String::new(),
            part: "P".into(),
            min_qty: 1,
            unit_price: price.parse().ok().map(Money),
            currency: Currency::parse(currency).unwrap(),
        };
        rows.iter().map(one).collect()
    }

    fn told(rows: &[(&str, &str, &str)]) -> Vec<String> {
        let all = courses(&past(rows), None);
        assert_eq!(all.len(), 1);
        let shown = |stage: &Stage| {
            let day = stage.quoted.map_or("?".into(), |day| day.to_string());
            let price = stage
                .unit_price
                .map_or("-".into(), |price| price.to_string());
            let percent = stage.percent.map_or("-".into(), |p| p.to_string());
            format!("{day} {price} {percent}")
        };
        all[0].stages.iter().map(shown).collect()
    }

    #[test]
    fn prices_stand_by_day_and_one_without_a_day_stays_below() {
        let rows = [
            ("2026-04-01", "2", "EUR"),
            ("", "3", "EUR"),
            ("2026-01-01", "4", "EUR"),
            ("2026-04-01", "1", "EUR"),
        ];
        assert_eq!(
            told(&rows),
            [
                "2026-01-01 4.00 -",
                "2026-04-01 2.00 -50.0",
                "? 3.00 50.0",
                "2026-04-01 1.00 -66.7"
            ]
        );
        assert_eq!(
            told(&[("", "0", "EUR"), rows[0]]),
            ["? 0.00 -", "2026-04-01 2.00 -"]
        );
    }

    #[test]
    fn a_change_is_told_between_two_prices_in_one_currency() {
        let rows = [
            ("2026-01-01", "2", "EUR"),
            ("2026-02-01", "gone", "EUR"),
            ("2026-03-01", "4", "EUR"),
            ("2026-04-01", "5", "USD"),
            ("2026-05-01", "5.00", "USD"),
        ];
        let percents: Vec<bool> = told(&rows).iter().map(|t| t.ends_with(" -")).collect();
        assert_eq!(percents, [true; 5]);
    }

    #[test]
    fn a_part_has_its_own_courses_alone() {
        let mut all = past(&[("", "1", "EUR"); 3]);
        all[1].part = "A".into();
        all[2].min_qty = 10;
        let parts = |part| {
            let courses = courses(&all, part);
            let of = |c: &Course| (c.part.clone(), c.min_qty);
            courses.iter().map(of).collect::<Vec<_>>()
        };
        assert_eq!(
            parts(None),
            [("A".into(), 1), ("P".into(), 1), ("P".into(), 10)]
        );
        assert_eq!(parts(Some("A")), [("A".into(), 1)]);
        assert_eq!(parts(Some("a")), []);
    }
}
