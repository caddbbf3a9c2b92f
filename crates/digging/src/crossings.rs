//! Where trenches meet buried services of others: how far apart they come to lie, what has to be
//! exposed by hand first, and what is too close.
//!
//! A separation is *expected*: it rests on the survey's line, depth and width, and these are not exact.
//! What the survey does not know is told as unknown and never taken as enough. Says nothing about
//! whether a machine may work near a service: the owner, the one-call service and local law do.

mod geometry;
#[cfg(test)]
mod tests;
mod told;

pub(crate) use told::{findings, put_figures};

use crate::contents::bundle;
use crate::{Content, Dig, feasible};
use job::prices::MethodKind;
use job::{Job, Place, Utility};
use quantity::{Angle, Length};
use routes::{Network, NodeKind, StretchId, Zone};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A stretch that crosses a buried service or runs in its tolerance zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CrossingCheck {
    /// The stretch.
    pub stretch: StretchId,
    /// The service's feature id.
    pub utility: String,
    /// The service's class in words.
    pub service: String,
    /// How they meet.
    pub meeting: Meeting,
    /// Where they cross or come nearest.
    pub at: Place,
    /// Angle between trench and service there, 90° is square.
    pub angle: Angle,
    /// From grade to the service's top, if the survey knows it.
    pub service_depth: Option<Length>,
    /// Outside width of the service, if the survey knows it.
    pub service_width: Option<Length>,
    /// From grade to the floor of the cut.
    pub cut_depth: Length,
    /// Expected vertical separation; `None` if it is not known.
    pub vertical: Option<Separation>,
    /// Expected horizontal separation between outside faces, where they do not cross.
    pub horizontal: Option<Length>,
    /// Whether the service has to be exposed by hand before anything else is dug here.
    pub expose: bool,
    /// Why, or why not.
    pub expose_why: String,
    /// Whether that is enough.
    pub verdict: Verdict,
}

/// How a trench meets a service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Meeting {
    /// It crosses it.
    Crosses,
    /// It runs in its tolerance zone.
    Along,
}

/// Expected vertical separation of what lies in a trench from a service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Separation {
    /// What comes nearest.
    pub what: String,
    /// Between outside faces; below 0 they would lie in one another.
    pub clear: Length,
    /// On which side of the service it passes.
    pub passes: Passes,
}

/// On which side of a service something passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Passes {
    /// Above it.
    Over,
    /// Below it.
    Under,
}

/// Whether a separation is enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// As far apart as the practice asks, if the survey is right.
    Enough,
    /// The survey does not know enough to tell.
    Unknown,
    /// Closer than the practice allows.
    TooClose,
}

/// A component in the tolerance zone of a buried service.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct NearService {
    /// The component's feature id.
    pub component: String,
    /// What it is, in words.
    pub what: String,
    /// Where.
    pub at: Place,
    /// The service's feature id.
    pub utility: String,
    /// From its middle to the service's outside face; below 0 it stands over it.
    pub horizontal: Length,
}

/// A zone in which one digs by hand, with all that lies in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct HandZone {
    /// The zone.
    pub zone: Zone,
    /// Why one digs by hand there.
    pub reason: String,
    /// Stretches in it.
    pub stretches: Vec<StretchId>,
    /// Their length together.
    pub length: Length,
}

/// Expected vertical separation of things from a service whose top lies at `depth`; of the one that
/// comes nearest. `None` where the service's depth is not known, or where something lies beside or
/// below a service whose height is not known.
pub fn separation(
    contents: &[Content],
    depth: Option<Length>,
    width: Option<Length>,
) -> Option<Separation> {
    let depth = depth?;
    let each: Option<Vec<Separation>> = contents
        .iter()
        .map(|content| {
            let underside = content.cover + bundle(content.outside, content.count).1;
            let over = depth - underside;
            let (clear, passes) = match width {
                _ if over >= Length::ZERO => (over, Passes::Over),
                None => return None,
                Some(width) => {
                    let under = content.cover - (depth + width);
                    if under > over {
                        (under, Passes::Under)
                    } else {
                        (over, Passes::Over)
                    }
                }
            };
            Some(Separation {
                what: content.what.clone(),
                clear,
                passes,
            })
        })
        .collect();
    each?.into_iter().min_by(|a, b| a.clear.total_cmp(&b.clear))
}

/// All checks: crossings in the order of the network, then stretches along services.
pub(crate) fn checks(job: &Job, network: &Network, digs: &[Dig]) -> Vec<CrossingCheck> {
    let crossing = network.crossings.iter().filter_map(|c| {
        let meet = Meet {
            utility: utility(job, &c.utility)?,
            dig: digs.get(c.stretch.index())?,
            at: c.at,
            angle: c.angle,
            horizontal: None,
        };
        Some(meet.check(job))
    });
    let mut all: Vec<CrossingCheck> = crossing.collect();
    for dig in digs {
        let zones = &network.stretch(dig.stretch).ground.zones;
        let ids = zones.iter().filter_map(|zone| match zone {
            Zone::Utility(id) => Some(id),
            _ => None,
        });
        all.extend(ids.filter_map(|id| along(job, network, dig, id)));
    }
    all
}

fn utility<'a>(job: &'a Job, id: &str) -> Option<&'a Utility> {
    job.survey.utilities.iter().find(|u| u.id == id)
}

/// A stretch in a tolerance zone that does not cross the service, nor only leads to a crossing.
fn along(job: &Job, network: &Network, dig: &Dig, id: &str) -> Option<CrossingCheck> {
    let crosses = |stretch: StretchId| {
        let mut crossings = network.crossings.iter();
        crossings.any(|c| c.stretch == stretch && c.utility == id)
    };
    if crosses(dig.stretch) {
        return None;
    }
    let utility = utility(job, id)?;
    let stretch = network.stretch(dig.stretch);
    let service: Vec<Place> = utility.line.0.iter().map(|c| Place::from(*c)).collect();
    let nearest = geometry::nearest(&stretch.path, &service)?;
    let leads_there = [stretch.from, stretch.to].into_iter().any(|node| {
        let here = network.node(node).at.distance(nearest.at) <= geometry::SAME_PLACE;
        let meets = |(other, s): (StretchId, &routes::Stretch)| {
            (s.from == node || s.to == node) && crosses(other)
        };
        here && network.iter().any(meets)
    });
    if leads_there {
        return None;
    }
    let meet = Meet {
        utility,
        dig,
        at: nearest.at,
        angle: nearest.angle,
        horizontal: Some(nearest.distance - half_width(dig) - utility.width * 0.5),
    };
    Some(meet.check(job))
}

/// Half of what lies or is cut there.
fn half_width(dig: &Dig) -> Length {
    let contents = dig.section.contents.iter();
    let across = contents.map(|c| bundle(c.outside, c.count).0);
    across.fold(dig.section.width, Length::max) * 0.5
}

/// A stretch and a service where they meet.
struct Meet<'a> {
    utility: &'a Utility,
    dig: &'a Dig,
    at: Place,
    angle: Angle,
    horizontal: Option<Length>,
}

impl Meet<'_> {
    fn check(self, job: &Job) -> CrossingCheck {
        let utility = self.utility;
        let width = (utility.width > Length::ZERO).then_some(utility.width);
        let vertical = separation(&self.dig.section.contents, utility.depth, width);
        let (expose, expose_why) = self.expose(job);
        CrossingCheck {
            stretch: self.dig.stretch,
            utility: utility.id.clone(),
            service: utility.class.label().to_owned(),
            meeting: match self.horizontal {
                Some(_) => Meeting::Along,
                None => Meeting::Crosses,
            },
            at: self.at,
            angle: self.angle,
            service_depth: utility.depth,
            service_width: width,
            cut_depth: self.dig.section.depth,
            verdict: self.verdict(job, vertical.as_ref()),
            vertical,
            horizontal: self.horizontal,
            expose,
            expose_why,
        }
    }

    fn verdict(&self, job: &Job, vertical: Option<&Separation>) -> Verdict {
        let rules = &job.practice.utility;
        let beside = self
            .horizontal
            .map(|h| h >= rules.horizontal_clearance.value);
        let above = vertical.map(|v| v.clear >= rules.vertical_clearance.value);
        match (beside, above) {
            // Where it was not located, it may lie elsewhere.
            (Some(true), _) | (_, Some(true)) if self.utility.located => Verdict::Enough,
            (None | Some(false), Some(false)) => Verdict::TooClose,
            _ => Verdict::Unknown,
        }
    }

    fn expose(&self, job: &Job) -> (bool, String) {
        let utility = self.utility;
        let tolerance = job.practice.utility.tolerance.value;
        let show = |l: Length| l.small().show(job.units);
        let method = job.prices.method.get(&self.dig.method);
        if method.is_some_and(|m| m.kind == MethodKind::Surface) {
            return (false, "nothing is dug here".to_owned());
        }
        if !utility.located {
            return (true, "it has not been located".to_owned());
        }
        if !utility.marked {
            return (true, "it is not marked on the ground".to_owned());
        }
        let Some(depth) = utility.depth else {
            return (true, "its depth is not known".to_owned());
        };
        let left = depth - self.dig.section.depth;
        if left < Length::ZERO {
            let by = show(Length::ZERO - left);
            (true, format!("the cut goes {by} below its top"))
        } else if left < tolerance {
            let within = show(left);
            (
                true,
                format!("the cut comes within {within} of its top, and depths are not exact"),
            )
        } else {
            (
                false,
                format!(
                    "the cut stays {} above it, more than the {} of the tolerance zone; one digs by \
                     hand all the same",
                    show(left),
                    show(tolerance)
                ),
            )
        }
    }
}

/// Components in tolerance zones, by service and then by node.
pub(crate) fn near_services(job: &Job, network: &Network) -> Vec<NearService> {
    let tolerance = job.practice.utility.tolerance.value;
    let mut found = Vec::new();
    for utility in &job.survey.utilities {
        let service: Vec<Place> = utility.line.0.iter().map(|c| Place::from(*c)).collect();
        for node in &network.nodes {
            let Some((id, what)) = component(&node.what) else {
                continue;
            };
            let Some(nearest) = geometry::nearest(&[node.at], &service) else {
                continue;
            };
            let horizontal = nearest.distance - utility.width * 0.5;
            if horizontal < tolerance {
                found.push(NearService {
                    component: id.clone(),
                    what: what.to_owned(),
                    at: node.at,
                    utility: utility.id.clone(),
                    horizontal,
                });
            }
        }
    }
    found
}

fn component(kind: &NodeKind) -> Option<(&String, &'static str)> {
    match kind {
        NodeKind::Source(id) => Some((id, "water source")),
        NodeKind::Backflow(id) => Some((id, "backflow assembly")),
        NodeKind::Controller(id) => Some((id, "controller")),
        NodeKind::Valve(id) => Some((id, "valve")),
        NodeKind::Outlet(id) => Some((id, "head or drip point")),
        NodeKind::CableEnd(id) => Some((id, "end of a cable")),
        NodeKind::Junction | NodeKind::Change => None,
    }
}

/// Zones in which one digs by hand, each with its length.
pub(crate) fn hand_zones(job: &Job, network: &Network) -> Vec<HandZone> {
    let mut by_zone: BTreeMap<&Zone, Vec<StretchId>> = BTreeMap::new();
    for (id, stretch) in network.iter() {
        for zone in &stretch.ground.zones {
            by_zone.entry(zone).or_default().push(id);
        }
    }
    by_zone
        .into_iter()
        .map(|(zone, stretches)| HandZone {
            zone: zone.clone(),
            reason: feasible::zone_reason(job, zone),
            length: stretches.iter().map(|id| network.stretch(*id).length).sum(),
            stretches,
        })
        .collect()
}
