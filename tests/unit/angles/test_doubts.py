"""Questions about what looks misread: each with its value, its place and what it could be instead."""

from __future__ import annotations

import pytest

from diagnose.angles.doubts import Doubt, doubts, value_doubts
from diagnose.angles.mirror import mirrored
from diagnose.angles.read import read_sheets
from diagnose.angles.sheet import Sheets, Spot
from diagnose.angles.write import sheet_yaml
from tests.sheets import DEMO, sheets_of

LIMITS = """
specification:
  front:
    camber: {low: -1°30', high: 0°30'}
    caster: {low: 3°00', high: 5°00'}
    toe: {low: 0°00', high: 0°20'}
    total-toe: {low: 0°00', high: 0°40'}
  rear:
    toe: {low: 0°00', high: 0°30'}
"""


def asked(body: str) -> tuple[Doubt, ...]:
    """The questions about such a sheet."""
    found = read_sheets(f"angles: 1\n{body}".encode(), "demo.yaml")
    return doubts(found.sheets, found.sources)


def only(body: str) -> str:
    """The one question about such a sheet."""
    (doubt,) = asked(body)
    return doubt.words


def test_the_demo_and_a_sheet_without_anything_strange_are_not_questioned() -> None:
    assert asked(DEMO.partition("angles: 1\n")[2]) == ()


def test_camber_of_forty_degrees_is_asked_with_its_place() -> None:
    (doubt,) = asked("front: {left: {camber: 40}}")
    assert str(doubt.place) == "demo.yaml:2:24"
    assert doubt.words == (
        "front left camber +40°00' is outside of -10°00' to +10°00', where road cars stand: is it right? "
        "It could be +0°40' (minutes typed as degrees), or +4°00' (a decimal point left out)."
    )


def test_of_two_readings_the_one_that_is_allowed_is_offered() -> None:
    words = only(f"front: {{left: {{camber: -40}}}}{LIMITS}")
    assert words.endswith("It could be -0°40' (minutes typed as degrees).")


def test_caster_far_below_nothing_may_have_the_wrong_sign() -> None:
    words = only(f"front: {{left: {{caster: -4}}}}{LIMITS}")
    assert words.endswith("It could be +4°00' (the other sign).")
    assert asked("front: {left: {caster: -2}}") == ()


def test_caster_of_a_rear_wheel_is_asked() -> None:
    assert only("rear: {right: {caster: 4}}") == (
        "rear right caster +4°00': caster is of steered wheels; was it read at the front?"
    )


@pytest.mark.parametrize(
    ("text", "instead"),
    # Own arithmetic: asin(2 / 406.4) = 0.282 degrees = 17'; 0.1 in at 16 in is 0.358 degrees.
    [
        ("12", "+0°12' (minutes typed as degrees)"),
        ("2", "+0°02' (minutes typed as degrees), or +0°17' (2 mm)"),
        ("2.5 in", "+0°21' (millimetres typed as inches)"),
    ],
)
def test_toe_of_a_size_that_fits_another_unit(text: str, instead: str) -> None:
    limits = LIMITS.replace("0°20'", "0°25'")
    assert f"It could be {instead}." in only(f"toe-at: 16 in\nfront: {{left: {{toe: {text}}}}}{limits}")


def test_many_minutes_typed_as_degrees_are_those_minutes() -> None:
    assert "It could be +0°45' (minutes typed as degrees)." in only("front: {left: {toe: 45}}")
    assert "+0°50' (minutes typed as degrees)" in only("front: {left: {camber: 50}}")


def test_toe_too_small_may_be_inches_typed_as_millimetres() -> None:
    limits = "specification: {front: {toe: {low: 0°15', high: 0°30'}}}"
    words = only(f"toe-at: 16 in\nfront: {{left: {{toe: 0.1 mm}}}}\n{limits}")
    assert words.endswith("It could be +0°21' (inches typed as millimetres).")


def test_toe_out_of_its_range_may_have_the_other_sign() -> None:
    words = only(f"front: {{left: {{toe: -0°12'}}}}{LIMITS}")
    assert words == (
        "front left toe -0°12' is out of its range: is it right? It could be +0°12' (the other sign)."
    )
    # Within what a reading may err it is no question.
    assert asked(f"front: {{left: {{toe: -0°02'}}}}{LIMITS}") == ()


def test_degrees_and_minutes_may_have_been_typed_with_a_point() -> None:
    limits = "specification: {rear: {camber: {low: -2°00', high: -1°35'}}}"
    words = only(f"rear: {{left: {{camber: -1.40}}}}\n{limits}")
    assert words.endswith("It could be -1°40' (degrees and minutes typed with a point).")


@pytest.mark.parametrize(
    ("text", "count"), [("75'", 1), ("60 min", 1), ("59'", 0), ("1°15'", 0), ("1.25", 0)]
)
def test_sixty_minutes_and_more_are_asked(text: str, count: int) -> None:
    found = asked(f"front: {{left: {{camber: {text}}}}}")
    assert len(found) == count
    assert all("has 60 minutes or more" in doubt.question for doubt in found)


@pytest.mark.parametrize(
    ("given", "count"),
    # Own arithmetic: three values rounded to a minute differ by 1.5' at most.
    [("0°12'", 0), ("0°14'", 0), ("0°15'", 1), ("0°04'", 1)],
)
def test_given_total_toe_is_held_against_its_parts(given: str, count: int) -> None:
    body = f"front: {{left: {{toe: 0°08'}}, right: {{toe: 0°04'}}, total-toe: {given}}}"
    assert len(asked(body)) == count
    if count:
        assert "but left and right together make +0°12': which of them is misread?" in only(body)


def test_given_included_angle_is_held_against_inclination_and_camber() -> None:
    words = only("front: {right: {camber: -1, inclination: 13, included: 14}}")
    assert words == (
        "front right included angle +14°00' is given, but inclination and camber together make +12°00': "
        "which of them is misread?"
    )
    assert asked("front: {right: {camber: -1, inclination: 13, included: 12}}") == ()


@pytest.mark.parametrize(
    ("given", "instead"),
    [
        ("-0°10'", "+0°10' (a sheet that counts thrust to the left), or left and right rear toe swapped"),
        ("0°20'", "+0°10' (the difference was given, not half of it)"),
    ],
)
def test_given_thrust_that_contradicts_rear_toe(given: str, instead: str) -> None:
    words = only(f"rear: {{left: {{toe: 0°15'}}, right: {{toe: -0°05'}}, thrust: {given}}}")
    assert words.endswith(f"It could be {instead}.")
    assert asked("rear: {left: {toe: 0°15'}, right: {toe: -0°05'}, thrust: 0°11'}") == ()


def two(after: str) -> Sheets:
    """The demo's measurement before, and one after."""
    before = sheets_of(DEMO).before
    assert before is not None
    other = {"same": before, "mirrored": mirrored(before)}[after]
    return sheets_of(sheet_yaml(before) + sheet_yaml(other).partition("before:\n")[2].join(("after:\n", "")))


def test_before_and_after_that_are_the_same_are_asked() -> None:
    (doubt,) = doubts(two("same"))
    assert doubt.words == "all 15 values that are there before and after are the same: were they read again?"


def test_before_and_after_that_are_mirrored_are_asked() -> None:
    found = [each.words for each in doubts(two("mirrored"))]
    assert any(
        "left and right swapped: was one of the readings taken from the other end" in each for each in found
    )


def test_set_back_and_height_in_another_unit() -> None:
    assert "+6.0 mm (millimetres typed as inches)" in only("front: {set-back: 6 in}")
    assert "400 mm (centimetres typed as millimetres)" in only("front: {left: {height: 40 mm}}")


def test_one_value_is_questioned_as_it_is_typed() -> None:
    sheet = sheets_of("angles: 1\nfront: {left: {toe: 1'}}").before
    assert sheet is not None
    (doubt,) = value_doubts(sheet, Spot("front", "left", "toe"), 0.2, "12")
    assert doubt.instead[0].endswith("(minutes typed as degrees)")
