"""By how much two ratings of an unchanged car differ, and how often they differ as much as two did.

A normal model: each cause of scatter adds its variance to that of the difference of two ratings. All its
figures are estimates, in points of the ten-point scale; docs/debrief.md gives the reasons for each.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.debrief.drive import Drive

__all__ = [
    "CLEAR",
    "PERHAPS",
    "REPEAT",
    "Scatter",
    "as_often",
    "scatter_of",
    "verdict",
]

#: Standard deviation of one rating about the same driver's usual one, on the same car and road.
REPEAT = 0.5

#: What else there may be, as standard deviations: of the difference, or of one drive.
OTHER_DRIVER = 1.0
DRIVER_UNKNOWN = 0.7
PRESSURES_OPEN = 0.5
ROAD = {"dry": 0.0, "unknown": 0.3, "damp": 0.3, "wet": 0.5}
NO_REFERENCE = 0.3
OTHER_LOAD = 0.3
LEG_OTHERWISE = 0.5
OTHER_CAR = 0.7

#: Of pairs of drives of an unchanged car: a difference that so few show is more than scatter, or perhaps.
CLEAR, PERHAPS = 0.05, 0.20

#: Half of the step in which ratings are given: a difference of one point was between 0.75 and 1.25.
HALF_STEP = 0.25


@dataclass(frozen=True, slots=True)
class Scatter:
    """Why two ratings differ though the car is unchanged: (why, standard deviation of the difference)."""

    parts: tuple[tuple[str, float], ...]

    @property
    def deviation(self) -> float:
        """Standard deviation of the difference, in points."""
        return math.sqrt(math.fsum(part * part for _, part in self.parts))

    def more(self, why: str, *deviations: float) -> Scatter:
        """The same with one more cause, of so much on each drive; nothing is added for 0."""
        added = math.hypot(*deviations)
        return Scatter((*self.parts, (why, added))) if added > 0.0 else self


def scatter_of(before: Drive, after: Drive, otherwise: bool = False, other_car: bool = False) -> Scatter:
    """The scatter between the ratings of two drives.

    otherwise: the legs that are compared were not driven alike. other_car: one drive is of another car.
    """
    found = Scatter((("the same driver again", math.hypot(REPEAT, REPEAT)),))
    who = {_words(before.who), _words(after.who)}
    if "" in who:
        found = found.more("it is not told who drove", DRIVER_UNKNOWN)
    elif len(who) == 2:
        found = found.more("another driver", OTHER_DRIVER)
    both = (before, after)
    open_ = [0.0 if drive.pressures == "set" else PRESSURES_OPEN for drive in both]
    found = found.more("tyre pressures not set, or not known", *open_)
    found = found.more("the road damp, wet or not told", *(ROAD[drive.road] for drive in both))
    bare = [NO_REFERENCE if drive.reference == "none" else 0.0 for drive in both]
    found = found.more("rated without a reference", *bare)
    if not before.load or _words(before.load) != _words(after.load):
        found = found.more("another load, or not told", OTHER_LOAD)
    if otherwise:
        found = found.more("a leg driven otherwise", LEG_OTHERWISE)
    if other_car:
        found = found.more("another car", OTHER_CAR)
    return found


def as_often(difference: float, deviation: float) -> float:
    """The share of pairs of drives of an unchanged car whose ratings differ at least so much, either way.

    difference: in points, of ratings in halves. deviation: of the difference, above 0.
    """
    beyond = max(abs(difference) - HALF_STEP, 0.0)
    return math.erfc(beyond / (deviation * math.sqrt(2.0)))


def verdict(share: float) -> str:
    """`clear`, `perhaps` or `scatter`: whether a difference that so many would show is more than scatter."""
    return "clear" if share <= CLEAR else "perhaps" if share <= PERHAPS else "scatter"


def _words(text: str) -> str:
    return " ".join(text.lower().split())
