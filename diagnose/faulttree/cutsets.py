"""Families of sets of events: the minimal cut sets of a tree, counted, cut off and listed by probability.

A cut set is a set of events that together raise the top; it is minimal if none of it can be left out.
A family is a diagram read as sets (see `diagram`).

Source of `minimal`: A. Rauzy, New algorithms for fault trees analysis, Reliability Engineering and System
Safety 40 (1993) 203-211, sections 4 and 5: of a function that no event turns off, the minimal sets with
an event are those of the high branch that no set of the low branch is part of.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Iterator, Sequence
from itertools import islice

from diagnose.faulttree.chances import Chances
from diagnose.faulttree.diagram import NEVER, SURE, Functions, Nodes, worked_out

__all__ = ["Families"]

Set = tuple[int, ...]


class Families(Nodes):
    """Families of sets of events, no set of which is part of another."""

    def __init__(self) -> None:
        super().__init__()
        self._without: dict[tuple[int, int], int] = {}

    def family(self, event: int, low: int, high: int) -> int:
        """The sets of `low`, and those of `high` with the event."""
        return low if high == NEVER else self.node(event, low, high)

    def minimal(self, functions: Functions, top: int) -> int:
        """The minimal cut sets of a function."""
        done = {NEVER: NEVER, SURE: SURE}
        for number in functions.below(top):
            event, low, high = functions.rows[number]
            done[number] = self.family(event, done[low], self.without(done[high], done[low]))
        return done[top]

    def without(self, family: int, other: int) -> int:
        """The sets of a family of which no set of the other is part."""

        def step(pair: tuple[int, int]) -> int | Sequence[tuple[int, int]]:
            one, two = pair
            if one in (NEVER, two) or two == SURE:
                return NEVER
            if two == NEVER or one == SURE:
                return one
            event, low, high = self.rows[one]
            event_two, low_two, high_two = self.rows[two]
            if event_two < event:
                return self._all((one, low_two))
            if event < event_two:
                return self._node(event, (low, two), (high, two))
            first = self._without.get((high, high_two))
            if first is None:
                return [(high, high_two)]
            return self._node(event, (low, low_two), (first, low_two))

        return worked_out((family, other), self._without, step)

    def _all(self, pair: tuple[int, int]) -> int | Sequence[tuple[int, int]]:
        found = self._without.get(pair)
        return [pair] if found is None else found

    def _node(
        self, event: int, low: tuple[int, int], high: tuple[int, int]
    ) -> int | Sequence[tuple[int, int]]:
        below, above = self._without.get(low), self._without.get(high)
        if below is None or above is None:
            return (low, high)
        return self.family(event, below, above)

    def up_to(self, family: int, most: int, counted: Collection[int]) -> int:
        """The sets with at most `most` of the events `counted`."""
        done: dict[tuple[int, int], int] = {}

        def step(key: tuple[int, int]) -> int | Sequence[tuple[int, int]]:
            number, left = key
            if number <= SURE:
                return number
            event, low, high = self.rows[number]
            rest = left - 1 if event in counted else left
            needs = [(low, left)] if rest < 0 else [(low, left), (high, rest)]
            if any(each not in done for each in needs):
                return needs
            return self.family(event, done[low, left], NEVER if rest < 0 else done[high, rest])

        return worked_out((family, most), done, step)

    def containing(self, family: int, event: int) -> int:
        """The sets that contain the event."""
        done = {NEVER: NEVER, SURE: NEVER}
        for number in self.below(family):
            asked, low, high = self.rows[number]
            if asked == event:
                done[number] = self.family(event, NEVER, high)
            elif asked > event:
                done[number] = NEVER
            else:
                done[number] = self.family(asked, done[low], done[high])
        return done[family]

    def function(self, functions: Functions, family: int) -> int:
        """The function that is on if all events of one of the sets happen."""
        done = {NEVER: NEVER, SURE: SURE}
        for number in self.below(family):
            event, low, high = self.rows[number]
            if low == NEVER:
                done[number] = functions.node(event, NEVER, done[high])
            else:
                done[number] = functions.choice(event, done[low], functions.either(done[low], done[high]))
        return done[family]

    def counts(self, family: int, counted: Collection[int]) -> dict[int, int]:
        """How many of the events `counted` are in a set -> how many sets have so many."""
        done: dict[int, dict[int, int]] = {NEVER: {}, SURE: {0: 1}}
        for number in self.below(family):
            event, low, high = self.rows[number]
            found = dict(done[low])
            more = 1 if event in counted else 0
            for size, many in done[high].items():
                found[size + more] = found.get(size + more, 0) + many
            done[number] = found
        return dict(sorted(done[family].items()))

    def sets(self, family: int) -> Iterator[Set]:
        """Every set, its events in order."""
        waiting: list[tuple[int, Set]] = [(family, ())]
        while waiting:
            number, events = waiting.pop()
            if number == SURE:
                yield events
            elif number != NEVER:
                event, low, high = self.rows[number]
                waiting += [(low, events), (high, (*events, event))]

    def likeliest(self, family: int, chances: Chances, most: int) -> list[tuple[float, Set]]:
        """The `most` likeliest sets and P(all their events happen), the likeliest first, ties in order.

        Without listing them all: of every node the best are put together from those of its children.
        The second of two mates weighs by whether the first is in the set.
        """
        Best = list[tuple[float, Set]]  # minus the probability, so that tuples sort as wanted
        plain: dict[int, Best] = {NEVER: [], SURE: [(-1.0, ())]}
        mated: dict[int, Best] = {}

        def merged(event: int, low: Best, high: Best, chance: float) -> Best:
            raised = [(weight * chance, (event, *events)) for weight, events in high]
            return list(islice(heapq.merge(low, sorted(raised)), most))

        for number in self.below(family):
            event, low, high = self.rows[number]
            pair = chances.first.get(event)
            above = plain[high]
            if pair is not None and self.rows[high][0] == pair.second:
                above = mated[high]
            plain[number] = merged(event, plain[low], above, chances.chance[event])
            pair = chances.second.get(event)
            if pair is not None:
                given = pair.table[1][1] / (pair.table[1][0] + pair.table[1][1])
                mated[number] = merged(event, plain[low], plain[high], given)
        return [(-weight, events) for weight, events in plain[family]]
