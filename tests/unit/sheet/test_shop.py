"""The shop's own statistics as a page."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import html5lib
import pytest

from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.job.shop import ShopLine
from diagnose.sheet.html import html_of
from diagnose.sheet.markdown import markdown_of
from diagnose.sheet.page import Table
from diagnose.sheet.shop import shop_sheet
from tests.scripted import telling
from tests.shipped import LIBRARY


def line(complaint: str, jobs: int, cured: int, causes: tuple[tuple[str, int], ...] = ()) -> ShopLine:
    return ShopLine(complaint, jobs, jobs, cured, cured, jobs, 12.0, 3, 1, (("EUR", 90.0),), causes)


def test_the_page_sums_up_and_names_the_causes() -> None:
    some = [line("", 3, 2), line("wander", 3, 2, (("outer-tie-rod-end-play", 2),))]
    page = shop_sheet(LIBRARY, some, 1, date(2030, 5, 4))
    table = next(each for each in page.sections[0].blocks if isinstance(each, Table))
    assert [[cell.text for cell in row] for row in table.rows] == [
        ["Wanders on a straight road", "3", "2", "2", "12 min", "3", "1"],
        ["All of them", "3", "2", "2", "12 min", "3", "1"],
    ]
    text = " ".join(markdown_of(page).split())
    assert "outer tie rod end: play in the ball socket (2)" in text
    assert "Parts fitted in vain, as told: 90 EUR." in text
    assert "Left out: 1 that cannot be read." in text
    html5lib.HTMLParser(strict=True).parse(html_of(page))


def test_a_complaint_that_the_trees_lack_stays_text() -> None:
    page = shop_sheet(LIBRARY, [line("", 1, 0), line("<b>odd</b>", 1, 0)], 0, date(2030, 5, 4))
    assert "<b>odd</b>" not in html_of(page)
    assert "&lt;b&gt;odd&lt;/b&gt;" in html_of(page)


def test_an_empty_shop_says_so() -> None:
    page = shop_sheet(LIBRARY, [ShopLine("", 0, 0, 0, 0, 0, None, 0, 0, (), ())], 0, date(2030, 5, 4))
    assert "No jobs to report on." in markdown_of(page)


def test_the_command_writes_it_and_spares_what_is_there(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("diagnose.commands.given.library", lambda options: LIBRARY)
    monkeypatch.setenv("DIAGNOSE_STORE", str(tmp_path / "jobs.sqlite"))
    with Journal.open(tmp_path / "jobs.sqlite") as journal:
        session = Session(LIBRARY, journal, journal.create("demo"))
        session.do(e.ComplaintHeard("wander"))
    tell, path = telling("jobs report", capsys, monkeypatch), tmp_path / "shop.html"
    assert tell("--to", path)[0] == 0
    assert "Wanders on a straight road" in path.read_text("utf-8")
    code, _, err = tell("--to", path)
    assert (code, "is there already" in err) == (2, True)
    assert tell("--to", path, "--replace")[0] == 0
    assert tell("--to", tmp_path / "shop.txt")[0] == 2
