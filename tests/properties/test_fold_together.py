"""Causes of one event taken together: the same answers as one by one, and nothing lost to rounding."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume
from hypothesis import strategies as st

from diagnose.belief import run, schedule, tables
from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node, plackett
from diagnose.belief.run import Answer
from diagnose.belief.schedule import Bundle, Fold
from diagnose.belief.sets import most_probable_sets
from tests.examples import often
from tests.oracle import blamed, enumerate_all
from tests.strategies import observations

Columns = Sequence[Mapping[str, Sequence[float]]]

chances = st.sampled_from([0.001, 0.2, 0.5, 0.9, 1.0])


@st.composite
def crowds(draw: st.DrawFn, causes: int, in_trees: bool = False) -> Network:
    """Many causes on few events: an OR, perhaps one above it or a conjunction, with mates, with causes that
    act, twice at times, and with yes/no and graded findings on causes, on acts and on gates."""
    priors = [draw(st.floats(0.001, 0.9)) for _ in range(causes)]
    pairs = {
        (n, n + 1): plackett(priors[n], priors[n + 1], draw(st.sampled_from([0.2, 1.0, 8.0])))
        for n in range(0, causes - 1, 2)
        if draw(st.booleans())
    }
    nodes: dict[str, Node] = {}
    acting: dict[str, int] = {}
    inputs: dict[str, list[Input]] = {"low": [], "other": []}
    for cause in range(causes):
        gates = (
            ["low", "other"] if in_trees else draw(st.lists(st.sampled_from(["low", "other"]), max_size=3))
        )
        for gate in [draw(st.sampled_from(gates))] if in_trees else gates:
            if draw(st.booleans()):
                inputs[gate].append(Input(cause, (draw(chances),)))
                continue
            way = f"{cause}>{gate}.{len(inputs[gate])}"
            nodes[way] = Node(way, 1, True, (1.0, 0.0), (Input(cause, (draw(chances),)),))
            acting[way] = cause
            inputs[gate].append(Input(way, (1.0,)))
    leak = draw(st.sampled_from([0.0, 0.1]))
    nodes["low"] = Node("low", 1, True, (1.0 - leak, leak), tuple(inputs["low"]))
    need = draw(st.integers(1, 2))
    link = Input("low", (draw(chances),))
    start = (0.95, 0.05) if need == 1 else (1.0, 0.0, 0.0)
    nodes["top"] = Node("top", need, True, start, (link, *inputs["other"]))
    tree = frozenset(nodes)
    for number in range(draw(st.integers(0, 3))):
        levels = draw(st.integers(1, 2))
        sources = draw(
            st.lists(st.sampled_from([*range(causes), *tree]), min_size=1, max_size=3, unique=True)
        )
        share = tuple(draw(st.sampled_from([0.05, 0.4, 1.0])) / levels for _ in range(levels))
        false = tuple(0.04 for _ in range(levels))
        found = tuple(Input(source, share) for source in sources)
        key = f"finding-{number}"
        nodes[key] = Node(key, levels, False, (1.0 - sum(false), *false), found)
    names = tuple(Cause(f"cause-{n}", f"fault-{n}", "centre", p) for n, p in enumerate(priors))
    # Now and then nobody asks what is to blame: then acts may push nothing that is open.
    blame = tree if in_trees or draw(st.integers(0, 3)) else frozenset[str]()
    return Network(names, pairs, nodes, {"top": None}, blame, acting)


def looked_at(network: Network, data: st.DataObject) -> dict[str, tuple[float, ...]]:
    """What was seen of gates and findings; that a cause acts is not seen itself."""
    seen = data.draw(observations(network))
    return {key: weights for key, weights in seen.items() if key not in network.acting}


def one_by_one(network: Network, columns: Columns, nodes: Sequence[str]) -> Answer:
    """The answer of an engine that takes nothing together."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(schedule, "LEAST", 10**9)
        patch.setattr(schedule, "SMALL", 0)
        patch.setattr(schedule, "MOST_STATES", 0)
        return Engine(network).ask(columns, nodes)


def in_groups(network: Network, columns: Columns, nodes: Sequence[str], few: int) -> Answer:
    """The answer of an engine that has a small table for everything, however many events a cause pushes, and
    no large one that is small. few: columns up to which tables are multiplied column by column."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(schedule, "LEAST", 10**9)
        patch.setattr(schedule, "SMALL", 0)
        patch.setattr(schedule, "MOST_STATES", 10**9)
        patch.setattr(schedule, "DENSE", 0.0)
        patch.setattr(schedule, "WIDE_DENSE", 0.0)
        patch.setattr(schedule, "APART", 0.0)
        patch.setattr(tables, "FEW", few)
        moves = [move for each in columns for move in Engine(network).prepare([each], ()).plan.moves]
        assert not any(isinstance(move, Fold) for move in moves)
        return Engine(network).ask(columns, nodes)


def same(one: Answer, other: Answer, within: float = 1e-12) -> None:
    for name in ("log_evidence", "present", "to_blame", "on"):
        np.testing.assert_allclose(
            getattr(one, name), getattr(other, name), rtol=1e-9, atol=within, err_msg=name
        )


@often(50, 150, st.data())
def test_crowds_equal_enumeration(data: st.DataObject) -> None:
    network = data.draw(crowds(5))
    seen = looked_at(network, data)
    total, causes, nodes, _ = enumerate_all(network, seen)
    answer = Engine(network).ask([seen], ["low", "top"])
    if total == 0.0:
        assert answer.log_evidence[0] == -math.inf
        return
    assert answer.log_evidence[0] == pytest.approx(math.log(total), abs=1e-9)
    assert list(answer.present[0]) == pytest.approx(causes, abs=1e-9)
    assert [answer.node("low"), answer.node("top")] == pytest.approx([nodes["low"], nodes["top"]], abs=1e-9)


@often(20, 60, st.data())
def test_crowds_to_blame_equal_enumeration(data: st.DataObject) -> None:
    network = data.draw(crowds(3, in_trees=True))
    coins = sum(1 + len(node.inputs) for node in network.nodes.values())
    assume(len(network.causes) + coins <= 13)
    seen = {key: w for key, w in looked_at(network, data).items() if key != "low"}
    assume(enumerate_all(network, seen)[0] > 1e-12)
    answer = Engine(network).ask([seen])
    assert list(answer.to_blame[0]) == pytest.approx(blamed(network, "top", seen), abs=1e-9)


@often(20, 60, st.data())
def test_together_equals_one_by_one_in_every_column(data: st.DataObject) -> None:
    network = data.draw(crowds(12))
    columns = [looked_at(network, data) for _ in range(data.draw(st.integers(1, 5)))]
    nodes = data.draw(st.sampled_from([(), ("top",), ("low", "top")]))
    together = Engine(network).ask(columns, nodes)
    same(together, one_by_one(network, columns, nodes))
    same(together, in_groups(network, columns, nodes, data.draw(st.sampled_from([0, 24]))))
    # In groups of columns, as wide models are asked.
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(run, "TABLE", 1)
        same(together, Engine(network).ask(columns, nodes))


@often(15, 40, st.data())
def test_sets_of_a_crowd_equal_enumeration(data: st.DataObject) -> None:
    network = data.draw(crowds(5))
    seen = looked_at(network, data)
    total, _, _, sets = enumerate_all(network, seen)
    assume(total > 1e-12)
    best = most_probable_sets(Engine(network), seen, 1)[0]
    assert best.probability == pytest.approx(max(sets.values()) / total, abs=1e-9)


def crowd(priors: Sequence[float], strengths: Sequence[float]) -> Network:
    """One OR over independent causes, all of its tree."""
    causes = tuple(Cause(f"cause-{n}", f"fault-{n}", "centre", p) for n, p in enumerate(priors))
    inputs = tuple(Input(n, (s,)) for n, s in enumerate(strengths))
    return Network(causes, {}, {"top": Node("top", 1, True, (1.0, 0.0), inputs)}, {}, frozenset({"top"}))


def test_a_crowd_is_taken_in_one_move() -> None:
    plan = Engine(crowd([0.1] * 30, [0.5] * 30)).prepare([{"top": (0.0, 1.0)}], ()).plan
    bundles = [move for move in plan.moves if isinstance(move, Bundle)]
    assert [len(bundle.first) for bundle in bundles] == [30]
    assert len(plan.moves) == 3


@pytest.mark.parametrize("prior", [0.3, 1e-6, 1e-12, 1e-15])
def test_nothing_cancels_however_rare_the_causes(prior: float) -> None:
    """Relative to the true value, found with fractions; 1 - P(none) would keep no digit of it."""
    priors, strengths = [prior * (1 + n) / 50 for n in range(50)], [0.02 * (1 + n) for n in range(50)]
    answer = Engine(crowd(priors, strengths)).ask([{"top": (0.0, 1.0)}])
    quiet = [1 - Fraction(p) * Fraction(s) for p, s in zip(priors, strengths, strict=True)]
    on = 1 - math.prod(quiet)
    assert answer.log_evidence[0] == pytest.approx(math.log(on), rel=1e-13)
    for number, (p, s) in enumerate(zip(priors, strengths, strict=True)):
        raised_without = 1 - math.prod(quiet[:number] + quiet[number + 1 :])
        fires = Fraction(p) * Fraction(s)
        present = fires + Fraction(p) * (1 - Fraction(s)) * raised_without
        assert answer.present[0, number] == pytest.approx(float(present / on), rel=1e-12)
        assert answer.to_blame[0, number] == pytest.approx(float(fires / on), rel=1e-12)


def test_a_sure_cause_makes_an_event_that_is_off_impossible() -> None:
    network = crowd([1.0, 0.5, 0.2], [1.0, 0.4, 0.3])
    answer = Engine(network).ask([{"top": (1.0, 0.0)}, {"top": (0.0, 1.0)}, {"top": (0.0, 0.0)}, {}])
    assert list(np.isfinite(answer.log_evidence)) == [False, True, False, True]
    assert np.all(np.isnan(answer.present[[0, 2]])) and np.all(np.isnan(answer.to_blame[[0, 2]]))
    assert list(answer.present[1]) == pytest.approx([1.0, 0.5, 0.2])
    assert list(answer.to_blame[1]) == pytest.approx([1.0, 0.2, 0.06])


def test_an_act_that_pushes_nothing_still_carries_what_was_seen_of_it() -> None:
    causes = (Cause("cause", "fault", "centre", 0.5),)
    act = Node("act", 1, True, (1.0, 0.0), (Input(0, (0.8,)),))
    gate = Node("gate", 1, True, (1.0, 0.0), (Input("act", (1.0,)),))
    finding = Node("finding", 1, False, (1.0, 0.0), (Input("act", (0.75,)),))
    nodes = {"act": act, "gate": gate, "finding": finding}
    network = Network(causes, {}, nodes, acting={"act": 0})
    answer = Engine(network).ask([{"finding": (1.0, 0.0)}])
    # 0.5 * (1 - 0.8 * 0.75) = 0.2 against 0.5.
    assert answer.log_evidence[0] == pytest.approx(math.log(0.7))
    assert answer.present[0, 0] == pytest.approx(0.2 / 0.7)


def test_weights_of_the_wrong_length_are_refused() -> None:
    with pytest.raises(ValueError, match="top has 2 states"):
        Engine(crowd([0.1], [0.5])).ask([{"top": (0.0, 0.5, 1.0)}])
