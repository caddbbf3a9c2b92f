//! Source, backflow assembly, controller, valves, heads: plain shapes, explained in the legend.

use crate::Scene;
use crate::labels::Placing;
use crate::pressure::{self, Mark};
use crate::purpose::Purpose;
use crate::style::INK;
use crate::svg::{Point, Svg, closed_path, open_path};
use job::{Manifold, OutletKind, Valve};
use std::collections::BTreeMap;

/// A component's shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Symbol {
    Source,
    Backflow,
    Controller,
    Valve,
    ValveGroup,
    Head,
    Drip,
    CableEnd,
    /// A place for valves on which none stands.
    Manifold,
}

impl Symbol {
    /// How far it reaches from its middle.
    pub fn radius(self) -> f64 {
        match self {
            Self::Source => 2.3,
            Self::Backflow | Self::Controller => 2.2,
            Self::Valve => 1.7,
            Self::ValveGroup => 2.4,
            Self::Head => 1.15,
            Self::Drip => 1.3,
            Self::CableEnd => 1.1,
            Self::Manifold => 1.5,
        }
    }

    pub fn draw(self, svg: &mut Svg, at: Point) {
        let on_white = format!("fill=\"#ffffff\" stroke=\"{INK}\" stroke-width=\"0.4\"");
        let solid = format!("fill=\"{INK}\"");
        let shape = |corners: &[(f64, f64)]| {
            let points: Vec<Point> = corners
                .iter()
                .map(|(x, y)| Point::new(at.x + x, at.y + y))
                .collect();
            closed_path(&points)
        };
        match self {
            Self::Source => {
                svg.circle(at, 2.3, &on_white);
                svg.circle(at, 1.2, &solid);
            }
            Self::Backflow => {
                svg.path(&square(&shape, 2.2), &on_white);
                svg.path(&shape(&[(-1.7, -1.3), (-1.7, 1.3), (0.0, 0.0)]), &solid);
                svg.path(&shape(&[(1.7, -1.3), (1.7, 1.3), (0.0, 0.0)]), &on_white);
            }
            Self::Controller => {
                svg.path(&square(&shape, 2.2), &on_white);
                svg.path(&square(&shape, 1.1), &solid);
            }
            Self::Valve => {
                svg.path(&diamond(&shape, 1.7), &on_white);
                svg.circle(at, 0.55, &solid);
            }
            Self::ValveGroup => {
                svg.path(&square(&shape, 2.4), &on_white);
                svg.path(&diamond(&shape, 1.8), &on_white);
                svg.circle(at, 0.6, &solid);
            }
            Self::Head => {
                svg.circle(at, 1.1, &on_white);
                svg.circle(at, 0.35, &solid);
            }
            Self::Drip => {
                svg.path(&shape(&[(0.0, -1.3), (1.2, 0.9), (-1.2, 0.9)]), &on_white);
                svg.circle(Point::new(at.x, at.y + 0.2), 0.3, &solid);
            }
            Self::CableEnd => {
                svg.path(&square(&shape, 0.95), &on_white);
                let bar = [
                    Point::new(at.x - 0.95, at.y + 0.95),
                    Point::new(at.x + 0.95, at.y - 0.95),
                ];
                svg.path(&open_path(&bar), &on_white);
            }
            Self::Manifold => {
                let edge = format!("fill=\"#ffffff\" stroke=\"{INK}\" stroke-width=\"0.3\"");
                let dashes = format!("{edge} stroke-dasharray=\"0.8 0.5\"");
                svg.path(&diamond(&shape, 1.5), &dashes);
            }
        }
    }

    pub fn label(self) -> &'static str {
        match self {
            Self::Source => "water source",
            Self::Backflow => "backflow assembly",
            Self::Controller => "controller",
            Self::Valve => "valve in its box",
            Self::ValveGroup => "valves together",
            Self::Head => "head",
            Self::Drip => "drip area, its feed",
            Self::CableEnd => "end of a cable",
            Self::Manifold => "place for valves, not used",
        }
    }
}

type Shape<'a> = dyn Fn(&[(f64, f64)]) -> String + 'a;

fn square(shape: &Shape, r: f64) -> String {
    shape(&[(-r, -r), (r, -r), (r, r), (-r, r)])
}

fn diamond(shape: &Shape, r: f64) -> String {
    shape(&[(0.0, -r), (r, 0.0), (0.0, r), (-r, 0.0)])
}

/// A symbol at its place with the lines of its label.
pub struct Component {
    pub symbol: Symbol,
    pub at: Point,
    pub lines: Vec<String>,
    /// How its pressure stands, of a head or drip point.
    pub mark: Option<Mark>,
}

impl Component {
    /// How far it reaches from its middle, its mark with it.
    pub fn radius(&self) -> f64 {
        let mark = self.mark.as_ref().map_or(0.0, Mark::radius);
        self.symbol.radius().max(mark)
    }
}

/// Everything with a symbol, in the order in which it is drawn: the weightiest last, on top.
pub fn of(scene: &Scene) -> Vec<Component> {
    if !scene.purpose.shows_components() {
        return Vec::new();
    }
    let system = &scene.job.system;
    let one = |symbol, place, line: String| Component {
        symbol,
        at: scene.view.point(place),
        lines: vec![line],
        mark: None,
    };
    let mut all = Vec::new();
    for cable in &system.cables {
        let ends = cable.points.iter().enumerate();
        all.extend(ends.map(|(i, &place)| {
            let name = if i == 0 {
                format!("{}.1 {}", cable.id, cable.service)
            } else {
                format!("{}.{}", cable.id, i + 1)
            };
            one(Symbol::CableEnd, place, name)
        }));
    }
    let mut marks = match scene.purpose {
        Purpose::Plan => pressure::marks(scene),
        _ => BTreeMap::new(),
    };
    all.extend(system.outlets.iter().map(|outlet| {
        let symbol = match outlet.kind {
            OutletKind::Head => Symbol::Head,
            OutletKind::Drip => Symbol::Drip,
        };
        Component {
            mark: marks.remove(outlet.id.as_str()),
            ..one(symbol, outlet.at, outlet.id.clone())
        }
    }));
    all.extend(
        unused_manifolds(scene)
            .map(|manifold| one(Symbol::Manifold, manifold.at, manifold.id.clone())),
    );
    all.extend(valve_groups(scene));
    if let Some(controller) = &system.controller {
        let name = format!("{} controller", controller.id);
        all.push(one(Symbol::Controller, controller.at, name));
    }
    let backflow = &system.backflow;
    let name = format!("{} backflow", backflow.id);
    all.push(one(Symbol::Backflow, backflow.at, name));
    let name = format!("{} source", system.source.id);
    all.push(one(Symbol::Source, system.source.at, name));
    all.retain(|component| scene.window.within(-3.0).holds(component.at));
    all
}

pub fn draw(svg: &mut Svg, scene: &Scene, placing: &mut Placing) {
    for component in of(scene) {
        component.symbol.draw(svg, component.at);
        if let Some(mark) = &component.mark {
            mark.draw(svg, component.at);
        }
        placing.keep_off(component.at, component.radius());
    }
}

/// Nearer than this a valve stands on a manifold, metres.
const SAME_PLACE: f64 = 0.05;

fn unused_manifolds<'a>(scene: &Scene<'a>) -> impl Iterator<Item = &'a Manifold> {
    let system = &scene.job.system;
    system.manifolds.iter().filter(|manifold| {
        !system.valves.iter().any(|valve| {
            valve.manifold.as_ref() == Some(&manifold.id)
                || valve.at.distance(manifold.at) < SAME_PLACE
        })
    })
}

/// Valves whose symbols would lie on each other get one symbol and one label.
fn valve_groups(scene: &Scene) -> Vec<Component> {
    let mut groups: Vec<Vec<&Valve>> = Vec::new();
    for valve in &scene.job.system.valves {
        let at = scene.view.point(valve.at);
        let near = |other: &&Valve| scene.view.point(other.at).distance(at) < 3.6;
        match groups.iter_mut().find(|group| group.iter().any(near)) {
            Some(group) => group.push(valve),
            None => groups.push(vec![valve]),
        }
    }
    groups
        .iter()
        .map(|group| valve_group(scene, group))
        .collect()
}

fn valve_group(scene: &Scene, valves: &[&Valve]) -> Component {
    let places: Vec<Point> = valves.iter().map(|v| scene.view.point(v.at)).collect();
    let count = places.len() as f64;
    let at = Point::new(
        places.iter().map(|p| p.x).sum::<f64>() / count,
        places.iter().map(|p| p.y).sum::<f64>() / count,
    );
    let lines = valves
        .iter()
        .map(|valve| format!("{} for {}", valve.id, valve.circuit))
        .collect();
    let symbol = if valves.len() > 1 {
        Symbol::ValveGroup
    } else {
        Symbol::Valve
    };
    Component {
        symbol,
        at,
        lines,
        mark: None,
    }
}
