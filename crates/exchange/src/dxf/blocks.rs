//! Blocks put into the drawing: where their entities come to lie.

use job::Finding;

use super::SUBJECT;
use super::entity::Insert;
use crate::Xy;

/// A turned, scaled and moved plane: x' = a·x + b·y + c and so on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    x: (f64, f64, f64),
    y: (f64, f64, f64),
}

impl Frame {
    /// The drawing itself.
    pub const WORLD: Self = Self {
        x: (1.0, 0.0, 0.0),
        y: (0.0, 1.0, 0.0),
    };

    pub fn place(&self, at: Xy) -> Xy {
        let one = |row: (f64, f64, f64)| row.0 * at.0 + row.1 * at.1 + row.2;
        (one(self.x), one(self.y))
    }

    /// What a frame inside of this is in the world.
    fn within(&self, inner: Self) -> Self {
        let row = |outer: (f64, f64, f64)| {
            (
                outer.0 * inner.x.0 + outer.1 * inner.y.0,
                outer.0 * inner.x.1 + outer.1 * inner.y.1,
                outer.0 * inner.x.2 + outer.1 * inner.y.2 + outer.2,
            )
        };
        Self {
            x: row(self.x),
            y: row(self.y),
        }
    }

    /// The same with x the other way.
    pub fn mirrored(&self) -> Self {
        self.within(Self {
            x: (-1.0, 0.0, 0.0),
            y: (0.0, 1.0, 0.0),
        })
    }

    /// The greatest factor by which a length grows.
    pub fn scale(&self) -> f64 {
        self.x.0.hypot(self.y.0).max(self.x.1.hypot(self.y.1))
    }

    /// The frame of one place of an array of a block with a base point.
    pub fn of_insert(&self, insert: &Insert, base: Xy, (column, row): (u32, u32)) -> Self {
        let (sin, cos) = insert.turn.sin_cos();
        let (sx, sy) = insert.scale;
        let step = (
            f64::from(column) * insert.array.1.0,
            f64::from(row) * insert.array.1.1,
        );
        // The steps of an array turn with it, but are not scaled.
        let at = (
            insert.at.0 + step.0 * cos - step.1 * sin,
            insert.at.1 + step.0 * sin + step.1 * cos,
        );
        let x = (cos * sx, -sin * sy);
        let y = (sin * sx, cos * sy);
        self.within(Self {
            x: (x.0, x.1, at.0 - x.0 * base.0 - x.1 * base.1),
            y: (y.0, y.1, at.1 - y.0 * base.0 - y.1 * base.1),
        })
    }
}

/// A block that holds itself.
pub(crate) fn cyclic(path: &[&str], again: &str, line: u32) -> Vec<Finding> {
    let from = path.iter().position(|name| *name == again).unwrap_or(0);
    let mut names: Vec<String> = path[from..]
        .iter()
        .map(|name| crate::report::shown(name))
        .collect();
    names.push(crate::report::shown(again));
    vec![Finding::error(
        "dxf-cyclic-block",
        format!("block {}", names[0]),
        format!("holds itself: {} (line {line})", names.join(" in ")),
        "purge or explode the block in the drawing program and export it again",
    )]
}

/// Blocks in blocks that make too much of little.
pub(crate) fn too_deep(what: &str, line: u32) -> Vec<Finding> {
    vec![Finding::error(
        "dxf-blocks-too-deep",
        SUBJECT,
        format!("has blocks within blocks, {what} (line {line})"),
        "explode or purge blocks in the drawing program and export it again",
    )]
}
