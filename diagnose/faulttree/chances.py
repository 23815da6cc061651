"""Exact probabilities of a function of events, in many settings at once.

From the ends up, every node is worth the mean of its children, weighed by the chance of its event: sums
and products of positive numbers, so nothing cancels. Two mates stand side by side in the order, so the
second only has to know how the first fell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.faulttree.diagram import NEVER, SURE, Functions
from diagnose.faulttree.events import Event, Pair

__all__ = ["Chances", "Setting"]

Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True, slots=True)
class Setting:
    """One event made certain or impossible.

    happens: which of the two. observed: it is *seen* to be so, so that its mate follows; else it is
    *made* so and its mate stays as it is.
    """

    event: int
    happens: bool
    observed: bool = False


@dataclass(frozen=True)
class Chances:
    """The probabilities of events: independent, but for pairs of mates."""

    events: tuple[Event, ...]
    pairs: tuple[Pair, ...]

    @cached_property
    def chance(self) -> tuple[float, ...]:
        """P(event) of each."""
        return tuple(event.chance for event in self.events)

    @cached_property
    def first(self) -> dict[int, Pair]:
        """The pair of an event that is the first of it."""
        return {pair.first: pair for pair in self.pairs}

    @cached_property
    def second(self) -> dict[int, Pair]:
        """The pair of an event that is the second of it."""
        return {pair.second: pair for pair in self.pairs}

    def all_of(self, events: Sequence[int]) -> float:
        """P(all these events happen)."""
        wanted = set(events)
        found = 1.0
        for event in sorted(wanted):
            pair = self.second.get(event)
            if pair is not None and pair.first in wanted:
                continue  # came with the first
            pair = self.first.get(event)
            together = pair is not None and pair.second in wanted
            found *= pair.table[1][1] if pair is not None and together else self.chance[event]
        return found

    def of(self, functions: Functions, top: int, settings: Sequence[Setting | None] = (None,)) -> Array:
        """P(the function is on) in each setting (None: as it stands), shape (settings,)."""
        size = len(settings)
        chance: dict[int, Array] = {}
        tables: dict[int, Array] = {}
        for number, each in enumerate(settings):
            if each is None:
                continue
            pair = self.first.get(each.event) or self.second.get(each.event)
            if pair is None:
                row = chance.setdefault(each.event, np.full(size, self.chance[each.event]))
                row[number] = float(each.happens)
            else:
                table = tables.setdefault(pair.first, self._table(pair, size))
                table[:, :, number] = _set(pair, each)
        for first, pair in self.first.items():
            tables.setdefault(first, self._table(pair, size))

        ends = {NEVER: np.zeros(size), SURE: np.ones(size)}
        plain: dict[int, Array] = dict(ends)
        #: Of a node that asks the second of two mates: its worth if the first did not, and if it did happen.
        given: dict[int, tuple[Array, Array]] = {}
        for number in functions.below(top):
            event, low, high = functions.rows[number]
            if event in self.second:
                pair = self.second[event]
                table = tables[pair.first]
                whole = table.sum(axis=1)
                sure = np.where(whole > 0.0, whole, 1.0)
                falls = table[:, 1] / sure, table[:, 0] / sure
                given[number] = (
                    falls[1][0] * plain[low] + falls[0][0] * plain[high],
                    falls[1][1] * plain[low] + falls[0][1] * plain[high],
                )
                plain[number] = table[:, 0].sum(axis=0) * plain[low] + table[:, 1].sum(axis=0) * plain[high]
            elif event in self.first:
                table = tables[event]
                second = self.first[event].second
                worth = [
                    given[child][fell] if functions.rows[child][0] == second else plain[child]
                    for fell, child in enumerate((low, high))
                ]
                whole = table.sum(axis=1)
                plain[number] = whole[0] * worth[0] + whole[1] * worth[1]
            else:
                p = chance.get(event, self.chance[event])
                plain[number] = (1.0 - p) * plain[low] + p * plain[high]
        return plain[top]

    @staticmethod
    def _table(pair: Pair, size: int) -> Array:
        """The table of two mates in every setting, shape (2, 2, settings)."""
        return np.repeat(np.array(pair.table, dtype=np.float64)[:, :, None], size, axis=2)


def _set(pair: Pair, setting: Setting) -> Array:
    """The table of two mates, shape (2, 2), once one of them is made or seen to happen or not."""
    table: Array = np.array(pair.table, dtype=np.float64)
    axis = 0 if setting.event == pair.first else 1
    kept = int(setting.happens)
    if setting.observed:
        row: Array = np.take(table, kept, axis=axis)
        row = row / row.sum()
    else:
        row = table.sum(axis=axis)  # the mate alone
    made: Array = np.zeros((2, 2))
    if axis == 0:
        made[kept, :] = row
    else:
        made[:, kept] = row
    return made
