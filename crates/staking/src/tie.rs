//! The two tapes that fix a point best.

use crate::sight::Sight;
use crate::{Distance, FixedPoint, Side, Tie};
use job::{Job, Place, Practice};
use quantity::{Angle, Length};
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// By less than this share no error is the smaller.
const AS_GOOD: f64 = 1e-9;
/// A length that is over a whole metre by less than this is that metre.
const WHOLE: f64 = 1e-6;
/// Fixed points that are named where there is no tie.
const NAMED: usize = 3;

/// What ties are chosen from.
pub struct Ties<'a> {
    job: &'a Job,
    fixed: &'a [FixedPoint],
    near: RTree<GeomWithData<[f64; 2], usize>>,
    sight: Sight,
}

/// A fixed point as a stake sees it.
struct Seen {
    fixed: usize,
    length: f64,
    sigma: f64,
    /// Whether nothing stands between, once it was asked.
    clear: Option<bool>,
}

/// Standard deviation of a taped distance, metres: the tape's largest error over √3, since any error up to
/// it is as likely (GUM, JCGM 100:2008, 4.3.7, from memory), with that of holding and reading as the root
/// of the sum of squares.
pub fn sigma(practice: &Practice, length: f64) -> f64 {
    let staking = &practice.staking;
    let tape = staking.tape_error();
    let begun = (length - WHOLE).ceil().max(0.0);
    let most = tape.fixed.value.si() + tape.by_length.value.to_one() * begun;
    (most / 3f64.sqrt()).hypot(staking.holding.value.si())
}

/// Expected error of a place from two distances, metres: √(σ₁² + σ₂²) / sin γ, with γ between the tapes.
/// The tapes' errors move it across one another's arcs; the sum of the squares of its two semi-axes is
/// (σ₁² + σ₂²) / sin² γ.
pub fn expected(first: f64, second: f64, sine: f64) -> f64 {
    first.hypot(second) / sine
}

impl<'a> Ties<'a> {
    pub fn new(job: &'a Job, fixed: &'a [FixedPoint]) -> Self {
        let places = fixed.iter().enumerate();
        let near = places.map(|(i, f)| GeomWithData::new([f.at.x, f.at.y], i));
        Self {
            near: RTree::bulk_load(near.collect()),
            sight: Sight::new(job),
            job,
            fixed,
        }
    }

    /// The tie of a place, or why there is none.
    pub fn of(&self, at: Place) -> Result<Tie, String> {
        let mut seen = self.in_reach(at);
        let mut best: Option<(f64, usize, usize)> = None;
        for i in 0..seen.len() {
            for j in i + 1..seen.len() {
                let (first, second) = (seen[i].sigma, seen[j].sigma);
                let before = best.map_or(f64::INFINITY, |b| b.0) * (1.0 - AS_GOOD);
                // They come with the smaller error first, so that no later one does better.
                if expected(first, second, 1.0) >= before {
                    break;
                }
                let error = expected(first, second, self.sine(at, &seen[i], &seen[j]));
                if error < before && self.clear(at, &mut seen[i]) && self.clear(at, &mut seen[j]) {
                    best = Some((error, i, j));
                }
            }
        }
        match best {
            Some((error, i, j)) => Ok(self.tie(at, &mut seen, error, (i, j))),
            None => Err(self.missing(at, &mut seen)),
        }
    }

    /// The fixed points within the tape's length, the least error first.
    fn in_reach(&self, at: Place) -> Vec<Seen> {
        let tape = self.job.practice.staking.tape_length.value.si();
        let near = self.near.locate_within_distance([at.x, at.y], tape * tape);
        let mut seen: Vec<Seen> = near
            .map(|near| {
                let length = self.fixed[near.data].at.distance(at);
                Seen {
                    fixed: near.data,
                    length,
                    sigma: sigma(&self.job.practice, length),
                    clear: None,
                }
            })
            .collect();
        seen.sort_by(|a, b| a.sigma.total_cmp(&b.sigma).then(a.fixed.cmp(&b.fixed)));
        seen
    }

    /// The sine of the angle between two tapes; 0 where one has no length.
    fn sine(&self, at: Place, first: &Seen, second: &Seen) -> f64 {
        let [a, b] = [first, second].map(|seen| self.fixed[seen.fixed].at);
        let cross = (a.x - at.x) * (b.y - at.y) - (a.y - at.y) * (b.x - at.x);
        let product = first.length * second.length;
        if product > 0.0 {
            (cross.abs() / product).min(1.0)
        } else {
            0.0
        }
    }

    fn clear(&self, at: Place, seen: &mut Seen) -> bool {
        let from = self.fixed[seen.fixed].at;
        *seen.clear.get_or_insert_with(|| self.sight.clear(from, at))
    }

    fn tie(&self, at: Place, seen: &mut [Seen], error: f64, pair: (usize, usize)) -> Tie {
        let (i, j) = pair;
        let angle = Angle::rad(self.sine(at, &seen[i], &seen[j]).asin());
        let [a, b] = [i, j].map(|k| self.fixed[seen[k].fixed].at);
        let turned = (b.x - a.x) * (at.y - a.y) - (b.y - a.y) * (at.x - a.x);
        let distance = |seen: &Seen| Distance {
            fixed: seen.fixed,
            length: Length::m(seen.length),
        };
        let (first, second) = (distance(&seen[i]), distance(&seen[j]));
        let check = (0..seen.len())
            .filter(|k| *k != i && *k != j)
            .find(|k| self.clear(at, &mut seen[*k]));
        Tie {
            first,
            second,
            side: if turned > 0.0 {
                Side::Left
            } else {
                Side::Right
            },
            angle,
            error: Length::m(error),
            flat: angle.si() < self.job.practice.staking.least_crossing.value.si(),
            check: check.map(|k| distance(&seen[k])),
        }
    }

    /// Why there is no tie, with the nearest fixed points.
    fn missing(&self, at: Place, seen: &mut [Seen]) -> String {
        let clear = (0..seen.len())
            .filter(|k| self.clear(at, &mut seen[*k]))
            .count();
        let why = match (seen.len(), clear) {
            (0 | 1, _) => "fewer than two fixed points are within the length of a tape",
            (_, 0 | 1) => {
                "something stands between it and all but one fixed point in reach, or all"
            }
            _ => "the fixed points in reach lie in one line with it",
        };
        let near = self.near.nearest_neighbor_iter(&[at.x, at.y]).take(NAMED);
        let names: Vec<&str> = near.map(|n| self.fixed[n.data].name.as_str()).collect();
        if names.is_empty() {
            return format!("{why}; the survey has none");
        }
        format!("{why}; the nearest are {}", names.join(", "))
    }
}
