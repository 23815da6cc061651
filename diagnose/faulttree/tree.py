"""One complaint's tree of one car: what it takes to raise it, and which event weighs how much.

`FaultTree` holds the tree as a function of its events. Every probability is that of this car before any
answer; the top's is P(complaint) of the belief.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.belief.network import Network
from diagnose.faulttree.chances import Chances, Setting
from diagnose.faulttree.cutsets import Families
from diagnose.faulttree.diagram import Functions
from diagnose.faulttree.events import Event, events_of, function_of

__all__ = ["MOST_LISTED", "CutSet", "FaultTree", "Importance"]

#: With more cut sets than this the min-cut bound, which needs each of them, is not worked out.
MOST_LISTED = 1_000_000


@dataclass(frozen=True, slots=True)
class CutSet:
    """A minimal cut set: indices of its events, causes and leaks first, then links.

    order: how many causes and leaks are in it. chance: P(all its events happen). share: that over P(top),
    the probability that all of it is there once the top is.
    """

    events: tuple[int, ...]
    order: int
    chance: float
    share: float


@dataclass(frozen=True, slots=True)
class Importance:
    """How much one event weighs. Q: P(top); Q1 and Q0: with the event made certain, made impossible.

    birnbaum: Q1 - Q0, the probability that the event decides. criticality: (Q - Q0) / Q, the part of Q
    that goes with the event. fussell_vesely: P(a minimal cut set with the event in it happens) / Q.
    achievement: Q1 / Q (risk achievement worth). reduction: Q / Q0 (risk reduction worth), None where
    nothing else raises the top. given_top: P(event | top). cut_sets: how many contain it.
    """

    event: int
    birnbaum: float
    criticality: float
    fussell_vesely: float
    achievement: float
    reduction: float | None
    given_top: float
    cut_sets: int


class FaultTree:
    """The tree under one gate of a network.

    Raises KeyError if there is no such gate (nothing on this car can raise it), ValueError if it is no
    fault tree.
    """

    def __init__(self, network: Network, top: str) -> None:
        self.network = network
        self.top = top
        events, pairs = events_of(network, top)
        self.events: tuple[Event, ...] = events
        self.chances = Chances(events, pairs)
        self._functions = Functions()
        self._function = function_of(
            network, top, self._functions, {event.key: number for number, event in enumerate(events)}
        )
        self._families = Families()

    @property
    def size(self) -> int:
        """Nodes of the diagram: what time and memory grow with."""
        return len(self._functions.below(self._function))

    @cached_property
    def faults(self) -> frozenset[int]:
        """Indices of the causes and leaks: what counts for the order of a cut set."""
        return frozenset(number for number, event in enumerate(self.events) if event.kind != "link")

    @cached_property
    def chance(self) -> float:
        """P(top), exact."""
        return float(self.chances.of(self._functions, self._function)[0])

    @cached_property
    def _cut_sets(self) -> int:
        return self._families.minimal(self._functions, self._function)

    @cached_property
    def counts(self) -> Mapping[int, int]:
        """Order -> how many minimal cut sets have it."""
        return self._families.counts(self._cut_sets, self.faults)

    def cut_sets(self, most: int = 10, order: int | None = None) -> list[CutSet]:
        """The likeliest minimal cut sets, at most `most`, and at most of that order."""
        family = self._cut_sets
        if order is not None:
            family = self._families.up_to(family, order, self.faults)
        found = []
        for chance, events in self._families.likeliest(family, self.chances, most):
            ordered = sorted(events, key=lambda number: (number not in self.faults, number))
            many = sum(1 for number in events if number in self.faults)
            found.append(CutSet(tuple(ordered), many, chance, chance / self.chance))
        return found

    @cached_property
    def bounds(self) -> tuple[float, float] | None:
        """(min-cut bound, rare-event sum) of P(top), or None with more cut sets than MOST_LISTED.

        1 - product of (1 - P(cut set)), and the sum of P(cut set). exact <= bound <= sum, if no two mates
        shun each other (an odds ratio below 1): then the first is no bound.
        Source: J. D. Esary, F. Proschan, Coherent structures of non-identical components, Technometrics 5
        (1963) 191-209.
        """
        if sum(self.counts.values()) > MOST_LISTED:
            return None
        each = np.array([self.chances.all_of(events) for events in self._families.sets(self._cut_sets)])
        certain = bool((each >= 1.0).any())
        return 1.0 if certain else float(-np.expm1(np.log1p(-each).sum())), float(each.sum())

    @property
    def bounded(self) -> bool:
        """True if the min-cut bound is one: no two mates shun each other."""
        return all(
            pair.table[1][1] * pair.table[0][0] >= pair.table[1][0] * pair.table[0][1] * (1.0 - 1e-12)
            for pair in self.chances.pairs
        )

    @cached_property
    def importance(self) -> tuple[Importance, ...]:
        """Of every event, by Fussell-Vesely, then by P(event | top), the most important first."""
        numbers = range(len(self.events))
        settings = [
            setting
            for number in numbers
            for setting in (
                Setting(number, True),
                Setting(number, False),
                Setting(number, True, observed=True),
            )
        ]
        worth = self.chances.of(self._functions, self._function, settings).reshape(-1, 3)
        top = self.chance
        found = []
        for number in numbers:
            one, zero, seen = (float(each) for each in worth[number])
            family = self._families.containing(self._cut_sets, number)
            union = self._families.function(self._functions, family)
            some = float(self.chances.of(self._functions, union)[0])
            found.append(
                Importance(
                    number,
                    one - zero,
                    (top - zero) / top,
                    some / top,
                    one / top,
                    top / zero if zero > 0.0 else None,
                    self.chances.chance[number] * seen / top,
                    sum(self._families.counts(family, ()).values()),
                )
            )
        # Rounded, so that mates who are alike do not change places by the last bit.
        return tuple(
            sorted(
                found,
                key=lambda each: (
                    -round(each.fussell_vesely, 12),
                    -round(each.given_top, 12),
                    self.events[each.event].key,
                ),
            )
        )
