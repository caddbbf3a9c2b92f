//! Moving the free places of a network to where its weighted length is least.

use super::exact::{dot, far};
use geo::Coord;

/// How a place of a network may move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hold {
    /// Not at all.
    Fixed,
    /// Anywhere.
    Free,
    /// Along the straight line between two places.
    Along(Coord, Coord),
}

/// A part this short, as a share of the network's extent, counts as having this length while others
/// are weighed against it: the sum of lengths has no slope where a part vanishes.
const SMOOTH: f64 = 1e-10;
/// Moves this small, as a share of the extent, end the iteration.
const STILL: f64 = 1e-12;

/// Moves the places of a network so that the sum of weighted lengths of its links becomes least, and
/// gives that sum. `links` are pairs of places with the cost per unit of length between them. The sum is
/// convex, and each step lowers it or leaves it (but for places that come to an end of their line).
///
/// With `Hold::Free` places of three links each this settles a full topology; with `Hold::Along` it
/// finds places of refraction. Each step solves one linear system by elimination from the leaves
/// inward; links that close a ring of movable places lag by a step.
///
/// Source: W. D. Smith, "How to find Steiner minimal trees in Euclidean d-space", Algorithmica 7
/// (1992), 137–177 (from memory).
///
/// # Panics
///
/// If a link names a place that is not there, or there are fewer holds than places.
pub fn settle(
    places: &mut [Coord],
    holds: &[Hold],
    links: &[(usize, usize, f64)],
    steps: usize,
) -> f64 {
    let order = Order::new(places.len(), holds, links);
    let extent = extent(places);
    let mut next = places.to_vec();
    for _ in 0..steps {
        order.step(places, holds, links, SMOOTH * extent, &mut next);
        let moves = places.iter().zip(&next).map(|(p, q)| far(*p, *q));
        let most = moves.fold(0.0, f64::max);
        places.copy_from_slice(&next);
        if most <= STILL * extent {
            break;
        }
    }
    let lengths = links
        .iter()
        .map(|(a, b, w)| w * far(places[*a], places[*b]));
    lengths.sum()
}

fn extent(places: &[Coord]) -> f64 {
    let first = places.first().copied().unwrap_or_default();
    let most = places.iter().map(|p| far(*p, first)).fold(0.0, f64::max);
    most.max(f64::MIN_POSITIVE)
}

/// The movable places with each one after its parent, and the links that are no parent's.
struct Order {
    /// Place, and the link to its parent.
    down: Vec<(usize, Option<usize>)>,
    /// Links whose other end counts as known.
    known: Vec<Vec<(usize, usize)>>,
}

/// Of a place: what it costs to move, `p·(m p) − 2 p·pull`, as a symmetric matrix and a vector.
#[derive(Clone, Copy, Default)]
struct Form {
    xx: f64,
    xy: f64,
    yy: f64,
    pull: Coord,
}

/// Where a place comes to lie given its parent's place `q`: `at + k·m q`.
#[derive(Clone, Copy, Default)]
struct Answer {
    at: Coord,
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Order {
    fn new(count: usize, holds: &[Hold], links: &[(usize, usize, f64)]) -> Order {
        let mut beside: Vec<Vec<(usize, usize)>> = vec![Vec::new(); count];
        for (i, (a, b, _)) in links.iter().enumerate() {
            beside[*a].push((i, *b));
            beside[*b].push((i, *a));
        }
        let movable = |p: usize| holds[p] != Hold::Fixed;
        let mut down = Vec::new();
        let mut known = vec![Vec::new(); count];
        let mut seen = vec![false; count];
        for root in (0..count).filter(|p| movable(*p)) {
            if seen[root] {
                continue;
            }
            seen[root] = true;
            let mut next = down.len();
            down.push((root, None));
            while next < down.len() {
                let (here, parent) = down[next];
                next += 1;
                for (link, other) in &beside[here] {
                    if parent == Some(*link) {
                        continue;
                    }
                    if movable(*other) && !seen[*other] {
                        seen[*other] = true;
                        down.push((*other, Some(*link)));
                    } else {
                        known[here].push((*link, *other));
                    }
                }
            }
        }
        Order { down, known }
    }

    fn step(
        &self,
        places: &[Coord],
        holds: &[Hold],
        links: &[(usize, usize, f64)],
        smooth: f64,
        next: &mut [Coord],
    ) {
        let stiff = |link: usize| {
            let (a, b, weight) = links[link];
            let off = places[a] - places[b];
            weight / (dot(off, off) + smooth * smooth).sqrt()
        };
        let mut forms = vec![Form::default(); places.len()];
        for (here, _) in &self.down {
            for (link, other) in &self.known[*here] {
                forms[*here].add(stiff(*link), places[*other]);
            }
        }
        let mut answers = vec![(Answer::default(), 0.0); places.len()];
        for (here, parent) in self.down.iter().rev() {
            let k = parent.map_or(0.0, stiff);
            let answer = forms[*here].answer(k, holds[*here], places[*here]);
            answers[*here] = (answer, k);
            if let Some(link) = parent {
                forms[other_end(links[*link], *here)].take(k, &answer);
            }
        }
        for (here, parent) in &self.down {
            let (answer, k) = answers[*here];
            let from = parent.map_or(Coord::zero(), |link| next[other_end(links[link], *here)]);
            next[*here] = held(answer.given(k, from), holds[*here]);
        }
    }
}

fn other_end((a, b, _): (usize, usize, f64), one: usize) -> usize {
    if a == one { b } else { a }
}

impl Form {
    fn add(&mut self, stiff: f64, to: Coord) {
        self.xx += stiff;
        self.yy += stiff;
        self.pull = self.pull + to * stiff;
    }

    /// Takes in a child that always goes where it costs least.
    fn take(&mut self, k: f64, child: &Answer) {
        self.xx += k - k * k * child.xx;
        self.xy -= k * k * child.xy;
        self.yy += k - k * k * child.yy;
        self.pull = self.pull + child.at * k;
    }

    fn answer(&self, k: f64, hold: Hold, now: Coord) -> Answer {
        let (xx, xy, yy) = (self.xx + k, self.xy, self.yy + k);
        let still = Answer {
            at: now,
            ..Answer::default()
        };
        match hold {
            Hold::Fixed => still,
            Hold::Free => {
                let det = xx * yy - xy * xy;
                if det.is_nan() || det <= 0.0 {
                    return still;
                }
                let (xx, xy, yy) = (yy / det, -xy / det, xx / det);
                let at = Coord {
                    x: xx * self.pull.x + xy * self.pull.y,
                    y: xy * self.pull.x + yy * self.pull.y,
                };
                Answer { at, xx, xy, yy }
            }
            Hold::Along(from, to) => {
                let d = to - from;
                let times = |p: Coord| Coord {
                    x: xx * p.x + xy * p.y,
                    y: xy * p.x + yy * p.y,
                };
                let stiff = dot(d, times(d));
                if stiff.is_nan() || stiff <= 0.0 {
                    return still;
                }
                Answer {
                    at: from + d * (dot(d, self.pull - times(from)) / stiff),
                    xx: d.x * d.x / stiff,
                    xy: d.x * d.y / stiff,
                    yy: d.y * d.y / stiff,
                }
            }
        }
    }
}

impl Answer {
    fn given(&self, k: f64, parent: Coord) -> Coord {
        self.at
            + Coord {
                x: k * (self.xx * parent.x + self.xy * parent.y),
                y: k * (self.xy * parent.x + self.yy * parent.y),
            }
    }
}

/// The place, brought back to the ends of its line if it lies beyond.
fn held(place: Coord, hold: Hold) -> Coord {
    let Hold::Along(from, to) = hold else {
        return place;
    };
    let d = to - from;
    let share = dot(place - from, d) / dot(d, d).max(f64::MIN_POSITIVE);
    from + d * share.clamp(0.0, 1.0)
}
