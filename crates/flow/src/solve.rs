//! The rounds.

use crate::law::{Law, Outlet};
use crate::mend::{Pipe, balance};
use crate::network::{Fault, Network, Node};
use crate::system::System;

/// The heads at both ends of a link of an answer differ by what its law says to within this.
pub const HEAD_TOLERANCE: f64 = 1e-7;

/// Flows have settled when none changes by more than this share of the largest.
const FLOW_TOLERANCE: f64 = 1e-9;

/// Nor need they be watched further when the heads agree so well: where next to nothing flows, laws
/// are flat, and flows creep.
const NO_ERROR: f64 = 1e-11;

/// Most rounds, and after how many without a smaller error the steps get shorter.
const MOST_ROUNDS: usize = 400;
const PATIENCE: usize = 8;

/// Heads within this of where an outlet begins to flow, or to be regulated, change nothing.
const KINK: f64 = 1e-9;

/// An outlet that changed so many times waits until all else has settled.
const MOST_CHANGES: usize = 6;

/// The flattest law that a round takes a link for: flatter ones would swamp all others.
const FLATTEST: f64 = 1e-3;

/// A steady state.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// Flow of each link, positive from its `from` to its `to`.
    pub flows: Vec<f64>,
    /// Head of each node.
    pub heads: Vec<f64>,
    /// What each node draws, demand and outlet together; of a held node what it takes in.
    pub drawn: Vec<f64>,
    /// Rounds that it took.
    pub rounds: usize,
    /// The largest difference between what heads and laws say.
    pub head_error: f64,
}

/// The law of a link, or of an outlet as a link to its height.
enum Any<'a, L> {
    Link(&'a L),
    Outlet(Outlet),
}

impl<L: Law> Law for Any<'_, L> {
    fn at(&self, flow: f64) -> (f64, f64) {
        match self {
            Self::Link(law) => law.at(flow),
            Self::Outlet(law) => law.at(flow),
        }
    }
}

/// An end of a pipe: a row of the system, or a head that is held.
#[derive(Clone, Copy)]
enum End {
    Row(usize),
    Head(f64),
}

struct Edge<'a, L> {
    from: End,
    to: End,
    law: Any<'a, L>,
}

/// What an outlet does; links always flow.
#[derive(Clone, Copy, PartialEq)]
enum State {
    Flows,
    /// It lies above the head.
    Rests,
    /// It gives the most that it is regulated to.
    Full,
}

/// The steady state of a network.
///
/// # Errors
/// If the network does not hang together, holds values that are no numbers, or does not settle.
pub fn solve<L: Law>(network: &Network<L>) -> Result<Steady, Fault> {
    network.check()?;
    let mut rows = 0;
    let ends: Vec<End> = network
        .nodes
        .iter()
        .map(|node| match node {
            Node::Held { head } => End::Head(*head),
            Node::Free { .. } => {
                rows += 1;
                End::Row(rows - 1)
            }
        })
        .collect();
    let links = network.links.iter().map(|link| Edge {
        from: ends[link.from],
        to: ends[link.to],
        law: Any::Link(&link.law),
    });
    let outlets = network.nodes.iter().zip(&ends).filter_map(|(node, end)| {
        let Node::Free {
            height,
            outlet: Some(outlet),
            ..
        } = node
        else {
            return None;
        };
        Some(Edge {
            from: *end,
            to: End::Head(*height),
            law: Any::Outlet(*outlet),
        })
    });
    let edges: Vec<Edge<L>> = links.chain(outlets).collect();
    let mut demands = vec![0.0; rows];
    for (node, end) in network.nodes.iter().zip(&ends) {
        if let (Node::Free { demand, .. }, End::Row(row)) = (node, end) {
            demands[*row] = *demand;
        }
    }
    let mut rounds = Rounds::new(network, &edges, demands);
    let count = rounds.settle()?;
    Ok(answer(network, &ends, &rounds, count))
}

struct Rounds<'a, L> {
    edges: &'a [Edge<'a, L>],
    demands: Vec<f64>,
    flows: Vec<f64>,
    /// Loss and slope of each edge at its flow.
    laws: Vec<(f64, f64)>,
    /// What each edge does, and how often that has changed.
    states: Vec<(State, usize)>,
    heads: Vec<f64>,
    /// A flow of the size to be expected.
    some: f64,
    system: System,
}

impl<'a, L: Law> Rounds<'a, L> {
    fn new(network: &Network<L>, edges: &'a [Edge<'a, L>], demands: Vec<f64>) -> Self {
        let top = network.nodes.iter().map(|node| match node {
            Node::Held { head } => *head,
            Node::Free { height, .. } => *height,
        });
        let top = top.fold(f64::NEG_INFINITY, f64::max);
        let guess = |edge: &Edge<L>| match (&edge.law, edge.to) {
            (Any::Outlet(outlet), End::Head(height)) => outlet.flow((top - height) / 2.0),
            _ => 0.0,
        };
        let mut flows: Vec<f64> = edges.iter().map(guess).collect();
        let drawn: f64 = demands.iter().map(|d| d.abs()).sum::<f64>() + flows.iter().sum::<f64>();
        // Some flow of the size to be expected: laws are flat where nothing flows.
        let some = (drawn / 10.0).max(1e-6);
        for (flow, edge) in flows.iter_mut().zip(edges) {
            if matches!(edge.law, Any::Link(_)) {
                *flow = some;
            }
        }
        Self {
            system: System::new(demands.len()),
            heads: vec![top; demands.len()],
            states: vec![(State::Flows, 0); edges.len()],
            laws: edges
                .iter()
                .zip(&flows)
                .map(|(e, flow)| e.law.at(*flow))
                .collect(),
            demands,
            edges,
            flows,
            some,
        }
    }

    fn head(&self, end: End) -> f64 {
        match end {
            End::Row(row) => self.heads[row],
            End::Head(head) => head,
        }
    }

    fn fall(&self, index: usize) -> f64 {
        let edge = &self.edges[index];
        self.head(edge.from) - self.head(edge.to)
    }

    /// By how much heads and law of an edge disagree.
    fn error(&self, index: usize) -> f64 {
        match self.states[index].0 {
            State::Flows => (self.fall(index) - self.laws[index].0).abs(),
            State::Rests | State::Full => 0.0,
        }
    }

    /// What an outlet would do at its present head and flow, and by how much that is another thing.
    fn other_state(&self, index: usize) -> Option<(State, f64)> {
        let Any::Outlet(outlet) = &self.edges[index].law else {
            return None;
        };
        let (head, flow) = (self.fall(index), self.flows[index]);
        let regulated = outlet.regulated.unwrap_or(f64::INFINITY);
        let (state, by) = match self.states[index].0 {
            State::Flows if flow < 0.0 => (State::Rests, -head),
            State::Flows if flow > outlet.most() => (State::Full, head - regulated),
            State::Rests if head > KINK => (State::Flows, head),
            State::Full if head < regulated - KINK => (State::Flows, regulated - head),
            _ => return None,
        };
        Some((state, by.max(0.0)))
    }

    fn change(&mut self, index: usize, to: State) {
        let Any::Outlet(outlet) = &self.edges[index].law else {
            return;
        };
        self.flows[index] = match to {
            State::Rests => 0.0,
            State::Full => outlet.most(),
            State::Flows => outlet.flow(self.fall(index)),
        };
        self.laws[index] = outlet.at(self.flows[index]);
        self.states[index] = (to, self.states[index].1 + 1);
    }

    /// Lets outlets begin, rest or fill; whether any did.
    fn switch(&mut self, is_settled: bool) -> bool {
        let others = (0..self.edges.len()).filter_map(|i| Some((i, self.other_state(i)?)));
        let others: Vec<(usize, (State, f64))> = others.collect();
        let free: Vec<_> = others
            .iter()
            .filter(|(i, _)| self.states[*i].1 < MOST_CHANGES)
            .collect();
        let mut chosen: Vec<(usize, State)> = free.iter().map(|(i, (to, _))| (*i, *to)).collect();
        if chosen.is_empty() && is_settled {
            let worst = others.iter().max_by(|a, b| a.1.1.total_cmp(&b.1.1));
            chosen.extend(worst.map(|(i, (to, _))| (*i, *to)));
        }
        for (i, to) in &chosen {
            self.change(*i, *to);
        }
        !chosen.is_empty()
    }

    /// The edge with the largest error.
    fn worst(&self) -> (usize, f64) {
        let errors = (0..self.edges.len()).map(|i| (i, self.error(i)));
        errors.fold((0, 0.0), |worst, one| {
            if one.1 > worst.1 || one.1.is_nan() {
                one
            } else {
                worst
            }
        })
    }

    fn settle(&mut self) -> Result<usize, Fault> {
        let mut step = 1.0;
        let (mut least, mut since) = (f64::INFINITY, 0);
        let not_settled = |rounds, worst: (usize, f64)| Fault::NotSettled {
            rounds,
            link: worst.0,
            head_error: worst.1,
        };
        for round in 1..=MOST_ROUNDS {
            let Some(change) = self.round(step) else {
                return Err(not_settled(round, self.worst()));
            };
            let worst = self.worst();
            let sizes = self.flows.iter().map(|flow| flow.abs());
            let largest = sizes.fold(self.some, f64::max);
            let is_still = change <= FLOW_TOLERANCE * largest;
            let is_settled = worst.1 <= HEAD_TOLERANCE / 10.0 && is_still || worst.1 <= NO_ERROR;
            if self.switch(is_settled) {
                (least, since, step) = (f64::INFINITY, 0, 1.0);
                continue;
            }
            if is_settled {
                return Ok(round);
            }
            if worst.1 < 0.9 * least {
                (least, since) = (worst.1, 0);
            } else {
                since += 1;
            }
            if since >= PATIENCE {
                (step, since) = (f64::max(step * 0.6, 0.05), 0);
            }
        }
        Err(not_settled(MOST_ROUNDS, self.worst()))
    }

    /// New heads and flows, the flows moved by a part of their change; the largest change.
    fn round(&mut self, step: f64) -> Option<f64> {
        self.system.clear();
        for (row, demand) in self.demands.iter().enumerate() {
            self.system.add(row, -demand);
        }
        let eases = self.laws.iter().map(|(_, slope)| 1.0 / slope.max(FLATTEST));
        let eases: Vec<f64> = eases.collect();
        for (i, edge) in self.edges.iter().enumerate() {
            let flow = self.flows[i];
            // At rest or full it gives what it gives whatever the head.
            let (ease, steady) = match self.states[i].0 {
                State::Flows => {
                    let lacks = self.fall(i) - self.laws[i].0;
                    (eases[i], flow + eases[i] * lacks)
                }
                State::Rests | State::Full => (0.0, flow),
            };
            for (end, sign) in [(edge.from, -1.0), (edge.to, 1.0)] {
                let End::Row(row) = end else { continue };
                self.system.add(row, sign * steady);
                self.system.tie(row, ease);
            }
            if let (End::Row(a), End::Row(b)) = (edge.from, edge.to) {
                self.system.join(a, b, -ease);
            }
        }
        // Solved for the change of the heads, so that its rounding shrinks with the change.
        for (head, change) in self.heads.iter_mut().zip(self.system.solve()?) {
            *head += change;
        }
        let mut change = 0.0_f64;
        for (i, edge) in self.edges.iter().enumerate() {
            if self.states[i].0 != State::Flows {
                continue;
            }
            let moved = step * eases[i] * (self.fall(i) - self.laws[i].0);
            change = change.max(moved.abs());
            self.flows[i] += moved;
            self.laws[i] = edge.law.at(self.flows[i]);
        }
        change.is_finite().then_some(change)
    }
}

fn answer<L: Law>(network: &Network<L>, ends: &[End], rounds: &Rounds<L>, count: usize) -> Steady {
    let links = network.links.len();
    let mut flows = rounds.flows[..links].to_vec();
    let mut outlets = rounds.flows[links..].iter();
    let mut drawn: Vec<f64> = network
        .nodes
        .iter()
        .map(|node| match node {
            Node::Free { demand, outlet, .. } => {
                let given = outlet.and_then(|_| outlets.next());
                demand + given.map_or(0.0, |flow| flow.max(0.0))
            }
            Node::Held { .. } => 0.0,
        })
        .collect();
    let pipes: Vec<Pipe> = network
        .links
        .iter()
        .zip(&flows)
        .map(|(link, flow)| Pipe {
            from: link.from,
            to: link.to,
            slope: link.law.slope(*flow),
        })
        .collect();
    let held = network
        .nodes
        .iter()
        .map(|node| matches!(node, Node::Held { .. }));
    let held: Vec<bool> = held.collect();
    balance(&pipes, &mut flows, &drawn, &held);
    for (link, flow) in network.links.iter().zip(&flows) {
        for (node, into) in [(link.from, -flow), (link.to, *flow)] {
            if held[node] {
                drawn[node] += into;
            }
        }
    }
    let heads: Vec<f64> = ends.iter().map(|end| rounds.head(*end)).collect();
    let errors = network
        .links
        .iter()
        .zip(&flows)
        .map(|(link, flow)| (heads[link.from] - heads[link.to] - link.law.loss(*flow)).abs());
    Steady {
        head_error: errors.fold(0.0, f64::max),
        flows,
        heads,
        drawn,
        rounds: count,
    }
}
