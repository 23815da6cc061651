"""How good any plan could be: a cost that no plan is below.

It is that of an easier task:

- shared costs are split among those who may share them, so that no set of work pays more than it must;
- a unit of work that ends several causes may be done in parts, each cause at its share of the cost, by the
  unit that ends it for least; what brings in more than it costs is had at once;
- after every part it is seen, for nothing, whether the complaint has gone.

What is left is a sequence of independent repairs: the best order is by odds over cost (S. Srinivas 1995), and
which of them are worth it is found going backwards over x, the chance that nothing acts once everything done
so far was put right: with o_k = a_k / (1 - a_k) and the cost c_k of part k, U of giving up,

    V(x) = U * (1 - x) / A at the end,    V_k(x) = min(V_k+1(x), c_k * (1 - x) / A + V_k+1(x * (1 + o_k))).

Every V_k is concave and falling in x, so its chords on a grid lie below it: what comes out is a true bound.
The grid of V_k ends where x is once all parts before k are done: what lies beyond never comes about, and cut
off at x = 1 it would not be concave.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.plan.chances import Acting

__all__ = ["Parts", "least_cost", "parts_of"]

Array = NDArray[np.float64]

#: Points of the grid.
POINTS = 400


@dataclass(frozen=True)
class Parts:
    """Work in parts, one a cause. lift: shape (M,), -log(1 - a) of each, above 0; cost: shape (M,), above 0.
    free: the lift that is had for nothing; brought: what it brings in, in money."""

    lift: Array
    cost: Array
    free: float
    brought: float


def parts_of(
    own: Sequence[float],
    ends: Sequence[frozenset[int]],
    shared: Sequence[tuple[int, float]],
    quiet: Array,
    forced: Sequence[bool] = (),
) -> Parts:
    """The easier task of some work. own: cost of each unit beyond what it shares; may be negative. ends: the
    causes that it ends. shared: (units as bits, cost). quiet: log(1 - a) of every cause. forced: units that
    are done whether they pay or not, so that their lift is had for nothing.
    """
    lifts = np.array([-float(quiet[list(each)].sum()) for each in ends])
    costs = np.array(own, dtype=float)
    for units, cost in shared:
        members = np.array([float(units >> n & 1) for n in range(len(costs))])
        weights = members * lifts
        # Who helps most carries most of it: any other split would do as well.
        costs = costs + cost * (weights / weights.sum() if weights.sum() > 0.0 else members / members.sum())
    free: set[int] = set()
    cheapest: dict[int, float] = {}
    brought = 0.0
    for number, causes in enumerate(ends):
        brought += max(-float(costs[number]), 0.0)
        if costs[number] <= 0.0 or (forced and forced[number]):
            free |= causes
        elif lifts[number] > 0.0:
            ratio = float(costs[number] / lifts[number])
            for cause in causes:
                cheapest[cause] = min(cheapest.get(cause, math.inf), ratio)
    rest = [cause for cause in sorted(cheapest) if cause not in free and quiet[cause] < 0.0]
    lift = -quiet[rest]
    return Parts(
        lift, lift * np.array([cheapest[each] for each in rest]), -float(quiet[list(free)].sum()), brought
    )


def least_cost(parts: Parts, acting: Acting, visit: float, end: float) -> float:
    """No plan of this work costs less. visit: cost of any stage. end: what giving up costs at least."""
    never = float(acting.quiet.sum()) + math.log1p(-acting.outside)
    start = min(never + parts.free, 0.0)
    scale = acting.there / acting.one
    lifts = np.minimum(parts.lift, 50.0)
    # Best ratio first, so the last one comes first going backwards.
    order = np.argsort(-np.expm1(lifts) / parts.cost, kind="stable")
    before = [0.0, *lifts[order].cumsum()]
    grid = _grid(start, before[-1])
    value = end * scale * (1.0 - grid)
    for place in reversed(range(len(order))):
        further, after = grid, value
        grid = _grid(start, before[place])
        part = order[place]
        done = parts.cost[part] * scale * (1.0 - grid)
        done = done + np.interp(grid * math.exp(lifts[part]), further, after)
        value = np.minimum(np.interp(grid, further, after), done)
    # Nothing done at all has no visit to pay for.
    return min(float(value[0]) + visit * min(acting.there, 1.0) - parts.brought, end * acting.there)


def _grid(start: float, lift: float) -> Array:
    """Where x may be: from the start, a logarithm, to what so much lift makes of it, 1 at most."""
    grid: Array = np.exp(np.linspace(start, min(start + lift, 0.0), POINTS))
    return grid
