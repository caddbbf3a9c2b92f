//! Whether a tape can be drawn straight between two places.

use geo::{Contains, Coord, Distance, Euclidean, Line, LineString, Point, Polygon};
use job::{Job, Place, Shape, Survey};
use rstar::primitives::GeomWithData;
use rstar::{AABB, RTree, primitives::Rectangle};

/// A tape passes what it enters by less than this, metres, and its ends may touch what they are held at.
const TOUCHES: f64 = 0.001;

/// What a tape cannot pass.
enum Solid {
    /// A building, a wall with its thickness, a pool.
    Area(Polygon),
    /// A piece of a wall or fence in a line.
    Edge(Line),
    /// The trunk of a tree.
    Round(Coord, f64),
}

/// All that stands in the way of a tape.
pub struct Sight {
    solids: Vec<Solid>,
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>,
    gates: Vec<Line>,
}

impl Sight {
    pub fn new(job: &Job) -> Self {
        let solids = solids(&job.survey);
        let boxes = solids.iter().enumerate().map(|(i, solid)| {
            let (low, high) = extent(solid);
            GeomWithData::new(Rectangle::from_corners(low, high), i)
        });
        let gates = job.survey.gates.iter();
        Self {
            tree: RTree::bulk_load(boxes.collect()),
            gates: gates
                .map(|g| Line::new(Coord::from(g.from), Coord::from(g.to)))
                .collect(),
            solids,
        }
    }

    /// Whether nothing stands between two places.
    pub fn clear(&self, from: Place, to: Place) -> bool {
        let length = from.distance(to);
        if length <= 2.0 * TOUCHES {
            return true;
        }
        let part = TOUCHES / length;
        let tape = Line::new(
            Coord::from(from.toward(to, part)),
            Coord::from(from.toward(to, 1.0 - part)),
        );
        let (a, b) = (tape.start, tape.end);
        let hull = AABB::from_corners([a.x.min(b.x), a.y.min(b.y)], [a.x.max(b.x), a.y.max(b.y)]);
        self.tree
            .locate_in_envelope_intersecting(&hull)
            .all(|near| !self.stops(&self.solids[near.data], tape))
    }

    fn stops(&self, solid: &Solid, tape: Line) -> bool {
        match solid {
            Solid::Area(polygon) => enters(polygon, tape),
            Solid::Edge(edge) => crossing(tape, *edge)
                .is_some_and(|at| !self.in_gate(tape.start + tape.delta() * at)),
            Solid::Round(middle, radius) => {
                Euclidean.distance(&tape, &Point::from(*middle)) < radius - TOUCHES
            }
        }
    }

    fn in_gate(&self, at: Coord) -> bool {
        let near = |gate: &Line| Euclidean.distance(gate, &Point::from(at)) < TOUCHES;
        self.gates.iter().any(near)
    }
}

fn solids(survey: &Survey) -> Vec<Solid> {
    let mut solids = Vec::new();
    for obstacle in &survey.obstacles {
        match &obstacle.shape {
            Shape::Area(polygon) => solids.push(Solid::Area(polygon.clone())),
            Shape::Line(line) => solids.extend(line.lines().map(Solid::Edge)),
        }
    }
    let trees = survey.trees.iter();
    solids.extend(trees.map(|t| Solid::Round(t.at.into(), t.trunk.si() / 2.0)));
    solids
}

fn extent(solid: &Solid) -> ([f64; 2], [f64; 2]) {
    let around = |places: &mut dyn Iterator<Item = Coord>| {
        let start = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        places.fold(start, |(low, high), p| {
            (
                [low[0].min(p.x), low[1].min(p.y)],
                [high[0].max(p.x), high[1].max(p.y)],
            )
        })
    };
    match solid {
        Solid::Area(polygon) => around(&mut polygon.exterior().0.iter().copied()),
        Solid::Edge(edge) => around(&mut [edge.start, edge.end].into_iter()),
        Solid::Round(middle, r) => ([middle.x - r, middle.y - r], [middle.x + r, middle.y + r]),
    }
}

/// Where along a tape, from 0 to 1, it meets an edge; the middle of what they share if they lie in line.
fn crossing(tape: Line, edge: Line) -> Option<f64> {
    let (along, across) = (tape.delta(), edge.delta());
    let gap = edge.start - tape.start;
    let turned = cross(along, across);
    if turned.abs() > f64::EPSILON * (dot(along, along) * dot(across, across)).sqrt() {
        let (t, u) = (cross(gap, across) / turned, cross(gap, along) / turned);
        let inside = (0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u);
        return inside.then_some(t);
    }
    let length = dot(along, along).sqrt();
    if cross(along, gap).abs() > TOUCHES * length {
        return None;
    }
    let [p, q] = [edge.start, edge.end].map(|end| dot(end - tape.start, along) / (length * length));
    let (low, high) = (p.min(q).max(0.0), p.max(q).min(1.0));
    (low <= high).then(|| (low + high) / 2.0)
}

fn cross(a: Coord, b: Coord) -> f64 {
    a.x * b.y - a.y * b.x
}

fn dot(a: Coord, b: Coord) -> f64 {
    a.x * b.x + a.y * b.y
}

/// Whether a tape runs through the inside of an area. It is cut where it meets the outline, and the middle
/// of each piece is looked at, so that it may run along a face and touch corners.
fn enters(polygon: &Polygon, tape: Line) -> bool {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    let mut cuts: Vec<f64> = rings
        .flat_map(LineString::lines)
        .filter_map(|edge| crossing(tape, edge))
        .chain([0.0, 1.0])
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.windows(2).any(|pair| {
        let middle = Point::from(tape.start + tape.delta() * ((pair[0] + pair[1]) / 2.0));
        polygon.contains(&middle) && Euclidean.distance(&middle, polygon.exterior()) > TOUCHES
    })
}
