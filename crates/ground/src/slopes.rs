//! How steep the ground is and which way it falls, for machines that drive on it.

use crate::{Regions, Relief};
use geo::{BoundingRect, Contains, Coord, MultiPolygon, Rect, coord, unary_union};
use job::{Job, Method};

/// Side of a cell of the grid on which the fall of the land is taken, in metres.
const CELL: f64 = 1.0;

/// The grid has about this many cells at most; on large properties the cells grow.
const MOST_CELLS: f64 = 20_000.0;

/// The steepest ground that a machine drives on, rise over run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Limits {
    pub along: f64,
    pub across: f64,
}

impl Limits {
    pub fn of(method: &Method) -> Self {
        let along = method.max_slope.value.to_one();
        let across = method.max_cross_slope.as_ref();
        let across = across.map_or(along, |limit| limit.value.to_one());
        Self { along, across }
    }

    /// Up to this slope a machine heads anywhere.
    pub fn any_way(self) -> f64 {
        self.along.min(self.across)
    }

    /// Beyond this slope there is no heading at which both limits are kept.
    pub fn no_way(self) -> f64 {
        self.along.hypot(self.across)
    }
}

/// The slope of the land by cells of a grid, and the areas of a stated slope.
#[derive(Debug, Clone)]
pub(crate) struct Slopes {
    corner: Coord,
    cell: f64,
    columns: usize,
    /// Rise per metre to the right and up, row by row; empty without spot elevations.
    falls: Vec<Coord>,
    /// Whether ground of a stated slope may lie in a cell.
    has_stated: Vec<bool>,
    steeps: Regions,
    stated: Vec<(String, f64)>,
    /// The steepest of all ground.
    steepest: f64,
}

impl Slopes {
    pub fn new(job: &Job, relief: &Relief, steeps: &Regions) -> Self {
        let bounds = job.survey.boundary.polygon.bounding_rect();
        let bounds = bounds.unwrap_or_else(|| Rect::new(Coord::zero(), Coord::zero()));
        let cell = (bounds.width() * bounds.height() / MOST_CELLS)
            .sqrt()
            .max(CELL);
        let columns = (bounds.width() / cell).ceil() as usize;
        let rows = (bounds.height() / cell).ceil() as usize;
        let corner = bounds.min();
        let falls = if relief.spots() > 1 {
            falls(relief, corner, cell, columns, rows)
        } else {
            Vec::new()
        };
        let stated = job.survey.steeps.iter();
        let stated: Vec<(String, f64)> = stated.map(|s| (s.id.clone(), s.slope.to_one())).collect();
        let has_stated = has_stated(steeps, corner, cell, columns, rows);
        let by_spots = falls.iter().map(|f| f.x.hypot(f.y));
        let steepest = stated.iter().map(|(_, slope)| *slope).chain(by_spots);
        Self {
            steepest: steepest.fold(0.0, f64::max),
            corner,
            cell,
            columns,
            falls,
            has_stated,
            steeps: steeps.clone(),
            stated,
        }
    }

    /// The slope at a place, and the rise per metre to the right and up by the spot elevations.
    pub fn at(&self, place: Coord) -> (f64, Coord) {
        let (stated, fall) = self.parts_at(place);
        (stated.max(fall.x.hypot(fall.y)), fall)
    }

    /// The stated slope at a place, and the fall by the spot elevations.
    fn parts_at(&self, place: Coord) -> (f64, Coord) {
        let column = (place.x - self.corner.x) / self.cell;
        let row = (place.y - self.corner.y) / self.cell;
        if column < 0.0 || row < 0.0 || column >= self.columns as f64 {
            return (0.0, Coord::zero());
        }
        let index = row as usize * self.columns + column as usize;
        let fall = self.falls.get(index).copied().unwrap_or_default();
        let is_stated = self.has_stated.get(index).copied().unwrap_or_default();
        let stated = if is_stated {
            self.steeps.at(place)
        } else {
            None
        };
        (stated.map_or(0.0, |i| self.stated[i as usize].1), fall)
    }

    /// Whether a machine may head so (a unit vector) at a place. Where the survey states a slope and
    /// not which way it falls, the heading is taken for the worst.
    pub fn admits(&self, place: Coord, heading: Coord, limits: Limits) -> bool {
        let (stated, fall) = self.parts_at(place);
        let by_spots = fall.x * fall.x + fall.y * fall.y;
        if stated <= limits.any_way() && by_spots <= limits.any_way() * limits.any_way() {
            return true;
        }
        let steepest = by_spots.sqrt();
        if steepest <= 0.0 {
            return false;
        }
        let steeper = (stated / steepest).max(1.0);
        let along = (heading.x * fall.x + heading.y * fall.y).abs() * steeper;
        let across = (heading.x * fall.y - heading.y * fall.x).abs() * steeper;
        along <= limits.along && across <= limits.across
    }

    /// How far a machine may head so from a place, at most so many metres.
    pub fn admitted(&self, from: Coord, heading: Coord, most: f64, limits: Limits) -> f64 {
        if self.steepest <= limits.any_way() {
            return most;
        }
        let step = self.cell / 2.0;
        let mut done = 0.0;
        while done < most {
            if !self.admits(from + heading * done, heading, limits) {
                return (done - step).max(0.0);
            }
            done += step;
        }
        most
    }

    /// The ground on which no heading keeps the limits. Where no spot elevations tell which way the
    /// ground falls, every heading has to.
    pub fn closed(&self, limits: Limits) -> Vec<Steeper> {
        self.steeper(if self.falls.is_empty() {
            limits.any_way()
        } else {
            limits.no_way()
        })
    }

    /// The ground steeper than a limit: what is stated, and the cells of the grid.
    pub fn steeper(&self, limit: f64) -> Vec<Steeper> {
        let stated = self.steeps.polygons().iter();
        let mut found: Vec<Steeper> = stated
            .filter(|(i, _)| self.stated[*i as usize].1 > limit)
            .map(|(i, polygon)| {
                let (id, slope) = &self.stated[*i as usize];
                Steeper {
                    name: format!("steep ground {id}"),
                    slope: *slope,
                    area: MultiPolygon::new(vec![polygon.clone()]),
                }
            })
            .collect();
        let bars = self.bars(limit);
        let together = unary_union(bars.iter().map(|(bar, _)| bar));
        found.extend(together.into_iter().map(|polygon| {
            let inside = bars.iter().filter(|(bar, _)| {
                let middle = bar.bounding_rect().map(|r| r.center());
                middle.is_some_and(|m| polygon.contains(&m))
            });
            Steeper {
                name: "ground that is steep by the spot elevations".to_owned(),
                slope: inside.map(|(_, slope)| *slope).fold(limit, f64::max),
                area: MultiPolygon::new(vec![polygon]),
            }
        }));
        found
    }

    /// Rows of cells steeper than a limit, each with the steepest slope in it.
    fn bars(&self, limit: f64) -> Vec<(geo::Polygon, f64)> {
        let mut bars = Vec::new();
        for (row, falls) in self.falls.chunks(self.columns.max(1)).enumerate() {
            let slopes: Vec<f64> = falls.iter().map(|f| f.x.hypot(f.y)).collect();
            let mut column = 0;
            for run in slopes.chunk_by(|a, b| (*a > limit) == (*b > limit)) {
                if run[0] > limit {
                    let steepest = run.iter().copied().fold(0.0, f64::max);
                    bars.push((self.bar(row, column, run.len()).to_polygon(), steepest));
                }
                column += run.len();
            }
        }
        bars
    }

    fn bar(&self, row: usize, column: usize, long: usize) -> Rect {
        let at = |c: usize, r: usize| self.corner + coord! {x: c as f64, y: r as f64} * self.cell;
        Rect::new(at(column, row), at(column + long, row + 1))
    }
}

/// Ground steeper than some limit.
#[derive(Debug, Clone)]
pub(crate) struct Steeper {
    pub name: String,
    pub slope: f64,
    pub area: MultiPolygon,
}

fn has_stated(
    steeps: &Regions,
    corner: Coord,
    cell: f64,
    columns: usize,
    rows: usize,
) -> Vec<bool> {
    if steeps.polygons().is_empty() {
        return Vec::new();
    }
    let mut found = vec![false; columns * rows];
    let bounds = steeps.polygons().iter();
    for bounds in bounds.filter_map(|(_, polygon)| polygon.bounding_rect()) {
        let [low, high] = [bounds.min(), bounds.max()].map(|at| (at - corner) / cell);
        for row in low.y.max(0.0) as usize..rows.min(high.y.max(0.0) as usize + 1) {
            for column in low.x.max(0.0) as usize..columns.min(high.x.max(0.0) as usize + 1) {
                found[row * columns + column] = true;
            }
        }
    }
    found
}

fn falls(relief: &Relief, corner: Coord, cell: f64, columns: usize, rows: usize) -> Vec<Coord> {
    let at = |c: usize, r: usize| corner + coord! {x: c as f64, y: r as f64} * cell;
    let heights: Vec<f64> = (0..=rows)
        .flat_map(|r| (0..=columns).map(move |c| relief.height(at(c, r))))
        .collect();
    let height = |c: usize, r: usize| heights[r * (columns + 1) + c];
    (0..rows)
        .flat_map(|r| {
            (0..columns).map(move |c| {
                let right = height(c + 1, r) + height(c + 1, r + 1) - height(c, r);
                let up = height(c, r + 1) + height(c + 1, r + 1) - height(c, r);
                let (right, up) = (right - height(c, r + 1), up - height(c + 1, r));
                coord! {x: right / (2.0 * cell), y: up / (2.0 * cell)}
            })
        })
        .collect()
}
