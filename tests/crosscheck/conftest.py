"""What every file of the suite needs: the crates to ask."""

import os

import pytest

from protocol import Crates


@pytest.fixture(scope="session")
def crates():
    """The program that answers for the crates, started once for the whole run."""
    program = os.environ.get("CROSSCHECK_PROGRAM")
    if program is None:
        pytest.exit("run the suite with `cargo xtask crosscheck`, which builds what it asks", 2)
    running = Crates(program)
    yield running
    running.close()
