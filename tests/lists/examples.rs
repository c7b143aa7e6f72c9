//! The lists below `examples/price-lists`, with the recipes of the catalog.

use couplet::desk::take::{Asked, Outcome, ReadList, Shelf};
use couplet::lists::change::Changes;
use couplet::source::Files;
use std::path::Path;

/// Supplier, list, and how many prices, breaks, terms, new and gone articles change.
const LISTS: &[(&str, &str, [usize; 5])] = &[
    (
        "Quillmoor Supply",
        "quillmoor-2026-q2.csv",
        [172, 0, 0, 0, 0],
    ),
    (
        "Sablethorn Direct",
        "sablethorn-2026-q2.xlsx",
        [29, 0, 0, 0, 0],
    ),
    (
        "Tarnwick Parts",
        "tarnwick-2026-q2.txt",
        [194, 138, 0, 0, 0],
    ),
    (
        "Quillmoor Supply",
        "quillmoor-2026-q3.csv",
        [205, 0, 0, 0, 3],
    ),
    (
        "Sablethorn Direct",
        "sablethorn-2026-q3.xlsx",
        [36, 0, 0, 0, 1],
    ),
    ("Tarnwick Parts", "tarnwick-2026-q3.txt", [336, 0, 0, 0, 1]),
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn take(files: &mut Files, supplier: &str, list: &str) -> ReadList {
    let asked = Asked {
        place: root().join("examples/orchard-tractor"),
        supplier: supplier.into(),
        list: root().join("examples/price-lists").join(list),
        dated: None,
        out: None,
    };
    let shelf = Shelf::open(files.clone(), asked).unwrap();
    let read = shelf
        .read()
        .unwrap_or_else(|error| panic!("{list}: {}", crate::shop::told(&error)));
    let Outcome::Read(read) = read else {
        panic!("{list}: no recipe");
    };
    files.lay(&read.path, &read.text);
    *read
}

fn counts(changes: &Changes) -> [usize; 5] {
    let Changes {
        prices,
        breaks,
        terms,
        new,
        gone,
        ..
    } = changes;
    [
        prices.len(),
        breaks.len(),
        terms.len(),
        new.len(),
        gone.len(),
    ]
}

#[test]
fn each_list_is_read_by_its_recipe() {
    let mut files = Files::on_disk();
    let mut found = Vec::new();
    for (supplier, list, _) in LISTS {
        let read = take(&mut files, supplier, list);
        assert!(
            read.taken.not_understood.is_empty(),
            "{list}: {:?}",
            read.taken.not_understood
        );
        assert!(read.taken.dated.is_some(), "{list}");
        found.push((*supplier, *list, counts(&read.taken.changes)));
        assert!(
            !take(&mut files, supplier, list).taken.would_change,
            "{list}"
        );
    }
    assert_eq!(found, LISTS);
    let lists = std::fs::read_dir(root().join("examples/price-lists")).unwrap();
    assert_eq!(lists.count(), LISTS.len());
    let recipes = std::fs::read_dir(root().join("catalog/lists")).unwrap();
    assert_eq!(recipes.count() * 2, LISTS.len());
}
