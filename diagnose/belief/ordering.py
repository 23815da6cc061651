"""In which order the events of a table are closed, so that the table stays small.

An event opens when the first cause that pushes it is folded in, and stays open until all of them are; the
states of the open events make the table. The best order is hard to find: it gives the pathwidth of a graph
(S. Arnborg, D. G. Corneil, A. Proskurowski, Complexity of finding embeddings in a k-tree, SIAM J. Alg. Disc.
Meth. 8, 1987). So first the next event is always the one that needs the smallest table; where that becomes
wide, many orders are followed side by side, and the ones that have cost least so far are kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from heapq import nsmallest
from typing import NamedTuple

__all__ = ["Events", "closing_order"]

#: (states of the widest table, orders): where the table is wider than that, so many orders are followed side
#: by side. What it takes to find an order must not be more than the narrower table saves.
SIDE_BY_SIDE = ((256, 12), (8192, 48))


@dataclass(frozen=True, eq=False)
class Events:
    """Events, each a bit. sizes: states of each. pushed: for each event the sets of events (masks) that
    blocks of causes push which push it too. above, below: for each event the events that it feeds, and those
    that feed it and so must be closed before it.
    """

    sizes: Sequence[int]
    pushed: Sequence[Sequence[int]]
    above: Sequence[int]
    below: Sequence[int]


def closing_order(events: Events) -> tuple[int, ...]:
    """Numbers of all the events in the order in which to close them."""
    search = _Search(events)
    best = search.next_smallest()
    for states, orders in SIDE_BY_SIDE:
        if best.widest <= states:
            break
        best = min(best, search.side_by_side(orders), key=lambda each: each.cost)
    return best.order


class _Way(NamedTuple):
    """Some events closed. opened: mask. cost: passes over states so far. widest: states of the widest
    table."""

    order: tuple[int, ...]
    opened: int
    cost: int
    widest: int


class _Search:
    def __init__(self, events: Events) -> None:
        self.events = events
        self.count = len(events.sizes)
        # Many blocks push just the same.
        self._pushed = [tuple(Counter(masks).items()) for masks in events.pushed]
        self._states: dict[int, int] = {}

    def next_smallest(self) -> _Way:
        """Always the event next that needs the smallest table; of equals, one that leaves the smallest."""
        way, closed = _Way((), 0, 0, 1), 0
        while len(way.order) < self.count:
            best = None
            for event in self._free(closed):
                needed, waiting = self._needed(event, closed, way.opened)
                score = (self.states(needed), self.states(needed & ~(1 << event)), waiting, event)
                if best is None or score < best[0]:
                    best = score, needed
            assert best is not None
            (_, _, waiting, event), needed = best
            way = self._closed(self._cost(way, needed, waiting), way, event, needed)
            closed |= 1 << event
        return way

    def side_by_side(self, orders: int) -> _Way:
        """The cheapest of so many orders; of those that have closed the same events only the cheapest goes
        on."""
        ways = {0: _Way((), 0, 0, 1)}
        for _ in range(self.count):
            #: Events closed -> the cheapest way there: its cost, the way before it, the event, what it needs.
            found: dict[int, tuple[int, _Way, int, int]] = {}
            for closed, way in ways.items():
                for event, needed, waiting in self._next(closed, way.opened):
                    then, cost = closed | 1 << event, self._cost(way, needed, waiting)
                    if then not in found or cost < found[then][0]:
                        found[then] = cost, way, event, needed
            best = nsmallest(orders, found, key=lambda closed: (found[closed][0], closed))
            ways = {closed: self._closed(*found[closed]) for closed in best}
        return next(iter(ways.values()))

    def states(self, mask: int) -> int:
        """States of a table over these events."""
        states = self._states.get(mask)
        if states is None:
            states, rest = 1, mask
            while rest:
                low = rest & -rest
                states *= self.events.sizes[low.bit_length() - 1]
                rest ^= low
            self._states[mask] = states
        return states

    def _next(self, closed: int, opened: int) -> list[tuple[int, int, int]]:
        """Events that may be closed next, each with the events open then and the blocks folded for it."""
        found = []
        for event in self._free(closed):
            needed, waiting = self._needed(event, closed, opened)
            if needed == opened:
                # Nothing is opened for it, so that to close it now can only make the table smaller.
                return [(event, needed, waiting)]
            found.append((event, needed, waiting))
        return found

    def _free(self, closed: int) -> list[int]:
        below = self.events.below
        return [n for n in range(self.count) if not closed >> n & 1 and not below[n] & ~closed]

    def _needed(self, event: int, closed: int, opened: int) -> tuple[int, int]:
        """What is open when this event is closed next, and how many blocks are folded for that."""
        needed, waiting = opened | 1 << event | self.events.above[event], 0
        for mask, blocks in self._pushed[event]:
            # A block is folded in when the first of its events is closed.
            if not mask & closed:
                needed |= mask
                waiting += blocks
        return needed, waiting

    def _cost(self, way: _Way, needed: int, waiting: int) -> int:
        """What the way has cost once one more event is closed, for which this is open and folded."""
        return way.cost + self.states(needed) * (1 + waiting)

    def _closed(self, cost: int, way: _Way, event: int, needed: int) -> _Way:
        widest = max(way.widest, self.states(needed))
        return _Way((*way.order, event), needed & ~(1 << event), cost, widest)
