"""Volume in the bank of a trench, against the area of its section drawn with shapely."""

from random import Random

import pytest
from shapely.geometry import Polygon


@pytest.mark.parametrize("seed", range(20))
def test_volume_is_section_by_length(crates, seed):
    random = Random(seed)
    for _ in range(50):
        depth, bottom = random.uniform(0.1, 3.0), random.uniform(0.05, 1.0)
        # Every fourth trench has upright sides.
        slope = random.choice([0.0, 0.5, 1.0, random.uniform(0.1, 2.0)])
        length = random.uniform(0.5, 200)
        run = slope * depth
        section = Polygon([(0, 0), (bottom, 0), (bottom + run, depth), (-run, depth)])
        volume = crates.ask(
            "volume",
            depth_m=depth,
            bottom_width_m=bottom,
            side_slope_h_per_v=slope,
            length_m=length,
        )["bank_m3"]
        assert volume == pytest.approx(section.area * length, rel=1e-9)
