//! Whether a machine has room along a straight run and beyond its ends.

use crate::Ground;
use crate::free::distance;
use crate::site::unit;
use crate::stretch::Tight;
use geo::{Coord, Line, coord};
use job::prices::MethodKind;
use job::{Job, Method, MethodId, Place};
use quantity::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The room of a method along a straight run; nothing lacks where it can work.
#[derive(Debug, Clone, PartialEq)]
pub struct RunRoom {
    /// What the machine lacks beyond the run's first and last place, in line with it.
    pub ends: [Option<Lack>; 2],
    /// What it lacks beside the run on the roomier side.
    pub side: Option<Lack>,
}

impl RunRoom {
    /// Whether nothing lacks.
    pub fn is_enough(&self) -> bool {
        self.ends.iter().all(Option::is_none) && self.side.is_none()
    }
}

/// Room that is missing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Lack {
    /// The room that there is.
    pub clear: Length,
    /// The room that the machine needs.
    pub needed: Length,
    /// What takes it, such as "building B1".
    pub by: String,
    /// Where that comes nearest.
    pub at: Place,
}

/// A strip along a line: its ends, and how far it reaches to the left and right.
struct Strip {
    from: Coord,
    to: Coord,
    left: f64,
    right: f64,
}

impl Ground {
    /// The room of a method along a straight run from one place to another.
    ///
    /// Beyond each end the body has to fit, as wide as it is, for the method's `end_room`; along the
    /// run half the body and, on one side, its `side_room`. Gates count as shut. A run without length
    /// has no direction: then the end room is looked for in none.
    pub fn run_room(&self, method: &Method, from: Place, to: Place) -> RunRoom {
        let (a, b) = (Coord::from(from), Coord::from(to));
        let half = method.body_width.value.to_m() / 2.0;
        let room = |stated: &Option<job::Sourced<Length>>| {
            stated.as_ref().map_or(0.0, |room| room.value.to_m())
        };
        let Some(heading) = unit(b - a) else {
            return RunRoom {
                ends: [None, None],
                side: None,
            };
        };
        let beyond = room(&method.end_room);
        let ends = [(a, heading * -1.0), (b, heading)].map(|(end, outward)| {
            let strip = Strip {
                from: end,
                to: end + outward * beyond,
                left: half,
                right: half,
            };
            let (clear, by, at) = self.first_along(&strip)?;
            lack(clear, beyond, by, at)
        });
        let wide = half + room(&method.side_room);
        let sides = [(half, wide), (wide, half)].map(|(left, right)| {
            let strip = Strip {
                from: a,
                to: b,
                left,
                right,
            };
            let (clear, by, at) = self.nearest_beside(&strip)?;
            lack(clear, wide, by, at)
        });
        let side = match sides {
            [Some(left), Some(right)] => Some(if left.clear >= right.clear {
                left
            } else {
                right
            }),
            _ => None,
        };
        RunRoom { ends, side }
    }

    /// How far along a strip the first solid thing in it lies, and what it is.
    fn first_along(&self, strip: &Strip) -> Option<(f64, String, Coord)> {
        let found = self
            .in_strip(strip)
            .map(|(along, _, at, name)| (along, name, at));
        found.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// How far from the middle of a strip the nearest solid thing in it lies, and what it is; on the
    /// wide side if anything is there.
    fn nearest_beside(&self, strip: &Strip) -> Option<(f64, String, Coord)> {
        let found = self
            .in_strip(strip)
            .map(|(_, off, at, name)| (off, name, at));
        found.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Of every solid edge in a strip, its nearest place along and off the middle line.
    fn in_strip(&self, strip: &Strip) -> impl Iterator<Item = (f64, f64, Coord, String)> + '_ {
        let length = distance(strip.from, strip.to);
        let (from, left, right) = (strip.from, strip.left, strip.right);
        let heading = unit(strip.to - strip.from).unwrap_or_default();
        let middle = (strip.from + strip.to) / 2.0;
        let reach = length / 2.0 + left.max(right);
        let solids = &self.site().solids;
        let frame = move |p: Coord| {
            let p = p - from;
            coord! {x: p.x * heading.x + p.y * heading.y, y: heading.x * p.y - heading.y * p.x}
        };
        solids
            .edges_near(middle, reach)
            .filter_map(move |(edge, index)| {
                let local = Line::new(frame(edge.start), frame(edge.end));
                let inside = clipped(local, [0.0, length], [-right, left])?;
                let along = inside.start.x.min(inside.end.x);
                let crosses = inside.start.y.signum() * inside.end.y.signum() <= 0.0;
                let off = inside.start.y.abs().min(inside.end.y.abs());
                let off = if crosses { 0.0 } else { off };
                let nearer = if inside.start.x <= inside.end.x {
                    inside.start
                } else {
                    inside.end
                };
                let at =
                    from + heading * nearer.x + coord! {x: -heading.y, y: heading.x} * nearer.y;
                Some((along, off, at, solids.name(index).to_owned()))
            })
    }

    /// Which of a job's machines lack room along a path: in line beyond its ends, or beside it on the
    /// first straight part where they do.
    pub fn tight(&self, job: &Job, path: &[Place]) -> Vec<Tight> {
        let machines = job.prices.method.iter();
        let machines = machines.filter(|(_, m)| is_machine(m.kind));
        let machines: Vec<(&MethodId, &Method)> = machines.collect();
        let most = machines.iter().map(|(_, m)| widest_room(m));
        let most = most.fold(0.0, f64::max);
        let parts: Vec<[Place; 2]> = path
            .windows(2)
            .map(|pair| [pair[0], pair[1]])
            .filter(|[a, b]| a.distance(*b) > 0.0)
            .collect();
        if !parts.iter().any(|[a, b]| self.has_solids(*a, *b, most)) {
            return Vec::new();
        }
        let tight = machines.into_iter().filter_map(|(id, method)| {
            let rooms: Vec<RunRoom> = parts
                .iter()
                .map(|[a, b]| self.run_room(method, *a, *b))
                .collect();
            let tight = Tight {
                method: id.clone(),
                ends: [
                    rooms.first()?.ends[0].clone(),
                    rooms.last()?.ends[1].clone(),
                ],
                side: rooms.iter().find_map(|room| room.side.clone()),
            };
            let lacks = tight.side.is_some() || tight.ends.iter().any(Option::is_some);
            lacks.then_some(tight)
        });
        tight.collect()
    }

    fn has_solids(&self, a: Place, b: Place, within: f64) -> bool {
        let middle = Coord::from(a.toward(b, 0.5));
        let mut near = self
            .site()
            .solids
            .edges_near(middle, a.distance(b) / 2.0 + within);
        near.next().is_some()
    }
}

fn is_machine(kind: MethodKind) -> bool {
    matches!(kind, MethodKind::Trench | MethodKind::Pull)
}

/// How far from a run something may stand and yet matter to a method, in metres.
fn widest_room(method: &Method) -> f64 {
    let half = method.body_width.value.to_m() / 2.0;
    let rooms = [&method.end_room, &method.side_room];
    let rooms = rooms.into_iter().flatten().map(|room| room.value.to_m());
    half + rooms.fold(0.0, f64::max)
}

fn lack(clear: f64, needed: f64, by: String, at: Coord) -> Option<Lack> {
    (clear < needed).then(|| Lack {
        clear: Length::m(clear.max(0.0)),
        needed: Length::m(needed),
        by,
        at: at.into(),
    })
}

/// The part of a line strictly inside a rectangle (Liang and Barsky's clipping).
fn clipped(line: Line, x: [f64; 2], y: [f64; 2]) -> Option<Line> {
    let along = line.end - line.start;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let bounds = [
        (along.x, x[0] - line.start.x, x[1] - line.start.x),
        (along.y, y[0] - line.start.y, y[1] - line.start.y),
    ];
    for (rate, low, high) in bounds {
        if rate.abs() < 1e-12 {
            if low >= 0.0 || high <= 0.0 {
                return None;
            }
            continue;
        }
        let (a, b) = (low / rate, high / rate);
        from = from.max(a.min(b));
        to = to.min(a.max(b));
    }
    (from < to).then(|| Line::new(line.start + along * from, line.start + along * to))
}
