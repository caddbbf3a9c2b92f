//! The linear system of a round: a change of head for every free node.

use faer::prelude::Solve;
use faer::sparse::linalg::solvers::{Llt, SymbolicLlt};
use faer::sparse::{Argsort, Pair, SparseColMat, SymbolicSparseColMat};
use faer::{Mat, Side};

/// Symmetric, one row for each free node. The same entries come in the same order in every round;
/// where they lie, and what the factor looks like, is worked out in the first.
pub(crate) struct System {
    places: Vec<Pair<usize, usize>>,
    values: Vec<f64>,
    right: Vec<f64>,
    pattern: Option<Pattern>,
}

struct Pattern {
    matrix: SymbolicSparseColMat<usize>,
    order: Argsort<usize>,
    factor: SymbolicLlt<usize>,
}

impl Pattern {
    fn new(size: usize, places: &[Pair<usize, usize>]) -> Option<Self> {
        let (matrix, order) =
            SymbolicSparseColMat::try_new_from_indices(size, size, places).ok()?;
        let factor = SymbolicLlt::try_new(matrix.as_ref(), Side::Lower).ok()?;
        Some(Self {
            matrix,
            order,
            factor,
        })
    }
}

impl System {
    pub fn new(size: usize) -> Self {
        Self {
            places: Vec::new(),
            values: Vec::new(),
            right: vec![0.0; size],
            pattern: None,
        }
    }

    /// Empty again.
    pub fn clear(&mut self) {
        self.values.clear();
        self.right.fill(0.0);
    }

    /// Adds to the right side of a row.
    pub fn add(&mut self, row: usize, value: f64) {
        self.right[row] += value;
    }

    /// Adds to an entry on the diagonal.
    pub fn tie(&mut self, row: usize, value: f64) {
        self.put(row, row, value);
    }

    /// Adds to both entries off the diagonal of two rows.
    pub fn join(&mut self, a: usize, b: usize, value: f64) {
        self.put(a.max(b), a.min(b), value);
    }

    fn put(&mut self, row: usize, column: usize, value: f64) {
        if self.pattern.is_none() {
            self.places.push(Pair::new(row, column));
        }
        self.values.push(value);
    }

    /// The changes; nothing if the system has no single answer.
    pub fn solve(&mut self) -> Option<Vec<f64>> {
        let size = self.right.len();
        if size == 0 {
            return Some(Vec::new());
        }
        let pattern = match self.pattern.take() {
            Some(pattern) => pattern,
            None => Pattern::new(size, &self.places)?,
        };
        let pattern = self.pattern.insert(pattern);
        let matrix = pattern.matrix.clone();
        let matrix = SparseColMat::new_from_argsort(matrix, &pattern.order, &self.values).ok()?;
        let factor = pattern.factor.clone();
        let factor = Llt::try_new_with_symbolic(factor, matrix.as_ref(), Side::Lower).ok()?;
        let mut changes = Mat::from_fn(size, 1, |row, _| self.right[row]);
        factor.solve_in_place(&mut changes);
        let changes: Vec<f64> = (0..size).map(|row| changes[(row, 0)]).collect();
        let are_numbers = changes.iter().all(|change| change.is_finite());
        are_numbers.then_some(changes)
    }
}
