//! A generated property is sound: inside its boundary, clear of obstacles, the same for the same seed.

use super::*;
use geo::{Distance, Euclidean, LineString, Point, Polygon};

fn of_kind<'a>(job: &'a Value, kind: &str) -> Vec<&'a Value> {
    let features = job["features"].as_array().unwrap();
    features
        .iter()
        .filter(|f| f["properties"]["kind"] == kind)
        .collect()
}

fn pairs(list: &Value) -> Vec<(f64, f64)> {
    let list = list.as_array().unwrap();
    list.iter()
        .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect()
}

fn polygon(feature: &Value) -> Polygon {
    let ring = pairs(&feature["geometry"]["coordinates"][0]);
    Polygon::new(LineString::from(ring), vec![])
}

fn at(feature: &Value) -> Point {
    let c = &feature["geometry"]["coordinates"];
    Point::new(c[0].as_f64().unwrap(), c[1].as_f64().unwrap())
}

fn cases() -> impl Iterator<Item = (u32, u64)> {
    let sizes = (1..=60).chain([75, 96, 100, 145, 250, 480, 1000]);
    let small = sizes.flat_map(|heads| [(heads, 1), (heads, 7), (heads, u64::MAX)]);
    small.chain([(10_000, 1)])
}

fn read(heads: u32, seed: u64) -> Value {
    serde_json::from_str(&sample(heads, seed)).unwrap()
}

#[test]
fn it_has_as_many_heads_as_asked_for() {
    for (heads, seed) in cases() {
        assert_eq!(
            of_kind(&read(heads, seed), "head").len(),
            heads as usize,
            "{heads} {seed}"
        );
    }
}

#[test]
fn the_same_seed_gives_the_same_text_and_another_seed_another() {
    assert_eq!(sample(120, 5), sample(120, 5));
    assert_ne!(sample(120, 5), sample(120, 6));
}

#[test]
fn no_head_stands_in_or_too_near_an_obstacle() {
    for (heads, seed) in cases() {
        let job = read(heads, seed);
        let areas: Vec<Polygon> = of_kind(&job, "obstacle")
            .into_iter()
            .filter(|o| o["geometry"]["type"] == "Polygon")
            .map(polygon)
            .collect();
        for head in of_kind(&job, "head") {
            let nearest = areas.iter().map(|a| Euclidean.distance(&at(head), a));
            let nearest = nearest.fold(f64::INFINITY, f64::min);
            assert!(
                nearest >= 1.9,
                "{} is {nearest} ft from an obstacle",
                head["id"]
            );
        }
    }
}

#[test]
fn everything_lies_well_inside_the_boundary() {
    use geo::Contains;
    for (heads, seed) in cases() {
        let job = read(heads, seed);
        let boundary = polygon(of_kind(&job, "boundary")[0]);
        for kind in [
            "head",
            "valve",
            "source",
            "backflow",
            "controller",
            "access",
        ] {
            for thing in of_kind(&job, kind) {
                let inside = boundary.contains(&at(thing));
                let edge = Euclidean.distance(&at(thing), boundary.exterior());
                assert!(inside && edge >= 1.9, "{} in {heads} {seed}", thing["id"]);
            }
        }
    }
}

#[test]
fn obstacles_leave_a_way_between_them() {
    for (heads, seed) in cases().filter(|c| c.0 <= 1000) {
        let job = read(heads, seed);
        let areas: Vec<Polygon> = of_kind(&job, "obstacle")
            .into_iter()
            .filter(|o| o["geometry"]["type"] == "Polygon")
            .map(polygon)
            .collect();
        let boundary = polygon(of_kind(&job, "boundary")[0]);
        for (i, a) in areas.iter().enumerate() {
            assert!(Euclidean.distance(a.exterior(), boundary.exterior()) >= 6.0);
            for b in &areas[i + 1..] {
                assert!(Euclidean.distance(a, b) >= 6.0, "{heads} {seed}");
            }
        }
    }
}

#[test]
fn circuits_are_of_a_size_that_one_valve_feeds() {
    let job = read(1000, 3);
    for circuit in of_kind(&job, "circuit") {
        let heads = of_kind(&job, "head");
        let own = heads
            .iter()
            .filter(|h| h["properties"]["circuit"] == circuit["id"]);
        let flow: f64 = own
            .clone()
            .map(|h| h["properties"]["flow"].as_str().unwrap())
            .map(|flow| flow.trim_end_matches(" gpm").parse::<f64>().unwrap())
            .sum();
        assert!(
            (8..=14).contains(&own.count()) && flow < 25.0,
            "{}",
            circuit["id"]
        );
    }
}
