//! Methods that the user has decided on: those of fixed trenches.

use geo::{Distance, Euclidean, Point};
use job::{FixedTrench, Job, MethodId};
use routes::Stretch;

/// A stretch lies on a fixed trench if no place of it is farther off, metres: stretches are cut from it, and cutting
/// rounds.
const ON_IT: f64 = 1e-3;

/// The decision that a stretch falls under, if any.
pub fn on<'a>(job: &'a Job, stretch: &Stretch) -> Option<(&'a FixedTrench, &'a MethodId)> {
    let decided = job.decisions.fixed.iter();
    decided
        .filter_map(|trench| Some((trench, trench.method.as_ref()?)))
        .find(|(trench, _)| lies_on(stretch, trench))
}

fn lies_on(stretch: &Stretch, trench: &FixedTrench) -> bool {
    let near = |point: Point| Euclidean.distance(&point, &trench.line) <= ON_IT;
    let places = stretch
        .path
        .iter()
        .map(|&place| Point::from(geo::Coord::from(place)));
    // Of a straight piece the middle counts too: a trench with two bends may touch it at both ends only.
    let middles = stretch.path.windows(2).map(|pair| {
        let (a, b) = (geo::Coord::from(pair[0]), geo::Coord::from(pair[1]));
        Point::from((a + b) / 2.0)
    });
    places.chain(middles).all(near)
}

/// Why another method does not do where one is decided.
pub fn against(job: &Job, trench: &FixedTrench, wanted: &MethodId) -> String {
    let label = job
        .prices
        .method
        .get(wanted)
        .map(|method| method.label.as_str());
    format!(
        "{} is decided on here by the fixed trench {}",
        label.unwrap_or(&wanted.0),
        trench.id
    )
}
