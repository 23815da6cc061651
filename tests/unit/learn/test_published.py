"""Learning with hidden causes, against published examples: the engine's posteriors give the counts."""

from __future__ import annotations

import math

import numpy as np
import pytest

from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node
from diagnose.learn.counts import Beta
from diagnose.learn.links import linked
from diagnose.model.complaint import Leaf
from tests.reference.small import Table, bayes_network, probability, rows

#: Heads of ten tosses of a coin, one of two, which is not known (C. B. Do, S. Batzoglou, What is the
#: expectation maximization algorithm?, Nature Biotechnology 26 (2008) 897-899; counts from memory).
HEADS = (5, 9, 8, 4, 7)


def is_first(first: float, second: float, heads: int) -> float:
    """P(it was the first coin | so many heads of ten), by the engine: each toss is a finding."""
    low = min(first, second)
    link = 1.0 - (1.0 - max(first, second)) / (1.0 - low)
    nodes = {
        f"toss {n}": Node(f"toss {n}", 1, False, (1.0 - low, low), (Input(0, (link,)),)) for n in range(10)
    }
    network = Network((Cause("better coin", "coin", "centre", 0.5),), {}, nodes)
    seen = {f"toss {n}": (0.0, 1.0) if n < heads else (1.0, 0.0) for n in range(10)}
    return float(Engine(network).ask([seen]).present[0, 0])


def test_two_coins() -> None:
    """From 0.60 and 0.50 to 0.71 and 0.58 in one step, 0.80 and 0.52 after ten."""
    first, second = 0.6, 0.5
    assert round(is_first(first, second, 9), 2) == 0.80
    for step in range(1, 11):
        shares = [is_first(first, second, heads) for heads in HEADS]
        heads = sum(share * each for share, each in zip(shares, HEADS, strict=True))
        if step == 1:
            assert (round(heads, 1), round(10 * sum(shares) - heads, 1)) == (21.3, 8.6)
        # A prior worth nothing: the counts alone.
        first = Beta(1e-12, 1e-12).after(heads, 10 * sum(shares)).mean
        second = Beta(1e-12, 1e-12).after(sum(HEADS) - heads, 50 - 10 * sum(shares)).mean
        if step == 1:
            assert (round(first, 2), round(second, 2)) == (0.71, 0.58)
    assert (round(first, 2), round(second, 2)) == (0.80, 0.52)


#: (first cause there, second, effect) -> cases: 100 of each combination, as often as a leak of 0.1 and links
#: of 0.6 and 0.8 make the effect. A made-up example, its figures worked out by hand.
CASES = {
    (False, False): (10.0, 90.0),
    (False, True): (82.0, 18.0),
    (True, False): (64.0, 36.0),
    (True, True): (92.8, 7.2),
}


def noisy_or(leak: float, first: float, second: float) -> tuple[tuple[float, ...], float]:
    """One step of expectation and maximization from these figures; and the log likelihood at them."""
    causes = tuple(Cause(name, name, "centre", 0.5) for name in ("first", "second"))
    inputs = tuple(Input(n, (s,), Leaf(causes[n].fault, s)) for n, s in enumerate((first, second)))
    sees = {f"see {n}": Node(f"see {n}", 1, True, (1.0, 0.0), (Input(n, (1.0,)),)) for n in (0, 1)}
    top = Node("effect", 1, True, (1.0 - leak, leak), inputs)
    bare = Network(causes, {}, {"effect": top, **sees}, {"effect": None}, frozenset({"effect"}))
    network, ways, leaks = linked(bare)
    keys = (*(way.asked for way in ways), *(each.key for each in leaks))
    worked, tossed, log = np.zeros(3), np.zeros(3), 0.0
    for there, counts in CASES.items():
        for on, count in zip((True, False), counts, strict=True):
            column = {f"see {n}": (0.0, 1.0) if there[n] else (1.0, 0.0) for n in (0, 1)}
            column["effect"] = (0.0, 1.0) if on else (1.0, 0.0)
            answer = Engine(network).ask([column], keys)
            worked += count * answer.on[0]
            tossed += count * np.array([*there, True])
            log += count * (float(answer.log_evidence[0]) - 2.0 * math.log(0.5))
    links = worked / tossed
    return (links[2], links[0], links[1]), log


def test_a_noisy_or_finds_its_figures() -> None:
    figures: tuple[float, ...] = (0.5, 0.5, 0.5)
    logs = []
    for step in range(1, 10):
        figures, log = noisy_or(*figures)
        logs.append(log)
        if step == 1:
            assert figures == pytest.approx((0.4009, 0.47848, 0.53848), abs=5e-5)
    assert figures == pytest.approx((0.14587, 0.56444, 0.78744), abs=5e-5)
    assert logs[:2] == pytest.approx([-213.53989, -199.17870], abs=5e-5)
    assert logs == sorted(logs)
    limit, log = noisy_or(0.1, 0.6, 0.8)
    assert limit == pytest.approx((0.1, 0.6, 0.8), abs=1e-9)
    assert log == pytest.approx(-170.86765, abs=5e-5)


def test_answers_in_conflict_and_what_explains_them() -> None:
    """Jensen's measure: a report without smoke is in conflict, and tampering explains it.

    The fire alarm of D. Poole and A. Mackworth, Artificial Intelligence (its tables partly from memory).
    """
    tables: dict[str, Table] = {
        "tampering": rows("", 0.02),
        "fire": rows("", 0.01),
        "alarm": rows("tampering fire", 0.5, 0.85, 0.99, 0.0001),
        "smoke": rows("fire", 0.9, 0.01),
        "leaving": rows("alarm", 0.88, 0.001),
        "report": rows("leaving", 0.75, 0.01),
    }
    network = bayes_network(tables)

    def bits(**states: bool) -> float:
        apart = math.prod(probability(network, {name: on}) for name, on in states.items())
        return math.log2(apart / probability(network, states))

    assert bits(report=True, smoke=False) == pytest.approx(0.3220, abs=5e-5)
    assert bits(report=True, smoke=False, tampering=True) == pytest.approx(-4.3242, abs=5e-5)
    assert bits(report=True, smoke=False, fire=True) == pytest.approx(-1.2323, abs=5e-5)
    assert bits(report=True, smoke=True) == pytest.approx(-3.5089, abs=5e-5)
