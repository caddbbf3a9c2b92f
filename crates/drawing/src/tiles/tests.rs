//! Tiles of a small made-up yard on very small paper.

use super::*;
use crate::tests::{assert_well_formed, yard};
use std::collections::BTreeMap;

const SMALL: Space = Space {
    width: 150.0,
    height: 130.0,
};
const LARGE: Space = Space {
    width: 400.0,
    height: 240.0,
};

fn named(pictures: &[PlanPicture]) -> BTreeMap<&str, &str> {
    let named = pictures
        .iter()
        .map(|p| (p.name.as_str(), p.picture.svg.as_str()));
    named.collect()
}

#[test]
fn on_large_paper_there_is_one_picture_of_its_size() {
    let (job, plan) = yard::yard();
    let pictures = plan_pictures(&job, &plan, Units::Us, &[SMALL, LARGE]);
    assert_eq!(pictures.len(), 1);
    assert_eq!((pictures[0].space, pictures[0].name.as_str()), (1, ""));
    let svg = &pictures[0].picture.svg;
    assert!(svg.contains("width=\"400mm\" height=\"240mm\""));
    assert!(svg.contains(&format!("scale {}", pictures[0].picture.scale)));
    assert_well_formed(svg);
}

#[test]
fn tiles_have_one_scale_and_lead_to_each_other() {
    let (job, plan) = yard::yard();
    let pictures = plan_pictures(&job, &plan, Units::Us, &[SMALL]);
    assert!(pictures.len() > 2, "{}", pictures.len());
    assert_eq!(pictures, plan_pictures(&job, &plan, Units::Us, &[SMALL]));
    let svgs = named(&pictures);
    assert_eq!(
        svgs.len(),
        pictures.len(),
        "no two tiles are called the same"
    );
    let first = pictures[0].picture.ratio;
    assert!(
        pictures
            .iter()
            .all(|p| (p.picture.ratio - first).abs() < 1e-9)
    );
    for (name, svg) in &svgs {
        assert_well_formed(svg);
        for piece in svg.split("match line: goes on on ").skip(1) {
            let next = piece.split('<').next().unwrap();
            let back = format!("match line: goes on on {name}<");
            assert!(svgs[next].contains(&back), "{next} leads back to {name}");
        }
    }
}

#[test]
fn every_trench_and_component_stands_on_a_tile() {
    let (job, plan) = yard::yard();
    let layout = Layout::filling(SMALL, TITLE);
    let extent = sheet::extent(&job, &plan);
    let mosaic = Mosaic::filling(extent, &layout, readable(&job), Units::Us);
    let words = mosaic.view.words;
    let smallest = sheet::usual_scale_above(readable(&job), Units::Us);
    assert_eq!(
        mosaic.count(),
        Mosaic::new(extent, &layout, smallest).count()
    );
    let scene = scene(
        &job,
        &plan,
        Units::Us,
        Purpose::Plan,
        mosaic.view,
        mosaic.paper(),
    );
    let tiles: Vec<(usize, usize)> = (0..mosaic.rows)
        .flat_map(|row| (0..mosaic.columns).map(move |column| (column, row)))
        .filter(|(column, row)| mosaic.is_needed(&scene, *column, *row))
        .collect();
    let nodes = plan.network.nodes.iter().map(|node| node.at);
    for at in nodes.chain(components_at(&job)) {
        let on_paper = scene.view.point(at);
        let held = tiles
            .iter()
            .any(|&(c, r)| mosaic.window(c, r).holds(on_paper));
        assert!(held, "{at:?}");
    }
    // One millimetre of paper is one of the scale's on the ground.
    let (a, b) = (Place::new(0.0, 0.0), Place::new(10.0, 0.0));
    let paper = scene.view.point(a).distance(scene.view.point(b));
    assert!((paper - 10_000.0 / words.ratio()).abs() < 1e-9);
}

#[test]
fn heads_far_apart_allow_a_smaller_scale() {
    let (mut job, _) = yard::yard();
    let near = readable(&job);
    for outlet in &mut job.system.outlets {
        outlet.at = Place::new(outlet.at.x * 3.0, outlet.at.y * 3.0);
    }
    let far = readable(&job);
    assert!(far >= near && (LARGEST..=SMALLEST).contains(&far));
    job.system.outlets.clear();
    assert!((readable(&job) - LARGEST).abs() < 1e-9);
}

#[test]
fn the_blank_shows_no_sizes_and_the_request_no_heads() {
    let (job, plan) = yard::yard();
    let blank = picture::as_built(&job, &plan, Units::Us, &[LARGE]);
    assert!(!blank[0].picture.svg.contains("1-1/4 in<"));
    assert!(blank[0].picture.svg.contains("trench as planned"));
    let request = picture::locate(&job, &plan, Units::Us, SMALL);
    assert!(!request.svg.contains(">head<"));
    assert!(request.svg.contains("dig area, to be white-lined"));
    assert_well_formed(&request.svg);
}
