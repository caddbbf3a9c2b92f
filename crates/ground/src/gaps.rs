//! Gaps between solid things, and the widest way in through them.
//!
//! A gap is a straight line between two places of solid outlines, one of them a corner, whose circle
//! holds nothing else solid: every passage is narrowest at such a line. The ground between outlines is
//! cut into triangles with the gaps among their edges; a way leads from triangle to triangle, and it is
//! as wide as the shortest edge that it crosses. Crossing a gate is as wide as the gate was measured.

use crate::free::{distance, foot_on};
use crate::solids::Solids;
use geo::algorithm::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line};
use job::{Job, Place};
use quantity::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use spade::handles::{DirectedEdgeHandle, FixedFaceHandle, FixedVertexHandle, InnerTag};
use spade::{CdtEdge, ConstrainedDelaunayTriangulation, Point2, PositionInTriangulation};
use spade::{HasPosition, Triangulation};
use std::collections::BinaryHeap;

/// Gaps up to this many metres are looked for where no machine needs more.
const WIDEST: f64 = 6.0;

/// Nearer places are one, in metres.
const SAME: f64 = 1e-6;

/// Something found so near an outline belongs to it, in metres.
const ON_OUTLINE: f64 = 1e-5;

/// The narrowest place on the widest way in: what a machine would have to fit through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Pinch {
    /// One end of the gap; for a gate, a post.
    pub from: Place,
    /// The other end.
    pub to: Place,
    /// How wide it is; a gate, as it was measured.
    pub clear: Length,
    /// How wide it would have to be.
    pub needed: Length,
    /// The gate's feature id, if it is a gate.
    pub gate: Option<String>,
    /// What lies at either end, such as "building B1".
    pub between: [String; 2],
}

/// A gap between two solid things.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Gap {
    pub ends: Line,
}

impl Gap {
    pub fn middle(&self) -> Coord {
        (self.ends.start + self.ends.end) / 2.0
    }

    pub fn width(&self) -> f64 {
        distance(self.ends.start, self.ends.end)
    }

    /// As the place that a machine does not fit through or cannot turn in.
    pub fn pinch(&self, solids: &Solids, needed: f64) -> Pinch {
        let Line { start, end } = self.ends;
        Pinch {
            from: start.into(),
            to: end.into(),
            clear: Length::m(self.width()),
            needed: Length::m(needed),
            gate: None,
            between: [start, end].map(|at| beside(solids, at)),
        }
    }

    /// The directions in which one may pass it, as unit vectors: square to it.
    pub fn across(&self) -> Coord {
        let along = self.ends.end - self.ends.start;
        let length = along.x.hypot(along.y).max(f64::MIN_POSITIVE);
        Coord {
            x: -along.y / length,
            y: along.x / length,
        }
    }
}

/// All gaps up to a width; those narrower than anything come with it.
pub(crate) fn gaps(solids: &Solids, widest: f64) -> Vec<Gap> {
    let widest = widest.max(WIDEST);
    let mut found = Vec::new();
    for outline in solids.outlines() {
        let mut corners: Vec<Coord> = Vec::new();
        for line in outline.lines() {
            if corners.last() != Some(&line.start) {
                corners.push(line.start);
            }
            corners.push(line.end);
        }
        if corners.len() > 1 && corners.first() == corners.last() {
            corners.pop();
        }
        for corner in corners {
            gaps_at(solids, corner, widest, &mut found);
        }
    }
    found
}

fn gaps_at(solids: &Solids, corner: Coord, widest: f64, found: &mut Vec<Gap>) {
    let mut feet: Vec<(f64, Coord)> = solids
        .edges_near(corner, widest)
        .map(|(edge, _)| foot_on(edge, corner))
        .map(|foot| (distance(foot, corner), foot))
        .filter(|(away, _)| *away > SAME)
        .collect();
    feet.sort_by(|a, b| a.0.total_cmp(&b.0));
    feet.dedup_by(|a, b| distance(a.1, b.1) < SAME);
    // The nearest feet rule most others out without a look at all edges.
    for (i, (away, foot)) in feet.iter().enumerate() {
        let middle = (corner + *foot) / 2.0;
        let radius = away / 2.0 - SAME;
        let nearer = &feet[..i.min(8)];
        if nearer.iter().any(|(_, f)| distance(*f, middle) < radius) {
            continue;
        }
        if solids.clearance(middle) >= radius {
            found.push(Gap {
                ends: Line::new(corner, *foot),
            });
        }
    }
}

#[derive(Debug, Clone, Copy)]
struct Corner(Point2<f64>);

impl HasPosition for Corner {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.0
    }
}

type Mesh = ConstrainedDelaunayTriangulation<Corner>;

/// How wide the widest way to a place is, and where it is narrowest, if anywhere.
pub(crate) type Widest = (f64, Option<Line>);

type Face = FixedFaceHandle<InnerTag>;

/// The widest way from the entrances to every place.
#[derive(Debug, Clone)]
pub(crate) struct WidestWays {
    mesh: Mesh,
    ways: Vec<Option<Widest>>,
}

impl WidestWays {
    /// From places at the entrances.
    pub fn new(job: &Job, solids: &Solids, gaps: &[Gap], entries: &[Coord]) -> Self {
        let mesh = mesh(solids, gaps);
        let mut ways = vec![None; mesh.num_all_faces()];
        let mut queue: BinaryHeap<Front> = entries
            .iter()
            .filter_map(|entry| face_at(&mesh, *entry))
            .map(|face| Front {
                width: f64::INFINITY,
                face,
                narrowest: None,
            })
            .collect();
        while let Some(front) = queue.pop() {
            if ways[front.face.index()].is_some() {
                continue;
            }
            ways[front.face.index()] = Some((front.width, front.narrowest));
            queue.extend(onward(job, solids, &mesh, &front));
        }
        Self { mesh, ways }
    }

    /// The widest way to a place; nothing if there is none.
    pub fn to(&self, place: Coord) -> Option<Widest> {
        self.ways[face_at(&self.mesh, place)?.index()]
    }
}

/// The narrowest place of a way, for a machine that needs so much.
pub(crate) fn pinch(job: &Job, solids: &Solids, narrowest: Line, needed: f64) -> Pinch {
    let pinch = Gap { ends: narrowest }.pinch(solids, needed);
    let Some(gate) = gate_at(solids, narrowest).map(|i| &job.survey.gates[i]) else {
        return pinch;
    };
    Pinch {
        from: gate.from,
        to: gate.to,
        clear: gate.clear_width,
        gate: Some(gate.id.clone()),
        between: [gate.from, gate.to].map(|post| beside(solids, post.into())),
        ..pinch
    }
}

fn beside(solids: &Solids, at: Coord) -> String {
    let nearest = solids.nearest(at, ON_OUTLINE.max(SAME));
    nearest.map_or_else(String::new, |(_, solid)| solids.name(solid).to_owned())
}

#[derive(Debug, Clone, Copy)]
struct Front {
    width: f64,
    face: Face,
    narrowest: Option<Line>,
}

impl PartialEq for Front {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Front {}

impl PartialOrd for Front {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Front {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        let width = self.width.total_cmp(&other.width);
        width.then(other.face.index().cmp(&self.face.index()))
    }
}

fn onward(job: &Job, solids: &Solids, mesh: &Mesh, front: &Front) -> Vec<Front> {
    let face = mesh.face(front.face);
    let next = face.adjacent_edges().into_iter().filter_map(|edge| {
        let beyond = edge.rev().face();
        let beyond = beyond.as_inner()?.fix();
        let line = ends(edge);
        let width = if edge.is_constraint_edge() {
            job.survey.gates[gate_at(solids, line)?].clear_width.to_m()
        } else {
            distance(line.start, line.end)
        };
        Some(if width < front.width {
            Front {
                width,
                face: beyond,
                narrowest: Some(line),
            }
        } else {
            Front {
                face: beyond,
                ..*front
            }
        })
    });
    next.collect()
}

fn ends(edge: DirectedEdgeHandle<Corner, (), CdtEdge<()>, ()>) -> Line {
    let [from, to] = edge.positions();
    Line::new((from.x, from.y), (to.x, to.y))
}

/// The gate that a piece of outline is, if nothing solid stands in it.
fn gate_at(solids: &Solids, piece: Line) -> Option<usize> {
    let middle = (piece.start + piece.end) / 2.0;
    solids
        .nearest(middle, ON_OUTLINE)
        .and_then(|(_, solid)| solids.gate_index(solid))
}

fn face_at(mesh: &Mesh, place: Coord) -> Option<Face> {
    let edge_face = |edge: DirectedEdgeHandle<Corner, (), CdtEdge<()>, ()>| {
        let face = edge.face().as_inner();
        let face = face.or_else(|| edge.rev().face().as_inner());
        face.map(|f| f.fix())
    };
    match mesh.locate(Point2::new(place.x, place.y)) {
        PositionInTriangulation::OnFace(face) => Some(face),
        PositionInTriangulation::OnEdge(edge) => edge_face(mesh.directed_edge(edge)),
        PositionInTriangulation::OnVertex(vertex) => {
            mesh.vertex(vertex).out_edges().find_map(edge_face)
        }
        _ => None,
    }
}

/// Triangles whose edges follow all outlines. Outlines that cross are cut where they do.
fn mesh(solids: &Solids, gaps: &[Gap]) -> Mesh {
    let mut mesh = Mesh::new();
    let mut add = |at: Coord| mesh.insert(Corner(Point2::new(at.x, at.y))).ok();
    let mut chains: Vec<Vec<FixedVertexHandle>> = Vec::new();
    let feet = rstar::RTree::bulk_load(gaps.iter().map(|g| [g.ends.end.x, g.ends.end.y]).collect());
    for outline in solids.outlines() {
        for line in outline.lines() {
            let stops = stops(solids, &feet, line);
            chains.push(stops.into_iter().filter_map(&mut add).collect());
        }
    }
    for pair in chains.iter().flat_map(|chain| chain.windows(2)) {
        if pair[0] != pair[1] {
            mesh.try_add_constraint(pair[0], pair[1]);
        }
    }
    mesh
}

fn key(line: Line) -> [u64; 4] {
    [line.start.x, line.start.y, line.end.x, line.end.y].map(f64::to_bits)
}

/// The ends of a line of an outline and, in order between them, the feet of gaps on it and where other
/// outlines cross it.
fn stops(solids: &Solids, feet: &rstar::RTree<[f64; 2]>, line: Line) -> Vec<Coord> {
    let (a, b) = (line.start, line.end);
    let envelope = rstar::AABB::from_corners(
        [a.x.min(b.x) - SAME, a.y.min(b.y) - SAME],
        [a.x.max(b.x) + SAME, a.y.max(b.y) + SAME],
    );
    let on = feet
        .locate_in_envelope(&envelope)
        .map(|p| Coord { x: p[0], y: p[1] });
    let on = on.filter(|p| distance(foot_on(line, *p), *p) < SAME);
    let crossed = solids.crossings(line).filter_map(|other| {
        // Either line finds the same place, to the last bit.
        let (p, q) = if key(line) <= key(other) {
            (line, other)
        } else {
            (other, line)
        };
        match line_intersection(p, q)? {
            LineIntersection::SinglePoint { intersection, .. } => Some(vec![intersection]),
            LineIntersection::Collinear { intersection } => {
                Some(vec![intersection.start, intersection.end])
            }
        }
    });
    let mut between: Vec<Coord> = on.chain(crossed.flatten()).collect();
    between.retain(|p| distance(*p, a) > SAME && distance(*p, b) > SAME);
    between.sort_by(|p, q| distance(*p, a).total_cmp(&distance(*q, a)));
    between.dedup_by(|p, q| distance(*p, *q) < SAME);
    std::iter::once(a).chain(between).chain([b]).collect()
}
