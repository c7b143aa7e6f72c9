//! A published problem with a published optimum, as a purchase: warehouse
//! location cap71 of the OR-Library (J. E. Beasley, "OR-Library: distributing
//! test problems by electronic mail", Journal of the Operational Research
//! Society 41 (1990) 1069–1072). Published optimum: 932615.750.
//!
//! A warehouse is a supplier, its fixed cost the shipping. A customer is an end
//! that one plug alone can serve, and what the customer costs from a warehouse
//! is the plug's price there. Every warehouse can hold all demand, so its
//! capacity never binds.
//!
//! The file comes from outside: its path stands in `COUPLET_CAP71`; without it
//! the test says so and checks nothing, and fails where `CI=true`.

#[path = "common/needs.rs"]
mod needs;
mod support;

use couplet::input::Input;
use couplet::limit::Limit;
use rust_decimal::Decimal;
use support::build::{List, Shop, circuit, money, plug, receptacle};
use support::dec;

/// Published, in the units of the file.
const OPTIMUM: &str = "932615.750";

/// Warehouses and customers of the file.
struct Warehouses {
    /// Capacity and fixed cost.
    sites: Vec<(Decimal, String)>,
    /// Demand, and the cost of all of it from each site.
    customers: Vec<(Decimal, Vec<String>)>,
}

#[test]
fn cap71_is_the_published_optimum() {
    let Ok(path) = std::env::var("COUPLET_CAP71") else {
        let cure = "name the file of the OR-Library in COUPLET_CAP71";
        needs::skipped("the file cap71.txt", cure);
        return;
    };
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let warehouses = read(&text);
    assert_eq!(
        (warehouses.sites.len(), warehouses.customers.len()),
        (16, 50)
    );
    let demand: Decimal = warehouses.customers.iter().map(|(d, _)| d).sum();
    assert!(
        warehouses
            .sites
            .iter()
            .all(|(capacity, _)| *capacity >= demand)
    );
    let input = purchase(&warehouses);
    let optimum = Some(dec(OPTIMUM).normalize());
    assert_eq!(enumerated(&input), optimum);
    assert_eq!(planned(&input), optimum);
}

#[test]
fn without_the_file_it_is_told() {
    needs::is_told_and_fails_in_ci("cap71_is_the_published_optimum");
}

#[test]
fn a_small_one_worked_out_by_hand() {
    let text = "2 2\n10 5.\n10 3.\n4\n1.5 9.\n6\n1.5 1.\n";
    // X alone 5 + 1.5 + 1.5 = 8, Y alone 3 + 9 + 1 = 13, both 8 + 1.5 + 1 = 10.5
    assert_eq!(planned(&purchase(&read(text))), Some(dec("8")));
    // dearer to open X: 11 + 3 = 14, Y alone 13
    let text = text.replace("10 5.", "10 11.");
    assert_eq!(planned(&purchase(&read(&text))), Some(dec("13")));
}

/// The layout of the file: sites and customers; capacity and fixed cost per
/// site; per customer the demand, then its cost from each site.
fn read(text: &str) -> Warehouses {
    let mut words = text.split_whitespace().map(|w| w.trim_end_matches('.'));
    let mut next = || words.next().expect("the file goes on").to_owned();
    let sites: usize = next().parse().expect("a count");
    let customers: usize = next().parse().expect("a count");
    Warehouses {
        sites: (0..sites).map(|_| (dec(&next()), next())).collect(),
        customers: (0..customers)
            .map(|_| (dec(&next()), (0..sites).map(|_| next()).collect()))
            .collect(),
    }
}

fn purchase(warehouses: &Warehouses) -> Input {
    let mut shop = Shop::new();
    let site = |n: usize| format!("site {n:02}");
    for (n, (_, fixed)) in warehouses.sites.iter().enumerate() {
        shop.supplier(&site(n), fixed, None, None);
    }
    for (c, (_, costs)) in warehouses.customers.iter().enumerate() {
        let (face, attach) = (format!("face {c:02}"), format!("customer {c:02}"));
        let (plug_code, receptacle_code) = (format!("P{c:02}"), format!("R{c:02}"));
        let mut below = receptacle(&face, "");
        below.attach.clone_from(&attach);
        shop.body(&plug_code, plug(&face, ""));
        shop.body(&receptacle_code, below);
        shop.on_hand.insert(receptacle_code, 1);
        let mut route = circuit(&format!("C{c:02}"), "HV+", &attach);
        route.from.attach = Some(attach);
        shop.circuits.push(route);
        for (n, cost) in costs.iter().enumerate() {
            let offer = List {
                breaks: vec![(1, money(cost))],
                pack: 1,
                stock: Some(1),
                lead_days: None,
            };
            shop.offer(&plug_code, &site(n), offer);
        }
    }
    shop.finish()
}

/// The least total that the program proves.
fn planned(input: &Input) -> Option<Decimal> {
    use couplet::model::{Outcome, Question};
    let fit = couplet::fit::fit(input).ok()?;
    let outcome = couplet::model::solve(input, &fit, &Question::default(), &Limit::default())
        .expect("the solver runs");
    let Outcome::Found {
        solution,
        bound,
        witnesses: 2,
    } = outcome
    else {
        panic!("not proven: {outcome:?}");
    };
    let bound = couplet::plan::Bound {
        lower: bound,
        witnesses: 2,
        wanted_gap: None,
    };
    let plan = couplet::plan::record(input, &fit, &solution, bound).expect("a plan");
    assert_eq!(couplet::audit::audit(input, &plan), []);
    Some(plan.cost.total.0.normalize())
}

/// The least total over all sets of open sites, each customer served from its
/// cheapest: exact where capacity does not bind, from the offers themselves.
fn enumerated(input: &Input) -> Option<Decimal> {
    let catalog = &input.catalog;
    let sites = catalog.suppliers.len();
    let plugs: std::collections::BTreeSet<_> = catalog.offers.iter().map(|o| o.part).collect();
    let of = |open: usize| -> Option<Decimal> {
        let is_open = |n: usize| open >> n & 1 == 1;
        let fixed = catalog.suppliers.iter().enumerate();
        let fixed: Decimal = fixed
            .filter(|(n, _)| is_open(*n))
            .map(|(_, s)| s.shipping.0)
            .sum();
        let served = plugs.iter().map(|&plug| {
            let offers = catalog.offers_of(plug).map(|(_, offer)| offer);
            let open = offers.filter(|o| is_open(o.supplier.0 as usize));
            open.map(|o| o.breaks[0].unit_price.0).min()
        });
        Some(fixed + served.sum::<Option<Decimal>>()?)
    };
    (0..1usize << sites)
        .filter_map(of)
        .min()
        .map(|d| d.normalize())
}
