//! One block: what stands in it, its heads and its circuits.

use super::canvas::{Canvas, area, line, points, rectangle, tidy};
use super::{Grid, Rng};
use serde_json::json;

/// Between obstacles, and from the edge of the block to them, feet.
const GAP: f64 = 9.0;
const EDGE: f64 = 15.0;
/// Most heads of a circuit.
const CIRCUIT: usize = 13;

/// A block under construction; all corners in feet from the grid's origin.
struct Block<'a> {
    number: u32,
    low: (f64, f64),
    high: (f64, f64),
    /// Bounding boxes of what stands in it, as low and high corners.
    taken: Vec<[f64; 4]>,
    rng: &'a mut Rng,
    canvas: &'a mut Canvas,
}

/// Draws one block with its heads.
pub(super) fn lay_out(grid: &Grid, column: u32, row: u32, rng: &mut Rng, canvas: &mut Canvas) {
    let low = (grid.column_line(column), grid.row_line(row));
    let high = (low.0 + grid.width, low.1 + grid.height);
    let mark = canvas.mark();
    let number = row * grid.columns + column;
    let mut block = Block {
        number: number + 1,
        low,
        high,
        taken: vec![],
        rng,
        canvas,
    };
    block.building();
    block.pond();
    block.trees();
    block.boulders();
    let manifold = (low.0 + 11.0, low.1 + 11.0);
    block
        .canvas
        .keep_off_line(&[manifold, (manifold.0 + 5.0, manifold.1)], 2.0);
    let heads = block.heads(grid.quota(number));
    block.circuits(heads, manifold);
    canvas.back_to(mark);
}

impl Block<'_> {
    fn size(&self) -> (f64, f64) {
        (self.high.0 - self.low.0, self.high.1 - self.low.1)
    }

    /// A place for a box of that size with its gaps, if a few throws find one.
    fn place(&mut self, width: f64, height: f64) -> Option<[f64; 4]> {
        let (x1, y1) = (self.high.0 - EDGE - width, self.high.1 - EDGE - height);
        let (x0, y0) = (self.low.0 + EDGE, self.low.1 + EDGE);
        if x1 < x0 || y1 < y0 {
            return None;
        }
        let found = (0..12).find_map(|_| {
            let (x, y) = (
                self.rng.within(x0, x1).round(),
                self.rng.within(y0, y1).round(),
            );
            let new = [x, y, x + width, y + height];
            self.taken.iter().all(|old| apart(old, &new)).then_some(new)
        })?;
        self.taken.push(found);
        Some(found)
    }

    fn obstacle(&mut self, ring: &[(f64, f64)], kind: &str, heads_keep: f64) {
        self.canvas.add(
            "B",
            area(ring),
            json!({"kind": "obstacle", "obstacle": kind}),
        );
        self.canvas.keep_off_area(ring, heads_keep);
    }

    /// A building, mostly with an L, a bed along its front, a drive and sometimes a fenced yard behind.
    fn building(&mut self) {
        let (width, height) = self.size();
        let (w, h) = (
            (width * self.rng.within(0.3, 0.4)).round(),
            (height * self.rng.within(0.22, 0.3)).round(),
        );
        let yard = (height * 0.2).round();
        let Some([x0, y0, x1, y_top]) = self.place(w, h + yard) else {
            return;
        };
        let y1 = y_top - yard;
        let mut ring = rectangle(x0, y0, x1, y1);
        if self.rng.chance(0.6) {
            let (xm, ym) = ((x0 + w * 0.6).round(), (y0 + h * 0.6).round());
            ring = vec![(x0, y0), (x1, y0), (x1, ym), (xm, ym), (xm, y1), (x0, y1)];
        }
        self.obstacle(&ring, "building", 3.0);
        let bed = area(&rectangle(x0, y0 - 6.0, x1, y0));
        self.canvas
            .add("U", bed, json!({"kind": "surface", "surface": "bed"}));
        if w >= 36.0 && self.rng.chance(0.6) {
            self.drive(x0 + 6.0, y0);
        }
        if w >= 30.0 && yard >= 10.0 && self.rng.chance(0.5) {
            self.yard((x0, x0 + (w * 0.6).round()), (y1, y_top));
        }
    }

    /// From the lower edge of the block to the front of the building.
    fn drive(&mut self, x: f64, front: f64) {
        let ring = rectangle(x, self.low.1, x + 10.0, front);
        self.canvas.add(
            "U",
            area(&ring),
            json!({"kind": "surface", "surface": "asphalt"}),
        );
        self.canvas.keep_off_area(&ring, 1.25);
        self.taken.push([x, self.low.1, x + 10.0, front]);
    }

    /// A fence round a yard with a gate in its far side.
    fn yard(&mut self, (x0, x1): (f64, f64), (y0, y1): (f64, f64)) {
        let gate = ((x0 + x1) / 2.0).round();
        let (clear_width, half) = if self.rng.chance(0.5) {
            ("48 in", 2.0)
        } else {
            ("36 in", 1.5)
        };
        let (left, right) = ((gate - half, y1), (gate + half, y1));
        for side in [[(x0, y0), (x0, y1), left], [(x1, y0), (x1, y1), right]] {
            self.canvas.add(
                "F",
                line(&side),
                json!({"kind": "obstacle", "obstacle": "fence"}),
            );
            self.canvas.keep_off_line(&side, 1.5);
        }
        let properties = json!({"kind": "gate", "clear_width": clear_width});
        self.canvas.add("GT", line(&[left, right]), properties);
    }

    fn pond(&mut self) {
        let (width, height) = self.size();
        if width < 100.0 || !self.rng.chance(0.35) {
            return;
        }
        let (w, h) = ((width * 0.16).round(), (height * 0.14).round());
        let Some([x0, y0, x1, y1]) = self.place(w, h) else {
            return;
        };
        self.obstacle(&cut_corners(x0, y0, x1, y1), "pool", 4.0);
    }

    /// One to three trees; the box is what may not be dug at all.
    fn trees(&mut self) {
        for _ in 0..=self.rng.below(3) {
            let trunk = f64::from(6 + 2 * self.rng.below(6));
            let no_dig = 3.0 * trunk / 12.0;
            let Some([x, y, ..]) = self.place(2.0 * no_dig, 2.0 * no_dig) else {
                continue;
            };
            let at = (tidy(x + no_dig), tidy(y + no_dig));
            let properties = json!({"kind": "tree", "trunk": format!("{trunk} in")});
            self.canvas.add("T", points(&[at]), properties);
            self.canvas.keep_off_line(&[at, at], no_dig + 1.0);
        }
    }

    fn boulders(&mut self) {
        for _ in 0..self.rng.below(3) {
            let size = f64::from(3 + self.rng.below(4));
            let Some([x0, y0, x1, y1]) = self.place(size, size) else {
                continue;
            };
            self.obstacle(&cut_corners(x0, y0, x1, y1), "boulder", 2.0);
        }
    }

    /// So many places for heads, spread evenly over what is free.
    fn heads(&mut self, quota: usize) -> Vec<(f64, f64)> {
        let mut pitch = 15.0;
        let mut free = self.free_places(pitch);
        // a block with much in it gets its heads closer together; at 1 ft every block holds its quota
        while free.len() < quota && pitch > 1.0 {
            pitch *= 0.85;
            free = self.free_places(pitch);
        }
        (0..quota)
            .filter_map(|i| free.get(i * free.len() / quota).copied())
            .collect()
    }

    fn free_places(&mut self, pitch: f64) -> Vec<(f64, f64)> {
        let (width, height) = self.size();
        let (columns, rows) = ((width - 6.0) / pitch, (height - 6.0) / pitch);
        let mut free = vec![];
        for j in 0..=rows as u32 {
            for i in 0..=columns as u32 {
                let loose = pitch * 0.08;
                let x = self.low.0 + 3.0 + f64::from(i) * pitch + self.rng.within(0.0, loose);
                let y = self.low.1 + 3.0 + f64::from(j) * pitch + self.rng.within(0.0, loose);
                let at = (tidy(x), tidy(y));
                if self.canvas.is_free(at) {
                    free.push(at);
                }
            }
        }
        free
    }

    fn circuits(&mut self, heads: Vec<(f64, f64)>, manifold: (f64, f64)) {
        let groups = split(heads.len().div_ceil(CIRCUIT), heads);
        let manifold_name = (groups.len() > 1).then(|| format!("MF{}", self.number));
        for (i, group) in groups.iter().enumerate() {
            let at = (manifold.0 + i as f64, manifold.1);
            self.circuit(i + 1, group, at, manifold_name.as_deref());
        }
    }

    fn circuit(
        &mut self,
        nth: usize,
        heads: &[(f64, f64)],
        valve: (f64, f64),
        manifold: Option<&str>,
    ) {
        let pipe = self
            .rng
            .pick(&["pe_sidr15", "pe_sidr15", "pvc_sdr21", "pvc_sch40"]);
        let name = format!("block {}, circuit {nth}", self.number);
        let properties = json!({"kind": "circuit", "name": name, "pipe": pipe});
        let circuit = self.canvas.add("C", serde_json::Value::Null, properties);
        let mut properties = json!({"kind": "valve", "circuit": circuit});
        if let Some(name) = manifold {
            properties["manifold"] = json!(name);
        }
        self.canvas.add("V", points(&[valve]), properties);
        for &head in heads {
            let flow = format!("{:.1} gpm", self.rng.within(0.8, 1.8));
            let properties =
                json!({"kind": "head", "circuit": circuit, "flow": flow, "pressure": "30 psi"});
            self.canvas.add("H", points(&[head]), properties);
        }
    }
}

fn apart(a: &[f64; 4], b: &[f64; 4]) -> bool {
    let gap = |low: usize, high: usize| (a[low] - b[high]).max(b[low] - a[high]);
    gap(0, 2) >= GAP || gap(1, 3) >= GAP
}

/// An octagon inside a box.
fn cut_corners(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<(f64, f64)> {
    let cut = 0.25 * (x1 - x0).min(y1 - y0);
    vec![
        (x0 + cut, y0),
        (x1 - cut, y0),
        (x1, y0 + cut),
        (x1, y1 - cut),
        (x1 - cut, y1),
        (x0 + cut, y1),
        (x0, y1 - cut),
        (x0, y0 + cut),
    ]
}

/// Parts heads into so many groups of neighbours, always across the longer side.
fn split(groups: usize, mut heads: Vec<(f64, f64)>) -> Vec<Vec<(f64, f64)>> {
    if groups <= 1 {
        return if heads.is_empty() {
            vec![]
        } else {
            vec![heads]
        };
    }
    let spread = |pick: fn(&(f64, f64)) -> f64| {
        let low = heads.iter().map(pick).fold(f64::INFINITY, f64::min);
        heads.iter().map(pick).fold(f64::NEG_INFINITY, f64::max) - low
    };
    let wide = spread(|h| h.0) >= spread(|h| h.1);
    let key = |h: &(f64, f64)| if wide { (h.0, h.1) } else { (h.1, h.0) };
    heads.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
    });
    let first = groups / 2;
    let rest = heads.split_off(heads.len() * first / groups);
    let mut parts = split(first, heads);
    parts.extend(split(groups - first, rest));
    parts
}
