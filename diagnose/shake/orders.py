"""What can shake a car how often: orders of wheel, propshaft and engine, and what keeps its frequency."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from diagnose.geometry.orders import firing_order
from diagnose.geometry.speed import by_speedometer
from diagnose.shake.given import Build, Reading
from diagnose.shake.spread import turn_bounds

__all__ = ["Kind", "Source", "expected", "sources_of"]

Kind = Literal["wheel", "propshaft", "engine", "resonance", "stray"]

_WHEEL = {1.0: "once per wheel turn", 2.0: "twice per wheel turn", 3.0: "three times per wheel turn"}
_PROPSHAFT = {1.0: "once per propshaft turn", 2.0: "twice per propshaft turn"}
_ENGINE = {
    0.5: "half the engine turns",
    1.0: "once per engine turn",
    1.5: "1.5 per engine turn",
}

#: Firing orders of an engine of which nothing is told: three, four, six, eight cylinders.
_ANY_ENGINE = (3, 4, 6, 8)


@dataclass(frozen=True, slots=True)
class Source:
    """Something that may be behind the peak: `number` times in one turn of a part; 0 if of no turn."""

    kind: Kind
    number: float
    name: str


UNKNOWN_ENGINE = Source("engine", 0.0, "the engine, revs not read")
RESONANCE = Source("resonance", 0.0, "same at every speed")
STRAY_PEAK = Source("stray", 0.0, "a chance peak")


def sources_of(build: Build, revs: bool = True) -> tuple[Source, ...]:
    """All that may be behind a peak on this car; a car without a propshaft has no orders of one.

    revs: whether the speed of the engine is known anywhere; its orders are one source if it is not.
    """
    found = [Source("wheel", n, name) for n, name in _WHEEL.items()]
    if build.propshaft is not False:
        found += [Source("propshaft", n, name) for n, name in _PROPSHAFT.items()]
    if not revs:
        return (*found, UNKNOWN_ENGINE, RESONANCE, STRAY_PEAK)
    names = dict(_ENGINE)
    for cylinders in _ANY_ENGINE if build.cylinders is None else (build.cylinders,):
        fires = firing_order(cylinders)
        told = f"firing, {cylinders} cylinder{'s' if cylinders != 1 else ''}"
        names[fires] = f"{names[fires]}, or {told}" if fires in names else told
    found += [Source("engine", n, names[n]) for n in sorted(names)]
    return (*found, RESONANCE, STRAY_PEAK)


def wheel_turns(reading: Reading, build: Build) -> float:
    """Wheel turns a second (Hz) as they are reckoned with: the middle of what speed and tyre may be."""
    speed = reading.speed if reading.by == "satellite" else by_speedometer(reading.speed).best
    low, high = turn_bounds(build)
    return speed / math.sqrt(low * high)


def expected(source: Source, reading: Reading, build: Build) -> float | None:
    """The frequency (Hz) to expect of it at that reading; None where a figure for it is not known.

    f = order x speed / circumference, times the final drive for the propshaft; the engine turns by rpm / 60,
    or by its gear ratio times the propshaft (no slip). Source: textbook.
    """
    if source.kind == "wheel":
        known = build.circumference is not None or build.tyre is not None
        return source.number * wheel_turns(reading, build) if known else None
    if source.kind == "engine" and reading.rpm is not None:
        return source.number * reading.rpm / 60.0
    if source.kind not in ("propshaft", "engine") or build.final_drive is None:
        return None
    if build.circumference is None and build.tyre is None:
        return None
    shaft = wheel_turns(reading, build) * build.final_drive
    if source.kind == "propshaft":
        return source.number * shaft
    return None if build.gear_ratio is None else source.number * shaft * build.gear_ratio
