"""The values of a sheet: each can be found, changed and named."""

from __future__ import annotations

import pytest

from diagnose.angles.sheet import NONE_SAID, SPECIFIED, Allowed, Sheet, Sheets, Specification, Spot, spots
from diagnose.angles.show import Shown
from tests.sheets import deg


def test_every_place_can_be_filled_and_is_the_only_one_filled() -> None:
    for number, spot in enumerate(spots(), start=1):
        sheet = Sheet().with_value(spot, number / 1000.0)
        assert list(sheet.values()) == [(spot, number / 1000.0)]
        assert sheet.with_value(spot, None) == Sheet()
    assert number == 32


@pytest.mark.parametrize(
    ("spot", "words", "path"),
    [
        (Spot("front", "left", "camber"), "front left camber", "front/left/camber"),
        (Spot("rear", "", "total-toe"), "rear total toe", "rear/total-toe"),
        (Spot("rear", "", "thrust"), "thrust angle", "rear/thrust"),
        (Spot("", "", "rim"), "steering wheel angle", "rim"),
        (Spot("front", "", "set-back-length"), "front set-back", "front/set-back-length"),
    ],
)
def test_a_place_has_a_name(spot: Spot, words: str, path: str) -> None:
    assert (spot.words, spot.path) == (words, path)


def test_a_specification_answers_for_every_value() -> None:
    row = Allowed(high=0.1)
    told = Specification((("rear", "toe", row), ("front", "toe", NONE_SAID)))
    assert told.of("rear", "toe") is row
    assert told.of("front", "camber") is NONE_SAID
    assert told.ordered() == Specification((("rear", "toe", row),))
    assert set(SPECIFIED) == {"front", "rear"}


def test_a_range_may_be_open_at_one_end() -> None:
    assert Allowed(high=1.0).holds(-9.0)
    assert not Allowed(high=1.0).holds(1.1)
    assert not Allowed(low=1.0).holds(0.9)


def test_the_latest_is_the_one_after_else_before_else_an_empty_one() -> None:
    before, after = Sheet("before", rim=0.1), Sheet("after", rim=0.2)
    assert Sheets(before, after).latest is after
    assert Sheets(before).latest is before
    assert Sheets().latest == Sheet()


@pytest.mark.parametrize(
    ("units", "angle", "text"),
    # Own arithmetic: 406.4 sin 0.2 = 1.419 mm; of a total each wheel has half: 2 x 406.4 sin 0.1 = 1.419.
    [
        ("minutes", "toe", "+0°12'"),
        ("degrees", "toe", "+0.20°"),
        ("mm", "toe", "+1.4 mm"),
        ("mm", "total-toe", "+1.4 mm"),
        ("mm", "camber", "+0°12'"),
    ],
)
def test_a_value_is_shown_in_the_units_of_the_workshop(units: str, angle: str, text: str) -> None:
    assert Shown(units, 0.4064).value(deg(0.2), angle) == text  # type: ignore[arg-type]


def test_each_wheel_has_half_of_a_total() -> None:
    # Own arithmetic: 2 x 406.4 sin 20 = 278.0 mm, where 406.4 sin 40 = 261.2.
    assert Shown("mm", 0.4064).value(deg(40), "total-toe") == "+278.0 mm"
    assert Shown("mm", 0.4064).value(deg(40), "toe") == "+261.2 mm"


def test_in_ascii_no_degree_sign_is_shown() -> None:
    assert Shown("minutes", None, True).value(deg(-0.2), "toe") == "-0d12m"
    assert Shown("degrees", None, True).value(deg(-0.2), "toe") == "-0.20"
    # Without a diameter toe cannot be a length.
    assert Shown("mm").value(deg(-0.2), "toe") == "-0°12'"
