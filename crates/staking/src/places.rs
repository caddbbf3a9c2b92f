//! The points to mark: one for every place, with all that is there.

use crate::Role;
use job::{Job, OutletKind, Place};
use routes::{Network, NodeId, NodeKind, Stretch};
use rstar::RTree;
use rstar::primitives::GeomWithData;

/// Nearer than this is the same place, metres.
const SAME: f64 = 0.005;
/// A way that turns by less than this, radians, runs straight on.
const STRAIGHT: f64 = 0.01;

/// A place with what is there.
#[derive(Debug, Clone)]
pub struct Marked {
    pub at: Place,
    pub roles: Vec<Role>,
    pub features: Vec<String>,
}

/// All places, in the order in which stretches are walked; components apart from trenches last.
pub fn all(job: &Job, network: &Network) -> Vec<Marked> {
    let mut places = Places::default();
    let around = around(network);
    for (id, stretch) in network.iter() {
        node(&mut places, network, &around, stretch.from);
        for turn in stretch.path.windows(3) {
            if turns(turn[0], turn[1], turn[2]) {
                places.add(turn[1], Role::Bend, None);
            }
        }
        for crossing in network.crossings.iter().filter(|c| c.stretch == id) {
            places.add(crossing.at, Role::Crossing, Some(&crossing.utility));
        }
        node(&mut places, network, &around, stretch.to);
    }
    components(&mut places, job);
    places.marked
}

/// The stretches at each node.
fn around(network: &Network) -> Vec<Vec<&Stretch>> {
    let mut around = vec![Vec::new(); network.nodes.len()];
    for stretch in &network.stretches {
        for end in [stretch.from, stretch.to] {
            around[end.index()].push(stretch);
        }
    }
    around
}

fn turns(before: Place, at: Place, after: Place) -> bool {
    let (ax, ay) = (at.x - before.x, at.y - before.y);
    let (bx, by) = (after.x - at.x, after.y - at.y);
    (ax * by - ay * bx).atan2(ax * bx + ay * by).abs() > STRAIGHT
}

fn node(places: &mut Places, network: &Network, around: &[Vec<&Stretch>], id: NodeId) {
    let node = network.node(id);
    let here = &around[id.index()];
    if node.what.component().is_some() {
        // What stands there is added with its features once all stretches are walked.
        places.at(node.at);
    }
    if let NodeKind::Junction = node.what {
        places.add(node.at, Role::Junction, None);
    }
    match here.as_slice() {
        [_] if node.what.component().is_none() => places.add(node.at, Role::End, None),
        [one, other] => {
            let (one, other) = (one.path_from(id), other.path_from(id));
            if let ([_, before, ..], [_, after, ..]) = (one.as_slice(), other.as_slice())
                && turns(*before, node.at, *after)
            {
                places.add(node.at, Role::Bend, None);
            }
        }
        _ => {}
    }
    let sleeved = here.iter().filter(|s| s.sleeve.is_some()).count();
    if sleeved == 1 {
        places.add(node.at, Role::SleeveEnd, None);
    }
}

fn components(places: &mut Places, job: &Job) {
    let system = &job.system;
    places.add(system.source.at, Role::Source, Some(&system.source.id));
    let backflow = &system.backflow;
    places.add(backflow.at, Role::Backflow, Some(&backflow.id));
    if let Some(controller) = &system.controller {
        places.add(controller.at, Role::Controller, Some(&controller.id));
    }
    for valve in &system.valves {
        places.add(valve.at, Role::Valve, Some(&valve.id));
        if let Some(manifold) = &valve.manifold {
            places.add(valve.at, Role::Manifold, Some(manifold));
        }
    }
    for outlet in &system.outlets {
        let role = match outlet.kind {
            OutletKind::Head => Role::Head,
            OutletKind::Drip => Role::Drip,
        };
        places.add(outlet.at, role, Some(&outlet.id));
    }
    for cable in &system.cables {
        for at in &cable.points {
            places.add(*at, Role::CableEnd, Some(&cable.id));
        }
    }
}

#[derive(Default)]
struct Places {
    marked: Vec<Marked>,
    known: RTree<GeomWithData<[f64; 2], usize>>,
}

impl Places {
    /// The point at a place, the same for all places that are as good as one.
    fn at(&mut self, at: Place) -> &mut Marked {
        let near = self
            .known
            .locate_within_distance([at.x, at.y], SAME * SAME)
            .map(|known| known.data)
            .min();
        let index = near.unwrap_or_else(|| {
            let index = self.marked.len();
            self.known.insert(GeomWithData::new([at.x, at.y], index));
            self.marked.push(Marked {
                at,
                roles: Vec::new(),
                features: Vec::new(),
            });
            index
        });
        &mut self.marked[index]
    }

    fn add(&mut self, at: Place, role: Role, feature: Option<&String>) {
        let marked = self.at(at);
        if !marked.roles.contains(&role) {
            marked.roles.push(role);
        }
        if let Some(feature) = feature.filter(|f| !marked.features.contains(f)) {
            marked.features.push(feature.clone());
        }
    }
}
