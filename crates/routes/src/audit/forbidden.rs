//! What a trench keeps out of and clear of, from the job alone.

use super::geometry::{gap, inside, line_parts, off_parts, parts};
use job::{Job, ObstacleKind, Place, Shape};

/// A side by side list of straight parts.
type Sides = Vec<(Place, Place)>;

/// Something with a clearance around it.
pub struct Thing {
    /// Its id.
    pub id: String,
    sides: Sides,
    /// Whether the inside is forbidden too; for the property line it is the outside that is.
    area: Area,
    clearance: f64,
    /// Whether a sleeve may pass under it.
    pub paving: bool,
}

#[derive(Clone, Copy, PartialEq)]
enum Area {
    Line,
    Inside,
    Outside,
}

impl Thing {
    /// How far a place lies from it, metres; negative inside it.
    pub fn away(&self, p: Place) -> f64 {
        let off = off_parts(p, &self.sides);
        let within = match self.area {
            Area::Line => false,
            Area::Inside => inside(p, &self.sides),
            Area::Outside => !inside(p, &self.sides),
        };
        if within { -off } else { off }
    }

    /// Whether a place lies within its clearance by more than `slack`.
    pub fn crowds(&self, p: Place, slack: f64) -> bool {
        self.away(p) < self.clearance - slack
    }

    /// Whether a straight part may come within its clearance; `false` proves that it does not.
    pub fn may_crowd(&self, part: (Place, Place), slack: f64) -> bool {
        self.away(part.0) < 0.0 || gap(part, &self.sides) < self.clearance - slack
    }

    /// Whether a line that is no area is crossed.
    pub fn is_cut(&self, part: (Place, Place)) -> bool {
        self.area == Area::Line && gap(part, &self.sides) <= 0.0
    }
}

/// Everything with a clearance on one property.
pub fn things(job: &Job) -> Vec<Thing> {
    let rules = &job.practice.clearance;
    let mut all = vec![Thing {
        id: job.survey.boundary.id.clone(),
        sides: parts(&job.survey.boundary.polygon),
        area: Area::Outside,
        clearance: rules.boundary.value.max(rules.along_edge.value).to_m(),
        paving: false,
    }];
    for place in &job.decisions.keep_outs {
        all.push(Thing {
            id: place.id.clone(),
            sides: parts(&place.polygon),
            area: Area::Inside,
            clearance: 0.0,
            paving: false,
        });
    }
    for obstacle in &job.survey.obstacles {
        let clearance = match obstacle.kind {
            ObstacleKind::Building => rules.building.value.max(rules.along_edge.value),
            ObstacleKind::Wall => rules.wall.value.max(rules.along_edge.value),
            ObstacleKind::Pool => rules.pool.value,
            ObstacleKind::Boulder => rules.boulder.value,
            ObstacleKind::Other => rules.other.value,
            ObstacleKind::Fence => continue,
        };
        let (sides, area) = match &obstacle.shape {
            Shape::Area(polygon) => (parts(polygon), Area::Inside),
            Shape::Line(line) => (line_parts(&line.0), Area::Line),
        };
        all.push(Thing {
            id: obstacle.id.clone(),
            sides,
            area,
            clearance: clearance.to_m(),
            paving: false,
        });
    }
    for tree in &job.survey.trees {
        let radius = tree.trunk * job.practice.roots.no_dig_per_trunk.value.to_one();
        all.push(Thing {
            id: tree.id.clone(),
            sides: vec![(tree.at, tree.at)],
            area: Area::Line,
            clearance: radius.to_m(),
            paving: false,
        });
    }
    all.extend(paving(job));
    all
}

fn paving(job: &Job) -> Vec<Thing> {
    let rules = &job.practice.clearance;
    let clearance = rules.paving.value.max(rules.along_edge.value).to_m();
    let paved = job.survey.surfaces.iter().enumerate();
    let paved = paved.filter(|(_, s)| s.kind.is_paved() && s.polygon.is_some());
    paved
        // One that lies under a later surface is not seen in full; its clearance is left to
        // `is_paved`.
        .filter(|(i, _)| {
            job.survey.surfaces[i + 1..]
                .iter()
                .all(|s| s.polygon.is_none() || s.kind.is_paved())
        })
        .map(|(_, surface)| Thing {
            id: surface.id.clone(),
            sides: surface.polygon.as_ref().map(parts).unwrap_or_default(),
            area: Area::Inside,
            clearance,
            paving: true,
        })
        .collect()
}

/// The sides of all drawn surfaces in the order in which they lie on each other.
pub struct Cover(Vec<(bool, Sides)>, bool);

impl Cover {
    /// Of a job.
    pub fn of(job: &Job) -> Self {
        let surfaces = &job.survey.surfaces;
        let drawn = surfaces
            .iter()
            .filter_map(|s| s.polygon.as_ref().map(|p| (s.kind.is_paved(), parts(p))));
        let elsewhere = surfaces.iter().rev().find(|s| s.polygon.is_none());
        Self(
            drawn.collect(),
            elsewhere.is_some_and(|s| s.kind.is_paved()),
        )
    }

    /// Whether what is seen at a place is paving, and that more than `slack` from any border.
    pub fn is_paved(&self, p: Place, slack: f64) -> bool {
        let top = self.0.iter().rev().find(|(_, sides)| inside(p, sides));
        let paved = top.map_or(self.1, |(paved, _)| *paved);
        paved && self.0.iter().all(|(_, sides)| off_parts(p, sides) > slack)
    }
}
