"""Toe as an angle, as a length, and as what a side-slip plate shows.

Signs: toe-in positive, for each wheel by itself (workshop convention, see the package).

Length of toe is how much closer the front of a wheel stands than its rear, both taken at one diameter:
diameter x sin(angle). A rule on the net, pi x diameter / 360 for a degree, takes the radius and so gives
half of it; it is not used here. The small-angle form, diameter x angle, is within 0.02 % up to 2 degrees.
"""

from __future__ import annotations

import math

from diagnose.errors import InputError
from diagnose.geometry.ranges import an_angle, between, length

__all__ = [
    "each_toe",
    "feet_per_mile",
    "side_slip",
    "slip_of_feet_per_mile",
    "span_for_toe",
    "span_toe",
    "toe_angle",
    "toe_length",
    "toe_of_side_slip",
    "total_toe",
    "total_toe_length",
]

#: Metres sideways in a kilometre -> feet in a mile: a mile has 5280 feet (international definition).
FEET_PER_MILE = 5.28


def _diameter(value: float) -> float:
    """A diameter at which toe is taken: 0.1 to 2 m."""
    return length(value, "the diameter at which toe is taken", 0.1, 2.0)


def toe_length(angle: float, diameter: float) -> float:
    """Front-to-rear difference (m) of one wheel with this toe (rad), at a rim or tyre of this diameter (m).

    Toe-in positive (workshop convention). Angle within 45 degrees, diameter 0.1 to 2 m, else InputError.
    Source: geometry of a chord; agrees with a published 24 in, 0.15 deg -> 0.062832 in.
    """
    return _diameter(diameter) * math.sin(an_angle(angle, "toe"))


def toe_angle(difference: float, diameter: float) -> float:
    """Toe (rad) of one wheel whose front stands closer than its rear by `difference` (m) at a diameter (m).

    Toe-in positive (workshop convention); the inverse of `toe_length`. Raises InputError for a difference
    that the diameter cannot have.
    """
    most = _diameter(diameter) * math.sqrt(0.5)
    return math.asin(length(difference, "toe at this diameter", -most, most) / diameter)


def total_toe(left: float, right: float) -> float:
    """Toe of an axle: the sum of both wheels' (rad); toe-in positive (workshop convention)."""
    return an_angle(left, "left toe") + an_angle(right, "right toe")


def each_toe(total: float) -> float:
    """Toe of either wheel (rad) when the axle's total is split evenly; toe-in positive."""
    return an_angle(total, "total toe", 90.0) / 2.0


def total_toe_length(left: float, right: float, diameter: float) -> float:
    """Total toe as a length (m): what a bar between the wheels shows, rear less front, toe-in positive."""
    return toe_length(left, diameter) + toe_length(right, diameter)


def span_toe(total: float, span: float) -> float:
    """Total toe as the length (m) that scales at a distance `span` (m) along the car show.

    Each side is read at a right angle to the car, so by the tangent of half the total; toe-in positive.
    Span 0.1 to 10 m. Source: geometry; 2 deg read as 1 in means a span of 28.645 in.
    """
    return 2.0 * length(span, "the span", 0.1, 10.0) * math.tan(an_angle(total, "total toe") / 2.0)


def span_for_toe(total: float, shown: float) -> float:
    """The span (m) at which a total toe (rad) shows as this length (m); the inverse of `span_toe`.

    Both of one sign and not 0, else InputError.
    """
    slope = 2.0 * math.tan(an_angle(total, "total toe") / 2.0)
    if slope == 0.0:
        raise InputError("no span shows a toe of nothing as a length: give the toe that was read with it")
    return length(shown / slope, "the span", 0.1, 10.0)


def side_slip(angle: float) -> float:
    """Metres sideways per kilometre of a wheel that rolls at this angle (rad): 1000 tan(angle).

    Toe-in positive (workshop convention). Whether a plate shows one wheel, the mean or the total differs
    between testers: the caller says which angle goes in. Source: geometry.
    """
    return 1000.0 * math.tan(an_angle(angle, "toe"))


def toe_of_side_slip(slip: float) -> float:
    """The angle (rad) that rolls sideways this much (m/km, -1000 to 1000); the inverse of `side_slip`."""
    return math.atan(between(slip, -1000.0, 1000.0, "side slip", "m/km") / 1000.0)


def feet_per_mile(slip: float) -> float:
    """Side slip in feet per mile, from metres per kilometre."""
    return between(slip, -1000.0, 1000.0, "side slip", "m/km") * FEET_PER_MILE


def slip_of_feet_per_mile(feet: float) -> float:
    """Side slip in metres per kilometre, from feet per mile (-5280 to 5280)."""
    return between(feet, -5280.0, 5280.0, "side slip", "ft/mile") / FEET_PER_MILE
