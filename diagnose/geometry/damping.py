"""Damping from a bounce, and what a bounce can show.

Damping ratios have no unit and no sign; a swing is half a cycle, from one side to the other. For a linear
body: friction ends small motion early, so that stiff bushes can hide a weak damper.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from diagnose.errors import InputError
from diagnose.geometry.ranges import between

__all__ = [
    "critical_damping",
    "damping_of_decrement",
    "damping_of_peaks",
    "decrement_of_damping",
    "log_decrement",
    "overshoot",
    "spring_rate_of_period",
    "swings_until",
    "visible_swings",
]


def _ratio(damping: float) -> float:
    """A damping ratio of something that swings: 0 up to below 1."""
    return between(damping, 0.0, 0.999, "the damping ratio")


def log_decrement(first: float, later: float, cycles: float = 1.0) -> float:
    """Logarithmic decrement for a whole cycle: ln(first / later) / cycles, of the sizes of two peaks.

    cycles: between them, 0.5 for the next peak on the other side; 0.5 to 1000 in halves. Peaks in any one
    unit, both above 0, the later not larger, else InputError. Source: textbook.
    """
    for each in (first, later):
        if not (math.isfinite(each) and each > 0.0):
            raise InputError(
                "peaks must be sizes above 0, without a sign: measure from where it comes to rest"
            )
    between(cycles, 0.5, 1000.0, "the cycles between the peaks")
    if later > first:
        raise InputError("the later peak is larger than the first: a free bounce dies away, so measure again")
    if (2.0 * cycles) % 1.0 != 0.0:
        raise InputError("peaks stand whole or half cycles apart: give 0.5, 1, 1.5 and so on")
    return math.log(first / later) / cycles


def damping_of_decrement(decrement: float) -> float:
    """Damping ratio from the decrement of a whole cycle: d / sqrt(4 pi^2 + d^2).

    Exact, not d / 2 pi. Decrement 0 to 40. Source: textbook. Poor above a ratio of about 0.5, where little
    is left to measure.
    """
    between(decrement, 0.0, 40.0, "the logarithmic decrement")
    return decrement / math.hypot(2.0 * math.pi, decrement)


def decrement_of_damping(damping: float) -> float:
    """Logarithmic decrement of a whole cycle from the damping ratio (0 to 0.999); the inverse."""
    return 2.0 * math.pi * _ratio(damping) / math.sqrt(1.0 - damping**2)


def damping_of_peaks(peaks: Sequence[float], cycles: float = 0.5) -> float:
    """Damping ratio from successive peaks, `cycles` apart: 0.5 if they are on either side in turn.

    The straight line that fits their logarithms best (least squares); with two peaks the plain formula.
    Two to 50 peaks, sizes above 0, none larger than the first; InputError otherwise.
    """
    if not 2 <= len(peaks) <= 50:
        raise InputError("damping needs 2 to 50 peaks: read them one after the other")
    falls = [log_decrement(peaks[0], each) for each in peaks]
    between(cycles, 0.5, 1.0, "the cycles between the peaks")
    middle = (len(peaks) - 1) / 2.0
    weights = [n - middle for n in range(len(peaks))]
    slope = sum(w * fall for w, fall in zip(weights, falls, strict=True)) / sum(w * w for w in weights)
    return damping_of_decrement(max(slope, 0.0) / cycles)


def overshoot(damping: float, swings: int = 1) -> float:
    """What is left of a push after so many swings, as a share: exp(-n pi z / sqrt(1 - z^2)).

    One swing is the first peak on the other side. Damping 0 to 0.999, swings 0 to 1000. Source: textbook.
    """
    between(swings, 0, 1000, "the number of swings")
    return math.exp(-swings * decrement_of_damping(damping) / 2.0)


def swings_until(damping: float, share: float = 0.1) -> float:
    """Swings (not whole ones) until less than a share of the push is left; infinite without damping.

    share: what an eye still sees, 0.001 to 0.999; a tenth is common practice. Source: inverse of `overshoot`.
    """
    between(share, 0.001, 0.999, "the share that is still seen")
    half = decrement_of_damping(damping) / 2.0
    return math.inf if half == 0.0 else -math.log(share) / half


def visible_swings(damping: float, share: float = 0.1) -> int:
    """Whole swings until the motion is too small to see; damping 0.01 to 0.999. See `swings_until`."""
    between(damping, 0.01, 0.999, "the damping ratio")
    return math.ceil(swings_until(damping, share) - 1e-9)


def spring_rate_of_period(mass: float, period: float, damping: float) -> float:
    """Spring rate (N/m) under a mass (kg) that swings with this damped period (s) and damping ratio.

    m (2 pi / T)^2 / (1 - z^2). Mass 1 to 50000 kg, period 0.01 to 100 s. Source: textbook.
    """
    between(mass, 1.0, 50000.0, "the mass", "kg")
    turned = 2.0 * math.pi / between(period, 0.01, 100.0, "the period", "s")
    return mass * turned**2 / (1.0 - _ratio(damping) ** 2)


def critical_damping(mass: float, rate: float) -> float:
    """Damping (N s/m) at which a mass (kg) on a spring (N/m) just does not swing: 2 sqrt(k m).

    The damping ratio times this is the damper's force per speed. Source: textbook.
    """
    between(mass, 1.0, 50000.0, "the mass", "kg")
    return 2.0 * math.sqrt(mass * between(rate, 1.0, 1e7, "the spring rate", "N/m"))
