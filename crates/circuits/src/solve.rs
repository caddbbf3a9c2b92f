//! The grouping of a scheme: which manifolds, then which circuits; and the proof.

use crate::bound::{Bounds, Trenches, of_any_choice};
use crate::exact;
use crate::rng::Rng;
use crate::scheme::{Grouped, Scheme};
use crate::search::{improve, merged, wander};
use crate::state::{Desk, State};
use crate::tree::Tree;
use std::collections::BTreeMap;

/// Up to so many manifolds every choice of them is looked at for the bound.
const EVERY_CHOICE: usize = 10;
/// Ranks that the last search may look at, for each head.
const WORK_PER_HEAD: u64 = 60_000;
/// Ranks that a quick search may look at, for each head.
const QUICK_PER_HEAD: u64 = 4_000;
/// And at least so many, since small jobs cost next to nothing to search well.
const LEAST_WORK: u64 = 1_000_000;
/// And at most so many.
const MOST_WORK: u64 = 16_000_000;
/// Above so many heads choices of manifolds are compared before any change of circuits.
const MANY: usize = 400;
/// So many choices of manifolds are looked at closely.
const LIKELIEST: usize = 2;
/// Groupings that are begun with.
const STARTS: usize = 4;
/// Each of them gets one in so many parts of the work before the best goes on.
const FIRST_SHARE: u64 = 6;
/// By up to this share more gains are taken for in all starts but the first of each choice.
const NOISE: f64 = 0.35;

/// The least costly grouping found of a scheme in which every head may run alone, and the bound.
///
/// Up to 12 heads and 3 manifolds it is the least costly of all. The same scheme and seed give the
/// same grouping.
///
/// `None` if there is nothing to group or some head may not even run alone.
pub fn solve(scheme: &Scheme, seed: u64) -> Option<Grouped> {
    let heads = scheme.heads.len();
    if heads == 0 || scheme.manifolds == 0 || (0..heads).any(|h| !scheme.may_run([h])) {
        return None;
    }
    if heads <= exact::MOST_HEADS && scheme.manifolds <= exact::MOST_MANIFOLDS {
        return exact::solve(scheme);
    }
    search(scheme, seed)
}

/// A grouping that is not looked for long; without a bound.
pub(crate) fn quick(scheme: &Scheme, seed: u64) -> Option<Grouped> {
    let heads = scheme.heads.len();
    if (0..heads).any(|h| !scheme.may_run([h])) {
        return None;
    }
    let choices = Choices {
        bounds: Vec::new(),
        bound: 0.0,
    };
    let mut search = Search {
        scheme,
        order: order(scheme),
        seed,
        choices: &choices,
        tried: Vec::new(),
    };
    search.choose();
    search.best_of_choice(heads as u64 * QUICK_PER_HEAD)
}

/// The search, whatever the size.
pub(crate) fn search(scheme: &Scheme, seed: u64) -> Option<Grouped> {
    let heads = scheme.heads.len();
    let order = order(scheme);
    let choices = Choices::new(scheme);
    let mut search = Search {
        scheme,
        order,
        seed,
        choices: &choices,
        tried: Vec::new(),
    };
    search.choose();
    let work = (heads as u64 * WORK_PER_HEAD).clamp(LEAST_WORK, MOST_WORK);
    let best = search.best_of_choice(work)?;
    let bound = choices.bound.min(best.cost);
    Some(Grouped { bound, ..best })
}

/// For each head the others, the nearest first.
fn order(scheme: &Scheme) -> Vec<Vec<u32>> {
    let heads = scheme.heads.len();
    let of_head = |h: usize| {
        let mut others: Vec<u32> = (0..heads as u32).filter(|o| *o as usize != h).collect();
        others.sort_by(|a, b| {
            let away = |o: &u32| scheme.far(h, *o as usize);
            away(a).total_cmp(&away(b)).then(a.cmp(b))
        });
        others
    };
    (0..heads).map(of_head).collect()
}

/// What is known of every choice of manifolds before any circuit is looked for.
struct Choices {
    /// The bound of each, by its bits; empty if there are too many.
    bounds: Vec<f64>,
    /// The least of all.
    bound: f64,
}

/// So many sets of valves get the better bound.
const BETTER_BOUNDS: usize = 1000;

impl Choices {
    fn new(scheme: &Scheme) -> Self {
        if scheme.manifolds > EVERY_CHOICE {
            return Self {
                bounds: Vec::new(),
                bound: of_any_choice(scheme),
            };
        }
        let of = Bounds::new(scheme);
        let mut bounds = vec![f64::INFINITY; 1 << scheme.manifolds];
        let mut each: Vec<(f64, u64, u64)> = Vec::new();
        let mut trenches: BTreeMap<u64, Trenches> = BTreeMap::new();
        for joined in 1..1_u64 << scheme.manifolds {
            let known = of.trenches(Tree::new(scheme, joined));
            for (valves, bound) in of.of_each(&known, joined) {
                let least = &mut bounds[joined as usize];
                *least = least.min(bound);
                each.push((bound, joined, valves));
            }
            trenches.insert(joined, known);
        }
        each.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        // What begins above the least so far cannot lower it.
        let mut least = f64::INFINITY;
        for (nth, (bound, joined, valves)) in each.into_iter().enumerate() {
            if bound >= least || nth >= BETTER_BOUNDS {
                least = least.min(bound);
                break;
            }
            // Rounding to cells may leave the better bound a little below the first.
            let better = trenches
                .get(&joined)
                .map_or(0.0, |known| of.of(known, valves));
            least = least.min(better.max(bound));
        }
        Self {
            bounds,
            bound: least,
        }
    }

    /// Whether a choice may cost less than something found.
    fn may_beat(&self, joined: u64, cost: f64) -> bool {
        self.bounds.get(joined as usize).is_none_or(|b| *b < cost)
    }
}

struct Search<'s> {
    scheme: &'s Scheme,
    order: Vec<Vec<u32>>,
    seed: u64,
    choices: &'s Choices,
    /// The choices of manifolds tried and what was found for each, the cheapest first.
    tried: Vec<(f64, u64)>,
}

impl Search<'_> {
    /// Looks for the manifolds to join: all together and, if they are few, each alone; then one more or
    /// less of the best as long as that gains.
    fn choose(&mut self) {
        let count = self.scheme.manifolds.min(63);
        self.try_choice((1 << count) - 1);
        if count <= EVERY_CHOICE {
            (0..count).for_each(|m| self.try_choice(1 << m));
        }
        let mut without_gain = 0;
        for m in (0..count).cycle() {
            if without_gain == count {
                break;
            }
            let before = self.tried.first().copied();
            let flipped = before.map_or(0, |b| b.1 ^ (1 << m));
            if flipped != 0 {
                self.try_choice(flipped);
            }
            let gained = self.tried.first().copied() != before;
            without_gain = if gained { 0 } else { without_gain + 1 };
        }
    }

    fn try_choice(&mut self, joined: u64) {
        let least = self.tried.first().map_or(f64::INFINITY, |t| t.0);
        if self.tried.iter().any(|t| t.1 == joined) || !self.choices.may_beat(joined, least) {
            return;
        }
        let tree = Tree::new(self.scheme, joined);
        let mut desk = Desk::new(self.scheme, &tree, joined, &self.order);
        let rng = &mut Rng::new(self.seed);
        let state = if self.scheme.heads.len() > MANY {
            merged(&mut desk, rng, 0.0)
        } else {
            start(&mut desk, rng, 0.0)
        };
        self.tried.push((tree.cost + state.cost, joined));
        self.tried
            .sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    }

    /// The best grouping of the likeliest choices, from several starts.
    fn best_of_choice(&self, work: u64) -> Option<Grouped> {
        let mut rng = Rng::new(self.seed);
        let mut best: Option<(f64, u64, State)> = None;
        for (nth, (_, joined)) in self
            .tried
            .iter()
            .take(LIKELIEST)
            .cycle()
            .take(STARTS)
            .enumerate()
        {
            let tree = Tree::new(self.scheme, *joined);
            let mut desk = Desk::new(self.scheme, &tree, *joined, &self.order);
            let noise = if nth < LIKELIEST { 0.0 } else { NOISE };
            let state = start(&mut desk, &mut rng, noise);
            desk.pipes.work = 0;
            let state = wander(&mut desk, state, &self.order, &mut rng, work / FIRST_SHARE);
            let cost = tree.cost + state.cost;
            if best.as_ref().is_none_or(|b| cost < b.0) {
                best = Some((cost, *joined, state));
            }
        }
        let (_, joined, state) = best?;
        let tree = Tree::new(self.scheme, joined);
        let mut desk = Desk::new(self.scheme, &tree, joined, &self.order);
        let state = wander(&mut desk, state, &self.order, &mut rng, work);
        Some(desk.grouped(&state))
    }
}

fn start(desk: &mut Desk, rng: &mut Rng, noise: f64) -> State {
    let mut state = merged(desk, rng, noise);
    let heads = desk.scheme.heads.len();
    let ranks: Vec<u32> = (0..heads).map(|h| desk.tree.rank(h)).collect();
    improve(desk, &mut state, ranks);
    state
}
