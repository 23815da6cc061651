"""The door of the room: what a tree takes, what it refuses, and that it agrees with the belief."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest

from diagnose.belief.belief import Belief, Car
from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node, expand, plackett
from diagnose.faulttree.tree import FaultTree
from diagnose.model.story import Story
from diagnose.model.vehicle import Vehicle
from tests.shipped import LIBRARY

#: Cars of which much and little is known (demo).
CARS = {
    "the reference car": Vehicle(),
    "demo old car": Vehicle(
        facts={"front": "strut", "rear": "twist-beam", "drive": "front"},
        km=287_000,
        years=17,
        conditions={"salt-climate": True},
    ),
}


def gate(key: str, need: int, *inputs: Input, leak: float = 0.0) -> Node:
    return Node(key, need, True, (1.0 - leak, *([0.0] * (need - 1)), leak), inputs)


def coins(*chances: float) -> tuple[Cause, ...]:
    return tuple(Cause("abcdef"[n], "fault", "centre", p) for n, p in enumerate(chances))


@pytest.mark.parametrize("car", CARS)
@pytest.mark.parametrize("complaint", list(LIBRARY.complaints))
def test_the_top_is_the_belief_in_the_complaint(complaint: str, car: str) -> None:
    for side in (None, "left") if LIBRARY.complaints[complaint].sided else (None,):
        network = expand(LIBRARY, CARS[car], {complaint: side})
        tree = FaultTree(network, complaint)
        believed = math.exp(float(Engine(network).ask([{complaint: (0.0, 1.0)}]).log_evidence[0]))
        assert tree.chance == pytest.approx(believed, abs=1e-9)
        assert tree.bounds is not None and tree.bounded
        assert tree.chance <= tree.bounds[0] * (1 + 1e-12) <= tree.bounds[1] * (1 + 1e-12)


@pytest.mark.parametrize("complaint", ["wander", "vague-steering", "front-inner-edge-wear"])
def test_presence_is_that_of_the_belief_once_the_complaint_is_sure(complaint: str) -> None:
    network = expand(LIBRARY, Vehicle(), {complaint: None})
    tree = FaultTree(network, complaint)
    answer = Engine(network).ask([{complaint: (0.0, 1.0)}])
    for each in tree.importance:
        event = tree.events[each.event]
        if event.kind == "cause":
            assert each.given_top == pytest.approx(float(answer.present[0][event.cause or 0]), abs=1e-9)


@pytest.mark.parametrize("every", [6, pytest.param(1, marks=pytest.mark.long)])
def test_blame_is_the_union_of_cut_sets_in_a_tree_of_ors(every: int) -> None:
    """Where no gate asks for several branches, a cut set is a cause with links that work: Fussell-Vesely
    is what a ranking calls to blame. For a cause with several ways up a ranking takes these as
    independent once it is present (docs/method.md, section 6); here they are what they are."""
    found = 0
    for complaint in list(LIBRARY.complaints)[::every]:
        network = expand(LIBRARY, Vehicle(), {complaint: None})
        if any(node.top > 1 for node in network.nodes.values()):
            continue
        ways = Counter(each.source for node in network.nodes.values() for each in node.inputs)
        tree = FaultTree(network, complaint)
        blamed = Engine(network).ask([{complaint: (0.0, 1.0)}]).to_blame[0]
        for each in tree.importance:
            event = tree.events[each.event]
            if event.cause is None or event.kind != "cause":
                continue
            several = ways[event.cause] > 1
            assert each.fussell_vesely == pytest.approx(blamed[event.cause], abs=0.02 if several else 1e-9)
            found += not several
    assert found > 300 / every


def test_what_goes_with_a_part_is_what_its_cure_leaves() -> None:
    """Criticality against the belief's own twin trees: P(complaint) less P(it is there without the cause)."""
    car = Car(LIBRARY, Vehicle(), {"shimmy": None})
    belief = Belief(car, Story(Vehicle()))
    tree = FaultTree(expand(LIBRARY, Vehicle(), {"shimmy": None}), "shimmy")
    for each in [each for each in tree.importance if tree.events[each.event].kind == "cause"][:5]:
        left = 1.0 - belief.cured([tree.events[each.event].cause or 0])
        assert each.criticality == pytest.approx((tree.chance - left) / tree.chance, abs=1e-9)


def test_a_strong_link_is_an_event_and_a_sure_one_is_none() -> None:
    top = gate("top", 1, Input(0, (0.5,)), Input(1, (1.0,)), leak=0.05)
    tree = FaultTree(Network(coins(0.2, 0.3), {}, {"top": top}), "top")
    assert {(event.key, event.kind, event.source, event.gate) for event in tree.events} == {
        ("a", "cause", "a", ""),
        ("top<0", "link", "a", "top"),
        ("b", "cause", "b", ""),
        ("top<leak", "leak", "", "top"),
    }
    sets = [[tree.events[event].key for event in each.events] for each in tree.cut_sets()]
    assert sets == [["b"], ["a", "top<0"], ["top<leak"]]
    assert tree.counts == {1: 3}
    assert tree.chance == pytest.approx(1 - (1 - 0.2 * 0.5) * 0.7 * 0.95, abs=1e-15)


def test_mates_are_taken_together_and_one_made_sure_leaves_the_other() -> None:
    causes = coins(0.1, 0.2)
    table = plackett(0.1, 0.2, 8.0)
    both = FaultTree(
        Network(
            causes,
            {(1, 0): ((table[0][0], table[1][0]), (table[0][1], table[1][1]))},
            {"top": gate("top", 2, Input(0, (1.0,)), Input(1, (1.0,)))},
        ),
        "top",
    )
    assert both.chance == pytest.approx(table[1][1], abs=1e-15)
    assert both.cut_sets()[0].chance == pytest.approx(table[1][1], abs=1e-15)
    found = {both.events[each.event].key: each for each in both.importance}
    assert found["a"].birnbaum == pytest.approx(0.2, abs=1e-15)
    assert found["b"].birnbaum == pytest.approx(0.1, abs=1e-15)
    assert found["a"].given_top == pytest.approx(1.0, abs=1e-12)


def test_mates_that_shun_each_other_make_the_bound_none() -> None:
    nodes = {"top": gate("top", 1, Input(0, (1.0,)), Input(1, (1.0,)))}
    shunning = FaultTree(Network(coins(0.5, 0.5), {(0, 1): plackett(0.5, 0.5, 0.01)}, nodes), "top")
    assert not shunning.bounded
    assert shunning.bounds is not None
    assert shunning.chance > shunning.bounds[0]
    assert shunning.chance <= shunning.bounds[1]


def test_too_many_cut_sets_are_counted_and_the_likeliest_found_without_listing_them() -> None:
    """Ten of forty: 847 660 528 cut sets, by the binomial coefficient."""
    causes = tuple(Cause(f"c{n:02}", "fault", "centre", 0.01 + 0.001 * n) for n in range(40))
    nodes = {"top": gate("top", 10, *(Input(n, (1.0,)) for n in range(40)))}
    tree = FaultTree(Network(causes, {}, nodes), "top")
    assert tree.counts == {10: math.comb(40, 10)}
    assert tree.bounds is None
    (best,) = tree.cut_sets(1)
    assert sorted(tree.events[event].key for event in best.events) == [f"c{n}" for n in range(30, 40)]
    assert best.chance == pytest.approx(math.prod(cause.prior for cause in causes[30:]), rel=1e-12)


def test_a_long_chain_of_gates_is_no_trouble() -> None:
    """Five thousand events and as many gates one below the other: nothing here recurses."""
    many = 5000
    causes = tuple(Cause(f"c{n}", "fault", "centre", 1e-4) for n in range(many))
    nodes = {
        f"g{n}": gate(f"g{n}", 1, Input(n, (1.0,)), *([Input(f"g{n + 1}", (1.0,))] if n + 1 < many else []))
        for n in range(many)
    }
    network = Network(causes, {}, nodes)
    tree = FaultTree(network, "g0")
    assert tree.chance == pytest.approx(-math.expm1(many * math.log1p(-1e-4)), rel=1e-9)
    assert tree.counts == {1: many}


def test_the_order_of_events_keeps_the_largest_tree_small() -> None:
    tree = FaultTree(expand(LIBRARY, Vehicle(), {"wander": None}), "wander")
    assert len(tree.events) > 300
    assert tree.size < 20 * len(tree.events)


def test_what_is_no_fault_tree_is_refused() -> None:
    finding = Node("seen", 1, False, (0.9, 0.1), (Input(0, (0.5,)),))
    nodes = {"seen": finding, "top": gate("top", 1, Input("seen", (1.0,)))}
    with pytest.raises(ValueError, match="seen is not a gate of a fault tree"):
        FaultTree(Network(coins(0.1), {}, nodes), "top")
    begun = Node("top", 2, True, (0.5, 0.5, 0.0), (Input(0, (1.0,)), Input(1, (1.0,))))
    with pytest.raises(ValueError, match="top is not a gate of a fault tree"):
        FaultTree(Network(coins(0.1, 0.1), {}, {"top": begun}), "top")
    with pytest.raises(KeyError, match="nowhere"):
        FaultTree(Network(coins(0.1), {}, {}), "nowhere")


def test_figures_are_plain_numbers() -> None:
    tree = FaultTree(expand(LIBRARY, Vehicle(), {"shimmy": None}), "shimmy")
    values = [tree.chance, *(tree.bounds or ()), tree.cut_sets(1)[0].share, tree.importance[0].birnbaum]
    assert not any(isinstance(value, np.generic) for value in values)
