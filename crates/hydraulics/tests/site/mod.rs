//! Small sites laid by hand, the whole property invented.
#![allow(dead_code)] // not every test file uses all of it

use geo::{LineString, Polygon};
use job::practice::Practice;
use job::{
    Backflow, Boundary, Circuit, Controller, Job, LengthUnit, Outlet, OutletKind, Place, PriceBook,
    Soil, Source, SurfaceKind, Survey, System, Texture, Valve,
};
use quantity::{Flow, Length, Pressure, Ratio, Units};
use routes::{
    Branch, Line, LineKind, Network, Node, NodeId, NodeKind, Stretch, StretchGround, StretchId,
};

pub struct Site {
    pub job: Job,
    pub network: Network,
}

/// A source of 80 psi that falls to 60 psi at 30 gpm, a backflow assembly, a controller.
fn job() -> Job {
    let at = Place::new(0.0, 0.0);
    Job {
        name: "By hand".into(),
        invented: true,
        length_unit: LengthUnit::M,
        units: Units::Us,
        seed: 1,
        anchor: None,
        survey: Survey {
            boundary: Boundary {
                id: "B".into(),
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
        decisions: job::Decisions::default(),
        system: System {
            source: Source {
                id: "SRC".into(),
                at,
                static_pressure: Pressure::psi(80.0),
                test_flow: Flow::gpm(30.0),
                residual_pressure: Pressure::psi(60.0),
                service_size: "1 in".into(),
                main_pipe: "pvc_sch40".into(),
                pump: None,
                meter_loss: None,
                filter_loss: None,
                regulated: None,
            },
            backflow: Backflow {
                id: "BF".into(),
                at,
                loss: None,
            },
            controller: Some(Controller {
                id: "CT".into(),
                at,
            }),
            circuits: Vec::new(),
            valves: Vec::new(),
            manifolds: Vec::new(),
            outlets: Vec::new(),
            cables: Vec::new(),
            sleeves: Vec::new(),
        },
        practice: Practice::embedded(),
        prices: PriceBook::embedded(),
    }
}

impl Site {
    /// A source at the origin and a backflow assembly 2 m east of it; nothing else yet.
    pub fn new() -> Self {
        let network = Network {
            nodes: Vec::new(),
            stretches: Vec::new(),
            lines: Vec::new(),
            crossings: Vec::new(),
            cost: 0.0,
            turning: routes::Turning::default(),
            bound: 0.0,
            least_laying: 0.0,
            candidates: 0,
            refinement: None,
            findings: Vec::new(),
        };
        let mut site = Self {
            job: job(),
            network,
        };
        let source = site.node(0.0, 0.0, NodeKind::Source("SRC".into()));
        let backflow = site.node(2.0, 0.0, NodeKind::Backflow("BF".into()));
        site.line("service", LineKind::Service, source, &[backflow]);
        site.line("main", LineKind::Main, backflow, &[]);
        site.lay(0, source, backflow);
        site
    }

    pub fn backflow(&self) -> NodeId {
        NodeId(1)
    }

    /// A node at a place, metres, at height 0.
    pub fn node(&mut self, x: f64, y: f64, what: NodeKind) -> NodeId {
        self.network.nodes.push(Node {
            at: Place::new(x, y),
            elevation: Length::ZERO,
            what,
        });
        NodeId(self.network.nodes.len() as u32 - 1)
    }

    pub fn raise(&mut self, node: NodeId, by: Length) {
        self.network.nodes[node.index()].elevation = by;
    }

    pub fn line(
        &mut self,
        name: &str,
        kind: LineKind,
        root: NodeId,
        terminals: &[NodeId],
    ) -> usize {
        self.network.lines.push(Line {
            name: name.into(),
            kind,
            root,
            terminals: terminals.to_vec(),
            branches: Vec::new(),
        });
        self.network.lines.len() - 1
    }

    /// One straight stretch more in a line.
    pub fn lay(&mut self, line: usize, from: NodeId, to: NodeId) -> StretchId {
        let path = vec![self.network.node(from).at, self.network.node(to).at];
        self.lay_along(line, from, to, path)
    }

    pub fn lay_along(
        &mut self,
        line: usize,
        from: NodeId,
        to: NodeId,
        path: Vec<Place>,
    ) -> StretchId {
        let length = path.windows(2).map(|leg| leg[0].distance(leg[1])).sum();
        let stretch = StretchId(self.network.stretches.len() as u32);
        self.network.stretches.push(Stretch {
            from,
            to,
            path,
            length: Length::m(length),
            carries: vec![line],
            ground: StretchGround {
                surface: SurfaceKind::LawnKept,
                surface_id: String::new(),
                soil: Soil {
                    texture: Texture::Loam,
                    coarse: Ratio::ZERO,
                    stone: None,
                    moisture: job::Moisture::Moist,
                },
                soil_id: String::new(),
                slope: Ratio::ZERO,
                zones: Vec::new(),
                blocked: Vec::new(),
                tight: Vec::new(),
            },
            sleeve: None,
        });
        self.network.lines[line]
            .branches
            .push(Branch { stretch, from, to });
        stretch
    }

    /// A valve on the main, reached from `from`, and the lateral line of its circuit `C…`.
    pub fn valve(&mut self, number: u32, from: NodeId, x: f64, y: f64) -> (NodeId, usize) {
        let node = self.node(x, y, NodeKind::Valve(format!("V{number}")));
        self.lay(1, from, node);
        self.network.lines[1].terminals.push(node);
        let lateral = self.circuit(number, node, "pvc_sch40");
        (node, lateral)
    }

    /// A circuit with its valve at a node that is there already.
    pub fn circuit(&mut self, number: u32, valve: NodeId, pipe: &str) -> usize {
        let id = format!("C{number}");
        self.job.system.circuits.push(Circuit {
            id: id.clone(),
            name: id.clone(),
            pipe: pipe.into(),
            runs_with: None,
        });
        self.job.system.valves.push(Valve {
            id: format!("V{number}"),
            at: self.network.node(valve).at,
            circuit: id.clone(),
            manifold: None,
            loss: None,
        });
        self.line(&format!("lateral {id}"), LineKind::Lateral(id), valve, &[])
    }

    /// A head fed from `from`.
    pub fn head(
        &mut self,
        lateral: usize,
        id: &str,
        from: NodeId,
        to: (f64, f64),
        gpm: f64,
        psi: f64,
    ) -> NodeId {
        let node = self.node(to.0, to.1, NodeKind::Outlet(id.into()));
        self.lay(lateral, from, node);
        self.network.lines[lateral].terminals.push(node);
        self.demand(lateral, id, node, gpm, psi);
        node
    }

    /// A head at a node that is there already.
    pub fn demand(&mut self, lateral: usize, id: &str, node: NodeId, gpm: f64, psi: f64) {
        let LineKind::Lateral(circuit) = self.network.lines[lateral].kind.clone() else {
            panic!("{lateral} is no lateral");
        };
        self.job.system.outlets.push(Outlet {
            id: id.into(),
            kind: OutletKind::Head,
            at: self.network.node(node).at,
            circuit,
            flow: Flow::gpm(gpm),
            pressure: Pressure::psi(psi),
            exponent: None,
            compensating: false,
            precipitation: None,
        });
    }

    /// A row of heads at equal spacing, metres, east of the valve.
    pub fn row(&mut self, number: u32, heads: u32, spacing: f64, gpm: f64, psi: f64) -> usize {
        let (valve, lateral) = self.valve(number, self.backflow(), 5.0, 0.0);
        let mut last = valve;
        for i in 1..=heads {
            let at = (5.0 + spacing * f64::from(i), 0.0);
            last = self.head(lateral, &format!("H{number}-{i}"), last, at, gpm, psi);
        }
        lateral
    }

    /// Lets every outlet give the same flow at any pressure from what it needs on.
    pub fn compensate(&mut self) {
        for outlet in &mut self.job.system.outlets {
            outlet.compensating = true;
        }
    }

    /// Leaves one size in a family.
    pub fn only_size(&mut self, family: &str, size: &str) {
        let families = &mut self.job.practice.pipe;
        let family = families.get_mut(family).expect("a family of the defaults");
        family.sizes.retain(|s| s.name == size);
    }

    pub fn size(&self) -> (hydraulics::Hydraulics, working::Ledger) {
        let mut ledger = working::Ledger::new();
        let result = hydraulics::size(&self.job, &self.network, &mut ledger);
        (result, ledger)
    }
}

/// The rules of the findings, in their order, without the caution that every site blown out has.
pub fn rules(result: &hydraulics::Hydraulics) -> Vec<&str> {
    let rules = result.findings.iter().map(|f| f.rule.as_str());
    rules.filter(|rule| *rule != "blow-out").collect()
}
