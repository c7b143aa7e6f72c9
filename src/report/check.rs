//! What was read, in one line.

use super::wording::counted;
use crate::input::Input;
use crate::project::{Cable, Circuit};

/// `8 parts, 9 offers, 1 circuit, 4 ends`; in a purchase with the number of machines, the
/// copies of each counted once.
pub fn summary(input: &Input) -> String {
    let mut items = vec![
        (input.catalog.parts.len() as u64, "part"),
        (input.catalog.offers.len() as u64, "offer"),
    ];
    let machines = input.machines.len() as u64;
    items.extend((machines > 0).then_some((machines, "machine")));
    items.extend([
        (input.circuits.len() as u64, "circuit"),
        (input.circuits.iter().map(ends).sum(), "end"),
    ]);
    counts(&items)
}

/// `1 error, 2 warnings`: counted nouns with commas between.
pub fn counts(items: &[(u64, &str)]) -> String {
    let words: Vec<String> = items.iter().map(|(n, noun)| counted(*n, noun)).collect();
    words.join(", ")
}

/// The ends of a circuit that take a mated pair.
fn ends(circuit: &Circuit) -> u64 {
    let places = [&circuit.from, &circuit.to]
        .into_iter()
        .filter(|t| t.attach.is_some())
        .count() as u64;
    match circuit.cable {
        Cable::Single => places * circuit.conductors.len() as u64,
        Cable::Multi => places,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    #[test]
    fn counts_what_was_read() {
        let mut input = sample::input();
        assert_eq!(summary(&input), "8 parts, 9 offers, 1 circuit, 4 ends");
        input.circuits[0].cable = Cable::Multi;
        assert_eq!(summary(&input), "8 parts, 9 offers, 1 circuit, 2 ends");
        input.circuits[0].to.attach = None;
        assert_eq!(summary(&input), "8 parts, 9 offers, 1 circuit, 1 end");
        input.circuits.clear();
        assert_eq!(summary(&input), "8 parts, 9 offers, 0 circuits, 0 ends");
    }
}
