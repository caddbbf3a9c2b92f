//! Which ground a machine's body gets to from the entrance.

use crate::Regions;
use crate::free::{distance, foot_on, is_area};
use geo::{
    BooleanOps, Buffer, Coord, Intersects, Line, LineString, LinesIter, MultiPolygon, Point,
    Polygon, unary_union,
};
use job::{Gate, Job, MethodId, ObstacleKind, Shape};
use rstar::{RTree, primitives::GeomWithData};
use std::collections::{BTreeMap, VecDeque};

/// How far beyond the posts of a gate its two sides are looked for, in metres.
const BESIDE_GATE: f64 = 0.05;

/// How a machine stands to a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// It gets there.
    Reached,
    /// It would get there if this gate (by its index in the survey) were wide enough.
    Gate(u32),
    /// It does not get there even with all gates taken out.
    CutOff,
    /// Its body has no room beside this solid thing (by its index).
    Near(u32),
    /// Its body would stand over the property line.
    OverBoundary,
}

/// The ground that bodies of one width get to.
#[derive(Debug, Clone)]
pub struct Reach {
    /// Width of the body in metres.
    pub width: f64,
    /// The methods with a body of this width.
    pub methods: Vec<MethodId>,
    parts: Regions,
    standing: Vec<Standing>,
}

/// Everything solid that keeps machines away: obstacles, fences, trunks.
#[derive(Debug, Clone)]
pub(crate) struct Solids {
    names: Vec<String>,
    outlines: Vec<Outline>,
    edges: RTree<GeomWithData<Edge, u32>>,
}

type Edge = rstar::primitives::Line<[f64; 2]>;

#[derive(Debug, Clone)]
enum Outline {
    Area(Polygon),
    Line(LineString),
}

impl Solids {
    pub(crate) fn of(job: &Job) -> Self {
        let obstacles = job.survey.obstacles.iter().map(|obstacle| {
            let outline = match &obstacle.shape {
                Shape::Area(polygon) if obstacle.kind == ObstacleKind::Fence => {
                    Outline::Line(polygon.exterior().clone())
                }
                Shape::Area(polygon) => Outline::Area(polygon.clone()),
                Shape::Line(line) => Outline::Line(line.clone()),
            };
            (
                format!("{} {}", obstacle.kind.label(), obstacle.id),
                outline,
            )
        });
        let trunks = job.survey.trees.iter().filter_map(|tree| {
            let around = crate::polygon_around(tree.at.into(), tree.trunk.to_m() / 2.0, 8);
            is_area(&around).then(|| (format!("tree {}", tree.id), Outline::Area(around)))
        });
        let (names, outlines): (Vec<String>, Vec<Outline>) = obstacles.chain(trunks).unzip();
        let edges = outlines.iter().enumerate().flat_map(|(i, outline)| {
            let lines: Vec<Line> = match outline {
                Outline::Area(polygon) => polygon.lines_iter().collect(),
                Outline::Line(line) => line.lines().collect(),
            };
            lines.into_iter().map(move |line| {
                let edge = Edge::new([line.start.x, line.start.y], [line.end.x, line.end.y]);
                GeomWithData::new(edge, i as u32)
            })
        });
        let edges = RTree::bulk_load(edges.collect());
        Self {
            names,
            outlines,
            edges,
        }
    }

    /// The nearest solid thing within a distance, by its index, and how far it is.
    pub(crate) fn nearest(&self, place: Coord, within: f64) -> Option<(f64, u32)> {
        self.edges
            .locate_within_distance([place.x, place.y], within * within)
            .map(|edge| {
                let line = Line::new(
                    Coord {
                        x: edge.geom().from[0],
                        y: edge.geom().from[1],
                    },
                    Coord {
                        x: edge.geom().to[0],
                        y: edge.geom().to[1],
                    },
                );
                (distance(foot_on(line, place), place), edge.data)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
    }

    pub(crate) fn name(&self, index: u32) -> &str {
        &self.names[index as usize]
    }

    fn grown(&self, by: f64) -> Vec<MultiPolygon> {
        let grow = |outline: &Outline| match outline {
            Outline::Area(polygon) => polygon.buffer(by),
            Outline::Line(line) => line.buffer(by),
        };
        self.outlines.iter().map(grow).collect()
    }
}

/// What is left of an area for the middle of a body that keeps `half_width` from its edge and from
/// solid outlines. Round corners are many-sided polygons a little inside the true curve.
pub fn eroded(area: &Polygon, solids: &[MultiPolygon], half_width: f64) -> MultiPolygon {
    let inner = area.buffer(-half_width);
    let blocked = unary_union(solids.iter().flat_map(|s| s.iter()));
    inner.difference(&blocked)
}

impl Reach {
    /// For bodies of a width (metres) that come in at the job's accesses.
    pub(crate) fn new(job: &Job, solids: &Solids, width: f64, methods: Vec<MethodId>) -> Self {
        let half = width / 2.0;
        let mut blocked = solids.grown(half);
        blocked.extend(job.survey.gates.iter().map(|gate| {
            LineString::from(vec![Coord::from(gate.from), Coord::from(gate.to)]).buffer(half)
        }));
        let area = eroded(&job.survey.boundary.polygon, &blocked, half);
        let parts: Vec<Polygon> = area.into_iter().collect();
        let standing = standings(job, &parts, width);
        let parts = Regions::new(
            parts
                .into_iter()
                .enumerate()
                .map(|(i, p)| (i as u32, p))
                .collect(),
        );
        Self {
            width,
            methods,
            parts,
            standing,
        }
    }

    /// How a body stands to a place.
    pub(crate) fn standing(&self, place: Coord, solids: &Solids) -> Standing {
        match self.parts.at(place) {
            Some(part) => self.standing[part as usize],
            None => solids
                .nearest(place, self.width / 2.0)
                .map_or(Standing::OverBoundary, |(_, solid)| Standing::Near(solid)),
        }
    }

    /// The ground's parts, reached or not.
    pub fn parts(&self) -> &Regions {
        &self.parts
    }

    /// The parts that are reached.
    pub fn reached(&self) -> MultiPolygon {
        let reached = self
            .parts
            .polygons()
            .iter()
            .filter(|(i, _)| self.standing[*i as usize] == Standing::Reached)
            .map(|(_, polygon)| polygon.clone());
        MultiPolygon::new(reached.collect())
    }
}

/// For every part of the ground: whether a body of this width gets there, or which gate stops it.
fn standings(job: &Job, parts: &[Polygon], width: f64) -> Vec<Standing> {
    let near = |place: Coord, within: f64| part_near(parts, place, within);
    let entrances = job
        .survey
        .accesses
        .iter()
        .filter_map(|a| near(a.at.into(), width + 1.0));
    let gates: Vec<(usize, &Gate, Vec<usize>)> = job
        .survey
        .gates
        .iter()
        .enumerate()
        .map(|(i, gate)| {
            (
                i,
                gate,
                sides(gate, width).filter_map(|p| near(p, width)).collect(),
            )
        })
        .collect();
    // The narrowest gate on the way to each part; none means that every gate on it is wide enough.
    let mut narrowest: BTreeMap<usize, Option<usize>> = BTreeMap::new();
    let mut queue: VecDeque<usize> = VecDeque::new();
    for part in entrances {
        narrowest.entry(part).or_insert(None);
        queue.push_back(part);
    }
    while let Some(part) = queue.pop_front() {
        let so_far = narrowest[&part];
        for (index, gate, beside) in gates.iter().filter(|(_, _, b)| b.contains(&part)) {
            let passes = gate.clear_width.to_m() >= width;
            let way = if passes {
                so_far
            } else {
                Some(narrower(job, so_far, *index))
            };
            for other in beside.iter().filter(|p| **p != part) {
                let known = narrowest.get(other);
                if known.is_none() || (known != Some(&None) && way.is_none()) {
                    narrowest.insert(*other, way);
                    queue.push_back(*other);
                }
            }
        }
    }
    (0..parts.len())
        .map(|part| match narrowest.get(&part) {
            Some(None) => Standing::Reached,
            Some(Some(gate)) => Standing::Gate(*gate as u32),
            None => Standing::CutOff,
        })
        .collect()
}

fn narrower(job: &Job, so_far: Option<usize>, gate: usize) -> usize {
    let width = |i: usize| job.survey.gates[i].clear_width;
    so_far
        .filter(|other| width(*other) <= width(gate))
        .unwrap_or(gate)
}

/// The places just clear of a gate on its two sides.
fn sides(gate: &Gate, width: f64) -> impl Iterator<Item = Coord> {
    let (a, b) = (Coord::from(gate.from), Coord::from(gate.to));
    let length = distance(a, b).max(f64::MIN_POSITIVE);
    let middle = (a + b) / 2.0;
    let normal = Coord {
        x: -(b.y - a.y) / length,
        y: (b.x - a.x) / length,
    };
    [1.0, -1.0]
        .into_iter()
        .map(move |side| middle + normal * (side * (width / 2.0 + BESIDE_GATE)))
}

fn part_near(parts: &[Polygon], place: Coord, within: f64) -> Option<usize> {
    let point = Point::from(place);
    parts.iter().position(|p| p.intersects(&point)).or_else(|| {
        parts
            .iter()
            .enumerate()
            .map(|(i, part)| {
                let away = part
                    .lines_iter()
                    .map(|line| distance(foot_on(line, place), place))
                    .fold(f64::INFINITY, f64::min);
                (away, i)
            })
            .filter(|(away, _)| *away <= within)
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, i)| i)
    })
}
