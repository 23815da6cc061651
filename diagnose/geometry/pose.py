"""What can be wrong with a linkage, and how its wheel then stands."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.geometry.plane import HERE, Point
from diagnose.geometry.ranges import an_angle, length

__all__ = ["SOUND", "Change", "Pose"]


@dataclass(frozen=True, slots=True)
class Change:
    """How a linkage differs from its drawing; one wheel in front view.

    lower: movement of the lower arm's inner pivot (bush worn or moved, subframe shifted); m.
    upper: movement of the strut's top mount, or of the upper arm's inner pivot; m.
    lower_arm, upper_arm: how much longer the arm is, from pivot to joint; a bent arm is shorter (negative),
    a worn joint lets the knuckle stand off as a longer or shorter arm would; m.
    bend: how far the wheel leans out against its steering axis (bent strut, knuckle or stub); rad.
    Lengths within 0.2 m, bend within 15 degrees, else InputError.
    """

    lower: Point = HERE
    upper: Point = HERE
    lower_arm: float = 0.0
    upper_arm: float = 0.0
    bend: float = 0.0

    def __post_init__(self) -> None:
        for each in (self.lower, self.upper):
            length(each.y, "movement of a pivot", -0.2, 0.2)
            length(each.z, "movement of a pivot", -0.2, 0.2)
        length(self.lower_arm, "the change of an arm", -0.2, 0.2)
        length(self.upper_arm, "the change of an arm", -0.2, 0.2)
        an_angle(self.bend, "the bend", 15.0)


SOUND = Change()


@dataclass(frozen=True, slots=True)
class Pose:
    """How a wheel stands: camber (top out positive, rad) and the places of its joints and centre (m).

    turned: how far the knuckle leans out more than in the drawing (rad); the bend is not in it.
    """

    camber: float
    turned: float
    ball: Point
    upper: Point
    centre: Point

    @property
    def inclination(self) -> float:
        """Inclination of the steering axis (rad), top in positive (ISO 8855, from memory)."""
        return -(self.upper - self.ball).lean

    @property
    def included(self) -> float:
        """Included angle: inclination + camber (rad)."""
        return self.inclination + self.camber


def degrees(value: float) -> str:
    """An angle for a message."""
    return f"{math.degrees(value):.1f} degrees"


def millimetres(value: float) -> str:
    """A length for a message."""
    return f"{value * 1000.0:.0f} mm"
