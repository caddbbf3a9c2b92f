//! The linear system of a round: a head for every free node.

use faer::prelude::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{SparseColMat, Triplet};
use faer::{Mat, Side};

/// Symmetric, one row for each free node; what its factor looks like is worked out once.
pub(crate) struct System {
    size: usize,
    entries: Vec<Triplet<usize, usize, f64>>,
    right: Vec<f64>,
    pattern: Option<SymbolicLlt<usize>>,
}

impl System {
    pub fn new(size: usize) -> Self {
        Self {
            size,
            entries: Vec::new(),
            right: vec![0.0; size],
            pattern: None,
        }
    }

    /// Empty again, of the same pattern.
    pub fn clear(&mut self) {
        self.entries.clear();
        self.right.fill(0.0);
    }

    /// Adds to the right side of a row.
    pub fn add(&mut self, row: usize, value: f64) {
        self.right[row] += value;
    }

    /// Adds to an entry on the diagonal.
    pub fn tie(&mut self, row: usize, value: f64) {
        self.entries.push(Triplet::new(row, row, value));
    }

    /// Adds to both entries off the diagonal of two rows.
    pub fn join(&mut self, a: usize, b: usize, value: f64) {
        let (low, high) = (a.min(b), a.max(b));
        self.entries.push(Triplet::new(high, low, value));
    }

    /// The heads; nothing if the system has no single answer.
    pub fn solve(&mut self) -> Option<Vec<f64>> {
        if self.size == 0 {
            return Some(Vec::new());
        }
        let (n, entries) = (self.size, &self.entries);
        let matrix = SparseColMat::try_new_from_triplets(n, n, entries).ok()?;
        let pattern = match &self.pattern {
            Some(pattern) => pattern.clone(),
            None => {
                let pattern = SymbolicLlt::try_new(matrix.symbolic(), Side::Lower).ok()?;
                self.pattern.insert(pattern).clone()
            }
        };
        let factor = Llt::try_new_with_symbolic(pattern, matrix.as_ref(), Side::Lower).ok()?;
        let mut heads = Mat::from_fn(n, 1, |row, _| self.right[row]);
        factor.solve_in_place(&mut heads);
        let heads: Vec<f64> = (0..n).map(|row| heads[(row, 0)]).collect();
        heads.iter().all(|head| head.is_finite()).then_some(heads)
    }
}
