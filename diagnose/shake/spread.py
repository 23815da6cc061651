"""The error model: how far each figure may be off, and whether the readings of one drive share the error.

Shared by all readings of a drive: the speedometer's error, the tyre's rolling, the dial of engine speed, a
ratio that is not known. Each reading's own: how finely its frequency is resolved, how steadily speed was
held. docs/vibration.md has the table with the reasons.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.geometry.orders import LESS_ROLLING, RPM_SHARE, WORN
from diagnose.geometry.speed import by_speedometer
from diagnose.geometry.tyres import FREE, rolling_circumference
from diagnose.shake.given import Build, Reading

__all__ = [
    "BROAD",
    "STRAY",
    "between_evenly",
    "log_ratios",
    "log_rpm_errors",
    "log_wheel_turns",
    "own_spread",
]

Array = NDArray[np.float64]

#: A peak that has nothing to do with an order lies anywhere from 3 to 150 Hz, each octave alike: density
#: over the logarithm of the frequency (own estimate).
BROAD = 1.0 / math.log(150.0 / 3.0)

#: One reading of so many is of another peak than that of the cause, or mistaken (own estimate: 1 of 20).
STRAY = 0.05

#: How steadily a driver holds a speed, and how right a satellite's speed is when steady: standard
#: deviations as shares (common practice: 1 % and 0.5 %).
HELD, SATELLITE = 0.01, 0.005

#: Beats counted by hand: standard deviation as a share, as long as they can be counted, and beyond that
#: (own estimate; nobody counts more than about six a second).
COUNTED, COUNTABLE, GUESSED = 0.12, 6.0, 0.30

#: A resonance has a broad peak: standard deviation of where it is found, as a share (own estimate).
RESONANT = 0.03

#: One turn of a tyre of unknown size (m): small cars to vans (common practice).
ANY_TYRE = (1.65, 2.40)

#: So often tyre or speed are not what was typed: another size, another unit, a speedometer off.
#: Then one turn may roll anything in `ANY_TYRE` (own estimate: 1 of 20).
OTHERWISE = 0.05

#: How far a circumference that was measured may still be off by load and wear, as a share (own estimate).
MEASURED_TYRE = 0.015

#: Final drives of cars and vans (common practice).
ANY_RATIO = (2.5, 5.5)

#: A ratio as it is written, with one decimal or two: half of the last digit of 3.9 (own arithmetic).
WRITTEN_RATIO = 0.004


def between_evenly(low: float, high: float, cells: int) -> Array:
    """Middles of equal cells between two bounds: each as likely as the other."""
    return np.asarray(low + (high - low) * (np.arange(cells) + 0.5) / cells, dtype=np.float64)


def own_spread(reading: Reading, *, resonant: bool = False) -> float:
    """Standard deviation of a reading's own error, as a share of its frequency.

    Resolution is 1 / seconds recorded (Rayleigh's limit, textbook), taken whole as a standard deviation since
    real peaks are broader than one line. For an order the speed held adds to it, for a resonance its breadth.
    """
    if reading.felt:
        read = COUNTED if reading.frequency <= COUNTABLE else GUESSED
    else:
        read = 1.0 / reading.seconds / reading.frequency
    if resonant:
        return math.hypot(read, RESONANT)
    return math.hypot(read, HELD, SATELLITE if reading.by == "satellite" else 0.0)


def turn_bounds(build: Build) -> tuple[float, float]:
    """The least and the most that one turn may roll (m).

    Of a tyre size: from a worn one, 1 % below its factor, to the free circumference of a new one.
    """
    if build.circumference is not None:
        return build.circumference * (1.0 - MEASURED_TYRE), build.circumference * (1.0 + MEASURED_TYRE)
    if build.tyre is None:
        return ANY_TYRE
    least = rolling_circumference(build.tyre, WORN, build.tyre.factor * (1.0 - LESS_ROLLING))
    return least, rolling_circumference(build.tyre, 0.0, FREE)


def log_wheel_turns(readings: Sequence[Reading], build: Build) -> tuple[Array, Array]:
    """Logarithm of wheel turns a second, a row each reading, a column each way the shared errors may be.

    With the weight of each column; they sum to 1. f = speed / circumference. The speedometer is off by one
    and the same part of what UN R39, 5.4, lets it.
    """
    turn, weight = _turns(build)
    part = between_evenly(0.0, 1.0, 25) if any(r.by == "speedometer" for r in readings) else np.zeros(1)
    rows = []
    for reading in readings:
        if reading.by == "satellite":
            speeds = np.full(len(part), reading.speed)
        else:
            shown = by_speedometer(reading.speed)
            speeds = shown.low + part * (shown.high - shown.low)
        rows.append((np.log(np.maximum(speeds, 0.1))[:, None] - turn[None, :]).ravel())
    return np.array(rows), np.tile(weight / len(part), len(part))


def _turns(build: Build) -> tuple[Array, Array]:
    """Logarithms of what one turn may roll, each with its weight."""
    low, high = turn_bounds(build)
    any_turn = between_evenly(math.log(ANY_TYRE[0]), math.log(ANY_TYRE[1]), 61)
    if build.tyre is None and build.circumference is None:
        return any_turn, np.full(61, 1.0 / 61.0)
    told = between_evenly(math.log(low), math.log(high), 25)
    weights = np.concatenate([np.full(25, (1.0 - OTHERWISE) / 25.0), np.full(61, OTHERWISE / 61.0)])
    return np.concatenate([told, any_turn]), weights


def log_ratios(build: Build) -> Array:
    """Logarithms of what the final drive may be: about the one told, or all that are usual."""
    if build.final_drive is None:
        return between_evenly(math.log(ANY_RATIO[0]), math.log(ANY_RATIO[1]), 160)
    middle = math.log(build.final_drive)
    return between_evenly(middle - WRITTEN_RATIO, middle + WRITTEN_RATIO, 3)


def log_rpm_errors() -> Array:
    """Logarithms of what a dial of engine speed may be off by: 3 % either way, in all readings alike."""
    return between_evenly(math.log(1.0 - RPM_SHARE), math.log(1.0 + RPM_SHARE), 25)
