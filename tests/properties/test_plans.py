"""The search for stages, and what bounds it, against looking at every plan there is."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import strategies as st

from diagnose.plan.bound import least_cost, parts_of
from diagnose.plan.chances import Acting, left
from diagnose.plan.search import Limits, Problem, search, value
from diagnose.plan.shared import set_costs, together
from tests.examples import often


def every_plan(items: int, stages: int) -> Iterator[tuple[int, ...]]:
    """Every way to do some items in up to so many stages, none of them empty."""
    for stage_of in itertools.product(range(stages + 1), repeat=items):
        sets = [sum(1 << n for n, stage in enumerate(stage_of) if stage == s) for s in range(1, stages + 1)]
        used = [each for each in sets if each]
        if sets[: len(used)] == used:
            yield tuple(used)


def allowed(problem: Problem, sets: tuple[int, ...]) -> bool:
    limits = problem.limits
    if sum(problem.cash[each] for each in sets) > limits.whole + 1e-9:
        return False
    if any(math.isinf(problem.stage_net(n)[each]) for n, each in enumerate(sets)):
        return False
    for items, within in limits.early:
        done = sum(sets[:within])
        if done & items == 0:
            return False
    return True


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    count = draw(st.integers(1, 4))
    random = np.random.default_rng(draw(st.integers(0, 10_000)))
    a = random.uniform(0.0, 0.6, count)
    outside = random.uniform(0.01, 0.3)
    acting = Acting(a, outside, 1.0 - float(np.prod(1.0 - a)) * (1.0 - outside), random.uniform(0.5, 1.0))
    open_ = left(acting, [frozenset({n}) for n in range(count)], random.uniform(0.0, 0.1, count).tolist())
    end = open_ * random.uniform(100.0, 1500.0)
    open_[0] = 1.0
    shared = [(int(random.integers(1, 1 << count)), float(random.uniform(0, 120))) for _ in range(3)]
    own = random.uniform(-20.0, 200.0, count).tolist()
    cash = set_costs(np.abs(own).tolist(), shared)
    net = set_costs(own, shared, 40.0)
    apart = [(0, 1)] if count > 1 and draw(st.booleans()) else []
    net = np.where(together(count, apart), net, math.inf)
    cap = draw(st.sampled_from([math.inf, float(np.quantile(cash, 0.6))]))
    whole = draw(st.sampled_from([math.inf, float(np.quantile(cash, 0.7))]))
    early = draw(st.sampled_from([(), ((1, 1),), ((1 << (count - 1), 2),), (((1 << count) - 1, 1), (1, 2))]))
    return Problem(count, (np.where(cash <= cap, net, math.inf),), cash, open_, end, Limits(whole, early))


@often(40, 400, problems(), st.integers(1, 3))
def test_the_search_finds_the_best_plan_there_is(problem: Problem, stages: int) -> None:
    costs = [value(problem, sets) for sets in every_plan(problem.items, stages) if allowed(problem, sets)]
    found = search(problem, stages)
    if not costs:
        assert found is None
        return
    assert found is not None
    assert allowed(problem, found.sets)
    assert found.cost == pytest.approx(min(costs), abs=1e-6)
    assert found.cost == pytest.approx(value(problem, found.sets), abs=1e-6)
    assert found.cash == pytest.approx(sum(problem.cash[each] for each in found.sets), abs=1e-6)


@often(40, 400, problems(), st.floats(0.0, 400.0))
def test_more_money_never_makes_a_plan_worse(problem: Problem, more: float) -> None:
    poor = search(problem, 2)
    limits = Limits(problem.limits.whole + more, problem.limits.early)
    rich = search(Problem(problem.items, problem.net, problem.cash, problem.open, problem.end, limits), 2)
    if poor is not None:
        assert rich is not None
        assert rich.cost <= poor.cost + 1e-6


@often(30, 200, st.integers(1, 4), st.integers(0, 10_000))
def test_no_plan_costs_less_than_the_bound(count: int, seed: int) -> None:
    random = np.random.default_rng(seed)
    a = random.uniform(0.0, 0.5, count)
    # Down to next to nothing outside the trees, and up to what nobody would pay.
    outside, worth = 10.0 ** random.uniform((-5.0, 2.0), (-0.5, 5.0))
    one = 1.0 - float(np.prod(1.0 - a)) * (1.0 - outside)
    acting = Acting(a, outside, one, float(random.uniform(0.5, 1.0)))
    chances = left(acting, [frozenset({n}) for n in range(count)], [0.0] * count)
    own = random.uniform(-30.0, 250.0, count).tolist()
    shared = [(int(random.integers(1, 1 << count)), float(random.uniform(0, 150))) for _ in range(3)]
    net = set_costs(own, shared, 40.0)
    open_ = chances.copy()
    open_[0] = 1.0
    problem = Problem(count, (net,), np.abs(net), open_, worth * chances)
    ends = [frozenset({n}) for n in range(count)]
    parts = parts_of(own, ends, shared, acting.quiet)
    bound = least_cost(parts, acting, 40.0, worth)
    for sets in every_plan(count, 3):
        assert bound <= value(problem, sets) + 1e-6


@often(40, 400, st.integers(0, 10_000))
def test_works_that_end_the_same_cause_are_bounded_too(seed: int) -> None:
    random = np.random.default_rng(seed)
    a = random.uniform(0.05, 0.5, 3)
    acting = Acting(a, 0.1, 1.0 - float(np.prod(1.0 - a)) * 0.9, 1.0)
    ends = [frozenset({0}), frozenset({0, 1}), frozenset({1, 2}), frozenset({2})]
    own, shared = random.uniform(5.0, 200.0, 4).tolist(), [(0b0110, 80.0), (0b1101, 50.0)]
    chances = left(acting, ends, [0.0] * 4)
    net = set_costs(own, shared, 40.0)
    problem = Problem(4, (net,), net, np.where(np.arange(16) > 0, chances, 1.0), 900.0 * chances)
    bound = least_cost(parts_of(own, ends, shared, acting.quiet), acting, 40.0, 900.0)
    for sets in every_plan(4, 3):
        assert bound <= value(problem, sets) + 1e-6
