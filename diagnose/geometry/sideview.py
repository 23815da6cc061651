"""Caster: from fore-and-aft movement of a joint in side view, and of a bush in plan view.

Signs: caster positive with the top of the axis back (ISO 8855, workshop); x forward, y out (own).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from diagnose.geometry.ranges import an_angle, length

__all__ = ["PlanArm", "SteeringAxis", "ball_after_bush", "caster_after", "movement_for_caster"]


@dataclass(frozen=True, slots=True)
class SteeringAxis:
    """The steering axis in side view: height of its upper joint or top mount above the lower joint (m).

    caster: as it should be (rad, top back positive). Height 0.1 to 1.5 m, caster within 20 degrees.
    """

    height: float
    caster: float = 0.0

    def __post_init__(self) -> None:
        length(self.height, "the height of the steering axis", 0.1, 1.5)
        an_angle(self.caster, "caster", 20.0)


def caster_after(axis: SteeringAxis, lower_forward: float = 0.0, upper_back: float = 0.0) -> float:
    """Caster (rad) after the lower joint went forward and the upper one back by so much (m).

    tan(caster) = how far the top stands back / height. Either movement within 0.2 m, else InputError.
    Source: geometry of a line. ISO 8855, workshop convention.
    """
    back = axis.height * math.tan(axis.caster)
    back += length(lower_forward, "movement of the lower joint", -0.2, 0.2)
    back += length(upper_back, "movement of the upper joint", -0.2, 0.2)
    return math.atan(back / axis.height)


def movement_for_caster(axis: SteeringAxis, caster: float) -> float:
    """How far (m) the lower joint went forward, or the top back, to make this caster (rad) of the axis.

    The inverse of `caster_after`; negative: the lower joint went back, as after a kerb.
    """
    return axis.height * (math.tan(an_angle(caster, "caster", 20.0)) - math.tan(axis.caster))


@dataclass(frozen=True, slots=True)
class PlanArm:
    """A lower arm with two bushes seen from above: (forward, out) of each, in m.

    front, rear: its bushes. ball: its joint. The bushes 0.05 to 1 m apart, the front one ahead.
    """

    front: tuple[float, float]
    rear: tuple[float, float]
    ball: tuple[float, float]

    def __post_init__(self) -> None:
        length(self.front[0] - self.rear[0], "the distance of the bushes along the car", 0.05, 1.0)
        for each in (*self.front, *self.rear, *self.ball):
            length(each, "a place on the arm", -3.0, 3.0)


def ball_after_bush(arm: PlanArm, front_out: float = 0.0, rear_out: float = 0.0) -> tuple[float, float]:
    """Movement (forward, out; m) of the lower joint when the bushes give outwards by so much (m).

    The arm is stiff and keeps its place along the car at the front bush. What goes forward changes caster
    (`caster_after`), what goes out changes camber as a longer arm would (`Change.lower_arm`).
    Either within 50 mm, else InputError. Source: own geometry.
    """
    length(front_out, "give of the front bush", -0.05, 0.05)
    length(rear_out, "give of the rear bush", -0.05, 0.05)
    apart = math.hypot(arm.rear[0] - arm.front[0], arm.rear[1] - arm.front[1])
    across = arm.rear[1] - arm.front[1]
    # From straight back, turning outwards: the bushes' line keeps its length, so its slope tells the turn.
    far = across + rear_out - front_out
    turn = math.asin(max(-1.0, min(1.0, far / apart))) - math.asin(across / apart)
    x, y = arm.ball[0] - arm.front[0], arm.ball[1] - arm.front[1]
    # The rear end goes out as the outer end goes forward.
    cos, sin = math.cos(turn), math.sin(turn)
    moved = (x * cos + y * sin, y * cos - x * sin + front_out)
    return moved[0] - x, moved[1] - y
