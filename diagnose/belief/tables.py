"""Moves on the table over open events: what a present cause does to it, forwards and backwards.

A table has shape (columns, states); its states are those of the open events, the last axis fastest.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Touches", "axis_view", "fire", "pull", "push"]

Array = NDArray[np.float64]

#: (axis number, chances) of every event that is pushed.
Touches = Sequence[tuple[int, tuple[float, ...]]]


def axis_view(table: Array, axis: int, sizes: Sequence[int]) -> Array:
    """The table as (columns, states before, states of the axis, states after); a view."""
    before = 1
    for size in sizes[:axis]:
        before *= size
    return table.reshape(len(table), before, sizes[axis], -1)


def push(table: Array, touches: Touches, sizes: Sequence[int]) -> None:
    """Forwards, in place: a present cause (or a node that is on) pushes these axes."""
    for axis, chances in touches:
        view = axis_view(table, axis, sizes)
        top = sizes[axis] - 1
        if len(chances) == 1:
            chance = chances[0]
            for state in range(top - 1, -1, -1):
                view[:, :, state + 1] += chance * view[:, :, state]
                view[:, :, state] *= 1.0 - chance
            continue
        for state in range(top, 0, -1):
            view[:, :, state] *= 1.0 - sum(chances[state:])
            view[:, :, state] += chances[state - 1] * view[:, :, :state].sum(axis=2)
        view[:, :, 0] *= 1.0 - sum(chances)


def pull(
    table: Array,
    touches: Touches,
    sizes: Sequence[int],
    silent: frozenset[int] = frozenset(),
) -> None:
    """Backwards, in place: the transpose of `_push`; on `silent` axes the link did not work."""
    for axis, chances in touches:
        view = axis_view(table, axis, sizes)
        top = sizes[axis] - 1
        if axis in silent:
            view *= 1.0 - sum(chances)
            continue
        if len(chances) == 1:
            chance = chances[0]
            for state in range(top):
                view[:, :, state] *= 1.0 - chance
                view[:, :, state] += chance * view[:, :, state + 1]
            continue
        for state in range(top):
            view[:, :, state] *= 1.0 - sum(chances[state:])
            for higher in range(state + 1, top + 1):
                view[:, :, state] += chances[higher - 1] * view[:, :, higher]


def fire(table: Array, axis: int, chance: float, sizes: Sequence[int]) -> Array:
    """Backwards: the part of `pull` in which the link into one gate worked; a new table."""
    result = table.copy()
    view, old = axis_view(result, axis, sizes), axis_view(table, axis, sizes)
    top = sizes[axis] - 1
    for state in range(top):
        view[:, :, state] = chance * old[:, :, state + 1]
    view[:, :, top] = chance * old[:, :, top]
    return result
