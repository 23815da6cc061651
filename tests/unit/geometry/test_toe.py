"""Toe as angle, length and side slip, against published examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.toe import (
    each_toe,
    feet_per_mile,
    side_slip,
    slip_of_feet_per_mile,
    span_for_toe,
    span_toe,
    toe_angle,
    toe_length,
    toe_of_side_slip,
    total_toe,
    total_toe_length,
)

INCH = 0.0254
toes = st.floats(-0.2, 0.2)
diameters = st.floats(0.3, 0.9)


def deg(value: float) -> float:
    return math.radians(value)


def test_published_lengths_of_one_wheel() -> None:
    """Sources: an alignment shop's page (24 in), a club forum (26 in), a racing club's page (18 in)."""
    assert toe_length(deg(0.15), 24 * INCH) / INCH == pytest.approx(0.062832, abs=1e-6)
    assert total_toe_length(deg(0.15), deg(0.15), 24 * INCH) / INCH == pytest.approx(0.125664, abs=2e-6)
    assert math.degrees(toe_angle(0.0625 * INCH, 26 * INCH)) == pytest.approx(0.1377, abs=5e-5)
    assert toe_length(deg(0.1), 18 * INCH) / INCH == pytest.approx(0.0314, abs=5e-5)


@pytest.mark.parametrize(
    ("rim", "tenth", "ten_minutes"),
    [(13, 0.576, 0.961), (14, 0.621, 1.034), (15, 0.665, 1.108), (16, 0.709, 1.182), (17, 0.754, 1.256),
     (18, 0.798, 1.330), (19, 0.842, 1.404), (20, 0.887, 1.478)],
)  # fmt: skip
def test_table_by_nominal_rim(rim: int, tenth: float, ten_minutes: float) -> None:
    """Own arithmetic, mm."""
    assert toe_length(deg(0.1), rim * INCH) * 1000 == pytest.approx(tenth, abs=6e-4)
    assert toe_length(deg(10 / 60), rim * INCH) * 1000 == pytest.approx(ten_minutes, abs=6e-4)


def test_the_diameter_is_meant_and_not_the_radius() -> None:
    """A rule met in forums, pi D / 360 for a degree, is half the front-to-rear difference."""
    assert toe_length(deg(1), 0.4) == pytest.approx(2 * math.pi * 0.4 / 360, rel=1e-4)


@given(st.floats(-2.0, 2.0).filter(lambda d: abs(d) > 1e-3), diameters)
def test_small_angles_are_off_by_a_five_thousandth_at_two_degrees(degrees: float, diameter: float) -> None:
    plain = diameter * deg(degrees)
    assert toe_length(deg(degrees), diameter) == pytest.approx(plain, rel=2.1e-4)
    assert abs(toe_length(deg(degrees), diameter)) < abs(plain)


@given(toes, diameters)
def test_lengths_and_angles_round_trip(toe: float, diameter: float) -> None:
    assert toe_angle(toe_length(toe, diameter), diameter) == pytest.approx(toe, abs=1e-12)
    assert toe_length(-toe, diameter) == -toe_length(toe, diameter)


@given(toes, toes)
def test_left_and_right_swapped_are_the_same_total(left: float, right: float) -> None:
    assert total_toe(left, right) == total_toe(right, left)
    assert 2 * each_toe(total_toe(left, right)) == pytest.approx(left + right, abs=1e-15)


def test_the_span_of_a_scale() -> None:
    """Source: a builders' forum: 2 degrees in all read as 1 inch; 1/8 in taken from 28.6 to 27.05 in."""
    assert span_for_toe(deg(2), INCH) / INCH == pytest.approx(28.645, abs=1e-3)
    assert span_toe(deg(2), 28.645 * INCH) / INCH == pytest.approx(1.0, abs=1e-5)
    angle = toe_angle(INCH / 8, 28.6 * INCH)
    assert toe_length(angle, 27.05 * INCH) / INCH == pytest.approx(0.1182, abs=5e-5)


@given(st.floats(0.001, 0.2), st.floats(0.2, 9.0))
def test_spans_round_trip(total: float, span: float) -> None:
    assert span_for_toe(total, span_toe(total, span)) == pytest.approx(span, rel=1e-12)
    assert span_for_toe(-total, -span_toe(total, span)) == pytest.approx(span, rel=1e-12)


def test_side_slip_of_the_inspection_limit() -> None:
    """5 m/km: the Japanese inspection standard (quoted on two pages); conversion: own arithmetic."""
    assert math.degrees(toe_of_side_slip(5.0)) == pytest.approx(0.28648, abs=1e-5)
    assert feet_per_mile(5.0) == pytest.approx(26.4, abs=1e-9)
    assert toe_length(toe_of_side_slip(5.0), 0.632) * 1000 == pytest.approx(3.16, abs=5e-3)


def test_drag_of_an_eighth_of_an_inch() -> None:
    """Source: a trade magazine: 1/8 in of toe error drags the tyre 28 feet a mile; D back from that."""
    angle = toe_angle(INCH / 8, 23.57 * INCH)
    assert feet_per_mile(side_slip(angle)) == pytest.approx(28.0, abs=0.05)
    assert side_slip(angle) == pytest.approx(5.30, abs=5e-3)
    assert math.degrees(angle) == pytest.approx(0.304, abs=5e-4)


@given(st.floats(-500.0, 500.0))
def test_slips_round_trip(slip: float) -> None:
    assert side_slip(toe_of_side_slip(slip)) == pytest.approx(slip, abs=1e-9)
    assert slip_of_feet_per_mile(feet_per_mile(slip)) == pytest.approx(slip, abs=1e-9)


@given(toes, toes)
def test_more_toe_slips_more(one: float, other: float) -> None:
    if one < other:
        assert side_slip(one) <= side_slip(other)


def test_what_cannot_be_is_refused_in_words() -> None:
    with pytest.raises(InputError) as error:
        toe_length(deg(50), 0.4)
    assert str(error.value) == (
        "toe must be a number from -45 to 45 deg, not 50: look at the reading and its unit"
    )
    with pytest.raises(InputError) as error:
        toe_length(deg(0.1), 406.0)
    assert str(error.value) == (
        "the diameter at which toe is taken must be a number from 100 to 2000 mm, not 406000: "
        "look at the reading and its unit"
    )
    with pytest.raises(InputError, match="not what was given"):
        toe_length(math.nan, 0.4)
    with pytest.raises(InputError, match="toe at this diameter must be a number from -282"):
        toe_angle(0.3, 0.4)
    with pytest.raises(InputError, match="no span shows a toe of nothing"):
        span_for_toe(0.0, 0.001)
    with pytest.raises(InputError, match="the span must be"):
        span_for_toe(0.01, -0.001)
    with pytest.raises(InputError, match="side slip must be"):
        toe_of_side_slip(math.inf)
