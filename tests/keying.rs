//! Keying: plans with keys everywhere and pinned ends against enumeration, the
//! keying map, and the rule for the whole machine as a graph colouring.

mod support;

use couplet::audit::audit;
use couplet::fit::fit;
use couplet::input::Input;
use couplet::limit::Limit;
use couplet::model::{self, Outcome, Question};
use couplet::plan::{self, Bound, Plan};
use couplet::project::Distinct;
use couplet::report;
use couplet::study::keys::{Why, key_map, spread};
use std::collections::{BTreeMap, BTreeSet};
use support::brute;
use support::build::{Shop, circuit, list, plug, receptacle};
use support::random;

const PROVEN: Bound = Bound {
    lower: 0.0,
    witnesses: 2,
    wanted_gap: None,
};

/// The cheapest plan, audited; none where it is proven that there is none.
fn planned(input: &Input, question: &Question, limit: &Limit) -> Option<Plan> {
    let fit = fit(input).ok()?;
    match model::solve(input, &fit, question, limit).expect("the solver runs") {
        Outcome::Infeasible => None,
        Outcome::Found { solution, .. } => {
            let plan = plan::record(input, &fit, &solution, PROVEN).expect("a plan");
            assert_eq!(audit(input, &plan), []);
            Some(plan)
        }
        Outcome::Unknown => panic!("no limit was set"),
    }
}

/// A random project with the rule for the whole machine, or with pinned ends.
fn keyed(seed: u64) -> Input {
    let (mut input, _) = random::project(seed);
    let mut rng = fastrand::Rng::with_seed(seed ^ 0xc0de);
    if rng.u8(..3) > 0 {
        input.settings.keying.distinct = Distinct::Everywhere;
    }
    for circuit in &mut input.circuits {
        for terminal in [&mut circuit.from, &mut circuit.to] {
            if rng.u8(..4) == 0 {
                terminal.key = Some(["A", "B"][rng.usize(..2)].to_owned());
            }
        }
    }
    input
}

#[test]
fn keys_everywhere_and_pins_equal_enumeration() {
    let (mut plans, mut none) = (0, 0);
    for seed in 0..300 {
        let input = keyed(seed);
        let best = brute::best(&input);
        let found = planned(&input, &Question::default(), &Limit::default());
        let figures = |plan: &Plan| {
            let total = plan.cost.total.0.normalize();
            (total, plan.parts.len(), extra_keys(plan))
        };
        let want = best.as_ref().map(|b| (b.total, b.variants, b.keys));
        assert_eq!(found.as_ref().map(figures), want, "seed {seed}");
        match best {
            Some(_) => plans += 1,
            None => none += 1,
        }
    }
    assert!(plans > 60 && none > 30, "{plans} plans, {none} without");
}

/// Keys of an interface that a net has beyond the first.
fn extra_keys(plan: &Plan) -> usize {
    spread(plan).iter().map(|s| s.keys.len() - 1).sum()
}

/// HV+ on a thick cable and HV- on a thin one, each at two locations, where the
/// sets of one gauge can't be dealt out to the other.
fn two_gauges(prices: [&str; 2]) -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for (key, price) in ["A", "B"].into_iter().zip(prices) {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, price)]));
        }
    }
    for (name, net, at) in [
        ("a", "HV+", "pack"),
        ("b", "HV-", "pack"),
        ("c", "HV+", "motor"),
        ("d", "HV-", "motor"),
        ("e", "HV-", "pump"),
    ] {
        let mut circuit = circuit(name, net, at);
        if net == "HV-" {
            circuit.gauge = "35 mm2".parse().expect("a gauge");
        }
        shop.circuits.push(circuit);
    }
    shop
}

#[test]
fn a_net_keeps_its_key_where_that_costs_nothing() {
    for prices in [["5", "5"], ["5", "4"], ["4", "5"]] {
        let plan = planned(
            &two_gauges(prices).finish(),
            &Question::default(),
            &Limit::default(),
        );
        assert_eq!(extra_keys(&plan.expect("a plan")), 0, "{prices:?}");
    }
    // HV+ has A at the pack, so HV- has B there, and A at the pump.
    let mut shop = two_gauges(["5", "5"]);
    shop.circuits[0].from.key = Some("A".to_owned());
    shop.circuits[4].from.key = Some("A".to_owned());
    let plan = planned(&shop.finish(), &Question::default(), &Limit::default()).expect("a plan");
    assert_eq!(extra_keys(&plan), 1);
}

/// Two nets of two circuits at `pack`, one of them at `motor` as well.
fn boat() -> Shop {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    for (key, price) in [("A", "5"), ("B", "6"), ("C", "7")] {
        for (half, body) in [("P", plug("F", key)), ("R", receptacle("F", key))] {
            shop.body(&format!("{half}{key}"), body);
            shop.offer(&format!("{half}{key}"), "Nord", list(&[(1, price)]));
        }
    }
    shop.circuits.push(circuit("traction", "HV+ HV-", "pack"));
    shop.circuits.push(circuit("heater", "HV+", "pack"));
    shop.circuits.push(circuit("pump", "HV-", "motor"));
    shop.circuits[2].from.key = Some("B".to_owned());
    shop
}

#[test]
fn the_map_says_who_has_what_and_what_is_left() {
    let input = boat().finish();
    let plan = planned(&input, &Question::default(), &Limit::default()).expect("a plan");
    let map = key_map(&input, &plan).expect("of this catalog");
    assert_eq!(
        report::keys::text(&map, 100),
        "\
keying by location: at one location, different nets never share interface and key

pack
net  interface  key  ends
---- ---------- ---- --------------------------
HV+  F          A    traction from, heater from
HV-  F          B    traction from
keys left: F: C
checked 3 pairs of ends: no plug goes into the other's receptacle, except of 1 pair:
  1 pair of HV+, F A: the same net, so nothing is joined that should not be

motor
net  interface  key  ends
---- ---------- ---- ---------
HV-  F          B    pump from
keys left: none
checked 0 pairs of ends: no plug goes into the other's receptacle

Keys of each net
net  interface  count  keys
---- ---------- ------ ----
HV+  F              1  A
HV-  F              1  B
"
    );
}

#[test]
fn the_proof_compares_every_pair() {
    let mut looked_at = BTreeMap::new();
    for seed in 0..40 {
        let mut input = keyed(seed);
        let keying = &mut input.settings.keying;
        match seed % 3 {
            0 => keying.distinct = Distinct::Off,
            1 => keying
                .ignore_at
                .extend(["pack".to_owned(), "inverter".to_owned()]),
            _ => {}
        }
        let Some(plan) = planned(&input, &Question::default(), &Limit::default()) else {
            continue;
        };
        let map = key_map(&input, &plan).expect("of this catalog");
        for at in &map.locations {
            let here = plan.ends.iter().filter(|e| e.location == at.location);
            let n = here.clone().count();
            assert_eq!(at.proof.pairs, n * (n - 1) / 2);
            // Equal interface and key are what lets a plug in; the record was audited.
            let same = here.clone().enumerate().flat_map(|(i, a)| {
                let rest = here.clone().skip(i + 1);
                rest.filter(move |b| (&a.interface, &a.key) == (&b.interface, &b.key))
            });
            let swapped: usize = at.proof.exceptions.iter().map(|e| e.pairs).sum();
            assert_eq!(swapped, same.count(), "seed {seed}");
            for exception in &at.proof.exceptions {
                assert_ne!(exception.why, Why::Broken, "seed {seed}");
                assert_eq!(exception.why == Why::SameNet, exception.nets.len() == 1);
                *looked_at.entry(exception.why).or_insert(0) += 1;
            }
            let used = at.used.iter().map(|u| u.identity.clone());
            let used: BTreeSet<_> = used.collect();
            let left = at.left.as_ref().expect("every end has a set");
            assert!(left.iter().all(|identity| !used.contains(identity)));
        }
        let everywhere = map.distinct == Distinct::Everywhere;
        assert_eq!(map.elsewhere.is_some(), everywhere);
        for exception in map.elsewhere.iter().flat_map(|proof| &proof.exceptions) {
            assert_eq!(exception.why, Why::SameNet, "seed {seed}");
        }
        let keys: usize = spread(&plan).iter().map(|s| s.keys.len()).sum();
        let distinct: BTreeSet<_> = plan
            .ends
            .iter()
            .map(|e| (&e.net, &e.interface, &e.key))
            .collect();
        assert_eq!(keys, distinct.len());
    }
    assert_eq!(looked_at.len(), 3, "{looked_at:?}");
}

#[test]
fn a_wrong_plug_that_goes_in_is_found() {
    let input = boat().finish();
    let mut plan = planned(&input, &Question::default(), &Limit::default()).expect("a plan");
    for end in &mut plan.ends {
        (end.plug, end.receptacle) = ("PA".to_owned(), Some("RA".to_owned()));
    }
    let map = key_map(&input, &plan).expect("of this catalog");
    let broken = |map: &couplet::study::keys::KeyMap| -> usize {
        let all = map.locations.iter().flat_map(|at| &at.proof.exceptions);
        all.filter(|e| e.why == Why::Broken).map(|e| e.pairs).sum()
    };
    assert_eq!(broken(&map), 2);
    plan.ends[0].plug = "PB".to_owned();
    plan.ends[0].receptacle = Some("RB".to_owned());
    plan.ends[2].plug = "PB".to_owned();
    plan.ends[2].receptacle = Some("RB".to_owned());
    assert_eq!(broken(&key_map(&input, &plan).expect("of this catalog")), 0);
    plan.ends[0].plug = "RB".to_owned();
    let error = key_map(&input, &plan).expect_err("no plug");
    assert_eq!(
        error.to_string(),
        "the plan has the plug RB, which the catalog does not have"
    );
}

/// Edges between vertices 0 to n − 1.
struct Graph {
    n: usize,
    edges: Vec<(usize, usize)>,
}

/// Mycielski's construction on a graph: a copy of each vertex, joined to what
/// the vertex is joined to, and one more vertex, joined to all copies
/// (J. Mycielski, "Sur le coloriage des graphes", Colloquium Mathematicum 3,
/// 1955). It has no triangle if the graph has none, and needs one colour more.
fn mycielskian(graph: &Graph) -> Graph {
    let n = graph.n;
    let copies = graph
        .edges
        .iter()
        .flat_map(|&(a, b)| [(a, n + b), (b, n + a)]);
    let last = (0..n).map(|v| (n + v, 2 * n));
    Graph {
        n: 2 * n + 1,
        edges: graph
            .edges
            .iter()
            .copied()
            .chain(copies)
            .chain(last)
            .collect(),
    }
}

/// The k-th graph of the construction, which needs k colours; the second is one edge.
fn mycielski(k: usize) -> Graph {
    let edge = Graph {
        n: 2,
        edges: vec![(0, 1)],
    };
    (2..k).fold(edge, |graph, _| mycielskian(&graph))
}

/// A machine that can be keyed everywhere just where the graph can be coloured.
///
/// Each vertex is a key, each colour a net, each edge a location where all nets
/// arrive. There fit the keys of its two vertices and, for more than two
/// colours, as many keys of its own, so that there are as many keys as nets:
/// each net has one of them, and no two the same. Everywhere in the machine a
/// key belongs to one net at most: its vertex has one colour, and the two
/// vertices of an edge never the same. The other way round, a colouring gives
/// each net its keys; those of a location's own go to the nets that are left.
fn machine(graph: &Graph, colours: usize) -> Input {
    let mut shop = Shop::new();
    shop.supplier("Nord", "0", None, None);
    let nets: Vec<String> = (0..colours).map(|c| format!("N{c}")).collect();
    for (place, &(a, b)) in graph.edges.iter().enumerate() {
        let own = (2..colours).map(|i| format!("e{place}-{i}"));
        let keys = [a, b].map(|v| format!("v{v}")).into_iter().chain(own);
        for key in keys {
            let code = format!("P-{key}");
            shop.body(&code, plug("F", &key));
            shop.offer(&code, "Nord", list(&[(1, "1")]));
            let code = format!("R-{place}-{key}");
            let mut body = receptacle("F", &key);
            body.attach = format!("frame {place}");
            shop.body(&code, body);
            shop.offer(&code, "Nord", list(&[(1, "1")]));
        }
        let location = format!("edge {place}");
        let mut cable = circuit(&format!("C{place}"), &nets.join(" "), &location);
        cable.from.attach = Some(format!("frame {place}"));
        shop.circuits.push(cable);
    }
    shop.settings.keying.distinct = Distinct::Everywhere;
    shop.finish()
}

/// The colour of each vertex in a plan of the machine.
fn colours(plan: &Plan) -> BTreeMap<String, String> {
    let ends = plan.ends.iter().filter(|end| end.key.starts_with('v'));
    ends.map(|end| (end.key.clone(), end.net.clone())).collect()
}

#[test]
fn the_construction_makes_the_known_graphs() {
    // The third is the cycle of 5, the fourth has 11 vertices and 20 edges, the
    // fifth 23 and 71 (3·2^(k−2) − 1 vertices; edges e ↦ 3e + n).
    let sizes = [2, 3, 4, 5].map(|k| (mycielski(k).n, mycielski(k).edges.len()));
    assert_eq!(sizes, [(2, 1), (5, 5), (11, 20), (23, 71)]);
    for k in 3..=5 {
        let graph = mycielski(k);
        let joined: BTreeSet<(usize, usize)> = graph
            .edges
            .iter()
            .flat_map(|&(a, b)| [(a, b), (b, a)])
            .collect();
        let triangle = graph.edges.iter().any(|&(a, b)| {
            (0..graph.n).any(|c| joined.contains(&(a, c)) && joined.contains(&(b, c)))
        });
        assert!(!triangle, "{k}");
    }
}

#[test]
fn keys_everywhere_need_as_many_nets_as_the_graph_needs_colours() {
    let any = Question {
        ties: false,
        ..Question::default()
    };
    let limit = Limit::default().with_gap(100.0);
    for k in 2..=4 {
        let graph = mycielski(k);
        let input = machine(&graph, k);
        let plan =
            planned(&input, &any, &limit).unwrap_or_else(|| panic!("{k} colours are enough"));
        let colour = colours(&plan);
        for (a, b) in graph.edges {
            assert_ne!(colour[&format!("v{a}")], colour[&format!("v{b}")]);
        }
    }
    for k in 3..=4 {
        let input = machine(&mycielski(k), k - 1);
        assert!(
            planned(&input, &any, &Limit::default()).is_none(),
            "{k}: one colour less"
        );
    }
}

#[test]
fn by_location_one_colour_less_is_enough_for_the_same_machine() {
    let mut input = machine(&mycielski(4), 3);
    input.settings.keying.distinct = Distinct::ByLocation;
    let any = Question {
        ties: false,
        ..Question::default()
    };
    assert!(planned(&input, &any, &Limit::default()).is_some());
}
