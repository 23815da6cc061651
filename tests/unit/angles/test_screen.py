"""The table and the drawing: everything in words and marks, within the width, with and without Unicode."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console, RenderableType

from diagnose.angles.doubts import Doubt
from diagnose.angles.sheet import Sheets, Spot
from diagnose.errors import Place
from diagnose.screen.angle_words import doubts_page, missing, verdicts_page
from diagnose.screen.angles import judge_all, shown_for, table_page
from diagnose.screen.desk import Look
from diagnose.screen.plan import plan_page
from tests.examples import often
from tests.sheets import DEMO, files, sheets_of

LOOK = Look(True, 80)


def text_of(page: RenderableType, width: int = 80) -> str:
    """The page as plain text."""
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, markup=False, highlight=False).print(page)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines())


def table(sheets: Sheets, look: Look = LOOK) -> str:
    shown = shown_for(sheets, look)
    return text_of(table_page(sheets, judge_all(sheets, shown), look, shown), look.width)


def plan(body: str, look: Look = LOOK) -> list[str]:
    """The drawing of a sheet with these lines below its version."""
    sheets = sheets_of("angles: 1\n" + body)
    shown = shown_for(sheets, look)
    return text_of(plan_page(judge_all(sheets, shown)[-1], look, shown), look.width).splitlines()


def verdicts(sheets: Sheets, look: Look = LOOK) -> str:
    return text_of(verdicts_page(sheets, judge_all(sheets, shown_for(sheets, look)), look))


BOTH = DEMO + DEMO.partition("before:\n")[2].join(("after:\n", "")).replace("-1°45'", "-0°40'")


def test_before_and_after_stand_side_by_side() -> None:
    lines = table(sheets_of(BOTH)).splitlines()
    titles = next(line for line in lines if "before" in line)
    assert titles.split() == ["before", "after"] * 3 + ["verdict"]
    camber = next(line for line in lines if line.startswith("  camber"))
    assert camber.split()[1:7] == ["-1°45'!", "-0°40'", "-0°40'", "-0°40'", "-1°05'!", "0°00'"]
    assert "now in" in table(sheets_of(BOTH)).replace("\n" + " " * 64, " ")
    assert "still: left out" in table(sheets_of(BOTH))
    assert "Now in: front left camber, front difference of camber" in verdicts(sheets_of(BOTH))


def test_out_of_range_is_told_by_mark_and_word() -> None:
    out = table(sheets_of(DEMO))
    assert "  camber        -1°45'!    -0°40'     -1°05'!    left out, difference out\n" in out
    assert "    allowed: -1°20' to +0°20', sides differ by 0°30' at most, cannot be set\n" in out
    words = " ".join(verdicts(sheets_of(DEMO)).split())
    assert (
        "! Out: front left camber: 0°25' past the most negative allowed; cannot be set on this car" in words
    )
    assert "! Out: front left toe: 0°12' past the smallest toe-in allowed; can be set" in words
    assert "Cannot be set on this car: front camber, front caster, rear camber, rear toe" in words


def test_one_side_alone_is_said_to_be_missing() -> None:
    limits = "specification: {front: {camber: {high: 1}, caster: {cross: 1}}}"
    out = table(sheets_of(f"angles: 1\nfront: {{left: {{caster: 4}}}}\n{limits}"))
    assert [line.split() for line in out.splitlines() if line.startswith("  ca")] == [
        ["camber", "-", "-", "not", "measured"],
        ["caster", "+4°00'", "-", "right", "not", "measured"],
    ]
    out = table(sheets_of(f"angles: 1\nfront: {{left: {{camber: 0}}}}\n{limits}"))
    assert "in, right not measured" in out
    out = table(sheets_of(f"angles: 1\nfront: {{left: {{camber: 2}}}}\n{limits}"))
    assert "left out, right not measured" in " ".join(out.split())


def test_what_does_not_belong_to_a_rear_wheel_is_shown_all_the_same() -> None:
    out = table(sheets_of("angles: 1\nrear: {left: {caster: 2, inclination: 3, height: 640 mm}}"))
    for shown in ("+2°00'", "+3°00'", "640 mm"):
        assert shown in out


def test_a_wide_screen_tells_verdicts_in_full() -> None:
    out = table(sheets_of(DEMO), Look(True, 140))
    assert "left out: 0°25' past the most negative allowed; difference out: 0°35' past" in out


def test_what_is_missing_is_named_once_for_both_sides() -> None:
    sheets = sheets_of("angles: 1\nfront: {left: {camber: 1, caster: 1}, right: {camber: 1}}")
    (one,) = judge_all(sheets, shown_for(sheets, Look(True, 80)))
    assert missing(one) == [
        "rear camber",
        "rear toe",
        "front right caster",
        "front inclination",
        "front toe",
        "front ride height",
        "rear ride height",
        "front set-back",
        "wheelbase (for how far the rear runs off)",
        "what is allowed on this car",
    ]
    assert "No limits are given: nothing is judged." in verdicts(sheets)


def test_an_empty_sheet_says_how_to_begin() -> None:
    assert "Nothing is measured yet" in table(sheets_of("angles: 1"))


def middle(line: str) -> int:
    """The column of the first block of a wheel."""
    return line.index("███")


def test_toe_turns_each_wheel_towards_its_side() -> None:
    # Toe-in: the left wheel's front stands further right than its rear, the right wheel's further left.
    lines = plan("front: {left: {toe: 0.3}, right: {toe: 0.3}}")
    assert middle(lines[2]) - middle(lines[6]) == 6
    assert lines[2].rindex("███") - lines[6].rindex("███") == -6
    out = plan("front: {left: {toe: -0.1}, right: {toe: 0}}")
    assert middle(out[2]) - middle(out[6]) == -2
    assert out[2].rindex("███") == out[6].rindex("███")
    # A minute and a half is seen, though it is less than a column.
    assert middle(plan("front: {left: {toe: 1.5'}, right: {toe: 0}}")[2]) == middle(out[4]) + 1


def test_thrust_line_leans_to_the_side_to_which_the_axle_pushes() -> None:
    right = plan("rear: {left: {toe: 0.25}, right: {toe: -0.25}}")
    assert right[1].index("▲") == 39 + 3
    assert "thrust line +0°15', to the right" in right[18]
    left = plan("rear: {left: {toe: -0.25}, right: {toe: 0.25}}")
    assert left[1].index("▲") == 39 - 3
    assert "to the left" in left[18]
    assert "no thrust line: rear right toe missing" in plan("rear: {left: {toe: 0.1}}")[18]


def test_the_top_of_a_wheel_leans_out_with_positive_camber() -> None:
    lines = plan(
        "front: {left: {camber: 1}, right: {camber: 1}}\nrear: {left: {camber: -1}, right: {camber: -1}}"
    )
    assert lines[1].split() == ["◄top", "┊", "top►"]
    assert lines[11].split() == ["top►", "┊", "◄top"]
    assert "top►" not in "".join(plan("front: {left: {camber: 0}}"))


def test_a_missing_toe_is_drawn_otherwise_and_said() -> None:
    lines = plan("front: {left: {camber: -1}}")
    assert "░░░" in lines[2]
    assert lines[3].startswith(" camber -1°00'")
    assert lines[4].startswith(" toe    missing")


def test_the_drawing_says_that_it_is_no_measure() -> None:
    for body in (DEMO.partition("angles: 1\n")[2], "rim: 1"):
        lines = plan(body)
        assert lines[0] == "Before, seen from above, front at the top: exaggerated, not to scale"
        assert len(lines) == 20
    assert "! out" in "\n".join(plan(DEMO.partition("angles: 1\n")[2]))


def test_a_narrow_terminal_gets_no_drawing() -> None:
    assert plan("rim: 1", Look(True, 60)) == ["The drawing needs 78 columns."]


@pytest.mark.slow
@often(15, 40, files())
def test_nothing_is_wider_than_the_screen_and_ascii_is_ascii(sheets: Sheets) -> None:
    for look in (Look(False, 80), Look(False, 132)):
        shown = shown_for(sheets, look)
        judged = judge_all(sheets, shown, general=True)
        named = Sheets(sheets.before, sheets.after, sheets.units, specification=sheets.specification)
        pages = [table_page(named, judged, look, shown), verdicts_page(sheets, judged, look)]
        pages += [plan_page(judged[-1], look, shown)] if judged else []
        for page in pages:
            out = text_of(page, 300)
            assert out.isascii()
            assert max(map(len, out.splitlines()), default=0) <= look.width


@pytest.mark.parametrize(("number", "head"), [(1, "1 question\n"), (2, "2 questions\n")])
def test_questions_are_counted(number: int, head: str) -> None:
    doubt = Doubt("before", Spot("front", "left", "toe"), "is it right?", ("this", "that"))
    here = replace(doubt, place=Place("demo.yaml", 7, 3))
    assert "  ? before, line 7: is it right?" in text_of(doubts_page([here], LOOK))
    out = text_of(doubts_page([doubt] * number, LOOK))
    assert out.startswith(head)
    assert "  ? before: is it right? It could be this, or that." in out
