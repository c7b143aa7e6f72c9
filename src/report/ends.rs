//! The ends of a plan: each pair, and what goes on each body.

use super::table::{Column, Table};
use super::wording::list;
use crate::catalog::BUILT_IN;
use crate::plan::{EndRecord, FittingRecord, Plan};
use std::borrow::Cow;

/// Each end with its pair and key.
/// In a purchase each stands once for all copies of its machine.
pub fn pairs(plan: &Plan) -> Table {
    let has_machines = !plan.machines.is_empty();
    let mut columns = Vec::new();
    columns.extend(has_machines.then(|| Column::text("machine")));
    columns.extend([
        Column::text("circuit"),
        Column::text("net"),
        Column::text("end").detail(3),
        Column::text("location"),
        Column::text("gauge").detail(1),
        Column::text("receptacle"),
        Column::text("plug"),
        Column::text("interface").detail(2),
        Column::text("key"),
    ]);
    let mut table = Table::new(&columns);
    for end in &plan.ends {
        let mut row = Vec::new();
        row.extend(has_machines.then(|| end.machine.clone()));
        row.extend([
            end.circuit.clone(),
            end.net.clone(),
            end.end.clone(),
            end.location.clone(),
            end.gauge.clone(),
            end.receptacle
                .clone()
                .unwrap_or_else(|| BUILT_IN.to_owned()),
            end.plug.clone(),
            end.interface.clone(),
            end.key.clone(),
        ]);
        table.row(row);
    }
    table
}

/// What goes on each body for each gauge, and on which circuits, in the order
/// of the ends; bodies that take nothing are left out. In a purchase the bodies of all
/// copies are counted.
pub fn fittings(plan: &Plan) -> Table {
    let mut table = Table::new(&[
        Column::text("body"),
        Column::text("gauge"),
        Column::text("ferrule"),
        Column::text("seal"),
        Column::text("back_shell"),
        Column::number(match plan.machines.is_empty() {
            true => "bodies",
            false => "bodies_in_all_copies",
        })
        .detail(2),
        Column::text("circuits").detail(1),
    ]);
    for group in groups(plan) {
        let [ferrule, seal, back_shell] = group.fitted;
        table.row(vec![
            group.body.to_owned(),
            group.gauge.to_owned(),
            ferrule,
            seal,
            back_shell,
            group.bodies.to_string(),
            list(&group.circuits),
        ]);
    }
    table
}

/// Bodies of one part and gauge with the same fittings.
struct Group<'p> {
    body: &'p str,
    gauge: &'p str,
    fitted: [String; 3],
    bodies: u64,
    circuits: Vec<Cow<'p, str>>,
}

fn groups(plan: &Plan) -> Vec<Group<'_>> {
    let mut groups: Vec<Group> = Vec::new();
    for end in &plan.ends {
        for (half, body) in end.bodies() {
            let fitted = on_half(end, half);
            if fitted.iter().all(String::is_empty) {
                continue;
            }
            let same = |g: &Group| (g.body, g.gauge) == (body, &end.gauge) && g.fitted == fitted;
            let at = groups.iter().position(same).unwrap_or_else(|| {
                groups.push(Group {
                    body,
                    gauge: &end.gauge,
                    fitted,
                    bodies: 0,
                    circuits: Vec::new(),
                });
                groups.len() - 1
            });
            if let Some(group) = groups.get_mut(at) {
                group.bodies += plan.copies(end);
                let circuit = end.circuit_name();
                if !group.circuits.contains(&circuit) {
                    group.circuits.push(circuit);
                }
            }
        }
    }
    groups
}

/// Ferrules, seal and back shells on one half of an end.
pub(super) fn on_half(end: &EndRecord, half: &str) -> [String; 3] {
    ["ferrule", "seal", "back-shell"].map(|kind| {
        let of_kind = |f: &&FittingRecord| f.half == half && f.kind == kind;
        let pieces: Vec<String> = end.fittings.iter().filter(of_kind).map(pieces).collect();
        pieces.join(", ")
    })
}

/// `F-70`, `2 × B-8`.
pub(super) fn pieces(fitting: &FittingRecord) -> String {
    match fitting.qty {
        1 => fitting.part.clone(),
        qty => format!("{qty} × {}", fitting.part),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn rows(plan: &Plan) -> Vec<String> {
        let csv = fittings(plan).csv().unwrap();
        csv.lines().skip(1).map(str::to_owned).collect()
    }

    #[test]
    fn like_bodies_stand_in_one_row() {
        let mut plan = sample::plan();
        let two = [
            "P-8-A,70 mm2,F-70,S-8,B-8,2,pack to inverter",
            "P-8-B,70 mm2,F-70,S-8,B-8,2,pack to inverter",
        ];
        assert_eq!(rows(&plan), two);
        plan.ends[1].circuit = "heater".into();
        assert_eq!(
            rows(&plan)[0],
            "P-8-A,70 mm2,F-70,S-8,B-8,2,pack to inverter and heater"
        );
        plan.ends[1].gauge = "50 mm2".into();
        assert_eq!(rows(&plan).len(), 3);
    }

    #[test]
    fn an_in_line_receptacle_has_a_row_of_its_own() {
        let mut plan = sample::plan();
        plan.ends.truncate(1);
        let mut ferrule = plan.ends[0].fittings[0].clone();
        ferrule.half = "receptacle".into();
        ferrule.qty = 3;
        plan.ends[0].fittings.insert(0, ferrule);
        assert_eq!(
            rows(&plan),
            [
                "R-8-A,70 mm2,3 × F-70,,,1,pack to inverter",
                "P-8-A,70 mm2,F-70,S-8,B-8,1,pack to inverter",
            ]
        );
    }

    #[test]
    fn bodies_without_fittings_have_no_row() {
        let mut plan = sample::plan();
        for end in &mut plan.ends {
            end.fittings.clear();
        }
        assert!(fittings(&plan).is_empty());
        assert!(!pairs(&plan).is_empty());
    }
}
