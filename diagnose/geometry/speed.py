"""How fast the car really goes, given what was read: bounds, not a guess."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.errors import InputError
from diagnose.geometry.ranges import between

__all__ = ["KMH", "Speed", "by_speedometer", "measured"]

#: One kilometre an hour in metres a second.
KMH = 1.0 / 3.6

#: What a speedometer may show too much: a tenth and 4 km/h. Source: UN R39, 5.4 (figures from memory).
OVER_SHARE, OVER_MORE = 0.10, 4.0 * KMH


@dataclass(frozen=True, slots=True)
class Speed:
    """A true speed (m/s) between two bounds, with the value to reckon with; 0 to 150 m/s."""

    low: float
    best: float
    high: float

    def __post_init__(self) -> None:
        for each in (self.low, self.best, self.high):
            between(each, 0.0, 150.0, "speed", "km/h", 3.6)
        if not self.low <= self.best <= self.high:
            raise InputError("a speed must lie between its bounds: give the lower bound first")


def by_speedometer(shown: float) -> Speed:
    """The true speed behind a speedometer that shows this (m/s): it never shows less, and not much more.

    0 <= shown - true <= true / 10 + 4 km/h, so the true speed is from (shown - 4 km/h) / 1.1 to what is
    shown; the middle is reckoned with. Source: UN R39, 5.4 (from memory), for a sound speedometer on tyres
    of the right size.
    """
    between(shown, 0.0, 150.0, "the speed shown", "km/h", 3.6)
    low = max(0.0, (shown - OVER_MORE) / (1.0 + OVER_SHARE))
    return Speed(low, (low + shown) / 2.0, shown)


def measured(speed: float, share: float = 0.01) -> Speed:
    """A speed (m/s) measured otherwise, as by satellite, right within a share (0 to 0.5; 1 % unless said).

    The 1 % is common practice for a steady speed over some seconds.
    """
    between(share, 0.0, 0.5, "the uncertainty of speed")
    return Speed(speed * (1.0 - share), speed, speed * (1.0 + share))
