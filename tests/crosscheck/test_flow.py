"""Steady flow in networks with loops, against scipy's root of all laws at once.

The crate takes turns between heads and flows by the global gradient method. Here all heads and flows
are the unknowns of one system, and scipy looks for its root from somewhere near.
"""

from random import Random

import numpy
import pytest
from scipy.optimize import root

EXPONENT = 1.852
RELATIVE = 1e-4
UNIT = 1e-4


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


def lacks(nodes, links, unknown):
    """By how much each link's law and each free node's balance do not hold, in metres and UNIT."""
    carried = unknown[: len(links)]
    heads = numpy.concatenate([[nodes[0]["head_m"]], unknown[len(links) :]])
    balance = numpy.zeros(len(nodes))
    laws = numpy.zeros(len(links))
    for i, link in enumerate(links):
        start, end, flow = link["from"], link["to"], carried[i] * UNIT
        loss = link["resistance"] * numpy.sign(flow) * abs(flow) ** link["exponent"]
        laws[i] = heads[start] - heads[end] - loss
        balance[start] -= carried[i]
        balance[end] += carried[i]
    for i, node in enumerate(nodes[1:], start=1):
        above = max(heads[i] - node["height_m"], 0)
        drawn = node["demand_m3s"] + node["factor"] * above ** node["exponent"]
        balance[i] -= drawn / UNIT
    return numpy.concatenate([laws, balance[1:]])


@pytest.mark.parametrize("seed", range(20))
def test_flows_and_heads_are_those_at_which_all_laws_hold(crates, seed):
    """10 networks each."""
    random = Random(seed)
    for _ in range(10):
        nodes, links = network(random)
        answer = crates.ask("steady_flow", nodes=nodes, links=links)
        flows, heads = answer["flows_m3s"], answer["heads_m"]
        largest = max(abs(flow) for flow in flows)
        start = [(flow + 0.1 * largest * random.uniform(-1, 1)) / UNIT for flow in flows]
        start += [head + random.uniform(-0.5, 0.5) for head in heads[1:]]
        found = root(lambda unknown: lacks(nodes, links, unknown), start, tol=1e-12)
        assert abs(lacks(nodes, links, found.x)).max() < 1e-6, found.message
        expected_flows = found.x[: len(links)] * UNIT
        assert heads[1:] == pytest.approx(list(found.x[len(links) :]), rel=RELATIVE)
        assert flows == pytest.approx(list(expected_flows), rel=RELATIVE, abs=RELATIVE * largest)
