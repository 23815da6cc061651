"""Angles of an axle as a whole: thrust, crab, set-back, left against right, included angle.

Signs: see the package. All that points or lies to one side counts to the right (workshop convention; two
makers' manuals write thrust this way, one the other way round, so a printed value needs its convention).
ISO 8855 counts yaw to the left: turn the sign. SAE J670 with its z axis down counts as here.
"""

from __future__ import annotations

import math
from typing import Literal

from diagnose.geometry.ranges import an_angle, between, length

__all__ = [
    "Side",
    "crab_offset",
    "cross",
    "inclination_of",
    "included_angle",
    "pull_of_camber",
    "pull_of_caster",
    "rim_offset",
    "setback_angle",
    "setback_distance",
    "thrust_angle",
    "thrust_of_crab",
    "toe_against",
]

Side = Literal["left", "right"]

#: A cross value from which a car pulls: half a degree, in two teaching texts for camber, one for caster.
PULLS_FROM = math.radians(0.5)


def thrust_angle(left: float, right: float) -> float:
    """Where the rear axle pushes (rad): (left - right) / 2 of the rear wheels' toe, toe-in positive.

    Positive: to the right of the centre line (workshop convention, two makers' manuals of 2004 and 2007).
    Within 45 degrees each, else InputError.
    """
    return (an_angle(left, "left rear toe") - an_angle(right, "right rear toe")) / 2.0


def toe_against(thrust: float, left: float, right: float) -> tuple[float, float]:
    """Front toe (left, right; rad) against the thrust line, from toe against the centre line.

    Toe-in and thrust to the right positive. The total stays. Source: a maker's manual of 2013 measures
    front toe against the bisector of the rear wheels.
    """
    off = an_angle(thrust, "the thrust angle")
    return an_angle(left, "left front toe") - off, an_angle(right, "right front toe") + off


def rim_offset(thrust: float, ratio: float, left: float = 0.0, right: float = 0.0) -> float:
    """How far the steering wheel stands off centre on a straight road (rad), to the right positive.

    thrust: of the rear axle, to the right positive. ratio: steering ratio, 5 to 40. left, right: toe of the
    front wheels against the centre line with the steering wheel centred, toe-in positive.
    The front wheels must on average follow the thrust line, so ratio x (thrust - (left - right) / 2).
    Source: own geometry. Workshop convention.
    """
    steered = (an_angle(left, "left front toe") - an_angle(right, "right front toe")) / 2.0
    return between(ratio, 5.0, 40.0, "the steering ratio") * (an_angle(thrust, "the thrust angle") - steered)


def crab_offset(thrust: float, wheelbase: float) -> float:
    """How far (m) the rear axle's middle runs beside the front axle's: wheelbase x sin(thrust).

    To the right positive, as thrust (workshop convention). Wheelbase 1 to 8 m. Source: own geometry.
    """
    return length(wheelbase, "the wheelbase", 1.0, 8.0) * math.sin(an_angle(thrust, "the thrust angle"))


def thrust_of_crab(offset: float, wheelbase: float) -> float:
    """The thrust angle (rad) at which the rear axle runs this far (m) to the right of the front one."""
    most = length(wheelbase, "the wheelbase", 1.0, 8.0) * math.sqrt(0.5)
    return math.asin(length(offset, "the crab offset", -most, most) / wheelbase)


def setback_angle(distance: float, track: float) -> float:
    """Angle (rad) of an axle whose right wheel stands `distance` (m) further back than the left one.

    Right wheel further back positive, so that a beam axle set back on the right pushes to the right.
    Track 0.8 to 3 m, at a right angle to the car: tangent form (workshop convention; own geometry).
    """
    return math.atan(length(distance, "set-back", -1.0, 1.0) / length(track, "the track", 0.8, 3.0))


def setback_distance(angle: float, track: float) -> float:
    """Distance (m) by which the right wheel stands further back, from the set-back angle (rad)."""
    return length(track, "the track", 0.8, 3.0) * math.tan(an_angle(angle, "the set-back angle"))


def cross(left: float, right: float) -> float:
    """Left less right (rad), of camber, caster or inclination (workshop convention)."""
    return an_angle(left, "the left angle") - an_angle(right, "the right angle")


def _towards(value: float, threshold: float) -> Side | None:
    """Left for a value above the threshold, right for one below its negative."""
    if not abs(value) > an_angle(threshold, "the threshold", 45.0, 0.0):
        return None
    return "left" if value > 0.0 else "right"


def pull_of_camber(left: float, right: float, threshold: float = PULLS_FROM) -> Side | None:
    """The side to which cross-camber pulls: that of the more positive camber; None within the threshold.

    Camber positive with the top out (ISO 8855, workshop). Source: an alignment glossary and a trade text.
    """
    return _towards(cross(left, right), threshold)


def pull_of_caster(left: float, right: float, threshold: float = PULLS_FROM) -> Side | None:
    """The side to which cross-caster pulls: that of the less positive caster; None within the threshold.

    Caster positive with the top of the axis back (ISO 8855, workshop). Source: an alignment glossary.
    """
    return _towards(-cross(left, right), threshold)


def included_angle(inclination: float, camber: float) -> float:
    """Steering-axis inclination (top in positive) plus camber (top out positive), in rad.

    ISO 8855 for both signs (inclination from memory). It stays when a pivot moves and changes when the part
    that carries both axis and spindle is bent. Source: a maker's manual of 2007.
    """
    return an_angle(inclination, "inclination") + an_angle(camber, "camber")


def inclination_of(included: float, camber: float) -> float:
    """Steering-axis inclination (rad) from the included angle and camber; signs as `included_angle`."""
    return an_angle(included, "the included angle", 90.0) - an_angle(camber, "camber")
