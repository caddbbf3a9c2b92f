"""The shortest way around obstacles, against a visibility graph built with shapely and searched
with networkx.

A shortest path among polygons turns only at their corners (de Berg, Cheong, van Kreveld, Overmars:
Computational Geometry, 3rd edition, chapter 15), so the graph of all corners that see one another
holds it.
"""

import math
from random import Random

import networkx
import numpy
import pytest
import shapely
from shapely.geometry import Polygon

import scenes

RELATIVE = 1e-6


def shortest_length(scene):
    """The length of the shortest path, or None where there is no way."""
    free = scene.free()
    shapely.prepare(free)
    points = numpy.unique(
        numpy.vstack([shapely.get_coordinates(free), [scene.start, scene.end]]), axis=0
    )
    first, second = numpy.triu_indices(len(points), k=1)
    sights = shapely.linestrings(numpy.stack([points[first], points[second]], axis=1))
    seen = shapely.covers(free, sights)
    graph = networkx.Graph()
    graph.add_nodes_from(range(len(points)))
    lengths = shapely.length(sights)
    graph.add_weighted_edges_from(zip(first[seen], second[seen], lengths[seen]))
    start, end = (
        int(numpy.flatnonzero((points == end).all(axis=1))[0]) for end in (scene.start, scene.end)
    )
    try:
        return networkx.dijkstra_path_length(graph, start, end)
    except networkx.NetworkXNoPath:
        return None


def agree(crates, scene):
    """Holds the answer of the crates against the visibility graph, and returns the latter's."""
    expected = shortest_length(scene)
    length = crates.ask("shortest_path", **scene.question())["length"]
    if expected is None:
        assert length is None, f"a way of {length} m where there is none"
    else:
        assert length is not None, f"no way, where there is one of {expected} m"
        assert length == pytest.approx(expected, rel=RELATIVE)
    return expected


@pytest.mark.parametrize("seed", range(50))
def test_among_obstacles_that_stand_apart(crates, seed):
    assert agree(crates, scenes.scattered(Random(seed), apart=True)) is not None


@pytest.mark.parametrize("seed", range(1000, 1040))
def test_among_obstacles_that_overlap_one_another_and_the_boundary(crates, seed):
    agree(crates, scenes.scattered(Random(seed), apart=False))


@pytest.mark.parametrize("seed", range(2000, 2030))
def test_among_obstacles_in_line_with_one_another(crates, seed):
    assert agree(crates, scenes.on_a_grid(Random(seed))) is not None


@pytest.mark.parametrize("seed", range(3000, 3020))
def test_into_a_courtyard_through_its_mouth(crates, seed):
    assert agree(crates, scenes.courtyard(Random(seed), mouth=1.5)) is not None


@pytest.mark.parametrize("seed", range(4000, 4010))
def test_a_closed_courtyard_has_no_way_in(crates, seed):
    assert agree(crates, scenes.courtyard(Random(seed), mouth=0)) is None


def test_around_a_square_the_length_is_known_without_a_library(crates):
    """From (0, 0) to (10, 0) around a square of 4 by 4 in the middle of the way: to a corner,
    along a side, and from the next corner on."""
    scene = scenes.Scene(
        boundary=Polygon([(-5, -9), (15, -9), (15, 9), (-5, 9)]),
        obstacles=[Polygon([(3, -2), (7, -2), (7, 2), (3, 2)])],
        start=(0.0, 0.0),
        end=(10.0, 0.0),
    )
    known = 2 * math.hypot(3, 2) + 4
    assert agree(crates, scene) == pytest.approx(known, rel=1e-12)
