//! A rectilinear outline of few corners around trenches.

use crate::Baseline;
use job::Place;

/// A cut that takes less than this share of the rectangle is not worth two more corners.
const WORTH: f64 = 0.08;
/// More cuts than this are not told in few words.
const MOST_CUTS: usize = 4;
/// Slanting trench is looked at in pieces that reach no farther than this, metres.
const PIECE: f64 = 0.5;
/// Less than this is nothing, metres.
const NOTHING: f64 = 1e-6;

/// The axes along and square to the baseline.
#[derive(Debug, Clone, Copy)]
pub struct Axes {
    origin: Place,
    along: (f64, f64),
}

impl Axes {
    /// Along a baseline; along the plan's x where there is none.
    pub fn along(baseline: Option<&Baseline>) -> Self {
        let level = Self {
            origin: Place::new(0.0, 0.0),
            along: (1.0, 0.0),
        };
        baseline.map_or(level, |line| {
            let length = line.from.distance(line.to);
            Self {
                origin: line.from,
                along: (
                    (line.to.x - line.from.x) / length,
                    (line.to.y - line.from.y) / length,
                ),
            }
        })
    }

    /// Direction of the first axis, radians counterclockwise from the plan's x.
    pub fn angle(&self) -> f64 {
        self.along.1.atan2(self.along.0)
    }

    /// Along, and to the left.
    pub fn of(&self, at: Place) -> [f64; 2] {
        let (x, y) = (at.x - self.origin.x, at.y - self.origin.y);
        let (c, s) = self.along;
        [x * c + y * s, c * y - s * x]
    }

    fn place(&self, [along, left]: [f64; 2]) -> Place {
        let (c, s) = self.along;
        Place::new(
            self.origin.x + along * c - left * s,
            self.origin.y + along * s + left * c,
        )
    }
}

/// An upright rectangle on the axes.
#[derive(Debug, Clone, Copy)]
struct Patch {
    low: [f64; 2],
    high: [f64; 2],
}

impl Patch {
    fn around(a: [f64; 2], b: [f64; 2], margin: f64) -> Self {
        Self {
            low: [0, 1].map(|i| a[i].min(b[i]) - margin),
            high: [0, 1].map(|i| a[i].max(b[i]) + margin),
        }
    }

    fn with(self, other: &Self) -> Self {
        Self {
            low: [0, 1].map(|i| self.low[i].min(other.low[i])),
            high: [0, 1].map(|i| self.high[i].max(other.high[i])),
        }
    }

    fn area(&self) -> f64 {
        (self.high[0] - self.low[0]) * (self.high[1] - self.low[1])
    }
}

/// The outline around paths and a margin, counterclockwise on the axes; nothing without a path.
pub fn around(paths: &[&[Place]], margin: f64, axes: &Axes) -> Option<Vec<Place>> {
    let mut taken: Vec<Patch> = paths
        .iter()
        .flat_map(|path| path.windows(2))
        .flat_map(|pair| strips(axes.of(pair[0]), axes.of(pair[1]), margin))
        .collect();
    let whole = taken
        .iter()
        .copied()
        .reduce(|all, patch| all.with(&patch))?;
    let (low, high) = (whole.low, whole.high);
    let mut ring = vec![low, [high[0], low[1]], high, [low[0], high[1]]];
    for _ in 0..MOST_CUTS {
        let Some(cut) = best(&ring, &taken) else {
            break;
        };
        if cut.area() < WORTH * whole.area() {
            break;
        }
        taken.push(cut.patch());
        ring.splice(cut.corner..=cut.corner, cut.places());
        ring = tidy(&ring);
    }
    Some(ring.into_iter().map(|at| axes.place(at)).collect())
}

/// The piece of ground that a straight piece of trench takes up, in upright patches.
fn strips(a: [f64; 2], b: [f64; 2], margin: f64) -> impl Iterator<Item = Patch> {
    let slant = (b[0] - a[0]).abs().min((b[1] - a[1]).abs());
    let count = (slant / PIECE).ceil().max(1.0) as u32;
    let at = move |i: u32| {
        let t = f64::from(i) / f64::from(count);
        [0, 1].map(|k| a[k] + (b[k] - a[k]) * t)
    };
    (0..count).map(move |i| Patch::around(at(i), at(i + 1), margin))
}

/// A rectangle to be cut off at a corner of the ring.
#[derive(Debug, Clone, Copy)]
struct Cut {
    corner: usize,
    at: [f64; 2],
    /// From the corner towards the one before it and the one after it.
    toward: [[f64; 2]; 2],
    reach: [f64; 2],
}

impl Cut {
    fn area(&self) -> f64 {
        self.reach[0] * self.reach[1]
    }

    fn place(&self, back: f64, on: f64) -> [f64; 2] {
        [0, 1].map(|i| self.at[i] + self.toward[0][i] * back + self.toward[1][i] * on)
    }

    /// The three corners that stand where one stood.
    fn places(&self) -> [[f64; 2]; 3] {
        let [back, on] = self.reach;
        [
            self.place(back, 0.0),
            self.place(back, on),
            self.place(0.0, on),
        ]
    }

    fn patch(&self) -> Patch {
        let [back, on] = self.reach;
        Patch::around(self.at, self.place(back, on), 0.0)
    }
}

/// The largest rectangle free of patches at any outward corner.
fn best(ring: &[[f64; 2]], taken: &[Patch]) -> Option<Cut> {
    let cuts = (0..ring.len()).filter_map(|corner| largest(ring, corner, taken));
    cuts.reduce(|best, cut| if cut.area() > best.area() { cut } else { best })
}

fn largest(ring: &[[f64; 2]], corner: usize, taken: &[Patch]) -> Option<Cut> {
    let count = ring.len();
    let at = ring[corner];
    let ends = [
        ring[(corner + count - 1) % count],
        ring[(corner + 1) % count],
    ];
    let lengths = ends.map(|end| (end[0] - at[0]).hypot(end[1] - at[1]));
    let toward = [0, 1].map(|k| [0, 1].map(|i| (ends[k][i] - at[i]) / lengths[k]));
    // The ring runs counterclockwise: at an outward corner it turns left.
    let outward = toward[1][0] * toward[0][1] - toward[1][1] * toward[0][0] > 0.5;
    if !outward {
        return None;
    }
    // Where each patch begins, seen from the corner along both sides; the sides' ends count as patches.
    let mut begins: Vec<[f64; 2]> = taken
        .iter()
        .filter_map(|patch| begin(patch, at, &toward))
        .chain([[lengths[0], 0.0], [0.0, lengths[1]]])
        .collect();
    begins.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut most: Option<[f64; 2]> = None;
    let mut free = f64::INFINITY;
    for [back, on] in begins {
        if free.is_finite() && back > NOTHING && free > NOTHING {
            let larger = most.is_none_or(|[a, b]| back * free > a * b);
            most = if larger { Some([back, free]) } else { most };
        }
        free = free.min(on);
    }
    most.map(|reach| Cut {
        corner,
        at,
        toward,
        reach,
    })
}

/// The nearest corner of a patch that reaches into the quadrant inside a corner of the ring.
fn begin(patch: &Patch, at: [f64; 2], toward: &[[f64; 2]; 2]) -> Option<[f64; 2]> {
    let ends = [patch.low, patch.high];
    let span = toward.map(|axis| {
        let [a, b] = ends.map(|end| (end[0] - at[0]) * axis[0] + (end[1] - at[1]) * axis[1]);
        (a.min(b), a.max(b))
    });
    let reaches = span.iter().all(|(_, far)| *far > NOTHING);
    reaches.then(|| span.map(|(near, _)| near.max(0.0)))
}

/// The ring without double corners and corners on a straight side.
fn tidy(ring: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut ring = ring.to_vec();
    ring.dedup_by(|a, b| (a[0] - b[0]).hypot(a[1] - b[1]) < NOTHING);
    let count = ring.len();
    (0..count)
        .filter(|i| {
            let (before, at, after) = (
                ring[(i + count - 1) % count],
                ring[*i],
                ring[(i + 1) % count],
            );
            let [p, q] = [[at, before], [after, at]].map(|[a, b]| [a[0] - b[0], a[1] - b[1]]);
            (p[0] * q[1] - p[1] * q[0]).abs() > NOTHING
        })
        .map(|i| ring[i])
        .collect()
}
