"""Decision diagrams: a yes/no function of many events, and a family of sets of them, as small graphs.

A diagram is a number. 0 and 1 are the ends; every other number is a node (event, low, high) that stands
once only, so that equal diagrams have equal numbers, and whose children have smaller numbers. Read as a
function (BDD), a node asks for its event and goes high if it happens; read as a family of sets (ZDD), high
holds the sets with the event, low those without. Events are numbered from 0 in the order in which they are
asked; low and high ask later ones only.

Sources: R. E. Bryant, Graph-based algorithms for Boolean function manipulation, IEEE Trans. Computers 35
(1986) 677-691; S. Minato, Zero-suppressed BDDs for set manipulation, Design Automation Conference 1993;
A. Rauzy, New algorithms for fault trees analysis, Reliability Engineering and System Safety 40 (1993)
203-211.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import TypeVar

__all__ = ["NEVER", "SURE", "Functions", "Nodes", "worked_out"]

#: The two ends: of a function never and always; of a family no set at all, and the empty set alone.
NEVER, SURE = 0, 1

Key = TypeVar("Key", bound=Hashable)


def worked_out(key: Key, known: dict[Key, int], step: Callable[[Key], int | Sequence[Key]]) -> int:
    """The result of `key`, and into `known` that of everything it needs.

    step: the result of a key, or the keys that it needs first. A loop instead of a recursion: a tree
    of a thousand events would go too deep for one.
    """
    waiting = [key]
    while waiting:
        here = waiting[-1]
        if here in known:
            waiting.pop()
            continue
        found = step(here)
        if isinstance(found, int):
            known[here] = found
            waiting.pop()
        else:
            waiting.extend(found)
    return known[key]


class Nodes:
    """The nodes of diagrams over the same events, each once."""

    def __init__(self) -> None:
        #: (event, low, high) by number; the ends ask no event.
        self.rows: list[tuple[int, int, int]] = [(-1, 0, 0), (-1, 1, 1)]
        self._numbers: dict[tuple[int, int, int], int] = {}

    def node(self, event: int, low: int, high: int) -> int:
        """The number of a node, made if it is new."""
        row = (event, low, high)
        found = self._numbers.get(row)
        if found is None:
            found = len(self.rows)
            self.rows.append(row)
            self._numbers[row] = found
        return found

    def below(self, *tops: int) -> list[int]:
        """The nodes of these diagrams without the ends, every node after its children."""
        seen: set[int] = set()
        waiting = list(tops)
        while waiting:
            number = waiting.pop()
            if number > SURE and number not in seen:
                seen.add(number)
                waiting += self.rows[number][1:]
        return sorted(seen)


class Functions(Nodes):
    """Functions that never turn off by an event's happening: built with AND, OR and votes alone."""

    def __init__(self) -> None:
        super().__init__()
        self._or: dict[tuple[int, int], int] = {}
        self._and: dict[tuple[int, int], int] = {}

    def choice(self, event: int, low: int, high: int) -> int:
        """The function that is `high` if the event happens, else `low`."""
        return low if low == high else self.node(event, low, high)

    def event(self, event: int) -> int:
        """The function that is on if the event happens."""
        return self.node(event, NEVER, SURE)

    def either(self, one: int, other: int) -> int:
        """On if one of the two is."""

        def step(pair: tuple[int, int]) -> int | Sequence[tuple[int, int]]:
            low, high = pair  # in order of their numbers
            if low in (NEVER, high):
                return high
            if low == SURE:
                return SURE
            return self._split(pair, self._or)

        return worked_out(_ordered(one, other), self._or, step)

    def both(self, one: int, other: int) -> int:
        """On if both are."""

        def step(pair: tuple[int, int]) -> int | Sequence[tuple[int, int]]:
            low, high = pair
            if low == NEVER:
                return NEVER
            if low in (SURE, high):
                return high
            return self._split(pair, self._and)

        return worked_out(_ordered(one, other), self._and, step)

    def _split(
        self, pair: tuple[int, int], known: dict[tuple[int, int], int]
    ) -> int | Sequence[tuple[int, int]]:
        one, other = (self.rows[each] for each in pair)
        event = min(one[0], other[0])
        low_one, high_one = one[1:] if one[0] == event else (pair[0], pair[0])
        low_other, high_other = other[1:] if other[0] == event else (pair[1], pair[1])
        needs = (_ordered(low_one, low_other), _ordered(high_one, high_other))
        low, high = known.get(needs[0]), known.get(needs[1])
        if low is None or high is None:
            return needs
        return self.choice(event, low, high)

    def any_of(self, functions: Iterable[int]) -> int:
        """On if one of them is; never if there is none."""
        found = NEVER
        for each in functions:
            found = self.either(found, each)
        return found

    def at_least(self, need: int, functions: Iterable[int]) -> int:
        """On if `need` (from 1) of them are."""
        counted = [SURE] + [NEVER] * need
        for each in functions:
            for count in range(need, 0, -1):
                counted[count] = self.either(counted[count], self.both(each, counted[count - 1]))
        return counted[need]


def _ordered(one: int, other: int) -> tuple[int, int]:
    return (one, other) if one <= other else (other, one)
