"""Confirming one cause: what it does to a rival, with one finding and with two."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.belief.engine import Engine
from diagnose.belief.network import Cause, Input, Network, Node

NO, YES = (1.0, 0.0), (0.0, 1.0)
chance = st.floats(0.01, 0.99)


def model(priors: list[float], findings: dict[str, tuple[float, dict[int, float]]]) -> Network:
    """Causes, findings as (false alarm, links), and for each cause a node `n` that says it is there."""
    causes = tuple(Cause(f"{n}", f"{n}", "centre", p) for n, p in enumerate(priors))
    nodes = {
        key: Node(key, 1, False, (1.0 - leak, leak), tuple(Input(n, (c,)) for n, c in links.items()))
        for key, (leak, links) in findings.items()
    }
    for n in range(len(priors)):
        nodes[f"cause {n}"] = Node(f"cause {n}", 1, True, (1.0, 0.0), (Input(n, (1.0,)),))
    return Network(causes, {}, nodes)


def test_with_two_findings_a_rival_may_rise() -> None:
    """Own instance, enumerated: a, b, c of .1; f1 = a or c, f2 = c or b, both seen; then a is confirmed."""
    findings = {"f1": (0.0, {0: 1.0, 2: 1.0}), "f2": (0.0, {2: 1.0, 1: 1.0})}
    engine = Engine(model([0.1, 0.1, 0.1], findings))
    seen = {"f1": YES, "f2": YES}
    _, b, c = engine.ask([seen]).present[0]
    assert (b, c) == pytest.approx((0.174312, 0.917431), abs=5e-7)
    a, b, c = engine.ask([{**seen, "cause 0": YES}]).present[0]
    assert (a, b, c) == pytest.approx((1.0, 0.526316, 0.526316), abs=5e-7)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(chance, chance), min_size=2, max_size=6), chance)
def test_with_one_positive_finding_no_rival_rises(rows: list[tuple[float, float]], leak: float) -> None:
    """One noisy OR seen: it lifts every cause, and confirming one cause lowers every other, if at all."""
    priors = [prior for prior, _ in rows]
    engine = Engine(model(priors, {"f": (leak, {n: link for n, (_, link) in enumerate(rows)})}))
    seen, confirmed = engine.ask([{"f": YES}, {"f": YES, "cause 0": YES}]).present
    assert all(after >= prior - 1e-12 for after, prior in zip(seen, priors, strict=True))
    assert confirmed[0] == pytest.approx(1.0, abs=1e-12)
    assert all(confirmed[1:] <= seen[1:] + 1e-12)
    # The finding was for the confirmed cause to explain, but it is not taken back below the prior.
    assert all(after >= prior - 1e-12 for after, prior in zip(confirmed[1:], priors[1:], strict=True))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(chance, chance), min_size=2, max_size=6), chance)
def test_a_silent_finding_keeps_causes_apart(rows: list[tuple[float, float]], leak: float) -> None:
    """Not seen: each cause falls by its own link alone, whatever is known of the others."""
    engine = Engine(model([p for p, _ in rows], {"f": (leak, {n: c for n, (_, c) in enumerate(rows)})}))
    silent, confirmed = engine.ask([{"f": NO}, {"f": NO, "cause 0": YES}]).present
    expected = [p * (1 - c) / (1 - p + p * (1 - c)) for p, c in rows]
    assert list(silent) == pytest.approx(expected, abs=1e-12)
    assert list(confirmed[1:]) == pytest.approx(expected[1:], abs=1e-12)
