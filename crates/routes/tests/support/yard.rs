//! Small yards by hand or at random, as job files in metres.

use proptest::prelude::*;
use serde_json::{Value, json};

/// A place in metres.
pub type At = (f64, f64);
/// Left, bottom, right and top in metres.
pub type Box4 = (f64, f64, f64, f64);

/// A rectangular yard with its corner at the origin.
#[derive(Debug, Clone)]
pub struct Yard {
    /// Across and up.
    pub size: At,
    /// Buildings.
    pub buildings: Vec<Box4>,
    /// Where the valve and the heads of each circuit are.
    pub circuits: Vec<(At, Vec<At>)>,
    /// Source and backflow assembly.
    pub water: (At, At),
    /// The controller.
    pub controller: Option<At>,
    /// Cover of the ground.
    pub surface: &'static str,
    /// Its texture.
    pub soil: &'static str,
    /// Other features.
    pub more: Vec<Value>,
}

impl Yard {
    /// A yard with one circuit and nothing in the way.
    pub fn plain(size: At, valve: At, heads: &[At]) -> Self {
        Self {
            size,
            buildings: Vec::new(),
            circuits: vec![(valve, heads.to_vec())],
            water: ((1.0, 1.0), (2.0, 1.0)),
            controller: None,
            surface: "bare_soil",
            soil: "loam",
            more: Vec::new(),
        }
    }

    /// The text of its job file.
    pub fn text(&self) -> String {
        let (w, h) = self.size;
        let mut features = vec![
            feature("P", area((0.0, 0.0, w, h)), json!({"kind": "boundary"})),
            feature(
                "U",
                Value::Null,
                json!({"kind": "surface", "surface": self.surface}),
            ),
            feature(
                "E",
                Value::Null,
                json!({"kind": "soil", "texture": self.soil, "coarse": "5 %", "moisture": "moist"}),
            ),
            feature("A", point((w - 2.0, 0.0)), json!({"kind": "access"})),
            feature(
                "M",
                point(self.water.0),
                json!({"kind": "source", "static_pressure": "5 bar", "test_flow": "60 L/min",
                       "residual_pressure": "4.4 bar", "service_size": "1 in",
                       "main_pipe": "pvc_sch40"}),
            ),
            feature("BF", point(self.water.1), json!({"kind": "backflow"})),
        ];
        for (i, house) in self.buildings.iter().enumerate() {
            features.push(building(&format!("HOUSE{i}"), *house));
        }
        features.extend(
            self.controller
                .map(|at| feature("CT", point(at), json!({"kind": "controller"}))),
        );
        for (i, (valve, heads)) in self.circuits.iter().enumerate() {
            let circuit = format!("C{i}");
            let pipe = if i % 2 == 0 { "pe_sidr15" } else { "pvc_sch40" };
            features.push(feature(
                &circuit,
                Value::Null,
                json!({"kind": "circuit", "name": "Lawn", "pipe": pipe}),
            ));
            let of = json!({"kind": "valve", "circuit": circuit});
            features.push(feature(&format!("V{i}"), point(*valve), of));
            for (j, head) in heads.iter().enumerate() {
                let needs = json!({"kind": "head", "circuit": circuit, "flow": "6 L/min",
                                   "pressure": "2 bar"});
                features.push(feature(&format!("H{i}-{j}"), point(*head), needs));
            }
        }
        features.extend(self.more.iter().cloned());
        json!({
            "type": "FeatureCollection",
            "spadework": {"format": 1, "name": "Yard (invented)", "invented": true,
                          "length_unit": "m", "display": "si", "seed": 1},
            "features": features,
        })
        .to_string()
    }

    /// Its checked job.
    pub fn job(&self) -> job::Job {
        job::read(&self.text(), &job::ReadOptions::default())
            .unwrap_or_else(|findings| panic!("{findings:?}\n{}", self.text()))
            .job
    }

    /// All places that have to be reached.
    fn components(&self) -> Vec<At> {
        let circuits = self.circuits.iter();
        let outlets =
            circuits.flat_map(|(v, heads)| std::iter::once(*v).chain(heads.iter().copied()));
        outlets
            .chain([self.water.0, self.water.1])
            .chain(self.controller)
            .collect()
    }
}

/// A feature.
pub fn feature(id: &str, geometry: Value, properties: Value) -> Value {
    json!({"type": "Feature", "id": id, "geometry": geometry, "properties": properties})
}

/// A point.
pub fn point(at: At) -> Value {
    json!({"type": "Point", "coordinates": [at.0, at.1]})
}

/// A line.
pub fn line(places: &[At]) -> Value {
    json!({"type": "LineString", "coordinates": places})
}

/// A rectangle.
pub fn area((x0, y0, x1, y1): Box4) -> Value {
    json!({"type": "Polygon",
           "coordinates": [[[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]]]})
}

/// A building.
pub fn building(id: &str, at: Box4) -> Value {
    feature(
        id,
        area(at),
        json!({"kind": "obstacle", "obstacle": "building"}),
    )
}

/// A marked gas line.
pub fn gas(places: &[At]) -> Value {
    let known = json!({"kind": "utility", "service": "gas", "width": "30 mm", "depth": "600 mm",
                       "located": true, "marked": true});
    feature("G", line(places), known)
}

fn touches(a: &Box4, b: &Box4) -> bool {
    a.0 < b.2 && b.0 < a.2 && a.1 < b.3 && b.1 < a.3
}

fn holds(a: &Box4, p: &At) -> bool {
    a.0 <= p.0 && p.0 <= a.2 && a.1 <= p.1 && p.1 <= a.3
}

/// Of a share, the place in a yard; nearer than half a metre to its edge is left out.
fn scaled(share: At, size: At) -> At {
    let along = |t: f64, whole: f64| ((0.5 + t * (whole - 1.0)) * 1e3).round() / 1e3;
    (along(share.0, size.0), along(share.1, size.1))
}

fn share() -> impl Strategy<Value = At> {
    (0.0..1.0, 0.0..1.0)
}

/// Rectangles as shares of a yard.
fn box_shares() -> impl Strategy<Value = Box4> {
    (0.0..0.8, 0.0..0.8, 0.1..0.4, 0.1..0.4).prop_map(|(x, y, w, h)| (x, y, x + w, y + h))
}

/// Yards of 12 to 40 m with up to three buildings and one or two circuits of one to four heads,
/// some with a controller on a wall, a paved strip, a tree, or a gas line.
pub fn yards() -> impl Strategy<Value = Yard> {
    let surfaces = prop::sample::select(vec!["lawn_kept", "lawn_redone", "bare_soil", "bed"]);
    let soils = prop::sample::select(vec!["loam", "clay", "sandy_loam"]);
    let circuit = (share(), prop::collection::vec(share(), 1..=4));
    (
        (12.0..40.0, 12.0..30.0),
        prop::collection::vec(box_shares(), 0..=3),
        prop::collection::vec(circuit, 1..=2),
        (surfaces, soils),
        (
            prop::option::of(0.2..0.8),
            prop::option::of(share()),
            prop::option::of(0.2..0.8),
        ),
        any::<bool>(),
    )
        .prop_map(
            |(size, boxes, circuits, (surface, soil), (paved, tree, service), wired)| {
                let place = |at: At| scaled(at, size);
                let circuits = circuits
                    .into_iter()
                    .map(|(valve, heads)| (place(valve), heads.into_iter().map(place).collect()))
                    .collect();
                let mut yard = Yard {
                    circuits,
                    surface,
                    soil,
                    ..Yard::plain(size, (0., 0.), &[])
                };
                put_buildings(&mut yard, &boxes);
                if wired {
                    let wall = yard.buildings.first().map(|b| (b.0, (b.1 + b.3) / 2.0));
                    yard.controller = wall.or(Some((3.0, 1.0)));
                }
                put_more(&mut yard, paved, tree, service);
                yard
            },
        )
}

/// Buildings that hold no component and do not touch.
fn put_buildings(yard: &mut Yard, shares: &[Box4]) {
    let components = yard.components();
    for s in shares {
        let (low, high) = (scaled((s.0, s.1), yard.size), scaled((s.2, s.3), yard.size));
        let house = (low.0, low.1, high.0, high.1);
        let free = components.iter().all(|p| !holds(&house, p));
        if free && yard.buildings.iter().all(|other| !touches(&house, other)) {
            yard.buildings.push(house);
        }
    }
}

fn put_more(yard: &mut Yard, paved: Option<f64>, tree: Option<At>, service: Option<f64>) {
    let (w, h) = yard.size;
    if let Some(share) = paved {
        let strip = (w * share, 0.0, w * share + 2.0, h * 0.8);
        let concrete = json!({"kind": "surface", "surface": "concrete"});
        yard.more.push(feature("WALK", area(strip), concrete));
    }
    if let Some(at) = tree {
        let at = point(scaled(at, yard.size));
        yard.more.push(feature(
            "OAK",
            at,
            json!({"kind": "tree", "trunk": "300 mm"}),
        ));
    }
    if let Some(share) = service {
        yard.more.push(gas(&[
            (0.0, h * share),
            (w * 0.5, h * share + 0.4),
            (w, h * share),
        ]));
    }
}
