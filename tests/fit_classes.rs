//! Where the ends are, and how they are gathered into classes.

mod fit_common;

use couplet::catalog::{Exit, Fitting, Half};
use couplet::fit::{Side, ends};
use couplet::project::Cable;
use couplet::units::{Ampere, Qty};
use fit_common::{Bench, terminal};

#[test]
fn each_conductor_has_ends_and_a_multi_core_cable_one_a_side() {
    let mut bench = Bench::new();
    bench.pump().conductors = vec!["HV+".into(), "HV-".into()];
    bench.pump().to = terminal("motor", Some("stud"));
    let phases = bench.circuit("phases");
    phases.conductors = vec!["U".into(), "V".into(), "W".into()];
    phases.cable = Cable::Multi;
    phases.to = terminal("motor", Some("crimp"));
    let nowhere = bench.circuit("nowhere");
    nowhere.from.attach = None;
    let told: Vec<_> = ends(&bench.circuits)
        .iter()
        .map(|e| {
            (
                e.circuit,
                e.net.clone(),
                e.side,
                e.location.clone(),
                e.attach.clone(),
                e.poles,
            )
        })
        .collect();
    let end = |circuit, net: &str, side, at: &str, attach: &str, poles| {
        (
            circuit,
            net.to_owned(),
            side,
            at.to_owned(),
            attach.to_owned(),
            poles,
        )
    };
    assert_eq!(
        told,
        [
            end(0, "HV+", Side::From, "battery", "busbar", 1),
            end(0, "HV+", Side::To, "motor", "stud", 1),
            end(0, "HV-", Side::From, "battery", "busbar", 1),
            end(0, "HV-", Side::To, "motor", "stud", 1),
            end(1, "U V W", Side::From, "battery", "busbar", 3),
            end(1, "U V W", Side::To, "motor", "crimp", 3),
        ]
    );
}

#[test]
fn no_circuits_fit_emptily() {
    let mut bench = Bench::new();
    bench.circuits.clear();
    let fit = bench.fits();
    assert!(fit.ends.is_empty() && fit.classes.is_empty());
    assert!(fit.identities.is_empty() && fit.offers.is_empty());
}

#[test]
fn a_circuit_from_a_place_to_itself_is_one_class() {
    let mut bench = Bench::new();
    bench.pump().to = terminal("battery", Some("busbar"));
    let fit = bench.fits();
    assert_eq!(fit.classes.len(), 1);
    assert_eq!(fit.classes[0].ends, [0, 1]);
}

#[test]
fn ends_are_one_class_only_if_place_net_gauge_and_parts_are_equal() {
    let classes = |change: &dyn Fn(&mut Bench)| {
        let mut bench = Bench::new();
        bench.circuit("fan");
        change(&mut bench);
        bench.fits().classes.len()
    };
    assert_eq!(classes(&|_| {}), 1);
    assert_eq!(
        classes(&|b| b.circuits[1].current = Ampere(fit_common::dec("10"))),
        1
    );
    assert_eq!(
        classes(&|b| b.circuits[1].from.location = "front".into()),
        2
    );
    assert_eq!(
        classes(&|b| b.circuits[1].conductors = vec!["HV-".into()]),
        2
    );
    assert_eq!(
        classes(&|b| b.circuits[1].gauge = "2/0 AWG".parse().unwrap()),
        2
    );
    // A plug that only the smaller current allows parts them.
    assert_eq!(
        classes(&|b| {
            b.circuits[1].current = Ampere(fit_common::dec("10"));
            b.body("P2", Half::Plug).rated_a = Ampere(fit_common::dec("299"));
        }),
        2
    );
}

#[test]
fn pieces_are_counted_for_one_body() {
    let mut bench = Bench::new();
    bench.pump().conductors = vec!["U".into(), "V".into(), "W".into()];
    bench.pump().cable = Cable::Multi;
    bench.body_mut("P").poles = 3;
    bench.body_mut("R").poles = 3;
    let fit = bench.fits();
    let told: Vec<(Fitting, Vec<Qty>)> = fit.classes[0]
        .slots
        .iter()
        .map(|s| (s.fitting, s.options.iter().map(|o| o.1).collect()))
        .collect();
    use Fitting::*;
    assert_eq!(
        told,
        [(Ferrule, vec![3]), (Seal, vec![1]), (BackShell, vec![2])]
    );
}

#[test]
fn an_in_line_joint_has_fittings_on_both_halves() {
    let mut bench = Bench::new();
    bench.pump().from.attach = Some("crimp".into());
    let body = bench.body("J", Half::Receptacle);
    body.attach = "crimp".into();
    body.barrel = Some("B1".into());
    body.rear = Some("R1".into());
    body.includes = vec![Fitting::Seal];
    let class = &bench.fits().classes[0];
    let slots: Vec<_> = class
        .slots
        .iter()
        .map(|s| (s.half, s.fitting, s.exit))
        .collect();
    use {Fitting::*, Half::*};
    let straight = Some(Exit::Straight);
    assert_eq!(
        slots,
        [
            (Receptacle, Ferrule, None),
            (Receptacle, BackShell, None),
            (Plug, Ferrule, None),
            (Plug, Seal, None),
            (Plug, BackShell, straight),
        ]
    );
    assert_eq!(class.receptacles[0].slots, [0, 1]);
    assert_eq!(class.plugs[0].slots, [2, 3, 4]);
}

#[test]
fn a_device_side_takes_no_fittings() {
    let mut bench = Bench::new();
    let body = bench.body_mut("R");
    body.barrel = Some("none such".into());
    body.rear = Some("none such".into());
    assert_eq!(bench.fits().classes[0].receptacles[0].slots, [0usize; 0]);
}

#[test]
fn offers_and_identities_are_those_that_some_class_can_use() {
    let mut bench = Bench::new();
    bench.suppliers.push("Sud".into());
    bench.offer("P", "Sud").stock = Some(0);
    bench.offer("R", "Sud");
    bench.body("P2", Half::Plug).key = "Z".into();
    bench.ferrule("F2", "B1", "95", "120");
    let input = bench.input();
    let fit = bench.fits();
    let sold: Vec<_> = fit
        .offers
        .iter()
        .map(|o| {
            let offer = input.catalog.offer(*o);
            let supplier = &input.catalog.supplier(offer.supplier).name;
            format!("{} {supplier}", input.catalog.part(offer.part).code)
        })
        .collect();
    assert_eq!(
        sold,
        ["B Nord", "F Nord", "P Nord", "R Nord", "R Sud", "S Nord"]
    );
    assert_eq!(fit.identities.len(), 1);
}
