//! A small invented yard, drawn by hand: the default practice and prices, a network, sizes and cuts.
#![allow(dead_code)] // each test uses what it needs

use digging::{Content, Dig, Digging, Earthwork, Fill, Marker, MarkerKind, Section};
use geo::{LineString, Polygon};
use hydraulics::{Hydraulics, Pipe, WireRun};
use job::{
    Backflow, Boundary, Cable, Circuit, Controller, Job, LengthUnit, MethodId, Moisture, Outlet,
    OutletKind, Place, Soil, Source, SurfaceKind, Survey, System, Texture, Valve,
};
use quantity::{
    Angle, Area, Current, Duration, Flow, Length, Money, Pressure, Ratio, Units, Velocity, Voltage,
    Volume,
};
use routes::{
    Branch, Crossing, Line, LineKind, Network, Node, NodeId, NodeKind, SleeveUse, Stretch,
    StretchGround, StretchId,
};

/// Everything that a stage takes.
pub struct Yard {
    pub job: Job,
    pub network: Network,
    pub water: Hydraulics,
    pub digging: Digging,
}

/// Its network only: the rest follows from it.
impl std::fmt::Debug for Yard {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.network.fmt(f)
    }
}

/// A network as it is drawn.
#[derive(Default)]
pub struct Drawing {
    nodes: Vec<Node>,
    stretches: Vec<Stretch>,
    lines: Vec<Line>,
}

impl Drawing {
    pub fn node(&mut self, x: f64, y: f64, what: NodeKind) -> NodeId {
        self.nodes.push(Node {
            at: Place::new(x, y),
            elevation: Length::ZERO,
            what,
        });
        NodeId(self.nodes.len() as u32 - 1)
    }

    /// A stretch that bends at the places between.
    pub fn stretch(&mut self, from: NodeId, between: &[(f64, f64)], to: NodeId) -> StretchId {
        let mut path = vec![self.nodes[from.index()].at];
        path.extend(between.iter().map(|(x, y)| Place::new(*x, *y)));
        path.push(self.nodes[to.index()].at);
        let length = path.windows(2).map(|w| w[0].distance(w[1])).sum();
        self.stretches.push(Stretch {
            from,
            to,
            path,
            length: Length::m(length),
            carries: Vec::new(),
            ground: ground(),
            sleeve: None,
        });
        StretchId(self.stretches.len() as u32 - 1)
    }

    /// A line through stretches, each given after the one that feeds it.
    pub fn line(
        &mut self,
        name: &str,
        kind: LineKind,
        root: NodeId,
        terminals: &[NodeId],
        through: &[StretchId],
    ) {
        let index = self.lines.len();
        let mut reached = vec![root];
        let mut branches = Vec::new();
        for id in through {
            let stretch = &mut self.stretches[id.index()];
            stretch.carries.push(index);
            let (from, to) = if reached.contains(&stretch.from) {
                (stretch.from, stretch.to)
            } else {
                (stretch.to, stretch.from)
            };
            reached.push(to);
            branches.push(Branch {
                stretch: *id,
                from,
                to,
            });
        }
        self.lines.push(Line {
            name: name.to_owned(),
            kind,
            root,
            terminals: terminals.to_vec(),
            branches,
        });
    }

    pub fn sleeve(&mut self, stretch: StretchId) {
        let stretch = &mut self.stretches[stretch.index()];
        stretch.ground.surface = SurfaceKind::Concrete;
        stretch.sleeve = Some(SleeveUse {
            existing: None,
            paving: "P1".to_owned(),
            angle: Angle::deg(90.0),
        });
    }

    /// The yard with this network; `size` of each line's pipe, `method` of each stretch.
    pub fn yard(
        self,
        size: impl Fn(usize, StretchId) -> (&'static str, &'static str),
        method: impl Fn(StretchId) -> &'static str,
    ) -> Yard {
        let network = Network {
            nodes: self.nodes,
            stretches: self.stretches,
            lines: self.lines,
            crossings: Vec::new(),
            cost: 0.0,
            turning: routes::Turning::default(),
            bound: 0.0,
            least_laying: 0.0,
            candidates: 0,
            refinement: None,
            findings: Vec::new(),
        };
        let job = job_of(&network);
        let water = water(&job, &network, size);
        let digging = digging(&job, &network, method);
        Yard {
            job,
            network,
            water,
            digging,
        }
    }
}

impl Yard {
    pub fn cross(&mut self, stretch: StretchId, utility: &str) {
        let at = self.network.stretch(stretch).path[0];
        self.network.crossings.push(Crossing {
            stretch,
            utility: utility.to_owned(),
            at,
            angle: Angle::deg(90.0),
        });
    }
}

/// ```text
///                      H2 (15,20)
///            H1 (10,10) ──┘
///            V1 (10,5)
/// SRC─BF─────┼──CTL
///            V2 (10,-5)
///            ═ sleeve (10,-7)…(10,-10)
///  H4 ───────┴─────── H3 (20,-15)
///  │ cable (0,-15)…(10,-15) │ cable end (10,-20)
/// ```
pub fn small_yard() -> Yard {
    let mut d = Drawing::default();
    let source = d.node(0.0, 0.0, NodeKind::Source("SRC".into()));
    let backflow = d.node(2.0, 0.0, NodeKind::Backflow("BF".into()));
    let split = d.node(10.0, 0.0, NodeKind::Junction);
    let v1 = d.node(10.0, 5.0, NodeKind::Valve("V1".into()));
    let v2 = d.node(10.0, -5.0, NodeKind::Valve("V2".into()));
    let controller = d.node(12.0, 0.0, NodeKind::Controller("CTL".into()));
    let h1 = d.node(10.0, 10.0, NodeKind::Outlet("H1".into()));
    let h2 = d.node(15.0, 20.0, NodeKind::Outlet("H2".into()));
    let near = d.node(10.0, -7.0, NodeKind::Change);
    let far = d.node(10.0, -10.0, NodeKind::Change);
    let tee = d.node(10.0, -15.0, NodeKind::Junction);
    let h3 = d.node(20.0, -15.0, NodeKind::Outlet("H3".into()));
    let h4 = d.node(0.0, -15.0, NodeKind::Outlet("H4".into()));
    let lamp = d.node(0.0, -20.0, NodeKind::CableEnd("L1".into()));
    let feed = d.node(10.0, -20.0, NodeKind::CableEnd("L1".into()));

    let service = d.stretch(source, &[], backflow);
    let main = d.stretch(backflow, &[], split);
    let to_v1 = d.stretch(split, &[], v1);
    let to_v2 = d.stretch(split, &[], v2);
    let to_controller = d.stretch(split, &[], controller);
    let to_h1 = d.stretch(v1, &[], h1);
    let to_h2 = d.stretch(h1, &[(15.0, 10.0)], h2);
    let to_paving = d.stretch(v2, &[], near);
    let under = d.stretch(near, &[], far);
    let to_tee = d.stretch(far, &[], tee);
    let to_h3 = d.stretch(tee, &[], h3);
    let to_h4 = d.stretch(tee, &[], h4);
    let to_lamp = d.stretch(h4, &[], lamp);
    let to_feed = d.stretch(tee, &[], feed);
    d.sleeve(under);

    d.line(
        "service",
        LineKind::Service,
        source,
        &[backflow],
        &[service],
    );
    d.line(
        "main",
        LineKind::Main,
        backflow,
        &[v1, v2],
        &[main, to_v1, to_v2],
    );
    d.line(
        "lateral C1",
        LineKind::Lateral("C1".into()),
        v1,
        &[h1, h2],
        &[to_h1, to_h2],
    );
    let c2 = [to_paving, under, to_tee, to_h3, to_h4];
    d.line(
        "lateral C2",
        LineKind::Lateral("C2".into()),
        v2,
        &[h3, h4],
        &c2,
    );
    d.line(
        "wire",
        LineKind::Wire,
        controller,
        &[v1, v2],
        &[to_controller, to_v1, to_v2],
    );
    d.line(
        "cable L1",
        LineKind::Cable("L1".into()),
        feed,
        &[lamp],
        &[to_feed, to_h4, to_lamp],
    );
    d.yard(
        move |line, stretch| match line {
            0 | 1 => ("pvc_sch40", "1 in"),
            2 if stretch == to_h2 => ("pe_sidr15", "3/4 in"),
            _ => ("pe_sidr15", "1 in"),
        },
        move |stretch| {
            if stretch == under {
                "sleeve"
            } else if stretch == to_h1 || stretch == to_h2 {
                "walk_plow"
            } else if stretch == to_controller {
                "spade"
            } else {
                "walk_trencher"
            }
        },
    )
}

/// Valves along a main, the laterals of each circuit through its heads in turn; every circuit but the
/// first goes back along the main's trench to the valve before and starts from there.
pub fn comb(heads: &[Vec<(f64, f64)>], methods: &[&'static str]) -> Yard {
    let mut d = Drawing::default();
    let source = d.node(0.0, 0.0, NodeKind::Source("SRC".into()));
    let backflow = d.node(1.0, 0.0, NodeKind::Backflow("BF".into()));
    let controller = d.node(2.0, 0.0, NodeKind::Controller("CTL".into()));
    let service = d.stretch(source, &[], backflow);
    let mut main = vec![d.stretch(backflow, &[], controller)];
    let mut at = controller;
    let mut valves = Vec::new();
    let mut laterals = Vec::new();
    for (circuit, places) in heads.iter().enumerate() {
        let x = 7.0 + 5.0 * circuit as f64;
        let valve = d.node(x, 0.0, NodeKind::Valve(format!("V{circuit}")));
        let reach = d.stretch(at, &[], valve);
        main.push(reach);
        let (mut through, mut from) = (Vec::new(), valve);
        if circuit > 0 {
            (through, from) = (vec![reach], at);
        }
        let mut outlets = Vec::new();
        for (index, (x, y)) in places.iter().enumerate() {
            let outlet = d.node(*x, *y, NodeKind::Outlet(format!("H{circuit}-{index}")));
            through.push(d.stretch(from, &[], outlet));
            outlets.push(outlet);
            from = outlet;
        }
        laterals.push((valve, outlets, through));
        valves.push(valve);
        at = valve;
    }
    d.line(
        "service",
        LineKind::Service,
        source,
        &[backflow],
        &[service],
    );
    d.line("main", LineKind::Main, backflow, &valves, &main);
    for (circuit, (valve, outlets, through)) in laterals.iter().enumerate() {
        let kind = LineKind::Lateral(format!("C{circuit}"));
        d.line(
            &format!("lateral C{circuit}"),
            kind,
            *valve,
            outlets,
            through,
        );
    }
    d.line("wire", LineKind::Wire, controller, &valves, &main[1..]);
    d.yard(
        |line, _| {
            if line < 2 {
                ("pvc_sch40", "1-1/4 in")
            } else {
                ("pe_sidr15", "1 in")
            }
        },
        |stretch| methods[stretch.index() % methods.len()],
    )
}

fn ground() -> StretchGround {
    StretchGround {
        surface: SurfaceKind::LawnKept,
        surface_id: String::new(),
        soil: Soil {
            texture: Texture::Loam,
            coarse: Ratio::ZERO,
            stone: None,
            moisture: Moisture::Moist,
        },
        soil_id: String::new(),
        slope: Ratio::ZERO,
        zones: Vec::new(),
        blocked: Vec::new(),
        tight: Vec::new(),
    }
}

/// A job whose system is what the network joins; all numbers invented.
fn job_of(network: &Network) -> Job {
    let at = Place::new(0.0, 0.0);
    let mut system = System {
        source: Source {
            id: "SRC".to_owned(),
            at,
            static_pressure: Pressure::kpa(450.0),
            test_flow: Flow::lpm(60.0),
            residual_pressure: Pressure::kpa(400.0),
            service_size: "1 in".to_owned(),
            main_pipe: "pvc_sch40".to_owned(),
            pump: None,
            meter_loss: None,
            filter_loss: None,
            regulated: None,
        },
        backflow: Backflow {
            id: "BF".to_owned(),
            at,
            loss: None,
        },
        controller: None,
        circuits: Vec::new(),
        valves: Vec::new(),
        manifolds: Vec::new(),
        outlets: Vec::new(),
        cables: Vec::new(),
        sleeves: Vec::new(),
    };
    for line in &network.lines {
        join(network, line, &mut system);
    }
    Job {
        name: "yard drawn by hand, invented".to_owned(),
        invented: true,
        length_unit: LengthUnit::M,
        units: Units::Us,
        seed: 0,
        anchor: None,
        survey: Survey {
            boundary: Boundary {
                id: "B".to_owned(),
                polygon: Polygon::new(LineString::new(Vec::new()), Vec::new()),
            },
            surfaces: Vec::new(),
            obstacles: Vec::new(),
            trees: Vec::new(),
            utilities: Vec::new(),
            soils: Vec::new(),
            steeps: Vec::new(),
            spots: Vec::new(),
            gates: Vec::new(),
            marks: Vec::new(),
            baseline: None,
            accesses: Vec::new(),
        },
        system,
        decisions: job::Decisions::default(),
        practice: toml::from_str(include_str!("../../../job/data/practice.toml"))
            .expect("the default practice can be read"),
        prices: toml::from_str(include_str!("../../../job/data/prices.toml"))
            .expect("the default prices can be read"),
    }
}

fn join(network: &Network, line: &Line, system: &mut System) {
    let root = network.node(line.root);
    match (&line.kind, &root.what) {
        (LineKind::Wire, NodeKind::Controller(id)) => {
            system.controller = Some(Controller {
                id: id.clone(),
                at: root.at,
            });
        }
        (LineKind::Cable(id), _) => system.cables.push(Cable {
            id: id.clone(),
            service: "lighting".to_owned(),
            points: Vec::new(),
        }),
        (LineKind::Lateral(circuit), NodeKind::Valve(valve)) => {
            system.circuits.push(Circuit {
                id: circuit.clone(),
                name: circuit.clone(),
                pipe: "pe_sidr15".to_owned(),
                runs_with: None,
            });
            system.valves.push(Valve {
                id: valve.clone(),
                at: root.at,
                circuit: circuit.clone(),
                manifold: None,
                loss: None,
            });
            for terminal in &line.terminals {
                let node = network.node(*terminal);
                let NodeKind::Outlet(id) = &node.what else {
                    continue;
                };
                system.outlets.push(Outlet {
                    id: id.clone(),
                    kind: OutletKind::Head,
                    at: node.at,
                    circuit: circuit.clone(),
                    flow: Flow::lpm(8.0),
                    pressure: Pressure::kpa(200.0),
                    exponent: None,
                    compensating: false,
                    precipitation: None,
                });
            }
        }
        _ => {}
    }
}

fn water(
    job: &Job,
    network: &Network,
    size: impl Fn(usize, StretchId) -> (&'static str, &'static str),
) -> Hydraulics {
    let mut pipes = Vec::new();
    let mut wires = Vec::new();
    for (index, line) in network.lines.iter().enumerate() {
        if line.kind.is_pipe() {
            pipes.extend(line.branches.iter().map(|branch| {
                let (family, name) = size(index, branch.stretch);
                let of_family = &job.practice.pipe[family].sizes;
                let size = of_family
                    .iter()
                    .find(|size| size.name == name)
                    .expect("the tests name sizes of the family");
                Pipe {
                    line: index,
                    stretch: branch.stretch,
                    from: branch.from,
                    to: branch.to,
                    family: family.to_owned(),
                    size: name.to_owned(),
                    outside: size.outside,
                    inside: size.inside,
                    flow: Flow::ZERO,
                    velocity: Velocity::ZERO,
                    friction: Pressure::ZERO,
                    minor: Pressure::ZERO,
                }
            }));
        }
        if line.kind == LineKind::Wire {
            for terminal in &line.terminals {
                if let NodeKind::Valve(valve) = &network.node(*terminal).what {
                    wires.push(WireRun {
                        valve: valve.clone(),
                        length: along(network, line, *terminal),
                        gauge: "18 AWG".to_owned(),
                        current: Current::ZERO,
                        drop: Voltage::ZERO,
                        ..WireRun::default()
                    });
                }
            }
        }
    }
    Hydraulics {
        pipes,
        wires,
        ..Hydraulics::default()
    }
}

fn along(network: &Network, line: &Line, mut node: NodeId) -> Length {
    let mut length = Length::ZERO;
    while let Some(branch) = line.branches.iter().find(|branch| branch.to == node) {
        length += network.stretch(branch.stretch).length;
        node = branch.from;
    }
    length
}

fn digging(job: &Job, network: &Network, method: impl Fn(StretchId) -> &'static str) -> Digging {
    let digs = network
        .iter()
        .map(|(id, _)| {
            let name = MethodId(method(id).to_owned());
            dig(job, network, id, name)
        })
        .collect();
    Digging {
        digs,
        methods: Vec::new(),
        hires: Vec::new(),
        not_hired: Vec::new(),
        gap: Money::ZERO,
        sets_compared: 0,
        crossings: Vec::new(),
        near_services: Vec::new(),
        hand_zones: Vec::new(),
        narrows: Vec::new(),
        findings: Vec::new(),
    }
}

/// Half a metre deep and 15 cm wide where a trench is opened; 2 minutes of digging to the metre.
fn dig(job: &Job, network: &Network, id: StretchId, method: MethodId) -> Dig {
    use job::prices::MethodKind;
    let stretch = network.stretch(id);
    let known = &job.prices.method[&method];
    let metres = stretch.length.to_m();
    let open = matches!(known.kind, MethodKind::Hand | MethodKind::Trench);
    let width = if open { 0.15 } else { 0.0 };
    let bank = Volume::m3(width * 0.5 * metres);
    Dig {
        stretch: id,
        reason: String::new(),
        cost: Money::ZERO,
        next_best: None,
        rejected: Vec::new(),
        hours: Duration::minutes(2.0 * metres),
        crew: known.crew.value,
        section: Section {
            depth: Length::m(0.5),
            width: Length::m(width),
            side_slope: Ratio::ZERO,
            top_width: Length::m(width),
            bedding: Length::ZERO,
            contents: vec![Content {
                line: stretch.carries.first().copied().unwrap_or(0),
                what: "pipe".to_owned(),
                outside: Length::inch(1.189),
                count: 1,
                cover: Length::m(0.4),
                middle: Length::m(width * 0.5),
            }],
            markers: markers(network, stretch, open),
            ..Section::default()
        },
        fill: Fill {
            delivered: bank * 0.1,
            ..Fill::default()
        },
        slack: Vec::new(),
        earth: Earthwork {
            bank,
            loose: bank * 1.25,
            bedding: bank * 0.1,
            backfill: bank,
            haul: bank * 0.2,
            restore: Area::m2(width * metres),
            lifts: 3,
            ..Earthwork::default()
        },
        pull: None,
        method,
    }
}

/// Tape over service, main and valve wire in open trench.
fn markers(network: &Network, stretch: &Stretch, open: bool) -> Vec<Marker> {
    let mut kinds = stretch
        .carries
        .iter()
        .map(|line| &network.lines[*line].kind);
    let taped =
        |kind: &LineKind| matches!(kind, LineKind::Service | LineKind::Main | LineKind::Wire);
    if !open || !kinds.any(taped) {
        return Vec::new();
    }
    vec![Marker {
        kind: MarkerKind::Tape,
        marks: "pipe".to_owned(),
        cover: Length::inch(6.0),
    }]
}

/// Methods from which tests draw.
pub const METHODS: [&str; 5] = [
    "spade",
    "walk_trencher",
    "walk_plow",
    "ride_trencher",
    "surface",
];
