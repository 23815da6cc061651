"""How good any plan could be: a cost that no plan is below, with and without a given item in it.

Whatever is left out of a search in full is accounted for by this bound. It is that of an easier task:

- shared costs are split among those who may share them, so that no set of items pays more than it must;
- after every single item it is seen, for nothing, whether the complaint has gone;
- what brings in more than it costs is had at once.

What is left is a sequence of independent repairs: the best order is by odds over cost (S. Srinivas 1995), and
which of them are worth it is found going backwards over x, the chance that nothing acts once everything done
so far was put right: with o_k = a_k / (1 - a_k) and the cost c_k of item k, U of giving up,

    V(x) = U * (1 - x) / A at the end,    V_k(x) = min(V_k+1(x), c_k * (1 - x) / A + V_k+1(x * (1 + o_k))).

Every V_k is concave and falling in x, so its chords on a grid lie below it: what comes out is a true bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Bounds", "Loose"]

Array = NDArray[np.float64]

#: Points of the grid.
POINTS = 400


@dataclass(frozen=True)
class Loose:
    """The easier task.

    own: cost of each item beyond what it shares; may be negative. lift: sum of -log(1 - a) over the causes
    that an item ends. shared: (items as bits, cost). visit: cost of any stage. never: log P(nothing acts) as
    things stand. one: A. there: P(the complaint is there). end: what giving up costs at least.
    """

    own: tuple[float, ...]
    lift: tuple[float, ...]
    shared: tuple[tuple[int, float], ...]
    visit: float
    never: float
    one: float
    there: float
    end: float


class Bounds:
    """Lower bounds of the expected cost of all plans for one task."""

    def __init__(self, task: Loose) -> None:
        self.task = task
        self._shares = [_split(items, cost, task.lift) for items, cost in task.shared]

    def of(self, forced: int | None = None) -> float:
        """No plan that has this item costs less; no plan at all, where none is named."""
        task = self.task
        costs = np.array(task.own)
        for (items, cost), shares in zip(task.shared, self._shares, strict=True):
            if forced is not None and items >> forced & 1:
                costs[forced] += cost
            else:
                costs = costs + shares
        lift = np.array(task.lift)
        gain = float(np.minimum(costs, 0.0).sum())
        start = task.never + float(lift[costs <= 0.0].sum())
        paid = [n for n in range(len(costs)) if costs[n] > 0.0]
        # Up to x = 1, where the complaint is certainly gone.
        grid = np.exp(np.linspace(min(start, 0.0), 0.0, POINTS))
        scale = task.there / task.one
        ratio = {n: math.expm1(min(float(lift[n]), 50.0)) / float(costs[n]) for n in paid}
        value = task.end * scale * (1.0 - grid)
        # Best ratio first, so the last one comes first going backwards.
        for number in sorted(paid, key=lambda n: ratio[n]):
            moved = np.minimum(grid * math.exp(min(float(lift[number]), 50.0)), 1.0)
            done = costs[number] * scale * (1.0 - grid) + np.interp(moved, grid, value)
            value = done if number == forced else np.minimum(value, done)
        if forced is None:
            # Nothing done at all has no visit to pay for.
            return min(gain + task.visit * min(task.there, 1.0) + float(value[0]), task.end * task.there)
        return gain + task.visit * min(task.there, 1.0) + float(value[0])


def _split(items: int, cost: float, lift: Sequence[float]) -> Array:
    """A cost split among those who may share it, by how much each of them helps."""
    weights = np.array([lift[n] if items >> n & 1 else 0.0 for n in range(len(lift))])
    if weights.sum() <= 0.0:
        weights = np.array([float(items >> n & 1) for n in range(len(lift))])
    result: Array = cost * weights / weights.sum()
    return result
