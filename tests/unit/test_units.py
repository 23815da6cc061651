"""Numbers with units as people type them, and as they are shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.screen.car import read_distance
from diagnose.units import (
    FAMILIES,
    minutes,
    money,
    parse_distance,
    parse_reading,
    parse_years,
    plain,
)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("9", "mm", 9.0),
        ("9 mm", "mm", 9.0),
        ("9mm", "mm", 9.0),
        (" 9  mm ", "mm", 9.0),
        ("0.9 cm", "mm", 9.0),
        ("1 in", "mm", 25.4),
        ('1"', "mm", 25.4),
        ("25.4", "in", 25.4),
        ("1,5 bar", "kPa", 150.0),
        ("30 psi", "kPa", 206.842719),
        ("+0.5", "deg", 0.5),
        ("-1,25 deg", "deg", -1.25),
        ("30'", "deg", 0.5),
        ("45 arcmin", "deg", 0.75),
        (".5", "deg", 0.5),
        ("1 200 N", "N", 1200.0),
        ("10 lbf", "N", 44.482216),
        ("1.5 kg", "g", 1500.0),
        ("40 %", "%", 40.0),
        ("3 m/km", "m/km", 3.0),
        ("3", "rises", 3.0),
        ("3 rises", "rises", 3.0),
    ],
)
def test_readings(text: str, unit: str, value: float) -> None:
    assert parse_reading(text, unit) == pytest.approx(value, rel=1e-8)


@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("", "mm", "'' is not a number: write a number, such as 9 mm"),
        ("mm", "mm", "'mm' is not a number: write a number, such as 9 mm"),
        ("nan", "mm", "'nan' is not a number: write a number, such as 9 mm"),
        ("inf", "mm", "'inf' is not a number: write a number, such as 9 mm"),
        ("9 bar", "mm", "'bar' is not a unit of this reading: write it in mm, cm, m, in, inch, \""),
        ("1e3", "mm", "'e3' is not a unit of this reading: write it in mm, cm, m, in, inch, \""),
        ("9 mm", "rises", "'mm' is not a unit of this reading: write it in rises"),
        ("a\x1b[2J", "mm", "'a?[2J' is not a number: write a number, such as 9 mm"),
        ("x" * 50, "mm", f"'{'x' * 37}...' is not a number: write a number, such as 9 mm"),
    ],
)
def test_no_reading(text: str, unit: str, message: str) -> None:
    with pytest.raises(InputError) as raised:
        parse_reading(text, unit)
    assert str(raised.value) == message


@given(
    st.sampled_from([(u, v) for family in FAMILIES for u in family for v in family]),
    st.floats(-9999.0, 9999.0).map(lambda x: round(x, 3)),
)
def test_there_and_back_is_the_same_reading(pair: tuple[str, str], value: float) -> None:
    """A reading converted to another unit of its family and back again."""
    one, other = pair
    there = parse_reading(f"{value:.3f} {one}", other)
    back = parse_reading(f"{there:.12f} {other}", one)
    assert back == pytest.approx(value, rel=1e-6, abs=1e-6)


def test_what_is_too_long_is_not_cut_to_a_number() -> None:
    """Sixty digits of a longer number would be another number, and a unit cut off another reading."""
    for text in ("9" * 61, "9 " * 31 + "in", "9" + "0" * 10):
        with pytest.raises(InputError):
            parse_reading(text, "mm")
    assert parse_reading("9" + " " * 70 + "in", "mm") == pytest.approx(9 * 25.4)
    with pytest.raises(InputError) as caught:
        parse_reading("1e9 cm".replace("e9", "0" * 9), "mm")
    assert str(caught.value) == "'1000000000 cm' is too much for a reading: write a number, such as 9 mm"


@given(st.text(max_size=80), st.sampled_from(["mm", "deg", "kPa", "rises"]))
def test_any_text_is_a_finite_reading_or_refused(text: str, unit: str) -> None:
    try:
        value = parse_reading(text, unit)
    except InputError as error:
        assert str(error).isprintable()
        return
    assert abs(value) < 1e70


@pytest.mark.parametrize(
    ("text", "km"),
    [
        ("187000", 187_000.0),
        ("187 000 km", 187_000.0),
        ("187,000", 187_000.0),
        ("187.000 km", 187_000.0),
        ("187'000", 187_000.0),
        ("1.234.567", 1_234_567.0),
        ("187k", 187_000.0),
        ("187.5k", 187_500.0),
        ("187,5 tkm", 187_500.0),
        ("187 thousand km", 187_000.0),
        ("116000 miles", 186_683.904),
        ("116K MI", 186_683.904),
        ("0", 0.0),
        ("3000000", 3_000_000.0),
    ],
)
def test_distances(text: str, km: float) -> None:
    assert parse_distance(text) == pytest.approx(km)


@pytest.mark.parametrize("text", ["", "far", "-5", "12 parsecs", "1e5", ".", "...", "km", "1.2.3", "²"])
def test_no_distance(text: str) -> None:
    with pytest.raises(InputError) as raised:
        parse_distance(text)
    assert str(raised.value) == f"{text!r} is not a distance: write it like 187000 or 116000 miles"


@pytest.mark.parametrize("text", ["3000001", "2000000 miles", "9" * 400])
def test_no_distance_of_a_car(text: str) -> None:
    with pytest.raises(InputError) as raised:
        parse_distance(text)
    shown = text if len(text) <= 40 else text[:37] + "..."
    assert str(raised.value) == f"{shown!r} cannot be the distance of a car: write kilometres, such as 187000"


@given(st.integers(0, 3_000_000))
def test_distances_as_people_write_them(km: int) -> None:
    for text in (str(km), f"{km} km", f"{km:,}", f"{km:,}".replace(",", " "), f"{km:,}".replace(",", ".")):
        assert parse_distance(text) == km


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("12", 12.0),
        ("12 years", 12.0),
        ("1 yr", 1.0),
        ("18 months", 1.5),
        ("6 mo", 0.5),
        ("2,5 y", 2.5),
        ("0", 0.0),
    ],
)
def test_years(text: str, years: float) -> None:
    assert parse_years(text) == pytest.approx(years)


@pytest.mark.parametrize("text", ["", "old", "-1", "12 weeks", "2012-05", "1 2"])
def test_no_age(text: str) -> None:
    with pytest.raises(InputError) as raised:
        parse_years(text)
    assert str(raised.value) == f"{text!r} is not an age: write years, such as 12"


def test_a_calendar_year_is_no_age() -> None:
    with pytest.raises(InputError) as raised:
        parse_years("2012")
    assert str(raised.value) == "'2012' is too old for an age in years: write it like 12"


@given(st.text(max_size=60))
def test_any_text_is_a_distance_or_age_in_range_or_refused(text: str) -> None:
    for parse, most in ((parse_distance, 3_000_000.0), (parse_years, 120.0)):
        try:
            value = parse(text)
        except InputError as error:
            assert str(error).isprintable()
            continue
        assert 0.0 <= value <= most


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("187000 km, 12 years", (187_000.0, 12.0)),
        ("187000, 12", (187_000.0, 12.0)),
        ("187 000 km and 12 years", (187_000.0, 12.0)),
        ("12 years, 187000 km", (187_000.0, 12.0)),
        ("116,000 miles, 9 yrs", (186_683.904, 9.0)),
        ("187000", (187_000.0, None)),
        ("187k", (187_000.0, None)),
        ("12 years old", (None, 12.0)),
        ("18 months", (None, 1.5)),
        ("", (None, None)),
    ],
)
def test_distance_and_age_on_one_line(text: str, found: tuple[float | None, float | None]) -> None:
    km, years = read_distance(text)
    assert (km is None, years is None) == (found[0] is None, found[1] is None)
    assert (km or 0.0, years or 0.0) == pytest.approx((found[0] or 0.0, found[1] or 0.0))


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (9.0, "9"),
        (8.90, "8.9"),
        (0.126, "0.13"),
        (-0.001, "0"),
        (0.0, "0"),
        (1e6, "1000000"),
        (-1.25, "-1.25"),
    ],
)
def test_plain_numbers(value: float, text: str) -> None:
    assert plain(value) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0 s"),
        (0.5, "30 s"),
        (0.98, "59 s"),
        (0.999, "1 min"),
        (1.0, "1 min"),
        (7.4, "7 min"),
        (59.4, "59 min"),
        (59.6, "1 h"),
        (60.0, "1 h"),
        (130.0, "2 h 10 min"),
    ],
)
def test_minutes(value: float, text: str) -> None:
    assert minutes(value) == text


@given(st.floats(0.0, 6000.0))
def test_minutes_never_show_sixty_of_a_smaller_unit(value: float) -> None:
    words = minutes(value).split()
    numbers = [int(word) for word in words[::2]]
    assert words[1::2] in (["s"], ["min"], ["h"], ["h", "min"])
    assert all(number < 60 for number, unit in zip(numbers, words[1::2], strict=True) if unit != "h")


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.4, "0 cu"), (459.67, "460 cu"), (12_345.0, "12 345 cu"), (1_234_567.0, "1 234 567 cu")],
)
def test_money(value: float, text: str) -> None:
    assert money(value, "cu") == text
