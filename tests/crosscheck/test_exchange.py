"""Drawings and places on the Earth against ezdxf and pyproj."""

import io
import math
from random import Random

import ezdxf
import pyproj
import pytest
from ezdxf.document import Drawing
from ezdxf.lldxf.encoding import decode_dxf_unicode

A_WGS84 = 6378137.0


def text_of(drawing: Drawing) -> str:
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


@pytest.mark.parametrize("seed", range(10))
def test_the_plane_against_pyproj(crates, seed):
    """Ten anchors, 30 places each within about 100 km: to a tenth of a millimetre."""
    random = Random(seed)
    anchor = {
        "longitude": random.uniform(-179, 179),
        "latitude": random.uniform(-75, 75),
        "rotation": random.uniform(-180, 180),
        "height_m": random.uniform(-100, 3000),
    }
    scale = 1 + anchor["height_m"] / A_WGS84
    there = pyproj.Transformer.from_pipeline(
        f"+proj=tmerc +lat_0={anchor['latitude']!r} +lon_0={anchor['longitude']!r} +k={scale!r} +ellps=WGS84"
    )
    turn = math.radians(anchor["rotation"])
    places = []
    for _ in range(30):
        north, east = random.uniform(-0.8, 0.8), random.uniform(-0.8, 0.8)
        widen = math.cos(math.radians(anchor["latitude"]))
        places.append([anchor["longitude"] + east / widen, anchor["latitude"] + north])
    answer = crates.ask("to_plane", anchor=anchor, places=places)["places"]
    for (longitude, latitude), (x, y, back_longitude, back_latitude) in zip(places, answer):
        east, north = there.transform(longitude, latitude)
        assert x == pytest.approx(east * math.cos(turn) - north * math.sin(turn), abs=1e-4)
        assert y == pytest.approx(east * math.sin(turn) + north * math.cos(turn), abs=1e-4)
        assert (back_longitude - longitude + 180) % 360 - 180 == pytest.approx(0, abs=1e-9)
        assert back_latitude == pytest.approx(latitude, abs=1e-9)


@pytest.mark.parametrize("job", ["house", "courtyard", "park"])
def test_our_drawings_are_read_without_complaint(crates, job):
    answer = crates.ask("write_dxf", job=job)
    drawing = ezdxf.read(io.StringIO(answer["dxf"]))
    auditor = drawing.audit()
    assert not auditor.errors and not auditor.fixes, [str(e.message) for e in auditor.errors + auditor.fixes]
    entities = list(drawing.modelspace())
    wanted = 0
    for feature in answer["features"]:
        geometry = feature["geometry"]
        parts = {"Polygon": len, "MultiPoint": len}.get(geometry["type"], lambda _: 1)
        wanted += parts(geometry["coordinates"])
    planned = [entity for entity in entities if entity.dxf.layer.startswith("plan-")]
    assert sorted(entity.dxftype() for entity in planned) == ["LWPOLYLINE", "LWPOLYLINE", "POINT", "TEXT"]
    words = [decode_dxf_unicode(text.dxf.text) for text in drawing.modelspace().query("TEXT")]
    assert words == ["S\u00e41"]
    ours = [entity for entity in entities if entity.has_xdata("SPADEWORK")]
    assert len(ours) == wanted == len(entities) - len(planned)
    heads = [f["geometry"]["coordinates"] for f in answer["features"] if f["properties"]["kind"] == "head"]
    drawn = [tuple(entity.dxf.location)[:2] for entity in drawing.modelspace().query('POINT[layer=="head"]')]
    assert sorted(drawn) == pytest.approx(sorted(map(tuple, heads)))


# The values of $INSUNITS, metres in each, and our names for them.
UNITS = {1: 0.0254, 2: 0.3048, 6: 1.0}
NAMES = {1: "in", 2: "ft", 6: "m"}


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010", "R2018"])
@pytest.mark.parametrize("unit", UNITS)
def test_drawings_of_ezdxf_are_read(crates, version, unit):
    """Lines, bulges, arrays of blocks and curves come out as ezdxf itself flattens them."""
    drawing = ezdxf.new(version, units=unit)
    drawing.header["$INSUNITS"] = unit
    metres = UNITS[unit]
    space = drawing.modelspace()
    size = 10 / metres
    places = [(0, 0, 0.5), (size, 0, 0), (size, size, -0.3), (0, size, 0)]
    if version == "R12":
        space.add_polyline2d(places, format="xyb", close=True, dxfattribs={"layer": "BED"})
    else:
        space.add_lwpolyline(places, format="xyb", close=True, dxfattribs={"layer": "BED"})
        space.add_spline(dxfattribs={"layer": "GAS"}).control_points = [
            (0, 0), (size, size), (2 * size, 0), (3 * size, size)
        ]
        spline = space.query("SPLINE").first
        spline.dxf.degree = 3
        spline.knots = [0, 0, 0, 0, 1, 1, 1, 1]
    block = drawing.blocks.new("HEAD-X", base_point=(1, 1))
    block.add_circle((1, 1), 0.5)
    insert = space.add_blockref("HEAD-X", (size, 2 * size), dxfattribs={"layer": "0", "rotation": 90})
    insert.grid((2, 3), (size, 2 * size))
    yard = drawing.blocks.new("SHED")
    yard.add_line((0, 0), (1, 0))
    yard.add_line((1, 0), (1, 1))
    yard.add_line((1, 1), (0, 0))
    space.add_blockref("SHED", (5 * size, 0), dxfattribs={"layer": "SHEDS", "xscale": size, "yscale": -size})
    answer = crates.ask(
        "read_dxf",
        dxf=text_of(drawing),
        # The version of 1988 does not say its unit.
        unit=NAMES[unit] if version == "R12" else None,
        map=[
            "BED=surface,surface=bed",
            "GAS=utility,service=gas",
            "HEAD-*=head,flow=1 gpm",
            "SHEDS=obstacle,obstacle=building",
        ],
    )
    by_kind = {}
    for feature in answer["features"]:
        by_kind.setdefault(feature["properties"]["kind"], []).append(feature["geometry"]["coordinates"])
    bed = by_kind["surface"][0][0]
    outline = space.query("POLYLINE LWPOLYLINE").first
    path = ezdxf.path.make_path(outline).flattening(0.0005 / metres)
    assert area(bed) == pytest.approx(area([(p.x * metres, p.y * metres) for p in path]), rel=2e-3)
    heads = sorted(by_kind["head"])
    # Rounded, so that both stand in the same order.
    wanted = sorted(
        [round(part.dxf.insert.x * metres, 5) + 0, round(part.dxf.insert.y * metres, 5) + 0]
        for part in insert.multi_insert()
    )
    assert len(heads) == len(wanted) == 6
    for head, place in zip(heads, wanted):
        assert head == pytest.approx(place, abs=2e-5)
    shed = by_kind["obstacle"][0][0]
    assert abs(area(shed)) == pytest.approx(50, rel=1e-4)
    if version != "R12":
        line = by_kind["utility"][0]
        curve = spline.construction_tool()
        samples = [(p.x * metres, p.y * metres) for p in curve.approximate(4000)]
        # Corners of our line lie on the curve; the samples are up to 15 mm apart.
        for x, y in line:
            assert min(math.hypot(px - x, py - y) for px, py in samples) < 0.01


def area(ring):
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(ring, list(ring[1:]) + [ring[0]])) / 2
