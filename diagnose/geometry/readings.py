"""Readings that are judged left against right or highest against lowest: testers, brakes, dials, micrometers.

No limit is built in: bands and limits are handed in, from `limits` or from the maker.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.errors import InputError
from diagnose.geometry.ranges import between

__all__ = [
    "BANDS_OF_A_LABORATORY",
    "BANDS_OF_DAMPER_MAKERS",
    "Band",
    "Bands",
    "Harmonic",
    "band_of",
    "difference_in_points",
    "eccentricity",
    "first_harmonic",
    "imbalance",
    "temperature_split",
    "thickness_variation",
    "total_runout",
]


@dataclass(frozen=True, slots=True)
class Band:
    """From `low` percent on, or above it if `low` itself is not in, a reading is called `name`."""

    low: float
    name: str
    itself: bool = True


@dataclass(frozen=True, slots=True)
class Bands:
    """Bands from the highest down, the last from 0 on, and where they come from."""

    source: str
    rows: tuple[Band, ...]

    def __post_init__(self) -> None:
        starts = [(row.low, not row.itself) for row in self.rows]
        if starts != sorted(set(starts), reverse=True) or starts[-1:] != [(0.0, False)]:
            raise InputError("bands go from the highest down and end with one from 0 on: put them in order")


#: Least adhesion of a suspension tester. Two of several readings in use; a directive prints none.
BANDS_OF_DAMPER_MAKERS = Bands(
    "EUSAMA recommendation TS-02-76, from memory",
    (
        Band(60.0, "excellent", itself=False),
        Band(40.0, "good", itself=False),
        Band(20.0, "weak", itself=False),
        Band(0.0, "poor", itself=False),
        Band(0.0, "no contact"),
    ),
)
BANDS_OF_A_LABORATORY = Bands(
    "a university's laboratory sheet, seen; of low authority",
    (Band(60.0, "good"), Band(20.0, "acceptable"), Band(0.0, "below standard")),
)


def band_of(percent: float, bands: Bands) -> str:
    """What a reading (0 to 100 percent) is called in these bands; say their source with it."""
    between(percent, 0.0, 100.0, "the reading", "percent")
    return next(row.name for row in bands.rows if percent > row.low or (row.itself and percent == row.low))


def _two(left: float, right: float, what: str) -> None:
    """Both readings of an axle: 0 or more, and not both 0."""
    for each in (left, right):
        between(each, 0.0, 1e9, what)
    if left == right == 0.0:
        raise InputError(f"{what} is 0 on both sides: nothing to compare, so measure again")


def imbalance(left: float, right: float) -> float:
    """How much less the weaker side has, in percent of the stronger one: 0 alike, 100 nothing on one side.

    Of brake forces on one axle, or of adhesion: any unit, both alike. Source: as inspection manuals take it;
    Directive 2014/45/EU 1.2.1 (from memory) says it as the weaker being below 70 % of the other, which is 30.
    """
    _two(left, right, "the reading of a side")
    return 100.0 * (abs(left - right) / max(left, right))


def difference_in_points(left: float, right: float) -> float:
    """Difference of two percentages in points, as some testers print it; 60 and 45 are 15 points apart.

    `imbalance` calls the same 25 percent: look at which one a limit means.
    """
    between(left, 0.0, 100.0, "the left reading", "percent")
    return abs(left - between(right, 0.0, 100.0, "the right reading", "percent"))


def temperature_split(left: float, right: float) -> float:
    """How much warmer (K) the left of an axle's two brakes is than the right one; negative: the right.

    Left less right (workshop convention). Either -60 to 1000 degrees C. The air's own warmth drops out.
    """
    between(left, -60.0, 1000.0, "the left temperature", "°C")
    return left - between(right, -60.0, 1000.0, "the right temperature", "°C")


def _dial(readings: Sequence[float], least: int, what: str) -> None:
    """Readings of a dial or micrometer: enough of them, each within 0.2 m."""
    if not least <= len(readings) <= 1000:
        raise InputError(f"{what} needs at least {least} readings around the turn: take more")
    for each in readings:
        between(each, -0.2, 0.2, f"a reading of {what}", "mm", 1000.0)


def total_runout(readings: Sequence[float]) -> float:
    """Total indicated runout (m), radial or lateral: highest less lowest reading of the dial in one turn.

    At least 3 readings (m, of either sign: where the dial was set to 0 does not matter).
    Source: definition, as in 49 CFR 570.10(b).
    """
    _dial(readings, 3, "runout")
    return max(readings) - min(readings)


def eccentricity(runout: float) -> float:
    """How far (m) a round thing sits off its centre: half its total radial runout (0 to 0.2 m)."""
    return between(runout, 0.0, 0.2, "runout", "mm", 1000.0) / 2.0


def thickness_variation(readings: Sequence[float]) -> float:
    """Thickness variation (m) of a disc: thickest less thinnest place, at one radius; at least 3 places.

    Eight are usual (common practice). Source: definition.
    """
    _dial(readings, 3, "thickness")
    if min(readings) <= 0.0:
        raise InputError("a thickness must be above 0: give what the micrometer shows")
    return max(readings) - min(readings)


@dataclass(frozen=True, slots=True)
class Harmonic:
    """The once-a-turn part of runout: total (m), and where it is highest (rad from the first reading)."""

    total: float
    high_spot: float


def first_harmonic(readings: Sequence[float]) -> Harmonic:
    """The once-a-turn part of runout, from at least 3 readings (m) evenly spaced around one turn.

    A tyre is turned on its rim by this, and not by a bump. Source: discrete Fourier series, textbook.
    """
    _dial(readings, 3, "runout")
    count = len(readings)
    turned = sum(each * cmath.exp(2j * math.pi * n / count) for n, each in enumerate(readings))
    return Harmonic(4.0 * abs(turned) / count, cmath.phase(turned) % (2.0 * math.pi))
