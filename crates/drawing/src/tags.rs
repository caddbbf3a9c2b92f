//! The words of the drawing: what is named, and where each name would like to stand.

mod runs;

use crate::Scene;
use crate::area;
use crate::components::{self, Component, Symbol};
use crate::ground::{self, ACCESS, SPOT};
use crate::labels::{Label, Spot, Weight};
use crate::narrows;
use crate::outline;
use crate::purpose::Purpose;
use crate::stakes;
use crate::style::{FINE_TEXT, SMALL_TEXT, TEXT};
use crate::svg::Point;
use crate::trenches::CROSSING;
use geo::{Contains, Coord, Polygon};
use job::{Shape, Surface};

/// All labels, in a fixed order.
pub fn of(scene: &Scene) -> Vec<Label> {
    let mut labels = Vec::new();
    if scene.purpose.names_components() {
        labels.extend(components::of(scene).iter().filter_map(component));
    }
    match scene.purpose {
        Purpose::Plan => {
            labels.extend(crossings(scene));
            labels.extend(gates(scene));
            labels.extend(gaps(scene));
            labels.extend(sleeves(scene));
            labels.extend(runs::sizes(scene));
            labels.extend(site(scene));
            labels.extend(runs::stretch_ids(scene));
        }
        Purpose::Locate => {
            labels.extend(area::labels(scene));
            labels.extend(standing(scene));
        }
        Purpose::Staking => {
            labels.extend(stakes::labels(scene));
            labels.extend(standing(scene));
        }
        Purpose::AsBuilt => {
            labels.extend(sleeves(scene));
            labels.extend(runs::stretch_ids(scene));
            labels.extend(standing(scene));
        }
    }
    // What is set out enlarged is named there; components are named in both places.
    labels.retain(|label| {
        let everywhere = label.weight <= Weight::Component;
        scene.window.holds(label.target) && (everywhere || !scene.is_enlarged(label.target))
    });
    labels
}

/// A label beside a point.
pub fn at_point(lines: Vec<String>, size: f64, weight: Weight, at: Point, radius: f64) -> Label {
    let mut label = Label {
        lines,
        size,
        weight,
        bold: weight == Weight::Component,
        target: at,
        spots: Vec::new(),
        choice: 0,
    };
    label.spots = label.spots_around(at, radius);
    label
}

fn component(component: &Component) -> Option<Label> {
    let note = component.mark.as_ref().and_then(|mark| mark.note.as_ref());
    let lines: Vec<String> = component
        .lines
        .iter()
        .chain(note)
        .filter(|line| !line.is_empty())
        .cloned()
        .collect();
    if lines.is_empty() {
        return None;
    }
    let (size, weight) = match component.symbol {
        Symbol::Head | Symbol::Drip if note.is_some() => (SMALL_TEXT, Weight::Warning),
        Symbol::Head | Symbol::Drip => (SMALL_TEXT, Weight::Head),
        Symbol::CableEnd | Symbol::Manifold => (SMALL_TEXT, Weight::Ground),
        _ => (TEXT, Weight::Component),
    };
    let radius = component.radius();
    Some(at_point(lines, size, weight, component.at, radius))
}

fn crossings(scene: &Scene) -> Vec<Label> {
    let class_of = |id: &str| {
        let mut utilities = scene.job.survey.utilities.iter();
        utilities
            .find(|u| u.id == id)
            .map_or(id.to_owned(), |u| u.class.label().to_owned())
    };
    scene
        .plan
        .network
        .crossings
        .iter()
        .map(|crossing| {
            let angle = crossing.angle.amount().show(scene.units);
            let words = format!("crosses {} {angle}", class_of(&crossing.utility));
            let at = scene.view.point(crossing.at);
            at_point(vec![words], SMALL_TEXT, Weight::Warning, at, CROSSING)
        })
        .collect()
}

fn gates(scene: &Scene) -> Vec<Label> {
    let survey = &scene.job.survey;
    let gate = |gate: &job::Gate| {
        let width = gate.clear_width.small().show(scene.units);
        let middle = scene.view.point(gate.from.toward(gate.to, 0.5));
        let words = format!("{} gate {width}", gate.id);
        let radius = scene.view.paper(gate.from.distance(gate.to) / 2.0).min(4.0);
        at_point(vec![words], SMALL_TEXT, Weight::Warning, middle, radius)
    };
    let access = |access: &job::Access| {
        let at = scene.view.point(access.at);
        let words = vec!["machines".to_owned(), "come in".to_owned()];
        at_point(words, SMALL_TEXT, Weight::Warning, at, ACCESS)
    };
    let gates = survey.gates.iter().map(gate);
    gates.chain(survey.accesses.iter().map(access)).collect()
}

/// How wide the gaps are that are no gates; a gate's label tells its width already.
fn gaps(scene: &Scene) -> Vec<Label> {
    let narrows = scene.plan.digging.narrows.iter();
    narrows
        .filter(|narrow| narrow.gate.is_none())
        .map(|narrow| {
            let (from, to) = narrows::ends(scene, narrow);
            let words = format!("gap {}", narrow.clear.small().show(scene.units));
            let radius = (from.distance(to) / 2.0).min(3.0);
            let at = narrows::middle(from, to);
            at_point(vec![words], FINE_TEXT, Weight::Warning, at, radius)
        })
        .collect()
}

fn sleeves(scene: &Scene) -> Vec<Label> {
    let network = &scene.plan.network;
    network
        .iter()
        .filter_map(|(_, stretch)| {
            let sleeve = stretch.sleeve.as_ref()?;
            let words = match &sleeve.existing {
                Some(id) => format!("sleeve {id}, found"),
                None => "new sleeve".to_owned(),
            };
            let points = outline::path_points(&scene.view, &stretch.path);
            let (middle, _) = outline::along(&points, outline::length(&points) / 2.0)?;
            let label = at_point(vec![words], SMALL_TEXT, Weight::Warning, middle, 1.6);
            Some(label)
        })
        .collect()
}

/// Names of what stands and lies on the property.
fn site(scene: &Scene) -> Vec<Label> {
    let survey = &scene.job.survey;
    let mut labels = standing(scene);
    labels.extend(survey.surfaces.iter().filter_map(|s| surface(scene, s)));
    for steep in &survey.steeps {
        let words = format!("slope {:.0} %", steep.slope.to_percent());
        labels.extend(inside(scene, vec![words], SMALL_TEXT, &steep.polygon));
    }
    for spot in &survey.spots {
        let at = scene.view.point(spot.at);
        let height = spot.elevation.amount().parts(scene.units).0;
        labels.push(at_point(vec![height], FINE_TEXT, Weight::Spot, at, SPOT));
    }
    labels
}

/// Names of what stands on the property.
fn standing(scene: &Scene) -> Vec<Label> {
    let survey = &scene.job.survey;
    let mut labels = Vec::new();
    for obstacle in &survey.obstacles {
        let words = vec![format!("{} {}", obstacle.id, obstacle.kind.label())];
        match &obstacle.shape {
            Shape::Area(polygon) => {
                labels.extend(inside(scene, words, TEXT, polygon));
            }
            Shape::Line(line) => {
                let points = outline::points(&scene.view, line);
                labels.push(runs::along_line(words, &points));
            }
        }
    }
    for tree in &survey.trees {
        let trunk = tree.trunk.small().show(scene.units);
        let at = scene.view.point(tree.at);
        let words = vec![format!("{} trunk {trunk}", tree.id)];
        let radius = ground::trunk_radius(scene, tree);
        labels.push(at_point(words, SMALL_TEXT, Weight::Ground, at, radius));
    }
    labels
}

fn surface(scene: &Scene, surface: &Surface) -> Option<Label> {
    let words = vec![format!("{} {}", surface.id, surface.kind.label())];
    inside(scene, words, SMALL_TEXT, surface.polygon.as_ref()?)
}

/// A label whose middle stays inside the area that it names.
fn inside(scene: &Scene, lines: Vec<String>, size: f64, area: &Polygon) -> Option<Label> {
    let at = outline::inner_point(&scene.view, area)?;
    let mut label = at_point(lines, size, Weight::Ground, at, 0.0);
    let step = label.height() + 1.0;
    let shifts = [0.0, -1.0, 1.0, -2.0, 2.0, -3.0, 3.0, -4.5, 4.5, -6.0, 6.0];
    let within = |spot: &Spot| area.contains(&Coord::from(scene.view.place(spot.middle)));
    label.spots = [0.0, -0.4, 0.4, -0.9, 0.9, -1.5, 1.5]
        .iter()
        .flat_map(|across| shifts.map(|down| (*across, down)))
        .map(|(across, down)| Spot {
            middle: Point::new(at.x + across * label.width(), at.y + down * step),
            turn: 0.0,
        })
        .filter(within)
        .collect();
    Some(label)
}
