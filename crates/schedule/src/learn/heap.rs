//! A heap of numbers by activity.

#[derive(Default)]
pub(crate) struct Heap {
    heap: Vec<u32>,
    /// Place in the heap, or [`OUT`].
    place: Vec<u32>,
    pub(crate) activity: Vec<f64>,
    step: f64,
}

const OUT: u32 = u32::MAX;
const DECAY: f64 = 0.95;
const LARGE: f64 = 1e100;

impl Heap {
    pub(crate) fn new(count: usize) -> Heap {
        Heap {
            heap: Vec::new(),
            place: vec![OUT; count],
            activity: vec![0.0; count],
            step: 1.0,
        }
    }

    pub(crate) fn bump(&mut self, at: u32) {
        self.activity[at as usize] += self.step;
        if self.activity[at as usize] > LARGE {
            self.activity.iter_mut().for_each(|value| *value /= LARGE);
            self.step /= LARGE;
        }
        if self.place[at as usize] != OUT {
            self.up(self.place[at as usize] as usize);
        }
    }

    pub(crate) fn decay(&mut self) {
        self.step /= DECAY;
    }

    pub(crate) fn insert(&mut self, at: u32) {
        if self.place[at as usize] == OUT {
            self.heap.push(at);
            self.place[at as usize] = self.heap.len() as u32 - 1;
            self.up(self.heap.len() - 1);
        }
    }

    pub(crate) fn pop(&mut self) -> Option<u32> {
        let top = *self.heap.first()?;
        let last = self.heap.pop()?;
        self.place[top as usize] = OUT;
        if last != top {
            self.heap[0] = last;
            self.place[last as usize] = 0;
            self.down(0);
        }
        Some(top)
    }

    fn before(&self, a: u32, b: u32) -> bool {
        let (x, y) = (self.activity[a as usize], self.activity[b as usize]);
        x > y || x >= y && a < b
    }

    fn up(&mut self, mut at: usize) {
        let own = self.heap[at];
        while at > 0 {
            let above = (at - 1) / 2;
            if !self.before(own, self.heap[above]) {
                break;
            }
            self.heap[at] = self.heap[above];
            self.place[self.heap[at] as usize] = at as u32;
            at = above;
        }
        self.heap[at] = own;
        self.place[own as usize] = at as u32;
    }

    fn down(&mut self, mut at: usize) {
        let own = self.heap[at];
        loop {
            let mut below = 2 * at + 1;
            if below >= self.heap.len() {
                break;
            }
            if below + 1 < self.heap.len() && self.before(self.heap[below + 1], self.heap[below]) {
                below += 1;
            }
            if !self.before(self.heap[below], own) {
                break;
            }
            self.heap[at] = self.heap[below];
            self.place[self.heap[at] as usize] = at as u32;
            at = below;
        }
        self.heap[at] = own;
        self.place[own as usize] = at as u32;
    }
}
