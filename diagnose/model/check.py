"""What can be looked at: a check, the set-up it needs, and the findings it gives."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from diagnose.errors import NOWHERE, Place
from diagnose.model.part import Fits

__all__ = [
    "BENCH",
    "CANNOT_TELL",
    "CERTAIN",
    "REPEATABILITY_OF_SPREAD",
    "TALK",
    "Check",
    "Finding",
    "Limit",
    "Link",
    "Reading",
    "SetUp",
    "beyond",
]


#: The repeatability limit in standard deviations of one reading: 1.96 times the root of 2.
REPEATABILITY_OF_SPREAD = 1.96 * math.sqrt(2.0)

#: A band that takes this much of the spread takes all of it.
CERTAIN = 0.999

#: The set-up of a part that was taken off.
BENCH = "bench"

#: The set-up in which a job begins: nothing is done to the car while the driver is asked.
TALK = "talk"


@dataclass(frozen=True, slots=True)
class SetUp:
    """A state of the car in which checks are done; minutes to enter it from `talk`, and to leave it.

    driven: the car is driven in it, so it is out of the question for a car not fit to drive.
    """

    id: str
    name: str
    enter: float
    leave: float
    source: tuple[str, ...] = ()
    driven: bool = False
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Link:
    """What a finding points to: a fault or a mechanism.

    detection: for each level of the finding, P(this level | this target alone present); each in
    (0, 1), together below 1. A yes/no finding has one level.
    """

    target: str
    kind: str  # "fault" or "mechanism"
    detection: tuple[float, ...]
    place: Place = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Limit:
    """A threshold of a reading; `name` is the band at and beyond it."""

    value: float
    name: str
    source: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """A number with a unit whose size decides the level of a finding.

    limits: one for each level, rising for `over`, falling for `under`; a reading beyond none of
    them is level 0. `below` names that first band. repeatability: in the same unit, the difference that
    two readings of the same thing stay within 95 times in 100 (the repeatability limit of ISO 5725-1);
    0 where a number is counted and repeats.
    """

    quantity: str
    unit: str
    limits: tuple[Limit, ...]
    below: str = "inside all limits"
    direction: str = "over"  # or "under"
    repeatability: float = 0.0

    def level(self, value: float) -> int:
        """Level in 0..len(limits) of a reading in this reading's own unit."""
        level = 0
        for index, limit in enumerate(self.limits, start=1):
            beyond = value >= limit.value if self.direction == "over" else value <= limit.value
            if beyond:
                level = index
        return level

    def likelihoods(self, value: float) -> tuple[float, ...]:
        """P(such a reading | the true value is in this band), for each of levels 0..len(limits), up to a
        common factor: the part of a normal spread about the reading that each band takes.

        The spread is the repeatability limit over 1.96 times the root of 2 (ISO 5725-6: a difference of
        two readings has twice the variance of one). Far from every limit the band is sure.
        """
        spread = self.repeatability / REPEATABILITY_OF_SPREAD
        if spread <= 0.0:
            return self._sure(value)
        sign = 1.0 if self.direction == "over" else -1.0
        past = [1.0, *(beyond(sign * (value - limit.value) / spread) for limit in self.limits), 0.0]
        parts = tuple(max(one - other, 0.0) for one, other in pairwise(past))
        return parts if max(parts) < CERTAIN else self._sure(value)

    def _sure(self, value: float) -> tuple[float, ...]:
        level = self.level(value)
        return tuple(1.0 if state == level else 0.0 for state in range(len(self.limits) + 1))


def beyond(z: float) -> float:
    """P(a normal spread lies past a limit that it is z spreads beyond)."""
    return 0.5 * math.erfc(-z / math.sqrt(2.0))


#: What stands for the state below the first level of a finding of which one level always holds.
CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing seen while doing a check: yes/no, graded, or a reading.

    levels: names of the levels above "nothing seen", weakest first; ("yes",) for a yes/no finding.
    false_alarm: for each level, P(this level | none of the targets present).
    none: the state below the first level; `CANNOT_TELL` where one of the levels always holds.
    of_complaint: it says how the complaint itself behaves (what takes it away, what goes with it), so
    that only what can be behind the complaint has a part in it; what the driver tells always does.
    With `repeats` (a complaint or another finding) it observes that event again instead of having
    links: hit = P(seen | event), false_alarm[0] = P(seen | no event).
    """

    id: str
    check: str
    name: str
    levels: tuple[str, ...]
    false_alarm: tuple[float, ...]
    links: tuple[Link, ...] = ()
    where: str = ""
    none: str = "not seen"
    reading: Reading | None = None
    repeats: str = ""
    hit: float = 0.0
    unfit: str = ""
    of_complaint: bool = False
    source: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)

    @property
    def always(self) -> bool:
        """One of the levels always holds: who knows of none cannot tell, and that says nothing."""
        return self.none == CANNOT_TELL

    @property
    def unseen(self) -> str:
        """The answer of who saw no level of it."""
        return "cannot-tell" if self.always else "no"


@dataclass(frozen=True, slots=True)
class Check:
    """An act that costs minutes, needs a set-up and tools, and gives findings (ids, in order).

    first: what it sets right would spoil the checks that come after it, such as tyre pressures.
    only_for: complaints for which alone it makes sense (ids); empty: for any.
    """

    id: str
    name: str
    set_up: str
    minutes: float
    how: str
    findings: tuple[str, ...]
    needs: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    fits: Fits = field(default_factory=dict)
    source: tuple[str, ...] = ()
    first: bool = False
    only_for: tuple[str, ...] = ()
    place: Place = field(default=NOWHERE, compare=False, repr=False)


#: (from set-up, to set-up) -> minutes, for every pair.
Changes = Mapping[tuple[str, str], float]
