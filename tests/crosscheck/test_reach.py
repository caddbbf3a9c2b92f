"""Which ground a machine of some width can reach, against shapely's buffer.

A round corner is drawn with short chords by either side, hence the tolerance of 1 %.
"""

from random import Random

import pytest
import shapely
from shapely.geometry import Point

import scenes

RELATIVE = 0.01


def reachable_area(free, half_width, entrance):
    """Free ground eroded by the half width, and of it the part that holds the entrance."""
    eroded = free.buffer(-half_width, quad_segs=64)
    place = Point(entrance)
    return sum(part.area for part in scenes.polygons(eroded) if part.covers(place))


def ask(crates, boundary, obstacles, half_width, entrance):
    return crates.ask(
        "erode",
        boundary=scenes.corners(boundary),
        obstacles=[scenes.corners(obstacle) for obstacle in obstacles],
        half_width=half_width,
        entrance=list(entrance),
    )["area"]


def is_close_call(free, half_width, entrance):
    """Whether a passage opens or closes within 2 % of the width: there two right answers may
    differ by a whole yard."""
    narrow = reachable_area(free, half_width * 0.98, entrance)
    wide = reachable_area(free, half_width * 1.02, entrance)
    return narrow - wide > 0.05 * narrow


@pytest.mark.parametrize("seed", range(40))
def test_among_obstacles(crates, seed):
    random = Random(seed)
    while True:
        scene = scenes.scattered(random, apart=seed % 2 == 0)
        half_width = random.uniform(0.3, 1.2)
        eroded = scene.free().buffer(-half_width)
        if eroded.area < 50:
            continue
        entrance = scenes.free_point(random, eroded, clearance=0.05)
        if not is_close_call(scene.free(), half_width, entrance):
            break
    expected = reachable_area(scene.free(), half_width, entrance)
    area = ask(crates, scene.boundary, scene.obstacles, half_width, entrance)
    assert area == pytest.approx(expected, rel=RELATIVE)


@pytest.mark.parametrize("fits", [False, True])
@pytest.mark.parametrize("seed", range(10))
def test_through_a_gate(crates, seed, fits):
    """A fence from line to line with one gate, 10 % too narrow or 10 % wide enough."""
    random = Random(500 + seed)
    half_width = random.uniform(0.35, 0.9)
    gate = 2 * half_width * (1.1 if fits else 0.9)
    fence, middle = random.uniform(8, 20), random.uniform(5, 15)
    boundary = shapely.box(0, 0, 30, 20)
    obstacles = [
        shapely.box(fence, -1, fence + 0.1, middle - gate / 2),
        shapely.box(fence, middle + gate / 2, fence + 0.1, 21),
    ]
    entrance = (2.0, 10.0)
    free = scenes.free_ground(boundary, obstacles)
    expected = reachable_area(free, half_width, entrance)
    beyond = (29 - fence) * 10
    assert (expected > fence * 20 + beyond) == fits, "the scene is not what its name says"
    area = ask(crates, boundary, obstacles, half_width, entrance)
    assert area == pytest.approx(expected, rel=RELATIVE)


def test_in_an_empty_yard_the_area_is_known_without_a_library(crates):
    boundary = shapely.box(0, 0, 30, 20)
    area = ask(crates, boundary, [], 0.5, (5.0, 5.0))
    assert area == pytest.approx(29 * 19, rel=1e-9)
