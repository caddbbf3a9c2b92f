//! A run of stretches as one line, with its nodes and turns.

use job::Place;
use quantity::{Angle, Length};
use routes::{Network, NodeId, StretchId};

/// A place along a run where its direction may change.
#[derive(Debug, Clone)]
pub(super) struct Spot {
    pub(super) at: Place,
    /// From the beginning of the run.
    pub(super) s: Length,
    /// The node that it is, if it is one.
    pub(super) node: Option<NodeId>,
    /// How far the line turns here.
    pub(super) turn: Angle,
    /// Index into the run's stretches of the one that comes after; of the last one at the end.
    pub(super) stretch: usize,
}

/// A run as one line.
#[derive(Debug, Clone)]
pub(super) struct Track {
    pub(super) ids: Vec<StretchId>,
    pub(super) spots: Vec<Spot>,
}

impl Track {
    /// `ids` continue one another in this order.
    pub(super) fn new(network: &Network, ids: &[StretchId]) -> Self {
        let mut spots: Vec<Spot> = Vec::new();
        let mut node = first_node(network, ids);
        let mut s = Length::ZERO;
        for (i, id) in ids.iter().enumerate() {
            let stretch = network.stretch(*id);
            for (k, at) in stretch.path_from(node).into_iter().enumerate() {
                let here = (k == 0).then_some(node);
                match spots.last_mut() {
                    Some(last) if last.at.distance(at) <= 0.0 => {
                        last.node = last.node.or(here);
                        last.stretch = i;
                    }
                    last => {
                        s += Length::m(last.map_or(0.0, |l| l.at.distance(at)));
                        spots.push(Spot {
                            at,
                            s,
                            node: here,
                            turn: Angle::ZERO,
                            stretch: i,
                        });
                    }
                }
            }
            node = other_end(network, *id, node);
            if let Some(last) = spots.last_mut() {
                last.node = Some(node);
            }
        }
        for i in 1..spots.len().saturating_sub(1) {
            spots[i].turn = turn(spots[i - 1].at, spots[i].at, spots[i + 1].at);
        }
        Self {
            ids: ids.to_vec(),
            spots,
        }
    }

    pub(super) fn length(&self) -> Length {
        self.spots.last().map_or(Length::ZERO, |spot| spot.s)
    }

    /// Legs and the turns between them from one distance to another.
    pub(super) fn between(&self, from: Length, to: Length) -> (Vec<Length>, Vec<Angle>) {
        let (mut legs, mut turns, mut at) = (Vec::new(), Vec::new(), from);
        for spot in self.spots.iter().filter(|p| p.s > from && p.s < to) {
            legs.push(spot.s - at);
            turns.push(spot.turn);
            at = spot.s;
        }
        legs.push(to - at);
        (legs, turns)
    }

    /// The place at a distance and the index of the stretch it lies in.
    pub(super) fn place(&self, s: Length) -> Option<(Place, usize)> {
        let pair = self.spots.windows(2).find(|pair| s <= pair[1].s)?;
        let share = (s - pair[0].s) / (pair[1].s - pair[0].s);
        Some((pair[0].at.toward(pair[1].at, share), pair[0].stretch))
    }

    /// The largest radius with which the line can be rounded at a spot: within half of the legs beside
    /// it, and no farther from the corner than `corner_cut`. Endless where it does not turn.
    pub(super) fn room(&self, index: usize, corner_cut: Length) -> Length {
        let (Some(before), Some(after)) = (
            index.checked_sub(1).and_then(|i| self.spots.get(i)),
            self.spots.get(index + 1),
        ) else {
            return Length::m(f64::INFINITY);
        };
        let spot = &self.spots[index];
        let leg = (spot.s - before.s).min(after.s - spot.s);
        rounding(leg * 0.5, corner_cut, spot.turn)
    }
}

/// Radius of the largest arc that rounds a corner: its tangents are not longer than `tangent`, and it
/// passes the corner within `corner_cut`. Geometry of an arc between two tangents: T = R tan(turn/2),
/// E = R (1/cos(turn/2) - 1).
pub(super) fn rounding(tangent: Length, corner_cut: Length, turn: Angle) -> Length {
    let half = turn.to_rad() / 2.0;
    if half <= 0.0 {
        return Length::m(f64::INFINITY);
    }
    if half >= std::f64::consts::FRAC_PI_2 {
        return Length::ZERO;
    }
    let by_legs = tangent / half.tan();
    let by_corner = corner_cut / (1.0 / half.cos() - 1.0).max(f64::MIN_POSITIVE);
    by_legs.min(by_corner)
}

fn first_node(network: &Network, ids: &[StretchId]) -> NodeId {
    let first = network.stretch(ids[0]);
    match ids.get(1).map(|id| network.stretch(*id)) {
        Some(next) if next.from != first.to && next.to != first.to => first.to,
        _ => first.from,
    }
}

fn other_end(network: &Network, id: StretchId, node: NodeId) -> NodeId {
    let stretch = network.stretch(id);
    if stretch.from == node {
        stretch.to
    } else {
        stretch.from
    }
}

fn turn(a: Place, b: Place, c: Place) -> Angle {
    let (ux, uy) = (b.x - a.x, b.y - a.y);
    let (vx, vy) = (c.x - b.x, c.y - b.y);
    let (cross, dot) = (ux * vy - uy * vx, ux * vx + uy * vy);
    Angle::rad(cross.abs().atan2(dot))
}
