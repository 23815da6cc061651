"""What the fits come to in words: the verdict, what they leave open, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.geometry.speed import by_speedometer
from diagnose.shake.fit import Fit, slope
from diagnose.shake.given import Build, Reading
from diagnose.shake.orders import Kind, Source, wheel_turns
from diagnose.shake.spread import COUNTABLE, own_spread, turn_bounds

__all__ = ["CAUTION", "CLEAR", "Advice", "advise"]

#: What fits at least so well, against the best, is not told apart from it (own estimate: 1 to 5).
CLEAR = 0.2

#: Expected frequencies that a sentence can bear.
MOST_SAID = 4

#: What fits at least so well is said to fit alike.
ALIKE = 0.8

CAUTION = (
    "Only with a car fit to drive: nuts, tyres and brakes looked at first. Quiet road, legal speed; a "
    "passenger reads and writes, never the driver. The law where you drive comes first."
)

_COASTING = (
    "roll in neutral for some seconds where road, law and maker allow it (many automatic boxes forbid it; "
    "never switch the engine off): what goes away is the engine's, or comes with load"
)


@dataclass(frozen=True, slots=True)
class Advice:
    """What is said of the readings, sentence by sentence.

    verdict: one sentence. trend: how the frequency goes with speed, "" for one speed. open: what the readings
    do not tell apart. next: what to measure. doubts: what stands behind the figures badly.
    """

    verdict: str
    trend: str
    open: tuple[str, ...]
    next: tuple[str, ...]
    doubts: tuple[str, ...]


def advise(fits: Sequence[Fit], readings: Sequence[Reading], build: Build) -> Advice:
    """What these fits, best first, say of these readings of this car."""
    left = [each for each in fits if each.fit >= CLEAR]
    return Advice(
        _verdict(left, slope(readings) is not None),
        _trend(readings),
        _open(left),
        _next(left, readings, build),
        _doubts(left, readings, build),
    )


def _verdict(left: Sequence[Fit], several: bool) -> str:
    best = left[0]
    others = [each.source.name for each in left[1:] if each.source.kind != "stray"]
    beside = f"; {' and '.join(others)} can be as well" if len(others) in (1, 2) else ""
    beside = f"; {len(others)} more can be as well" if len(others) > 2 else beside
    if best.source.kind == "stray":
        return f"No order fits, and no resonance: no clear peak{beside}."
    if best.source.kind == "resonance" and several:
        return f"It keeps its frequency at every speed: a resonance fits best{beside}."
    if not any(each.source.number for each in left):
        left_over = ", or ".join(_loose(each.source) for each in left)
        return f"No order that can be reckoned fits. What is left: {left_over}."
    alike = [each.source.name for each in left if each.fit >= ALIKE and each.source.number]
    if len(alike) > 1 and len(alike) == len(left):
        together = f"{', '.join(alike[:-1])} and {alike[-1]}"
        return f"{together[0].upper()}{together[1:]} fit alike{_at(best)}."
    name = best.source.name
    return f"{name[0].upper()}{name[1:]} fits best{_at(best)}{beside}."


def _loose(source: Source) -> str:
    """What no figure stands for, in the words of a sentence."""
    return {"resonance": "a resonance", "engine": "the engine, whose speed was not read"}.get(
        source.kind, source.name
    )


def _at(fit: Fit) -> str:
    known = [value for value in fit.expected if value is not None]
    if not 0 < len(known) <= MOST_SAID:
        return ""
    return f": {', '.join(f'{value:.1f}' for value in known)} Hz expected"


def _open(left: Sequence[Fit]) -> tuple[str, ...]:
    if len(left) < 2:
        return ()
    names = [each.source.name for each in left]
    return (f"Not told apart: {'; '.join(names)}.",)


def _next(left: Sequence[Fit], readings: Sequence[Reading], build: Build) -> tuple[str, ...]:
    kinds: set[Kind] = {each.source.kind for each in left} - {"stray"}
    unread = any(each.source.kind == "engine" and not each.source.number for each in left)
    found = []
    if slope(readings) is None and kinds - {"engine"}:
        found.append(_another_speed(readings, "resonance" in kinds))
    if unread:
        found.append("Read the engine speed at the same moment: with it the engine's orders can be reckoned.")
    if "engine" in kinds and len(kinds) > 1:
        found.append("Hold the same road speed in another gear: only what turns with the engine moves.")
        found.append(f"Or {_COASTING}.")
    found += _ratio_needed(left, readings, build)
    if _same_frequency(left):
        found.append(
            "No speed and no gear tells wheel from propshaft here: both go with road speed, at nearly one "
            "frequency. Other wheels, or wheels swapped front to rear, change only what the wheels make."
        )
    else:
        found += _figures(kinds, readings, build)
    if not found and len(left) > 1:
        found.append("Record for longer, at a steadier speed.")
    return tuple(found)


def _another_speed(readings: Sequence[Reading], resonance: bool) -> str:
    """Where to go for a second speed: below the first, which the law allows wherever the first was."""
    reading = max(readings, key=lambda each: each.speed)
    lower = max(round(reading.shown * 0.8 / 5.0) * 5.0, 5.0)
    moved = reading.frequency * lower / reading.shown
    keeps = f"; a resonance stays at {reading.frequency:.1f}" if resonance else ""
    return (
        f"Read it again at another speed: at {lower:.0f} {reading.unit} what goes with road speed comes down "
        f"to about {moved:.1f} Hz{keeps}."
    )


def _ratio_needed(left: Sequence[Fit], readings: Sequence[Reading], build: Build) -> list[str]:
    """Which final drive a propshaft order that is left would need, where none was told."""
    shafts = [each.source for each in left if each.source.kind == "propshaft"]
    if not shafts or build.final_drive is not None:
        return []
    find = "Find the final drive ratio (plate, axle code, maker's sheet)"
    if build.tyre is None and build.circumference is None:
        return [f"{find}."]
    turned = [each.frequency / wheel_turns(each, build) for each in readings]
    mean = sum(turned) / len(turned)
    needed = [f"{source.name} needs one near {mean / source.number:.1f}" for source in shafts]
    return [f"{find}: {', '.join(needed)}."]


def _figures(kinds: set[Kind], readings: Sequence[Reading], build: Build) -> list[str]:
    """Figures whose lack leaves something open."""
    found: list[str] = []
    if len(kinds) < 2 or not kinds & {"wheel", "propshaft"}:
        return found
    if build.tyre is None and build.circumference is None:
        found.append(
            "Read the tyre size on the sidewall: without it wheel and propshaft are told apart badly."
        )
    if any(reading.by == "speedometer" for reading in readings):
        found.append(
            "Take the speed by satellite: a speedometer may show a tenth and 4 km/h more than is true."
        )
    if any(reading.felt for reading in readings):
        found.append("Record it with a phone fixed to seat rail or floor, 20 s at a steady speed.")
    return found


def _same_frequency(left: Sequence[Fit]) -> bool:
    """True where a wheel order and a propshaft order that are both left lie within 2 % of each other."""
    wheels = [each for each in left if each.source.kind == "wheel"]
    shafts = [each for each in left if each.source.kind == "propshaft"]
    return any(
        a is not None and b is not None and abs(a / b - 1.0) < 0.02
        for one in wheels
        for other in shafts
        for a, b in zip(one.expected, other.expected, strict=True)
    )


def _doubts(fits: Sequence[Fit], readings: Sequence[Reading], build: Build) -> tuple[str, ...]:
    found = []
    if any(each.felt and each.frequency > COUNTABLE for each in readings):
        found.append(f"Nobody counts more than about {COUNTABLE:.0f} beats a second: taken as a guess.")
    turned = [each for each in readings if each.frequency > 40.0 and each.shown < 30.0]
    if turned:
        found.append(
            f"{turned[0].frequency:g} Hz at {turned[0].shown:g} {turned[0].unit}: is it the other way round?"
        )
    fast = [each for each in readings if not each.felt and each.rate is None and each.frequency > 50.0]
    if fast:
        found.append(
            f"{fast[0].frequency:g} Hz is true only if the recorder takes more than "
            f"{2 * fast[0].frequency:.0f} samples a second; many take 100 and show nothing true above 50 Hz."
        )
    strained = [each.source.name for each in fits if _strained(each, readings, build)]
    if strained:
        found.append(
            f"As {strained[0]} it lies further off than speed and tyre allow: look again at the tyre size "
            "on the car, at the speed and its unit."
        )
    if build.tyre is None and build.circumference is None:
        found.append("The tyre size is not known: any usual one is reckoned with.")
    return tuple(found)


def _strained(fit: Fit, readings: Sequence[Reading], build: Build) -> bool:
    """True for a wheel or propshaft order that lies further off than the errors of its figures let it."""
    if fit.source.kind not in ("wheel", "propshaft") or fit.share is None:
        return False
    reading = readings[0]
    low, high = turn_bounds(build)
    slowest = by_speedometer(reading.speed).low if reading.by == "speedometer" else reading.speed
    half = math.log(high / low * reading.speed / slowest) / 2.0
    return abs(math.log1p(fit.share)) > half + 2.0 * own_spread(reading)


def _trend(readings: Sequence[Reading]) -> str:
    rose = slope(readings)
    if rose is None:
        return ""
    kept = "neither yet"
    if rose > 0.75:
        kept = "it goes with road speed"
    elif rose < 0.25:
        kept = "it keeps its frequency"
    return f"The frequency rises as speed to the power {rose:.2f} (an order: 1, a resonance: 0): {kept}."
