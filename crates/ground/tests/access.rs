//! Where machines get to: larger ones never to more, and nowhere without a clear way.

#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../../routes/tests/support/cases.rs"]
mod cases;
#[allow(dead_code)] // other suites take the rest
#[path = "../../routes/tests/support/yard.rs"]
mod yard;

use cases::cases;
use geo::{Coord, Line, coord};
use ground::{Ground, Standing};
use job::{Job, Method, MethodId};
use proptest::prelude::*;
use quantity::{Length, Ratio};
use serde_json::{Value, json};
use std::collections::VecDeque;
use yard::{At, Box4, Yard, area, building, feature, line, point};

const SMALL: &str = "walk_trencher";
const LARGE: &str = "ride_trencher";

/// Width, turning room, slope along and across of a machine.
type Machine = [f64; 4];

fn set(job: &mut Job, method: &str, [width, turning, along, across]: Machine) {
    let method = job.prices.method.get_mut(&MethodId(method.into())).unwrap();
    method.body_width.value = Length::m(width);
    method.turning_room.as_mut().unwrap().value = Length::m(turning);
    method.max_slope.value = Ratio::one(along);
    method.max_cross_slope.as_mut().unwrap().value = Ratio::one(across);
}

fn reached(ground: &Ground, method: &str, at: Coord) -> bool {
    ground.standing(&MethodId(method.into()), at) == Some(Standing::Reached)
}

/// A yard with everything to be connected in a strip at its left.
fn bare(size: At) -> Yard {
    let mut yard = Yard::plain(size, (0.5, 1.5), &[(0.5, 2.5)]);
    yard.water = ((0.5, 0.4), (1.0, 0.4));
    yard
}

#[derive(Debug, Clone)]
struct Scene {
    size: At,
    boxes: Vec<Box4>,
    /// A fence across at this height with a gate at this place, and how wide it is.
    gate: Option<(f64, f64, f64)>,
    spots: Vec<f64>,
    steep: Option<(Box4, f64)>,
    bed: Option<Box4>,
}

impl Scene {
    fn yard(&self, without: Option<usize>) -> Yard {
        let mut yard = bare(self.size);
        let (w, h) = self.size;
        let boxes = self.boxes.iter().enumerate();
        let kept = boxes.filter(|(i, _)| Some(*i) != without);
        yard.more
            .extend(kept.map(|(i, b)| building(&format!("B{i}"), *b)));
        if let Some((y, x, clear)) = self.gate {
            let fence = json!({"kind": "obstacle", "obstacle": "fence"});
            let posts = [(x, y), (x + clear, y)];
            let left = line(&[(0.0, y), posts[0]]);
            let right = line(&[posts[1], (w, y)]);
            yard.more.push(feature("F1", left, fence.clone()));
            yard.more.push(feature("F2", right, fence));
            let gate = json!({"kind": "gate", "clear_width": format!("{clear} m")});
            yard.more.push(feature("GT", line(&posts), gate));
        }
        let corners = [(0.0, 0.0), (w, 0.0), (0.0, h), (w, h), (w / 2.0, h / 2.0)];
        for (i, (height, at)) in self.spots.iter().zip(corners).enumerate() {
            let spot = json!({"kind": "spot", "elevation": format!("{height} m")});
            yard.more.push(feature(&format!("S{i}"), point(at), spot));
        }
        if let Some((at, slope)) = self.steep {
            let steep = json!({"kind": "steep", "slope": format!("{} %", slope * 100.0)});
            yard.more.push(feature("ST", area(at), steep));
        }
        if let Some(at) = self.bed {
            let bed = json!({"kind": "surface", "surface": "bed"});
            yard.more.push(feature("BED", area(at), bed));
        }
        yard
    }

    /// Solid edges as somebody else would list them, and the gate's.
    fn edges(&self) -> Vec<Line> {
        let (w, h) = self.size;
        let around = |b: &Box4| {
            let at = [(b.0, b.1), (b.2, b.1), (b.2, b.3), (b.0, b.3)];
            (0..4).map(move |i| Line::new(at[i], at[(i + 1) % 4]))
        };
        let mut edges: Vec<Line> = self.boxes.iter().flat_map(around).collect();
        edges.extend(around(&(0.0, 0.0, w, h)));
        if let Some((y, x, clear)) = self.gate {
            edges.push(Line::new((0.0, y), (x, y)));
            edges.push(Line::new((x + clear, y), (w, y)));
        }
        edges
    }
}

fn boxes_in(size: At) -> impl Strategy<Value = Vec<Box4>> {
    let one = (0.0..1.0, 0.0..1.0, 0.5..6.0, 0.3..5.0);
    prop::collection::vec(one, 2..9).prop_map(move |shares| {
        let (w, h) = size;
        let whole = |n: f64| (n * 100.0).round() / 100.0;
        let place = |(x, y, wide, deep): Box4| {
            let (x, y) = (3.5 + x * (w - 4.0), 3.5 + y * (h - 4.0));
            let (right, top) = ((x + wide).min(w - 0.01), (y + deep).min(h - 0.01));
            (whole(x), whole(y), whole(right), whole(top))
        };
        let boxes = shares.into_iter().map(place);
        boxes
            .filter(|b| b.2 > b.0 + 0.1 && b.3 > b.1 + 0.1)
            .collect()
    })
}

fn scenes() -> impl Strategy<Value = Scene> {
    (12.0..24.0, 12.0..20.0).prop_flat_map(|size: At| {
        let (w, h) = size;
        let gate = (h * 0.4..h * 0.7, 4.0..w - 3.0, 0.7..1.8);
        let part = (0.2..0.8, 0.2..0.8, 0.1..0.5, 0.1..0.5);
        let part = part.prop_map(move |(x, y, wide, deep): Box4| {
            (
                x * w,
                y * h,
                ((x + wide) * w).min(w),
                ((y + deep) * h).min(h),
            )
        });
        (
            boxes_in(size),
            prop::option::of(gate),
            prop::option::of(prop::collection::vec(0.0..4.0, 5)),
            prop::option::of((part.clone(), 0.1..0.5)),
            prop::option::of(part),
        )
            .prop_map(move |(boxes, gate, spots, steep, bed)| Scene {
                size,
                boxes,
                gate,
                spots: spots.unwrap_or_default(),
                steep,
                bed,
            })
    })
}

fn machines() -> impl Strategy<Value = (Machine, Machine)> {
    let small = (0.5..1.4, 0.0..3.0, 0.1..0.4, 0.05..0.3);
    // What a larger one has more of; often nothing of some of it.
    let more = prop::sample::select(vec![0.0, 0.0, 0.03, 0.2, 0.8]);
    let turn = prop::sample::select(vec![0.0, 0.1, 0.5, 2.0]);
    let less = prop::sample::select(vec![1.0, 1.0, 0.8, 0.4]);
    (small, more, turn, less.clone(), less).prop_map(|(s, more, turn, along, across)| {
        let small = [s.0, s.0 + s.1, s.2, s.3];
        let large = [
            s.0 + more,
            s.0 + s.1 + more + turn,
            s.2 * along,
            s.3 * across,
        ];
        (small, large)
    })
}

/// Places all over a scene, off the lines on which its corners lie.
fn places((w, h): At) -> impl Iterator<Item = Coord> {
    let n = 37;
    (0..n * n).map(move |i| {
        let (x, y) = (f64::from(i % n) + 0.4137, f64::from(i / n) + 0.5921);
        coord! {x: x / f64::from(n) * w, y: y / f64::from(n) * h}
    })
}

proptest! {
    #![proptest_config(cases(48))]

    #[test]
    fn a_larger_machine_reaches_no_more(scene in scenes(), (small, large) in machines()) {
        let mut job = scene.yard(None).job();
        set(&mut job, SMALL, small);
        set(&mut job, LARGE, large);
        let ground = Ground::new(&job);
        for at in places(scene.size) {
            let more = reached(&ground, LARGE, at) && !reached(&ground, SMALL, at);
            prop_assert!(!more, "{at:?} {small:?} {large:?}");
        }
    }

    #[test]
    fn a_removed_obstacle_never_reduces_where_a_body_fits_through(
        scene in scenes(), (small, large) in machines(), which in any::<prop::sample::Index>(),
    ) {
        // Where machines have to turn about, obstacles lend directions that are tried and take them
        // along; here they turn on the spot and the land is level.
        let scene = Scene { spots: Vec::new(), ..scene };
        let [small, large] = [small, large].map(|m| [m[0], m[0], m[2], m[3]]);
        let jobs = [None, Some(which.index(scene.boxes.len().max(1)))].map(|without| {
            let mut job = scene.yard(without).job();
            set(&mut job, SMALL, small);
            set(&mut job, LARGE, large);
            job
        });
        let [all, fewer] = jobs.map(|job| Ground::new(&job));
        for method in [SMALL, LARGE] {
            for at in places(scene.size) {
                let lost = reached(&all, method, at) && !reached(&fewer, method, at);
                prop_assert!(!lost, "{method} {at:?}");
            }
        }
    }

    #[test]
    fn what_is_reached_has_a_clear_way(scene in scenes(), (small, _) in machines()) {
        let mut job = scene.yard(None).job();
        set(&mut job, SMALL, small);
        let ground = Ground::new(&job);
        let flood = Flood::new(&scene, small[0]);
        for at in places(scene.size) {
            if reached(&ground, SMALL, at) {
                prop_assert!(flood.wets(at), "{at:?} {small:?}");
            }
        }
    }

    #[test]
    fn the_way_to_what_is_reached_is_told(scene in scenes(), (small, _) in machines()) {
        let mut job = scene.yard(None).job();
        set(&mut job, SMALL, small);
        let ground = Ground::new(&job);
        let method = MethodId(SMALL.into());
        for at in places(scene.size).step_by(23) {
            if let Some(way) = ground.way(&method, at) {
                let (long, over) = (way.length.to_m(), way.protected.to_m());
                prop_assert!((0.0..=long + 1e-9).contains(&over), "{at:?} {way:?}");
            }
        }
    }
}

/// Cells of a scene that can be walked through by a body, found without the crate: a body may be in
/// a cell if its middle keeps half the width, less the cell's own size, from all solid edges.
struct Flood {
    columns: i64,
    rows: i64,
    wet: Vec<bool>,
}

const CELL: f64 = 0.1;

impl Flood {
    fn new(scene: &Scene, width: f64) -> Self {
        let (w, h) = scene.size;
        let (columns, rows) = ((w / CELL).ceil() as i64, (h / CELL).ceil() as i64);
        let mut flood = Self {
            columns,
            rows,
            wet: vec![false; (columns * rows) as usize],
        };
        let edges = scene.edges();
        let clear: Vec<bool> = (0..columns * rows)
            .map(|i| flood.middle(i))
            .map(|at| scene.is_clear(&edges, at, width / 2.0 - 0.075))
            .collect();
        let access = coord! {x: w - 2.0, y: 0.0};
        let begins = |i: &i64| {
            let at = flood.middle(*i);
            let away = at - access;
            let free = (0..=60).map(|k| access + away * (f64::from(k) / 60.0));
            away.x.hypot(away.y) <= 3.1 && free.into_iter().all(|p| scene.is_outside(p))
        };
        let all = 0..columns * rows;
        let mut open: VecDeque<i64> = all.filter(|i| clear[*i as usize] && begins(i)).collect();
        while let Some(i) = open.pop_front() {
            if std::mem::replace(&mut flood.wet[i as usize], true) {
                continue;
            }
            let (c, r) = (i % columns, i / columns);
            let next = [(c - 1, r), (c + 1, r), (c, r - 1), (c, r + 1)];
            let inside = |(c, r): &(i64, i64)| (0..columns).contains(c) && (0..rows).contains(r);
            let next = next
                .into_iter()
                .filter(inside)
                .map(|(c, r)| r * columns + c);
            open.extend(next.filter(|j| clear[*j as usize] && !flood.wet[*j as usize]));
        }
        flood
    }

    fn middle(&self, i: i64) -> Coord {
        let (c, r) = (i % self.columns, i / self.columns);
        coord! {x: (c as f64 + 0.5) * CELL, y: (r as f64 + 0.5) * CELL}
    }

    /// Whether the cell of a place or one beside it is wet.
    fn wets(&self, at: Coord) -> bool {
        let (c, r) = ((at.x / CELL) as i64, (at.y / CELL) as i64);
        let around = (-1..=1).flat_map(|dc| (-1..=1).map(move |dr| (c + dc, r + dr)));
        let columns = self.columns;
        let mut around = around
            .filter(|(c, r)| (0..columns).contains(c) && (0..self.rows).contains(r))
            .map(|(c, r)| r * columns + c);
        around.any(|i| self.wet[i as usize])
    }
}

impl Scene {
    fn is_outside(&self, p: Coord) -> bool {
        let in_box = |b: &Box4| b.0 < p.x && p.x < b.2 && b.1 < p.y && p.y < b.3;
        !self.boxes.iter().any(in_box)
    }

    fn is_clear(&self, edges: &[Line], at: Coord, keep: f64) -> bool {
        if !self.is_outside(at) {
            return false;
        }
        // In the gate its measured width counts.
        if let Some((y, x, clear)) = self.gate {
            let gate_line = Line::new((x, y), (x + clear, y));
            let beside = away(&gate_line, at) < keep;
            let on_lane = (at.x - x - clear / 2.0).abs() < 0.06 && (at.y - y).abs() < 1.6;
            let passes = clear / 2.0 >= keep + 0.075 - 1e-9;
            if beside && !(on_lane && passes) {
                return false;
            }
            if on_lane && passes {
                return true;
            }
        }
        edges.iter().all(|edge| away(edge, at) >= keep)
    }
}

/// Distance of a place from a line.
fn away(line: &Line, at: Coord) -> f64 {
    let (d, p) = (line.end - line.start, at - line.start);
    let t = (p.x * d.x + p.y * d.y) / (d.x * d.x + d.y * d.y).max(1e-300);
    let foot = line.start + d * t.clamp(0.0, 1.0);
    (foot - at).x.hypot((foot - at).y)
}

fn why(ground: &Ground, method: &str, at: At) -> ground::Blocked {
    let at = coord! {x: at.0, y: at.1};
    let stretch = ground.describe(&ground.class_at(at), at);
    let mut blocked = stretch.blocked.into_iter();
    blocked.find(|b| b.method.0 == method).unwrap()
}

fn ground_with(yard: &Yard, machine: Machine) -> Ground {
    let mut job = yard.job();
    set(&mut job, SMALL, machine);
    Ground::new(&job)
}

const LEVEL: [f64; 2] = [0.3, 0.2];

fn machine(width: f64, turning: f64) -> Machine {
    [width, turning, LEVEL[0], LEVEL[1]]
}

#[test]
fn the_pinch_is_the_narrowest_gap_on_the_widest_way() {
    // Three ways through a row of houses: 0.8, 1.1 and 0.9 m wide.
    let mut yard = bare((20.0, 20.0));
    let row: [Box4; 4] = [
        (0.0, 9.0, 5.0, 11.0),
        (5.8, 9.0, 10.0, 11.0),
        (11.1, 9.0, 15.0, 11.0),
        (15.9, 9.0, 20.0, 11.0),
    ];
    let houses = row.iter().enumerate();
    yard.more
        .extend(houses.map(|(i, b)| building(&format!("B{i}"), *b)));
    let ground = ground_with(&yard, machine(1.2, 1.2));
    let pinch = why(&ground, SMALL, (3.0, 16.0)).pinch.unwrap();
    assert!((pinch.clear.to_m() - 1.1).abs() < 1e-6, "{pinch:?}");
    assert!((pinch.needed.to_m() - 1.2).abs() < 1e-9, "{pinch:?}");
    let mut between = pinch.between.clone();
    between.sort();
    assert_eq!(between, ["building B1", "building B2"]);
    assert!((pinch.from.x - pinch.to.x).abs() > 1.0, "{pinch:?}");
}

#[test]
fn a_machine_backs_out_of_a_straight_passage_and_turns_round_no_bend() {
    // A passage of 1.5 m up to y = 12, then to the right.
    let mut yard = bare((20.0, 20.0));
    let blocks: [Box4; 3] = [
        (0.0, 6.0, 10.0, 19.999),
        (11.5, 6.0, 19.999, 10.5),
        (10.0, 12.0, 19.999, 19.999),
    ];
    let houses = blocks.iter().enumerate();
    yard.more
        .extend(houses.map(|(i, b)| building(&format!("B{i}"), *b)));
    let ground = ground_with(&yard, machine(0.9, 3.0));
    assert!(reached(&ground, SMALL, coord! {x: 10.7, y: 11.0}));
    let blocked = why(&ground, SMALL, (17.0, 11.25));
    assert!(blocked.why.contains("turns about in"), "{}", blocked.why);
    assert!((blocked.pinch.unwrap().clear.to_m() - 1.5).abs() < 1e-6);
    let nimble = ground_with(&yard, machine(0.9, 1.2));
    assert!(reached(&nimble, SMALL, coord! {x: 17.0, y: 11.25}));
}

#[test]
fn beds_and_steep_ground_on_the_way_are_named() {
    let across = |id: &str, properties: Value| {
        let mut yard = bare((20.0, 20.0));
        yard.more
            .push(feature(id, area((0.0, 8.0, 20.0, 10.0)), properties));
        yard
    };
    let bed = across("ROSES", json!({"kind": "surface", "surface": "bed"}));
    let ground = ground_with(&bed, machine(0.9, 2.0));
    assert!(
        why(&ground, SMALL, (9.0, 15.0))
            .why
            .contains("ROSES lies on the way")
    );
    assert!(
        why(&ground, SMALL, (9.0, 9.0))
            .why
            .contains("ROSES is not driven")
    );
    let steep = across("BANK", json!({"kind": "steep", "slope": "40 %"}));
    let ground = ground_with(&steep, machine(0.9, 2.0));
    let told = why(&ground, SMALL, (9.0, 15.0)).why;
    for part in ["BANK", "40%", "30%"] {
        assert!(told.contains(part), "{told}");
    }
}

#[test]
fn a_slope_is_driven_up_and_not_along() {
    // The land rises by 24 % to the back between y = 8 and 12; 30 % up and down are driven, 10 across.
    let mut yard = bare((20.0, 20.0));
    for (i, (y, height)) in [(0.0, 10.0), (8.0, 10.0), (12.0, 10.96), (20.0, 10.96)]
        .into_iter()
        .enumerate()
    {
        for (j, x) in (0..=8).map(|j| (j, 2.5 * f64::from(j))) {
            let spot = json!({"kind": "spot", "elevation": format!("{height} m")});
            yard.more
                .push(feature(&format!("S{i}{j}"), point((x, y)), spot));
        }
    }
    let up = ground_with(&yard, [0.9, 2.0, 0.3, 0.1]);
    assert!(reached(&up, SMALL, coord! {x: 9.0, y: 17.0}));
    assert!(reached(&up, SMALL, coord! {x: 9.0, y: 10.0}));
    let not_up = ground_with(&yard, [0.9, 2.0, 0.15, 0.1]);
    let told = why(&not_up, SMALL, (9.0, 17.0)).why;
    assert!(told.contains("spot elevations on the way"), "{told}");
}

#[test]
fn the_way_over_roots_and_kept_lawn_is_counted() {
    let mut yard = bare((20.0, 20.0));
    let lawn = json!({"kind": "surface", "surface": "lawn_kept"});
    yard.more
        .push(feature("LAWN", area((0.0, 6.0, 20.0, 9.0)), lawn));
    let ground = ground_with(&yard, machine(0.9, 2.0));
    let method = MethodId(SMALL.into());
    let way = |y: f64| ground.way(&method, coord! {x: 10.3, y: y}).unwrap();
    assert!(way(4.0).protected.to_m() < 1e-9);
    let over = way(15.0).protected.to_m();
    assert!((over - 3.0).abs() < 0.3, "{over}");
}

/// A passage 1.5 m wide between two houses, and a machine of 1 m that wants room beside it.
fn passage(side: f64) -> Job {
    let mut yard = bare((20.0, 20.0));
    yard.more.push(building("HOUSE", (5.0, 12.0, 15.0, 18.0)));
    yard.more.push(building("BARN", (5.0, 5.0, 15.0, 10.5)));
    let mut job = yard.job();
    let method: &mut Method = job.prices.method.get_mut(&MethodId(SMALL.into())).unwrap();
    method.body_width.value = Length::m(1.0);
    method.end_room.as_mut().unwrap().value = Length::m(1.5);
    method.side_room.as_mut().unwrap().value = Length::m(side);
    job
}

#[test]
fn a_run_needs_room_beyond_its_ends_and_on_one_side() {
    let job = passage(0.2);
    let method = job.prices.method[&MethodId(SMALL.into())].clone();
    let ground = Ground::new(&job);
    let room = |a: At, b: At| {
        ground.run_room(
            &method,
            job::Place::new(a.0, a.1),
            job::Place::new(b.0, b.1),
        )
    };
    // Between the houses, 0.75 m to either: 0.5 and 0.2 fit.
    assert!(room((4.0, 11.25), (16.0, 11.25)).is_enough());
    // Up to the house: 1 m is left of 1.5.
    let up = room((10.0, 10.6), (10.0, 11.0));
    let end = up.ends[1].clone().unwrap();
    assert!(
        (end.clear.to_m() - 1.0).abs() < 1e-9 && end.by == "building HOUSE",
        "{end:?}"
    );
    assert!(room((2.0, 3.0), (16.0, 3.0)).is_enough());
    // Nearer to the house than half the body.
    let side = room((6.0, 11.6), (14.0, 11.6)).side.unwrap();
    assert_eq!(side.by, "building HOUSE");
    // 0.7 m wide on its roomy side, of which 0.65 m are left.
    method_with(&ground, &method, 0.3);
}

#[test]
fn a_stretch_tells_which_machines_lack_room() {
    let job = passage(0.3);
    let ground = Ground::new(&job);
    let of = |path: &[At]| {
        let path: Vec<job::Place> = path.iter().map(|p| job::Place::new(p.0, p.1)).collect();
        let tight = ground.tight(&job, &path);
        tight.into_iter().find(|t| t.method.0 == SMALL)
    };
    // From barn to house: beyond neither end.
    let across = of(&[(10.0, 10.6), (10.0, 11.9)]).unwrap();
    let by = across.ends.clone().map(|lack| lack.unwrap().by);
    assert_eq!(by, ["building BARN", "building HOUSE"]);
    // Out of the passage: at the end only, and too little beside it.
    let along = of(&[(17.0, 11.25), (6.0, 11.25), (6.0, 11.5)]).unwrap();
    assert!(along.ends[0].is_none() && along.ends[1].is_some());
    assert!(along.side.is_some());
    assert_eq!(of(&[(2.0, 3.0), (2.0, 9.0)]), None);
}

fn method_with(ground: &Ground, method: &Method, side: f64) {
    let mut method = method.clone();
    method.side_room.as_mut().unwrap().value = Length::m(side);
    let at = |x: f64| job::Place::new(x, 11.25);
    let lack = ground.run_room(&method, at(4.0), at(16.0)).side.unwrap();
    assert!((lack.clear.to_m() - 0.75).abs() < 1e-9, "{lack:?}");
    assert!((lack.needed.to_m() - 0.8).abs() < 1e-9, "{lack:?}");
}
