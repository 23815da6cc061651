"""Moves on the table over open events: what a present cause does to it, forwards and backwards.

A table has shape (columns, states); its states are those of the open events, the last axis fastest.
Several tables of one shape can be moved at once: (tables, columns, states). Tables of many columns are
best held with the columns fastest in memory (see `held`): every move is then made along whole columns.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Array",
    "Blocks",
    "Numbers",
    "Reach",
    "Touches",
    "apart",
    "axis_view",
    "dot",
    "fire",
    "held",
    "pull",
    "pull_act",
    "push",
    "push_act",
    "safe",
    "weighed",
    "whole",
    "worth",
]

Array = NDArray[np.float64]
Numbers = NDArray[np.intp]

#: Columns up to which products of tables are made column by column, as of matrices.
FEW = 24

#: (axis number, chances) of every event that is pushed.
Touches = Sequence[tuple[int, tuple[float, ...]]]


def held(states: Array) -> Array:
    """A table, or several, (..., columns, states) over an array (..., states, columns), or back; a view."""
    return states.swapaxes(-1, -2)


def axis_view(table: Array, axis: int, sizes: Sequence[int]) -> Array:
    """The table as (columns, states before, states of the axis, states after); a view."""
    return table.reshape(*table.shape[:-1], math.prod(sizes[:axis]), sizes[axis], -1)


def apart(table: Array, axes: Sequence[int], sizes: Sequence[int]) -> Array:
    """A table, or several, with the states of these axes apart: (..., their states, others, columns)."""
    view = held(table).reshape(*table.shape[:-2], *sizes, table.shape[-2])
    first = table.ndim - 2
    view = np.moveaxis(view, [first + axis for axis in axes], range(first, first + len(axes)))
    states = math.prod(sizes[axis] for axis in axes)
    return view.reshape(*table.shape[:-2], states, -1, table.shape[-2])


def whole(parts: Array, axes: Sequence[int], sizes: Sequence[int]) -> Array:
    """The table that `apart` took apart."""
    first, others = parts.ndim - 3, [size for axis, size in enumerate(sizes) if axis not in axes]
    view = parts.reshape(*parts.shape[:-3], *(sizes[axis] for axis in axes), *others, parts.shape[-1])
    view = np.moveaxis(view, range(first, first + len(axes)), [first + axis for axis in axes])
    return held(view.reshape(*parts.shape[:-3], -1, parts.shape[-1]))


def weighed(weights: Array, parts: Array) -> Array:
    """Sum over the first states of the weights, (states, states, columns), times those of the parts,
    (..., states, others, columns)."""
    if parts.shape[-1] > FEW:
        result: Array = np.einsum("uvc,...urc->...vrc", weights, parts)
        return result
    return np.moveaxis(np.moveaxis(weights, -1, 0).swapaxes(-1, -2) @ np.moveaxis(parts, -1, -3), -3, -1)


def worth(before: Array, after: Array) -> Array:
    """Sum over the others of parts (states, others, columns) times parts (..., states, others, columns),
    shape (..., states, states, columns)."""
    if before.shape[-1] > FEW:
        result: Array = np.einsum("urc,...vrc->...uvc", before, after)
        return result
    return np.moveaxis(np.moveaxis(before, -1, -3) @ np.moveaxis(after, -1, -3).swapaxes(-1, -2), -3, -1)


def push(table: Array, touches: Touches, sizes: Sequence[int]) -> None:
    """Forwards, in place: a present cause (or a node that is on) pushes these axes."""
    for axis, chances in touches:
        view = axis_view(table, axis, sizes)
        top = sizes[axis] - 1
        if len(chances) == 1:
            chance = chances[0]
            for state in range(top - 1, -1, -1):
                view[..., state + 1, :] += chance * view[..., state, :]
                view[..., state, :] *= 1.0 - chance
            continue
        for state in range(top, 0, -1):
            view[..., state, :] *= 1.0 - sum(chances[state:])
            view[..., state, :] += chances[state - 1] * view[..., :state, :].sum(axis=-2)
        view[..., 0, :] *= 1.0 - sum(chances)


def pull(
    table: Array,
    touches: Touches,
    sizes: Sequence[int],
    silent: frozenset[int] = frozenset(),
) -> None:
    """Backwards, in place: the transpose of `push`; on `silent` axes the link did not work."""
    for axis, chances in touches:
        view = axis_view(table, axis, sizes)
        top = sizes[axis] - 1
        if axis in silent:
            table *= 1.0 - sum(chances)
            continue
        if len(chances) == 1:
            chance = chances[0]
            for state in range(top):
                view[..., state, :] *= 1.0 - chance
                view[..., state, :] += chance * view[..., state + 1, :]
            continue
        for state in range(top):
            view[..., state, :] *= 1.0 - sum(chances[state:])
            for higher in range(state + 1, top + 1):
                view[..., state, :] += chances[higher - 1] * view[..., higher, :]


def push_act(table: Array, axis: int, chance: float, works: Array, sizes: Sequence[int]) -> None:
    """Forwards, in place: a link whose working is known about: it works with `chance` and, with what is
    known, `works`, shape (columns, 1)."""
    view = axis_view(table, axis, sizes)
    top, stay, works = sizes[axis] - 1, 1.0 - chance, works[..., None]
    view[..., top, :] *= stay + works
    for state in range(top - 1, -1, -1):
        view[..., state + 1, :] += works * view[..., state, :]
        view[..., state, :] *= stay


def pull_act(table: Array, axis: int, chance: float, works: Array, sizes: Sequence[int]) -> None:
    """Backwards, in place: the transpose of `push_act`."""
    view = axis_view(table, axis, sizes)
    top, stay, works = sizes[axis] - 1, 1.0 - chance, works[..., None]
    for state in range(top):
        view[..., state, :] *= stay
        view[..., state, :] += works * view[..., state + 1, :]
    view[..., top, :] *= stay + works


def fire(table: Array, axis: int, chance: float, sizes: Sequence[int]) -> Array:
    """Backwards: the part of `pull` in which the link into one gate worked; a new table."""
    result = table.copy(order="K")
    view, old = axis_view(result, axis, sizes), axis_view(table, axis, sizes)
    top = sizes[axis] - 1
    for state in range(top):
        view[..., state, :] = chance * old[..., state + 1, :]
    view[..., top, :] = chance * old[..., top, :]
    return result


def dot(one: Array, other: Array) -> Array:
    """Sum over the states of each column, shape (columns,)."""
    result: Array = np.einsum("cs,cs->c", one, other)
    return result


def safe(total: Array) -> Array:
    """The total with zeros replaced by one: those columns are impossible and marked so later."""
    return np.where(total > 0.0, total, 1.0)


@dataclass(frozen=True, slots=True)
class Reach:
    """What each of n causes, present, does to one axis of two states; shapes (columns or 1, n).

    off: P(none of its links works). on: P(one does). each: shape (links, columns or 1, n), P(this link
    works), whatever the others do. All are taken together with the known absences.
    """

    off: Array
    on: Array
    each: Array


@dataclass(frozen=True)
class Blocks:
    """K causes, each alone or with a mate, that push one axis of two states and nothing else.

    Joint prior odds of a cause and its mate: neither (K,), first (columns, K), second and both
    (columns, M). The first M causes have a mate; `one` says what the causes do, `other` what the mates.
    """

    neither: Array
    first: Array
    second: Array
    both: Array
    one: Reach
    other: Reach

    @cached_property
    def _push(self) -> tuple[Array, Array, Array]:
        """For each block: the odds of everything, and P(it leaves the axis alone), P(it pushes it)."""
        one, other, mates = self.one, self.other, self.second.shape[1]
        stay = self.neither + self.first * one.off
        move = self.first * one.on
        if mates:
            off, on = one.off[:, :mates], one.on[:, :mates]
            stay[:, :mates] += (self.second + self.both * off) * other.off
            move[:, :mates] += self.second * other.on + self.both * (
                off * other.on + on * (other.off + other.on)
            )
        total = stay + move
        whole = safe(total)
        return total, stay / whole, move / whole

    @property
    def odds(self) -> Array:
        """The odds of everything that a block can be, shape (columns, K); 0 where nothing is possible."""
        return self._push[0]

    @cached_property
    def _chains(self) -> tuple[Array, Array, Array, Array]:
        """P(axis left alone), P(axis pushed), by all blocks before each, and by all after it.

        Sums and products of what is positive only: nothing cancels, and nothing is divided by.
        """
        _, stay, move = self._push
        off, on = _before(stay[:, ::-1], move[:, ::-1])
        return (*_before(stay, move), off[:, ::-1], on[:, ::-1])

    @cached_property
    def together(self) -> tuple[Array, Array]:
        """P(all blocks leave the axis alone), P(one pushes it), each of shape (columns, 1)."""
        _, stay, move = self._push
        off, on, _, _ = self._chains
        return off[:, -1:] * stay[:, -1:], on[:, -1:] + off[:, -1:] * move[:, -1:]

    def push(self, table: Array, axis: int, sizes: Sequence[int]) -> None:
        """Forwards, in place: all blocks at once, the odds of each block set to 1."""
        view = axis_view(table, axis, sizes)
        off, on = (each[..., None] for each in self.together)
        view[..., 1, :] += on * view[..., 0, :]
        view[..., 0, :] *= off

    def pull(self, table: Array, axis: int, sizes: Sequence[int]) -> None:
        """Backwards, in place: the transpose of `push`."""
        view = axis_view(table, axis, sizes)
        off, on = (each[..., None] for each in self.together)
        view[..., 0, :] *= off
        view[..., 0, :] += on * view[..., 1, :]

    def present(self, left: Array, raised: Array, was_on: Array) -> tuple[Array, Array, Array]:
        """Odds with each cause present, with each mate present, and of everything.

        Of shape (columns, K), (columns, M), (columns, K); only their ratios within a block mean something.
        left, raised, was_on: what the tables are worth where the axis was off before the blocks and is off
        after them, was off and is on, was on; each of shape (columns,).
        """
        before_off, before_on, after_off, after_on = self._chains
        others_off, others_on = before_off * after_off, before_on + before_off * after_on
        on = (raised + was_on)[:, None]
        # Worth of the other blocks where this one pushes nothing.
        quiet = others_off * left[:, None] + others_on * raised[:, None] + was_on[:, None]
        one, other, mates = self.one, self.other, self.second.shape[1]
        first = self.first * (one.off * quiet + one.on * on)
        total = self.neither * quiet + first
        if not mates:
            return first, self.second, total
        off, fires, quiet = one.off[:, :mates], one.on[:, :mates], quiet[:, :mates]
        second = self.second * (other.off * quiet + other.on * on)
        both = self.both * (off * other.off * quiet + (off * other.on + fires * (other.off + other.on)) * on)
        total[:, :mates] += second + both
        first[:, :mates] += both
        return first, second + both, total

    @cached_property
    def alone(self) -> tuple[Array, Array]:
        """Odds of each cause present, its links left aside, and of each mate: (columns, K), (columns, M)."""
        one, other, mates = self.one, self.other, self.second.shape[1]
        if not mates:
            return self.first, self.second
        first = self.first.copy()
        first[:, :mates] += self.both * (other.off + other.on)
        return first, self.second + self.both * (one.off + one.on)[:, :mates]


def _before(stay: Array, move: Array) -> tuple[Array, Array]:
    """Before each block of a row: P(none has pushed), P(one has), of shape (columns, K)."""
    off, on = np.ones_like(stay), np.zeros_like(stay)
    np.cumprod(stay[:, :-1], axis=1, out=off[:, 1:])
    np.cumsum(off[:, :-1] * move[:, :-1], axis=1, out=on[:, 1:])
    return off, on
