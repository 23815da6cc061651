"""The joint of two mates: a two-by-two table with given marginals and a given odds ratio.

Source: R. L. Plackett, A class of bivariate distributions, J. Amer. Statist. Assoc. 60 (1965) 516-522.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.belief.network import plackett

marginal = st.floats(1e-6, 1.0 - 1e-6)
ordinary = st.floats(0.001, 0.999)
ratio = st.floats(0.01, 100.0)


@given(marginal, marginal, ratio)
def test_marginals_are_kept(p: float, q: float, odds_ratio: float) -> None:
    (p00, p01), (p10, p11) = plackett(p, q, odds_ratio)
    assert min(p00, p01, p10, p11) >= 0.0
    assert p10 + p11 == pytest.approx(p, rel=1e-9)
    assert p01 + p11 == pytest.approx(q, rel=1e-9)
    assert p00 + p01 + p10 + p11 == pytest.approx(1.0, abs=1e-12)


@given(ordinary, ordinary, ratio)
def test_odds_ratio_is_exact(p: float, q: float, odds_ratio: float) -> None:
    (p00, p01), (p10, p11) = plackett(p, q, odds_ratio)
    assert p11 * p00 == pytest.approx(odds_ratio * p10 * p01, rel=1e-6, abs=1e-12)


@given(marginal, marginal)
def test_ratio_of_one_is_independence(p: float, q: float) -> None:
    (p00, p01), (p10, p11) = plackett(p, q, 1.0)
    expected = ((1 - p) * (1 - q), (1 - p) * q, p * (1 - q), p * q)
    assert (p00, p01, p10, p11) == pytest.approx(expected, abs=1e-14)


@given(ordinary, ordinary, st.sampled_from([-1e-6, -1e-9, -1e-11, 1e-11, 1e-9, 1e-6]))
def test_no_jump_beside_independence(p: float, q: float, step: float) -> None:
    assert plackett(p, q, 1.0 + step)[1][1] == pytest.approx(p * q, abs=1e-6)


@given(marginal, marginal, ratio)
def test_turned_round_it_is_the_same_table(p: float, q: float, odds_ratio: float) -> None:
    (p00, p01), (p10, p11) = plackett(p, q, odds_ratio)
    turned = plackett(q, p, odds_ratio)
    assert (turned[0][0], turned[1][0], turned[0][1], turned[1][1]) == pytest.approx(
        (p00, p01, p10, p11), abs=1e-12
    )


@given(marginal, marginal, ratio, ratio)
def test_both_are_likelier_the_larger_the_ratio(p: float, q: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert plackett(p, q, low)[1][1] <= plackett(p, q, high)[1][1] + 1e-12


@given(ordinary, ordinary)
def test_limits_are_the_bounds_of_any_joint(p: float, q: float) -> None:
    """A huge ratio: the rarer one never comes alone; a tiny one: together as seldom as can be."""
    assert plackett(p, q, 1e8)[1][1] == pytest.approx(min(p, q), abs=1e-4)
    assert plackett(p, q, 1e-8)[1][1] == pytest.approx(max(p + q - 1.0, 0.0), abs=1e-4)


def test_by_hand() -> None:
    """p = q = 1/2 and ratio r: P(both) = sqrt(r) / (2 (1 + sqrt(r))); r = 9 gives 3/8."""
    (p00, p01), (p10, p11) = plackett(0.5, 0.5, 9.0)
    assert (p00, p01, p10, p11) == pytest.approx((0.375, 0.125, 0.125, 0.375), abs=1e-12)
