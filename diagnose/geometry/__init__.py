"""Wheel geometry and what readings of it mean: functions from numbers to numbers, with no car and no file.

Inside are metres, radians, kilograms, newtons, seconds and hertz. Degrees and minutes, millimetres and
inches are met at the edge only (`typed`). What cannot be is refused with InputError, in words.

Signs, for all of the package. "Workshop" is the workshop convention; where ISO 8855:2011 or SAE J670 say
the same it is named, quoted at second hand or from memory, for neither text was open.

| quantity | positive | convention |
|---|---|---|
| toe, one wheel or total | leading edges towards the middle (toe-in) | workshop |
| camber | top of the wheel out | ISO 8855, workshop |
| caster | top of the steering axis back | ISO 8855, workshop |
| inclination of the steering axis | top of the axis in | ISO 8855 (memory), workshop |
| included angle | inclination + camber | workshop |
| thrust, crab, angle of the rim | to the right, seen from above | workshop; SAE J670 with z down |
| set-back | right wheel further back | workshop |
| cross values | left less right | workshop |
| travel of a wheel | up against the body: the car lower | own |
| coordinates | y out from the middle of the car, z up, x forward, for a wheel of either side | own |

ISO 8855 counts turning to the left positive (x forward, y left, z up): turn the sign of thrust and rim
angles when handing them on. One maker's manual writes thrust the other way round too.

All public names are here, each imported on first use, and in their modules:

    from diagnose.geometry import parse_angle, thrust_angle

    thrust_angle(parse_angle("0°15'"), parse_angle("-0°05'"))
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    # The names are those that the modules list: written out they would stand here twice.
    from diagnose.geometry.axle import *  # noqa: F403
    from diagnose.geometry.damping import *  # noqa: F403
    from diagnose.geometry.demo import *  # noqa: F403
    from diagnose.geometry.limits import *  # noqa: F403
    from diagnose.geometry.linkage import *  # noqa: F403
    from diagnose.geometry.orders import *  # noqa: F403
    from diagnose.geometry.plane import *  # noqa: F403
    from diagnose.geometry.pose import *  # noqa: F403
    from diagnose.geometry.readings import *  # noqa: F403
    from diagnose.geometry.ride import *  # noqa: F403
    from diagnose.geometry.sideview import *  # noqa: F403
    from diagnose.geometry.speed import *  # noqa: F403
    from diagnose.geometry.steering import *  # noqa: F403
    from diagnose.geometry.strut import *  # noqa: F403
    from diagnose.geometry.tierod import *  # noqa: F403
    from diagnose.geometry.toe import *  # noqa: F403
    from diagnose.geometry.typed import *  # noqa: F403
    from diagnose.geometry.tyres import *  # noqa: F403
    from diagnose.geometry.wishbone import *  # noqa: F403

#: Where the public names live; a test holds this to what the modules list.
_HOMES = {
    "axle": (
        "Side crab_offset cross inclination_of included_angle pull_of_camber pull_of_caster rim_offset "
        "setback_angle setback_distance thrust_angle thrust_of_crab toe_against"
    ),
    "damping": (
        "critical_damping damping_of_decrement damping_of_peaks decrement_of_damping log_decrement "
        "overshoot spring_rate_of_period swings_until visible_swings"
    ),
    "demo": "DEMO_ARM DEMO_AXIS DEMO_STRUT DEMO_STRUT_ROD DEMO_WISHBONE DEMO_WISHBONE_ROD",
    "limits": "LIMITS Limit limits_of",
    "linkage": "Linkage Where camber_change camber_per_travel moved movement_for_camber solve",
    "orders": "Candidate Order Part alias beat_period candidates expected_orders firing_order",
    "plane": "HERE Point",
    "pose": "SOUND Change Pose",
    "readings": (
        "BANDS_OF_A_LABORATORY BANDS_OF_DAMPER_MAKERS Band Bands Harmonic band_of difference_in_points "
        "eccentricity first_harmonic imbalance temperature_split thickness_variation total_runout"
    ),
    "ride": (
        "GRAVITY motion_ratio ride_frequency ride_frequency_of_deflection spring_rate static_deflection "
        "wheel_rate"
    ),
    "sideview": "PlanArm SteeringAxis ball_after_bush caster_after movement_for_caster",
    "speed": "KMH Speed by_speedometer measured",
    "steering": (
        "ackermann_inner ackermann_outer ackermann_share caster_of_swing play_angle play_travel rim_angle "
        "road_wheel_angle scaled_play steering_ratio toe_out_on_turns trail"
    ),
    "strut": "Strut",
    "tierod": "TieRod joint_toe toe_change toe_per_travel",
    "toe": (
        "each_toe feet_per_mile side_slip slip_of_feet_per_mile span_for_toe span_toe toe_angle "
        "toe_length toe_of_side_slip total_toe total_toe_length"
    ),
    "typed": "Typed decimal_degrees degrees_minutes parse_angle parse_length parse_toe parse_typed",
    "tyres": (
        "FREE ROLLING_CROSS_PLY ROLLING_RADIAL TyreSize parse_tyre rolling_circumference tyre_date "
        "wheel_frequency"
    ),
    "wishbone": "DoubleWishbone",
}
_HOME = {name: module for module, names in _HOMES.items() for name in names.split()}

__all__ = sorted(_HOME)


def __getattr__(name: str) -> Any:
    """Import a public name from its home."""
    if name in _HOME:
        return getattr(import_module(f"diagnose.geometry.{_HOME[name]}"), name)
    raise AttributeError(f"module 'diagnose.geometry' has no attribute {name!r}")
