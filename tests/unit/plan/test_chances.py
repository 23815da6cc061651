"""How likely sets of cures end the complaint, against counting every world; what sets of work cost."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.plan.chances import Acting, left, subset_sums
from diagnose.plan.shared import set_costs, together


def counted(a: list[float], outside: float, ends: list[frozenset[int]], bad: list[float], done: int) -> float:
    """P(still there | one acts) by going through every world."""
    there = still = 0.0
    for world in itertools.product((False, True), repeat=len(a) + 1 + len(bad)):
        p = 1.0
        for chance, on in zip([*a, outside, *bad], world, strict=True):
            p *= chance if on else 1.0 - chance
        causes, other, news = world[: len(a)], world[len(a)], world[len(a) + 1 :]
        if not any(causes) and not other:
            continue
        there += p
        mended = {n for k, each in enumerate(ends) if done >> k & 1 for n in each}
        acts = other or any(on for n, on in enumerate(causes) if n not in mended)
        acts = acts or any(on for k, on in enumerate(news) if done >> k & 1)
        still += p if acts else 0.0
    return still / there


@settings(max_examples=30)
@given(
    st.lists(st.floats(0.01, 0.7), min_size=1, max_size=3),
    st.floats(0.01, 0.5),
    st.lists(st.sets(st.integers(0, 2), min_size=1), min_size=1, max_size=3),
    st.floats(0.0, 0.3),
)
def test_what_is_left_is_as_counted(a: list[float], outside: float, ends: list[set[int]], bad: float) -> None:
    some = [frozenset(n for n in each if n < len(a)) or frozenset({0}) for each in ends]
    one = 1.0 - float(np.prod(1.0 - np.array(a))) * (1.0 - outside)
    found = left(Acting(np.array(a), outside, one, 1.0), some, [bad] * len(some))
    for done in range(1 << len(some)):
        assert found[done] == pytest.approx(counted(a, outside, some, [bad] * len(some), done), abs=1e-9)


def test_shares_of_blame_are_kept() -> None:
    acting = Acting.of(np.array([0.5, 0.3]), np.array([0.6, 0.5]), 0.4, 1.0)
    # P(acts | one acts) is the share told, and one acts at least.
    assert acting.causes / acting.one == pytest.approx([0.5, 0.3], abs=1e-6)
    none = (1.0 - acting.outside) * float(np.prod(1.0 - acting.causes))
    assert 1.0 - none == pytest.approx(acting.one, abs=1e-6)


def test_sums_and_shared_costs() -> None:
    assert subset_sums([1.0, 10.0]).tolist() == [0.0, 1.0, 10.0, 11.0]
    costs = set_costs([1.0, 10.0], [(0b11, 100.0), (0b10, 1000.0)], visit=5.0)
    assert costs.tolist() == [0.0, 106.0, 1115.0, 1116.0]
    assert together(2, [(0, 1)]).tolist() == [True, True, True, False]
