"""How the suite asks the crates.

The program `crosscheck` (package `evidence`) answers for the crates: it reads one JSON object per
line from standard input and writes one JSON object per line to standard output, in the same order,
each answer before the next question is read. It ends when its input ends. It computes nothing
itself: every answer comes from the crate that a plan uses for the same thing.

Everything is in SI: metres, square metres, cubic metres per second, kilograms per cubic metre,
pascal seconds. A point is `[x, y]`. A polygon is the list of its corners in order, either way
round, the first not repeated at the end. `boundary` is a polygon; `obstacles` is a list of
polygons, which may overlap one another and the boundary. Free is what lies inside the boundary and
inside no obstacle; its edge belongs to it.

A question that cannot be answered gets `{"error": "what is wrong"}`.

shortest_path
    {"op": "shortest_path", "boundary": polygon, "obstacles": [polygon], "from": point, "to": point}
    {"length": metres, or null where there is no way}
    The shortest way through free ground. Obstacles are not grown by a clearance.

friction
    {"op": "friction", "law": "hazen_williams", "diameter_m": inner diameter, "flow_m3s": flow,
     "c": coefficient, "length_m": length}
    {"op": "friction", "law": "darcy_weisbach", "diameter_m": inner diameter, "flow_m3s": flow,
     "roughness_m": absolute roughness, "density_kg_m3": density, "viscosity_pa_s": dynamic
     viscosity, "length_m": length}
    {"head_m": head lost over the length}

erode
    {"op": "erode", "boundary": polygon, "obstacles": [polygon], "half_width": metres,
     "entrance": point}
    {"area": square metres}
    The area of the places where the middle of a machine of that half width can be, having come in
    at the entrance: free ground eroded by the half width, and of it the part that holds the
    entrance. The entrance is a place where the middle of the machine can be.

reach
    {"op": "reach", "obstacles": [polygon], "fences": [[point, point]],
     "gates": [{"ends": [point, point], "clear": metres}], "half_width": metres,
     "places": [point]}
    {"reached": [whether the middle of the machine gets to each place]}
    A machine as wide as said that turns on the spot, come in at (-19, -19) on a property from
    (-20, -20) to (70, 60). A gate lets it through if it is clear for as much as it is wide.

volume
    {"op": "volume", "depth_m": depth, "bottom_width_m": width, "side_slope_h_per_v": horizontal
     run of each side per unit of depth, "length_m": length}
    {"bank_m3": volume in the bank}

steady_flow
    {"op": "steady_flow",
     "nodes": [{"head_m": metres} or {"height_m": metres, "demand_m3s": flow, "factor": k,
               "exponent": n}],
     "links": [{"from": node, "to": node, "resistance": r, "exponent": n}]}
    {"flows_m3s": [flow of each link], "heads_m": [head of each node]}
    Steady flow: a node either holds its head or draws its demand and what an outlet gives, k hⁿ at
    the head h above its height. A link loses r q |q|ⁿ⁻¹ at a flow q from its first node to its
    second; nodes are named by their place in the list.

to_plane
    {"op": "to_plane", "anchor": {"longitude", "latitude", "rotation": degrees, "height_m"},
     "places": [[longitude, latitude]]}
    {"places": [[x, y, longitude, latitude]]}
    Where places on the Earth lie in the plane of a job, and where that is on the Earth again.

write_dxf
    {"op": "write_dxf", "job": "house", "courtyard" or "park"}
    {"dxf": text, "features": [features of the job with a geometry, in its unit]}
    A demo job as a drawing, with a point, a line and an area of a plan on layers `plan-…`.

read_dxf
    {"op": "read_dxf", "dxf": text, "map": ["NAME=KIND"], "unit": "ft" and the like, or null}
    {"features": [GeoJSON features in metres], "report": text}
    What a job in metres takes from a drawing.

elevation
    {"op": "elevation", "spots": [[x, y, z]], "at": [point]}
    {"z": [metres]}
    The elevation of the ground between the spots; the points lie within their convex hull.

stake
    {"op": "stake", "boundary": polygon, "obstacles": [polygon], "places": [point]}
    {"tape": {"length_m", "fixed_m", "by_length", "holding_m", "least_turn": radians},
     "ties": [{"first": {"at": point, "length_m": metres}, "second": likewise, "side": "left" or
               "right", "angle": radians, "error_m": metres}, or null where there is none]}
    The two tapes that fix each place best, held at corners of the boundary and of the obstacles,
    which are buildings; corners at which an outline turns by less than the least turn are none.
    The side is that on which the place lies, seen from the first towards the second. Boundary and
    obstacles lie within (-20, -20) to (70, 60).

ground_cost
    {"op": "ground_cost", "surfaces": [{"polygon": polygon, "cost": per metre}],
     "base_cost": per metre, "from": point, "to": point}
    {"cost": cost}
    What a straight line costs over ground whose unit cost differs: the unit cost of a surface
    holds inside it, the base cost outside of all. Surfaces do not overlap.
"""

import json
import subprocess


class Crates:
    """The running program, asked one question at a time."""

    def __init__(self, program):
        self._process = subprocess.Popen(
            [program],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            encoding="utf-8",
            bufsize=1,
        )

    def ask(self, op, **question):
        """The answer to a question; fails where the program gives an error or ends."""
        line = json.dumps({"op": op, **question}, allow_nan=False)
        try:
            self._process.stdin.write(line + "\n")
            self._process.stdin.flush()
            answer = self._process.stdout.readline()
        except BrokenPipeError:
            answer = ""
        # A scene would fill the screen; the test's name and seed say which one it was.
        asked = line if len(line) < 300 else line[:300] + " ..."
        assert answer, f"`crosscheck` ended with {self._process.wait()} on {asked}"
        answer = json.loads(answer)
        assert "error" not in answer, f"{answer['error']}, asked {asked}"
        return answer

    def close(self):
        """Ends the program and holds it to having ended well."""
        self._process.stdin.close()
        assert self._process.wait(timeout=30) == 0, "`crosscheck` did not end well"
