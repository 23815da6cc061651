"""The engine is exact: it agrees with counting every state, whatever the model and the answers."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st

from diagnose.belief.columns import Columns
from diagnose.belief.cure import without
from diagnose.belief.engine import Engine
from diagnose.belief.evidence import merge
from diagnose.belief.network import Cause, Input, Network, Node, reaching
from diagnose.belief.sets import most_probable_sets
from tests.examples import often
from tests.oracle import blamed, enumerate_all, left_over
from tests.strategies import fault_trees, nested_ors, networks, observations


@often(100, 300, st.data())
def test_every_posterior_equals_enumeration(data: st.DataObject) -> None:
    network = data.draw(networks())
    seen = data.draw(observations(network))
    total, causes, nodes, _ = enumerate_all(network, seen)
    gates = [key for key, node in network.nodes.items() if node.counts]
    answer = Engine(network).ask([seen], gates)
    if total == 0.0:
        assert answer.log_evidence[0] == -math.inf
        return
    assert answer.log_evidence[0] == pytest.approx(math.log(total), abs=1e-9)
    assert list(answer.present[0]) == pytest.approx(causes, abs=1e-9)
    for key in gates:
        assert answer.node(key) == pytest.approx(nodes[key], abs=1e-9)


@often(66, 200, st.data())
def test_or_under_or_as_one_changes_nothing(data: st.DataObject) -> None:
    network = data.draw(nested_ors())
    seen = data.draw(observations(network))
    total, causes, _, _ = enumerate_all(network, seen)
    assume(total > 0.0)
    flat = Engine(network).ask([seen])
    # Asking for every gate keeps them all: the same model without the short cut.
    whole = Engine(network).ask([seen], [key for key, node in network.nodes.items() if node.counts])
    assert flat.log_evidence[0] == pytest.approx(math.log(total), abs=1e-9)
    assert list(flat.present[0]) == pytest.approx(causes, abs=1e-9)
    assert list(flat.to_blame[0]) == pytest.approx(list(whole.to_blame[0]), abs=1e-9)


@often(33, 100, st.data())
def test_columns_do_not_disturb_one_another(data: st.DataObject) -> None:
    network = data.draw(networks())
    columns = [data.draw(observations(network)) for _ in range(3)]
    together = Engine(network).ask(columns)
    for number, column in enumerate(columns):
        alone = Engine(network).ask([column])
        assert together.log_evidence[number] == pytest.approx(alone.log_evidence[0], abs=1e-9)
        assert list(together.present[number]) == pytest.approx(list(alone.present[0]), abs=1e-9, nan_ok=True)
        assert list(together.to_blame[number]) == pytest.approx(
            list(alone.to_blame[0]), abs=1e-9, nan_ok=True
        )


@often(20, 100, st.data())
def test_what_all_columns_share_and_what_each_adds_multiply(data: st.DataObject) -> None:
    network = data.draw(networks())
    common = data.draw(observations(network))
    each = [data.draw(observations(network)) for _ in range(3)]
    columns = Columns(3, common)
    for number, more in enumerate(each):
        for key, values in more.items():
            columns.observe(key, {tuple(values): [number]})
    together = Engine(network).ask(columns)
    for number, more in enumerate(each):
        alone = Engine(network).ask([merge([*common.items(), *more.items()])])
        assert together.log_evidence[number] == pytest.approx(alone.log_evidence[0], abs=1e-9)
        assert list(together.present[number]) == pytest.approx(list(alone.present[0]), abs=1e-9, nan_ok=True)


def test_a_long_chain_of_rare_events_is_not_lost_below_the_smallest_number() -> None:
    """Rescaled once in a few events only: P(all seen) is about 1e-5 to the power of 150, below any double."""
    causes = tuple(Cause(f"cause {n}", "", "centre", 1e-5) for n in range(150))
    nodes = {
        f"seen {n}": Node(f"seen {n}", 1, True, (1.0, 0.0), (Input(n, (0.9,)),)) for n in range(len(causes))
    }
    answer = Engine(Network(causes, {}, nodes)).ask([dict.fromkeys(nodes, (0.0, 1.0))])
    assert answer.log_evidence[0] == pytest.approx(150 * math.log(0.9e-5), rel=1e-12)
    assert answer.present[0] == pytest.approx(np.ones(150))


@often(50, 150, st.data())
def test_most_probable_sets_equal_enumeration(data: st.DataObject) -> None:
    network = data.draw(networks())
    seen = data.draw(observations(network))
    total, _, _, sets = enumerate_all(network, seen)
    found = most_probable_sets(Engine(network), seen, 3)
    if total == 0.0:
        assert found == []
        return
    expected = sorted((p / total for p in sets.values()), reverse=True)
    # Causes that nothing observed depends on stay at their likelier value: compare each set by itself.
    for each in found:
        state = tuple(int(n in each.causes) for n in range(len(network.causes)))
        assert each.probability == pytest.approx(sets[state] / total, abs=1e-9)
    assert found[0].probability == pytest.approx(expected[0], abs=1e-9)
    assert [f.probability for f in found] == sorted((f.probability for f in found), reverse=True)


@often(20, 60, st.data())
def test_what_a_cure_leaves_equals_enumeration(data: st.DataObject) -> None:
    """The second tree: same links, without the cured causes; counted state by state."""
    network = data.draw(networks(most_causes=3, most_nodes=2))
    coins = sum(1 + len(node.inputs) for node in network.nodes.values())
    assume(coins <= 9)
    gates = [
        key for key, node in network.nodes.items() if node.counts and node.start[-1] * (node.top > 1) == 0
    ]
    assume(gates)
    key = data.draw(st.sampled_from(gates))
    assume(
        all(network.nodes[k].start[-1] == 0 or network.nodes[k].top == 1 for k in reaching(network, [key]))
    )
    cured = frozenset(data.draw(st.sets(st.integers(0, len(network.causes) - 1))))
    seen = data.draw(observations(network))
    doubled, twin = without(network, key, cured, "'")
    total, causes, nodes, _ = enumerate_all(network, seen)
    assume(total > 0.0)
    answer = Engine(doubled).ask([seen], [key, *([twin] if twin else [])])
    # The first tree says what it said before.
    assert answer.log_evidence[0] == pytest.approx(math.log(total), abs=1e-9)
    assert list(answer.present[0][: len(causes)]) == pytest.approx(causes, abs=1e-9)
    assert answer.node(key) == pytest.approx(nodes[key], abs=1e-9)
    left = answer.node(twin) if twin else 0.0
    assert left == pytest.approx(left_over(network, key, cured, seen), abs=1e-9)


@often(50, 150, st.data())
def test_what_is_to_blame_equals_enumeration(data: st.DataObject) -> None:
    """Present, and every link and gate from there to the top of the tree held; counted world by world."""
    network, top = data.draw(fault_trees())
    coins = sum(1 + len(node.inputs) for node in network.nodes.values())
    assume(len(network.causes) + coins <= 13)
    seen = {key: w for key, w in data.draw(observations(network)).items() if key in (top, "finding")}
    total, _, _, _ = enumerate_all(network, seen)
    assume(total > 1e-12)
    answer = Engine(network).ask([seen])
    assert list(answer.to_blame[0]) == pytest.approx(blamed(network, top, seen), abs=1e-9)
