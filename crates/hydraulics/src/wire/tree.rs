//! The tree of the wire: how far it is to every valve, and how much of the way valves share.

use job::{Job, Place, Valve};
use quantity::Length;
use routes::{Line, Network, NodeId, NodeKind};
use std::collections::BTreeMap;

/// Two things nearer than this lie at one place.
const SAME_PLACE_M: f64 = 0.01;

/// A valve that the wire reaches.
pub(crate) struct WiredValve {
    pub id: String,
    pub node: NodeId,
    /// Along the trenches.
    pub along: Length,
    /// One conductor with what is laid loose and left coiled at both ends.
    pub conductor: Length,
    /// Of the common conductor, what the ways of the others that are on with it have of its own way,
    /// each counted by itself: those others that share most.
    pub shared: Length,
}

/// All valves in the job's order.
pub(crate) struct WireTree {
    pub valves: Vec<WiredValve>,
    /// The valves that it does not reach.
    pub unreached: Vec<String>,
    /// The conductor along all branches, with slack and tails.
    pub whole: Length,
    /// The branch that leads to a node: where from, and its length.
    above: BTreeMap<NodeId, (NodeId, Length)>,
    along: BTreeMap<NodeId, Length>,
}

impl WireTree {
    pub fn new(job: &Job, network: &Network, line: &Line) -> Self {
        let mut above = BTreeMap::new();
        let mut along = BTreeMap::from([(line.root, Length::ZERO)]);
        for branch in &line.branches {
            let before = along.get(&branch.from).copied().unwrap_or(Length::ZERO);
            let length = network.stretch(branch.stretch).length.max(Length::ZERO);
            along.entry(branch.to).or_insert_with(|| {
                above.insert(branch.to, (branch.from, length));
                before + length
            });
        }
        let (mut valves, mut unreached) = (Vec::new(), Vec::new());
        for valve in &job.system.valves {
            match node_of(network, &along, valve) {
                Some(node) => valves.push(WiredValve {
                    id: valve.id.clone(),
                    node,
                    along: along[&node],
                    conductor: conductor(job, along[&node], 2.0),
                    shared: Length::ZERO,
                }),
                None => unreached.push(valve.id.clone()),
            }
        }
        let laid: Length = above.values().map(|(_, length)| *length).sum();
        let mut tree = Self {
            whole: conductor(job, laid, valves.len() as f64 + 1.0),
            valves,
            unreached,
            above,
            along,
        };
        tree.share(job);
        tree
    }

    fn share(&mut self, job: &Job) {
        let others = (job.practice.wire.valves_at_once.value as usize).saturating_sub(1);
        if others == 0 {
            return;
        }
        let shared: Vec<Length> = (0..self.valves.len())
            .map(|v| {
                let mut with: Vec<Length> = (0..self.valves.len())
                    .filter(|u| *u != v)
                    .map(|u| self.common_way(self.valves[v].node, self.valves[u].node))
                    .collect();
                with.sort_by(|a, b| b.total_cmp(a));
                // One tail at the controller carries them too.
                with.iter()
                    .take(others)
                    .map(|length| conductor(job, *length, 1.0))
                    .sum()
            })
            .collect();
        for (valve, shared) in self.valves.iter_mut().zip(shared) {
            valve.shared = shared;
        }
    }

    /// How long the ways to two nodes are the same.
    fn common_way(&self, a: NodeId, b: NodeId) -> Length {
        let of_a: Vec<NodeId> = self.way(a).collect();
        let meeting = self.way(b).find(|node| of_a.contains(node));
        meeting
            .and_then(|node| self.along.get(&node).copied())
            .unwrap_or(Length::ZERO)
    }

    /// The nodes from one to the root.
    fn way(&self, node: NodeId) -> impl Iterator<Item = NodeId> + '_ {
        std::iter::successors(Some(node), |n| self.above.get(n).map(|(from, _)| *from))
            // A tree has no way longer than its branches.
            .take(self.above.len() + 1)
    }

    /// For each branch on the way to a valve its length and how many valves lie behind it.
    pub fn branches_to(&self, valve: usize) -> Vec<(Length, usize)> {
        self.way(self.valves[valve].node)
            .filter_map(|node| {
                let (_, length) = self.above.get(&node)?;
                let behind = self
                    .valves
                    .iter()
                    .filter(|v| self.way(v.node).any(|n| n == node));
                Some((*length, behind.count()))
            })
            .collect()
    }
}

/// A conductor with what is laid loose and some tails.
pub(crate) fn conductor(job: &Job, length: Length, tails: f64) -> Length {
    let slack = job.practice.cut.wire_slack.value.to_one();
    length * (1.0 + slack) + job.practice.takeoff.wire_tail.value * tails
}

/// The node of a valve among those that the wire reaches: by what is there, else by place.
fn node_of(network: &Network, along: &BTreeMap<NodeId, Length>, valve: &Valve) -> Option<NodeId> {
    let kind = NodeKind::Valve(valve.id.clone());
    let near = |at: Place| at.distance(valve.at) <= SAME_PLACE_M;
    let mut nodes = along.keys().copied();
    let by_place = nodes.clone().find(|n| near(network.node(*n).at));
    nodes.find(|n| network.node(*n).what == kind).or(by_place)
}
