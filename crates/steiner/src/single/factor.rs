//! A sparse square matrix taken apart into triangles, and brought up to date column by column.
//! Pivots with few entries in their row and column come first (H. M. Markowitz, "The elimination
//! form of the inverse and its application to linear programming", Management Science 3, 1957).

/// The matrix `B`: as triangles, times one factor per column changed since.
#[derive(Clone, Debug, Default)]
pub(crate) struct Factor {
    steps: Vec<Step>,
    /// Row and column of each step, close together: most are only looked at and passed over.
    rows: Vec<u32>,
    columns: Vec<u32>,
    /// Steps that took something off other rows.
    lower: Vec<u32>,
    /// Per step, the entries of the upper triangle in its column: (row, value).
    above: Vec<Vec<(u32, f64)>>,
    changes: Vec<Change>,
    /// Entries in `changes`.
    pub weight: usize,
    /// Entries in the triangles.
    pub size: usize,
}

/// One pivot of the elimination.
#[derive(Clone, Debug)]
struct Step {
    row: u32,
    column: u32,
    pivot: f64,
    /// Multiples of the pivot row taken off other rows.
    below: Vec<(u32, f64)>,
    /// The rest of the pivot row: (column, value).
    right: Vec<(u32, f64)>,
}

/// A column replaced: what the inverse makes of the new one, without the place itself.
#[derive(Clone, Debug)]
struct Change {
    place: u32,
    pivot: f64,
    rest: Vec<(u32, f64)>,
}

/// Entries below this are rounding.
const TINY: f64 = 1e-13;
/// A pivot must be at least this part of the largest entry in its column.
const STABLE: f64 = 0.1;

impl Factor {
    /// Takes a matrix apart that is given by columns of (row, value); `None` if it is singular.
    pub fn new(columns: &[Vec<(u32, f64)>]) -> Option<Factor> {
        let mut work = Elimination::new(columns);
        let mut factor = Factor::default();
        for _ in 0..columns.len() {
            let (row, column) = work.choose()?;
            factor.steps.push(work.eliminate(row, column));
        }
        factor.rows = factor.steps.iter().map(|step| step.row).collect();
        factor.columns = factor.steps.iter().map(|step| step.column).collect();
        factor.lower = (0u32..)
            .zip(&factor.steps)
            .filter(|(_, step)| !step.below.is_empty())
            .map(|(at, _)| at)
            .collect();
        factor.above = vec![Vec::new(); columns.len()];
        let mut step_of = vec![0usize; columns.len()];
        for (at, step) in factor.steps.iter().enumerate() {
            step_of[step.column as usize] = at;
        }
        for step in &factor.steps {
            factor.size += step.right.len() + step.below.len() + 1;
            for (column, value) in &step.right {
                factor.above[step_of[*column as usize]].push((step.row, *value));
            }
        }
        Some(factor)
    }

    /// Solves `B x = b`; `b` is by row, and `x`, by column, takes its place.
    pub fn solve(&self, b: &mut [f64], room: &mut Vec<f64>) {
        for at in &self.lower {
            let step = &self.steps[*at as usize];
            let value = b[step.row as usize];
            if value != 0.0 {
                for (row, factor) in &step.below {
                    b[*row as usize] -= factor * value;
                }
            }
        }
        room.clear();
        room.resize(b.len(), 0.0);
        for (at, row) in self.rows.iter().enumerate().rev() {
            let value = b[*row as usize];
            if value.abs() > TINY {
                let value = value / self.steps[at].pivot;
                room[self.columns[at] as usize] = value;
                for (row, entry) in &self.above[at] {
                    b[*row as usize] -= entry * value;
                }
            }
        }
        b.copy_from_slice(room);
        for change in &self.changes {
            let value = b[change.place as usize];
            if value != 0.0 {
                let value = value / change.pivot;
                for (place, entry) in &change.rest {
                    b[*place as usize] -= entry * value;
                }
                b[change.place as usize] = value;
            }
        }
    }

    /// Solves `y B = z`; `z` is by column, and `y`, by row, takes its place.
    pub fn solve_left(&self, z: &mut [f64], room: &mut Vec<f64>) {
        for change in self.changes.iter().rev() {
            let rest: f64 = change
                .rest
                .iter()
                .map(|(place, entry)| entry * z[*place as usize])
                .sum();
            let at = change.place as usize;
            z[at] = (z[at] - rest) / change.pivot;
        }
        room.clear();
        room.resize(z.len(), 0.0);
        for (at, column) in self.columns.iter().enumerate() {
            let value = z[*column as usize];
            if value.abs() > TINY {
                let step = &self.steps[at];
                let value = value / step.pivot;
                room[step.row as usize] = value;
                for (column, entry) in &step.right {
                    z[*column as usize] -= entry * value;
                }
            }
        }
        for at in self.lower.iter().rev() {
            let step = &self.steps[*at as usize];
            let more: f64 = step
                .below
                .iter()
                .map(|(row, factor)| factor * room[*row as usize])
                .sum();
            room[step.row as usize] -= more;
        }
        z.copy_from_slice(room);
    }

    /// Column `place` becomes another one, of which the inverse makes `q`.
    pub fn change(&mut self, place: u32, q: &[f64]) {
        let rest: Vec<(u32, f64)> = (0u32..)
            .zip(q.iter().copied())
            .filter(|(at, entry)| *at != place && entry.abs() > TINY)
            .collect();
        self.weight += rest.len() + 1;
        self.changes.push(Change {
            place,
            pivot: q[place as usize],
            rest,
        });
    }
}

/// A matrix during elimination.
struct Elimination {
    rows: Vec<Vec<(u32, f64)>>,
    /// Rows that may have an entry in a column.
    columns: Vec<Vec<u32>>,
    count: Vec<u32>,
    done: Vec<bool>,
    gone: Vec<bool>,
    /// Columns by how many entries they had when they were put here.
    heap: std::collections::BinaryHeap<std::cmp::Reverse<(u32, u32)>>,
    /// Rows of one entry.
    single: Vec<u32>,
    place: Vec<u32>,
}

impl Elimination {
    fn new(columns: &[Vec<(u32, f64)>]) -> Elimination {
        let size = columns.len();
        let mut rows: Vec<Vec<(u32, f64)>> = vec![Vec::new(); size];
        for (column, entries) in columns.iter().enumerate() {
            for (row, value) in entries {
                rows[*row as usize].push((column as u32, *value));
            }
        }
        let count: Vec<u32> = columns.iter().map(|list| list.len() as u32).collect();
        let single = (0..size as u32)
            .filter(|row| rows[*row as usize].len() == 1)
            .collect();
        let heap = (0u32..)
            .zip(&count)
            .map(|(at, count)| std::cmp::Reverse((*count, at)));
        Elimination {
            heap: heap.collect(),
            columns: columns
                .iter()
                .map(|list| list.iter().map(|entry| entry.0).collect())
                .collect(),
            rows,
            count,
            done: vec![false; size],
            gone: vec![false; size],
            single,
            place: vec![u32::MAX; size],
        }
    }

    /// The next pivot: a column or row of one entry, or else the shortest row that is stable in
    /// the shortest column.
    fn choose(&mut self) -> Option<(u32, u32)> {
        while let Some(std::cmp::Reverse((count, column))) = self.heap.peek().copied() {
            if self.done[column as usize] || self.count[column as usize] != count {
                self.heap.pop();
                continue;
            }
            if count > 1 {
                while let Some(row) = self.single.pop() {
                    let entries = &self.rows[row as usize];
                    if !self.gone[row as usize] && entries.len() == 1 && entries[0].1.abs() > 1e-9 {
                        return Some((row, entries[0].0));
                    }
                }
            }
            let mut list: Vec<(u32, f64)> = Vec::new();
            for row in &self.columns[column as usize] {
                let entries = self.rows[*row as usize].iter();
                let entry = entries
                    .clone()
                    .find(|entry| entry.0 == column && !self.gone[*row as usize]);
                if let Some((_, value)) = entry {
                    list.push((*row, value.abs()));
                }
            }
            let most = list.iter().map(|entry| entry.1).fold(0.0, f64::max);
            if most < 1e-9 {
                return None;
            }
            let row = (list.iter().filter(|entry| entry.1 >= STABLE * most))
                .min_by_key(|entry| (self.rows[entry.0 as usize].len(), entry.0))?;
            return Some((row.0, column));
        }
        None
    }

    fn eliminate(&mut self, row: u32, column: u32) -> Step {
        let mut right = std::mem::take(&mut self.rows[row as usize]);
        self.gone[row as usize] = true;
        self.done[column as usize] = true;
        let at = right
            .iter()
            .position(|entry| entry.0 == column)
            .unwrap_or(0);
        let (_, pivot) = right.swap_remove(at);
        let mut below = Vec::new();
        let mut others = std::mem::take(&mut self.columns[column as usize]);
        others.sort_unstable();
        others.dedup();
        for other in others {
            if self.gone[other as usize] {
                continue;
            }
            let entries = &mut self.rows[other as usize];
            let Some(at) = entries.iter().position(|entry| entry.0 == column) else {
                continue;
            };
            let factor = entries.swap_remove(at).1 / pivot;
            below.push((other, factor));
            self.subtract(other, factor, &right);
            if self.rows[other as usize].len() == 1 {
                self.single.push(other);
            }
        }
        for (column, _) in &right {
            self.recount(*column, -1);
        }
        Step {
            row,
            column,
            pivot,
            below,
            right,
        }
    }

    /// Takes a multiple of the pivot row off another row.
    fn subtract(&mut self, other: u32, factor: f64, right: &[(u32, f64)]) {
        if right.is_empty() {
            return;
        }
        let mut entries = std::mem::take(&mut self.rows[other as usize]);
        for (at, entry) in entries.iter().enumerate() {
            self.place[entry.0 as usize] = at as u32;
        }
        let old = entries.len();
        for (column, value) in right {
            match self.place[*column as usize] {
                u32::MAX => {
                    entries.push((*column, -factor * value));
                    self.columns[*column as usize].push(other);
                    self.recount(*column, 1);
                }
                at => entries[at as usize].1 -= factor * value,
            }
        }
        for entry in &entries[..old] {
            self.place[entry.0 as usize] = u32::MAX;
        }
        entries.retain(|(column, value)| {
            let keep = value.abs() > TINY;
            if !keep {
                self.count[*column as usize] -= 1;
                let key = (self.count[*column as usize], *column);
                self.heap.push(std::cmp::Reverse(key));
            }
            keep
        });
        self.rows[other as usize] = entries;
    }

    fn recount(&mut self, column: u32, by: i32) {
        let count = &mut self.count[column as usize];
        *count = count.saturating_add_signed(by);
        self.heap.push(std::cmp::Reverse((*count, column)));
    }
}
