"""Steady flow in networks with loops, against scipy's root of the balance at the nodes.

The crate makes heads and flows agree by the global gradient method. Here the flows are written as
functions of the heads alone, and scipy looks for the heads at which they balance.
"""

from random import Random

import numpy
import pytest
from scipy.optimize import root

EXPONENT = 1.852
RELATIVE = 1e-4


def network(random):
    """A tree with up to four links more; every node draws something, so that all pipes flow."""
    count = random.randint(3, 14)
    nodes = [{"head_m": random.uniform(30, 60)}]
    nodes += [
        {
            "height_m": random.uniform(0, 5),
            "demand_m3s": random.uniform(1e-5, 2e-4),
            "factor": random.uniform(1e-5, 1e-4),
            "exponent": random.uniform(0.4, 0.6),
        }
        for _ in range(count - 1)
    ]
    ends = [(random.randrange(i), i) for i in range(1, count)]
    more = [tuple(random.sample(range(count), 2)) for _ in range(random.randint(0, 4))]
    links = [
        {
            "from": start,
            "to": end,
            "resistance": 10 ** random.uniform(3.5, 5.5),
            "exponent": EXPONENT,
        }
        for start, end in ends + more
    ]
    return nodes, links


def flow(link, heads):
    """What a link carries between two heads."""
    fall = heads[link["from"]] - heads[link["to"]]
    return numpy.sign(fall) * (abs(fall) / link["resistance"]) ** (1 / EXPONENT)


def imbalance(nodes, links, free_heads):
    """What flows into each free node and not out again."""
    heads = [nodes[0]["head_m"], *free_heads]
    left = numpy.zeros(len(nodes))
    for link in links:
        carried = flow(link, heads)
        left[link["from"]] -= carried
        left[link["to"]] += carried
    for i, node in enumerate(nodes[1:], start=1):
        above = max(heads[i] - node["height_m"], 0)
        left[i] -= node["demand_m3s"] + node["factor"] * above ** node["exponent"]
    return left[1:] * 1e4


@pytest.mark.parametrize("seed", range(20))
def test_flows_are_those_at_which_the_nodes_balance(crates, seed):
    """10 networks each."""
    random = Random(seed)
    for _ in range(10):
        nodes, links = network(random)
        answer = crates.ask("steady_flow", nodes=nodes, links=links)
        # The root is looked for from heads that are off by up to half a metre.
        near = [head + random.uniform(-0.5, 0.5) for head in answer["heads_m"][1:]]
        found = root(lambda heads: imbalance(nodes, links, heads), near, method="lm", tol=1e-12)
        assert abs(imbalance(nodes, links, found.x)).max() < 1e-6, found.message
        heads = [nodes[0]["head_m"], *found.x]
        assert answer["heads_m"] == pytest.approx(heads, rel=RELATIVE)
        largest = max(abs(carried) for carried in answer["flows_m3s"])
        for link, carried in zip(links, answer["flows_m3s"]):
            assert carried == pytest.approx(flow(link, heads), rel=RELATIVE, abs=RELATIVE * largest)
