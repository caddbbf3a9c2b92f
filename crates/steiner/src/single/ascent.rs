//! Dual ascent on directed cuts for one group (R. T. Wong, "A dual ascent approach for Steiner tree
//! problems on a directed graph", Mathematical Programming 28, 1984). It may begin with the slacks
//! that another dual solution leaves, and can note the cuts it lifts.

use crate::cuts::limit;
use crate::grow::{NONE, Queue};
use crate::single::kernel::Kernel;
use crate::single::watch::Watch;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Room for ascents on one kernel, used again and again.
#[derive(Clone, Debug)]
pub(crate) struct Ascent {
    /// How far the cut was lifted when a node joined it; infinite outside.
    inside: Vec<f64>,
    members: Vec<u32>,
    /// Arc by which each member joined.
    by: Vec<u32>,
    /// Arcs that entered the cut, and how far it was lifted when they did.
    border: Vec<(u32, f64)>,
    free: Vec<u32>,
    queue: Queue,
    waiting: Vec<bool>,
    /// Links looked at.
    looked: u64,
}

/// How an ascent goes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Way<'a> {
    pub root: u32,
    /// How far a cut may outgrow the next smallest one, as a part of its size.
    pub loose: f64,
    /// Per node, how much larger the cuts around it count than they are; empty for all alike.
    pub pace: &'a [f64],
}

impl Way<'_> {
    fn pace(&self, node: u32) -> f64 {
        self.pace.get(node as usize).copied().unwrap_or(1.0)
    }
}

/// Values of `loose` that take turns: no one is the best everywhere.
pub(crate) const LOOSE: [f64; 4] = [0.25, 1.0, 0.5, 2.0];

/// A cut that was lifted: its arcs, and the one of them that lost its slack and ended the lifting.
pub(crate) struct Lift {
    pub arcs: Vec<u32>,
    pub last: u32,
}

/// Cuts in the order in which they were lifted.
pub(crate) type Lifted = Vec<Lift>;

impl Ascent {
    pub fn new(kernel: &Kernel) -> Ascent {
        Ascent {
            inside: vec![f64::INFINITY; kernel.nodes()],
            members: Vec::new(),
            by: Vec::new(),
            border: Vec::new(),
            free: Vec::new(),
            queue: Queue::default(),
            waiting: vec![false; kernel.nodes()],
            looked: 0,
        }
    }

    /// Lifts cuts around the given terminals, the smallest first, until every one hangs on the root
    /// by arcs without slack. Returns the sum of lifts, infinite if a terminal cannot be reached by
    /// arcs of finite slack. If told to stop, what was lifted so far is returned.
    pub fn climb(
        &mut self,
        kernel: &Kernel,
        way: Way,
        terminals: &[u32],
        slack: &mut [f64],
        mut lifted: Option<&mut Lifted>,
        watch: &mut Watch,
    ) -> f64 {
        let mut heap = BinaryHeap::new();
        self.waiting.fill(false);
        for node in terminals.iter().filter(|node| **node != way.root) {
            self.waiting[*node as usize] = true;
            heap.push(Reverse((1u32, *node)));
        }
        let mut bound = 0.0;
        while let Some(Reverse((_, node))) = heap.pop() {
            let next = heap.peek().map_or(u32::MAX, |Reverse((size, _))| *size);
            let pace = way.pace(node);
            let most = (f64::from(limit(next, way.loose)) / pace).ceil() as u32;
            let (end, height) = self.lift(kernel, way.root, slack, node, most, &mut lifted);
            bound += height;
            match end {
                End::Large => {
                    let size = self.members.len() as f64 * pace;
                    heap.push(Reverse((size.ceil() as u32, node)));
                }
                End::Joined => self.waiting[node as usize] = false,
                End::Stuck => return f64::INFINITY,
            }
            if watch.tick(self.border.len() as u64 + std::mem::take(&mut self.looked) / 2) {
                break;
            }
        }
        bound
    }

    fn lift(
        &mut self,
        kernel: &Kernel,
        root: u32,
        slack: &mut [f64],
        node: u32,
        most: u32,
        lifted: &mut Option<&mut Lifted>,
    ) -> (End, f64) {
        self.settle();
        let mut height = 0.0;
        self.by.push(NONE);
        self.admit(kernel, slack, node, height);
        loop {
            let next = match self.free.pop() {
                Some(arc) => Some((height, arc)),
                None => self.queue.pop(),
            };
            let Some((key, arc)) = next else {
                return (End::Stuck, 0.0);
            };
            let from = kernel.tail(arc);
            if self.inside[from as usize].is_finite() {
                continue;
            }
            height = f64::max(height, key);
            let joined = from == root || self.waiting[from as usize];
            if joined || self.members.len() as u32 > most {
                if let Some(lifted) = lifted {
                    self.note(kernel, height, arc, lifted);
                }
                self.book(kernel, slack, height);
                return (if joined { End::Joined } else { End::Large }, height);
            }
            self.by.push(arc);
            self.admit(kernel, slack, from, height);
        }
    }

    fn admit(&mut self, kernel: &Kernel, slack: &[f64], node: u32, height: f64) {
        self.inside[node as usize] = height;
        self.members.push(node);
        let links = kernel.of(node);
        self.looked += links.len() as u64;
        for link in links {
            let arc = link.arc ^ 1;
            let slack = slack[arc as usize];
            if slack.is_infinite() || self.inside[link.to as usize].is_finite() {
                continue;
            }
            if slack > 0.0 {
                self.border.push((arc, height));
                self.queue.push(height + slack, arc);
            } else {
                self.free.push(arc);
            }
        }
    }

    /// Takes the lifting off the slack of the arcs that entered the cut while it was lifted.
    fn book(&self, kernel: &Kernel, slack: &mut [f64], height: f64) {
        // Rounding must not leave crumbs of slack, each of which would cost a round.
        let crumb = 1e-13 * height;
        for (arc, since) in &self.border {
            let until = self.inside[kernel.tail(*arc) as usize].min(height);
            let slack = &mut slack[*arc as usize];
            *slack -= until - since;
            if *slack <= crumb {
                *slack = 0.0;
            }
        }
    }

    /// The cuts that were lifted one after the other while nodes joined.
    fn note(&self, kernel: &Kernel, height: f64, last: u32, lifted: &mut Lifted) {
        let since = |at: usize| self.inside[self.members[at] as usize];
        for at in 0..self.members.len() {
            let (from, to, last) = match self.members.get(at + 1) {
                Some(_) => (since(at), since(at + 1), self.by[at + 1]),
                None => (since(at), height, last),
            };
            if to <= from {
                continue;
            }
            let entering = self.border.iter().filter(|(arc, since)| {
                *since <= from && self.inside[kernel.tail(*arc) as usize] > from
            });
            lifted.push(Lift {
                arcs: entering.map(|(arc, _)| *arc).collect(),
                last,
            });
        }
    }

    fn settle(&mut self) {
        for node in self.members.drain(..) {
            self.inside[node as usize] = f64::INFINITY;
        }
        self.by.clear();
        self.border.clear();
        self.free.clear();
        self.queue.clear();
    }
}

/// Why the lifting of a cut ended.
#[derive(Clone, Copy, Debug, PartialEq)]
enum End {
    /// It met the root or another waiting terminal.
    Joined,
    /// It outgrew its size.
    Large,
    /// There is no way to the root.
    Stuck,
}
