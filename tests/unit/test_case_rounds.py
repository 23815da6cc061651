"""Case files with rounds of repair: read as the job that is told at the terminal, and every mistake told."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.cli import run
from diagnose.errors import CaseError
from diagnose.job import events as e
from diagnose.job.case import read_answers, read_case
from diagnose.job.export import export, import_text
from diagnose.job.journal import Journal
from diagnose.job.session import Session
from diagnose.job.steps import steps_of
from diagnose.model.check import BENCH
from diagnose.model.story import Heard, Seen, Workshop
from diagnose.report import ranking_json
from tests.shipped import LIBRARY

CLUNK = "front-clunk-over-bumps"
CLICK = "hold-the-drop-links-loaded/click-under-the-hand"

#: Demo: an invented van, three repairs, one complaint that came back.
DEMO = f"""\
case: 1
vehicle: {{name: demo van, front: strut, steering: electric-rack, km: 187000, years: 12}}
complaints: [{{id: {CLUNK}}}]
answers:
  - check: hold-the-drop-links-loaded
    findings: {{click-under-the-hand: {{front-left: yes, front-right: no}}}}
rounds:
  - repairs:
      - {{remedy: renew-front-drop-links, price: 60, hours: 0.8, grade: original, one-use: yes}}
    done: wheel-retorque
    felt: faded
    answers:
      - check: hold-the-drop-links-loaded
        findings: {{click-under-the-hand: no}}
  - repairs: [{{remedy: renew-front-roll-bar-bushes, price: 40, hours: 1}}]
    felt: {{{CLUNK}: no}}
  - after: {{days: 5, km: 300}}
    felt: yes
  - repairs: [{{remedy: renew-front-dampers, price: 240, hours: 2.5, at-height: no}}]
    felt: no
"""


def told_at_the_terminal(journal: Journal) -> Session:
    """The same job, act by act."""
    steps: list[list[e.Event]] = [
        [e.ComplaintHeard(CLUNK)],
        [e.VehicleFact("front", "strut"), e.VehicleFact("steering", "electric-rack")],
        [e.Distance(187_000.0, 12.0)],
    ]
    session = Session.start(LIBRARY, journal, "demo van", Workshop(), steps)
    check = LIBRARY.checks["hold-the-drop-links-loaded"]
    session.answer(check, [Seen(CLICK, "front-left"), Seen(CLICK, "front-right", "no")])
    links = session.repaired("renew-front-drop-links", price=60.0, hours=0.8, grade="original", one_use=True)
    session.repair(links)
    session.do(e.FollowedUp("wheel-retorque"))
    session.feel({CLUNK: "faded"})
    session.answer(check, [Seen(CLICK, "front-left", "no"), Seen(CLICK, "front-right", "no")])
    session.repair(session.repaired("renew-front-roll-bar-bushes", price=40.0, hours=1.0))
    session.feel({CLUNK: "no"})
    session.feel({CLUNK: "yes"}, 5.0, 300.0)
    session.repair(session.repaired("renew-front-dampers", price=240.0, hours=2.5, at_height=False))
    session.feel({CLUNK: "no"})
    return session


def test_a_case_is_the_job_that_was_told() -> None:
    case = read_case(LIBRARY, DEMO.encode(), "demo.yaml")
    with Journal.passing() as journal, Journal.passing() as other:
        told = told_at_the_terminal(journal)
        opened = Session.start(LIBRARY, other, "demo van", case.workshop, steps_of(LIBRARY, case))
        assert opened.story == told.story == case.story
        assert opened.obligations == told.obligations
        # And an export of it comes back as the same.
        text = export(other, opened.job)
        again = Session(LIBRARY, other, import_text(other, text, "job.yaml"))
        assert again.story == told.story
        assert again.state == opened.state


def test_what_each_round_tells() -> None:
    story = read_case(LIBRARY, DEMO.encode(), "demo.yaml").story
    first, _, later, third = story.rounds
    assert {each[0] for each in first.cured} == {"front-drop-link-play"}
    assert first.heard == (Heard(CLUNK, None, "faded", "road-test"),)
    assert (later.later, later.days, later.km, later.cured) == (True, 5.0, 300.0, ())
    # The drop links' nuts were renewed and their bolts checked; the bushes' were not.
    assert {each[0] for each in later.loose} == {"front-roll-bar-bush-worn"}
    assert third.heard[0].answer == "no"
    assert story.seen == (Seen(CLICK, "front-left"), Seen(CLICK, "front-right", "no"))


def test_the_bench_shows_the_part_that_was_taken_off() -> None:
    """Also where it is told some time after the repair."""
    check = next(
        each
        for each in LIBRARY.checks.values()
        if each.set_up == BENCH and LIBRARY.findings[each.findings[0]]
    )
    finding = check.findings[0].partition("/")[2]
    text = DEMO.replace(
        "    felt: yes\n", f"    answers: [{{check: {check.id}, findings: {{{finding}: no}}}}]\n"
    )
    story = read_case(LIBRARY, text.encode(), "demo.yaml").story
    assert check.id not in {each.check for each in story.rounds[2].seen}
    assert check.id in {each.check for each in story.rounds[0].seen}


def test_a_case_is_ranked_as_the_job_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """To the last digit."""
    path = tmp_path / "demo.yaml"
    path.write_text(DEMO, "utf-8")
    assert run(["rank", str(path), "--json"]) == 0
    ranked = json.loads(capsys.readouterr().out)
    with Journal.passing() as journal:
        told = told_at_the_terminal(journal)
        assert ranked == json.loads(json.dumps(ranking_json(told.verdict, told.story)))


@pytest.mark.slow
def test_a_case_can_be_imported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path, store = tmp_path / "demo.yaml", tmp_path / "jobs.db"
    path.write_text(DEMO, "utf-8")
    assert run(["jobs", "import", str(path), "--store", str(store)]) == 0
    assert capsys.readouterr().out == "imported as job-1\n"
    with Journal.open(store) as journal:
        session = Session(LIBRARY, journal, "job-1")
        assert session.story == read_case(LIBRARY, DEMO.encode(), "demo.yaml").story
        assert journal.name("job-1") == "demo van"


def wrong(text: str) -> list[str]:
    """The first line of each problem, without the file, and its mend."""
    with pytest.raises(CaseError) as caught:
        read_case(LIBRARY, text.encode(), "f.yaml")
    return [
        f"{each.place.line}:{each.place.column}: {each.wrong} / {each.mend}" for each in caught.value.problems
    ]


HEAD = f"case: 1\ncomplaints: [{{id: {CLUNK}}}]\nrounds:\n"


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (
            "  - {felt: no}\n",
            ["4:6: a round needs one of 'repairs' or 'after' / add 'repairs' or 'after'"],
        ),
        (
            "  - repairs: [{remedy: renew-front-drop-link}]\n",
            ["4:24: no remedy 'renew-front-drop-link' on this car / did you mean 'renew-front-drop-links'?"],
        ),
        (
            "  - repairs: [{remedy: renew-outer-tie-rod-end}]\n",
            [
                "4:24: 'renew-outer-tie-rod-end' does not say which / "
                "write renew-outer-tie-rod-end@front-left, renew-outer-tie-rod-end@front-right"
            ],
        ),
        (
            "  - after: {days: 5}\n    felt: yes\n",
            ["4:5: nothing was repaired before this round / begin with a round that has `repairs`"],
        ),
        (
            "  - repairs: [{remedy: renew-front-drop-links}]\n  - after: {days: 9}\n  - after: {days: 5}\n",
            ["6:19: 5 days lie before the 9 of the round before / count days from the last repair, in order"],
        ),
        (
            "  - repairs: [{remedy: renew-front-drop-links}]\n    felt: {wander: no}\n",
            [f"5:12: 'wander' is not a complaint of this file / they are {CLUNK}"],
        ),
        (
            "  - repairs: [{remedy: renew-front-drop-links}]\n    done: [front-toe]\n",
            ["5:12: 'front-toe' is not owed by a repair before / owed is new-locking-nuts, wheel-retorque"],
        ),
        (
            "  - repairs: [{remedy: renew-front-drop-links, price: dear}]\n    felt: maybe\n",
            [
                "4:55: 'price' must be a number of money from 0 to 1000000, not 'dear' / "
                "write a decimal number of money in that range",
                "5:11: 'felt' must be one of yes, probably, faded, cannot-tell, probably-not, no, "
                "not 'maybe' / write one of: yes, probably, faded, cannot-tell, probably-not, no",
            ],
        ),
        (
            "  - repairs: [{remedy: renew-front-drop-links}]\n    answers:\n"
            "      - {check: hold-the-drop-links-loaded, findings: {click-under-the-hand: maybe}}\n",
            [
                f"6:78: 'maybe' is not an answer to '{CLICK}' / "
                "write one of: yes, probably, cannot-tell, probably-not, no"
            ],
        ),
    ],
)
def test_every_mistake_is_told_with_its_place(lines: str, says: list[str]) -> None:
    assert wrong(HEAD + lines) == says


# Answers alone -----------------------------------------------------------------------------------------


def test_answers_go_into_a_job_as_its_car_is_now(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    case, seen, store = tmp_path / "demo.yaml", tmp_path / "seen.yaml", tmp_path / "jobs.db"
    case.write_text(DEMO, "utf-8")
    seen.write_text(
        "case: 1\nanswers: [{check: hold-the-drop-links-loaded, findings: {click-under-the-hand: no}}]\n",
        "utf-8",
    )
    assert run(["jobs", "import", str(case), "--store", str(store)]) == 0
    assert run(["jobs", "answer", "last", str(seen), "--store", str(store)]) == 0
    assert capsys.readouterr().out.splitlines()[-1] == "kept in job-1: 1 check"
    with Journal.open(store) as journal:
        session = Session(LIBRARY, journal, "job-1")
        assert session.story.seen_now == (Seen(CLICK, "front-left", "no"), Seen(CLICK, "front-right", "no"))
        session.undo(1)
        assert session.story.seen_now == ()


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("case: 1\nanswers: []\n", "seen.yaml:2:10: 'answers' has 0 entries, it needs at least 1"),
        ("case: 1\ncomplaints: []\n", "seen.yaml:2:1: a file of answers has no key 'complaints'"),
        ("case: 1\nanswers: [{check: nothing, others: no}]\n", "seen.yaml:2:19: there is no check 'nothing'"),
    ],
)
def test_a_file_of_answers_holds_nothing_else(text: str, says: str) -> None:
    with pytest.raises(CaseError) as caught:
        read_answers(LIBRARY, text.encode(), "seen.yaml")
    assert says in str(caught.value)
