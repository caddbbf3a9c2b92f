//! The checker of trees finds what it is there to find.

use super::*;
use routes::plane::TreeFault;

const PLACES: [At; 2] = [(0.0, 0.0), (10.0, 0.0)];

fn block() -> Polygon {
    rectangle((4.0, -1.0), (6.0, 2.0))
}

fn dear() -> Surface {
    Surface {
        polygon: rectangle((2.0, -5.0), (3.0, 5.0)),
        cost: 4.0,
    }
}

fn checked(tree: &Tree) -> Result<(), TreeFault> {
    let joined = PLACES.map(place);
    check_tree(None, &[block()], (&[dear()], 1.0), &joined, tree)
}

fn good() -> Tree {
    tree(&[block()], &[dear()], 1.0, &PLACES)
}

#[test]
fn a_cost_that_is_a_little_off_is_found() {
    let good = good();
    // Besides the sliver's share, the checker leaves one step of a part for each change of ground.
    let step = good.cost / 400.0 * 2.0;
    for off in [-1.0, 1.0] {
        let mut wrong = good.clone();
        wrong.cost += off * (4.0 * step + 1e-4 * good.cost);
        assert!(matches!(checked(&wrong), Err(TreeFault::Cost { .. })));
    }
}

#[test]
fn in_one_ground_a_ten_thousandth_is_found() {
    let joined = PLACES.map(place);
    let mut tree = tree(&[block()], &[], 1.0, &PLACES);
    tree.cost *= 1.0001;
    let found = check_tree(None, &[block()], (&[], 1.0), &joined, &tree);
    assert!(matches!(found, Err(TreeFault::Cost { .. })));
}

#[test]
fn a_part_through_an_obstacle_is_found() {
    let mut wrong = good();
    wrong.parts = vec![(0, 1)];
    assert!(matches!(checked(&wrong), Err(TreeFault::Enters(_))));
}

#[test]
fn a_place_left_out_or_moved_is_found() {
    let mut apart = good();
    apart.parts.retain(|(a, b)| *a != 1 && *b != 1);
    assert_eq!(checked(&apart), Err(TreeFault::Apart(1)));
    let mut moved = good();
    moved.places[1].x += 1e-3;
    assert_eq!(checked(&moved), Err(TreeFault::Place(1)));
}

#[test]
fn a_part_beyond_the_boundary_is_found() {
    let good = good();
    let joined = PLACES.map(place);
    let yard = rectangle((-1.0, -0.5), (11.0, 3.0));
    let found = check_tree(Some(&yard), &[block()], (&[dear()], 1.0), &joined, &good);
    // The cheapest way passes below the block, outside this yard.
    assert!(matches!(found, Err(TreeFault::Enters(_))));
}
