//! The problem as the search sees it: the same graph with costs, terminals and bans that may be
//! changed while parts of the problem are fixed.

use crate::bits::Bits;
use crate::flow::Net;
use crate::problem::{Link, Links, Problem};
use crate::solve::Progress;
use crate::unions::unions;
use std::cell::Cell;
use std::ops::ControlFlow;

/// A problem under decisions taken so far. Its solutions cost `offset` more than they show.
#[derive(Clone, Debug)]
pub(crate) struct Instance<'p> {
    pub problem: &'p Problem,
    pub links: &'p Links,
    /// Shared cost per edge; 0 once it is decided that the edge is paid for.
    pub shared: Vec<f64>,
    /// Distinct terminals per group, root first; after the groups of the problem come the
    /// [`unions`](crate::unions).
    pub terminals: Vec<Vec<u32>>,
    /// Per group of the problem, the union it belongs to, if any.
    pub union_of: Vec<Option<usize>>,
    pub banned: Vec<Bits>,
    pub offset: f64,
}

impl<'p> Instance<'p> {
    pub fn new(problem: &'p Problem) -> Instance<'p> {
        let mut terminals: Vec<Vec<u32>> = (problem.groups.iter())
            .map(|group| distinct(&group.terminals))
            .collect();
        let mut banned = problem.banned.clone();
        let mut union_of = vec![None; terminals.len()];
        for members in unions(problem.nodes(), &terminals) {
            for group in &members {
                union_of[*group] = Some(terminals.len());
            }
            let list: Vec<u32> = (members.iter().flat_map(|group| &terminals[*group]))
                .copied()
                .collect();
            let lists: Vec<&Bits> = members
                .iter()
                .map(|group| &problem.banned[*group])
                .collect();
            terminals.push(distinct(&list));
            banned.push(Bits::common(&lists));
        }
        Instance {
            problem,
            links: &problem.links,
            shared: problem.edges.iter().map(|edge| edge.shared).collect(),
            terminals,
            union_of,
            banned,
            offset: 0.0,
        }
    }

    pub fn nodes(&self) -> usize {
        self.links.nodes()
    }

    pub fn edges(&self) -> usize {
        self.shared.len()
    }

    /// Groups of the problem; solutions have a tree for each.
    pub fn groups(&self) -> usize {
        self.problem.groups.len()
    }

    /// Groups and unions; bounds count them all.
    pub fn parties(&self) -> usize {
        self.terminals.len()
    }

    /// What a group pays for an edge whatever the others do; nothing for a union.
    pub fn own(&self, group: usize, edge: u32) -> f64 {
        match self.problem.groups.get(group) {
            Some(group) => group.rate * self.problem.edges[edge as usize].length,
            None => 0.0,
        }
    }

    pub fn open(&self, group: usize, edge: u32) -> bool {
        !self.banned[group].get(edge)
    }

    pub fn ends(&self, edge: u32) -> (u32, u32) {
        let edge = &self.problem.edges[edge as usize];
        (edge.a, edge.b)
    }

    /// The node an arc leaves.
    pub fn tail(&self, arc: u32) -> u32 {
        let (a, b) = self.ends(arc / 2);
        if arc.is_multiple_of(2) { a } else { b }
    }

    /// Cost of trees, without `offset`.
    pub fn cost(&self, trees: &[Vec<u32>]) -> f64 {
        let mut used = Bits::new(self.edges());
        let mut cost = 0.0;
        for (group, tree) in trees.iter().enumerate() {
            for edge in tree {
                cost += self.own(group, *edge);
                if !used.get(*edge) {
                    used.set(*edge);
                    cost += self.shared[*edge as usize];
                }
            }
        }
        cost
    }
}

impl Net for Instance<'_> {
    fn nodes(&self) -> usize {
        Instance::nodes(self)
    }

    fn arcs(&self) -> usize {
        2 * self.edges()
    }

    fn of(&self, node: u32) -> &[Link] {
        self.links.of(node)
    }

    fn tail(&self, arc: u32) -> u32 {
        Instance::tail(self, arc)
    }
}

fn distinct(terminals: &[u32]) -> Vec<u32> {
    let mut rest: Vec<u32> = terminals[1..].to_vec();
    rest.sort_unstable();
    rest.dedup();
    rest.retain(|node| *node != terminals[0]);
    rest.insert(0, terminals[0]);
    rest
}

/// The work counter: arcs looked at, against the limit.
#[derive(Clone, Copy)]
pub(crate) struct Work<'a> {
    pub done: u64,
    pub limit: u64,
    /// Whom to ask whether to go on, if anybody.
    pub ask: Option<&'a Ask<'a>>,
}

impl Work<'_> {
    /// A counter that nobody breaks off.
    pub fn within(limit: u64) -> Work<'static> {
        Work {
            done: 0,
            limit,
            ask: None,
        }
    }

    /// Whether it is time to end: the limit is reached, or the caller breaks off.
    pub fn out(&self) -> bool {
        self.done >= self.limit || self.broken_off()
    }

    /// Whether the caller breaks off, who is asked after every few milliseconds of work.
    pub fn broken_off(&self) -> bool {
        self.ask.is_some_and(|ask| ask.answer(self.done))
    }

    /// The same counter with an earlier end.
    pub fn until(&self, limit: u64) -> Self {
        Self {
            limit: limit.min(self.limit),
            ..*self
        }
    }
}

/// The caller's wish to break off, within steps that know only their work.
pub(crate) struct Ask<'a> {
    progress: &'a dyn Fn(Progress) -> ControlFlow<()>,
    /// Cost and bound as they were told last.
    told: Cell<(f64, f64)>,
    next: Cell<u64>,
    broken_off: Cell<bool>,
}

/// Work between two questions: a few milliseconds.
const ASK: u64 = 50_000;

impl<'a> Ask<'a> {
    pub fn new(progress: &'a dyn Fn(Progress) -> ControlFlow<()>) -> Self {
        Self {
            progress,
            told: Cell::new((f64::INFINITY, 0.0)),
            next: Cell::new(ASK),
            broken_off: Cell::new(false),
        }
    }

    /// Tells where the search stands; whether the caller breaks off.
    pub fn tell(&self, now: Progress) -> bool {
        self.told.set((now.cost, now.bound));
        self.next.set(now.work + ASK);
        let broken_off = self.broken_off.get() || (self.progress)(now).is_break();
        self.broken_off.set(broken_off);
        broken_off
    }

    fn answer(&self, work: u64) -> bool {
        let (cost, bound) = self.told.get();
        self.broken_off.get()
            || (work >= self.next.get() && self.tell(Progress { work, cost, bound }))
    }
}

/// A seeded sequence of numbers (SplitMix64: Steele, Lea and Flood, "Fast splittable
/// pseudorandom number generators", OOPSLA 2014).
#[derive(Clone, Debug)]
pub(crate) struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number in `0..below`; `below` is at least 1.
    pub fn below(&mut self, below: usize) -> usize {
        (self.next() % below as u64) as usize
    }

    /// A number in `0.0..1.0`.
    pub fn part(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for at in (1..list.len()).rev() {
            list.swap(at, self.below(at + 1));
        }
    }
}
