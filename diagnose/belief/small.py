"""Small tables: what causes do to a few open events, as matrices made once for all runs.

What a cause pushes raises axes, or keeps the higher level; so what several push makes the same of a table in
any order, and a table small enough takes each of them as one product of matrices. All of it is positive:
nothing cancels. Tables here have shape (states, columns), messages (..., states, columns).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from diagnose.belief.tables import Array, Numbers, Touches, fire, held, push

__all__ = ["Acting", "Pushes", "Small", "Way"]


@dataclass(frozen=True, eq=False)
class Way:
    """One link, or one way of acting, by which a cause reaches an event of the complaint's tree.

    axis: of that event. act: which of the acts it is, or -1. moves: what the cause does to a table if this
    way holds, with its chance if it is a link, and with all other links, but without the acts.
    """

    axis: int
    act: int
    moves: Array


#: (key, chance, matrix) of an act: what it makes of a table.
Acting = tuple[str, float, Array]


@dataclass(frozen=True, eq=False)
class Pushes:
    """What one cause, present, does to a small table. Matrices of shape (states, states), from a column to a
    row: own, of its links (None: it has none); acts; ways, those up to a complaint.
    """

    small: Small
    links: Touches
    touches: Sequence[tuple[str, float, Touches]]
    own: Array | None
    acts: tuple[Acting, ...]
    ways: tuple[Way, ...]
    _silent: dict[frozenset[int], tuple[Array, tuple[Acting, ...]]] = field(default_factory=dict)

    def silent(self, sure: frozenset[int]) -> tuple[Array, tuple[Acting, ...]]:
        """The same if none of its ways to these axes holds: of its links, with their chance; and its acts."""
        if sure not in self._silent:
            rest = [touch for touch in self.links if touch[0] not in sure]
            chance = 1.0
            for axis, chances in self.links:
                if axis in sure:
                    chance *= 1.0 - sum(chances)
            left = []
            for act, (_, acts, touches) in zip(self.acts, self.touches, strict=True):
                if any(axis in sure for axis, _ in touches):
                    chance *= 1.0 - acts
                else:
                    left.append(act)
            self._silent[sure] = chance * self.small.matrix(rest), tuple(left)
        return self._silent[sure]


@dataclass(frozen=True, eq=False)
class Small:
    """The states of a few axes, and the moves between them: from one state (`first`) to another (`after`) by
    what is pushed; both of shape (moves,). by: shape (moves, states), 1 where pushing that makes that move.
    """

    sizes: tuple[int, ...]
    first: Numbers
    after: Numbers
    by: Array

    @staticmethod
    @lru_cache(maxsize=256)
    def of(sizes: tuple[int, ...], counts: tuple[bool, ...]) -> Small:
        """Axes of these sizes: one that counts goes up by what is pushed, another keeps the higher."""
        states = np.indices(sizes).reshape(len(sizes), -1)
        to = np.maximum(states[:, :, None], states[:, None])
        for axis, (size, adds) in enumerate(zip(sizes, counts, strict=True)):
            if adds:
                to[axis] = np.minimum(states[axis, :, None] + states[axis], size - 1)
        count = states.shape[1]
        leads = np.arange(count)[:, None] * count + np.ravel_multi_index(tuple(to), sizes)
        moves, made = np.unique(leads, return_inverse=True)
        by = np.zeros((len(moves), count))
        by[made.reshape(count, count), np.arange(count)] = 1.0
        return Small(sizes, moves // count, moves % count, by)

    @property
    def states(self) -> int:
        """How many there are."""
        return int(self.by.shape[1])

    def square(self, pushed: Array) -> Array:
        """P(from one state to another), shape (states, states, columns), by what is pushed from nothing."""
        found = np.zeros((self.states, self.states, pushed.shape[1]))
        found[self.first, self.after] = self.by @ pushed
        return found

    def worth(self, square: Array) -> Array:
        """What each push is worth, given what each move is, (..., states, states, columns)."""
        result: Array = self.by.T @ square[..., self.first, self.after, :]
        return result

    # Kept, since the same cause pushes the same few events in model after model.
    @lru_cache(maxsize=1024)  # noqa: B019 - tables of axes are few, and kept themselves
    def pushes(
        self, links: Touches, acts: tuple[tuple[str, float, Touches], ...], blame: frozenset[int]
    ) -> Pushes:
        """What one cause does, by its links and its acts (key, chance, what it pushes then); the axes in
        `blame` are those of the complaints' trees."""
        ways = [
            Way(axis, -1, self._fired(axis, chances[0]) @ self.matrix(_beside(links, axis)))
            for axis, chances in links
            if axis in blame
        ]
        ways += [
            Way(axis, number, self._fired(axis, 1.0) @ self.matrix([*_beside(touches, axis), *links]))
            for number, (_, _, touches) in enumerate(acts)
            for axis, _ in touches
            if axis in blame
        ]
        made = tuple([(key, chance, self.matrix(touches)) for key, chance, touches in acts])
        own = self.matrix(links) if links else None
        return Pushes(self, links, acts, own, made, tuple(ways))

    def matrix(self, touches: Touches) -> Array:
        """What these links make of a table."""
        table = np.eye(self.states)
        push(table, touches, self.sizes)
        return held(table).copy()

    def _fired(self, axis: int, chance: float) -> Array:
        """What a link that holds, with this chance, makes of a table."""
        # Backwards on the identity, row by row: for each state after, the states that it comes from.
        return fire(np.eye(self.states), axis, chance, self.sizes)


def _beside(touches: Touches, axis: int) -> Touches:
    return [touch for touch in touches if touch[0] != axis]
