"""The best way to spread work over a few stages, searched in full.

Work is a set of items, written as a number: bit k is item k. A plan does some items in a first stage, and,
where that did not cure the car, more in the next, so that the expected cost of the plan through the sets
done so far, S0 = nothing < S1 < S2 ..., is

    sum over stages t of  open(S[t-1]) * net_t(S[t] less S[t-1])   +   end(S[last]),

where `open` is the chance that the next stage is needed at all, `net_t` what a stage costs (an item may
share access and follow-ups with others, so that this belongs to the set) and `end` what is left to bear.
All sets are looked at; with a limit on the whole, for each set done so far every way there that is not both
dearer and costlier than another. Nothing is assumed of the functions, so the plan found is the best one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["MOST_ITEMS", "Limits", "Problem", "Stages", "search", "value"]

Array = NDArray[np.float64]
Sets = NDArray[np.int64]

#: Items up to which a search in full is quick: 3 ** 12 pairs of sets are half a million.
MOST_ITEMS = 12

#: Money below this is rounding.
ROUNDING = 1e-9


@dataclass(frozen=True)
class Limits:
    """What a plan must keep to.

    whole: the most money for all stages, if all are needed. early: pairs (items, stages): one of these items
    (bits) at least must be done within the first so many stages. (What one stage may cost is said by its
    `net`, which is infinite for what is beyond it.)
    """

    whole: float = math.inf
    early: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class Problem:
    """Arrays over all 2 ** items sets.

    net: one array a stage (the last one serves all later ones), the expected cost of doing that set in that
    stage, in money; may be negative, and infinite for what cannot be done together. cash: what has to be paid
    for it on the day. open: P(a stage after that set is needed), falling with the set. end: what is left to
    bear, expected, once that set is done; infinite for what must not be done in one plan, then for every set
    that holds it.
    """

    items: int
    net: tuple[Array, ...]
    cash: Array
    open: Array
    end: Array
    limits: Limits = field(default_factory=Limits)

    def stage_net(self, number: int) -> Array:
        """The net cost of the sets in this stage, from 0."""
        return self.net[min(number, len(self.net) - 1)]


@dataclass(frozen=True, slots=True)
class Stages:
    """sets: what each stage does, none empty. cost: expected, in money. cash: paid if all are needed."""

    sets: tuple[int, ...]
    cost: float
    cash: float


def value(problem: Problem, sets: Sequence[int]) -> float:
    """The expected cost of these stages, limits or not."""
    done, total = 0, 0.0
    for number, each in enumerate(sets):
        total += float(problem.open[done] * problem.stage_net(number)[each])
        done |= each
    return total + float(problem.end[done])


def search(problem: Problem, stages: int) -> Stages | None:
    """The plan of so many stages at most with the least expected cost; None if the limits allow none.

    Time and memory grow with 3 ** items. No stage is added that does not make the plan cheaper. Raises
    ValueError for more than 20 items.
    """
    if problem.items > 20:
        raise ValueError(f"{problem.items} items are too many to search in full")
    ahead = _ahead(problem, stages)
    if not math.isfinite(ahead[0][0]):
        return None
    free = _follow(problem, ahead)
    if math.isinf(problem.limits.whole) or free.cash <= problem.limits.whole + ROUNDING:
        return free
    return _within(problem, ahead)


def _ahead(problem: Problem, stages: int) -> list[Array]:
    """For each number of stages done, over all sets done by then: the least expected cost from there on,
    with no limit on the whole."""
    every = np.arange(1 << problem.items, dtype=np.int64)
    found = [np.where(_all_done(problem, every), problem.end, math.inf)]
    for number in reversed(range(stages)):
        after = found[0]
        net = _allowed(problem, number)
        best = np.where(_all_done(problem, every), problem.end, math.inf)
        # Before the first stage nothing is done; what must be done by now is done.
        some = every[:1] if number == 0 else every[_all_done(problem, every, number)]
        for done in some:
            more = _subsets(~done & every[-1])
            on = problem.open[done] * net[more] + after[more | done]
            best[done] = min(best[done], on.min())
        found.insert(0, best)
    return found


def _allowed(problem: Problem, number: int) -> Array:
    """The net cost of the sets in this stage; infinite for the empty one."""
    net = problem.stage_net(number).copy()
    net[0] = math.inf
    return net


def _all_done(problem: Problem, done: Sets, within: int | None = None) -> NDArray[np.bool_]:
    """Whether all is done that must be: within so many stages, or at all."""
    fine = np.ones(len(done), dtype=bool)
    for items, stages in problem.limits.early:
        if within is None or stages <= within:
            fine &= done & items != 0
    return fine


def _follow(problem: Problem, ahead: Sequence[Array]) -> Stages:
    """The plan that the least costs from there on lead through."""
    sets: list[int] = []
    done, cash = 0, 0.0
    every = (1 << problem.items) - 1
    for number in range(len(ahead) - 1):
        if ahead[number][done] >= problem.end[done] - ROUNDING and _finished(problem, done):
            break
        more = _subsets(~done & every)
        costs = problem.open[done] * _allowed(problem, number)[more] + ahead[number + 1][more | done]
        step = int(more[int(costs.argmin())])
        sets.append(step)
        cash += float(problem.cash[step])
        done |= step
    return Stages(tuple(sets), value(problem, sets), cash)


def _finished(problem: Problem, done: int) -> bool:
    return bool(_all_done(problem, np.array([done], dtype=np.int64))[0])


@dataclass
class _Ways:
    """Ways that lead to sets, one a row: the set, what it is expected to cost, its cash, the row before it
    and what its last stage did."""

    done: Sets
    cost: Array
    cash: Array
    before: Sets
    step: Sets

    def rows(self, keep: NDArray[np.bool_] | Sets) -> _Ways:
        """Some of them."""
        return _Ways(self.done[keep], self.cost[keep], self.cash[keep], self.before[keep], self.step[keep])

    @classmethod
    def joined(cls, some: Sequence[_Ways]) -> _Ways:
        """All of several, in order."""
        return cls(
            np.concatenate([each.done for each in some]),
            np.concatenate([each.cost for each in some]),
            np.concatenate([each.cash for each in some]),
            np.concatenate([each.before for each in some]),
            np.concatenate([each.step for each in some]),
        )


def _within(problem: Problem, ahead: Sequence[Array]) -> Stages | None:
    """The best plan within the money for the whole; `ahead` bounds what is left from below."""
    none = np.zeros(1, dtype=np.int64)
    layers = [_Ways(none, np.zeros(1), np.zeros(1), none - 1, none)]
    best, where = math.inf, (0, 0)
    for number in range(len(ahead)):
        ways = layers[-1]
        ends = np.where(_all_done(problem, ways.done), ways.cost + problem.end[ways.done], math.inf)
        row = int(ends.argmin())
        if ends[row] < best - ROUNDING:
            best, where = float(ends[row]), (number, row)
        if number + 1 == len(ahead):
            break
        more = _step(problem, ways, number, ahead[number + 1], best)
        if more is None:
            break
        layers.append(more)
    if math.isinf(best):
        return None
    layer, row = where
    cash = float(layers[layer].cash[row])
    sets: list[int] = []
    while layer:
        sets.append(int(layers[layer].step[row]))
        row, layer = int(layers[layer].before[row]), layer - 1
    return Stages(tuple(reversed(sets)), best, cash)


def _step(problem: Problem, ways: _Ways, number: int, ahead: Array, best: float) -> _Ways | None:
    """All ways on from these by one more stage that may still lead to a plan better than the best so far."""
    net = _allowed(problem, number)
    found: list[_Ways] = []
    for row in range(len(ways.done)):
        done = int(ways.done[row])
        some = _subsets(~done & (len(net) - 1))
        cash = ways.cash[row] + problem.cash[some]
        cost = ways.cost[row] + problem.open[done] * net[some]
        keep = (cash <= problem.limits.whole + ROUNDING) & (cost + ahead[some | done] < best - ROUNDING)
        keep &= _all_done(problem, some | done, number + 1)
        if keep.any():
            some = some[keep]
            found.append(_Ways(some | done, cost[keep], cash[keep], np.full(len(some), row), some))
    return _thinned(_Ways.joined(found)) if found else None


def _thinned(ways: _Ways) -> _Ways:
    """For each set done the ways of which none other is both cheaper and takes less cash."""
    ways = ways.rows(np.lexsort((ways.cash, ways.cost, ways.done)))
    new = np.concatenate([[True], ways.done[1:] != ways.done[:-1]])
    # Within a set costs rise, so a way is kept if it takes less cash than all before it.
    span = float(np.ptp(ways.cash)) + 1.0
    falling = np.minimum.accumulate(ways.cash - new.cumsum() * span)
    lower = np.concatenate([[True], np.diff(falling) < -ROUNDING])
    return ways.rows(lower)


def _subsets(items: int) -> Sets:
    """All sets of these items, the empty one first."""
    found = np.zeros(1, dtype=np.int64)
    items = int(items)
    while items:
        bit = items & -items
        found = np.concatenate([found, found | bit])
        items ^= bit
    return found
