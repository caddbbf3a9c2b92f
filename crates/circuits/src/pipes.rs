//! What the laterals of a circuit cost in given trenches.

use crate::scheme::Scheme;
use crate::tree::Tree;

/// Prices the laterals of circuits that lie in a tree of trenches.
#[derive(Debug)]
pub(crate) struct Pipes<'s> {
    pub scheme: &'s Scheme,
    pub tree: &'s Tree,
    /// The flow of each rank; 0 where no head stands.
    pub flow: Vec<f64>,
    /// Ranks looked at so far: a measure of work that knows no clock.
    pub work: u64,
    stack: Vec<Stop>,
}

/// A rank on the way down, with what hangs on it.
#[derive(Debug, Clone, Copy)]
struct Stop {
    rank: u32,
    below: f64,
    /// Whether the valve is on it or beyond it.
    valve: bool,
}

impl<'s> Pipes<'s> {
    pub fn new(scheme: &'s Scheme, tree: &'s Tree) -> Self {
        let flow = tree.place.iter();
        let flow = flow.map(|p| scheme.heads.get(*p).map_or(0.0, |h| h.flow));
        Self {
            scheme,
            tree,
            flow: flow.collect(),
            work: 0,
            stack: Vec::new(),
        }
    }

    /// The cost of the pipe from a valve to heads, both as ranks, the heads ascending.
    pub fn price(&mut self, heads: &[u32], valve: u32) -> f64 {
        self.work += heads.len() as u64 + 1;
        let total: f64 = heads.iter().map(|r| self.flow[*r as usize]).sum();
        let at = heads.partition_point(|r| *r < valve);
        let mut price = 0.0;
        self.stack.clear();
        for i in 0..=heads.len() {
            let (rank, is_valve) = match i.cmp(&at) {
                std::cmp::Ordering::Less => (heads[i], false),
                std::cmp::Ordering::Equal => (valve, true),
                std::cmp::Ordering::Greater => (heads[i - 1], false),
            };
            let below = if is_valve {
                0.0
            } else {
                self.flow[rank as usize]
            };
            self.visit(
                Stop {
                    rank,
                    below,
                    valve: is_valve,
                },
                total,
                &mut price,
            );
        }
        while self.stack.len() > 1 {
            self.close(total, &mut price);
        }
        price
    }

    /// Goes on to a rank, closing the branches that it does not lie on.
    fn visit(&mut self, stop: Stop, total: f64, price: &mut f64) {
        let Some(top) = self.stack.last() else {
            self.stack.push(stop);
            return;
        };
        let meet = self.tree.meet(top.rank, stop.rank);
        while let [.., under, top] = &self.stack[..]
            && under.rank >= meet
            && top.rank != meet
        {
            self.close(total, price);
        }
        let top = self.stack.len() - 1;
        if self.stack[top].rank != meet {
            let below = self.stack[top];
            *price += self.run(below, meet, total);
            self.stack[top].rank = meet;
        }
        self.stack.push(stop);
    }

    /// Hangs the last stop on the one before it.
    fn close(&mut self, total: f64, price: &mut f64) {
        if let (Some(top), Some(under)) = (self.stack.pop(), self.stack.last().copied()) {
            *price += self.run(top, under.rank, total);
            if let Some(under) = self.stack.last_mut() {
                under.below += top.below;
                under.valve |= top.valve;
            }
        }
    }

    fn run(&self, stop: Stop, up_to: u32, total: f64) -> f64 {
        let flow = if stop.valve {
            total - stop.below
        } else {
            stop.below
        };
        let length = self.tree.away[stop.rank as usize] - self.tree.away[up_to as usize];
        // What is left of a sum by rounding is no flow.
        if flow <= total * 1e-12 {
            return 0.0;
        }
        length * self.scheme.pipe_price(flow)
    }
}
