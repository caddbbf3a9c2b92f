"""The planner's server: whatever is sent to it, it answers as its description says, and does not fail.

schemathesis makes requests from the description: such as keep it, and such as break it.
"""

import json
import os
import pathlib
import re
import subprocess
import urllib.request

import pytest

schemathesis = pytest.importorskip("schemathesis", reason="needs Python 3.10 or newer")

from hypothesis import HealthCheck, settings  # noqa: E402
from schemathesis.checks import not_a_server_error  # noqa: E402
from schemathesis.specs.openapi.checks import (  # noqa: E402
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

ROOT = pathlib.Path(__file__).resolve().parents[2]
DESCRIPTION = json.loads((ROOT / "ui" / "openapi.json").read_text(encoding="utf-8"))
# Events go on without an end; that they come is tried in a browser.
ENDLESS = "/api/events"

schema = schemathesis.openapi.from_dict(DESCRIPTION).exclude(path=ENDLESS)


class Planner:
    """The program with an invented job, and what a page shows with every change."""

    def __init__(self, folder: pathlib.Path) -> None:
        demo = ROOT / "crates" / "job" / "data" / "demo-courtyard.json"
        (folder / "job.json").write_bytes(demo.read_bytes())
        self.program = subprocess.Popen(
            [os.environ["SPADEWORK_PROGRAM"], "open", "job.json", "--no-browser"],
            cwd=folder,
            stdout=subprocess.PIPE,
            text=True,
        )
        said = self.program.stdout.readline()
        self.address = re.search(r"http://[\d.:]+", said).group(0)
        with urllib.request.urlopen(self.address) as page:
            self.token = re.search(r'name="token" content="(\w+)"', page.read().decode()).group(1)

    def job(self) -> dict:
        with urllib.request.urlopen(self.address + "/api/job") as answer:
            return json.load(answer)


@pytest.fixture(scope="module")
def planner(tmp_path_factory):
    served = Planner(tmp_path_factory.mktemp("planner"))
    yield served
    served.program.kill()
    served.program.wait()


@schema.parametrize()
@settings(
    max_examples=40,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
)
def test_every_request_is_answered_as_described(case, planner):
    case.call_and_validate(
        base_url=planner.address,
        headers={"x-spadework": planner.token},
        checks=[
            not_a_server_error,
            status_code_conformance,
            content_type_conformance,
            response_schema_conformance,
        ],
    )
    assert planner.program.poll() is None


def test_it_still_serves_its_job_afterwards(planner):
    assert planner.program.poll() is None
    assert isinstance(planner.job()["version"], int)
