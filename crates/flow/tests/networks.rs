//! Networks with a known answer, random ones against the laws of nature, and wrong ones.

use flow::{Fault, HEAD_TOLERANCE, Law, Link, Network, Node, Outlet, Power, solve};
use proptest::prelude::*;

const HAZEN_WILLIAMS: f64 = 1.852;

/// Metres of head at an outlet that tell nothing apart.
const NO_HEAD: f64 = 1e-9;

fn pipe(from: usize, to: usize, resistance: f64) -> Link<Power> {
    Link {
        from,
        to,
        law: Power {
            resistance,
            exponent: HAZEN_WILLIAMS,
            minor: 0.0,
        },
    }
}

fn free(height: f64, demand: f64) -> Node {
    Node::Free {
        height,
        demand,
        outlet: None,
    }
}

fn nozzle(height: f64, factor: f64) -> Node {
    Node::Free {
        height,
        demand: 0.0,
        outlet: Some(Outlet {
            factor,
            exponent: 0.5,
            regulated: None,
        }),
    }
}

fn close(a: f64, b: f64, share: f64) {
    assert!((a - b).abs() <= share * b.abs(), "{a} instead of {b}");
}

#[test]
fn two_pipes_side_by_side_share_the_flow_by_their_resistance() {
    let network = Network {
        nodes: vec![Node::Held { head: 30.0 }, free(0.0, 2e-3)],
        links: vec![pipe(0, 1, 4e5), pipe(0, 1, 1e5)],
    };
    let steady = solve(&network).unwrap();
    let ratio = 4.0_f64.powf(1.0 / HAZEN_WILLIAMS);
    close(steady.flows[1] / steady.flows[0], ratio, 1e-7);
    close(steady.flows[0] + steady.flows[1], 2e-3, 1e-14);
    close(steady.drawn[0], -2e-3, 1e-14);
}

#[test]
fn a_nozzle_at_the_end_of_a_pipe_gives_what_both_allow() {
    // With n = 2 and n = 1/2 there is a closed form: q = √(H / (r + 1/k²)).
    let (resistance, factor, head) = (2e6, 3e-4, 25.0);
    let law = Power {
        resistance,
        exponent: 2.0,
        minor: 0.0,
    };
    let network = Network {
        nodes: vec![Node::Held { head }, nozzle(0.0, factor)],
        links: vec![Link {
            from: 0,
            to: 1,
            law,
        }],
    };
    let steady = solve(&network).unwrap();
    let flow = (head / (resistance + 1.0 / (factor * factor))).sqrt();
    close(steady.flows[0], flow, 1e-8);
}

#[test]
fn an_outlet_above_the_head_gives_nothing() {
    let network = Network {
        nodes: vec![
            Node::Held { head: 10.0 },
            nozzle(2.0, 2e-4),
            nozzle(12.0, 2e-4),
        ],
        links: vec![pipe(0, 1, 1e5), pipe(1, 2, 1e5)],
    };
    let steady = solve(&network).unwrap();
    assert!(steady.drawn[1] > 0.0);
    assert!(steady.drawn[2].abs() < 1e-10, "{:?}", steady.drawn);
}

#[test]
fn a_regulated_outlet_gives_no_more_than_its_own() {
    let outlet = Outlet {
        factor: 2e-4,
        exponent: 0.5,
        regulated: Some(20.0),
    };
    let height = 0.0;
    let node = Node::Free {
        height,
        demand: 0.0,
        outlet: Some(outlet),
    };
    let with = |head: f64| {
        let nodes = vec![Node::Held { head }, node];
        let links = vec![pipe(0, 1, 1e4)];
        solve(&Network { nodes, links }).unwrap()
    };
    close(with(50.0).drawn[1], outlet.flow(20.0), 1e-9);
    assert!(with(10.0).drawn[1] < outlet.flow(20.0));
}

#[test]
fn what_is_wrong_is_named() {
    let network = |nodes: Vec<Node>, links: Vec<Link<Power>>| solve(&Network { nodes, links });
    let held = Node::Held { head: 10.0 };
    assert_eq!(
        network(vec![held, free(0.0, 1e-3)], vec![]),
        Err(Fault::Adrift { node: 1 })
    );
    assert_eq!(
        network(vec![held], vec![pipe(0, 3, 1e5)]),
        Err(Fault::NoSuchNode { link: 0, node: 3 })
    );
    let lost = network(vec![held, free(f64::NAN, 0.0)], vec![pipe(0, 1, 1e5)]);
    assert!(matches!(lost, Err(Fault::NotANumber { node: Some(1), .. })));
    let lost = network(vec![held, free(0.0, 0.0)], vec![pipe(0, 1, f64::INFINITY)]);
    assert!(matches!(lost, Err(Fault::NotANumber { link: Some(0), .. })));
}

/// A connected network: a random tree, some links more, outlets and demands, one or two held heads.
fn networks() -> impl Strategy<Value = Network<Power>> {
    let node = (
        0.0..8.0_f64,
        prop_oneof![Just(0.0), 1e-5..2e-4_f64],
        outlets(),
    );
    let law = (
        3.0..7.0_f64,
        prop_oneof![Just(1.852), Just(2.0)],
        prop_oneof![Just(0.0), 1e3..1e6],
    );
    (3..40_usize)
        .prop_flat_map(move |n| {
            let places = prop::collection::vec(any::<prop::sample::Index>(), n - 1);
            let more = prop::collection::vec((0..n, 0..n), 0..8);
            (
                prop::collection::vec(node.clone(), n),
                prop::collection::vec(law.clone(), n + 8),
                (places, more),
                prop::option::of(1..n),
                20.0..60.0_f64,
            )
        })
        .prop_map(|(nodes, laws, (places, more), second, head)| {
            let is_held = |i: usize| i == 0 || Some(i) == second;
            let nodes: Vec<Node> = nodes
                .into_iter()
                .enumerate()
                .map(|(i, (height, demand, outlet))| match is_held(i) {
                    true => Node::Held {
                        head: head + height,
                    },
                    false => Node::Free {
                        height,
                        demand,
                        outlet,
                    },
                })
                .collect();
            let tree = places
                .iter()
                .enumerate()
                .map(|(i, to)| (i + 1, to.index(i + 1)));
            let more = more.into_iter().filter(|(a, b)| a != b);
            let links = tree.chain(more).zip(laws);
            let links = links.map(|((from, to), (size, exponent, minor))| Link {
                from,
                to,
                law: Power {
                    resistance: 10.0_f64.powf(size),
                    exponent,
                    minor,
                },
            });
            Network {
                links: links.collect(),
                nodes,
            }
        })
}

fn outlets() -> impl Strategy<Value = Option<Outlet>> + Clone {
    let outlet = (
        1e-5..2e-4_f64,
        0.4..0.8_f64,
        prop::option::of(5.0..30.0_f64),
    );
    prop::option::weighted(
        0.6,
        outlet.prop_map(|(factor, exponent, regulated)| Outlet {
            factor,
            exponent,
            regulated,
        }),
    )
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(10_000) })]

    #[test]
    fn flows_balance_and_heads_agree(network in networks()) {
        let steady = solve(&network).unwrap();
        let largest = steady.flows.iter().fold(1e-9_f64, |most, flow| most.max(flow.abs()));
        let mut balance: Vec<f64> = steady.drawn.iter().map(|drawn| -drawn).collect();
        for (link, flow) in network.links.iter().zip(&steady.flows) {
            balance[link.from] -= flow;
            balance[link.to] += flow;
            let fall = steady.heads[link.from] - steady.heads[link.to];
            let loss = link.law.loss(*flow);
            // Where tens of metres are lost, the last digit of a flow is worth more than the tolerance.
            let tolerance = HEAD_TOLERANCE.max(1e-8 * fall.abs());
            prop_assert!((fall - loss).abs() <= tolerance, "{fall} {loss} {flow}");
        }
        for (node, left) in network.nodes.iter().zip(&balance) {
            prop_assert!(left.abs() <= 1e-9 * largest, "{left} of {largest}: {node:?}");
        }
        for (node, (head, drawn)) in network.nodes.iter().zip(steady.heads.iter().zip(&steady.drawn)) {
            if let Node::Free { height, demand, outlet } = node {
                // Where an outlet begins to flow, next to no head makes a flow.
                let at = |by: f64| demand + outlet.map_or(0.0, |outlet| outlet.flow(head - height + by));
                let (least, most) = (at(-NO_HEAD), at(NO_HEAD));
                let slack = 1e-6 * most.max(1e-6);
                prop_assert!((least - slack..=most + slack).contains(drawn), "{drawn} {least} {most}");
            }
        }
    }
}
