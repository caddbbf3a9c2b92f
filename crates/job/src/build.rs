//! From a draft against which nothing stands to the job.

use quantity::Length;

use crate::draft::{Draft, Item, OutletItem};
use crate::file::{Header, SourceMembers, UtilityMembers};
use crate::overlay::Local;
use crate::*;

/// The seed of a job that gives none.
const SEED: u64 = 1;

/// The job; nothing if a required member of the draft is missing, of which a finding speaks.
pub(crate) fn job(header: &Header, draft: Draft, local: Local) -> Option<Job> {
    let (survey, system, decisions) = parts(draft)?;
    Some(Job {
        name: header.name.get()?.clone(),
        invented: header.invented.get().copied().unwrap_or(false),
        length_unit: *header.length_unit.get()?,
        units: *header.display.get()?,
        seed: header.seed.get().copied().unwrap_or(SEED),
        anchor: header.anchor.get().map(|a| a.0),
        survey,
        system,
        decisions,
        practice: local.practice,
        prices: local.prices,
    })
}

fn parts(draft: Draft) -> Option<(Survey, System, Decisions)> {
    let survey = Survey {
        boundary: first(draft.boundaries, boundary)?,
        surfaces: each(draft.surfaces, surface)?,
        obstacles: each(draft.obstacles, obstacle)?,
        trees: each(draft.trees, tree)?,
        utilities: each(draft.utilities, utility)?,
        soils: each(draft.soils, soil)?,
        steeps: each(draft.steeps, steep)?,
        spots: each(draft.spots, spot)?,
        gates: each(draft.gates, gate)?,
        accesses: each(draft.accesses, access)?,
        marks: each(draft.marks, mark)?,
        baseline: each(draft.baselines, baseline)?.into_iter().next(),
    };
    let system = System {
        source: first(draft.sources, source)?,
        backflow: first(draft.backflows, backflow)?,
        controller: each(draft.controllers, controller)?.into_iter().next(),
        circuits: each(draft.circuits, circuit)?,
        valves: each(draft.valves, valve)?,
        manifolds: each(draft.manifolds, manifold)?,
        outlets: draft
            .outlets
            .into_iter()
            .map(outlet)
            .collect::<Option<_>>()?,
        cables: each(draft.cables, cable)?,
        sleeves: each(draft.sleeves, sleeve)?,
    };
    let carried = |name: &str| carried(name, &system);
    let decisions = Decisions {
        keep_outs: each(draft.keep_outs, keep_out)?,
        corridors: each(draft.corridors, corridor)?,
        fixed: draft
            .fixed_trenches
            .into_iter()
            .map(|item| fixed_trench(item, &carried))
            .collect::<Option<_>>()?,
    };
    Some((survey, system, decisions))
}

fn each<G, M, T>(items: Vec<Item<G, M>>, one: fn(Item<G, M>) -> Option<T>) -> Option<Vec<T>> {
    items.into_iter().map(one).collect()
}

fn first<G, M, T>(items: Vec<Item<G, M>>, one: fn(Item<G, M>) -> Option<T>) -> Option<T> {
    items.into_iter().next().and_then(one)
}

fn boundary(item: Item<geo::Polygon, file::Bare>) -> Option<Boundary> {
    Some(Boundary {
        id: item.id,
        polygon: item.shape?,
    })
}

fn surface(item: Item<Option<geo::Polygon>, file::SurfaceMembers>) -> Option<Surface> {
    Some(Surface {
        id: item.id,
        kind: *item.has.surface.get()?,
        polygon: item.shape?,
    })
}

fn obstacle(item: Item<Shape, file::ObstacleMembers>) -> Option<Obstacle> {
    Some(Obstacle {
        id: item.id,
        kind: *item.has.obstacle.get()?,
        shape: item.shape?,
    })
}

fn tree(item: Item<Place, file::TreeMembers>) -> Option<Tree> {
    Some(Tree {
        id: item.id,
        at: item.shape?,
        trunk: item.has.trunk.get()?.0,
        root_radius: item.has.root_radius.get().map(|r| r.0),
    })
}

fn utility(item: Item<geo::LineString, UtilityMembers>) -> Option<Utility> {
    Some(Utility {
        id: item.id,
        class: *item.has.service.get()?,
        line: item.shape?,
        width: item.has.width.get().map_or(Length::ZERO, |w| w.0),
        depth: item.has.depth.get().map(|d| d.0),
        located: *item.has.located.get()?,
        marked: *item.has.marked.get()?,
    })
}

fn soil(item: Item<Option<geo::Polygon>, file::SoilMembers>) -> Option<SoilArea> {
    Some(SoilArea {
        id: item.id,
        soil: Soil {
            texture: *item.has.texture.get()?,
            coarse: item.has.coarse.get()?.0,
            stone: item.has.stone.get().map(|s| s.0),
            moisture: *item.has.moisture.get()?,
        },
        polygon: item.shape?,
    })
}

fn steep(item: Item<geo::Polygon, file::SteepMembers>) -> Option<Steep> {
    Some(Steep {
        id: item.id,
        slope: item.has.slope.get()?.0,
        polygon: item.shape?,
    })
}

fn spot(item: Item<Place, file::SpotMembers>) -> Option<Spot> {
    Some(Spot {
        id: item.id,
        at: item.shape?,
        elevation: item.has.elevation.get()?.0,
    })
}

fn gate(item: Item<(Place, Place), file::GateMembers>) -> Option<Gate> {
    let (from, to) = item.shape?;
    Some(Gate {
        id: item.id,
        from,
        to,
        clear_width: item.has.clear_width.get()?.0,
    })
}

fn access(item: Item<Place, file::Bare>) -> Option<Access> {
    Some(Access {
        id: item.id,
        at: item.shape?,
    })
}

fn mark(item: Item<Place, file::Bare>) -> Option<Mark> {
    Some(Mark {
        id: item.id,
        at: item.shape?,
    })
}

fn baseline(item: Item<(Place, Place), file::Bare>) -> Option<Baseline> {
    let (from, to) = item.shape?;
    Some(Baseline {
        id: item.id,
        from,
        to,
    })
}

fn source(item: Item<Place, SourceMembers>) -> Option<Source> {
    Some(Source {
        id: item.id,
        at: item.shape?,
        static_pressure: item.has.static_pressure.get()?.0,
        test_flow: item.has.test_flow.get()?.0,
        residual_pressure: item.has.residual_pressure.get()?.0,
        service_size: item.has.service_size.get()?.clone(),
        main_pipe: item.has.main_pipe.get()?.clone(),
        pump: item.has.pump.get().map(|c| c.0.clone()),
        meter_loss: item.has.meter_loss.get().map(|c| c.0.clone()),
        filter_loss: item.has.filter_loss.get().map(|c| c.0.clone()),
        regulated: item.has.regulated.get().map(|p| p.0),
    })
}

fn backflow(item: Item<Place, file::BackflowMembers>) -> Option<Backflow> {
    Some(Backflow {
        id: item.id,
        at: item.shape?,
        loss: item.has.loss.get().map(|l| l.0.clone()),
    })
}

fn controller(item: Item<Place, file::Bare>) -> Option<Controller> {
    Some(Controller {
        id: item.id,
        at: item.shape?,
    })
}

fn circuit(item: Item<(), file::CircuitMembers>) -> Option<Circuit> {
    Some(Circuit {
        id: item.id,
        name: item.has.name.get()?.clone(),
        pipe: item.has.pipe.get()?.clone(),
        runs_with: item.has.runs_with.get().cloned(),
    })
}

fn valve(item: Item<Place, file::ValveMembers>) -> Option<Valve> {
    Some(Valve {
        id: item.id,
        at: item.shape?,
        circuit: item.has.circuit.get()?.clone(),
        manifold: item.has.manifold.get().cloned(),
        loss: item.has.loss.get().map(|l| l.0.clone()),
    })
}

fn manifold(item: Item<Place, file::Bare>) -> Option<Manifold> {
    Some(Manifold {
        id: item.id,
        at: item.shape?,
    })
}

fn outlet(outlet: OutletItem) -> Option<Outlet> {
    let item = outlet.item;
    Some(Outlet {
        id: item.id,
        kind: outlet.kind,
        at: item.shape?,
        circuit: item.has.circuit.get().cloned().unwrap_or_default(),
        flow: item.has.flow.get()?.0,
        pressure: item.has.pressure.get()?.0,
        exponent: item.has.exponent.get().map(|e| e.0),
        compensating: item.has.compensating.get().copied().unwrap_or(false),
        precipitation: item.has.precipitation.get().map(|p| p.0),
    })
}

fn cable(item: Item<Vec<Place>, file::CableMembers>) -> Option<Cable> {
    Some(Cable {
        id: item.id,
        service: item.has.service.get()?.clone(),
        points: item.shape?,
    })
}

fn sleeve(item: Item<(Place, Place), file::SleeveMembers>) -> Option<Sleeve> {
    let (from, to) = item.shape?;
    Some(Sleeve {
        id: item.id,
        from,
        to,
        inside: item.has.inside.get()?.0,
    })
}

fn keep_out(item: Item<geo::Polygon, file::KeepOutMembers>) -> Option<KeepOut> {
    Some(KeepOut {
        id: item.id,
        polygon: item.shape?,
        reason: item.has.reason.get().cloned(),
    })
}

fn corridor(item: Item<geo::Polygon, file::CorridorMembers>) -> Option<Corridor> {
    Some(Corridor {
        id: item.id,
        polygon: item.shape?,
        favour: item.has.favour.get()?.0,
    })
}

fn fixed_trench(
    item: Item<geo::LineString, file::FixedTrenchMembers>,
    carried: &dyn Fn(&str) -> Option<Carried>,
) -> Option<FixedTrench> {
    let names = item.has.carries.get()?.split(',');
    Some(FixedTrench {
        id: item.id,
        line: item.shape?,
        carries: names
            .map(|name| carried(name.trim()))
            .collect::<Option<_>>()?,
        method: item.has.method.get().cloned().map(MethodId),
    })
}

/// The line of a name, if the system has it.
fn carried(name: &str, system: &System) -> Option<Carried> {
    match name {
        "service" => Some(Carried::Service),
        "main" => Some(Carried::Main),
        "wire" => Some(Carried::Wire),
        _ if system.circuits.iter().any(|c| c.id == name) => {
            Some(Carried::Lateral(name.to_owned()))
        }
        _ if system.cables.iter().any(|c| c.id == name) => Some(Carried::Cable(name.to_owned())),
        _ => None,
    }
}
