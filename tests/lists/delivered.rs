//! Delivery notes in every layout: two notes with parts of an order bring all of it, and the
//! same as booking each line by hand.

use crate::layout::{Amounts, Pack, Style};
use crate::letter::{Counts, Said, counts, file, recipe};
use crate::shop::{SUPPLIER, told};
use crate::yard::{Sold, Yard, offers, prices};
use couplet::lists::recipe::Purpose;
use fastrand::Rng;
use jiff::civil::{Date, date};
use std::collections::BTreeMap;

const LAYOUTS: usize = 60;

const ORDERED: [Date; 2] = [date(2026, 1, 2), date(2026, 2, 3)];
const CAME: [Date; 2] = [date(2026, 2, 20), date(2026, 3, 1)];

struct Case {
    yard: Yard,
    style: Style,
    counts: Counts,
    rng: Rng,
    /// What comes first, and what comes then.
    notes: [Vec<Said>; 2],
}

fn case(seed: usize) -> Case {
    let mut style = Style::of(seed);
    // The supplier bills in euro.
    if style.amounts == Amounts::CommaSpaces {
        style.amounts = Amounts::CommaDots;
    }
    let counts = counts(&style, seed);
    let mut rng = Rng::with_seed(9_000 + seed as u64);
    let offers = offers(&mut rng, counts != Counts::Pieces || seed.is_multiple_of(2));
    let mut yard = Yard::new(&prices(&offers));
    let mut ordered: BTreeMap<String, u64> = BTreeMap::new();
    for on in ORDERED {
        let some = offers.iter().filter(|_| rng.u32(..3) > 0);
        let some: Vec<&Sold> = some.collect();
        yard.place(&some, on);
        for one in some {
            *ordered.entry(one.sku.clone()).or_default() += one.qty;
        }
    }
    let mut notes = [Vec::new(), Vec::new()];
    for one in offers.iter().filter(|one| ordered.contains_key(&one.sku)) {
        let all = ordered[&one.sku];
        // All at once, in whole packs, or any number of pieces.
        let first = match rng.u32(..4) {
            0 => all,
            1 => 0,
            2 => rng.u64(..=all / one.pack) * one.pack,
            _ => rng.u64(..=all),
        };
        for (note, pieces) in notes.iter_mut().zip([first, all - first]) {
            let said = |pieces| Said {
                sku: one.sku.clone(),
                pieces,
                pack: one.pack,
                price: one.price,
                lead: None,
            };
            // Some articles stand twice.
            let twice = if rng.u32(..5) == 0 {
                rng.u64(..=pieces)
            } else {
                0
            };
            note.extend(
                [pieces - twice, twice]
                    .into_iter()
                    .filter(|n| *n > 0)
                    .map(said),
            );
        }
    }
    Case {
        yard,
        style,
        counts,
        rng,
        notes,
    }
}

/// The text of `ordered.csv` after each line was booked by hand.
fn by_hand(yard: &mut Yard, offers: &[(String, String)], note: &[Said], on: Date) -> String {
    for line in note {
        let (part, _) = offers.iter().find(|(_, sku)| *sku == line.sku).unwrap();
        let (supplier, sku) = (Some(SUPPLIER), Some(line.sku.as_str()));
        let one = yard
            .desk
            .delivery_of(part, line.pieces, supplier, sku)
            .unwrap();
        let received = yard.desk.to_receive(&[one], on).unwrap();
        yard.desk.receive(&received).unwrap();
    }
    yard.ordered()
}

#[test]
fn two_notes_bring_all_that_was_ordered() {
    let (mut packs, mut mixed) = (0, 0);
    for seed in 0..LAYOUTS {
        let Case {
            mut yard,
            style,
            counts,
            mut rng,
            notes,
        } = case(seed);
        packs += usize::from(counts == Counts::Packs);
        mixed += usize::from(counts == Counts::Mixed);
        let of = format!("seed {seed}: {counts:?} {style:?}");
        let catalog = &yard.desk.sound().unwrap().catalog;
        let skus = catalog.offers.iter();
        let skus: Vec<(String, String)> = skus
            .map(|o| (catalog.part(o.part).code.clone(), o.sku.clone()))
            .collect();
        let mut hand = Yard {
            desk: yard.desk.clone(),
        };
        yard.recipe(Purpose::Delivery, &recipe(SUPPLIER, false, counts, &style));
        for (note, on) in notes.iter().zip(CAME) {
            let (name, bytes) = file(note, false, counts, &style, &mut rng);
            yard.lay(name, &bytes);
            let letter = yard.letter(name, Purpose::Delivery);
            let letter = letter.unwrap_or_else(|error| panic!("{of}\n{}", told(&error)));
            let pieces: Vec<_> = letter
                .lines
                .iter()
                .map(|line| line.pieces.unwrap())
                .collect();
            let said: Vec<u64> = note.iter().map(|line| line.pieces).collect();
            assert_eq!(pieces, said, "{of}");
            yard.receive(&letter, on);
            assert_eq!(yard.ordered(), by_hand(&mut hand, &skus, note, on), "{of}");
        }
        let open = yard.desk.outstanding(&[], CAME[1]).unwrap();
        assert_eq!(open.lines().count(), 0, "{of}");
        // What has come does not come again.
        let name = if yard.desk.files().is_file("note.xlsx".as_ref()) {
            "note.xlsx"
        } else {
            "note.csv"
        };
        if !notes[1].is_empty() {
            let again = yard.letter(name, Purpose::Delivery).unwrap();
            let error = told(&yard.desk.arrived(&again, CAME[1]).unwrap_err());
            let lines = error.matches("came, but nothing is outstanding").count();
            assert_eq!(lines, notes[1].len(), "{of}\n{error}");
        }
    }
    assert!(packs >= 10 && mixed >= 10, "{packs} {mixed}");
}

#[test]
fn a_proposed_recipe_reads_the_note() {
    let mut told_units = 0;
    for seed in 0..LAYOUTS {
        let Case {
            mut yard,
            style,
            counts,
            mut rng,
            notes,
        } = case(seed);
        let of = format!("seed {seed}: {counts:?} {style:?}");
        let note = notes.iter().max_by_key(|note| note.len()).unwrap();
        let (name, bytes) = file(note, false, counts, &style, &mut rng);
        yard.lay(name, &bytes);
        let draft = yard.proposed(name, Purpose::Delivery);
        let has = |key: &str| draft.remarks.iter().any(|(one, _)| *one == key);
        let mut text = draft.text.clone();
        // What the note does not say, it says that it does not.
        if counts == Counts::Packs {
            assert!(has("quantity.unit"), "{of}\n{text}");
            text = text.replace("unit = \"pieces\"", "unit = \"packs\"");
            assert!(
                text.contains("# LOOK HERE: nothing says whether pieces"),
                "{of}\n{text}"
            );
        } else if style.pack != Pack::None {
            // Cells that say what they count need no remark.
            assert_eq!(
                has("quantity.unit"),
                counts == Counts::Pieces,
                "{of}\n{text}"
            );
            told_units += usize::from(counts == Counts::Mixed);
        }
        if has("decimal") {
            let sign = if style.is_comma() { "comma" } else { "point" };
            text = text.replace("decimal = \"point\"", &format!("decimal = \"{sign}\""));
        }
        yard.recipe(Purpose::Delivery, &text);
        let letter = yard.letter(name, Purpose::Delivery);
        let letter = letter.unwrap_or_else(|error| panic!("{of}\n{text}\n{}", told(&error)));
        let read: Vec<_> = letter
            .lines
            .iter()
            .map(|l| (l.number.clone(), l.pieces))
            .collect();
        let said = note.iter().map(|l| (l.sku.clone(), Some(l.pieces)));
        assert_eq!(read, said.collect::<Vec<_>>(), "{of}\n{text}");
    }
    assert!(told_units >= 8, "{told_units}");
}
