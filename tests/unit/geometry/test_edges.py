"""What each function takes: the range that its docstring gives, as its message tells it and as it holds.

A reading that cannot be on a car is refused; the bounds are the project's own choice, stated there.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from diagnose import geometry as g
from diagnose.errors import InputError
from diagnose.geometry import plane
from diagnose.geometry.limits import LIMITS, Limit
from diagnose.geometry.linkage import camber_change
from diagnose.geometry.pose import Change
from diagnose.geometry.ranges import an_angle, between, length
from diagnose.geometry.sideview import SteeringAxis, ball_after_bush, caster_after, movement_for_caster
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
