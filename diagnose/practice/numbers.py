"""What an instrument shows where only the band is drawn: a number within it, and its scatter."""

from __future__ import annotations

import math

import numpy as np

from diagnose.model.check import REPEATABILITY_OF_SPREAD, Reading

__all__ = ["shown"]

#: Part of a band in which its numbers lie, from its limit on (estimates): what is in order lies well
#: inside, what is worn out seldom much beyond.
INSIDE = (0.1, 0.85)
BETWEEN = (0.05, 0.95)
BEYOND = (0.05, 0.6)

#: Width of an open band where neither a second limit nor the size of the first tells it, in repeatabilities.
OPEN = 3.0

#: Nothing is read in steps of tens.
COARSEST = 1.0


def shown(reading: Reading, level: int, random: np.random.Generator) -> float:
    """A number read off where the true value lies in this band (0: beyond no limit), in the reading's unit.

    The true value lies anywhere in the usual part of the band; the number scatters about it as the
    repeatability says, so near a limit it may fall on the other side. A counted number never does.
    """
    sign = 1.0 if reading.direction == "over" else -1.0
    limits = [limit.value for limit in reading.limits]
    spread = reading.repeatability / REPEATABILITY_OF_SPREAD
    open_width = _open_width(reading)
    if level == 0:
        # What is below the first limit of a size that cannot be negative ends at nothing.
        width = min(open_width, limits[0]) if sign > 0 and limits[0] > 0 else open_width
        true = limits[0] - sign * width * float(random.uniform(*INSIDE))
    elif level < len(limits):
        true = limits[level - 1] + (limits[level] - limits[level - 1]) * float(random.uniform(*BETWEEN))
    else:
        width = open_width if sign > 0 or limits[-1] <= 0 else min(open_width, limits[-1])
        true = limits[-1] + sign * width * float(random.uniform(*BEYOND))
    step = _step(reading, open_width)
    number = round((true + spread * float(random.standard_normal())) / step) * step
    if min(limits) >= 0.0:
        number = max(number, 0.0)
    number = round(number, 6)
    if spread <= 0.0 and reading.level(number) != level:
        # Rounding alone moves no counted number over a limit.
        number = limits[level - 1] if level else limits[0] - sign * step
    return number


def _open_width(reading: Reading) -> float:
    """How far numbers may lie beyond the last limit, or short of the first."""
    limits = [limit.value for limit in reading.limits]
    if len(limits) > 1:
        return abs(limits[-1] - limits[0])
    return abs(limits[0]) or OPEN * reading.repeatability or 1.0


def _step(reading: Reading, width: float) -> float:
    """What the last digit counts: the power of ten below the repeatability, or below a tenth of the band."""
    fine = reading.repeatability if reading.repeatability > 0.0 else width / 10.0
    return min(float(10.0 ** math.floor(math.log10(fine))), COARSEST)
