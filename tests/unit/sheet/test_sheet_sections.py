"""What a sheet says of jobs that have come less far than the demo, or further: only what is there."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

import pytest

from diagnose.commands.sheet import gather
from diagnose.job import events as e
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.model.story import Seen, Workshop
from diagnose.plan.wishes import Wishes
from diagnose.sheet.html import html_of
from diagnose.sheet.made import sheet
from diagnose.sheet.markdown import markdown_of
from diagnose.sheet.material import Material
from diagnose.sheet.page import Page, Section
from tests.parsed import find, parsed, text_of
from tests.sheet_job import NOW
from tests.shipped import LIBRARY

CLUNK = "front-clunk-over-bumps"
LINKS = "renew-front-drop-links"


@pytest.fixture
def session(tmp_path: object) -> Iterator[Session]:
    """Demo: a car that clunks, in a place where no check can be done, so that none is chosen."""
    steps: list[list[e.Event]] = [
        [e.ComplaintHeard(CLUNK)],
        [e.VehicleFact("front", "strut"), e.Distance(187_000.0, 12.0)],
    ]
    with Journal.open(tmp_path / "jobs.sqlite", clock=lambda: NOW) as journal:  # type: ignore[operator]
        nowhere = Workshop("EUR", 80.0, frozenset(LIBRARY.set_ups))
        yield Session.start(LIBRARY, journal, "demo car", nowhere, steps)


def page_of(session: Session) -> Page:
    return sheet(Material(session, session.job, date(2031, 5, 14)))


def section(page: Page, name: str) -> Section:
    (found,) = [each for each in page.all_sections() if each.id == name]
    return found


def names(page: Page) -> list[str]:
    return [each.id for each in page.all_sections()]


def test_a_job_that_has_only_begun(session: Session) -> None:
    page = page_of(session)
    assert names(page) == ["in-short", "complaint", "car", "causes"]
    assert page.notices == ()
    assert find(parsed(html_of(page)), "svg") == []


def test_the_ranking_is_that_of_the_verdict(session: Session) -> None:
    rows = section(page_of(session), "causes").blocks[0].rows  # type: ignore[union-attr]
    first = session.verdict.rows[0]
    assert rows[0][1].share == first.to_blame and rows[0][2].text == str(round(100 * first.probability))
    assert rows[-1][0].text == "something not listed here"


def test_the_picture_has_a_point_for_each_step_that_told_something(session: Session) -> None:
    finding = next(
        f for f in LIBRARY.findings.values() if any(link.target == "front-drop-link-play" for link in f.links)
    )
    before = float(session.verdict.belief.to_blame.max())
    session.do(e.Noted("nothing that tells (demo)"))
    session.answer(LIBRARY.checks[finding.check], [Seen(finding.id, "front-left", finding.levels[0])])
    page = page_of(session)
    lines = section(page, "movement").blocks[0].picture  # type: ignore[union-attr]
    assert len(lines.points) == 2
    now = float(session.verdict.belief.to_blame.max())
    assert max(line.last for line in lines.lines[:-1]) == pytest.approx(now)
    assert max(line.values[0] for line in lines.lines[:-1]) == pytest.approx(before)
    assert lines.lines[-1].last == pytest.approx(session.verdict.belief.outside)


@pytest.mark.slow
def test_a_repair_that_nobody_has_driven(session: Session) -> None:
    session.repair(session.repaired(LINKS, price=60.0, hours=0.8))
    page = page_of(session)
    text = markdown_of(page)
    assert "nobody has driven it since" in " ".join(text.split())
    rows = [[cell.text for cell in row] for row in section(page, "repairs").blocks[0].rows]  # type: ignore[union-attr]
    # 60 for parts and 0.8 hours at 80: 124.
    assert rows[1][3] == "124 EUR" and rows[1][4].endswith("(not driven)")
    assert page.notices[0].kind == "caution"  # what the repair obliges to


@pytest.mark.slow
def test_a_cured_car_is_told_so_and_no_plan_follows(session: Session) -> None:
    session.repair(session.repaired(LINKS, price=60.0, hours=0.8))
    session.feel({CLUNK: "no"})
    session.feel({CLUNK: "no"}, days=14.0, km=600.0)
    material = Material(session, session.job, date(2031, 5, 14))
    assert material.cured
    page = sheet(material, "owner")
    assert "next" not in names(page) and "plan" not in names(page) and "causes" not in names(page)
    first = page.sections[0].blocks[0].text  # type: ignore[union-attr]
    assert first.startswith("The repairs ended the complaint")
    rows = [[cell.text for cell in row] for row in section(page, "repairs").blocks[0].rows]  # type: ignore[union-attr]
    assert rows[-1][0] == "1, later" and "14 days" in rows[-1][1]


@pytest.mark.slow
def test_a_job_has_the_name_that_it_was_given_last(session: Session) -> None:
    session.journal.rename(session.job, "another (demo)")
    material = gather(session, session.job, NOW, Wishes())
    assert "another (demo)" in sheet(material).about and "demo car" not in markdown_of(sheet(material))


def test_what_was_found_unfit_stands_on_top(session: Session) -> None:
    finding = next(f for f in LIBRARY.findings.values() if f.unfit and f.reading is None and not f.where)
    session.do(e.Answered(finding.id, None, finding.levels[-1]))
    page = page_of(session)
    assert page.notices[0].kind == "danger" and page.notices[0].title == "Not fit to drive"
    assert finding.unfit in page.notices[0].lines
    root = parsed(html_of(page))
    assert text_of(find(root, "main")[0]).startswith("Not fit to drive")


def test_an_earlier_warning_is_not_forgotten(session: Session) -> None:
    session.do(e.Unfit("The ball joint hangs by its boot (demo)."))
    page = page_of(session)
    assert page.notices[0].title == "Was found unfit to drive; make sure that this is mended"
    assert page.notices[0].lines == ("The ball joint hangs by its boot (demo).",)
    bare = sheet(Material(session, session.job, date(2031, 5, 14), nameless=True))
    assert bare.notices[0].lines == ("(words left out)",)
