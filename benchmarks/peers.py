"""The Steiner trees of networkx on one graph in PACE text, as a line of JSON.

usage: python peers.py GRAPH.gr
"""

import json
import sys

import networkx as nx
from networkx.algorithms.approximation import steiner_tree

# Kou's method builds the ways between all pairs of nodes.
MOST_NODES_FOR_KOU = 1200


def read(path):
    graph, terminals = nx.Graph(), []
    with open(path, encoding="utf-8") as lines:
        for line in lines:
            words = line.split()
            if not words:
                continue
            if words[0] == "E":
                a, b, weight = int(words[1]), int(words[2]), float(words[3])
                if not graph.has_edge(a, b) or graph[a][b]["weight"] > weight:
                    graph.add_edge(a, b, weight=weight)
            elif words[0] == "T":
                terminals.append(int(words[1]))
    return graph, terminals


def main():
    graph, terminals = read(sys.argv[1])
    costs = {}
    for method in ("kou", "mehlhorn"):
        if method == "kou" and graph.number_of_nodes() > MOST_NODES_FOR_KOU:
            continue
        tree = steiner_tree(graph, terminals, weight="weight", method=method)
        costs[method] = tree.size(weight="weight")
    print(json.dumps(costs))


main()
