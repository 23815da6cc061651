"""Testers' bands, left against right, dials and micrometers."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.readings import (
    BANDS_OF_A_LABORATORY,
    BANDS_OF_DAMPER_MAKERS,
    Band,
    Bands,
    band_of,
    difference_in_points,
    eccentricity,
    first_harmonic,
    imbalance,
    temperature_split,
    thickness_variation,
    total_runout,
)

forces = st.floats(0.0, 10000.0)


@pytest.mark.parametrize(
    ("percent", "name"),
    [(100, "excellent"), (61, "excellent"), (60, "good"), (41, "good"), (40, "weak"), (21, "weak"),
     (20, "poor"), (1, "poor"), (0, "no contact")],
)  # fmt: skip
def test_bands_of_the_damper_makers(percent: float, name: str) -> None:
    """EUSAMA TS-02-76, from memory: 61-100, 41-60, 21-40, 1-20, 0."""
    assert band_of(percent, BANDS_OF_DAMPER_MAKERS) == name


@pytest.mark.parametrize(
    ("percent", "name"), [(60, "good"), (59.9, "acceptable"), (20, "acceptable"), (19.9, "below standard")]
)
def test_bands_of_a_laboratory(percent: float, name: str) -> None:
    """A university's laboratory sheet."""
    assert band_of(percent, BANDS_OF_A_LABORATORY) == name


def test_bands_of_ones_own() -> None:
    mine = Bands("demo", (Band(50.0, "fit"), Band(0.0, "look again")))
    assert (band_of(50.0, mine), band_of(49.9, mine)) == ("fit", "look again")
    for rows in ((), (Band(0.0, "a"), Band(50.0, "b")), (Band(50.0, "a"),), (Band(0.0, "a", itself=False),)):
        with pytest.raises(InputError, match="bands go from the highest down and end with one from 0 on"):
            Bands("demo", rows)
    with pytest.raises(InputError, match="the reading must be a number from 0 to 100 percent, not 101"):
        band_of(101.0, mine)


def test_imbalance_as_inspections_take_it() -> None:
    """Directive 2014/45/EU 1.2.1 (from memory): below 70 % of the other side is out, so 30 %."""
    assert imbalance(2.1, 3.0) == pytest.approx(30.0)
    assert imbalance(0.0, 3.0) == 100.0
    assert imbalance(3.0, 3.0) == 0.0


@given(forces, forces)
def test_imbalance_is_the_same_from_either_side(left: float, right: float) -> None:
    if left != right:
        assert imbalance(left, right) == imbalance(right, left)
        assert 0.0 <= imbalance(left, right) <= 100.0


def test_points_are_not_percent() -> None:
    assert difference_in_points(60.0, 45.0) == 15.0
    assert imbalance(60.0, 45.0) == 25.0


def test_nothing_on_either_side_is_no_reading() -> None:
    with pytest.raises(InputError) as error:
        imbalance(0.0, 0.0)
    assert (
        str(error.value) == "the reading of a side is 0 on both sides: nothing to compare, so measure again"
    )
    with pytest.raises(InputError, match="the reading of a side must be"):
        imbalance(-1.0, 2.0)
    with pytest.raises(InputError, match="the left reading must be"):
        difference_in_points(101.0, 0.0)


@given(st.floats(-20.0, 400.0), st.floats(-20.0, 400.0))
def test_the_warmer_side_has_the_sign(left: float, right: float) -> None:
    assert temperature_split(left, right) == -temperature_split(right, left)
    assert (temperature_split(left, right) > 0) == (left > right)


def test_temperatures_that_cannot_be() -> None:
    with pytest.raises(InputError, match="the right temperature must be a number from -60 to 1000 °C"):
        temperature_split(100.0, math.inf)


# Dials ------------------------------------------------------------------------------------------------

dials = st.lists(st.floats(-0.005, 0.005), min_size=3, max_size=24)


@given(dials, st.floats(-0.01, 0.01))
def test_runout_does_not_mind_where_the_dial_was_set(readings: list[float], zero: float) -> None:
    moved = [each + zero for each in readings]
    assert total_runout(moved) == pytest.approx(total_runout(readings), abs=1e-15)
    assert total_runout(readings) >= 0.0


@given(st.integers(3, 36), st.floats(0.0001, 0.003), st.floats(0.0, 6.28), st.floats(-0.002, 0.002))
def test_a_round_thing_off_its_centre(count: int, off: float, where: float, zero: float) -> None:
    """A wheel that sits off by e reads e cos(turn - high spot): the once-a-turn part is 2 e."""
    readings = [zero + off * math.cos(2 * math.pi * n / count - where) for n in range(count)]
    found = first_harmonic(readings)
    assert found.total == pytest.approx(2 * off, rel=1e-9)
    assert math.remainder(found.high_spot - where, 2 * math.pi) == pytest.approx(0.0, abs=1e-6)
    assert eccentricity(found.total) == pytest.approx(off, rel=1e-9)
    assert total_runout(readings) <= 2 * off + 1e-12


def test_an_oval_has_runout_and_no_first_harmonic() -> None:
    readings = [0.0005 * math.cos(4 * math.pi * n / 12) for n in range(12)]
    assert total_runout(readings) == pytest.approx(0.001)
    assert first_harmonic(readings).total == pytest.approx(0.0, abs=1e-15)


def test_thickness_of_eight_places() -> None:
    """Demo values, mm."""
    disc = [each / 1000 for each in (21.982, 21.990, 21.996, 21.999, 21.997, 21.990, 21.985, 21.981)]
    assert thickness_variation(disc) * 1000 == pytest.approx(0.018, abs=1e-9)


def test_readings_that_cannot_be() -> None:
    with pytest.raises(InputError, match="runout needs at least 3 readings around the turn: take more"):
        total_runout([0.0, 0.001])
    with pytest.raises(InputError, match="a reading of runout must be a number from -200 to 200 mm"):
        total_runout([0.0, 0.001, 1.5])
    with pytest.raises(InputError, match="a thickness must be above 0"):
        thickness_variation([0.02, 0.0, 0.02])
    with pytest.raises(InputError, match="a reading of runout must be"):
        first_harmonic([0.0, math.nan, 0.0])
    with pytest.raises(InputError, match="runout must be"):
        eccentricity(-0.001)
