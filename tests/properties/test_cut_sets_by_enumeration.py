"""Cut sets, probabilities and importance of random small trees against every state of every event."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.belief.network import Cause, Input, Network, Node, plackett
from diagnose.faulttree.tree import FaultTree
from tests.examples import often
from tests.oracle import enumerate_all
from tests.strategies import small

State = tuple[bool, ...]


@st.composite
def trees(draw: st.DrawFn) -> Network:
    """Coherent trees with shared causes and gates, votes, links, leaks and mates; the top is `gate-0`."""
    count = draw(st.integers(1, 5))
    causes = tuple(Cause(f"cause-{n}", f"fault-{n}", "centre", draw(small)) for n in range(count))
    pairs = {}
    for n in range(0, count - 1, 2):
        if draw(st.booleans()):
            # Written either way round: the order of a pair is not the order of the events.
            i, j = (n, n + 1) if draw(st.booleans()) else (n + 1, n)
            pairs[i, j] = plackett(causes[i].prior, causes[j].prior, draw(st.sampled_from([0.2, 3.0, 20.0])))
    nodes: dict[str, Node] = {}
    depth = draw(st.integers(1, 4))
    for n in reversed(range(depth)):
        sources: list[int | str] = [*range(count), *nodes]
        picked = draw(st.lists(st.sampled_from(sources), min_size=1, max_size=4, unique=True))
        need = draw(st.integers(1, len(picked)))
        leak = draw(st.sampled_from([0.0, 0.0, 0.1]))
        start = (1.0 - leak, *([0.0] * (need - 1)), leak)
        inputs = tuple(Input(s, (draw(st.sampled_from([1.0, 1.0, 0.6])),)) for s in picked)
        nodes[f"gate-{n}"] = Node(f"gate-{n}", need, True, start, inputs)
    return Network(causes, pairs, nodes)


def grown(network: Network) -> FaultTree:
    tree = FaultTree(network, "gate-0")
    assume(len(tree.events) <= 11)
    return tree


def on(tree: FaultTree, state: State, gate: str = "gate-0") -> bool:
    """Whether the gate is on, straight from the network."""
    happens = {event.key for event, here in zip(tree.events, state, strict=True) if here}
    node = tree.network.nodes[gate]
    if f"{gate}<leak" in happens:
        return True
    raised = 0
    for number, each in enumerate(node.inputs):
        if isinstance(each.source, str):
            below = on(tree, state, each.source)
        else:
            below = tree.network.causes[each.source].id in happens
        raised += below and (each.chances[0] >= 1.0 or f"{gate}<{number}" in happens)
    return raised >= node.top


def states(tree: FaultTree) -> Iterator[tuple[State, float]]:
    """Every state of the events with its probability."""
    at = {event.cause: n for n, event in enumerate(tree.events) if event.kind == "cause"}
    pairs = {(at[i], at[j]): table for (i, j), table in tree.network.pairs.items() if i in at and j in at}
    paired = {event for pair in pairs for event in pair}
    for state in itertools.product((False, True), repeat=len(tree.events)):
        p = 1.0
        for n, event in enumerate(tree.events):
            if n not in paired:
                p *= event.chance if state[n] else 1.0 - event.chance
        for (i, j), table in pairs.items():
            p *= table[state[i]][state[j]]
        yield state, p


def with_event(state: State, event: int, happens: bool) -> State:
    return (*state[:event], happens, *state[event + 1 :])


def minimal(tree: FaultTree) -> set[frozenset[int]]:
    """The minimal cut sets: what raises the top, and does not without any one of its events."""
    found = set()
    for state, _ in states(tree):
        if on(tree, state) and not any(
            here and on(tree, with_event(state, n, False)) for n, here in enumerate(state)
        ):
            found.add(frozenset(n for n, here in enumerate(state) if here))
    return found


@given(trees())
def test_the_top_is_as_likely_as_by_enumeration(network: Network) -> None:
    tree = grown(network)
    by_hand = sum(p for state, p in states(tree) if on(tree, state))
    assert tree.chance == pytest.approx(by_hand, abs=1e-12)


@given(trees())
def test_the_belief_says_the_same_of_the_top(network: Network) -> None:
    # The belief's own oracle takes no leak of a gate that needs several: such a network is never made.
    assume(all(node.top == 1 or node.start[-1] == 0.0 for node in network.nodes.values()))
    tree = grown(network)
    assume(sum(len(node.inputs) for node in network.nodes.values()) <= 8)
    _, _, gates, _ = enumerate_all(network, {})
    assert tree.chance == pytest.approx(gates["gate-0"], abs=1e-12)


@given(trees())
def test_the_cut_sets_are_those_of_enumeration(network: Network) -> None:
    tree = grown(network)
    expected = minimal(tree)
    found = tree.cut_sets(10_000)
    assert {frozenset(each.events) for each in found} == expected
    assert len(found) == len(expected) == sum(tree.counts.values())
    ordered = [each.chance for each in found]
    assert ordered == sorted(ordered, reverse=True)
    for each in found:
        assert each.chance == pytest.approx(tree.chances.all_of(each.events), rel=1e-9)
        every = sum(p for state, p in states(tree) if all(state[event] for event in each.events))
        assert each.chance == pytest.approx(every, abs=1e-12)
        assert each.order == sum(1 for event in each.events if tree.events[event].kind != "link")
    for order in (0, 1, 2):
        assert tree.cut_sets(10_000, order) == [each for each in found if each.order <= order]
    assert tree.cut_sets(2) == found[:2]


@given(trees())
def test_the_bounds_bound(network: Network) -> None:
    tree = grown(network)
    assert tree.bounds is not None
    bound, rare = tree.bounds
    assert bound <= rare * (1 + 1e-12)
    assert tree.chance <= rare * (1 + 1e-12)
    if tree.bounded:
        assert tree.chance <= bound * (1 + 1e-12)


@often(30, 200, trees())
def test_importance_is_that_of_enumeration(network: Network) -> None:
    tree = grown(network)
    top = sum(p for state, p in states(tree) if on(tree, state))
    cuts = minimal(tree)
    found = {each.event: each for each in tree.importance}
    assert set(found) == set(range(len(tree.events)))
    for event, each in found.items():
        one = sum(p for state, p in states(tree) if on(tree, with_event(state, event, True)))
        zero = sum(p for state, p in states(tree) if on(tree, with_event(state, event, False)))
        there = sum(p for state, p in states(tree) if state[event] and on(tree, state))
        mine = [cut for cut in cuts if event in cut]
        some = sum(p for state, p in states(tree) if any(all(state[n] for n in cut) for cut in mine))
        assert each.birnbaum == pytest.approx(one - zero, abs=1e-12)
        assert each.criticality == pytest.approx((top - zero) / top, abs=1e-10)
        assert each.achievement == pytest.approx(one / top, rel=1e-10)
        assert each.fussell_vesely == pytest.approx(some / top, abs=1e-10)
        assert each.given_top == pytest.approx(there / top, abs=1e-10)
        assert each.cut_sets == len(mine)
        if zero > 0.0:
            assert each.reduction == pytest.approx(top / zero, rel=1e-10)
        else:
            assert each.reduction is None
