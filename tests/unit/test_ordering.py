"""Orders in which events are closed, against pathwidths that are known and the best of all orders."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.belief import ordering
from diagnose.belief.ordering import Events, closing_order


def of_graph(graph: nx.Graph, sizes: Sequence[int] | None = None) -> Events:
    """An event for each vertex, and a cause for each edge, which pushes both of its ends."""
    count = graph.number_of_nodes()
    edges = [1 << a | 1 << b for a, b in graph.edges]
    return Events(
        sizes or [2] * count,
        [[mask for mask in edges if mask >> n & 1] for n in range(count)],
        [0] * count,
        [0] * count,
    )


def widest(events: Events, order: Sequence[int]) -> int:
    """States of the widest table if the events are closed in this order: all that is pushed by a cause of
    which one event is closed, or about to be, and is not closed itself."""
    worst, closed = 1, 0
    for place, event in enumerate(order):
        opened = 0
        for one in order[: place + 1]:
            opened |= 1 << one | events.above[one]
            for mask in events.pushed[one]:
                opened |= mask
        opened &= ~closed
        worst = max(worst, math.prod(size for n, size in enumerate(events.sizes) if opened >> n & 1))
        closed |= 1 << event
    return worst


# Pathwidths from H. L. Bodlaender, A partial k-arboretum of graphs with bounded treewidth, Theoretical
# Computer Science 209 (1998): a path 1, a cycle 2, a complete graph n - 1, a star 1, a complete bipartite
# graph the smaller side, a square grid its side, a complete binary tree half its height, rounded up. From
# memory.
KNOWN = {
    "path": (nx.path_graph(30), 1),
    "cycle": (nx.cycle_graph(20), 2),
    "complete": (nx.complete_graph(9), 8),
    "star": (nx.star_graph(15), 1),
    "bipartite": (nx.complete_bipartite_graph(4, 9), 4),
    "grid": (nx.convert_node_labels_to_integers(nx.grid_2d_graph(6, 6)), 6),
    "long grid": (nx.convert_node_labels_to_integers(nx.grid_2d_graph(4, 12)), 4),
    "tree of height 3": (nx.balanced_tree(2, 3), 2),
    "tree of height 4": (nx.balanced_tree(2, 4), 2),
}


@pytest.mark.parametrize("name", KNOWN)
def test_the_table_is_as_wide_as_the_known_pathwidth(name: str) -> None:
    graph, pathwidth = KNOWN[name]
    events = of_graph(graph)
    assert widest(events, closing_order(events)) == 2 ** (pathwidth + 1)


@st.composite
def small(draw: st.DrawFn) -> Events:
    """Up to seven events of two or three states, pushed by causes in any sets, some feeding others."""
    count = draw(st.integers(1, 7))
    sizes = draw(st.lists(st.integers(2, 3), min_size=count, max_size=count))
    sets = draw(st.lists(st.integers(1, 2**count - 1), max_size=9))
    # An event feeds none before it, so that there is no circle.
    feeds = draw(st.lists(st.integers(0, 2**count - 1), min_size=count, max_size=count))
    above = [mask >> (n + 1) << (n + 1) for n, mask in enumerate(feeds)]
    above = [mask & draw(st.integers(0, 2**count - 1)) for mask in above]
    below = [sum(1 << m for m in range(count) if above[m] >> n & 1) for n in range(count)]
    return Events(sizes, [[m for m in sets if m >> n & 1] for n in range(count)], above, below)


@given(small())
def test_every_event_once_and_after_those_that_feed_it(events: Events) -> None:
    order = closing_order(events)
    assert sorted(order) == list(range(len(events.sizes)))
    closed = 0
    for event in order:
        assert not events.below[event] & ~closed
        closed |= 1 << event


@given(small())
def test_where_many_orders_are_followed_the_table_is_hardly_wider_than_the_best(events: Events) -> None:
    allowed = [
        order
        for order in itertools.permutations(range(len(events.sizes)))
        if all(not events.below[n] >> m & 1 for k, n in enumerate(order) for m in order[k + 1 :])
    ]
    best = min(widest(events, order) for order in allowed)
    with pytest.MonkeyPatch.context() as always:
        always.setattr(ordering, "SIDE_BY_SIDE", ((0, 48),))
        found = widest(events, closing_order(events))
    # The cheapest order in all may pass through one table that is wider than need be.
    assert best <= found <= best * 2
