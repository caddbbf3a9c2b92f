"""Job files held against GDAL, the library that most geographic information systems read them with.

The checks of the form itself are those of GDAL's own validator of GeoPackages (in the package gdal-utils).
"""

import json
import os
import shutil
import sqlite3
import subprocess
import warnings
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely
from osgeo_utils.samples.validate_gpkg import GPKGChecker

SPADEWORK = os.environ.get("SPADEWORK_PROGRAM")
DEMOS = Path(__file__).parents[2] / "crates" / "job" / "data"
NAMES = ["demo", "demo-courtyard", "demo-garden", "demo-hillside", "demo-park"]


def spadework(*arguments, cwd):
    """Runs the program and gives its standard output."""
    assert SPADEWORK, "run through `cargo xtask crosscheck`, which builds the program"
    done = subprocess.run([SPADEWORK, *map(str, arguments)], cwd=cwd, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def validate(path):
    """Everything that GDAL's validator has against a file, its warnings included."""
    checker = GPKGChecker(
        str(path), abort_at_first_error=False, extra_checks=True, warning_msg=False, warning_as_error=False
    )
    checker.check()
    return checker.errors + checker.warnings


def read(path, layer):
    """Columns, shapes and values of a layer; a complaint of GDAL is an error."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        meta, _, shapes, values = pyogrio.raw.read(path, layer=layer)
    rows = [dict(zip(meta["fields"], row)) for row in zip(*values)]
    if shapes is None:
        return meta, [None] * len(rows), rows
    return meta, [None if s is None else shapely.from_wkb(s) for s in shapes], rows


@pytest.fixture(scope="module", params=NAMES)
def demo(request, tmp_path_factory):
    """A demo as a text and as a job file."""
    folder = tmp_path_factory.mktemp(request.param)
    text = DEMOS / f"{request.param}.json"
    spadework("export", text, "job.gpkg", cwd=folder)
    return json.loads(text.read_text(encoding="utf-8")), folder / "job.gpkg"


def test_the_form_is_valid(demo):
    _, path = demo
    assert validate(path) == []


def test_the_validator_finds_what_is_wrong(demo, tmp_path):
    _, path = demo
    broken = tmp_path / "broken.gpkg"
    shutil.copy(path, broken)
    with sqlite3.connect(broken) as database:
        database.execute("UPDATE gpkg_geometry_columns SET z = 7 WHERE table_name = 'head'")
    assert validate(broken) != []


def test_every_feature_is_a_row_of_its_layer(demo):
    job, path = demo
    layers = set(pyogrio.list_layers(path)[:, 0])
    found = 0
    for layer in layers:
        wanted = {f["id"]: f for f in job["features"] if f["properties"]["kind"] == layer}
        _, shapes, rows = read(path, layer)
        for shape, row in zip(shapes, rows):
            if "id" not in row:
                continue
            feature = wanted.pop(row["id"])
            found += 1
            for name, value in feature["properties"].items():
                assert name == "kind" or row[name] == value, (row["id"], name)
            if feature["geometry"] is None:
                assert shape is None
            else:
                drawn = shapely.geometry.shape(feature["geometry"])
                assert np.array_equal(shapely.get_coordinates(shape), shapely.get_coordinates(drawn))
                assert shape.geom_type == drawn.geom_type
        assert wanted == {}
    assert found == len(job["features"])


def test_the_extents_are_those_of_the_shapes(demo):
    _, path = demo
    for layer in ["head", "boundary", "utility"]:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            stated = pyogrio.read_info(path, layer=layer, force_total_bounds=False)["total_bounds"]
        _, shapes, _ = read(path, layer)
        if shapes:
            assert np.allclose(stated, shapely.total_bounds(np.array(shapes)), rtol=0, atol=1e-12)


def test_a_feature_that_gdal_adds_is_read(demo, tmp_path):
    job, path = demo
    changed = tmp_path / "changed.gpkg"
    shutil.copy(path, changed)
    point = np.array([shapely.to_wkb(shapely.Point(12.25, 7.5))], dtype=object)
    texts = [np.array([text], dtype=object) for text in ("ADDED", "2 gpm")]
    with warnings.catch_warnings():
        # The layer has its reference system already.
        warnings.filterwarnings("ignore", message="'crs' was not provided")
        pyogrio.raw.write(
            str(changed), point, texts, ["id", "flow"], layer="head", driver="GPKG",
            geometry_type="Point", append=True, crs=None,
        )
    spadework("export", changed, "back.json", cwd=tmp_path)
    back = json.loads((tmp_path / "back.json").read_text(encoding="utf-8"))
    assert len(back["features"]) == len(job["features"]) + 1
    added = back["features"][-1]
    assert added["id"] == "ADDED" and added["properties"] == {"kind": "head", "flow": "2 gpm"}
    assert added["geometry"] == {"type": "Point", "coordinates": [12.25, 7.5]}
    assert validate(changed) == []


@pytest.mark.skipif(shutil.which("ogrinfo") is None, reason="GDAL's own programs are not on this machine")
def test_ogrinfo_opens_it_without_complaint(demo):
    _, path = demo
    done = subprocess.run(["ogrinfo", "-al", "-so", path], capture_output=True, text=True)
    assert done.returncode == 0 and done.stderr == "", done.stderr
