//! What pipe has to reach cannot lie in what no trench passes.

use geo::{BoundingRect, Contains, Distance, Euclidean, Point, Polygon, Rect};

use super::SAME_PLACE;
use super::components::components;
use crate::draft::Draft;
use crate::finding::on_line;
use crate::overlay::Local;
use crate::{Finding, Shape};

pub(super) fn component_in_obstacle(draft: &Draft, _local: &Local, out: &mut Vec<Finding>) {
    let solids = solids(draft);
    for c in components(draft) {
        let at = Point::new(c.at.x, c.at.y);
        for solid in solids.iter().filter(|s| s.holds(at)) {
            out.push(Finding::error(
                "inside-obstacle",
                c.id,
                on_line(
                    format_args!("is a {} inside the {} {}", c.label, solid.label, solid.id),
                    c.line,
                ),
                "move it to the outer face, or correct the outline",
            ));
        }
    }
}

struct Solid<'a> {
    id: &'a str,
    label: &'static str,
    area: &'a Polygon,
    around: Rect,
}

impl Solid<'_> {
    /// Whether a place is inside and not on the outline, where things are mounted.
    fn holds(&self, at: Point) -> bool {
        self.around.contains(&at)
            && self.area.contains(&at)
            && self
                .area
                .interiors()
                .iter()
                .chain([self.area.exterior()])
                .all(|ring| Euclidean.distance(ring, &at) > SAME_PLACE)
    }
}

fn solids(draft: &Draft) -> Vec<Solid<'_>> {
    let solid = |o: &'_ crate::draft::Item<Shape, crate::file::ObstacleMembers>| match &o.shape {
        Some(Shape::Area(_)) => o.has.obstacle.get().map(|kind| kind.label()),
        _ => None,
    };
    let mut all = Vec::new();
    for obstacle in &draft.obstacles {
        let Some(label) = solid(obstacle) else {
            continue;
        };
        if let Some(Shape::Area(area)) = &obstacle.shape
            && let Some(around) = area.bounding_rect()
        {
            all.push(Solid {
                id: &obstacle.id,
                label,
                area,
                around,
            });
        }
    }
    all
}
