//! A made-up yard with a hand-made plan: five circuits in combs off a main.

use geo::{Coord, LineString, Polygon};
use job::*;
use plan::Plan;
use plan::digging::{Earthwork, Fill, Section};
use quantity::{Flow, Length, Pressure, Ratio, Units};
use serde_json::{Value, json};

/// A job and a plan for it; coordinates below are feet.
pub fn yard() -> (Job, Plan) {
    let job = job();
    let plan = Net::default().plan(&job);
    (job, plan)
}

fn ft(x: f64, y: f64) -> Place {
    Place::new(x * 0.3048, y * 0.3048)
}

fn line(points: &[(f64, f64)]) -> LineString {
    let coords = points.iter().map(|&(x, y)| Coord::from(ft(x, y)));
    LineString::new(coords.collect())
}

fn area(x0: f64, y0: f64, x1: f64, y1: f64) -> Polygon {
    let ring = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)];
    Polygon::new(line(&ring), Vec::new())
}

fn surface(id: &str, kind: SurfaceKind, polygon: Option<Polygon>) -> Surface {
    Surface {
        id: id.to_owned(),
        kind,
        polygon,
    }
}

fn obstacle(id: &str, kind: ObstacleKind, shape: Shape) -> Obstacle {
    Obstacle {
        id: id.to_owned(),
        kind,
        shape,
    }
}

fn utility(id: &str, class: ServiceClass, points: &[(f64, f64)], located: bool) -> Utility {
    Utility {
        id: id.to_owned(),
        class,
        line: line(points),
        width: Length::inch(2.0),
        depth: None,
        located,
        marked: located,
    }
}

fn survey() -> Survey {
    use SurfaceKind as S;
    let fence = [(140.0, 60.0), (118.0, 60.0)];
    Survey {
        boundary: Boundary {
            id: "P1".into(),
            polygon: area(0.0, 0.0, 140.0, 100.0),
        },
        surfaces: vec![
            surface("G1", S::LawnKept, None),
            surface("G2", S::LawnRedone, Some(area(0.0, 62.0, 60.0, 100.0))),
            surface("G3", S::Concrete, Some(area(20.0, 0.0, 40.0, 30.0))),
            surface("G4", S::Bed, Some(area(48.0, 22.0, 110.0, 28.0))),
            surface("G5", S::Gravel, Some(area(118.0, 20.0, 126.0, 60.0))),
            surface("G6", S::Pavers, Some(area(70.0, 62.0, 96.0, 74.0))),
        ],
        obstacles: vec![
            obstacle(
                "B1",
                ObstacleKind::Building,
                Shape::Area(area(44.0, 30.0, 112.0, 60.0)),
            ),
            obstacle(
                "B2",
                ObstacleKind::Building,
                Shape::Area(area(16.0, 30.0, 44.0, 54.0)),
            ),
            obstacle("F1", ObstacleKind::Fence, Shape::Line(line(&fence))),
            obstacle(
                "W1",
                ObstacleKind::Wall,
                Shape::Line(line(&[(2.0, 60.0), (16.0, 60.0)])),
            ),
            obstacle(
                "K1",
                ObstacleKind::Pool,
                Shape::Area(area(104.0, 70.0, 128.0, 84.0)),
            ),
        ],
        trees: vec![Tree {
            id: "T1".into(),
            at: ft(30.0, 84.0),
            trunk: Length::inch(14.0),
            root_radius: None,
        }],
        utilities: vec![
            utility("U1", ServiceClass::Gas, &[(62.0, 0.0), (62.0, 30.0)], true),
            utility(
                "U2",
                ServiceClass::Electric,
                &[(130.0, 0.0), (130.0, 45.0), (112.0, 45.0)],
                false,
            ),
            utility(
                "U3",
                ServiceClass::PotableWater,
                &[(8.0, 0.0), (8.0, 40.0), (16.0, 40.0)],
                true,
            ),
        ],
        soils: Vec::new(),
        steeps: vec![Steep {
            id: "X1".into(),
            slope: Ratio::percent(30.0),
            polygon: area(0.0, 90.0, 60.0, 100.0),
        }],
        spots: vec![Spot {
            id: "E1".into(),
            at: ft(100.0, 94.0),
            elevation: Length::ft(101.5),
        }],
        gates: vec![Gate {
            id: "GT1".into(),
            from: ft(132.0, 60.0),
            to: ft(135.0, 60.0),
            clear_width: Length::inch(36.0),
        }],
        marks: Vec::new(),
        baseline: None,
        accesses: vec![Access {
            id: "A1".into(),
            at: ft(30.0, 2.0),
        }],
    }
}

const CIRCUITS: [(&str, f64, f64); 5] = [
    ("C1", 46.0, 8.0),
    ("C2", 66.0, 18.0),
    ("C3", 4.0, 66.0),
    ("C4", 4.0, 78.0),
    ("C5", 66.0, 88.0),
];

fn system() -> System {
    let circuits = CIRCUITS.map(|(id, ..)| Circuit {
        id: id.into(),
        name: format!("made-up {id}"),
        pipe: "pe_sidr15".into(),
        runs_with: None,
    });
    let valves = CIRCUITS.iter().enumerate().map(|(i, (id, ..))| Valve {
        id: format!("V{}", i + 1),
        at: if i < 3 {
            ft(42.0 + i as f64, 20.0)
        } else {
            ft(12.0 + 4.0 * i as f64, 62.0)
        },
        circuit: (*id).into(),
        manifold: (i < 3).then(|| "M1".into()),
        loss: None,
    });
    let outlets = CIRCUITS.iter().flat_map(|&(id, x, y)| {
        (0..8).map(move |i| Outlet {
            id: format!("H{}{}", &id[1..], i + 1),
            kind: if i == 7 {
                OutletKind::Drip
            } else {
                OutletKind::Head
            },
            at: ft(
                x + 8.0 * f64::from(i),
                y + if i % 2 == 0 { 0.0 } else { 5.0 },
            ),
            circuit: id.into(),
            flow: Flow::gpm(2.0),
            pressure: Pressure::psi(30.0),
            exponent: None,
            compensating: false,
            precipitation: None,
        })
    });
    System {
        source: Source {
            id: "SRC".into(),
            at: ft(12.0, 6.0),
            static_pressure: Pressure::psi(70.0),
            test_flow: Flow::gpm(15.0),
            residual_pressure: Pressure::psi(58.0),
            service_size: "1 in".into(),
            main_pipe: "pvc_sch40".into(),
            pump: None,
            meter_loss: None,
            filter_loss: None,
            regulated: None,
        },
        backflow: Backflow {
            id: "BF".into(),
            at: ft(12.0, 14.0),
            loss: None,
        },
        controller: Some(Controller {
            id: "CTL".into(),
            at: ft(15.0, 44.0),
        }),
        circuits: circuits.into(),
        valves: valves.collect(),
        manifolds: Vec::new(),
        outlets: outlets.collect(),
        cables: vec![Cable {
            id: "L1".into(),
            service: "lighting".into(),
            points: vec![ft(16.0, 50.0), ft(6.0, 96.0)],
        }],
        sleeves: vec![Sleeve {
            id: "SL1".into(),
            from: ft(19.0, 20.0),
            to: ft(41.0, 20.0),
            inside: Length::inch(4.0),
        }],
    }
}

fn job() -> Job {
    let practice = include_str!("../../../job/data/practice.toml");
    let prices = include_str!("../../../job/data/prices.toml");
    Job {
        name: "A made-up yard with a rather long name".into(),
        invented: true,
        length_unit: LengthUnit::Ft,
        units: Units::Us,
        seed: 1,
        anchor: None,
        survey: survey(),
        system: system(),
        decisions: Decisions::default(),
        practice: toml::from_str(practice).unwrap(),
        prices: toml::from_str(prices).unwrap(),
    }
}

/// A network that grows stretch by stretch.
#[derive(Default)]
struct Net {
    nodes: Vec<Value>,
    places: Vec<Place>,
    stretches: Vec<Value>,
    digs: Vec<Value>,
    lines: Vec<Value>,
    pipes: Vec<Value>,
}

impl Net {
    fn node(&mut self, at: Place) -> usize {
        if let Some(i) = self.places.iter().position(|p| p.distance(at) < 0.01) {
            return i;
        }
        self.places.push(at);
        self.nodes
            .push(json!({"at": at, "elevation": 0.0, "what": {"kind": "junction"}}));
        self.nodes.len() - 1
    }

    fn line(
        &mut self,
        name: &str,
        kind: Value,
        path: &[(Place, Place)],
        sizes: &[&str],
        method: &str,
    ) {
        let index = self.lines.len();
        let section = Section {
            depth: Length::m(0.3),
            width: Length::m(0.1),
            top_width: Length::m(0.1),
            ..Section::default()
        };
        let mut branches = Vec::new();
        for (i, &(from, to)) in path.iter().enumerate() {
            let (a, b) = (self.node(from), self.node(to));
            let (a, b) = (format!("N{}", a + 1), format!("N{}", b + 1));
            let id = format!("S{}", self.stretches.len() + 1);
            let square = name == "main" && i == 1;
            let sleeve = json!({"existing": "SL1", "paving": "G3", "angle": 1.57});
            self.stretches.push(json!({
                "from": a, "to": b, "path": [from, to], "length": from.distance(to),
                "carries": [index], "sleeve": if square { sleeve } else { Value::Null },
                "ground": {"surface": "lawn_kept", "surface_id": "G1", "soil_id": "", "slope": 0.0,
                    "soil": {"texture": "loam", "coarse": 0.0, "moisture": "moist"},
                    "zones": [], "blocked": []},
            }));
            let method = if square { "sleeve" } else { method };
            self.digs.push(json!({
                "stretch": id, "method": method, "reason": "made up", "cost": 0, "next_best": null,
                "rejected": [], "hours": 0.0, "crew": 1,
                "section": section, "earth": Earthwork::default(), "fill": Fill::default(), "slack": [],
            }));
            self.pipes.push(json!({
                "line": index, "stretch": id, "from": a, "to": b, "family": "pe_sidr15",
                "size": sizes[i * sizes.len() / path.len()], "outside": 0.03, "inside": 0.027,
                "flow": 0.0, "velocity": 0.0, "friction": 0.0, "minor": 0.0,
            }));
            branches.push(json!({"stretch": id, "from": a, "to": b}));
        }
        let root = self.node(path[0].0);
        self.lines.push(json!({
            "name": name, "kind": kind, "root": format!("N{}", root + 1), "terminals": [],
            "branches": branches,
        }));
    }

    fn lateral(&mut self, job: &Job, circuit: &Circuit) {
        let valve = job.valve_of(&circuit.id).unwrap();
        let heads: Vec<Place> = job.outlets_of(&circuit.id).map(|o| o.at).collect();
        let spine = heads[0].y + 0.8;
        let mut path = Vec::new();
        let mut at = Place::new(valve.at.x, spine);
        path.push((valve.at, at));
        for &head in &heads {
            let next = Place::new(head.x, spine);
            if at.distance(next) > 0.01 {
                path.push((at, next));
            }
            path.push((next, head));
            at = next;
        }
        let kind = json!({"kind": "lateral", "feature": circuit.id});
        let method = [
            "ride_trencher",
            "walk_trencher",
            "spade",
            "plow",
            "walk_trencher",
        ];
        let place = job
            .system
            .circuits
            .iter()
            .position(|c| c.id == circuit.id)
            .unwrap();
        let known = job.prices.method.keys().any(|key| key.0 == method[place]);
        let method = if known { method[place] } else { "spade" };
        self.line(
            &format!("lateral {}", circuit.id),
            kind,
            &path,
            &["1 in", "3/4 in"],
            method,
        );
    }

    fn plan(mut self, job: &Job) -> Plan {
        let system = &job.system;
        let corner = ft(12.0, 20.0);
        self.line(
            "service",
            json!({"kind": "service"}),
            &[(system.source.at, system.backflow.at)],
            &["1-1/4 in"],
            "spade",
        );
        let main = [
            (system.backflow.at, corner),
            (corner, system.valves[1].at),
            (corner, ft(12.0, 62.0)),
            (ft(12.0, 62.0), system.valves[4].at),
        ];
        self.line(
            "main",
            json!({"kind": "main"}),
            &main,
            &["1-1/4 in"],
            "mini_excavator",
        );
        for circuit in &system.circuits {
            self.lateral(job, circuit);
        }
        let at = ft(62.0, 10.6);
        let nothing = json!([]);
        serde_json::from_value(json!({
            "format": 1, "job": job.name, "invented": true, "rounds": 1, "findings": nothing,
            "workings": {},
            "network": {"nodes": self.nodes, "stretches": self.stretches, "lines": self.lines,
                "crossings": [{"stretch": "S5", "utility": "U1", "at": at, "angle": 1.5}],
                "cost": 1.0, "bound": 1.0,
                "turning": {"bends": 0, "junctions": 0, "more": 0, "cost": 0.0}, "candidates": 1, "findings": nothing},
            "hydraulics": {"pipes": self.pipes, "circuits": nothing, "outlets": nothing,
                "wires": nothing, "findings": nothing},
            "digging": {"digs": self.digs, "hires": nothing, "not_hired": nothing, "gap": 0, "sets_compared": 1,
                "findings": nothing},
            "takeoff": {"items": nothing, "cutting": nothing},
            "schedule": {"tasks": nothing, "days": nothing, "notice_days": 3, "crew": 3,
                "labour": 0.0},
            "price": {"currency": "USD", "lines": nothing, "cost": 0, "overhead": 0, "profit": 0,
                "profit_by": "margin", "margin": 0.0, "markup": 0.0, "total": 0, "taxes": nothing, "with_tax": 0,
                "parts": nothing},
        }))
        .unwrap()
    }
}
