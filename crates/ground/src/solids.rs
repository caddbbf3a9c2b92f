//! Everything solid that keeps machines away, by what it is called.

use crate::free::{distance, foot_on, grow_line, is_area};
use geo::algorithm::line_intersection::line_intersection;
use geo::{Coord, Line, LineString, LinesIter, MultiPolygon, Polygon};
use job::{Job, ObstacleKind, Shape};
use rstar::{AABB, RTree, primitives::GeomWithData};

/// Half the thickness that a fence or wall drawn as a line is given, in metres.
const LINE_HALF: f64 = 1e-4;

/// Sides of the polygon that stands for a trunk.
const TRUNK_SIDES: u32 = 8;

pub(crate) type Edge = rstar::primitives::Line<[f64; 2]>;

/// Obstacles, fences and trunks; then the gates, taken for shut; then the property line.
#[derive(Debug, Clone)]
pub(crate) struct Solids {
    names: Vec<String>,
    outlines: Vec<Outline>,
    gates_from: u32,
    boundary: u32,
    edges: RTree<GeomWithData<Edge, u32>>,
}

#[derive(Debug, Clone)]
pub(crate) enum Outline {
    Area(Polygon),
    Line(LineString),
}

impl Outline {
    pub(crate) fn lines(&self) -> Vec<Line> {
        match self {
            Self::Area(polygon) => polygon.lines_iter().collect(),
            Self::Line(line) => line.lines().collect(),
        }
    }

    /// Its ground; a line is as thin as it can be.
    fn ground(&self) -> MultiPolygon {
        match self {
            Self::Area(polygon) => MultiPolygon::new(vec![polygon.clone()]),
            Self::Line(line) => grow_line(line, LINE_HALF),
        }
    }
}

impl Solids {
    pub(crate) fn of(job: &Job) -> Self {
        let survey = &job.survey;
        let obstacles = survey.obstacles.iter().map(|obstacle| {
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
        let trunks = survey.trees.iter().filter_map(|tree| {
            let radius = tree.trunk.to_m() / 2.0;
            let around = crate::polygon_around(tree.at.into(), radius, TRUNK_SIDES);
            is_area(&around).then(|| (format!("tree {}", tree.id), Outline::Area(around)))
        });
        let (mut names, mut outlines): (Vec<String>, Vec<Outline>) =
            obstacles.chain(trunks).unzip();
        let gates_from = names.len() as u32;
        for gate in &survey.gates {
            names.push(format!("gate {}", gate.id));
            let line = LineString::from(vec![Coord::from(gate.from), Coord::from(gate.to)]);
            outlines.push(Outline::Line(line));
        }
        let boundary = names.len() as u32;
        names.push("the property line".to_owned());
        outlines.push(Outline::Area(survey.boundary.polygon.clone()));
        let edges = outlines.iter().enumerate().flat_map(|(i, outline)| {
            let tagged = move |line: Line| GeomWithData::new(edge(line), i as u32);
            outline.lines().into_iter().map(tagged)
        });
        let edges = RTree::bulk_load(edges.collect());
        Self {
            names,
            outlines,
            gates_from,
            boundary,
            edges,
        }
    }

    /// The nearest solid thing within a distance, by its index, and how far it is; a gate or the
    /// property line only where nothing else is so near.
    pub(crate) fn nearest(&self, place: Coord, within: f64) -> Option<(f64, u32)> {
        self.edges
            .locate_within_distance([place.x, place.y], within * within)
            .map(|edge| {
                let away = distance(foot_on(line(edge.geom()), place), place);
                (self.rank(edge.data), away, edge.data)
            })
            .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.cmp(&b.2)))
            .map(|(_, away, solid)| (away, solid))
    }

    fn rank(&self, index: u32) -> u8 {
        u8::from(index >= self.gates_from) + u8::from(index == self.boundary)
    }

    /// How far the nearest edge of all is: obstacle, gate or property line.
    pub(crate) fn clearance(&self, place: Coord) -> f64 {
        let nearest = self.edges.nearest_neighbor(&[place.x, place.y]);
        nearest.map_or(f64::INFINITY, |edge| {
            distance(foot_on(line(edge.geom()), place), place)
        })
    }

    /// The edges within a distance of a place, with the index of what they belong to.
    pub(crate) fn edges_near(
        &self,
        place: Coord,
        within: f64,
    ) -> impl Iterator<Item = (Line, u32)> + '_ {
        self.edges
            .locate_within_distance([place.x, place.y], within * within)
            .map(|edge| (line(edge.geom()), edge.data))
    }

    /// The indices of what a line meets.
    pub(crate) fn met(&self, way: Line) -> impl Iterator<Item = u32> + '_ {
        self.beside(way)
            .filter(move |(edge, _)| line_intersection(way, *edge).is_some())
            .map(|(_, index)| index)
    }

    /// The edges that a line meets, itself among them if it is one.
    pub(crate) fn crossings(&self, way: Line) -> impl Iterator<Item = Line> + '_ {
        self.beside(way).map(|(edge, _)| edge)
    }

    fn beside(&self, way: Line) -> impl Iterator<Item = (Line, u32)> + '_ {
        let envelope = AABB::from_corners([way.start.x, way.start.y], [way.end.x, way.end.y]);
        self.edges
            .locate_in_envelope_intersecting(&envelope)
            .map(|edge| (line(edge.geom()), edge.data))
    }

    pub(crate) fn name(&self, index: u32) -> &str {
        &self.names[index as usize]
    }

    pub(crate) fn is_boundary(&self, index: u32) -> bool {
        index == self.boundary
    }

    pub(crate) fn gate_index(&self, index: u32) -> Option<usize> {
        (index >= self.gates_from && index < self.boundary)
            .then(|| (index - self.gates_from) as usize)
    }

    pub(crate) fn outlines(&self) -> &[Outline] {
        &self.outlines
    }

    /// The ground of everything but the property line.
    pub(crate) fn ground(&self) -> Vec<MultiPolygon> {
        let solid = &self.outlines[..self.boundary as usize];
        solid.iter().map(Outline::ground).collect()
    }
}

pub(crate) fn edge(line: Line) -> Edge {
    Edge::new([line.start.x, line.start.y], [line.end.x, line.end.y])
}

pub(crate) fn line(edge: &Edge) -> Line {
    let at = |p: [f64; 2]| Coord { x: p[0], y: p[1] };
    Line::new(at(edge.from), at(edge.to))
}
