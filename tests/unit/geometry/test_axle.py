"""Thrust, crab, set-back, cross values and the included angle: published examples, mirrors, inverses."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.axle import (
    crab_offset,
    cross,
    inclination_of,
    included_angle,
    pull_of_camber,
    pull_of_caster,
    rim_offset,
    setback_angle,
    setback_distance,
    thrust_angle,
    thrust_of_crab,
    toe_against,
)

small = st.floats(-0.1, 0.1)


def deg(value: float) -> float:
    return math.radians(value)


@pytest.mark.parametrize(
    ("left", "right", "thrust"),
    [(15 / 60, 5 / 60, 5 / 60), (15 / 60, -5 / 60, 10 / 60), (0.10, 0.30, -0.10)],
)
def test_published_thrust_angles(left: float, right: float, thrust: float) -> None:
    """Sizes: makers' manuals and a question page; sign: the formula of two makers' manuals (2004, 2007).

    Another maker writes right less left: its printed values have the other sign.
    """
    assert math.degrees(thrust_angle(deg(left), deg(right))) == pytest.approx(thrust, abs=1e-12)


@given(small, small)
def test_a_mirrored_rear_axle_pushes_to_the_other_side(left: float, right: float) -> None:
    assert thrust_angle(left, right) == -thrust_angle(right, left)
    assert thrust_angle(left, left) == 0.0
    assert thrust_angle(left + 0.001, right) > thrust_angle(left, right)


@given(small, small, small)
def test_front_toe_against_the_thrust_line_keeps_its_total(thrust: float, left: float, right: float) -> None:
    one, other = toe_against(thrust, left, right)
    assert one + other == pytest.approx(left + right, abs=1e-15)
    mirrored = toe_against(-thrust, right, left)
    assert mirrored == (other, one)


def test_front_toe_follows_the_thrust_line() -> None:
    """Own geometry: with the rear pushing right, front wheels that both point right as far are straight."""
    assert toe_against(deg(0.2), deg(0.2), deg(-0.2)) == (0.0, 0.0)


def test_rim_off_centre() -> None:
    """Common practice: 0.4 deg of split front toe at 16:1 turns the rim by 3.2 deg; 0.2 of thrust too."""
    assert math.degrees(rim_offset(0.0, 16.0, deg(0.4), 0.0)) == pytest.approx(-3.2, abs=1e-9)
    assert math.degrees(rim_offset(deg(0.2), 16.0)) == pytest.approx(3.2, abs=1e-9)
    # Both front wheels turned along the thrust line by setting: the rim is straight, and the car still crabs.
    assert rim_offset(deg(0.2), 16.0, deg(0.2), deg(-0.2)) == pytest.approx(0.0, abs=1e-15)


@given(small, small, small, st.floats(10.0, 22.0))
def test_a_mirrored_car_mirrors_the_rim(thrust: float, left: float, right: float, ratio: float) -> None:
    here, there = rim_offset(thrust, ratio, left, right), rim_offset(-thrust, ratio, right, left)
    assert here == pytest.approx(-there, abs=1e-12)


def test_crab() -> None:
    """Own arithmetic: an axle skewed by 10 mm on a track of 1.50 m crabs by 17 mm on 2.6 m."""
    skew = setback_angle(0.010, 1.5)
    assert math.degrees(skew) == pytest.approx(0.38, abs=5e-3)
    assert crab_offset(skew, 2.6) * 1000 == pytest.approx(17.33, abs=0.01)


@given(small, st.floats(2.0, 4.0))
def test_crab_round_trips_and_grows_with_thrust(thrust: float, wheelbase: float) -> None:
    assert thrust_of_crab(crab_offset(thrust, wheelbase), wheelbase) == pytest.approx(thrust, abs=1e-12)
    assert crab_offset(-thrust, wheelbase) == -crab_offset(thrust, wheelbase)
    assert crab_offset(thrust + 0.001, wheelbase) > crab_offset(thrust, wheelbase)


@given(st.floats(-0.2, 0.2), st.floats(1.0, 2.0))
def test_setback_round_trips(distance: float, track: float) -> None:
    assert setback_distance(setback_angle(distance, track), track) == pytest.approx(distance, abs=1e-12)


def test_published_included_angles() -> None:
    """Source: a textbook quoted by a student: 9 deg of included angle, camber -3/4, inclination 8 1/2."""
    bent = included_angle(deg(8.5), deg(-0.75))
    moved = inclination_of(deg(9.0), deg(-0.75))
    assert math.degrees(bent) == pytest.approx(7.75, abs=1e-12)
    assert math.degrees(moved) == pytest.approx(9.75, abs=1e-12)
    assert math.degrees(inclination_of(deg(7), deg(0.5))) == pytest.approx(6.5, abs=1e-12)
    assert math.degrees(inclination_of(deg(7), deg(-0.5))) == pytest.approx(7.5, abs=1e-12)


@given(st.floats(0.05, 0.35), small)
def test_included_angle_round_trips(inclination: float, camber: float) -> None:
    assert inclination_of(included_angle(inclination, camber), camber) == pytest.approx(
        inclination, abs=1e-14
    )


def test_pulls() -> None:
    """Source: an alignment glossary: caster 1/2 left, 1 1/2 right pulls left; camber pulls to the greater."""
    assert pull_of_caster(deg(0.5), deg(1.5)) == "left"
    assert pull_of_caster(deg(1.5), deg(0.5)) == "right"
    assert pull_of_camber(deg(0.5), deg(-0.25)) == "left"
    assert pull_of_camber(deg(-0.25), deg(0.5)) == "right"


def test_half_a_degree_does_not_yet_pull() -> None:
    """Source: two teaching texts say more than half a degree."""
    assert pull_of_camber(deg(0.4), deg(0.0)) is None
    assert pull_of_caster(deg(0.0), deg(0.4)) is None
    assert pull_of_camber(deg(0.4), 0.0, threshold=deg(0.3)) == "left"
    assert pull_of_camber(0.01, 0.01, threshold=0.0) is None


@given(small, small)
def test_cross_values_mirror(left: float, right: float) -> None:
    other = {"left": "right", "right": "left", None: None}
    assert cross(left, right) == -cross(right, left)
    assert pull_of_camber(left, right) == other[pull_of_camber(right, left)]
    assert pull_of_caster(left, right) == other[pull_of_caster(right, left)]
    assert pull_of_caster(left, right) == other[pull_of_camber(left, right)]


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="the steering ratio must be a number from 5 to 40, not 400"):
        rim_offset(0.0, 400.0)
    with pytest.raises(InputError, match="the wheelbase must be a number from 1000 to 8000 mm"):
        crab_offset(0.0, 2600.0)
    with pytest.raises(InputError, match="left rear toe must be"):
        thrust_angle(15.0, 0.0)
    with pytest.raises(InputError, match="the threshold must be"):
        pull_of_camber(0.0, 0.0, threshold=-0.1)
    with pytest.raises(InputError, match=r"the crab offset must be a number from -1838\.48 to 1838\.48 mm"):
        thrust_of_crab(3.0, 2.6)
    with pytest.raises(InputError, match="the threshold must be a number from 0 to 45 deg, not 90"):
        pull_of_camber(0.0, 0.0, threshold=deg(90))
