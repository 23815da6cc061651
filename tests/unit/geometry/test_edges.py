"""What each function takes: the range that its docstring gives, as its message tells it and as it holds.

A reading that cannot be on a car is refused; the bounds are the project's own choice, stated there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest

from diagnose import geometry as g
from diagnose.errors import InputError
from diagnose.geometry import plane
from diagnose.geometry.limits import LIMITS, Limit
from diagnose.geometry.linkage import camber_change
from diagnose.geometry.plane import Point
from diagnose.geometry.pose import Change
from diagnose.geometry.ranges import an_angle, between, length
from diagnose.geometry.sideview import (
    PlanArm,
    SteeringAxis,
    ball_after_bush,
    caster_after,
    movement_for_caster,
)
from diagnose.geometry.tierod import joint_toe, toe_change

RADIAN = math.pi / 180.0
RIGHT, ARM = g.measured(30.0), g.DEMO_ARM
TYRE = g.parse_tyre("205/55R16")

#: What is called, the range as its message tells it, and the bounds in the caller's unit.
EDGES: list[tuple[Callable[[float], object], str, float, float]] = [
    (lambda it: g.critical_damping(it, 9.0), "the mass must be a number from 1 to 50000 kg", 1, 50000),
    (lambda it: g.critical_damping(9.0, it), "the spring rate must be a number from 1 to 1e+07 N/m", 1, 1e7),
    (lambda it: g.candidates(it, RIGHT, TYRE), "frequency must be a number from 0.1 to 2000 Hz", 0.1, 2000),
    (
        lambda it: g.candidates(9.0, RIGHT, TYRE, resolution=it),
        "the resolution must be a number from 0 to 50 Hz",
        0,
        50,
    ),
    (lambda it: g.alias(it, 9.0), "the frequency must be a number from 0 to 100000 Hz", 0, 1e5),
    (lambda it: g.alias(9.0, it), "the sample rate must be a number from 1 to 1e+06 Hz", 1, 1e6),
    (lambda it: g.beat_period(it, 9.0), "the frequency must be a number from 0 to 2000 Hz", 0, 2000),
    (lambda it: g.beat_period(9.0, it), "the frequency must be a number from 0 to 2000 Hz", 0, 2000),
    (lambda it: g.toe_of_side_slip(it), "side slip must be a number from -1000 to 1000 m/km", -1000, 1000),
    (lambda it: g.wheel_frequency(it, 2.0), "speed must be a number from 0 to 540 km/h", 0, 150),
    (lambda it: g.wheel_frequency(9.0, it), "circumference must be a number from 500 to 6000 mm", 0.5, 6),
    (lambda it: g.play_angle(0.02, it), "wheel's diameter must be a number from 200 to 700 mm", 0.2, 0.7),
    (lambda it: g.play_angle(it, 0.38), "travel at the rim must be a number from 0 to 500 mm", 0, 0.5),
    (lambda it: ball_after_bush(ARM, it), "front bush must be a number from -50 to 50 mm", -0.05, 0.05),
    (lambda it: ball_after_bush(ARM, 0.0, it), "rear bush must be a number from -50 to 50 mm", -0.05, 0.05),
    (lambda it: SteeringAxis(it), "steering axis must be a number from 100 to 1500 mm", 0.1, 1.5),
    (
        lambda it: SteeringAxis(1.0, it),
        "caster must be a number from -20 to 20 deg",
        -20 * RADIAN,
        20 * RADIAN,
    ),
    (lambda it: caster_after(g.DEMO_AXIS, it), "lower joint must be a number from -200 to 200 mm", -0.2, 0.2),
    (lambda it: caster_after(g.DEMO_AXIS, 0.0, it), "joint must be a number from -200 to 200 mm", -0.2, 0.2),
    (
        lambda it: movement_for_caster(g.DEMO_AXIS, it),
        "caster must be a number from -20 to 20 deg",
        -20 * RADIAN,
        20 * RADIAN,
    ),
    (lambda it: g.Point(it, 0.0), "movement sideways must be a number from -3000 to 3000 mm", -3, 3),
    (lambda it: g.Point(0.0, it), "movement upwards must be a number from -3000 to 3000 mm", -3, 3),
    (lambda it: Change(lower_arm=it), "change of an arm must be a number from -200 to 200 mm", -0.2, 0.2),
    (lambda it: Change(upper_arm=it), "change of an arm must be a number from -200 to 200 mm", -0.2, 0.2),
    (lambda it: Change(bend=it), "the bend must be a number from -15 to 15 deg", -15 * RADIAN, 15 * RADIAN),
    (lambda it: joint_toe(it, 0.13), "play must be a number from 0 to 20 mm", 0, 0.02),
    (lambda it: joint_toe(0.001, it), "the steering arm must be a number from 50 to 300 mm", 0.05, 0.3),
    (lambda it: g.crab_offset(0.01, it), "the wheelbase must be a number from 1000 to 8000 mm", 1, 8),
    (lambda it: g.setback_angle(it, 1.5), "set-back must be a number from -1000 to 1000 mm", -1, 1),
    (lambda it: g.setback_angle(0.01, it), "the track must be a number from 800 to 3000 mm", 0.8, 3),
    (lambda it: g.ride_frequency(it, 250.0), "the rate must be a number from 1 to 1e+07 N/m", 1, 1e7),
    (lambda it: g.ride_frequency(9e3, it), "the mass must be a number from 1 to 50000 kg", 1, 50000),
    (lambda it: g.static_deflection(it), "ride frequency must be a number from 0.2 to 15 Hz", 0.2, 15),
    (lambda it: g.toe_length(0.01, it), "toe is taken must be a number from 100 to 2000 mm", 0.1, 2),
    (
        lambda it: g.rolling_circumference(TYRE, it),
        "worn tread must be a number from 0 to 15 mm",
        0,
        0.015,
    ),
]


@pytest.mark.parametrize(("call", "told", "low", "high"), EDGES)
def test_the_bounds_are_as_told(call: Callable[[float], object], told: str, low: float, high: float) -> None:
    call(low)
    call(high)
    for beyond in (math.nan, low - 1e-6 * max(1.0, abs(low)), high + 1e-6 * high):
        with pytest.raises(InputError) as error:
            call(beyond)
        assert f"{told}, not" in str(error.value)


NAN = math.nan
BONE, STRUT, ROD = g.DEMO_WISHBONE, g.DEMO_STRUT, g.DEMO_STRUT_ROD


def beside(point: Point, y: float = 0.0, z: float = 0.0) -> Point:
    """The point moved."""
    return point + Point(y, z)


#: What is refused, and the range that the message tells; here two values or two places make what has bounds.
RANGES: list[tuple[Callable[[], object], str]] = [
    (lambda: replace(BONE, pivot=beside(BONE.ball, -0.04)), "to its joint|50 to 1500 mm, not 40"),
    (lambda: replace(BONE, upper_pivot=beside(BONE.upper_ball, -1.6)), "upper pivot|50 to 1500 mm, not 1600"),
    (lambda: replace(BONE, upper_ball=beside(BONE.ball, 0.0, 0.04)), "above the lower one|50 to 1000 mm"),
    (lambda: replace(BONE, camber=20.01 * RADIAN), "camber|-20 to 20 deg"),
    (lambda: replace(BONE, pivot=beside(BONE.ball, -0.1, 0.2)), "slope of the lower arm|-60 to 60 deg"),
    (lambda: replace(STRUT, pivot=beside(STRUT.ball, -0.04)), "lower joint|50 to 1500 mm, not 40"),
    (lambda: replace(STRUT, top=beside(STRUT.ball, 0.0, 0.09)), "top mount|100 to 1500 mm, not 90"),
    (lambda: replace(STRUT, camber=-20.01 * RADIAN), "camber|-20 to 20 deg"),
    (lambda: replace(STRUT, offset=0.101), "offset of the lower joint|-100 to 100 mm, not 101"),
    (lambda: replace(STRUT, pivot=beside(STRUT.ball, -0.1, -0.2)), "slope of the lower arm|-60 to 60 deg"),
    (lambda: replace(ROD, arm=0.301), "steering arm|50 to 300 mm, not 301"),
    (lambda: replace(ROD, inner=beside(ROD.outer, -0.049)), "along the tie rod|50 to 1500 mm, not 49"),
    (lambda: toe_change(STRUT, ROD, longer=0.101), "change of the tie rod|-100 to 100 mm, not 101"),
    (lambda: Change(lower=Point(0.21, 0.0)), "movement of a pivot|-200 to 200 mm, not 210"),
    (lambda: Change(upper=Point(0.0, -0.21)), "movement of a pivot|-200 to 200 mm, not -210"),
    (lambda: PlanArm((0.04, 0.3), (0.0, 0.3), (0.0, 0.7)), "along the car|50 to 1000 mm, not 40"),
    (lambda: PlanArm((0.1, 3.1), (0.0, 0.3), (0.0, 0.7)), "a place on the arm|-3000 to 3000 mm"),
    (lambda: g.trail(1.01, 0.1), "radius|100 to 1000 mm, not 1010"),
    (lambda: g.trail(0.3, 45.1 * RADIAN), "caster|-45 to 45 deg"),
    (lambda: g.caster_of_swing(0.0, 0.0, 4.9 * RADIAN), "the swing|5 to 45 deg"),
    (lambda: g.steering_ratio(1501 * RADIAN, 0.5, 0.5), "rim's angle|0 to 1500 deg"),
    (lambda: g.steering_ratio(1.0, 81 * RADIAN, 0.5), "inner wheel's angle|-80 to 80 deg"),
    (lambda: g.steering_ratio(1.0, 0.5, 81 * RADIAN), "outer wheel's angle|-80 to 80 deg"),
    (lambda: g.play_travel(181 * RADIAN, 0.38), "angle of play|0 to 180 deg"),
    (lambda: g.road_wheel_angle(1501 * RADIAN, 15.0), "rim's angle|-1500 to 1500 deg"),
    (lambda: g.road_wheel_angle(1.0, NAN), "steering ratio|5 to 40, not"),
    (lambda: g.rim_angle(61 * RADIAN, 15.0), "road wheels' angle|-60 to 60 deg"),
    (lambda: g.ackermann_outer(81 * RADIAN, 2.6, 1.5), "angle|0.01 to 80 deg"),
    (lambda: g.ackermann_outer(0.3, NAN, 1.5), "wheelbase|1000 to 8000 mm"),
    (lambda: g.ackermann_outer(0.3, 2.6, NAN), "distance of the pivots|800 to 3000 mm"),
    (lambda: g.spring_rate_of_period(NAN, 1.0, 0.3), "the mass|1 to 50000 kg"),
    (lambda: g.spring_rate_of_period(9.0, NAN, 0.3), "the period|0.01 to 100 s"),
    (lambda: g.damping_of_decrement(NAN), "decrement|0 to 40, not"),
    (lambda: g.decrement_of_damping(NAN), "damping ratio|0 to 0.999, not"),
    (lambda: g.swings_until(0.3, NAN), "still seen|0.001 to 0.999, not"),
    (lambda: g.overshoot(0.3, 1001), "number of swings|0 to 1000, not 1001"),
    (lambda: g.log_decrement(2.0, 1.0, 1001.0), "between the peaks|0.5 to 1000, not 1001"),
    (lambda: g.damping_of_peaks([2.0, 1.0], 1.5), "between the peaks|0.5 to 1, not 1.5"),
    (lambda: g.wheel_rate(NAN, 0.6), "spring rate|1 to 1e+07 N/m"),
    (lambda: g.wheel_rate(9e3, NAN), "motion ratio|0.1 to 2, not"),
    (lambda: g.spring_rate(NAN, 0.6), "rate at the wheel|1 to 1e+07 N/m"),
    (lambda: g.spring_rate(9e3, NAN), "motion ratio|0.1 to 2, not"),
    (lambda: g.motion_ratio(NAN, 0.05), "travel of the spring|1 to 1000 mm"),
    (lambda: g.motion_ratio(0.05, NAN), "travel of the wheel|1 to 1000 mm"),
    (lambda: g.ride_frequency_of_deflection(NAN), "static deflection|1 to 5000 mm"),
    (lambda: g.toe_angle(NAN, 0.4), "this diameter|to"),
    (lambda: g.toe_of_side_slip(NAN), "side slip|-1000 to 1000 m/km"),
    (lambda: g.span_toe(0.01, NAN), "the span|100 to 10000 mm"),
    (lambda: g.span_for_toe(0.01, 0.0002), "the span|100 to 10000 mm"),
    (lambda: g.feet_per_mile(NAN), "side slip|-1000 to 1000 m/km"),
    (lambda: g.slip_of_feet_per_mile(NAN), "side slip|-5280 to 5280 ft/mile"),
    (lambda: g.each_toe(91 * RADIAN), "total toe|-90 to 90 deg"),
    (lambda: g.inclination_of(91 * RADIAN, 0.0), "included angle|-90 to 90 deg"),
    (lambda: g.rim_offset(0.01, NAN), "steering ratio|5 to 40, not"),
    (lambda: g.pull_of_camber(0.1, 0.0, -0.01), "threshold|0 to 45 deg"),
    (lambda: g.expected_orders(RIGHT, TYRE, final_drive=8.1), "final drive ratio|1 to 8, not 8.1"),
    (lambda: g.expected_orders(RIGHT, TYRE, rpm=299.0), "engine speed|300 to 12000 rpm"),
    (lambda: g.expected_orders(RIGHT, TYRE, final_drive=3.5, gear_ratio=0.2), "gear ratio|0.3 to 8, not"),
    (lambda: g.expected_orders(RIGHT, TYRE, rpm=900.0, rpm_share=0.51), "engine speed|0 to 0.5, not"),
    (lambda: g.rolling_circumference(TYRE, factor=2.79), "rolling factor|2.8 to 3.14159, not"),
    (lambda: g.parse_tyre("205/55R31"), "rim in|8 to 30 in"),
    (lambda: g.parse_tyre("465/55R16"), "width in|105 to 455 mm"),
    (lambda: g.parse_tyre("205/15R16"), "height in|20 to 100 percent"),
    (lambda: g.by_speedometer(NAN), "speed shown|0 to 540 km/h"),
    (lambda: g.measured(30.0, NAN), "uncertainty of speed|0 to 0.5, not"),
    (lambda: g.temperature_split(NAN, 20.0), "left temperature|-60 to 1000 °C"),
    (lambda: g.temperature_split(20.0, NAN), "right temperature|-60 to 1000 °C"),
    (lambda: g.difference_in_points(NAN, 20.0), "left reading|0 to 100 percent"),
    (lambda: g.difference_in_points(20.0, NAN), "right reading|0 to 100 percent"),
    (lambda: g.eccentricity(NAN), "runout|0 to 200 mm"),
    (lambda: g.total_runout([0.0, 0.1, 0.21]), "a reading of runout|-200 to 200 mm, not 210"),
    (lambda: g.thrust_of_crab(NAN, 2.6), "crab offset|-1838.48 to 1838.48 mm"),
    (lambda: g.setback_distance(0.1, NAN), "the track|800 to 3000 mm"),
    (lambda: g.decimal_degrees(1000.1), "at most 1000 radians|an angle to be shown"),
]


@pytest.mark.parametrize(("call", "told"), RANGES)
def test_what_cannot_be_is_told_with_its_range(call: Callable[[], object], told: str) -> None:
    with pytest.raises(InputError) as error:
        call()
    for each in told.split("|"):
        assert each in str(error.value)


def test_bounds_belong_to_the_range() -> None:
    assert between(1.0, 1.0, 2.0, "it") == 1.0
    assert length(2.0, "it", 1.0, 2.0) == 2.0
    assert an_angle(math.radians(-45.0), "it") == math.radians(-45.0)
    for beyond in (-45.01, 45.01, math.inf):
        with pytest.raises(InputError, match="it must be a number from -45 to 45 deg, not"):
            an_angle(math.radians(beyond), "it")


def test_the_travel_of_a_wheel_is_within_300_mm() -> None:
    for rod in (
        lambda it: camber_change(g.DEMO_STRUT, travel=it),
        lambda it: toe_change(g.DEMO_STRUT, g.DEMO_STRUT_ROD, travel=it),
    ):
        for beyond in (-0.301, 0.301):
            with pytest.raises(InputError, match="travel of the wheel must be a number from -300 to 300 mm"):
                rod(beyond)


def test_which_limits_are_the_least_allowed() -> None:
    """Tread, clearance at lock and the phase shift of a damper must reach theirs, by their documents."""
    least = {row.quantity for row in LIMITS if row.least}
    assert least == {"tread depth", "tyre clearance at lock", "damper phase shift"}
    assert [row for row in LIMITS if row.quantity in least and not row.least] == []


def test_what_is_no_length_and_no_angle_stays_as_printed() -> None:
    """Percent, m/km, turns, cycles, years, newtons and shares have no other unit; inches are exact."""
    same = {"percent", "m/km", "turns", "cycles", "years", "N", "times the maker's figure", "of the diameter"}
    assert {row.unit for row in LIMITS} == same | {"in", "mm", "deg"}
    for row in LIMITS:
        factor = {"in": 0.0254, "mm": 0.001, "deg": math.pi / 180.0}.get(row.unit, 1.0)
        assert row.si == pytest.approx(row.value * factor, rel=1e-12)


def test_a_limit_that_needs_no_wheel_takes_none() -> None:
    row = Limit("play", 2.0, "in", "US", "demo", "seen")
    assert row.keeps(2 * 0.0254)
    assert not row.keeps(2 * 0.0254 * 1.0001)


def test_a_zero_that_is_never_met_lies_in_what_is_left(monkeypatch: pytest.MonkeyPatch) -> None:
    """Own arithmetic: one try at (x + 0.5)**3 = 1 from 0 and 1 leaves a piece whose middle is given."""
    monkeypatch.setattr(plane, "TRIES", 1)
    found = plane.root_near(lambda x: (x + 0.5) ** 3 - 1.0, 1.0, 3.0)
    assert found is not None
    # (near f(far) - far f(near)) / (f(far) - f(near)) from 0 and 1, f = -0.875 and 2.375: 0.875 / 3.25.
    assert found == pytest.approx((1.0 + 0.875 / 3.25) / 2.0, rel=1e-12)
