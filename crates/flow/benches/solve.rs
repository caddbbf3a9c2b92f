//! How the time to solve a network with loops grows, beside a tree of as many nodes.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use flow::{Link, Network, Node, Outlet, Power, solve};
use std::hint::black_box;

/// A square of nodes with an outlet each; every node is joined to its left, and also to the one below
/// where it has loops, else only in the first column.
fn network(side: usize, has_loops: bool) -> Network<Power> {
    let at = |row: usize, column: usize| row * side + column;
    let mut links = Vec::new();
    let pipe = |from: usize, to: usize| Link {
        from,
        to,
        law: Power {
            resistance: 2e3 + 100.0 * ((from * 7 + to * 3) % 17) as f64,
            exponent: 1.852,
            minor: 0.0,
        },
    };
    for row in 0..side {
        for column in 0..side {
            if column > 0 {
                links.push(pipe(at(row, column - 1), at(row, column)));
            }
            if row > 0 && (has_loops || column == 0) {
                links.push(pipe(at(row - 1, column), at(row, column)));
            }
        }
    }
    let outlet = Outlet {
        factor: 1e-5,
        exponent: 0.5,
        regulated: None,
    };
    let node = |i: usize| match i {
        0 => Node::Held { head: 50.0 },
        _ => Node::Free {
            height: (i % 5) as f64,
            demand: 0.0,
            outlet: Some(outlet),
        },
    };
    Network {
        nodes: (0..side * side).map(node).collect(),
        links,
    }
}

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("steady flow");
    group.sample_size(10);
    for side in [18, 36, 71] {
        for (name, has_loops) in [("loops", true), ("tree", false)] {
            let network = network(side, has_loops);
            let id = BenchmarkId::new(name, side * side);
            group.bench_function(id, |b| b.iter(|| solve(black_box(&network))));
        }
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
