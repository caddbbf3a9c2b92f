//! Small jobs solved exactly: something in the way never makes them cheaper.

use crate::network;
use crate::support::yard::{At, Box4, Yard};
use crate::support::{cases, checker};
use proptest::prelude::*;

/// How much cheaper a job may become because an obstacle's corners are places to meet at.
const GAINED_BY_CORNERS: f64 = 0.005;

fn place() -> impl Strategy<Value = At> {
    (1.0..19.0, 1.0..19.0)
}

/// One circuit of one to three heads on open ground.
fn open_yard() -> impl Strategy<Value = Yard> {
    (place(), prop::collection::vec(place(), 1..=3))
        .prop_map(|(valve, heads)| Yard::plain((20.0, 20.0), valve, &heads))
}

fn boxes() -> impl Strategy<Value = Box4> {
    (2.0..15.0, 2.0..15.0, 0.5..4.0, 0.5..4.0).prop_map(|(x, y, w, h)| (x, y, x + w, y + h))
}

fn is_free(yard: &Yard, house: &Box4) -> bool {
    let (valve, heads) = &yard.circuits[0];
    let mut components = heads.iter().chain([valve, &yard.water.0, &yard.water.1]);
    // Beyond the clearance, so that no component is reached through one.
    components.all(|p| {
        p.0 < house.0 - 0.7 || p.0 > house.2 + 0.7 || p.1 < house.1 - 0.7 || p.1 > house.3 + 0.7
    })
}

/// Length of the least spanning tree of straight lines among places, by Prim's algorithm.
fn spanning(places: &[At]) -> f64 {
    let away = |a: At, b: At| (a.0 - b.0).hypot(a.1 - b.1);
    let mut off: Vec<f64> = places.iter().map(|p| away(*p, places[0])).collect();
    let mut left: Vec<usize> = (1..places.len()).collect();
    let mut total = 0.0;
    while let Some(at) = (0..left.len()).min_by(|a, b| off[left[*a]].total_cmp(&off[left[*b]])) {
        let next = left.swap_remove(at);
        total += off[next];
        for i in &left {
            off[*i] = off[*i].min(away(places[*i], places[next]));
        }
    }
    total
}

proptest! {
    #![proptest_config(cases(40))]

    #[test]
    fn an_obstacle_never_makes_it_cheaper(yard in open_yard(), house in boxes()) {
        let house = Some(house).filter(|h| is_free(&yard, h));
        let built = Yard { buildings: house.into_iter().collect(), ..yard.clone() };
        let (open, job) = (network(&yard.job()), built.job());
        let obstructed = network(&job);
        prop_assert_eq!(checker::faults(&job, &obstructed), Vec::<String>::new());
        if (open.cost - open.bound).abs() <= 1e-6 * open.cost {
            let least = open.cost * (1.0 - GAINED_BY_CORNERS);
            prop_assert!(obstructed.cost >= least, "{} {}", open.cost, obstructed.cost);
        }
    }

    #[test]
    fn nothing_in_the_way_costs_at_most_straight_lines(yard in open_yard()) {
        let (valve, heads) = &yard.circuits[0];
        let circuit: Vec<At> = std::iter::once(*valve).chain(heads.iter().copied()).collect();
        let lines = [vec![yard.water.0, yard.water.1], vec![yard.water.1, *valve], circuit];
        let straight: f64 = lines.iter().map(|l| spanning(l)).sum();
        let network = network(&yard.job());
        let most = straight * (crate::DIG + crate::LAY);
        prop_assert!(network.cost <= most * (1.0 + 1e-9), "{} {most}", network.cost);
        // No network of four places is shorter than √3/2 of the spanning tree of each line.
        prop_assert!(network.length().to_m() <= straight + 1e-6);
    }
}
