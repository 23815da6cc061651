"""What a debrief holds: one drive, its legs, and what was noticed on each; all frozen.

A leg that is there was driven. One without an impression was driven and nothing was noticed on it; a leg
that was not driven is not there at all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.debrief.route import ROUTE, Kind
from diagnose.debrief.scale import answer

__all__ = [
    "LONGEST",
    "PRESSURES",
    "REFERENCES",
    "ROADS",
    "SIDES",
    "Drive",
    "Impression",
    "Leg",
    "leg_of",
    "neat",
    "speed_words",
]

PRESSURES = ("unknown", "set", "not-set")
ROADS = ("unknown", "dry", "damp", "wet")
SIDES = ("left", "right")

#: What the driver had to compare with, and in words.
REFERENCES = {
    "none": "nothing to compare with",
    "same-car-before": "the same car before",
    "good-car": "a car known to be good",
}

#: The most characters of any text of a debrief.
LONGEST = 200


@dataclass(frozen=True, slots=True)
class Impression:
    """One thing that was noticed on a leg.

    words: the driver's own. complaint: id of the complaint they were taken for, or None. rating: 1 to 10 in
    halves, 10 imperceptible; None: not rated. felt: one of the words of an answer, where it was told beside
    or instead of a rating; "": as the rating says, and `yes` without one. began: where on the road, or at
    what speed, it began.
    """

    words: str = ""
    complaint: str | None = None
    side: str | None = None
    rating: float | None = None
    felt: str = ""
    began: str = ""

    def answer(self, control: bool = False) -> str:
        """How surely it was felt; `control`: the complaint is one of how the car answers."""
        if self.felt:
            return self.felt
        return "yes" if self.rating is None else answer(self.rating, control)


@dataclass(frozen=True, slots=True)
class Leg:
    """One leg as it was driven: the id of its kind, surface, speeds from low to high (km/h), manoeuvre."""

    kind: str
    surface: str
    low: float
    high: float
    manoeuvre: str
    noticed: tuple[Impression, ...] = ()

    @property
    def what(self) -> Kind:
        """The kind of leg it is."""
        return ROUTE[self.kind]

    @property
    def usual(self) -> Leg:
        """The same leg as it is driven if nothing else is told, with nothing noticed."""
        return leg_of(self.kind)


@dataclass(frozen=True, slots=True)
class Drive:
    """One drive.

    car, when, who, load, weather: as they were told; "" where they were not. km: what the car had run at the
    start. pressures, road: one of PRESSURES, ROADS. reference: one of REFERENCES.
    """

    car: str = ""
    when: str = ""
    who: str = ""
    km: float | None = None
    pressures: str = "unknown"
    load: str = ""
    weather: str = ""
    road: str = "unknown"
    reference: str = "none"
    legs: tuple[Leg, ...] = ()

    @property
    def kinds(self) -> frozenset[str]:
        """The kinds of leg that were driven."""
        return frozenset(leg.kind for leg in self.legs)

    def impressions(self) -> Iterator[tuple[Leg, Impression]]:
        """Everything that was noticed, each with its leg."""
        for leg in self.legs:
            for impression in leg.noticed:
                yield leg, impression


def leg_of(kind: str, noticed: tuple[Impression, ...] = ()) -> Leg:
    """A leg of this kind as it is usually driven."""
    usual = ROUTE[kind]
    return Leg(kind, usual.surface, usual.low, usual.high, usual.manoeuvre, noticed)


def speed_words(low: float, high: float) -> str:
    """`60-90 km/h`, or `80 km/h`."""
    return f"{low:g} km/h" if low == high else f"{low:g}-{high:g} km/h"


def neat(text: str) -> str:
    """A text as a debrief keeps it: on one line, without control characters, no longer than LONGEST."""
    plain = "".join(letter if letter.isprintable() else " " for letter in text)
    return " ".join(plain.split())[:LONGEST].strip()
