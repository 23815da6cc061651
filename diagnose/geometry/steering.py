"""From the rim of the steering wheel to the road wheels: ratio, free play, turning angles, caster by swing.

Signs: angles of the rim and of the road wheels count the same way round; which way does not matter here,
but where it is said (workshop convention, see the package).
"""

from __future__ import annotations

import math

from diagnose.errors import InputError
from diagnose.geometry.ranges import an_angle, between, length

__all__ = [
    "ackermann_inner",
    "ackermann_outer",
    "ackermann_share",
    "caster_of_swing",
    "play_angle",
    "play_travel",
    "rim_angle",
    "road_wheel_angle",
    "scaled_play",
    "steering_ratio",
    "toe_out_on_turns",
    "trail",
]

#: To which side the wheels are turned for reading caster: 20 degrees (common practice).
SWING = math.radians(20.0)


def _rim(value: float) -> float:
    """The diameter of a steering wheel: 0.2 to 0.7 m."""
    return length(value, "the steering wheel's diameter", 0.2, 0.7)


def _ratio(value: float) -> float:
    """A steering ratio: 5 to 40."""
    return between(value, 5.0, 40.0, "the steering ratio")


def steering_ratio(rim: float, inner: float, outer: float) -> float:
    """Turn of the rim over the mean turn of the two road wheels (all rad, of one turn to one side).

    No sign: all three positive. Raises InputError for a ratio outside 5 to 40. Source: textbook definition.
    """
    mean = an_angle(inner, "the inner wheel's angle", 80.0) / 2.0
    mean += an_angle(outer, "the outer wheel's angle", 80.0) / 2.0
    turned = an_angle(rim, "the rim's angle", 1500.0, 0.0)
    if not mean > 0.0:
        raise InputError("the road wheels must have turned for a steering ratio: give both angles positive")
    return _ratio(turned / mean)


def play_angle(travel: float, diameter: float) -> float:
    """Angle (rad) of the steering wheel for an arc (m) at a rim of this diameter (m): 2 x travel / diameter.

    No sign: the whole way from stop to stop of the play. Travel 0 to 0.5 m, diameter 0.2 to 0.7 m, else
    InputError. Source: arc of a circle, as a maker's manual has it.
    """
    return 2.0 * length(travel, "travel at the rim", 0.0, 0.5) / _rim(diameter)


def play_travel(angle: float, diameter: float) -> float:
    """Arc (m) at the rim for an angle (rad, 0 to 180 deg) of the steering wheel; inverse of `play_angle`."""
    an_angle(angle, "the angle of play", 180.0, 0.0)
    return angle * _rim(diameter) / 2.0


def scaled_play(limit: float, at: float, diameter: float) -> float:
    """A limit of play (m) given for a rim of diameter `at` (m), for a rim of another diameter (m).

    The angle stays. Source: the British inspection manual (2012 edition, 2.2) scales its figures for 380 mm.
    """
    return play_travel(play_angle(limit, at), diameter)


def road_wheel_angle(rim: float, ratio: float) -> float:
    """Mean angle (rad) of the road wheels for an angle of the rim (rad), through the steering ratio."""
    return an_angle(rim, "the rim's angle", 1500.0) / _ratio(ratio)


def rim_angle(road: float, ratio: float) -> float:
    """Angle (rad) of the rim for a mean angle of the road wheels (rad), through the steering ratio."""
    return an_angle(road, "the road wheels' angle", 60.0) * _ratio(ratio)


def _turned(value: float, what: str) -> float:
    """An angle of a steered wheel: above 0, below 80 degrees."""
    return an_angle(value, what, 80.0, 0.01)


def _pivots(wheelbase: float, track: float) -> float:
    """Distance of the steering pivots over the wheelbase."""
    between_pivots = length(track, "the distance of the pivots", 0.8, 3.0)
    return between_pivots / length(wheelbase, "the wheelbase", 1.0, 8.0)


def ackermann_outer(inner: float, wheelbase: float, track: float) -> float:
    """Angle (rad) of the outer wheel that rolls about one centre with the inner one.

    cot(outer) - cot(inner) = track / wheelbase, track between the steering pivots (both m). No sign.
    A reference only: built cars stand well below it, and that is no fault. Source: textbook identity.
    """
    cot = 1.0 / math.tan(_turned(inner, "the inner wheel's angle"))
    return math.atan(1.0 / (cot + _pivots(wheelbase, track)))


def ackermann_inner(outer: float, wheelbase: float, track: float) -> float:
    """Angle (rad) of the inner wheel that rolls about one centre with the outer one; see `ackermann_outer`.

    Raises InputError where no inner wheel below 80 degrees fits.
    """
    cot = 1.0 / math.tan(_turned(outer, "the outer wheel's angle")) - _pivots(wheelbase, track)
    return _turned(math.atan2(1.0, cot), "the inner wheel's angle")


def toe_out_on_turns(inner: float, outer: float) -> float:
    """How much more (rad) the inner wheel is turned than the outer one; no sign of side.

    Compare a left turn with a right turn: a difference points to a bent steering arm (common practice).
    """
    return _turned(inner, "the inner wheel's angle") - _turned(outer, "the outer wheel's angle")


def ackermann_share(inner: float, outer: float, wheelbase: float, track: float) -> float:
    """How much of full Ackermann two readings have: 1 is all, 0 parallel wheels, below 0 the wrong way.

    Two cars' lock angles in makers' manuals come to about 0.3 and 0.5 of it: a low share is no fault.
    """
    one = 1.0 / math.tan(_turned(outer, "the outer wheel's angle"))
    other = 1.0 / math.tan(_turned(inner, "the inner wheel's angle"))
    return (one - other) / _pivots(wheelbase, track)


def caster_of_swing(turned_out: float, turned_in: float, swing: float = SWING) -> float:
    """Caster (rad) from camber read with the wheel turned out and turned in by `swing` (rad) each.

    (camber out - camber in) / (2 sin swing); camber positive with the top out, caster with the top of the
    axis back (ISO 8855, workshop). Swing 5 to 45 degrees. Source: geometry of small angles; gauges are often
    marked with a factor of 1.5 for 20 degrees, where this gives 1.462 (the 1.5 from memory).
    """
    an_angle(swing, "the swing", 45.0, 5.0)
    change = an_angle(turned_out, "camber turned out") - an_angle(turned_in, "camber turned in")
    return change / (2.0 * math.sin(swing))


def trail(radius: float, caster: float) -> float:
    """Mechanical trail (m): wheel radius x tan(caster), for an axis through the wheel's centre in side view.

    Positive: the axis meets the ground ahead of the contact (ISO 8855). Radius 0.1 to 1 m.
    """
    return length(radius, "the wheel's radius", 0.1, 1.0) * math.tan(an_angle(caster, "caster"))
