//! How far each pull of a run goes, and where its pits lie.

use super::strength::Strand;
use super::track::Track;
use super::{PitKind, Place};
use job::Job;
use quantity::{Angle, Length};
use routes::{Network, NodeId, NodeKind};

/// What one stretch of a run brings along.
pub(super) struct Laid {
    /// The pipes.
    pub(super) strands: Vec<Strand>,
    /// Least radius of a bend, of pipes and machine.
    pub(super) least_radius: Length,
}

/// A place of a run where a pit lies.
#[derive(Debug, Clone)]
pub(super) struct Halt {
    pub(super) s: Length,
    pub(super) at: Place,
    pub(super) node: Option<NodeId>,
    /// Index into the run's stretches.
    pub(super) stretch: usize,
    pub(super) kind: PitKind,
}

/// A run divided into pulls.
pub(super) struct Divided {
    pub(super) halts: Vec<Halt>,
    /// From and to along the run.
    pub(super) pulls: Vec<(Length, Length)>,
}

/// A run while it is divided.
pub(super) struct Run<'a> {
    pub(super) job: &'a Job,
    pub(super) network: &'a Network,
    pub(super) track: &'a Track,
    /// Of each stretch of the run.
    pub(super) laid: &'a [Laid],
    /// Pulls are not divided into shorter ones.
    pub(super) least: Length,
}

impl Run<'_> {
    /// Every pull as long as it can be, ending at a pit that is needed anyway where there is one in
    /// reach; else the way to the next such pit in equal parts.
    pub(super) fn divide(&self) -> Divided {
        let mut halts = self.needed();
        let ends: Vec<usize> = (0..halts.len())
            .filter(|i| halts[*i].kind != PitKind::Tap)
            .collect();
        let (mut pulls, mut more) = (Vec::new(), Vec::new());
        for pair in ends.windows(2) {
            let mut at = pair[0];
            while at < pair[1] {
                let next = self.farthest(&halts, at, pair[1]);
                let (from, to) = (halts[at].s, halts[next].s);
                let parts = self.parts(from, to);
                let step = (to - from) / f64::from(parts);
                for part in 0..parts {
                    let begin = from + step * f64::from(part);
                    pulls.push((begin, begin + step));
                    more.extend((part > 0).then(|| self.between(begin, step)).flatten());
                }
                if next < pair[1] {
                    halts[next].kind = PitKind::End;
                }
                at = next;
            }
        }
        halts.extend(more);
        halts.sort_by(|a, b| a.s.total_cmp(&b.s));
        Divided { halts, pulls }
    }

    /// Pits that are needed whatever the tension.
    fn needed(&self) -> Vec<Halt> {
        let last = self.track.spots.len().saturating_sub(1);
        let spots = self.track.spots.iter().enumerate();
        spots
            .filter_map(|(i, spot)| {
                let kind = if i == 0 || i == last {
                    PitKind::End
                } else {
                    self.kind_at(i)?
                };
                Some(Halt {
                    s: spot.s,
                    at: spot.at,
                    node: spot.node,
                    stretch: spot.stretch,
                    kind,
                })
            })
            .collect()
    }

    fn kind_at(&self, index: usize) -> Option<PitKind> {
        let spot = &self.track.spots[index];
        let (before, after) = (self.track.spots[index - 1].stretch, spot.stretch);
        let rules = &self.job.practice;
        let radius = self.laid[before]
            .least_radius
            .max(self.laid[after].least_radius);
        let room = self.track.room(index, rules.pull.corner_cut.value);
        if !same_pipes(&self.laid[before], &self.laid[after]) {
            Some(PitKind::End)
        } else if spot.turn >= rules.trench.bend_from.value && room < radius {
            Some(PitKind::Turn)
        } else {
            let passes = |node| self.network.node(node).what == NodeKind::Change;
            spot.node.filter(|n| !passes(*n)).map(|_| PitKind::Tap)
        }
    }

    /// The last halt up to `end` that one pull reaches from `at`; the next one if it reaches none.
    fn farthest(&self, halts: &[Halt], at: usize, end: usize) -> usize {
        (at + 1..=end)
            .rev()
            .find(|next| self.holds(halts[at].s, halts[*next].s))
            .unwrap_or(at + 1)
    }

    /// Into how many equal pulls a way is divided; not into more than leave the shortest length.
    fn parts(&self, from: Length, to: Length) -> u32 {
        let most = ((to - from) / self.least).floor().clamp(1.0, 1e6) as u32;
        let holds = |parts: &u32| {
            let step = (to - from) / f64::from(*parts);
            (0..*parts).all(|i| {
                let begin = from + step * f64::from(i);
                self.holds(begin, begin + step)
            })
        };
        // Fewer than this many pulls are too long for some pipe even if they were straight.
        let least = self.strands(from, to).fold(1.0_f64, |parts, strand| {
            parts.max(((to - from) / strand.longest() - 1e-9).ceil())
        });
        let least = (least.min(f64::from(most)) as u32).max(1);
        (least..=most).find(holds).unwrap_or(most)
    }

    /// Whether every pipe stands one pull and is as long.
    fn holds(&self, from: Length, to: Length) -> bool {
        let (legs, turns) = self.track.between(from, to);
        // A hair of rounding must not add a pit.
        let hair = 1.0 + 1e-9;
        self.strands(from, to).all(|strand| {
            to - from <= strand.pieces * hair
                && strand.tension(&legs, &turns) <= strand.allowable * hair
        })
    }

    /// The pipes of all the stretches of a way.
    fn strands(&self, from: Length, to: Length) -> impl Iterator<Item = &Strand> {
        self.stretches(from, to)
            .into_iter()
            .flat_map(|i| &self.laid[i].strands)
    }

    /// The stretches of a way, as indices into the run's.
    pub(super) fn stretches(&self, from: Length, to: Length) -> Vec<usize> {
        let mut found: Vec<usize> = self
            .track
            .spots
            .windows(2)
            .filter(|pair| pair[0].s < to && pair[1].s > from)
            .map(|pair| pair[0].stretch)
            .collect();
        found.dedup();
        found
    }

    /// A pit between two pulls of length `step`.
    fn between(&self, s: Length, step: Length) -> Option<Halt> {
        let (at, stretch) = self.track.place(s)?;
        // Where two pulls in one would be stood, it is the coil that ends.
        let (legs, turns) = self.track.between(s - step, s + step);
        let stood = |strand: &Strand| strand.tension(&legs, &turns) <= strand.allowable;
        let kind = if self.laid[stretch].strands.iter().all(stood) {
            PitKind::Joint
        } else {
            PitKind::Tension
        };
        Some(Halt {
            s,
            at,
            node: None,
            stretch,
            kind,
        })
    }

    /// Legs and turns of a pull.
    pub(super) fn path(&self, pull: (Length, Length)) -> (Vec<Length>, Vec<Angle>) {
        self.track.between(pull.0, pull.1)
    }
}

fn same_pipes(a: &Laid, b: &Laid) -> bool {
    let key = |laid: &Laid| -> Vec<(usize, String)> {
        let strands = laid.strands.iter();
        strands.map(|s| (s.line, s.what.clone())).collect()
    };
    key(a) == key(b)
}
