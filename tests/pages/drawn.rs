//! The drawing of the machine.

use crate::any_plan::generated;
use couplet::report::drawing::{Drawing, drawing};
use couplet::study::cables::cables;

fn drawn(seed: u64, circuits: usize) -> Drawing {
    let (input, plan) = generated(seed, circuits);
    drawing(&cables(&input, &plan).expect("cables"))
}

#[test]
fn boxes_keep_apart_and_lines_end_on_them() {
    for (seed, circuits) in [(1, 1), (2, 5), (3, 12), (4, 25), (5, 40), (6, 40), (7, 80)] {
        let drawing = drawn(seed, circuits);
        for (i, a) in drawing.boxes.iter().enumerate() {
            assert!(a.x >= 0.0 && a.x + a.width <= drawing.width);
            assert!(a.y >= 0.0 && a.y + a.height <= drawing.height);
            for b in &drawing.boxes[i + 1..] {
                let apart = a.x + a.width <= b.x
                    || b.x + b.width <= a.x
                    || a.y + a.height <= b.y
                    || b.y + b.height <= a.y;
                assert!(apart, "{} and {}, seed {seed}", a.name, b.name);
            }
        }
        for mark in drawing.lines.iter().flat_map(|line| &line.ends) {
            let on = drawing.boxes.iter().filter(|b| {
                let edge = if mark.to_right { b.x + b.width } else { b.x };
                edge == mark.x && b.y < mark.y && mark.y < b.y + b.height
            });
            assert_eq!(on.count(), 1, "seed {seed}");
        }
    }
}

#[test]
fn no_two_ends_meet_a_box_at_one_place() {
    let drawing = drawn(5, 40);
    let mut places: Vec<String> = (drawing.lines.iter().flat_map(|line| &line.ends))
        .map(|mark| format!("{:.1} {:.1}", mark.x, mark.y))
        .collect();
    let count = places.len();
    places.sort();
    places.dedup();
    assert_eq!(places.len(), count);
}

#[test]
fn a_cable_from_a_place_to_itself_is_drawn() {
    let (mut input, mut plan) = generated(2, 3);
    let location = input.circuits[0].from.location.clone();
    input.circuits[0].to.location = location.clone();
    let name = input.circuits[0].name.clone();
    for end in plan.ends.iter_mut().filter(|end| end.circuit == name) {
        end.location = location.clone();
    }
    let cables = cables(&input, &plan).expect("cables");
    let drawing = drawing(&cables);
    assert_eq!(drawing.lines.len(), cables.len());
    assert!(drawing.lines[0].path.len() > 10);
}
