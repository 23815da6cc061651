"""Angles and lengths as typed and as shown."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.toe import toe_length
from diagnose.geometry.typed import (
    decimal_degrees,
    degrees_minutes,
    parse_angle,
    parse_length,
    parse_toe,
    parse_typed,
)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("-1°20'", -(1 + 20 / 60)),
        ("-1° 20′", -(1 + 20 / 60)),
        ("−1° 20’", -(1 + 20 / 60)),
        ("- 1°20'", -(1 + 20 / 60)),
        ("-1.33", -1.33),
        ("-1,33°", -1.33),
        ("1.33 deg", 1.33),
        ("1d20m", 1 + 20 / 60),
        ("-1d20m", -(1 + 20 / 60)),
        ("1 deg 20 min", 1 + 20 / 60),
        ("-80'", -80 / 60),
        ("80 min", 80 / 60),
        ("+0°05'", 5 / 60),
        ("-0°05'", -5 / 60),
        ("-0° 5'", -5 / 60),
        ("0°20.5'", 20.5 / 60),
        ("1°20'30\"", 1 + 20 / 60 + 30 / 3600),
        ("1°20'30''", 1 + 20 / 60 + 30 / 3600),
        ('1°30"', 1 + 30 / 3600),
        ("0", 0.0),
        ("-0", 0.0),
        (".5", 0.5),
        ("2.", 2.0),
        ("2°", 2.0),
        ("90", 90.0),
        ("\u00a01°\u202f20'", 1 + 20 / 60),
        ("\u20111°20'", -(1 + 20 / 60)),
    ],
)
def test_angles(text: str, degrees: float) -> None:
    assert math.degrees(parse_angle(text)) == pytest.approx(degrees, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("2.5mm", 2.5),
        ("-2,5 mm", -2.5),
        ("0.1 in", 2.54),
        ("0.1in", 2.54),
        ('1/16"', 1.5875),
        ('-1/16"', -1.5875),
        ("−1/16 in", -1.5875),
        ("1 1/2 in", 38.1),
        ('1-1/2"', 38.1),
        ('2"', 50.8),
        ("2 inches", 50.8),
        ("1.2 cm", 12.0),
    ],
)
def test_lengths(text: str, mm: float) -> None:
    assert parse_length(text) * 1000 == pytest.approx(mm, abs=1e-12)


def test_what_is_just_allowed() -> None:
    assert parse_length("10 cm", most=0.1) == 0.1
    assert parse_angle(" " * 39 + "1") == math.radians(1.0)
    assert degrees_minutes(1000.0).startswith("57295°")


def test_what_is_nothing_has_no_sign() -> None:
    assert math.copysign(1.0, parse_typed("-0").value) == 1.0
    assert math.copysign(1.0, parse_typed("-0 mm").value) == 1.0


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "'' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("-", "'-' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("nan", "'nan' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("inf", "'inf' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("1e5", "'1e5' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("--1", "'--1' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("1°-20'", "\"1°-20'\" is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("1°20", "'1°20' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("٣°", "'٣°' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        (
            "1\x1b[31m°",
            "'1?[31m°' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm",
        ),
        ("9" * 41, f"'{'9' * 37}...' is too long for a reading: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("1°75'", "\"1°75'\" has 60 minutes or more: write 1°20', not 0°80'"),
        ("1°20'60\"", "'1°20\\'60\"' has 60 seconds or more: write 1°20', not 0°80'"),
        (
            "1.5°20'",
            "\"1.5°20'\" has a decimal before its last part: write it like -1°20', -1.33, 80' or 2.5 mm",
        ),
        ("5m", "'5m' may mean metres or minutes: write 5' or 5 mm"),
        ("1/0 in", "'1/0 in' is not a fraction of an inch: write it like 1/16 in or 1 1/2 in"),
        ("3/2 in", "'3/2 in' is not a fraction of an inch: write it like 1/16 in or 1 1/2 in"),
        ("1/16", "'1/16' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm"),
        ("1501", "'1501' is more than 1500 degrees: look at the reading and its unit"),
        ("999999 mm", "'999999 mm' is more than 10 m: look at the reading and its unit"),
    ],
)
def test_messages(text: str, message: str) -> None:
    with pytest.raises(InputError) as error:
        parse_typed(text)
    assert str(error.value) == message


def test_one_kind_is_wanted() -> None:
    with pytest.raises(InputError) as error:
        parse_angle("2 mm")
    assert str(error.value) == "'2 mm' is a length, where an angle is wanted: write it like -1°20' or -1.33"
    with pytest.raises(InputError) as error:
        parse_length("2")
    assert str(error.value) == "'2' has no unit of length: write it like 2.5 mm, 0.1 in or 1/16\""
    with pytest.raises(InputError) as error:
        parse_angle("91")
    assert str(error.value) == "'91' is more than 90 degrees: look at the reading and its unit"
    with pytest.raises(InputError) as error:
        parse_length("-20 cm", most=0.1)
    assert str(error.value) == "'-20 cm' is more than 100 mm: look at the reading and its unit"


def test_toe_of_either_kind() -> None:
    assert parse_toe("0°10'") == parse_toe("0°10'", 0.4) == pytest.approx(math.radians(1 / 6))
    assert toe_length(parse_toe("-2 mm", 0.4), 0.4) == pytest.approx(-0.002, abs=1e-15)
    with pytest.raises(InputError) as error:
        parse_toe("2 mm")
    assert str(error.value) == ("'2 mm' is a length: say at which diameter it was taken, or give an angle")


@pytest.mark.parametrize(
    ("degrees", "text"),
    [
        (-(1 + 20 / 60), "-1°20'"),
        (59.7 / 60, "1°00'"),
        (-59.7 / 60, "-1°00'"),
        (1.999, "2°00'"),
        (-5 / 60, "-0°05'"),
        (0.4 / 60, "0°00'"),
        (-0.4 / 60, "0°00'"),
        (0.0, "0°00'"),
        (-0.0, "0°00'"),
        (12.5, "12°30'"),
    ],
)
def test_shown_in_minutes(degrees: float, text: str) -> None:
    assert degrees_minutes(math.radians(degrees)) == text


def test_shown_with_a_plus_or_in_ascii() -> None:
    assert degrees_minutes(math.radians(5 / 60), plus=True) == "+0°05'"
    assert degrees_minutes(0.0, plus=True) == "0°00'"
    assert degrees_minutes(math.radians(-5 / 60), ascii_only=True) == "-0d05m"


@pytest.mark.parametrize(
    ("degrees", "places", "text"),
    [(-1.333, 2, "-1.33"), (-0.004, 2, "0.00"), (-0.0, 2, "0.00"), (1.999, 2, "2.00"), (0.25, 1, "0.2")],
)
def test_shown_in_decimals(degrees: float, places: int, text: str) -> None:
    assert decimal_degrees(math.radians(degrees), places) == text
    assert decimal_degrees(math.radians(1.0), plus=True) == "+1.00"


@pytest.mark.parametrize("angle", [math.nan, math.inf, -math.inf, 1e9])
def test_what_is_no_angle_is_not_shown(angle: float) -> None:
    with pytest.raises(InputError, match="an angle to be shown must be a number"):
        degrees_minutes(angle)
    with pytest.raises(InputError, match="an angle to be shown must be a number"):
        decimal_degrees(angle)


@given(st.integers(-89 * 60, 89 * 60), st.booleans(), st.booleans())
def test_minutes_round_trip(total: int, plus: bool, ascii_only: bool) -> None:
    angle = math.radians(total / 60)
    text = degrees_minutes(angle, plus=plus, ascii_only=ascii_only)
    assert parse_angle(text) == pytest.approx(angle, abs=1e-12)
    assert "60" not in text.partition("°" if "°" in text else "d")[2]


@given(st.floats(-1.5, 1.5))
def test_what_is_shown_is_within_its_rounding(angle: float) -> None:
    assert abs(parse_angle(degrees_minutes(angle)) - angle) <= math.radians(0.5 / 60) + 1e-12
    assert abs(parse_angle(decimal_degrees(angle)) - angle) <= math.radians(0.005) + 1e-12


@given(st.text(max_size=45))
def test_any_text_is_a_reading_or_an_error_of_words(text: str) -> None:
    try:
        found = parse_typed(text)
    except InputError:
        return
    assert math.isfinite(found.value)
    assert any(letter in "0123456789" for letter in text)


@given(st.text(alphabet="0123456789°'\"-+.,/dmin ", max_size=12))
def test_likely_text_never_breaks(text: str) -> None:
    try:
        found = parse_typed(text)
    except InputError:
        return
    assert abs(found.value) <= (math.radians(1500) if found.kind == "angle" else 10.0)
