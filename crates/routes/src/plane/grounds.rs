//! What a line costs by the ground it crosses.

use super::exact::{Frame, cross, dot, far};
use super::walls::parity;
use super::{PlaneError, Walls};
use geo::{Coord, Polygon};

/// A line nearer than this to a border pays the cheaper of its two sides, in the unit of the
/// coordinates: as near to a border as one likes there is a line that costs that little.
pub const AT_BORDER: f64 = 1e-6;

/// A kind of ground and what a line in it costs per unit of length.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Where it lies; holes are not part of it.
    pub polygon: Polygon,
    /// Cost per unit of length, finite and not negative.
    pub cost: f64,
}

/// Surfaces, later ones on top, and the cost elsewhere.
#[derive(Debug, Clone)]
pub(crate) struct Grounds {
    layers: Vec<Layer>,
    base: f64,
}

#[derive(Debug, Clone)]
struct Layer {
    rings: Vec<Vec<Coord>>,
    frame: Frame,
    cost: f64,
}

/// Where a line passes from one cost to another.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Passage {
    /// How far along the line, as a share.
    pub share: f64,
    /// The side of a surface it crosses there.
    pub border: (Coord, Coord),
}

impl Grounds {
    pub fn new(surfaces: &[Surface], base: f64) -> Result<Grounds, PlaneError> {
        let valid = |cost: f64| cost.is_finite() && cost >= 0.0;
        if !valid(base) || !surfaces.iter().all(|s| valid(s.cost)) {
            return Err(PlaneError::Cost);
        }
        let mut layers = Vec::new();
        for surface in surfaces {
            let polygon = &surface.polygon;
            let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
            let rings: Vec<Vec<Coord>> = rings
                .map(|ring| ring.0[..ring.0.len().saturating_sub(1)].to_vec())
                .filter(|ring| ring.len() > 2)
                .collect();
            if !rings
                .iter()
                .flatten()
                .all(|c| (c.x.abs() + c.y.abs()).is_finite())
            {
                return Err(PlaneError::NotFinite);
            }
            let frame = Frame::of(rings.iter().flatten().copied());
            let cost = surface.cost;
            layers.push(Layer { rings, frame, cost });
        }
        Ok(Grounds { layers, base })
    }

    /// Whether every line costs the same per unit of length.
    pub fn is_uniform(&self) -> bool {
        self.layers.is_empty()
    }

    /// The least cost per unit of length anywhere.
    pub fn least(&self) -> f64 {
        let costs = self.layers.iter().map(|layer| layer.cost);
        costs.fold(self.base, f64::min)
    }

    /// Cost per unit of length at a place; on a border, of the surface whose border it is.
    pub fn unit_at(&self, p: Coord) -> f64 {
        let on_top = self.layers.iter().rev().find(|layer| {
            layer.frame.holds(p) && parity(layer.rings.iter().map(Vec::as_slice), p).unwrap_or(true)
        });
        on_top.map_or(self.base, |layer| layer.cost)
    }

    /// The cheaper side for a line that runs through `p` in direction `along`, unless an obstacle
    /// lies there.
    fn unit_beside(&self, p: Coord, along: Coord, walls: &Walls) -> f64 {
        let here = self.unit_at(p);
        let normal = Coord {
            x: -along.y,
            y: along.x,
        };
        [p + normal * AT_BORDER, p - normal * AT_BORDER]
            .into_iter()
            .map(|beside| (self.unit_at(beside), beside))
            .filter(|(unit, beside)| *unit < here && walls.holds(*beside))
            .fold(here, |least, (unit, _)| least.min(unit))
    }

    /// Cost of the straight line between two places.
    pub fn integral(&self, a: Coord, b: Coord, walls: &Walls) -> f64 {
        let length = far(a, b);
        if self.is_uniform() || length <= 0.0 {
            return length * self.base;
        }
        let mut cuts: Vec<f64> = self.cuts(a, b).map(|cut| cut.share).collect();
        if cuts.is_empty() && !self.layers.iter().any(|layer| layer.frame.holds(a)) {
            return length * self.unit_beside(a + (b - a) * 0.5, (b - a) / length, walls);
        }
        cuts.push(1.0);
        cuts.sort_by(f64::total_cmp);
        let along = (b - a) / length;
        let mut from = 0.0;
        let mut cost = 0.0;
        for to in cuts {
            if to > from {
                let middle = a + (b - a) * (0.5 * (from + to));
                cost += (to - from) * length * self.unit_beside(middle, along, walls);
                from = to;
            }
        }
        cost
    }

    /// Where a line crosses sides of surfaces, in no order.
    fn cuts(&self, a: Coord, b: Coord) -> impl Iterator<Item = Passage> + '_ {
        let frame = Frame::of([a, b]);
        let along = b - a;
        let layers = self.layers.iter().filter(move |l| l.frame.meets(&frame));
        let rings = layers.flat_map(|layer| &layer.rings);
        let square = dot(along, along);
        let near = AT_BORDER * square.sqrt();
        rings
            .flat_map(|ring| sides(ring))
            .filter_map(move |(u, v)| {
                let (of_u, of_v) = (cross(along, u - a), cross(along, v - a));
                // A line along a border passes its corners, on whichever side of them rounding puts it.
                let at = if of_u.abs() <= near {
                    u
                } else if (of_u > 0.0) == (of_v > 0.0) || of_v.abs() <= near {
                    return None;
                } else {
                    u + (v - u) * (of_u / (of_u - of_v))
                };
                let share = dot(at - a, along) / square;
                let border = (u, v);
                (share > 0.0 && share < 1.0).then_some(Passage { share, border })
            })
    }

    /// Where the cost per unit of length changes along a line, in order.
    pub fn passages(&self, a: Coord, b: Coord) -> Vec<Passage> {
        let mut cuts: Vec<Passage> = self.cuts(a, b).collect();
        cuts.sort_by(|p, q| p.share.total_cmp(&q.share));
        let ends = |i: usize| if i < cuts.len() { cuts[i].share } else { 1.0 };
        let unit = |from: f64, to: f64| self.unit_at(a + (b - a) * (0.5 * (from + to)));
        let mut kept = Vec::new();
        let mut from = 0.0;
        for (i, cut) in cuts.iter().enumerate() {
            let to = ends(i + 1);
            let differs = (unit(from, cut.share) - unit(cut.share, to)).abs() > 0.0;
            if to > cut.share && differs {
                kept.push(*cut);
            }
            if to > cut.share {
                from = cut.share;
            }
        }
        kept
    }

    /// All sides of surfaces, in order of the layers.
    pub fn borders(&self) -> impl Iterator<Item = (Coord, Coord)> + '_ {
        self.layers
            .iter()
            .flat_map(|layer| &layer.rings)
            .flat_map(|ring| sides(ring))
    }
}

fn sides(ring: &[Coord]) -> impl Iterator<Item = (Coord, Coord)> + '_ {
    (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]))
}
