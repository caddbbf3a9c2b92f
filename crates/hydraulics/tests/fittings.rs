//! Which fittings the geometry of a line asks for.

mod site;

use hydraulics::minor::{Fitting, elbow, fittings, loss};
use job::Place;
use quantity::{Angle, Velocity};
use routes::NodeKind;
use site::Site;

fn of(site: &Site, line: usize) -> Vec<Vec<Fitting>> {
    fittings(
        &site.network,
        &site.network.lines[line],
        &site.job.practice.takeoff,
    )
}

#[test]
fn a_turn_takes_an_elbow_by_its_angle() {
    let rules = Site::new().job.practice.takeoff;
    let at = |deg| elbow(Angle::deg(deg), &rules);
    assert_eq!(at(10.0), None);
    assert_eq!(at(45.0), Some(Fitting::Elbow45));
    assert_eq!(at(90.0), Some(Fitting::Elbow90));
    assert_eq!(at(180.0), Some(Fitting::Elbow90));
}

#[test]
fn a_corner_within_a_stretch_and_one_between_stretches_count_alike() {
    let mut site = Site::new();
    let (valve, lateral) = site.valve(1, site.backflow(), 5.0, 0.0);
    let middle = site.node(10.0, 5.0, NodeKind::Change);
    let path = vec![
        Place::new(5.0, 0.0),
        Place::new(10.0, 0.0),
        Place::new(10.0, 5.0),
    ];
    site.lay_along(lateral, valve, middle, path);
    site.head(lateral, "A", middle, (15.0, 10.0), 3.0, 30.0);
    assert_eq!(
        of(&site, lateral),
        [vec![Fitting::Elbow90], vec![Fitting::Elbow45]]
    );
}

#[test]
fn the_straightest_pipe_of_a_tee_is_its_run() {
    let mut site = Site::new();
    let (valve, lateral) = site.valve(1, site.backflow(), 5.0, 0.0);
    let tee = site.node(10.0, 0.0, NodeKind::Junction);
    site.lay(lateral, valve, tee);
    site.head(lateral, "A", tee, (10.0, 5.0), 3.0, 30.0);
    site.head(lateral, "B", tee, (15.0, 0.5), 3.0, 30.0);
    let expected = [vec![], vec![Fitting::TeeBranch], vec![Fitting::TeeRun]];
    assert_eq!(of(&site, lateral), expected);
}

#[test]
fn where_both_pipes_leave_square_both_leave_by_the_branch() {
    let mut site = Site::new();
    let (valve, lateral) = site.valve(1, site.backflow(), 5.0, 0.0);
    let tee = site.node(10.0, 0.0, NodeKind::Junction);
    site.lay(lateral, valve, tee);
    site.head(lateral, "A", tee, (10.0, 5.0), 3.0, 30.0);
    site.head(lateral, "B", tee, (10.0, -5.0), 3.0, 30.0);
    let expected = [vec![], vec![Fitting::TeeBranch], vec![Fitting::TeeBranch]];
    assert_eq!(of(&site, lateral), expected);
}

#[test]
fn a_head_on_the_way_makes_a_tee() {
    let mut site = Site::new();
    let lateral = site.row(1, 3, 5.0, 2.0, 30.0);
    let expected = [vec![], vec![Fitting::TeeRun], vec![Fitting::TeeRun]];
    assert_eq!(of(&site, lateral), expected);
}

/// K·v²/(2·g): 0.2065 m of water for a tee branch, K = 1.8, at 1.5 m/s.
#[test]
fn the_loss_is_k_velocity_heads() {
    let water = hydraulics::Water {
        density_kg_m3: 1000.0,
        viscosity_pa_s: 1e-3,
    };
    let head = water.head_of(loss(1.8, Velocity::mps(1.5), water));
    assert!((head.to_m() - 0.206_493).abs() < 1e-6);
}
