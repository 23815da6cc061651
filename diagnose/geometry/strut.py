"""A strut front or rear suspension (MacPherson) in front view: a slider over an arm, in closed form."""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.errors import InputError
from diagnose.geometry.plane import Point, carried
from diagnose.geometry.pose import SOUND, Change, Pose, millimetres
from diagnose.geometry.ranges import an_angle, length

__all__ = ["Strut"]


@dataclass(frozen=True, slots=True)
class Strut:
    """One wheel on a strut, as drawn at ride height, in front view (y out, z up; m).

    pivot: axis of the lower arm at the body. ball: lower joint. top: middle of the top mount.
    centre: middle of the wheel. camber: as drawn (rad, top out positive; ISO 8855).
    offset: how far outside of the damper rod's line the lower joint lies (m); 0 when the rod points at it.

    The rod passes through the top mount and keeps its distance from the joint: knuckle, strut and wheel
    are one part. Bushes and body are stiff, the wheel is not steered.
    Raises InputError for a drawing that cannot be one.
    """

    pivot: Point
    ball: Point
    top: Point
    centre: Point
    camber: float = 0.0
    offset: float = 0.0

    def __post_init__(self) -> None:
        length(self.ball.y - self.pivot.y, "the way out from the arm's pivot to the lower joint", 0.05, 1.5)
        length(self.top.z - self.ball.z, "the height of the top mount above the lower joint", 0.1, 1.5)
        an_angle(self.camber, "camber", 20.0)
        length(self.offset, "the offset of the lower joint from the rod", -0.1, 0.1)
        an_angle((self.ball - self.pivot).rise, "the slope of the lower arm", 60.0)

    def pose(self, turn: float, change: Change = SOUND) -> Pose:
        """How the wheel stands with the lower arm turned up by `turn` (rad) from its drawing.

        Raises InputError where the parts cannot be put together so.
        """
        if change.upper_arm != 0.0:
            raise InputError("a strut has no upper arm: say how its top mount moved instead")
        arm = self.ball - self.pivot
        reach = arm.length + change.lower_arm
        if reach <= 0.0:
            raise InputError("the lower arm would have no length left: look at the change")
        pivot, top = self.pivot + change.lower, self.top + change.upper
        rise = arm.rise + turn
        ball = Point(pivot.y + reach * math.cos(rise), pivot.z + reach * math.sin(rise))
        turned = self._rod(ball, top) - self._rod(self.ball, self.top)
        centre = ball + carried(self.centre - self.ball, turned)
        return Pose(self.camber + turned + change.bend, turned, ball, top, centre)

    def _rod(self, ball: Point, top: Point) -> float:
        """How far the damper's rod leans out (rad)."""
        axis = top - ball
        if axis.z <= 0.0 or axis.length <= abs(self.offset):
            raise InputError(
                "the strut cannot close: its lower joint would come to the height of the top mount "
                f"({millimetres(axis.z)} below it): look at the change"
            )
        return axis.lean + math.asin(self.offset / axis.length)
