//! Ground by the squares of a lattice, the same for all machines.

use crate::Regions;
use crate::site::Site;
use geo::{BoundingRect, Coord, Rect, coord, unary_union};

/// Side of a cell in metres, and about how many there are at most: on large properties they grow.
const SIDE: f64 = 1.0;
const MOST: f64 = 20_000.0;

/// A set of cells.
#[derive(Debug, Clone)]
pub(crate) struct Cells {
    corner: Coord,
    side: f64,
    columns: usize,
    /// Row by row whether a cell is one of the set; nothing where the question does not arise.
    states: Vec<Option<bool>>,
}

impl Cells {
    pub fn none() -> Self {
        Self {
            corner: Coord::zero(),
            side: SIDE,
            columns: 0,
            states: Vec::new(),
        }
    }

    /// The cells of a site whose middle answers yes.
    pub fn where_middle(site: &Site, answer: impl Fn(Coord) -> Option<bool>) -> Self {
        let Some(bounds) = site.free.bounding_rect() else {
            return Self::none();
        };
        let side = (bounds.width() * bounds.height() / MOST).sqrt().max(SIDE);
        let corner = coord! {
            x: (bounds.min().x / side).floor() * side,
            y: (bounds.min().y / side).floor() * side,
        };
        let span = bounds.max() - corner;
        let columns = (span.x / side) as usize + 1;
        let rows = (span.y / side) as usize + 1;
        let mut cells = Self {
            corner,
            side,
            columns,
            states: Vec::new(),
        };
        let middles = (0..columns * rows).map(|i| cells.cell(i).center());
        cells.states = middles.map(answer).collect();
        cells
    }

    fn cell(&self, index: usize) -> Rect {
        let (row, column) = (index / self.columns, index % self.columns);
        let low = self.corner + coord! {x: column as f64, y: row as f64} * self.side;
        Rect::new(low, low + coord! {x: self.side, y: self.side})
    }

    fn index(&self, place: Coord) -> Option<usize> {
        let at = (place - self.corner) / self.side;
        let is_inside = at.x >= 0.0 && at.y >= 0.0 && at.x < self.columns as f64;
        is_inside.then(|| at.y as usize * self.columns + at.x as usize)
    }

    /// Whether a place lies in a cell of the set.
    pub fn holds(&self, place: Coord) -> bool {
        let state = self.index(place).and_then(|i| self.states.get(i).copied());
        state.flatten() == Some(true)
    }

    /// The cells of the set none of whose eight neighbours answered no.
    pub fn inner(&self) -> Self {
        let columns = self.columns;
        let rows = self.states.len().checked_div(columns).unwrap_or(0);
        let is_inner = |i: usize| {
            let (row, column) = (i / columns, i % columns);
            let mut around = (row.saturating_sub(1)..rows.min(row + 2)).flat_map(|r| {
                (column.saturating_sub(1)..columns.min(column + 2)).map(move |c| r * columns + c)
            });
            self.states[i] == Some(true) && around.all(|j| self.states[j] != Some(false))
        };
        Self {
            states: (0..self.states.len()).map(|i| Some(is_inner(i))).collect(),
            ..*self
        }
    }

    /// Takes in the cells of another set on the same site.
    pub fn add(&mut self, other: &Self) {
        for (state, more) in self.states.iter_mut().zip(&other.states) {
            if *more == Some(true) {
                *state = *more;
            }
        }
    }

    /// The set as polygons.
    pub fn regions(&self) -> Regions {
        let set = (0..self.states.len()).filter(|i| self.states[*i] == Some(true));
        let cells: Vec<_> = set.map(|i| self.cell(i).to_polygon()).collect();
        Regions::new((0u32..).zip(unary_union(&cells)).collect())
    }
}
