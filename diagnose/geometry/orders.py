"""Which turning part may be behind a vibration: orders of wheel, propeller shaft and engine.

An order is how often a thing happens in one turn of a part. Frequencies in hertz, speeds in metres a second.
What fits is what can be within all that is uncertain: speed, rolling of the tyre, wear, the reading itself.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from diagnose.errors import InputError
from diagnose.geometry.ranges import between
from diagnose.geometry.speed import Speed
from diagnose.geometry.tyres import FREE, TyreSize, rolling_circumference

__all__ = [
    "Candidate",
    "Order",
    "Part",
    "alias",
    "beat_period",
    "candidates",
    "expected_orders",
    "firing_order",
]

Part = Literal["wheel", "brake", "propeller shaft", "engine"]

#: The least that a new tyre rolls in one turn over its diameter, below the figure of its build: makers'
#: tables spread from 3.03 to 3.07 (1 %). The most is the free circumference.
LESS_ROLLING = 0.01

#: Tread that may be gone from a tyre of which nothing is said: new 8 mm, worn to 1.6 (common practice).
WORN = 0.0064

#: How well engine speed is read from a dial (common practice).
RPM_SHARE = 0.03

_WHEEL = {
    1.0: "once a turn: imbalance, runout, tyre force",
    2.0: "twice a turn: oval wheel or tyre",
    3.0: "three times a turn: three-armed shaft joint, tyre",
}
_BRAKE = {
    1.0: "once a turn while braking: one thick place",
    2.0: "twice a turn while braking: oval drum, disc",
}
_PROP = {1.0: "once a shaft turn: imbalance, bent shaft", 2.0: "twice a shaft turn: joint angle or joint"}
_ENGINE = {
    0.5: "half order: one cylinder, camshaft",
    1.0: "once a crank turn: imbalance of engine or clutch",
    1.5: "one and a half times a crank turn: cylinders unlike",
}


@dataclass(frozen=True, slots=True)
class Order:
    """A thing that happens `number` times in one turn of a part.

    Expected at `frequency` (Hz), and between `low` and `high` in any case.
    """

    part: Part
    number: float
    name: str
    frequency: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Candidate:
    """An order held against a measured frequency.

    deviation: measured less expected (Hz). share: that over the expected. within: whether it can be it.
    """

    order: Order
    deviation: float
    share: float
    within: bool


def firing_order(cylinders: int) -> float:
    """Combustions in one turn of the crank of a four-stroke engine: half the cylinders; 1 to 16 of them.

    Source: textbook; evenly spaced firing.
    """
    if not 1 <= cylinders <= 16:
        raise InputError(f"an engine has 1 to 16 cylinders, not {cylinders}: say how many")
    return cylinders / 2.0


def expected_orders(
    speed: Speed,
    tyre: TyreSize,
    *,
    final_drive: float | None = None,
    propeller_shaft: bool = True,
    rpm: float | None = None,
    gear_ratio: float | None = None,
    cylinders: int | None = None,
    braking: bool = False,
    worn: tuple[float, float] = (0.0, WORN),
    rpm_share: float = RPM_SHARE,
) -> tuple[Order, ...]:
    """All orders that are to be thought of, each with the band that it can lie in.

    final_drive: turns of the propeller shaft for one of the wheels, 1 to 8. propeller_shaft: whether there
    is one. rpm: engine speed, 300 to 12000; without it gear_ratio (engine for one shaft turn, 0.3 to 8, no
    slip) with final_drive gives it. cylinders: adds the firing order. braking: adds the brake pulse. worn:
    the least and most tread gone (m). rpm_share: how far off rpm may be, as a share.
    Raises InputError for what cannot be. Source: f = speed / rolling circumference, ratios; textbook.
    """
    least, most = min(worn), max(worn)
    shortest = rolling_circumference(tyre, most, tyre.factor * (1.0 - LESS_ROLLING))
    longest = rolling_circumference(tyre, least, FREE)
    usual = rolling_circumference(tyre, (least + most) / 2.0)
    wheel = (speed.low / longest, speed.best / usual, speed.high / shortest)
    found = [_order("wheel", n, name, wheel) for n, name in _WHEEL.items()]
    if braking:
        found += [_order("brake", n, name, wheel) for n, name in _BRAKE.items()]
    shaft = None
    if final_drive is not None:
        ratio = between(final_drive, 1.0, 8.0, "the final drive ratio")
        shaft = (wheel[0] * ratio, wheel[1] * ratio, wheel[2] * ratio)
        if propeller_shaft:
            found += [_order("propeller shaft", n, name, shaft) for n, name in _PROP.items()]
    engine = _crank(shaft, rpm, gear_ratio, rpm_share)
    if engine is not None:
        names = dict(_ENGINE)
        if cylinders is not None:
            fires = firing_order(cylinders)
            names[fires] = f"{names[fires]}; firing" if fires in names else f"firing of {cylinders} cylinders"
        found += [_order("engine", n, names[n], engine) for n in sorted(names)]
    elif cylinders is not None:
        raise InputError("cylinders tell nothing without engine speed: give rpm, or the gear and final drive")
    return tuple(found)


def _order(part: Part, number: float, name: str, once: tuple[float, float, float]) -> Order:
    """An order of a part that turns so often (low, best, high)."""
    return Order(part, number, name, number * once[1], number * once[0], number * once[2])


def _crank(
    shaft: tuple[float, float, float] | None, rpm: float | None, gear_ratio: float | None, share: float
) -> tuple[float, float, float] | None:
    """Turns of the crank a second (low, best, high), from its speed or through the gears."""
    between(share, 0.0, 0.5, "the uncertainty of engine speed")
    if rpm is not None:
        turns = between(rpm, 300.0, 12000.0, "engine speed", "rpm") / 60.0
        return turns * (1.0 - share), turns, turns * (1.0 + share)
    if gear_ratio is None:
        return None
    if shaft is None:
        raise InputError("a gear ratio needs the final drive ratio with it: give both, or rpm")
    ratio = between(gear_ratio, 0.3, 8.0, "the gear ratio")
    return shaft[0] * ratio, shaft[1] * ratio, shaft[2] * ratio


def candidates(
    frequency: float,
    speed: Speed,
    tyre: TyreSize,
    final_drive: float | None = None,
    rpm: float | None = None,
    *,
    resolution: float = 0.5,
    propeller_shaft: bool = True,
    gear_ratio: float | None = None,
    cylinders: int | None = None,
    braking: bool = False,
    worn: tuple[float, float] = (0.0, WORN),
    rpm_share: float = RPM_SHARE,
) -> tuple[Candidate, ...]:
    """Every order held against a measured frequency (Hz, 0.1 to 2000): those that fit first, nearest first.

    resolution: how far the reading may be off either way (Hz, 0 to 50); one over the seconds recorded at
    best. The rest as in `expected_orders`. Several that fit are told apart at another speed or gear.
    """
    between(frequency, 0.1, 2000.0, "the measured frequency", "Hz")
    between(resolution, 0.0, 50.0, "the resolution", "Hz")
    if not speed.best > 0.0:
        raise InputError("a standing car has no wheel orders: give the speed of the reading")
    orders = expected_orders(
        speed,
        tyre,
        final_drive=final_drive,
        propeller_shaft=propeller_shaft,
        rpm=rpm,
        gear_ratio=gear_ratio,
        cylinders=cylinders,
        braking=braking,
        worn=worn,
        rpm_share=rpm_share,
    )
    return _sorted([_held(each, frequency, resolution) for each in orders])


def _held(order: Order, frequency: float, resolution: float) -> Candidate:
    """One order against the reading."""
    away = frequency - order.frequency
    within = order.low - resolution <= frequency <= order.high + resolution
    return Candidate(order, away, away / order.frequency, within)


def _sorted(found: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Those that fit first, the nearest in proportion first."""
    return tuple(sorted(found, key=lambda each: (not each.within, abs(math.log1p(each.share)))))


def alias(frequency: float, rate: float) -> float:
    """Where a frequency (Hz) is seen by a recorder of `rate` samples a second: folded to 0 .. rate / 2.

    Source: sampling theorem, textbook. What is folded does not go up with speed in proportion.
    """
    between(frequency, 0.0, 100_000.0, "the frequency", "Hz")
    between(rate, 1.0, 1_000_000.0, "the sample rate", "Hz")
    return abs(frequency - round(frequency / rate) * rate)


def beat_period(one: float, other: float) -> float:
    """Seconds between the swells of two vibrations of nearly one frequency (Hz): 1 / difference.

    Infinite for equal ones. Source: textbook.
    """
    between(one, 0.0, 2000.0, "the frequency", "Hz")
    between(other, 0.0, 2000.0, "the frequency", "Hz")
    return math.inf if one == other else 1.0 / abs(one - other)
