"""Readings as people type them, and as options give them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.geometry.speed import KMH
from diagnose.shake.asked import asked
from diagnose.shake.given import Reading
from diagnose.shake.typed import (
    looks_measured,
    parse_frequency,
    parse_number,
    parse_ratio,
    parse_readings,
    parse_speed,
)


def plain(readings: tuple[Reading, ...]) -> list[tuple[float, float, str]]:
    return [(round(each.frequency, 3), round(each.shown, 3), each.unit) for each in readings]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("14.6 Hz at 110 km/h", [(14.6, 110, "km/h")]),
        ("14,6 Hz at 110, 12,1 at 90", [(14.6, 110, "km/h"), (12.1, 90, "km/h")]),
        (
            "14.6hz@110kmh,12.1@90kph; 17.3 at 130",
            [(14.6, 110, "km/h"), (12.1, 90, "km/h"), (17.3, 130, "km/h")],
        ),
        ("14.6 @110,12.1 @90", [(14.6, 110, "km/h"), (12.1, 90, "km/h")]),
        ("14.6 hz 68 mph", [(14.6, 68, "mph")]),
        ("110 km/h: 14.6 Hz, at 90 km/h 12.1 Hz", [(14.6, 110, "km/h"), (12.1, 90, "km/h")]),
        ("876 per minute at 110", [(14.6, 110, "km/h")]),
        ("14.6 Hz at 30 m/s", [(14.6, 108, "km/h")]),
    ],
)
def test_readings(text: str, wanted: list[tuple[float, float, str]]) -> None:
    assert looks_measured(text)
    assert plain(parse_readings(text)) == wanted


def test_how_it_was_read() -> None:
    (one,) = parse_readings("14.6 Hz at 110 km/h and 2800 rpm, by satellite, recorded for 30 s")
    assert (one.rpm, one.by, one.seconds, one.felt) == (2800.0, "satellite", 30.0, False)
    first, second = parse_readings("counted by hand: 5 a second at 40 km/h, 2.5 at 20")
    assert (first.felt, second.felt, first.by, second.rpm) == (True, True, "speedometer", None)


@pytest.mark.parametrize(
    "text",
    ["14.6 Hz", "14.6:110", "at 110", "14.6 Hz at 110 furlongs", "", ",,,", "nan Hz at 110", "14.6 hz at -3"],
)
def test_what_is_no_reading_is_told_how_to_be_written(text: str) -> None:
    with pytest.raises(InputError, match=r"write it like 14\.6 Hz at 110 km/h, 12\.1 Hz at 90 km/h"):
        parse_readings(text)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match=r"the frequency must be a number from 0\.3 to 500 Hz, not 600"):
        parse_readings("600 Hz at 110")
    with pytest.raises(InputError, match="too long"):
        parse_readings("14.6 Hz at 110, " * 40)


@pytest.mark.parametrize("text", ["1", "9 mm", "once per wheel turn", "n", "2l", "no clear peak", "3?"])
def test_other_answers_do_not_look_measured(text: str) -> None:
    assert not looks_measured(text)


def test_numbers() -> None:
    assert parse_speed("68 mph") == (pytest.approx(68 * 1.609344 * KMH), "mph")
    assert parse_speed("110")[0] == pytest.approx(110 * KMH)
    assert parse_frequency("14,6 Hz") == 14.6
    assert [parse_ratio(each) for each in ("3.9", "3,9:1", "39/10", "3.9 to 1")] == [3.9] * 4
    assert parse_number("2.5", "x", "3") == 2.5


@pytest.mark.parametrize("read", [parse_speed, parse_frequency, parse_ratio, parse_readings])
@given(text=st.text(max_size=60) | st.from_regex(r"[0-9., :/@hzkmatrpm]{0,40}", fullmatch=True))
def test_no_text_ends_in_anything_but_words(read: object, text: str) -> None:
    looks_measured(text)
    try:
        read(text)  # type: ignore[operator]
    except InputError as told:
        assert str(told).isprintable()


# Options ----------------------------------------------------------------------------------------------


def test_options_make_readings_and_a_car() -> None:
    readings, car = asked(
        ["90:12.1", "68 mph:14.6:2800"],
        ["110"],
        ["14.6"],
        ["2900", "3000"],
        by="satellite",
        seconds="30",
        rate="200",
        tyre="205/55 R16",
        final_drive="39/10",
        drive="front",
        cylinders="4",
    )
    assert plain(readings) == [(12.1, 90, "km/h"), (14.6, 68, "mph"), (14.6, 110, "km/h")]
    assert [each.rpm for each in readings] == [2900.0, 2800.0, 3000.0]
    assert {(each.by, each.seconds, each.rate) for each in readings} == {("satellite", 30.0, 200.0)}
    assert car.tyre is not None
    assert (car.final_drive, car.propshaft, car.cylinders) == (3.9, False, 4)


@pytest.mark.parametrize(
    ("options", "more", "message"),
    [
        ((["110"], [], [], []), {}, "--at '110': write speed, colon, frequency, such as --at 110:14.6"),
        (([], ["110"], [], []), {}, "1 of --speed and 0 of --frequency: give one for each speed"),
        ((["110:14", "90:12"], [], [], ["2000"]), {}, "1 of --rpm for 2 speeds without one"),
        ((["110:14"], [], [], []), {"cylinders": "4.5"}, "--cylinders '4.5': write a whole number such as 4"),
        ((["110:14"], [], [], []), {"cylinders": "x"}, "--cylinders 'x' is not a number: write it like 4"),
        ((["110:14"], [], [], []), {"seconds": "-3"}, "--seconds '-3' is not a number: write it like 20"),
        ((["110:14"], [], [], []), {"tyre": "205/55R16", "circumference": "1.9"}, "say the same"),
        ((["fast:14"], [], [], []), {}, "'fast' is not a speed: write it like 110 km/h or 68 mph"),
        ((["110:x"], [], [], []), {}, "'x' is not a frequency: write it like 14.6 Hz"),
        (
            (["110:14"], [], [], []),
            {"final_drive": "x"},
            "'x' is not a ratio: write it like 3.9, or its teeth",
        ),
    ],
)
def test_options_that_are_wrong(options: tuple[list[str], ...], more: dict[str, str], message: str) -> None:
    with pytest.raises(InputError) as told:
        asked(*options, **more)  # type: ignore[arg-type]
    assert message in str(told.value)
