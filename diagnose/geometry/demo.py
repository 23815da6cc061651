"""Demo: linkages of no car, with round dimensions of our own such as a small car might have (m)."""

from __future__ import annotations

import math

from diagnose.geometry.plane import Point
from diagnose.geometry.sideview import PlanArm, SteeringAxis
from diagnose.geometry.strut import Strut
from diagnose.geometry.tierod import TieRod
from diagnose.geometry.wishbone import DoubleWishbone

__all__ = [
    "DEMO_ARM",
    "DEMO_AXIS",
    "DEMO_STRUT",
    "DEMO_STRUT_ROD",
    "DEMO_WISHBONE",
    "DEMO_WISHBONE_ROD",
]

#: Strut with 13 degrees of inclination, the joint 20 mm outside of the rod's line.
DEMO_STRUT = Strut(
    pivot=Point(0.360, 0.190),
    ball=Point(0.700, 0.170),
    top=Point(0.548, 0.830),
    centre=Point(0.755, 0.310),
    camber=math.radians(-0.5),
    offset=0.020,
)

#: Double wishbone with 7 degrees of inclination, the upper arm shorter and lower at its inner end.
DEMO_WISHBONE = DoubleWishbone(
    pivot=Point(0.320, 0.190),
    ball=Point(0.700, 0.180),
    upper_pivot=Point(0.420, 0.440),
    upper_ball=Point(0.665, 0.465),
    centre=Point(0.755, 0.310),
    camber=math.radians(-0.5),
)

#: Tie rods behind the axle, with little bump steer on the linkage named.
DEMO_STRUT_ROD = TieRod(inner=Point(0.350, 0.240), outer=Point(0.670, 0.228), arm=0.130)
DEMO_WISHBONE_ROD = TieRod(inner=Point(0.340, 0.230), outer=Point(0.680, 0.225), arm=0.130)

#: The strut's steering axis in side view, and its lower arm from above.
DEMO_AXIS = SteeringAxis(height=0.660, caster=math.radians(4.0))
DEMO_ARM = PlanArm(front=(0.000, 0.360), rear=(-0.300, 0.380), ball=(0.020, 0.700))
