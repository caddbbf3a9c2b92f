"""Ties of two tapes, against drawn errors (numpy), straight lines (shapely) and all other pairs.

What the tapes run clear of is asked of shapely with obstacles shrunk a little: a tape may lie along
a face and touch a corner.
"""

import math
from random import Random

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

import scenes

PLACES = 12
DRAWS = 100_000
# A tape may cut into what it passes by this much, and of its length by so much in all: metres.
TOUCHES = 0.001
IN_ALL = 0.005
# Less than any rounding that decides whether a tape is clear or long enough: metres.
ROUNDING = 1e-6


def drawn(seed):
    """A scene with obstacles apart from one another, and places on its free ground."""
    random = Random(seed)
    # Upright yards and faces in line make cases that uneven ones never do.
    scene = scenes.on_a_grid(random) if seed % 3 == 0 else scenes.scattered(random, apart=True)
    places = [scenes.free_point(random, scene.free()) for _ in range(PLACES)]
    return scene, places


def ask(crates, scene, places):
    return crates.ask(
        "stake",
        boundary=scenes.corners(scene.boundary),
        obstacles=[scenes.corners(obstacle) for obstacle in scene.obstacles],
        places=places,
    )


def sigma(tape, length):
    """Standard deviation of a taped distance: a limit of error over √3, with that of holding."""
    # A whole metre that rounding makes longer is not the next one begun.
    limit = tape["fixed_m"] + tape["by_length"] * np.ceil(length - ROUNDING)
    return np.sqrt(limit**2 / 3 + tape["holding_m"] ** 2)


def meet(tie, first, second):
    """Where two circles around the fixed points meet on the side that the tie states."""
    a, b = np.array(tie["first"]["at"]), np.array(tie["second"]["at"])
    apart = math.dist(a, b)
    ahead = (b - a) / apart
    left = np.array([-ahead[1], ahead[0]])
    along = (first**2 - second**2 + apart**2) / (2 * apart)
    off = np.sqrt(first**2 - along**2) * (1 if tie["side"] == "left" else -1)
    return a + np.multiply.outer(along, ahead) + np.multiply.outer(off, left)


def lengths(tie):
    return tie["first"]["length_m"], tie["second"]["length_m"]


def found(scene, least_turn):
    """The corners of all outlines at which they turn enough to be found."""
    corners = []
    for outline in [scene.boundary, *scene.obstacles]:
        ring = np.array(scenes.corners(outline))
        ahead = np.roll(ring, -1, axis=0) - ring
        behind = np.roll(ahead, 1, axis=0)
        cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
        turn = np.abs(np.arctan2(cross, (behind * ahead).sum(axis=1)))
        corners.append(ring[turn >= least_turn])
    return np.concatenate(corners)


def inside(scene, place, corners, depth):
    """How much of each tape runs deeper than so much inside an obstacle."""
    shrunk = shapely.union_all([o.buffer(-depth, join_style="mitre") for o in scene.obstacles])
    tapes = np.array([LineString([corner, place]) for corner in corners], dtype=object)
    return shapely.length(shapely.intersection(tapes, shrunk))


def least_error(scene, tape, place):
    """The least expected error of all pairs of corners that are in reach and clear."""
    corners = found(scene, tape["least_turn"])
    corners = corners[np.hypot(*(corners - place).T) < tape["length_m"] - ROUNDING]
    corners = corners[inside(scene, place, corners, ROUNDING) == 0]
    reach = np.hypot(*(corners - place).T)
    toward = (corners - place) / reach[:, None]
    sine = np.abs(np.subtract(*[np.outer(toward[:, i], toward[:, 1 - i]) for i in (0, 1)]))
    squares = sigma(tape, reach) ** 2
    errors = np.full(sine.shape, np.inf)
    crossing = sine > 1e-9
    errors[crossing] = np.sqrt(np.add.outer(squares, squares)[crossing]) / sine[crossing]
    return errors.min(initial=np.inf)


@pytest.mark.parametrize("seed", range(24))
def test_the_expected_error_is_that_of_drawn_errors(crates, seed):
    scene, places = drawn(seed)
    answer = ask(crates, scene, places)
    draw = np.random.default_rng(seed)
    compared = 0
    for place, tie in zip(places, answer["ties"]):
        if tie is None or tie["angle"] <= math.radians(30):
            continue
        first, second = (
            draw.normal(length, sigma(answer["tape"], length), DRAWS) for length in lengths(tie)
        )
        off = meet(tie, first, second) - place
        error = math.sqrt((off**2).sum(axis=1).mean())
        assert tie["error_m"] == pytest.approx(error, rel=0.03)
        compared += 1
    assert compared >= PLACES / 2, "the scene asks too little"


@pytest.mark.parametrize("seed", range(24))
def test_two_tapes_without_error_meet_at_the_place(crates, seed):
    scene, places = drawn(seed)
    for place, tie in zip(places, ask(crates, scene, places)["ties"]):
        if tie is not None:
            assert math.dist(meet(tie, *map(np.float64, lengths(tie))), place) < 0.001
            toward = [np.subtract(tie[end]["at"], place) for end in ("first", "second")]
            cosine = abs(toward[0] @ toward[1]) / np.prod([np.hypot(*way) for way in toward])
            assert math.cos(tie["angle"]) == pytest.approx(cosine, abs=1e-9)


@pytest.mark.parametrize("seed", range(24))
def test_tapes_are_long_enough_held_at_corners_and_clear(crates, seed):
    scene, places = drawn(seed)
    answer = ask(crates, scene, places)
    corners = found(scene, answer["tape"]["least_turn"])
    for place, tie in zip(places, answer["ties"]):
        for end in [] if tie is None else [tie["first"], tie["second"]]:
            assert np.hypot(*(corners - end["at"]).T).min() < 1e-6
            assert end["length_m"] == pytest.approx(LineString([end["at"], place]).length)
            assert end["length_m"] <= answer["tape"]["length_m"]
            assert inside(scene, place, [end["at"]], TOUCHES)[0] < IN_ALL


@pytest.mark.parametrize("seed", range(24))
def test_no_other_pair_has_a_smaller_error(crates, seed):
    scene, places = drawn(seed)
    answer = ask(crates, scene, places)
    for place, tie in zip(places, answer["ties"]):
        least = least_error(scene, answer["tape"], place)
        if tie is None:
            assert least == math.inf
        else:
            assert tie["error_m"] <= least * (1 + 1e-6)


def test_in_a_wide_yard_exactly_the_places_without_two_corners_have_no_tie(crates):
    """One house in a yard longer than tapes: behind it and far off no two corners are to be had."""
    random = Random(7)
    yard, house = shapely.box(-20, -20, 70, 60), shapely.box(20, 15, 32, 15.5)
    scene = scenes.Scene(yard, [house], None, None)
    places = [scenes.free_point(random, scene.free()) for _ in range(200)]
    answer = ask(crates, scene, places)
    untied = [tie is None for tie in answer["ties"]]
    least = [least_error(scene, answer["tape"], place) for place in places]
    assert untied == [error == math.inf for error in least]
    assert 20 < sum(untied) < 180, "the places ask only one thing"
    flat = 0
    for tie, error in zip(answer["ties"], least):
        if tie is not None:
            assert tie["error_m"] == pytest.approx(error, rel=1e-6)
            flat += tie["angle"] < math.radians(30)
    assert flat > 5, "no tapes cross flatly"
