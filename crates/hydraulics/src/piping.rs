//! The pipes of all lines as one forest: what feeds what, and how much flows where.

use crate::minor::{self, Fitting};
use job::practice::PipeFamily;
use job::{Circuit, Job, Outlet, Place, Valve};
use quantity::{Flow, Length};
use routes::{Branch, Line, LineKind, Network, NodeId, NodeKind};
use std::collections::BTreeMap;
use std::ops::Range;

/// Two things nearer than this lie at one place.
const SAME_PLACE_M: f64 = 0.01;

/// The pipe of one line in one stretch.
pub(crate) struct Run {
    pub line: usize,
    pub branch: Branch,
    pub length: Length,
    pub section: usize,
    /// The run of the same line that feeds it.
    pub feeder: Option<usize>,
    /// The run that feeds it, the service in front of the main included.
    pub above: Option<usize>,
    pub fittings: Vec<Fitting>,
    /// The largest flow of any circuit.
    pub flow: Flow,
}

/// Runs of one line without a tee between them: they get one size.
pub(crate) struct Section<'a> {
    pub line: usize,
    pub key: &'a str,
    pub family: &'a PipeFamily,
    /// The section that feeds it, the service in front of the main included; never a smaller pipe.
    pub above: Option<usize>,
    pub runs: Vec<usize>,
    pub length: Length,
    pub flow: Flow,
}

/// An outlet and the run that ends at it.
pub(crate) struct Tap<'a> {
    pub outlet: &'a Outlet,
    /// `None` if the network does not reach it.
    pub node: Option<NodeId>,
    /// `None` if it sits at the valve itself.
    pub run: Option<usize>,
    /// What it is taken to draw.
    pub flow: Flow,
}

/// The way of the water of one circuit.
pub(crate) struct Way<'a> {
    pub circuit: &'a Circuit,
    pub valve: Option<&'a Valve>,
    /// Where the valve is; `None` if the network does not reach it.
    pub valve_node: Option<NodeId>,
    /// From the source to the valve.
    pub upstream: Vec<usize>,
    /// Whether the valve hangs on a tee: the main goes on, or another valve is there too.
    pub tee_at_valve: bool,
    pub laterals: Range<usize>,
    pub taps: Vec<Tap<'a>>,
    pub flow: Flow,
}

/// All of it.
pub(crate) struct Piping<'a> {
    pub runs: Vec<Run>,
    pub sections: Vec<Section<'a>>,
    pub ways: Vec<Way<'a>>,
    /// Ways that may run together.
    pub pairs: Vec<(usize, usize)>,
    /// Height of the source.
    pub source_height: Length,
    /// The run of a stretch in a line.
    ends: Vec<BTreeMap<NodeId, usize>>,
}

impl<'a> Piping<'a> {
    /// Lays it out; lines whose pipe has no family anywhere in the practice are left out.
    pub fn new(job: &'a Job, network: &'a Network) -> Self {
        let mut piping = Self {
            runs: Vec::new(),
            sections: Vec::new(),
            ways: Vec::new(),
            pairs: pairs(job),
            source_height: source_height(network),
            ends: vec![BTreeMap::new(); network.lines.len()],
        };
        let mut spans = vec![0..0; network.lines.len()];
        for (i, line) in network.lines.iter().enumerate() {
            let from = piping.runs.len();
            if let Some((key, family)) = family_of(job, &line.kind) {
                piping.lay(job, network, i, key, family);
            }
            spans[i] = from..piping.runs.len();
        }
        piping.join_main_to_service(network);
        for circuit in &job.system.circuits {
            let way = piping.way(job, network, circuit, &spans);
            piping.ways.push(way);
        }
        piping.tees_at_valves(network);
        piping.set_flows();
        piping
    }

    fn lay(
        &mut self,
        job: &'a Job,
        network: &'a Network,
        index: usize,
        key: &'a str,
        family: &'a PipeFamily,
    ) {
        let line = &network.lines[index];
        let base = self.runs.len();
        let feeders = minor::feeders(line);
        let fittings = minor::fittings(network, line, &job.practice.takeoff);
        for (i, (branch, fittings)) in line.branches.iter().zip(fittings).enumerate() {
            let feeder = feeders[i].map(|f| base + f);
            let section = match feeder {
                Some(f) if goes_straight_on(line, branch.from) => self.runs[f].section,
                _ => self.new_section(index, key, family, feeder),
            };
            let length = network.stretch(branch.stretch).length.max(Length::ZERO);
            self.sections[section].runs.push(base + i);
            self.sections[section].length += length;
            self.ends[index].entry(branch.to).or_insert(base + i);
            self.runs.push(Run {
                line: index,
                branch: *branch,
                length,
                section,
                feeder,
                above: feeder,
                fittings,
                flow: Flow::ZERO,
            });
        }
    }

    fn new_section(
        &mut self,
        line: usize,
        key: &'a str,
        family: &'a PipeFamily,
        feeder: Option<usize>,
    ) -> usize {
        self.sections.push(Section {
            line,
            key,
            family,
            above: feeder.map(|f| self.runs[f].section),
            runs: Vec::new(),
            length: Length::ZERO,
            flow: Flow::ZERO,
        });
        self.sections.len() - 1
    }

    /// The first pipes of the main are fed by the service pipe that ends where the main begins.
    fn join_main_to_service(&mut self, network: &Network) {
        for i in 0..self.runs.len() {
            let line = &network.lines[self.runs[i].line];
            if line.kind == LineKind::Main && self.runs[i].feeder.is_none() {
                let above = self.service_end(network, line.root);
                self.runs[i].above = above;
                let section = self.runs[i].section;
                self.sections[section].above = above.map(|r| self.runs[r].section);
            }
        }
    }

    fn service_end(&self, network: &Network, node: NodeId) -> Option<usize> {
        let service = network
            .lines
            .iter()
            .position(|l| l.kind == LineKind::Service)?;
        self.ends[service].get(&node).copied()
    }

    fn way(
        &self,
        job: &'a Job,
        network: &Network,
        circuit: &'a Circuit,
        spans: &[Range<usize>],
    ) -> Way<'a> {
        let valve = job.valve_of(&circuit.id);
        let lateral = network
            .lines
            .iter()
            .position(|l| l.kind == LineKind::Lateral(circuit.id.clone()));
        let main = network.lines.iter().position(|l| l.kind == LineKind::Main);
        let valve_node = lateral
            .map(|l| network.lines[l].root)
            .or_else(|| valve.and_then(|v| self.main_node(network, main, v)));
        let last = valve_node.and_then(|node| self.last_before(network, main, node));
        let reached = valve_node
            .filter(|node| last.is_some() || main.is_none_or(|m| network.lines[m].root == *node));
        Way {
            circuit,
            valve,
            valve_node: reached,
            upstream: self.way_to(last),
            tee_at_valve: false,
            laterals: lateral.map_or(0..0, |l| spans[l].clone()),
            taps: job
                .outlets_of(&circuit.id)
                .map(|outlet| self.tap(network, outlet, lateral, valve_node))
                .collect(),
            flow: Flow::ZERO,
        }
    }

    /// The runs through which the water of both ways goes.
    pub fn shared(&self, a: usize, b: usize) -> Vec<usize> {
        let (a, b) = (&self.ways[a].upstream, &self.ways[b].upstream);
        let both = a.iter().zip(b).take_while(|(a, b)| a == b);
        both.map(|(run, _)| *run).collect()
    }

    /// The node of a valve without laterals.
    fn main_node(&self, network: &Network, main: Option<usize>, valve: &Valve) -> Option<NodeId> {
        let line = &network.lines[main?];
        let reached = line.terminals.iter().chain([&line.root]).copied();
        node_of(
            network,
            reached,
            &NodeKind::Valve(valve.id.clone()),
            valve.at,
        )
    }

    /// The pipe that ends at a valve: of the main, or of the service if the valve sits at the
    /// assembly.
    fn last_before(&self, network: &Network, main: Option<usize>, node: NodeId) -> Option<usize> {
        main.and_then(|m| self.ends[m].get(&node).copied())
            .or_else(|| self.service_end(network, node))
    }

    /// The runs from the source to the end of `last`.
    pub fn way_to(&self, last: Option<usize>) -> Vec<usize> {
        let mut way: Vec<usize> =
            std::iter::successors(last, |run| self.runs[*run].above).collect();
        way.reverse();
        way
    }

    fn tap(
        &self,
        network: &Network,
        outlet: &'a Outlet,
        lateral: Option<usize>,
        valve_node: Option<NodeId>,
    ) -> Tap<'a> {
        let reached: Vec<NodeId> = match lateral {
            Some(l) => {
                let line = &network.lines[l];
                let ends = line.branches.iter().map(|b| b.to);
                std::iter::once(line.root).chain(ends).collect()
            }
            None => valve_node.into_iter().collect(),
        };
        let kind = NodeKind::Outlet(outlet.id.clone());
        let node = node_of(network, reached.into_iter(), &kind, outlet.at);
        let run = node
            .zip(lateral)
            .and_then(|(node, l)| self.ends[l].get(&node).copied());
        let flow = outlet.flow;
        Tap {
            outlet,
            node,
            run,
            flow,
        }
    }

    fn tees_at_valves(&mut self, network: &Network) {
        let Some(main) = network.lines.iter().position(|l| l.kind == LineKind::Main) else {
            return;
        };
        let nodes: Vec<Option<NodeId>> = self.ways.iter().map(|w| w.valve_node).collect();
        for way in &mut self.ways {
            let Some(node) = way.valve_node else { continue };
            let goes_on = network.lines[main].branches.iter().any(|b| b.from == node);
            let others = nodes.iter().filter(|n| **n == Some(node)).count() > 1;
            way.tee_at_valve = goes_on || others;
        }
    }

    /// Each run carries what the outlets behind it are taken to draw; the main the largest of what runs
    /// at a time.
    pub fn set_flows(&mut self) {
        for run in &mut self.runs {
            run.flow = Flow::ZERO;
        }
        for section in &mut self.sections {
            section.flow = Flow::ZERO;
        }
        for way in &mut self.ways {
            way.flow = way.taps.iter().map(|tap| tap.flow).sum();
        }
        for way in &self.ways {
            for tap in &way.taps {
                for run in
                    std::iter::successors(tap.run, |run| self.runs[*run].feeder).collect::<Vec<_>>()
                {
                    self.runs[run].flow += tap.flow;
                }
            }
            for run in &way.upstream {
                self.runs[*run].flow = self.runs[*run].flow.max(way.flow);
            }
        }
        for (a, b) in self.pairs.clone() {
            let both = self.ways[a].flow + self.ways[b].flow;
            for run in self.shared(a, b) {
                self.runs[run].flow = self.runs[run].flow.max(both);
            }
        }
        for run in &self.runs {
            let section = &mut self.sections[run.section];
            section.flow = section.flow.max(run.flow);
        }
    }
}

/// The circuits that the job lets run together, each pair once.
fn pairs(job: &Job) -> Vec<(usize, usize)> {
    let circuits = &job.system.circuits;
    let mut pairs: Vec<(usize, usize)> = Vec::new();
    for (i, circuit) in circuits.iter().enumerate() {
        let other = circuit.runs_with.as_ref();
        let other = other.and_then(|id| circuits.iter().position(|c| c.id == *id));
        if let Some(j) = other.filter(|j| *j != i) {
            pairs.push((i.min(j), i.max(j)));
        }
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs
}

/// Whether exactly one pipe of a line leaves a node and nothing is fed there.
fn goes_straight_on(line: &Line, node: NodeId) -> bool {
    line.branches.iter().filter(|b| b.from == node).count() == 1 && !line.terminals.contains(&node)
}

/// The node of a thing among those that a line reaches: by what is there, else by place.
fn node_of(
    network: &Network,
    mut reached: impl Iterator<Item = NodeId> + Clone,
    kind: &NodeKind,
    at: Place,
) -> Option<NodeId> {
    let near = |n: &NodeId| network.node(*n).at.distance(at) <= SAME_PLACE_M;
    let by_place = reached.clone().find(near);
    reached
        .find(|n| network.node(*n).what == *kind)
        .or(by_place)
}

fn source_height(network: &Network) -> Length {
    let root_of = |kind: LineKind| {
        let line = network.lines.iter().find(|l| l.kind == kind)?;
        Some(network.node(line.root).elevation)
    };
    network
        .nodes
        .iter()
        .find(|n| matches!(n.what, NodeKind::Source(_)))
        .map(|n| n.elevation)
        .or_else(|| root_of(LineKind::Service))
        .or_else(|| root_of(LineKind::Main))
        .unwrap_or(Length::ZERO)
}

/// The family of a line's pipe. A checked job names one that exists; else the first one stands in.
pub(crate) fn family_of<'a>(job: &'a Job, kind: &LineKind) -> Option<(&'a str, &'a PipeFamily)> {
    let wanted = match kind {
        LineKind::Service | LineKind::Main => Some(job.system.source.main_pipe.as_str()),
        LineKind::Lateral(circuit) => Some(job.circuit(circuit).map_or("", |c| c.pipe.as_str())),
        LineKind::Wire | LineKind::Cable(_) => None,
    }?;
    let families = &job.practice.pipe;
    families
        .get_key_value(wanted)
        .filter(|(_, family)| !family.sizes.is_empty())
        .or_else(|| families.iter().find(|(_, family)| !family.sizes.is_empty()))
        .map(|(key, family)| (key.as_str(), family))
}
