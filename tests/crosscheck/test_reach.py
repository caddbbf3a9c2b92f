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


PROPERTY = shapely.box(-20, -20, 70, 60)
ENTRANCE = (-19.0, -19.0)

# From a gate nothing else stands nearer than this, and no place asked about lies nearer than this
# to where the answer turns: both are metres.
BEFORE_GATE = 3.0
ROUNDING = 0.03


def room_walls(random):
    """Fences from line to line: two or three upright, and one across between each two."""
    uprights = sorted(random.sample(range(5, 65, 15), random.randint(2, 3)))
    walls = [((x, -20), (x, 60)) for x in uprights]
    for left, right in zip(uprights, [*uprights[1:], 70]):
        y = random.uniform(-5, 45)
        walls.append(((left, y), (right, y)))
    return walls


def gated_site(random):
    """Fences with gates and their clear widths, and obstacles away from the gates."""
    fences, gates = [], []
    walls = room_walls(random)
    for start, end in walls:
        upright = start[0] == end[0]
        others = shapely.union_all([shapely.LineString(w) for w in walls if w != (start, end)])
        crossing = scenes.between(start, end, 0.5)
        while others.distance(Point(crossing)) < 2 * BEFORE_GATE:
            crossing = scenes.between(start, end, random.uniform(0.15, 0.85))
        clear = round(random.uniform(0.7, 1.9), 2)
        step = (0, clear / 2) if upright else (clear / 2, 0)
        posts = [(crossing[0] + sign * step[0], crossing[1] + sign * step[1]) for sign in (-1, 1)]
        fences += [(start, posts[0]), (posts[1], end)]
        gates.append((posts, clear))
    lanes = [shapely.LineString(posts).buffer(BEFORE_GATE) for posts, _ in gates]
    obstacles = []
    for _ in range(random.randint(5, 20)):
        x, y = random.uniform(0, 68), random.uniform(-12, 58)
        obstacle = scenes.star(random, x, y, random.uniform(1, 5), random.randint(3, 8))
        apart = all(obstacle.distance(other) > 0.2 for other in obstacles)
        if apart and not any(lane.intersects(obstacle) for lane in lanes):
            if PROPERTY.buffer(-0.2).contains(obstacle):
                obstacles.append(obstacle)
    return fences, gates, obstacles


def reached_parts(fences, gates, obstacles, half_width):
    """Of the eroded ground, with all gates shut, the parts joined to the entrance by gates."""
    shut = [shapely.LineString(ends) for ends in [*fences, *(posts for posts, _ in gates)]]
    solid = shapely.union_all([PROPERTY.exterior, *shut, *obstacles])
    fits = scenes.polygons(PROPERTY.difference(solid.buffer(half_width, quad_segs=64)))
    reached = {i for i, part in enumerate(fits) if part.covers(Point(ENTRANCE))}
    open_gates = [shapely.LineString(posts) for posts, clear in gates if clear >= 2 * half_width]
    links = [
        {i for i, part in enumerate(fits) if part.distance(gate) < half_width + 0.2}
        for gate in open_gates
    ]
    while any(link & reached and link - reached for link in links):
        reached |= set().union(*(link for link in links if link & reached))
    return shapely.union_all([fits[i] for i in reached])


@pytest.mark.parametrize("seed", range(10))
def test_on_sites_with_gates(crates, seed):
    """50 sites each, 40 places on each at random, off those where 2 % of the width decides."""
    random = Random(900 + seed)
    asked = inside = 0
    for _ in range(50):
        fences, gates, obstacles = gated_site(random)
        half_width = random.uniform(0.3, 0.9)
        wide = reached_parts(fences, gates, obstacles, half_width * 1.02)
        narrow = reached_parts(fences, gates, obstacles, half_width * 0.98)
        places = []
        while len(places) < 40:
            place = Point(random.uniform(-19, 69), random.uniform(-19, 59))
            clear_of_edges = wide.boundary.distance(place) > ROUNDING
            if wide.covers(place) == narrow.covers(place) and clear_of_edges:
                places.append(place)
        answer = crates.ask(
            "reach",
            obstacles=[scenes.corners(obstacle) for obstacle in obstacles],
            fences=fences,
            gates=[{"ends": posts, "clear": clear} for posts, clear in gates],
            half_width=half_width,
            places=[[place.x, place.y] for place in places],
        )["reached"]
        assert answer == [wide.covers(place) for place in places]
        asked += len(places)
        inside += sum(answer)
    assert 0.1 * asked < inside < 0.98 * asked, "the scenes ask only one thing"
