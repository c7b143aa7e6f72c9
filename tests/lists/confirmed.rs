//! Confirmations in every layout: one that says the order agrees, and what is changed in it
//! is told and nothing else.

use crate::layout::{Amounts, Style};
use crate::letter::{Counts, Said, counts, file, recipe};
use crate::shop::{SUPPLIER, told};
use crate::yard::{Sold, Yard, offers, prices};
use couplet::lists::recipe::Purpose;
use couplet::study::letter::Confirmed;
use fastrand::Rng;
use jiff::civil::{Date, date};
use rust_decimal::Decimal;

const LAYOUTS: usize = 60;
const ORDERED: Date = date(2026, 1, 2);

struct Case {
    yard: Yard,
    ordered: Vec<Sold>,
    style: Style,
    counts: Counts,
    rng: Rng,
}

fn case(seed: usize) -> Case {
    let mut style = Style::of(seed);
    if style.amounts == Amounts::CommaSpaces {
        style.amounts = Amounts::CommaDots;
    }
    let counts = counts(&style, seed);
    let mut rng = Rng::with_seed(11_000 + seed as u64);
    let offers = offers(&mut rng, counts != Counts::Pieces);
    let mut yard = Yard::new(&prices(&offers));
    let ordered: Vec<Sold> = offers.into_iter().filter(|_| rng.u32(..3) > 0).collect();
    yard.place(&ordered.iter().collect::<Vec<_>>(), ORDERED);
    yard.recipe(
        Purpose::Confirmation,
        &recipe(SUPPLIER, true, counts, &style),
    );
    Case {
        yard,
        ordered,
        style,
        counts,
        rng,
    }
}

fn said(ordered: &[Sold]) -> Vec<Said> {
    let one = |sold: &Sold| Said {
        sku: sold.sku.clone(),
        pieces: sold.qty,
        pack: sold.pack,
        price: sold.price,
        lead: sold.lead_days,
    };
    ordered.iter().map(one).collect()
}

impl Case {
    fn confirmed(&mut self, lines: &[Said], of: &str) -> Confirmed {
        let (name, bytes) = file(lines, true, self.counts, &self.style, &mut self.rng);
        self.yard.lay(name, &bytes);
        let letter = self.yard.letter(name, Purpose::Confirmation);
        let letter = letter.unwrap_or_else(|error| panic!("{of}\n{}", told(&error)));
        let confirmed = self.yard.desk.confirmed(&letter, None, date(2026, 1, 9));
        confirmed.unwrap_or_else(|error| panic!("{of}\n{}", told(&error)))
    }
}

#[test]
fn what_is_as_ordered_agrees_and_what_is_not_is_told() {
    for seed in 0..LAYOUTS {
        let mut case = case(seed);
        let of = format!("seed {seed}: {:?} {:?}", case.counts, case.style);
        let lines = said(&case.ordered);
        let all = case.confirmed(&lines, &of);
        assert!(all.agrees(), "{of}\n{all:?}");
        assert_eq!(
            (all.confirmed, all.compared.len()),
            (lines.len(), 1),
            "{of}"
        );
        assert!(all.compared[0].is_placed, "{of}");

        // One dearer, one less, one later, one missing, one that was not ordered.
        let mut other = lines.clone();
        case.rng.shuffle(&mut other);
        let dated = other.iter().position(|line| line.lead.is_some()).unwrap();
        other.swap(0, dated);
        let day = other[0].sku.clone();
        other[0].lead = other[0].lead.map(|days| days + 7);
        let dear = other[1].clone();
        other[1].price += Decimal::ONE;
        let less = other[2].clone();
        other[2].pieces += other[2].pack;
        let gone = other.remove(3);
        other.push(Said {
            sku: "X-1".into(),
            pieces: 5,
            pack: 1,
            price: Decimal::ONE,
            lead: None,
        });
        let differs = case.confirmed(&other, &of);
        assert!(!differs.agrees(), "{of}");
        let mut is: Vec<_> = differs
            .differences
            .iter()
            .map(|d| (d.what, d.sku.clone(), d.change.clone()))
            .collect();
        is.sort();
        let more = format!("+{}", less.pack);
        assert_eq!(
            is,
            [
                ("day", day, "+7".to_owned()),
                ("price", dear.sku, "+1.00".to_owned()),
                ("quantity", less.sku, more),
            ],
            "{of}"
        );
        let missing: Vec<_> = differs.missing.iter().map(|m| (&m.sku, m.qty)).collect();
        assert_eq!(missing, [(&gone.sku, gone.pieces)], "{of}");
        let strangers: Vec<_> = differs.not_ordered.iter().map(|s| &s.article).collect();
        assert_eq!(strangers, ["X-1"], "{of}");
    }
}
