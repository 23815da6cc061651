"""Counting with a prior, against published examples and closed forms."""

from __future__ import annotations

import math

import pytest

from diagnose.learn.counts import Beta, Gamma, beta_below, dirichlet, prior_of, wilson


def test_placenta_previa() -> None:
    """437 girls of 980 births, uniform prior. Gelman and others, BDA, 2.4 (from memory)."""
    after = Beta(1.0, 1.0).after(437, 980)
    assert (after.a, after.b) == (438, 544)
    assert round(after.mean, 3) == 0.446
    assert round(after.sd, 3) == 0.016
    assert [round(end, 3) for end in after.interval()] == [0.415, 0.477]
    assert round(after.below(0.485), 3) == 0.993


def test_rat_tumours() -> None:
    """Prior Beta(1.4, 8.6), 4 of 14 rats. Gelman and others, BDA, 5.1 (from memory). The book keeps more
    digits of the prior, so it prints 0.223 and 0.083: the last digit is its own."""
    after = Beta(1.4, 8.6).after(4, 14)
    assert after.mean == pytest.approx(5.4 / 24.0)
    assert after.mean == pytest.approx(0.223, abs=0.003)
    assert after.sd == pytest.approx(0.083, abs=0.001)


def test_sleeping_students() -> None:
    """Prior Beta(3.26, 7.19), 11 of 27. J. Albert, Bayesian Computation with R, 2.4 (from memory)."""
    after = Beta(3.26, 7.19).after(11, 27)
    assert (round(after.mean, 3), round(after.sd, 3)) == (0.381, 0.078)


@pytest.mark.parametrize(("a", "b", "x"), [(3, 5, 0.2), (1, 7, 0.05), (12, 2, 0.9), (40, 60, 0.41)])
def test_the_beta_distribution_is_the_binomial_tail(a: int, b: int, x: float) -> None:
    """I_x(a, b) = P(at least a of a + b - 1) for whole numbers (Abramowitz and Stegun 26.5.24)."""
    n = a + b - 1
    tail = sum(math.comb(n, k) * x**k * (1 - x) ** (n - k) for k in range(a, n + 1))
    assert beta_below(x, a, b) == pytest.approx(tail, rel=1e-10)


def test_an_interval_holds_what_it_says() -> None:
    for each in (Beta(0.4, 3.0), Beta(5.0, 5.0), Beta(4000.0, 90.0)):
        low, high = each.interval(0.9)
        assert each.below(high) - each.below(low) == pytest.approx(0.9, abs=1e-9)
        assert each.below(low) == pytest.approx(0.05, abs=1e-9)


def test_more_cases_of_the_same_share_shrink_the_interval_about_the_same_middle() -> None:
    widths = []
    for cases in (0, 10, 100, 1000):
        after = Beta(3.0, 7.0).after(0.3 * cases, cases)
        assert after.mean == pytest.approx(0.3)
        low, high = after.interval()
        widths.append(high - low)
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.25 * widths[1]


def test_grades_share_one_whole() -> None:
    """Dirichlet(2, 1, 1) and counts 3, 0, 5: means 5, 1, 6 of 12; each marginal a Beta."""
    after = dirichlet((2, 1, 1), (3, 0, 5))
    assert [each.mean for each in after] == [5 / 12, 1 / 12, 6 / 12]
    assert after[0] == Beta(5, 7)
    assert after[2].sd == pytest.approx(math.sqrt(6 * 6 / (12 * 12 * 13)))


def test_a_rate_by_events_and_exposure() -> None:
    after = Gamma(2.0, 4.0).after(10.0, 20.0)
    assert after.mean == 0.5
    low, high = after.interval()
    assert low * high == pytest.approx(0.25)
    assert high / low == pytest.approx(math.exp(2 * 1.96 / math.sqrt(12)), rel=1e-3)


@pytest.mark.parametrize("chance", [0.002, 0.1, 0.5, 0.97])
def test_a_shipped_figure_is_worth_the_same_for_rare_and_common(chance: float) -> None:
    prior = prior_of(chance, 2.0)
    assert prior.mean == pytest.approx(chance)
    assert prior.cases == pytest.approx(2.0 / (chance * (1.0 - chance)))


def test_what_cannot_be_counted_is_refused() -> None:
    with pytest.raises(ValueError, match="3 of 2"):
        Beta(1.0, 1.0).after(3, 2)


def test_the_interval_of_a_share() -> None:
    """0 of 10: the upper end is z2 / (n + z2) by hand; nothing counted says nothing."""
    z2 = 1.959963984540054**2
    assert wilson(0, 10) == (0.0, pytest.approx(z2 / (10 + z2)))
    assert wilson(0, 0) == (0.0, 1.0)
    low, high = wilson(50, 100)
    assert (round(low, 4), round(high, 4)) == (0.4038, 0.5962)
