//! The exact tree for few terminals (S. E. Dreyfus and R. A. Wagner, "The Steiner problem in
//! graphs", Networks 1, 1971, in the form of R. E. Erickson, C. L. Monma and A. F. Veinott,
//! "Send-and-split method for minimum-concave-cost network flows", Mathematics of Operations
//! Research 12, 1987).

use crate::grow::{NONE, Reach};
use crate::instance::{Instance, Work};

/// The arcs this would look at, and the numbers it would keep; `None` if there are too many.
pub(crate) fn effort(inst: &Instance, terminals: usize) -> Option<u64> {
    if terminals > 15 {
        return None;
    }
    let sets = 1u64 << terminals.saturating_sub(1);
    let kept = sets.checked_mul(inst.nodes() as u64)?;
    let splits = 3u64.pow(terminals.saturating_sub(1) as u32) / 2 * inst.nodes() as u64;
    (kept <= 6_000_000).then_some(splits + sets * 2 * inst.edges() as u64)
}

/// The cheapest tree over `terminals`, or `None` if they cannot be joined. `stop` is asked now and
/// then, with the work done so far; once it says so, the result is `None` too.
pub(crate) fn exact(
    inst: &Instance,
    price: &[f64],
    terminals: &[u32],
    reach: &mut Reach,
    work: &mut Work,
    stop: &mut dyn FnMut(u64) -> bool,
) -> Option<Vec<u32>> {
    let (root, rest) = (terminals[0], &terminals[1..]);
    if rest.is_empty() {
        return Some(Vec::new());
    }
    let mut table: Vec<Row> = Vec::with_capacity(1 << rest.len());
    table.push(Row {
        cost: Vec::new(),
        by: Vec::new(),
    });
    for set in 1usize..1 << rest.len() {
        let mut row = split(&table, set, inst.nodes(), work);
        if set.is_power_of_two() {
            row.cost[rest[set.trailing_zeros() as usize] as usize] = 0.0;
        }
        send(inst, price, &mut row, reach, work);
        table.push(row);
        if stop(work.done) {
            return None;
        }
    }
    let full = (1 << rest.len()) - 1;
    let cost = table[full].cost[root as usize];
    cost.is_finite().then(|| trace(inst, &table, full, root))
}

/// For one set of terminals and every node, the cheapest tree over both.
struct Row {
    cost: Vec<f64>,
    by: Vec<Step>,
}

/// How such a tree continues at its node.
#[derive(Clone, Copy)]
enum Step {
    Here,
    Along(u32),
    Split(u32),
}

fn split(table: &[Row], set: usize, nodes: usize, work: &mut Work) -> Row {
    let mut row = Row {
        cost: vec![f64::INFINITY; nodes],
        by: vec![Step::Here; nodes],
    };
    let mut part = (set - 1) & set;
    while 2 * part >= set && part > 0 {
        let (one, two) = (&table[part], &table[set ^ part]);
        work.done += nodes as u64 / 4;
        for node in 0..nodes {
            let cost = one.cost[node] + two.cost[node];
            if cost < row.cost[node] {
                row.cost[node] = cost;
                row.by[node] = Step::Split(part as u32);
            }
        }
        part = (part - 1) & set;
    }
    row
}

fn send(inst: &Instance, price: &[f64], row: &mut Row, reach: &mut Reach, work: &mut Work) {
    reach.clear();
    for (node, cost) in row
        .cost
        .iter()
        .enumerate()
        .filter(|(_, cost)| cost.is_finite())
    {
        reach.offer(node as u32, *cost, NONE);
    }
    while let Some((_, node)) = reach.next() {
        reach.spread(inst, price, node, work);
    }
    for node in 0..row.cost.len() {
        if reach.by[node] != NONE {
            row.cost[node] = reach.dist[node];
            row.by[node] = Step::Along(reach.by[node]);
        }
    }
}

fn trace(inst: &Instance, table: &[Row], full: usize, root: u32) -> Vec<u32> {
    let mut tree = Vec::new();
    let mut open = vec![(full, root)];
    while let Some((set, node)) = open.pop() {
        match table[set].by[node as usize] {
            Step::Here => {}
            Step::Along(arc) => {
                tree.push(arc / 2);
                open.push((set, inst.tail(arc)));
            }
            Step::Split(part) => {
                open.push((part as usize, node));
                open.push((set ^ part as usize, node));
            }
        }
    }
    tree.sort_unstable();
    tree.dedup();
    tree
}
