//! One end made to use one part: what is left of the sets, and nothing else.

mod fit_common;

use couplet::catalog::{Catalog, Half, Holds, IfEmpty, Kind, PartId};
use couplet::fit::{Class, Fit, force, halves};
use couplet::project::Distinct;
use fit_common::{Bench, terminal};

/// Two ends of one net. Two keys, each with a plug and a receptacle; the plugs
/// of key B take another ferrule. A third plug has key B and the first ferrule.
fn bench() -> Bench {
    let mut bench = Bench::new();
    bench.settings.keying.distinct = Distinct::Off;
    bench.pump().conductors = vec!["HV+".into()];
    bench.circuit("fan");
    bench.body("R2", Half::Receptacle).key = "B".into();
    let other = bench.body("P2", Half::Plug);
    (other.key, other.barrel) = ("B".into(), Some("B2".into()));
    bench.body("P3", Half::Plug).key = "B".into();
    bench.ferrule("F2", "B2", "50", "70");
    bench.ferrule("F3", "B1", "60", "80");
    bench
}

struct Case {
    catalog: Catalog,
    fit: Fit,
}

impl Case {
    fn new(bench: &Bench) -> Case {
        Case {
            catalog: bench.input().catalog,
            fit: bench.fits(),
        }
    }

    fn id(&self, code: &str) -> PartId {
        self.catalog.find(code).unwrap()
    }

    fn codes(&self, parts: impl Iterator<Item = PartId>) -> Vec<&str> {
        parts
            .map(|id| self.catalog.part(id).code.as_str())
            .collect()
    }

    /// Receptacles, plugs and the options of each place of a class.
    fn told(&self, class: &Class) -> (Vec<&str>, Vec<&str>, Vec<Vec<&str>>) {
        let options = class.slots.iter().map(|s| s.options.iter().map(|o| o.0));
        (
            self.codes(class.receptacles.iter().map(|c| c.body)),
            self.codes(class.plugs.iter().map(|c| c.body)),
            options.map(|o| self.codes(o)).collect(),
        )
    }

    /// The class of the first end once it has to use the part.
    fn forced(&self, half: Half, code: &str) -> Option<Class> {
        let fit = force(&self.fit, 0, half, self.id(code))?;
        let mut of = fit.classes.iter().filter(|c| c.ends == [0]);
        let class = of.next().unwrap().clone();
        assert_eq!(of.count(), 0);
        for (place, body) in class.plugs.iter().map(|c| (&c.slots, c.body)) {
            let kinds = self.fit.classes[0].plugs.iter().find(|c| c.body == body);
            assert_eq!(place.len(), kinds.unwrap().slots.len());
            assert!(place.iter().all(|&slot| slot < class.slots.len()));
        }
        Some(class)
    }
}

#[test]
fn both_ends_are_of_one_class_before() {
    let case = Case::new(&bench());
    assert_eq!(case.fit.classes.len(), 1);
    assert_eq!(
        case.told(&case.fit.classes[0]),
        (
            vec!["R", "R2"],
            vec!["P", "P2", "P3"],
            vec![vec!["F", "F3"], vec!["F2"], vec!["S"], vec!["B"]]
        )
    );
}

#[test]
fn a_body_leaves_itself_and_what_mates_with_it() {
    let case = Case::new(&bench());
    let plug = case.forced(Half::Plug, "P2").unwrap();
    assert_eq!(
        case.told(&plug),
        (
            vec!["R2"],
            vec!["P2"],
            vec![vec!["F2"], vec!["S"], vec!["B"]]
        )
    );
    let receptacle = case.forced(Half::Receptacle, "R").unwrap();
    assert_eq!(
        case.told(&receptacle),
        (
            vec!["R"],
            vec!["P"],
            vec![vec!["F", "F3"], vec!["S"], vec!["B"]]
        )
    );
}

#[test]
fn a_fitting_leaves_the_bodies_that_take_it() {
    let case = Case::new(&bench());
    // F3 is for barrel B1, which plugs of both keys have.
    let class = case.forced(Half::Plug, "F3").unwrap();
    assert_eq!(
        case.told(&class),
        (
            vec!["R", "R2"],
            vec!["P", "P3"],
            vec![vec!["F3"], vec!["S"], vec!["B"]]
        )
    );
    let class = case.forced(Half::Plug, "F2").unwrap();
    assert_eq!(case.told(&class).1, ["P2"]);
}

#[test]
fn the_other_ends_keep_all_their_sets() {
    let case = Case::new(&bench());
    let fit = force(&case.fit, 1, Half::Plug, case.id("P")).unwrap();
    let ends: Vec<&[usize]> = fit.classes.iter().map(|c| &c.ends[..]).collect();
    assert_eq!(ends, [[0], [1]]);
    let before = case.told(&case.fit.classes[0]);
    assert_eq!(case.told(&fit.classes[0]), before);
    assert_eq!(case.told(&fit.classes[1]).1, ["P"]);
    assert_eq!((&fit.ends, &fit.offers), (&case.fit.ends, &case.fit.offers));
    // A class of one end is replaced, and the classes stay in the order of their ends.
    let alone = force(&fit, 0, Half::Plug, case.id("P3")).unwrap();
    let ends: Vec<&[usize]> = alone.classes.iter().map(|c| &c.ends[..]).collect();
    assert_eq!(ends, [[0], [1]]);
    assert_eq!(case.told(&alone.classes[0]).1, ["P3"]);
}

#[test]
fn only_parts_of_some_set_can_be_forced() {
    let mut bench = bench();
    bench.seal("S9", "R9", "18", "20");
    let case = Case::new(&bench);
    let on = |code: &str| halves(&case.fit, 0, case.id(code));
    assert_eq!(on("P"), [Half::Plug]);
    assert_eq!(on("R"), [Half::Receptacle]);
    assert_eq!(on("F2"), [Half::Plug]);
    assert_eq!(on("S9"), []);
    assert!(case.forced(Half::Receptacle, "P").is_none());
    assert!(case.forced(Half::Receptacle, "F2").is_none());
    assert!(force(&case.fit, 2, Half::Plug, case.id("P")).is_none());
}

#[test]
fn a_joint_takes_a_fitting_on_either_half() {
    let mut bench = Bench::new();
    bench.pump().from = terminal("battery", Some("crimp"));
    let joint = bench.body_mut("R");
    (joint.attach, joint.barrel) = ("crimp".into(), Some("B1".into()));
    joint.rear = Some("R1".into());
    joint.exit = Some(couplet::catalog::Exit::Straight);
    bench.ferrule("F2", "B1", "60", "80");
    let case = Case::new(&bench);
    assert_eq!(
        halves(&case.fit, 0, case.id("F")),
        [Half::Receptacle, Half::Plug]
    );
    let class = case.forced(Half::Receptacle, "F").unwrap();
    let ferrules = |half| {
        let mut slots = class.slots.iter();
        let of = slots.find(|s| s.half == half).unwrap();
        case.codes(of.options.iter().map(|o| o.0))
    };
    assert_eq!(ferrules(Half::Receptacle), ["F"]);
    assert_eq!(ferrules(Half::Plug), ["F", "F2"]);
}

/// Two receptacles that agree with one plug each, and a third plug that agrees with both.
#[test]
fn a_half_leaves_just_the_mates_that_agree_with_it() {
    let mut bench = Bench::new();
    bench.body("P2", Half::Plug);
    bench.body("P3", Half::Plug);
    bench.body("R2", Half::Receptacle);
    let kinds = [Kind::Plug, Kind::Receptacle];
    bench.attribute("plating", &kinds, Holds::Same, IfEmpty::Meets);
    for (code, has) in [
        ("P", "tin"),
        ("P2", "silver"),
        ("R", "tin"),
        ("R2", "silver"),
    ] {
        bench.has(code, "plating", has);
    }
    let case = Case::new(&bench);
    let pairs = |half: Half, code: &str| {
        let class = case.forced(half, code).unwrap();
        let mut pairs: Vec<String> = (class.receptacles.iter())
            .flat_map(|r| {
                let mates = class.plugs.iter().filter(|p| p.mate == r.mate);
                mates.map(|p| case.codes([r.body, p.body].into_iter()).join(" "))
            })
            .collect();
        pairs.sort();
        pairs
    };
    assert_eq!(pairs(Half::Plug, "P"), ["R P"]);
    assert_eq!(pairs(Half::Plug, "P3"), ["R P3", "R2 P3"]);
    assert_eq!(pairs(Half::Receptacle, "R2"), ["R2 P2", "R2 P3"]);
}

#[test]
fn a_plug_is_forced_where_the_receptacle_is_built_in() {
    let mut bench = Bench::new();
    let from = &mut bench.pump().from;
    from.attach = Some("built-in".into());
    from.interface = Some("I".into());
    from.key = Some("A".into());
    bench.body("P2", Half::Plug);
    let case = Case::new(&bench);
    assert_eq!(halves(&case.fit, 0, case.id("P2")), [Half::Plug]);
    assert_eq!(halves(&case.fit, 0, case.id("R")), []);
    let class = case.forced(Half::Plug, "P2").unwrap();
    assert!(class.is_built_in());
    assert_eq!(case.told(&class).1, ["P2"]);
    assert!(case.forced(Half::Receptacle, "F").is_none());
}
