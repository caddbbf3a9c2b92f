//! A network of straight parts that is being changed.

use super::{Hold, Plane};
use geo::Coord;

/// A tree under work. The first `terminals` places are those to be joined; they never go.
#[derive(Debug, Clone)]
pub(crate) struct Net {
    pub terminals: usize,
    pub at: Vec<Coord>,
    pub hold: Vec<Hold>,
    pub beside: Vec<Vec<usize>>,
}

impl Net {
    pub fn new(terminals: &[Coord]) -> Net {
        Net {
            terminals: terminals.len(),
            at: terminals.to_vec(),
            hold: vec![Hold::Fixed; terminals.len()],
            beside: vec![Vec::new(); terminals.len()],
        }
    }

    pub fn add(&mut self, at: Coord, hold: Hold) -> usize {
        self.at.push(at);
        self.hold.push(hold);
        self.beside.push(Vec::new());
        self.at.len() - 1
    }

    pub fn link(&mut self, a: usize, b: usize) {
        if a != b && !self.beside[a].contains(&b) {
            self.beside[a].push(b);
            self.beside[b].push(a);
        }
    }

    pub fn unlink(&mut self, a: usize, b: usize) {
        self.beside[a].retain(|other| *other != b);
        self.beside[b].retain(|other| *other != a);
    }

    /// Replaces the straight part by one through these places, which do not move.
    pub fn bend(&mut self, a: usize, b: usize, turns: &[Coord]) {
        if turns.is_empty() {
            return;
        }
        self.unlink(a, b);
        let mut here = a;
        for turn in turns {
            let next = self.add(*turn, Hold::Fixed);
            self.link(here, next);
            here = next;
        }
        self.link(here, b);
    }

    pub fn is_terminal(&self, place: usize) -> bool {
        place < self.terminals
    }

    pub fn degree(&self, place: usize) -> usize {
        self.beside[place].len()
    }

    /// Pairs of places, each once, lower number first.
    pub fn parts(&self) -> Vec<(usize, usize)> {
        let all = (0..self.at.len()).flat_map(|a| self.beside[a].iter().map(move |b| (a, *b)));
        all.filter(|(a, b)| a < b).collect()
    }

    pub fn cost(&self, plane: &Plane) -> f64 {
        let parts = self.parts().into_iter();
        parts.map(|(a, b)| plane.cost(self.at[a], self.at[b])).sum()
    }

    /// Cost of the parts at a place if it lay elsewhere.
    pub fn cost_at(&self, plane: &Plane, place: usize, at: Coord) -> f64 {
        let beside = self.beside[place].iter();
        beside.map(|b| plane.cost(self.at[*b], at)).sum()
    }

    /// Leaves out places without parts, ends that are no terminals, and parts that close a ring.
    pub fn compact(&mut self) {
        self.open_rings();
        let mut ends: Vec<usize> = (self.terminals..self.at.len()).collect();
        while let Some(end) = ends.pop() {
            if self.degree(end) == 1 && !self.is_terminal(end) {
                let other = self.beside[end][0];
                self.unlink(end, other);
                ends.push(other);
            }
        }
        let kept: Vec<usize> = (0..self.at.len())
            .filter(|p| self.is_terminal(*p) || self.degree(*p) > 0)
            .collect();
        let mut new = vec![usize::MAX; self.at.len()];
        for (number, old) in kept.iter().enumerate() {
            new[*old] = number;
        }
        self.at = kept.iter().map(|p| self.at[*p]).collect();
        self.hold = kept.iter().map(|p| self.hold[*p]).collect();
        self.beside = kept
            .iter()
            .map(|p| self.beside[*p].iter().map(|b| new[*b]).collect())
            .collect();
    }

    fn open_rings(&mut self) {
        let mut root: Vec<usize> = (0..self.at.len()).collect();
        for (a, b) in self.parts() {
            let (of_a, of_b) = (top(&mut root, a), top(&mut root, b));
            if of_a == of_b {
                self.unlink(a, b);
            }
            root[of_a] = of_b;
        }
    }

    /// Whether all terminals hang together.
    pub fn joins_all(&self) -> bool {
        let mut seen = vec![false; self.at.len()];
        let mut stack = vec![0];
        seen[0] = true;
        while let Some(here) = stack.pop() {
            for next in &self.beside[here] {
                if !seen[*next] {
                    seen[*next] = true;
                    stack.push(*next);
                }
            }
        }
        seen[..self.terminals].iter().all(|s| *s)
    }
}

/// The number that stands for a set, in a forest of references.
pub(crate) fn top(root: &mut [usize], mut one: usize) -> usize {
    while root[one] != one {
        root[one] = root[root[one]];
        one = root[one];
    }
    one
}
