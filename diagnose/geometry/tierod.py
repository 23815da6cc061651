"""Toe that follows from a tie rod: its length, the height of its inner joint, and travel of the wheel.

In front view: the rod keeps its length, the knuckle carries the outer joint, and what is missing sideways
turns the wheel by the steering arm. The steering axis is taken as upright for that turn, so its inclination
is left out (2 % at 12 degrees). Signs: toe-in positive (workshop), travel up positive, see the package.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.errors import InputError
from diagnose.geometry.linkage import Linkage, solve
from diagnose.geometry.plane import HERE, Point, carried
from diagnose.geometry.pose import SOUND, Change, millimetres
from diagnose.geometry.ranges import length

__all__ = ["TieRod", "joint_toe", "toe_change", "toe_per_travel"]

SLOPE_OVER = 1e-4


@dataclass(frozen=True, slots=True)
class TieRod:
    """A tie rod in front view (y out, z up; m), as drawn, and the steering arm that it turns.

    inner: joint at the rack or drag link. outer: joint at the knuckle. arm: distance along the car from the
    steering axis to the outer joint, 0.05 to 0.3 m. behind: the rod lies behind the axle, not ahead.
    """

    inner: Point
    outer: Point
    arm: float
    behind: bool = True

    def __post_init__(self) -> None:
        length(self.arm, "the steering arm", 0.05, 0.3)
        length(self.outer.y - self.inner.y, "the way out along the tie rod", 0.05, 1.5)


def toe_change(
    linkage: Linkage,
    rod: TieRod,
    change: Change = SOUND,
    travel: float = 0.0,
    longer: float = 0.0,
    inner: Point = HERE,
) -> float:
    """Toe of the wheel (rad) more than drawn; toe-in positive (workshop convention).

    change: what is wrong with the linkage. travel: of the wheel's centre, up positive (m). longer: how much
    longer the rod is (m). inner: movement of the inner joint, as of a rack that is fitted higher (m).
    Raises InputError where rod or linkage cannot close. Source: own geometry.
    """
    length(longer, "the change of the tie rod", -0.1, 0.1)
    pose = solve(linkage, change, travel)
    carried_to = pose.ball + carried(rod.outer - linkage.ball, pose.turned)
    start = rod.inner + inner
    reach = (rod.outer - rod.inner).length + longer
    square = reach**2 - (carried_to.z - start.z) ** 2
    aside = start.y + math.sqrt(max(square, 0.0)) - carried_to.y
    if square <= 0.0 or abs(aside) >= rod.arm * 0.9:
        raise InputError(
            f"the tie rod cannot close: its outer joint would have to go {millimetres(abs(aside))} sideways "
            f"on a steering arm of {millimetres(rod.arm)}: look at the change"
        )
    return math.asin(aside / rod.arm) * (1.0 if rod.behind else -1.0)


def toe_per_travel(linkage: Linkage, rod: TieRod, inner: Point = HERE, travel: float = 0.0) -> float:
    """Toe-in for each metre that the wheel goes up against the body (rad/m): bump steer.

    inner: movement of the inner joint. 1 rad/m is 0.057 deg/mm. Source: slope of `toe_change`.
    """
    one = toe_change(linkage, rod, travel=travel + SLOPE_OVER, inner=inner)
    other = toe_change(linkage, rod, travel=travel - SLOPE_OVER, inner=inner)
    return (one - other) / (2.0 * SLOPE_OVER)


def joint_toe(play: float, arm: float) -> float:
    """How far (rad) a wheel can toe either way for play (m, either way) in a joint of a steering arm (m).

    No sign. Play 0 to 20 mm, arm 50 to 300 mm. Source: own geometry; 1 mm on 130 mm is 0.44 deg.
    """
    return math.asin(length(play, "play", 0.0, 0.02) / length(arm, "the steering arm", 0.05, 0.3))
