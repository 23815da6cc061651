"""A sheet typed reading by reading, without a terminal: what is asked, echoed, questioned and kept."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.angles.order import READING_ORDER
from diagnose.angles.sheet import Sheets, When
from diagnose.screen.angle_typing import type_sheet
from tests.scripted import Script
from tests.sheets import deg, sheets_of

ORDER = (
    "rear left camber, rear right camber, rear left toe, rear right toe, front left camber, "
    "front right camber, front left caster, front right caster, front left inclination, "
    "front right inclination, front set-back, front left toe, front right toe"
)
LIMITS = "angles: 1\nspecification: {rear: {camber: {low: -2, high: -1}}}"


def play(
    *lines: str | type[BaseException], known: str = "angles: 1", when: When = "before"
) -> tuple[Script, Sheets, list[Sheets]]:
    """Types the lines: the desk, the sheets in the end, and all that was kept on the way."""
    desk, kept = Script(*lines), []
    keep: Callable[[Sheets], None] = kept.append
    return desk, type_sheet(desk, sheets_of(known), when, keep), kept


def asked(desk: Script) -> list[str]:
    return [line.partition(" ")[2].removesuffix(" >") for line in desk.log if "/13 " in line]


def test_readings_are_asked_in_a_technicians_order() -> None:
    desk, sheets, _ = play(*[""] * 13)
    assert ", ".join(asked(desk)) == ORDER
    assert ", ".join(spot.words for spot in READING_ORDER) == ORDER
    assert sheets.before is None


def test_a_reading_is_echoed_with_its_verdict_and_kept_at_once() -> None:
    desk, sheets, kept = play("-2.5", "q", known=LIMITS)
    assert "= -2°30' ! out: 0°30' past the most negative allowed" in desk.log
    assert sheets.before is not None
    assert sheets.before.rear.left.camber == deg(-2.5)
    assert kept[0] == sheets


def test_near_a_limit_says_that_a_second_reading_may_tell_otherwise() -> None:
    desk, _, _ = play("-2°03'", known=LIMITS)
    assert (
        "= -2°03' ~ near: 0°03' past the most negative allowed; a second reading may tell otherwise"
        in desk.log
    )


def test_a_slip_says_how_to_write_it_and_asks_again() -> None:
    desk, sheets, _ = play("abc", "1°80'", "?", "-1°20'")
    assert asked(desk)[:5] == ["rear left camber"] * 4 + ["rear right camber"]
    assert "'abc' is neither an angle nor a length: write it like -1°20', -1.33, 80' or 2.5 mm" in desk.log
    assert (
        "rear left camber: write it like -1°20', -1.33 or -80'; top of the wheel out is positive." in desk.log
    )
    assert sheets.before is not None
    assert sheets.before.rear.left.camber == deg(-1, 20)


def test_a_doubtful_reading_is_questioned_and_kept_by_enter_or_typed_again() -> None:
    desk, sheets, _ = play("40", "", "40", "-0°40'")
    assert desk.log.count("Enter keeps it; or type it again >") == 2
    assert sheets.before is not None
    assert sheets.before.rear.left.camber == deg(40)
    assert sheets.before.rear.right.camber == deg(0, 40) * -1
    assert any("It could be +0°40' (minutes typed as degrees)" in line for line in desk.log)


def test_u_takes_the_last_reading_back() -> None:
    desk, sheets, kept = play("u", "-1", "-2", "u", "-1.5", "u", "u", "-3")
    assert "Nothing to take back: this is the first reading." in desk.log
    assert desk.log.count("Taken back: rear right camber.") == 2
    assert "Taken back: rear left camber." in desk.log
    assert sheets.before is not None
    assert (sheets.before.rear.left.camber, sheets.before.rear.right.camber) == (deg(-3), None)
    assert kept[-1] == sheets


def test_u_at_a_question_takes_back_the_reading_in_question() -> None:
    desk, sheets, _ = play("-1", "40", "u", "-2")
    assert sheets.before is not None
    assert (sheets.before.rear.left.camber, sheets.before.rear.right.camber) == (deg(-1), deg(-2))
    assert asked(desk)[1:3] == ["rear right camber"] * 2


def test_a_skipped_reading_can_be_taken_back_too() -> None:
    desk, _, _ = play("", "u", "-1")
    assert asked(desk)[:4] == [
        "rear left camber",
        "rear right camber",
        "rear left camber",
        "rear right camber",
    ]


def test_however_it_ends_what_was_typed_is_kept() -> None:
    for end in ("q", EOFError, KeyboardInterrupt):
        _, sheets, kept = play("-1", "40", end)
        assert sheets.before is not None
        # The reading that was questioned last stands as typed.
        assert (sheets.before.rear.left.camber, sheets.before.rear.right.camber) == (deg(-1), deg(40))
        assert kept[-1] == sheets


def test_a_doubtful_reading_is_kept_before_it_is_questioned() -> None:
    kept: list[Sheets] = []
    desk = Script("40", RuntimeError)
    with pytest.raises(RuntimeError):
        type_sheet(desk, sheets_of("angles: 1"), "before", kept.append)
    assert [each.before.rear.left.camber for each in kept if each.before] == [deg(40)]


def test_toe_as_a_length_asks_for_its_diameter_once() -> None:
    desk, sheets, _ = play("", "", "1.0 mm", "0", "16", "1.2 mm", "q")
    assert sum("At which diameter" in line for line in desk.log) == 2
    assert any("'0' has no unit of length" in line for line in desk.log)
    assert sheets.car.toe_at == 0.4064
    assert sheets.before is not None
    assert sheets.before.car == sheets.car
    assert sheets.before.rear.right.toe is not None


def test_without_a_diameter_toe_is_asked_again() -> None:
    desk, sheets, _ = play("", "", "1 mm", "", "0°08'", "q")
    assert "Then give toe as an angle, or skip it." in desk.log
    assert sheets.before is not None
    assert sheets.before.rear.left.toe == deg(0, 8)


def test_only_what_is_missing_is_asked() -> None:
    known = "angles: 1\nfront: {set-back: 3 mm}\nrear: {left: {camber: -1}}"
    desk, sheets, _ = play("-2", "q", known=known)
    assert "1/11 rear right camber >" in desk.log
    assert not any("set-back" in line for line in desk.log)
    assert sheets.before is not None
    assert sheets.before.rear.left.camber == deg(-1)


def test_the_measurement_after_goes_beside_the_one_before() -> None:
    _, sheets, _ = play("-2", "q", known="angles: 1\nrear: {left: {camber: -1}}", when="after")
    assert sheets.before is not None
    assert sheets.after is not None
    assert (sheets.before.rear.left.camber, sheets.after.rear.left.camber) == (deg(-1), deg(-2))
    assert sheets.after.when == "after"
