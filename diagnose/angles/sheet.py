"""What a wheel-angle sheet holds: the car, what is allowed on it, and one measurement of it, all frozen.

Angles are in radians and lengths in metres, with the signs of `diagnose.geometry`. Every value may be None:
it was not measured, or not told. Included angle, total toe and thrust are here as they were *given*; what
follows from the other values is in `derive`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, fields, replace
from typing import Any, Literal

__all__ = [
    "AXLES",
    "FRONT_LAYOUTS",
    "LENGTHS",
    "NONE_SAID",
    "REAR_LAYOUTS",
    "SIDES",
    "SPECIFIED",
    "UNITS",
    "Allowed",
    "Axle",
    "Car",
    "Repeatability",
    "Sheet",
    "Sheets",
    "Specification",
    "Spot",
    "Units",
    "Wheel",
    "When",
    "spots",
]

When = Literal["before", "after"]
Units = Literal["degrees", "minutes", "mm"]

AXLES = ("front", "rear")
SIDES = ("left", "right")
UNITS: tuple[Units, ...] = ("degrees", "minutes", "mm")

FRONT_LAYOUTS = ("strut", "double-wishbone", "multi-link", "solid-axle", "leaf", "other")
REAR_LAYOUTS = (
    "twist-beam",
    "multi-link",
    "double-wishbone",
    "strut",
    "trailing-arm",
    "solid-axle",
    "leaf",
    "other",
)

#: The values that are lengths (m); all others are angles (rad).
LENGTHS = frozenset({"height", "set-back-length"})

#: What a specification may speak of, by axle.
SPECIFIED = {
    "front": (
        "camber",
        "caster",
        "inclination",
        "included",
        "toe",
        "total-toe",
        "set-back",
        "set-back-length",
    ),
    "rear": ("camber", "toe", "total-toe", "thrust"),
}

#: How each value is called on screens.
_WORDS = {
    "included": "included angle",
    "total-toe": "total toe",
    "thrust": "thrust angle",
    "set-back-length": "set-back",
    "height": "ride height",
    "rim": "steering wheel angle",
}


@dataclass(frozen=True, slots=True, order=True)
class Spot:
    """Where a value stands: axle and side, empty where it has none, and the name of the value."""

    axle: str
    side: str
    angle: str

    @property
    def words(self) -> str:
        """`front left camber`, `rear total toe`, `thrust angle`."""
        axle = "" if self.angle == "thrust" else self.axle
        return " ".join(each for each in (axle, self.side, self.name) if each)

    @property
    def name(self) -> str:
        """The value alone, in words: `camber`, `set-back`."""
        return _WORDS.get(self.angle, self.angle)

    @property
    def path(self) -> str:
        """The same as in a file: `front/left/camber`."""
        return "/".join(each for each in (self.axle, self.side, self.angle) if each)

    @property
    def is_length(self) -> bool:
        """True for metres, False for radians."""
        return self.angle in LENGTHS


@dataclass(frozen=True, slots=True)
class Wheel:
    """One wheel (rad; height in m). included: as given, for comparison with camber + inclination."""

    camber: float | None = None
    caster: float | None = None
    inclination: float | None = None
    included: float | None = None
    toe: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Axle:
    """Both wheels, and what is given of the axle as a whole: total toe (rad), set-back (rad or m)."""

    left: Wheel = Wheel()
    right: Wheel = Wheel()
    total_toe: float | None = None
    set_back: float | None = None
    set_back_length: float | None = None


@dataclass(frozen=True, slots=True)
class Allowed:
    """What is allowed of one value at one axle; None where nothing is said.

    low, high: the range. nominal: the figure in its middle, where one was given. cross: how much left and
    right may differ. adjustable: whether it can be set on this car.
    """

    low: float | None = None
    high: float | None = None
    nominal: float | None = None
    cross: float | None = None
    adjustable: bool | None = None

    @property
    def has_range(self) -> bool:
        """True if there is a lower or an upper limit."""
        return self.low is not None or self.high is not None

    def holds(self, value: float) -> bool:
        """True if the value is within the range as far as there is one."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


#: What a specification answers of a value that it does not speak of.
NONE_SAID = Allowed()


@dataclass(frozen=True, slots=True)
class Specification:
    """What is allowed on this car: rows of (axle, value, Allowed), at most one for each axle and value."""

    rows: tuple[tuple[str, str, Allowed], ...] = ()

    def of(self, axle: str, angle: str) -> Allowed:
        """What is said of this value at this axle, or `NONE_SAID`."""
        return next((row[2] for row in self.rows if row[:2] == (axle, angle)), NONE_SAID)

    def ordered(self) -> Specification:
        """The same with its rows in the order of `SPECIFIED`, without rows that say nothing."""
        order = [(axle, angle) for axle, angles in SPECIFIED.items() for angle in angles]
        rows = [row for row in self.rows if row[2] != NONE_SAID]
        return Specification(tuple(sorted(rows, key=lambda row: order.index(row[:2]))))


@dataclass(frozen=True, slots=True)
class Car:
    """The car: free name, layouts, wheelbase and tracks (m), and the diameter at which toe is taken (m)."""

    name: str = ""
    front: str = ""
    rear: str = ""
    wheelbase: float | None = None
    front_track: float | None = None
    rear_track: float | None = None
    toe_at: float | None = None


@dataclass(frozen=True, slots=True)
class Repeatability:
    """Within what a second reading of one wheel comes out again (rad).

    Defaults: 0.1 degree of camber and 0.05 of toe are common practice. Caster and inclination come of camber
    read at 20 degrees either way, so 0.1 / (2 sin 20) = 0.15 degrees (own arithmetic).
    """

    camber: float = math.radians(0.1)
    caster: float = math.radians(0.15)
    inclination: float = math.radians(0.15)
    toe: float = math.radians(0.05)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One measurement of one car. thrust: as given. rim: angle of the steering wheel, both to the right."""

    when: When = "before"
    front: Axle = Axle()
    rear: Axle = Axle()
    thrust: float | None = None
    rim: float | None = None
    car: Car = Car()
    specification: Specification = Specification()
    repeatability: Repeatability = Repeatability()

    def value(self, spot: Spot) -> float | None:
        """The value that stands there, rad or m; None if it is missing."""
        return getattr(self._holder(spot), spot.angle.replace("-", "_"))  # type: ignore[no-any-return]

    def _holder(self, spot: Spot) -> Sheet | Axle | Wheel:
        if spot.angle in ("thrust", "rim"):
            return self
        axle: Axle = getattr(self, spot.axle)
        return getattr(axle, spot.side) if spot.side else axle

    def with_value(self, spot: Spot, value: float | None) -> Sheet:
        """The same sheet with another value there."""
        told: dict[str, Any] = {spot.angle.replace("-", "_"): value}
        holder = self._holder(spot)
        if isinstance(holder, Sheet):
            return replace(holder, **told)
        if isinstance(holder, Wheel):
            told = {spot.side: replace(holder, **told)}
        axle: dict[str, Any] = {spot.axle: replace(getattr(self, spot.axle), **told)}
        return replace(self, **axle)

    def values(self) -> Iterator[tuple[Spot, float]]:
        """Every value that is there, front before rear and left before right."""
        for spot in spots():
            value = self.value(spot)
            if value is not None:
                yield spot, value


def spots() -> Iterator[Spot]:
    """Every place of a sheet where a measured value can stand."""
    for axle in AXLES:
        for wheel in fields(Wheel):
            for side in SIDES:
                yield Spot(axle, side, wheel.name)
        for name in ("total-toe", "set-back", "set-back-length"):
            yield Spot(axle, "", name)
    yield Spot("rear", "", "thrust")
    yield Spot("", "", "rim")


@dataclass(frozen=True, slots=True)
class Sheets:
    """What one file holds: a measurement before, one after, or both; and the units to show them in."""

    before: Sheet | None = None
    after: Sheet | None = None
    units: Units = "minutes"
    car: Car = field(default=Car())
    specification: Specification = field(default=Specification())
    repeatability: Repeatability = field(default=Repeatability())

    @property
    def latest(self) -> Sheet:
        """The measurement after, or else the one before; an empty one if there is neither."""
        return (
            self.after
            or self.before
            or Sheet(car=self.car, specification=self.specification, repeatability=self.repeatability)
        )

    def both(self) -> tuple[Sheet, ...]:
        """The measurements that are there, before first."""
        return tuple(each for each in (self.before, self.after) if each is not None)
