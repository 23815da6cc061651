"""A drive told line by line, without a terminal: what is asked, echoed, taken back and kept."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.debrief.drive import Drive, Impression, leg_of
from diagnose.debrief.route import ROUTE
from diagnose.screen.debrief_typing import type_drive
from tests.drives import LIBRARY
from tests.scripted import Script


def play(*lines: str | type[BaseException], known: Drive | None = None) -> tuple[Script, Drive, list[Drive]]:
    """Types the lines: the desk, the drive in the end, and all that was kept on the way."""
    desk, kept = Script(*lines), []
    return desk, type_drive(desk, LIBRARY, known or Drive(), kept.append), kept


def noticed(drive: Drive) -> list[Impression]:
    return [one for _, one in drive.impressions()]


def test_enter_all_the_way_is_a_drive_without_a_complaint() -> None:
    desk, drive, _ = play(*[""] * 18)
    assert drive == Drive(legs=tuple(leg_of(kind) for kind in ROUTE))
    assert len([line for line in desk.log if line.endswith(">")]) == 18
    assert "never at the wheel" in desk.log[0]


def test_one_impression_with_all_that_is_asked_of_it() -> None:
    desk, drive, _ = play("car needs constant steering on the motorway", "", "4", "from 80 km/h", "")
    assert noticed(drive) == [
        Impression("car needs constant steering on the motorway", "wander", None, 4.0, "", "from 80 km/h")
    ]
    assert "= Wanders on a straight road: 4 annoying" in desk.log
    assert "1/9 straight fast road, anything else >" in desk.log


def test_a_wrong_match_is_corrected_by_number_by_words_or_refused() -> None:
    _, by_number, _ = play("pulls", "2")
    assert noticed(by_number)[0].complaint == "pulls-after-alignment"
    _, by_words, _ = play("it does that thing", "wanders")
    assert noticed(by_words)[0] == Impression("it does that thing; wanders", "wander")
    _, refused, _ = play("pulls", "0", "5", "")
    assert noticed(refused)[0] == Impression("pulls", None, None, 5.0)
    desk, _, _ = play("pulls", "7")
    assert "there is no 7: type 0 to 4, or other words" in desk.log


def test_the_side_is_taken_from_the_words_or_asked_for() -> None:
    desk, told, _ = play("pulls left", "5", "")
    assert noticed(told)[0].side == "left"
    assert not any("which side" in line for line in desk.log)
    desk, asked, _ = play("pull-to-one-side", "x", "r", "5", "")
    assert noticed(asked)[0].side == "right"
    assert "'x' is not a side: type l, r, or Enter" in desk.log


def test_a_rating_is_a_number_a_word_or_how_sure_it_is() -> None:
    for typed, rating, felt in (
        ("6.5", 6.5, ""),
        ("strong", 3.0, ""),
        ("cannot tell", None, "cannot-tell"),
        ("", None, ""),
    ):
        _, drive, _ = play("wander", typed)
        assert (noticed(drive)[0].rating, noticed(drive)[0].felt) == (rating, felt)
    desk, _, _ = play("wander", "loud", "12")
    assert any("'loud' is not a rating" in line for line in desk.log)
    assert any("12 is not on the scale" in line for line in desk.log)
    desk, _, _ = play("vague steering", "loud")
    assert "how good, 10 excellent to 1 not acceptable; Enter: not rated >" in desk.log


def test_a_rating_before_any_words_is_questioned() -> None:
    desk, drive, _ = play("annoying")
    assert "'annoying' is a rating: say first what was noticed, in the driver's words" in desk.log
    assert drive == Drive()


def test_a_leg_may_be_left_out_or_driven_otherwise() -> None:
    desk, drive, _ = play("-", "speed: 50-70", "surface: gravel", "manoeuvre: coasting", "", "speed: fast")
    assert drive.legs == (
        replace(leg_of("undulating"), low=50, high=70, surface="gravel", manoeuvre="coasting"),
    )
    assert "= 50-70 km/h, gravel; coasting" in desk.log
    assert any("'fast' is not a speed" in line for line in desk.log)
    desk, drive, _ = play("wander", "4", "", "-", "")
    assert "something was noticed on this leg, so it was driven: Enter goes on" in desk.log
    assert drive.kinds == {"straight"}


def test_undo_takes_back_one_answer_at_any_question() -> None:
    desk, drive, kept = play("wander", "4", "u", "7", "", "", "u", "u")
    assert noticed(drive)[0].rating == 7.0
    assert desk.log.count("Taken back.") == 3
    assert desk.log[-2:] == ["where, or at what speed, did it begin? Enter: not told >", "Stopped."]
    assert kept[-1] == drive
    desk, drive, _ = play("u")
    assert "Nothing to take back: this is the first question." in desk.log
    _, drive, _ = play("", "u", "-", "")
    assert drive.kinds == {"undulating"}


@pytest.mark.parametrize("end", ["q", "quit", EOFError, KeyboardInterrupt])
def test_stopping_keeps_what_was_told_and_the_rest_can_follow(end: str | type[BaseException]) -> None:
    desk, drive, kept = play("", "-", "", end)
    assert drive.kinds == {"straight", "bend-power"}
    assert kept[-1] == drive and desk.log[-1] == "Stopped."
    again, whole, _ = play("", "q", known=drive)
    assert "1/7 undulating road, 60-90 km/h >" in again.log
    assert [leg.kind for leg in whole.legs] == ["straight", "undulating", "bend-power"]


def test_words_are_kept_before_anything_else_is_answered() -> None:
    _, _, kept = play("pulls")
    assert noticed(kept[-1]) == [Impression("pulls", "pull-to-one-side")]


def test_the_head_is_asked_last_and_only_what_is_missing() -> None:
    head = ["demo car", "today", "A", "89000 miles", "y", "driver", "damp", "still", "good"]
    _, drive, _ = play(*[""] * 9, *head)
    assert (drive.car, drive.when, drive.who, drive.load, drive.weather) == (
        "demo car",
        "today",
        "A",
        "driver",
        "still",
    )
    assert drive.km == pytest.approx(143231, abs=1)
    assert (drive.pressures, drive.road, drive.reference) == ("set", "damp", "good-car")
    desk, same, _ = play(known=drive)
    assert same == drive and not any(line.endswith(">") for line in desk.log)


def test_slips_in_the_head_are_told() -> None:
    desk, drive, _ = play(*["-"] * 9, "", "", "", "far", "", "maybe", "n", "", "d", "wet")
    assert any("'far' is not a distance" in line for line in desk.log)
    assert "'maybe' is none of these: type yes, no, or Enter" in desk.log
    assert "'d' is none of these: type dry, damp, wet, or Enter" in desk.log
    assert (drive.km, drive.pressures, drive.road) == (None, "not-set", "wet")


def test_help_belongs_to_the_question() -> None:
    desk, _, _ = play("?", "wander", "?")
    assert any("`speed: 60-80`" in line for line in desk.log)
    assert any("5 borderline, 4 annoying" in line and "Halves" in line for line in desk.log)


LINES = st.sampled_from(
    [
        "",
        "-",
        "u",
        "?",
        "pulls",
        "pulls left",
        "wander",
        "4",
        "annoying",
        "2",
        "0",
        "l",
        "speed: 9",
        "\x1b[31m",
        "y",
    ]
)


@settings(max_examples=10, deadline=None)
@given(st.lists(LINES, max_size=15))
def test_whatever_is_typed_nothing_is_lost_and_undo_undoes(lines: list[str]) -> None:
    _, drive, kept = play(*lines)
    assert kept[-1] == drive
    assert all(leg.kind in ROUTE for leg in drive.legs)
    # Everything taken back leads to where it began.
    _, nothing, _ = play(*lines, *["u"] * len(lines)) if len(drive.kinds) < 9 else (None, Drive(), None)
    assert nothing == Drive()
