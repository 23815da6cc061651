"""Toe that follows a tie rod, caster that follows joints and bushes."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.demo import (
    DEMO_ARM,
    DEMO_AXIS,
    DEMO_STRUT,
    DEMO_STRUT_ROD,
    DEMO_WISHBONE,
    DEMO_WISHBONE_ROD,
)
from diagnose.geometry.linkage import Linkage, moved, solve
from diagnose.geometry.plane import Point
from diagnose.geometry.sideview import (
    PlanArm,
    SteeringAxis,
    ball_after_bush,
    caster_after,
    movement_for_caster,
)
from diagnose.geometry.tierod import TieRod, joint_toe, toe_change, toe_per_travel
from diagnose.geometry.wishbone import DoubleWishbone

PAIRS = pytest.mark.parametrize(
    ("linkage", "rod"), [(DEMO_STRUT, DEMO_STRUT_ROD), (DEMO_WISHBONE, DEMO_WISHBONE_ROD)]
)
SQUARE = DoubleWishbone(Point(0.3, 0.2), Point(0.7, 0.2), Point(0.3, 0.5), Point(0.7, 0.5), Point(0.75, 0.3))


# Tie rods ---------------------------------------------------------------------------------------------


def test_a_millimetre_at_a_joint() -> None:
    """Own arithmetic: 1 mm on a steering arm of 130 mm."""
    assert math.degrees(joint_toe(0.001, 0.130)) == pytest.approx(0.44, abs=1e-3)
    level = TieRod(Point(0.3, 0.25), Point(0.68, 0.25), 0.130)
    assert toe_change(SQUARE, level, longer=0.001) == pytest.approx(joint_toe(0.001, 0.130), abs=1e-12)


@PAIRS
def test_as_drawn_there_is_no_toe(linkage: Linkage, rod: TieRod) -> None:
    assert toe_change(linkage, rod) == pytest.approx(0.0, abs=1e-12)


@PAIRS
def test_a_shortened_rod_toes_out_behind_the_axle_and_in_ahead_of_it(linkage: Linkage, rod: TieRod) -> None:
    """Common practice, from a kerb: which way a bent rod shows."""
    assert toe_change(linkage, rod, longer=-0.003) < 0.0
    ahead = replace(rod, behind=False)
    assert toe_change(linkage, ahead, longer=-0.003) == -toe_change(linkage, rod, longer=-0.003)
    toes = [toe_change(linkage, rod, longer=mm / 1000) for mm in range(-10, 11)]
    assert toes == sorted(toes)


def test_a_rod_like_its_arms_has_no_bump_steer() -> None:
    """Own: a rod parallel to two equal parallel arms and as long as they are follows them exactly."""
    rod = TieRod(Point(0.3, 0.3), Point(0.7, 0.3), 0.130)
    for travel in (-0.06, -0.02, 0.05):
        assert toe_change(SQUARE, rod, travel=travel) == pytest.approx(0.0, abs=1e-12)


def test_a_shorter_parallel_rod_by_hand() -> None:
    """Own arithmetic: arms of 0.4 m, a rod of 0.3 m, 60 mm up; the rod draws in more than the arms."""
    rod = TieRod(Point(0.4, 0.3), Point(0.7, 0.3), 0.130)
    missing = (0.3 - math.sqrt(0.09 - 0.0036)) - (0.4 - math.sqrt(0.16 - 0.0036))
    assert toe_change(SQUARE, rod, travel=0.06) == pytest.approx(-math.asin(missing / 0.130), abs=1e-12)


def test_a_rod_that_points_at_the_instant_centre_has_no_slope() -> None:
    """Textbook: bump steer starts at nothing when the rod's line goes through the linkage's centre."""
    lower, upper = (
        DEMO_WISHBONE.ball - DEMO_WISHBONE.pivot,
        DEMO_WISHBONE.upper_ball - DEMO_WISHBONE.upper_pivot,
    )
    a, b = lower.z / lower.y, upper.z / upper.y
    y = DEMO_WISHBONE.upper_ball.z - b * DEMO_WISHBONE.upper_ball.y
    y = (y - DEMO_WISHBONE.ball.z + a * DEMO_WISHBONE.ball.y) / (a - b)
    centre = Point(y, DEMO_WISHBONE.ball.z + a * (y - DEMO_WISHBONE.ball.y))
    outer = Point(0.68, 0.225)
    slope = (outer.z - centre.z) / (outer.y - centre.y)
    rod = TieRod(Point(0.34, outer.z - 0.34 * slope), outer, 0.130)
    assert toe_per_travel(DEMO_WISHBONE, rod) == pytest.approx(0.0, abs=1e-6)
    # A rack that stands higher than that toes in on the way up, behind the axle; a lower one out.
    assert toe_per_travel(DEMO_WISHBONE, rod, inner=Point(0.0, 0.005)) > 0.05
    assert toe_per_travel(DEMO_WISHBONE, rod, inner=Point(0.0, -0.005)) < -0.05


@PAIRS
def test_bump_steer_is_the_slope_of_toe(linkage: Linkage, rod: TieRod) -> None:
    high = replace(rod, inner=rod.inner + Point(0.0, 0.010))
    slope = (toe_change(linkage, high, travel=0.002) - toe_change(linkage, high, travel=-0.002)) / 0.004
    assert toe_per_travel(linkage, high) == pytest.approx(slope, rel=1e-3)


@PAIRS
def test_a_lower_arm_bent_short_toes_in_behind_the_axle(linkage: Linkage, rod: TieRod) -> None:
    """Own geometry: the axis goes in, the rod holds its end: as if the rod had grown."""
    assert toe_change(linkage, rod, moved("lower arm", -0.005)) > 0.0
    assert toe_change(linkage, replace(rod, behind=False), moved("lower arm", -0.005)) < 0.0


def test_rods_that_cannot_close() -> None:
    with pytest.raises(InputError, match="the tie rod cannot close: its outer joint would have to go 1"):
        toe_change(SQUARE, TieRod(Point(0.3, 0.3), Point(0.7, 0.3), 0.08), longer=0.1)
    with pytest.raises(InputError, match="the tie rod cannot close"):
        toe_change(SQUARE, TieRod(Point(0.6, 0.3), Point(0.7, 0.3), 0.13), travel=0.15)
    with pytest.raises(InputError, match="the steering arm must be"):
        TieRod(Point(0.3, 0.3), Point(0.7, 0.3), 130.0)
    with pytest.raises(InputError, match="the way out along the tie rod"):
        TieRod(Point(0.7, 0.3), Point(0.3, 0.3), 0.13)
    with pytest.raises(InputError, match="the change of the tie rod must be"):
        toe_change(SQUARE, TieRod(Point(0.3, 0.3), Point(0.7, 0.3), 0.13), longer=1.0)
    with pytest.raises(InputError, match="play must be"):
        joint_toe(1.0, 0.13)


# Caster -----------------------------------------------------------------------------------------------


def test_caster_by_hand() -> None:
    """Own arithmetic: an upright axis of 0.5 m whose lower joint goes forward by 10 mm: 1.146 deg."""
    upright = SteeringAxis(0.5)
    assert math.degrees(caster_after(upright, lower_forward=0.010)) == pytest.approx(1.1458, abs=1e-4)
    assert caster_after(upright, upper_back=0.010) == caster_after(upright, lower_forward=0.010)
    assert caster_after(upright, lower_forward=-0.010) == -caster_after(upright, lower_forward=0.010)
    assert caster_after(upright, lower_forward=0.010, upper_back=-0.010) == 0.0


@settings(deadline=None)
@given(st.floats(-0.05, 0.05), st.floats(-0.1, 0.15), st.floats(0.2, 0.8))
def test_the_movement_behind_a_caster_is_found_again(by: float, caster: float, height: float) -> None:
    axis = SteeringAxis(height, caster)
    assert movement_for_caster(axis, caster_after(axis, lower_forward=by)) == pytest.approx(by, abs=1e-12)
    assert caster_after(axis, lower_forward=by + 0.001) > caster_after(axis, lower_forward=by)


def test_a_torn_rear_bush_moves_the_joint_forward_and_adds_caster() -> None:
    forward, out = ball_after_bush(DEMO_ARM, rear_out=0.005)
    # The arm turns about its front bush: 5 mm on 0.3 m is 0.34 m of arm times as much.
    assert forward == pytest.approx(0.005 / 0.3 * 0.34, rel=2e-2)
    assert abs(out) < 0.001
    assert caster_after(DEMO_AXIS, lower_forward=forward) > DEMO_AXIS.caster
    assert ball_after_bush(DEMO_ARM, rear_out=-0.005)[0] < 0.0


@settings(deadline=None)
@given(st.floats(-0.03, 0.03), st.floats(-0.03, 0.03))
def test_an_arm_from_above_keeps_its_shape(front: float, rear: float) -> None:
    forward, out = ball_after_bush(DEMO_ARM, front, rear)
    ball = (DEMO_ARM.ball[0] + forward, DEMO_ARM.ball[1] + out)
    here = (DEMO_ARM.front[0], DEMO_ARM.front[1] + front)
    apart = math.dist(DEMO_ARM.front, DEMO_ARM.rear)
    across = DEMO_ARM.rear[1] + rear - here[1]
    there = (here[0] - math.sqrt(apart**2 - across**2), DEMO_ARM.rear[1] + rear)
    assert math.dist(ball, here) == pytest.approx(math.dist(DEMO_ARM.ball, DEMO_ARM.front), abs=1e-12)
    assert math.dist(ball, there) == pytest.approx(math.dist(DEMO_ARM.ball, DEMO_ARM.rear), abs=1e-12)


def test_bushes_that_give_alike_shift_the_arm() -> None:
    assert ball_after_bush(DEMO_ARM, 0.004, 0.004) == pytest.approx((0.0, 0.004), abs=1e-15)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="the height of the steering axis must be"):
        SteeringAxis(660.0)
    with pytest.raises(InputError, match="caster must be"):
        SteeringAxis(0.6, 4.0)
    with pytest.raises(InputError, match="movement of the lower joint must be"):
        caster_after(DEMO_AXIS, lower_forward=5.0)
    with pytest.raises(InputError, match="give of the rear bush must be"):
        ball_after_bush(DEMO_ARM, rear_out=5.0)
    with pytest.raises(InputError, match="the distance of the bushes along the car"):
        PlanArm((0.0, 0.36), (0.3, 0.38), (0.02, 0.7))


def test_the_demo_linkages_are_ordinary() -> None:
    """Typical inclination: strut 12 to 18, double wishbone 6 to 8 deg (a parts maker's page)."""
    assert 12 < math.degrees(solve(DEMO_STRUT).inclination) < 18
    assert 6 < math.degrees(solve(DEMO_WISHBONE).inclination) < 8
    # Common practice: less than 0.10 deg of toe for 25 mm of travel.
    for linkage, rod in ((DEMO_STRUT, DEMO_STRUT_ROD), (DEMO_WISHBONE, DEMO_WISHBONE_ROD)):
        assert abs(math.degrees(toe_per_travel(linkage, rod)) * 0.025) < 0.10
