"""Orders of branching against published and obvious trees, and against an independent recursion.

Sources: A. P. Ershov 1958, "On programming of arithmetic operations", Communications of the ACM
1(8):3-6, whose register number of a syntax tree is the same rule (the example (a-b)+e*(c+d) with
number 3 is the one of the compiler textbooks); A. N. Strahler 1952, "Hypsometric (area-altitude)
analysis of erosional topography", GSA Bulletin 63:1117-1142; R. E. Horton 1945, GSA Bulletin
56:275-370, for the ratio of numbers of orders. Named from memory; the values below are worked out
by hand from the rule and agree with the open library navis, run once outside these tests.
"""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest

from boughwright.tree.strahler import horton_ratios, node_tree, strahler, stream_counts


def tree_of(nested):
    """Parents, each before its children, of a tree given as nested tuples; a leaf is ()."""
    parent = []

    def walk(node, above):
        here = len(parent)
        parent.append(above)
        for child in node:
            walk(child, here)

    walk(nested, -1)
    return np.asarray(parent, np.int32)


def perfect(depth):
    return () if depth == 0 else (perfect(depth - 1), perfect(depth - 1))


LEAF = ()
PAIR = (LEAF, LEAF)  # order 2


@pytest.mark.parametrize(
    ("nested", "order"),
    [
        pytest.param((PAIR, (LEAF, PAIR)), 3, id="(a-b)+e*(c+d)"),
        pytest.param(perfect(2), 3, id="perfect-2"),
        pytest.param(perfect(3), 4, id="perfect-3"),
        pytest.param(perfect(4), 5, id="perfect-4"),
        pytest.param((LEAF, (LEAF, (LEAF, (LEAF, LEAF)))), 2, id="chain-with-side-twigs"),
        pytest.param((LEAF, LEAF, LEAF), 2, id="1,1,1"),
        pytest.param((PAIR, LEAF, LEAF), 2, id="2,1,1"),
        pytest.param((PAIR, PAIR, LEAF), 3, id="2,2,1"),
        pytest.param(LEAF, 1, id="one-tip"),
        pytest.param((((LEAF,),),), 1, id="bare-chain"),
    ],
)
def test_order_of_known_trees(nested, order):
    assert strahler(tree_of(nested))[0] == order


def test_orders_of_the_register_example_node_by_node():
    # + (3) has - (2) over a, b and * (2) over e and + (2) over c, d: two 2s meet at the top.
    orders = strahler(tree_of((PAIR, (LEAF, PAIR))))
    assert orders.tolist() == [3, 2, 1, 1, 2, 1, 2, 1, 1]


def recursion(graph, node):
    below = sorted((recursion(graph, child) for child in graph.successors(node)), reverse=True)
    if not below:
        return 1
    return below[0] + (len(below) > 1 and below[0] == below[1])


@pytest.mark.parametrize("seed", range(12))
def test_random_trees_agree_with_a_plain_recursion(seed):
    rng = np.random.default_rng(seed)
    size = int(rng.integers(2, 160))
    free = nx.random_labeled_tree(size, seed=seed)
    graph = nx.bfs_tree(free, 0)
    place = {node: row for row, node in enumerate(graph.nodes)}
    parent = np.full(size, -1, np.int32)
    for above, below in graph.edges:
        parent[place[below]] = place[above]
    assert (parent < np.arange(size)).all()
    expected = [recursion(graph, node) for node in graph.nodes]
    assert strahler(parent).tolist() == expected


@pytest.mark.parametrize("depth", [2, 3, 5])
def test_horton_ratio_of_a_perfect_binary_tree_is_two(depth):
    # 2^d tips, 2^(d-1) runs of order 2, ... 1 of order d+1: every ratio is 2.
    parent = tree_of(perfect(depth))
    orders = strahler(parent)
    assert stream_counts(parent, orders).tolist() == [2**k for k in range(depth, -1, -1)]
    assert horton_ratios(parent, orders).tolist() == [2.0] * depth


def test_a_run_of_one_order_counts_once():
    # The chain of four twigs: five tips, one run of order 2 through four forks.
    parent = tree_of((LEAF, (LEAF, (LEAF, (LEAF, LEAF)))))
    assert stream_counts(parent, strahler(parent)).tolist() == [5, 1]
    assert horton_ratios(parent, strahler(parent)).tolist() == [5.0]


def test_a_branch_with_one_side_shoot_is_a_fork():
    # Branch 0 carries branch 1: the line goes on to its own tip, so two tips of order 1 meet.
    nodes, base = node_tree(
        np.asarray([-1, 0], np.int32), np.asarray([np.nan, 20.0]), np.asarray([True, True])
    )
    assert strahler(nodes)[base].tolist() == [2, 1]


def test_shoots_from_one_place_meet_at_once_and_from_two_places_in_turn():
    # Shoots a (order 1), b (1), c (2, it carries d) on branch 0.
    parent = np.asarray([-1, 0, 0, 0, 3], np.int32)
    keep = np.ones(5, bool)
    # c at the start, a and b together further out: a, b and the tip make 2, which meets c: 3.
    apart = node_tree(parent, np.asarray([np.nan, 30.0, 30.0, 10.0, 5.0]), keep)
    # all three at one place: 2 and three 1s meet: 2.
    at_once = node_tree(parent, np.asarray([np.nan, 30.0, 30.0, 30.0, 5.0]), keep)
    assert strahler(apart[0])[apart[1]].tolist() == [3, 1, 1, 2, 1]
    assert strahler(at_once[0])[at_once[1]].tolist() == [2, 1, 1, 2, 1]


def first_node(along, parent, row):
    known = [place for place in along[parent == row] if not np.isnan(place)]
    return row, min(known, default="end")


@pytest.mark.parametrize("seed", range(6))
def test_node_tree_agrees_with_a_graph_built_step_by_step(seed):
    """The same rule built with networkx: places sorted along each branch, then end and tip."""
    rng = np.random.default_rng(seed)
    size = int(rng.integers(2, 60))
    parent = np.asarray([-1, *(int(rng.integers(0, row)) for row in range(1, size))], np.int32)
    along = rng.choice([5.0, 10.0, 20.0, np.nan], size)
    nodes, base = node_tree(parent, along, np.ones(size, bool))
    graph = nx.DiGraph()
    for row in range(size):
        places = sorted({a for a in along[parent == row] if not np.isnan(a)})
        line = [(row, place) for place in places] + [(row, "end"), (row, "tip")]
        nx.add_path(graph, line)
    for row in range(1, size):
        first = first_node(along, parent, row)
        at = along[row]
        graph.add_edge((parent[row], "end" if np.isnan(at) else at), first)
    firsts = [first_node(along, parent, row) for row in range(size)]
    assert (nodes < np.arange(len(nodes))).all()
    assert strahler(nodes)[base].tolist() == [recursion(graph, node) for node in firsts]
