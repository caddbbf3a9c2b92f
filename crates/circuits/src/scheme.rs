//! The task without a job: places, what lies between them, what things cost.

/// A head as far as its circuit is concerned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Head {
    /// The flow it needs, m³/s.
    pub flow: f64,
    /// The greatest flow of a circuit that it is part of, m³/s.
    pub most: f64,
    /// Only heads of one class run together.
    pub class: u32,
    /// Precipitation rate, m/s; heads of one class either all have one or none has.
    pub rate: Option<f64>,
}

impl Head {
    /// The part of a circuit that it takes at least: the parts of heads that may run together never
    /// make more than one, since none may take more than the least of their limits allows.
    pub fn share(&self) -> f64 {
        self.flow / self.most
    }
}

/// A size of pipe: the greatest flow in it and what a metre costs, laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bore {
    /// Greatest flow, m³/s.
    pub most: f64,
    /// Currency units a metre.
    pub price: f64,
}

/// What things cost besides trenches and laterals, currency units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prices {
    /// A valve, set, wired and tested.
    pub valve: f64,
    /// A box.
    pub valve_box: f64,
    /// Valves that go into one box.
    pub valves_per_box: u32,
    /// A metre of main.
    pub main: f64,
    /// A metre of wire's laying and common conductor, once for all valves.
    pub wire: f64,
    /// A metre of a valve's own conductor.
    pub conductor: f64,
}

/// Heads, where valves may stand, and what lies between.
///
/// Places are numbered: heads first, then the backflow assembly, then the controller if there is
/// one, then the manifolds.
#[derive(Debug, Clone, PartialEq)]
pub struct Scheme {
    /// The heads.
    pub heads: Vec<Head>,
    /// Whether a controller stands among the places.
    pub wired: bool,
    /// How many manifolds there are, at least one.
    pub manifolds: usize,
    /// Cost of a trench from place to place, row by row, currency units.
    pub trench: Vec<f64>,
    /// Length of that way, row by row, metres.
    pub length: Vec<f64>,
    /// Sizes of the laterals, the smallest first; prices ascend.
    pub bores: Vec<Bore>,
    /// Everything else.
    pub prices: Prices,
    /// By how much, of the greater, the rates in a circuit may differ.
    pub tolerance: f64,
}

/// A share by which a sum of flows may pass its limit by rounding.
const ROUNDING: f64 = 1e-9;

impl Scheme {
    /// How many places there are.
    pub fn places(&self) -> usize {
        self.heads.len() + 1 + usize::from(self.wired) + self.manifolds
    }

    /// The place of the backflow assembly.
    pub fn backflow(&self) -> usize {
        self.heads.len()
    }

    /// The place of the controller.
    pub fn controller(&self) -> Option<usize> {
        self.wired.then_some(self.heads.len() + 1)
    }

    /// The place of a manifold.
    pub fn manifold(&self, m: usize) -> usize {
        self.heads.len() + 1 + usize::from(self.wired) + m
    }

    /// Rounds lengths to a tenth of a millimetre and trenches to a thousandth of a currency unit, so that
    /// the same site drawn elsewhere or turned is the same scheme.
    pub fn round(&mut self) {
        for length in &mut self.length {
            *length = (*length * 1e4).round() / 1e4;
        }
        for price in &mut self.trench {
            *price = (*price * 1e3).round() / 1e3;
        }
    }

    /// Parts the classes whose heads state rates where a gap between two rates is too great for any heads
    /// on both sides of it to run together. No grouping is ruled out by it, and the bound sees it.
    pub fn part_classes(&mut self) {
        let mut order: Vec<usize> = (0..self.heads.len()).collect();
        let rate = |head: &Head| head.rate.unwrap_or(0.0);
        order.sort_by(|a, b| {
            let (a, b) = (&self.heads[*a], &self.heads[*b]);
            a.class.cmp(&b.class).then(rate(a).total_cmp(&rate(b)))
        });
        let mut class = 0;
        let mut before: Option<Head> = None;
        for at in order {
            let head = self.heads[at];
            if let Some(before) = before {
                let gap = rate(&head) - rate(&before);
                let matches = gap <= rate(&head) * self.tolerance * (1.0 + ROUNDING);
                class += u32::from(head.class != before.class || !matches);
            }
            before = Some(head);
            self.heads[at].class = class;
        }
    }

    pub(crate) fn dig(&self, a: usize, b: usize) -> f64 {
        self.trench[a * self.places() + b]
    }

    pub(crate) fn far(&self, a: usize, b: usize) -> f64 {
        self.length[a * self.places() + b]
    }

    /// What a metre of lateral costs that carries a flow; beyond the largest size the price of that.
    pub fn pipe_price(&self, flow: f64) -> f64 {
        let fits = |bore: &&Bore| flow <= bore.most * (1.0 + ROUNDING);
        let bore = self.bores.iter().find(fits).or(self.bores.last());
        bore.map_or(0.0, |b| b.price)
    }

    /// Whether heads may run together.
    pub fn may_run(&self, heads: impl IntoIterator<Item = usize>) -> bool {
        let mut sum = Sum::default();
        heads.into_iter().all(|h| sum.takes(self, h))
    }

    /// Boxes for so many valves on one manifold.
    pub(crate) fn boxes(&self, valves: usize) -> f64 {
        let per = self.prices.valves_per_box.max(1) as usize;
        valves.div_ceil(per) as f64 * self.prices.valve_box
    }
}

/// Heads run together, one after the other.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sum {
    flow: f64,
    most: f64,
    low: f64,
    high: f64,
    class: Option<u32>,
}

impl Default for Sum {
    fn default() -> Self {
        Self {
            flow: 0.0,
            most: f64::INFINITY,
            low: f64::INFINITY,
            high: 0.0,
            class: None,
        }
    }
}

impl Sum {
    /// Takes one more head; says whether all may still run together.
    pub fn takes(&mut self, scheme: &Scheme, head: usize) -> bool {
        let head = &scheme.heads[head];
        let alike = *self.class.get_or_insert(head.class) == head.class;
        self.flow += head.flow;
        self.most = self.most.min(head.most);
        if let Some(rate) = head.rate {
            self.low = self.low.min(rate);
            self.high = self.high.max(rate);
        }
        let matched = self.high <= 0.0
            || self.high - self.low <= self.high * scheme.tolerance * (1.0 + ROUNDING);
        alike && matched && self.flow <= self.most * (1.0 + ROUNDING)
    }
}

/// One circuit of a grouping.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// Its heads, ascending.
    pub heads: Vec<usize>,
    /// The manifold of its valve.
    pub manifold: usize,
}

/// Heads in circuits, and at which manifolds trenches may meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Grouped {
    /// The circuits, by their first head.
    pub sets: Vec<Set>,
    /// The manifolds that the trenches join, as bits.
    pub joined: u64,
    /// What all of it costs.
    pub cost: f64,
    /// No grouping costs less, see [`crate::solve`].
    pub bound: f64,
    /// Whether every grouping was looked at, so that the bound is the cost.
    pub exact: bool,
}
