//! Parts of a plan in words, the same in every table.

use job::{Job, MethodId, Place};
use plan::Plan;
use plan::digging::Dig;
use plan::price::CostGroup;
use plan::routes::{NodeId, NodeKind, Stretch, Zone};

/// A node: the feature that stands there, else its number.
pub fn node(job: &Job, plan: &Plan, id: NodeId) -> String {
    let node = plan.network.node(id);
    match &node.what {
        NodeKind::Source(feature)
        | NodeKind::Backflow(feature)
        | NodeKind::Controller(feature)
        | NodeKind::Valve(feature)
        | NodeKind::Outlet(feature) => feature.clone(),
        NodeKind::CableEnd(feature) => match cable_end(job, feature, node.at) {
            Some(number) => format!("{feature}.{number}"),
            None => format!("{feature} {id}"),
        },
        NodeKind::Junction | NodeKind::Change => id.to_string(),
    }
}

/// Which end of a cable lies at a place, counted from 1 in the order of the job.
fn cable_end(job: &Job, cable: &str, at: Place) -> Option<usize> {
    let cable = job.system.cables.iter().find(|c| c.id == cable)?;
    let ends = cable.points.iter().zip(1..);
    ends.min_by(|a, b| a.0.distance(at).total_cmp(&b.0.distance(at)))
        .map(|(_, number)| number)
}

/// What lies in a trench.
pub fn contents(dig: &Dig) -> String {
    let contents = dig.section.contents.iter();
    let words: Vec<&str> = contents.map(|content| content.what.as_str()).collect();
    words.join(" + ")
}

/// A group of cost lines.
pub fn cost_group(group: CostGroup) -> &'static str {
    match group {
        CostGroup::Labour => "labour",
        CostGroup::Machine => "machines",
        CostGroup::Material => "material",
        CostGroup::Subtrade => "work of others",
        CostGroup::Restoration => "restoration",
        CostGroup::Disposal => "disposal",
        CostGroup::Fee => "permits and locates",
        CostGroup::Other => "other",
        CostGroup::Tax => "taxes on purchases",
        CostGroup::Contingency => "contingency",
    }
}

/// A method as the price book calls it.
pub fn method(job: &Job, id: &MethodId) -> String {
    let method = job.prices.method.get(id);
    method.map_or_else(|| id.to_string(), |method| method.label.clone())
}

/// Where one digs by hand.
pub fn zones(stretch: &Stretch) -> String {
    let zones = stretch.ground.zones.iter().map(|zone| match zone {
        Zone::Utility(id) => format!("service {id}"),
        Zone::Roots(id) => format!("roots of {id}"),
        Zone::Structure(id) => format!("close to {id}"),
    });
    zones.collect::<Vec<_>>().join("; ")
}

/// The sleeve of a stretch.
pub fn sleeve(stretch: &Stretch) -> String {
    match &stretch.sleeve {
        None => String::new(),
        Some(sleeve) => match &sleeve.existing {
            Some(id) => format!("{id} under {}", sleeve.paving),
            None => format!("new under {}", sleeve.paving),
        },
    }
}
