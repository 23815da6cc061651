"""Replacement and planning against published figures, each with its source."""

from __future__ import annotations

import math

import numpy as np
import pytest

from diagnose.model.part import Life
from diagnose.plan.chances import subset_sums
from diagnose.plan.life import Activity, best_age, cost_rate, fails_within, fit, joint
from diagnose.plan.search import Problem, Stages, search
from diagnose.plan.shared import set_costs


def test_the_age_at_which_to_renew() -> None:
    # ReliaWiki, "Optimum Replacement Time Example" (R. E. Barlow, L. C. Hunter 1960): shape 2.5, scale
    # 1000 h, unplanned 5, planned 1: 493.0470 h. The Python package `reliability` prints 493.19 and 0.0035
    # for it: the cost is the same to five digits, for the minimum is flat.
    age = best_age(2.5, 1000.0, 1.0, 5.0)
    assert age == pytest.approx(493.0470, abs=1e-3)
    assert cost_rate(2.5, 1000.0, 1.0, 5.0, age) == pytest.approx(0.00346204, abs=5e-9)
    assert cost_rate(2.5, 1000.0, 1.0, 5.0, 493.19) == pytest.approx(0.00346204, abs=5e-9)


@pytest.mark.parametrize(
    ("age", "rate"), [(300.0, 0.00403063), (400.0, 0.00356244), (600.0, 0.00355029), (math.inf, 0.00563530)]
)
def test_the_cost_of_renewing_at_another_age(age: float, rate: float) -> None:
    # The same example; these ages are our own, by the published formula.
    assert cost_rate(2.5, 1000.0, 1.0, 5.0, age) == pytest.approx(rate, abs=5e-9)


def test_chance_and_cheap_failures_have_no_age_of_renewal() -> None:
    # Barlow and Hunter (1960): only a rising hazard and a dear failure make one.
    assert best_age(1.0, 1000.0, 1.0, 5.0) is None
    assert best_age(2.5, 1000.0, 5.0, 5.0) is None


def test_a_weibull_life_from_records_with_survivors() -> None:
    # NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: ten failures, ten units that ran 500 h.
    failed = [54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0]
    shape, scale = fit(failed, [500.0] * 10)
    assert shape == pytest.approx(1.7208, abs=5e-5)
    assert scale == pytest.approx(606.5280, abs=1e-2)
    # Its log-likelihood, -75.135.
    likelihood = (
        sum(
            math.log(shape / scale) + (shape - 1) * math.log(t / scale) - (t / scale) ** shape for t in failed
        )
        - 10 * (500.0 / scale) ** shape
    )
    assert likelihood == pytest.approx(-75.135, abs=5e-4)


def test_what_is_left_of_a_life() -> None:
    # Conditional reliability R(t + x) / R(t) (MIL-HDBK-338B, chapter 5), by hand: shape 2, scale 100 000.
    life = Life(2.0, km=100_000.0)
    expected = 1.0 - math.exp(-(1.2**2)) / math.exp(-(0.8**2))
    assert fails_within(life, 80_000.0, 0.0, 40_000.0, 0.0) == pytest.approx(expected, rel=1e-12)


#: D. Kreher, D. Stinson, Combinatorial Algorithms (1999), as in the data sets KNAPSACK_01 by J. Burkardt,
#: P01 to P07: capacity, weights, values, optimum. The lists are from memory; most capacities were seen.
KNAPSACKS = {
    "P01": (
        165, [23, 31, 29, 44, 53, 38, 63, 85, 89, 82], [92, 57, 49, 68, 60, 43, 67, 84, 87, 72], 309,
    ),
    "P02": (26, [12, 7, 11, 8, 9], [24, 13, 23, 15, 16], 51),
    "P03": (190, [56, 59, 80, 64, 75, 17], [50, 50, 64, 46, 50, 5], 150),
    "P04": (50, [31, 10, 20, 19, 4, 3, 6], [70, 20, 39, 37, 7, 5, 10], 107),
    "P05": (104, [25, 35, 45, 5, 25, 3, 2, 2], [350, 400, 450, 20, 70, 8, 5, 5], 900),
    "P06": (170, [41, 50, 49, 59, 55, 57, 60], [442, 525, 511, 593, 546, 564, 617], 1735),
    "P07": (
        750,
        [70, 73, 77, 80, 82, 87, 90, 94, 98, 106, 110, 113, 115, 118, 120],
        [135, 139, 149, 150, 156, 163, 173, 184, 192, 201, 210, 214, 221, 229, 240],
        1458,
    ),
}  # fmt: skip


def packed(costs: np.ndarray, values: np.ndarray, budgets: list[float], weights: list[float]) -> Stages:
    """The best stages, each within its budget, values counted by the weight of the stage."""
    count = len(values).bit_length() - 1
    net = tuple(
        np.where(costs <= budget, -weight * values, math.inf)
        for budget, weight in zip(budgets, weights, strict=True)
    )
    every = np.ones(len(values))
    found = search(Problem(count, net, costs, every, 0.0 * every), len(budgets))
    assert found is not None
    return found


@pytest.mark.parametrize("name", KNAPSACKS)
def test_without_shared_work_it_is_a_knapsack(name: str) -> None:
    capacity, weights, values, optimum = KNAPSACKS[name]
    found = packed(subset_sums(weights), subset_sums(values), [capacity], [1.0])
    assert -found.cost == pytest.approx(optimum)
    assert found.cash <= capacity


#: Our own instance (invented): cost, value and how deep its access goes; lift 40, wheels off 60 within it.
ITEMS = {
    "bushes": (90, 160, "wheels"),
    "drop link": (30, 45, "wheels"),
    "damper": (180, 210, "wheels"),
    "top mount": (60, 70, "wheels"),
    "gear mount": (70, 95, "lift"),
    "sump plug": (10, 12, "lift"),
    "battery": (80, 85, ""),
}


def item_costs() -> np.ndarray:
    depth = [row[2] for row in ITEMS.values()]
    wheels = sum(1 << n for n, each in enumerate(depth) if each == "wheels")
    lift = sum(1 << n for n, each in enumerate(depth) if each)
    return set_costs([float(row[0]) for row in ITEMS.values()], [(wheels, 60.0), (lift, 40.0)])


def item_values() -> np.ndarray:
    return subset_sums([float(row[1]) for row in ITEMS.values()])


def names(items: int) -> list[str]:
    return [name for n, name in enumerate(ITEMS) if items >> n & 1]


@pytest.mark.parametrize(
    ("budget", "value", "chosen"),
    [
        (100, 85, ["battery"]),
        (200, 192, ["gear mount", "sump plug", "battery"]),
        (250, 230, ["bushes", "top mount"]),
        (300, 312, ["bushes", "drop link", "gear mount", "sump plug"]),
        (400, 415, ["bushes", "drop link", "damper"]),
        (520, 550, ["bushes", "damper", "gear mount", "battery"]),
    ],
)
def test_set_ups_are_paid_once(budget: float, value: float, chosen: list[str]) -> None:
    # Optima by looking at all 128 sets (own instance).
    found = packed(item_costs(), item_values(), [budget], [1.0])
    assert -found.cost == pytest.approx(value)
    assert names(found.sets[0]) == chosen


def test_two_visits_pay_the_set_up_twice() -> None:
    # Own instance; what is done in the first visit counts twice.
    found = packed(item_costs(), item_values(), [250, 250], [2.0, 1.0])
    assert -found.cost == pytest.approx(652)
    assert [names(each) for each in found.sets] == [
        ["bushes", "top mount"],
        ["gear mount", "sump plug", "battery"],
    ]


def test_two_activities_done_together() -> None:
    # The formula of R. E. Wildeman, R. Dekker, A. C. J. M. Smit (1997), figures our own: with shape 2 the
    # penalties are 0.001 D^2 and D^2 / 750.
    one, other = Activity(100.0, 40.0, 200.0, 2.0), Activity(60.0, 30.0, 150.0, 2.0)
    assert one.best(30.0) == (pytest.approx(360.555, abs=1e-3), pytest.approx(0.721110, abs=1e-6))
    assert other.best(30.0) == (pytest.approx(259.808, abs=1e-3), pytest.approx(0.692820, abs=1e-6))
    assert one.penalty(30.0, 20.0) == pytest.approx(0.001 * 20.0**2)
    assert other.penalty(30.0, -15.0) == pytest.approx(15.0**2 / 750.0)
    found = joint([one, other], 30.0)
    assert found.time == pytest.approx(302.985, abs=1e-3)
    assert found.penalty == pytest.approx(5.8, abs=1e-4)
    assert found.saving == pytest.approx(24.2, abs=1e-4)
