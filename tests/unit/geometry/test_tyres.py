"""Tyre sizes, rolling, dates, against published values."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.speed import KMH
from diagnose.geometry.tyres import (
    FREE,
    ROLLING_CROSS_PLY,
    parse_tyre,
    rolling_circumference,
    tyre_date,
    wheel_frequency,
)

MPH = 0.44704


@pytest.mark.parametrize(
    ("size", "diameter", "circumference", "turns"),
    [  # mm, mm, turns a km. Sources: four calculators' pages for the first six, own arithmetic for the rest.
        ("205/55R16", 631.9, 1985.2, 503.7),
        ("215/65R17", 711.3, 2234.6, 447.5),
        ("225/60R17", 701.8, 2204.8, 453.6),
        ("215/65R15", 660.5, 2075.0, 481.9),
        ("245/35R17", 603.3, 1895.3, 527.6),
        ("295/75R22.5", 1014.0, 3185.6, 313.9),
        ("195/65R15", 634.5, 1993.3, 501.7),
        ("225/45R17", 634.3, 1992.7, 501.8),
    ],
)
def test_diameters(size: str, diameter: float, circumference: float, turns: float) -> None:
    tyre = parse_tyre(size)
    assert tyre.diameter * 1000 == pytest.approx(diameter, abs=0.05001)
    assert tyre.circumference * 1000 == pytest.approx(circumference, abs=0.06)
    assert 1000 / tyre.circumference == pytest.approx(turns, abs=0.06)


def test_printed_details() -> None:
    """The same pages: a sidewall of 112.75 mm; -1.3 % of speed from 215/65R17 to 225/60R17."""
    assert parse_tyre("205/55R16").sidewall * 1000 == pytest.approx(112.75, abs=1e-9)
    change = parse_tyre("225/60R17").diameter / parse_tyre("215/65R17").diameter - 1
    assert change * 100 == pytest.approx(-1.336, abs=5e-4)


def test_a_page_that_is_wrong_is_not_followed() -> None:
    """A forum computes 245/60-15 as 27.05 in; it is 26.57."""
    assert parse_tyre("245/60-15").diameter / 0.0254 == pytest.approx(26.57, abs=5e-3)


@pytest.mark.parametrize(
    "text",
    ["205/55R16", "205/55 R16", "205/55 R 16", "P205/55R16", "205/55ZR16", "205/55 R16 91V", "205/55R16 91 V",
     "205/55-16", "205/55/16", "205/55 16", " 205 / 55 r16 ", "205/55 ZR16 (91Y)", "205/55 R16 94V XL",
     "205/55R16 91H M+S", "LT205/55R16 91/89S", "205/55R16C"],
)  # fmt: skip
def test_ways_of_writing_one_size(text: str) -> None:
    tyre = parse_tyre(text)
    assert (tyre.width, tyre.aspect, tyre.build) == (0.205, 55.0, "radial")
    assert tyre.diameter == parse_tyre("205/55R16").diameter


def test_load_and_speed_letters() -> None:
    tyre = parse_tyre("LT245/75R16 120/116S")
    assert (tyre.load, tyre.speed) == (120, "S")
    assert (parse_tyre("205/55 R16 91V").load, parse_tyre("205/55 R16 91V").speed) == (91, "V")
    assert parse_tyre("205/55R16").load is parse_tyre("205/55R16").speed is None


@pytest.mark.parametrize(
    "text",
    ["31x10.50R15", "31X10.50R15LT", "31x10,50R15", "31×10.5-15", "31x10.5R15LT 109Q", "31 x 10.50 R 15"],
)
def test_flotation_sizes(text: str) -> None:
    tyre = parse_tyre(text)
    assert tyre.diameter == pytest.approx(31 * 0.0254)
    assert tyre.width == pytest.approx(10.5 * 0.0254)
    assert tyre.rim == pytest.approx(15 * 0.0254)
    assert tyre.sidewall == pytest.approx(8 * 0.0254)
    assert tyre.aspect is None


def test_a_size_without_a_height_has_the_full_one() -> None:
    """British inspection manual 5.2.3, at second hand: about 82 %."""
    tyre = parse_tyre("195 R14 C 106/104N")
    assert tyre.aspect == 82.0
    assert tyre.diameter * 1000 == pytest.approx(14 * 25.4 + 2 * 195 * 0.82, abs=1e-9)
    assert parse_tyre("165D15").build == "bias"


@given(st.integers(21, 91), st.integers(4, 17), st.integers(10, 24), st.sampled_from(["R", " R", "ZR", "-"]))
def test_any_size_is_rim_and_two_sidewalls(width: int, aspect: int, rim: int, build: str) -> None:
    tyre = parse_tyre(f"{width * 5}/{aspect * 5}{build}{rim}")
    assert tyre.diameter == pytest.approx(rim * 0.0254 + 2 * tyre.sidewall, abs=1e-12)
    assert tyre.sidewall == pytest.approx(width * 5 * aspect * 5 / 1e5, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "'' is not a tyre size: write it like 205/55 R16 91V or 31x10.50R15"),
        ("tyre", "'tyre' is not a tyre size: write it like 205/55 R16 91V or 31x10.50R15"),
        ("205/55", "'205/55' is not a tyre size: write it like 205/55 R16 91V or 31x10.50R15"),
        ("20٥/55R16", "'20٥/55R16' is not a tyre size: write it like 205/55 R16 91V or 31x10.50R15"),
        (
            "205/55R61",
            "the rim in '205/55R61' must be a number from 8 to 30 in, not 61: "
            "look at the reading and its unit",
        ),
        (
            "905/55R16",
            "the width in '905/55R16' must be a number from 105 to 455 mm, not 905: "
            "look at the reading and its unit",
        ),
        (
            "205/155R16",
            "the height in '205/155R16' must be a number from 20 to 100 percent, not 155: "
            "look at the reading and its unit",
        ),
        (
            "99x10R15",
            "the diameter in '99x10R15' must be a number from 20 to 54 in, not 99: "
            "look at the reading and its unit",
        ),
        (
            "31x30R15",
            "the width in '31x30R15' must be a number from 6 to 20 in, not 30: "
            "look at the reading and its unit",
        ),
        ("26x10R25", "'26x10R25' leaves no sidewall: write it like 205/55 R16 91V or 31x10.50R15"),
        ("2" * 50, f"'{'2' * 40}' is not a tyre size: write it like 205/55 R16 91V or 31x10.50R15"),
    ],
)
def test_messages(text: str, message: str) -> None:
    with pytest.raises(InputError) as error:
        parse_tyre(text)
    assert str(error.value) == message


@given(st.text(max_size=45))
def test_any_text_is_a_size_or_an_error_of_words(text: str) -> None:
    try:
        tyre = parse_tyre(text)
    except InputError:
        return
    assert 0.2 < tyre.rim < tyre.diameter < 1.8


# Rolling ----------------------------------------------------------------------------------------------


def test_published_wheel_frequencies() -> None:
    """Makers' vibration tables of 2000 and 2003: 1 Hz at 5 mph; the factor 3.05 is ETRTO from memory."""
    tyre = parse_tyre("235/75R15")
    assert wheel_frequency(5 * MPH, rolling_circumference(tyre)) == pytest.approx(0.999, abs=1e-3)
    assert wheel_frequency(10 * MPH, rolling_circumference(tyre)) == pytest.approx(2.0, abs=5e-3)


@pytest.mark.parametrize(
    ("size", "printed"),
    [("235/75R15", 1.00), ("235/60R16", 1.06), ("235/60R16", 1.07), ("225/50R16", 1.17), ("215/60R15", 1.14)],
)
def test_the_factor_fits_the_makers_tables(size: str, printed: float) -> None:
    """Same tables, Hz at 5 mph: within 1 %."""
    assert wheel_frequency(5 * MPH, rolling_circumference(parse_tyre(size))) == pytest.approx(
        printed, rel=0.01
    )


def test_free_and_rolling_differ_by_three_percent() -> None:
    """Own arithmetic: 205/55R16 at 100 km/h turns 14.41 times a second by 3.05, 13.99 by pi."""
    tyre = parse_tyre("205/55R16")
    assert wheel_frequency(100 * KMH, rolling_circumference(tyre)) == pytest.approx(14.41, abs=5e-3)
    assert wheel_frequency(100 * KMH, rolling_circumference(tyre, factor=FREE)) == pytest.approx(
        13.99, abs=5e-3
    )
    assert rolling_circumference(tyre, factor=FREE) == tyre.circumference


def test_a_circumference_measured() -> None:
    """A packaging-test maker's page: 91 in and 35 mph give about 6.8 Hz."""
    assert wheel_frequency(35 * MPH, 91 * 0.0254) == pytest.approx(6.77, abs=5e-3)


@given(st.floats(0.0, 0.008))
def test_a_worn_tyre_rolls_less(worn: float) -> None:
    tyre = parse_tyre("205/55R16")
    lost = rolling_circumference(tyre) - rolling_circumference(tyre, worn)
    assert lost == pytest.approx(3.05 * 2 * worn, abs=1e-12)


def test_cross_ply_rolls_less_far() -> None:
    tyre = parse_tyre("165D15")
    assert rolling_circumference(tyre) == pytest.approx(ROLLING_CROSS_PLY * tyre.diameter)


def test_what_cannot_roll_is_refused() -> None:
    tyre = parse_tyre("205/55R16")
    with pytest.raises(InputError, match="worn tread must be a number from 0 to 15 mm, not 8000"):
        rolling_circumference(tyre, 8.0)
    with pytest.raises(InputError, match="the rolling factor must be"):
        rolling_circumference(tyre, factor=3.3)
    with pytest.raises(InputError, match="speed must be a number from 0 to 540 km/h, not 3600"):
        wheel_frequency(1000.0, 2.0)
    with pytest.raises(InputError, match="the rolling circumference must be"):
        wheel_frequency(10.0, math.nan)


# Dates ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "year", "week"),
    [("3623", 2023, 36), ("4513", 2013, 45), ("2319", 2019, 23), ("0124", 2024, 1), ("5320", 2020, 53)],
)
def test_date_codes(code: str, year: int, week: int) -> None:
    """Practice under 49 CFR 574; three trade pages' examples, and the first and last week that a year has."""
    assert tyre_date(code) == (year, week)


def test_dates_that_are_none() -> None:
    with pytest.raises(InputError) as error:
        tyre_date("239")
    assert str(error.value) == "'239' has three digits: the tyre was made before 2000, too old to use"
    for code in ("5413", "0013", "36 23", "", "٣٦٢٣"):
        with pytest.raises(InputError) as error:
            tyre_date(code)
        assert str(error.value) == (
            "the date of a tyre is the last four digits, week and year: write it like 3623, week 36 of 2023"
        )
