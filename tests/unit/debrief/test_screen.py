"""The pages: everything in words, within the width, with and without Unicode."""

from __future__ import annotations

import io

import pytest
from hypothesis import given, settings
from rich.console import Console, RenderableType

from diagnose.debrief.compare import compare
from diagnose.debrief.drive import Drive, leg_of
from diagnose.debrief.route import ROUTE
from diagnose.screen.debrief import changes_page, drive_page, scale_page
from diagnose.screen.debrief_blank import blank_form
from diagnose.screen.desk import Look
from tests.drives import AFTER, DEMO, LIBRARY, drive_in, drive_of, drives, felt

LOOK = Look(True, 80)


def text_of(page: RenderableType, width: int = 80) -> str:
    """The page as plain text."""
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, markup=False, highlight=False).print(page)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines())


def changes(before: Drive, after: Drive, look: Look = LOOK, reference: bool = False) -> str:
    found = compare(LIBRARY, before, after, other_car=reference)
    return text_of(changes_page(LIBRARY, found, before, look, reference), look.width)


def plain(text: str) -> str:
    return " ".join(text.split())


def test_a_drive_is_told_leg_by_leg() -> None:
    out = text_of(drive_page(LIBRARY, drive_in(DEMO), LOOK))
    lines = out.splitlines()
    assert lines[0] == "demo hatchback, invented"
    assert lines[1] == "3 May, morning · driven by A · 143 200 km · driver and one passenger"
    assert lines[2] == "tyre pressures set · road dry · still air · nothing to compare with"
    assert lines[3] == "straight fast road, 80-120 km/h"
    assert lines[4].startswith("  4 annoying               Wanders on a straight road: ")
    assert "  not rated                no complaint of the trees: " in out
    assert "Nothing noticed: braking from speed, 20-80 km/h; parking, 0-10 km/h, gravel" in plain(out)
    assert "Not driven: undulating road, bend under power" in plain(out)


def test_what_is_not_told_is_said_or_left_out() -> None:
    out = text_of(drive_page(LIBRARY, Drive(), LOOK)).splitlines()
    assert out[:2] == ["a car without a name", "tyre pressures not known · nothing to compare with"]
    assert "Not driven: straight fast road, undulating road" in out[2]


def test_every_change_has_its_word_its_figures_and_a_verdict() -> None:
    out = changes(drive_in(DEMO), drive_in(AFTER))
    assert out.startswith(
        "Since the drive before (3 May, morning)\n              before   now      complaint\n"
    )
    for row in (
        "  new         nothing  6.5      Pulls to one side when braking (left)",
        "  not driven  3        ?        Clunk from the front over bumps",
        "  better      4        8        Wanders on a straight road",
    ):
        assert row in out.splitlines()
    assert (
        "More than a driver's usual scatter: of 100 pairs of drives of an unchanged car <1 differ as much."
        in plain(out)
    )
    assert "Not driven this time, or not as fast: rough or patched surface; nobody can tell yet." in plain(
        out
    )
    assert (
        "Usual scatter: 0.8 to 0.9 points between two ratings of an unchanged car (estimate): the same "
        "driver again; rated without a reference; nothing told, or told without a rating." in plain(out)
    )


def test_small_differences_are_called_scatter_and_middling_ones_doubtful() -> None:
    was = drive_of(felt("straight", "wander", 6.0))
    assert "No more than a driver's usual scatter: of 100" in plain(
        changes(was, drive_of(felt("straight", "wander", 7.0)))
    )
    assert (
        "It may be scatter: of 100 pairs of drives of an unchanged car 8 differ as much. Drive it again."
        in (plain(changes(was, drive_of(felt("straight", "wander", 7.5)))))
    )
    alike = plain(changes(was, was))
    assert "unchanged 6 6 Wanders" in alike and "Rated alike on both drives." in alike


def test_a_leg_left_open_is_named_beside_what_was_compared() -> None:
    was = drive_of(felt("straight", "wander", 5.0), felt("crosswind", "wander", 4.0))
    out = plain(changes(was, drive_of(leg_of("straight"))))
    assert "better 5 nothing Wanders" in out
    assert "Not driven this time, or not as fast: crosswind; that part is open." in out
    back = plain(changes(drive_of(leg_of("straight")), was))
    assert "Not driven the time before, or not as fast: crosswind; that part is open." in back


def test_beside_a_good_car_other_words_hold() -> None:
    good = drive_of(felt("straight", "wander", 6.0), leg_of("braking"))
    this = drive_of(felt("straight", "wander", 5.5), felt("braking", "judder-when-braking", 3.0))
    out = plain(changes(good, this, reference=True))
    assert "Beside the car known to be good there now complaint" in out
    assert "only here nothing 3 Shudder" in out
    assert "of 100 pairs of cars that are alike" in out and "another car" in out
    assert out.count("The good car does it too: perhaps it is its nature, or that of the road.") == 1


def test_nothing_to_compare_is_said() -> None:
    assert "Nothing was noticed on either drive that could be compared." in changes(Drive(), Drive())


@settings(max_examples=15, deadline=None)
@given(drives, drives)
def test_no_page_is_wider_than_the_screen(one: Drive, other: Drive) -> None:
    for width in (60, 80, 140):
        look = Look(True, width)
        for page in (
            drive_page(LIBRARY, one, look),
            changes_page(LIBRARY, compare(LIBRARY, other, one), other, look),
        ):
            # A console that cuts or wraps nothing shows what the page itself does.
            lines = text_of(page, 400).splitlines()
            assert all(len(line) <= width or len(line.split()) == 1 for line in lines)


def test_without_unicode_the_pages_are_plain_letters() -> None:
    look = Look(False, 80)
    before, after = drive_in(DEMO), drive_in(AFTER)
    pages = [drive_page(LIBRARY, before, look), scale_page(look)]
    out = "".join(text_of(page) for page in pages) + changes(before, after, look)
    assert out.isascii()
    assert "driven by A | 143 200 km" in out


def test_the_scale_keeps_number_and_word_together() -> None:
    out = text_of(scale_page(LOOK))
    assert "5 borderline" in out and "\n    6 moderate" in out
    assert not any(line.split()[-1].isdigit() for line in out.splitlines())


# The form --------------------------------------------------------------------------------------------


def test_the_form_is_one_page_of_plain_letters() -> None:
    lines = blank_form().splitlines()
    assert len(lines) <= 60
    assert max(map(len, lines)) <= 80
    assert blank_form().isascii()


def test_the_form_has_cautions_scale_and_room_for_every_leg() -> None:
    form = blank_form()
    head, _, legs = form.partition("1 straight fast road")
    assert "fit to drive" in plain(head) and "Local law and licensed practice come before" in plain(head)
    assert "5 borderline" in plain(head)
    for kind in ROUTE.values():
        assert f" {kind.name}, {kind.low}-{kind.high} km/h" in form and kind.manoeuvre in form
    assert legs.count("rating ......") == 2 * len(ROUTE)
    assert form.count("[ ] not driven  [ ] nothing") == len(ROUTE)


@pytest.mark.parametrize(
    "field", ["car", "when", "who drove", "km at start", "load", "tyre pressures", "weather"]
)
def test_the_form_asks_what_the_file_holds(field: str) -> None:
    assert f"{field} " in blank_form()
