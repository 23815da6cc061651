"""How well each source explains all readings together: densities over the logarithm of the frequencies.

For a source the readings' densities multiply where the shared errors are fixed, and the product is averaged
over all that the shared errors may be (`spread`). So an error that all readings share cannot be averaged away
by more of them, while what scales with speed and what does not come apart with the second one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.shake.given import Build, Reading, checked
from diagnose.shake.orders import Source, expected, sources_of
from diagnose.shake.spread import (
    BROAD,
    STRAY,
    Array,
    between_evenly,
    log_ratios,
    log_rpm_errors,
    log_wheel_turns,
    own_spread,
)

__all__ = ["Fit", "fits_of", "slope"]

#: Half of the engine's peaks over several speeds of unknown revs are taken in one gear (own estimate).
ONE_GEAR = 0.5

#: Somebody who types a peak had one: so seldom there was none (own estimate).
NO_PEAK = 0.2


@dataclass(frozen=True, slots=True)
class Fit:
    """One source against all readings.

    expected: Hz at each reading, None where a figure is not known. density: of the readings, were it this
    source. fit: that over the best of all, 0 to 1. share: mean deviation, measured over expected less one.
    """

    source: Source
    expected: tuple[float | None, ...]
    density: float
    fit: float
    share: float | None


def fits_of(readings: Sequence[Reading], build: Build) -> tuple[Fit, ...]:
    """Every source that this car can have, best first. Raises InputError for no readings or too many."""
    given = checked(tuple(readings))
    log_f = np.log([reading.frequency for reading in given])
    wheel, weights = log_wheel_turns(given, build)
    found = []
    revs = build.gear_ratio is not None or not _without_rpm(given)
    for source in sources_of(build, revs):
        density = _density(source, given, build, log_f, wheel, weights)
        values = tuple(expected(source, reading, build) for reading in given)
        offs = [r.frequency / v - 1.0 for r, v in zip(given, values, strict=True) if v]
        found.append((source, values, density, sum(offs) / len(offs) if offs else None))
    best = max(density for _, _, density, _ in found)
    fits = [Fit(source, values, d, d / best, share) for source, values, d, share in found]
    return tuple(sorted(fits, key=lambda each: -each.fit))


def _density(
    source: Source, given: Sequence[Reading], build: Build, log_f: Array, wheel: Array, weights: Array
) -> float:
    own = np.array([own_spread(reading) for reading in given])
    if source.kind == "stray":
        return float(NO_PEAK * BROAD ** len(given))
    if source.kind == "resonance":
        return _anywhere(log_f, np.array([own_spread(reading, resonant=True) for reading in given]))
    order = math.log(source.number or 1.0)
    if source.kind == "wheel":
        return _mean(log_f, wheel + order, own, weights)
    if source.kind == "propshaft" or (build.gear_ratio is not None and _without_rpm(given)):
        ratios = log_ratios(build) + (math.log(build.gear_ratio or 1.0) if source.kind == "engine" else 0.0)
        shaft = (wheel[:, :, None] + ratios[None, None, :]).reshape(len(given), -1)
        of_each = np.repeat(weights / len(ratios), len(ratios))
        return _mean(log_f, shaft + order, own, of_each)
    return _engine(given, log_f, order, own)


def _without_rpm(given: Sequence[Reading]) -> bool:
    return all(reading.rpm is None for reading in given)


def _mean(log_f: Array, centre: Array, own: Array, weights: Array | None = None) -> float:
    """Mean over the columns of the product over the rows: each reading is of this peak, or astray."""
    z = (log_f[:, None] - centre) / own[:, None]
    of_it = np.exp(-0.5 * z * z) / (own[:, None] * math.sqrt(2.0 * math.pi))
    columns = np.prod((1.0 - STRAY) * of_it + STRAY * BROAD, axis=0)
    return float(np.average(columns, weights=weights))


def _anywhere(log_f: Array, own: Array) -> float:
    """The same for a frequency of which nothing is known: each octave of it alike."""
    wide = 6.0 * float(own.max())
    low, high = float(log_f.min()) - wide, float(log_f.max()) + wide
    centre = between_evenly(low, high, math.ceil((high - low) / float(own.min()) * 4.0))[None, :]
    # Beyond these ends every reading would be astray.
    inside = _mean(log_f, centre, own) * (high - low) * BROAD
    outside = (STRAY * BROAD) ** len(log_f) * max(1.0 - (high - low) * BROAD, 0.0)
    return inside + outside


def _engine(given: Sequence[Reading], log_f: Array, order: float, own: Array) -> float:
    """With the engine: by its revs where they were read; else in one gear, or in any."""
    known = [n for n, reading in enumerate(given) if reading.rpm is not None]
    rest = [n for n in range(len(given)) if n not in known]
    density = 1.0
    if known:
        turns = np.log([(given[n].rpm or 0.0) / 60.0 for n in known])
        density *= _mean(log_f[known], turns[:, None] + order + log_rpm_errors()[None, :], own[known])
    if rest:
        speeds = np.log([given[n].speed for n in rest])
        one_gear = _anywhere(log_f[rest] - speeds, own[rest])
        density *= ONE_GEAR * one_gear + (1.0 - ONE_GEAR) * BROAD ** len(rest)
    return density


def slope(readings: Sequence[Reading]) -> float | None:
    """By which power of speed the frequency rose: 1 for an order of road speed, 0 for a resonance.

    Best line through the logarithms (least squares, textbook); None where the speeds are within 5 %.
    """
    speeds = [math.log(reading.speed) for reading in readings]
    if not speeds or max(speeds) - min(speeds) < math.log(1.05):
        return None
    logs = [math.log(reading.frequency) for reading in readings]
    middle, level = sum(speeds) / len(speeds), sum(logs) / len(logs)
    above = sum((s - middle) * (f - level) for s, f in zip(speeds, logs, strict=True))
    return above / sum((s - middle) ** 2 for s in speeds)
