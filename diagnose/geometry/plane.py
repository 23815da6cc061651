"""Points in a plane, where two circles meet, and the nearest zero: what linkages are solved by."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from diagnose.errors import InputError
from diagnose.geometry.ranges import length

__all__ = ["HERE", "Point"]

#: Halvings of the step at the end of what a linkage can do.
HALVINGS = 40

#: Tries at a zero between two places, and how close (radians or metres) ends them.
TRIES = 100
CLOSE = 1e-15


@dataclass(frozen=True, slots=True)
class Point:
    """A point, or a movement, in front view of one wheel: `y` out from the middle of the car, `z` up, in m.

    Within 3 m each, else InputError.
    """

    y: float
    z: float

    def __post_init__(self) -> None:
        length(self.y, "a place or movement sideways", -3.0, 3.0)
        length(self.z, "a place or movement upwards", -3.0, 3.0)

    def __add__(self, other: Point) -> Point:
        return Point(self.y + other.y, self.z + other.z)

    def __sub__(self, other: Point) -> Point:
        return Point(self.y - other.y, self.z - other.z)

    @property
    def length(self) -> float:
        """Distance from the origin (m)."""
        return math.hypot(self.y, self.z)

    @property
    def lean(self) -> float:
        """How far the way from the origin to the point leans out from straight up (rad)."""
        return math.atan2(self.y, self.z)

    @property
    def rise(self) -> float:
        """How far the way from the origin to the point rises above straight out (rad)."""
        return math.atan2(self.z, self.y)


HERE = Point(0.0, 0.0)


def carried(arm: Point, lean: float) -> Point:
    """The arm turned so that its upper end goes out by `lean` (rad)."""
    cos, sin = math.cos(lean), math.sin(lean)
    return Point(arm.y * cos + arm.z * sin, arm.z * cos - arm.y * sin)


def meet(one: Point, first: float, other: Point, second: float, left: bool) -> Point | None:
    """Where the circle of radius `first` about `one` meets that of `second` about `other`; None if nowhere.

    left: the meeting point to the left of the way from `one` to `other` (y to the right, z up), not the
    right one. Source: closed form by the two right triangles.
    """
    across = other - one
    distance = across.length
    if distance == 0.0:
        return None
    along = (distance**2 + first**2 - second**2) / (2.0 * distance)
    square = first**2 - along**2
    if square < 0.0:
        return None
    aside = math.sqrt(square) * (1.0 if left else -1.0)
    y, z = across.y / distance, across.z / distance
    return Point(one.y + along * y - aside * z, one.z + along * z + aside * y)


def root_near(function: Callable[[float], float], step: float, furthest: float) -> float | None:
    """The zero of a steady function nearest to 0, to the last bits; None if there is none within `furthest`.

    Goes from 0 the way that brings the value down, by `step`, until the sign changes. Where the function
    raises InputError (a linkage that cannot close) the step is halved, and in the end that error is raised.
    """
    at, value = 0.0, function(0.0)
    if value == 0.0:
        return 0.0
    rising = function(step * 1e-3) > value
    way = -step if rising == (value > 0.0) else step
    halved = 0
    while abs(at) < furthest:
        try:
            beyond = function(at + way)
        except InputError:
            halved += 1
            if halved > HALVINGS:
                raise
            way /= 2.0
            continue
        if (beyond > 0.0) != (value > 0.0):
            return _between(function, at, at + way, (value, beyond))
        at, value = at + way, beyond
    return None


def _between(function: Callable[[float], float], near: float, far: float, ends: tuple[float, float]) -> float:
    """The zero between two places where the function has the values `ends`, which differ in sign.

    Source: false position with halved weights (the Illinois rule), which closes in on both sides.
    """
    one, other = ends
    for _ in range(TRIES):
        at = (near * other - far * one) / (other - one)
        value = function(at)
        if value == 0.0 or abs(far - at) <= CLOSE or at in (near, far):
            return at
        if (value > 0.0) == (other > 0.0):
            one /= 2.0
        else:
            near, one = far, other
        far, other = at, value
    return (near + far) / 2.0
