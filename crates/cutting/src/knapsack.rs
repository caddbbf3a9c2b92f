//! The best filling of a stock, given what each size is worth: by tables over all rooms where
//! these are small, else by branching.

/// Fills stocks; keeps its tables from one filling to the next.
#[derive(Default)]
pub(crate) struct Knapsack {
    old: Vec<f64>,
    new: Vec<f64>,
    took: Vec<bool>,
    /// Of each table row: which size, how many at once.
    split: Vec<(u32, u32)>,
    /// Cells and branches looked at.
    pub(crate) work: u64,
}

/// What is to be filled in: sizes with their number and worth.
pub(crate) struct Goods<'a> {
    pub(crate) size: &'a [u64],
    pub(crate) most: &'a [u64],
    pub(crate) worth: &'a [f64],
}

/// A filling and its worth.
#[derive(Clone, Debug, Default)]
pub(crate) struct Filling {
    pub(crate) worth: f64,
    pub(crate) rows: Vec<(u32, u32)>,
    /// Whether none is worth more.
    pub(crate) most: bool,
}

/// Tables with more cells than this are made only when branching does not end.
const SMALL_TABLE: u64 = 3_000_000;
/// Tables with more cells than this are never made.
const LARGE_TABLE: u64 = 30_000_000;
const MOST_BRANCHES: u64 = 300_000;
/// Cells of the coarse table that bounds a branch.
const COARSE_TABLE: u64 = 400_000;

impl Knapsack {
    /// The best filling for each room. Only fillings worth more than `floor` matter: where there
    /// is none, a worse one may come out, or an empty one.
    pub(crate) fn fill(&mut self, goods: &Goods, rooms: &[u64], floor: &[f64]) -> Vec<Filling> {
        let largest = rooms.iter().copied().max().unwrap_or(0);
        let cells = (largest + 1).saturating_mul(goods.size.len() as u64);
        if cells <= SMALL_TABLE {
            return self.by_table(goods, rooms);
        }
        let mut fillings = Vec::with_capacity(rooms.len());
        for (room, floor) in rooms.iter().zip(floor) {
            let (filling, done) = self.by_branching(goods, *room, *floor);
            if !done && cells <= LARGE_TABLE {
                return self.by_table(goods, rooms);
            }
            fillings.push(filling);
        }
        fillings
    }

    fn by_table(&mut self, goods: &Goods, rooms: &[u64]) -> Vec<Filling> {
        let width = rooms.iter().copied().max().unwrap_or(0) as usize + 1;
        self.split.clear();
        for (at, size) in goods.size.iter().enumerate() {
            if goods.worth[at] <= 0.0 {
                continue;
            }
            let mut left = goods.most[at].min((width as u64 - 1) / size) as u32;
            let mut step = 1;
            while left > 0 {
                let take = step.min(left);
                self.split.push((at as u32, take));
                left -= take;
                step *= 2;
            }
        }
        self.old.clear();
        self.old.resize(width, 0.0);
        self.new.clear();
        self.new.resize(width, 0.0);
        self.took.clear();
        self.took.resize(width * self.split.len(), false);
        for (row, (at, times)) in self.split.iter().enumerate() {
            let size = goods.size[*at as usize] as usize * *times as usize;
            let worth = goods.worth[*at as usize] * f64::from(*times);
            let took = &mut self.took[row * width..][..width];
            if size >= width {
                continue;
            }
            self.new[..size].copy_from_slice(&self.old[..size]);
            let with = self.old[..width - size].iter();
            let without = self.old[size..].iter();
            let out = self.new[size..].iter_mut().zip(&mut took[size..]);
            for ((with, without), (new, took)) in with.zip(without).zip(out) {
                let with = with + worth;
                *took = with > *without;
                *new = if with > *without { with } else { *without };
            }
            std::mem::swap(&mut self.old, &mut self.new);
        }
        self.work += (width * self.split.len()) as u64;
        rooms
            .iter()
            .map(|room| self.trace(goods, *room, width))
            .collect()
    }

    fn trace(&self, goods: &Goods, room: u64, width: usize) -> Filling {
        let mut at = room as usize;
        let mut counts = vec![0u32; goods.size.len()];
        for (row, (good, times)) in self.split.iter().enumerate().rev() {
            if self.took[row * width + at] {
                counts[*good as usize] += times;
                at -= goods.size[*good as usize] as usize * *times as usize;
            }
        }
        Filling {
            worth: self.old[room as usize],
            rows: sparse(&counts),
            most: true,
        }
    }

    /// The best filling, and whether the search came to its end. What can still come is bounded
    /// by a table with rooms and sizes rounded down to a coarse measure.
    fn by_branching(&mut self, goods: &Goods, room: u64, floor: f64) -> (Filling, bool) {
        let order: Vec<usize> = (0..goods.size.len())
            .filter(|at| goods.worth[*at] > 0.0 && goods.most[*at] > 0 && goods.size[*at] <= room)
            .collect();
        if order.is_empty() {
            return (Filling::default(), true);
        }
        let width = (COARSE_TABLE / order.len() as u64).clamp(64, 20_000);
        let coarse = room / width + 1;
        let width = (room / coarse) as usize + 1;
        let ceiling = &mut self.old;
        ceiling.clear();
        ceiling.resize(width * (order.len() + 1), 0.0);
        for (level, at) in order.iter().enumerate().rev() {
            let (size, worth) = ((goods.size[*at] / coarse) as usize, goods.worth[*at]);
            let (upper, lower) = ceiling.split_at_mut(width * (level + 1));
            let row = &mut upper[width * level..];
            row.copy_from_slice(&lower[..width]);
            let mut left = goods.most[*at].min(room / goods.size[*at]) as usize;
            let mut step = 1;
            while left > 0 {
                let take = step.min(left);
                let (by, add) = (size * take, worth * take as f64);
                if step == 1 {
                    // From row to row, which is faster than within one.
                    let with = lower[..width - by].iter().zip(&lower[by..width]);
                    for (new, (with, without)) in row[by..].iter_mut().zip(with) {
                        *new = f64::max(*without, with + add);
                    }
                } else {
                    for at in (by..width).rev() {
                        row[at] = row[at].max(row[at - by] + add);
                    }
                }
                left -= take;
                step *= 2;
            }
        }
        let mut least = vec![u64::MAX; order.len() + 1];
        for at in (0..order.len()).rev() {
            least[at] = least[at + 1].min(goods.size[order[at]]);
        }
        let mut branch = Branch {
            goods,
            order: &order,
            least: &least,
            ceiling,
            width,
            coarse,
            counts: vec![0; goods.size.len()],
            best: Vec::new(),
            worth: floor,
            left: MOST_BRANCHES,
        };
        branch.go(0, room, 0.0);
        let done = branch.left > 0;
        self.work += (width * order.len()) as u64 + 4 * (MOST_BRANCHES - branch.left);
        let rows = sparse(&branch.best);
        let worth = if rows.is_empty() { 0.0 } else { branch.worth };
        // What pays is good enough, even if something else might pay more.
        let most = done && !rows.is_empty();
        let done = done || !rows.is_empty();
        (Filling { worth, rows, most }, done)
    }
}

fn sparse(counts: &[u32]) -> Vec<(u32, u32)> {
    let counts = counts.iter().enumerate().filter(|(_, count)| **count > 0);
    counts.map(|(at, count)| (at as u32, *count)).collect()
}

struct Branch<'a> {
    goods: &'a Goods<'a>,
    order: &'a [usize],
    /// The smallest size from each place on.
    least: &'a [u64],
    /// By place and coarse room: no filling from that place on is worth more.
    ceiling: &'a [f64],
    width: usize,
    coarse: u64,
    counts: Vec<u32>,
    best: Vec<u32>,
    worth: f64,
    left: u64,
}

impl Branch<'_> {
    fn go(&mut self, mut from: usize, room: u64, worth: f64) {
        if worth > self.worth {
            self.worth = worth;
            self.best.clone_from(&self.counts);
        }
        // A loop over what is left out, so that only what is taken goes deeper.
        while from < self.order.len() && self.least[from] <= room {
            if self.left == 0 {
                return;
            }
            self.left -= 1;
            let at = self.order[from];
            let (size, one) = (self.goods.size[at], self.goods.worth[at]);
            let ceiling = self.ceiling[from * self.width + (room / self.coarse) as usize];
            if worth + ceiling <= self.worth * (1.0 + 1e-12) {
                return;
            }
            let most = (room / size).min(self.goods.most[at]) as u32;
            for count in (1..=most).rev() {
                self.counts[at] = count;
                let more = u64::from(count) * size;
                self.go(from + 1, room - more, worth + one * f64::from(count));
            }
            self.counts[at] = 0;
            from += 1;
        }
    }
}

/// The most that a filling of each room can be worth, in whole numbers and without error. Where the
/// table for that would be too large, at least as much: sizes and rooms are then rounded down to a
/// coarser measure, which lets in all fillings that there are and a few more. `spent` counts the
/// work.
pub(crate) fn most_worth(
    size: &[u64],
    most: &[u64],
    worth: &[u64],
    rooms: &[u64],
    spent: &mut u64,
) -> Vec<u64> {
    let largest = rooms.iter().copied().max().unwrap_or(0);
    let rows = (size.len() as u64).max(1);
    let coarse = if largest < EXACT_TABLE / rows {
        1
    } else {
        largest / (PROOF_TABLE / rows).max(1000) + 1
    };
    let finer = |values: &[u64]| -> Vec<u64> { values.iter().map(|v| v / coarse).collect() };
    // What fits in by its true size; rounding must not let in more of one kind.
    let most: Vec<u64> = size
        .iter()
        .zip(most)
        .map(|(size, most)| (*most).min(largest / size))
        .collect();
    table_worth(&finer(size), &most, worth, &finer(rooms), spent)
}

/// Cells of the table of a proof, where it is exact and where it is coarse.
const EXACT_TABLE: u64 = 30_000_000;
const PROOF_TABLE: u64 = 4_000_000;

fn table_worth(
    size: &[u64],
    most: &[u64],
    worth: &[u64],
    rooms: &[u64],
    spent: &mut u64,
) -> Vec<u64> {
    let width = rooms.iter().copied().max().unwrap_or(0) as usize + 1;
    let (mut old, mut new) = (vec![0u64; width], vec![0u64; width]);
    let mut free = 0;
    for at in 0..size.len() {
        if size[at] == 0 {
            free += worth[at] * most[at];
            continue;
        }
        let mut left = most[at].min((width as u64 - 1) / size[at]);
        let mut step = 1;
        while left > 0 && worth[at] > 0 {
            let take = step.min(left);
            let by = (size[at] * take) as usize;
            let add = worth[at] * take;
            new[..by].copy_from_slice(&old[..by]);
            let with = old[..width - by].iter().zip(&old[by..]);
            for (new, (with, without)) in new[by..].iter_mut().zip(with) {
                *new = (*without).max(with + add);
            }
            std::mem::swap(&mut old, &mut new);
            *spent += width as u64;
            left -= take;
            step *= 2;
        }
    }
    rooms
        .iter()
        .map(|room| old[*room as usize] + free)
        .collect()
}
