"""A PDF as poppler sees it: words with their boxes, glyphs with their outlines, paths, fonts, pages."""

import re
import subprocess
import xml.etree.ElementTree as ET
from dataclasses import dataclass

from shapely.geometry import MultiPoint
from shapely.geometry.base import BaseGeometry

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
XHTML = "{http://www.w3.org/1999/xhtml}"
POINT = 25.4 / 72


def run(*command) -> str:
    done = subprocess.run([str(part) for part in command], capture_output=True, check=True)
    return done.stdout.decode("utf-8")


def text(pdf, *options) -> str:
    return run("pdftotext", *options, pdf, "-")


def pages(pdf) -> list[str]:
    """The text of every page, laid out as it stands there."""
    return text(pdf, "-layout").split("\f")[:-1]


def fonts(pdf) -> list[list[str]]:
    """Name, type, encoding, embedded, subset, unicode … of every font."""
    rows = run("pdffonts", pdf).splitlines()[2:]
    # The type may be of two words; from the right: object number of two words, uni, sub, emb.
    return [[row.split()[0], *row.split()[-5:-2]] for row in rows]


@dataclass
class Word:
    text: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass
class Page:
    width: float
    height: float
    words: list[Word]


def boxes(pdf) -> list[Page]:
    """Every page with the boxes of its words, in points."""
    tree = ET.fromstring(text(pdf, "-bbox"))
    found = []
    for page in tree.iter(XHTML + "page"):
        words = [
            Word(word.text or "", *(float(word.get(side)) for side in ("xMin", "yMin", "xMax", "yMax")))
            for word in page.iter(XHTML + "word")
        ]
        found.append(Page(float(page.get("width")), float(page.get("height")), words))
    return found


class Drawn:
    """A page as poppler draws it: paths and glyphs in points of paper."""

    def __init__(self, pdf, number: int) -> None:
        # Without its own wish it shrinks paper that is no whole number of points.
        svg = run("pdftocairo", "-svg", "-noshrink", "-f", number, "-l", number, pdf, "-")
        self.root = ET.fromstring(svg)
        self.glyphs = {
            symbol.get("id"): vertices("".join(path.get("d") for path in symbol.iter(SVG + "path")))
            for symbol in self.root.iter()
            if (symbol.get("id") or "").startswith("glyph")
        }

    def texts(self) -> list[list[BaseGeometry]]:
        """The glyphs of every run of text, as their hulls."""
        runs = []

        def walk(element, matrix):
            matrix = times(matrix, element.get("transform"))
            uses = [child for child in element if child.tag == SVG + "use"]
            hulls = [hull for use in uses if (hull := self.hull(use, matrix)) is not None]
            if hulls:
                runs.append(hulls)
            for child in element:
                if child.tag not in (SVG + "defs", SVG + "use"):
                    walk(child, matrix)

        walk(self.root, (1, 0, 0, 1, 0, 0))
        return runs

    def hull(self, use, matrix):
        outline = self.glyphs.get(use.get(HREF, "").lstrip("#"))
        if not outline:
            return None
        x, y = float(use.get("x", 0)), float(use.get("y", 0))
        return MultiPoint([apply(matrix, (x + a, y + b)) for a, b in outline]).convex_hull

    def paths(self) -> list[list[tuple[float, float]]]:
        """The corners of every path that is drawn, each part of it apart."""
        parts = []

        def walk(element, matrix):
            matrix = times(matrix, element.get("transform"))
            if element.tag == SVG + "path":
                for piece in re.split(r"(?=M)", element.get("d", "")):
                    points = [apply(matrix, point) for point in vertices(piece)]
                    if points:
                        parts.append(points + points[:1] if "Z" in piece else points)
            for child in element:
                if child.tag != SVG + "defs":
                    walk(child, matrix)

        walk(self.root, (1, 0, 0, 1, 0, 0))
        return parts


def vertices(data: str) -> list[tuple[float, float]]:
    """All points that path data names; those that steer curves lie close by."""
    numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?(?:e-?\d+)?", data)]
    return list(zip(numbers[::2], numbers[1::2]))


def times(matrix, transform):
    if not transform:
        return matrix
    found = re.fullmatch(r"matrix\(([^)]*)\)", transform.strip())
    assert found, f"poppler writes matrices, not {transform}"
    a, b, c, d, e, f = (float(n) for n in found.group(1).replace(",", " ").split())
    m = matrix
    return (
        m[0] * a + m[2] * b,
        m[1] * a + m[3] * b,
        m[0] * c + m[2] * d,
        m[1] * c + m[3] * d,
        m[0] * e + m[2] * f + m[4],
        m[1] * e + m[3] * f + m[5],
    )


def apply(m, point):
    x, y = point
    return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]
