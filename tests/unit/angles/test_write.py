"""A sheet written and read again is the same sheet."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from diagnose.angles.sheet import Sheet, Sheets
from diagnose.angles.write import sheet_yaml, value_text
from tests.examples import often
from tests.sheets import DEMO, deg, files, sheet_of, sheets, sheets_of


@pytest.mark.slow
@often(20, 60, files())
def test_whatever_is_written_reads_the_same(known: Sheets) -> None:
    assert sheets_of(sheet_yaml(known)) == known


@pytest.mark.slow
@settings(max_examples=20, deadline=None)
@given(sheets())
def test_one_sheet_is_written_under_its_name(sheet: Sheet) -> None:
    found = sheets_of(sheet_yaml(sheet))
    assert (found.before, found.after) == (sheet, None)
    assert hash(found.before) == hash(sheet)


def test_a_second_writing_changes_nothing() -> None:
    once = sheet_yaml(sheets_of(DEMO))
    assert sheet_yaml(sheets_of(once)) == once
    assert "left: {camber: -1°45', caster: 3°30', inclination: 14°20', toe: -0°12'}" in once


def test_a_value_is_written_as_it_would_be_typed() -> None:
    for text in ("1.0 mm", "0.1 in", "0°07'", "-0.3°"):
        toe = sheet_of(f"toe-at: 16 in\nfront: {{left: {{toe: {text}}}}}").front.left.toe
        assert toe is not None
        assert value_text(toe, "toe", 0.4064) == {"0.1 in": "2.54 mm", "-0.3°": "-0°18'"}.get(text, text)
    assert value_text(deg(-1.0, 20), "camber", None) == "-1°20'"
    assert value_text(deg(-1.33), "camber", None) == "-1°19.8'"
    assert value_text(-0.006, "set-back-length", None) == "-6 mm"


def test_remarks_stand_at_the_head() -> None:
    assert sheet_yaml(Sheets(), "one\ntwo") == "# one\n# two\nangles: 1\nunits: minutes\n"
