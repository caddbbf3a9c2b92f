"""The sheets on paper, as poppler reads them: figures against plan.json, scale by measuring what is
drawn, no word on another or off the page, fonts in the file, pages counted.
"""

import csv
import json
import math
import os
import re
import subprocess
from pathlib import Path

import pytest
from shapely import LineString, Polygon, STRtree

import paper

FOOT = 0.3048
INCH = 0.0254
PSI = 6894.757293168
GPM = 231 * INCH**3 / 60

# How many pages the demo takes; whoever changes a sheet looks at it and then here.
PAGES = {"us": 39, "si": 39}
# Of a glyph's hull another one may cover so much; kerning and slanted letters touch.
TOUCHES = 0.05


class Sheets:
    """The sheets of a demo in one system of units."""

    def __init__(self, folder: Path, units: str, site: str = "house") -> None:
        program = os.environ["SPADEWORK_PROGRAM"]

        def spadework(*arguments):
            subprocess.run([program, *map(str, arguments)], cwd=folder, check=True, capture_output=True)

        spadework("demo", "--files-only", "--site", site)
        job = next(folder.glob("spadework-demo*.json"))
        plan = folder / f"{job.stem}-plan" / "plan.json"
        self.units = units
        self.plan = json.loads(plan.read_text(encoding="utf-8"))
        self.pdf, self.offer, self.tables = folder / "s.pdf", folder / "o.pdf", folder / "tables"
        common = ("--from", plan, "--units", units)
        spadework(
            "sheets", job, *common, "--out", self.pdf, "--offer", self.offer, "--tables", self.tables
        )
        spadework("sheets", job, *common, "--out", folder / "again.pdf")
        self.again = folder / "again.pdf"
        self.job = json.loads(job.read_text(encoding="utf-8"))
        self.pages = paper.pages(self.pdf)

    def of(self, title: str) -> list[int]:
        """Numbers of the pages with a title, from 1."""
        return [i for i, page in enumerate(self.pages, 1) if page.lstrip().startswith(title)]

    def text(self, title: str) -> str:
        numbers = self.of(title)
        assert numbers, f"no page is called {title}"
        return "\n".join(self.pages[i - 1] for i in numbers)

    def table(self, name: str) -> list[dict]:
        with open(self.tables / f"{name}.csv", encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    def length(self, metres: float) -> str:
        return f"{metres / FOOT:.1f}" if self.units == "us" else f"{metres:.2f}"

    def taped(self, metres: float) -> str:
        return f"{metres / FOOT:.2f}" if self.units == "us" else f"{metres:.3f}"


@pytest.fixture(scope="module")
def park(tmp_path_factory):
    """A property larger than its paper, whose dig area leaves the property line."""
    return Sheets(tmp_path_factory.mktemp("park"), "us", "park")


@pytest.fixture(scope="module", params=["us", "si"])
def sheets(request, tmp_path_factory):
    return Sheets(tmp_path_factory.mktemp(f"sheets-{request.param}"), request.param)


def test_every_font_is_in_the_file(sheets):
    for pdf in (sheets.pdf, sheets.offer):
        found = paper.fonts(pdf)
        assert found, "no text has a font"
        for name, embedded, _, unicode in found:
            assert "NotoSans" in name and embedded == "yes" and unicode == "yes", name


def test_pages_are_counted_and_the_same_job_gives_the_same_bytes(sheets):
    count = len(sheets.pages)
    for number, page in enumerate(sheets.pages, 1):
        assert re.search(rf"\b{number} of {count}\b", page), f"page {number}"
    assert sheets.pdf.read_bytes() == sheets.again.read_bytes()
    assert count == PAGES[sheets.units]


def test_no_word_runs_off_the_page(sheets):
    for pdf in (sheets.pdf, sheets.offer):
        for number, page in enumerate(paper.boxes(pdf), 1):
            for word in page.words:
                inside = (
                    word.left > 14
                    and word.top > 14
                    and word.right < page.width - 14
                    and word.bottom < page.height - 14
                )
                assert inside, f"page {number}: {word}"


def test_no_word_lies_on_another(sheets):
    nothing_lies_on_another(sheets, range(1, len(sheets.pages) + 1))


def nothing_lies_on_another(sheets, numbers):
    for number in numbers:
        runs = paper.Drawn(sheets.pdf, number).texts()
        glyphs = [(i, hull) for i, run in enumerate(runs) for hull in run if hull.area > 0]
        assert glyphs, f"page {number} has no text"
        hulls = [hull for _, hull in glyphs]
        for a, b in STRtree(hulls).query(hulls, predicate="intersects").T:
            if glyphs[a][0] < glyphs[b][0]:
                shared = hulls[a].intersection(hulls[b]).area
                least = min(hulls[a].area, hulls[b].area)
                assert shared <= TOUCHES * least, f"page {number} at {hulls[a].centroid}"


def rows_of(text: str, name: str) -> list[str]:
    return [line for line in text.splitlines() if re.match(rf"\s*{name}\b", line)]


def test_the_cut_list_says_what_the_plan_says(sheets):
    text = sheets.text("Cut list")
    for number, stretch in enumerate(sheets.plan["network"]["stretches"], 1):
        length = sheets.length(stretch["length"])
        lines = rows_of(text, f"S{number}")
        assert any(length in line.split() for line in lines), f"S{number}: {length}"
    listed = {row["stretch"] for row in sheets.table("cut-list")}
    assert listed == {f"S{i}" for i in range(1, len(sheets.plan["network"]["stretches"]) + 1)}


def test_the_staking_list_says_what_the_plan_says(sheets):
    text = sheets.text("Staking list")
    staking = sheets.plan["staking"]
    rows = {row["point"]: row for row in sheets.table("staking-list")}
    assert len(rows) == len(staking["points"])
    first, second = ("first_ft", "second_ft") if sheets.units == "us" else ("first_m", "second_m")
    for point in staking["points"]:
        tie = point["tie"]
        if tie is None:
            continue
        lengths = [sheets.taped(tie[end]["length"]) for end in ("first", "second")]
        lines = rows_of(text, point["id"])
        assert any(all(n in line.split() for n in lengths) for line in lines), point["id"]
        assert [rows[point["id"]][first], rows[point["id"]][second]] == lengths


def test_the_price_and_the_days_stand_on_the_first_page(sheets):
    total = sheets.plan["price"]["total"]
    words = f"{total // 100:,}.{total % 100:02}"
    assert words in sheets.pages[0]
    assert words in paper.text(sheets.offer, "-layout")
    assert str(len(sheets.plan["schedule"]["days"])) in sheets.pages[0].split()


def test_every_circuit_has_its_flow_and_pressure(sheets):
    text = sheets.text("Valves and wire")
    us = sheets.units == "us"
    for circuit in sheets.plan["hydraulics"]["circuits"]:
        flow = circuit["flow"]
        shown = f"{flow / GPM:.2f}" if us else f"{flow * 60000:.1f}"
        lines = [line for line in text.splitlines() if circuit["circuit"] in line.split()]
        assert any(shown in line.split() for line in lines), f"{circuit['circuit']}: {shown}"


def test_every_cut_that_is_filled_stands_once_in_the_record_with_its_lifts(sheets):
    filled = {
        dig["stretch"]: dig["earth"]["lifts"]
        for dig in sheets.plan["digging"]["digs"]
        if dig["earth"]["lifts"] > 0
    }
    listed = [
        (name, int(row["lifts"]))
        for row in sheets.table("backfill-record")
        for name in re.findall(r"S\d+", row["stretches_tick_every_lift_then_the_crown"])
    ]
    assert len(listed) == len(filled) and dict(listed) == filled


def test_every_cell_of_a_table_stands_on_paper(sheets):
    words = paper.text(sheets.pdf).split()
    bare = {word.replace(",", "") for word in words}
    for file in sorted(sheets.tables.glob("*.csv")):
        for row in sheets.table(file.stem):
            for column, cell in row.items():
                # Short lengths stand on paper as one sets them on a tape.
                short = column.endswith(("_in", "_mm"))
                if re.fullmatch(r"-?\d+(\.\d+)?", cell) and not short:
                    assert cell in bare, f"{file.stem}, {column}: {cell}"


def ratio(title: str) -> float:
    """Metres on the ground in a metre of paper, from what a page's title says."""
    if one_to := re.search(r"1:(\d+)", title):
        return float(one_to.group(1))
    inches = re.search(r"(\d+)(?:/(\d+))? in = (\d+) ft", title)
    assert inches, f"no scale in {title}"
    return 12 * float(inches.group(3)) * float(inches.group(2) or 1) / float(inches.group(1))


def sides(points) -> list[float]:
    return [math.dist(a, b) for a, b in zip(points, points[1:])]


@pytest.mark.parametrize("title", ["Plan", "Dig area", "Points to mark"])
def test_the_property_line_is_as_long_on_paper_as_its_scale_says(sheets, title):
    number = next(n for n in sheets.of(title))
    heading = sheets.pages[number - 1].lstrip().splitlines()[0]
    boundary = next(
        feature for feature in sheets.job["features"] if feature["properties"]["kind"] == "boundary"
    )
    assert sheets.job["spadework"]["length_unit"] == "ft"
    ring = [(x * FOOT, y * FOOT) for x, y in boundary["geometry"]["coordinates"][0]]
    scale = ratio(heading)
    wanted = [side * 1000 / scale for side in sides(ring)]
    drawn = [
        [side * paper.POINT for side in sides(path)]
        for path in paper.Drawn(sheets.pdf, number).paths()
        if len(path) == len(ring)
    ]
    off = [max(abs(a - b) for a, b in zip(path, wanted)) for path in drawn]
    # A tenth of a millimetre of paper is less than the line is wide.
    assert min(off, default=math.inf) < 0.1, f"{heading}: {wanted}"


def test_tiles_lead_to_each_other_and_show_every_component(park):
    tiles = {
        re.search(r"tile (\w+)", park.pages[n - 1]).group(1): park.pages[n - 1]
        for n in park.of("Plan, tile")
    }
    assert len(tiles) > 1
    for name, text in tiles.items():
        numbers = [n for n in park.of("Plan, tile") if f"tile {name}," in park.pages[n - 1]]
        nothing_lies_on_another(park, numbers)
        on = "".join(paper.text(park.pdf, "-f", n, "-l", n) for n in numbers)
        beyond = set(re.findall(r"goes on on (\w+)", on))
        assert beyond and beyond <= set(tiles) - {name}
    everything = " ".join(tiles.values())
    for outlet in park.plan["hydraulics"]["outlets"]:
        assert outlet["outlet"] in everything.split(), outlet["outlet"]


AHEAD = {"north": (0, 1), "south": (0, -1), "east": (1, 0), "west": (-1, 0)}


def test_who_follows_the_words_of_the_dig_area_goes_round_all_trenches(park):
    """The demos' houses stand square on the plan, so that its directions are those of the axes."""
    staking = park.plan["staking"]
    fixed = {point["name"]: point["at"] for point in staking["fixed"]}
    corners = []
    for row in park.table("dig-area"):
        steps, _, name = row["where"].rpartition(" of ") if " of " in row["where"] else ("", "", row["where"][3:])
        x, y = fixed[name]
        for feet, toward in re.findall(r"([\d,.]+) ft (\w+)", steps):
            east, north = AHEAD[toward]
            way = float(feet.replace(",", "")) * FOOT
            x, y = x + east * way, y + north * way
        corners.append((x, y))
        assert row["where"].split(" of ")[0] in park.text("Locate request")
    # Told to a tenth of a foot.
    told = Polygon(corners)
    margin = staking["request"]["margin"]
    for stretch in park.plan["network"]["stretches"]:
        path = LineString(stretch["path"])
        assert told.contains(path.buffer(margin - 0.04))
    assert told.area == pytest.approx(staking["request"]["area"], rel=0.002)
    ways = [re.match(r"([\d,.]+) ft", row["from_it_to_the_next"]).group(1) for row in park.table("dig-area")]
    ring = corners + corners[:1]
    for way, side in zip(ways, sides(ring)):
        assert float(way.replace(",", "")) * FOOT == pytest.approx(side, abs=0.05)
