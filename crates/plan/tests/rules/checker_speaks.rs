//! The checker itself: it speaks when a network is broken.

use crate::support::{checker, yard};
use crate::{plan_of, read};
use job::Place;
use plan::routes::{Network, Stretch};
use quantity::{Angle, Length};
use std::sync::LazyLock;

fn broken(change: impl FnOnce(&mut Network)) -> Vec<String> {
    static WHOLE: LazyLock<Network> = LazyLock::new(|| {
        let job = read(job::DEMO);
        let network = plan_of(&job).unwrap().network;
        assert!(checker::faults(&job, &network).is_empty());
        network
    });
    let job = read(job::DEMO);
    let mut network = WHOLE.clone();
    change(&mut network);
    checker::faults(&job, &network)
}

fn says(faults: &[String], words: &str) {
    assert!(
        faults.iter().any(|f| f.contains(words)),
        "no `{words}` in {faults:#?}"
    );
}

/// The stretch bent to a place in one of its straight pieces.
fn bent(stretch: &mut Stretch, piece: usize, to: Place) {
    stretch.path.insert(piece + 1, to);
    let length: f64 = stretch.path.windows(2).map(|p| p[0].distance(p[1])).sum();
    stretch.length = Length::m(length);
}

#[test]
fn about_a_line_that_misses_a_stretch_or_a_terminal() {
    let cut_short = broken(|n| {
        let last = n.lines[2].branches.pop().unwrap();
        n.stretches[last.stretch.index()]
            .carries
            .retain(|line| *line != 2);
    });
    says(&cut_short, "is not reached");
    let unlisted = broken(|n| n.lines[2].branches.truncate(1));
    says(&unlisted, "branches are not the stretches");
    let lost = broken(|n| n.lines[2].terminals.truncate(1));
    says(&lost, "does not reach");
    let gone = broken(|n| n.lines.truncate(3));
    says(&gone, "no line for");
}

#[test]
fn about_a_path_that_does_not_fit() {
    says(
        &broken(|n| n.stretches[3].path[0].x += 0.01),
        "begin and end at its nodes",
    );
    says(
        &broken(|n| n.stretches[3].length = Length::m(1.0)),
        "but says",
    );
    says(&broken(|n| n.bound = n.cost * 1.01), "above cost");
}

#[test]
fn about_a_trench_outside_the_property_or_through_the_house() {
    says(
        &broken(|n| bent(&mut n.stretches[5], 0, Place::new(-50.0, -50.0))),
        "enters",
    );
    let job = read(job::DEMO);
    let house = job.survey.obstacles.iter().find_map(|o| match &o.shape {
        job::Shape::Area(polygon) => geo::Centroid::centroid(polygon),
        job::Shape::Line(_) => None,
    });
    let middle = house.unwrap();
    says(
        &broken(|n| bent(&mut n.stretches[5], 0, Place::new(middle.x(), middle.y()))),
        "enters",
    );
}

#[test]
fn about_paving_services_and_clearances() {
    let bare = broken(|n| n.stretches.iter_mut().for_each(|s| s.sleeve = None));
    says(&bare, "under paving without a sleeve");
    says(&broken(|n| n.crossings.clear()), "unlisted");
    let turned = broken(|n| n.crossings[0].angle = Angle::deg(10.0));
    says(&turned, "unlisted");
    let silent = broken(|n| n.findings.retain(|f| f.rule != "within-clearance"));
    says(&silent, "without a caution");
}

#[test]
fn about_a_trench_along_a_wall() {
    let yard = yard::Yard {
        buildings: vec![(8.0, 6.0, 12.0, 14.0)],
        ..yard::Yard::plain((20.0, 20.0), (2.0, 10.0), &[(18.0, 10.0)])
    };
    let job = yard.job();
    let mut network = plan_of(&job).unwrap().network;
    assert_eq!(checker::faults(&job, &network), Vec::<String>::new());
    let beside = |p: &Place| (7.3..12.7).contains(&p.x) && (p.y - 10.0).abs() > 4.5;
    let pieces = network
        .stretches
        .iter()
        .enumerate()
        .flat_map(|(i, stretch)| {
            let pairs = stretch.path.windows(2).enumerate();
            pairs.map(move |(j, pair)| (i, j, pair[0], pair[1]))
        });
    let (along, piece, a, b) = pieces
        .filter(|(_, _, a, b)| beside(a) && beside(b))
        .max_by(|p, q| p.2.distance(p.3).total_cmp(&q.2.distance(q.3)))
        .unwrap();
    let nearer = if a.y < 10.0 { 0.1 } else { -0.1 };
    let place = Place::new(a.x.midpoint(b.x), a.y.midpoint(b.y) + nearer);
    bent(&mut network.stretches[along], piece, place);
    says(&checker::faults(&job, &network), "within the clearance of");
}
