//! What the pipes between manifolds cost at least.
//!
//! Where a trench has valves on both sides, the heads on one side may be fed from the other. Whatever
//! circuits there are, the flows through the trenches add up at every place, a valve gives any flow, and
//! pipes that carry a net flow cost at least what the fewest that can carry it cost. The flow that costs
//! least under these rules alone is found from the ends of the tree inward: for every place the least
//! cost of what lies beyond it as a function of the flow that comes in. The function is kept in cells of
//! the flow; each holds the least over itself, so that the sum is never above the least cost.

use crate::bound::Hull;
use crate::scheme::Scheme;
use crate::tree::Tree;

/// Cells for all the flow that there is.
const CELLS: usize = 300;

/// Prices net flows in trenches.
pub(crate) struct Flows {
    /// All heads together.
    all: f64,
    /// Width of a cell.
    cell: f64,
    /// The least price of a metre of pipes that carry so many quarter cells.
    price: Vec<f64>,
    /// The price of the smallest pipe.
    least: f64,
}

/// The least cost of what lies beyond a trench, by the flow through it.
struct Beyond {
    /// Where the first cell begins.
    from: f64,
    cells: Vec<f64>,
}

impl Flows {
    pub fn new(scheme: &Scheme, hull: &Hull) -> Self {
        let all: f64 = scheme.heads.iter().map(|h| h.flow).sum();
        let most = scheme.heads.iter().map(|h| h.most).fold(0.0, f64::max);
        let cell = all / CELLS as f64;
        let price = |quarters: usize| {
            let flow = quarters as f64 * cell / 4.0;
            let least = (flow / most - 1e-9).ceil().max(1.0) as usize;
            hull.together(flow, least, usize::MAX)
        };
        Self {
            all,
            cell,
            price: (0..=4 * CELLS + 8).map(price).collect(),
            least: hull.at(0.0),
        }
    }

    /// The least price of a metre of pipes for the flows of a cell.
    fn over(&self, from: f64) -> f64 {
        let to = from + self.cell;
        // A little beyond 0 may be rounding.
        let slack = self.cell * 1e-6;
        if from <= slack && to >= -slack {
            return 0.0;
        }
        let least = from.abs().min(to.abs());
        let quarters = (least / self.cell * 4.0).floor() as usize;
        let known = self.price.get(quarters).or(self.price.last());
        known.map_or(self.least, |price| price.max(self.least))
    }

    /// The least cost of pipes in the trenches with valves on both sides. `valves` are the valves beyond
    /// each rank, `here` whether a manifold with valves is there, `flow` what the heads beyond need.
    pub fn least(&self, tree: &Tree, valves: &[usize], here: &[bool], flow: &[f64]) -> f64 {
        let total = valves[0];
        let mut sum = 0.0;
        // What lies beyond each rank, as long as the trench that leads to it has not been counted.
        let mut known: Vec<Option<Beyond>> = (0..tree.len()).map(|_| None).collect();
        for rank in (0..tree.len()).rev() {
            if valves[rank] == 0 {
                continue;
            }
            let mut inner: Vec<Beyond> = Vec::new();
            let mut fed = flow[rank];
            let mut next = rank as u32 + 1;
            while next < tree.end[rank] {
                let child = next as usize;
                if valves[child] > 0 {
                    fed -= flow[child];
                }
                if (1..total).contains(&valves[child]) {
                    let beyond = self.through(tree.reach(next), known[child].take());
                    if here[rank] {
                        sum += beyond.cells.iter().copied().fold(f64::INFINITY, f64::min);
                    } else {
                        inner.push(beyond);
                    }
                }
                next = tree.end[child];
            }
            if valves[rank] == total {
                if valves_meet(rank, tree, valves, total) && !here[rank] {
                    // Everything outside is fed from here too.
                    let outside = flow[0] - flow[rank];
                    sum += self.settled(inner, fed + outside);
                }
                continue;
            }
            if !here[rank] {
                known[rank] = self.sum(inner).map(|mut beyond| {
                    beyond.from += fed;
                    beyond
                });
            }
        }
        sum
    }

    /// With the pipes of a trench that leads there; without anything known, any flow costs nothing there.
    fn through(&self, length: f64, beyond: Option<Beyond>) -> Beyond {
        let mut beyond = beyond.unwrap_or_else(|| Beyond {
            from: -self.all,
            cells: vec![0.0; 2 * CELLS + 1],
        });
        for (i, cost) in beyond.cells.iter_mut().enumerate() {
            *cost += length * self.over(beyond.from + i as f64 * self.cell);
        }
        beyond
    }

    /// Branches that part at a place, by the flow into all of them.
    fn sum(&self, branches: Vec<Beyond>) -> Option<Beyond> {
        branches.into_iter().reduce(|a, b| {
            let mut cells = vec![f64::INFINITY; a.cells.len() + b.cells.len()];
            for (i, of_a) in a.cells.iter().enumerate() {
                for (j, of_b) in b.cells.iter().enumerate() {
                    cells[i + j] = cells[i + j].min(of_a + of_b);
                }
            }
            // Two cells together are as wide as two: each sum may lie in the next cell too.
            for i in (1..cells.len()).rev() {
                cells[i] = cells[i].min(cells[i - 1]);
            }
            self.cut(Beyond {
                from: a.from + b.from,
                cells,
            })
        })
    }

    /// Without the flows that are more than there is.
    fn cut(&self, beyond: Beyond) -> Beyond {
        let skip = ((-self.all - beyond.from) / self.cell).floor().max(0.0) as usize;
        let from = beyond.from + skip as f64 * self.cell;
        let cells = beyond.cells.into_iter().skip(skip).take(2 * CELLS + 2);
        Beyond {
            from,
            cells: cells.collect(),
        }
    }

    /// The least cost of branches that together give a flow.
    fn settled(&self, branches: Vec<Beyond>, given: f64) -> f64 {
        let Some(all) = self.sum(branches) else {
            return 0.0;
        };
        let at = (-given - all.from) / self.cell;
        // The neighbours too, since rounding may put the flow into the wrong cell.
        let near = (at.floor().max(0.0) as usize).saturating_sub(1);
        let cells = all.cells.iter().skip(near).take(3);
        let least = cells.copied().fold(f64::INFINITY, f64::min);
        if least.is_finite() { least } else { 0.0 }
    }
}

/// Whether no place beyond this one has all valves beyond it.
fn valves_meet(rank: usize, tree: &Tree, valves: &[usize], total: usize) -> bool {
    let mut next = rank as u32 + 1;
    while next < tree.end[rank] {
        if valves[next as usize] == total {
            return false;
        }
        next = tree.end[next as usize];
    }
    true
}
