//! A dense inverse of a square matrix that grows, shrinks and changes by one row or column.

/// A square table with room to grow.
#[derive(Clone, Debug, Default)]
struct Table {
    stride: usize,
    data: Vec<f64>,
}

/// Entries below this are rounding.
const TINY: f64 = 1e-12;

impl Table {
    fn row(&self, at: usize, size: usize) -> &[f64] {
        &self.data[at * self.stride..at * self.stride + size]
    }

    /// Subtracts `left * right`. Prices far apart hardly touch, so that both are mostly zeros.
    fn subtract(&mut self, left: &[f64], right: &[f64]) {
        let some: Vec<(u32, f64)> = (0u32..)
            .zip(right.iter().copied())
            .filter(|(_, entry)| entry.abs() > TINY)
            .collect();
        let sparse = some.len() * 3 < right.len();
        for (row, factor) in left.iter().enumerate().filter(|(_, factor)| factor.abs() > TINY) {
            let start = row * self.stride;
            let entries = &mut self.data[start..start + right.len()];
            if sparse {
                for (at, right) in &some {
                    entries[*at as usize] -= factor * right;
                }
            } else {
                for (entry, right) in entries.iter_mut().zip(right) {
                    *entry -= factor * right;
                }
            }
        }
    }

    fn widen(&mut self, size: usize) {
        let wide = (2 * self.stride).max(16);
        let mut data = vec![0.0; wide * wide];
        for row in 0..size {
            data[row * wide..row * wide + size].copy_from_slice(self.row(row, size));
        }
        self.stride = wide;
        self.data = data;
    }

    /// A row and a column at the end, with their common entry.
    fn append(&mut self, size: usize, row: &[f64], column: &[f64], corner: f64) {
        if size == self.stride {
            self.widen(size);
        }
        let start = size * self.stride;
        self.data[start..start + size].copy_from_slice(row);
        for (at, entry) in column.iter().enumerate() {
            self.data[at * self.stride + size] = *entry;
        }
        self.data[start + size] = corner;
    }

    /// The last row and column take the places of others.
    fn remove(&mut self, size: usize, row: usize, column: usize) {
        let (last, stride) = (size - 1, self.stride);
        self.data.copy_within(last * stride..last * stride + size, row * stride);
        for at in 0..size {
            self.data[at * stride + column] = self.data[at * stride + last];
        }
    }
}

/// The inverse of a matrix whose rows stand for tight rows and whose columns for basic variables;
/// so the inverse has a row per variable and a column per tight row. Kept twice, by rows and by
/// columns, because both are read along.
#[derive(Clone, Debug, Default)]
pub(crate) struct Inverse {
    size: usize,
    rows: Table,
    columns: Table,
}

impl Inverse {
    pub fn size(&self) -> usize {
        self.size
    }

    pub fn row(&self, at: usize) -> &[f64] {
        self.rows.row(at, self.size)
    }

    pub fn column(&self, at: usize) -> &[f64] {
        self.columns.row(at, self.size)
    }

    /// Adds to `sum` the given row times `factor`.
    pub fn add_row(&self, at: usize, factor: f64, sum: &mut [f64]) {
        for (sum, entry) in sum.iter_mut().zip(self.row(at)) {
            *sum += factor * entry;
        }
    }

    /// Adds to `sum` the given column times `factor`.
    pub fn add_column(&self, at: usize, factor: f64, sum: &mut [f64]) {
        for (sum, entry) in sum.iter_mut().zip(self.column(at)) {
            *sum += factor * entry;
        }
    }

    fn subtract(&mut self, left: &[f64], right: &[f64]) {
        self.rows.subtract(left, right);
        self.columns.subtract(right, left);
    }

    /// The matrix gets another row, which times the inverse is `rho`, and another column, the
    /// inverse times which is `q`; `pivot` is their common entry less what they already explain.
    pub fn grow(&mut self, rho: &[f64], q: &[f64], pivot: f64) {
        let left: Vec<f64> = q.iter().map(|q| -q / pivot).collect();
        self.subtract(&left, rho);
        let right: Vec<f64> = rho.iter().map(|rho| -rho / pivot).collect();
        self.rows.append(self.size, &right, &left, 1.0 / pivot);
        self.columns.append(self.size, &left, &right, 1.0 / pivot);
        self.size += 1;
    }

    /// The matrix loses a row and a column; the last ones take their places.
    pub fn shrink(&mut self, row: usize, column: usize) {
        let pivot = self.row(column)[row];
        let left: Vec<f64> = self.column(row).iter().map(|entry| entry / pivot).collect();
        let right = self.row(column).to_vec();
        self.subtract(&left, &right);
        self.rows.remove(self.size, column, row);
        self.columns.remove(self.size, row, column);
        self.size -= 1;
    }

    /// Another row takes the place of row `at`; times the inverse it is `rho`.
    pub fn change_row(&mut self, at: usize, rho: &[f64]) {
        let left: Vec<f64> = self.column(at).iter().map(|entry| entry / rho[at]).collect();
        let mut right = rho.to_vec();
        right[at] -= 1.0;
        self.subtract(&left, &right);
    }

    /// Another column takes the place of column `at`; the inverse times it is `q`.
    pub fn change_column(&mut self, at: usize, q: &[f64]) {
        let right: Vec<f64> = self.row(at).iter().map(|entry| entry / q[at]).collect();
        let mut left = q.to_vec();
        left[at] -= 1.0;
        self.subtract(&left, &right);
    }

    /// The inverse of a matrix given by columns of (row, value); false if it has none.
    pub fn invert(&mut self, columns: &[Vec<(u32, f64)>]) -> bool {
        let size = columns.len();
        // Rows of [matrix | unit]; the matrix part is dropped at the end.
        let mut work = vec![vec![0.0; 2 * size]; size];
        for (column, entries) in columns.iter().enumerate() {
            for (row, value) in entries {
                work[*row as usize][column] = *value;
            }
        }
        for (row, entries) in work.iter_mut().enumerate() {
            entries[size + row] = 1.0;
        }
        for column in 0..size {
            let best = (column..size).max_by(|a, b| {
                let size = |row: usize| work[row][column].abs();
                size(*a).total_cmp(&size(*b)).then(b.cmp(a))
            });
            let Some(best) = best.filter(|row| work[*row][column].abs() > 1e-9) else {
                return false;
            };
            work.swap(column, best);
            let mut pivot = std::mem::take(&mut work[column]);
            let by = 1.0 / pivot[column];
            pivot[column..].iter_mut().for_each(|entry| *entry *= by);
            let from: Vec<usize> = (column..2 * size).filter(|at| pivot[*at] != 0.0).collect();
            for (row, entries) in work.iter_mut().enumerate() {
                if row == column || entries[column] == 0.0 {
                    continue;
                }
                let factor = entries[column];
                for at in &from {
                    entries[*at] -= factor * pivot[*at];
                }
            }
            work[column] = pivot;
        }
        self.size = size;
        let stride = self.rows.stride.max(size);
        for table in [&mut self.rows, &mut self.columns] {
            table.stride = stride;
            table.data = vec![0.0; stride * stride];
        }
        for (row, entries) in work.iter().enumerate() {
            let start = row * stride;
            self.rows.data[start..start + size].copy_from_slice(&entries[size..]);
            for (column, entry) in entries[size..].iter().enumerate() {
                self.columns.data[column * stride + row] = *entry;
            }
        }
        true
    }
}
