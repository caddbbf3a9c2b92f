//! What has to be connected with what: the places of the components and the lines that join them.

use crate::{LineKind, NodeKind};
use geo::Coord;
use job::{Job, Place};

/// A place that some line has to reach.
#[derive(Debug, Clone)]
pub struct Site {
    /// Where.
    pub at: Coord,
    /// The component there; the first one, if several stand on the same place.
    pub what: NodeKind,
}

/// A line to be laid, as indices into the sites; the first one is its root.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// What it is.
    pub kind: LineKind,
    /// Where it has to reach.
    pub sites: Vec<usize>,
}

/// The sites and wanted lines of a job: service, main, laterals, wire, cables.
pub fn wanted(job: &Job) -> (Vec<Site>, Vec<Wanted>) {
    let mut sites = Sites::default();
    let system = &job.system;
    let source = sites.add(system.source.at, NodeKind::Source(system.source.id.clone()));
    let backflow = sites.add(
        system.backflow.at,
        NodeKind::Backflow(system.backflow.id.clone()),
    );
    let valves: Vec<usize> = system
        .valves
        .iter()
        .map(|v| sites.add(v.at, NodeKind::Valve(v.id.clone())))
        .collect();
    let mut lines = vec![
        Wanted {
            kind: LineKind::Service,
            sites: vec![source, backflow],
        },
        Wanted {
            kind: LineKind::Main,
            sites: chain(backflow, &valves),
        },
    ];
    for circuit in &system.circuits {
        let Some(valve) = system.valves.iter().position(|v| v.circuit == circuit.id) else {
            continue;
        };
        let outlets: Vec<usize> = job
            .outlets_of(&circuit.id)
            .map(|o| sites.add(o.at, NodeKind::Outlet(o.id.clone())))
            .collect();
        let kind = LineKind::Lateral(circuit.id.clone());
        lines.push(Wanted {
            kind,
            sites: chain(valves[valve], &outlets),
        });
    }
    if let Some(controller) = &system.controller {
        let controller = sites.add(controller.at, NodeKind::Controller(controller.id.clone()));
        lines.push(Wanted {
            kind: LineKind::Wire,
            sites: chain(controller, &valves),
        });
    }
    for cable in &system.cables {
        let ends = cable
            .points
            .iter()
            .map(|p| sites.add(*p, NodeKind::CableEnd(cable.id.clone())));
        lines.push(Wanted {
            kind: LineKind::Cable(cable.id.clone()),
            sites: ends.collect(),
        });
    }
    lines.retain(|line| line.sites.len() > 1);
    (sites.0, lines)
}

fn chain(root: usize, others: &[usize]) -> Vec<usize> {
    let mut all = vec![root];
    for other in others {
        if !all.contains(other) {
            all.push(*other);
        }
    }
    all
}

#[derive(Default)]
struct Sites(Vec<Site>);

impl Sites {
    /// Components on the same place share a site.
    fn add(&mut self, at: Place, what: NodeKind) -> usize {
        let at = Coord::from(at);
        let same = |site: &Site| {
            let (x, y) = (site.at.x - at.x, site.at.y - at.y);
            // Most are far away, which is seen without a root.
            x.abs() < 1e-3 && y.abs() < 1e-3 && x.hypot(y) < 1e-3
        };
        self.0.iter().position(same).unwrap_or_else(|| {
            self.0.push(Site { at, what });
            self.0.len() - 1
        })
    }
}
