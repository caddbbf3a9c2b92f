//! Small handmade jobs and networks for the tests.

use geo::{line_string, polygon};
use hydraulics::{Hydraulics, Pipe};
use job::*;
use quantity::{Flow, Length, Pressure, Ratio, Units, Velocity};
use routes::*;

pub(crate) fn practice() -> Practice {
    toml::from_str(include_str!("../../job/data/practice.toml")).unwrap()
}

pub(crate) fn prices() -> PriceBook {
    toml::from_str(include_str!("../../job/data/prices.toml")).unwrap()
}

/// A square yard with a source, an assembly, one polyethylene circuit and no obstacles.
pub(crate) fn job() -> Job {
    let at = Place::new(0.0, 0.0);
    Job {
        name: "yard".into(),
        invented: true,
        length_unit: LengthUnit::M,
        units: Units::Us,
        seed: 1,
        anchor: None,
        survey: Survey {
            boundary: Boundary {
                id: "B".into(),
                polygon: polygon![
                    (x: -50., y: -50.), (x: 50., y: -50.), (x: 50., y: 50.), (x: -50., y: 50.)
                ],
            },
            surfaces: vec![],
            obstacles: vec![],
            trees: vec![Tree {
                id: "T1".into(),
                at: Place::new(20.0, 20.0),
                trunk: Length::inch(10.0),
                root_radius: None,
            }],
            utilities: vec![Utility {
                id: "G1".into(),
                class: ServiceClass::Gas,
                line: line_string![(x: -50., y: 5.), (x: 50., y: 5.)],
                width: Length::inch(1.0),
                depth: None,
                located: true,
                marked: true,
            }],
            soils: vec![],
            steeps: vec![],
            spots: vec![],
            gates: vec![],
            marks: Vec::new(),
            baseline: None,
            accesses: vec![Access { id: "A".into(), at }],
        },
        decisions: Decisions::default(),
        system: System {
            source: Source {
                id: "W".into(),
                at,
                static_pressure: Pressure::psi(60.0),
                test_flow: Flow::gpm(15.0),
                residual_pressure: Pressure::psi(50.0),
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
            controller: None,
            circuits: vec![Circuit {
                id: "C1".into(),
                name: "front".into(),
                pipe: "pe_sidr15".into(),
                runs_with: None,
            }],
            valves: vec![],
            manifolds: vec![],
            outlets: vec![],
            cables: vec![],
            sleeves: vec![],
        },
        practice: practice(),
        prices: prices(),
    }
}

pub(crate) fn soil(texture: Texture, coarse: f64) -> Soil {
    Soil {
        texture,
        coarse: Ratio::one(coarse),
        stone: None,
        moisture: Moisture::Moist,
    }
}

pub(crate) fn ground() -> StretchGround {
    StretchGround {
        surface: SurfaceKind::LawnKept,
        surface_id: "L".into(),
        soil: soil(Texture::Loam, 0.05),
        soil_id: "SO".into(),
        slope: Ratio::one(0.02),
        zones: vec![],
        blocked: Vec::new(),
        tight: Vec::new(),
    }
}

pub(crate) fn line(name: &str, kind: LineKind, stretches: usize) -> Line {
    Line {
        name: name.into(),
        kind,
        root: NodeId(0),
        terminals: vec![NodeId(stretches as u32)],
        branches: (0..stretches as u32)
            .map(|i| Branch {
                stretch: StretchId(i),
                from: NodeId(i),
                to: NodeId(i + 1),
            })
            .collect(),
    }
}

/// A chain of straight stretches that carries one lateral.
pub(crate) fn polyline(points: &[(f64, f64)]) -> Network {
    let place = |p: &(f64, f64)| Place::new(p.0, p.1);
    let count = points.len() - 1;
    Network {
        nodes: points
            .iter()
            .map(|p| Node {
                at: place(p),
                elevation: Length::ZERO,
                what: NodeKind::Junction,
            })
            .collect(),
        stretches: points
            .windows(2)
            .enumerate()
            .map(|(i, w)| Stretch {
                from: NodeId(i as u32),
                to: NodeId(i as u32 + 1),
                path: vec![place(&w[0]), place(&w[1])],
                length: Length::m(place(&w[0]).distance(place(&w[1]))),
                carries: vec![0],
                ground: ground(),
                sleeve: None,
            })
            .collect(),
        lines: vec![line("lateral C1", LineKind::Lateral("C1".into()), count)],
        crossings: vec![],
        cost: 0.0,
        turning: Turning::default(),
        bound: 0.0,
        least_laying: 0.0,
        candidates: 0,
        refinement: None,
        findings: vec![],
    }
}

/// One more line over the whole chain.
pub(crate) fn carry(network: &mut Network, name: &str, kind: LineKind) {
    let count = network.stretches.len();
    network.lines.push(line(name, kind, count));
    let index = network.lines.len() - 1;
    for stretch in &mut network.stretches {
        stretch.carries.push(index);
    }
}

/// Pipe of one size in every stretch of every pipe line: laterals of 1 in polyethylene, mains of
/// 1-1/4 in PVC.
pub(crate) fn water(network: &Network) -> Hydraulics {
    let mut pipes = Vec::new();
    for (index, line) in network.lines.iter().enumerate() {
        if !line.kind.is_pipe() {
            continue;
        }
        let lateral = matches!(line.kind, LineKind::Lateral(_));
        let (family, size, outside) = if lateral {
            ("pe_sidr15", "1 in", 1.189)
        } else {
            ("pvc_sch40", "1-1/4 in", 1.66)
        };
        pipes.extend(line.branches.iter().map(|b| Pipe {
            line: index,
            stretch: b.stretch,
            from: b.from,
            to: b.to,
            family: family.into(),
            size: size.into(),
            outside: Length::inch(outside),
            inside: Length::inch(1.0),
            flow: Flow::ZERO,
            velocity: Velocity::ZERO,
            friction: Pressure::ZERO,
            minor: Pressure::ZERO,
        }));
    }
    Hydraulics {
        pipes,
        ..Hydraulics::default()
    }
}
