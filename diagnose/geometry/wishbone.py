"""A double wishbone in front view: a four-bar linkage, in closed form for each position of the lower arm."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.errors import InputError
from diagnose.geometry.plane import Point, carried, meet
from diagnose.geometry.pose import SOUND, Change, Pose, millimetres
from diagnose.geometry.ranges import an_angle, length

__all__ = ["DoubleWishbone"]


@dataclass(frozen=True, slots=True)
class DoubleWishbone:
    """One wheel on two arms, as drawn at ride height, in front view (y out, z up; m).

    pivot, ball: inner axis and outer joint of the lower arm. upper_pivot, upper_ball: those of the upper
    arm. centre: middle of the wheel. camber: as drawn (rad, top out positive; ISO 8855).
    Bushes and body are stiff, the wheel is not steered. Raises InputError for a drawing that cannot be one.
    """

    pivot: Point
    ball: Point
    upper_pivot: Point
    upper_ball: Point
    centre: Point
    camber: float = 0.0

    def __post_init__(self) -> None:
        length(self.ball.y - self.pivot.y, "the way out from the lower pivot to its joint", 0.05, 1.5)
        above, knuckle = self.upper_ball - self.upper_pivot, self.upper_ball - self.ball
        length(above.y, "the way out from the upper pivot to its joint", 0.05, 1.5)
        length(knuckle.z, "the height of the upper joint above the lower one", 0.05, 1.0)
        an_angle(self.camber, "camber", 20.0)
        an_angle((self.ball - self.pivot).rise, "the slope of the lower arm", 60.0)
        if abs(_across(self.upper_pivot - self.ball, knuckle)) < 0.05 * above.length * knuckle.length:
            raise InputError("upper arm and knuckle lie almost in one line: draw them at an angle")

    def pose(self, turn: float, change: Change = SOUND) -> Pose:
        """How the wheel stands with the lower arm turned up by `turn` (rad) from its drawing.

        Raises InputError where the arms cannot be put together so.
        """
        arm, upper_arm = self.ball - self.pivot, self.upper_ball - self.upper_pivot
        knuckle = self.upper_ball - self.ball
        reach, above = arm.length + change.lower_arm, upper_arm.length + change.upper_arm
        if reach <= 0.0 or above <= 0.0:
            raise InputError("an arm would have no length left: look at the change")
        pivot, upper_pivot = self.pivot + change.lower, self.upper_pivot + change.upper
        rise = arm.rise + turn
        ball = Point(pivot.y + reach * math.cos(rise), pivot.z + reach * math.sin(rise))
        # The upper joint stays on the side of the diagonal on which it was drawn.
        diagonal = self.upper_pivot - self.ball
        left = _across(diagonal, knuckle) > 0.0
        upper = meet(ball, knuckle.length, upper_pivot, above, left)
        if upper is None:
            across = (upper_pivot - ball).length
            raise InputError(
                f"the arms cannot close: from the lower joint to the upper pivot are {millimetres(across)}, "
                f"which a knuckle of {millimetres(knuckle.length)} and an upper arm of {millimetres(above)} "
                "do not span: look at the change"
            )
        turned = (upper - ball).lean - knuckle.lean
        centre = ball + carried(self.centre - self.ball, turned)
        return Pose(self.camber + turned + change.bend, turned, ball, upper, centre)


def _across(one: Point, other: Point) -> float:
    """Twice the area between two ways; positive if the second lies to the left of the first."""
    return one.y * other.z - one.z * other.y
