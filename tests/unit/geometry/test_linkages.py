"""Struts and double wishbones: constraints kept, instant centres, moved pivots and their inverse."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.demo import DEMO_STRUT, DEMO_WISHBONE
from diagnose.geometry.linkage import (
    Linkage,
    Where,
    camber_change,
    camber_per_travel,
    moved,
    movement_for_camber,
    solve,
)
from diagnose.geometry.plane import Point, carried, meet, root_near
from diagnose.geometry.pose import Change, Pose
from diagnose.geometry.strut import Strut
from diagnose.geometry.wishbone import DoubleWishbone

BOTH = pytest.mark.parametrize("linkage", [DEMO_STRUT, DEMO_WISHBONE], ids=["strut", "wishbone"])
STRAIGHT = replace(DEMO_STRUT, offset=0.0)
travels = st.floats(-0.08, 0.08)
shifts = st.floats(-0.015, 0.015)
changes = st.builds(
    Change,
    lower=st.builds(Point, shifts, shifts),
    upper=st.builds(Point, shifts, shifts),
    lower_arm=shifts,
)


def gap(one: Point, other: Point) -> float:
    return (one - other).length


def off_line(point: Point, on: Point, lean: float) -> float:
    """How far a point lies outside of a line through `on` that leans out by `lean`."""
    way = point - on
    return way.y * math.cos(lean) - way.z * math.sin(lean)


def crossing(one: Point, way: Point, other: Point, along: Point) -> float:
    """How far out two lines cross."""
    cross = way.y * along.z - way.z * along.y
    between = other - one
    t = (between.y * along.z - between.z * along.y) / cross
    return one.y + t * way.y


def instant_centre(linkage: Linkage) -> float:
    """How far out the point lies that the knuckle turns about, as drawn: textbook construction."""
    if isinstance(linkage, Strut):
        axis = linkage.top - linkage.ball
        rod = axis.lean + math.asin(linkage.offset / axis.length)
        square = Point(math.cos(rod), -math.sin(rod))
        return crossing(linkage.ball, linkage.ball - linkage.pivot, linkage.top, square)
    return crossing(
        linkage.ball,
        linkage.ball - linkage.pivot,
        linkage.upper_ball,
        linkage.upper_ball - linkage.upper_pivot,
    )


# What is kept -----------------------------------------------------------------------------------------


@BOTH
def test_as_drawn_it_stands_as_drawn(linkage: Linkage) -> None:
    pose = solve(linkage)
    assert pose.camber == pytest.approx(linkage.camber, abs=1e-12)
    assert gap(pose.ball, linkage.ball) == pytest.approx(0.0, abs=1e-12)
    assert gap(pose.centre, linkage.centre) == pytest.approx(0.0, abs=1e-12)


@BOTH
def test_an_arm_turned_up_carries_its_joint_up(linkage: Linkage) -> None:
    assert gap(linkage.pose(0.0).ball, linkage.ball) == pytest.approx(0.0, abs=1e-12)
    arm = linkage.pose(0.1).ball - linkage.pivot
    assert arm.rise == pytest.approx((linkage.ball - linkage.pivot).rise + 0.1, abs=1e-12)


def test_an_upper_joint_on_the_other_side_of_the_diagonal_stays_there() -> None:
    steep = replace(DEMO_WISHBONE, upper_pivot=Point(0.600, 0.950), upper_ball=Point(0.651, 0.465))
    assert gap(solve(steep).upper, steep.upper_ball) == pytest.approx(0.0, abs=1e-12)


def kept(linkage: Linkage, change: Change, pose: Pose) -> None:
    """The parts that are stiff have kept their lengths, and the wheel its place on the knuckle."""
    reach = gap(linkage.ball, linkage.pivot) + change.lower_arm
    assert gap(pose.ball, linkage.pivot + change.lower) == pytest.approx(reach, abs=1e-12)
    assert gap(pose.centre, pose.ball) == pytest.approx(gap(linkage.centre, linkage.ball), abs=1e-12)
    assert pose.camber == pytest.approx(linkage.camber + pose.turned + change.bend, abs=1e-12)


@settings(deadline=None)
@given(changes, travels)
def test_a_strut_keeps_its_rod_and_arm(change: Change, travel: float) -> None:
    pose = solve(DEMO_STRUT, change, travel)
    kept(DEMO_STRUT, change, pose)
    assert pose.centre.z == pytest.approx(DEMO_STRUT.centre.z + travel, abs=1e-12)
    drawn = (DEMO_STRUT.top - DEMO_STRUT.ball).lean
    drawn += math.asin(DEMO_STRUT.offset / gap(DEMO_STRUT.top, DEMO_STRUT.ball))
    rod = drawn + pose.turned
    assert off_line(pose.ball, DEMO_STRUT.top + change.upper, rod) == pytest.approx(0.020, abs=1e-12)


@settings(deadline=None)
@given(changes, shifts, travels)
def test_a_double_wishbone_keeps_its_arms(change: Change, above: float, travel: float) -> None:
    change = replace(change, upper_arm=above)
    pose = solve(DEMO_WISHBONE, change, travel)
    kept(DEMO_WISHBONE, change, pose)
    assert pose.centre.z == pytest.approx(DEMO_WISHBONE.centre.z + travel, abs=1e-12)
    reach = gap(DEMO_WISHBONE.upper_ball, DEMO_WISHBONE.upper_pivot) + above
    assert gap(pose.upper, DEMO_WISHBONE.upper_pivot + change.upper) == pytest.approx(reach, abs=1e-12)
    knuckle = DEMO_WISHBONE.upper_ball - DEMO_WISHBONE.ball
    assert gap(pose.upper, pose.ball + carried(knuckle, pose.turned)) == pytest.approx(0.0, abs=1e-12)


# Solved by hand ---------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(-0.1, 0.1))
def test_equal_parallel_arms_keep_camber(travel: float) -> None:
    """Own: a parallelogram only shifts."""
    square = DoubleWishbone(
        Point(0.3, 0.2), Point(0.7, 0.2), Point(0.3, 0.5), Point(0.7, 0.5), Point(0.75, 0.3)
    )
    pose = solve(square, travel=travel)
    assert pose.camber == pytest.approx(0.0, abs=1e-12)
    assert pose.centre.y == pytest.approx(0.75 - 0.4 + math.sqrt(0.16 - travel**2), abs=1e-12)


def test_a_strut_over_a_level_arm() -> None:
    """Own arithmetic: an upright strut over an arm of 0.5 m, turned up by a 3-4-5 triangle."""
    strut = Strut(Point(0.2, 0.2), Point(0.7, 0.2), Point(0.7, 0.8), Point(0.7, 0.2))
    pose = solve(strut, travel=0.3)
    assert (pose.ball.y, pose.ball.z) == pytest.approx((0.6, 0.5), abs=1e-12)
    assert pose.camber == pytest.approx(math.atan2(0.1, 0.3), abs=1e-12)
    assert pose.inclination == pytest.approx(-math.atan2(0.1, 0.3), abs=1e-12)


@BOTH
def test_camber_by_height_is_one_over_the_distance_to_the_instant_centre(linkage: Linkage) -> None:
    """Textbook: the knuckle turns about its instant centre."""
    # The wheel going up turns the knuckle in where the centre lies inboard.
    assert camber_per_travel(linkage) == pytest.approx(
        1.0 / (instant_centre(linkage) - linkage.centre.y), rel=1e-6
    )


@settings(deadline=None)
@given(st.floats(0.10, 0.25), st.floats(0.12, 0.22), st.floats(0.40, 0.60), st.floats(0.38, 0.50))
def test_that_holds_for_any_drawing(pivot: float, ball: float, upper_pivot: float, upper: float) -> None:
    linkage = DoubleWishbone(
        Point(0.32, pivot), Point(0.70, ball), Point(0.42, upper_pivot), Point(0.66, upper), Point(0.75, 0.3)
    )
    lower_way, upper_way = linkage.ball - linkage.pivot, linkage.upper_ball - linkage.upper_pivot
    if abs(lower_way.rise - upper_way.rise) > 0.02:
        slope = 1.0 / (instant_centre(linkage) - linkage.centre.y)
        assert camber_per_travel(linkage) == pytest.approx(slope, rel=1e-3, abs=1e-4)


def test_a_lowered_car_leans_its_wheels_in_on_the_demo_linkages() -> None:
    for linkage in (DEMO_STRUT, DEMO_WISHBONE):
        cambers = [camber_change(linkage, travel=mm / 1000) for mm in range(-50, 51, 10)]
        assert cambers == sorted(cambers, reverse=True)
        assert cambers[5] == pytest.approx(0.0, abs=1e-12)


# Moved pivots -----------------------------------------------------------------------------------------


def test_a_moved_tower_is_about_its_way_over_the_height() -> None:
    """Common practice: a tenth of a degree for a millimetre; 5 mm on about 0.5 m is 0.57 deg."""
    low = Strut(Point(0.36, 0.19), Point(0.70, 0.17), Point(0.66, 0.67), Point(0.755, 0.31))
    assert math.degrees(camber_change(low, moved("upper pivot", 0.005))) == pytest.approx(0.57, rel=0.03)
    assert math.degrees(camber_change(low, moved("lower pivot", -0.005))) == pytest.approx(0.57, rel=0.03)


@settings(deadline=None)
@given(st.sampled_from(["lower pivot", "upper pivot", "lower arm", "upper arm"]), shifts, travels)
def test_moved_pivots_trade_inclination_for_camber(where: Where, by: float, travel: float) -> None:
    """The classic reading: the included angle stays where a pivot moved. A rod in line with the joint."""
    for linkage in (STRAIGHT, DEMO_WISHBONE):
        if isinstance(linkage, Strut) and where == "upper arm":
            continue
        here, there = solve(linkage, travel=travel), solve(linkage, moved(where, by), travel)
        assert there.included == pytest.approx(here.included, abs=1e-12)
        assert there.camber - here.camber == pytest.approx(here.inclination - there.inclination, abs=1e-12)


@BOTH
def test_a_bend_changes_the_included_angle_only(linkage: Linkage) -> None:
    """The classic reading: same inclination, other camber: bent strut, knuckle or stub."""
    bent = solve(linkage, Change(bend=-0.02))
    assert bent.inclination == pytest.approx(solve(linkage).inclination, abs=1e-12)
    assert bent.included == pytest.approx(solve(linkage).included - 0.02, abs=1e-12)


@BOTH
def test_a_subframe_shifted_sideways_reads_as_mirror_images(linkage: Linkage) -> None:
    """Own geometry: to the right, the left wheel gains camber and loses inclination, the right the other."""
    left, right = solve(linkage, moved("lower pivot", -0.005)), solve(linkage, moved("lower pivot", 0.005))
    sound = solve(linkage)
    if isinstance(linkage, DoubleWishbone):  # its upper pivots stay on the body
        assert left.upper.y < sound.upper.y + 0.001
    assert left.camber > sound.camber > right.camber
    assert left.inclination < sound.inclination < right.inclination
    assert left.camber - sound.camber == pytest.approx(sound.camber - right.camber, rel=0.05)


@pytest.mark.parametrize(
    ("where", "more_camber"), [("lower pivot", -1), ("upper pivot", 1), ("lower arm", -1), ("upper arm", 1)]
)
def test_which_way_camber_goes(where: Where, more_camber: int) -> None:
    """A longer lower arm pushes the foot out and the top in; a longer upper arm pushes the top out."""
    for linkage in (DEMO_STRUT, DEMO_WISHBONE):
        if isinstance(linkage, Strut) and where == "upper arm":
            continue
        found = [camber_change(linkage, moved(where, mm / 1000)) * more_camber for mm in range(-12, 13, 3)]
        assert found == sorted(found)
        assert found[0] < 0.0 < found[-1]


@settings(deadline=None)
@given(st.sampled_from(["lower pivot", "upper pivot", "lower arm", "upper arm"]), shifts, travels)
def test_the_movement_behind_a_camber_is_found_again(where: Where, by: float, travel: float) -> None:
    for linkage in (DEMO_STRUT, DEMO_WISHBONE):
        if isinstance(linkage, Strut) and where == "upper arm":
            continue
        seen = solve(linkage, moved(where, by), travel).camber - solve(linkage, travel=travel).camber
        assert movement_for_camber(linkage, where, seen, travel) == pytest.approx(by, abs=1e-9)


# What cannot be ---------------------------------------------------------------------------------------


def test_no_movement_explains_everything() -> None:
    with pytest.raises(InputError) as error:
        movement_for_camber(DEMO_STRUT, "lower pivot", math.radians(8))
    assert str(error.value) == (
        "no movement of the lower pivot up to 80 mm changes camber by 8.0 degrees: "
        "look for more than one fault, or at the reading"
    )


def test_a_strut_has_no_upper_arm() -> None:
    with pytest.raises(InputError) as error:
        camber_change(DEMO_STRUT, moved("upper arm", 0.001))
    assert str(error.value) == "a strut has no upper arm: say how its top mount moved instead"


def test_arms_that_do_not_reach_are_said_in_words() -> None:
    with pytest.raises(InputError) as error:
        solve(DEMO_WISHBONE, travel=-0.25)
    assert "the arms cannot close: from the lower joint to the upper pivot are 533 mm" in str(error.value)
    with pytest.raises(InputError, match="the arms cannot close"):
        solve(DEMO_WISHBONE, Change(lower=Point(0.2, -0.15)))
    short = replace(DEMO_STRUT, top=Point(0.66, 0.29))
    with pytest.raises(InputError, match="the strut cannot close"):
        solve(short, travel=0.28)
    with pytest.raises(InputError, match="the lower arm would have no length left"):
        camber_change(replace(DEMO_STRUT, pivot=Point(0.55, 0.18)), Change(lower_arm=-0.16))
    with pytest.raises(InputError, match="an arm would have no length left"):
        camber_change(replace(DEMO_WISHBONE, upper_pivot=Point(0.55, 0.44)), Change(upper_arm=-0.16))


def test_a_travel_beyond_the_arm_is_said_in_words() -> None:
    stubby = replace(DEMO_STRUT, pivot=Point(0.62, 0.19))
    with pytest.raises(InputError, match="the linkage does not reach -280 mm of travel: give less"):
        solve(stubby, travel=-0.28)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Point(math.nan, 0.0), "a place or movement sideways must be a number"),
        (lambda: Point(360.0, 0.0), "a place or movement sideways must be a number from -3000 to 3000 mm"),
        (lambda: replace(DEMO_STRUT, top=Point(0.5, 0.1)), "the height of the top mount above"),
        (lambda: replace(DEMO_STRUT, ball=Point(0.3, 0.1)), "the way out from the arm's pivot"),
        (lambda: replace(DEMO_STRUT, camber=1.0), "camber must be"),
        (lambda: replace(DEMO_STRUT, offset=0.2), "the offset of the lower joint"),
        (lambda: replace(DEMO_STRUT, pivot=Point(0.6, 0.5)), "the slope of the lower arm"),
        (lambda: replace(DEMO_WISHBONE, upper_ball=Point(0.4, 0.46)), "the way out from the upper pivot"),
        (lambda: replace(DEMO_WISHBONE, upper_ball=Point(0.6, 0.2)), "the height of the upper joint"),
        (lambda: replace(DEMO_WISHBONE, upper_pivot=Point(0.61, 0.91)), "almost in one line"),
        (lambda: Change(bend=1.0), "the bend must be"),
        (lambda: Change(lower=Point(0.3, 0.0)), "movement of a pivot must be"),
        (lambda: Change(upper=Point(0.0, 0.3)), "movement of a pivot must be"),
        (lambda: Change(lower_arm=0.3), "the change of an arm must be"),
        (lambda: solve(DEMO_STRUT, travel=50.0), "travel of the wheel must be"),
    ],
)
def test_drawings_and_changes_that_cannot_be(make: object, message: str) -> None:
    assert callable(make)
    with pytest.raises(InputError, match=message):
        make()


# The plane --------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(st.floats(-1, 1), st.floats(-1, 1), st.floats(0.05, 1), st.floats(0.05, 1), st.booleans())
def test_circles_meet_on_both(y: float, z: float, first: float, second: float, left: bool) -> None:
    one, other = Point(0.1, 0.2), Point(y, z)
    distance = gap(one, other)
    found = meet(one, first, other, second, left)
    if abs(first - second) < distance < first + second:
        assert found is not None
        assert gap(found, one) == pytest.approx(first, abs=1e-9)
        assert gap(found, other) == pytest.approx(second, abs=1e-9)
        way, there = other - one, found - one
        side = way.y * there.z - way.z * there.y
        assert side >= -1e-12 if left else side <= 1e-12
    elif not abs(first - second) <= distance <= first + second:
        assert found is None


def test_circles_about_one_point_do_not_meet() -> None:
    assert meet(Point(0, 0), 1.0, Point(0, 0), 1.0, True) is None


@settings(deadline=None)
@given(st.floats(-0.9, 0.9), st.floats(0.1, 5.0), st.booleans())
def test_the_nearest_zero(zero: float, slope: float, falling: bool) -> None:
    sign = -1.0 if falling else 1.0
    found = root_near(lambda x: sign * slope * (x - zero) * (1 + x * x), 0.1, 1.0)
    assert found == pytest.approx(zero, abs=1e-12)


def test_no_zero_in_reach() -> None:
    assert root_near(lambda x: x - 5.0, 0.1, 1.0) is None


def test_a_zero_at_the_very_end_of_what_closes_is_found() -> None:
    """Beyond 0.77 the function does not exist: the steps shrink towards it."""

    def edge(x: float) -> float:
        if x > 0.77:
            raise InputError("no further")
        return x - 0.7699

    assert root_near(edge, 0.1, 1.0) == pytest.approx(0.7699, abs=1e-12)
    with pytest.raises(InputError, match="no further"):
        root_near(lambda x: edge(x) - 0.1, 0.1, 1.0)
