"""Generated grounds: the same seed gives the same scene on every machine."""

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, Point, Polygon

WIDTH = 50.0
DEPTH = 40.0


@dataclass
class Scene:
    """A boundary, obstacles, and two points on free ground."""

    boundary: Polygon
    obstacles: list
    start: tuple
    end: tuple

    def question(self):
        """The scene as the protocol wants it."""
        return {
            "boundary": corners(self.boundary),
            "obstacles": [corners(obstacle) for obstacle in self.obstacles],
            "from": self.start,
            "to": self.end,
        }

    def free(self):
        """The ground inside the boundary and inside no obstacle."""
        return free_ground(self.boundary, self.obstacles)


def free_ground(boundary, obstacles):
    """What is left of the boundary without the obstacles."""
    return boundary.difference(shapely.union_all(obstacles))


def corners(polygon):
    """The corners of a polygon without holes, the first not repeated."""
    return [list(corner) for corner in polygon.exterior.coords[:-1]]


def star(random, x, y, radius, count):
    """A polygon around a point whose corners lie at uneven distances: seldom convex."""
    turn = random.uniform(0, 2 * math.pi)
    points = []
    for index in range(count):
        angle = turn + 2 * math.pi * (index + random.uniform(-0.3, 0.3)) / count
        distance = radius * random.uniform(0.45, 1.0)
        points.append((x + distance * math.cos(angle), y + distance * math.sin(angle)))
    return Polygon(points)


def wall(random):
    """A long thin rectangle, turned anyhow."""
    x, y = random.uniform(8, WIDTH - 8), random.uniform(8, DEPTH - 8)
    angle = random.uniform(0, math.pi)
    half = random.uniform(3, 9)
    across, along = half * math.cos(angle), half * math.sin(angle)
    return slab((x - across, y - along), (x + across, y + along), random.uniform(0.1, 0.3))


def slab(start, end, half_thickness):
    """The rectangle around a line."""
    length = math.dist(start, end)
    x = (end[0] - start[0]) / length * half_thickness
    y = (end[1] - start[1]) / length * half_thickness
    return Polygon(
        [
            (start[0] + y, start[1] - x),
            (end[0] + y, end[1] - x),
            (end[0] - y, end[1] + x),
            (start[0] - y, start[1] + x),
        ]
    )


def property_line(random):
    """An uneven boundary, with corners that point inward."""
    return star(random, WIDTH / 2, DEPTH / 2, 32.0, random.randint(5, 14))


def free_point(random, free, clearance=0.2):
    """A point on free ground, clear of every edge."""
    inner = free.buffer(-clearance)
    west, south, east, north = inner.bounds
    while True:
        point = Point(random.uniform(west, east), random.uniform(south, north))
        if inner.contains(point):
            return (point.x, point.y)


def scattered(random, apart):
    """Stars and walls on an uneven property; with `apart`, none touches another or the line."""
    boundary = property_line(random)
    obstacles = []
    for _ in range(random.randint(6, 24)):
        if random.random() < 0.3:
            obstacle = wall(random)
        else:
            x, y = random.uniform(5, WIDTH - 5), random.uniform(5, DEPTH - 5)
            obstacle = star(random, x, y, random.uniform(1, 6), random.randint(3, 9))
        clear = all(obstacle.distance(other) > 0.2 for other in obstacles)
        if not apart or (clear and boundary.buffer(-0.2).contains(obstacle)):
            obstacles.append(obstacle)
    free = free_ground(boundary, obstacles)
    return Scene(boundary, obstacles, *ends(lambda: free_point(random, free), free))


def on_a_grid(random):
    """Rectangles whose corners are whole metres: edges in line with one another and with the ends
    of the path, the case in which geometry by floating point goes wrong first."""
    boundary = shapely.box(0, 0, WIDTH, DEPTH)
    obstacles = []
    for _ in range(40):
        x, y = random.randint(2, 44), random.randint(2, 34)
        obstacle = shapely.box(x, y, x + random.randint(1, 8), y + random.randint(1, 8))
        inside = obstacle.bounds[2] < WIDTH and obstacle.bounds[3] < DEPTH
        if inside and all(obstacle.distance(other) >= 1 for other in obstacles):
            obstacles.append(obstacle)
    free = free_ground(boundary, obstacles)

    def whole_metres():
        while True:
            point = (float(random.randint(1, 49)), float(random.randint(1, 39)))
            # The edge of an obstacle is free ground too.
            if free.covers(Point(point)):
                return point

    return Scene(boundary, obstacles, *ends(whole_metres, free))


def ends(draw, free):
    """Two points that do not see one another, so that the way between them has to turn; where
    that cannot be had in 200 draws, the last two."""
    for _ in range(200):
        start, end = draw(), draw()
        if start != end and not free.covers(LineString([start, end])):
            break
    return start, end


def courtyard(random, mouth):
    """Walls in a ring with the end of the path inside; in one of them `mouth` metres are open."""
    boundary = shapely.box(0, 0, WIDTH, DEPTH)
    x, y = random.uniform(18, 32), random.uniform(16, 24)
    ring = star(random, x, y, 13.0, random.randint(6, 10))
    line = list(ring.exterior.coords)
    walls = sorted(zip(line, line[1:]), key=lambda ends: math.dist(*ends))
    if mouth > 0:
        start, end = walls.pop()
        open_part = mouth / math.dist(start, end)
        walls.append((start, between(start, end, 0.5 - open_part / 2)))
        walls.append((between(start, end, 0.5 + open_part / 2), end))
    # A wall reaches beyond a corner of the ring, so that it overlaps the next.
    corner_of_ring = set(line)
    obstacles = [slab(*stretched(ends, corner_of_ring, 0.5), 0.2) for ends in walls]
    inside = largest(free_ground(ring, obstacles))
    outside = largest(free_ground(boundary, [ring, *obstacles]))
    return Scene(boundary, obstacles, free_point(random, outside), free_point(random, inside))


def stretched(ends, corners_to_pass, by):
    """A line, longer by so much at each end that is one of the corners."""
    start, end = ends
    part = by / math.dist(start, end)
    return (
        between(start, end, -part) if start in corners_to_pass else start,
        between(start, end, 1 + part) if end in corners_to_pass else end,
    )


def between(start, end, part):
    """The point at a part of the way from start to end."""
    return (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))


def largest(shape):
    """The largest polygon of a shape."""
    return max(polygons(shape), key=lambda polygon: polygon.area)


def polygons(shape):
    """The polygons of a shape that may be one or many."""
    return [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon"]
