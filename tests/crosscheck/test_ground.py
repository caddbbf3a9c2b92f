"""What the ground is like along a line and at a point, against shapely and against planes."""

from random import Random

import pytest
import shapely
from shapely.geometry import LineString, MultiPoint

import scenes


def plots(random):
    """Surfaces that do not overlap: one uneven polygon in some of the cells of a grid."""
    surfaces = []
    for column in range(5):
        for row in range(4):
            if random.random() < 0.7:
                x, y = column * 10 + 5, row * 10 + 5
                surfaces.append(scenes.star(random, x, y, 4.9, random.randint(3, 10)))
    return surfaces


@pytest.mark.parametrize("seed", range(20))
def test_cost_along_a_line_is_the_sum_over_the_surfaces(crates, seed):
    random = Random(seed)
    surfaces = [(surface, random.uniform(0.5, 40)) for surface in plots(random)]
    base = random.uniform(0.5, 10)
    for _ in range(20):
        ends = [(random.uniform(0, 50), random.uniform(0, 40)) for _ in range(2)]
        line = LineString(ends)
        expected = base * line.length + sum(
            (cost - base) * line.intersection(surface).length for surface, cost in surfaces
        )
        cost = crates.ask(
            "ground_cost",
            surfaces=[{"polygon": scenes.corners(s), "cost": cost} for s, cost in surfaces],
            base_cost=base,
            **{"from": ends[0], "to": ends[1]},
        )["cost"]
        assert cost == pytest.approx(expected, rel=1e-6)


def spots(random, elevation):
    """Spot elevations scattered over a property."""
    places = [(random.uniform(0, 50), random.uniform(0, 40)) for _ in range(random.randint(4, 60))]
    return [[x, y, elevation(x, y)] for x, y in places]


@pytest.mark.parametrize("seed", range(20))
def test_between_spots_of_a_plane_the_ground_is_that_plane(crates, seed):
    """Holds for any sensible way of interpolating, and only for those."""
    random = Random(seed)
    east, north, level = random.uniform(-0.2, 0.2), random.uniform(-0.2, 0.2), 100.0

    def plane(x, y):
        return level + east * x + north * y

    known = spots(random, plane)
    hull = MultiPoint([spot[:2] for spot in known]).convex_hull
    at = [scenes.free_point(random, hull, clearance=0.01) for _ in range(50)]
    z = crates.ask("elevation", spots=known, at=at)["z"]
    assert z == pytest.approx([plane(*point) for point in at], abs=1e-6)


@pytest.mark.parametrize("seed", range(10))
def test_at_a_spot_the_ground_is_at_its_elevation(crates, seed):
    random = Random(100 + seed)
    known = spots(random, lambda x, y: random.uniform(95, 105))
    z = crates.ask("elevation", spots=known, at=[spot[:2] for spot in known])["z"]
    assert z == pytest.approx([spot[2] for spot in known], abs=1e-6)


@pytest.mark.parametrize("seed", range(10))
def test_between_spots_the_ground_is_neither_above_nor_below_them_all(crates, seed):
    random = Random(200 + seed)
    known = spots(random, lambda x, y: random.uniform(95, 105))
    hull = shapely.convex_hull(MultiPoint([spot[:2] for spot in known]))
    at = [scenes.free_point(random, hull, clearance=0.01) for _ in range(50)]
    low, high = min(s[2] for s in known), max(s[2] for s in known)
    for z in crates.ask("elevation", spots=known, at=at)["z"]:
        assert low - 1e-9 <= z <= high + 1e-9
