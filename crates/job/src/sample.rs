//! A generated property of any size, to see how a plan scales.
//!
//! An estate of blocks in rows and columns with walks between them. Each block has a building, a fenced
//! yard, trees, boulders or a pond, and its own circuits on a manifold at its corner; the water comes in at
//! the middle of the street side. Nothing in it is a real place.

mod block;
mod canvas;
mod rng;

use canvas::{Canvas, area, line, points};
use rng::Rng;
use serde_json::{Value, json};

/// Heads that a block holds when it is full.
const HEADS_PER_BLOCK: u32 = 48;
/// Ground for each head, square feet.
const GROUND_PER_HEAD: f64 = 400.0;
/// From the street line up to the first block, feet.
const VERGE: f64 = 10.0;

/// Blocks in rows and columns; lengths in feet. The origin is the lower left corner of the first block.
struct Grid {
    heads: u32,
    columns: u32,
    rows: u32,
    width: f64,
    height: f64,
}

impl Grid {
    fn for_heads(heads: u32) -> Self {
        let blocks = heads.div_ceil(HEADS_PER_BLOCK);
        let columns = (f64::from(blocks) * 0.9).sqrt().round().max(1.0) as u32;
        let rows = blocks.div_ceil(columns);
        let ground = f64::from(heads) * GROUND_PER_HEAD / f64::from(columns * rows);
        let width = (ground * 4.0 / 3.0).sqrt().max(40.0);
        Self {
            heads,
            columns,
            rows,
            width,
            height: width * 0.75,
        }
    }

    fn across(&self) -> f64 {
        f64::from(self.columns) * self.width
    }

    fn up(&self) -> f64 {
        f64::from(self.rows) * self.height
    }

    fn column_line(&self, i: u32) -> f64 {
        f64::from(i) * self.width
    }

    fn row_line(&self, i: u32) -> f64 {
        f64::from(i) * self.height
    }

    /// Heads of the block counted from 0, so that all blocks together have exactly all heads.
    fn quota(&self, block: u32) -> usize {
        let blocks = u64::from(self.columns * self.rows);
        let up_to = |n: u32| u64::from(self.heads) * u64::from(n) / blocks;
        (up_to(block + 1) - up_to(block)) as usize
    }
}

/// The text of a job file in feet with so many heads, always the same for the same seed.
///
/// `heads` is taken into 1 to 10,000. About one head to 20 ft by 20 ft; the property grows with them.
pub fn sample(heads: u32, seed: u64) -> String {
    let heads = heads.clamp(1, 10_000);
    let grid = Grid::for_heads(heads);
    let mut rng = Rng::new(seed);
    let mut canvas = Canvas::default();
    boundary(&grid, &mut rng, &mut canvas);
    ground(&grid, &mut rng, &mut canvas);
    walks(&grid, &mut rng, &mut canvas);
    utilities(&grid, &mut rng, &mut canvas);
    entrance(&grid, &mut canvas);
    lights(&grid, &mut canvas);
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            block::lay_out(&grid, column, row, &mut rng, &mut canvas);
        }
    }
    text(heads, seed, &canvas.features)
}

fn text(heads: u32, seed: u64, features: &[Value]) -> String {
    let head = json!({
        "format": 1,
        "name": format!("Sample: {heads} heads, seed {seed} (invented)"),
        "invented": true,
        "length_unit": "ft",
        "display": "us",
        "seed": seed,
    });
    let lines: Vec<String> = features.iter().map(|f| format!("    {f}")).collect();
    format!(
        "{{ \"type\": \"FeatureCollection\",\n  \"spadework\": {head},\n  \"features\": [\n{}\n  ]\n}}\n",
        lines.join(",\n")
    )
}

/// Straight along the street, irregular elsewhere.
fn boundary(grid: &Grid, rng: &mut Rng, canvas: &mut Canvas) {
    let (across, up) = (grid.across(), grid.up());
    let mut out = || rng.within(8.0, 22.0);
    let mut ring = vec![(-out(), -VERGE), (across + out(), -VERGE)];
    ring.extend((1..grid.rows).map(|i| (across + out(), grid.row_line(i))));
    ring.push((across + out(), up + out()));
    ring.extend(
        (1..grid.columns)
            .rev()
            .map(|i| (grid.column_line(i), up + out())),
    );
    ring.push((-out(), up + out()));
    ring.extend((1..grid.rows).rev().map(|i| (-out(), grid.row_line(i))));
    canvas.add(
        "P",
        area(&ring),
        json!({"kind": "boundary", "note": "invented property"}),
    );
}

/// Surfaces, soils and elevations, block by block over a default.
fn ground(grid: &Grid, rng: &mut Rng, canvas: &mut Canvas) {
    canvas.add(
        "U",
        Value::Null,
        json!({"kind": "surface", "surface": "lawn_kept"}),
    );
    canvas.add(
        "S",
        Value::Null,
        json!({"kind": "soil", "texture": "loam", "coarse": "5 %", "moisture": "moist"}),
    );
    for row in 0..grid.rows {
        for column in 0..grid.columns {
            let corner = (grid.column_line(column), grid.row_line(row));
            ground_of_block(grid, corner, rng, canvas);
        }
    }
    let (across, up) = (grid.across(), grid.up());
    for (x, y) in [(0.0, 0.0), (across, 0.0), (across, up), (0.0, up)] {
        elevation(grid, (x, y), rng, canvas);
    }
}

fn ground_of_block(grid: &Grid, (x, y): (f64, f64), rng: &mut Rng, canvas: &mut Canvas) {
    let whole = area(&canvas::rectangle(x, y, x + grid.width, y + grid.height));
    if rng.chance(0.4) {
        let surface = rng.pick(&["lawn_redone", "lawn_redone", "bare_soil", "gravel"]);
        canvas.add(
            "U",
            whole.clone(),
            json!({"kind": "surface", "surface": surface}),
        );
    }
    if rng.chance(0.3) {
        let texture = rng.pick(&["sandy_loam", "silt_loam", "clay_loam", "clay"]);
        let coarse = rng.pick(&["0 %", "10 %", "20 %", "40 %"]);
        let moisture = rng.pick(&["dry", "moist", "wet"]);
        let soil =
            json!({"kind": "soil", "texture": texture, "coarse": coarse, "moisture": moisture});
        canvas.add("S", whole, soil);
    }
    elevation(
        grid,
        (x + grid.width / 2.0, y + grid.height / 2.0),
        rng,
        canvas,
    );
}

/// Rising away from the street, 10 ft in all, with a little unevenness.
fn elevation(grid: &Grid, (x, y): (f64, f64), rng: &mut Rng, canvas: &mut Canvas) {
    let above = 100.0 + 10.0 * (y / grid.up()).min(y / 100.0) + rng.within(-0.5, 0.5);
    canvas.add(
        "SP",
        points(&[(x, y)]),
        json!({"kind": "spot", "elevation": format!("{above:.1} ft")}),
    );
}

/// Paved walks between blocks, most of them, some with a sleeve already there.
fn walks(grid: &Grid, rng: &mut Rng, canvas: &mut Canvas) {
    for i in 1..grid.columns {
        let (x, half) = (grid.column_line(i), rng.within(2.5, 6.0));
        if rng.chance(0.7) {
            walk(
                canvas::rectangle(x - half, -VERGE, x + half, grid.up()),
                rng,
                canvas,
            );
            sleeves(grid, x, half + 1.5, rng, canvas);
        }
    }
    for i in 1..grid.rows {
        let (y, half) = (grid.row_line(i), rng.within(2.0, 4.0));
        if rng.chance(0.6) {
            walk(
                canvas::rectangle(0.0, y - half, grid.across(), y + half),
                rng,
                canvas,
            );
        }
    }
}

fn walk(ring: Vec<(f64, f64)>, rng: &mut Rng, canvas: &mut Canvas) {
    let surface = rng.pick(&["concrete", "concrete", "asphalt", "pavers"]);
    canvas.add(
        "U",
        area(&ring),
        json!({"kind": "surface", "surface": surface}),
    );
    canvas.keep_off_area(&ring, 1.25);
}

fn sleeves(grid: &Grid, x: f64, reach: f64, rng: &mut Rng, canvas: &mut Canvas) {
    for row in 0..grid.rows {
        if rng.chance(0.35) {
            let y = grid.row_line(row) + grid.height / 2.0;
            let across = line(&[(x - reach, y), (x + reach, y)]);
            canvas.add("SL", across, json!({"kind": "sleeve", "inside": "3 in"}));
        }
    }
}

/// One service along the street, and up to two beside the walks.
fn utilities(grid: &Grid, rng: &mut Rng, canvas: &mut Canvas) {
    let street = [(0.0, -2.5), (grid.across(), -2.5)];
    utility(&street, "electric", "30 in", true, canvas);
    if grid.columns > 1 {
        let x = grid.column_line(rng.below(grid.columns - 1) + 1) + 8.0;
        utility(&[(x, -VERGE), (x, grid.up())], "gas", "24 in", true, canvas);
    }
    if grid.rows > 1 {
        let y = grid.row_line(rng.below(grid.rows - 1) + 1) + 8.0;
        let marked = rng.chance(0.7);
        utility(
            &[(0.0, y), (grid.across(), y)],
            "communication",
            "18 in",
            marked,
            canvas,
        );
    }
}

fn utility(at: &[(f64, f64)], service: &str, depth: &str, marked: bool, canvas: &mut Canvas) {
    let properties = json!({
        "kind": "utility", "service": service, "width": "2 in", "depth": depth,
        "located": true, "marked": marked,
    });
    canvas.add("G", line(at), properties);
    canvas.keep_off_line(at, 2.5);
}

/// Where water, signals and machines come in: the middle of the street side.
fn entrance(grid: &Grid, canvas: &mut Canvas) {
    let x = grid.column_line(grid.columns / 2) + 14.0;
    let service_size = match grid.heads {
        ..=500 => "1-1/2 in",
        501..=3000 => "2 in",
        _ => "3 in",
    };
    let source = json!({
        "kind": "source", "static_pressure": "90 psi", "test_flow": "60 gpm",
        "residual_pressure": "80 psi", "service_size": service_size, "main_pipe": "pvc_sdr21",
    });
    canvas.add("A", points(&[(x + 20.0, -5.0)]), json!({"kind": "access"}));
    canvas.add("M", points(&[(x, -8.0)]), source);
    canvas.add(
        "BF",
        points(&[(x + 2.0, -5.0)]),
        json!({"kind": "backflow"}),
    );
    canvas.add(
        "CT",
        points(&[(x + 6.0, -5.0)]),
        json!({"kind": "controller"}),
    );
}

/// Lighting cables along every third column of blocks, fed from the street side.
fn lights(grid: &Grid, canvas: &mut Canvas) {
    for column in (1..=grid.columns).step_by(3) {
        let x = grid.column_line(column) - 8.0;
        let rows = (0..grid.rows.min(4))
            .flat_map(|row| [0.3, 0.7].map(|share| (x, grid.row_line(row) + share * grid.height)));
        let at: Vec<_> = rows.collect();
        let properties = json!({"kind": "cable", "service": "low-voltage lighting"});
        canvas.add("LC", points(&at), properties);
        at.iter()
            .for_each(|&light| canvas.keep_off_line(&[light, light], 1.0));
    }
}

#[cfg(test)]
mod tests;
