//! From chosen edges to stretches: runs of trench with the same contents in one kind of ground.

use crate::candidates::{cross, length};
use crate::laid::Laid;
use crate::pieces::{Piece, absorb_short, pieces_along};
use crate::sites::Wanted;
use crate::solve::{feature_of, in_words};
use crate::trench_findings::trench_findings;
use crate::turning::{Turning, TurningRule};
use crate::{
    Branch, Crossing, Line, Network, Node, NodeId, NodeKind, Site, SleeveUse, Stretch, StretchId,
};
use geo::{Coord, LinesIter};
use ground::Ground;
use job::{Finding, Job, Place};
use quantity::{Angle, Length};
use rayon::prelude::*;
use std::collections::{BTreeMap, VecDeque};

/// What is known of the trenches decided on, besides where they are.
#[derive(Debug, Clone, Copy)]
pub struct Known {
    /// Cost of digging and of lines.
    pub laying: f64,
    /// The bound.
    pub bound: f64,
    /// How many candidate edges the graph had.
    pub least_laying: f64,
    pub candidates: usize,
    pub refinement: Option<f64>,
    /// How turning is counted.
    pub rule: TurningRule,
}

/// Edges in a row with the same contents, seen from the end that is dug from.
struct Chain {
    nodes: Vec<u32>,
    edges: Vec<u32>,
    carries: Vec<usize>,
}

/// The network of the trenches decided on.
pub fn build(
    job: &Job,
    ground: &Ground,
    map: &Laid,
    sites: &[Site],
    lines: &[Wanted],
    known: Known,
) -> Network {
    let carried = carried(&map.trees);
    let chains = chains(map, &carried);
    let mut builder = Builder {
        job,
        ground,
        map,
        sites,
        nodes: Vec::new(),
        stretches: Vec::new(),
        known: BTreeMap::new(),
    };
    for site in 0..sites.len() as u32 {
        if lines.iter().any(|l| l.sites.contains(&(site as usize))) {
            builder.node(site);
        }
    }
    let pieces: Vec<Vec<Piece>> = chains.par_iter().map(|c| builder.pieces(c)).collect();
    for (chain, pieces) in chains.iter().zip(pieces) {
        builder.dig(chain, pieces);
    }
    let lines: Vec<Line> = lines
        .iter()
        .enumerate()
        .map(|(i, wanted)| builder.line(i, wanted))
        .collect();
    let crossings = builder.crossings();
    let mut findings = crossing_findings(job, &crossings);
    findings.extend(builder.tucked());
    let turning = turning(builder.nodes.len(), &builder.stretches, known.rule);
    findings.extend(trench_findings(
        job,
        &lines,
        &builder.nodes,
        &builder.stretches,
    ));
    builder
        .stretches
        .par_iter_mut()
        .for_each(|stretch| stretch.ground.tight = ground.tight(job, &stretch.path));
    let cost = known.laying + turning.cost;
    // The same sum taken in another order may be a hair less.
    let least_laying = known.least_laying.min(cost - turning.cost);
    Network {
        nodes: builder.nodes,
        stretches: builder.stretches,
        lines,
        crossings,
        cost,
        bound: known.bound.min(least_laying),
        least_laying,
        turning,
        candidates: known.candidates,
        refinement: known.refinement,
        findings,
    }
}

/// Bends and junctions of the stretches, from their centre lines.
fn turning(nodes: usize, stretches: &[Stretch], rule: TurningRule) -> Turning {
    let mut sum = Turning::default();
    let mut arms = vec![Vec::new(); nodes];
    for stretch in stretches {
        let path: Vec<Coord> = stretch.path.iter().map(|p| Coord::from(*p)).collect();
        for at in path.windows(3) {
            rule.add(&[at[0] - at[1], at[2] - at[1]], &mut sum);
        }
        let last = path.len() - 1;
        arms[stretch.from.index()].push(path[1] - path[0]);
        arms[stretch.to.index()].push(path[last - 1] - path[last]);
    }
    for arms in &arms {
        rule.add(arms, &mut sum);
    }
    sum
}

fn carried(trees: &[Vec<u32>]) -> BTreeMap<u32, Vec<usize>> {
    let mut carried: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (line, tree) in trees.iter().enumerate() {
        for edge in tree {
            carried.entry(*edge).or_default().push(line);
        }
    }
    carried
}

/// Chains of edges with the same contents, breadth first from the first site, so that numbers run
/// outward from the source.
fn chains(map: &Laid, carried: &BTreeMap<u32, Vec<usize>>) -> Vec<Chain> {
    let mut beside: BTreeMap<u32, Vec<(u32, u32)>> = BTreeMap::new();
    for edge in carried.keys() {
        let e = &map.edges[*edge as usize];
        beside.entry(e.a).or_default().push((e.b, *edge));
        beside.entry(e.b).or_default().push((e.a, *edge));
    }
    let is_key = |node: u32| {
        let links = &beside[&node];
        let sleeved = links
            .iter()
            .any(|(_, e)| map.edges[*e as usize].sleeve.is_some());
        map.is_site(node)
            || links.len() != 2
            || sleeved
            || carried[&links[0].1] != carried[&links[1].1]
    };
    let mut done: BTreeMap<u32, bool> = BTreeMap::new();
    let mut seen: BTreeMap<u32, bool> = BTreeMap::new();
    let mut chains = Vec::new();
    for start in beside.keys().copied().filter(|n| is_key(*n)) {
        let mut queue = VecDeque::from([start]);
        while let Some(node) = queue.pop_front() {
            if seen.insert(node, true).is_some() {
                continue;
            }
            for (next, edge) in &beside[&node] {
                if done.contains_key(edge) {
                    continue;
                }
                let chain = walk(&beside, &is_key, node, *next, *edge, carried);
                for edge in &chain.edges {
                    done.insert(*edge, true);
                }
                queue.push_back(chain.nodes[chain.nodes.len() - 1]);
                chains.push(chain);
            }
        }
    }
    chains
}

fn walk(
    beside: &BTreeMap<u32, Vec<(u32, u32)>>,
    is_key: &dyn Fn(u32) -> bool,
    start: u32,
    next: u32,
    edge: u32,
    carried: &BTreeMap<u32, Vec<usize>>,
) -> Chain {
    let mut chain = Chain {
        nodes: vec![start, next],
        edges: vec![edge],
        carries: carried[&edge].clone(),
    };
    let mut here = next;
    while !is_key(here) {
        let last = chain.edges[chain.edges.len() - 1];
        let Some((on, edge)) = beside[&here].iter().find(|(_, e)| *e != last) else {
            break;
        };
        chain.nodes.push(*on);
        chain.edges.push(*edge);
        here = *on;
    }
    chain
}

struct Builder<'a> {
    job: &'a Job,
    ground: &'a Ground,
    map: &'a Laid,
    sites: &'a [Site],
    nodes: Vec<Node>,
    stretches: Vec<Stretch>,
    known: BTreeMap<u32, NodeId>,
}

impl Builder<'_> {
    fn node(&mut self, map_node: u32) -> NodeId {
        if let Some(id) = self.known.get(&map_node) {
            return *id;
        }
        let what = self
            .sites
            .get(map_node as usize)
            .map_or(NodeKind::Junction, |site| site.what.clone());
        let id = self.new_node(self.map.nodes[map_node as usize], what);
        self.known.insert(map_node, id);
        id
    }

    fn new_node(&mut self, at: Coord, what: NodeKind) -> NodeId {
        let elevation = self.ground.elevation(at);
        self.nodes.push(Node {
            at: at.into(),
            elevation,
            what,
        });
        NodeId(self.nodes.len() as u32 - 1)
    }

    fn path(&self, chain: &Chain) -> Vec<Coord> {
        let nodes = chain.nodes.iter();
        without_straights(nodes.map(|n| self.map.nodes[*n as usize]).collect())
    }

    /// The pieces of a chain in one kind of ground each; a sleeve is not cut.
    fn pieces(&self, chain: &Chain) -> Vec<Piece> {
        let path = self.path(chain);
        if self.map.edges[chain.edges[0] as usize].sleeve.is_some() {
            return vec![self.sleeve_piece(&path)];
        }
        let shortest = self.job.practice.cut.shortest_piece.value;
        absorb_short(pieces_along(self.ground, &path), shortest)
    }

    fn dig(&mut self, chain: &Chain, mut pieces: Vec<Piece>) {
        let (first, last) = (chain.nodes[0], chain.nodes[chain.nodes.len() - 1]);
        let sleeve = &self.map.edges[chain.edges[0] as usize].sleeve;
        if let Some(existing) = sleeve
            && let Some(piece) = pieces.pop()
        {
            let path = piece.path.clone();
            let use_ = self.sleeve_use(&path, existing.clone(), &piece);
            let (from, to) = (self.node(first), self.node(last));
            self.push(from, to, piece, &chain.carries, Some(use_));
            return;
        }
        let count = pieces.len();
        let mut from = self.node(first);
        for (i, piece) in pieces.into_iter().enumerate() {
            let to = if i + 1 == count {
                self.node(last)
            } else {
                self.new_node(piece.path[piece.path.len() - 1], NodeKind::Change)
            };
            // A component on paving is met through it all the same.
            let sleeve = piece
                .ground
                .surface
                .is_paved()
                .then(|| self.sleeve_use(&piece.path, None, &piece));
            self.push(from, to, piece, &chain.carries, sleeve);
            from = to;
        }
    }

    fn push(
        &mut self,
        from: NodeId,
        to: NodeId,
        piece: Piece,
        carries: &[usize],
        sleeve: Option<SleeveUse>,
    ) {
        self.stretches.push(Stretch {
            from,
            to,
            length: Length::m(piece.length()),
            path: piece.path.iter().map(|p| Place::from(*p)).collect(),
            carries: carries.to_vec(),
            ground: piece.ground,
            sleeve,
        });
    }

    /// A sleeve is one piece, whatever lies above it; it counts as in the paving at its middle.
    fn sleeve_piece(&self, path: &[Coord]) -> Piece {
        let middle = (path[0] + path[path.len() - 1]) / 2.0;
        let ground = self.ground.describe(&self.ground.class_at(middle), middle);
        Piece {
            path: path.to_vec(),
            ground,
        }
    }

    fn sleeve_use(&self, path: &[Coord], existing: Option<String>, piece: &Piece) -> SleeveUse {
        let line = geo::Line::new(path[0], path[path.len() - 1]);
        let angle = self
            .ground
            .paved()
            .lines_iter()
            .filter(|edge| geo::Intersects::intersects(edge, &line))
            .map(|edge| ground::angle_between(line, edge))
            .fold(Angle::deg(90.0), Angle::min);
        SleeveUse {
            existing,
            paving: piece.ground.surface_id.clone(),
            angle,
        }
    }

    fn line(&mut self, index: usize, wanted: &Wanted) -> Line {
        let name = wanted.kind.in_words();
        let ids: Vec<NodeId> = wanted.sites.iter().map(|s| self.node(*s as u32)).collect();
        let branches = branches(&self.stretches, index, ids[0]);
        Line {
            name,
            kind: wanted.kind.clone(),
            root: ids[0],
            terminals: ids[1..].to_vec(),
            branches,
        }
    }

    fn crossings(&self) -> Vec<Crossing> {
        let mut found = Vec::new();
        for (i, stretch) in self.stretches.iter().enumerate() {
            for pair in stretch.path.windows(2) {
                for cross in self.ground.crossings(pair[0].into(), pair[1].into()) {
                    found.push(Crossing {
                        stretch: StretchId(i as u32),
                        utility: self.job.survey.utilities[cross.utility].id.clone(),
                        at: cross.at,
                        angle: cross.angle,
                    });
                }
            }
        }
        found
    }

    /// Components that stand within a clearance.
    fn tucked(&self) -> Vec<Finding> {
        let used = self
            .sites
            .iter()
            .enumerate()
            .filter(|(i, _)| self.known.contains_key(&(*i as u32)));
        used.filter(|(_, site)| !self.ground.open().holds(site.at))
            .map(|(_, site)| {
                Finding::caution(
                    "within-clearance",
                    feature_of(&site.what),
                    format!(
                        "({}) stands within the clearance of an obstacle, paving, trunk or the \
                         property line; the trench to it enters that clearance",
                        in_words(&site.what)
                    ),
                    "dig the last bit by hand, or move the component",
                )
            })
            .collect()
    }
}

/// The stretches of a line in an order in which every one follows the one that feeds it.
fn branches(stretches: &[Stretch], line: usize, root: NodeId) -> Vec<Branch> {
    let mut beside: BTreeMap<NodeId, Vec<(NodeId, StretchId)>> = BTreeMap::new();
    for (i, stretch) in stretches
        .iter()
        .enumerate()
        .filter(|(_, s)| s.carries.contains(&line))
    {
        let id = StretchId(i as u32);
        beside
            .entry(stretch.from)
            .or_default()
            .push((stretch.to, id));
        beside
            .entry(stretch.to)
            .or_default()
            .push((stretch.from, id));
    }
    let mut found = Vec::new();
    let mut done: BTreeMap<StretchId, bool> = BTreeMap::new();
    let mut queue = VecDeque::from([root]);
    while let Some(node) = queue.pop_front() {
        for (next, stretch) in beside.get(&node).into_iter().flatten() {
            if done.insert(*stretch, true).is_none() {
                found.push(Branch {
                    stretch: *stretch,
                    from: node,
                    to: *next,
                });
                queue.push_back(*next);
            }
        }
    }
    found
}

/// A path without the places at which it does not turn.
fn without_straights(path: Vec<Coord>) -> Vec<Coord> {
    let mut kept: Vec<Coord> = Vec::with_capacity(path.len());
    for (i, here) in path.iter().enumerate() {
        let straight = i > 0 && i + 1 < path.len() && {
            let (before, after) = (kept[kept.len() - 1], path[i + 1]);
            let (u, v) = (*here - before, after - *here);
            cross(u, v).abs() <= 1e-6 * length(u) * length(v)
        };
        if !straight {
            kept.push(*here);
        }
    }
    kept
}

fn crossing_findings(job: &Job, crossings: &[Crossing]) -> Vec<Finding> {
    let least = job.practice.utility.crossing_angle.value;
    let mut findings = Vec::new();
    for crossing in crossings {
        let Some(utility) = job
            .survey
            .utilities
            .iter()
            .find(|u| u.id == crossing.utility)
        else {
            continue;
        };
        let subject = crossing.stretch.to_string();
        if !(utility.located && utility.marked) {
            findings.push(Finding::warning(
                "crosses-unmarked",
                &subject,
                format!(
                    "crosses {} {}, which is not {}",
                    utility.class.label(),
                    utility.id,
                    if utility.located { "marked" } else { "located" }
                ),
                "have it located and marked before anyone digs here",
            ));
        }
        if crossing.angle < least {
            findings.push(Finding::warning(
                "flat-crossing",
                &subject,
                format!(
                    "crosses {} {} at {:.0}°, less than {:.0}°",
                    utility.class.label(),
                    utility.id,
                    crossing.angle.to_deg(),
                    least.to_deg()
                ),
                "move the component that lies so close to the service",
            ));
        }
    }
    findings
}
